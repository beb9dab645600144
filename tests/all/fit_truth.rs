//! `fit` against logs whose truth is known: how often its 95 % intervals hold it, and how often true new batches fall into the band of eight in
//! ten that the written file has.
//!
//! The logs' generator knows nothing of the program: triangular draws of another library (`rand_distr`), sizes and paces and losses of its own. Seeds
//! are fixed. `every_setting` prints the whole table; `intervals_and_bands_hold` keeps a part of it within the aims each time.
//!
//! Beside it the mixed models of a statistics library (`tests/reference/mixed.py`) on the same logs.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use batchwright_core::questions::{Settings, sweep};
use batchwright_core::scenario;
use batchwright_core::stats::estimate::Estimate;
use batchwright_core::worklog::edit::edited;
use batchwright_core::worklog::{self, fit};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Triangular};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Low, likely, high minutes.
type Range = [f64; 3];

const CUT: [Range; 2] = [[12.0, 18.0, 30.0], [4.0, 5.0, 9.0]];
const GLUE: [Range; 2] = [[3.0, 4.0, 8.0], [3.0, 4.0, 7.0]];
const ROOM: u32 = 6;
const PACK: Range = [10.0, 14.0, 25.0];
const PACE: Range = [0.9, 1.0, 1.35];
/// Sizes of the new batches.
const NEW: [u32; 4] = [3, 10, 18, 40];
/// New batches of each size a log.
const BATCHES: usize = 20;

fn mean(r: Range) -> f64 {
    (r[0] + r[1] + r[2]) / 3.0
}

/// What a log has entries of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Entries {
    /// Setup and pieces of a job together.
    Whole,
    /// Every other job has them apart.
    Mixed,
    /// Of every other job only the setup was timed.
    SetupOnly,
}

/// One way the world may be, and the file beside it.
#[derive(Debug, Clone, Copy)]
struct Setting {
    name: &'static str,
    /// Fewest and most pieces of a job.
    sizes: (u32, u32),
    entries: Entries,
    pace: bool,
    /// Whether the file has one.
    file_pace: bool,
    /// Chance that a piece is lost at the first step.
    spoil: f64,
    /// The file's setup and time a piece over the truth.
    file: (f64, f64),
    /// Width of the file's ranges over the truth's.
    width: f64,
    /// Share of entries that are tripled.
    tripled: f64,
}

const PLAIN: Setting = Setting {
    name: "file right, sizes 1 to 20",
    sizes: (1, 20),
    entries: Entries::Whole,
    pace: true,
    file_pace: true,
    spoil: 0.0,
    file: (1.0, 1.0),
    width: 1.0,
    tripled: 0.0,
};
const CLOSE: Setting = Setting {
    sizes: (6, 12),
    ..PLAIN
};

const SETTINGS: [Setting; 16] = [
    PLAIN,
    Setting {
        name: "file right, sizes 6 to 12",
        ..CLOSE
    },
    Setting {
        name: "no pace, sizes 1 to 20",
        pace: false,
        file_pace: false,
        ..PLAIN
    },
    Setting {
        name: "no pace, sizes 6 to 12",
        pace: false,
        file_pace: false,
        ..CLOSE
    },
    Setting {
        name: "setup half, sizes 1 to 20",
        file: (0.5, 1.0),
        ..PLAIN
    },
    Setting {
        name: "setup half, sizes 6 to 12",
        file: (0.5, 1.0),
        ..CLOSE
    },
    Setting {
        name: "setup one and a half, sizes 6 to 12",
        file: (1.5, 1.0),
        ..CLOSE
    },
    Setting {
        name: "pieces half, sizes 1 to 20",
        file: (1.0, 0.5),
        ..PLAIN
    },
    Setting {
        name: "pieces half, sizes 6 to 12",
        file: (1.0, 0.5),
        ..CLOSE
    },
    Setting {
        name: "pieces one and a half, sizes 6 to 12",
        file: (1.0, 1.5),
        ..CLOSE
    },
    Setting {
        name: "both wrong, sizes 6 to 12",
        file: (0.5, 1.5),
        ..CLOSE
    },
    Setting {
        name: "ranges a third, sizes 1 to 20",
        width: 0.33,
        ..PLAIN
    },
    Setting {
        name: "ranges a third, sizes 6 to 12",
        width: 0.33,
        ..CLOSE
    },
    Setting {
        name: "mixed entries, sizes 1 to 20",
        entries: Entries::Mixed,
        ..PLAIN
    },
    Setting {
        name: "setups alone, sizes 1 to 20",
        entries: Entries::SetupOnly,
        ..PLAIN
    },
    Setting {
        name: "pieces lost, sizes 1 to 20",
        spoil: 0.05,
        ..PLAIN
    },
];

/// Ways that are looked at reading after reading.
fn in_turn() -> Vec<Setting> {
    let files = [
        ("file right", (1.0, 1.0)),
        ("setup half", (0.5, 1.0)),
        ("both wrong", (0.5, 1.5)),
    ];
    let mut list = Vec::new();
    for (name, file) in files {
        for (paced, pace) in [("pace", true), ("no pace", false)] {
            for (sized, of) in [("sizes 1 to 20", PLAIN), ("sizes 6 to 12", CLOSE)] {
                list.push(Setting {
                    name: format!("{name}, {paced}, {sized}").leak(),
                    pace,
                    file_pace: pace,
                    file,
                    ..of
                });
            }
        }
    }
    list
}

/// Days differ, and the file says nothing of it: beyond what is asked of `fit`, and looked at in the whole table.
const UNWRITTEN: [Setting; 2] = [
    Setting {
        name: "pace not in the file, sizes 1 to 20",
        file_pace: false,
        ..PLAIN
    },
    Setting {
        name: "pace not in the file, sizes 6 to 12",
        file_pace: false,
        ..CLOSE
    },
];

/// The world: draws of its own.
struct World {
    draws: Xoshiro256PlusPlus,
    setting: Setting,
}

impl World {
    fn draw(&mut self, r: Range) -> f64 {
        Triangular::new(r[0], r[2], r[1]).unwrap().sample(&mut self.draws)
    }

    fn pace(&mut self) -> f64 {
        if self.setting.pace { self.draw(PACE) } else { 1.0 }
    }

    fn sum(&mut self, r: Range, times: u32) -> f64 {
        (0..times).map(|_| self.draw(r)).sum()
    }

    fn left(&mut self, pieces: u32) -> u32 {
        (0..pieces)
            .filter(|_| self.draws.random::<f64>() >= self.setting.spoil)
            .count() as u32
    }

    /// Minutes of a batch: setup and pieces of both steps, and orders of one piece.
    fn batch(&mut self, pieces: u32) -> f64 {
        let pace = self.pace();
        let good = self.left(pieces);
        let cut = self.sum(CUT[0], 1) + self.sum(CUT[1], pieces);
        let glue = self.sum(GLUE[0], good.div_ceil(ROOM)) + self.sum(GLUE[1], good);
        pace * (cut + glue + self.sum(PACK, good))
    }

    fn log(&mut self, jobs: usize) -> String {
        let mut text = "job,step,what,pieces,rounds,minutes\n".to_owned();
        let tripled = self.setting.tripled;
        let mut put = |draws: &mut Xoshiro256PlusPlus, job: usize, rest: String, minutes: f64| {
            let slip = if draws.random::<f64>() < tripled { 3.0 } else { 1.0 };
            text.push_str(&format!("job {job},{rest},{:.2}\n", minutes * slip));
        };
        for job in 0..jobs {
            let (low, high) = self.setting.sizes;
            let pieces = self.draws.random_range(low..=high);
            let pace = self.pace();
            let good = self.left(pieces);
            for (step, ranges, n, rounds) in [("cut", CUT, pieces, 1), ("glue", GLUE, good, good.div_ceil(ROOM))] {
                if n == 0 {
                    continue;
                }
                let (setup, each) = (pace * self.sum(ranges[0], rounds), pace * self.sum(ranges[1], n));
                let apart = job % 2 == 1;
                match self.setting.entries {
                    Entries::Mixed if apart => {
                        put(&mut self.draws, job, format!("{step},setup,,{rounds}"), setup);
                        put(&mut self.draws, job, format!("{step},each,{n},"), each);
                    }
                    // One setup alone.
                    Entries::SetupOnly if apart => {
                        let one = pace * self.sum(ranges[0], 1);
                        put(&mut self.draws, job, format!("{step},setup,,1"), one);
                    }
                    _ => put(&mut self.draws, job, format!("{step},,{n},"), setup + each),
                }
            }
            if good > 0 {
                let minutes = pace * self.sum(PACK, good);
                put(&mut self.draws, job, format!("pack,,{good},"), minutes);
            }
        }
        text
    }

    fn file(&self) -> String {
        let s = self.setting;
        let write = |r: Range, times: f64| {
            let m = mean(r);
            let [a, b, c] = r.map(|v| times * (m + s.width * (v - m)));
            format!("'{a:.4} / {b:.4} / {c:.4} min'")
        };
        let pace = if s.file_pace {
            let m = mean(PACE);
            let [a, b, c] = PACE.map(|v| m + s.width * (v - m));
            format!("[pace]\nfactor = '{a:.4} / {b:.4} / {c:.4}'\n")
        } else {
            String::new()
        };
        format!(
            "target = 30\n[batch]\nsizes = [3, 10, 18, 40]\n{pace}[[step]]\nname = 'cut'\nsetup = {}\neach = {}\nspoil = '{} %'\n\
             [[step]]\nname = 'glue'\nsetup = {}\neach = {}\nroom = {ROOM}\n[[step]]\nname = 'pack'\nper_order = {}\n[sale]\nprice = 50\n",
            write(CUT[0], s.file.0),
            write(CUT[1], s.file.1),
            100.0 * s.spoil,
            write(GLUE[0], s.file.0),
            write(GLUE[1], s.file.1),
            write(PACK, 1.0),
        )
    }
}

/// How many of how many held, for each thing that was looked at.
#[derive(Debug, Default)]
struct Tally {
    /// Intervals: setup and piece at the first and second step, both sums, packing, jobs.
    intervals: Vec<(&'static str, u32, u32)>,
    /// New batches, by size: logs' shares within the band, their sum and sum of squares, and logs.
    bands: [(f64, f64, u32); 4],
    apart: usize,
}

impl Tally {
    fn held(&mut self, name: &'static str, held: bool) {
        let k = self.intervals.iter().position(|i| i.0 == name).unwrap_or_else(|| {
            self.intervals.push((name, 0, 0));
            self.intervals.len() - 1
        });
        self.intervals[k].1 += u32::from(held);
        self.intervals[k].2 += 1;
    }
}

/// Hours that eight of ten new batches of each size take by a file. Each log has a seed of its own: with one for all, what these thousand trials err by
/// would be the same in every log, and no error between logs would show it.
fn band_of(file: &str, seed: u64) -> [[f64; 2]; 4] {
    let fitted = scenario::read("fitted", file, &[]).unwrap_or_else(|f| panic!("{}", f.render(false, 100)));
    let settings = Settings {
        trials: 1000,
        within: None,
        seed,
        threads: None,
    };
    let answer = sweep::run(&fitted, &settings, &|_| {});
    NEW.map(|size| {
        let hours = answer.sizes.iter().find(|s| s.size == size).unwrap().hours;
        [hours.p10, hours.p90]
    })
}

/// Every interval there is, and whether it holds the truth.
fn holds(found: &fit::Fit, setting: Setting) -> Vec<(&'static str, bool)> {
    let pace = if setting.pace { mean(PACE) } else { 1.0 };
    let mut list = Vec::new();
    let mut held = |name, estimate: Estimate, truth: f64| {
        if let (Some(low), Some(high)) = (estimate.low, estimate.high) {
            list.push((name, low <= truth && truth <= high));
        }
    };
    let names = [
        ["cut setup", "cut each", "cut sum"],
        ["glue setup", "glue each", "glue sum"],
    ];
    for ((step, ranges), names) in found.steps.iter().zip([CUT, GLUE]).zip(names) {
        for part in &step.parts {
            let k = usize::from(part.key == "each");
            held(names[k], part.found, mean(ranges[k]) * pace);
        }
        if let Some(sum) = step.work.as_ref().and_then(|w| w.sum) {
            let rounds = if step.name == "cut" {
                1
            } else {
                sum.pieces.div_ceil(ROOM)
            };
            let truth = pace * (mean(ranges[0]) * f64::from(rounds) + mean(ranges[1]) * f64::from(sum.pieces));
            held(names[2], sum.minutes, truth);
        }
    }
    for part in &found.steps[2].parts {
        held("pack", part.found, mean(PACK) * pace);
    }
    list
}

fn run(setting: Setting, jobs: usize, logs: usize, bands: bool, seed: u64) -> Tally {
    let mut world = World {
        draws: Xoshiro256PlusPlus::seed_from_u64(seed),
        setting,
    };
    let file = world.file();
    let scenario = scenario::read("file", &file, &[]).unwrap_or_else(|f| panic!("{}", f.render(false, 100)));
    let mut tally = Tally::default();
    for number in 0..logs as u64 {
        let text = world.log(jobs);
        let log = worklog::read("log", text.as_bytes()).unwrap();
        let found = fit::fit(&scenario, &log);
        tally.apart += found.set_apart.len();
        for (name, held) in holds(&found, setting) {
            tally.held(name, held);
        }
        if !bands {
            continue;
        }
        let (written, _) = edited(&file, &found).unwrap();
        for (k, [low, high]) in band_of(&written, seed + number).into_iter().enumerate() {
            let inside = (0..BATCHES)
                .filter(|_| {
                    let taken = world.batch(NEW[k]) / 60.0;
                    low <= taken && taken <= high
                })
                .count() as f64
                / BATCHES as f64;
            let sums = &mut tally.bands[k];
            *sums = (sums.0 + inside, sums.1 + inside * inside, sums.2 + 1);
        }
    }
    tally
}

/// The first jobs of a log.
fn first(text: &str, jobs: usize) -> String {
    let is_in = |line: &&str| {
        let job = line.strip_prefix("job ").and_then(|rest| rest.split(',').next());
        job.is_none_or(|job| job.parse::<usize>().is_ok_and(|job| job < jobs))
    };
    text.lines().filter(is_in).map(|line| format!("{line}\n")).collect()
}

/// How far a share of so many may stray: 4 of the binomial law's standard deviations, which it does in one case of 15,000.
fn stray(share: f64, of: f64) -> f64 {
    4.0 * (share * (1.0 - share) / of).sqrt()
}

/// The aims: 95 % intervals hold 92 to 98 %, and 75 to 85 % of true new batches fall into the band of eight in ten. Intervals are counted over all settings
/// together (30 logs each), for each estimate and number of jobs; bands for each setting over all sizes (30 logs, whose own spread says how far the mean may stray). Some
/// 60 comparisons: a false alarm in one of 250 seeds at the most, were all on the edge.
///
/// Where the truth has no pace at all, some sizes' bands after 8 jobs and most after 5 are too wide (`every_setting`): few jobs cannot rule out what the
/// file does not deny, and a file that denied it would be too sure where it is wrong. Over all sizes those of 8 jobs hold as they should.
#[test]
fn intervals_and_bands_hold() {
    const LOGS: usize = 30;
    for jobs in [8, 20, 60] {
        let mut intervals: Vec<(&'static str, u32, u32)> = Vec::new();
        for (k, setting) in SETTINGS.into_iter().enumerate() {
            let tally = run(setting, jobs, LOGS, true, 20_270_600 + 100 * jobs as u64 + k as u64);
            for (name, held, of) in &tally.intervals {
                match intervals.iter_mut().find(|i| i.0 == *name) {
                    Some(sum) => *sum = (sum.0, sum.1 + held, sum.2 + of),
                    None => intervals.push((name, *held, *of)),
                }
            }
            let n = 4.0 * LOGS as f64;
            let mean = tally.bands.iter().map(|b| b.0).sum::<f64>() / n;
            let squares = tally.bands.iter().map(|b| b.1).sum::<f64>() / n - mean * mean;
            // A log's four sizes err together.
            let far = 4.0 * (squares / LOGS as f64).sqrt();
            assert!(mean >= 0.75 - far, "{}, {jobs} jobs: {mean}", setting.name);
            assert!(mean <= 0.85 + far, "{}, {jobs} jobs: {mean}", setting.name);
        }
        for (name, held, of) in intervals {
            let (share, of) = (f64::from(held) / f64::from(of), f64::from(of));
            let aims = 0.92 - stray(0.92, of)..=0.98 + stray(0.98, of);
            assert!(aims.contains(&share), "{name}, {jobs} jobs: {share} not in {aims:?}");
        }
    }
}

/// Without a pace and of jobs of much the same size, a setup and a piece are known together better than each. While ranges of a file were independent of each other,
/// 87 to 88 % of true new batches of 10 pieces fell into the band of eight in ten after 10 jobs: 85 at the most are wanted.
#[test]
fn bands_of_the_logs_own_sizes_hold_without_a_pace() {
    const LOGS: usize = 500;
    let steady = Setting {
        pace: false,
        file_pace: false,
        ..CLOSE
    };
    let tally = run(steady, 10, LOGS, true, 20_271_200);
    for (size, (sum, squares, logs)) in NEW.into_iter().zip(tally.bands).take(3) {
        let n = f64::from(logs);
        let mean = sum / n;
        let far = 4.0 * ((squares / n - mean * mean) / n).sqrt();
        assert!((0.75 - far..=0.85 + far).contains(&mean), "{size} pieces: {mean}");
    }
}

/// Written after every job or at the end alone, a file teaches the same: the whole log is read beside what was guessed first. Read once more, it has nothing to
/// put in.
#[test]
fn a_log_teaches_once_however_often_it_is_read() {
    const JOBS: usize = 12;
    for (k, setting) in SETTINGS.into_iter().chain(in_turn()).enumerate() {
        let mut world = World {
            draws: Xoshiro256PlusPlus::seed_from_u64(20_270_800 + k as u64),
            setting,
        };
        let guess = world.file();
        let text = world.log(JOBS);
        let read = |file: &str, jobs: usize| {
            let scenario = scenario::read("file", file, &[]).unwrap_or_else(|f| panic!("{}", f.render(false, 100)));
            fit::fit(&scenario, &worklog::read("log", first(&text, jobs).as_bytes()).unwrap())
        };
        let mut file = guess.clone();
        for jobs in 3..=JOBS {
            let (found, once) = (read(&file, jobs), read(&guess, jobs));
            for (step, beside) in found.steps.iter().zip(&once.steps) {
                for (part, other) in step.parts.iter().zip(&beside.parts) {
                    assert_eq!(
                        part.found, other.found,
                        "{}, {jobs} jobs, {} {}",
                        setting.name, step.name, part.key
                    );
                }
            }
            file = edited(&file, &found).unwrap().0;
        }
        let again = read(&file, JOBS);
        assert_eq!(edited(&file, &again).unwrap().1, [], "{}", setting.name);
    }
}

/// With 5 % of the entries tripled, 70 to 88 % of true new batches fall into the band, and slips are named: after 5 jobs in every way (which of
/// a step's five entries is a slip, only the file's ranges help to tell), and after 20 in two.
#[test]
fn slips_do_not_move_the_bands() {
    let ways = |jobs: usize| {
        if jobs == 5 {
            SETTINGS.to_vec()
        } else {
            vec![PLAIN, CLOSE]
        }
    };
    for (jobs, logs, seed) in [(5, 30, 20_270_900), (20, 40, 20_270_700)] {
        let mut apart = 0;
        for (k, setting) in ways(jobs).into_iter().enumerate() {
            let tripled = Setting {
                tripled: 0.05,
                ..setting
            };
            let tally = run(tripled, jobs, logs, true, seed + k as u64);
            let n = 4.0 * logs as f64;
            let mean = tally.bands.iter().map(|b| b.0).sum::<f64>() / n;
            let squares = tally.bands.iter().map(|b| b.1).sum::<f64>() / n - mean * mean;
            let far = 4.0 * (squares / logs as f64).sqrt();
            assert!(
                (0.7 - far..=0.88 + far).contains(&mean),
                "{}, {jobs} jobs: {mean}",
                setting.name
            );
            apart += tally.apart;
            // Three steps, 20 jobs, 40 logs: 120 are due.
            assert!(jobs == 5 || (80..=160).contains(&tally.apart), "{}", tally.apart);
        }
        // Of 5 jobs 16 ways and 30 logs have 360, but for those whose jobs have more entries, or fewer.
        assert!(jobs == 20 || (144..=360).contains(&apart), "{apart}");
    }
}

/// statsmodels' mixed models on the same logs: setup, time a piece and, where the models are the same to the last term (pieces alone), both variances' roots
/// within 2 %. The file is right, as a weak guess of twice the truth would move 20 jobs by as much.
#[test]
fn mixed_models_of_another_library_agree() {
    let scenario = scenario::read(
        "file",
        "target = 30\n[pace]\nfactor = '0.8 / 1 / 1.2'\n[[step]]\nname = 'turn'\nsetup = '10 / 20 / 30 min'\neach = '3 / 6 / 9 min'\n\
         [sale]\nprice = 50\n",
        &[],
    )
    .unwrap();
    let logs = include_str!("../reference/mixed_logs.csv");
    for line in include_str!("../reference/mixed.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let due: Vec<f64> = cells[1..].iter().map(|v| v.parse().unwrap()).collect();
        let mut text = "job,step,what,pieces,minutes\n".to_owned();
        for row in logs
            .lines()
            .skip(1)
            .filter(|row| row.starts_with(&format!("{},", cells[0])))
        {
            let row: Vec<&str> = row.split(',').collect();
            let (what, pieces) = match (row[2], row[3]) {
                ("1", "0") => ("setup", ""),
                ("0", pieces) => ("each", pieces),
                (_, pieces) => ("", pieces),
            };
            text.push_str(&format!("{},turn,{what},{pieces},{}\n", row[1], row[4]));
        }
        let found = fit::fit(&scenario, &worklog::read("log", text.as_bytes()).unwrap());
        assert!(found.set_apart.is_empty(), "{:?}", found.set_apart);
        let step = &found.steps[0];
        let value = |key: &str| step.parts.iter().find(|p| p.key == key).map_or(0.0, |p| p.found.value);
        let near = |found: f64, due: f64| (found - due).abs() <= 0.02 * due;
        assert!(near(value("each"), due[1]), "{line}: {}", value("each"));
        if due[0] > 0.0 {
            assert!(near(value("setup"), due[0]), "{line}: {}", value("setup"));
        } else {
            let [pace, _, piece] = step.work.as_ref().unwrap().varies;
            assert!(near(pace, due[2]) && near(piece, due[3]), "{line}: {pace} {piece}");
        }
    }
}

/// The whole table: `cargo test --test all fit_truth::every_setting -- --ignored --nocapture`. `LOGS` says how many logs each, `SEED` which; `ONLY` is part of
/// a way's name, `JOBS` and `TRIPLED` are some of what else is tried. Beside the share of new batches within the band stands its standard error, from how
/// logs differ.
#[test]
#[ignore = "minutes long; prints the table"]
#[expect(clippy::print_stdout, reason = "the table is what it is run for")]
fn every_setting() {
    let asked = |name: &str, usual: &str| std::env::var(name).unwrap_or(usual.to_owned());
    let logs: usize = asked("LOGS", "400").parse().unwrap();
    let seed: u64 = asked("SEED", "20270501").parse().unwrap();
    let only = asked("ONLY", "");
    let numbers = |list: String| -> Vec<f64> { list.split(',').map(|n| n.parse().unwrap()).collect() };
    let (jobs, tripled) = (
        numbers(asked("JOBS", "5,8,10,20,60,200")),
        numbers(asked("TRIPLED", "0,0.05")),
    );
    for tripled in tripled {
        for jobs in jobs.iter().map(|jobs| *jobs as usize) {
            for (k, setting) in SETTINGS.into_iter().chain(UNWRITTEN).enumerate() {
                if !setting.name.contains(&only) {
                    continue;
                }
                // No two cells have their chance in common.
                let seed = seed + 1_000 * jobs as u64 + k as u64 + if tripled > 0.0 { 500 } else { 0 };
                let tally = run(Setting { tripled, ..setting }, jobs, logs, true, seed);
                let intervals: Vec<String> = tally
                    .intervals
                    .iter()
                    .map(|(name, held, of)| format!("{name} {:.1}", 100.0 * f64::from(*held) / f64::from(*of)))
                    .collect();
                let bands: Vec<String> = tally
                    .bands
                    .iter()
                    .map(|(sum, squares, n)| {
                        let n = f64::from(*n);
                        let mean = sum / n;
                        let error = ((squares / n - mean * mean) / (n - 1.0)).sqrt();
                        format!("{:.1} +- {:.1}", 100.0 * mean, 100.0 * error)
                    })
                    .collect();
                println!(
                    "{}{} | {jobs} jobs | {} | bands {} | set apart {}",
                    setting.name,
                    if tripled > 0.0 { ", 5 % tripled" } else { "" },
                    intervals.join(", "),
                    bands.join(", "),
                    tally.apart
                );
            }
        }
    }
}
