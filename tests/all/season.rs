//! `season` held against published newsvendor examples, closed forms and the program from outside.
//!
//! Sources. D2: Hillier & Lieberman, "Introduction to Operations Research", the newsboy (from memory; 16 computed). U1: Anderson,
//! Sweeney & Williams, "An Introduction to Management Science", the single-period model with uniform demand (from memory; 440 and 0.40
//! computed). D1, D3, U2, N1 to N3, L1, L2: own. What they come to: `tests/reference/seasons.csv` (exact fractions) and
//! `season_laws.csv` (closed forms, SciPy 1.17.1), made by `inventory.py` there.
//!
//! Every scenario pays half of the unit cost as stock and half as hours at the target, so that hours count as cost.

use crate::bounds::settings;
use crate::program::run as program;
use std::path::Path;
use std::process::Output;

use batchwright_core::model;
use batchwright_core::questions::season::{self, SeasonAnswer, SeasonSize};
use batchwright_core::questions::{Settings, floor};
use batchwright_core::scenario::{ASKED_PRICE, Buyers, Scenario, read};
use statrs::distribution::{ContinuousCDF, Normal};

/// Bounds are so many standard errors: one false alarm in 16,000 checks, and the seed is fixed.
const ERRORS: f64 = 4.0;
const TRIALS: u64 = 20_000;

/// Price, cost and worth of a leftover; `more` goes into `[season]`, `sale` into `[sale]`.
fn shop((price, cost, clearance): (f64, f64, f64), sizes: &str, buyers: &str, more: &str, sale: &str) -> Scenario {
    let half = cost / 2.0;
    let text = format!(
        "title = 'newsvendor'\ntarget = {cost}\n[batch]\nsizes = {sizes}\n[[step]]\nname = 'make'\neach = '0.5 h'\n\
         [[material]]\nname = 'stock'\nper_piece = 1\nprice = {half}\n[sale]\nprice = {price}\n{sale}\n\
         [season]\nbuyers = {buyers}\nclearance = {clearance}\n{more}"
    );
    read("test.toml", &text, &[]).unwrap_or_else(|faults| panic!("{}\n{text}", faults.render(false, 100)))
}

/// A case of a table: money, size, pieces sold, what is left; the table's other columns as they are.
struct Known {
    case: String,
    money: (f64, f64, f64),
    size: f64,
    sold: f64,
    left: f64,
    best: Option<f64>,
}

fn known(table: &str) -> Vec<Known> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let rows = reader.records().map(|row| {
        let row = row.expect("a table");
        let column = |name: &str| head.iter().position(|other| other == name);
        let number = |name: &str| column(name).map(|k| row[k].parse::<f64>().expect("a number"));
        let must = |name: &str| number(name).expect("in the table");
        Known {
            case: row[0].to_owned(),
            money: (must("price"), must("cost"), must("clearance")),
            size: must("size"),
            sold: must("sold"),
            left: must("left"),
            best: number("best"),
        }
    });
    rows.collect()
}

/// The cases of a law's table by name.
fn of_law(case: &str) -> Vec<Known> {
    let mut all = known(include_str!("../reference/season_laws.csv"));
    all.retain(|known| known.case == case);
    assert!(!all.is_empty(), "{case} is in the table");
    all
}

fn answer(scenario: &Scenario, trials: u64) -> SeasonAnswer {
    let settings = settings(trials);
    season::run(scenario, &settings, &|_| ()).expect("it has a season")
}

fn of(answer: &SeasonAnswer, size: u32) -> &SeasonSize {
    answer.sizes.iter().find(|s| s.size == size).expect("in the sweep")
}

#[track_caller]
fn close(found: f64, expected: f64, bound: f64, what: &str) {
    assert!(
        (found - expected).abs() <= bound,
        "{what}: {found} against {expected}, bound {bound}"
    );
}

/// The fractile and what it is made of are exact.
#[track_caller]
fn fractile_is(answer: &SeasonAnswer, (price, cost, clearance): (f64, f64, f64), pieces: f64, what: &str) {
    let f = answer.fractile.expect("both sides cost something");
    for (found, expected) in [
        (f.sold_for, price),
        (f.cost, cost),
        (f.under, price - cost),
        (f.over, cost - clearance),
        (f.fractile, (price - cost) / (price - clearance)),
    ] {
        close(found, expected, 1e-12 * expected, what);
    }
    close(f.pieces, pieces, 2e-8 * pieces, what);
}

/// Sold, left over and surplus at a size: within the simulation's error and `slack` pieces.
#[track_caller]
fn size_is(answer: &SeasonAnswer, money: (f64, f64, f64), size: u32, sold: f64, slack: f64, what: &str) {
    let (price, cost, clearance) = money;
    let (s, n) = (of(answer, size), f64::from(size));
    let sold_bound = ERRORS * s.sold.se + slack;
    close(s.sold.mean, sold, sold_bound, what);
    close(s.leftover, n - sold, sold_bound, what);
    let profit = price * sold + clearance * (n - sold) - cost * n;
    close(
        s.surplus.mean,
        profit,
        ERRORS * s.surplus.se + (price - clearance) * slack + 1e-9 * profit.abs(),
        what,
    );
}

/// No size is surer to be the best than the simulation's error allows it to look.
#[track_caller]
fn best_is(answer: &SeasonAnswer, size: u32, what: &str) {
    let s = of(answer, size);
    assert!(
        s.against_best.mean + ERRORS * s.against_best.se >= -1e-9,
        "{what}: {size} is {:?} against {}",
        s.against_best,
        answer.best_by_surplus
    );
}

#[test]
fn discrete_examples() {
    let table = known(include_str!("../reference/seasons.csv"));
    let discrete = |case: &str, sizes: &str, counts: &str| {
        let rows: Vec<&Known> = table.iter().filter(|known| known.case == case).collect();
        let money = rows[0].money;
        let a = answer(&shop(money, sizes, counts, "", ""), TRIALS);
        fractile_is(&a, money, rows[0].best.expect("in the table"), case);
        for known in rows {
            size_is(&a, money, known.size as u32, known.sold, 0.0, case);
            let (price, cost, clearance) = money;
            let left = price * known.sold + clearance * (known.size - known.sold) - cost * known.size;
            close(left, known.left, 1e-6, case);
        }
        a
    };
    let a = discrete("D1", "'10..20'", "[10, 12, 14, 14, 16, 20]");
    for size in [14, 15, 16] {
        best_is(&a, size, "D1's tie");
        assert!(
            a.best_by_surplus == size || a.ties.contains(&size),
            "D1's tie: {:?}",
            a.ties
        );
    }
    // Six less of some eighty: many errors apart.
    assert!(!a.ties.contains(&12) && !a.ties.contains(&20));

    let a = discrete("D2", "'15..18'", "[15, 15, 15, 15, 16, 16, 17, 17, 17, 18]");
    best_is(&a, 16, "D2");

    let a = discrete("D3", "'1..8'", "[0, 1,1,1, 2,2,2,2, 3,3,3,3, 4,4,4, 6,6,6, 8,8]");
    best_is(&a, 4, "D3");
    assert_eq!(a.best_by_surplus, 4);
}

/// Whole pieces: E min(Q, round D) sums P(D >= k - 1/2), the midpoint rule for the integral of P(D >= x). On a unit interval
/// the rule misses by at most an eighth of the variation of the slope, so in all by at most 1/8 of the density's variation.
fn rounding(variation: f64) -> f64 {
    variation / 8.0
}

#[test]
fn uniform_examples() {
    for (name, (low, high), sizes) in [
        ("U1", (200.0, 800.0), "[200, 435, 440, 445, 710]"),
        ("U2", (90.0, 170.0), "[90, 129, 130, 131, 170]"),
    ] {
        let table = of_law(name);
        let (money, best) = (table[0].money, table[0].size as u32);
        let sales = |q: f64| f64::midpoint(low, high) - (high - q) * (high - q) / (2.0 * (high - low));
        for known in &table {
            close(sales(known.size), known.sold, 1e-8, name);
        }
        let buyers = format!("{{ low = {low}, high = {high}, shape = 'uniform' }}");
        let a = answer(&shop(money, sizes, &buyers, "", ""), TRIALS);
        fractile_is(&a, money, f64::from(best), name);
        for s in &a.sizes {
            let q = f64::from(s.size);
            size_is(&a, money, s.size, sales(q), rounding(2.0 / (high - low)), name);
        }
        best_is(&a, best, name);
    }
}

/// Expected sales of a normal demand (any text on inventory): mean - sd (phi(z) - z (1 - Phi(z))).
fn normal_sales(mean: f64, sd: f64, q: f64) -> f64 {
    let z = (q - mean) / sd;
    let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
    mean - sd * (density - z * Normal::standard().sf(z))
}

#[test]
fn normal_examples() {
    // The normal law by 10,000 equally likely values, each the middle quantile of its share.
    const VALUES: usize = 10_000;
    for (name, mean, sd) in [("N1", 180.0, 50.0), ("N2", 900.0, 160.0), ("N3", 125.0, 18.0)] {
        let known = of_law(name).remove(0);
        let (money, due, sold_there) = (known.money, known.size, known.sold);
        close(normal_sales(mean, sd, due), sold_there, 1e-6, name);
        let whole = due.round() as u32;
        let sizes = format!("[{}, {}, {}, {}]", whole - 3, whole, whole + 1, whole + 4);
        let mut scenario = shop(money, &sizes, "[1]", "", "");
        let law = Normal::new(mean, sd).expect("a law");
        let seen: Vec<f64> = (0..VALUES)
            .map(|k| law.inverse_cdf((k as f64 + 0.5) / VALUES as f64))
            .collect();
        let least = seen[0];
        scenario.season.as_mut().expect("there").buyers = Buyers::Seen(seen);
        let a = answer(&scenario, TRIALS);
        let f = a.fractile.expect("both sides cost something");
        let fractile = (money.0 - money.1) / (money.0 - money.2);
        close(f.fractile, fractile, 1e-12, name);
        // Chance decides each value's fraction, so that n are enough with the mean chance of n to n + 1 buyers, that of n + 1/2 but for the
        // density's slope: from the whole number nearest to the textbook's on.
        assert_eq!(f.pieces, f64::from(whole), "{name}");
        for s in &a.sizes {
            let q = f64::from(s.size);
            // min(Q, D) rises with D: middle values miss its mean by at most half its range by share, and beyond the least
            // value by less than one sd in that share. Rounding: the density rises to 0.3989 / sd and falls again.
            let steps = 0.5 * (q - least) / VALUES as f64 + sd / VALUES as f64;
            let slack = steps + rounding(2.0 * 0.398_95 / sd);
            size_is(&a, money, s.size, normal_sales(mean, sd, q), slack, name);
        }
        best_is(&a, whole, name);
    }
}

#[test]
fn lognormal_examples() {
    let z90 = Normal::standard().inverse_cdf(0.9);
    let tenths = |mu: f64, sigma: f64| [(mu - z90 * sigma).exp(), (mu + z90 * sigma).exp()];
    let l2 = (60.0_f64 / 20.0).ln() / (2.0 * z90);
    for (name, mu, sigma, [low, high]) in [
        ("L1", 20.0_f64.ln(), 0.5, tenths(20.0_f64.ln(), 0.5)),
        ("L2", 0.5 * 1200.0_f64.ln(), l2, [20.0, 60.0]),
    ] {
        let known = of_law(name).remove(0);
        let (money, due, sold_there) = (known.money, known.size, known.sold);
        let law = Normal::standard();
        // Partial expectation of the lognormal law (any text): sales = mean x Phi((ln q - mu - s^2) / s) + q (1 - Phi(...)).
        let sales = |q: f64| {
            let mean = (mu + 0.5 * sigma * sigma).exp();
            mean * law.cdf((q.ln() - mu - sigma * sigma) / sigma) + q * law.sf((q.ln() - mu) / sigma)
        };
        close(sales(due), sold_there, 1e-6, name);
        let whole = due.round() as u32;
        let sizes = format!("'{}..{}'", whole - 3, whole + 3);
        let buyers = format!("{{ low = {low}, high = {high}, ends = 'tenths', shape = 'lognormal' }}");
        let a = answer(&shop(money, &sizes, &buyers, "", ""), TRIALS);
        fractile_is(&a, money, due, name);
        // The density's peak is at exp(mu - s^2): exp(s^2 / 2 - mu) / (s sqrt(2 pi)).
        let peak = (0.5 * sigma * sigma - mu).exp() / (sigma * std::f64::consts::TAU.sqrt());
        for s in &a.sizes {
            size_is(&a, money, s.size, sales(f64::from(s.size)), rounding(2.0 * peak), name);
        }
        best_is(&a, whole, name);
    }
}

/// Constant elasticity e, certain demand, cost c a piece: the best price is e / (e - 1) x c / kept (any text on monopoly price;
/// Lerner 1934), where a share `kept` of the price is left after tax and fees.
///
/// Bound: of x buyers on average, floor(x) or one more come; the better of those two batches leaves at most (kept p - c) c / (kept p) less than
/// x pieces of which all are sold, and that is under 2 delta, delta = (kept p - c) / 2. So what is left is within delta of a smooth curve. The
/// golden section goes wrong only where two of its prices are within 2 delta of each other; what is cut off then is no more than 0.618 / 0.382 x 2 delta better (the curve is
/// concave there), and picking the best of what was seen adds 2 delta: the price found leaves, by the smooth curve, at most
/// 5.24 delta less than the best.
#[test]
fn price_follows_the_markup_rule() {
    for (elasticity, cost, asked, sale, kept) in [
        (2.0, 10.0, 24.0, "", 1.0),
        (3.0, 10.0, 14.0, "", 1.0),
        (2.0, 10.0, 24.0, "fee = '10 %'\ntax = '20 %'", 1.0 / 1.2 - 0.1),
        // Cheaper than half of what is asked.
        (4.0, 6.0, 20.0, "", 1.0),
    ] {
        let due = elasticity / (elasticity - 1.0) * cost / kept;
        // Some 1,500 pieces at the best price.
        let buyers = (1_500.0 * f64::powf(asked / due, -elasticity)).round();
        let more = format!("elasticity = {elasticity}");
        let a = answer(
            &shop((asked, cost, 0.0), "'1..2600'", &buyers.to_string(), &more, sale),
            1_000,
        );
        let prices = a.prices.expect("demand depends on the price");
        close(prices.markup_rule.expect("elastic"), due, 1e-12 * due, "the rule");
        let best = prices.best.expect("within what was looked at");
        let smooth = |p: f64| (kept * p - cost) * buyers * (p / asked).powf(-elasticity);
        let delta = 0.5 * (kept * best.price.max(due) - cost);
        assert!(
            smooth(best.price) >= smooth(due) - 5.24 * delta,
            "elasticity {elasticity}: {} against {due}: {} against {}",
            best.price,
            smooth(best.price),
            smooth(due)
        );
        // Of the whole curve at most 0.4 %, so that the check cannot pass far off.
        assert!(5.24 * delta < 0.004 * smooth(due));
        close(best.surplus.mean, smooth(due), 6.24 * delta, "what it leaves");
        // About as good: the ends leave 95 % of that, and a 64th of the way to the next price of the curve further on they do not; the
        // smooth curve and whole pieces differ by delta at the most.
        let [low, high] = prices.nearly_best.expect("it leaves something");
        let (least, step) = (0.95 * best.surplus.mean, 4_f64.powf(1.0 / 24.0));
        for (end, beyond) in [
            (low, low * (1.0 - (1.0 - 1.0 / step) / 64.0)),
            (high, high * (1.0 + (step - 1.0) / 64.0)),
        ] {
            let delta = 0.5 * (kept * end - cost);
            assert!(smooth(end) >= least - delta, "{end}: {} of {least}", smooth(end));
            assert!(
                smooth(beyond) <= least + delta,
                "{beyond}: {} of {least}",
                smooth(beyond)
            );
        }
        assert!(low < best.price && best.price < high);
    }
}

/// Another price for one call has the buyers there are at it; the price in the file is the one they are told for.
#[test]
fn another_price_for_one_call_has_its_own_buyers() {
    let text = "title = 'tops'\ntarget = 20\n[batch]\nsizes = '1..60'\n[[step]]\nname = 'turn'\neach = '30 min'\n[sale]\nprice = 40\n\
                [season]\nbuyers = 20\nclearance = 0\nelasticity = 2";
    let at = |price: &str| {
        let overrides = [(ASKED_PRICE.to_owned(), price.to_owned())];
        let scenario = read("test.toml", text, &overrides).expect("a scenario");
        answer(&scenario, 2_000)
    };
    // Twice the price, a quarter of the buyers; four fifths of it, 20 / 0.64 = 31.25 of them. The 32nd piece would cost 10 and bring 32 in one
    // season of four.
    for (price, buyers, best) in [("40", 20.0, 20), ("80", 5.0, 5), ("32", 31.25, 31)] {
        let found = at(price);
        close(found.buyers.mean, buyers, 1e-9 * buyers, price);
        assert_eq!(found.best_by_surplus, best, "{price}");
        let row = found.prices.as_ref().expect("it has an elasticity").curve.clone();
        let here = row
            .iter()
            .min_by(|a, b| (a.price - found.price).abs().total_cmp(&(b.price - found.price).abs()));
        let here = here.expect("a curve");
        close(
            here.buyers,
            20.0 * (40.0 / here.price).powi(2),
            1e-9 * here.buyers,
            "buyers on the curve",
        );
    }
    // The file says so too: nothing else tells the two apart.
    let written = read("test.toml", &text.replace("price = 40", "price = 80"), &[]).expect("a scenario");
    close(answer(&written, 100).buyers.mean, 20.0, 1e-9, "buyers as written");
    // Unless it has the price that they are told for: then they are those of that price, in the file and for one call.
    let told_at = format!("{}\nbuyers_at = 40\n", text.replace("price = 40", "price = 80"));
    for (price, buyers) in [(None, 5.0), (Some("32"), 31.25)] {
        let overrides: Vec<_> = price
            .map(|price| (ASKED_PRICE.to_owned(), price.to_owned()))
            .into_iter()
            .collect();
        let scenario = read("test.toml", &told_at, &overrides).expect("a scenario");
        close(
            answer(&scenario, 100).buyers.mean,
            buyers,
            1e-9 * buyers,
            "buyers of another price",
        );
    }
}

/// Ten that take 10 h at 20 an hour need 10 sold at 20; at a dearer price as well up to 22.22, from where nine would do, for which fewer still
/// come. At p the buyers x of the price of 31 are x (31 / p)^2, of which ten are sold where that is 9.5 or more: x of at least
/// 9.5 (p / 31)^2, which 0.8 of them are up to 20.30. The prices that are tried by ratio, 19.53 and 20.69, miss all of it.
#[test]
fn a_narrow_stretch_of_prices_that_pay_is_found() {
    let text = "target = 20\nconfidence = '80 %'\n[batch]\nsizes = [10]\n[[step]]\nname = 'make'\neach = '1 h'\n[sale]\nprice = 31\n\
                [season]\nbuyers = { low = 3.0738, high = 8.0738, shape = 'uniform' }\nelasticity = 2";
    let scenario = read("test.toml", text, &[]).expect("a scenario");
    let trials = 50_000;
    let found = floor::run(
        &scenario,
        &Settings {
            trials,
            ..Settings::default()
        },
        &|_| (),
    );
    let own = found.own_buyers.expect("buyers answer to the price");
    let (price, up_to) = (own.price.expect("a price pays"), own.up_to.expect("and no dearer one"));
    close(price, 20.0, 20.0 * 1e-4, "the lowest");
    // The share falls by 2 x / p / 5 for each 1 that it is dearer, with x = 4.07.
    let error = (0.8 * 0.2 / trials as f64).sqrt() / (2.0 * 4.0738 / 20.3 / 5.0);
    close(up_to, 20.3, ERRORS * error + 20.3e-4, "the highest");
}

/// A known number of buyers has no edge in the price: of x buyers a batch of n sells min(n, x) on average, also where x passes 14.5.
/// Were it rounded, 0.05 on the price would lose a whole sale.
#[test]
fn a_known_number_of_buyers_leaves_no_edge_in_the_price() {
    for buyers in ["20", "[20, 20, 20]"] {
        let tops = shop((30.0, 10.0, 1.0), "[15, 16]", buyers, "elasticity = 2", "");
        let at = |buyers: f64| {
            let price = 30.0 * (20.0 / buyers).sqrt();
            let mut tops = tops.clone();
            tops.sale.price = price;
            let found = answer(&tops, TRIALS);
            for size in &found.sizes {
                let due = buyers.min(f64::from(size.size));
                close(size.sold.mean, due, ERRORS * size.sold.se + 1e-12, "pieces sold");
                let profit = model::money(&tops, size.size).expect("a closed form").profit();
                let left = profit - 10.0 * 0.5 * f64::from(size.size);
                close(size.surplus.mean, left, ERRORS * size.surplus.se + 1e-9, "by the model");
            }
            of(&found, 15).surplus.mean
        };
        for whole in [15.0, 14.0] {
            at(whole);
        }
        let (before, after) = (at(14.51), at(14.49));
        assert!(
            (before - after).abs() < 1.0,
            "{before} at one price, {after} at the next"
        );
    }
}

/// Counts of earlier seasons: 15 or 5, at another price 7.25 or 2.42 of them.
#[test]
fn chance_decides_the_fraction_of_each_count() {
    let mut tops = shop((30.0, 10.0, 1.0), "[4, 8, 12]", "[15, 5, 5, 5]", "elasticity = 2", "");
    tops.sale.price = 30.0 * (15.0_f64 / 7.25).sqrt();
    let less = 5.0 * 7.25 / 15.0;
    for size in answer(&tops, TRIALS).sizes {
        let sells = |buyers: f64| buyers.min(f64::from(size.size));
        let due = 0.25 * sells(7.25) + 0.75 * sells(less);
        close(size.sold.mean, due, ERRORS * size.sold.se, "pieces sold");
    }
}

/// Ten buy; a leftover is carried over at what the last piece of the batch cost, less a tenth: at 80, where the wood costs 4 and not 10,
/// 300 - 320 - 14 h x 30 + 70 x (4 + 5) x 0.9 = 127; at 10, 300 - 100 - 70 = 130; at 50, 300 - 200 - 9 h x 30 + 40 x 8.10 = 154. From 21 on
/// fifty are bought as they cost less: 300 - 84 - 125 + 11 x 8.10 = 180.10, and each more takes off 0.90.
#[test]
fn a_leftover_is_worth_no_more_than_it_cost() {
    let text = "target = 30\n[batch]\nsizes = '1..80'\n[[step]]\nname = 'a'\nsetup = '30 min'\neach = '10 min'\n[[step]]\nname = 'p'\nper_order = '1 \
                min'\n[[material]]\nname = 'm'\nper_piece = 1\nprice = 10\nbreaks = [{ from = 50, price = 4 }]\n[sale]\nprice = 30\n[season]\nbuyers \
                = 10\nleftover = 'carry'\nhold = '20 %'\nweeks = 26\n";
    let found = answer(&read("test.toml", text, &[]).expect("a scenario"), 50);
    for (size, surplus) in [(10, 130.0), (21, 180.1), (50, 154.0), (80, 127.0)] {
        let at = found.sizes.iter().find(|s| s.size == size).expect("looked at");
        close(at.surplus.mean, surplus, 1e-9, &format!("{size}"));
    }
    assert_eq!(found.best_by_surplus, 21);
    close(found.leftover_worth, 8.1, 1e-12, "one of them");
    // With learning the first piece takes longest: more than ten are no gain.
    let text = text.replace("each = '10 min'", "each = '10 min'\nlearning = '80 %'");
    let found = answer(
        &read(
            "test.toml",
            &text.replace("breaks = [{ from = 50, price = 4 }]", ""),
            &[],
        )
        .expect("a scenario"),
        50,
    );
    for pair in found.sizes.windows(2).filter(|pair| pair[0].size >= 10) {
        assert!(pair[1].surplus.mean < pair[0].surplus.mean, "{}", pair[1].size);
    }
}

/// Where one more piece may open another round, no two cost the same: the textbook's rule for one cost of all is not asked.
#[test]
fn rounds_leave_no_textbook_rule() {
    let text = |room: &str| {
        format!(
            "target = 20\n[batch]\nsizes = '1..30'\n[[step]]\nname = 'fire'\nsetup = '30 min'\neach = '10 min'\n{room}\n[sale]\nprice = \
             40\n[season]\nbuyers = '10 / 15 / 30'\nclearance = 30"
        )
    };
    let at = |room: &str| answer(&read("test.toml", &text(room), &[]).expect("a scenario"), 100);
    // Room for all of them is no room.
    for room in ["", "room = 30"] {
        let found = at(room);
        assert!(found.leftovers_cost_nothing, "{room}");
    }
    let found = at("room = 12");
    assert!(found.fractile.is_none() && !found.leftovers_cost_nothing);
    let dear = |room: &str| {
        answer(
            &read("test.toml", &text(room).replace("clearance = 30", "clearance = 1"), &[]).expect("a scenario"),
            100,
        )
    };
    assert!(dear("").fractile.is_some() && dear("room = 12").fractile.is_none());
}

#[test]
fn without_enough_elasticity_there_is_no_best_price() {
    for elasticity in [0.5, 1.0] {
        let more = format!("elasticity = {elasticity}");
        let a = answer(&shop((24.0, 10.0, 0.0), "'1..60'", "20", &more, ""), 8);
        let prices = a.prices.expect("demand depends on the price");
        assert_eq!((prices.best, prices.markup_rule), (None, None));
    }
    assert_eq!(
        answer(&shop((24.0, 10.0, 0.0), "'1..60'", "20", "", ""), 8).prices,
        None
    );
}

/// Two sizes by hand: 3 asked for, cost 4 (2 stock, half an hour at 4), price 10, leftover 1. Two: 2 x 6 = 12. Five: 3 x 10 +
/// 2 x 1 - 5 x 4 = 12 as well: a tie, and the smaller is named. An hour: (20 - 4) / 1 h; (32 - 10) / 2.5 h.
#[test]
fn two_sizes_by_hand() {
    let a = answer(&shop((10.0, 4.0, 1.0), "[2, 5]", "3", "", ""), 100);
    let (two, five) = (of(&a, 2), of(&a, 5));
    for (found, expected) in [
        (two.surplus.mean, 12.0),
        (five.surplus.mean, 12.0),
        (two.rate.mean, 16.0),
        (five.rate.mean, 8.8),
        (five.sold.mean, 3.0),
        (five.leftover, 2.0),
        (two.sold_out.share, 1.0),
        (five.sold_out.share, 0.0),
        (two.hours, 1.0),
        (five.hours, 2.5),
        (five.surplus_p10, 12.0),
        (five.surplus_p90, 12.0),
    ] {
        close(found, expected, 1e-12, "by hand");
    }
    assert_eq!((a.best_by_surplus, a.best_by_rate), (2, 2));
    assert_eq!(a.ties, [5]);
}

// ---- From outside ------------------------------------------------------------------------------------------------------

const TOPS: &str = "scenarios/spinning-tops.toml";

/// Sweep, season and steady answer "how many" each in its own way: each says which of them to go by for this file.
#[test]
fn each_page_says_which_other_one_says_how_many() {
    let page = |command: &str, file: &str| {
        let text = program(&[command, &format!("scenarios/{file}.toml"), "--trials=500"]).stdout;
        String::from_utf8(text)
            .expect("text")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    for (command, file, said) in [
        (
            "sweep",
            "spinning-tops",
            "`season` advises 25, as it also weighs what is left over",
        ),
        (
            "sweep",
            "plant-labels",
            "`steady` advises 80, as it also weighs what lies in stock",
        ),
        ("sweep", "oak-peg-rail", "Here every good piece sells."),
        ("season", "spinning-tops", "For one season go by this page"),
        // Another question names a best price too.
        (
            "season",
            "spinning-tops",
            "`sold` may name another price: it goes by what sold",
        ),
        (
            "steady",
            "plant-labels",
            "`sweep` looks for the smallest batch that reaches the target",
        ),
    ] {
        let page = page(command, file);
        assert!(page.contains(said), "{command} {file}: {page}");
    }
    // Nobody asks how many to make of what is ordered.
    let ordered = page("sweep", "oak-coat-stand");
    assert!(!ordered.contains("how many to make"), "{ordered}");
    // With a price that hardly pays, the sweep says no where the season says yes, and the season says so.
    let short = program(&["season", TOPS, "--trials=500", "--set", "confidence=95 %"]).stdout;
    let short = String::from_utf8(short).expect("text");
    let short = short.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        short.contains("`sweep` says that ") && short.contains(" and you want 95 of 100."),
        "{short}"
    );
}

/// A price away from the asked one is what the file's elasticity makes of it; nobody knows whether it was tried. The mark of the table of
/// prices stands at the file's own.
#[test]
fn another_price_is_told_as_a_guess() {
    let page = |settings: &[&str]| {
        let text = program(&[&["season", TOPS, "--trials=500"], settings].concat()).stdout;
        String::from_utf8(text)
            .expect("text")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let folder = tempfile::tempdir().expect("a folder");
    let drawn = |settings: &[&str]| {
        let chart = folder.path().join("season.svg").display().to_string();
        assert!(
            program(&[&["season", TOPS, "--trials=500", "--chart", &chart], settings].concat())
                .status
                .success()
        );
        std::fs::read_to_string(chart).expect("the chart was drawn")
    };
    let guess = "How buyers answer is known only near prices that you have tried";
    let own = page(&[]);
    assert!(
        own.contains("By the file's elasticity of 2.2 a price of 40.") && own.contains(guess),
        "{own}"
    );
    assert!(own.contains("○ 30.00 21."), "the mark at the own price\n{own}");
    assert_eq!(
        own.matches('▲').count(),
        4,
        "the size, its legend and both in the chart\n{own}"
    );
    // At the price that leaves most there is no other to go to.
    let best = page(&["--price=40"]);
    assert!(!best.contains(guess), "{best}");
    assert!(!drawn(&[]).contains("only a guess"));
    assert!(drawn(&["--set", "season.elasticity=1.2"]).contains("data-text=\"only a guess\""));
    assert!(page(&["--set", "season.elasticity=1.2"]).contains(guess));
    let dear = page(&[
        "--set",
        "season.elasticity=4",
        "--set",
        "sale.price=120",
        "--set",
        "season.buyers_at=120",
        "--set",
        "season.buyers=2",
    ]);
    assert!(dear.contains(guess), "{dear}");
}

/// What is not to be made has no mark that advises it; where the price is the reason, the first that leaves anything is named.
#[test]
fn what_is_not_to_be_made_is_not_marked_as_advised() {
    let page = |file: &str, price: &str| {
        let text = program(&["season", file, "--trials=500", "--price", price]).stdout;
        let text = String::from_utf8(text).expect("text");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (file, price, said) in [
        (
            TOPS,
            "22",
            "The first price looked at that leaves anything is 23.31 EUR with a batch of 30: 7.33 EUR on average.",
        ),
        (
            "scenarios/willow-baskets.toml",
            "40",
            "`floor` says from which price on it pays, if as many still buy.",
        ),
    ] {
        let page = page(file, price);
        let not = format!("Do not make it for this season at {price} EUR.");
        assert!(page.contains(&not) && page.contains(said), "{page}");
        assert!(!page.contains("advised") && !page.contains('▲'), "{page}");
    }
}

#[test]
fn the_program_answers_on_every_face() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = program(&["season", TOPS, "--trials=500"]);
    assert!(text.status.success() && text.stderr.is_empty());
    let said = String::from_utf8(text.stdout).expect("text");
    assert!(
        said.contains(" for this season.") && said.contains("would leave most"),
        "{said}"
    );

    let json = program(&["season", TOPS, "--trials=500", "--format=json", "--threads=1"]);
    let read: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(read["sizes"].as_array().map(Vec::len), Some(57));
    assert!(read["fractile"]["fractile"].is_f64() && read["prices"]["curve"].is_array());
    let again = program(&["season", TOPS, "--trials=500", "--format=json", "--threads=2"]);
    assert!(json.stdout == again.stdout, "threads change nothing");

    let csv = program(&["season", TOPS, "--trials=500", "--format=csv"]);
    let mut lines = csv::Reader::from_reader(csv.stdout.as_slice());
    let rows: Vec<csv::StringRecord> = lines.records().map(|row| row.expect("of one width")).collect();
    assert!(rows.iter().filter(|row| &row[0] == "size").count() == 57 && rows.len() > 57 + 25);

    let chart = folder.path().join("tops.svg");
    let drawn = program(&["season", TOPS, "--trials=500", "--chart", chart.to_str().expect("path")]);
    assert!(drawn.status.success());
    let svg = std::fs::read_to_string(&chart).expect("written");
    roxmltree::Document::parse(&svg).expect("well formed");
}

#[test]
fn a_missing_section_is_told_with_its_cure_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("answer.txt");
    let refused = program(&[
        "season",
        "scenarios/oak-peg-rail.toml",
        "--out",
        out.to_str().expect("path"),
    ]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(refused.stdout.is_empty() && !Path::new(&out).exists());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("add for example `[season]`"));
    let left = std::fs::read_dir(folder.path()).expect("folder").count();
    assert_eq!(left, 0);
}

#[test]
fn a_steady_seller_is_answered_as_such() {
    let file = "scenarios/plant-labels.toml";
    let (a, b) = (
        program(&["season", file, "--trials=300"]),
        program(&["steady", file, "--trials=300"]),
    );
    assert!(a.status.success() && a.stdout == b.stdout);
    let said = |output: &Output| String::from_utf8_lossy(&output.stderr).contains("there is no [season]");
    assert!(said(&a) && !said(&b));
}
