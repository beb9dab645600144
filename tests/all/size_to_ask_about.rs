//! Which size a question speaks of where none is named: the same in all of them.

use crate::bounds::{scenario, settings};
use crate::shipped::shipped;
use batchwright::render::Render as _;
use batchwright::render::text::Look;
use batchwright_core::questions::compare::{self, Chosen};
use batchwright_core::questions::{Settings, floor, season, size_to_ask_about, steady, sweep};
use batchwright_core::scenario::{Scenario, read};

/// The size that `season` advises.
fn best_of_season(shop: &Scenario, trials: u64) -> u32 {
    season::run(shop, &settings(trials), &|_| ())
        .expect("it has a season")
        .best_by_surplus
}

/// Setup of an hour, half an hour a piece and 20 an hour; 30 a piece, 4 or 10 buyers two and three times in five. One at a time pays already. Ten
/// leave 30 x (0.4 x 4 + 0.6 x 10) - 20 - 100 = 108, four only 60: whoever asks further asks about ten.
#[test]
fn other_questions_speak_of_the_size_that_is_advised() {
    let text = "target = 20\nconfidence = '50 %'\n[batch]\nsizes = '1..12'\n[[step]]\nname = 'make'\nsetup = '1 h'\neach = '30 min'\n\
                [sale]\nprice = 30\n[season]\nbuyers = { shape = 'logged', values = [4, 4, 10, 10, 10] }\nclearance = 0\n";
    let shop = read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
    assert_eq!(best_of_season(&shop, 20_000), 10);
    let few = settings(1_000);
    assert_eq!(sweep::run(&shop, &few, &|_| ()).first_paying_size, Some(1));
    assert_eq!(size_to_ask_about(&shop, &few), 10);
    assert_eq!(floor::run(&shop, &few, &|_| ()).about, 10);
    let asked = compare::Question {
        sizes: Vec::new(),
        hours_a_week: None,
        files: Vec::new(),
    };
    let compared = compare::run(&[shop.clone(), shop], &asked, &few, &|_| ());
    assert!(
        compared
            .entries
            .iter()
            .all(|entry| entry.chosen == Chosen::Advised && entry.run.size == 10)
    );
}

/// Setup of an hour, half an hour a piece and 20 an hour; ten buyers. At 5 a piece every batch loses, one piece least, 1 x 5 - 1.5 h x 20 = -25; by the
/// hour ten lose least: as little as is done is no reason to speak of one.
#[test]
fn where_every_batch_of_a_season_loses_the_size_is_that_of_the_sweep() {
    let text = "target = 20\n[batch]\nsizes = '1..12'\n[[step]]\nname = 'make'\nsetup = '1 h'\neach = '30 min'\n\
                [sale]\nprice = 5\n[season]\nbuyers = 10\nclearance = 0\n";
    let shop = read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
    let settings = Settings::default();
    assert_eq!(best_of_season(&shop, 100), 1);
    let swept = sweep::run(&shop, &settings, &|_| ());
    assert!(
        swept.nearest_size.is_some_and(|size| size > 5),
        "{:?}",
        swept.nearest_size
    );
    assert_eq!(Some(size_to_ask_about(&shop, &settings)), swept.nearest_size);
    assert_eq!(Some(floor::run(&shop, &settings, &|_| ()).about), swept.nearest_size);
}

/// Three a week all year: several at a time spread the setup, though one already pays.
#[test]
fn where_it_sells_all_year_other_questions_speak_of_the_size_that_is_best_for_it() {
    let text = "target = 20\n[batch]\nsizes = '1..40'\n[[step]]\nname = 'make'\nsetup = '1 h'\neach = '30 min'\n\
                [sale]\nprice = 40\n[steady]\nper_week = 3\nhold = '20 %'\n";
    let shop = read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
    let settings = Settings::default();
    let best = steady::run(&shop, &settings, &|_| ()).expect("a steady sale").best;
    assert!(best > 1 && sweep::run(&shop, &settings, &|_| ()).first_paying_size == Some(1));
    assert_eq!(size_to_ask_about(&shop, &settings), best);
    assert_eq!(floor::run(&shop, &settings, &|_| ()).about, best);
}

/// Shares within half a standard error of the asked one: 8,192 trials put some sizes on the wrong side of it. Questions that have no more trials
/// speak of the size that `sweep` names all the same.
#[test]
fn few_trials_choose_the_size_that_a_sweep_chooses() {
    let text = "target = 20\n[batch]\nsizes = '1..12'\n[[step]]\nname = 'make'\nsetup = '40 / 60 / 120 min'\neach = '20 / 30 / 60 min'\n\
                [sale]\nprice = 24\n";
    let mut shop = read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
    let whole = sweep::run(&shop, &Settings::default(), &|_| ());
    let few = settings(8_192);
    let mut wrong = 0;
    for at in whole.sizes.iter().filter(|at| (0.1..0.9).contains(&at.reach.share)) {
        for off in [-0.002, 0.002] {
            shop.confidence = at.reach.share + off;
            let due = whole.sizes.iter().find(|at| at.pays(shop.confidence)).map(|at| at.size);
            let quick = sweep::run(&shop, &few, &|_| ()).first_paying_size;
            wrong += u32::from(quick != due);
            if let Some(due) = due {
                assert_eq!(size_to_ask_about(&shop, &few), due, "{}", shop.confidence);
            }
        }
    }
    assert!(wrong > 0, "no share is close enough to tell");
}

/// Of a season and of a steady sale the sweep advises what their own questions advise, on every face; the first size that pays is told beside it.
#[test]
fn the_sweep_advises_what_season_and_steady_advise() {
    let settings = settings(20_000);
    let mut apart = 0;
    for name in ["spinning-tops", "willow-baskets", "plant-labels"] {
        let shop = scenario(&std::fs::read_to_string(shipped(name)).expect("a file"));
        let best = match (&shop.season, shop.steady) {
            (Some(_), _) => {
                season::run(&shop, &settings, &|_| ())
                    .expect("a season")
                    .best_by_surplus
            }
            (None, _) => steady::run(&shop, &settings, &|_| ()).expect("a steady sale").best,
        };
        let swept = sweep::run(&shop, &settings, &|_| ());
        assert_eq!(swept.advised_size, Some(best), "{name}");
        assert_eq!(batchwright_core::questions::size_of(&swept), best, "{name}");
        let look = Look::page(false);
        let text = swept.text(&look);
        assert!(
            text.contains(&format!("Make {best} at a time.")) && text.contains(&format!(" ▲ {best} ")),
            "{name}: {text}"
        );
        assert!(text.contains(&format!("▲ advised: {best}")), "{name}: {text}");
        let plot = swept.svg().expect("a chart");
        assert!(
            plot.contains(&format!("advised: {best}")) && plot.contains(&format!("figures at {best}")) || best == 40,
            "{name}"
        );
        apart += u32::from(swept.first_paying_size.is_some_and(|first| first != best));
    }
    assert_eq!(apart, 2, "the first that pays is another");
}
