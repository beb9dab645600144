use serde_json::{Value, json};

use super::{EXAMPLES, NAME, Parcels, reply, reply_telling};
use crate::scenario;

fn ask(question: &Value) -> Value {
    serde_json::from_str(&reply(question.to_string().as_bytes())).unwrap()
}

/// The shipped scenario of this name.
fn example(name: &str) -> &'static str {
    let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let written = std::fs::read_to_string(path).unwrap();
    EXAMPLES.into_iter().find(|text| *text == written).unwrap()
}

fn look(text: &str, more: &Value) -> Value {
    let mut question = json!({ "ask": "look", "text": text, "trials": 300, "wide": 700 });
    for (key, value) in more.as_object().unwrap() {
        question[key] = value.clone();
    }
    ask(&question)
}

/// However many workers share a sweep out, its answer is that of one byte for byte, figures, tables, words and chart, in a quick look as in all
/// batches, and told against another text.
#[test]
fn shares_of_a_sweep_make_the_answer_of_one() {
    let mut shared = 0;
    let folder = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios")).unwrap();
    let files = folder.map(|file| file.unwrap().path());
    for file in files.filter(|file| file.extension().is_some_and(|end| end == "toml")) {
        let text = std::fs::read_to_string(&file).unwrap();
        // The page puts in at which price the buyers were told: each worker must.
        let untold = |line: &&str| !line.starts_with("buyers_at");
        let text: Vec<&str> = text.lines().filter(untold).collect();
        let text = text.join("\n");
        for (of, trials) in [
            (2, json!(null)),
            (2, json!(1_000)),
            (3, json!(10_000)),
            (4, json!(20_100)),
        ] {
            let what = format!("{} by {of}, {trials}", file.display());
            // Another price, at which fewer buy where a season says so.
            let price =
                json!({ "do": "put", "at": { "section": "sale", "entry": null, "key": "price" }, "written": "33" });
            let asked = |key: &str, value: Value, own: &[u8], others: &[u8]| {
                let mut asked = json!({ "ask": "look", "text": &text, "question": "sweep", "trials": &trials, "before": EXAMPLES[0],
                    "changes": [price], "wide": 700, "figures": true });
                asked[key] = value;
                reply_telling(asked.to_string().as_bytes(), Parcels { own, others }, &|_| ())
            };
            let (one, _) = asked("part", json!(null), &[], &[]);
            let parts: Vec<(Value, Vec<u8>)> = (0..of)
                .map(|number| asked("part", json!([number, of]), &[], &[]))
                .map(|(said, made)| (serde_json::from_str(&said).unwrap(), made))
                .collect();
            if parts[1].0["parcels"].is_null() {
                assert_eq!(
                    asked("part", json!([0, of]), &[], &[]).0,
                    one,
                    "{what}: one worker answers alone"
                );
                continue;
            }
            shared += 1;
            // What the others have made for one, in their order.
            let made_for = |number: usize| {
                let others = parts.iter().enumerate().filter(|(from, _)| *from != number);
                let parcel = |(_, (said, made)): (usize, &(Value, Vec<u8>))| {
                    let long = |k: usize| said["parcels"][k].as_u64().unwrap() as usize;
                    let first: usize = (0..number).map(long).sum();
                    made[first..first + long(number)].to_vec()
                };
                others.flat_map(parcel).collect::<Vec<u8>>()
            };
            let share = |number: usize, others: &[u8]| {
                let (said, _) = asked("share", json!([number, of]), &parts[number].1, others);
                let said: Value = serde_json::from_str(&said).unwrap();
                said["share"].as_str().map(str::to_owned)
            };
            let shares: Vec<String> = (0..of)
                .map(|number| share(number, &made_for(number)).unwrap())
                .collect();
            assert_eq!(asked("shares", json!(shares), &[], &[]).0, one, "{what}");
            // What a share says is what is taken.
            let mut other = shares.clone();
            other[of - 1] = other[of - 1].replacen("\"mean\":", "\"mean\":1", 1);
            assert_ne!(asked("shares", json!(other), &[], &[]).0, one, "{what}");
            // Where one is missing the whole is simulated, and parcels of which one is short or over say nothing.
            assert_eq!(asked("shares", json!(shares[..1]), &[], &[]).0, one, "{what}");
            let whole = made_for(of - 1);
            assert_eq!(share(of - 1, &whole[..whole.len() - 8]), None, "{what}");
            assert_eq!(share(of - 1, &[&*whole, &[0; 8]].concat()), None, "{what}");
        }
    }
    assert!(shared > 20, "{shared}");
}

/// A question that is refused, and one that nobody shares out, is answered by the first worker, and the others have nothing to say.
#[test]
fn what_is_not_shared_out_one_worker_answers() {
    let steps: String = (0..30)
        .map(|k| format!("[[step]]\nname = \"step {k}\"\neach = \"3 min\"\n"))
        .collect();
    let many = EXAMPLES[4].replace("sizes   = \"1..40\"", "sizes = \"1..10000\"") + &steps;
    assert!(look(&many, &json!({ "question": "sweep", "trials": 50_000 }))["cannot"].is_string());
    for (text, question, trials) in [
        (EXAMPLES[4], "floor", 300),
        (EXAMPLES[4], "sweep", 3),
        (&*many, "sweep", 50_000),
        ("target = ", "sweep", 300),
    ] {
        let asked = |part: Value| look(text, &json!({ "question": question, "trials": trials, "part": part }));
        assert_eq!(asked(json!([0, 2])), asked(json!(null)), "{question}");
        assert_eq!(asked(json!([1, 2])), json!({}), "{question}");
    }
}

/// Each product that stands beside another has a size of its own, or as many pieces as are advised.
#[test]
fn what_stands_beside_has_its_own_size() {
    let sizes = |asked: Value| -> Vec<u64> {
        let mut whole =
            json!({ "question": "compare", "others": [EXAMPLES[3], EXAMPLES[8]], "figures": true, "trials": 1000 });
        whole
            .as_object_mut()
            .unwrap()
            .extend(asked.as_object().unwrap().clone());
        let said = look(EXAMPLES[4], &whole);
        let json: Value = serde_json::from_str(said["answer"]["json"].as_str().unwrap()).unwrap();
        let entries = json["entries"].as_array().unwrap().iter();
        entries.map(|entry| entry["run"]["size"].as_u64().unwrap()).collect()
    };
    let own = sizes(json!({}));
    assert_eq!(sizes(json!({ "size": 12 })), [12, 12, 12]);
    assert_eq!(sizes(json!({ "size": 12, "sizes": [3, 40] })), [12, 3, 40]);
    assert_eq!(sizes(json!({ "sizes": [null, 40] })), [own[0], own[1], 40]);
    assert_eq!(sizes(json!({ "size": 12, "sizes": [3] })), [12, 3, own[2]]);
    let refused = look(
        EXAMPLES[4],
        &json!({ "question": "compare", "others": [EXAMPLES[3]], "sizes": [0] }),
    );
    assert!(refused["cannot"].as_str().unwrap().contains("size"), "{refused}");
}

/// What a change leaves as it was is told, and is not among what it moved.
#[test]
fn what_stays_is_told_apart_from_what_moved() {
    let text = example("oak-peg-rail");
    let changed = |before: &str| {
        let said = look(text, &json!({ "question": "sweep", "before": before }));
        ["against", "moved"].map(|key| said[key].as_array().unwrap().clone())
    };
    // A comment moves nothing.
    let [told, moved] = changed(&format!("{text}# By hand.\n"));
    assert!(told.len() > 1 && moved.is_empty(), "{told:?}, {moved:?}");
    // A price moves what an hour earns, and not what it should be.
    let cheaper = text.replace("= 62 ", "= 60 ");
    assert_ne!(cheaper, text);
    let [told, moved] = changed(&cheaper);
    assert_eq!(moved[0], told[0]);
    assert!(told[1].as_str().unwrap().contains(" stays "), "{told:?}");
    assert!(!moved.contains(&told[1]), "{moved:?}");
}

/// What sells until a season ends is sent to the question that stands so in the page's list.
#[test]
fn a_season_is_not_asked_about_a_year() {
    let other = "How many before the season ends?";
    let said = look(example("spinning-tops"), &json!({ "question": "steady" }));
    assert!(said["cannot"].as_str().unwrap().contains(other), "{said}");
    assert!(include_str!("screen/questions.js").contains(&format!("asks: \"{other}\"")));
}

/// A text of which too much was asked is not simulated either to say what a change of it does.
#[test]
fn what_was_refused_is_not_simulated_to_tell_a_change() {
    let steps: String = (0..30)
        .map(|k| format!("[[step]]\nname = \"step {k}\"\neach = \"1 s\"\n"))
        .collect();
    let few = EXAMPLES[4].to_owned() + &steps;
    let many = few.replace("sizes   = \"1..40\"", "sizes = \"1..10000\"");
    let changed = |before: &str| {
        look(
            &few,
            &json!({ "question": "sweep", "trials": 50_000, "before": before }),
        )
    };
    let dearer = few.replace("target     = 32", "target     = 40");
    assert!(!changed(&dearer)["against"].as_array().unwrap().is_empty());
    let said = changed(&many);
    assert!(said["answer"].is_object());
    assert_eq!(said["against"], json!([]));
}

/// The figures under a pointer are those of the table's row, and lie where the chart has them.
#[test]
fn a_place_of_a_chart_says_its_row_of_the_table() {
    let mut counted = std::collections::BTreeMap::new();
    let sizes = look(EXAMPLES[4], &json!({ "question": "sweep" }));
    let panels = sizes["answer"]["readings"].as_array().unwrap();
    assert_eq!(
        panels.len(),
        3 * 40,
        "every size on each of three panels, marked ones too"
    );
    for text in EXAMPLES {
        for question in ["sweep", "floor", "stress", "drivers", "season", "steady", "jig"] {
            let said = look(text, &json!({ "question": question }));
            let Some(readings) = said["answer"]["readings"].as_array() else {
                continue;
            };
            *counted.entry(question).or_insert(0) += readings.len();
            for reading in readings {
                let area: Vec<f64> = reading["area"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|v| v.as_f64().unwrap())
                    .collect();
                assert!(
                    area[0] <= area[2] && area[1] < area[3] && area[2] <= 701.0,
                    "{question}: {area:?}"
                );
                assert!(reading["said"].as_array().unwrap().len() > 1, "{question}: {reading}");
            }
        }
    }
    assert!(counted.values().all(|count| *count > 0), "{counted:?}");
}

/// Over most of its height, each chart of each question says figures.
#[test]
fn every_chart_of_every_question_says_its_figures() {
    let log = include_str!("../../scenarios/oak-peg-rail-log.csv");
    let sales = include_str!("../../scenarios/plant-labels-sales.csv");
    let mut charted = std::collections::BTreeSet::new();
    // One of them or another has every section, and all are priced in one currency.
    let [rail, labels, tops] = ["oak-peg-rail", "plant-labels", "spinning-tops"].map(example);
    for text in [rail, labels, tops] {
        for (question, more) in [
            ("sweep", json!({})),
            ("floor", json!({})),
            ("stress", json!({})),
            ("drivers", json!({})),
            ("jig", json!({})),
            ("season", json!({})),
            ("steady", json!({})),
            ("calendar", json!({ "start": "2026-12-07" })),
            ("compare", json!({ "others": [tops, rail] })),
            ("over", json!({ "over": ["sale.price=20..80"] })),
            ("quote", json!({ "orders": [1, 6, 12] })),
            ("fit", json!({ "log": log })),
            ("sold", json!({ "log": sales })),
        ] {
            let mut asked = json!({ "question": question });
            for (key, value) in more.as_object().unwrap() {
                asked[key] = value.clone();
            }
            let said = look(text, &asked);
            let answer = &said["answer"];
            let Some(chart) = answer["chart"].as_str() else {
                continue;
            };
            charted.insert(question);
            let height = roxmltree::Document::parse(chart).unwrap();
            let height: f64 = height.root_element().attribute("height").unwrap().parse().unwrap();
            let mut grounds: Vec<[f64; 2]> = Vec::new();
            for reading in answer["readings"].as_array().unwrap() {
                let end = |k: usize| reading["area"][k].as_f64().unwrap();
                grounds.push([end(1), end(3)]);
                let said = reading["said"].as_array().unwrap();
                // A name that stands without a head is a row's own.
                assert!(said.len() > 1 || question == "over", "{question}: {reading}");
                let value = said[0][0].as_str().is_some_and(|what| !what.is_empty());
                let upright = end(2) - end(0) < 600.0;
                assert!(
                    value || !upright,
                    "{question}: a value is told from a column of names: {reading}"
                );
            }
            grounds.sort_by(|one, other| one[0].total_cmp(&other[0]));
            let (mut covered, mut end) = (0.0, 0.0_f64);
            for [from, to] in grounds {
                covered += (to - from.max(end)).max(0.0);
                end = end.max(to);
            }
            assert!(covered > height / 2.0, "{question}: {covered} of {height} px");
        }
    }
    assert_eq!(charted.len(), 13, "{charted:?}");
}

/// What the page does to a sales log is what a hand would do to the file: lines come behind, change and go, and nothing else moves.
#[test]
fn a_sales_log_is_kept_on_the_page() {
    let ask = |log: &str, more: Value| {
        let mut question = json!({ "ask": "sale", "log": log });
        for (key, value) in more.as_object().unwrap() {
            question[key] = value.clone();
        }
        ask(&question)
    };
    let of = |said: &Value| said["log"].as_str().unwrap().to_owned();
    let first = ask(
        "",
        json!({ "typed": { "listed": "2026-11-02", "price": "28", "pieces": "3", "outlet": "own page", "note": "=1+1" } }),
    );
    let head = "listed,price,pieces,left,sold,until,enquiries,outlet,note\n";
    assert_eq!(of(&first), format!("{head}2026-11-02,28,3,,,,,own page,'=1+1\n"));
    assert_eq!(first["entries"][0]["cells"]["note"], "=1+1");
    assert_eq!(
        (&first["entries"][0]["open"], &first["entries"][0]["sold"]),
        (&json!(true), &json!(0))
    );
    // One is sold, then all of them; the note keeps its apostrophe.
    let one = ask(
        &of(&first),
        json!({ "line": 2, "typed": { "listed": "2026-11-02", "price": "28", "pieces": "3", "left": "2", "outlet": "own page", "note": "=1+1" } }),
    );
    assert_eq!(of(&one), format!("{head}2026-11-02,28,3,2,,,,own page,'=1+1\n"));
    assert_eq!(one["entries"][0]["sold"], 1);
    let all = ask(
        &of(&one),
        json!({ "line": 2, "typed": { "listed": "2026-11-02", "price": "28", "pieces": "3", "sold": "2026-11-20", "outlet": "own page", "note": "=1+1" } }),
    );
    assert_eq!(
        of(&all),
        format!("{head}2026-11-02,28,3,,2026-11-20,,,own page,'=1+1\n")
    );
    assert_eq!(all["entries"][0]["ended"], "2026-11-20");
    assert_eq!(of(&ask(&of(&all), json!({ "line": 2 }))), head);
    // A log of somebody's own: its columns, its separator, its line ends, and a zero where it says that nothing is left.
    let own =
        "wood;listed;price;pieces;left;sold;until\r\noak;2026-01-05;28.00;2;0;2026-01-09;\r\nash;2026-01-06;30;;;;\r\n";
    let open = ask(
        own,
        json!({ "line": 2, "typed": { "listed": "2026-01-05", "price": "28", "pieces": "2", "left": "1" } }),
    );
    assert_eq!(
        of(&open),
        own.replace("2;0;2026-01-09;", "2;1;;"),
        "the price stays as it was written"
    );
    // What is wrong is said with its part, and nothing is changed.
    let wrong = ask(
        own,
        json!({ "typed": { "listed": "2026-11-02", "price": "free", "note": "x" } }),
    );
    let parts: Vec<&str> = wrong["wrong"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["part"].as_str().unwrap())
        .collect();
    assert_eq!((parts, of(&wrong)), (vec!["price", "note"], own.to_owned()));
    assert_eq!(wrong["entries"].as_array().unwrap().len(), 2);
    assert!(!ask(own, json!({ "line": 9 }))["wrong"].as_array().unwrap().is_empty());
    assert!(ask("no table", json!({}))["unread"].is_string());
}

/// The same for a work log, by the program's own rules: a step must be the file's, what a spreadsheet would reckon keeps its apostrophe.
#[test]
fn a_work_log_is_kept_on_the_page() {
    let rail = example("oak-peg-rail");
    let ask = |log: &str, more: Value| {
        let mut question = json!({ "ask": "log", "text": rail, "log": log });
        for (key, value) in more.as_object().unwrap() {
            question[key] = value.clone();
        }
        ask(&question)
    };
    let of = |said: &Value| said["log"].as_str().unwrap().to_owned();
    let head = "date,job,step,what,pieces,rounds,minutes,spoiled,redone,note\n";
    let typed = |minutes: &str| json!({ "date": "2026-11-02", "job": "=1+1", "step": "drill", "pieces": "6", "minutes": minutes });
    let first = ask("", json!({ "typed": typed("1 h 5 min") }));
    assert_eq!(of(&first), format!("{head}2026-11-02,'=1+1,drill,,6,,65,,,\n"));
    assert_eq!(first["entries"][0]["line"], 2);
    assert_eq!(first["entries"][0]["cells"]["job"], "=1+1");
    // Another time, and nothing else; then it is taken out.
    let more = ask(&of(&first), json!({ "line": 2, "typed": typed("70") }));
    assert_eq!(of(&more), of(&first).replace(",65,", ",70,"));
    assert_eq!(of(&ask(&of(&more), json!({ "line": 2 }))), head);
    // A log of somebody's own keeps its separator, its columns, its line ends and a time as it was written.
    let own = "wood;step;pieces;minutes;what\r\noak;drill;4;50 min;all\r\nash;bore;2;20;\r\n";
    let line = |step: &str, pieces: &str, minutes: &str| json!({ "step": step, "pieces": pieces, "minutes": minutes });
    let fewer = ask(own, json!({ "line": 2, "typed": line("drill", "3", "50") }));
    assert_eq!(of(&fewer), own.replace("drill;4;", "drill;3;"));
    // A step that is gone from the file may stay at its entry, and comes to no other.
    let gone = ask(own, json!({ "line": 3, "typed": line("bore", "2", "25") }));
    assert_eq!(of(&gone), own.replace(";20;", ";25;"));
    for wrong in [
        ask(own, json!({ "line": 2, "typed": line("bore", "2", "25") })),
        ask(own, json!({ "typed": line("bore", "2", "25") })),
    ] {
        assert_eq!(wrong["wrong"][0]["part"], "step", "{wrong}");
        assert_eq!(
            (of(&wrong), wrong["entries"].as_array().unwrap().len()),
            (own.to_owned(), 2)
        );
    }
    assert!(
        !ask(own, json!({ "line": 9, "typed": typed("5") }))["wrong"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    assert!(ask("no table", json!({}))["unread"].is_string());
}

/// Where a log is likely another piece's, that is said beside what it would change.
#[test]
fn a_log_that_is_likely_of_another_piece_is_said_to_be() {
    let log = include_str!("../../scenarios/oak-peg-rail-log.csv");
    let doubt =
        |log: &str| look(example("oak-peg-rail"), &json!({ "question": "fit", "log": log }))["fitted"]["doubt"].clone();
    assert_eq!(doubt(log), Value::Null);
    let hasty = ["a", "b", "c"].map(|job| format!("{job},drill,6,0.1\n{job},glue pegs,6,0.1\n"));
    let hasty = format!("job,step,pieces,minutes\n{}", hasty.concat());
    assert!(
        doubt(&hasty)
            .as_str()
            .unwrap()
            .starts_with("Check that the log is of this piece")
    );
}

/// A log's doubts come with what it teaches; which day it is comes with the question.
#[test]
fn what_looks_unintended_in_a_log_is_said() {
    let sales = "listed,price,pieces,left,sold,until,outlet\n2027-01-04,26,1,,2027-01-09,,own page\n2027-01-05,27,1,,2027-01-19,,Own page\n\
                 2027-01-06,26,1,,,,own page\n2027-08-07,27,1,,2027-08-17,,own page\n";
    let doubts = |question: &str, log: &str, today: Value| {
        let more = json!({ "question": question, "log": log, "today": today });
        let said = look(example("plant-labels"), &more)["log_doubts"].clone();
        serde_json::from_value::<Vec<String>>(said).unwrap()
    };
    let on = |day: &str| doubts("sold", sales, json!(day)).join("\n");
    for (day, due) in [
        (
            "2027-02-01",
            "line 5: `listed` 2027-08-07 is still to come, as today is 2027-02-01",
        ),
        (
            "2027-08-20",
            "line 3: outlet `Own page` is `own page` in line 2, and they count as two",
        ),
        (
            "2028-08-20",
            "1 offer is still open, and counted until 2027-08-17, the last day in the log; take down what is for sale no more",
        ),
    ] {
        assert!(on(day).contains(due), "{day}: {}", on(day));
    }
    assert!(!on("2027-08-20").contains("still"), "{}", on("2027-08-20"));
    // Without a day nothing is said of days.
    assert_eq!(doubts("sold", sales, Value::Null).len(), 1);
    assert!(
        doubts("sold", &sales.replace("26", "156").replace("27,", "157,"), Value::Null)
            .concat()
            .contains("the log's prices go from 156 to 157, and the scenario asks 26; is it the log of another piece?")
    );
    // A work log with a line twice.
    let log = "date,job,step,pieces,minutes\n2027-01-04,a,glaze,6,31\n2027-01-04,a,glaze,6,31\n";
    assert_eq!(doubts("fit", log, Value::Null).len(), 1);
}

/// Every text of an answer.
fn texts(value: &Value) -> Vec<&str> {
    match value {
        Value::String(text) => vec![text],
        Value::Array(list) => list.iter().flat_map(texts).collect(),
        Value::Object(map) => map
            .iter()
            .filter(|(key, _)| *key != "chart")
            .flat_map(|(_, value)| texts(value))
            .collect(),
        _ => Vec::new(),
    }
}

/// Whoever reads a page has a button and no flag, and reads no mark of code; what a log changes is said as a person writes it.
#[test]
fn a_page_names_its_button_and_says_ranges_as_their_numbers() {
    let log = include_str!("../../scenarios/oak-peg-rail-log.csv");
    let said = look(example("oak-peg-rail"), &json!({ "question": "fit", "log": log }));
    let answer = texts(&said["answer"]);
    assert!(
        answer.iter().any(|text| text.contains("\"Put it in\" puts in all")),
        "{answer:#?}"
    );
    assert!(
        answer.iter().all(|text| !text.contains("--") && !text.contains('`')),
        "{answer:#?}"
    );
    let changes = said["fitted"]["changes"].as_array().unwrap();
    assert!(
        !changes.is_empty() && changes.iter().any(|change| change["tenths"] == true),
        "{changes:#?}"
    );
    for change in changes {
        assert!(
            change["section"].is_string() && !change["key"].as_str().unwrap().is_empty(),
            "{change}"
        );
        assert!(!change["now"].as_str().unwrap().contains(['{', '=', '"']), "{change}");
    }
    let hook = "title = \"Hook\"\ncurrency = \"EUR\"\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = \"forge\"\neach = \"12 min\"\n";
    let times = [11, 13, 12, 19, 14, 12].map(|minutes| format!("forge,1,{minutes}\n"));
    let log = format!("step,pieces,minutes\n{}", times.concat());
    let own = look(hook, &json!({ "question": "fit", "log": log, "logged": ["forge"] }));
    let kept = texts(&own["fitted"]["changes"]);
    assert!(
        kept.iter()
            .any(|text| text.starts_with("one of ") && text.ends_with("min, each as likely")),
        "{kept:#?}"
    );
}

/// What the page is told of how many pieces may be asked about is what is taken.
#[test]
fn the_most_pieces_that_are_told_are_those_that_are_taken() {
    let said = ask(&json!({ "ask": "keys" }));
    let most = |of: &str| u32::try_from(said["most"][of].as_u64().unwrap()).unwrap();
    let read = crate::Scenario::from_toml(example("oak-peg-rail")).unwrap();
    let asked = |question: &str, size: u32| {
        let options = crate::Options::new().trials(100).unwrap();
        let options = options.size(size).map_err(|error| error.to_string())?;
        let question = crate::Question::ALL
            .into_iter()
            .find(|one| one.command() == question)
            .unwrap();
        let answer = crate::ask(question, &read, &options);
        answer.map(|_| ()).map_err(|error| error.to_string())
    };
    for question in ["floor", "jig", "drivers", "stress"] {
        let wrong = asked(question, most(question) + 1).unwrap_err();
        assert!(
            wrong.contains("at most") || wrong.contains("from 1 to"),
            "{question}: {wrong}"
        );
    }
    // The others take their time with so many.
    assert_eq!(asked("jig", most("jig")), Ok(()));
    assert_eq!(said["most"].get("season"), None);
    let orders = |pieces: u32| {
        look(
            example("oak-peg-rail"),
            &json!({ "question": "quote", "orders": [pieces], "trials": 100 }),
        )["cannot"]
            .clone()
    };
    assert!(orders(most("quote") + 1).as_str().unwrap().contains("from 1 to"));
    let line = |pieces: u32| {
        let typed = json!({ "step": "drill", "pieces": pieces.to_string(), "minutes": "9" });
        ask(&json!({ "ask": "log", "text": example("oak-peg-rail"), "log": "", "typed": typed }))["wrong"]
            .as_array()
            .unwrap()
            .len()
    };
    assert_eq!([line(most("log")), line(most("log") + 1)], [0, 1]);
}

/// What a terminal leaves out first stands last where few columns are seen at once; every row says the same.
#[test]
fn on_a_narrow_screen_what_decides_comes_first() {
    let table = |wide: u32| -> Value {
        look(example("oak-peg-rail"), &json!({ "question": "sweep", "wide": wide }))["answer"]["tables"][0].clone()
    };
    let (phone, beside, desk) = (table(360), table(700), table(1_000));
    let top = |table: &Value| -> Vec<String> {
        let head = table["head"][0].as_array().unwrap().iter();
        head.map(|head| head["text"].as_str().unwrap().to_owned()).collect()
    };
    let (narrow, whole) = (top(&phone), top(&desk));
    assert_eq!(
        (&narrow[0], &whole[0]),
        (&"pieces a batch".to_owned(), &"pieces a batch".to_owned())
    );
    // Beside the figures, and on a phone too, the average is seen, and what decides less is pushed along.
    let beside = top(&beside);
    assert_eq!(beside, narrow);
    for table in [&narrow, &beside] {
        assert!(
            table[1] == "an hour earns EUR"
                && table[2].starts_with("batches that earn")
                && table[3].starts_with("price that pays"),
            "{table:?}"
        );
    }
    assert!(
        whole[2].starts_with("setup's share") && !narrow[2].starts_with("setup's share"),
        "{whole:?} {narrow:?}"
    );
    assert!(
        narrow[narrow.len() - 2].starts_with("setup's share") && narrow[narrow.len() - 1].starts_with("profit"),
        "{narrow:?}"
    );
    let sorted = |list: Vec<String>| {
        let mut list = list;
        list.sort_unstable();
        list
    };
    // What stands over several columns stands twice where one of them goes before the others.
    let mut heads = sorted(narrow);
    heads.dedup();
    assert_eq!(heads, sorted(whole));
    let cells = |table: &Value, row: usize| -> Vec<String> {
        let cells = table["rows"][row]["cells"].as_array().unwrap().iter();
        cells.map(|cell| cell["text"].as_str().unwrap().to_owned()).collect()
    };
    for row in 0..phone["rows"].as_array().unwrap().len() {
        assert_eq!(sorted(cells(&phone, row)), sorted(cells(&desk, row)));
    }
}

/// The price at the asked confidence and how often today's is enough, or what the whole order costs then.
#[test]
fn on_a_narrow_screen_the_price_that_is_asked_for_comes_first() {
    for (question, second) in [
        ("floor", "is enough in so many"),
        ("quote", "whole order, EUR in 80\u{a0}%"),
    ] {
        for wide in [360, 700] {
            let said = look(example("oak-peg-rail"), &json!({ "question": question, "wide": wide }));
            let head = &said["answer"]["tables"][0]["head"];
            let text = |line: usize, column: usize| head[line][column]["text"].as_str().unwrap();
            assert!(text(0, 0).starts_with("pieces"), "{head}");
            assert_eq!(
                (text(0, 1), text(1, 0)),
                ("price that pays EUR", "in 80\u{a0}%"),
                "{head}"
            );
            assert!(text(0, 2).ends_with(second), "{head}");
        }
    }
}

/// Where what a panel shows has no room beside its title it takes more lines, and nothing of it is cut off.
#[test]
fn what_a_panel_shows_is_said_whole_at_every_width() {
    let sales = include_str!("../../scenarios/plant-labels-sales.csv");
    for wide in [360, 560, 640, 736, 900] {
        let said = look(
            example("plant-labels"),
            &json!({ "question": "sold", "log": sales, "wide": wide }),
        );
        let chart = said["answer"]["chart"].as_str().unwrap();
        let chart = roxmltree::Document::parse(chart).unwrap();
        let words: Vec<&str> = chart
            .descendants()
            .filter_map(|node| node.attribute("data-text"))
            .collect();
        let words = words.join(" ");
        for whole in [
            "half of the offers have sold a piece",
            "each price in each outlet alone, grey where nothing sold yet",
        ] {
            assert!(words.contains(whole), "{wide}: {words}");
        }
    }
}

/// From when to when a day is at the bench is shown as it is written, without a scale; it is exchanged for hours and back, added and taken
/// out, and what is no such stretch is a fault at its own value.
#[test]
fn from_when_to_when_is_shown_changed_and_taken_out() {
    let text = "currency = \"EUR\"\ntarget = 30\n[[step]]\nname = \"carve\"\neach = \"20 min\"\n[sale]\nprice = 40\n\n[hours]\nmon = 2 # after supper\n\
                tue = \"18:00..20:30\"\n";
    let changed = |change: Value| ask(&json!({ "ask": "look", "text": text, "changes": [change] }));
    let at = |key: &str| json!({ "section": "hours", "entry": null, "key": key });
    let put = |key: &str, written: &str| changed(json!({ "do": "put", "at": at(key), "written": written }));
    let said = look(text, &json!({}));
    let field = |said: &Value, key: &str| -> Value {
        let groups = said["form"].as_array().unwrap();
        let hours = groups.iter().find(|group| group["section"] == "hours").unwrap();
        let mut fields = hours["fields"].as_array().unwrap().iter();
        fields.find(|one| one["key"] == key).cloned().unwrap_or(Value::Null)
    };
    assert_eq!(field(&said, "tue")["written"], "18:00..20:30");
    assert_eq!(field(&said, "tue")["figures"], Value::Null);
    assert_eq!(field(&said, "mon")["figures"]["numbers"][0]["value"], 2.0);
    for (said, line) in [
        (put("mon", "18:00..20:30"), "mon = \"18:00..20:30\" # after supper"),
        (put("tue", "19:00..21:00"), "tue = \"19:00..21:00\""),
        (put("tue", "2.5"), "tue = \"2.5\""),
        (put("sat", "9:00..13:00"), "sat = \"9:00..13:00\""),
    ] {
        assert!(
            said["text"].as_str().unwrap().lines().any(|l| l == line),
            "{line}: {said}"
        );
        assert_eq!(said["faults"], json!([]), "{line}");
    }
    let gone = changed(json!({ "do": "take", "at": at("tue") }));
    assert_eq!(field(&gone, "tue"), Value::Null);
    assert_eq!(gone["faults"], json!([]));
    let wrong = put("tue", "20:30..18:00");
    assert_eq!(wrong["faults"][0]["at"], at("tue"), "{wrong}");
    assert!(
        wrong["faults"][0]["cure"].as_str().unwrap().contains("18:00..20:30"),
        "{wrong}"
    );
}

/// Where forms are at hand, no section of a file is spoken of that nobody there ever sees.
#[test]
fn who_has_forms_is_sent_to_no_section_of_a_file() {
    let rail = example("oak-peg-rail").to_owned();
    let without_hours: Vec<&str> = rail.split("\n[").filter(|part| !part.starts_with("hours]")).collect();
    let without_hours = without_hours.join("\n[");
    assert_ne!(rail, without_hours);
    for (text, others) in [(&rail, [&without_hours]), (&without_hours, [&rail]), (&rail, [&rail])] {
        for question in ["sweep", "compare"] {
            let said = look(
                text,
                &json!({ "question": question, "others": others, "sizes": [null] }),
            );
            let words = said["answer"]["more"].to_string();
            assert!(words.contains("Where that is not sure, say how many buyers"), "{said}");
            assert!(!words.contains(" ["), "{words}");
        }
    }
}

/// Buyers who mind the price were counted at 30: asked 36, fewer of them come. Without an elasticity, or where the file says for which price they are, nothing
/// is put in.
#[test]
fn buyers_stay_those_of_the_price_they_were_told_for() {
    let text = "currency = \"EUR\"\ntarget = 20\n[batch]\nsizes = [4]\n[[step]]\nname = \"turn\"\neach = \"20 min\"\n[sale]\nprice = 30\n\
                [season]\nbuyers = 40\nclearance = 0\nelasticity = 2\n";
    let asked = |text: &str| {
        let at = json!({ "section": "sale", "entry": null, "key": "price" });
        let said =
            ask(&json!({ "ask": "look", "text": text, "changes": [{ "do": "put", "at": at, "written": "36" }] }));
        assert_eq!(said["faults"], json!([]), "{said}");
        let text = said["text"].as_str().unwrap();
        let season = scenario::read(NAME, text, &[]).unwrap().season.unwrap();
        (text.contains("buyers_at"), (1e9 * season.at_price(36.0)).round())
    };
    assert_eq!(asked(text), (true, (25e9 / 36.0_f64).round()));
    assert_eq!(asked(&text.replace("elasticity = 2\n", "")), (false, 1e9));
    let told_at = text.replace("elasticity = 2\n", "elasticity = 2\nbuyers_at = 24\n");
    assert_eq!(asked(&told_at), (true, (4e9 / 9.0_f64).round()));
}
