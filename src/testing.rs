//! Small scenarios for unit tests.

use crate::scenario::{
    Batch, Break, Guessed, Leftover, Material, Offered, Sale, SaleCurrencies, Scenario, Shop, Spoiled, Spread, Step,
    ThreePoint, Tries, Varies,
};

/// A triangular range.
pub fn tri(low: f64, likely: f64, high: f64) -> Spread {
    Spread::Triangular(ThreePoint { low, likely, high })
}

/// A step that takes no time yet.
pub fn step(name: &str) -> Step {
    Step {
        name: name.to_owned(),
        once: Spread::ZERO,
        setup: Spread::ZERO,
        each: Spread::ZERO,
        per_order: Spread::ZERO,
        room: None,
        others: 0.0,
        helped: false,
        kept_in: None,
        wait: Spread::ZERO,
        varies: Varies::Piece,
        opposite: 0.0,
        learning: None,
        redo: 0.0,
        spoil: 0.0,
        second: 0.0,
        guessed: Guessed::default(),
    }
}

/// A material that nothing uses yet.
pub fn material(name: &str, price: f64) -> Material {
    Material {
        name: name.to_owned(),
        unit: "unit".to_owned(),
        per_piece: 0.0,
        per_batch: 0.0,
        per_round: 0.0,
        per_order: 0.0,
        channel: None,
        price: Spread::Certain(price),
        waste: Spread::ZERO,
        pack: None,
        leftover: Leftover::Keep,
        breaks: Vec::new(),
        paid: None,
        currency: None,
        at: 0,
    }
}

/// A scenario that sells one piece an order at `price`, without fees.
pub fn scenario(price: f64, target: f64, sizes: &[u32], steps: Vec<Step>) -> Scenario {
    Scenario {
        title: "test".to_owned(),
        offered: Offered::default(),
        currency: "EUR".to_owned(),
        target_per_hour: target,
        confidence: 0.8,
        batch: Batch {
            sizes: sizes.to_vec(),
            spoiled: Spoiled::Short,
            runs: 1,
        },
        pace: Spread::Certain(1.0),
        guessed_pace: None,
        steps,
        materials: Vec::new(),
        sale: Sale {
            price,
            tax: 0.0,
            order_of: Spread::Certain(1.0),
            fee: 0.0,
            fee_per_order: 0.0,
            post: Spread::ZERO,
            post_charged: 0.0,
            tip: Spread::ZERO,
            returned: 0.0,
            as_new: 0.0,
            set_of: 1,
            single_price: None,
            quote: Tries::NONE,
            enquiry: Tries::NONE,
            currencies: SaleCurrencies::default(),
        },
        shop: Shop {
            per_hour: 0.0,
            per_month: 0.0,
            hours_per_month: 0.0,
        },
        channels: Vec::new(),
        selling_days: Vec::new(),
        seconds: None,
        currencies: Vec::new(),
        season: None,
        steady: None,
        hours: None,
        helper: None,
        jigs: Vec::new(),
        misfortunes: Vec::new(),
    }
}

/// Pencil trays: everything certain (own invention, computed in exact fractions: tests/reference/shops.py).
pub fn pencil_trays() -> Scenario {
    let certain = Spread::Certain;
    let mut made = scenario(
        95.0,
        30.0,
        &[1, 2, 5, 6, 10],
        vec![
            Step {
                setup: certain(30.0),
                each: certain(12.0),
                ..step("mill")
            },
            Step {
                setup: certain(10.0),
                each: certain(8.0),
                room: Some(4),
                ..step("glue up")
            },
            Step {
                setup: certain(15.0),
                each: certain(25.0),
                ..step("sand and finish")
            },
            Step {
                per_order: certain(6.0),
                ..step("pack")
            },
        ],
    );
    made.materials = vec![
        Material {
            per_piece: 2.5,
            waste: certain(0.25),
            pack: Some(1.0),
            leftover: Leftover::Lost,
            breaks: vec![Break {
                from: 20.0,
                price: certain(8.1),
            }],
            ..material("lumber", 9.0)
        },
        Material {
            per_piece: 1.0 / 12.0,
            pack: Some(1.0),
            leftover: Leftover::Lost,
            ..material("finish", 18.0)
        },
        Material {
            per_order: 1.0,
            ..material("packaging", 1.8)
        },
    ];
    made.sale.post = certain(9.5);
    made.sale.fee = 0.065;
    made.sale.fee_per_order = 0.45;
    made
}

/// Incense holders: discrete chances (own invention, enumerated exactly: tests/reference/shops.py).
pub fn incense_holders() -> Scenario {
    let certain = Spread::Certain;
    let mut made = scenario(
        28.0,
        25.0,
        &[1, 2, 5, 10],
        vec![
            Step {
                setup: certain(20.0),
                each: certain(10.0),
                ..step("throw")
            },
            Step {
                setup: certain(40.0),
                room: Some(6),
                spoil: 0.1,
                ..step("bisque")
            },
            Step {
                setup: certain(15.0),
                each: certain(5.0),
                ..step("glaze")
            },
            Step {
                setup: certain(40.0),
                room: Some(6),
                spoil: 0.05,
                ..step("glaze firing")
            },
            Step {
                per_order: certain(4.0),
                ..step("pack")
            },
        ],
    );
    made.materials = vec![
        Material {
            per_piece: 1.2,
            ..material("clay", 1.0)
        },
        Material {
            per_piece: 0.6,
            at: 2,
            ..material("glaze", 1.0)
        },
        Material {
            per_round: 7.0,
            at: 1,
            ..material("bisque firing", 1.0)
        },
        Material {
            per_round: 7.0,
            at: 3,
            ..material("glaze firing", 1.0)
        },
        Material {
            per_order: 1.1,
            ..material("box", 1.0)
        },
    ];
    made.sale.post = certain(5.2);
    made.sale.fee = 0.08;
    made.sale.fee_per_order = 0.3;
    made
}

/// To rounding: within 1e-12 of what is expected.
pub fn close(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() <= 1e-12 * expected.abs().max(1e-12),
        "{found} against {expected}"
    );
}

/// One step and its packing, sold at 53 to so many buyers of a season.
pub fn season(buyers: &str) -> Scenario {
    let text = format!(
        "target = 30\n[[step]]\nname = \"make\"\neach = \"20 min\"\n[[step]]\nname = \"pack\"\nper_order = \"6 min\"\n[sale]\nprice = 53\n\
         fee = \"20 %\"\n[season]\nbuyers = {buyers}\nclearance = 4\nelasticity = 3\n"
    );
    crate::scenario::read("test", &text, &[]).expect("it reads")
}
