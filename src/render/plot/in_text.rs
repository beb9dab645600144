//! How a panel stands in text.

use crate::render::figure::Mark;

/// How a panel stands in text.
#[derive(Debug, Clone, Default)]
pub(in crate::render) struct Text {
    /// What the signs mean, side by side where there is room.
    pub(in crate::render) legend: Vec<(Sign, String)>,
    /// What else is said under it, a line each.
    pub(in crate::render) notes: Vec<String>,
    /// Of curves: a row for each of these places, or one curve against them all where there are none.
    pub(in crate::render) rows: Vec<TextRow>,
    /// Of curves: a row for each end label that has a line, where there is one place only.
    pub(in crate::render) by_label: bool,
}

impl Text {
    /// With such a legend and nothing else.
    pub(in crate::render) fn of<S: Into<String>>(legend: impl IntoIterator<Item = (Sign, S)>) -> Self {
        Self {
            legend: legend.into_iter().map(|(sign, words)| (sign, words.into())).collect(),
            ..Self::default()
        }
    }
}

/// A place of curves as a row of its own.
#[derive(Debug, Clone)]
pub(in crate::render) struct TextRow {
    pub(in crate::render) at: f64,
    pub(in crate::render) name: String,
    pub(in crate::render) figure: String,
}

/// What a thing is in text; which letter stands for it is decided there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::render) enum Sign {
    /// Half lie on either side.
    Median,
    /// Where most lie.
    Band,
    /// What a bar measures.
    Bar,
    /// How much further it goes by another measure.
    More,
    /// What is lacking, on the other side of zero.
    Lack,
    /// On average.
    LongRun,
    /// What is asked for, as a level line.
    Target,
    /// What is asked for, as an upright line.
    Aim,
    /// Where something ends for good.
    End,
    /// What a table says of a row.
    Row(Mark),
}
