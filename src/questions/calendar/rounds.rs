//! One trial's draws as work to be scheduled: rounds with their room, pieces, orders, and what follows what.
//!
//! The rules (assumptions, no source):
//!
//! * A setup, a piece at a step and an order are tasks; the hands do not leave one half done but for the night. Steps stay set up
//!   while something else is done, so hours are those of `sweep`.
//! * A step with `room` takes its pieces in rounds. A round is begun when all its pieces are there and the step's room is empty. It
//!   keeps the room until its wait is over; pieces that must be done again are done then, and wait again together.
//! * A step without `room` takes pieces as they come, its setup with the first; each piece waits from when its own work is done.
//! * Where a step has no wait, a piece is done again at once, before another is taken up.
//! * Every step's room is its own, unless steps say what their rounds are kept in: one kiln for two firings takes one round at a
//!   time, whichever step's. A step that says so and has no room of its own goes in one round.
//! * What belongs to the earliest step goes first: it has the most waits still before it (the largest tail, Carlier 1982).
//! * Any good piece will do for any order: orders take pieces in the order in which orders are opened.
//! * Orders are packed when their pieces are there; what is done for an order at a step before any work on pieces (talk, measure) can
//!   be done at once. Spoiled pieces are made again when all the others are through.

use super::schedule::{Task, Work};
use super::times::{Drawn, Times, Wave};
use crate::scenario::{Scenario, Step};

/// Where rounds are until their wait is over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Space {
    /// Pieces that a round of each step holds; `None`: they are taken as they come.
    pub(super) rooms: Vec<Option<u32>>,
    /// What the rounds of each step are kept in: an index into `places`.
    kept_in: Vec<usize>,
    /// Rounds that each place holds at a time.
    pub(super) places: Vec<u32>,
}

impl Space {
    /// As the scenario has it: every place holds one round.
    pub(super) fn of(scenario: &Scenario) -> Self {
        let steps = &scenario.steps;
        let rooms = steps
            .iter()
            .map(|step| step.room.or(step.kept_in.as_ref().map(|_| u32::MAX)));
        // The first step that is kept there, or the step itself.
        let kept_in = steps.iter().enumerate().map(|(k, step)| {
            let sharing = |other: &Step| step.kept_in.is_some() && other.kept_in == step.kept_in;
            steps.iter().position(sharing).unwrap_or(k)
        });
        Self {
            rooms: rooms.collect(),
            kept_in: kept_in.collect(),
            places: vec![1; steps.len()],
        }
    }

    /// With room for so many pieces at a step.
    pub(super) fn with_room(&self, step: usize, room: u32) -> Self {
        let mut changed = self.clone();
        changed.rooms[step] = Some(room);
        changed
    }

    /// With a second of what the rounds of a step are kept in.
    pub(super) fn with_second(&self, step: usize) -> Self {
        let mut changed = self.clone();
        changed.places[self.kept_in[step]] += 1;
        changed
    }
}

/// What a task is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Label {
    /// Which step; after them the orders of channels and of seconds with time of their own.
    pub(super) step: usize,
    /// Pieces that have had this step's work when it is done.
    pub(super) pieces: u32,
    /// Pieces that wait after it.
    pub(super) waiting: u32,
    /// Whether it is an order's, at a step that has its pieces worked on as well: those are counted by themselves.
    pub(super) order: bool,
}

impl Label {
    /// Work on pieces, or waiting.
    const fn of(step: usize, pieces: u32, waiting: u32) -> Self {
        Self {
            step,
            pieces,
            waiting,
            order: false,
        }
    }
}

/// A trial as work.
#[derive(Debug, Clone, Default)]
pub(super) struct Job {
    pub(super) work: Work,
    /// One a task.
    pub(super) labels: Vec<Label>,
}

impl Job {
    fn add(&mut self, task: Task, label: Label, after: impl IntoIterator<Item = usize>) -> usize {
        self.labels.push(label);
        self.work.add(task, after)
    }
}

struct Builder<'a> {
    times: &'a Times,
    drawn: &'a Drawn,
    space: &'a Space,
    job: Job,
    /// Setups drawn of each step: in the batch, and again.
    setups: Vec<[u64; 2]>,
    /// Waits drawn of each step.
    waits: Vec<u64>,
}

/// The work of one trial in the given space; `once`: with what is done once for the design.
pub(super) fn job(times: &Times, drawn: &Drawn, space: &Space, once: bool) -> Job {
    let steps = space.rooms.len();
    let mut builder = Builder {
        times,
        drawn,
        space,
        job: Job::default(),
        setups: vec![[0; 2]; steps],
        waits: vec![0; steps],
    };
    for rounds in &space.places {
        builder.job.work.room(*rounds);
    }
    let mut begin = None;
    if once {
        for (step, minutes) in times.once(drawn) {
            let label = Label::of(step, 0, 0);
            let task = Task::work(minutes * drawn.pace, step as u32);
            begin = Some(builder.job.add(task, label, begin));
        }
    }
    // The last task of each good piece, in the order in which orders take them: firsts and seconds.
    let mut ends = [Vec::new(), Vec::new()];
    for (w, wave) in drawn.waves.iter().enumerate() {
        let through = builder.wave(wave, w > 0, begin);
        for (piece, (end, _)) in through
            .iter()
            .zip(&wave.good)
            .enumerate()
            .filter(|(_, (_, good))| **good)
        {
            let second = w == 0 && drawn.seconds.get(piece).is_some_and(|second| *second);
            ends[usize::from(second)].push(*end);
        }
        if w + 1 < drawn.waves.len() {
            begin = Some(builder.gate(0, through.iter().copied().flatten()));
        }
    }
    builder.orders(&ends);
    builder.job
}

impl Builder<'_> {
    /// Something that is over when all of `after` are.
    fn gate(&mut self, step: usize, after: impl IntoIterator<Item = usize>) -> usize {
        self.job.add(Task::waiting(0.0), Label::of(step, 0, 0), after)
    }

    /// The pieces of a wave through all steps; the last task of each, `None` where it has none.
    fn wave(&mut self, wave: &Wave, again: bool, begin: Option<usize>) -> Vec<Option<usize>> {
        let mut there = vec![begin; wave.pieces];
        for step in 0..wave.steps.len() {
            if wave.steps[step].is_empty() {
                break;
            }
            match self.space.rooms[step] {
                Some(room) => self.in_rounds(wave, step, room, again, &mut there),
                None => self.as_they_come(wave, step, again, &mut there),
            }
        }
        there
    }

    /// Setup of the next round of a step, `None` where it takes no time.
    fn setup(&mut self, step: usize, again: bool) -> Option<f64> {
        if self.times.plan.steps[step].setup.shape.is_zero() {
            return None;
        }
        let number = &mut self.setups[step][usize::from(again)];
        *number += 1;
        let minutes = self.times.setup(self.drawn, step, again, *number - 1);
        Some(minutes * self.drawn.pace)
    }

    /// Wait of the next round of a step.
    fn wait(&mut self, step: usize) -> f64 {
        if !self.times.waits(step) {
            return 0.0;
        }
        self.waits[step] += 1;
        self.times.wait(self.drawn, step, self.waits[step] - 1)
    }

    /// Work at a step, whoever does it.
    fn work(&self, step: usize, minutes: f64) -> Task {
        Task {
            helper: self.times.plan.steps[step].helped,
            ..Task::work(minutes, step as u32)
        }
    }

    fn in_rounds(&mut self, wave: &Wave, step: usize, room: u32, again: bool, there: &mut [Option<usize>]) {
        let pace = self.drawn.pace;
        let place = self.space.kept_in[step];
        for round in wave.steps[step].chunks(room as usize) {
            let wait = self.wait(step);
            let setup = self.setup(step, again);
            let label = |pieces: u32, waiting: u32| Label::of(step, pieces, waiting);
            let after = round.iter().filter_map(|handled| there[handled.piece]);
            let begin = Task {
                takes: Some(place),
                ..self.work(step, setup.unwrap_or(0.0))
            };
            let mut before = self.job.add(begin, label(0, 0), after);
            // Without a wait a piece is done again at once.
            let passes = if wait > 0.0 {
                round.iter().map(|handled| handled.again.len()).max().unwrap_or(0)
            } else {
                0
            };
            for pass in 0..=passes {
                let mut done = Vec::with_capacity(round.len());
                let mut waiting = 0;
                for handled in round {
                    let minutes = match pass {
                        0 if wait > 0.0 => Some(handled.minutes),
                        0 => Some(handled.minutes + handled.again.iter().sum::<f64>()),
                        _ => handled.again.get(pass - 1).copied(),
                    };
                    let Some(minutes) = minutes else { continue };
                    waiting += 1;
                    if minutes > 0.0 {
                        let pieces = u32::from(pass == 0);
                        let task = self.work(step, minutes * pace);
                        done.push(self.job.add(task, label(pieces, 0), [before]));
                    }
                }
                let end = Task {
                    gives: (pass == passes).then_some(place),
                    ..Task::waiting(wait)
                };
                done.push(before);
                before = self.job.add(end, label(0, waiting), done);
                for handled in round
                    .iter()
                    .filter(|handled| handled.again.len() == pass || passes == 0)
                {
                    there[handled.piece] = Some(before);
                }
            }
        }
    }

    fn as_they_come(&mut self, wave: &Wave, step: usize, again: bool, there: &mut [Option<usize>]) {
        let pace = self.drawn.pace;
        let wait = self.wait(step);
        let waiting = u32::from(wait > 0.0);
        let label = |pieces: u32, waiting: u32| Label::of(step, pieces, waiting);
        let setup = self.setup(step, again).map(|minutes| {
            let first = wave.steps[step].first().and_then(|handled| there[handled.piece]);
            self.job.add(self.work(step, minutes), label(0, 0), first)
        });
        for handled in &wave.steps[step] {
            let at = &mut there[handled.piece];
            let before = at.iter().copied().chain(setup);
            let (first, later): (f64, &[f64]) = if wait > 0.0 {
                (handled.minutes, &handled.again)
            } else {
                (handled.minutes + handled.again.iter().sum::<f64>(), &[])
            };
            // What takes no hands waits for none.
            let task = |work: &Self, minutes: f64| Task {
                wait,
                ..(if minutes > 0.0 {
                    work.work(step, minutes * pace)
                } else {
                    Task::waiting(0.0)
                })
            };
            if first <= 0.0 && wait <= 0.0 && setup.is_none() {
                continue;
            }
            let mut last = self.job.add(task(self, first), label(1, waiting), before);
            for minutes in later {
                last = self.job.add(task(self, *minutes), label(0, waiting), [last]);
            }
            *at = Some(last);
        }
    }

    fn orders(&mut self, ends: &[Vec<Option<usize>>; 2]) {
        // Any good piece will do for any order: they are handed out in the order in which orders are opened.
        let steps = &self.times.plan.steps;
        let works = steps
            .iter()
            .position(|step| step.has_each || !step.setup.shape.is_zero());
        let works = works.unwrap_or(0);
        let mut needed = [0; 2];
        for order in &self.drawn.orders {
            let (ends, needed) = (
                &ends[usize::from(order.seconds)],
                &mut needed[usize::from(order.seconds)],
            );
            *needed += order.pieces;
            let pieces = &ends[(*needed - order.pieces).min(ends.len())..(*needed).min(ends.len())];
            let mut last: Option<usize> = None;
            let mut there = false;
            for (step, minutes) in order.minutes.iter().filter(|m| m.1 > 0.0) {
                let mut after: Vec<usize> = last.into_iter().collect();
                if *step >= works && !there {
                    there = true;
                    after.extend(pieces.iter().copied().flatten());
                }
                let label = Label {
                    step: *step,
                    pieces: order.pieces as u32,
                    waiting: 0,
                    order: steps.get(*step).is_some_and(|step| step.has_each),
                };
                let task = Task::work(minutes * self.drawn.pace, *step as u32);
                last = Some(self.job.add(task, label, after));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calendar::schedule::{Log, OpenHours, schedule};
    use crate::scenario::{Scenario, Spread};
    use crate::testing::{scenario, step};

    fn run(made: &Scenario, size: u32) -> (Job, Log, f64) {
        let times = Times::new(made, size, 0);
        let drawn = &times.group(1, 0)[0];
        let job = job(&times, drawn, &Space::of(made), false);
        let mut log = Log::default();
        let found = schedule(&job.work, &OpenHours::always(), 0.0, Some(&mut log)).unwrap();
        (job, log, found.finish)
    }

    fn glued(room: Option<u32>) -> Scenario {
        let mut made = scenario(
            50.0,
            30.0,
            &[5],
            vec![step("mill"), step("glue"), step("sand"), step("pack")],
        );
        made.steps[0].each = Spread::Certain(2.0);
        made.steps[1].setup = Spread::Certain(5.0);
        made.steps[1].each = Spread::Certain(10.0);
        made.steps[1].wait = Spread::Certain(100.0);
        made.steps[1].room = room;
        made.steps[2].each = Spread::Certain(6.0);
        made.steps[3].per_order = Spread::Certain(3.0);
        made
    }

    /// By hand. Five milled by 10. Two glued 10 to 35, dry at 135; two 135 to 160, dry at 260; sanded 160 to 172, packed to 178;
    /// the fifth 260 to 275, dry at 375; meanwhile two sanded and packed 275 to 293; the fifth sanded to 381, packed to 384.
    #[test]
    fn rounds_share_the_clamps_one_after_another() {
        let (job, log, finish) = run(&glued(Some(2)), 5);
        assert_eq!(finish, 384.0);
        let glue: Vec<(f64, f64)> = log
            .waited
            .iter()
            .filter(|w| job.labels[w.0].step == 1)
            .map(|w| (w.1, w.2))
            .collect();
        assert_eq!(glue, [(35.0, 135.0), (160.0, 260.0), (275.0, 375.0)]);
        assert_eq!(job.work.hands(), 10.0 + 3.0 * 5.0 + 50.0 + 30.0 + 15.0);
    }

    /// Without room each piece waits from when it is glued: milled by 10, glued at 25, 35, ... 65, dry at 125 ... 165, sanded 125 to
    /// 131 and so on: the last is dry at 165, sanded by 171, packed by 174.
    #[test]
    fn without_room_pieces_wait_by_themselves() {
        let (_, log, finish) = run(&glued(None), 5);
        assert_eq!(finish, 174.0);
        assert_eq!(log.waited.len(), 5);
    }

    /// Each round waits as often as its worst piece is worked on, and as often where that takes no hands.
    #[test]
    fn a_redo_waits_again() {
        let mut made = glued(Some(2));
        made.steps[1].redo = 0.5;
        redone_waits(&made, 120.0, 10.0);
        made.steps[1].each = Spread::ZERO;
        redone_waits(&made, 70.0, 0.0);
    }

    fn redone_waits(made: &Scenario, hands: f64, again: f64) {
        let times = Times::new(made, 5, 0);
        let drawn = &times.group(3, 0)[0];
        let job = job(&times, drawn, &Space::of(made), false);
        let often = |from: usize, to: usize| {
            let handled = &drawn.waves[0].steps[1][from..to];
            1 + handled.iter().map(|h| h.again.len()).max().unwrap_or(0)
        };
        let waits = job.work.tasks().iter().filter(|t| t.wait > 0.0).count();
        assert!(often(0, 2) + often(2, 4) + often(4, 5) > 3);
        assert_eq!(waits, often(0, 2) + often(2, 4) + often(4, 5));
        let redone: usize = drawn.waves[0].steps[1].iter().map(|h| h.again.len()).sum();
        assert_eq!(job.work.hands(), hands + again * redone as f64);
    }

    /// Without room each piece is done again by itself, and what takes no hands is done while the bench is closed.
    #[test]
    fn a_redo_without_hands_needs_no_open_bench() {
        let mut made = glued(None);
        made.steps[1].redo = 0.5;
        made.steps[1].each = Spread::ZERO;
        let times = Times::new(&made, 5, 0);
        let drawn = &times.group(3, 0)[0];
        let job = job(&times, drawn, &Space::of(&made), false);
        let redone: usize = drawn.waves[0].steps[1].iter().map(|h| h.again.len()).sum();
        assert!(redone > 0);
        let waits: Vec<_> = job.work.tasks().iter().filter(|t| t.wait > 0.0).collect();
        assert_eq!(waits.len(), 5 + redone);
        assert!(waits.iter().all(|t| t.hands.is_none()));
    }

    /// Talk first, make, then deliver: 5 talked over by 20, milled by 30, and delivered as they come out of the clamps.
    #[test]
    fn what_an_order_needs_before_the_work_comes_first() {
        let mut made = glued(None);
        made.steps.insert(0, step("talk"));
        made.steps[0].per_order = Spread::Certain(4.0);
        let (job, log, finish) = run(&made, 5);
        let talk: Vec<f64> = log
            .worked
            .iter()
            .filter(|w| job.labels[w.0].step == 0)
            .map(|w| w.2)
            .collect();
        assert_eq!(talk, [4.0, 8.0, 12.0, 16.0, 20.0]);
        assert_eq!(finish, 20.0 + 174.0);
    }

    /// What is made again begins when the others are through, has its own rounds, and is packed too.
    #[test]
    fn what_is_made_again_comes_after_the_others() {
        let mut made = glued(Some(2));
        made.steps[2].spoil = 0.4;
        made.batch.spoiled = crate::scenario::Spoiled::Remake;
        let times = Times::new(&made, 5, 0);
        let group = times.group(1, 0);
        let drawn = group.iter().find(|d| d.waves.len() == 2).unwrap();
        let missing = drawn.waves[1].pieces;
        let job = job(&times, drawn, &Space::of(&made), false);
        let mut log = Log::default();
        schedule(&job.work, &OpenHours::always(), 0.0, Some(&mut log)).unwrap();
        let milled: Vec<f64> = log
            .worked
            .iter()
            .filter(|w| job.labels[w.0].step == 0)
            .map(|w| w.1)
            .collect();
        assert_eq!(milled.len(), 5 + missing);
        let sanded: Vec<f64> = log
            .worked
            .iter()
            .filter(|w| job.labels[w.0].step == 2)
            .map(|w| w.2)
            .collect();
        assert!(milled[5] >= sanded[4]);
        let packed = log.worked.iter().filter(|w| job.labels[w.0].step == 3).count();
        assert_eq!(packed, 5);
    }
}
