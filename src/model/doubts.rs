//! What looks unintended in a scenario, also what only its expected values show: remarks, never refusals.

use super::rate;
use crate::scenario::{self, Scenario};

/// An hour that earns so many times what is wanted, or so small a part of it, is more likely a slip than a trade (assumption).
const OUT_OF_SCALE: f64 = 10.0;

/// One sentence for each thing that looks unintended; empty for most scenarios.
#[must_use]
pub fn doubts(scenario: &Scenario) -> Vec<String> {
    let mut said = scenario::doubts::doubts(scenario);
    said.extend(out_of_scale(scenario));
    said
}

/// That an hour of the largest batch is far from what is wanted, as it is where a unit is wrong.
fn out_of_scale(scenario: &Scenario) -> Option<String> {
    let (size, target) = (*scenario.batch.sizes.last()?, scenario.target_per_hour);
    let earns = rate(scenario, size)
        .ok()
        .filter(|earns| earns.is_finite() && target > 0.0)?;
    let slip = if earns > OUT_OF_SCALE * target {
        "a price in cents, or a time in minutes that takes hours"
    } else if earns * OUT_OF_SCALE < target {
        "a time in hours that takes minutes, or an amount of money in another unit"
    } else {
        return None;
    };
    let does = if earns < 0.0 { "loses" } else { "earns" };
    let amount = [earns.abs(), target].map(|amount| format!("{amount:.*}", if amount < 100.0 { 2 } else { 0 }));
    Some(format!(
        "an hour {does} about {} {} with {size} at a time, and you want {}. Is something in the wrong unit: {slip}?",
        amount[0], scenario.currency, amount[1]
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;
    use crate::testing::{scenario, step};

    /// A piece of 20 min that sells for 21 earns 63 an hour.
    #[test]
    fn a_wrong_unit_is_doubtful() {
        let made = |price: f64, minutes: f64| {
            let mut cut = step("cut");
            cut.each = Spread::Certain(minutes);
            out_of_scale(&scenario(price, 30.0, &[4, 36], vec![cut]))
        };
        assert_eq!(made(21.0, 20.0), None);
        let [cents, hours] = [made(2100.0, 20.0), made(21.0, 20.0 * 60.0)].map(|doubt| doubt.expect("a doubt"));
        assert!(
            cents.starts_with("an hour earns about 6300 EUR with 36 at a time, and you want 30.00. "),
            "{cents}"
        );
        assert!(
            hours.starts_with("an hour earns about 1.05 EUR with 36 at a time, and you want 30.00. "),
            "{hours}"
        );
    }
}
