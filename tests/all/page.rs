//! The page's questions from outside: JSON in, JSON out, held against what the commands print.

use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

fn shipped(name: &str) -> String {
    std::fs::read_to_string(place(name)).expect("a shipped scenario")
}

fn place(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name)
}

fn look(text: &str, more: &Value) -> Value {
    let mut question = json!({ "ask": "look", "text": text, "figures": true });
    for (key, value) in more.as_object().expect("the test's own part works") {
        question[key] = value.clone();
    }
    serde_json::from_str(&batchwright::page::reply(question.to_string().as_bytes())).expect("a reply is JSON")
}

fn put(section: &str, entry: Option<usize>, key: &str, written: &str) -> Value {
    json!({ "do": "put", "at": { "section": section, "entry": entry, "key": key }, "written": written })
}

/// What a command prints as JSON.
fn command(arguments: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_batchwright"))
        .args(arguments)
        .args(["--format", "json"])
        .output()
        .expect("the program starts");
    assert!(
        out.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).expect("text")
}

#[test]
fn quotes_maps_own_times_and_a_steady_sellers_season_are_those_of_their_commands() {
    let rail = place("oak-peg-rail.toml");
    let rail = rail.to_str().expect("a name");
    let text = shipped("oak-peg-rail.toml");
    let json = |said: &Value| {
        said["answer"]["json"]
            .as_str()
            .unwrap_or_else(|| panic!("{said}"))
            .to_owned()
    };
    let quote = look(
        &text,
        &json!({ "question": "quote", "orders": [24, 1, 6, 6], "trials": 2000 }),
    );
    assert_eq!(
        json(&quote),
        command(&["floor", rail, "--order", "1,6,24", "--trials", "2000"])
    );
    // Where none are named, those that fit the file.
    let usual = look(&text, &json!({ "question": "quote", "trials": 2000 }));
    assert_eq!(
        json(&usual),
        command(&["floor", rail, "--order", "1,6,12,24", "--trials", "2000"])
    );
    let towels = place("printed-tea-towels.toml");
    let asked = json!({ "question": "quote", "orders": [12], "channel": "shops by the dozen", "trials": 2000 });
    let through = look(&shipped("printed-tea-towels.toml"), &asked);
    let towels = towels.to_str().expect("a name");
    let alone = [
        "floor",
        towels,
        "--order",
        "12",
        "--channel",
        "shops by the dozen",
        "--trials",
        "2000",
    ];
    assert_eq!(json(&through), command(&alone));

    let over = json!(["sale.price=50..70 step 5", "target=20..40 step 10"]);
    let map = look(
        &text,
        &json!({ "question": "over", "over": over, "size": 6, "trials": 500 }),
    );
    let alone = [
        "sweep",
        rail,
        "--over",
        "sale.price=50..70 step 5",
        "--over",
        "target=20..40 step 10",
        "--size",
        "6",
        "--trials",
        "500",
    ];
    assert_eq!(json(&map), command(&alone));

    let log = place("oak-peg-rail-log.csv");
    let fit = look(
        &text,
        &json!({ "question": "fit", "log": std::fs::read_to_string(&log).expect("a log") }),
    );
    assert_eq!(json(&fit), command(&["fit", rail, log.to_str().expect("a name")]));

    let labels = place("plant-labels.toml");
    let season = look(
        &shipped("plant-labels.toml"),
        &json!({ "question": "season", "trials": 500 }),
    );
    assert_eq!(
        json(&season),
        command(&["season", labels.to_str().expect("a name"), "--trials", "500"])
    );
}

#[test]
fn what_cannot_be_asked_is_told_in_a_sentence() {
    let text = shipped("oak-peg-rail.toml");
    let log = std::fs::read_to_string(place("oak-peg-rail-log.csv")).expect("a log");
    for asked in [
        json!({ "question": "season" }),
        json!({ "question": "steady" }),
        json!({ "question": "quote", "orders": [] }),
        json!({ "question": "quote", "orders": [0] }),
        json!({ "question": "quote", "orders": [6], "channel": "nobody" }),
        json!({ "question": "over", "over": ["sale.price=9..3"] }),
        json!({ "question": "fit", "log": "job\n" }),
        json!({ "question": "fit", "log": log, "logged": ["no such step"] }),
    ] {
        let said = look(&text, &asked);
        let why = said["cannot"].as_str().unwrap_or_else(|| panic!("{asked}: {said}"));
        assert!(why.len() > 20 && said["answer"].is_null(), "{asked}: {why}");
    }
}

#[test]
fn a_change_moves_the_answer_as_set_does_and_the_difference_is_told() {
    let text = shipped("oak-peg-rail.toml");
    let rail = place("oak-peg-rail.toml");
    let rail = rail.to_str().expect("a name");
    let changes = json!([
        put("sale", None, "price", "70"),
        put("step", Some(1), "each", "4 / 6 / 11 min")
    ]);
    let asked = json!({ "question": "sweep", "changes": changes, "before": text, "trials": 2000 });
    let answer = look(&text, &asked);
    let set = [
        "--set",
        "sale.price=70",
        "--set",
        "step.mill blanks.each=4 / 6 / 11 min",
    ];
    let alone = command(&[&["sweep", rail, "--trials", "2000"], &set[..]].concat());
    assert_eq!(answer["answer"]["json"], alone);
    // Both hours stand in the difference, each to the cent as its own command has it.
    let now: Value = serde_json::from_str(&alone).unwrap();
    let before: Value = serde_json::from_str(&command(&["sweep", rail, "--trials", "2000"])).unwrap();
    let size = &answer["answer"]["size"];
    let rate = |sweep: &Value| {
        let size = sweep["sizes"]
            .as_array()
            .unwrap()
            .iter()
            .find(|s| s["size"] == *size)
            .unwrap();
        format!("{:.2} EUR", size["rate"]["long_run"].as_f64().unwrap())
    };
    let against = answer["against"][0].as_str().unwrap();
    assert!(
        against.contains(&rate(&before)) && against.contains(&rate(&now)),
        "{against}"
    );
    assert_ne!(rate(&before), rate(&now));
    // What was found of the text before is brought along the next time, and nothing is told otherwise.
    let mut again = asked.clone();
    again["was"] = json!([answer["was"]]);
    let again = look(&text, &again);
    assert_eq!(again["against"], answer["against"]);
    assert!(again["was"].is_null() && !answer["was"].is_null());
    // It is believed, or else it would be simulated in vain.
    let mut other = asked;
    other["was"] = json!([answer["was"]]);
    for point in other["was"][0]["sizes"].as_array_mut().unwrap() {
        point["rate"] = json!(1.25);
    }
    assert!(look(&text, &other)["against"][0].as_str().unwrap().contains("1.25 EUR"));
}

#[test]
fn the_form_has_every_value_with_its_numbers_and_its_comment() {
    let answer = look(&shipped("oak-peg-rail.toml"), &json!({}));
    let groups = answer["form"].as_array().unwrap();
    let group = |section: &str, name: &str| {
        groups
            .iter()
            .find(|g| g["section"] == section && (name.is_empty() || g["name"] == name))
            .unwrap_or_else(|| panic!("{section} {name}"))
    };
    let field = |group: &Value, key: &str| {
        let fields = group["fields"].as_array().unwrap();
        fields.iter().find(|f| f["key"] == key).unwrap().clone()
    };
    let each = field(group("step", "drill"), "each");
    assert_eq!(each["written"], "2 / 3 / 5 min");
    assert_eq!(each["figures"]["between"], json!(["", " / ", " / ", " min"]));
    assert_eq!(field(group("sale", ""), "price")["written"], "62");
    assert_eq!(
        field(group("sale", ""), "price")["comment"],
        "what a buyer pays for a rail, tax included"
    );
    assert_eq!(field(group("", ""), "confidence")["figures"]["top"], 100.0);
    assert!(field(group("batch", ""), "sizes")["figures"].is_null());
}

#[test]
fn faults_come_all_at_once_each_with_place_and_cure() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/invalid");
    let (mut at_fields, mut all) = (0, 0);
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let Ok(text) = std::fs::read_to_string(&path) else {
            continue;
        };
        // Files that are faulty only together with `--set` are whole here.
        let Err(faults) = batchwright_core::scenario::read("scenario.toml", &text, &[]) else {
            continue;
        };
        let answer = look(&text, &json!({}));
        let told = answer["faults"].as_array().unwrap();
        assert_eq!(told.len(), faults.count(), "{}", path.display());
        assert!(answer["answer"].is_null());
        for (told, fault) in told.iter().zip(&faults) {
            let (line, column) = faults.line_and_column(fault);
            let what = told["what"].as_str().unwrap();
            // Where there is no form, nothing else says what stands at the mark.
            assert!(
                what == fault.what()
                    || answer["form"].is_null() && what.starts_with(fault.what()) && what.ends_with(fault.label()),
                "{what}"
            );
            assert_eq!(told["cure"], fault.cure());
            assert_eq!(
                (told["line"].as_u64(), told["column"].as_u64()),
                (Some(line as u64), Some(column as u64))
            );
            assert!(!fault.cure().is_empty());
            // A text that is no TOML has no field at all.
            all += usize::from(!answer["form"].is_null());
            at_fields += usize::from(told["at"]["key"].as_str().is_some_and(|key| !key.is_empty()));
        }
    }
    // What is missing, or a section as a whole, has no field to stand at; most faults have one.
    assert!(
        all > 100 && at_fields * 3 > all * 2,
        "{at_fields} of {all} faults stand at a field"
    );
    let answer = look(&shipped("oak-peg-rail.toml").replace("= 62 ", "= £26 "), &json!({}));
    assert!(answer["form"].is_null());
    assert_eq!(
        answer["faults"][0]["what"],
        "this cannot be read as TOML, the form a scenario is written in; at `£26`: a number alone is due"
    );
    // Two fields at once, each at its own.
    let text = shipped("oak-peg-rail.toml");
    let wrong = json!([
        put("sale", None, "fee", "650 %"),
        put("step", Some(2), "each", "5 / 3 min")
    ]);
    let answer = look(&text, &json!({ "changes": wrong }));
    let at: Vec<&Value> = answer["faults"].as_array().unwrap().iter().map(|f| &f["at"]).collect();
    assert!(
        at.contains(&&json!({ "section": "sale", "entry": null, "key": "fee" })),
        "{at:?}"
    );
    assert!(
        at.contains(&&json!({ "section": "step", "entry": 2, "key": "each" })),
        "{at:?}"
    );
}
