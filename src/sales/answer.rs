//! What a sales log teaches: the answer of [`learn`](super::learn::learn), field by field.

use super::count::{Between, Counted};
use super::price::{Best, CurvePoint};
use super::survival::Law;
use crate::scenario::Scenario;
use serde::Serialize;

/// A file whose price is so many times one that was tried, or so small a part of it, is doubtful (assumption).
const FAR_FROM_FILE: f64 = 3.0;

/// The whole answer; its serialised form is the documented JSON of `sold`. Money is in the scenario's currency, rates are a week.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sold {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Asked price per piece in the file.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Pieces of the file's largest batch, which is no finding of the log and not in the JSON.
    #[serde(skip)]
    pub largest_batch: u32,
    /// Pieces of a set, where the file sells in sets.
    #[serde(skip)]
    pub set_of: Option<u32>,
    /// What is in the log.
    pub counted: Counted,
    /// Lowest and highest list price that was tried; `None` without offers.
    pub tried: Option<[f64; 2]>,
    /// What the log has too few of for anything to be learned.
    pub too_few: Option<TooFew>,
    /// Laws of the time until a sale; none where nothing is learned.
    pub laws: Vec<LawTold>,
    /// Whether the better law is better by more than chance.
    pub clearly: bool,
    /// k of Weibull's law: below 1 an offer sells the less the older it gets.
    pub shape: Option<Between>,
    /// How many per cent of the buyers a price 1 % higher costs.
    pub elasticity: Option<Between>,
    /// Outlets' own levels, where there is more than one.
    pub outlets: Vec<OutletTold>,
    /// What prices went along with, where something explains at least half of them.
    pub goes_along: Option<GoesAlong>,
    /// Buyers, at [`Buyers::price`].
    pub buyers: Option<Buyers>,
    /// The file's selling days that the log has; its other rows are those of `buyers`.
    pub selling_days: Vec<SellingDayTold>,
    /// Minutes an enquiry takes, and hours that those for a sale cost.
    pub enquiry_minutes: Option<f64>,
    /// Hours of enquiries for each sale.
    pub enquiry_hours_a_sale: Option<Between>,
    /// The price that earns most.
    pub best: Option<Best>,
    /// Two prices to try in turn, so that the log can tell more.
    pub try_prices: [f64; 2],
    /// Prices from the lowest to the highest that are looked at.
    pub curve: Vec<CurvePoint>,
    /// What the file has of it.
    pub file: FileSays,
}

/// What a log has too few of, and how many it takes until something is learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "of", rename_all = "snake_case")]
pub enum TooFew {
    /// Pieces sold.
    Sales {
        /// [`FEW`](super::learn::FEW).
        needed: u64,
    },
    /// Offers, where most pieces were sold at offers of several.
    Offers {
        /// More than what is to be learned of them: levels, what a price costs, and how much they differ.
        needed: usize,
    },
}

/// A law and how well it does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LawTold {
    /// Which.
    pub law: Law,
    /// Logarithm of its largest likelihood.
    pub log_likelihood: f64,
    /// Akaike's criterion, corrected for few sales: the smaller, the better (`Fit::aicc`).
    pub aicc: f64,
    /// Whether estimates are taken from it.
    pub better: bool,
}

/// An outlet beside the first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutletTold {
    /// Its name; empty: not said; several that sold least may share one.
    pub name: String,
    /// Pieces sold.
    pub sold: u64,
    /// How many times as fast an offer sells there as in the first that is told, at one price; `None` for that one itself.
    pub times: Option<Between>,
}

/// What prices went along with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GoesAlong {
    /// With what.
    pub with: Along,
    /// The share of their variance that this explains.
    pub share: f64,
    /// The elasticity with it left open; `None`: the two cannot be told apart at all, or outlets are open anyway.
    pub elasticity: Option<Between>,
}

/// What prices may go along with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Along {
    /// Every outlet had its own.
    Outlet,
    /// They rose or fell as time went by.
    Time,
    /// They went with the time of year.
    Year,
}

/// Buyers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Buyers {
    /// At this list price: the file's where that is near a price that was tried, else the usual one of the log.
    pub price: f64,
    /// Whether that is the file's.
    pub at_file_price: bool,
    /// Buyers a week on average.
    pub week: Between,
    /// Eight times in ten that average lies between these.
    pub week_tenths: [f64; 2],
    /// Offers open at once on a day on which anything was for sale; a day of an outlet with nothing but selling days, on any day of the year where
    /// the file has no season.
    pub open_at_once: f64,
    /// Mean share of them that stays sold, by the file: sales in the log are final, and what comes back unsold from sale or return is counted on top
    /// of them, as `buyers` has it. `None` where no channel has pieces on sale or return.
    pub stay_sold: Option<f64>,
    /// Selling days a week of outlets with nothing else, where the file has no season.
    pub selling_days_a_week: Option<f64>,
    /// Days until half of the offers have sold a piece.
    pub half_sold_days: Between,
    /// Buyers in a season, where the file has one.
    pub season: Option<SeasonBuyers>,
}

/// A selling day of the file, by the rows of the log whose outlet is called like it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SellingDayTold {
    /// Its name.
    pub name: String,
    /// Pieces sold there.
    pub sold: u64,
    /// What is asked for there on a day to come; `None`: the log cannot tell.
    pub sells: Option<Sells>,
    /// The file's mean `sells`, at the asked price.
    pub file: Option<Against>,
}

/// Pieces asked for on one selling day to come: its own chance, and that of the estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sells {
    /// At this list price.
    pub price: f64,
    /// Mean with its 95 % interval.
    pub mean: Between,
    /// One day in ten has fewer.
    pub p10: f64,
    /// Half have fewer.
    pub p50: f64,
    /// One in ten has more.
    pub p90: f64,
}

/// Buyers of one season to come: their own chance, and that of the estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SeasonBuyers {
    /// Days for sale.
    pub days: f64,
    /// Stretches of the log that these days come from; 0 where they were asked for.
    pub stretches: usize,
    /// Mean buyers with its 95 % interval.
    pub mean: Between,
    /// One season in ten has fewer.
    pub p10: f64,
    /// Half have fewer.
    pub p50: f64,
    /// One in ten has more.
    pub p90: f64,
}

/// What the file has, and whether the log contradicts it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FileSays {
    /// Pieces asked for a week, of `[steady]`.
    pub per_week: Option<Against>,
    /// Mean buyers of `[season]`, at the asked price.
    pub buyers: Option<Against>,
    /// The price that the file tells them for, where that is another one.
    #[serde(skip)]
    pub buyers_at: Option<f64>,
    /// `elasticity` of `[season]`.
    pub elasticity: Option<Against>,
}

/// A figure of the file against the log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Against {
    /// What the file has.
    pub was: f64,
    /// Whether it lies outside of the log's 95 % interval; an elasticity also of the one that leaves open what prices went along with.
    pub contradicted: bool,
}

impl Against {
    pub(super) fn new(was: f64, log: Between) -> Self {
        let below = log.low.is_some_and(|low| was < low);
        let above = log.high.is_some_and(|high| was > high);
        Self {
            was,
            contradicted: below || above,
        }
    }
}

impl Sold {
    /// Sets what the file has against what was found.
    pub(super) fn set_against(
        &mut self,
        scenario: &Scenario,
        at_file_price: bool,
        week: Between,
        season: Option<SeasonBuyers>,
    ) {
        if at_file_price {
            self.file.per_week = scenario.steady.map(|steady| Against::new(steady.per_week, week));
            self.file.buyers = scenario.season.as_ref().zip(season).map(|(file, found)| {
                let was = crate::model::demand::mean_buyers(file) * file.at_price(scenario.sale.price);
                Against::new(was, found.mean)
            });
            let told_at = scenario.elastic_season().map(|season| season.asked_at);
            self.file.buyers_at = told_at.filter(|price| *price != scenario.sale.price);
        }
        self.file.elasticity = scenario.season.as_ref().zip(self.elasticity).map(|(file, e)| {
            let mut against = Against::new(file.elasticity, e);
            // What buyers may have answered instead of the price must leave no room for the file's either.
            let open = self.goes_along.and_then(|goes| goes.elasticity);
            against.contradicted &= open.is_none_or(|open| Against::new(file.elasticity, open).contradicted);
            against
        });
    }

    /// Pieces of a set, where the file sells in sets and every price in the log is about so many times the file's (assumption: a quarter more or
    /// less): those are prices of a set.
    #[must_use]
    pub fn prices_of_sets(&self) -> Option<u32> {
        self.set_of.filter(|pieces| {
            let [low, high] = [0.8, 1.25].map(|off| off * f64::from(*pieces) * self.price);
            self.tried.is_some_and(|[least, most]| least >= low && most <= high)
        })
    }

    /// The lowest and highest price tried, where the file's is so far from both that the log may be another piece's (assumption: three times).
    #[must_use]
    pub fn another_piece(&self) -> Option<[f64; 2]> {
        self.tried
            .filter(|[low, high]| self.price > FAR_FROM_FILE * high || self.price * FAR_FROM_FILE < *low)
    }
}
