//! Changes of a scenario's text as a hand makes them: values, keys and whole sections put in, taken out and moved. What is not
//! touched keeps its bytes; what cannot be touched without guessing is refused.

use std::ops::Range;

use serde::Deserialize;
use toml_edit::Document;

use super::keys::{self, Takes};
use super::overrides;
use super::written::{self, Address, Holder, Section, line_feed};

/// One change.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase")]
pub enum Change {
    /// A value as a person types it, in the place of the old one or after the last of its section.
    Put {
        /// Which value.
        at: Address,
        /// As it was typed.
        written: String,
    },
    /// A key goes, and its comment with it.
    Take {
        /// Which value.
        at: Address,
    },
    /// An entry of a list of price breaks or of changes; one that is not there yet comes behind the last, with its key where that is missing.
    Row {
        /// Which list.
        at: Address,
        /// Which entry.
        row: usize,
        /// What was typed, by the names of [`written::Row::cells`]; for a change both.
        cells: Vec<(String, String)>,
    },
    /// An entry of such a list goes; with the last of them its key.
    Strike {
        /// Which list.
        at: Address,
        /// Which entry.
        row: usize,
    },
    /// A new section, after the last of its kind or at the end of the file.
    Add {
        /// Its word, `step`.
        section: String,
        /// Whether there may be several of its kind.
        listed: bool,
        /// Its keys with what was typed for each.
        values: Vec<(String, String)>,
    },
    /// A section goes, and the comment above it with it.
    Drop {
        /// Its word.
        section: String,
        /// Which of several.
        entry: Option<usize>,
    },
    /// One of several sections goes to another place among them.
    Move {
        /// Their word.
        section: String,
        /// Which.
        entry: usize,
        /// To which place, counted without it.
        to: usize,
    },
    /// A step, a material or a channel is called otherwise, wherever it is spoken of.
    Rename {
        /// Its word.
        section: String,
        /// Which.
        entry: usize,
        /// Its new name.
        name: String,
    },
}

/// The text with the changes in it, one after the other.
///
/// # Errors
/// One sentence: why a change cannot be made. Nothing is changed then.
pub fn made(text: &str, changes: &[Change]) -> Result<String, String> {
    changes.iter().try_fold(text.to_owned(), |text, change| match change {
        Change::Put { at, written } => put(&text, at, written),
        Change::Take { at } => take(&text, at),
        Change::Row { at, row, cells } => put_row(&text, at, *row, cells),
        Change::Strike { at, row } => strike(&text, at, *row),
        Change::Add {
            section,
            listed,
            values,
        } => add(&text, section, *listed, values),
        Change::Drop { section, entry } => drop_section(&text, section, *entry),
        Change::Move { section, entry, to } => move_section(&text, section, *entry, *to),
        Change::Rename { section, entry, name } => rename(&text, section, *entry, name),
    })
}

const NOT_TOML: &str = "The text cannot be read as it stands; mend it first.";
const IN_ONE_LINE: &str = "This is written in one line with others; change it in the text.";

fn sections(text: &str) -> Result<Vec<Section>, String> {
    written::sections(text).ok_or_else(|| NOT_TOML.to_owned())
}

fn find(sections: &[Section], word: &str, entry: Option<usize>) -> Option<usize> {
    sections.iter().position(|s| s.word == word && s.entry == entry)
}

fn put(text: &str, at: &Address, typed: &str) -> Result<String, String> {
    let sections = sections(text)?;
    let found = find(&sections, &at.section, at.entry);
    let has = found.is_some_and(|k| sections[k].values.iter().any(|v| v.key == at.key));
    if has {
        return written::with_typed(text, &[(at.clone(), typed.to_owned())]);
    }
    let new = value(&at.key, typed);
    let Some(found) = found else {
        if at.section.is_empty() {
            let mark = written::mark_length(text);
            let end = line_feed(text);
            return Ok(format!("{}{} = {new}{end}{}", &text[..mark], at.key, &text[mark..]));
        }
        return add(
            text,
            &at.section,
            at.entry.is_some(),
            &[(at.key.clone(), typed.to_owned())],
        );
    };
    let mark = written::mark_length(text);
    let body = &text[mark..];
    let document = Document::parse(body).map_err(|_| NOT_TOML)?;
    let root = document.as_table();
    let item = root.get(&at.section);
    let holder = match (at.section.as_str(), at.entry) {
        ("", _) => Some(Holder::Section(root)),
        (_, None) => item.and_then(Holder::of),
        (_, Some(k)) => item.and_then(|item| Holder::entry(item, k)),
    };
    if let Some(edit) = holder.and_then(|holder| holder.put(body, &at.key, &new).ok()) {
        return Ok(format!(
            "{}{}",
            &text[..mark],
            written::exchanged(body, &[(edit.0, edit.1)])
        ));
    }
    // A section with nothing in it yet: right below its head.
    let start = sections[found].start;
    let below = line_end(text, start);
    let line = format!("{} = {new}{}", at.key, line_feed(text));
    Ok(written::exchanged(text, &[(below..below, line)]))
}

fn value_at<'s>(sections: &'s [Section], at: &Address) -> Option<&'s written::Value> {
    let section = &sections[find(sections, &at.section, at.entry)?];
    section.values.iter().find(|v| v.key == at.key)
}

const NO_ROWS: &str = "This list is written in a way that has no rows; change it in the text.";

fn put_row(text: &str, at: &Address, row: usize, cells: &[(String, String)]) -> Result<String, String> {
    let cell = |name: &str| {
        cells
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, typed)| typed.as_str())
    };
    let change = cell(written::FIGURE).map(|figure| format!("{figure} = {}", cell(written::THEN).unwrap_or("")));
    let new = change.as_ref().map_or_else(
        || {
            let cells = cells
                .iter()
                .map(|(key, typed)| format!("{key} = {}", written::as_toml("", typed)));
            format!("{{ {} }}", cells.collect::<Vec<_>>().join(", "))
        },
        |change| written::as_toml("\"", change),
    );
    let sections = sections(text)?;
    let Some(list) = value_at(&sections, at) else {
        return put(text, at, &format!("[{new}]"));
    };
    let rows = list.rows.as_ref().ok_or(NO_ROWS)?;
    let Some(own) = rows.get(row) else {
        return Ok(written::exchanged(text, &behind_the_last(text, list, &new)));
    };
    let was = &text[own.span.clone()];
    let edits = match &change {
        Some(change) => vec![(own.span.clone(), written::as_toml(was, change))],
        None => cells_changed(was, own.span.start, cells)?,
    };
    Ok(written::exchanged(text, &edits))
}

/// Cells of a table in braces, `was`, which begins at a byte of the text.
fn cells_changed(was: &str, from: usize, cells: &[(String, String)]) -> Result<Vec<written::Edit>, String> {
    const LEAD: &str = "x = ";
    let line = format!("{LEAD}{was}");
    let document = Document::parse(line.as_str()).map_err(|_| NO_ROWS)?;
    let holder = document.get("x").and_then(Holder::of).ok_or(NO_ROWS)?;
    cells
        .iter()
        .map(|(key, typed)| {
            let (span, _, was) = holder.put(&line, key, "").map_err(|_| NO_ROWS)?;
            let new = written::as_toml(was.as_deref().unwrap_or(""), typed);
            let (span, new) = match was {
                Some(_) => (span, new),
                None => holder
                    .put(&line, key, &new)
                    .map(|(span, new, _)| (span, new))
                    .map_err(|_| NO_ROWS)?,
            };
            let at = |byte: usize| from + byte - LEAD.len();
            Ok((at(span.start)..at(span.end), new))
        })
        .collect()
}

/// A new entry behind the last of a list: on a line of its own where the list ends on one.
fn behind_the_last(text: &str, list: &written::Value, new: &str) -> Vec<written::Edit> {
    let Some(last) = list.rows.as_ref().and_then(|rows| rows.last()) else {
        return vec![(list.span.clone(), format!("[{new}]"))];
    };
    let end = last.span.end;
    let rest = &text[end..list.span.end];
    if !rest.contains('\n') {
        return vec![(end..end, format!(", {new}"))];
    }
    let line = &text[line_start(text, last.span.start)..last.span.start];
    let indent: String = line.chars().take_while(|c| matches!(c, ' ' | '\t')).collect();
    let next = line_end(text, end);
    let closed = rest.trim_start().starts_with(',');
    let comma = if closed { "," } else { "" };
    let mut edits = vec![(next..next, format!("{indent}{new}{comma}{}", line_feed(&text[end..])))];
    if !closed {
        edits.push((end..end, ",".to_owned()));
    }
    edits
}

fn strike(text: &str, at: &Address, row: usize) -> Result<String, String> {
    let sections = sections(text)?;
    let list = value_at(&sections, at);
    let rows = list.and_then(|list| list.rows.as_ref()).ok_or(NO_ROWS)?;
    let own = &rows.get(row).ok_or("There is no such entry to take out.")?.span;
    if rows.len() == 1 {
        return take(text, at);
    }
    let gone = match (rows.get(row + 1), row.checked_sub(1).map(|k| rows[k].span.end)) {
        (Some(next), _) => own.start..next.span.start,
        // A line of its own goes with its comment, and the one before keeps its own.
        (None, Some(before)) => {
            let stops = list.is_some_and(|list| text[own.end..list.span.end].contains('\n'));
            let from = line_end(text, before);
            if stops && from <= own.start {
                from..line_end(text, own.end)
            } else {
                before..own.end
            }
        }
        (None, None) => own.clone(),
    };
    Ok(format!("{}{}", &text[..gone.start], &text[gone.end..]))
}

fn take(text: &str, at: &Address) -> Result<String, String> {
    let sections = sections(text)?;
    let value = value_at(&sections, at).ok_or_else(|| format!("There is no `{}` to take out.", at.key))?;
    let from = line_start(text, value.span.start);
    let to = line_end(text, value.span.end);
    let before = text[from..value.span.start].trim();
    let behind = text[value.span.end..to].trim();
    let alone = before
        .strip_suffix('=')
        .is_some_and(|key| !key.contains(['=', '{', '[', ',']))
        && (behind.is_empty() || behind.starts_with('#'));
    if alone {
        Ok(format!("{}{}", &text[..from], &text[to..]))
    } else {
        Err(IN_ONE_LINE.to_owned())
    }
}

fn add(text: &str, word: &str, listed: bool, values: &[(String, String)]) -> Result<String, String> {
    let sections = sections(text)?;
    if !listed && sections.iter().any(|s| s.word == word) {
        return Err(format!("There is a [{word}] already."));
    }
    let wide = values.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    let head = if listed {
        format!("[[{word}]]")
    } else {
        format!("[{word}]")
    };
    let lines = values
        .iter()
        .map(|(key, typed)| format!("{key:<wide$} = {}", value(key, typed)));
    let end = line_feed(text);
    let block: String = std::iter::once(head).chain(lines).map(|line| line + end).collect();
    let last = sections.iter().rposition(|s| s.word == word);
    let at = match last {
        Some(k) => place(text, &sections, k)?.end,
        None => text.len(),
    };
    Ok(joined(&text[..at], &block, &text[at..]))
}

fn drop_section(text: &str, word: &str, entry: Option<usize>) -> Result<String, String> {
    let sections = sections(text)?;
    let k = find(&sections, word, entry).ok_or("There is no such part to take out.")?;
    let place = place(text, &sections, k)?;
    let rest = &text[place.end..];
    // One of the blank lines around it goes along.
    let rest = rest
        .strip_prefix("\r\n")
        .or_else(|| rest.strip_prefix('\n'))
        .unwrap_or(rest);
    Ok(format!("{}{rest}", &text[..place.start]))
}

fn move_section(text: &str, word: &str, entry: usize, to: usize) -> Result<String, String> {
    let all = sections(text)?;
    let k = find(&all, word, Some(entry)).ok_or("There is no such part to move.")?;
    let moved = place(text, &all, k)?;
    let block = text[moved].to_owned();
    let without = drop_section(text, word, Some(entry))?;
    let rest = sections(&without)?;
    let at = match find(&rest, word, Some(to)) {
        Some(k) => place(&without, &rest, k)?.start,
        None => {
            let last = rest
                .iter()
                .rposition(|s| s.word == word)
                .ok_or("There is nothing to move it past.")?;
            place(&without, &rest, last)?.end
        }
    };
    Ok(joined(&without[..at], &block, &without[at..]))
}

fn rename(text: &str, word: &str, entry: usize, name: &str) -> Result<String, String> {
    let sections = sections(text)?;
    let own = find(&sections, word, Some(entry)).ok_or("There is no such part.")?;
    let was = sections[own].name.clone();
    let mut typed = vec![(
        Address {
            section: word.to_owned(),
            entry: Some(entry),
            key: "name".to_owned(),
        },
        name.to_owned(),
    )];
    let speaks = |section: &Section, key: &str| match keys::key(&section.word, key).map(|key| key.takes) {
        Some(Takes::Step) => word == "step",
        Some(Takes::Channel) => word == "channel",
        _ => false,
    };
    for section in &sections {
        let values = section.values.iter().filter(|v| Some(&v.shown) == was.as_ref());
        for value in values.filter(|v| speaks(section, &v.key)) {
            typed.push((
                Address {
                    section: section.word.clone(),
                    entry: section.entry,
                    key: value.key.clone(),
                },
                name.to_owned(),
            ));
        }
    }
    let names: Vec<String> = (sections.iter().filter(|s| s.word == word))
        .map(|s| s.name.clone().unwrap_or_default())
        .collect();
    for section in &sections {
        let lists = |key: &str| matches!(keys::key(&section.word, key).map(|key| key.takes), Some(Takes::Changes));
        for value in section.values.iter().filter(|v| lists(&v.key)) {
            let renamed = |change: &str| overrides::renamed(change, word, &names, entry, name);
            if let Some(changes) = texts_changed(&text[value.span.clone()], renamed) {
                typed.push((
                    Address {
                        section: section.word.clone(),
                        entry: section.entry,
                        key: value.key.clone(),
                    },
                    changes,
                ));
            }
        }
    }
    written::with_typed(text, &typed)
}

/// A list in TOML with each text that `change` has another for exchanged, all else as it stands; `None` where there is none.
fn texts_changed(list: &str, change: impl Fn(&str) -> Option<String>) -> Option<String> {
    let mut list: toml_edit::Value = list.parse().ok()?;
    let mut any = false;
    for item in list.as_array_mut()?.iter_mut() {
        if let Some(new) = item.as_str().and_then(&change) {
            let decor = item.decor().clone();
            *item = toml_edit::Value::from(new);
            *item.decor_mut() = decor;
            any = true;
        }
    }
    any.then(|| list.to_string())
}

/// What was typed for a key that has no value yet, as TOML: bare where it is a number, a list or the like.
fn value(key: &str, typed: &str) -> String {
    if keys::is_text(key) {
        toml_edit::Value::from(typed).to_string()
    } else {
        written::as_toml("", typed)
    }
}

/// The two texts with a block between them, a blank line on either side.
fn joined(before: &str, block: &str, after: &str) -> String {
    let end = line_feed(if before.contains('\n') { before } else { block });
    let gap = match before {
        "" => "",
        _ if before.ends_with("\n\n") || before.ends_with("\r\n\r\n") => "",
        _ if before.ends_with('\n') => end,
        _ => &end.repeat(2),
    };
    let closed = if block.ends_with('\n') { "" } else { end };
    let behind = if after.is_empty() || after.starts_with('\n') || after.starts_with("\r\n") {
        ""
    } else {
        end
    };
    format!("{before}{gap}{block}{closed}{behind}{after}")
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |i| i + 1)
}

fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |i| at + i + 1)
}

/// A section with the comment lines right above it, to the end of its last line that is neither blank nor a comment.
fn place(text: &str, sections: &[Section], k: usize) -> Result<Range<usize>, String> {
    let start = sections[k].start;
    let head = line_start(text, start);
    if !text[head..].trim_start().starts_with('[') || sections[k].word.is_empty() {
        return Err(IN_ONE_LINE.to_owned());
    }
    let mut from = head;
    while from > 0 {
        let above = line_start(text, from - 1);
        if text[above..from].trim_start().starts_with('#') {
            from = above;
        } else {
            break;
        }
    }
    let stop = sections
        .iter()
        .filter(|s| s.start > start && !s.word.is_empty())
        .map(|s| line_start(text, s.start))
        .filter(|next| *next > head)
        .min()
        .unwrap_or(text.len());
    let (mut end, mut at) = (line_end(text, start), head);
    while at < stop {
        let next = line_end(text, at);
        let line = text[at..next].trim();
        if !line.is_empty() && !line.starts_with('#') {
            end = next;
        }
        at = next;
    }
    // The comment that follows without a gap belongs to what it follows, unless it stands right above the next section.
    let mut at = end;
    while at < stop && text[at..line_end(text, at)].trim_start().starts_with('#') {
        at = line_end(text, at);
    }
    Ok(from..if at < stop || stop == text.len() { at } else { end })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    const TEXT: &str = "title = \"Hook\" # what it is\ntarget = 25\n\n[sale]\nprice = 18 # tax included\n\n# hot work\n[[step]]\nname = \"forge\"\n\
                        each = \"12 min\"\n# tongs\n\n[[step]]\nname = \"wax\"\neach = \"2 min\"\n\n[[material]]\nname = \"bar\"\nat = \"wax\"\n";

    fn change(json: &str) -> Change {
        serde_json::from_str(json).unwrap()
    }

    fn after(json: &str) -> String {
        made(TEXT, &[change(json)]).unwrap()
    }

    #[test]
    fn a_value_is_exchanged_and_a_key_is_added_to_its_section() {
        let at = |section: &str, entry: &str, key: &str, typed: &str| {
            after(&format!(
                r#"{{"do":"put","at":{{"section":"{section}","entry":{entry},"key":"{key}"}},"written":"{typed}"}}"#
            ))
        };
        assert_eq!(at("sale", "null", "price", "20"), TEXT.replace("18", "20"));
        assert_eq!(
            at("step", "0", "room", "6"),
            TEXT.replace("\"12 min\"\n", "\"12 min\"\nroom = 6\n")
        );
        assert_eq!(
            at("step", "1", "setup", "1 h 30 min"),
            TEXT.replace("\"2 min\"\n", "\"2 min\"\nsetup = \"1 h 30 min\"\n")
        );
        assert!(at("", "null", "currency", "GBP").contains("target = 25\ncurrency = \"GBP\"\n"));
        assert!(at("batch", "null", "runs", "3").ends_with("\n\n[batch]\nruns = 3\n"));
    }

    #[test]
    fn a_key_goes_with_its_comment_and_nothing_else() {
        let text = after(r#"{"do":"take","at":{"section":"sale","entry":null,"key":"price"}}"#);
        assert_eq!(text, TEXT.replace("price = 18 # tax included\n", ""));
        let inline = "sale = { price = 18, fee = \"2 %\" }\n";
        let refused = made(
            inline,
            &[change(
                r#"{"do":"take","at":{"section":"sale","entry":null,"key":"fee"}}"#,
            )],
        );
        assert_eq!(refused, Err(IN_ONE_LINE.to_owned()));
    }

    #[test]
    fn sections_come_go_and_move_with_the_comments_at_them() {
        let moved = after(r#"{"do":"move","section":"step","entry":0,"to":1}"#);
        let names =
            |text: &str| -> Vec<String> { sections(text).unwrap().into_iter().filter_map(|s| s.name).collect() };
        assert_eq!(names(&moved), ["wax", "forge", "bar"]);
        assert!(
            moved.contains("# hot work\n[[step]]\nname = \"forge\"\neach = \"12 min\"\n# tongs\n"),
            "{moved}"
        );
        let back = made(&moved, &[change(r#"{"do":"move","section":"step","entry":1,"to":0}"#)]).unwrap();
        assert_eq!(back, TEXT);
        let dropped = after(r#"{"do":"drop","section":"step","entry":0}"#);
        assert_eq!(names(&dropped), ["wax", "bar"]);
        assert!(!dropped.contains("hot work") && !dropped.contains("tongs"));
        let added =
            after(r#"{"do":"add","section":"step","listed":true,"values":[["name","7"],["each","3 / 4 / 9 min"]]}"#);
        assert_eq!(names(&added), ["forge", "wax", "7", "bar"]);
        assert!(
            added.contains("\n\n[[step]]\nname = \"7\"\neach = \"3 / 4 / 9 min\"\n\n[[material]]"),
            "{added}"
        );
    }

    /// Whatever is changed in a file whose lines end in CR LF, all of its lines end so.
    #[test]
    fn a_file_keeps_its_line_ends() {
        let changes = [
            r#"{"do":"put","at":{"section":"sale","entry":null,"key":"fee"},"written":"5 %"}"#,
            r#"{"do":"put","at":{"section":"","entry":null,"key":"currency"},"written":"GBP"}"#,
            r#"{"do":"put","at":{"section":"batch","entry":null,"key":"runs"},"written":"3"}"#,
            r#"{"do":"put","at":{"section":"pace","entry":null,"key":"factor"},"written":"1"}"#,
            r#"{"do":"add","section":"step","listed":true,"values":[["name","oil"],["each","2 min"]]}"#,
            r#"{"do":"add","section":"season","listed":false,"values":[["buyers","9"],["clearance","2"]]}"#,
            r#"{"do":"move","section":"step","entry":0,"to":1}"#,
            r#"{"do":"move","section":"material","entry":0,"to":0}"#,
            r#"{"do":"drop","section":"step","entry":1}"#,
        ];
        let without_end = TEXT.trim_end();
        for text in [
            TEXT,
            &format!("{TEXT}[pace]\n"),
            without_end,
            "[pace]\n",
            "[pace]\n[sale]\nprice = 18\n",
        ] {
            let dos = text.replace('\n', "\r\n");
            for one in changes {
                let expected = made(text, &[change(one)]).map(|text| text.replace('\n', "\r\n"));
                assert_eq!(made(&dos, &[change(one)]), expected, "{one}");
            }
        }
    }

    /// Rows of price breaks and of changes: what is not touched keeps its bytes, its comment and its place, and lines their ends.
    #[test]
    fn an_entry_of_a_list_is_put_in_changed_and_taken_out() {
        let breaks = r#""at":{"section":"material","entry":0,"key":"breaks"}"#;
        let changes = r#""at":{"section":"misfortune","entry":0,"key":"changes"}"#;
        let row = |list: &str, row: usize, cells: &str| {
            change(&format!(r#"{{"do":"row",{list},"row":{row},"cells":{cells}}}"#))
        };
        let strike = |list: &str, row: usize| change(&format!(r#"{{"do":"strike",{list},"row":{row}}}"#));
        let material = |breaks: &str| format!("[[material]]\nname = \"bar\"{breaks}\nat = \"wax\" # there\n");
        let misfortune = |changes: &str| format!("[[misfortune]]\nname = \"dear\"\nchanges = {changes}\n");
        let first = r#"[["from","10"],["price","6,50 USD"]]"#;
        let cases = [
            // The first is the key's own; it stands behind the last of its section.
            (
                row(breaks, 0, r#"[["from","10"],["price","6"]]"#),
                material(""),
                material("") + "breaks = [{ from = 10, price = 6 }]\n",
            ),
            (
                row(breaks, 1, r#"[["from","20"],["price","5"]]"#),
                material("\nbreaks = [{ from = 10, price = 6 }]"),
                material("\nbreaks = [{ from = 10, price = 6 }, { from = 20, price = 5 }]"),
            ),
            (
                row(breaks, 0, r#"[["price","5.50"]]"#),
                material("\nbreaks = [{ from=10 ,  price = 6 }, {}] # by the bar"),
                material("\nbreaks = [{ from=10 ,  price = 5.50 }, {}] # by the bar"),
            ),
            (
                row(breaks, 0, r#"[["price","5"]]"#),
                material("\nbreaks = [{ from = 10 }]"),
                material("\nbreaks = [{ from = 10, price = 5 }]"),
            ),
            (
                row(breaks, 0, first),
                material("\nbreaks = []"),
                material("\nbreaks = [{ from = 10, price = \"6,50 USD\" }]"),
            ),
            (
                row(breaks, 2, r#"[["from","30"],["price","4"]]"#),
                material("\nbreaks = [\n  { from = 10, price = 6 }, # ten\n  { from = 20, price = 5 } # a score\n]"),
                material(
                    "\nbreaks = [\n  { from = 10, price = 6 }, # ten\n  { from = 20, price = 5 }, # a score\n  { from = 30, price = 4 }\n]",
                ),
            ),
            (
                strike(breaks, 0),
                material("\nbreaks = [\n  { from = 10, price = 6 }, # ten\n  { from = 20, price = 5 }, # a score\n]"),
                material("\nbreaks = [\n  { from = 20, price = 5 }, # a score\n]"),
            ),
            (
                strike(breaks, 1),
                material("\nbreaks = [\n  { from = 10, price = 6 }, # ten\n  { from = 20, price = 5 }, # a score\n]"),
                material("\nbreaks = [\n  { from = 10, price = 6 }, # ten\n]"),
            ),
            (
                strike(breaks, 1),
                material("\nbreaks = [{ from = 10, price = 6 }, { from = 20, price = 5 }]"),
                material("\nbreaks = [{ from = 10, price = 6 }]"),
            ),
            // The last takes its key along.
            (
                strike(breaks, 0),
                material("\nbreaks = [{ from = 10, price = 6 }] # ten"),
                material(""),
            ),
            (
                row(changes, 0, r#"[["figure","sale.price"],["then","17 \"x\""]]"#),
                misfortune("['sale.price = 19', \"target = 1\"]"),
                misfortune("['sale.price = 17 \"x\"', \"target = 1\"]"),
            ),
            (
                row(changes, 1, r#"[["figure","step.wax.each"],["then","9 min"]]"#),
                misfortune("[\"sale.price = 19\"]"),
                misfortune("[\"sale.price = 19\", \"step.wax.each = 9 min\"]"),
            ),
        ];
        for (one, before, after) in cases {
            for feed in ["\n", "\r\n"] {
                let [before, after] = [&before, &after].map(|text| {
                    format!("\u{feff}{TEXT}\n{text}")
                        .replace(
                            "[[material]]\nname = \"bar\"\nat = \"wax\"\n\n[[material]]",
                            "[[material]]",
                        )
                        .replace('\n', feed)
                });
                assert_eq!(made(&before, std::slice::from_ref(&one)), Ok(after), "{one:?}");
            }
        }
        let odd = material("\nbreaks = [7]");
        assert_eq!(made(&odd, &[strike(breaks, 0)]), Err(NO_ROWS.to_owned()));
        assert!(made(&material(""), &[strike(breaks, 0)]).is_err());
    }

    #[test]
    fn a_step_keeps_what_speaks_of_it() {
        let text = after(r#"{"do":"rename","section":"step","entry":1,"name":"oil"}"#);
        assert_eq!(text, TEXT.replace("\"wax\"", "\"oil\""));
    }

    /// Its changes are what `--set` takes: a name stands there as it is, or in quotes.
    #[test]
    fn a_misfortune_keeps_the_step_that_it_speaks_of() {
        let with = |first: &str, second: &str| {
            format!(
                "{TEXT}\n[[misfortune]]\nname = \"wax runs\"\nchanges = [ \"{first}.each = 9 min\", # twice\n  \"sale.price = 17\", '{second}.setup = 1 h' ]\n"
            )
        };
        let rename = change(r#"{"do":"rename","section":"step","entry":1,"name":"oil"}"#);
        let text = made(&with("step.wax", "step.\"wax\""), &[rename]).unwrap();
        let now = with("step.oil", "step.oil").replace("\"wax\"", "\"oil\"");
        assert_eq!(text, now.replace("'step.oil.setup = 1 h'", "\"step.oil.setup = 1 h\""));
        let other = made(
            &with("step.wax", "material.wax"),
            &[change(r#"{"do":"rename","section":"step","entry":0,"name":"heat"}"#)],
        );
        assert_eq!(
            other.unwrap(),
            with("step.wax", "material.wax").replace("\"forge\"", "\"heat\"")
        );
    }
}
