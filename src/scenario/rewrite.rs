//! Several values put into a scenario's text at once, for good: each is exchanged where it stands, every other byte stays.

use super::written::{Put, exchanged, mark_length};
use toml_edit::{Document, Table};

/// One value that is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Step, section in its brackets, or empty for the pace.
    pub step: String,
    /// Key.
    pub key: String,
    /// As it stood; `None`: it was not there.
    pub was: Option<String>,
    /// As it stands now.
    pub new: String,
}

/// One value to write.
pub(crate) struct Wanted {
    /// As in [`Change`].
    pub(crate) step: String,
    /// Where it stands, as a person is told: "[steady]", "step `drill`".
    pub(crate) owner: String,
    pub(crate) key: String,
    /// As TOML.
    pub(crate) new: String,
}

/// The text with these values in it, and what was changed; `put` finds where one stands. A value that would be as it was is left alone.
///
/// # Errors
/// What stands in the way, one sentence each: a value in a form that cannot be exchanged where it stands.
pub(crate) fn rewritten(
    text: &str,
    wanted: Vec<Wanted>,
    put: impl Fn(&Table, &str, &Wanted) -> Result<Put, String>,
) -> Result<(String, Vec<Change>), Vec<String>> {
    let (mark, body) = text.split_at(mark_length(text));
    let Ok(document) = Document::parse(body) else {
        return Err(vec!["the scenario cannot be read as TOML".to_owned()]);
    };
    let (mut edits, mut changes, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for one in wanted {
        match put(document.as_table(), body, &one) {
            Ok((span, replacement, was)) if was.as_deref() != Some(one.new.as_str()) => {
                edits.push((span, replacement));
                changes.push(Change {
                    step: one.step,
                    key: one.key,
                    was,
                    new: one.new,
                });
            }
            Ok(_) => {}
            Err(why) => {
                let Wanted { owner, key, new, .. } = one;
                wrong.push(format!(
                    "`{key}` of {owner}: {why}; write it on one line, `{key} = {new}`"
                ));
            }
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    Ok((format!("{mark}{}", exchanged(body, &edits)), changes))
}

/// Why a value that stands in another form is not exchanged.
pub(crate) const OTHER_FORM: &str = "it is written in a form in which it cannot be exchanged";
