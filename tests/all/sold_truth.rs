//! `sold` against sales logs whose truth is known: how often its 95 % intervals hold it, and whether the best price falls short of what was
//! possible by as much as it says.
//!
//! The logs' generator knows nothing of the program: times of another library (`rand_distr`), written as dates as a maker would. Seeds are
//! fixed. `every_setting` prints the whole table; `intervals_hold` and `the_regret_holds` keep a part of it each time.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use batchwright_core::sales::answer::Sold;
use batchwright_core::sales::count::Between;
use batchwright_core::sales::learn;
use batchwright_core::sales::{self, SalesLog};
use batchwright_core::scenario::{self, Scenario};
use jiff::ToSpan;
use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Exp1, Gamma, Poisson, Weibull};
use rand_xoshiro::Xoshiro256PlusPlus;

const PRICES: [f64; 3] = [20.0, 25.0, 31.0];
/// The file's price, at which buyers are told.
const ASKED: f64 = 25.0;

/// One way buyers may be.
#[derive(Debug, Clone, Copy)]
struct Setting {
    name: &'static str,
    elasticity: f64,
    /// Below 1 an offer sells the less the older it is.
    shape: f64,
    /// Days in which a piece at [`ASKED`] would on average sell at a shape of 1.
    days: f64,
    /// Days after which what is unsold is taken down.
    patience: f64,
    /// Rates of outlets, as many times the first.
    outlets: &'static [f64],
    kind: Kind,
    /// Buyers who ask, for each that buys.
    enquiries: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    /// One piece at a time.
    Single,
    /// So many pieces of one kind at a time.
    Several(u32),
    /// Selling days, each with a factor of this variance, this many pieces brought.
    Days(f64, u32),
}

const PLAIN: Setting = Setting {
    name: "even",
    elasticity: 2.0,
    shape: 1.0,
    days: 20.0,
    patience: 60.0,
    outlets: &[1.0],
    kind: Kind::Single,
    enquiries: 3.0,
};

const SETTINGS: [Setting; 9] = [
    PLAIN,
    Setting {
        name: "inelastic",
        elasticity: 0.5,
        ..PLAIN
    },
    Setting {
        name: "taken down early",
        patience: 15.0,
        ..PLAIN
    },
    Setting {
        name: "slower with age",
        shape: 0.7,
        ..PLAIN
    },
    Setting {
        name: "faster with age",
        shape: 1.5,
        ..PLAIN
    },
    Setting {
        name: "two outlets",
        outlets: &[1.0, 0.4],
        ..PLAIN
    },
    Setting {
        name: "several at a time",
        kind: Kind::Several(4),
        ..PLAIN
    },
    Setting {
        name: "selling days",
        days: 0.25,
        kind: Kind::Days(0.0, 12),
        ..PLAIN
    },
    Setting {
        name: "selling days with weather",
        days: 0.25,
        kind: Kind::Days(0.3, 40),
        ..PLAIN
    },
];

fn first_day() -> Date {
    jiff::civil::date(2027, 1, 4)
}

fn on(day: f64) -> Date {
    first_day() + (day as i64).days()
}

/// A log with so many sales, or one more of the last offer's. One arm a way of selling makes it long.
fn simulated(setting: &Setting, sales: u32, random: &mut Xoshiro256PlusPlus) -> String {
    let mut text = "listed,price,pieces,left,sold,until,enquiries,outlet\n".to_owned();
    let mut clocks = vec![0.0_f64; setting.outlets.len()];
    let (mut sold, mut turn) = (0, 0);
    while sold < sales {
        let price = PRICES[turn / setting.outlets.len() % PRICES.len()];
        let outlet = turn % setting.outlets.len();
        turn += 1;
        let factor = setting.outlets[outlet] * (price / ASKED).powf(-setting.elasticity);
        let name = if setting.outlets.len() > 1 {
            format!("place {outlet}")
        } else {
            String::new()
        };
        let start = clocks[outlet];
        let asked = |n: f64, random: &mut Xoshiro256PlusPlus| {
            if n > 0.0 {
                Poisson::new(n).unwrap().sample(random)
            } else {
                0.0
            }
        };
        match setting.kind {
            Kind::Days(variance, brought) => {
                let weather = if variance > 0.0 {
                    Gamma::new(1.0 / variance, variance).unwrap().sample(random)
                } else {
                    1.0
                };
                let wanted = Poisson::new(factor / setting.days * weather).unwrap().sample(random) as u32;
                let went = wanted.min(brought);
                let day = on(start);
                clocks[outlet] += 7.0;
                sold += went;
                let (end, left) = if went == brought {
                    (format!("{day},"), String::new())
                } else {
                    (format!(",{day}"), (brought - went).to_string())
                };
                // Enquiries come like buyers, so many times as often.
                let enquiries = asked(setting.enquiries * factor / setting.days * weather, random);
                text += &format!("{day},{price},{brought},{left},{end},{enquiries},{name}\n");
            }
            Kind::Single | Kind::Several(_) => {
                let pieces = if let Kind::Several(pieces) = setting.kind {
                    pieces
                } else {
                    1
                };
                // Buyers of a process whose mean number by t is factor (t / days)^shape: of one piece that is Weibull's time.
                let scale = setting.days * factor.powf(-1.0 / setting.shape);
                let mut reached = 0.0_f64;
                let mut went = 0;
                let mut time = 0.0;
                for _ in 0..pieces {
                    if pieces == 1 {
                        time = Weibull::new(scale, setting.shape).unwrap().sample(random);
                    } else {
                        let more: f64 = Exp1.sample(random);
                        reached += more;
                        time = scale * reached.powf(1.0 / setting.shape);
                    }
                    if time > setting.patience {
                        break;
                    }
                    went += 1;
                }
                let (from, all) = (on(start), went == pieces);
                let end = start + if all { time } else { setting.patience };
                clocks[outlet] = end + random.random_range(0.0..4.0);
                sold += went;
                let day = on(end);
                let (end, left) = if all {
                    (format!("{day},"), String::new())
                } else {
                    (format!(",{day}"), (pieces - went).to_string())
                };
                let open = if all { time } else { setting.patience };
                let enquiries = asked(
                    setting.enquiries * factor * (open / setting.days).powf(setting.shape),
                    random,
                );
                text += &format!("{from},{price},{pieces},{left},{end},{enquiries},{name}\n");
            }
        }
    }
    text
}

/// A piece costs 10 in material and half an hour at 8.
fn file() -> Scenario {
    let text = format!(
        "currency = 'EUR'\ntarget = 8\nbatch.sizes = [1, 10]\nsale.price = {ASKED}\n[[step]]\nname = 'make'\neach = '30 min'\n\
         [[material]]\nname = 'wood'\nper_piece = 1\nprice = 6\n[steady]\nper_week = 1\n"
    );
    scenario::read("file", &text, &[]).unwrap()
}

fn learned(scenario: &Scenario, text: &str) -> (SalesLog, Sold) {
    let log = sales::read("log", text.as_bytes()).unwrap();
    let asked = learn::Asked {
        looked: log.last_day().unwrap(),
        enquiry_minutes: None,
        season_days: None,
    };
    let sold = learn::learn("log", scenario, &log, &asked);
    (log, sold)
}

/// What was hit, of how many.
#[derive(Debug, Default, Clone, Copy)]
struct Hits {
    held: u32,
    of: u32,
}

impl Hits {
    fn take(&mut self, interval: Option<(Option<f64>, Option<f64>)>, truth: f64) {
        let Some((low, high)) = interval else { return };
        self.of += 1;
        self.held += u32::from(low.is_none_or(|low| low <= truth) && high.is_none_or(|high| truth <= high));
    }

    fn share(self) -> f64 {
        f64::from(self.held) / f64::from(self.of.max(1))
    }
}

const FIGURES: [&str; 6] = [
    "elasticity",
    "buyers a week",
    "half sold",
    "shape",
    "outlets",
    "enquiries",
];

/// How often each figure's interval holds the truth.
fn coverage(setting: &Setting, sales: u32, logs: u64, seed: u64) -> [Hits; FIGURES.len()] {
    let scenario = file();
    let mut hits = [Hits::default(); FIGURES.len()];
    for k in 0..logs {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed + 1_000_003 * k);
        let (log, sold) = learned(&scenario, &simulated(setting, sales, &mut random));
        let between = |b: Option<Between>| b.map(|b| (b.low, b.high));
        hits[0].take(sold.elasticity.map(|e| (e.low, e.high)), setting.elasticity);
        let looked = log.last_day().unwrap();
        let days: Vec<f64> = log.offers.iter().map(|o| o.days(looked)).collect();
        // Over an offer's first days, as many as the log's have on average.
        let span = days.iter().sum::<f64>() / days.len() as f64;
        let shelves: f64 = sold.buyers.map_or(0.0, |b| b.open_at_once);
        let by_outlet = |k: usize| {
            let name = if setting.outlets.len() > 1 {
                format!("place {k}")
            } else {
                String::new()
            };
            let own = log
                .offers
                .iter()
                .zip(&days)
                .filter(|(o, _)| o.outlet == name)
                .map(|(_, d)| d)
                .sum::<f64>();
            own / days.iter().sum::<f64>()
        };
        let level: f64 = (0..setting.outlets.len())
            .map(|k| by_outlet(k) * setting.outlets[k])
            .sum();
        let by_span = level * (span / setting.days).powf(setting.shape);
        hits[1].take(between(sold.buyers.map(|b| b.week)), 7.0 * shelves * by_span / span);
        let half = setting.days * (std::f64::consts::LN_2 / level).powf(1.0 / setting.shape);
        // A selling day is no time of waiting.
        if !matches!(setting.kind, Kind::Days(..)) {
            hits[2].take(between(sold.buyers.map(|b| b.half_sold_days)), half);
            hits[3].take(between(sold.shape), setting.shape);
        }
        for (k, outlet) in sold.outlets.iter().enumerate().filter(|(_, o)| o.times.is_some()) {
            let place = |name: &str| name.trim_start_matches("place ").parse::<usize>().unwrap();
            let (first, own) = (place(&sold.outlets[0].name), place(&sold.outlets[k].name));
            hits[4].take(between(outlet.times), setting.outlets[own] / setting.outlets[first]);
        }
        if !matches!(setting.kind, Kind::Days(..)) {
            hits[5].take(
                between(sold.counted.enquiries.and_then(|e| e.a_sale)),
                setting.enquiries,
            );
        }
    }
    hits
}

/// A coverage of this is refuted where so few, or so many, were held that chance gives it less than one time in ten thousand.
fn refuted(hits: Hits, least: f64, most: f64) -> bool {
    let off = |p: f64| 3.72 * (p * (1.0 - p) / f64::from(hits.of)).sqrt();
    hits.share() < least - off(least) || hits.share() > most + off(most)
}

/// At 5 sales, and where offers are few, intervals are wider than they need be, as what they cannot tell must be in them; exact ones of counts are
/// so by their nature. Nowhere may they be narrower.
#[test]
fn intervals_hold() {
    let mut wrong = Vec::new();
    for setting in &SETTINGS {
        for sales in [5, 15, 50] {
            let hits = coverage(setting, sales, 120, 77);
            for (figure, hits) in FIGURES.iter().zip(hits).filter(|(_, hits)| hits.of > 0) {
                let most = if sales > 5 && setting.kind == Kind::Single && *figure != "enquiries" {
                    0.98
                } else {
                    1.0
                };
                if refuted(hits, 0.92, most) {
                    wrong.push(format!(
                        "{}, {sales} sales, {figure}: {:.3} of {}",
                        setting.name,
                        hits.share(),
                        hits.of
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Share held of each figure, of those of 2,000 logs that have it: `cargo test --test all sold_truth::every_setting -- --ignored --nocapture`.
#[test]
#[ignore = "takes minutes; prints a table"]
#[allow(clippy::print_stdout, reason = "it prints a table")]
fn every_setting() {
    let logs: u64 = std::env::var("LOGS").ok().and_then(|n| n.parse().ok()).unwrap_or(2_000);
    println!(
        "{:28}{:>6}{}",
        "setting",
        "sales",
        FIGURES.map(|f| format!("{f:>15}")).join("")
    );
    let only = std::env::var("ONLY").unwrap_or_default();
    for setting in SETTINGS.iter().filter(|setting| setting.name.contains(&only)) {
        for sales in [5, 15, 50] {
            let hits = coverage(setting, sales, logs, 5);
            let cells = hits.map(|h| {
                let told = if h.of > 0 {
                    format!("{:.3} of {}", h.share(), h.of)
                } else {
                    String::new()
                };
                format!("{told:>15}")
            });
            println!("{:28}{sales:>6}{}", setting.name, cells.join(""));
        }
    }
}

/// Truths drawn anew for each log, elasticities from 0 to 8: what the best price falls short by, over what it says.
fn regrets(sales: u32, logs: u64, seed: u64) -> (Vec<f64>, Hits) {
    let scenario = file();
    let (mut off, mut within) = (Vec::new(), Hits::default());
    for k in 0..logs {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed + 1_000_003 * k);
        let setting = Setting {
            elasticity: random.random_range(0.0..8.0),
            days: 20.0 * random.random_range(-0.7_f64..0.7).exp(),
            ..PLAIN
        };
        let (_, sold) = learned(&scenario, &simulated(&setting, sales, &mut random));
        let Some(best) = sold.best else { continue };
        let a_week = 7.0 / setting.days * sold.buyers.unwrap().open_at_once;
        // Each costs 10: 6 of wood and half an hour at 8.
        let leaves = |p: f64| a_week * (p / ASKED).powf(-setting.elasticity) * (p - 10.0);
        let most = (0..=2_000)
            .map(|k| leaves(best.from * (best.to / best.from).powf(f64::from(k) / 2_000.0)))
            .fold(f64::MIN, f64::max);
        let short = most - leaves(best.price);
        off.push(short - best.regret);
        within.of += 1;
        within.held += u32::from(short <= best.regret_p90 + 1e-3 * most);
    }
    (off, within)
}

/// One false alarm in ten thousand.
#[test]
fn the_regret_holds() {
    for (sales, logs) in [(5, 250), (15, 250), (50, 120)] {
        let (off, within) = regrets(sales, logs, 99);
        let n = off.len() as f64;
        let mean = off.iter().sum::<f64>() / n;
        let sd = (off.iter().map(|o| (o - mean) * (o - mean)).sum::<f64>() / (n - 1.0)).sqrt();
        assert!(
            mean.abs() <= 3.9 * sd / n.sqrt(),
            "{sales} sales: off by {mean} on average, standard error {}",
            sd / n.sqrt()
        );
        // Nine times in ten it falls short by no more than is said: half a point of 80 to 98 % is the generator's other law of levels.
        assert!(
            !refuted(within, 0.86, 0.97),
            "{sales} sales: {:.3} of {}",
            within.share(),
            within.of
        );
    }
}
