//! What the day plan shows of a batch.

use super::{asked, day, joined, program, question};
use crate::bounds::scenario;
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::questions::{Settings, calendar};

/// One piece in ten is spoiled and some seasons have no buyer: such a batch has nothing to post, whenever it ends. The day plan is of
/// one that has, as most do; which batch is the middle one by its finish is luck.
#[test]
fn the_day_plan_has_the_steps_that_most_runs_have() {
    let text = r#"
target = 25
currency = "EUR"
[batch]
sizes = [1]
[[step]]
name = "make"
each = "40 / 60 / 90 min"
spoil = "10 %"
[[step]]
name = "post"
per_order = "8 min"
[sale]
price = 82
[season]
buyers = "0 / 1 / 3"
clearance = 30
[hours]
mon = 4
"#;
    let scenario = scenario(text);
    for seed in 1..=12 {
        let settings = Settings {
            trials: 200,
            seed,
            ..Settings::default()
        };
        let found = calendar::run(&scenario, &question(day(11, 30), None, &[1]), &settings, &|_| ()).unwrap();
        assert_eq!(found.plan.steps, ["make", "post"], "seed {seed}");
        assert_eq!(found.plan.finish, found.sizes[0].finish_median.date);
    }
    // It fits into the first day, so that nothing brings the date forward; no waits are to blame.
    let page = joined(&program(&["-", "--start", "2026-11-30"], text).stdout);
    assert!(
        page.contains("All is done on the first day.") && !page.contains("bring it forward"),
        "{page}"
    );
}

/// Ten pieces, each wrapped in 2 minutes and in an order of its own, which takes 8 more at the same step: 20 and 80 minutes.
#[test]
fn a_step_with_work_for_pieces_and_for_orders_counts_each_by_itself() {
    let text = "target = 20\n[batch]\nsizes = [10]\n[[step]]\nname = \"make\"\neach = \"30 min\"\n\
                [[step]]\nname = \"wrap\"\neach = \"2 min\"\nper_order = \"8 min\"\n[sale]\nprice = 60\n\
                [hours]\nmon = 3\ntue = 3\nwed = 3\n";
    let found = asked(text, 200, &question(day(11, 30), None, &[10])).unwrap();
    let wrap = found.plan.steps.iter().position(|step| step == "wrap").unwrap();
    let of = |orders: bool| {
        let work = found.plan.days.iter().flat_map(|day| &day.work);
        let work = work.filter(|done| done.step == wrap && done.orders == orders);
        work.fold((0.0, 0), |(hours, pieces), done| {
            (hours + done.hours, pieces + done.pieces)
        })
    };
    for (orders, minutes) in [(false, 20.0), (true, 80.0)] {
        let (hours, pieces) = of(orders);
        assert!((hours * 60.0 - minutes).abs() < 1e-6, "{hours}");
        assert_eq!(pieces, 10);
    }
    let whole = found.text(&Look {
        columns: 110,
        ..Look::page(false)
    });
    assert!(whole.contains("wrap (orders)"), "{whole}");
}
