//! Colours of a terminal (ECMA-48, SGR): what pays is green, what is asked for is orange. Signs say the same to those who see none.

/// The terminal's own green and orange, so that they are readable on its ground whichever that is.
const PAYS: &str = "\x1b[32m";
const ASKED: &str = "\x1b[33m";
/// Back to the letters' colour; what is bold stays so.
const OFF: &str = "\x1b[39m";

/// A table's text with the first cell of every row that has the sign of what pays in green.
pub(super) fn table(text: &str, unicode: bool) -> String {
    let signs = if unicode { ['▲', '△'] } else { ['^', '&'] };
    text.split_inclusive('\n')
        .map(|line| {
            // What stands before the first cell: blanks, and what makes the row bold.
            let bare = line.trim_start_matches("\x1b[1m").trim_start();
            if !bare.starts_with(signs) {
                return line.to_owned();
            }
            let (before, cells) = line.split_at(line.len() - bare.len());
            let (first, rest) = cells.split_at(cells.find("  ").unwrap_or(cells.trim_end().len()));
            format!("{before}{PAYS}{first}{OFF}{rest}")
        })
        .collect()
}

/// A chart's text with the signs of what is asked for and of what pays in colour. ASCII charts stay as they are: their signs are those of
/// words too.
pub(super) fn chart(text: &str, unicode: bool) -> String {
    if !unicode {
        return text.to_owned();
    }
    let mut out = String::with_capacity(2 * text.len());
    for line in text.split_inclusive('\n') {
        let axis = line.contains('└');
        let paint = |sign: char| match sign {
            '▲' | '△' => Some(PAYS),
            '┆' => Some(ASKED),
            // On an axis it is the axis.
            '─' if !axis => Some(ASKED),
            _ => None,
        };
        let mut on = None;
        for sign in line.chars() {
            let wanted = paint(sign);
            if wanted != on {
                out.push_str(wanted.unwrap_or(OFF));
                on = wanted;
            }
            out.push(sign);
        }
        // Every line ends in a line feed, which has no colour; the last may not.
        if on.is_some() {
            out.push_str(OFF);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clean;

    #[test]
    fn rows_that_pay_are_green_and_nothing_else_changes() {
        let text = " size  pays\n    1    no\n\x1b[1m  ▲ 9   yes\x1b[0m\n △ 12   yes\n";
        let painted = table(text, true);
        assert_eq!(
            painted,
            " size  pays\n    1    no\n\x1b[1m  \x1b[32m▲ 9\x1b[39m   yes\x1b[0m\n \x1b[32m△ 12\x1b[39m   yes\n"
        );
        assert_eq!(clean::painted(&painted), painted);
        assert_eq!(table("  ^ 9   yes\n", false), "  \x1b[32m^ 9\x1b[39m   yes\n");
        assert_eq!(table("  ▲ 9", true), "  \x1b[32m▲ 9\x1b[39m");
    }

    #[test]
    fn what_is_asked_for_is_orange_and_the_axis_is_not() {
        let text = "30 │──●──\n   └─▲──\n● median   ── target 30   ▲ pays from 9";
        let painted = chart(text, true);
        assert_eq!(
            painted,
            "30 │\x1b[33m──\x1b[39m●\x1b[33m──\x1b[39m\n   └─\x1b[32m▲\x1b[39m──\n● median   \x1b[33m──\x1b[39m target 30   \
             \x1b[32m▲\x1b[39m pays from 9"
        );
        assert_eq!(clean::painted(&painted), painted);
        assert_eq!(chart(text, false), text);
    }
}
