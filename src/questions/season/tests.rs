//! The searches for a price, on curves whose peak and ends are known.

use super::*;
use crate::scenario::{Buyers, Spread, Step, Unsold};
use crate::testing::{scenario, step};

/// Leaves 100 at 31.70, and less by the square of what a price is off.
fn peaked(price: f64) -> PricePoint {
    PricePoint {
        price,
        size: 5,
        buyers: 10.0,
        surplus: Mean {
            mean: 100.0 - (price - 31.7) * (price - 31.7),
            se: 0.0,
        },
        rate: 0.0,
        leftover: 0.0,
        reach: 0.0,
    }
}

/// Each step leaves 62 % of the way between the prices that are left.
#[test]
fn the_best_price_is_the_peak() {
    let left = 25.0 * 0.6181_f64.powi(GOLDEN_STEPS as i32);
    for seen in [24.0, 31.0, 44.0] {
        let found = golden(20.0, peaked(seen), 45.0, peaked);
        assert!((found.price - 31.7).abs() < left, "{}", found.price);
    }
    // What was seen already is kept where nothing leaves more.
    let best = peaked(31.7);
    assert_eq!(golden(20.0, best, 45.0, peaked).price, 31.7);
}

/// 95 are left as far as the root of 5 from the peak.
#[test]
fn nearly_as_good_ends_where_it_does_by_hand() {
    let curve: Vec<PricePoint> = [26.0, 28.0, 30.0, 32.0, 34.0, 36.0].into_iter().map(peaked).collect();
    let [cheapest, dearest] = nearly(&curve, peaked(31.7), peaked);
    let (low, high) = (31.7 - 5_f64.sqrt(), 31.7 + 5_f64.sqrt());
    let halved = 2.0 / f64::from(1 << HALVINGS);
    assert!((low..low + halved).contains(&cheapest), "{cheapest}");
    assert!((high - halved..=high).contains(&dearest), "{dearest}");
    // Where the whole curve is as good, its ends are those.
    assert_eq!(nearly(&curve[2..4], peaked(31.7), peaked), [30.0, 32.0]);
}

#[test]
fn the_lowest_price_that_pays_is_where_the_share_passes() {
    let reach = |price: f64| if price >= 25.0 { 0.9 } else { 0.5 };
    let found = last_that_pays(10.0, 40.0, 0.8, &reach);
    assert!((25.0..25.0 * 1.0001).contains(&found), "{found}");
    let curve: Vec<PricePoint> = [12.0, 18.0, 27.0, 40.0].into_iter().map(peaked).collect();
    let found = lowest_paying(&curve, 0.8, &reach).expect("27 pays");
    assert!((25.0..25.0 * 1.0001).contains(&found), "{found}");
    assert_eq!(lowest_paying(&curve[2..], 0.8, &reach), Some(27.0));
    assert_eq!(lowest_paying(&curve[..2], 0.8, &reach), None);
}

/// Twenty-five prices from half of the asked one to twice it, each as many times the one before; the peak lies between.
#[test]
fn the_curve_spans_half_to_twice_the_price() {
    let curve = price_curve(30.0, &peaked, &|_| ());
    assert_eq!(curve.len(), 25);
    for (k, point) in curve.iter().enumerate() {
        let expected = 15.0 * 2_f64.powf(k as f64 / 12.0);
        assert!((point.price - expected).abs() < 1e-9, "{k}: {}", point.price);
    }
}

/// A piece takes a minute at 30 an hour, and nothing else costs anything: 0.50, a hundredth of the asked price. At any price below the asked 50 there
/// are more than the four buyers that a batch of four needs. Where nothing must be earned, any price pays.
#[test]
fn a_price_that_pays_is_looked_for_far_below_the_asked_one() {
    let step = Step {
        each: Spread::Certain(1.0),
        ..step("press")
    };
    let mut shop = scenario(50.0, 30.0, &[4], vec![step]);
    let season = Season {
        buyers: Buyers::Range(Spread::Certain(5.0)),
        asked_at: 50.0,
        leftover: Unsold::Clearance(0.0),
        elasticity: 1.0,
    };
    shop.season = Some(season.clone());
    let settings = Settings {
        trials: 64,
        ..Settings::default()
    };
    let found = paying_price(&shop, &season, 4, &settings, &|_| ());
    let price = found.price.expect("it pays");
    assert!((0.5..0.5 * 1.001).contains(&price) && found.from <= price, "{found:?}");
    shop.target_per_hour = 0.0;
    assert_eq!(paying_price(&shop, &season, 4, &settings, &|_| ()).price, Some(0.0));
}

/// Buyers come in whole pieces, so that at known numbers of them the share that pays has a peak at each. At 0.9 of elasticity, and 70 of 100 asked for, the
/// second highest price that pays lies around 16.7, between two that are looked at; the next peak begins at 20.4.
#[test]
fn the_lowest_price_that_pays_may_lie_at_an_earlier_peak() {
    let text = "target = 24\nconfidence = \"70 %\"\n[batch]\nsizes = \"8\"\n[[step]]\nname = \"forge\"\nsetup = \"30 min\"\n\
                each = \"14 / 15 / 17 min\"\n[[material]]\nname = \"bar\"\nper_piece = 1\nprice = 2\n[sale]\nprice = 20\n[season]\n\
                buyers = 4\nclearance = 0\nelasticity = 0.9\n[[channel]]\nname = \"own\"\nshare = \"50 %\"\n[[channel]]\n\
                name = \"post\"\nshare = \"50 %\"\nfee = \"10 %\"\n";
    let shop = crate::scenario::read("hook.toml", text, &[]).expect("a scenario");
    let season = shop.season.clone().expect("a season");
    let settings = Settings {
        trials: 2_000,
        ..Settings::default()
    };
    let found = paying_price(&shop, &season, 8, &settings, &|_| ());
    let price = found.price.expect("it pays");
    assert!(price < 16.8 && found.up_to.is_some_and(|to| to < 20.0), "{found:?}");
    let reach = |price: f64| {
        let plan = single(&shop, 8).at_price(price, season.elasticity);
        let engine = Engine::new(&plan, settings.seed);
        engine.answer_sizes(settings.trials, &|_| (), |simulated| {
            Columns::new(&plan, simulated).reach()
        })[0]
    };
    assert!(reach(price) >= shop.confidence, "{found:?}");
    // A fine comb finds none below.
    let below = (1..200).map(|k| 5.0 + (0.999 * price - 5.0) * f64::from(k) / 200.0);
    let lower: Vec<f64> = below.filter(|price| reach(*price) >= shop.confidence).collect();
    assert!(lower.is_empty(), "{lower:?}");
}
