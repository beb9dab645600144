//! Amounts and sizes as people write them.

use super::*;

#[test]
fn times_are_read_as_people_write_them() {
    for (text, minutes) in [
        ("12 min", 12.0),
        ("12min", 12.0),
        (" 12  minutes ", 12.0),
        ("1 minute", 1.0),
        ("90 s", 1.5),
        ("90 sec", 1.5),
        ("1 h 30 min", 90.0),
        ("1h30min", 90.0),
        ("1 h 30", 90.0),
        ("1h30", 90.0),
        ("2 hours 5", 125.0),
        ("1 h 59.5", 119.5),
        ("1 h 0", 60.0),
        ("1 h 30 s", 60.5),
        ("2 hours 15 min 30 s", 135.5),
        ("18 h", 1080.0),
        ("1.5 h", 90.0),
        (".5 H", 30.0),
        ("1e1 min", 10.0),
        ("0", 0.0),
        ("0 min", 0.0),
    ] {
        let s = good(&with_step(&format!("each = \"{text}\"\nsetup = \"1 min\"")));
        assert_eq!(s.steps[0].each, Spread::Certain(minutes), "{text}");
    }
    assert_eq!(
        good(&with_step("each = \"1 min\"\nsetup = 0")).steps[0].setup,
        Spread::ZERO
    );
    for (text, minutes) in [("3 d", 4320.0), ("1 day 2 h", 1560.0), ("2 days", 2880.0)] {
        let s = good(&with_step(&format!("each = \"1 min\"\nwait = \"{text}\"")));
        assert_eq!(s.steps[0].wait, Spread::Certain(minutes), "{text}");
    }
}

/// The cure is what was probably meant, and is itself read; where it would be refused, there is an example.
#[test]
fn minutes_past_the_hour_are_told_as_hours_and_minutes() {
    let cure = |range: &str| {
        let faults = bad(&with_step(&format!("each = \"{range}\"")));
        faults
            .iter()
            .map(|fault| fault.cure().to_owned())
            .collect::<Vec<_>>()
            .join("; ")
    };
    assert_eq!(cure("1 h / 1 h 90 / 3 h"), "write `\"1 h / 2 h 30 min / 3 h\"`");
    assert_eq!(each("\"1 h / 2 h 30 min / 3 h\""), triangle(60.0, 150.0, 180.0));
    assert!(cure("1 h 90 / 2 h / 3 h").starts_with("write for example"));
}

#[test]
fn ranges_are_read_as_people_write_them() {
    assert_eq!(each("\"8 / 12 / 25 min\""), triangle(8.0, 12.0, 25.0));
    assert_eq!(each("\"8/12/25min\""), triangle(8.0, 12.0, 25.0));
    assert_eq!(each("\"2 / 3 / 5 h\""), triangle(120.0, 180.0, 300.0));
    assert_eq!(each("\"45 min / 1 h / 2 h\""), triangle(45.0, 60.0, 120.0));
    assert_eq!(each("\"45 min / 1 h 15 min / 2 h\""), triangle(45.0, 75.0, 120.0));
    assert_eq!(each("\"45 min / 1 h 15 / 1 h 30\""), triangle(45.0, 75.0, 90.0));
    assert_eq!(each("\"0 / 5 / 10 min\""), triangle(0.0, 5.0, 10.0));
    assert_eq!(each("\"8 / 12 min\""), Spread::Uniform { low: 8.0, high: 12.0 });
    // Ends that meet.
    assert_eq!(each("\"8 / 8 / 12 min\""), triangle(8.0, 8.0, 12.0));
    assert_eq!(each("\"8 / 12 / 12 min\""), triangle(8.0, 12.0, 12.0));
    assert_eq!(each("\"8 / 8 / 8 min\""), Spread::Certain(8.0));
    assert_eq!(each("\"8 / 8 min\""), Spread::Certain(8.0));
}

#[test]
fn the_table_form_says_more() {
    let t = |low, likely, high| ThreePoint { low, likely, high };
    for (text, expected) in [
        (
            "{ low = 3, likely = 4, high = 7, unit = \"min\" }",
            Spread::Triangular(t(3.0, 4.0, 7.0)),
        ),
        (
            "{ low = 1, likely = 2, high = 3, unit = \"h\", shape = \"pert\" }",
            Spread::Pert(t(60.0, 120.0, 180.0)),
        ),
        (
            "{ low = \"45 min\", likely = \"1 h\", high = \"2 h\", shape = \"triangular\", ends = \"limits\" }",
            Spread::Triangular(t(45.0, 60.0, 120.0)),
        ),
        (
            "{ low = 3, high = 7, unit = \"min\" }",
            Spread::Uniform { low: 3.0, high: 7.0 },
        ),
        (
            "{ low = 10, high = 18, unit = \"min\", shape = \"uniform\", ends = \"tenths\" }",
            Spread::Uniform { low: 9.0, high: 19.0 },
        ),
        (
            "{ low = 5, high = 15, unit = \"min\", shape = \"lognormal\", ends = \"tenths\" }",
            Spread::lognormal_from_tenths(5.0, 15.0),
        ),
        (
            "{ low = 5, likely = 8, high = 15, unit = \"min\", ends = \"tenths\" }",
            Spread::triangular_from_tenths(t(5.0, 8.0, 15.0)).unwrap(),
        ),
        (
            "{ low = 5, likely = 8, high = 15, unit = \"min\", shape = \"pert\", ends = \"tenths\" }",
            Spread::pert_from_tenths(t(5.0, 8.0, 15.0)).unwrap(),
        ),
        (
            "{ low = 4, likely = 4, high = 4, unit = \"min\", shape = \"pert\" }",
            Spread::Certain(4.0),
        ),
        (
            "{ low = 4, high = 4, unit = \"min\", shape = \"lognormal\", ends = \"tenths\" }",
            Spread::Certain(4.0),
        ),
    ] {
        assert_eq!(each(text), expected, "{text}");
    }
    // Also as a section of its own, and for money and shares.
    let text = LEAST.replace(
        "each = \"4 min\"",
        "[step.each]\nlow = 3\nlikely = 4\nhigh = 7\nunit = \"min\"",
    );
    assert_eq!(good(&text).steps[0].each, triangle(3.0, 4.0, 7.0));
    let text = format!(
        "{LEAST}post = {{ low = 5, likely = 6, high = 9.5 }}\n[[material]]\nname = \"oak\"\nper_piece = 1\nprice = 7\n\
         waste = {{ low = 15, likely = 25, high = 40, unit = \"%\" }}"
    );
    assert_eq!(good(&text).sale.post, triangle(5.0, 6.0, 9.5));
    assert_eq!(good(&text).materials[0].waste, triangle(0.15, 0.25, 0.4));
}

#[test]
fn sizes_are_read_as_people_write_them() {
    for (text, expected) in [
        ("\"1..4\"", vec![1, 2, 3, 4]),
        ("\"5..21 step 5\"", vec![5, 10, 15, 20]),
        ("[8, 1, 2, 4, 2]", vec![1, 2, 4, 8]),
        ("\"1..3, 16, 24\"", vec![1, 2, 3, 16, 24]),
        ("\"1 .. 3,2..4\"", vec![1, 2, 3, 4]),
        ("12", vec![12]),
        ("\"10000\"", vec![10_000]),
    ] {
        assert_eq!(
            good(&format!("{LEAST}[batch]\nsizes = {text}")).batch.sizes,
            expected,
            "{text}"
        );
    }
    for text in [
        "0",
        "-1",
        "\"1..\"",
        "\"\"",
        "\"3..1\"",
        "\"1..9 step 0\"",
        "10001",
        "\"1..3,\"",
        "true",
        "[]",
    ] {
        bad(&format!("{LEAST}[batch]\nsizes = {text}"));
    }
}

#[test]
fn shares_are_the_nearest_fraction() {
    let s = good(&format!("{LEAST}fee = \"7 %\"\ntax = \"20%\"\nreturned = 0\n"));
    assert_eq!((s.sale.fee, s.sale.tax, s.sale.returned), (0.07, 0.2, 0.0));
}

/// Each of these is one fault and no panic; the wording is held by `scenarios/invalid/`.
#[test]
fn what_is_no_amount_is_refused() {
    for value in [
        "4",
        "4.5",
        "nan",
        "inf",
        "-inf",
        "true",
        "1979-05-27",
        "[1]",
        "\"min\"",
        "\"4\"",
        "\"4 m\"",
        "\"4 %\"",
        "\"4 EUR\"",
        "\"€ 4\"",
        "\"nan min\"",
        "\"inf min\"",
        "\"1e999 min\"",
        "\"-1 min\"",
        "\"1 h -30 min\"",
        "\"1 h 60\"",
        "\"1 h 90\"",
        "\"1 h -30\"",
        "\"1 h 1/2 h\"",
        "\"1 h 30 20\"",
        "\"30 min 20\"",
        "\"30 / 1 h 30\"",
        "\"30 min 1 h\"",
        "\"1 200 min\"",
        "\"8 - 12 min\"",
        "\"8–12 min\"",
        "\"8..12 min\"",
        "\"about 8 min\"",
        "\"8 min or so\"",
        "\"/\"",
        "\"8 / min\"",
        "\"8 / 12 / 25\"",
        "\"8 min / 12\"",
        "\"1 / 1 h 30 min\"",
        "\"8 // 9 min\"",
        "\"1 d\"",
        "{}",
        "{ low = 1 }",
        "{ low = 1, likely = 2, high = 3 }",
        "{ low = 1, likely = 2, high = 3, unit = 4 }",
        "{ low = \"1 / 2 min\", high = \"3 min\" }",
        "{ low = 3, likely = 2, high = 1, unit = \"min\" }",
        "{ low = 1, likely = 2, high = 3, unit = \"min\", ends = \"middle\" }",
        "{ low = 1e-6, high = 1e9, unit = \"min\", shape = \"lognormal\", ends = \"tenths\" }",
    ] {
        let faults = bad(&with_step(&format!("each = {value}")));
        assert!(
            faults.iter().all(|f| f.what().contains("step `saw`")),
            "{value}: {faults}"
        );
    }
}

/// What the cures name between backticks, for `line`, which is one fault.
fn cured(line: &str) -> Vec<String> {
    let faults = bad(&with_line(line));
    let [fault] = faults.iter().collect::<Vec<_>>()[..] else {
        panic!("{line}: {:?}", faults.iter().map(Fault::what).collect::<Vec<_>>())
    };
    fault.cure().split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// A scenario with a line of its step, or of its sale where it is about money.
fn with_line(line: &str) -> String {
    match line.split_once(" = ").map(|(key, _)| key) {
        Some("price") => LEAST.replace("price = 58\n", &format!("{line}\n")),
        Some("each") => with_step(line),
        _ => with_step(&format!("each = \"1 min\"\n{line}")),
    }
}

/// A comma, point or stroke between digits: every reading that may be meant is named, and no other, and each is read.
#[test]
fn a_divided_number_is_cured_to_what_may_be_meant() {
    for (written, rest, due) in [
        ("0,125", " h", &["0.125"][..]),
        ("0,750", " h", &["0.750"]),
        ("12,5", " min", &["12.5"]),
        ("1,125", " h", &["1.125", "1125"]),
        ("4,719", " min", &["4.719", "4719"]),
        ("1234,567", " min", &["1234.567"]),
        ("1,250,000", " s", &["1250000"]),
        ("1.200,50", " min", &["1200.50"]),
        ("1,200.50", " min", &["1200.50"]),
        ("1'200", " s", &["1200"]),
    ] {
        let line = |figure: &str| format!("setup = \"{figure}{rest}\"");
        assert_eq!(cured(&line(written)), due, "{written}");
        for figure in due {
            good(&with_line(&line(figure)));
        }
    }
    for (written, due) in [("0,125", &["0.125"][..]), ("4,719", &["4.719", "4719"])] {
        assert_eq!(cured(&format!("spoil = \"{written} %\"")), due);
    }
    // Money has no thousandths.
    for (written, due) in [
        ("1,200", "1200"),
        ("28,50", "28.50"),
        ("1’200.50", "1200.50"),
        ("1.000.000", "1000000"),
    ] {
        assert_eq!(cured(&format!("price = \"{written}\"")), [due]);
        good(&with_line(&format!("price = {due}")));
    }
    assert_eq!(cured("each = \"8,12,25 min\"")[1], "8 / 12");
}

/// The signs of minutes and seconds are told as such, alone, one behind the other and in a range; no sign or letter is an hour.
#[test]
fn signs_of_minutes_and_seconds_are_told_as_units() {
    for (written, due) in [
        ("12'", "12 min"),
        ("12′", "12 min"),
        ("90''", "90 s"),
        ("5'30''", "5 min 30 s"),
        ("5'30", "5 min 30 s"),
        ("8' / 12' / 25'", "8 min / 12 min / 25 min"),
        ("8 / 12 / 25'", "8 / 12 / 25 min"),
    ] {
        assert_eq!(
            cured(&format!("setup = \"{written}\"")),
            [format!("\"{due}\"")],
            "{written}"
        );
        good(&with_line(&format!("setup = \"{due}\"")));
    }
    assert_eq!(cured("setup = '12\"'"), ["\"12 s\""]);
    assert_eq!(cured("setup = \"12 u\""), ["wait"]);
    assert_eq!(cured("setup = \"12 mni\""), ["min"]);
}

/// A word that says no more than the figure before it goes; one that makes another amount of it does not.
#[test]
fn an_idle_word_behind_a_figure_is_left_out() {
    for (line, due) in [
        ("price = \"28 euro\"", "28"),
        ("price = \"28.50 Euros\"", "28.50"),
        ("price = \"28 kr\"", "28"),
        ("price = \"28 apiece\"", "28"),
        ("price = \"28 euro per piece\"", "28"),
    ] {
        assert_eq!(cured(line), [due], "{line}");
        good(&with_line(&format!("price = {due}")));
    }
    let material = |per_piece: &str, price: &str| {
        format!("{LEAST}[[material]]\nname = \"snap\"\nper_piece = {per_piece}\nprice = {price}\n")
    };
    let cure = |text: &str| bad(text).iter().next().unwrap().cure().to_owned();
    assert_eq!(cure(&material("\"6 snaps\"", "1")), "write the number alone, `6`");
    assert!(cure(&material("6", "\"1 / 2 euro\"")).starts_with("write the numbers alone, `\"1 / 2\"`, in the"));
    assert!(cure(&material("6", "\"1 euro / 2 euro\"")).starts_with("write the numbers alone, `\"1 / 2\"`, in the"));
    good(&material("6", "\"1 / 2\""));
    for another in [
        "50 cents",
        "2 thousand",
        "28k",
        "2 thousand euro",
        "5 percent",
        "30 min",
    ] {
        assert_eq!(cured(&format!("price = \"{another}\"")), ["6.5"], "{another}");
    }
    assert!(cure(&material("\"500 g\"", "8")).starts_with("write for example"));
}
