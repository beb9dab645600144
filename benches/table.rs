//! Everything side by side in one trial, and one table of all ratios.
//!
//! Each round runs every case once; a ratio is taken within a round, and the table shows the median over rounds. Run it by
//! `sh benches/table.sh`, which also makes the Python that the array code needs. Where the machine is shared with other
//! work, `BENCH_CLOCK=cpu` times what runs on one thread by the processor time it got.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "printing is what it is for")]

mod common;

use batchwright_core::engine::{Path, Plan};
use batchwright_core::questions::sweep::Sweep;
use batchwright_core::scenario::Scenario;
use batchwright_core::worklog::{self, fit::fit};
use common::{
    Features, Kernel, SIZE, STEPS, TILE_DRAWS, TRIALS, logs, scalar_hours, scalar_sweep, scenario, simulate, whole,
    whole_here,
};
use rand::SeedableRng;
use rand::rngs::{SmallRng, StdRng};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::collections::BTreeMap;
use std::hint::black_box;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Instant;

/// The program, built with the same settings as the benches.
const PROGRAM: &str = env!("CARGO_BIN_EXE_batchwright");
const PIECE_STEPS: f64 = SIZE as f64 * STEPS as f64 * TRIALS as f64;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|a| a != "--bench").collect();
    match arguments.first().map(String::as_str) {
        // A process of its own, so that its peak memory is its own.
        Some("--peak") => peak(),
        // One kind of sweep and nothing else, for a profile: which, whole or simulation alone, how often, threads.
        Some("--once") => once(&arguments[1..]),
        rounds => table(rounds.and_then(|n| n.parse().ok()).unwrap_or(11)),
    }
}

/// Sweeps of one kind, and how long the quickest took.
fn once(arguments: &[String]) {
    let name = arguments.first().map_or("plain", String::as_str);
    let on = Features::ALONE
        .into_iter()
        .find_map(|(alone, on)| (alone == name).then_some(on))
        .or_else(|| {
            let without = name.strip_prefix("without ")?;
            Features::WITHOUT
                .into_iter()
                .find_map(|(other, on)| (other == without).then_some(on))
        })
        .unwrap_or(match name {
            "everything" => Features::EVERYTHING,
            "sales" => Features {
                sales: true,
                ..Features::EVERYTHING
            },
            _ => Features::PLAIN,
        });
    let alone = arguments.get(1).is_some_and(|what| what == "simulation");
    let number = |k: usize| arguments.get(k).and_then(|n| n.parse().ok());
    let times = number(2).unwrap_or(1);
    let shop = scenario(SIZE, STEPS, on);
    let plan = Plan::new(&shop);
    let threads = pool(number(3).unwrap_or(1));
    let quickest = (0..times)
        .map(|_| {
            time(|| {
                if alone {
                    threads.install(|| simulate(&plan, TRIALS));
                } else {
                    threads.install(|| drop(whole_here(&shop, &plan, TRIALS)));
                }
            })
        })
        .fold(f64::INFINITY, f64::min);
    eprintln!("{name}: {:.2} ns a piece-step at best", quickest / PIECE_STEPS);
}

fn pool(threads: usize) -> ThreadPool {
    ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .expect("threads to be had")
}

/// Nanoseconds this thread has been on a processor, where the system tells.
fn on_processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse().ok()
}

fn by_processor_time() -> bool {
    std::env::var("BENCH_CLOCK").is_ok_and(|clock| clock == "cpu")
}

/// Nanoseconds of `work`, which must run on this thread.
fn time_here(work: impl FnOnce()) -> f64 {
    if by_processor_time()
        && let Some(begin) = on_processor()
    {
        work();
        return on_processor().map_or(f64::NAN, |end| end - begin);
    }
    time(work)
}

fn time(work: impl FnOnce()) -> f64 {
    let begin = Instant::now();
    work();
    begin.elapsed().as_secs_f64() * 1e9
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let n = sorted.len();
    if n == 0 {
        f64::NAN
    } else {
        f64::midpoint(sorted[(n - 1) / 2], sorted[n / 2])
    }
}

/// Nanoseconds of every case, a value a round.
#[derive(Default)]
struct Times(BTreeMap<String, Vec<f64>>);

impl Times {
    fn add(&mut self, name: &str, nanoseconds: f64) {
        self.0.entry(name.to_owned()).or_default().push(nanoseconds);
    }

    fn of(&self, name: &str) -> &[f64] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }

    fn median(&self, name: &str) -> f64 {
        median(self.of(name))
    }

    /// Median of the rounds' ratios.
    fn ratio(&self, over: &str, under: &str) -> f64 {
        let ratios: Vec<f64> = self.of(over).iter().zip(self.of(under)).map(|(a, b)| a / b).collect();
        median(&ratios)
    }
}

/// What a figure should be.
enum Aim {
    AtMost(f64),
    AtLeast(f64),
    None,
}

struct Row {
    what: String,
    figure: f64,
    unit: &'static str,
    aim: Aim,
    note: String,
}

#[derive(Default)]
struct Table(Vec<Row>);

impl Table {
    fn add(&mut self, what: impl Into<String>, figure: f64, unit: &'static str, aim: Aim, note: impl Into<String>) {
        self.0.push(Row {
            what: what.into(),
            figure,
            unit,
            aim,
            note: note.into(),
        });
    }

    fn print(&self) {
        println!("| measured | figure | aim | holds | |");
        println!("| --- | ---: | ---: | --- | --- |");
        for row in &self.0 {
            let digits = |x: f64| if x.abs() >= 100.0 { 0 } else { 2 };
            let (aim, holds) = match row.aim {
                Aim::AtMost(most) => (format!("<= {most}"), row.figure <= most),
                Aim::AtLeast(least) => (format!(">= {least}"), row.figure >= least),
                Aim::None => (String::new(), true),
            };
            let holds = match row.aim {
                Aim::None => "",
                _ if holds => "yes",
                _ => "no",
            };
            println!(
                "| {} | {:.*} {} | {aim} | {holds} | {} |",
                row.what,
                digits(row.figure),
                row.figure,
                row.unit,
                row.note
            );
        }
    }
}

fn table(rounds: usize) {
    let mut times = Times::default();
    let mut rows = Table::default();
    kernel_rows(&mut rows);
    let python = std::env::var("BENCH_PYTHON").ok();
    let array = sweep_rounds(rounds, python.as_deref(), &mut times);
    sweep_rows(&times, array.as_ref(), &mut rows);
    if let Some(answers) = array {
        agreement(&answers, &mut rows);
    } else {
        eprintln!("The array code was not measured: BENCH_PYTHON does not name a Python with numpy.");
    }
    log_rows(rounds, &mut rows);
    peak_row(&mut rows);
    program_rows(rounds, &mut rows);

    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!(
        "{}, {:?} vectors, {cores} cores; medians of {rounds} rounds{}.\n",
        std::env::consts::ARCH,
        Path::best(),
        if by_processor_time() {
            ", processor time on one thread"
        } else {
            ""
        },
    );
    rows.print();
}

/// Bursts short enough that a noisy moment falls on all four alike.
fn kernel_rows(rows: &mut Table) {
    const TILES: u64 = 256;
    const BURSTS: usize = 1000;
    let mut kernel = Kernel::new();
    let mut times = Times::default();
    for burst in 0..BURSTS + 50 {
        let found = [
            ("kernel", time(|| kernel.tiles(TILES))),
            ("roofline", time(|| kernel.roofline(TILES))),
            ("add", time(|| kernel.generator_and_add(TILES))),
            ("generator", time(|| kernel.generator(TILES))),
        ];
        if burst >= 50 {
            for (name, nanoseconds) in found {
                times.add(name, nanoseconds);
            }
        }
    }
    let per_draw = |name: &str| times.median(name) / (TILES * TILE_DRAWS) as f64;
    rows.add("kernel", per_draw("kernel"), "ns a draw", Aim::None, "");
    rows.add(
        "its roofline: generator, square root, add",
        per_draw("roofline"),
        "ns a draw",
        Aim::None,
        "",
    );
    rows.add(
        "kernel's speed against the roofline",
        times.ratio("roofline", "kernel") * 100.0,
        "%",
        Aim::AtLeast(60.0),
        "",
    );
    rows.add(
        "against generator and add, no square root",
        times.ratio("add", "kernel") * 100.0,
        "%",
        Aim::None,
        "the engine's triangular draw takes no square root",
    );
    rows.add("generator alone", per_draw("generator"), "ns a draw", Aim::None, "");
}

/// What the array code and the others found, to see that they do the same thing.
struct Answers {
    array: serde_json::Value,
    scalar: common::Quantiles,
    engine: Sweep,
}

/// What the engine simulates, by name.
fn simulations() -> Vec<(String, Plan, Scenario)> {
    let mut simulations = vec![
        ("plain".to_owned(), Features::PLAIN),
        ("everything".to_owned(), Features::EVERYTHING),
        (
            "everything, materials and orders".to_owned(),
            Features {
                sales: true,
                ..Features::EVERYTHING
            },
        ),
    ];
    simulations.extend(Features::ALONE.map(|(name, on)| (format!("alone: {name}"), on)));
    simulations.extend(Features::WITHOUT.map(|(name, on)| (format!("without: {name}"), on)));
    let planned = |(name, on)| {
        let shop = scenario(SIZE, STEPS, on);
        (name, Plan::new(&shop), shop)
    };
    simulations.into_iter().map(planned).collect()
}

/// Runs every case once a round, after a round that does not count.
fn sweep_rounds(rounds: usize, python: Option<&str>, times: &mut Times) -> Option<Answers> {
    let (one, two) = (pool(1), pool(2));
    let mut small = SmallRng::seed_from_u64(1);
    let mut standard = StdRng::seed_from_u64(1);
    let simulations = simulations();
    let scales: Vec<_> = scales()
        .into_iter()
        .map(|(name, size, steps, trials)| {
            let shop = scenario(size, steps, Features::PLAIN);
            (name, Plan::new(&shop), shop, trials)
        })
        .collect();
    let mut answers = None;
    for round in 0..=rounds {
        let mut found: Vec<(String, f64)> = Vec::new();
        for (name, plan, shop) in &simulations {
            let here = one.install(|| time_here(|| simulate(plan, TRIALS)));
            found.push((format!("{name}, simulation"), here));
            let here = one.install(|| time_here(|| drop(whole_here(shop, plan, TRIALS))));
            found.push((format!("{name}, whole"), here));
        }
        let (_, plan, shop) = &simulations[0];
        let mut engine = None;
        // One and two threads, each pair after one sweep that does not count: memory is there for both then.
        let longer = TRIALS * 10;
        for (trials, note) in [(TRIALS, ""), (longer, ", long")] {
            one.install(|| drop(whole_here(shop, plan, trials)));
            let alone = one.install(|| time(|| drop(whole_here(shop, plan, trials))));
            let mut answer = None;
            let both = two.install(|| time(|| answer = Some(whole_here(shop, plan, trials))));
            engine = engine.or(answer);
            found.push((format!("1 thread{note}"), alone));
            found.push((format!("2 threads{note}"), both));
        }
        let array = python.and_then(array_sweep);
        if let Some((clocks, _)) = &array {
            found.push(("array".into(), clocks[usize::from(by_processor_time())]));
            found.push(("array, wall".into(), clocks[0]));
        }
        let mut scalar = Vec::new();
        found.push((
            "scalar small, simulation".into(),
            time_here(|| drop(black_box(scalar_hours(&mut small, SIZE, STEPS, TRIALS)))),
        ));
        found.push((
            "scalar small, whole".into(),
            time_here(|| scalar = scalar_sweep(&mut small, SIZE, STEPS, TRIALS)),
        ));
        found.push((
            "scalar default, simulation".into(),
            time_here(|| drop(black_box(scalar_hours(&mut standard, SIZE, STEPS, TRIALS)))),
        ));
        found.push((
            "scalar default, whole".into(),
            time_here(|| drop(scalar_sweep(&mut standard, SIZE, STEPS, TRIALS))),
        ));
        for (name, plan, shop, trials) in &scales {
            found.push((
                name.clone(),
                one.install(|| time_here(|| drop(whole_here(shop, plan, *trials)))),
            ));
        }
        if let (Some((_, array)), Some(engine)) = (array, engine) {
            answers = Some(Answers {
                array,
                scalar: scalar[11],
                engine,
            });
        }
        if round > 0 {
            for (name, nanoseconds) in found {
                times.add(&name, nanoseconds);
            }
        }
        eprintln!("round {round} of {rounds}");
    }
    answers
}

const SIZES: [u32; 4] = [50, 100, 200, 400];
const STEP_COUNTS: [u32; 3] = [5, 10, 20];
const TRIAL_COUNTS: [u64; 3] = [10_000, 20_000, 40_000];

fn scales() -> Vec<(String, u32, u32, u64)> {
    let sizes = SIZES.map(|n| (format!("sizes 1..{n}"), n, STEPS, TRIALS));
    let steps = STEP_COUNTS.map(|n| (format!("{n} steps"), SIZE, n, TRIALS));
    let trials = TRIAL_COUNTS.map(|n| (format!("{n} trials"), SIZE, STEPS, n));
    sizes.into_iter().chain(steps).chain(trials).collect()
}

/// Nanoseconds of the array code (by the clock, and of processor time), and its answers.
fn array_sweep(python: &str) -> Option<([f64; 2], serde_json::Value)> {
    let output = Command::new(python)
        .args(["benches/array_sweep.py", "3"])
        // Settings of a library that array code may use; the code is timed as it comes.
        .env_remove("OPENBLAS_CORETYPE")
        .env_remove("OPENBLAS_L2_SIZE")
        .stderr(Stdio::inherit())
        .output()
        .ok()?;
    let found: serde_json::Value = serde_json::from_slice(&output.stdout).ok()?;
    let clocks = ["seconds", "cpu_seconds"].map(|clock| {
        let seconds: Vec<f64> = found[clock]
            .as_array()
            .map_or(Vec::new(), |s| s.iter().filter_map(|x| x.as_f64()).collect());
        median(&seconds) * 1e9
    });
    Some((clocks, found))
}

fn sweep_rows(times: &Times, array: Option<&Answers>, rows: &mut Table) {
    let per_step = |name: &str| times.median(name) / PIECE_STEPS;
    const UNIT: &str = "ns a piece-step";
    for (name, most) in [("plain", 1.5), ("everything", 4.0)] {
        rows.add(
            format!("{name} sweep, one thread, whole answer"),
            per_step(&format!("{name}, whole")),
            UNIT,
            Aim::AtMost(most),
            "",
        );
        rows.add(
            format!("{name} sweep, one thread, simulation alone"),
            per_step(&format!("{name}, simulation")),
            UNIT,
            Aim::None,
            "",
        );
    }
    let more = "everything, materials and orders";
    rows.add(
        "everything with materials, orders, postage, returns",
        per_step(&format!("{more}, whole")),
        UNIT,
        Aim::None,
        format!("simulation alone {:.2}", per_step(&format!("{more}, simulation"))),
    );
    for (name, _) in Features::ALONE {
        let here = per_step(&format!("alone: {name}, simulation"));
        rows.add(
            format!("plain and {name}, simulation alone"),
            here,
            UNIT,
            Aim::None,
            format!("{:+.2} over plain", here - per_step("plain, simulation")),
        );
    }
    for (name, _) in Features::WITHOUT {
        let here = per_step(&format!("without: {name}, simulation"));
        rows.add(
            format!("everything without {name}, simulation alone"),
            here,
            UNIT,
            Aim::None,
            format!("it costs {:.2}", per_step("everything, simulation") - here),
        );
    }
    beside_others(times, array, rows);
    rows.add(
        "two threads against one",
        times.ratio("1 thread", "2 threads"),
        "times",
        Aim::AtLeast(1.8),
        "20,000 trials",
    );
    rows.add(
        "two threads against one",
        times.ratio("1 thread, long", "2 threads, long"),
        "times",
        Aim::None,
        "200,000 trials",
    );
    for (name, size, steps, trials) in scales() {
        let piece_steps = f64::from(size) * f64::from(steps) * trials as f64;
        rows.add(
            format!("whole answer, {name}"),
            times.median(&name) / piece_steps,
            UNIT,
            Aim::None,
            format!("{:.1} ms", times.median(&name) / 1e6),
        );
    }
}

/// Scalar and array code beside the engine.
fn beside_others(times: &Times, array: Option<&Answers>, rows: &mut Table) {
    let per_step = |name: &str| times.median(name) / PIECE_STEPS;
    let scalar = |what: &str| format!("{:.2} ns a piece-step", per_step(what));
    rows.add(
        "scalar code, small generator: simulation",
        times.ratio("scalar small, simulation", "plain, simulation"),
        "times ours",
        Aim::AtLeast(5.0),
        scalar("scalar small, simulation"),
    );
    rows.add(
        "scalar code, small generator: with quantiles",
        times.ratio("scalar small, whole", "plain, whole"),
        "times ours",
        Aim::AtLeast(5.0),
        format!("{}; ours has more summaries", scalar("scalar small, whole")),
    );
    rows.add(
        "scalar code, default generator: simulation",
        times.ratio("scalar default, simulation", "plain, simulation"),
        "times ours",
        Aim::None,
        scalar("scalar default, simulation"),
    );
    rows.add(
        "scalar code, default generator: with quantiles",
        times.ratio("scalar default, whole", "plain, whole"),
        "times ours",
        Aim::None,
        scalar("scalar default, whole"),
    );
    if let Some(found) = array {
        let versions = format!(
            "{}; Python {}, numpy {}",
            scalar("array, wall"),
            found.array["python"].as_str().unwrap_or("?"),
            found.array["numpy"].as_str().unwrap_or("?")
        );
        rows.add(
            "array code, one thread, against ours on two",
            times.ratio("array, wall", "2 threads"),
            "times ours",
            Aim::AtLeast(15.0),
            versions,
        );
        rows.add(
            "array code, one thread, against ours on one",
            times.ratio("array", "plain, whole"),
            "times ours",
            Aim::None,
            "",
        );
    }
}

/// All three programs compute the same thing: quantiles at 12 pieces differ by sampling error alone.
fn agreement(answers: &Answers, rows: &mut Table) {
    let ours = &answers.engine.sizes[11];
    let engine = [
        ours.rate.p10,
        ours.rate.p50,
        ours.rate.p90,
        ours.floor[0].price.unwrap_or(f64::NAN),
        ours.floor[1].price.unwrap_or(f64::NAN),
        ours.floor[2].price.unwrap_or(f64::NAN),
    ];
    let scalar = [answers.scalar.rate, answers.scalar.floor].concat();
    let array: Vec<f64> = ["rate_at_12", "floor_at_12"]
        .iter()
        .flat_map(|key| (0..3).map(|k| answers.array[*key][k].as_f64().unwrap_or(f64::NAN)))
        .collect();
    let widest = |other: &[f64]| {
        engine
            .iter()
            .zip(other)
            .map(|(a, b)| (a / b - 1.0).abs() * 100.0)
            // A missing figure is no agreement.
            .fold(0.0, |most, x| if x > most || x.is_nan() { x } else { most })
    };
    let both = widest(&scalar).max(widest(&array));
    rows.add(
        "the three answers differ at 12 pieces by",
        both,
        "%",
        Aim::AtMost(0.5),
        "sampling error",
    );
}

/// A work log of 20,000 entries, read and learned from, beside plain least squares on the same rows.
fn log_rows(rounds: usize, rows: &mut Table) {
    let (shop, text) = (logs::scenario(), logs::text());
    let mut times = Times::default();
    let mut differ = 0.0_f64;
    for round in 0..=rounds {
        let (mut log, mut learned, mut lines) = (None, None, BTreeMap::new());
        let reading = time_here(|| log = worklog::read("bench", text.as_bytes()).ok());
        let Some(log) = log else { return };
        let learning = time_here(|| learned = Some(fit(&shop, &log)));
        let squares = time_here(|| lines = black_box(logs::least_squares(&log)));
        for step in learned.iter().flat_map(|learned| &learned.steps) {
            for part in step.parts.iter().filter(|part| part.key == "each") {
                differ = differ.max((part.found.value / lines[step.name.as_str()] - 1.0).abs());
            }
        }
        if round > 0 {
            times.add("read", reading);
            times.add("fit", learning);
            times.add("both", reading + learning);
            times.add("squares", squares);
        }
    }
    let entries = logs::ENTRIES as f64 / 1000.0;
    let what = |what: &str| format!("a work log of {entries} thousand entries, {what}");
    rows.add(
        what("read and learned from"),
        times.median("both") / 1e6,
        "ms",
        Aim::AtMost(1000.0),
        "",
    );
    rows.add(what("read"), times.median("read") / 1e6, "ms", Aim::None, "");
    rows.add(
        what("learned from"),
        times.ratio("fit", "squares"),
        "times least squares",
        Aim::None,
        format!(
            "{:.2} ms; least squares have neither pace nor spread nor intervals, and set no slip apart",
            times.median("fit") / 1e6
        ),
    );
    rows.add(
        what("minutes a piece differ by"),
        100.0 * differ,
        "%",
        Aim::AtMost(2.0),
        "at the worst step",
    );
}

/// The big sweep of the memory aim, in this process.
fn peak() {
    let shop = scenario(1000, 12, Features::PLAIN);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let nanoseconds = time(|| drop(whole(&shop, 50_000, threads)));
    let kib = std::fs::read_to_string("/proc/self/status").ok().and_then(|text| {
        let line = text.lines().find(|line| line.starts_with("VmHWM:"))?.to_owned();
        line.split_whitespace().nth(1)?.parse::<f64>().ok()
    });
    println!("{} {}", nanoseconds / 1e9, kib.unwrap_or(f64::NAN));
}

fn peak_row(rows: &mut Table) {
    let output = std::env::current_exe()
        .and_then(|program| Command::new(program).arg("--peak").output())
        .map(|output| String::from_utf8_lossy(&output.stdout).into_owned())
        .unwrap_or_default();
    let figures: Vec<f64> = output.split_whitespace().filter_map(|x| x.parse().ok()).collect();
    if let [seconds, kib] = figures[..] {
        rows.add(
            "sizes 1..1000, 50,000 trials, 12 steps: peak memory",
            kib / 1024.0,
            "MiB",
            Aim::AtMost(1024.0),
            format!("in {seconds:.2} s, all cores"),
        );
    }
}

/// The program from the command line: start-up, and each shipped scenario's default sweep with its chart.
fn program_rows(rounds: usize, rows: &mut Table) {
    let run = |arguments: &[&str]| {
        Command::new(PROGRAM)
            .args(arguments)
            .stdin(Stdio::null())
            .output()
            .ok()
            .filter(|output| output.status.success())
    };
    if run(&["sweep", "--help"]).is_none_or(|output| output.stdout.is_empty()) {
        eprintln!("The program has no `sweep` yet: command-line rows are left out.");
        return;
    }
    let mut scenarios: Vec<PathBuf> = std::fs::read_dir("scenarios")
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    scenarios.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
    scenarios.sort();
    let Ok(folder) = tempfile::tempdir() else {
        eprintln!("No folder for charts: command-line rows are left out.");
        return;
    };
    let mut times = Times::default();
    let mut cases: Vec<(String, Vec<String>)> = vec![("start-up: --version".into(), vec!["--version".into()])];
    for path in &scenarios {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        for ending in ["svg", "png"] {
            let chart = folder.path().join(format!("{name}.{ending}"));
            let arguments = ["sweep", &path.to_string_lossy(), "--chart", &chart.to_string_lossy()].map(str::to_owned);
            cases.push((format!("command line: {name}, {ending}"), arguments.to_vec()));
        }
    }
    for round in 0..=rounds {
        for (name, arguments) in &cases {
            let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
            let mut done = None;
            let nanoseconds = time(|| done = run(&arguments));
            if done.is_none() {
                eprintln!("{name}: the program failed");
            } else if round > 0 {
                times.add(name, nanoseconds);
            }
        }
    }
    for (name, arguments) in &cases {
        let most = if arguments.len() == 1 { 10.0 } else { 150.0 };
        rows.add(name.clone(), times.median(name) / 1e6, "ms", Aim::AtMost(most), "");
    }
}
