//! How much do the hands-on hours of a batch vary?
//!
//! Hours are F M / 60 with F the pace and M the minutes of a batch, independent: Var\[F M\] = (Var F + E\[F\]^2) (Var M + E\[M\]^2) -
//! E\[F\]^2 E\[M\]^2. M is a sum of independent parts:
//!
//! * selling days: their own minutes, outside F.
//! * setups, once, orders: number x variance of one; what it takes to win an order is a number of tries with a geometric law.
//! * a step's pieces, f_i the learning factors, r the chance of a redo, N = 1 + geometric with E N = 1 / (1 - r), Var N = r / (1 - r)^2:
//!   a draw for each piece gives sum f_i^2 (E N Var X + Var N E\[X\]^2); one draw X for the batch gives
//!   (Var X + E\[X\]^2) (sum f_i^2 Var N + (sum f_i)^2 E\[N\]^2) - E\[X\]^2 (sum f_i)^2 E\[N\]^2.
//! * where setups lie opposite to X in a share p of batches, all m setups of such a batch are alike: m + p m (m - 1) variances of one, and twice
//!   p m (sum f_i) E N times the covariance of a setup and X there.
//!
//! Textbook results on compound sums (law of total variance). None where pieces can be spoiled or the number of orders is left to
//! chance: [`NoClosedForm`]. Example: setup uniform on 0 to 12 min, nothing else: 12 min^2, which is 1/300 h^2.

use super::chances::Chances;
use super::counts::{by_way, certain_orders, learning_factor};
use super::hours::{order_minutes, second_minutes, selling_day_hours};
use super::{NoClosedForm, demand, hours};
use crate::scenario::{Sale, Scenario, Spread, Tries, Varies};

/// Variance of the hands-on hours of a batch of `size`, in hours squared.
///
/// # Errors
/// [`NoClosedForm::Spoiled`] and [`NoClosedForm::Orders`].
pub fn variance_of_hours(scenario: &Scenario, size: u32) -> Result<f64, NoClosedForm> {
    let minutes = making(scenario, size)? + selling(scenario, size)?;
    let (pace, pace_variance) = (scenario.pace.mean(), scenario.pace.variance());
    // Without the pace.
    let mean = if pace > 0.0 {
        (hours(scenario, size) - selling_day_hours(scenario)) / pace * 60.0
    } else {
        0.0
    };
    let whole = (pace_variance + pace * pace) * (minutes + mean * mean) - pace * pace * mean * mean;
    let days = scenario.selling_days.iter();
    let days: f64 = days.map(|day| day.there.variance() + day.travel.variance()).sum();
    Ok((whole + days) / 3600.0)
}

/// Of the minutes of making.
fn making(scenario: &Scenario, size: u32) -> Result<f64, NoClosedForm> {
    if scenario.steps.iter().any(|step| step.spoil > 0.0) {
        return Err(NoClosedForm::Spoiled);
    }
    let batches = f64::from(scenario.batch.runs);
    let mut variance = 0.0;
    for step in &scenario.steps {
        variance += step.once.variance() / (batches * batches);
        if step.helped {
            continue;
        }
        let (setup, rounds) = (step.own_setup(), f64::from(super::counts::rounds_of(size, step.room)));
        let opposite = step.opposite_share();
        variance += rounds * (1.0 + opposite * (rounds - 1.0)) * setup.variance();
        let (mut factors, mut squares) = (0.0, 0.0);
        for piece in 0..size {
            let factor = learning_factor(step.learning, piece);
            factors += factor;
            squares += factor * factor;
        }
        let repeats = 1.0 / (1.0 - step.redo);
        let repeats_variance = step.redo * repeats * repeats;
        let (each, each_variance) = (step.each.mean(), step.each.variance());
        variance += match step.varies {
            Varies::Piece => squares * (repeats * each_variance + repeats_variance * each * each),
            Varies::Batch => {
                let sum = factors * repeats;
                let sum_variance = squares * repeats_variance;
                if opposite > 0.0 {
                    variance += 2.0 * opposite * rounds * sum * setup.opposite_covariance(&step.each);
                }
                (each_variance + each * each) * (sum_variance + sum * sum) - each * each * sum * sum
            }
        };
    }
    Ok(variance)
}

/// Of the minutes of orders, whose number must be certain where they take any.
fn selling(scenario: &Scenario, size: u32) -> Result<f64, NoClosedForm> {
    if order_minutes(scenario).iter().all(|minutes| *minutes == 0.0) && second_minutes(scenario) == 0.0 {
        return Ok(0.0);
    }
    if scenario.second_chance() > 0.0 {
        return Err(NoClosedForm::Orders);
    }
    let of_steps: f64 = scenario.steps.iter().map(|step| step.per_order.variance()).sum();
    let mut home = f64::from(size);
    for day in &scenario.selling_days {
        let sells = demand::certain_of(&day.sells, scenario.buyers_at_price()).ok_or(NoClosedForm::Orders)?;
        home = (home - sells).max(0.0);
    }
    let sold = match &scenario.season {
        Some(season) => demand::certain(season, scenario.sale.price)
            .ok_or(NoClosedForm::Orders)?
            .min(home) as u32,
        None => home as u32,
    };
    let goes = by_way(&scenario.channels, &Chances::certain(sold));
    let way = |(k, (sale, here)): (usize, (&Sale, &Chances))| {
        let (Spread::Certain(order_of), Some(pieces)) = (&sale.order_of, here.known()) else {
            return Err(NoClosedForm::Orders);
        };
        let own = scenario.channels.get(k).and_then(|channel| channel.per_order.as_ref());
        let orders = certain_orders(f64::from(pieces / sale.set_of), *order_of);
        let asked: f64 = sale.tries().map(Tries::variance).iter().sum();
        Ok(orders * (own.map_or(of_steps, Spread::variance) + asked))
    };
    scenario.sales().into_iter().zip(&goes).enumerate().map(way).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Step, ThreePoint};
    use crate::testing::{close, scenario, step, tri};

    /// One piece with everything but spoil: variances of a pace, a setup and a geometric sum, by hand.
    #[test]
    fn variances_by_hand() {
        let mut made = scenario(
            50.0,
            30.0,
            &[1],
            vec![Step {
                once: Spread::uniform(0.0, 12.0),
                setup: tri(2.0, 3.0, 7.0),
                each: Spread::uniform(4.0, 10.0),
                redo: 0.5,
                ..step("make")
            }],
        );
        made.batch.runs = 3;
        // once / 3: mean 2, variance 144 / 12 / 9. Setup: 4 and 7/6 (check value 1a). Each, repeated 1 + geometric: mean 2,
        // variance 2; so 14 and 2 x 36 / 12 + 2 x 49.
        let (mean, variance) = (20.0, 4.0 / 3.0 + 7.0 / 6.0 + 104.0);
        close(hours(&made, 1), mean / 60.0);
        close(variance_of_hours(&made, 1).unwrap(), variance / 3600.0);
        // A pace with mean 1 and variance 1/12 that multiplies it all.
        made.pace = Spread::uniform(0.5, 1.5);
        let with_pace = (1.0 + 1.0 / 12.0) * (variance + mean * mean) - mean * mean;
        close(variance_of_hours(&made, 1).unwrap(), with_pace / 3600.0);
        // One draw for the batch, doubled or more by redo.
        made.pace = Spread::Certain(1.0);
        made.steps[0].varies = Varies::Batch;
        let product = (3.0 + 49.0) * (2.0 + 4.0) - 49.0 * 4.0;
        close(
            variance_of_hours(&made, 1).unwrap(),
            (4.0 / 3.0 + 7.0 / 6.0 + product) / 3600.0,
        );
    }

    /// Four pieces in two rounds, setups uniform on 0 to 12 min and a time per piece uniform on 4 to 10 min for the batch: in every batch, by hand, the
    /// setup is 12 - 2 (x - 4), so that all of it takes 2 (12 - 2 (x - 4)) + 4 x = 40 min whatever x is. Where half of them are such,
    /// setups vary by 2 x 12 in one half and 4 x 12 in the other, pieces by 16 x 3, and the two go together by half of 2 x 4 x -6, twice.
    #[test]
    fn setups_opposite_to_pieces_by_hand() {
        let mut made = scenario(
            50.0,
            30.0,
            &[4],
            vec![Step {
                setup: Spread::uniform(0.0, 12.0),
                each: Spread::uniform(4.0, 10.0),
                room: Some(2),
                varies: Varies::Batch,
                opposite: 1.0,
                ..step("make")
            }],
        );
        assert!(variance_of_hours(&made, 4).unwrap().abs() < 1e-6);
        made.steps[0].opposite = 0.5;
        let by_hand = (2.0 + 0.5 * 2.0) * 12.0 + 16.0 * 3.0 - 2.0 * 0.5 * 8.0 * 6.0;
        assert!((variance_of_hours(&made, 4).unwrap() * 3600.0 - by_hand).abs() < 1e-5 * by_hand);
        // Nothing is the opposite of a certain time.
        made.steps[0].each = Spread::Certain(7.0);
        close(variance_of_hours(&made, 4).unwrap() * 3600.0, 24.0);
    }

    /// Opposite draws of two uniform ranges are a line; of two lognormal ones they are exp of opposite normal numbers, with E of the product
    /// `exp(m + n + (s - t)^2 / 2)` (textbook moments of the lognormal law, from memory); of triangles that lean to one side, by the integral of
    /// sqrt(q (1 - q)), which is pi / 8.
    #[test]
    fn covariance_of_opposite_draws() {
        let point = |low, likely, high| ThreePoint { low, likely, high };
        let near = |found: f64, due: f64| assert!((found / due - 1.0).abs() < 3e-6, "{found} against {due}");
        let uniform = Spread::uniform(2.0, 8.0);
        near(uniform.opposite_covariance(&Spread::uniform(0.0, 12.0)), -6.0);
        let (low, high) = (point(0.0, 0.0, 1.0), point(0.0, 1.0, 1.0));
        // Q of one is sqrt(q), of the other 1 - sqrt(1 - q).
        near(
            Spread::triangular(high).opposite_covariance(&Spread::triangular(high)),
            std::f64::consts::PI / 8.0 - 4.0 / 9.0,
        );
        near(
            Spread::triangular(low).opposite_covariance(&Spread::triangular(high)),
            -1.0 / 18.0,
        );
        let (a, b) = (
            Spread::lognormal_from_tenths(5.0, 15.0),
            Spread::lognormal_from_tenths(2.0, 3.0),
        );
        let (Spread::Lognormal { mu: m, sigma: s }, Spread::Lognormal { mu: n, sigma: t }) = (&a, &b) else {
            panic!("both are lognormal");
        };
        let due = libm::exp(m + n + (s - t) * (s - t) / 2.0) - a.mean() * b.mean();
        let found = a.opposite_covariance(&b);
        // The rule leaves the tails beyond its outermost midpoints out.
        assert!((found - due).abs() < 2e-3 * due.abs(), "{found} against {due}");
        assert_eq!(a.opposite_covariance(&Spread::Certain(3.0)), 0.0);
    }

    /// Five pieces in orders of two through two channels, shares 60 % and 40 %: two orders at 12 min^2, and one at the steps' 3.
    #[test]
    fn orders_of_channels_vary_by_their_own_time() {
        let text = "target = 20\n[[step]]\nname = \"pack\"\nper_order = \"0 / 6 min\"\n[sale]\nprice = 50\norder_of = 2\n\
                    [[channel]]\nname = \"shop\"\nshare = \"60 %\"\nper_order = \"0 / 12 min\"\n[[channel]]\nname = \"post\"\nshare = \"40 %\"\n";
        let made = crate::scenario::read("test", text, &[]).expect("it reads");
        close(variance_of_hours(&made, 5).unwrap(), (2.0 * 12.0 + 3.0) / 3600.0);
        // Of six, four or three go to the shop.
        assert_eq!(variance_of_hours(&made, 6), Err(NoClosedForm::Orders));
    }

    #[test]
    fn no_closed_form_is_no_answer() {
        let mut made = scenario(
            50.0,
            30.0,
            &[2],
            vec![Step {
                spoil: 0.1,
                each: tri(1.0, 2.0, 3.0),
                ..step("make")
            }],
        );
        assert_eq!(variance_of_hours(&made, 2), Err(NoClosedForm::Spoiled));
        made.steps[0].spoil = 0.0;
        assert!(variance_of_hours(&made, 2).is_ok());
        made.sale.order_of = Spread::uniform(1.0, 3.0);
        assert!(variance_of_hours(&made, 2).is_ok(), "orders take no time");
        made.steps[0].per_order = Spread::Certain(2.0);
        assert_eq!(variance_of_hours(&made, 2), Err(NoClosedForm::Orders));
    }
}
