use serde_json::{Value, json};

use super::{EXAMPLES, reply};

fn ask(question: &Value) -> Value {
    serde_json::from_str(&reply(question.to_string().as_bytes())).unwrap()
}

fn look(text: &str, more: &Value) -> Value {
    let mut question = json!({ "ask": "look", "text": text, "trials": 300, "wide": 700 });
    for (key, value) in more.as_object().unwrap() {
        question[key] = value.clone();
    }
    ask(&question)
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
