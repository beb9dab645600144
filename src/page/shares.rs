//! A sweep shared out among the workers of a page, which have no memory in common: what a size says hangs on no other size, so each of them
//! answers some of the sizes, and only the answers go over. Their figures are JSON that reads back bit by bit.
//!
//! A size takes the pieces of the largest one of its share, which serve the smaller ones too, and laying down and ordering its own trials. So the
//! share with the largest size has the fewest sizes.

use serde::Serialize;

use super::{Looked, NAME, Topic};
use crate::ask;
use crate::budget::Work;
use crate::questions::sweep::{self, SizeAnswer};
use crate::questions::{Settings, size_of};
use crate::render::figures::Figures;
use crate::render::question::Question;
use crate::scenario::change::made;
use crate::scenario::{self, Scenario};

/// Time of a size in that of a piece: from 0.8 to 2.7 over nine shipped scenarios in a browser's engine, 2.0 at the median.
const SIZE: f64 = 2.0;
/// The longest share takes less of the whole than this, or one worker takes it all: each of them simulates the pieces of its largest size, so that
/// all together work longer for little.
const WORTH: f64 = 0.7;

/// What one worker says.
#[derive(Serialize)]
pub(super) struct Said {
    /// Its sizes; `None`: another answers alone.
    share: Option<String>,
}

/// What the worker says that is asked for a share; `None` where it is asked for none, or answers alone.
pub(super) fn said(asked: &Looked) -> Option<Said> {
    let (number, of) = asked.share?;
    let share = share(asked, number, of);
    (share.is_some() || number > 0).then_some(Said { share })
}

/// The answers of the sizes of worker `number`.
fn share(asked: &Looked, number: u8, of: u8) -> Option<String> {
    let text = made(&asked.text, &asked.changes).ok()?;
    let mut scenario = scenario::read(NAME, &text, &[]).ok()?;
    let settings = settings(asked)?;
    if asked.question != Some(Topic::Question(Question::Sweep)) {
        return None;
    }
    Work::of(Question::Sweep, &scenario, &[], settings.trials)
        .within()
        .ok()?;
    let shares = cut(&scenario.batch.sizes, of)?;
    scenario.batch.sizes = shares.get(usize::from(number))?.to_vec();
    if scenario.batch.sizes.is_empty() {
        return Some("[]".to_owned());
    }
    serde_json::to_string(&sweep::run(&scenario, &settings, &|_| ()).sizes).ok()
}

/// The whole answer of all shares; `None` where they are not all there.
pub(super) fn together(scenario: &Scenario, asked: &Looked) -> Option<ask::Answer> {
    let settings = settings(asked)?;
    let shares = asked
        .shares
        .iter()
        .map(|share| serde_json::from_str::<Vec<SizeAnswer>>(share));
    let sizes = shares.collect::<Result<Vec<_>, _>>().ok()?.concat();
    if !sizes
        .iter()
        .map(|answer| answer.size)
        .eq(scenario.batch.sizes.iter().copied())
    {
        return None;
    }
    let answer = sweep::of_sizes(scenario, settings.trials, settings.seed, sizes);
    Some(ask::Answer {
        size: Some(size_of(&answer)),
        figures: Figures::Sweep(answer.into()),
        trials: settings.trials,
    })
}

/// As the whole question is simulated; `None`: it is refused.
fn settings(asked: &Looked) -> Option<Settings> {
    let trials = asked.trials.unwrap_or(sweep::TRIALS).min(sweep::TRIALS);
    let options = ask::Options::new().trials(trials).ok()?;
    Some(options.settings(trials))
}

/// The sizes of each worker, ascending, so that the one that takes longest is done as soon as can be; `None` where one alone would take hardly
/// longer.
fn cut(sizes: &[u32], of: u8) -> Option<Vec<&[u32]>> {
    let time = |share: &[u32]| {
        share
            .last()
            .map_or(0.0, |most| f64::from(*most) + SIZE * share.len() as f64)
    };
    let within = |longest: f64| shares(sizes, of, |share| time(share) <= longest);
    let (mut too_short, mut enough) = (0.0, time(sizes));
    for _ in 0..20 {
        let between = 0.5 * (too_short + enough);
        let bound = if within(between).is_some() {
            &mut enough
        } else {
            &mut too_short
        };
        *bound = between;
    }
    (enough < WORTH * time(sizes)).then(|| within(enough)).flatten()
}

/// So many shares, from the largest size down each as large as is `short` enough; `None` where sizes are left.
fn shares(sizes: &[u32], of: u8, short: impl Fn(&[u32]) -> bool) -> Option<Vec<&[u32]>> {
    let mut rest = sizes;
    let mut shares = Vec::new();
    for _ in 0..of {
        let first = (0..rest.len())
            .find(|first| short(&rest[*first..]))
            .unwrap_or(rest.len());
        let (below, share) = rest.split_at(first);
        shares.push(share);
        rest = below;
    }
    shares.reverse();
    rest.is_empty().then_some(shares)
}

#[cfg(test)]
mod tests {
    use super::cut;

    /// Of 1 to 40, the first 24 sizes take the time of 24 + 2 x 24 pieces, and the other 16 that of 40 + 2 x 16.
    #[test]
    fn both_of_two_shares_take_equally_long() {
        let sizes: Vec<u32> = (1..=40).collect();
        assert_eq!(cut(&sizes, 2), Some(vec![&sizes[..24], &sizes[24..]]));
    }

    /// The largest size is simulated by one worker, however many there are; where it is nearly all, or all there is, nothing is shared out.
    #[test]
    fn where_the_largest_size_takes_nearly_all_one_worker_answers() {
        assert_eq!(cut(&[1, 1_000], 2), None);
        assert_eq!(cut(&[7], 4), None);
        assert_eq!(cut(&[1, 2, 3], 4), Some(vec![&[][..], &[1], &[2], &[3]]));
    }
}
