//! One pair of hands, or two, work in order, limited room and waits on the wall clock: when everything is done.
//!
//! Pure: minutes, tasks, rooms and the stretches of time in which work is done; no dates, no scenario, no chance.
//!
//! * A task is begun when all it follows are over, when its room has a place free, and when the hands are free in bench hours.
//! * Of several tasks the one with the lowest rank is taken, of equal ranks the one that has been there longest, then the
//!   one that was added first.
//! * The hands never leave a task for another. What is not done when the bench closes goes on when it opens again.
//! * A helper has hands of their own and takes none but the helper's tasks, by the same rules and in the same bench hours, beside the maker.
//! * A task is over when its wait is; waits need no hands and run through nights and weekends. At equal times waits that end
//!   are seen before the next task is chosen.
//!
//! This is list scheduling by priority on one machine with release times and tails (Carlier 1982, "The one-machine sequencing
//! problem", European Journal of Operational Research 11(1), 42-47; from memory): a rule, not the best of all orders.
//!
//! # Why a schedule follows a rule
//!
//! The earliest step goes first and no task is left half done but for the night. That is what a person at a bench does; the best of all
//! orders would be a plan nobody follows. Under such a rule a later start does not always end later, so the latest start is looked for day
//! by day and nothing is halved; days too short for the hands-on minutes or the longest chain of waits are passed over exactly. A place
//! that several steps name (`kept_in`) holds one round of any of them. A round waits for nothing but its own work while it holds one, so
//! nothing can be held up for ever.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Times closer than this are the same: rounding must not leave a billionth of a minute for the next day.
const CLOSE: f64 = 1e-9;

/// Something to do, or to wait for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task {
    /// Minutes of hands; `None`: nobody's hands are needed, not even to begin.
    pub hands: Option<f64>,
    /// Clock minutes after that before it is over.
    pub wait: f64,
    /// What goes first: the lower.
    pub rank: u32,
    /// Whether the hands are the helper's.
    pub helper: bool,
    /// The room it takes a place of when it begins.
    pub takes: Option<usize>,
    /// The room it gives a place back to when it is over.
    pub gives: Option<usize>,
}

impl Task {
    /// Hands-on work alone.
    #[must_use]
    pub const fn work(minutes: f64, rank: u32) -> Self {
        Self {
            hands: Some(minutes),
            wait: 0.0,
            rank,
            helper: false,
            takes: None,
            gives: None,
        }
    }

    /// Waiting alone.
    #[must_use]
    pub const fn waiting(minutes: f64) -> Self {
        Self {
            hands: None,
            wait: minutes,
            rank: 0,
            helper: false,
            takes: None,
            gives: None,
        }
    }
}

/// No task, in a list of links.
const NONE: u32 = u32::MAX;

/// All that is to be done, each task after those it follows.
#[derive(Debug, Clone, Default)]
pub struct Work {
    tasks: Vec<Task>,
    /// How many each task follows.
    follows: Vec<u32>,
    /// First of the links to what follows it.
    first_link: Vec<u32>,
    /// What follows, and the next link.
    links: Vec<(u32, u32)>,
    /// Places of each room.
    rooms: Vec<u32>,
}

impl Work {
    /// Adds a room with so many places.
    pub fn room(&mut self, places: u32) -> usize {
        self.rooms.push(places);
        self.rooms.len() - 1
    }

    /// Adds a task that begins when all of `after` are over; they were added before it. One named twice counts twice, which
    /// changes nothing.
    pub fn add(&mut self, task: Task, after: impl IntoIterator<Item = usize>) -> usize {
        let this = self.tasks.len();
        self.tasks.push(task);
        self.first_link.push(NONE);
        let mut count = 0;
        for before in after {
            debug_assert!(before < this, "a task follows what was there before it");
            self.links.push((this as u32, self.first_link[before]));
            self.first_link[before] = (self.links.len() - 1) as u32;
            count += 1;
        }
        self.follows.push(count);
        this
    }

    /// The tasks in the order they were added.
    #[must_use]
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    fn next_of(&self, task: usize) -> impl Iterator<Item = usize> + '_ {
        let mut link = self.first_link[task];
        std::iter::from_fn(move || {
            let (to, next) = *self.links.get(link as usize)?;
            link = next;
            Some(to as usize)
        })
    }

    /// Hands-on minutes in all.
    #[must_use]
    pub fn hands(&self) -> f64 {
        self.tasks.iter().fold(0.0, |sum, task| sum + task.hands.unwrap_or(0.0))
    }

    /// Minutes of the helper.
    #[must_use]
    pub fn helped(&self) -> f64 {
        let helped = self.tasks.iter().filter(|task| task.helper);
        helped.fold(0.0, |sum, task| sum + task.hands.unwrap_or(0.0))
    }

    /// Minutes from begin to end with any number of hands, endless room and a bench that never closes: no schedule is shorter.
    #[must_use]
    pub fn longest_chain(&self) -> f64 {
        let mut begun = vec![0.0_f64; self.tasks.len()];
        let mut longest = 0.0_f64;
        for (k, task) in self.tasks.iter().enumerate() {
            let over = begun[k] + task.hands.unwrap_or(0.0) + task.wait;
            longest = longest.max(over);
            for next in self.next_of(k) {
                begun[next] = begun[next].max(over);
            }
        }
        longest
    }
}

/// The stretches of time in which work is done, in minutes: ascending, apart from each other, none empty.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenHours {
    open: Vec<(f64, f64)>,
    /// Bench minutes before each stretch.
    before: Vec<f64>,
}

impl OpenHours {
    /// From stretches given as begin and end.
    #[must_use]
    pub fn new(open: Vec<(f64, f64)>) -> Self {
        debug_assert!(open.iter().all(|(a, b)| a < b) && open.windows(2).all(|w| w[0].1 <= w[1].0));
        let mut sum = 0.0;
        let before = open
            .iter()
            .map(|(a, b)| {
                let so_far = sum;
                sum += b - a;
                so_far
            })
            .collect();
        Self { open, before }
    }

    /// Open from minute 0 for ever.
    #[must_use]
    pub fn always() -> Self {
        Self::new(vec![(0.0, f64::INFINITY)])
    }

    /// The stretches.
    #[must_use]
    pub fn stretches(&self) -> &[(f64, f64)] {
        &self.open
    }

    /// The first stretch that has not ended at `time`; the end of a stretch is no longer in it.
    fn at(&self, time: f64) -> usize {
        self.open.partition_point(|(_, end)| *end <= time + CLOSE)
    }

    /// The first moment at or after `time` when the bench is open; `None` where it never is again.
    #[must_use]
    pub fn next_open(&self, time: f64) -> Option<f64> {
        self.open.get(self.at(time)).map(|(begin, _)| begin.max(time))
    }

    /// Bench minutes up to `time`.
    fn until(&self, time: f64) -> f64 {
        let k = self.open.partition_point(|(begin, _)| *begin <= time);
        if k == 0 {
            return 0.0;
        }
        let (begin, end) = self.open[k - 1];
        self.before[k - 1] + (time.min(end) - begin)
    }

    /// Bench minutes between two times.
    #[must_use]
    pub fn minutes_between(&self, from: f64, to: f64) -> f64 {
        (self.until(to) - self.until(from)).max(0.0)
    }
}

/// How it went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// When the last of it was over, waits included.
    pub finish: f64,
    /// Hands-on minutes of the maker.
    pub hands: f64,
    /// Bench minutes of the maker until then with nothing to do but what had no room.
    pub idle_room: f64,
    /// Bench minutes until then with nothing to do but wait.
    pub idle_wait: f64,
}

/// Why there is no end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoEnd {
    /// The bench hours ended first.
    NoHours,
    /// A place of room is never given back.
    NoRoom,
}

/// What was done when.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Log {
    /// Task, begin and end of each stretch of hands-on work; a task that was paused has several.
    pub worked: Vec<(usize, f64, f64)>,
    /// Task, begin and end of each wait.
    pub waited: Vec<(usize, f64, f64)>,
}

/// A time that can be ordered; never NaN.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Time(f64);

impl Eq for Time {}

impl PartialOrd for Time {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Time {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// A task that is ready: its rank, since when it waits, and its number. The least of these is taken first.
type Ready = Reverse<(u32, Time, u32)>;

struct Shop<'a> {
    work: &'a Work,
    /// How many each task still follows.
    open: Vec<u32>,
    free: Vec<u32>,
    /// What the maker, and the helper, could do.
    ready: [BinaryHeap<Ready>; 2],
    /// Tasks that found their room full, by room. Of one place that is given back only the first of them can make use: all others stay,
    /// so that a batch of many rounds does not look at each of them after each.
    blocked: Vec<BinaryHeap<Ready>>,
    /// Tasks that are over at a time.
    ends: BinaryHeap<Reverse<(Time, u32)>>,
    left: usize,
    finish: f64,
}

impl Shop<'_> {
    fn arrives(&mut self, task: usize, time: f64, log: &mut Option<&mut Log>) {
        let what = self.work.tasks[task];
        if what.hands.is_none() {
            self.waits(task, time, log);
        } else {
            self.ready[usize::from(what.helper)].push(Reverse((what.rank, Time(time), task as u32)));
        }
    }

    fn waits(&mut self, task: usize, from: f64, log: &mut Option<&mut Log>) {
        let until = from + self.work.tasks[task].wait;
        if let Some(log) = log.as_deref_mut().filter(|_| until > from) {
            log.waited.push((task, from, until));
        }
        self.ends.push(Reverse((Time(until), task as u32)));
    }

    /// Everything that is over by `time`.
    fn see(&mut self, time: f64, log: &mut Option<&mut Log>) {
        while let Some(Reverse((Time(at), task))) = self.ends.peek().copied() {
            if at > time + CLOSE {
                break;
            }
            self.ends.pop();
            let task = task as usize;
            self.left -= 1;
            self.finish = self.finish.max(at);
            if let Some(room) = self.work.tasks[task].gives {
                self.free[room] += 1;
                if let Some(Reverse(found)) = self.blocked[room].pop() {
                    let whose = usize::from(self.work.tasks[found.2 as usize].helper);
                    self.ready[whose].push(Reverse(found));
                }
            }
            let work = self.work;
            for next in work.next_of(task) {
                self.open[next] -= 1;
                if self.open[next] == 0 {
                    self.arrives(next, at, log);
                }
            }
        }
    }

    /// The task that the maker (0) or the helper (1) does next, its place of room taken.
    fn choose(&mut self, whose: usize) -> Option<usize> {
        while let Some(Reverse((rank, since, task))) = self.ready[whose].pop() {
            match self.work.tasks[task as usize].takes {
                Some(room) if self.free[room] == 0 => self.blocked[room].push(Reverse((rank, since, task))),
                Some(room) => {
                    self.free[room] -= 1;
                    return Some(task as usize);
                }
                None => return Some(task as usize),
            }
        }
        None
    }
}

/// Does all the work from `begin` on.
///
/// # Errors
/// [`NoEnd`] where the bench closes for good before all is done, or where a room is never given back.
pub fn schedule(work: &Work, bench: &OpenHours, begin: f64, mut log: Option<&mut Log>) -> Result<Outcome, NoEnd> {
    let mut shop = Shop {
        work,
        open: work.follows.clone(),
        free: work.rooms.clone(),
        ready: Default::default(),
        blocked: vec![BinaryHeap::new(); work.rooms.len()],
        ends: BinaryHeap::new(),
        left: work.tasks.len(),
        finish: begin,
    };
    for task in (0..work.tasks.len()).filter(|k| work.follows[*k] == 0) {
        shop.arrives(task, begin, &mut log);
    }
    if work.tasks.iter().any(|task| task.helper) {
        return beside_each_other(&mut shop, bench, begin, &mut log);
    }
    let (mut hands, mut idle_room, mut idle_wait) = (0.0, 0.0, 0.0);
    let mut now = begin;
    loop {
        shop.see(now, &mut log);
        if shop.left == 0 {
            break;
        }
        let opens = bench.next_open(now);
        if let Some(opens) = opens.filter(|opens| *opens > now && !shop.ready[0].is_empty()) {
            now = opens;
            continue;
        }
        let Some(task) = shop.choose(0) else {
            // Nothing to do until a wait ends.
            let Some(Reverse((Time(next), _))) = shop.ends.peek().copied() else {
                return Err(NoEnd::NoRoom);
            };
            let idle = bench.minutes_between(now, next);
            if shop.blocked.iter().any(|queue| !queue.is_empty()) {
                idle_room += idle;
            } else {
                idle_wait += idle;
            }
            now = next;
            continue;
        };
        if opens.is_none() {
            return Err(NoEnd::NoHours);
        }
        let minutes = work.tasks[task].hands.unwrap_or(0.0);
        now = worked(bench, task, minutes, (bench.at(now), now), &mut log)?;
        hands += minutes;
        shop.waits(task, now, &mut log);
    }
    Ok(Outcome {
        finish: shop.finish,
        hands,
        idle_room,
        idle_wait,
    })
}

/// [`schedule`] of two at the bench, whose work pauses for the night.
fn beside_each_other(
    shop: &mut Shop<'_>,
    bench: &OpenHours,
    begin: f64,
    log: &mut Option<&mut Log>,
) -> Result<Outcome, NoEnd> {
    // What each of them does, and when it will be done.
    let mut busy: [Option<(f64, usize)>; 2] = [None; 2];
    let (mut hands, mut idle_room, mut idle_wait) = (0.0, 0.0, 0.0);
    let mut now = begin;
    loop {
        for work in &mut busy {
            if let Some((end, task)) = work.filter(|(end, _)| *end <= now + CLOSE) {
                shop.waits(task, end, log);
                *work = None;
            }
        }
        shop.see(now, log);
        if shop.left == 0 {
            break;
        }
        let opens = bench.next_open(now);
        if opens.is_some_and(|opens| opens <= now) {
            for whose in [0, 1] {
                if busy[whose].is_some() {
                    continue;
                }
                let Some(task) = shop.choose(whose) else { continue };
                let minutes = shop.work.tasks[task].hands.unwrap_or(0.0);
                let end = worked(bench, task, minutes, (bench.at(now), now), log)?;
                hands += if whose == 0 { minutes } else { 0.0 };
                busy[whose] = Some((end, task));
            }
        }
        let could = [0, 1]
            .iter()
            .any(|whose| busy[*whose].is_none() && !shop.ready[*whose].is_empty());
        if could && opens.is_none() {
            return Err(NoEnd::NoHours);
        }
        let next = [
            busy[0].map(|(end, _)| end),
            busy[1].map(|(end, _)| end),
            shop.ends.peek().map(|Reverse((Time(end), _))| *end),
            opens.filter(|_| could),
        ];
        let Some(next) = next.into_iter().flatten().min_by(f64::total_cmp) else {
            return Err(NoEnd::NoRoom);
        };
        if busy[0].is_none() {
            let idle = bench.minutes_between(now, next);
            if shop.blocked.iter().any(|queue| !queue.is_empty()) {
                idle_room += idle;
            } else {
                idle_wait += idle;
            }
        }
        now = next.max(now);
    }
    Ok(Outcome {
        finish: shop.finish,
        hands,
        idle_room,
        idle_wait,
    })
}

/// When a task of so many minutes ends that begins now, in this stretch of open hours, and goes on in the next ones.
fn worked(
    bench: &OpenHours,
    task: usize,
    minutes: f64,
    (mut stretch, mut now): (usize, f64),
    log: &mut Option<&mut Log>,
) -> Result<f64, NoEnd> {
    let mut left = minutes;
    loop {
        let Some((opens, closes)) = bench.open.get(stretch).copied() else {
            return Err(NoEnd::NoHours);
        };
        let from = now.max(opens);
        let until = if left <= closes - from + CLOSE {
            (from + left).min(closes)
        } else {
            closes
        };
        if let Some(log) = log.as_deref_mut() {
            log.worked.push((task, from, until));
        }
        left -= until - from;
        now = until;
        if left <= CLOSE {
            break;
        }
        stretch += 1;
    }
    Ok(now)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DAY: f64 = 1440.0;

    /// Monday to Friday, 8 to 16 o'clock, from a Monday's midnight.
    fn week_days() -> OpenHours {
        let days = (0..200_i32).filter(|d| d % 7 < 5);
        OpenHours::new(
            days.map(|d| (f64::from(d) * DAY + 480.0, f64::from(d) * DAY + 960.0))
                .collect(),
        )
    }

    fn done(work: &Work, bench: &OpenHours, begin: f64) -> Outcome {
        schedule(work, bench, begin, None).unwrap()
    }

    #[test]
    fn work_pauses_for_the_night_and_the_weekend() {
        // Friday 15:00, three hours: one on Friday, two on Monday.
        let mut work = Work::default();
        work.add(Task::work(180.0, 0), []);
        let friday = 4.0 * DAY + 900.0;
        assert_eq!(done(&work, &week_days(), friday).finish, 7.0 * DAY + 600.0);
        let mut long = Work::default();
        long.add(Task::work(600.0, 0), []);
        assert_eq!(done(&long, &week_days(), 480.0).finish, DAY + 600.0);
    }

    /// Two pieces of an hour each, half an hour of the helper's after each: cut from 8:00 and 9:00, sanded at 9:00 and 10:00. Begun at 14:30 on
    /// a Friday the second is cut half on Monday.
    #[test]
    fn a_helper_works_beside() {
        let mut work = Work::default();
        for _ in 0..2 {
            let cut = work.add(Task::work(60.0, 0), []);
            let sand = Task {
                helper: true,
                ..Task::work(30.0, 1)
            };
            work.add(sand, [cut]);
        }
        let mut log = Log::default();
        let found = schedule(&work, &week_days(), 480.0, Some(&mut log)).unwrap();
        assert_eq!((found.finish, found.hands, found.idle_wait), (630.0, 120.0, 30.0));
        assert_eq!(
            log.worked,
            [
                (0, 480.0, 540.0),
                (2, 540.0, 600.0),
                (1, 540.0, 570.0),
                (3, 600.0, 630.0)
            ]
        );
        let friday = done(&work, &week_days(), 4.0 * DAY + 870.0);
        assert_eq!(friday.finish, 7.0 * DAY + 540.0);
        // One kiln for both: the helper waits until it is empty.
        let mut shared = Work::default();
        let kiln = shared.room(1);
        let fired = |helper: bool| Task {
            helper,
            wait: 60.0,
            takes: Some(kiln),
            gives: Some(kiln),
            ..Task::work(10.0, 0)
        };
        shared.add(fired(false), []);
        shared.add(fired(true), []);
        let found = done(&shared, &week_days(), 480.0);
        assert_eq!((found.finish, found.hands), (620.0, 10.0));
    }

    #[test]
    fn waits_run_over_the_weekend_and_hands_do_not() {
        // Glued Friday 15:00 to 15:30, two days: dry on Sunday at 15:30. Sanded on Monday from 8:00.
        let mut work = Work::default();
        let glue = work.add(
            Task {
                wait: 2.0 * DAY,
                ..Task::work(30.0, 0)
            },
            [],
        );
        work.add(Task::work(20.0, 1), [glue]);
        let mut log = Log::default();
        let friday = 4.0 * DAY + 900.0;
        let found = schedule(&work, &week_days(), friday, Some(&mut log)).unwrap();
        assert_eq!(found.finish, 7.0 * DAY + 500.0);
        assert_eq!(log.waited, [(0, friday + 30.0, friday + 30.0 + 2.0 * DAY)]);
        assert_eq!(log.worked[1], (1, 7.0 * DAY + 480.0, 7.0 * DAY + 500.0));
        // From 15:30 to 16:00 on Friday there was nothing to do but wait.
        assert_eq!((found.hands, found.idle_wait, found.idle_room), (50.0, 30.0, 0.0));
        // Ending with the wait, it is over on Sunday.
        let mut alone = Work::default();
        alone.add(
            Task {
                wait: 2.0 * DAY,
                ..Task::work(30.0, 0)
            },
            [],
        );
        assert_eq!(done(&alone, &week_days(), friday).finish, 6.0 * DAY + 930.0);
    }

    #[test]
    fn the_morning_decides_what_is_done_first() {
        // Both are there before the bench opens; the lower rank came later.
        let mut work = Work::default();
        let dry = work.add(Task::waiting(60.0), []);
        let late = work.add(Task::work(10.0, 0), [dry]);
        let early = work.add(Task::work(10.0, 1), []);
        let mut log = Log::default();
        schedule(&work, &week_days(), 0.0, Some(&mut log)).unwrap();
        assert_eq!(log.worked, [(late, 480.0, 490.0), (early, 490.0, 500.0)]);
    }

    #[test]
    fn a_full_room_is_told_from_a_wait() {
        // One kiln: 10 min to load, 100 to fire; two loads. The second stands ready 100 min.
        let mut work = Work::default();
        let kiln = work.room(1);
        for _ in 0..2 {
            work.add(
                Task {
                    wait: 100.0,
                    takes: Some(kiln),
                    gives: Some(kiln),
                    ..Task::work(10.0, 0)
                },
                [],
            );
        }
        let found = done(&work, &OpenHours::always(), 0.0);
        assert_eq!(
            found,
            Outcome {
                finish: 220.0,
                hands: 20.0,
                idle_room: 100.0,
                idle_wait: 100.0
            }
        );
        assert_eq!(work.longest_chain(), 110.0);
        assert_eq!(work.hands(), 20.0);
    }

    #[test]
    fn what_has_no_end_is_said() {
        let mut work = Work::default();
        let clamps = work.room(1);
        for _ in 0..2 {
            work.add(
                Task {
                    takes: Some(clamps),
                    ..Task::work(10.0, 0)
                },
                [],
            );
        }
        let found = schedule(&work, &OpenHours::always(), 0.0, None);
        assert_eq!(found, Err(NoEnd::NoRoom));
        let mut long = Work::default();
        long.add(Task::work(200.0 * 480.0, 0), []);
        let found = schedule(&long, &week_days(), 0.0, None);
        assert_eq!(found, Err(NoEnd::NoHours));
    }

    #[test]
    fn bench_minutes_are_counted() {
        let bench = week_days();
        assert_eq!(bench.minutes_between(0.0, 7.0 * DAY), 5.0 * 480.0);
        assert_eq!(bench.minutes_between(500.0, 520.0), 20.0);
        assert_eq!(bench.minutes_between(4.0 * DAY + 900.0, 7.0 * DAY + 490.0), 70.0);
        assert_eq!(bench.next_open(960.0), Some(DAY + 480.0));
        assert_eq!(bench.next_open(500.0), Some(500.0));
        assert_eq!(bench.next_open(1e9), None);
    }

    proptest::proptest! {
        /// Whatever the work: hands never do two things at once nor outside bench hours, minutes add up, rooms are never
        /// overfull, and no schedule beats the longest chain or the hours.
        #[test]
        fn no_schedule_breaks_the_rules(
            rounds in proptest::collection::vec((0.0_f64..300.0, 0.0_f64..3000.0, 0.0_f64..90.0, 0_u32..4), 1..25),
            places in 1_u32..4,
        ) {
            let mut work = Work::default();
            let room = work.room(places);
            for (minutes, wait, after, rank) in &rounds {
                let glue = work.add(Task { wait: *wait, takes: Some(room), ..Task::work(*minutes, *rank) }, []);
                work.add(Task { gives: Some(room), ..Task::work(*after, 3 - rank) }, [glue]);
            }
            let bench = week_days();
            let mut log = Log::default();
            let found = schedule(&work, &bench, 100.0, Some(&mut log)).unwrap();
            let mut last = 0.0;
            let mut minutes = vec![0.0; work.tasks().len()];
            for (task, from, until) in &log.worked {
                proptest::prop_assert!(*from >= last && until >= from);
                proptest::prop_assert!((bench.minutes_between(*from, *until) - (until - from)).abs() < 1e-6);
                last = *until;
                minutes[*task] += until - from;
            }
            for (task, found) in work.tasks().iter().zip(&minutes) {
                proptest::prop_assert!((task.hands.unwrap() - found).abs() < 1e-6);
            }
            let first = |k: usize| log.worked.iter().find(|w| w.0 == k).unwrap().1;
            let end = |k: usize| log.worked.iter().rev().find(|w| w.0 == k).unwrap().2;
            for k in 0..rounds.len() {
                // Another's begin within this one's stay takes a place.
                let inside = (0..rounds.len()).filter(|j| first(2 * j) <= first(2 * k) && end(2 * j + 1) > first(2 * k) + 1e-9);
                proptest::prop_assert!(inside.count() <= places as usize);
            }
            proptest::prop_assert!(found.finish >= 100.0 + work.longest_chain() - 1e-6);
            let bench_minutes = bench.minutes_between(100.0, found.finish);
            proptest::prop_assert!((bench_minutes - found.hands - found.idle_room - found.idle_wait).abs() < 1e-6);
        }
    }
}
