//! The names of rows as they are set, and where each row stands.

use super::labels::Rect;
use super::lettering;
use crate::render::plot::{LABEL, Letters};

/// A name that has no room in other letters; the smallest there are.
const SMALL: Letters = Letters::new(13.0, LABEL.weight, LABEL.color);
/// Height of a further line of a name, and lines that a name has at the most.
pub(super) const FOLD: f64 = 15.0;
pub(super) const LINES: usize = 3;
/// A row of one line is no lower than this.
pub(super) const LOWEST: f64 = 17.0;

/// A name as it is set: in lines, where it has more than one as small as can be.
pub(super) struct Name {
    pub lines: Vec<String>,
    pub letters: Letters,
}

impl Name {
    /// In `room` pixels and so many lines at the most. Smaller where it has no room else, then folded, and only then cut: in the middle, as what a name ends with, like `: setup` or
    /// `slower`, tells its row from others.
    pub(super) fn new(name: &str, room: f64, lines: usize) -> Self {
        let wide = |letters: Letters| lettering::width(name, letters);
        let letters = if wide(LABEL) <= room { LABEL } else { SMALL };
        if lines > 1 && wide(letters) > room {
            // With less and less of its middle, until all that is left has room.
            let most = room * lines as f64;
            let shorter = (0..20).map(|k| most * (1.0 - 0.03 * f64::from(k)));
            let folded = shorter.map(|most| {
                let name = lettering::shorten_middle(name, letters, most);
                let folded = lettering::balanced(&name, letters, room, lines);
                let whole = folded
                    .iter()
                    .flat_map(|line| line.split_whitespace())
                    .eq(name.split_whitespace());
                (whole, folded)
            });
            if let Some((_, lines)) = folded.into_iter().find(|(whole, _)| *whole) {
                return Self { lines, letters };
            }
        }
        Self {
            lines: vec![lettering::shorten_middle(name, letters, room)],
            letters,
        }
    }
}

/// The height below which names would lie on one another.
pub(super) fn least(names: &[Name]) -> f64 {
    let row = |name: &Name| LOWEST + FOLD * (name.lines.len() - 1) as f64;
    names.iter().map(row).sum()
}

/// Where each row begins and the last one ends, and the height of a row whose name is in one line: others are higher by a line for each
/// further one, where there is room for that.
pub(super) fn tops(names: &[Name], bounds: Rect) -> (Vec<f64>, f64) {
    let (height, count) = (bounds.y1 - bounds.y0, names.len().max(1) as f64);
    let further: usize = names.iter().map(|name| name.lines.len() - 1).sum();
    let fold = FOLD.min((height - LOWEST * count).max(0.0) / further.max(1) as f64);
    let tall = (height - fold * further as f64) / count;
    let mut tops = vec![bounds.y0];
    for name in names {
        let top = tops.last().copied().unwrap_or(bounds.y0);
        tops.push(top + tall + fold * (name.lines.len() - 1) as f64);
    }
    (tops, tall)
}
