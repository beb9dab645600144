//! `calendar` held against the outside: a discrete-event library's schedules, schedules worked out by hand, chances that are
//! known, and itself from outside: rerun from the date it names, every face, the same bytes for any number of threads.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

mod certain;
mod day_plan;
mod simpy;

use crate::program::{batchwright, text};
use std::path::PathBuf;
use std::process::Output;

use crate::bounds::{count_is_binomial, scenario, settings};
use crate::shipped::shipped;
use batchwright::render::Render;
use batchwright::render::json::Json as _;
use batchwright::render::text::Look;

use batchwright_core::questions::calendar::{self, Calendar, Day, LimitedBy, More, NoDate, Opens, Question};
use jiff::civil::{date, time};

// ---- By hand -------------------------------------------------------------------------------------------------------------

/// Trays, everything certain. 3 December 2026 is a Thursday.
const TRAYS: &str = r#"
title = "Trays"
currency = "EUR"
target = 30
confidence = "80 %"
[batch]
sizes = [6]
[[step]]
name = "mill"
setup = "30 min"
each = "15 min"
[[step]]
name = "glue up"
setup = "10 min"
each = "5 min"
room = 4
wait = "12 h"
[[step]]
name = "sand"
each = "20 min"
[[step]]
name = "oil"
each = "5 min"
wait = "1 d"
[sale]
price = 60
[hours]
mon = 2
thu = 2
sat = 6
"#;

fn day(month: i8, day: i8) -> Day {
    Day(date(2026, month, day))
}

fn question(from: Day, due: Option<Day>, sizes: &[u32]) -> Question {
    Question {
        from,
        due,
        opens: Opens(time(9, 0, 0, 0)),
        sizes: sizes.to_vec(),
        first_batch: false,
        spares: 0,
    }
}

fn asked(text: &str, trials: u64, question: &Question) -> Result<Calendar, NoDate> {
    let settings = settings(trials);
    calendar::run(&scenario(text), question, &settings, &|_| ())
}

/// Without a word about it each firing has a kiln of its own, which is a second kiln for both.
#[test]
fn steps_that_share_nothing_do_not_wait_for_each_other() {
    let shared = TRAYS.replace("wait = \"12 h\"", "wait = \"12 h\"\nkept_in = \"press\"");
    let one_alone = asked(&shared, 100, &question(day(12, 3), None, &[6])).unwrap();
    let apart = asked(TRAYS, 100, &question(day(12, 3), None, &[6])).unwrap();
    assert_eq!(one_alone.sizes, apart.sizes);
    let both = shared.replace("wait = \"1 d\"", "wait = \"1 d\"\nroom = 6\nkept_in = \"press\"");
    let both = asked(&both, 100, &question(day(12, 3), None, &[6])).unwrap();
    assert!(both.sizes[0].finish_median.date >= apart.sizes[0].finish_median.date);
    let second = both.levers.iter().filter(|lever| lever.more == More::Second);
    assert_eq!(second.count(), 1);
}

/// Two pieces: cut until 10:00 and 11:00, and sanded by a helper until 10:30 and 11:30; alone the last is sanded at 12:00.
#[test]
fn a_helper_works_beside() {
    let text = "target = 20\n[helper]\nwage = 15\n[[step]]\nname = \"cut\"\neach = \"1 h\"\n\
                [[step]]\nname = \"sand\"\neach = \"30 min\"\ndone_by = \"helper\"\n[sale]\nprice = 60\n[hours]\nmon = 4\n";
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} against {expected}");
    let two = asked(text, 200, &question(day(11, 30), None, &[2])).unwrap();
    close(two.sizes[0].clock_days.mean * 1440.0, 150.0);
    close(two.sizes[0].hands_hours.mean, 2.0);
    assert!(two.helper);
    close(two.sizes[0].helper_hours.unwrap().mean, 1.0);
    let [monday] = two.plan.days.as_slice() else {
        panic!("one day")
    };
    close(monday.hands_hours, 2.0);
    close(monday.helper_hours, 1.0);
    let whose: Vec<(&str, f64, bool)> = monday
        .work
        .iter()
        .map(|done| (two.plan.steps[done.step].as_str(), done.hours, done.helper))
        .collect();
    assert_eq!(whose, [("cut", 2.0, false), ("sand", 1.0, true)]);
    let wide = Look {
        columns: 110,
        ..Look::page(false)
    };
    let whole = two.text(&wide);
    let says = |step: &str, time: &str| whole.lines().any(|line| line.contains(step) && line.contains(time));
    assert!(says("sand (helper)", "1 h"), "{whole}");
    assert!(whole.contains("the helper works 1 h on average"), "{whole}");
    let csv = two.csv();
    assert!(csv.contains("helper_hours"), "{csv}");
    let alone = asked(
        &text.replace("\"helper\"", "\"you\""),
        200,
        &question(day(11, 30), None, &[2]),
    )
    .unwrap();
    close(alone.sizes[0].clock_days.mean * 1440.0, 180.0);
    close(alone.sizes[0].hands_hours.mean, 3.0);
    assert!(!alone.helper && alone.sizes[0].helper_hours.is_none());
    let whole = alone.text(&wide);
    assert!(!whole.contains("helper"), "{whole}");
    let json = alone.json();
    assert!(!json.contains("helper"), "{json}");
    // What the design takes once is the maker's, at whatever step.
    let first = Question {
        first_batch: true,
        spares: 0,
        ..question(day(11, 30), None, &[2])
    };
    let both = text.replace("each = \"30 min\"", "once = \"20 min\"\neach = \"30 min\"");
    let both = asked(&both, 200, &first).unwrap();
    let sanded = both.plan.days[0]
        .work
        .iter()
        .filter(|done| both.plan.steps[done.step] == "sand");
    let sanded: Vec<(bool, f64)> = sanded.map(|done| (done.helper, done.hours)).collect();
    assert_eq!(sanded.len(), 2, "{sanded:?}");
    close(sanded[0].1, 20.0 / 60.0);
    close(sanded[1].1, 1.0);
    assert!(!sanded[0].0 && sanded[1].0);
}

/// Six trays. Thursday the 3rd: milled, 30 + 90 min, to 11:00. Saturday: four glued to 9:30, dry at 21:30; no room for more, 330
/// bench minutes go by. Monday: two glued to 9:20, four sanded to 10:40 and oiled to 11:00. Thursday the 10th: two sanded to 9:40,
/// oiled to 9:50, dry on Friday the 11th at 9:50; the 70 minutes left are waited.
#[test]
fn trays_are_done_when_a_pencil_says() {
    let found = asked(TRAYS, 2_000, &question(day(12, 1), None, &[6])).unwrap();
    assert!(found.certain);
    assert_eq!((found.trials, found.start), (1, day(12, 3)));
    let at = &found.sizes[0];
    for date in [
        at.finish_median.date,
        at.finish_kept.date,
        at.finish_kept.low,
        at.finish_kept.high,
        at.finish_last,
    ] {
        assert_eq!(date, day(12, 11));
    }
    assert_eq!(at.finish_median.days, 8);
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} against {expected}");
    close(at.hands_hours.mean * 60.0, 320.0);
    close(at.limits.bench_hours.mean * 60.0, 720.0);
    close(at.limits.room.mean * 720.0, 330.0);
    close(at.limits.wait.mean * 720.0, 70.0);
    assert_eq!(at.limits.by, LimitedBy::Room);
    // From Thursday 9:00 to Friday of the next week 9:50.
    close(at.clock_days.mean * 1440.0, 8.0 * 1440.0 + 50.0);
    // Day by day: step, minutes, pieces.
    let days: Vec<_> = found
        .plan
        .days
        .iter()
        .map(|day| {
            let work = day.work.iter().map(|w| (w.step, (w.hours * 60.0).round(), w.pieces));
            (day.date, work.collect::<Vec<_>>())
        })
        .collect();
    assert_eq!(
        days,
        [
            (day(12, 3), vec![(0, 120.0, 6)]),
            (day(12, 5), vec![(1, 30.0, 4)]),
            (day(12, 7), vec![(1, 20.0, 2), (2, 80.0, 4), (3, 20.0, 4)]),
            (day(12, 10), vec![(2, 40.0, 2), (3, 10.0, 2)]),
            (day(12, 11), vec![]),
        ]
    );
    let monday = &found.plan.days[2].overnight;
    assert_eq!((monday[0].step, monday[0].pieces, monday[0].until), (1, 2, day(12, 7)));
    close(monday[0].until_minute, 21.0 * 60.0 + 20.0);
    assert_eq!((monday[1].step, monday[1].pieces, monday[1].until), (3, 4, day(12, 8)));
    close(monday[1].until_minute, 11.0 * 60.0);
}

/// Five places: Monday one glued to 9:15, five sanded to 10:55, one oiled; Thursday one sanded to 9:20, five oiled to 9:45: 5 minutes
/// earlier. Eight: all glued on Saturday, sanded on Monday, oiled on Thursday to 9:30: 20 minutes. An hour a week more is 12 minutes a
/// Monday and Thursday: glue up begins on the first Thursday, and nothing else changes.
#[test]
fn what_more_room_and_hours_bring_is_what_a_pencil_says() {
    let found = asked(TRAYS, 2_000, &question(day(12, 3), None, &[6])).unwrap();
    let levers: Vec<(More, Option<u32>, f64)> = found
        .levers
        .iter()
        .map(|l| (l.more, l.room, (l.days_earlier.mean * 1440.0).round()))
        .collect();
    assert_eq!(
        levers,
        [
            (More::Place, Some(5), 5.0),
            (More::TwiceTheRoom, Some(8), 20.0),
            (More::HourAWeek, None, 0.0)
        ]
    );
}

/// Monday the 7th off: on Thursday two are glued, four sanded and oiled by 11:00; Saturday two sanded and oiled by 9:50; dry on Sunday.
#[test]
fn days_off_have_no_hours_and_waits_run_over_them() {
    let off = TRAYS.replace("sat = 6", "sat = 6\noff = [\"2026-12-07\"]");
    let found = asked(&off, 2_000, &question(day(12, 3), None, &[6])).unwrap();
    assert_eq!(found.sizes[0].finish_median.date, day(12, 13));
    assert!(found.plan.days.iter().all(|d| d.date != day(12, 7)));
}

/// Cut on Thursday until 9:15, by itself until 9:15 on Friday, sanded by 9:35.
#[test]
fn a_step_that_needs_no_hands_is_waited_for() {
    let steps = "[[step]]\nname = 'cut'\neach = '15 min'\n[[step]]\nname = 'dry'\nwait = '1 d'\n[[step]]\nname = 'sand'\neach = '20 min'\n";
    let text = format!("target = 30\n[batch]\nsizes = [1]\n{steps}[sale]\nprice = 60\n[hours]\nthu = 2\nfri = 2\n");
    let found = asked(&text, 100, &question(day(12, 3), None, &[1])).unwrap();
    assert_eq!(found.sizes[0].finish_median.date, day(12, 4));
}

/// For Friday the 11th: started on Saturday the 5th all is milled by 11:00 and the first glued by 11:30, dry in the night, and from
/// Monday on it is as before. Started on Monday the 7th nothing is glued before Thursday.
#[test]
fn the_latest_start_is_the_one_a_pencil_finds() {
    let found = asked(TRAYS, 2_000, &question(day(12, 3), Some(day(12, 11)), &[6])).unwrap();
    let due = found.sizes[0].due.unwrap();
    assert_eq!((due.latest_start, due.next_start), (Some(day(12, 5)), Some(day(12, 7))));
    assert_eq!((due.kept.share, due.kept_next.unwrap().share), (1.0, 0.0));
    // For the day before it must be started two bench days earlier still.
    let found = asked(TRAYS, 2_000, &question(day(12, 3), Some(day(12, 10)), &[6])).unwrap();
    let due = found.sizes[0].due.unwrap();
    assert_eq!(due.kept.share, 0.0);
    let latest = due.latest_start.unwrap();
    let again = asked(TRAYS, 2_000, &question(latest, None, &[6])).unwrap();
    assert!(again.sizes[0].finish_last <= day(12, 10) && latest < day(12, 3));
}

/// What is done once comes first where it is the first batch: two hours of Thursday, and all the rest a bench day later; the glue of
/// Saturday begins at 11:00 and is dry in the night all the same. A batch that is the only one is the first without a word.
#[test]
fn the_first_run_has_its_design_before_it() {
    let only = TRAYS.replace("name = \"mill\"", "name = \"mill\"\nonce = \"2 h\"");
    let of_several = only.replace("[batch]", "[batch]\nruns = 2");
    let plain = question(day(12, 3), None, &[6]);
    let first = Question {
        first_batch: true,
        spares: 0,
        ..plain.clone()
    };
    let later = asked(&of_several, 100, &plain).unwrap();
    assert_eq!(later.sizes[0].hands_hours.mean * 60.0, 320.0);
    assert!(!later.first_batch);
    for (text, question) in [(&of_several, &first), (&only, &first), (&only, &plain)] {
        let found = asked(text, 100, question).unwrap();
        assert!(found.first_batch);
        assert!((found.sizes[0].hands_hours.mean * 60.0 - 440.0).abs() < 1e-9);
        assert_eq!(found.plan.days[0].work[0].hours, 2.0);
        assert_eq!(found.sizes[0].finish_median.date, day(12, 11));
    }
}

#[test]
fn there_are_refusals_for_what_has_no_date() {
    let without = TRAYS.split("[hours]").next().unwrap();
    let ask = |text: &str, from: Day| asked(text, 100, &question(from, None, &[6]));
    assert_eq!(ask(without, day(12, 3)), Err(NoDate::NoHours));
    assert_eq!(ask(TRAYS, Day(date(9999, 12, 31))), Err(NoDate::NoStart));
    // Two minutes a week: 320 minutes are three years and more, which is still a date; a thousandth of that is not.
    let little = |hours: &str| TRAYS.split("mon = 2").next().unwrap().to_owned() + "mon = " + hours;
    assert!(ask(&little("0.0333"), day(12, 3)).is_ok());
    assert_eq!(ask(&little("0.0000333"), day(12, 3)), Err(NoDate::TooLong(6)));
}

// ---- Chance --------------------------------------------------------------------------------------------------------------

/// One piece that takes 60 to 180 minutes, all equally likely, on days of two hours: half the batches are done on the first day.
#[test]
fn shares_by_date_are_the_chances_they_estimate() {
    let text = r#"
target = 30
currency = "EUR"
[batch]
sizes = [1]
[[step]]
name = "carve"
each = "60 / 180 min"
[sale]
price = 60
[hours]
mon = 2
tue = 2
wed = 2
thu = 2
"#;
    let trials = 20_000;
    let found = asked(text, trials, &question(day(11, 30), Some(day(11, 30)), &[1])).unwrap();
    assert!(!found.certain);
    let count = |share: f64| (share * trials as f64).round() as u64;
    count_is_binomial(count(found.by_date[0].done.share), trials, 0.5, "done on Monday");
    assert_eq!(found.by_date[1].done.share, 1.0);
    assert_eq!(found.by_date[1].date, day(12, 1));
    // The mean of what is worked is 2 h, its standard deviation 2 h / sqrt(12); five standard errors: one in a million.
    let hands = found.sizes[0].hands_hours;
    assert!((hands.mean - 2.0).abs() < 4.9 * 2.0 / 12_f64.sqrt() / (trials as f64).sqrt());
}

/// A wait drawn by round, 10 to 20 hours from 11:00: done the same day where it is under 13.
#[test]
fn waits_have_their_own_draws() {
    let text = r#"
target = 30
currency = "EUR"
[batch]
sizes = [1]
[[step]]
name = "glue"
each = "120 min"
wait = "10 / 20 h"
[sale]
price = 60
[hours]
mon = 2
"#;
    let trials = 20_000;
    let found = asked(text, trials, &question(day(11, 30), None, &[1])).unwrap();
    let first = (found.by_date[0].done.share * trials as f64).round() as u64;
    count_is_binomial(first, trials, 0.3, "dry on Monday");
}

// ---- From outside --------------------------------------------------------------------------------------------------------

fn program(arguments: &[&str], input: &str) -> Output {
    let mut command = batchwright();
    command.arg("calendar").args(arguments).write_stdin(input);
    command.output().unwrap()
}

/// A page with its lines joined, as sentences break anywhere.
fn joined(bytes: &[u8]) -> String {
    text(bytes).replace('\n', " ")
}

fn json(arguments: &[&str]) -> serde_json::Value {
    let found = program(&[arguments, &["--format", "json"]].concat(), "");
    assert!(found.status.success(), "{}", text(&found.stderr));
    serde_json::from_slice(&found.stdout).unwrap()
}

/// The whole page of a shipped scenario, as it is printed.
#[test]
fn the_page_says_what_it_said() {
    let rail = shipped("oak-peg-rail");
    let found = program(
        &[
            &rail,
            "--start",
            "2026-12-01",
            "--due",
            "2026-12-19",
            "--size",
            "13,1,6,25",
        ],
        "",
    );
    assert!(found.status.success(), "{}", text(&found.stderr));
    let page = text(&found.stdout).replace(
        concat!("batchwright ", env!("CARGO_PKG_VERSION")),
        "batchwright VERSION",
    );
    assert!(page.lines().all(|line| line.chars().count() <= 100), "{page}");
    insta::assert_snapshot!("calendar_oak_peg_rail", page);
}

/// Started on the latest start the date is kept as surely as asked, a bench day later it is not; and the median, the kept date and the
/// shares by date agree with each other.
#[test]
fn the_latest_start_keeps_the_date_and_a_bench_day_later_does_not() {
    for (name, size, due) in [
        ("oak-peg-rail", "13", "2026-12-24"),
        ("oak-peg-rail", "30", "2027-01-16"),
        ("oak-coat-stand", "4", "2027-02-01"),
        ("plant-labels", "40", "2027-09-15"),
    ] {
        let file = shipped(name);
        let ask = |start: &str| json(&[&file, "--size", size, "--start", start, "--due", due, "--trials", "500"]);
        let found = ask("2026-11-30");
        let answer = &found["sizes"][0]["due"];
        let confidence = found["confidence"].as_f64().unwrap();
        let latest = answer["latest_start"].as_str().unwrap();
        let again = ask(latest);
        assert_eq!(again["start"], latest);
        // What is drawn of a later start is what that start's own answer has; of the plan's own start, or one before, there is nothing.
        match latest > found["start"].as_str().unwrap() {
            true => assert_eq!(found["by_date_then"], again["by_date"], "{name}"),
            false => assert!(found.get("by_date_then").is_none(), "{name}"),
        }
        assert!(again.get("by_date_then").is_none(), "{name}: it is started then");
        if let Some(then) = found.get("then") {
            for figure in ["finish_median", "finish_kept", "finish_last", "clock_days", "limits"] {
                assert_eq!(then[figure], again["sizes"][0][figure], "{name}: {figure}");
            }
        }
        let kept = &again["sizes"][0]["due"]["kept"]["share"];
        assert_eq!(kept, &answer["kept_then"]["share"]);
        assert!(kept.as_f64().unwrap() >= confidence, "{name}: {kept}");
        assert!(again["sizes"][0]["finish_kept"]["date"].as_str().unwrap() <= due);
        let next = ask(answer["next_start"].as_str().unwrap());
        let kept = next["sizes"][0]["due"]["kept"]["share"].as_f64().unwrap();
        assert!(kept < confidence, "{name}: {kept}");
        assert!(next["sizes"][0]["finish_kept"]["date"].as_str().unwrap() > due);
        // The date at a share is the first by which that share is done.
        for (date, share) in [("finish_median", 0.5), ("finish_kept", confidence)] {
            let by = found["by_date"].as_array().unwrap();
            let first = by
                .iter()
                .find(|by| by["done"]["share"].as_f64().unwrap() >= share)
                .unwrap();
            assert_eq!(first["date"], found["sizes"][0][date]["date"], "{name}");
        }
        // The plan is that of the start to be kept to, where there is still time for it.
        let kept_to = if latest > found["start"].as_str().unwrap() {
            &again
        } else {
            &found
        };
        assert_eq!(found["plan"], kept_to["plan"], "{name}");
        assert_eq!(found["plan"]["finish"], kept_to["sizes"][0]["finish_median"]["date"]);
        let hands: f64 = found["plan"]["days"]
            .as_array()
            .unwrap()
            .iter()
            .map(|day| {
                let hours = |key: &str| day[key].as_f64().unwrap();
                assert!(hours("hands_hours") <= hours("bench_hours") + 1e-9, "{name}");
                hours("hands_hours")
            })
            .sum();
        assert!(hands > 0.0);
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bytes_on_every_face() {
    let rail = shipped("oak-peg-rail");
    let folder = tempfile::tempdir().unwrap();
    for format in ["text", "json", "csv"] {
        let by = |threads: &str| {
            let chart = folder.path().join(format!("{threads}.svg"));
            let arguments = [
                rail.as_str(),
                "--size=8,13",
                "--start=2026-12-03",
                "--due=2026-12-24",
                "--trials=501",
                "--format",
                format,
                "--threads",
                threads,
                "--chart",
                chart.to_str().unwrap(),
            ];
            let found = program(&arguments, "");
            assert!(found.status.success(), "{}", text(&found.stderr));
            (found.stdout, std::fs::read(chart).unwrap())
        };
        let (page, chart) = by("1");
        assert_eq!((page.clone(), chart.clone()), by("2"));
        assert!(roxmltree::Document::parse(&text(&chart)).is_ok());
        if format == "csv" {
            let page = text(&page);
            let mut reader = csv::Reader::from_reader(page.as_bytes());
            let wide = reader.headers().unwrap().len();
            let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
            assert!(rows.len() == 2 && rows.iter().all(|row| row.len() == wide));
            assert_eq!((&rows[0][0], &rows[1][1]), ("8", "2026-12-03"));
        }
    }
}

/// Every shipped scenario has hours and answers with a page and a picture, or is told how to write them.
#[test]
fn every_shipped_scenario_answers() {
    let folder = tempfile::tempdir().unwrap();
    let mut answered = 0;
    for entry in std::fs::read_dir(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "toml") {
            continue;
        }
        let name = path.display().to_string();
        let has = std::fs::read_to_string(&path).unwrap().contains("\n[hours]");
        let chart = folder.path().join("chart.png").display().to_string();
        let found = program(&[&name, "--start=2026-12-03", "--trials=200", "--chart", &chart], "");
        if has {
            answered += 1;
            assert!(found.status.success(), "{name}: {}", text(&found.stderr));
            assert!(std::fs::read(&chart).unwrap().starts_with(b"\x89PNG"));
            let page = joined(&found.stdout);
            assert!(page.contains("not ours to shorten"), "{name}");
            assert!(
                text(&found.stdout).lines().all(|line| line.chars().count() <= 100),
                "{name}"
            );
        } else {
            assert_eq!(found.status.code(), Some(2), "{name}");
            assert!(text(&found.stderr).contains("the scenario has no [hours]"), "{name}");
            assert!(found.stdout.is_empty() && !std::path::Path::new(&chart).exists());
        }
        let _gone = std::fs::remove_file(&chart);
    }
    assert!(answered >= 3);
}

/// The plan as bars stands on the page where there is room, a row for each step; no line of it is wider than asked, and in ASCII it has
/// nothing else.
#[test]
fn the_plan_stands_on_the_page_as_bars() {
    for size in [6, 400] {
        let found = asked(TRAYS, 100, &question(day(12, 3), None, &[size])).unwrap();
        for columns in (0..130).step_by(7) {
            for unicode in [false, true] {
                let page = found.text(&Look {
                    columns,
                    unicode,
                    ..Look::page(false)
                });
                let Some((_, bars)) = page.split_once("The batch in the middle, day by day") else {
                    assert!(columns < 60, "{columns}: {page}");
                    continue;
                };
                assert!(columns >= 60, "{columns}: {page}");
                let (bars, _) = bars.split_once("\n\n").unwrap_or((bars, ""));
                let upright = if unicode { '│' } else { '|' };
                let mut rows = bars.lines().skip(1).take(found.plan.steps.len());
                assert!(rows.all(|row| row.contains(upright)), "{bars}");
                assert!(bars.contains("at the bench that day"), "{bars}");
                for line in bars.lines() {
                    assert!(line.chars().count() <= columns, "{columns}: {line}");
                    assert!(unicode || line.is_ascii(), "{line}");
                }
            }
        }
    }
}

#[test]
fn what_cannot_be_is_refused_with_its_cure() {
    for (flag, cure) in [
        ("--start=3.12.2026", "year-month-day"),
        ("--due=2026-02-30", "year-month-day"),
        ("--opens=25:00", "hours:minutes"),
        ("--size=0", "a whole number from 1 to 10000"),
        ("--size=6,x", "invalid"),
    ] {
        let found = program(&["-", flag], TRAYS);
        assert_eq!(found.status.code(), Some(2), "{flag}");
        assert!(text(&found.stderr).contains(cure), "{flag}: {}", text(&found.stderr));
    }
}

/// Today is asked of the clock where no start is given: the batch starts no earlier than yesterday, wherever the clock stands.
#[test]
fn without_a_start_it_is_today() {
    let found = program(&["-", "--format=json"], TRAYS);
    let found: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    let from: jiff::civil::Date = found["from"].as_str().unwrap().parse().unwrap();
    let now = std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .unwrap();
    let days = i64::try_from(now.as_secs() / 86_400).unwrap();
    let today = Day(date(1970, 1, 1)).plus(days).unwrap();
    assert!(Day(from).days_to(today).abs() <= 1, "{from} {today}");
}

#[test]
fn a_certain_run_is_said_to_be_exact() {
    // A slip of the year: the day is over before the work starts.
    let over = joined(&program(&["-", "--start=2026-12-03", "--due=2025-12-11"], TRAYS).stdout);
    let said = "Name a later date than Thursday 11 December 2025: the work starts only on Thursday 3 December 2026. You can promise ";
    assert!(over.contains(said), "{over}");
    let page = joined(&program(&["-", "--start=2026-12-03", "--due=2026-12-11"], TRAYS).stdout);
    assert!(
        page.contains(
            "Start by Saturday 5 December 2026. Then a batch of 6 is done by Friday 11 December, the date it is due. Started on \
             Thursday 3 December, it is done in time."
        ),
        "{page}"
    );
    assert!(
        page.contains(
            "Your hands are busy in 53 % of the bench hours until it is done; in 35 % work stands ready and finds no room."
        ),
        "{page}"
    );
}

/// Of 100 min the maker has 65 to do and then waits 35 for the helper: no waiting is what limits it where hands are busy longer.
#[test]
fn hands_that_are_busy_longer_than_they_wait_are_told_first() {
    let helped = "title = \"Hook\"\ncurrency = \"EUR\"\ntarget = 20\n[batch]\nsizes = \"1\"\n[[step]]\nname = \"forge\"\neach = \"65 min\"\n\
                  [[step]]\nname = \"oil\"\neach = \"35 min\"\ndone_by = \"helper\"\n[helper]\nwage = 15\n[sale]\nprice = 90\n[hours]\nthu = 8\n";
    let page = joined(&program(&["-", "--start=2026-12-03"], helped).stdout);
    assert!(
        page.contains(
            "Your hands are busy in 65 % of the bench hours until it is done; in 35 % there is nothing to do but wait."
        ),
        "{page}"
    );
}

/// A chart for a date that is due says when to start for it, and all of it is of that start, as if that had been asked for.
#[test]
fn a_chart_for_a_date_that_is_due_says_when_to_start() {
    let folder = tempfile::tempdir().unwrap();
    let chart = folder.path().join("trays.svg");
    let texts = |start: &str, due: &str| {
        let found = program(
            &["-", start, due, "--overwrite", "--chart", chart.to_str().unwrap()],
            TRAYS,
        );
        assert!(found.status.success(), "{}", text(&found.stderr));
        let svg = std::fs::read_to_string(&chart).unwrap();
        let svg = roxmltree::Document::parse(&svg).unwrap();
        let texts = svg.descendants().filter_map(|node| node.attribute("data-text"));
        texts.map(str::to_owned).collect::<Vec<_>>()
    };
    let early = texts("--start=2026-12-03", "--due=2026-12-11");
    assert!(
        early
            .join(" ")
            .contains("Start by Saturday 5 December 2026: then a batch of 6 is done by Friday 11 December"),
        "{early:?}"
    );
    for title in ["Batches that are done", "The batch in the middle, day by day"] {
        let title = format!("{title}, started on Saturday 5 December");
        assert!(early.contains(&title), "{title} in {early:?}");
    }
    let drawn = |texts: &[String]| {
        let from = texts.iter().position(|text| text.starts_with('%')).unwrap();
        let rest = texts[from..]
            .iter()
            .filter(|text| !text.starts_with("The batch in the middle"));
        rest.cloned().collect::<Vec<_>>()
    };
    let there = texts("--start=2026-12-05", "--due=2026-12-11");
    assert_eq!(drawn(&early), drawn(&there));
    let late = texts("--start=2026-12-07", "--due=2026-12-08");
    assert!(late.join(" ").contains("Promise "), "{late:?}");
}

/// The plan is the one that makes the date: it begins on the day to start by, however far off that is, and ends by the date that is due. A
/// start that is too late has no other plan than its own.
#[test]
fn the_plan_for_a_date_that_is_due_begins_on_the_day_to_start_by() {
    for (start, due, begins) in [
        (day(12, 3), day(12, 11), day(12, 5)),
        (day(12, 3), Day(date(2027, 6, 11)), Day(date(2027, 6, 5))),
        (day(12, 7), day(12, 8), day(12, 7)),
    ] {
        let found = asked(TRAYS, 100, &question(start, Some(due), &[6])).unwrap();
        let plan = &found.plan;
        assert_eq!((plan.start, plan.days[0].date), (begins, begins), "{due}");
        assert_eq!(plan.bars.iter().map(|bar| bar.from as i64).min(), Some(0));
        assert_eq!(plan.finish <= due, begins != start, "{due}");
    }
    let far = text(&program(&["-", "--start=2026-12-03", "--due=2027-06-11"], TRAYS).stdout);
    let lines: Vec<&str> = far.lines().collect();
    let plan = "The batch in the middle, day by day, started on Saturday 5 June 2027";
    let tables: Vec<usize> = (0..lines.len()).filter(|k| lines[*k].trim() == plan).collect();
    assert_eq!(tables.len(), 2, "the table and the chart\n{far}");
    for (from, day) in tables.into_iter().zip(["Sat 5 Jun ", " 5 Jun "]) {
        assert!(lines[from..].iter().any(|line| line.contains(day)), "{far}");
    }
}

/// Eight hours on Monday and four on Tuesday, from 9:00 or as late as the day lets them begin.
#[test]
fn the_hour_the_bench_opens_matters_for_short_waits() {
    let text = r#"
target = 30
currency = "EUR"
[batch]
sizes = [1]
[[step]]
name = "coat"
each = "30 min"
wait = "20 h"
[[step]]
name = "wax"
each = "30 min"
[sale]
price = 60
[hours]
mon = 8
tue = 4
"#;
    // Coated Monday 9:00 to 9:30, dry Tuesday 5:30, waxed 9:00 to 9:30 on Tuesday; with 25 h dry at 10:30; with 5 h on Monday at 14:30.
    let at = |hour: i8, wait: &str| {
        let question = Question {
            opens: Opens(time(hour, 0, 0, 0)),
            ..question(day(11, 30), None, &[1])
        };
        asked(&text.replace("20 h", wait), 100, &question).unwrap().sizes[0]
            .clock_days
            .mean
            * 24.0
    };
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} against {expected}");
    close(at(9, "20 h"), 24.5);
    close(at(9, "25 h"), 26.0);
    // Hours that would run past midnight begin earlier: Monday from 16:00 at the latest; Tuesday keeps its 20:00.
    close(at(20, "20 h"), 28.5);
    close(at(9, "5 h"), 6.0);
}

/// Monday from 18:00 to 22:00. Coated by 18:30, dry after 20 h at 14:30 on Tuesday, waxed by 15:00, 21 h after the bench opened; dry after 17 h at
/// 11:30, waxed from 13:00 on. Where Tuesday says only how long, its four hours from 9:00 are over at 14:30, and the next are a week later.
#[test]
fn a_day_may_say_when_it_begins() {
    let text = |tuesday: &str, wait: &str| {
        format!(
            "target = 30\ncurrency = \"EUR\"\n[batch]\nsizes = [1]\n[[step]]\nname = \"coat\"\neach = \"30 min\"\nwait = \"{wait}\"\n[[step]]\n\
             name = \"wax\"\neach = \"30 min\"\n[sale]\nprice = 60\n[hours]\nmon = \"18:00..22:00\"\ntue = {tuesday}\n"
        )
    };
    let answer = |tuesday: &str, wait: &str, hour: i8| {
        let question = Question {
            opens: Opens(time(hour, 0, 0, 0)),
            ..question(day(11, 30), None, &[1])
        };
        asked(&text(tuesday, wait), 100, &question).unwrap()
    };
    let hours = |answer: &Calendar| answer.sizes[0].clock_days.mean * 24.0;
    let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found} against {expected}");
    let afternoon = "\"13:00..17:00\"";
    close(hours(&answer(afternoon, "20 h", 9)), 21.0);
    close(hours(&answer(afternoon, "20 h", 20)), 21.0);
    close(hours(&answer(afternoon, "17 h", 9)), 19.5);
    close(hours(&answer("4", "20 h", 9)), 168.5);
    close(answer(afternoon, "20 h", 9).week_hours, 8.0);
    let told = batchwright::render::understood::scenario(&scenario(&text(afternoon, "20 h")), 110, true);
    assert!(
        told.contains("You begin at 18:00 on Monday and at 13:00 on Tuesday."),
        "{told}"
    );
    for (tuesday, said) in [
        (
            afternoon,
            "You are at the bench for 8 h a week, on each day from when the file says. Waits",
        ),
        (
            "4",
            "You are at the bench for 8 h a week, from when the file says or else from 09:00. Waits",
        ),
    ] {
        let page = answer(tuesday, "20 h", 9).text(&Look::page(false));
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(page.contains(said), "{page}");
    }
}
