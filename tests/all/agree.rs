//! Questions against each other: what two of them say of the same batch is the same, over random files with every key.
//!
//! All draw the same days (a seed, a trial, a name), so that most of it holds to rounding and not only within errors; where means are
//! held to the model, the bound is a standard error and a stated chance of a false alarm. A few files go with every run of the tests;
//! `BATCHWRIGHT_AGREE=2000 cargo test --test all agree::` tries so many.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

mod alone;

use crate::bounds::{json, settings};
use crate::model::drawn::{Made, make};
use batchwright::render::format::enough;
use batchwright_core::laws::reaching;
use batchwright_core::model::{self, WEEKS_PER_YEAR};
use batchwright_core::questions::sweep::{self, Floor, SizeAnswer, Sweep};
use batchwright_core::questions::{calendar, compare, drivers, floor, jig, offer, season, steady, stress, vary};
use batchwright_core::scenario::{ASKED_PRICE, Scenario, Season, Spread, coins, read};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

/// The size that questions about one size are asked about.
const SIZE: u32 = 7;
/// Files that go with every run of the tests.
const FEW: u64 = 16;

/// A file, what it was read as, and what `sweep` says of it.
struct Asked {
    number: u64,
    made: Made,
    shop: Scenario,
    trials: u64,
    sweep: Sweep,
}

impl Asked {
    fn new(number: u64) -> Self {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(number);
        let numbers: Vec<f64> = (0..400).map(|_| random.random_range(0.0..1.0)).collect();
        let mut made = make(&numbers, number % 4 == 3);
        // Any number of trials and any confidence: where a quantile lies among so many is what questions could disagree about.
        let trials = random.random_range(300..500);
        let confidence = format!("{} %", f64::from(random.random_range(500..980)) / 10.0);
        made.set.push(("confidence".to_owned(), confidence));
        let shop =
            read("random.toml", &made.text, &made.set).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
        let sweep = sweep::run(&shop, &settings(trials), &|_| ());
        Self {
            number,
            made,
            shop,
            trials,
            sweep,
        }
    }

    /// What `sweep` says of another file in as many trials.
    fn swept(&self, shop: &Scenario) -> Sweep {
        sweep::run(shop, &settings(self.trials), &|_| ())
    }

    fn of_size(&self, shop: &Scenario, size: u32) -> SizeAnswer {
        let mut alone = shop.clone();
        alone.batch.sizes = vec![size];
        self.swept(&alone).sizes.remove(0)
    }

    /// What `sweep` says of batches of `size`.
    fn at(&self, size: u32) -> &SizeAnswer {
        self.sweep.sizes.iter().find(|at| at.size == size).unwrap()
    }

    #[track_caller]
    fn holds(&self, so: bool, what: &str) {
        assert!(so, "file {}: {what}\n{}", self.number, self.made.text);
    }

    /// Equal but for rounding of sums of about `scale`.
    #[track_caller]
    fn same(&self, one: f64, other: f64, scale: f64, what: &str) {
        let so = one == other || (one - other).abs() <= 1e-9 * scale.abs().max(other.abs());
        self.holds(so, &format!("{what}: {one} here and {other} there"));
    }

    #[track_caller]
    fn alike(&self, one: &impl serde::Serialize, other: &impl serde::Serialize, what: &str) {
        let (one, other) = (json(one), json(other));
        self.holds(one == other, &format!("{what}: {one} here and {other} there"));
    }

    #[track_caller]
    fn same_floor(&self, one: &Floor, other: &Floor, what: &str) {
        self.holds(one.confidence == other.confidence, what);
        for (one, other) in [(one.price, other.price), (one.low, other.low), (one.high, other.high)] {
            match (one, other) {
                (Some(one), Some(other)) => self.same(one, other, self.shop.sale.price, what),
                _ => self.holds(one == other, &format!("{what}: {one:?} here and {other:?} there")),
            }
        }
    }

    /// The same file with another asked price and the buyers that it has.
    fn at_price(&self, price: f64) -> Scenario {
        let set: Vec<_> = self
            .made
            .set
            .iter()
            .filter(|(key, _)| key != ASKED_PRICE)
            .cloned()
            .collect();
        let set = [set, vec![(ASKED_PRICE.to_owned(), format!("{price}"))]].concat();
        read("random.toml", &self.made.text, &set).unwrap()
    }
}

/// Money that goes through a batch: what sums of it round by.
fn turnover(at: &SizeAnswer) -> f64 {
    let m = at.money;
    m.income + m.materials + m.fees + m.post + m.shop + m.holding + m.clearance + m.selling_days + m.wages
}

fn each(check: impl Fn(&Asked)) {
    let files = std::env::var("BATCHWRIGHT_AGREE").map_or(FEW, |many| many.parse().unwrap());
    (0..files).for_each(|number| check(&Asked::new(number)));
}

/// Floors, chances and long-run floors are `sweep`'s; the floor is the lowest price that pays; at the long-run floor an hour earns the target.
#[test]
fn floors_are_the_sweeps() {
    each(|asked| {
        let floors = floor::run(&asked.shop, &settings(asked.trials), &|_| ());
        for (of, at) in floors.sizes.iter().zip(&asked.sweep.sizes) {
            let what = |what: &str| format!("{what} of {}", at.size);
            asked.same_floor(&of.floor_asked, &at.floor_asked, &what("asked floor"));
            for (one, other) in of.floor.iter().zip(&at.floor) {
                asked.same_floor(one, other, &what("floor"));
            }
            asked.alike(&of.reach, &at.reach, &what("chance"));
            match (of.long_run.price, at.floor_long_run) {
                (Some(one), Some(other)) => asked.same(one, other, asked.shop.sale.price, &what("long-run floor")),
                (one, other) => asked.holds(one == other, &what("long-run floor")),
            }
        }
        let own = floors.own_buyers.and_then(|own| Some((own.price?, own.up_to)));
        match own {
            Some((price, up_to)) => {
                for price in [Some(price), up_to].into_iter().flatten() {
                    let pays = asked
                        .of_size(&asked.at_price(price), floors.about)
                        .pays(asked.shop.confidence);
                    asked.holds(pays, &format!("{price} pays at {}", floors.about));
                }
            }
            None => asked.holds(
                floors.own_buyers.is_some() == asked.shop.elastic_season().is_some(),
                "buyers",
            ),
        }
        // Where all orders of a batch come back and their fees are lost, a dearer piece only loses more. Such a batch has no lowest price that
        // pays, but may pay by what is left over: it counts as paying at any price, or at none, by how it fares at the asked one.
        let turns = asked
            .shop
            .sales()
            .iter()
            .any(|sale| sale.returned > 0.0 && sale.fee > 0.0)
            && (asked.shop.season.is_some() || asked.shop.comes_back());
        if asked.shop.elastic_season().is_none() && !turns {
            paid_at_the_floor(asked);
        }
    });
}

fn paid_at_the_floor(asked: &Asked) {
    let priced = |price: f64| vary::priced(&asked.shop, price / asked.shop.sale.price);
    for at in &asked.sweep.sizes {
        let what = format!("a batch of {} at its floor", at.size);
        if let Some(price) = at.floor_asked.price.filter(|price| *price > 1e-3) {
            let (n, confidence) = (asked.trials as usize, asked.shop.confidence);
            let there = asked.of_size(&priced(price * (1.0 + 1e-9)), at.size);
            let under = asked.of_size(&priced(price * (1.0 - 1e-9)), at.size);
            // Where the quantile lies between two trials, a price between them reaches as many as a hair less.
            let fewest = reaching(n, confidence) as f64;
            asked.holds(
                there.pays(confidence) && (under.reach.share * n as f64).round() <= fewest,
                &format!("{what} of {price}"),
            );
            // A maker who asks what was told must not be told that it is too little.
            let told = enough(price, &asked.shop.currency);
            let pays = asked.of_size(&priced(told), at.size).pays(confidence);
            asked.holds(pays, &format!("{what} of {price}, told as {told}"));
        }
        if let Some(price) = at.floor_long_run.filter(|price| *price > 1e-3) {
            let there = asked.of_size(&priced(price), at.size);
            let scale = turnover(&there) / there.hours.mean;
            asked.same(there.rate.long_run, asked.shop.target_per_hour, scale, &what);
        }
    }
}

/// Orders without spares are batches sold as one, through a channel and past all of them; an offer asks no less than their floor, or the price that pays anyway.
#[test]
fn orders_and_offers_are_the_sweeps() {
    each(|asked| {
        let shop = &asked.shop;
        if floor::hardly_filled(&vary::one_order(shop, 1)) {
            return;
        }
        for channel in [None].into_iter().chain((0..shop.channels.len()).map(Some)) {
            let quoted = floor::orders(shop, channel, &[1, SIZE], &settings(asked.trials), &|_| ());
            for of in &quoted.sizes {
                let order = match channel {
                    None => vary::one_order(shop, of.size),
                    Some(k) => vary::one_order_through(&vary::through(shop, k), of.size),
                };
                let at = asked.of_size(&order, of.size);
                if of.spares.unwrap_or(0) == 0 {
                    asked.same_floor(&of.floor_asked, &at.floor_asked, "floor of an order");
                    asked.alike(&of.reach, &at.reach, "chance of an order");
                } else if let Some(spares) = quoted.spares.as_ref().filter(|spares| spares.order == of.size) {
                    // Without spares it is the sweep's; quoted is what the advised number brings it to.
                    asked.same_floor(&spares.choices[0].floor_asked, &at.floor_asked, "floor without spares");
                    let with = spares
                        .choices
                        .iter()
                        .find(|choice| Some(choice.spares) == of.spares)
                        .unwrap();
                    asked.same_floor(&of.floor_asked, &with.floor_asked, "floor with spares");
                    asked.holds(
                        of.floor_asked.price <= at.floor_asked.price.or(Some(f64::INFINITY)),
                        "spares lower the price",
                    );
                }
            }
            let question = offer::Question {
                orders: vec![1, SIZE],
                channel,
                from: calendar::Day("2027-01-04".parse().unwrap()),
            };
            let Ok(offer) = offer::run(shop, &question, &settings(asked.trials), &|_| ()) else {
                continue;
            };
            for (line, of) in offer.lines.iter().zip(&quoted.sizes) {
                let price = channel.map_or(shop.sale.price, |k| vary::through(shop, k).sale.price);
                let coins = coins(&shop.currency);
                let price = (price * coins).round() / coins;
                let least = of.floor_asked.price.unwrap();
                asked.holds(
                    line.each >= least * (1.0 - 1e-9) || (line.each - price).abs() < 1e-9,
                    &format!("{} each for {} where the floor is {least}", line.each, line.pieces),
                );
                asked.same(line.in_all, line.each * f64::from(line.pieces), 1.0, "an order in all");
            }
        }
    });
}

/// A season's batches are `sweep`'s, and what it says of another price is what `sweep --price` says.
#[test]
fn seasons_are_the_sweeps() {
    each(|asked| {
        let Some(Season { elasticity, .. }) = asked.shop.season else {
            return;
        };
        let season = season::run(&asked.shop, &settings(asked.trials), &|_| ()).unwrap();
        let target = asked.shop.target_per_hour;
        for (of, at) in season.sizes.iter().zip(&asked.sweep.sizes) {
            asked.alike(&of.good, &at.good, "good pieces");
            asked.alike(&of.sold_out, &at.sold_out, "sold out");
            asked.alike(&of.reach, &at.reach, "chance");
            asked.same(of.hours, at.hours.mean, 0.0, "hours");
            asked.same(of.sold.mean, at.sold.mean, 0.0, "sold");
            asked.same(
                of.leftover + of.worn.unwrap_or(0.0),
                at.left_over(),
                f64::from(at.size),
                "left over",
            );
            let scale = turnover(at) + target * at.hours.mean;
            asked.same(
                of.surplus.mean,
                at.profit.mean - target * at.hours.mean,
                scale,
                "surplus",
            );
            asked.same(of.rate.mean, at.rate.long_run, scale / at.hours.mean, "rate");
            asked.same(
                of.rate.se,
                at.rate.long_run_se,
                scale / at.hours.mean,
                "error of the rate",
            );
        }
        let most = season
            .sizes
            .iter()
            .max_by(|a, b| a.surplus.mean.total_cmp(&b.surplus.mean))
            .unwrap();
        let best = season
            .sizes
            .iter()
            .find(|of| of.size == season.best_by_surplus)
            .unwrap();
        asked.same(best.surplus.mean, most.surplus.mean, 0.0, "the best size's surplus");
        asked.holds(
            season.prices.is_some() == (elasticity > 0.0),
            "prices are looked at where they move buyers",
        );
        let Some(prices) = season.prices else { return };
        asked.holds(prices.curve_trials == asked.trials, "trials of the curve");
        for point in prices
            .best
            .iter()
            .chain(&prices.best_at_size)
            .chain(prices.curve.iter().step_by(6))
        {
            let at = asked.of_size(&asked.at_price(point.price), point.size);
            let scale = turnover(&at) + target * at.hours.mean;
            asked.same(
                point.surplus.mean,
                at.profit.mean - target * at.hours.mean,
                scale,
                "surplus at a price",
            );
            asked.same(point.rate, at.rate.long_run, scale / at.hours.mean, "rate at a price");
            asked.same(point.reach, at.reach.share, 0.0, "chance at a price");
        }
        if let Some(price) = prices.floor {
            let at = asked.of_size(&asked.at_price(price), season.best_by_surplus);
            asked.holds(
                at.pays(asked.shop.confidence),
                &format!("{price} pays with its own buyers"),
            );
        }
    });
}

/// A steady seller's batches are those of `sweep` after the design is done, as often as what they sell is asked for.
#[test]
fn a_steady_years_batches_are_the_sweeps() {
    each(|asked| {
        let Some(sold) = asked.shop.steady else { return };
        let mut after = asked.shop.clone();
        after.steps.iter_mut().for_each(|step| step.once = Spread::ZERO);
        let sweep = asked.swept(&after);
        let Ok(year) = steady::run(&asked.shop, &settings(asked.trials), &|_| ()) else {
            asked.holds(sweep.sizes.iter().all(|at| at.sold.mean == 0.0), "no batch sells");
            return;
        };
        asked.same(
            year.once_hours,
            model::hours_by_part(&asked.shop, 1).once * f64::from(asked.shop.batch.runs),
            0.0,
            "once",
        );
        for of in &year.sizes {
            let at = sweep.sizes.iter().find(|at| at.size == of.size).unwrap();
            let scale = turnover(at) + after.target_per_hour * at.hours.mean;
            asked.alike(&of.reach, &at.reach, "chance");
            asked.same(of.rate.mean, at.rate.long_run, scale / at.hours.mean, "rate");
            asked.same(of.weeks, at.sold.mean / sold.per_week, 0.0, "weeks");
            let batches = WEEKS_PER_YEAR * sold.per_week / at.sold.mean;
            asked.same(of.runs_a_year, batches, 0.0, "batches a year");
            asked.same(
                of.hours_a_week,
                at.hours.mean * batches / WEEKS_PER_YEAR,
                0.0,
                "hours a week",
            );
            asked.same(of.holding_a_year, at.money.holding * batches, 0.0, "holding");
            let surplus = at.profit.mean - after.target_per_hour * at.hours.mean;
            asked.same(
                of.surplus_a_year.mean,
                surplus * batches,
                scale * batches,
                "surplus a year",
            );
        }
    });
}

/// Bad luck begins from `sweep`'s batch, and where it scales one thing it comes to what `sweep` says of the file with that scaled.
#[test]
fn bad_luck_begins_from_the_sweep() {
    each(|asked| {
        let (shop, at) = (&asked.shop, asked.at(SIZE));
        let stress = stress::run(shop, SIZE, &settings(asked.trials), &|_| ());
        let planned = |of: &stress::Outcome, at: &SizeAnswer, what: &str| {
            let scale = turnover(at);
            asked.same(of.rate.mean, at.rate.long_run, scale / at.hours.mean, what);
            asked.same(of.profit.mean, at.profit.mean, scale, what);
        };
        planned(&stress.as_planned, at, "as planned");
        asked.alike(&stress.as_planned.reach, &at.reach, "chance");
        asked.same(
            stress.as_planned.rate_median,
            at.rate.p50,
            turnover(at) / at.hours.p50,
            "median",
        );
        asked.same_floor(&stress.floor, &at.floor_asked, "floor");
        asked.holds(
            stress.slow_tenth.hours.mean >= at.hours.p90 * (1.0 - 1e-9),
            "the slowest tenth is slow",
        );
        for misfortune in &stress.misfortunes {
            for strong in &misfortune.strengths {
                let Some(struck) = struck(shop, misfortune, strong.strength) else {
                    continue;
                };
                let at = asked.of_size(&struck, SIZE);
                let what = format!("{:?} {:?} {}", misfortune.kind, misfortune.name, strong.strength);
                planned(&strong.outcome, &at, &what);
                asked.same(strong.outcome.reach.share, at.reach.share, 0.0, &what);
            }
        }
    });
}

/// The file with a misfortune of so much put into it, where that is one that scales one thing.
fn struck(shop: &Scenario, misfortune: &stress::Misfortune, strength: f64) -> Option<Scenario> {
    let worse = 1.0 + strength;
    let named = |name: &str| misfortune.name.as_deref() == Some(name);
    let mut struck = shop.clone();
    match misfortune.kind {
        stress::Kind::Build => vary::slower(&mut struck, worse),
        stress::Kind::Setups => vary::slower_setups(&mut struck, worse),
        stress::Kind::Step => {
            let step = shop.steps.iter().position(|step| named(&step.name))?;
            vary::slower_step(&mut struck, step, worse)
        }
        stress::Kind::Spoil => vary::more_spoil(&mut struck, worse),
        stress::Kind::Redo => vary::more_redo(&mut struck, worse),
        stress::Kind::Seconds => vary::more_seconds(&mut struck, worse),
        stress::Kind::Stock => vary::dearer_stock(&mut struck, worse),
        stress::Kind::Post => vary::dearer_post(&mut struck, worse),
        stress::Kind::Fees => vary::dearer_fees(&mut struck, worse),
        stress::Kind::Helper => vary::dearer_helper(&mut struck, worse),
        stress::Kind::AllAtOnce => vary::all_worse(&mut struck, worse),
        _ => return None,
    }
    Some(struck)
}

/// What moves the hour begins from `sweep`'s hour.
#[test]
fn levers_begin_from_the_sweep() {
    let few = settings(64);
    each(|asked| {
        let mut alone = asked.shop.clone();
        alone.batch.sizes = vec![SIZE];
        let at = sweep::run(&alone, &few, &|_| ()).sizes.remove(0);
        let drivers = drivers::run(&asked.shop, SIZE, &few, &|_| ());
        let scale = turnover(&at) / at.hours.mean;
        asked.same(drivers.long_run.mean, at.rate.long_run, scale, "rate");
        asked.same(drivers.long_run.se, at.rate.long_run_se, scale, "error of the rate");
        let hours: f64 = drivers.steps.iter().map(|step| step.hours).sum();
        let worked = at.hours.mean + at.helper_hours.unwrap_or(0.0);
        asked.same(hours, worked, worked, "hours of all that takes any");
    });
}

/// The scenario with no time for quotes and enquiries, nor on selling days: neither is work at the bench.
fn shop_without_tries(shop: &Scenario) -> Scenario {
    let mut changed = shop.clone();
    let sales = changed.channels.iter_mut().map(|channel| &mut channel.sale);
    let seconds = changed.seconds.iter_mut().map(|seconds| &mut seconds.sale);
    for sale in std::iter::once(&mut changed.sale).chain(sales).chain(seconds) {
        (sale.quote.minutes, sale.enquiry.minutes) = (Spread::ZERO, Spread::ZERO);
    }
    for day in &mut changed.selling_days {
        (day.there, day.travel) = (Spread::ZERO, Spread::ZERO);
    }
    changed
}

/// A comparison holds each file's own batch; a file against itself is level.
#[test]
fn comparisons_are_the_sweeps() {
    each(|asked| {
        let dearer = vary::priced(&asked.shop, 1.25);
        let question = compare::Question {
            sizes: vec![Some(SIZE); 3],
            ..compare::Question::default()
        };
        let all = [asked.shop.clone(), dearer.clone(), asked.shop.clone()];
        let compared = compare::run(&all, &question, &settings(asked.trials), &|_| ());
        for (entry, at) in compared
            .entries
            .iter()
            .zip([asked.at(SIZE), &asked.of_size(&dearer, SIZE)])
        {
            let at = SizeAnswer {
                channels: Vec::new(),
                ..at.clone()
            };
            let one = SizeAnswer {
                channels: Vec::new(),
                ..entry.run.clone()
            };
            asked.same(
                one.rate.long_run,
                at.rate.long_run,
                turnover(&at) / at.hours.mean,
                "rate",
            );
            asked.same(one.hours.mean, at.hours.mean, 0.0, "hours");
            asked.same(one.profit.mean, at.profit.mean, turnover(&at), "profit");
            asked.same_floor(&one.floor_asked, &at.floor_asked, "floor");
            asked.alike(&one.reach, &at.reach, "chance");
        }
        let level = compared.pair(0, 2).unwrap();
        asked.holds(
            level.difference.mean == 0.0 && level.ties == 1.0 && level.first_wins.share == 0.5,
            "a file against itself",
        );
        week_is_the_years(asked, &compared.entries[0].week);
    });
}

/// The batches of a week are those that `steady` and `jig` count.
fn week_is_the_years(asked: &Asked, week: &compare::Week) {
    let design = asked.shop.steps.iter().any(|step| !step.once.is_zero());
    if design {
        return;
    }
    if let (Some(runs), false) = (week.runs, asked.shop.jigs.is_empty()) {
        let jig = jig::run(&asked.shop, &[0], Some(SIZE), &settings(asked.trials), &|_| ());
        asked.same(
            jig.runs_a_year.unwrap(),
            WEEKS_PER_YEAR * runs,
            0.0,
            "batches of a year beside a jig",
        );
    }
    let limited = week.limit == Some(compare::Limit::Demand);
    if let (true, Ok(year)) = (limited, steady::run(&asked.shop, &settings(asked.trials), &|_| ())) {
        let of = year.sizes.iter().find(|of| of.size == SIZE).unwrap();
        asked.same(
            of.runs_a_year,
            WEEKS_PER_YEAR * week.runs.unwrap(),
            0.0,
            "batches of a steady year",
        );
        asked.holds(of.fits, "a week limited by demand fits the bench hours");
    }
}

/// A jig begins from `sweep`'s batch, and with the jig stands the batch that `sweep` has for a file written so.
#[test]
fn jigs_begin_from_the_sweep() {
    each(|asked| {
        if asked.shop.jigs.is_empty() {
            return;
        }
        let (at, target) = (asked.at(SIZE), asked.shop.target_per_hour);
        let jig = jig::run(&asked.shop, &[0], Some(SIZE), &settings(asked.trials), &|_| ());
        let scale = turnover(at) + target * at.hours.mean;
        asked.same(jig.hours.mean, at.hours.mean, 0.0, "hours");
        asked.same(jig.rate.mean, at.rate.long_run, scale / at.hours.mean, "rate");
        let with = asked.of_size(&asked.shop.with_jigs(&[0]), SIZE);
        let left = |at: &SizeAnswer| at.profit.mean - target * at.hours.mean;
        let [set] = &jig.sets[..] else { panic!("one jig") };
        asked.same(
            set.hours_saved.mean,
            at.hours.mean - with.hours.mean,
            at.hours.mean,
            "hours saved",
        );
        asked.same(set.saving.mean, left(&with) - left(at), scale, "saving");
        for beside in &jig.by_size {
            let alone = asked.of_size(&asked.shop, beside.size);
            // Other sizes are looked at with fewer trials, at most as many as were asked for.
            asked.same(
                beside.rate,
                alone.rate.long_run,
                turnover(&alone) / alone.hours.mean,
                "another size",
            );
        }
    });
}

/// The hours of a calendar are the batch's: what is done once apart where more batches follow, none for quotes, enquiries and selling days.
#[test]
fn calendars_have_the_batchs_hours() {
    each(|asked| {
        if asked.shop.hours.is_none() {
            return;
        }
        let mut once = shop_without_tries(&asked.shop);
        once.batch.runs = 1;
        let only = asked.shop.batch.runs == 1;
        // Others bear their share of a round, but it takes the hands no less time.
        once.steps.iter_mut().for_each(|step| step.others = 0.0);
        let mut again = once.clone();
        again.steps.iter_mut().for_each(|step| step.once = Spread::ZERO);
        for (first_batch, bench) in [(true, &once), (false, if only { &once } else { &again })] {
            let question = calendar::Question {
                from: calendar::Day("2027-01-04".parse().unwrap()),
                due: None,
                opens: calendar::Opens::default(),
                sizes: vec![SIZE],
                first_batch,
                spares: 0,
            };
            let Ok(answer) = calendar::run(&asked.shop, &question, &settings(asked.trials), &|_| ()) else {
                continue;
            };
            let of = answer.asked().unwrap();
            let at = asked.of_size(bench, SIZE);
            asked.same(of.hands_hours.mean, at.hours.mean, 0.0, "hours of hands");
            let helped = model::hours::helper_hours(bench, SIZE).iter().sum::<f64>();
            match (of.helper_hours, at.helper_hours) {
                (Some(of), Some(at)) => asked.same(of.mean, at, helped, "hours of the helper"),
                (of, at) => asked.holds(of.is_none() && at.unwrap_or(0.0) == 0.0, "a helper"),
            }
        }
    });
}
