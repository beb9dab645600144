//! What was learned put into a scenario's text: values are exchanged where they stand, every other byte stays. Only what the log
//! contradicts is written.

use super::learn::{SeasonBuyers, Sold};
use crate::scenario::written::{Edit, Holder, exchanged, mark_length};
use crate::worklog::edit::{Change, figure};
use toml_edit::Document;

/// The text with what was learned in it, and what was changed.
///
/// # Errors
/// What stands in the way, one sentence each: a value in a form that cannot be exchanged where it stands.
pub fn edited(text: &str, sold: &Sold) -> Result<(String, Vec<Change>), Vec<String>> {
    let mark = mark_length(text);
    let body = &text[mark..];
    let Ok(document) = Document::parse(body) else {
        return Err(vec!["the scenario cannot be read as TOML".to_owned()]);
    };
    let mut edits: Vec<Edit> = Vec::new();
    let (mut changes, mut wrong) = (Vec::new(), Vec::new());
    for (section, key, new) in wanted(sold) {
        let holder = document.as_table().get(section).and_then(Holder::of);
        let put = holder.map_or_else(
            || Err("it is written in a form in which it cannot be exchanged".to_owned()),
            |holder| holder.put(body, key, &new),
        );
        match put {
            Ok((span, replacement, was)) if was.as_deref() != Some(new.as_str()) => {
                edits.push((span, replacement));
                changes.push(Change {
                    step: format!("[{section}]"),
                    key: key.to_owned(),
                    was,
                    new,
                });
            }
            Ok(_) => {}
            Err(why) => wrong.push(format!(
                "`{key}` of [{section}]: {why}; write it on one line, `{key} = {new}`"
            )),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    Ok((format!("{}{}", &text[..mark], exchanged(body, &edits)), changes))
}

/// Section, key and value, as TOML.
#[must_use]
pub fn wanted(sold: &Sold) -> Vec<(&'static str, &'static str, String)> {
    let mut list = Vec::new();
    let is = |against: Option<super::learn::Against>| against.is_some_and(|a| a.contradicted);
    if let Some(buyers) = sold.buyers {
        if is(sold.file.per_week) {
            list.push(("steady", "per_week", figure(buyers.week.value)));
        }
        if let Some(season) = buyers.season.filter(|_| is(sold.file.buyers)) {
            list.push(("season", "buyers", range(&season)));
        }
    }
    if let Some(e) = sold.elasticity.filter(|_| is(sold.file.elasticity)) {
        list.push(("season", "elasticity", figure(e.value.clamp(0.0, 20.0))));
    }
    list
}

/// Buyers of a season to come: what one season in ten stays under, half do, and one goes over.
fn range(season: &SeasonBuyers) -> String {
    let SeasonBuyers { p10, p50, p90, .. } = season;
    if p10 < p50 && p50 < p90 {
        format!("{{ low = {p10}, likely = {p50}, high = {p90}, ends = \"tenths\" }}")
    } else if p10 < p90 {
        format!("\"{p10} / {p90}\"")
    } else {
        figure(*p50)
    }
}
