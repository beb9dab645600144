//! A sweep shared out among the workers of a page, which have no memory in common. Each simulates its part of the trials, at every size, and makes
//! a parcel for each worker; then each answers its share of the sizes from the parcels that all made for it; then one makes the whole answer of what
//! all said. Their figures are JSON that reads back bit by bit.

use serde::Serialize;

use super::{Looked, NAME, Topic, changed};
use crate::ask;
use crate::budget::Work;
use crate::questions::sweep::{self, SizeAnswer};
use crate::questions::{Settings, advised, size_of};
use crate::render::figures::Figures;
use crate::render::question::Question;
use crate::scenario::{self, Scenario};
use batchwright_core::engine::Worker;

/// What a worker answers its share from.
#[derive(Clone, Copy, Default)]
pub struct Parcels<'p> {
    /// All that it made when it was asked for its part.
    pub own: &'p [u8],
    /// Those that the others made for it, one after the other.
    pub others: &'p [u8],
}

/// What one worker says.
#[derive(Default, Serialize)]
pub(super) struct Said {
    /// Bytes of its parcel for each worker; absent where another answers alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    parcels: Option<Vec<usize>>,
    /// What its sizes say; absent where its parcels are not what they should be.
    #[serde(skip_serializing_if = "Option::is_none")]
    share: Option<String>,
}

/// What the worker says that is asked for a part or a share, and its parcels, one after the other; `None` where it is asked for neither, or answers
/// alone. For a share it has the parcels that it made itself, and those that the others made for it.
pub(super) fn said(asked: &Looked, parcels: Parcels<'_>) -> Option<(Said, Vec<u8>)> {
    if let Some((number, of)) = asked.part {
        let made = part(asked, worker(number, of)?);
        return match made {
            Some((parcels, bytes)) => Some((
                Said {
                    parcels: Some(bytes),
                    ..Said::default()
                },
                parcels,
            )),
            None => (number > 0).then(Default::default),
        };
    }
    let (number, of) = asked.share?;
    let share = share(asked, worker(number, of)?, parcels);
    Some((
        Said {
            share,
            ..Said::default()
        },
        Vec::new(),
    ))
}

fn worker(number: u8, of: u8) -> Option<Worker> {
    (number < of).then_some(Worker {
        number: number.into(),
        of: of.into(),
    })
}

/// A worker's parcels, one after the other, and the bytes of each; `None` where one worker answers alone.
fn part(asked: &Looked, worker: Worker) -> Option<(Vec<u8>, Vec<usize>)> {
    let (scenario, settings) = sweep_of(asked)?;
    let work = Work::of(Question::Sweep, &scenario, &[], settings.trials);
    (work.within().is_ok() && work.worth_sharing()).then(|| sweep::parcels(&scenario, &settings, worker))
}

/// What a worker's sizes say.
fn share(asked: &Looked, worker: Worker, Parcels { own, others }: Parcels<'_>) -> Option<String> {
    let (scenario, settings) = sweep_of(asked)?;
    let sizes = sweep::of_parcels(&scenario, &settings, worker, own, others)?;
    serde_json::to_string(&sizes).ok()
}

/// What is asked, where it is a sweep.
fn sweep_of(asked: &Looked) -> Option<(Scenario, Settings)> {
    if asked.question != Some(Topic::Question(Question::Sweep)) {
        return None;
    }
    let text = changed(&asked.text, &asked.changes).ok()?;
    Some((scenario::read(NAME, &text, &[]).ok()?, settings(asked)?))
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
    let answer = sweep::of_sizes(
        scenario,
        settings.trials,
        settings.seed,
        sizes,
        advised(scenario, &settings),
    );
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
