//! Answers in closed form for the tests of this room: hours are mean x (1 + spread x z), nothing is simulated.

use crate::questions::sweep::*;
use crate::stats::{Mean, Middle, Share, Summary};
use proptest::prelude::*;

/// A workshop small enough to compute by hand; times in minutes, money in euros.
#[derive(Debug, Clone)]
pub(crate) struct Shop {
    pub(crate) title: &'static str,
    pub(crate) once: f64,
    pub(crate) setup: f64,
    pub(crate) room: u32,
    pub(crate) each: f64,
    pub(crate) redo: f64,
    pub(crate) per_order: f64,
    pub(crate) material: f64,
    pub(crate) price: f64,
    pub(crate) target: f64,
    /// Spread of a trial's hours that all pieces share, and of a single piece.
    pub(crate) spread: (f64, f64),
    /// Up to this size, one trial in ten sells nothing.
    pub(crate) hopeless_to: u32,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            title: "Oak peg rail, five pegs",
            once: 0.0,
            setup: 60.0,
            room: u32::MAX,
            each: 15.0,
            redo: 0.0,
            per_order: 20.0,
            material: 5.0,
            price: 50.0,
            target: 40.0,
            spread: (0.0, 0.0),
            hopeless_to: 0,
        }
    }
}

/// Standard normal quantiles of 10, 20, 50, 80 and 90 %.
const Z: [(f64, f64); 5] = [
    (0.1, -1.281_552),
    (0.2, -0.841_621),
    (0.5, 0.0),
    (0.8, 0.841_621),
    (0.9, 1.281_552),
];

impl Shop {
    pub(crate) fn sweep(&self, sizes: impl IntoIterator<Item = u32>) -> Sweep {
        let sizes: Vec<SizeAnswer> = sizes.into_iter().map(|n| self.size(n)).collect();
        let rate = |minutes: f64| (self.price - self.material) / minutes * 60.0;
        Sweep {
            title: self.title.to_owned(),
            currency: "EUR".to_owned(),
            price: self.price,
            target: self.target,
            confidence: 0.8,
            trials: 50_000,
            seed: 1,
            version: "0.1.0".to_owned(),
            ceiling: rate(
                self.each
                    + self.redo
                    + self.per_order
                    + if self.room == u32::MAX {
                        0.0
                    } else {
                        self.setup / f64::from(self.room)
                    },
            ),
            slow_ceiling: f64::INFINITY,
            ceiling_at: None,
            ceiling_is_of_left_over: false,
            without_days: None,
            buyers_kept: false,
            worse_when_dearer: None,
            has_sets: false,
            has_singles: false,
            made_to_order: false,
            sells: Sells::All,
            first_paying_size: sizes.iter().find(|s| s.reach.share >= 0.8).map(|s| s.size),
            advised_size: sizes.iter().find(|s| s.reach.share >= 0.8).map(|s| s.size),
            level_size: sizes.last().map_or(1, |s| s.size),
            // The more are made at a time, the nearer to paying.
            nearest_size: sizes.last().map(|s| s.size),
            uneven: Vec::new(),
            within: None,
            sizes,
        }
    }

    /// Every figure of an answer, which makes it long.
    fn size(&self, n: u32) -> SizeAnswer {
        let pieces = f64::from(n);
        let rounds = f64::from(n.div_ceil(self.room));
        let parts = Parts {
            once: self.once / pieces / 60.0,
            setup: self.setup * rounds / pieces / 60.0,
            each: self.each / 60.0,
            redo: self.redo / 60.0,
            per_order: self.per_order / 60.0,
            selling_days: 0.0,
        };
        let per_piece = parts.once + parts.setup + parts.each + parts.redo + parts.per_order;
        let sd = (self.spread.0.powi(2) + self.spread.1.powi(2) / pieces).sqrt();
        let slow = |z: f64| per_piece * (1.0 + sd * z).max(0.2);
        let hopeless = n <= self.hopeless_to;
        let sold = if hopeless { 0.9 * pieces } else { pieces };
        let earned = self.price - self.material;
        let rate = |z: f64| earned / slow(-z);
        let floor = |confidence: f64, z: f64| {
            let price = (!(hopeless && confidence >= 0.9)).then(|| self.material + self.target * slow(z));
            Floor {
                confidence,
                price,
                low: price.map(|p| p * 0.99),
                high: price.map(|p| p * 1.01),
            }
        };
        // Share of trials fast enough: by the logistic approximation of the normal distribution, good enough for a picture.
        let slack = earned / self.target / per_piece - 1.0;
        let share = if sd > 0.0 {
            1.0 / (1.0 + (-1.702 * slack / sd).exp())
        } else {
            f64::from(u8::from(slack >= 0.0))
        };
        let middle = |of: &dyn Fn(f64) -> f64| {
            let mut values = [of(Z[0].1), of(0.0), of(Z[4].1)];
            values.sort_by(f64::total_cmp);
            values
        };
        let summary = |[p10, p50, p90]: [f64; 3]| Summary {
            mean: p50,
            se: (p90 - p10) / 500.0,
            p10,
            p50,
            p90,
        };
        let [r10, r50, r90] = middle(&rate);
        let [h10, h50, h90] = middle(&slow);
        let long_run = earned / (per_piece * (1.0 + 0.1 * sd));
        SizeAnswer {
            size: n,
            good: Mean { mean: sold, se: 0.0 },
            sold: Mean { mean: sold, se: 0.0 },
            seconds: None,
            helper_hours: None,
            hours: summary([h10 * pieces, h50 * pieces, h90 * pieces]),
            hours_per_piece: Middle {
                mean: per_piece,
                p10: h10,
                p50: h50,
                p90: h90,
            },
            hours_parts: parts,
            setup_share: parts.setup / per_piece,
            profit: summary([earned * pieces; 3]),
            rate: Rate {
                mean: r50,
                p10: r10,
                p50: r50,
                p90: r90,
                long_run,
                long_run_se: 0.1,
                long_run_paid: long_run,
            },
            reach: Share {
                share,
                low: (share - 0.01).max(0.0),
                high: (share + 0.01).min(1.0),
            },
            floor: vec![floor(0.5, Z[2].1), floor(0.8, Z[3].1), floor(0.9, Z[4].1)],
            floor_asked: floor(0.8, Z[3].1),
            floor_long_run: Some(self.material + self.target * per_piece),
            money: Money {
                income: self.price * pieces,
                materials: self.material * pieces,
                materials_paid: self.material * pieces,
                fees: 0.0,
                post: 0.0,
                shop: 0.0,
                clearance: 0.0,
                holding: 0.0,
                selling_days: 0.0,
                wages: 0.0,
            },
            sold_out: Share {
                share: 1.0,
                low: 1.0,
                high: 1.0,
            },
            selling_days: Vec::new(),
            channels: Vec::new(),
        }
    }
}

/// Shops that look as different as they can, with a name for their pictures; a list, however long.
pub(crate) fn gallery() -> Vec<(&'static str, Sweep)> {
    let rail = Shop {
        price: 58.0,
        target: 32.0,
        setup: 95.0,
        each: 34.0,
        redo: 3.0,
        per_order: 24.0,
        material: 14.0,
        spread: (0.12, 0.3),
        ..Shop::default()
    };
    let card = Shop {
        title: "Letterpress card",
        once: 240.0,
        setup: 150.0,
        each: 1.1,
        redo: 0.1,
        per_order: 1.0,
        material: 0.45,
        price: 2.8,
        target: 35.0,
        spread: (0.14, 0.4),
        ..Shop::default()
    };
    let mug = Shop {
        title: "Stoneware mug",
        setup: 75.0,
        room: 24,
        each: 21.0,
        redo: 1.5,
        per_order: 9.0,
        material: 3.2,
        price: 27.0,
        target: 34.0,
        spread: (0.1, 0.25),
        ..Shop::default()
    };
    let table = Shop {
        title: "Ash dining table, seats eight",
        once: 420.0,
        setup: 540.0,
        each: 2700.0,
        redo: 110.0,
        per_order: 240.0,
        material: 620.0,
        price: 2900.0,
        target: 38.0,
        spread: (0.16, 0.12),
        ..Shop::default()
    };
    let wild = Shop {
        title: "Trial piece",
        once: 6000.0,
        ..rail.clone()
    };
    let poor = Shop {
        price: 12.0,
        ..rail.clone()
    };
    let gift = Shop {
        price: 20.0,
        material: 60.0,
        ..rail.clone()
    };
    vec![
        ("rail", rail.sweep(1..=40)),
        ("card", card.sweep(1..=1000)),
        ("mug", mug.sweep(1..=96)),
        ("mug_20", mug.sweep(1..=20)),
        ("table", table.sweep(1..=6)),
        ("certain", Shop::default().sweep(1..=40)),
        ("wild", wild.sweep(1..=40)),
        ("poor", poor.sweep(1..=40)),
        ("loss", gift.sweep(1..=40)),
        ("single", rail.sweep([12])),
        ("single_certain", Shop::default().sweep([1])),
        ("two", rail.sweep([1, 12])),
        ("list", rail.sweep([1, 2, 4, 8, 16, 32, 64])),
        (
            "hopeless",
            Shop {
                hopeless_to: 4,
                ..rail.clone()
            }
            .sweep(1..=40),
        ),
        (
            "hopeless_all",
            Shop {
                hopeless_to: 40,
                ..rail.clone()
            }
            .sweep(1..=40),
        ),
    ]
}

/// Answers of any shape, sensible or not: what is drawn must never panic.
pub(crate) fn any_sweep() -> impl Strategy<Value = Sweep> {
    let sizes = prop::collection::btree_set(prop_oneof![3 => 1u32..60, 1 => 1u32..2000, 1 => any::<u32>()], 1..30);
    (
        sizes,
        prop::collection::vec(any_figure(), 24 * 8),
        any_figure(),
        any_figure(),
        0.01..0.99,
        any::<bool>(),
        ".{0,40}",
    )
        .prop_map(|(sizes, figures, price, target, confidence, pays, title)| {
            let first = *sizes.iter().next().unwrap_or(&1);
            let mut n = 0;
            let mut next = || {
                n += 1;
                figures[n % figures.len()]
            };
            let mut answer = Shop::default().sweep(sizes);
            (answer.title, answer.price, answer.target, answer.confidence) = (title, price, target, confidence);
            (answer.ceiling, answer.slow_ceiling) = (next(), next());
            answer.buyers_kept = pays;
            answer.first_paying_size = pays.then_some(first);
            answer.advised_size = answer.first_paying_size;
            for s in &mut answer.sizes {
                s.rate = Rate {
                    mean: next(),
                    p10: next(),
                    p50: next(),
                    p90: next(),
                    long_run: next(),
                    long_run_se: next(),
                    long_run_paid: next(),
                };
                s.reach.share = next();
                s.hours_parts = Parts {
                    once: next(),
                    setup: next(),
                    each: next(),
                    redo: next(),
                    per_order: next(),
                    selling_days: 0.0,
                };
                for floor in s.floor.iter_mut().chain([&mut s.floor_asked]) {
                    floor.price = Some(next()).filter(|v| *v > -1e6);
                }
            }
            answer
        })
}

/// Mostly figures a workshop has, at times none that anyone has.
pub(crate) fn any_figure() -> impl Strategy<Value = f64> {
    prop_oneof![12 => -50.0..150.0, 3 => Just(0.0), 2 => -1e4..1e7, 1 => any::<f64>(), 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)]
}

/// No line of it is wider than so many columns.
pub(crate) fn no_wider(text: &str, columns: usize) {
    for line in text.lines() {
        assert!(line.chars().count() <= columns, "{columns}: {line}");
    }
}

/// A chart at the widths people have, with both kinds of signs: no line is wider, and without box-drawing all is ASCII. The
/// charts that there are, as text.
pub(crate) fn fitting(chart: impl Fn(&super::text::Look) -> Option<String>) -> Vec<String> {
    let mut found = Vec::new();
    for columns in [60, 80, 120] {
        for unicode in [false, true] {
            let Some(text) = chart(&look(columns, unicode)) else {
                continue;
            };
            no_wider(&text, columns);
            assert!(unicode || text.is_ascii(), "{text}");
            found.push(text);
        }
    }
    found
}

/// An answer's small chart, whatever room there is.
pub(crate) fn text_chart(answer: &dyn super::Render, look: &super::text::Look) -> Option<String> {
    super::text_chart::text(&answer.plot()?, look.line(), look.unicode)
}

pub(crate) fn look(columns: usize, unicode: bool) -> super::text::Look {
    super::text::Look {
        columns,
        unicode,
        terminal: true,
        ..super::text::Look::page(false)
    }
}

/// The line that begins with these words, as signs from its upright on; `None` where there is none.
pub(crate) fn row_of(chart: &str, name: &str) -> Option<Vec<char>> {
    let line = chart.lines().find(|line| line.trim_start().starts_with(name))?;
    Some(line.chars().skip_while(|c| *c != '│').skip(1).collect())
}

pub(crate) const fn mean(mean: f64) -> Mean {
    Mean { mean, se: 0.0 }
}

pub(crate) const fn share(share: f64) -> Share {
    Share {
        share,
        low: share,
        high: share,
    }
}

/// The chart that begins with these words stands on the page where there is room, and not where there is none.
pub(crate) fn on_its_page(answer: &dyn super::Render, begins: &str) {
    let has = |columns| {
        answer
            .text(&look(columns, true))
            .lines()
            .any(|line| line.starts_with(begins))
    };
    assert!(has(60), "no chart: {begins}");
    assert!(!has(59), "a chart without room: {begins}");
}
