//! Any answer, whichever question it is of.

use serde::Serialize;

use super::Render;
use super::columns::Declared;
use super::page::Page;
use super::plot::Plot;
use super::text::Look;
use crate::questions::calendar::Calendar;
use crate::questions::compare::Compare;
use crate::questions::drivers::Drivers;
use crate::questions::floor::Floors;
use crate::questions::jig::Jigs;
use crate::questions::over::Over;
use crate::questions::season::SeasonAnswer;
use crate::questions::steady::SteadyAnswer;
use crate::questions::stress::Stress;
use crate::questions::sweep::Sweep;
use crate::sales::answer::Sold;
use crate::worklog::fit::Fit;

/// The figures of an answer, by question.
#[derive(Debug, Clone, Serialize)]
#[serde(untagged)]
#[non_exhaustive]
pub enum Figures {
    /// Several scenarios against each other.
    Compare(Box<Compare>),
    /// What an hour earns, size by size.
    Sweep(Box<Sweep>),
    /// What an hour earns, over the values of one key or two.
    Over(Box<Over>),
    /// What a work log says.
    Fit(Box<Fit>),
    /// What a sales log says.
    Sold(Box<Sold>),
    /// The price that pays.
    Floor(Box<Floors>),
    /// What may go wrong.
    Stress(Box<Stress>),
    /// A selling season.
    Season(Box<SeasonAnswer>),
    /// A steady sale.
    Steady(Box<SteadyAnswer>),
    /// What moves the hour.
    Drivers(Box<Drivers>),
    /// What aids are worth.
    Jig(Box<Jigs>),
    /// When a batch is done.
    Calendar(Box<Calendar>),
}

impl Figures {
    fn render(&self) -> &dyn Render {
        match self {
            Self::Compare(answer) => &**answer,
            Self::Sweep(answer) => &**answer,
            Self::Over(answer) => &**answer,
            Self::Fit(answer) => &**answer,
            Self::Sold(answer) => &**answer,
            Self::Floor(answer) => &**answer,
            Self::Stress(answer) => &**answer,
            Self::Season(answer) => &**answer,
            Self::Steady(answer) => &**answer,
            Self::Drivers(answer) => &**answer,
            Self::Jig(answer) => &**answer,
            Self::Calendar(answer) => &**answer,
        }
    }
}

impl Render for Figures {
    fn page(&self, look: &Look) -> Page {
        self.render().page(look)
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        self.render().data()
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        self.render().tables()
    }

    fn plot(&self) -> Option<Plot> {
        self.render().plot()
    }
}
