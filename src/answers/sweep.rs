//! The main question: hourly rate and price floor against batch size.

use serde::Serialize;

/// The whole answer; its serialised form is the documented JSON of `sweep`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sweep {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Asked price per piece.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Share of runs that should reach it.
    pub confidence: f64,
    /// Simulated runs of each size.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Long-run rate that no batch size can pass.
    pub ceiling: f64,
    /// First size whose chance of reaching the target is at least the confidence.
    pub first_paying_size: Option<u32>,
    /// Smallest size past which no bigger size of the sweep adds 1 % to the long-run rate.
    pub level_size: u32,
    /// Ascending in size.
    pub sizes: Vec<SizeAnswer>,
}

/// Everything known about one batch size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeAnswer {
    /// Pieces started.
    pub size: u32,
    /// Good pieces of a run.
    pub good: Mean,
    /// Pieces sold of a run.
    pub sold: Mean,
    /// Hands-on hours of a run.
    pub hours: Summary,
    /// Hands-on hours of a run / size.
    pub hours_per_piece: Middle,
    /// Mean hours per piece by what they go into; they add up to `hours_per_piece.mean`.
    pub hours_parts: Parts,
    /// Expected setup hours / expected hours.
    pub setup_share: f64,
    /// Profit of a run, before the maker is paid.
    pub profit: Summary,
    /// Profit / hours.
    pub rate: Rate,
    /// Share of runs that reach the target, with its Wilson 95 % interval.
    pub reach: Share,
    /// Price floors at 50, 80 and 90 %.
    pub floor: Vec<Floor>,
    /// Price floor at the asked confidence.
    pub floor_asked: Floor,
    /// Price at which E[profit] = target x E[hours]; `None` when no price does it.
    pub floor_long_run: Option<f64>,
    /// Mean money of a run by what it goes into.
    pub money: Money,
}

/// Mean and its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mean {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub se: f64,
}

/// Mean with its error, and three quantiles (Hyndman and Fan's type 7).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub se: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// Mean and three quantiles.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Middle {
    /// Mean.
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// Mean hands-on hours per piece by what they go into.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Parts {
    /// Drawing, prototype: once for the life of the design.
    pub once: f64,
    /// Per round.
    pub setup: f64,
    /// Per piece, the first time; work on pieces later spoiled and on their replacements included.
    pub each: f64,
    /// Doing a step again.
    pub redo: f64,
    /// Per order sold.
    pub per_order: f64,
}

/// The hourly rate of runs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rate {
    /// Mean of the runs' rates (not what the hour earns in the long run).
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
    /// E[profit] / E[hours].
    pub long_run: f64,
    /// Standard error of `long_run` by the delta method.
    pub long_run_se: f64,
    /// `long_run` with stock at what was really paid for it.
    pub long_run_paid: f64,
}

/// A share of runs and its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// Share.
    pub share: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A price floor and its 95 % interval; `None` is infinite (no price does it).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Floor {
    /// Share of runs in which this price reaches the target.
    pub confidence: f64,
    /// The floor.
    pub price: Option<f64>,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// Mean money of a run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Money {
    /// From buyers, without tax, refunds taken off.
    pub income: f64,
    /// Stock at replacement prices.
    pub materials: f64,
    /// Stock at what was really paid.
    pub materials_paid: f64,
    /// Fees.
    pub fees: f64,
    /// Paid to carriers.
    pub post: f64,
    /// Overhead of the shop.
    pub shop: f64,
}
