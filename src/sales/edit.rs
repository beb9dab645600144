//! What was learned put into a scenario's text: values are exchanged where they stand, every other byte stays. Only what the log
//! contradicts is written.

use super::answer::{Against, Sold};
use crate::scenario::keys::LARGEST_SIZE;
use crate::scenario::rewrite::{Change, OTHER_FORM, Wanted, rewritten};
use crate::scenario::written::Holder;
use crate::scenario::{Spread, ThreePoint, quoted};
use crate::worklog::edit::figure;

/// A file takes no fewer buyers a week.
const LEAST: f64 = 1e-6;
/// The key of a selling day, which is the only section of a name that is written.
const SELLS: &str = "sells";

/// The text with what was learned in it, and what was changed.
///
/// # Errors
/// What stands in the way, one sentence each: a value in a form that cannot be exchanged where it stands.
pub fn edited(text: &str, sold: &Sold) -> Result<(String, Vec<Change>), Vec<String>> {
    let wanted = wanted(sold).into_iter().map(|(at, key, new)| Wanted {
        owner: if key == SELLS {
            format!("selling day {}", quoted(&at))
        } else {
            at.clone()
        },
        step: at,
        key: key.to_owned(),
        new,
    });
    rewritten(text, wanted.collect(), |root, body, one| {
        let holder = if one.key == SELLS {
            Holder::named(root, "selling_day", &one.step).flatten()
        } else {
            root.get(one.step.trim_matches(['[', ']'])).and_then(Holder::of)
        };
        holder.map_or_else(
            || Err(OTHER_FORM.to_owned()),
            |holder| holder.put(body, &one.key, &one.new),
        )
    })
}

/// Section in its brackets or name of a selling day, key and value, as TOML.
fn wanted(sold: &Sold) -> Vec<(String, &'static str, String)> {
    let mut list = Vec::new();
    let mut put = |at: &str, key: &'static str, new: String| list.push((at.to_owned(), key, new));
    let is = |against: Option<Against>| against.is_some_and(|a| a.contradicted);
    let days = sold.selling_days.iter();
    let any = is(sold.file.buyers) || days.clone().any(|day| is(day.file));
    // The log's are those at the price that is asked: where one is told for it, so are all.
    let moved = any && sold.file.buyers_at.is_some();
    if let Some(buyers) = sold.buyers {
        if is(sold.file.per_week) && buyers.week.value >= LEAST {
            put("[steady]", "per_week", figure(buyers.week.value));
        }
        let season = buyers.season.filter(|_| is(sold.file.buyers) || moved);
        if let Some(range) = season.and_then(|s| range([s.p10, s.p50, s.p90], f64::INFINITY)) {
            put("[season]", "buyers", range);
        }
    }
    for day in days.filter(|day| is(day.file) || moved) {
        // No batch is larger, so more than that many make no difference, and the key takes no more.
        let most = f64::from(LARGEST_SIZE);
        if let Some(range) = day.sells.and_then(|s| range([s.p10, s.p50, s.p90], most)) {
            put(&day.name, SELLS, range);
        }
    }
    if moved {
        put("[season]", "buyers_at", figure(sold.price));
    }
    if let Some(e) = sold.elasticity.filter(|_| is(sold.file.elasticity)) {
        put("[season]", "elasticity", figure(e.value.clamp(0.0, 20.0)));
    }
    list
}

/// Buyers of a season or a selling day to come: what one in ten stays under, half do, and one goes over, in the first form that a scenario can have.
/// None is above `most`. `None`: hardly any, which a scenario does not take.
fn range(ends: [f64; 3], most: f64) -> Option<String> {
    let [p10, p50, p90] = ends.map(|end| end.min(most));
    if p10 >= p90 {
        return (p50 > 0.0).then(|| figure(p50));
    }
    let three = ThreePoint {
        low: p10,
        likely: p50,
        high: p90,
    };
    Some(match Spread::triangular_from_tenths(three) {
        Ok(spread) if spread.limits().1 > most => {
            let low = spread.limits().0.max(0.0);
            format!("\"{} / {} / {most}\"", figure(low), figure(p50))
        }
        Ok(spread) if spread.limits().0 >= 0.0 => {
            format!("{{ low = {p10}, likely = {p50}, high = {p90}, ends = \"tenths\" }}")
        }
        // Ends too far apart have a lognormal mean beyond all measure.
        _ if p10 > 0.0 && p90 < 1e4 * p10 => {
            format!("{{ low = {p10}, high = {p90}, shape = \"lognormal\", ends = \"tenths\" }}")
        }
        // From nobody on, one time in ten over p90: (limit - p90)^2 = 0.1 limit (limit - likely).
        _ => {
            let half = 2.0 * p90 - 0.1 * p50;
            let limit = (half + libm::sqrt(half * half - 3.6 * p90 * p90)) / 1.8;
            format!("\"0 / {} / {}\"", figure(p50), figure(limit.min(most)))
        }
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;
    use crate::scenario::{Buyers, read};

    const FILE: &str = "currency = 'EUR'\ntarget = 8\nbatch.sizes = [1, 10]\nsale.price = 20\n[[step]]\nname = 'make'\neach = '30 min'\n";

    /// What a selling day sells is written as its key takes it, however much the log says: `sells` goes up to the largest batch.
    #[test]
    fn a_selling_day_sells_no_more_than_its_key_takes() {
        let most = f64::from(LARGEST_SIZE);
        for ends in [
            [9e3, 9.5e3, 1.2e4],
            [2e4, 3e4, 4e4],
            [0.0, 2e3, 9.9e3],
            [0.0, 2e4, 9e4],
            [3.0, 4.0, 9.999e3],
            [1.0, 2.0, 9e8],
        ] {
            let written = range(ends, most).unwrap();
            let text = format!("{FILE}[[selling_day]]\nname = 'fair'\nsells = {written}\n");
            let scenario = read("file", &text, &[]).unwrap_or_else(|faults| panic!("{written}: {faults:?}"));
            let sells = &scenario.selling_days[0].sells;
            assert!(
                sells.mean() > ends[0].min(0.99 * most) && sells.mean() < ends[2],
                "{written}"
            );
        }
        let below = [7.0, 9.0, 12.0];
        assert_eq!(range(below, most), range(below, f64::INFINITY));
    }

    /// Whatever the ends, the reader takes the range, and one season in ten goes over its upper end.
    #[test]
    fn every_range_can_be_read() {
        let ends = [
            (0.0, 0.0, 0.0),
            (0.0, 0.0, 1.0),
            (0.0, 1.0, 5.0),
            (0.0, 6.0, 6.0),
            (3.0, 3.0, 60.0),
            (1.0, 2.0, 9e8),
            (7.0, 9.0, 12.0),
            (4.0, 4.0, 4.0),
        ];
        for (p10, p50, p90) in ends {
            let Some(written) = range([p10, p50, p90], f64::INFINITY) else {
                assert_eq!(p90, 0.0);
                continue;
            };
            let text = format!("{FILE}[season]\nbuyers = {written}\nclearance = 5\n");
            let scenario = read("file", &text, &[]).unwrap_or_else(|faults| panic!("{written}: {faults:?}"));
            let Buyers::Range(spread) = &scenario.season.as_ref().unwrap().buyers else {
                panic!("{written}")
            };
            // Limits are written to three digits.
            assert!(
                (spread.quantile(0.9) - p90).abs() <= 5e-3 * p90,
                "{written}: {}",
                spread.quantile(0.9)
            );
        }
    }
}
