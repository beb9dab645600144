//! Schedules against simpy 4.1.2 (tests/reference/schedule.py, each value there found by a second model too).

use super::{asked, day, question};
use batchwright_core::questions::calendar::schedule::{OpenHours, Task, Work, schedule};
use batchwright_core::questions::calendar::{More, Opens, Question};
use jiff::civil::time;

macro_rules! table {
    ($name:literal) => {
        rows(include_str!(concat!("../../reference/", $name)))
    };
}

/// The rows of a table of whole numbers, without its heading.
fn rows(text: &str) -> Vec<Vec<u32>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<Vec<u32>> = reader
        .records()
        .map(|row| row.unwrap().iter().map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert!(rows.len() >= 8);
    rows
}

fn finish(work: &Work, bench: &OpenHours, begin: f64) -> f64 {
    schedule(work, bench, begin, None).unwrap().finish
}

/// Panels in clamps: unclamp first, then glue, then sand. A clamp is held from gluing to the end of unclamping.
#[test]
fn clamps_are_scheduled_as_simpy_does() {
    for row in table!("clamps.csv") {
        let [panels, clamps, glue, cure, unclamp, sand, expected] = row[..] else {
            panic!("seven columns")
        };
        let minutes = f64::from;
        let mut work = Work::default();
        let room = work.room(clamps);
        for _ in 0..panels {
            let glued = Task {
                wait: minutes(cure),
                takes: Some(room),
                ..Task::work(minutes(glue), 1)
            };
            let glued = work.add(glued, []);
            let freed = Task {
                gives: Some(room),
                ..Task::work(minutes(unclamp), 0)
            };
            let freed = work.add(freed, [glued]);
            work.add(Task::work(minutes(sand), 2), [freed]);
        }
        let found = finish(&work, &OpenHours::always(), 0.0);
        assert_eq!(found, minutes(expected), "{row:?}");
    }
}

/// Rounds in a kiln: form everything, then unload before load before finishing.
#[test]
fn kiln_rounds_are_scheduled_as_simpy_does() {
    for row in table!("kiln.csv") {
        let [
            pieces,
            holds,
            setup,
            form,
            load,
            load_each,
            fire,
            unload,
            unload_each,
            each,
            expected,
        ] = row[..]
        else {
            panic!("eleven columns")
        };
        let mut work = Work::default();
        let kiln = work.room(1);
        let formed = work.add(Task::work(f64::from(setup + form * pieces), 0), []);
        for first in (0..pieces).step_by(holds as usize) {
            let round = holds.min(pieces - first);
            let fired = Task {
                wait: f64::from(fire),
                takes: Some(kiln),
                ..Task::work(f64::from(load + load_each * round), 1)
            };
            let fired = work.add(fired, [formed]);
            let out = Task {
                gives: Some(kiln),
                ..Task::work(f64::from(unload + unload_each * round), 0)
            };
            let out = work.add(out, [fired]);
            for _ in 0..round {
                work.add(Task::work(f64::from(each), 2), [out]);
            }
        }
        let found = finish(&work, &OpenHours::always(), 0.0);
        assert_eq!(found, f64::from(expected), "{row:?}");
    }
}

/// Coats of finish on a working week of Monday to Friday, 8 to 16 o'clock: cures run through nights and the weekend.
#[test]
fn coats_on_a_working_week_are_scheduled_as_simpy_does() {
    let open = (0..70_u32).filter(|day| day % 7 < 5).map(|day| {
        let midnight = f64::from(day) * 1440.0;
        (midnight + 480.0, midnight + 960.0)
    });
    let bench = OpenHours::new(open.collect());
    for row in table!("coats.csv") {
        let [pieces, coat, cure, coats, start, expected] = row[..] else {
            panic!("six columns")
        };
        let mut work = Work::default();
        for piece in 0..pieces {
            let mut last = None;
            for _ in 0..coats {
                let coated = Task {
                    wait: f64::from(cure),
                    ..Task::work(f64::from(coat), piece)
                };
                last = Some(work.add(coated, last));
            }
        }
        let found = finish(&work, &bench, f64::from(start));
        assert_eq!(found, f64::from(expected), "{row:?}");
    }
}

/// Two firings that share one kiln, and what a second kiln would bring, through the whole question: the scenario's steps as the
/// reader and the rounds make work of them. The first row by hand: seven pots formed by 35, the fourth dry at 40; bisque of four 40 to
/// 50, out at 150; of three to 160, out at 260; four glazed meanwhile, the others to 278; glaze firings, three at a time, 278 to 440, to
/// 602, and to 764; the last pot is done at 767.
#[test]
fn firings_that_share_a_kiln_are_scheduled_as_simpy_does() {
    for row in table!("firings.csv") {
        let [
            pieces,
            form,
            dry,
            bisque,
            load,
            fire,
            glaze,
            gloss,
            load_gloss,
            fire_gloss,
            finish,
            kilns,
            expected,
        ] = row[..]
        else {
            panic!("thirteen columns")
        };
        let days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"].map(|day| format!("{day} = 24\n"));
        let pots = format!(
            "target = 30\n[batch]\nsizes = [{pieces}]\n\
             [[step]]\nname = \"form\"\neach = \"{form} min\"\nwait = \"{dry} min\"\n\
             [[step]]\nname = \"bisque\"\nsetup = \"{load} min\"\nroom = {bisque}\nwait = \"{fire} min\"\nkept_in = \"kiln\"\n\
             [[step]]\nname = \"glaze\"\neach = \"{glaze} min\"\n\
             [[step]]\nname = \"gloss\"\nsetup = \"{load_gloss} min\"\nroom = {gloss}\nwait = \"{fire_gloss} min\"\nkept_in = \"kiln\"\n\
             [[step]]\nname = \"finish\"\neach = \"{finish} min\"\n[sale]\nprice = 20\n[hours]\n{}",
            days.concat()
        );
        let always = Question {
            opens: Opens(time(0, 0, 0, 0)),
            ..question(day(11, 30), None, &[pieces])
        };
        let found = asked(&pots, 100, &always).unwrap();
        assert!(found.certain);
        let earlier = match kilns {
            1 => 0.0,
            _ => {
                let second = found.levers.iter().find(|lever| lever.more == More::Second).unwrap();
                assert_eq!(second.kept_in.as_deref(), Some("kiln"));
                second.days_earlier.mean
            }
        };
        let minutes = (found.sizes[0].clock_days.mean - earlier) * 1440.0;
        assert!((minutes - f64::from(expected)).abs() < 1e-6, "{row:?}: {minutes}");
    }
}
