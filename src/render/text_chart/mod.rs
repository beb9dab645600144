//! A plot's main panels in letters, for a terminal. What a plot shows is said beside its question; how it is drawn, here.

mod curve;
mod strips;

use super::plot::ticks::SizeScale;
use super::plot::{Axis, Field, Panel, Plot, Sign};
use super::text::{cut, printable, wrap};

/// Narrower than this nothing can be read.
const MIN_WIDTH: usize = 40;

/// The letters charts are made of, but for those that a [`Sign`] has.
struct Signs {
    unicode: bool,
    axis: char,
    upright: char,
    corner: char,
    tick: char,
    before: char,
    beyond: char,
}

impl Signs {
    const fn new(unicode: bool, [axis, upright, corner, tick, before, beyond]: [char; 6]) -> Self {
        Self {
            unicode,
            axis,
            upright,
            corner,
            tick,
            before,
            beyond,
        }
    }

    const fn of(&self, sign: Sign) -> char {
        let [box_drawing, ascii] = match sign {
            Sign::Median => ['●', 'o'],
            Sign::Band => ['░', ':'],
            Sign::Bar => ['█', '#'],
            Sign::More => ['▒', '='],
            Sign::Lack => ['▓', '%'],
            Sign::LongRun => ['┃', 'I'],
            Sign::Target => ['─', '-'],
            Sign::Aim => ['┆', '|'],
            Sign::End => ['×', 'x'],
            Sign::Row(mark) => return mark.sign(self.unicode),
        };
        if self.unicode { box_drawing } else { ascii }
    }
}

const UNICODE: Signs = Signs::new(true, ['─', '│', '└', '┴', '◄', '►']);
const ASCII: Signs = Signs::new(false, ['-', '|', '+', '+', '<', '>']);

/// The plot's panels that stand in text, no line wider than `width` columns (taken as at least 40), each ending in a line
/// feed. `unicode` chooses box-drawing signs; without it all is plain ASCII. Nothing where there is nothing to draw.
pub(super) fn text(plot: &Plot, width: usize, unicode: bool) -> Option<String> {
    let signs = if unicode { &UNICODE } else { &ASCII };
    let width = width.max(MIN_WIDTH);
    let panels = plot.panels.iter().filter_map(|panel| panel_text(panel, width, signs));
    let panels: Vec<String> = panels.collect();
    (!panels.is_empty()).then(|| panels.join("\n"))
}

fn panel_text(panel: &Panel, width: usize, signs: &Signs) -> Option<String> {
    let text = panel.text.as_ref()?;
    match &panel.field {
        Field::Curves(curves) if text.by_label || !text.rows.is_empty() => {
            strips::of_curves(panel, curves, text).text(width, signs)
        }
        Field::Curves(curves) => strips::of_whiskers(panel, curves, text).map_or_else(
            || curve::text(panel, curves, text, width, signs),
            |strips| strips.text(width, signs),
        ),
        Field::Rows { names, layers } => strips::of_rows(panel, names, layers, text).text(width, signs),
        Field::Map(_) => None,
    }
}

/// A sign and what it means: marks mean what they mean in tables.
fn said(sign: Sign, words: &str, signs: &Signs) -> String {
    let letter = signs.of(sign);
    match sign {
        Sign::Row(mark) => format!("{letter} {}", plain(&mark.explained(words))),
        Sign::Target => format!("{letter}{letter} {}", plain(words)),
        _ => format!("{letter} {}", plain(words)),
    }
}

/// What is drawn, and in which unit.
fn heading(panel: &Panel) -> String {
    let between = if panel.unit.is_empty() { "" } else { ": " };
    let by_row = panel.text.as_ref().is_some_and(|text| !text.rows.is_empty());
    let against = if by_row {
        format!(", against {}", panel.axis.name)
    } else {
        String::new()
    };
    plain(&format!("{}{between}{}{against}", panel.title, panel.unit))
}

/// Dashes of a printed page as a terminal's, and nothing that could steer it.
fn plain(text: &str) -> String {
    printable(text).replace(['−', '–'], "-").replace('×', "x")
}

/// Names in so many letters at most, and none that reads like another.
fn names<'n>(names: impl Iterator<Item = &'n str>, room: usize) -> Vec<String> {
    let names: Vec<String> = names.map(plain).collect();
    let middle = |name: &str| {
        let letters: Vec<char> = name.chars().collect();
        let (tail, head) = (room.saturating_sub(2) / 2, room.saturating_sub(2).div_ceil(2));
        if letters.len() <= room || tail == 0 {
            return cut(name, room);
        }
        let ends = letters[..head]
            .iter()
            .chain(&['.', '.'])
            .chain(&letters[letters.len() - tail..]);
        ends.collect()
    };
    cut_apart(&names, |name| cut(name, room), middle)
}

/// Names cut at their ends; those that then read alike are cut in the middle, where that tells them apart.
fn cut_apart(names: &[String], at_end: impl Fn(&str) -> String, in_middle: impl Fn(&str) -> String) -> Vec<String> {
    let mut cut: Vec<String> = names.iter().map(|name| at_end(name)).collect();
    let alike: Vec<usize> = (0..cut.len())
        .filter(|k| (0..cut.len()).any(|j| j != *k && cut[j] == cut[*k] && names[j] != names[*k]))
        .collect();
    for k in alike {
        cut[k] = in_middle(&names[k]);
    }
    cut
}

/// An axis line with its ticks, and the figures under them: of two that would touch, the one that comes first stays.
fn ruled(ticks: &[(String, usize)], columns: usize, signs: &Signs) -> (Vec<char>, String) {
    let mut line = vec![signs.axis; columns];
    let mut names = vec![' '; columns];
    let mut taken: Vec<(usize, usize)> = Vec::new();
    for (text, column) in ticks {
        let length = text.chars().count();
        let start = column.saturating_sub(length / 2).min(columns.saturating_sub(length));
        let end = start + length;
        if taken.iter().all(|(s, e)| end + 1 < *s || start > e + 1) {
            taken.push((start, end));
            line[*column] = signs.tick;
            for (cell, c) in names[start..].iter_mut().zip(text.chars()) {
                *cell = c;
            }
        }
    }
    (line, names.into_iter().collect())
}

/// The line and the figures of an axis. Figures that stand in order are made fewer evenly until none touches another.
fn ruler(axis: &Axis, scale: &Scale, signs: &Signs) -> (Vec<char>, String) {
    let ticks = axis.ticks.iter().filter(|(at, _)| scale.of.holds(*at));
    let ticks = ticks.map(|(at, text)| (short(plain(text), *at), scale.column(*at)));
    let ticks: Vec<(String, usize)> = ticks.collect();
    let in_order = axis.ticks.is_sorted_by(|a, b| a.0 < b.0);
    let most = if in_order { ticks.len().max(1) } else { 1 };
    let every = [1, 2, 5, 10, 20, 50].into_iter().filter(|every| *every < most);
    let thinned = every.chain([most]).map(|every| {
        let kept: Vec<(String, usize)> = ticks.iter().step_by(every).cloned().collect();
        let (line, names) = ruled(&kept, scale.columns, signs);
        let all = line.iter().filter(|c| **c == signs.tick).count() == kept.len();
        (all, (line, names))
    });
    let mut drawn = (vec![signs.axis; scale.columns], String::new());
    for (all, ruler) in thinned {
        drawn = ruler;
        if all {
            break;
        }
    }
    drawn
}

/// Lines that are never wider than asked.
struct Lines {
    text: String,
    width: usize,
}

impl Lines {
    const fn new(width: usize) -> Self {
        Self {
            text: String::new(),
            width,
        }
    }

    fn line(&mut self, text: &str) {
        let kept: String = text.chars().take(self.width).collect();
        self.text.push_str(kept.trim_end());
        self.text.push('\n');
    }

    fn wrapped(&mut self, text: &str) {
        wrap(text, self.width).lines().for_each(|line| self.line(line));
    }

    /// Items side by side, as many to a line as have room.
    fn items(&mut self, items: &[String]) {
        const GAP: &str = "   ";
        let mut line = String::new();
        for item in items {
            let length = item.chars().count();
            if !line.is_empty() && line.chars().count() + GAP.len() + length > self.width {
                self.line(&line);
                line.clear();
            }
            if length > self.width {
                self.wrapped(item);
                continue;
            }
            if !line.is_empty() {
                line.push_str(GAP);
            }
            line.push_str(item);
        }
        if !line.is_empty() {
            self.line(&line);
        }
    }
}

/// Columns of a plot as values.
struct Scale {
    of: SizeScale,
    columns: usize,
}

impl Scale {
    /// The column of a value, or the end it lies beyond.
    fn column(&self, value: f64) -> usize {
        let share = if self.of.high > self.of.low {
            self.of.share(value)
        } else {
            0.5
        };
        (share.clamp(0.0, 1.0) * (self.columns - 1) as f64).round() as usize
    }
}

/// Letters of what stands at a tick, at most: a date in another year has 11, the largest amount that a file takes 17.
const LONGEST_TICK: usize = 17;

/// What stands at a tick; a figure beyond all that a file takes, in a few columns.
fn short(text: String, value: f64) -> String {
    if text.chars().count() <= LONGEST_TICK {
        text
    } else {
        format!("{value:.1e}")
    }
}

#[cfg(test)]
mod tests;
