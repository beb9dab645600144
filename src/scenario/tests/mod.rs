//! The reader held to what the page on the scenario file says.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use proptest::prelude::*;

use super::*;

mod amounts;

/// Every section and key there is.
const WHOLE: &str = r#"
title      = "Oak peg rail, five pegs"
currency   = "EUR"
target     = 32
confidence = "75 %"

[batch]
sizes   = "5..20 step 5"
spoiled = "remake"
runs    = 4

[pace]
factor = "0.9 / 1 / 1.35"

[[step]]
name = "draw and try out"
once = "3 h"

[[step]]
name      = "glue pegs"
setup     = "3 / 4 / 8 min"
each      = "3 / 4 / 7 min"
room      = 6
wait      = "12 h"
varies    = "batch"
learning  = "92 %"
made_before = 2
learned_by  = 60
redo      = "5 %"
spoil     = "1 %"

[[step]]
name      = "pack and post"
per_order = "15 / 20 / 35 min"

[[material]]
name      = "oak, sawn 25 mm"
per_piece = 0.9
per_batch = 0.2
per_round = 0.1
per_order = 0.05
unit      = "board"
price     = "6.20 / 7.00 / 8.50"
waste     = "15 / 25 / 40 %"
pack      = 1
leftover  = "lost"
breaks    = [{ from = 10, price = 6.00 }, { from = 50, price = "5.00 / 5.50 / 6.00" }]
paid      = 0
at        = "glue pegs"

[sale]
price        = 58
tax          = "20 %"
order_of     = "1 / 1 / 4"
fee          = "6.5 %"
fee_per_order = 0.30
post         = "5.90 / 6.80 / 9.50"
post_charged = 6.00
returned     = "2 %"

[shop]
per_hour        = 3.20
per_month       = 180
hours_per_month = 60
"#;

/// The least a scenario can be.
const LEAST: &str = "target = 30\n[[step]]\nname = \"saw\"\neach = \"4 min\"\n[sale]\nprice = 58\n";

fn triangle(low: f64, likely: f64, high: f64) -> Spread {
    Spread::Triangular(ThreePoint { low, likely, high })
}

#[track_caller]
fn good(text: &str) -> Scenario {
    read("peg rail.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)))
}

#[track_caller]
fn bad(text: &str) -> Faults {
    read("peg rail.toml", text, &[]).expect_err("this should be refused")
}

/// The least scenario with a line added to its step.
fn with_step(line: &str) -> String {
    LEAST.replace("each = \"4 min\"", line)
}

/// The time of `each` in the least scenario.
#[track_caller]
fn each(value: &str) -> Spread {
    good(&with_step(&format!("each = {value}"))).steps[0].each.clone()
}

fn set(key: &str, value: &str) -> Vec<(String, String)> {
    vec![(key.to_owned(), value.to_owned())]
}

// As long as there are keys: one comparison of all that is read.
#[test]
fn a_whole_scenario_is_read() {
    let s = good(WHOLE);
    assert_eq!(s.title, "Oak peg rail, five pegs");
    assert_eq!(
        (s.currency.as_str(), s.target_per_hour, s.confidence),
        ("EUR", 32.0, 0.75)
    );
    assert_eq!(
        s.batch,
        Batch {
            sizes: vec![5, 10, 15, 20],
            spoiled: Spoiled::Remake,
            runs: 4
        }
    );
    assert_eq!(s.pace, triangle(0.9, 1.0, 1.35));
    assert_eq!(s.steps.len(), 3);
    assert_eq!(s.steps[0].once, Spread::Certain(180.0));
    assert_eq!(
        s.steps[1],
        Step {
            name: "glue pegs".to_owned(),
            once: Spread::ZERO,
            setup: triangle(3.0, 4.0, 8.0),
            each: triangle(3.0, 4.0, 7.0),
            per_order: Spread::ZERO,
            room: Some(6),
            others: 0.0,
            helped: false,
            kept_in: None,
            wait: Spread::Certain(720.0),
            varies: Varies::Batch,
            opposite: 0.0,
            learning: Some(Learning {
                rate: 0.92,
                made_before: 2,
                learned_by: Some(60)
            }),
            redo: 0.05,
            spoil: 0.01,
            second: 0.0,
            guessed: Guessed::default(),
        }
    );
    assert_eq!(s.steps[2].per_order, triangle(15.0, 20.0, 35.0));
    assert_eq!(
        s.materials,
        vec![Material {
            name: "oak, sawn 25 mm".to_owned(),
            unit: "board".to_owned(),
            per_piece: 0.9,
            per_batch: 0.2,
            per_round: 0.1,
            per_order: 0.05,
            channel: None,
            price: triangle(6.2, 7.0, 8.5),
            waste: triangle(0.15, 0.25, 0.4),
            pack: Some(1.0),
            leftover: Leftover::Lost,
            breaks: vec![
                Break {
                    from: 10.0,
                    price: Spread::Certain(6.0)
                },
                Break {
                    from: 50.0,
                    price: triangle(5.0, 5.5, 6.0)
                },
            ],
            paid: Some(0.0),
            currency: None,
            at: 1,
        }]
    );
    assert_eq!(
        s.sale,
        Sale {
            price: 58.0,
            tax: 0.2,
            order_of: triangle(1.0, 1.0, 4.0),
            fee: 0.065,
            fee_per_order: 0.3,
            post: triangle(5.9, 6.8, 9.5),
            post_charged: 6.0,
            tip: Spread::ZERO,
            returned: 0.02,
            as_new: 0.0,
            set_of: 1,
            single_price: None,
            quote: Tries::NONE,
            enquiry: Tries::NONE,
            currencies: SaleCurrencies::default(),
        }
    );
    assert_eq!(
        s.shop,
        Shop {
            per_hour: 3.2,
            per_month: 180.0,
            hours_per_month: 60.0
        }
    );
}

#[test]
fn the_least_scenario_has_the_documented_defaults() {
    let s = good(LEAST);
    assert_eq!(
        (s.title.as_str(), s.currency.as_str(), s.confidence),
        ("peg rail", "XXX", 0.8)
    );
    assert_eq!(
        s.batch,
        Batch {
            sizes: (1..=24).collect(),
            spoiled: Spoiled::Short,
            runs: 1
        }
    );
    assert_eq!(s.pace, Spread::Certain(1.0));
    assert_eq!(
        s.steps,
        vec![Step {
            name: "saw".to_owned(),
            once: Spread::ZERO,
            setup: Spread::ZERO,
            each: Spread::Certain(4.0),
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
        }]
    );
    assert!(s.materials.is_empty());
    assert_eq!(
        s.sale,
        Sale {
            price: 58.0,
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
        }
    );
    assert_eq!(
        s.shop,
        Shop {
            per_hour: 0.0,
            per_month: 0.0,
            hours_per_month: 0.0
        }
    );
}

#[test]
fn all_faults_are_shown_at_once_in_the_order_of_the_file() {
    let text = WHOLE
        .replace("target     = 32", "target     = -32")
        .replace("room      = 6", "rooom     = 6")
        .replace("\"3 / 4 / 8 min\"", "\"9 / 4 / 3 min\"")
        .replace("redo      = \"5 %\"", "redo      = \"500 %\"")
        .replace("at        = \"glue pegs\"", "at        = \"glue pgs\"")
        .replace("price        = 58", "price        = \"58 min\"");
    let faults = bad(&text);
    let lines: Vec<usize> = faults.iter().map(|f| faults.line_and_column(f).0).collect();
    assert_eq!(lines, [4, 21, 23, 29, 49, 52], "{faults}");
    let marked: Vec<&str> = faults.iter().map(|f| &text[f.span()]).collect();
    assert_eq!(marked, ["-32", "9 / 4", "rooom", "500 %", "\"glue pgs\"", "min"]);
    assert!(faults.iter().any(|f| f.cure().contains("`room`")));
    assert!(faults.iter().any(|f| f.cure().contains("`glue pegs`")));
}

#[test]
fn columns_count_characters() {
    let text = LEAST.replace("name = \"saw\"", "name = \"sägen 鋸\"\nspoil = \"ä 3 %\"");
    let faults = bad(&text);
    let fault = faults.iter().next().unwrap();
    assert_eq!(&text[fault.span()], "ä");
    assert_eq!(faults.line_and_column(fault), (4, 10));
}

#[test]
fn a_text_with_escapes_is_marked_as_a_whole() {
    let text = with_step("each = \"4\\u0020mni\"");
    let faults = bad(&text);
    assert_eq!(&text[faults.iter().next().unwrap().span()], "\"4\\u0020mni\"");
}

#[test]
fn values_for_one_call_override_the_file() {
    for (key, value, check) in [
        (
            "sale.price",
            "62",
            (|s: &Scenario| s.sale.price == 62.0) as fn(&Scenario) -> bool,
        ),
        ("sale.price", "\"62\"", |s| s.sale.price == 62.0),
        ("target", "40.5", |s| s.target_per_hour == 40.5),
        ("title", "Rail no. 2", |s| s.title == "Rail no. 2"),
        ("title", "2027", |s| s.title == "2027"),
        ("confidence", "90 %", |s| s.confidence == 0.9),
        ("step.glue pegs.setup", "8 / 12 / 25 min", |s| {
            s.steps[1].setup == triangle(8.0, 12.0, 25.0)
        }),
        ("step.\"glue pegs\".setup", "\"9 min\"", |s| {
            s.steps[1].setup == Spread::Certain(9.0)
        }),
        ("step.'glue pegs'.room", "3", |s| s.steps[1].room == Some(3)),
        (
            "step.pack and post.each",
            "{ low = 1, high = 2, unit = \"min\" }",
            |s| s.steps[2].each == Spread::Uniform { low: 1.0, high: 2.0 },
        ),
        ("material.oak, sawn 25 mm.price", "9", |s| {
            s.materials[0].price == Spread::Certain(9.0)
        }),
        ("material.oak, sawn 25 mm.breaks", "[]", |s| {
            s.materials[0].breaks.is_empty()
        }),
        ("pace.factor", "1 / 1.5", |s| {
            s.pace == Spread::Uniform { low: 1.0, high: 1.5 }
        }),
        ("batch.sizes", "1..3", |s| s.batch.sizes == [1, 2, 3]),
        ("batch.sizes", "[1,2,4]", |s| s.batch.sizes == [1, 2, 4]),
        ("batch.spoiled", "short", |s| s.batch.spoiled == Spoiled::Short),
    ] {
        let s = read("f.toml", WHOLE, &set(key, value)).unwrap_or_else(|f| panic!("{}", f.render(false, 100)));
        assert!(check(&s), "{key}={value}: {s:?}");
    }
    // A section that the file does not have.
    let s = read("f.toml", LEAST, &set("shop.per_hour", "3")).unwrap();
    assert_eq!(s.shop.per_hour, 3.0);
    // A name with a dot in it, and one name that begins another.
    let text = LEAST.replace("[sale]", "[[step]]\nname = \"saw. 2nd cut\"\neach = \"1 min\"\n[sale]");
    let s = read("f.toml", &text, &set("step.saw. 2nd cut.each", "7 min")).unwrap();
    assert_eq!(
        (s.steps[0].each.clone(), s.steps[1].each.clone()),
        (Spread::Certain(4.0), Spread::Certain(7.0))
    );
    // A fault of the file is mended by the value for one call.
    let s = read("f.toml", &LEAST.replace("58", "\"dear\""), &set("sale.price", "5")).unwrap();
    assert_eq!(s.sale.price, 5.0);
}

#[test]
fn a_fault_in_a_value_for_one_call_points_at_it() {
    for (key, value, marked) in [
        ("sale.price", "62 min", "min"),
        ("sale.prise", "62", "prise"),
        ("sael.price", "62", "sael"),
        ("step.glue pegs.setup", "8 / 4 / 5 min", "8 / 4"),
        ("step.glue pegs.setup", "{ low = \"1 min\", high = \"2 EUR\" }", "EUR"),
        ("step.\"glue pegs\".stup", "1 min", "stup"),
        ("step.glue.setup", "1 min", "glue"),
        ("step.\"glue\".setup", "1 min", "\"glue\""),
        ("material.ash.price", "1", "ash"),
        ("batch.sizes", "[1, 0]", "0"),
        ("target", "", ""),
        ("sale.price.low", "1", "sale.price.low"),
        ("step", "1", "step"),
        ("step.glue pegs", "1", "step.glue pegs"),
        ("", "1", ""),
        (".", "1", "."),
        ("step.", "1", "step."),
        ("step.\"glue", "1", "step.\"glue"),
    ] {
        let faults = read("f.toml", WHOLE, &set(key, value)).expect_err(key);
        let of_call: Vec<_> = faults.iter().filter(|f| !f.is_in_file()).collect();
        assert!(!of_call.is_empty(), "{key}={value}: {faults}");
        let (name, text) = faults.source_of(of_call[0]);
        assert_eq!(name, "--set");
        assert_eq!(text, format!("{key}={value}"));
        assert_eq!(&text[of_call[0].span()], marked, "{key}={value}: {faults}");
    }
}

#[test]
fn settings_are_split_at_the_first_sign_outside_quotes() {
    let pair = |k: &str, v: &str| Some((k.to_owned(), v.to_owned()));
    assert_eq!(split_setting("sale.price=62"), pair("sale.price", "62"));
    assert_eq!(split_setting("a = b = c"), pair("a", "b = c"));
    assert_eq!(
        split_setting("step.\"a=b\".each=1 min"),
        pair("step.\"a=b\".each", "1 min")
    );
    assert_eq!(
        split_setting("step.maker's mark.each=1 min"),
        pair("step.maker's mark.each", "1 min")
    );
    assert_eq!(split_setting("target="), pair("target", ""));
    assert_eq!(split_setting("target"), None);
    assert_eq!(split_setting("=3"), None);
    assert_eq!(split_setting(""), None);
}

#[test]
fn nothing_that_steers_a_terminal_is_shown() {
    let faults = read("a\u{1b}[31m.toml", "target = \"\u{9b}31m\u{202e}\"\nb\u{7f}", &[]).expect_err("not TOML");
    let shown = faults.render(false, 80) + &faults.to_string();
    assert!(
        shown.chars().all(|c| c == '\n' || !(c.is_control() || c == '\u{202e}')),
        "{shown:?}"
    );
}

#[test]
fn a_long_line_is_cropped_around_the_fault() {
    let text = LEAST.replace(
        "each = \"4 min\"",
        &format!("{}each = \"4 mni\" # {}", " ".repeat(500), "x".repeat(5000)),
    );
    let shown = bad(&text).render(false, 80);
    assert!(shown.contains("4 mni"), "{shown}");
    assert!(shown.lines().all(|l| l.chars().count() <= 80), "{shown}");
    assert!(shown.contains(":4:511"), "{shown}");
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_text() {
    good(&format!("\u{feff}{LEAST}"));
    let faults = bad("\u{feff}targt = 3\n");
    assert_eq!(faults.line_and_column(faults.iter().next().unwrap()), (1, 1));
}

#[test]
fn line_ends_of_either_kind_are_read() {
    assert_eq!(good(&WHOLE.replace('\n', "\r\n")), good(WHOLE));
    let unix = bad(&WHOLE.replace("room ", "rom "));
    let dos = bad(&WHOLE.replace("room ", "rom ").replace('\n', "\r\n"));
    assert_eq!(unix.render(false, 80), dos.render(false, 80));
}

#[test]
fn both_ways_to_write_a_list_mean_the_same() {
    let inline = "target = 30\nstep = [{ name = \"saw\", each = \"4 min\" }]\nsale = { price = 58 }\n";
    assert_eq!(good(inline), good(LEAST));
    let dotted = "target = 30\nsale.price = 58\n[[step]]\nname = \"saw\"\neach = \"4 min\"\n";
    assert_eq!(good(dotted), good(LEAST));
}

/// Whatever comes, the answer is a scenario or faults that can be shown.
fn survives(text: &str, overrides: &[(String, String)]) {
    if let Err(faults) = read("any.toml", text, overrides) {
        assert!(faults.count() > 0);
        for fault in &faults {
            let (_, source) = faults.source_of(fault);
            assert!(source.get(fault.span()).is_some(), "{fault:?}");
        }
        assert!(!faults.render(false, 60).is_empty());
        assert!(!faults.render(true, 0).is_empty());
        assert!(!faults.to_string().is_empty());
    }
}

/// Replaces a stretch of the whole scenario, its ends moved to where characters start.
fn mutated(from: usize, length: usize, with: &str) -> String {
    let floor = |mut i: usize| {
        i = i.min(WHOLE.len());
        while !WHOLE.is_char_boundary(i) {
            i -= 1;
        }
        i
    };
    let (start, end) = (floor(from), floor(from + length));
    format!("{}{with}{}", &WHOLE[..start], &WHOLE[end..])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_text_is_survived(text in "\\PC{0,200}") {
        survives(&text, &[]);
    }

    #[test]
    fn any_bytes_are_survived(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        if let Err(faults) = read_bytes("any.toml", &bytes, &[]) {
            prop_assert!(!faults.render(false, 80).is_empty());
        }
    }

    #[test]
    fn any_change_to_a_scenario_is_survived(from in 0..2000_usize, length in 0..40_usize, with in "[\\PC\n\"=\\[\\]{}./%0-9a-z-]{0,12}") {
        survives(&mutated(from, length, &with), &[]);
    }

    #[test]
    fn any_amount_is_survived(text in "[-−0-9 ./,%a-zé€\\\\x]{0,24}") {
        let text = text.replace('\\', "\\\\");
        survives(&with_step(&format!("each = \"{text}\"\nwait = \"{text}\"\nspoil = \"{text}\"")), &[]);
        survives(&format!("{LEAST}post = \"{text}\"\norder_of = \"{text}\"\n[batch]\nsizes = \"{text}\""), &[]);
    }

    #[test]
    fn any_setting_is_survived(key in "(step|material|sale|batch|pace|é)?[.\"' a-zé=]{0,16}", value in "\\PC{0,24}") {
        survives(WHOLE, &set(&key, &value));
        let split = split_setting(&format!("{key}={value}"));
        prop_assert!(split.is_none_or(|(k, _)| !k.is_empty()));
    }

    /// Any list of values is taken as it is or refused; none outside of it ever comes back.
    #[test]
    fn logged_values_are_taken_as_they_are(
        values in proptest::collection::vec(-1.0_f64..1e4, 0..40), unit in prop_oneof![Just("min"), Just("h"), Just("d"), Just("")],
    ) {
        let unit_key = if unit.is_empty() { String::new() } else { format!(", unit = \"{unit}\"") };
        let table = format!("{{ shape = \"logged\", values = {values:?}{unit_key} }}");
        let sound = values.len() >= 5 && values.iter().all(|v| *v >= 0.0) && matches!(unit, "min" | "h");
        match read("f", &with_step(&format!("each = {table}")), &[]) {
            Ok(s) => {
                prop_assert!(sound, "{table}");
                let per = if unit == "h" { 60.0 } else { 1.0 };
                prop_assert_eq!(&s.steps[0].each, &Spread::logged(values.iter().map(|v| v * per).collect()));
            }
            Err(_) => prop_assert!(!sound, "{table}"),
        }
    }

    #[test]
    fn what_is_read_keeps_the_promises_of_its_types(
        low in 0.0_f64..1e3, left in 0.0_f64..1e3, right in 0.0_f64..1e3, shape in 0..4_usize, tenths in any::<bool>(),
    ) {
        let shape = ["triangular", "pert", "uniform", "lognormal"][shape];
        let likely = if matches!(shape, "triangular" | "pert") { format!("likely = {:?},", low + left) } else { String::new() };
        let ends = if tenths { "tenths" } else { "limits" };
        let table = format!(
            "{{ low = {low:?}, {likely} high = {:?}, unit = \"min\", shape = \"{shape}\", ends = \"{ends}\" }}",
            low + left + right
        );
        if let Ok(s) = read("f", &with_step(&format!("each = {table}")), &[]) {
            let each = &s.steps[0].each;
            let (bottom, top) = each.limits();
            prop_assert!(bottom >= 0.0 && bottom <= top);
            prop_assert!(each.mean() >= bottom && each.mean() <= top && each.mean().is_finite());
            match each {
                Spread::Triangular(t) | Spread::Pert(t) => {
                    prop_assert!(t.low < t.high && t.low <= t.likely && t.likely <= t.high);
                }
                Spread::Uniform { low, high } => prop_assert!(low < high),
                Spread::Lognormal { sigma, .. } => prop_assert!(*sigma > 0.0),
                Spread::Certain(_) => {}
                Spread::Logged(_) => prop_assert!(false, "no values are given"),
            }
        } else {
            prop_assert!(tenths || shape == "lognormal", "{table}");
        }
    }
}

/// A jig that takes minutes off a time that could not be read: one fault, not two.
#[test]
fn a_time_that_cannot_be_read_is_no_time_to_take_from() {
    let jig = "[[jig]]\nname = \"stop\"\nstep = \"saw\"\neach = \"- 3 min\"\n";
    let told = |each: &str| {
        // Lines are broken anywhere.
        let faults = bad(&format!("{}{jig}", with_step(each))).render(false, 100);
        faults.replace('│', "").split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let unread = told("each = 4");
    assert!(
        unread.contains("has no unit") && !unread.contains("more than there is"),
        "{unread}"
    );
    assert!(told("each = \"2 min\"").contains("more than there is"));
}

/// Another asked price for one call: a channel's own price keeps its ratio to it, unless it is given as well. The one value overridden
/// does not move it, as it does not where it is written in the file.
#[test]
fn an_own_price_keeps_its_ratio_for_one_call() {
    let text = format!(
        "{LEAST}[[channel]]\nname = \"here\"\nshare = \"50 %\"\n[[channel]]\nname = \"abroad\"\nshare = \"50 %\"\nprice = 87\n"
    );
    let prices = |overrides: &[(&str, &str)]| {
        let overrides: Vec<_> = overrides
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        let shop = read("peg rail.toml", &text, &overrides).expect("a scenario");
        shop.channels.iter().map(|c| c.sale.price).collect::<Vec<_>>()
    };
    assert_eq!(prices(&[]), [58.0, 87.0]);
    // 87 is 1.5 times 58.
    assert_eq!(prices(&[(ASKED_PRICE, "24")]), [24.0, 36.0]);
    assert_eq!(prices(&[("sale.price", "24")]), [24.0, 87.0]);
    assert_eq!(prices(&[("sale.price", "29"), (ASKED_PRICE, "24")]), [24.0, 72.0]);
    assert_eq!(
        prices(&[(ASKED_PRICE, "24"), ("channel.abroad.price", "50")]),
        [24.0, 50.0]
    );
    assert_eq!(prices(&[("channel.abroad.price", "50")]), [58.0, 50.0]);
    // The name of one within that of another.
    let text = text.replace("abroad", "sent abroad").replace("here", "abroad");
    let overrides = [(ASKED_PRICE, "24"), ("channel.abroad.price", "50")].map(|(k, v)| (k.to_owned(), v.to_owned()));
    let shop = read("peg rail.toml", &text, &overrides).expect("a scenario");
    assert_eq!(
        shop.channels.iter().map(|c| c.sale.price).collect::<Vec<_>>(),
        [50.0, 36.0]
    );
}

/// Who copies from what ships finds every key there, ready or behind a #, in its section.
#[test]
fn every_key_stands_in_a_shipped_scenario() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios");
    let mut there = std::collections::BTreeSet::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "toml") {
            continue;
        }
        let text = std::fs::read_to_string(path).unwrap();
        let mut section = String::new();
        for line in text.lines() {
            let line = line.trim_start_matches(['#', ' ']);
            if line.starts_with('[') {
                let name = line.split(']').next().unwrap_or_default();
                name.trim_start_matches('[').clone_into(&mut section);
            } else if let Some((key, _)) = line.split_once('=') {
                there.insert(format!("{section}.{}", key.trim()));
            }
            if line.contains("{ from = ") && line.contains(" price = ") {
                there.extend(["breaks.from", "breaks.price"].map(str::to_owned));
            }
        }
    }
    let keys = keys::all()
        // What was guessed before a log is put there by `fit --write`, and by hand by nobody.
        .filter(|(section, key)| *section != keys::RANGE && !key.name.starts_with(keys::GUESSED))
        .map(|(section, key)| format!("{section}.{}", key.name));
    // A day of the week is like another; channels, selling days and seconds take from [sale] what they do not say themselves.
    let like = |key: &str| {
        let day = ["hours.tue", "hours.wed", "hours.fri", "hours.sun"].contains(&key);
        let own = ["channel.", "seconds.", "selling_day."]
            .iter()
            .find_map(|section| key.strip_prefix(section));
        let sale = own.map(|key| format!("sale.{key}"));
        if day { Some("hours.mon".to_owned()) } else { sale }
    };
    let missing: Vec<String> = keys
        .filter(|key| !there.contains(key) && !like(key).is_some_and(|like| there.contains(&like)))
        .collect();
    assert_eq!(missing, Vec::<String>::new());
}

/// Of 5 min, two jigs that take 3 min each would leave less than nothing, and 3 and 2 min leave nothing; so do half of it and 2.5 min.
#[test]
fn jigs_that_take_more_together_than_there_is_are_remarked_on() {
    let told = |first: &str, second: &str| {
        let jig = |name: &str, each: &str| format!("[[jig]]\nname = '{name}'\nstep = 'cut'\neach = '{each}'\n");
        let text = format!(
            "target = 20\n[[step]]\nname = 'cut'\neach = '5 min'\nper_order = '1 min'\n[sale]\nprice = 9\n{}{}",
            jig("stop", first),
            jig("fence", second)
        );
        let said = doubts::doubts(&good(&text));
        said.into_iter()
            .filter(|doubt| doubt.starts_with("jigs"))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        told("- 3 min", "- 3 min"),
        [
            "jigs `stop`, `fence` together take more off the `each` of step `cut` than it takes, so that used together they leave nothing of it. \
          Do they save the same minutes?"
        ]
    );
    for (first, second) in [("- 3 min", "- 2 min"), ("x 0.5", "- 2.5 min"), ("- 3 min", "+ 3 min")] {
        assert_eq!(told(first, second), Vec::<String>::new(), "{first}, {second}");
    }
    assert_eq!(told("x 0.5", "- 3 min").len(), 1);
}
