//! What is printed and handed on: the page on paper, the sheet for a buyer, money of several currencies.

use serde_json::json;

use super::*;

/// How many pages it takes is counted in a browser (tests/page/print.mjs); what that rests on is here.
#[test]
fn paper_has_the_answers_and_the_scenario_as_it_was_written() {
    for name in ["oak-peg-rail", "printed-tea-towels", "spinning-tops"] {
        let file = shipped(name);
        let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
        let html = page(std::slice::from_ref(&file), &asked);
        let document = parsed(&html);
        let of_class = |at: Node<'_, '_>, class: &str| -> usize {
            let classes = at.descendants().filter_map(|n| n.attribute("class").map(str::to_owned));
            classes.filter(|all| all.split(' ').any(|one| one == class)).count()
        };
        for answer in named(document.root(), "section") {
            let id = answer.attribute("id").expect("a name");
            assert_eq!(
                of_class(answer, "lead"),
                1,
                "{name} {id}: a heading with what follows it"
            );
            let of = |class: &str| answer.children().find(|n| n.attribute("class") == Some(class));
            let printed = of("printed columns");
            assert_eq!(printed.is_some(), id != "assumed", "{name} {id}");
            let Some(printed) = printed else { continue };
            assert!(!named(printed, "svg").is_empty(), "{name} {id}: charts");
            assert!(
                named(printed, "details").is_empty(),
                "{name} {id}: nothing that is folded"
            );
            let wide = of("printed").expect("what goes over both columns");
            let narrow = printed
                .children()
                .filter(|n| n.attribute("class") == Some("table wide"));
            assert_eq!(narrow.count(), 0, "{name} {id}: a page would take all of it or nothing");
            for table in named(printed, "table").into_iter().chain(named(wide, "table")) {
                assert_eq!(named(table, "thead").len(), 1, "{name} {id}: heads that are repeated");
                assert!((1..=30).contains(&rows(table).len()), "{name} {id}: long");
            }
        }
        // The file's text, but for line ends and tabs.
        let text = fs::read_to_string(&file).expect("a scenario");
        let written: Vec<String> = named(document.root(), "pre").into_iter().map(text_of).collect();
        assert_eq!(written.len(), 1, "{name}");
        assert_eq!(written[0].trim_end(), text.trim_end(), "{name}");
    }
    // The sheet of paper: asked for, or that of the country of the money.
    for (name, more, size) in [
        ("oak-peg-rail", &[][..], "A4"),
        ("oak-peg-rail", &["--paper", "letter"], "letter"),
        ("oak-peg-rail", &["--set", "currency=USD"], "letter"),
        ("oak-peg-rail", &["--set", "currency=USD", "--paper", "a4"], "A4"),
    ] {
        for reader in [&["--only", "floor"][..], &["--for", "buyer"]] {
            let asked: Vec<&str> = FEW
                .into_iter()
                .chain(DATED)
                .chain(more.iter().copied())
                .chain(reader.iter().copied())
                .collect();
            let html = page(&[shipped(name)], &asked);
            assert_eq!(html.matches("@page { size: ").count(), 1, "{asked:?}");
            assert!(html.contains(&format!("@page {{ size: {size}; }}")), "{asked:?}");
        }
    }
}

/// Words of what an offer rests on.
const HIDDEN: [&str; 19] = [
    "cost",
    "costs",
    "hour",
    "hours",
    "rate",
    "margin",
    "floor",
    "target",
    "profit",
    "earn",
    "earns",
    "setup",
    "batch",
    "batches",
    "simulated",
    "confidence",
    "surplus",
    "fee",
    "fees",
];

/// The sheet for a buyer has prices, quantities and dates, and nothing of what they rest on.
#[test]
fn a_buyer_sees_prices_and_dates_only() {
    for name in shipped::names() {
        let file = shipped(name);
        let more = [&FEW[..], &DATED, &["--for", "buyer"]].concat();
        let sheet = page(std::slice::from_ref(&file), &more);
        // Without a chart there is nothing for the charts' colours to do.
        assert!(!sheet.contains("--c-") && !sheet.contains("<svg"), "{name}");
        let document = parsed(&sheet);
        let main = document
            .descendants()
            .find(|node| node.has_tag_name("main"))
            .expect("a page");
        let text: String = main
            .descendants()
            .filter_map(|node| node.text())
            .collect::<Vec<_>>()
            .join(" ");
        let words: BTreeSet<String> = text
            .split(|c: char| !c.is_alphabetic())
            .map(str::to_lowercase)
            .collect();
        for hidden in HIDDEN {
            assert!(!words.contains(hidden), "{name}: {hidden} in {text}");
        }
        assert!(
            text.contains("valid until Wednesday 10 February 2027"),
            "{name}: {text}"
        );
        match name {
            // `post_charged = 6.00`
            "oak-peg-rail" => assert!(text.contains("Postage is 6 EUR an order."), "{text}"),
            // `post_charged = 0`
            "card-wallet" => assert!(text.contains("Postage is included."), "{text}"),
            _ => (),
        }
        let body = document
            .descendants()
            .find(|node| node.has_tag_name("table"))
            .expect("a table");
        let table = rows(body);
        let pieces: Vec<&str> = table.iter().map(|row| row[0].as_str()).collect();
        let scenario = batchwright_core::scenario::read(name, &fs::read_to_string(&file).expect("a scenario"), &[]);
        let usual = batchwright_core::questions::floor::usual_orders(&scenario.expect("no faults"), None);
        let usual: Vec<String> = usual.iter().map(u32::to_string).collect();
        assert_eq!(pieces, usual, "{name}");
        // A price covers the order's own quote, or is the asked one.
        let quoted = json("floor", &file, &[&FEW[..], &["--order", &usual.join(",")]].concat());
        let asked = quoted["price"].as_f64().expect("a price");
        let figure = |cell: &str| cell.replace(',', "").parse::<f64>().expect("a figure");
        for (row, quote) in table.iter().zip(quoted["sizes"].as_array().expect("sizes")) {
            let (pieces, each, all) = (figure(&row[0]), figure(&row[1]), figure(&row[2]));
            let floor = quote["floor_asked"]["price"].as_f64().expect("a quote");
            // Written to a hundredth, or in whole ones where that is little.
            let off = if each < 1000.0 { 0.005 } else { 0.5 };
            assert!(
                each + off >= floor.min(asked) && (each - off <= floor * 1.03 || each - off <= asked),
                "{name}: {row:?} {floor}"
            );
            assert!(
                (all - each * pieces).abs() <= (off * (pieces + 1.0)).max(0.5),
                "{name}: {row:?}"
            );
        }
        let dated = fs::read_to_string(&file).expect("a scenario").contains("[hours]");
        assert_eq!(table[0].len(), if dated { 4 } else { 3 }, "{name}");
    }
}

/// A maker who says it is read on the sheet: who offers it, where they are reached, what it is, each once, whatever is written there, and nothing
/// more; a maker who does not is told that the sheet lacks it. Two makers on one sheet stand each with their own piece.
#[test]
fn a_sheet_says_who_offers_what_where_the_maker_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("offer.html");
    let told = |files: &[(&str, &str)]| {
        let names = files.iter().map(|(name, top)| {
            let file = folder.path().join(name);
            let rest = "target = 20\n[[step]]\nname = \"make\"\neach = \"1 h\"\n[sale]\nprice = 40\n";
            fs::write(&file, format!("title = \"Stool\"\n{top}{rest}")).expect("written");
            file.to_str().expect("a name").to_owned()
        });
        let names: Vec<String> = names.collect();
        let mut asked = vec!["report"];
        asked.extend(names.iter().map(String::as_str));
        asked.extend([
            "--for",
            "buyer",
            "--order",
            "1",
            "--overwrite",
            "--out",
            out.to_str().expect("a name"),
        ]);
        let ran = run(&[&asked[..], &FEW, &DATED].concat());
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert!(ran.status.success(), "{said}");
        (
            fs::read_to_string(&out).expect("a sheet"),
            said.contains("does not say who offers it"),
        )
    };
    let (bare, lacks) = told(&[("a.toml", "")]);
    assert!(lacks && !bare.contains("<address") && !bare.contains("Offered by"));
    // Markup, an emoji, Hebrew, a mark that turns lines around, and a word that fits no line.
    let long = "W".repeat(180);
    for text in [
        "<b>Oak & Ash</b>",
        "Töpferei 🏺",
        "נגריית הגבעה",
        "up\u{202e}down",
        &long,
    ] {
        let top = format!("description = \"{text} 1\"\nmaker = \"{text} 2\"\ncontact = \"{text} 3\"\n");
        let (sheet, lacks) = told(&[("a.toml", &top)]);
        assert!(!lacks);
        let document = parsed(&sheet);
        let seen = text.replace('\u{202e}', "\u{fffd}");
        let address = document
            .descendants()
            .find(|node| node.has_tag_name("address"))
            .expect("who offers it");
        let lines: Vec<&str> = address
            .descendants()
            .filter(|node| node.is_text())
            .filter_map(|node| node.text())
            .collect();
        assert_eq!(lines, ["Offered by ", &format!("{seen} 2"), &format!("{seen} 3")]);
        let what = format!("{seen} 1");
        assert_eq!(
            document
                .descendants()
                .filter(|node| node.text() == Some(&what) && node.is_text())
                .count(),
            1
        );
        // Without them it is the sheet of a maker who says nothing.
        let added = document.descendants().filter(|node| {
            node.is_element()
                && (node.has_tag_name("address") || node.first_child().and_then(|text| text.text()) == Some(&what))
        });
        let mut rest = sheet.clone();
        for span in added.map(|node| node.range()).collect::<Vec<_>>().into_iter().rev() {
            rest.replace_range(span, "");
        }
        let lines = |html: &str| {
            html.lines()
                .filter(|line| !line.trim().is_empty())
                .map(str::to_owned)
                .collect::<Vec<_>>()
        };
        assert_eq!(lines(&rest), lines(&bare));
    }
    let check = run(&["check", folder.path().join("a.toml").to_str().expect("a name")]);
    let said = String::from_utf8_lossy(&check.stdout).replace('\n', " ");
    let last = format!("\"{long} 2\", \"{long} 3\" and \"{long} 1\" stand on a sheet for a buyer.");
    assert!(said.contains(&last), "{said}");
    let (one, two) = ("maker = \"Ann\"\n", "maker = \"Ben\"\n");
    let both = |files: &[(&str, &str)]| told(files).0.matches("<address>").count();
    assert_eq!(both(&[("a.toml", one), ("b.toml", one)]), 1);
    assert_eq!(both(&[("a.toml", one), ("b.toml", "")]), 1);
    assert_eq!(both(&[("a.toml", one), ("b.toml", two)]), 2);
}

/// The asked price is that of an order of usual size: a single piece is not offered below it, where that is what is usually ordered, and more
/// pieces may be. A maker who pays for the post and charges nothing says so.
#[test]
fn an_order_of_usual_size_costs_no_less_than_the_own_price() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("lyre.toml");
    let lyre = |more: &str| {
        let text = format!(
            "title = \"Lyre\"\ncurrency = \"EUR\"\ntarget = 20\n[[step]]\nname = \"make\"\nsetup = \"4 h\"\neach = \"10 h\"\n\
             [sale]\nprice = 420\n{more}"
        );
        fs::write(&file, text).expect("written");
        let more = [&FEW[..], &DATED, &["--for", "buyer", "--order", "1,4"]].concat();
        let sheet = page(std::slice::from_ref(&file), &more);
        let document = parsed(&sheet);
        let table = document.descendants().find(|node| node.has_tag_name("table"));
        let rows = rows(table.expect("a table"));
        (rows[0][1].clone(), rows[1][1].clone(), sheet)
    };
    // 14 h at 20 an hour are 280, and 44 h for four are 220 a piece.
    let (one, four, sheet) = lyre("");
    assert_eq!((one.as_str(), four.as_str()), ("420.00", "220.00"));
    assert!(!sheet.contains("Postage"));
    let (one, four, _) = lyre("order_of = 4\n");
    assert_eq!((one.as_str(), four.as_str()), ("420.00", "420.00"));
    let (.., sheet) = lyre("post = 5.20\n");
    assert!(sheet.contains("Postage is included."));
    let (.., sheet) = lyre("post = 5.20\npost_charged = 4.50\n");
    assert!(sheet.contains("Postage is 4.50 EUR an order.") && !sheet.contains("included"));
}

/// An order's date is the calendar's: the first by which four in five such orders are done, however sure the maker wants to be of the
/// price. Nothing is spoiled here, so that no spares are started with the order.
#[test]
fn a_buyers_date_holds_four_times_out_of_five() {
    let file = shipped("oak-peg-rail");
    let asked = [
        "--for",
        "buyer",
        "--order",
        "12",
        "--set",
        "confidence=95 %",
        "--set",
        "step.drill.spoil=0 %",
    ];
    let sheet = page(std::slice::from_ref(&file), &[&FEW[..], &DATED, &asked].concat());
    // One order of twelve pieces.
    let order = [
        ["--size", "12"],
        ["--start", DATED[1]],
        ["--set", "sale.order_of=12"],
        ["--set", "step.drill.spoil=0 %"],
    ];
    let calendar = json("calendar", &file, &[&FEW[..], order.as_flattened()].concat());
    let by_date = calendar["by_date"].as_array().expect("dates");
    let share = |by: &Value| by["done"]["share"].as_f64().expect("a share");
    let first = by_date.iter().find(|by| share(by) >= 0.8).expect("a date");
    let day: jiff::civil::Date = first["date"].as_str().expect("a date").parse().expect("a date");
    let document = parsed(&sheet);
    let table = document.descendants().find(|node| node.has_tag_name("table"));
    let row = &rows(table.expect("a table"))[0];
    assert_eq!(
        (row[0].as_str(), row[3].clone()),
        ("12", day.strftime("%A %-d %B").to_string()),
        "{row:?}"
    );
    assert!(share(&by_date[0]) < 0.8, "an earlier date does not hold as often");
}

/// Where a quantity costs more than the maker's own price, the maker is told so and how to leave it out; so is that an order is one parcel.
/// The sheet says neither, and it says how a date goes with the day until which it holds.
#[test]
fn a_maker_is_told_what_a_sheet_asks_beyond_the_own_price() {
    let file = shipped("oak-peg-rail");
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("offer.html");
    let name = file.to_str().expect("a name");
    for (price, above, cure) in [
        (
            "30",
            "orders of 1 (146.00 EUR) and 12 (44.00 EUR), as they do not pay at it\n",
            false,
        ),
        (
            "45",
            "orders of 1 (146.00 EUR), as they do not pay at it; with --order 12 they are left out\n",
            true,
        ),
    ] {
        let asked = [
            ["--for", "buyer"],
            ["--out", out.to_str().expect("a name")],
            ["--order", "1,12"],
            ["--price", price],
        ];
        let ran = run(&[&["report", name], &FEW[..], &DATED, asked.as_flattened()].concat());
        let told = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert!(ran.status.success(), "{told}");
        let above = format!("the sheet asks more than your price of {price} EUR a piece for {above}");
        assert!(told.contains(&above) && told.contains("--order") == cure, "{told}");
        assert!(told.contains("An order counts as one parcel here: "), "{told}");
    }
    let html = fs::read_to_string(&out).expect("a sheet");
    assert!(!html.contains("parcel") && !html.contains("your price"));
    assert!(html.contains("An order that comes later, while this offer holds, is ready about as many days later."));
}

/// A pot of 3 h holds twelve, and a piece takes 6 min besides: at 30 an hour one of twelve needs 10.50, one of thirteen, which take a second pot, 16.85,
/// and one of 24 again 10.50. The buyer is told of the thirteen, and the maker of which step it is and how to leave them out.
#[test]
fn a_sheet_says_where_a_piece_of_more_costs_more() {
    let text = "target = 30\n[batch]\nsizes = [1, 24]\n[[step]]\nname = \"pour\"\nsetup = \"3 h\"\neach = \"6 min\"\nroom = 12\n[sale]\nprice = 5\n";
    let folder = tempfile::tempdir().expect("a folder");
    let [file, out] = ["pots.toml", "offer.html"].map(|name| folder.path().join(name));
    fs::write(&file, text).expect("written");
    let [name, sheet] = [&file, &out].map(|path| path.to_str().expect("a name"));
    let told = |orders: &str| {
        let asked = ["report", name, "--for", "buyer", "--order", orders, "--out", sheet];
        let ran = run(&[&asked[..], &FEW, &DATED].concat());
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert!(ran.status.success(), "{said}");
        (fs::read_to_string(&out).expect("a sheet"), said)
    };
    let (html, said) = told("12,13,24");
    assert!(
        html.contains(
            "A piece costs more in an order of 13 than in one of 12, as so many need another round of the work."
        ),
        "{html}"
    );
    let maker = "the sheet asks more a piece for 13 than for 12 (more rounds of 'pour' for each), and tells the buyer so; with --order 12,24 they \
                 are left out\n";
    assert!(said.contains(maker), "{said}");
    let (html, said) = told("12,24");
    assert!(
        !html.contains("costs more") && !said.contains("tells the buyer"),
        "{said}"
    );
}

/// An hour of setup and half an hour a piece, of which every second is spoiled: with two spares an order of one pays from 50 on, by hand in the
/// tests of `floor`. A stool of 50 to 90 min at 20 an hour pays from 29.15 on where those that come back as new, 15 of 100, count as they fare at
/// 21, where some of them pay; at 29.50 a fee of 2.95 is lost with each.
#[test]
fn a_maker_is_told_what_the_prices_of_a_sheet_count_on() {
    let turned = "target = 20\n[batch]\nsizes = [1]\n[[step]]\nname = \"turn\"\nsetup = \"1 h\"\neach = \"30 min\"\nspoil = \"50 %\"\n[sale]\n\
                  price = 80\n";
    let stool = "target = 20\n[batch]\nsizes = [1]\n[[step]]\nname = \"make\"\neach = \"50 / 60 / 90 min\"\n[sale]\nprice = 21\nfee = \"10 %\"\n\
                 returned = \"15 %\"\nas_new = \"100 %\"\n";
    let folder = tempfile::tempdir().expect("a folder");
    let [file, out] = ["made.toml", "offer.html"].map(|name| folder.path().join(name));
    for (text, due, other) in [
        (
            turned,
            "the prices count on spares: start 3 for an order of 1\n",
            "even that may be too little",
        ),
        (
            stool,
            "for orders of 1 even that may be too little: where all that is sold comes back, the fee you lose rises with the price\n",
            "count on spares",
        ),
    ] {
        fs::write(&file, text).expect("written");
        let [file, out] = [&file, &out].map(|path| path.to_str().expect("a name"));
        let ran = run(&[
            &["report", file, "--for", "buyer", "--order", "1", "--out", out],
            &DATED[..],
        ]
        .concat());
        let told = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert!(told.contains(due) && !told.contains(other), "{told}");
    }
    let html = fs::read_to_string(&out).expect("a sheet");
    assert!(!html.contains("spare") && !html.contains("too little"));
}

#[test]
fn a_sheet_for_a_buyer_is_asked_for_as_one() {
    let file = shipped("oak-peg-rail");
    let file = file.to_str().expect("a name");
    for (flags, said) in [
        (
            &["--out", "a.html", "--order", "6"][..],
            "--order belongs to a sheet for a buyer",
        ),
        (
            &["--out", "a.html", "--for", "buyer", "--only", "sweep"],
            "--only is no part of a sheet for a buyer",
        ),
        (&["--out", "a.xlsx", "--for", "buyer"], "name a file that ends in .html"),
        (
            &["--out", "a.html", "--for", "buyer", "--channel", "moon"],
            "there is no channel of this name",
        ),
        (
            &[
                "--out",
                "a.html",
                "--for",
                "buyer",
                "--date",
                "2027-01-11",
                "--until",
                "2027-01-10",
            ],
            "--until 2027-01-10 is before the report's date, 2027-01-11; name a later day",
        ),
    ] {
        let ran = run(&[&["report", file], flags].concat());
        let told = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(2), "{told}");
        assert!(told.contains(said), "{told}");
    }
}

#[test]
fn several_currencies_are_said_at_the_top() {
    let files = [shipped("oak-peg-rail"), shipped("stoneware-mugs")];
    let more = [&FEW[..], &DATED, &["--only", "sweep"]].concat();
    let said = "Money is in several currencies and none is converted: EUR for Oak peg rail, five pegs, GBP for Stoneware mugs.";
    let html = page(&files, &more);
    let (before, _) = html.split_once("class=\"summary\"").expect("a summary");
    assert!(before.contains(said), "{before}");
    assert!(!page(&files[..1], &more).contains("several currencies"));
    // With a rate they are set against each other as well, in the money of the first.
    let more = [&FEW[..], &DATED, &["--only", "compare,floor"]].concat();
    let folder = tempfile::tempdir().expect("scratch");
    let rail = folder.path().join("rail.toml");
    let text = fs::read_to_string(&files[0]).expect("a scenario");
    fs::write(&rail, format!("{text}\n[currencies]\nGBP = 1.25\n")).expect("write");
    let html = page(&[rail, files[1].clone()], &more);
    let (before, _) = html.split_once("class=\"summary\"").expect("a summary");
    assert!(
        before.contains("is converted into EUR only where they are set against each other"),
        "{before}"
    );
    assert!(html.contains("All money is in EUR; 1 GBP is 1.25 EUR, as the files say on average."));
    assert!(
        parsed(&html)
            .descendants()
            .any(|n| n.attribute("id") == Some("compare"))
    );
}

/// Where no orders are named, a sheet prices 1, 6, 12 and 24 of what is sold, pieces or sets of as many as the channel has in one, as far as
/// the largest batch goes: here twelve pieces.
#[test]
fn a_sheet_prices_so_many_sets_where_sets_are_sold() {
    let text = "title = \"mugs\"\ntarget = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [4, 12]\n[[step]]\nname = \"make\"\neach = \"30 / 40 min\"\n\
                [sale]\nprice = 50\nset_of = 4\n[[channel]]\nname = \"at the door\"\nshare = \"50 %\"\n[[channel]]\nname = \"by post\"\n\
                share = \"50 %\"\nset_of = 2\n";
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mugs.toml");
    fs::write(&file, text).expect("a scenario");
    for (through, due) in [(&[][..], ["4", "12"]), (&["--channel", "by post"], ["2", "12"])] {
        let sheet = page(
            std::slice::from_ref(&file),
            &[&FEW[..], &DATED, &["--for", "buyer"], through].concat(),
        );
        let document = parsed(&sheet);
        let table = document
            .descendants()
            .find(|node| node.has_tag_name("table"))
            .expect("a table");
        let pieces: Vec<String> = rows(table).iter().map(|row| row[0].clone()).collect();
        assert_eq!(pieces, due, "{through:?}");
    }
}

/// What the page of `batchwright page` gives to keep is the program's own file, byte for byte, for whomever it is and whatever is said beside
/// the scenario.
#[test]
fn what_the_page_gives_out_is_the_programs_file() {
    for (name, asked, flags) in [
        ("oak-peg-rail", json!({}), &[][..]),
        (
            "oak-peg-rail",
            json!({ "start": "2027-02-01", "due": "2027-03-01" }),
            &["--start", "2027-02-01", "--due", "2027-03-01"],
        ),
        ("printed-tea-towels", json!({}), &[]),
        ("oak-peg-rail", json!({ "kind": "buyer" }), &["--for", "buyer"]),
        (
            "printed-tea-towels",
            json!({ "kind": "buyer", "orders": [24, 1, 24], "channel": "shops by the dozen", "until": "2027-01-31" }),
            &[
                "--for",
                "buyer",
                "--order",
                "24,1,24",
                "--channel",
                "shops by the dozen",
                "--until",
                "2027-01-31",
            ],
        ),
        (
            "stoneware-mugs",
            json!({ "kind": "buyer", "start": "2027-02-01" }),
            &["--for", "buyer", "--start", "2027-02-01"],
        ),
    ] {
        let file = shipped(name);
        let mut question = json!({ "ask": "paper", "kind": "report", "file": format!("{name}.toml"), "made": "2027-01-11", "trials": 400 });
        question["text"] = fs::read_to_string(&file).expect("a scenario").into();
        for (key, value) in asked.as_object().expect("an object") {
            question[key] = value.clone();
        }
        let said = batchwright::page::reply(question.to_string().as_bytes());
        let said: Value = serde_json::from_str(&said).expect("JSON");
        let more = [&["--trials", "400", "--date", "2027-01-11"], flags].concat();
        assert_eq!(
            said["html"].as_str(),
            Some(&*page(&[file], &more)),
            "{name} {asked}: {}",
            said["cannot"]
        );
    }
}

/// What the maker should know of a sheet is said beside it, in the page's words; what cannot be made is said with what to do.
#[test]
fn the_page_says_what_the_maker_should_know_of_a_sheet() {
    let text = fs::read_to_string(shipped("oak-peg-rail")).expect("a scenario");
    let asked = |more: Value| -> Value {
        let mut question = json!({ "ask": "paper", "kind": "buyer", "file": "rail.toml", "made": "2027-01-11", "trials": 400, "text": text });
        for (key, value) in more.as_object().expect("an object") {
            question[key] = value.clone();
        }
        serde_json::from_str(&batchwright::page::reply(question.to_string().as_bytes())).expect("JSON")
    };
    let cheap = text.replace("= 62 ", "= 45 ");
    assert_ne!(cheap, text);
    let said = asked(json!({ "text": cheap, "orders": [1, 12] }));
    let remarks = said["remarks"].as_array().expect("remarks");
    let dear = "The sheet asks more than your price of 45 EUR a piece for orders of 1 (146.00 EUR), as they do not pay at it; with 12 as pieces in \
                an order they are left out.";
    assert_eq!(remarks[0], dear);
    let lower = "The prices for orders of 12 are below your price of 45 EUR a piece: they are the least that pays in 80 of 100 orders, rounded up.";
    assert_eq!(remarks[1], lower);
    // Three hours of drawing, and days are 8 % slower than they might be: batches after the first have them behind them.
    let once = "The dates leave out what is done once, 3 h 15 min: where that is still to do, promise later.";
    assert_eq!(remarks.last().expect("remarks"), once);
    let only = asked(json!({ "text": text.replace("runs    = 4 ", "runs    = 1 "), "orders": [1] }));
    assert!(!only["remarks"].to_string().contains("promise later"), "{only}");
    // At 62 EUR a batch of nine pays, so one piece costs no more, and the sheet asks less than the 144.40 EUR it needs alone.
    let fair = asked(json!({ "orders": [1, 12] }));
    let capped = fair["remarks"][0].as_str().expect("words");
    let [begins, ends] = [
        "The sheet asks only your price of 62 EUR a piece for orders of 1; made alone they need 1",
        " EUR a piece to pay in 80 of 100 orders, and at your price they pay only as part of a larger batch.",
    ];
    assert!(capped.starts_with(begins) && capped.ends_with(ends), "{capped}");
    assert!(!fair["html"].as_str().expect("a sheet").contains("made alone"));
    assert!(
        remarks[2]
            .as_str()
            .expect("words")
            .starts_with("An order counts as one parcel here: ")
    );
    assert!(!said["html"].as_str().expect("a sheet").contains("your price"));
    for (more, cure) in [
        (
            json!({ "until": "2027-01-10" }),
            "Name a later one until which it holds.",
        ),
        (
            json!({ "orders": [0] }),
            "Say how many pieces an order has, from 1 to 10,000.",
        ),
        (
            json!({ "channel": "moon" }),
            "There is no way of selling with this name any more.",
        ),
        (
            json!({ "text": "target = " }),
            "Mend what is wrong in the figures first.",
        ),
        (json!({ "made": "today" }), "a date as year-month-day"),
    ] {
        let said = asked(more);
        let why = said["cannot"].as_str().expect("a reason");
        assert!(said["html"].is_null() && why.contains(cure), "{why}");
    }
}
