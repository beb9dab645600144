//! The library from outside: every question on every face, and no call that panics.

use crate::program::printed;
use batchwright::{
    Error, Figures, Options, Question, Report, SalesLog, Scenario, WorkLog, ask, fit, fitted, sold, with_buyers,
};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::RngSeed;
use std::sync::LazyLock;

/// The texts of all, in order of their names.
static SHIPPED: LazyLock<Vec<String>> = LazyLock::new(|| {
    let text = |name| std::fs::read_to_string(crate::shipped::shipped(name)).expect("a shipped scenario");
    crate::shipped::names().map(text).collect()
});

fn shipped(k: usize) -> Scenario {
    Scenario::from_toml(&SHIPPED[k]).expect("a shipped scenario is sound")
}

fn few() -> Options {
    Options::new().trials(200).expect("enough")
}

#[test]
fn every_question_is_answered_on_every_face_or_says_what_is_missing() {
    let mut answered = Vec::new();
    for k in 0..SHIPPED.len() {
        let scenario = shipped(k);
        for question in Question::ALL {
            let options = match question {
                Question::Compare => few().against(&scenario),
                _ => few(),
            };
            let options = options.start("2027-01-11").expect("a date");
            match ask(question, &scenario, &options) {
                Ok(answer) => {
                    answered.push(question);
                    let json = serde_json::to_string_pretty(&answer).expect("JSON") + "\n";
                    assert!(json == answer.json(), "{question:?}");
                    assert!(answer.csv().lines().count() > 1, "{question:?}");
                    assert!(
                        answer.text(80).ends_with('\n') && answer.text(0).lines().count() > 5,
                        "{question:?}"
                    );
                    assert!(answer.svg().is_ok_and(|svg| svg.starts_with("<svg")), "{question:?}");
                    assert!(
                        answer.png().is_ok_and(|png| png.starts_with(b"\x89PNG")),
                        "{question:?}"
                    );
                }
                Err(error) => {
                    let section = scenario.lacks(question).expect("nothing else can be missing");
                    assert!(error.to_string().ends_with(&format!("has no {section}")), "{error}");
                }
            }
        }
    }
    assert!(Question::ALL.iter().all(|question| answered.contains(question)));
}

/// Over values of a key, what a log says and the scenario that has learned: as the commands say them.
#[test]
fn values_and_logs_are_asked_like_their_commands() {
    let rail = shipped(4);
    let over = few().over("sale.price=50,60,70").expect("values");
    let json = ask(Question::Sweep, &rail, &over).expect("an answer").json();
    let said = printed(&[
        "sweep",
        "scenarios/oak-peg-rail.toml",
        "--over",
        "sale.price=50,60,70",
        "--trials",
        "200",
        "--format",
        "json",
    ]);
    assert_eq!(json, said);
    assert!(few().over("sale.price").is_err() && over.clone().over("sale.price=1,2").is_err());
    assert!(ask(Question::Floor, &rail, &over).is_err());
    let unreadable = few().over("sale.price=1,-2").expect("two values");
    assert!(ask(Question::Sweep, &rail, &unreadable).is_err_and(|error| error.faults().is_some()));

    let text = include_str!("../../scenarios/oak-peg-rail-log.csv");
    let log = WorkLog::from_csv(text).expect("a shipped log is sound");
    let answer = fit(&rail, &log);
    let said = printed(&[
        "fit",
        "scenarios/oak-peg-rail.toml",
        "scenarios/oak-peg-rail-log.csv",
        "--format",
        "json",
    ]);
    assert_eq!(answer.json(), said);
    assert!(answer.svg().is_ok() && answer.csv().lines().count() > 5);
    // Packing an order takes less than the file said, so an hour earns more.
    let average = |scenario: &Scenario| {
        let answer = ask(Question::Sweep, scenario, &few().size(9).expect("a size")).expect("an answer");
        let Figures::Sweep(sweep) = answer.figures() else {
            panic!("a sweep was asked for");
        };
        sweep.sizes[0].rate.long_run
    };
    assert!(average(&fitted(&rail, &log).expect("it can be written")) > average(&rail));
    assert!(WorkLog::from_csv("job,step\n").is_err_and(|error| error.faults().is_some()));

    let text = include_str!("../../scenarios/plant-labels.toml");
    let labels = Scenario::from_toml(text).expect("a shipped scenario is sound");
    let log =
        SalesLog::from_csv(include_str!("../../scenarios/plant-labels-sales.csv")).expect("a shipped log is sound");
    let answer = sold(&labels, &log);
    let said = printed(&[
        "sold",
        "scenarios/plant-labels.toml",
        "scenarios/plant-labels-sales.csv",
        "--format",
        "json",
    ]);
    assert!(
        answer.json() == said.replace("scenarios/plant-labels-sales.csv", "sales.csv"),
        "figures are the command's"
    );
    // What the log does not contradict stays; thirty buyers a week it does.
    let learned = |scenario: &Scenario| with_buyers(scenario, &log).expect("it can be written").understood(80);
    assert_eq!(learned(&labels), labels.understood(80));
    let many = Scenario::from_toml(&text.replace("per_week = 3 ", "per_week = 30 ")).expect("a scenario");
    assert_ne!(learned(&many), many.understood(80));
    assert!(SalesLog::from_csv("listed\n").is_err_and(|error| error.faults().is_some()));
}

#[test]
fn an_answer_is_its_command_s() {
    let answer = ask(Question::Floor, &shipped(4), &few().size(12).expect("a size")).expect("an answer");
    let Figures::Floor(floors) = answer.figures() else {
        panic!("a floor was asked for");
    };
    assert_eq!(floors.sizes.len(), 1);
    assert_eq!((answer.trials(), floors.sizes[0].size), (200, 12));
    let sweep = ask(Question::Sweep, &shipped(4), &few().size(12).expect("a size")).expect("an answer");
    let Figures::Sweep(sweep) = sweep.figures() else {
        panic!("a sweep was asked for");
    };
    assert_eq!(sweep.sizes.iter().map(|at| at.size).collect::<Vec<_>>(), [12]);
}

#[test]
fn a_report_is_its_command_s() {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, page, book) = ["scenario.toml", "a.html", "a.xlsx"]
        .map(|name| folder.path().join(name))
        .into();
    std::fs::write(&file, &SHIPPED[4]).expect("a file");
    let report = Report::new(&[shipped(4)], &few(), "2027-01-11").expect("a report");
    let written = |out: &std::path::Path| {
        let [file, out] = [&file, out].map(|path| path.to_str().expect("text"));
        printed(&["report", file, "--out", out, "--trials", "200", "--date", "2027-01-11"]);
        std::fs::read(out).expect("a report")
    };
    assert!(report.html().expect("a page").as_bytes() == written(&page));
    assert!(report.workbook().expect("a workbook") == written(&book));

    // Two are set against each other; what was set stands in it.
    let dear = Scenario::from_toml_with(&SHIPPED[4], &[("target", "41.5")]).expect("a scenario");
    let both = Report::new(&[shipped(4), dear], &few(), "2027-01-11").expect("a report");
    let page = both.html().expect("a page");
    assert!(
        page.contains("target = 41.5") && page.contains("id=\"compare"),
        "{page}"
    );
}

#[test]
fn what_cannot_be_is_refused_where_it_is_given() {
    let refused = |error: Option<Error>, what: &str| {
        let said = error.expect(what).to_string();
        assert!(said.contains(what), "{said}");
    };
    refused(Options::new().trials(99).err(), "from 100 to 100000000");
    refused(Options::new().trials(u64::MAX).err(), "from 100 to 100000000");
    refused(Options::new().size(0).err(), "from 1 to 100000");
    refused(Options::new().threads(0).err(), "from 1 to 1024");
    refused(Options::new().start("tomorrow").err(), "2027-01-11");
    refused(Options::new().due("2027-02-30").err(), "2027-01-11");

    let ask = |question, options: &Options| ask(question, &shipped(4), options).err();
    refused(ask(Question::Compare, &few()), "two scenarios or more");
    refused(
        ask(Question::Compare, &few().against(&shipped(9))),
        "different currencies",
    );
    refused(ask(Question::Sweep, &few().against(&shipped(4))), "one scenario");
    refused(
        ask(Question::Drivers, &few().size(10_001).expect("a size")),
        "10000 pieces at most",
    );
    refused(ask(Question::Calendar, &few()), "Options::start");

    let report = |scenarios: &[Scenario], options: &Options, made| Report::new(scenarios, options, made).err();
    let one = [shipped(4)];
    refused(report(&[], &few(), "2027-01-11"), "from 1 to 26");
    refused(report(&vec![shipped(4); 27], &few(), "2027-01-11"), "from 1 to 26");
    refused(report(&one, &few(), "soon"), "2027-01-11");
    refused(report(&one, &few().size(3).expect("a size"), "2027-01-11"), "all sizes");
    refused(
        report(&one, &few().against(&shipped(4)), "2027-01-11"),
        "report's scenarios",
    );
    let over = few().over("sale.price=10..30 step 5").expect("a key");
    refused(report(&one, &over, "2027-01-11"), "goes over no values");
}

/// What used to be possible: sizes that go down, a confidence of 80.
#[test]
fn a_scenario_is_put_in_order_or_refused() {
    let with = |key: &str, value: &str| Scenario::from_toml_with(&SHIPPED[4], &[(key, value)]);
    let sorted = with("batch.sizes", "[24, 6, 1, 6]");
    if let Ok(scenario) = &sorted {
        assert!(scenario.sizes().is_sorted_by(|a, b| a < b), "{:?}", scenario.sizes());
    }
    let refused = with("confidence", "80").expect_err("80 is no share");
    assert_eq!(refused.faults().expect("a fault of the value").count(), 1);
    assert!(refused.to_string().contains("confidence"), "{refused}");
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: RngSeed::Fixed(20_261_128),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Any value for any of these keys, any option, any question: an answer or an error that says something.
    #[test]
    fn no_call_panics(
        k in 0..SHIPPED.len(),
        question in select(Question::ALL.to_vec()),
        key in select(vec![
            "confidence", "target", "batch.sizes", "batch.runs", "batch.spoiled", "pace.factor", "sale.price", "sale.tax",
            "sale.fee", "sale.post", "sale.returned", "sale.order_of", "shop.per_month", "hours.mon", "season.buyers",
            "season.elasticity", "steady.per_week", "nothing.there",
        ]),
        value in prop_oneof![
            select(vec![
                "0", "1", "80", "-1", "1e300", "nan", "inf", "0.999", "0 %", "100 %", "0 / 0 / 0", "1 / 2 / 1e9", "[5, 1, 1]", "1..40",
                "remake", "\"", "24", "0.0000001", "2 h",
            ]).prop_map(str::to_owned),
            any::<f64>().prop_map(|number| number.to_string()),
            ".{0,12}",
        ],
        size in proptest::option::of(0_u32..60),
        trials in 0_u64..400,
        seed in any::<u64>(),
        columns in any::<usize>(),
        start in prop_oneof!["[0-9]{4}-[0-9]{2}-[0-9]{2}", Just("9999-12-30".to_owned()), Just("2027-01-11".to_owned())],
    ) {
        let outcome = || -> Result<String, Error> {
            let scenario = Scenario::from_toml_with(&SHIPPED[k], &[(key, &value)])?;
            let mut options = Options::new().seed(seed).trials(trials.max(90))?.start(&start)?;
            if let Some(size) = size {
                options = options.size(size)?;
            }
            if question == Question::Compare {
                options = options.against(&shipped(k));
            }
            let answer = ask(question, &scenario, &options)?;
            let charts = answer.svg().unwrap_or_else(|error| error.to_string());
            Ok(answer.text(columns) + &answer.json() + &answer.csv() + &charts + &scenario.understood(columns) + &scenario.doubts().join(" "))
        };
        let said = outcome().unwrap_or_else(|error| error.to_string());
        prop_assert!(!said.is_empty());
    }

    /// Any text at all.
    #[test]
    fn no_text_panics(text in "(\\PC|[\n\\[\\]=\"'.,0-9a-z]){0,80}", columns in any::<usize>()) {
        if let Err(error) = Scenario::from_toml(&text) {
            let faults = error.faults().expect("a text is refused for its faults");
            prop_assert!(faults.count() > 0);
            prop_assert!(!faults.render(true, columns.min(10_000)).is_empty());
        }
    }
}
