//! How many hands-on hours does a batch take on average, and for what?
//!
//! E\[hours\] = E\[F\] / 60 x (once / batches planned + sum over steps j of (rounds_j setup_j + each_j L_j / (1 - redo_j)) + sum over
//! channels c, and seconds, of orders_c per_order_c), times in minutes (an order's with the quotes and enquiries until one is won, 1 / chance of them), F the pace, all by their means. L_j is E\[f_1 + ... + f_H\], the learning factors
//! of the H pieces handled there. A step done again with chance r each time is done 1 / (1 - r) times (geometric law).
//!
//! Where other designs fill a share o of each round of a step, setup_j is (1 - o) of it: they bear the rest.
//!
//! Setups and pieces at the steps of a helper are none of these hours, but the helper's: they cost the wage.
//!
//! Selling days add their own minutes, which no pace lengthens.
//!
//! Means multiply because pace, times and counts are drawn independently, and the times of a random number of independent draws add up to
//! number x mean (Wald 1944, "On cumulative sums of random variables", Annals of Mathematical Statistics 15, 283-296; from memory).
//! Every scenario has this mean. Chances are those of [`super::counts`].
//!
//! Example: setup 30 min and 12 min a piece at a pace of 1: a batch of 5 takes 1.5 h.

use super::counts::{self, arrivals, at_steps, learning_factor, learning_sums, sold_by_way};
use crate::scenario::{Channel, Sale, Scenario, SellingDay, Spread, Tries};
use serde::{Deserialize, Serialize};

/// Mean hands-on hours by what they go into.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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
    /// On selling days and on the way there; absent in JSON where there are none.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub selling_days: f64,
}

/// Whether there is nothing to tell.
#[allow(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
pub(super) fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

impl Parts {
    /// All of them.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.once + self.setup + self.each + self.redo + self.per_order + self.selling_days
    }
}

/// Expected hands-on hours of a batch of `size`.
#[must_use]
pub fn hours(scenario: &Scenario, size: u32) -> f64 {
    hours_by_part(scenario, size).total()
}

/// [`hours`] by what they go into.
#[must_use]
pub fn hours_by_part(scenario: &Scenario, size: u32) -> Parts {
    let per_minute = scenario.pace.mean() / 60.0;
    let [setup, each, redo] = bench_minutes(scenario, size, false);
    let minutes = order_minutes(scenario);
    let ways = sold_by_way(scenario, size);
    let of_firsts = ways.iter().zip(minutes).map(|(sold, minutes)| sold.orders * minutes);
    let of_seconds = counts::seconds_sold(scenario, size).map_or(0.0, |sold| sold.orders * second_minutes(scenario));
    Parts {
        once: once_hours(scenario) / f64::from(scenario.batch.runs),
        setup: setup * per_minute,
        each: each * per_minute,
        redo: redo * per_minute,
        per_order: (of_firsts.sum::<f64>() + of_seconds) * per_minute,
        selling_days: selling_day_hours(scenario),
    }
}

/// Expected hours of the helper in a batch of `size`: setup, and all the rest.
#[must_use]
pub fn helper_hours(scenario: &Scenario, size: u32) -> [f64; 2] {
    let per_minute = scenario.pace.mean() / 60.0;
    let [setup, each, redo] = bench_minutes(scenario, size, true);
    [setup * per_minute, (each + redo) * per_minute]
}

/// Mean minutes of setup, of the work on each piece and of doing that again, at the steps of the helper (`helped`) or of the maker.
fn bench_minutes(scenario: &Scenario, size: u32, helped: bool) -> [f64; 3] {
    let (mut setup, mut each, mut redo) = (0.0, 0.0, 0.0);
    if scenario.steps.iter().all(|step| step.helped != helped) {
        return [setup, each, redo];
    }
    let at_steps = scenario.steps.iter().zip(at_steps(scenario, size));
    for (step, at) in at_steps.filter(|(step, _)| step.helped == helped) {
        setup += at.rounds * step.own_setup().mean();
        let learned = learning_sums(step.learning, at.handled.last());
        let once_each = step.each.mean() * at.handled.mean_of(|pieces| learned[pieces as usize]);
        each += once_each;
        redo += once_each * step.redo / (1.0 - step.redo);
    }
    [setup, each, redo]
}

/// Hours done once for the design, at the mean pace.
#[must_use]
pub fn once_hours(scenario: &Scenario) -> f64 {
    let minutes: f64 = scenario.steps.iter().map(|step| step.once.mean()).sum();
    minutes * scenario.pace.mean() / 60.0
}

/// Mean hours of all selling days, with the way there; no pace lengthens them.
#[must_use]
pub(crate) fn selling_day_hours(scenario: &Scenario) -> f64 {
    scenario.selling_days.iter().map(SellingDay::minutes).sum::<f64>() / 60.0
}

/// Mean minutes per order of the steps together.
#[must_use]
pub(crate) fn step_order_minutes(scenario: &Scenario) -> f64 {
    scenario.steps.iter().map(|step| step.per_order.mean()).sum()
}

/// Mean minutes per order of seconds.
#[must_use]
pub(crate) fn second_minutes(scenario: &Scenario) -> f64 {
    let own = scenario.seconds.as_ref().and_then(|seconds| seconds.per_order.as_ref());
    own.map_or_else(|| step_order_minutes(scenario), Spread::mean)
}

/// Mean minutes per order of each way of selling, with the quotes and enquiries that it takes to win one: a channel's own time stands for that of the steps.
#[must_use]
pub fn order_minutes(scenario: &Scenario) -> Vec<f64> {
    let of_steps = step_order_minutes(scenario);
    let asked = |sale: &Sale| sale.tries().map(Tries::per_order).iter().sum::<f64>();
    if scenario.channels.is_empty() {
        return vec![of_steps + asked(&scenario.sale)];
    }
    let own = |channel: &Channel| channel.per_order.as_ref().map_or(of_steps, |own| own.mean()) + asked(&channel.sale);
    scenario.channels.iter().map(own).collect()
}

/// Expected hands-on hours of one more good piece: time per piece of all that must be started for it. No setup, no orders.
///
/// Learning is as for the first piece.
#[must_use]
pub(crate) fn hours_of_one_more(scenario: &Scenario) -> f64 {
    hours_of_the_last(scenario, 1)
}

/// [`hours_of_one_more`] with what was learned from the pieces before it in a batch of `size`.
#[must_use]
pub(crate) fn hours_of_the_last(scenario: &Scenario, size: u32) -> f64 {
    bench_hours_of_the_last(scenario, size, false)
}

/// [`hours_of_the_last`] of the helper.
#[must_use]
pub(crate) fn helper_hours_of_the_last(scenario: &Scenario, size: u32) -> f64 {
    bench_hours_of_the_last(scenario, size, true)
}

fn bench_hours_of_the_last(scenario: &Scenario, size: u32, helped: bool) -> f64 {
    let (arrive, good) = arrivals(scenario);
    let mut minutes = 0.0;
    for (step, arrive) in scenario
        .steps
        .iter()
        .zip(arrive)
        .filter(|(step, _)| step.helped == helped)
    {
        let learned = learning_factor(step.learning, size.saturating_sub(1));
        minutes += arrive * step.each.mean() * learned / (1.0 - step.redo);
    }
    scenario.pace.mean() * minutes / 60.0 / good
}

/// Pieces that come off the bench in a week, where hours of the week are given.
#[must_use]
pub(crate) fn pieces_per_week(scenario: &Scenario) -> Option<f64> {
    // Of two at the bench the slower keeps the pace.
    let per_piece = hours_of_one_more(scenario).max(helper_hours_of_the_last(scenario, 1));
    let week = scenario.hours.as_ref()?.week();
    (per_piece > 0.0).then(|| week / per_piece)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Learning, Spoiled, Step};
    use crate::testing::{close, scenario, step};

    /// Two pieces through a room of one, the first step spoiling a quarter: every case by hand.
    #[test]
    fn two_pieces_by_hand() {
        let made = scenario(
            50.0,
            30.0,
            &[2],
            vec![
                Step {
                    each: Spread::Certain(10.0),
                    spoil: 0.25,
                    ..step("fire")
                },
                Step {
                    setup: Spread::Certain(8.0),
                    each: Spread::Certain(4.0),
                    room: Some(1),
                    redo: 0.5,
                    learning: Some(Learning {
                        rate: 0.5,
                        made_before: 0,
                        learned_by: None,
                    }),
                    ..step("polish")
                },
                Step {
                    per_order: Spread::Certain(6.0),
                    ..step("pack")
                },
            ],
        );
        // None, one, two survive with 1/16, 6/16, 9/16. One: setup 8, each 4 twice (redo doubles), order 6: 22. Two: the second
        // takes half: 16 + 8 + 4 + 12 = 40. First step always 20.
        let minutes = 20.0 + 6.0 / 16.0 * 22.0 + 9.0 / 16.0 * 40.0;
        close(hours(&made, 2), minutes / 60.0);
        let parts = hours_by_part(&made, 2);
        close(parts.setup, (6.0 / 16.0 * 8.0 + 9.0 / 16.0 * 16.0) / 60.0);
        close(parts.redo, (6.0 / 16.0 * 4.0 + 9.0 / 16.0 * 6.0) / 60.0);
        // The last good piece: 10 and, of three quarters, 4 halved by learning and doubled by redo; all of that over three quarters.
        close(hours_of_the_last(&made, 2), (10.0 + 0.75 * 4.0) / 0.75 / 60.0);
    }

    /// A piece that is made again takes on the second attempt what was learned on the first.
    #[test]
    fn learning_goes_on_where_pieces_are_made_again() {
        let mut made = scenario(
            50.0,
            30.0,
            &[1],
            vec![Step {
                each: Spread::Certain(60.0),
                spoil: 0.5,
                learning: Some(Learning {
                    rate: 0.5,
                    made_before: 0,
                    learned_by: Some(2),
                }),
                ..step("turn")
            }],
        );
        made.batch.spoiled = Spoiled::Remake;
        // The first takes an hour, each further one half: 1 + (2 - 1) / 2 starts on average.
        close(hours(&made, 1), 1.5);
    }

    /// Two designs' worth of drawing, spread over four batches, at a pace of a half.
    #[test]
    fn once_is_spread_over_the_batches_planned() {
        let mut made = scenario(
            50.0,
            30.0,
            &[1],
            vec![Step {
                once: Spread::Certain(240.0),
                ..step("draw")
            }],
        );
        made.batch.runs = 4;
        made.pace = Spread::Certain(0.5);
        close(hours(&made, 7), 0.5);
        close(once_hours(&made), 2.0);
    }

    /// A channel's own time stands for that of the steps; 60 % and 40 % of five pieces are three and two, and of single pieces six and four of ten.
    #[test]
    fn channels_have_their_own_time() {
        let text = "target = 20\n[[step]]\nname = \"pack\"\neach = \"6 min\"\nper_order = \"30 min\"\n[sale]\nprice = 50\n\
                    [[channel]]\nname = \"shop\"\nshare = \"60 %\"\nper_order = \"2 min\"\n[[channel]]\nname = \"post\"\nshare = \"40 %\"\n";
        let made = crate::scenario::read("test", text, &[]).expect("it reads");
        assert_eq!(order_minutes(&made), [2.0, 30.0]);
        close(hours(&made, 1), (6.0 + 0.6 * 2.0 + 0.4 * 30.0) / 60.0);
        close(hours(&made, 5), (30.0 + 3.0 * 2.0 + 2.0 * 30.0) / 60.0);
    }

    #[test]
    fn a_weeks_pieces_are_its_hours_over_those_of_one() {
        let text = "target = 20\n[[step]]\nname = \"make\"\nsetup = \"9 min\"\neach = \"30 min\"\nredo = \"20 %\"\n[sale]\nprice = 50\n\
                    [hours]\nmon = 3\nsat = 2\n";
        let made = crate::scenario::read("test", text, &[]).expect("it reads");
        // 30 / 0.8 = 37.5 min a piece; 300 min a week.
        close(pieces_per_week(&made).expect("hours are given"), 8.0);
    }
}
