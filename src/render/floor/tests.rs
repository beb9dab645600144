use super::*;
use crate::model::money::OnceAnOrder;
use crate::questions::floor::{CONFIDENCES, LongRunFloor};
use crate::questions::sweep::Floor;
use crate::render::columns::Declared;
use crate::render::samples::{any_figure, fitting, look, no_wider, on_its_page, row_of, share, text_chart};
use proptest::prelude::*;

/// Floors at 50, 80, 90 and 95 %, and in the long run, by size.
fn floors(price: f64, made_for: MadeFor, sizes: &[(u32, [f64; 4], f64)]) -> Floors {
    let given = |v: f64| Some(v).filter(|v| v.is_finite());
    Floors {
        title: "Oak peg rail".to_owned(),
        currency: "EUR".to_owned(),
        price,
        target: 32.0,
        confidence: 0.8,
        trials: 1000,
        seed: 1,
        version: "0.1.0".to_owned(),
        made_for,
        made_to_order: false,
        about: sizes[0].0,
        short: false,
        spoils: false,
        past_channels: false,
        through: None,
        buyers_kept: false,
        own_buyers: None,
        channels: Vec::new(),
        singles: Vec::new(),
        selling_days: Vec::new(),
        past_days: false,
        past_seconds: false,
        past_sets: None,
        once_an_order: None,
        on_return: false,
        spares: None,
        makes_seconds: false,
        certain: false,
        sizes: sizes
            .iter()
            .map(|(size, prices, long_run)| {
                let floor = |k: usize| Floor {
                    confidence: CONFIDENCES[k],
                    price: given(prices[k]),
                    low: given(prices[k]),
                    high: given(prices[k]),
                };
                SizeFloors {
                    size: *size,
                    floor: (0..4).map(floor).collect(),
                    floor_asked: floor(1),
                    pays: given(prices[1]).map(|_| 0.8),
                    long_run: LongRunFloor {
                        price: given(*long_run),
                        se: None,
                        low: None,
                        high: None,
                    },
                    reach: share(if prices[1] <= price { 0.85 } else { 0.25 }),
                    off_one: None,
                    off_price: None,
                    worse_when_dearer: None,
                    spares: None,
                    sells: true,
                }
            })
            .collect(),
    }
}

fn chart(floors: &Floors, look: &Look) -> Option<String> {
    text_chart(floors, look)
}

/// Setup of 120 EUR over the pieces, 40 EUR a piece, and what trials differ by.
fn many() -> Floors {
    let sizes: Vec<(u32, [f64; 4], f64)> = (1..=40)
        .map(|n| {
            let piece = 40.0 + 120.0 / f64::from(n);
            (n, [0.95, 1.0, 1.05, 1.1].map(|f| f * piece), 0.96 * piece)
        })
        .collect();
    floors(60.0, MadeFor::Batches, &sizes)
}

#[test]
fn charts_look_as_they_should() {
    let at = |floors: &Floors, columns| chart(floors, &look(columns, true)).unwrap();
    insta::assert_snapshot!("floor_many", at(&many(), 80));
    let mut hopeless = many();
    for size in &mut hopeless.sizes[..2] {
        size.floor_asked.price = None;
        size.floor[3].price = None;
    }
    insta::assert_snapshot!("floor_hopeless_at_first", at(&hopeless, 60));
    let quote = floors(
        62.0,
        MadeFor::Order,
        &[
            (1, [130.0, 143.0, 152.0, f64::INFINITY], 136.0),
            (6, [47.0, 51.0, 54.0, 57.0], 48.6),
            (24, [33.5, 36.0, 37.0, 38.0], 34.5),
        ],
    );
    insta::assert_snapshot!("floor_order", at(&quote, 80));
    let one = floors(62.0, MadeFor::Batches, &[(9, [56.0, 61.0, 64.0, f64::INFINITY], 57.0)]);
    insta::assert_snapshot!("floor_one", at(&one, 60));
}

#[test]
fn no_line_is_wider_than_the_terminal_and_the_page_has_it() {
    assert_eq!(fitting(|look| chart(&many(), look)).len(), 6);
    on_its_page(&many(), "The price at which");
}

/// One size at 60 columns: names of 18, figures of 5, so 60 - 18 - 2 - 6 = 34 columns. The axis shows 50 to 66, a tenth more
/// than is asked, and 0.96 around it: 50 is 0.96 / 17.92 of 33 columns along, column 2; 54 is column 9; 60, as much as is
/// asked, column 20.
#[test]
fn a_price_stands_where_it_is() {
    let one = floors(60.0, MadeFor::Batches, &[(9, [50.0, 54.0, 60.0, 60.0], 50.0)]);
    let text = chart(&one, &look(60, true)).unwrap();
    for (name, column) in [("in 50 %", 2), ("in 80 %", 9), ("in 90 %", 20), ("on average", 2)] {
        let row = row_of(&text, name).unwrap();
        assert_eq!(row.iter().position(|c| *c == '●'), Some(column), "{name}\n{text}");
        assert_eq!(row[20], if column == 20 { '●' } else { '┆' }, "{text}");
    }
    let said = text.replace('\n', " ");
    assert!(
        said.contains("earns 32 EUR: EUR per piece, with a batch of 9"),
        "{text}"
    );
}

#[test]
fn what_has_no_price_is_said() {
    let mut answer = many();
    answer.sizes[0].floor_asked.price = None;
    answer.sizes[0].floor[1].price = None;
    let text = chart(&answer, &look(80, true)).unwrap();
    assert!(text.contains("no price does it in 80 % of batches at 1\n"), "{text}");
    let two = floors(
        62.0,
        MadeFor::Order,
        &[(1, [f64::INFINITY; 4], 90.0), (6, [47.0, 51.0, 54.0, 57.0], 48.6)],
    );
    let text = chart(&two, &look(80, true)).unwrap();
    let row = row_of(&text, "1 ").unwrap();
    assert!(row.ends_with(&"► no price".chars().collect::<Vec<_>>()), "{text}");
    assert!(text.contains("► beyond the axis"), "{text}");
}

#[test]
fn one_alone_is_called_one_where_no_price_pays() {
    let none = [f64::INFINITY; 4];
    let said = |made_for: MadeFor| {
        let answer = floors(62.0, made_for, &[(1, none, 0.0), (6, none, 0.0)]);
        let view = View::new(&answer);
        let six = View {
            about: answer.sizes.last(),
            ..View::new(&answer)
        };
        (view.opening()[0].clone(), six.why().join(" "))
    };
    let (alone, six) = said(MadeFor::Batches);
    assert_eq!(alone, "Do not make one at a time as it is: no price pays.");
    assert!(six.contains("For a single piece no price would do."), "{six}");
    let (alone, six) = said(MadeFor::Order);
    assert_eq!(alone, "Do not take an order of one as it is: no price pays.");
    assert!(six.contains("For a piece ordered alone no price would do."), "{six}");
}

/// Whoever multiplies what a piece of an order costs finds what the whole order is said to cost: 12 times 130.97 EUR.
#[test]
fn an_order_in_all_is_told_to_the_cent() {
    let mut answer = floors(117.0, MadeFor::Order, &[(12, [130.963; 4], 113.0)]);
    answer.certain = true;
    let view = View::new(&answer);
    assert_eq!(
        view.opening()[0],
        "Quote at least 130.97 EUR a piece for an order of 12, 1,571.64 EUR in all."
    );
    let grid = view.sizes().grid(&look(100, true));
    assert!(grid.rows[0].iter().any(|cell| cell.text == "1,571.64"));
}

/// No price of 0 is told, and of no target that it is earned.
#[test]
fn what_pays_at_any_price_is_said() {
    let said = |target: f64, first: f64| {
        let mut answer = floors(
            62.0,
            MadeFor::Batches,
            &[(1, [40.0; 4], first), (6, [-2.0; 4], -3.0), (9, [0.0; 4], -1.0)],
        );
        answer.target = target;
        View::new(&answer).why().join(" ")
    };
    assert_eq!(
        said(32.0, 38.0),
        "At 38.00 EUR you would earn 32 EUR an hour only on average: many pieces would miss it. Any price pays in batches of 6. In \
         batches of 9 any price pays."
    );
    assert!(
        said(0.0, 38.0).starts_with("At 38.00 EUR you would cover your costs only on average: many pieces would not.")
    );
    assert!(said(0.0, 45.0).starts_with("To cover your costs on average as well takes 45.00 EUR, because bad pieces"));
    assert!(said(0.0, -1.0).starts_with("On average any price covers your costs, but in many pieces it would not."));
}

/// Of one size each confidence has a row, and the asked one is the row that matters; 54 EUR are 54 x 1.25 USD at the fair.
#[test]
fn the_asked_confidence_is_the_row_that_matters_and_a_price_is_told_in_each_channels_money() {
    let mut one = floors(60.0, MadeFor::Batches, &[(9, [50.0, 54.0, 60.0, 60.0], 50.0)]);
    one.channels = vec![ChannelPrice {
        name: "fair".to_owned(),
        currency: "USD".to_owned(),
        per_list_price: 1.25,
    }];
    let view = View::new(&one);
    let grid = view.one_size(&one.sizes[0]).grid(&look(80, true));
    assert_eq!(grid.rows[grid.marked.unwrap()][0].text, "in 80 % of batches");
    assert_eq!(
        view.by_channel(&one.sizes[0]).as_deref(),
        Some("A list price of 54.00 EUR comes to 67.50 USD through 'fair'.")
    );
    let single = |name: &str, per_list_price| ChannelPrice {
        name: name.to_owned(),
        currency: "EUR".to_owned(),
        per_list_price,
    };
    assert_eq!(view.singly(&one.sizes[0]), None);
    one.singles = vec![single("", 0.7)];
    let view = View::new(&one);
    let said = view.singly(&one.sizes[0]);
    assert_eq!(said.as_deref(), Some("Pieces sold singly are then 37.80 EUR."));
    one.singles = vec![single("post", 0.7), single("shop", 0.5)];
    let view = View::new(&one);
    let said = view.singly(&one.sizes[0]);
    assert_eq!(
        said.as_deref(),
        Some("Pieces sold singly are then 37.80 EUR through 'post' and 27.00 EUR through 'shop'.")
    );
}

#[test]
fn an_order_of_several_is_said_to_be_one_parcel() {
    let once = |postage, material, minutes| OnceAnOrder {
        postage,
        material,
        minutes,
    };
    let said = |once, most| one_parcel(once, most, "EUR");
    assert_eq!(
        said(once(6.5, 1.2, 12.0), 12).as_deref(),
        Some(
            "An order counts as one parcel here: 6.50 EUR of postage, 1.20 EUR of material and 12 min of work. If 12 pieces need more \
             parcels, add what those cost."
        )
    );
    assert_eq!(
        said(once(0.0, 0.0, 200.0), 2).as_deref(),
        Some(
            "An order counts 3 h 20 min of work once, however many pieces are in it. If 2 pieces need more, add that."
        )
    );
    assert_eq!(
        (said(once(6.5, 0.0, 0.0), 1), said(once(0.0, 0.0, 0.0), 12)),
        (None, None)
    );
}

#[test]
fn where_there_is_nothing_to_draw_there_is_no_chart() {
    let look = look(80, true);
    // One price beside the asked one, and no price at all.
    let one_price = floors(62.0, MadeFor::Batches, &[(9, [50.0; 4], 50.0)]);
    let mut certain = one_price.clone();
    certain.certain = true;
    assert_eq!(chart(&certain, &look), None);
    assert!(chart(&one_price, &look).is_some());
    let hopeless = floors(62.0, MadeFor::Batches, &[(9, [f64::INFINITY; 4], f64::INFINITY)]);
    assert_eq!(chart(&hopeless, &look), None);
}

proptest! {
    #[test]
    fn no_answer_breaks_it(
        prices in prop::collection::vec(prop::array::uniform5(any_figure()), 1..20),
        price in any_figure(),
        columns in 60usize..130,
    ) {
        let sizes: Vec<(u32, [f64; 4], f64)> = prices
            .iter()
            .zip(1..)
            .map(|(p, n)| (n * n, [p[0], p[1], p[2], p[3]], p[4]))
            .collect();
        if let Some(text) = chart(&floors(price, MadeFor::Batches, &sizes), &look(columns, true)) {
            no_wider(&text, columns);
        }
    }
}
