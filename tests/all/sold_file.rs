//! What the file says of selling beside a sales log: selling days with a number of their own, pieces that shops give back, sets.
//!
//! Random checks have a fixed seed; their false-alarm rate is said where they are.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::settings;
use crate::program;
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::questions::season;
use batchwright_core::sales;
use batchwright_core::sales::answer::{Sold, TooFew};
use batchwright_core::sales::learn::{self, Asked};
use batchwright_core::scenario;
use batchwright_core::scenario::Scenario;

const VASE: &str = "title = 'Vase'\ncurrency = 'EUR'\ntarget = 24\nbatch.sizes = '4..72 step 4'\n[[step]]\nname = 'throw'\neach = '30 min'\n\
                    [sale]\nprice = 38\n[[selling_day]]\nname = 'March fair'\nsells = '6 / 14 / 26'\nthere = '8 h'\n\
                    [season]\nbuyers = '6 / 14 / 30'\nclearance = 10\n";

/// Three fairs at which 62, 59 and 61 of 70 went.
const FAIRS: &str = "2024-03-16,38,70,8,,2024-03-16,March fair\n2025-03-15,38,70,11,,2025-03-15,March fair\n\
                     2026-03-14,38,70,9,,2026-03-14,March fair\n";

/// Three springs in two shops: 41 pieces in 147 days of each.
const SHOPS: &str = "2024-03-17,38,10,3,,2024-05-05,shop\n2024-03-17,38,10,4,,2024-05-05,shop two\n2025-03-16,38,10,3,,2025-05-04,shop\n\
                     2025-03-16,38,10,2,,2025-05-04,shop two\n2026-03-15,38,10,4,,2026-05-03,shop\n2026-03-15,38,10,3,,2026-05-03,shop two\n";

fn read(text: &str) -> Scenario {
    scenario::read("file", text, &[]).unwrap_or_else(|faults| panic!("{faults}"))
}

fn learned(text: &str, rows: &str) -> Sold {
    let log = format!("listed,price,pieces,left,sold,until,outlet\n{rows}");
    let log = sales::read("log", log.as_bytes()).unwrap();
    learn::learn("log", &read(text), &log, &Asked::of(&log))
}

fn page(answer: &impl Render) -> String {
    let text = answer.text(&Look::page(false));
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Buyers of a season are those of the shops: 41 pieces in three springs of 49 days, 13.7 each, which the file's 16.7 on average do not
/// contradict. The fair's 182 pieces in three days are what it sells: 60.7 a day.
#[test]
fn rows_of_a_selling_day_are_its_own() {
    let (both, shops) = (learned(VASE, &format!("{FAIRS}{SHOPS}")), learned(VASE, SHOPS));
    let [all, alone] = [&both, &shops].map(|sold| sold.buyers.unwrap());
    let near = |found: f64, due: f64| assert!((found / due - 1.0).abs() < 1e-6, "{found} {due}");
    near(alone.week.value, 7.0 * 41.0 / 147.0);
    near(all.week.value, alone.week.value);
    near(all.season.unwrap().mean.value, 41.0 / 3.0);
    assert_eq!((all.open_at_once, all.season.unwrap().stretches), (2.0, 3));
    assert!(!both.file.buyers.unwrap().contradicted, "{:?}", both.file);
    let day = &both.selling_days[0];
    let sells = day.sells.unwrap();
    near(sells.mean.value, 182.0 / 3.0);
    assert!(day.file.unwrap().contradicted && day.sold == 182, "{day:?}");
    assert_eq!(shops.selling_days, []);
    // One outlet of two is told beside the other, and the fair beside none.
    assert_eq!(both.outlets.len(), 2);
    let said = page(&both);
    assert!(
        said.contains("Rows of 'March fair' are that selling day's own: they are not counted in `buyers`."),
        "{said}"
    );
    assert!(
        said.contains("At 'March fair' 60.7 pieces would find a buyer on average"),
        "{said}"
    );
    let (text, changes) = sales::edit::edited(VASE, &both).unwrap();
    let keys: Vec<(&str, &str)> = changes.iter().map(|c| (c.step.as_str(), c.key.as_str())).collect();
    assert_eq!(keys, [("March fair", "sells")]);
    let written = read(&text).selling_days[0].sells.mean();
    assert!((written / (182.0 / 3.0) - 1.0).abs() < 0.03, "{text}");
}

/// Where nearly all is sold on selling days, they are learned and the rest is waited for.
#[test]
fn selling_days_alone_teach_what_they_sell() {
    let few = learned(VASE, &format!("{FAIRS}2026-04-01,38,2,,2026-05-01,,shop\n"));
    assert_eq!(few.too_few, Some(TooFew::Sales { needed: 5 }));
    assert!(few.buyers.is_none() && few.best.is_none() && few.file.buyers.is_none());
    assert!((few.selling_days[0].sells.unwrap().mean.value - 182.0 / 3.0).abs() < 1e-4);
    let said = page(&few);
    assert!(
        said.starts_with(
            "Vase Keep the log going: a price can be learned from 5 sales on besides those of selling days."
        ),
        "{said}"
    );
    // All gone on every day: any larger number is as likely.
    let all = "2024-03-16,38,20,0,2024-03-16,,March fair\n2025-03-15,38,20,0,2025-03-15,,March fair\n2026-03-14,38,20,0,2026-03-14,,March fair\n";
    let open = learned(VASE, &format!("{all}{SHOPS}"));
    assert_eq!(open.selling_days[0].sells, None);
    assert!(page(&open).contains("How many would buy at 'March fair' the log cannot tell yet."));
    assert!(open.buyers.is_some());
}

/// At the fair a piece was 30 instead of 38, half as many bought where it was 60: the elasticity is that of the fair, as the shops had one price.
/// The file's own price there is put back to the list price.
#[test]
fn selling_days_teach_the_elasticity() {
    let fairs = |low: f64, high: f64| {
        let row =
            |year: i32, price: f64, left: u32| format!("{year}-03-16,{price},99,{left},,{year}-03-16,March fair\n");
        [
            row(2022, low, 39),
            row(2023, high, 69),
            row(2024, low, 41),
            row(2025, high, 71),
            row(2026, low, 37),
        ]
        .concat()
    };
    let steep = learned(VASE, &(fairs(30.0, 42.0) + SHOPS)).elasticity.unwrap();
    // 60 to 29 pieces on average at prices of 1 to 1.4: log(60 / 29) / log 1.4 = 2.16.
    assert!((steep.value - 2.16).abs() < 0.05, "{steep:?}");
    let dearer = VASE.replace("there = '8 h'", "there = '8 h'\nprice = 76");
    let twice = learned(&dearer, &(fairs(60.0, 84.0) + SHOPS));
    assert!((twice.elasticity.unwrap().value - steep.value).abs() < 1e-6);
    assert_eq!(twice.tried, Some([30.0, 42.0]));
    // Its number is that at the price that is asked: 60 x (30 / 38)^2.16 = 36.0.
    let mean = twice.selling_days[0].sells.unwrap().mean.value;
    assert!((mean - 36.0).abs() < 1.0, "{mean}");
}

/// What the file tells for another price is all written for the one that is asked.
#[test]
fn what_is_told_for_another_price_moves_together() {
    let told_at = VASE.replace("clearance = 10", "clearance = 10\nelasticity = 1\nbuyers_at = 19");
    let sold = learned(&told_at, &format!("{FAIRS}{SHOPS}"));
    // Half of the file's 15.3 come at twice the price.
    assert!((sold.selling_days[0].file.unwrap().was - 7.667).abs() < 1e-3);
    let (text, changes) = sales::edit::edited(&told_at, &sold).unwrap();
    let keys: Vec<&str> = changes.iter().map(|c| c.key.as_str()).collect();
    assert_eq!(keys, ["buyers", "sells", "buyers_at"], "{text}");
    let again = learned(&text, &format!("{FAIRS}{SHOPS}"));
    assert!(!again.selling_days[0].file.unwrap().contradicted && !again.file.buyers.unwrap().contradicted);
}

/// Four fairs a log, 20 pieces each on average, days alike or differing with variance 0.1, and two shops beside: the mean's interval holds 20, and
/// the next day lies between the tenths, each as often as it says. Of 300 logs, bounds by the binomial at one false alarm in ten thousand.
#[test]
fn what_a_selling_day_sells_is_held() {
    use rand::SeedableRng;
    use rand_distr::{Distribution, Gamma, Poisson};
    for uneven in [0.0, 0.1] {
        let (mut held, mut within, logs) = (0_u32, 0_u32, 300_u32);
        for k in 0..logs {
            let mut random = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(71_000 + u64::from(k));
            let mut day = || {
                let factor = if uneven > 0.0 {
                    Gamma::new(1.0 / uneven, uneven).unwrap().sample(&mut random)
                } else {
                    1.0
                };
                Poisson::new(20.0 * factor).unwrap().sample(&mut random) as u32
            };
            let fairs: String = (2023..2027)
                .map(|year| format!("{year}-03-10,38,150,{},,{year}-03-10,March fair\n", 150 - day()))
                .collect();
            let next = f64::from(day());
            let sells = learned(VASE, &(fairs + SHOPS)).selling_days[0].sells.unwrap();
            held += u32::from(sells.mean.low.unwrap() <= 20.0 && sells.mean.high.unwrap() >= 20.0);
            within += u32::from(next >= sells.p10 && next <= sells.p90);
        }
        let off = |p: f64| 3.72 * (p * (1.0 - p) / f64::from(logs)).sqrt();
        let share = |n: u32| f64::from(n) / f64::from(logs);
        assert!(share(held) > 0.95 - off(0.95), "{uneven}: {}", share(held));
        // Whole numbers at both ends put more than eight in ten within.
        assert!(share(within) > 0.8 - off(0.8), "{uneven}: {}", share(within));
    }
}

/// The shops have theirs on sale or return, and 28 % come back: the 13.7 that the log sold a season are 19.0 that are asked for. The season page
/// and the file with that number sell what the log did.
#[test]
fn what_the_log_sold_stays_sold() {
    let shelf = VASE.replace(
        "[season]",
        "[[channel]]\nname = 'gallery'\nshare = '75 %'\nunsold = '32 %'\n[[channel]]\nname = 'post'\nshare = '25 %'\nunsold = '16 %'\n[season]",
    );
    let sold = learned(&shelf, &format!("{FAIRS}{SHOPS}"));
    let (buyers, due) = (sold.buyers.unwrap(), 41.0 / 3.0 / 0.72);
    assert!((buyers.stay_sold.unwrap() - 0.72).abs() < 1e-12);
    assert!(
        (buyers.season.unwrap().mean.value / due - 1.0).abs() < 1e-6,
        "{buyers:?}"
    );
    assert!((sold.selling_days[0].sells.unwrap().mean.value - 182.0 / 3.0).abs() < 1e-4);
    assert!(
        page(&sold).contains(
            "What the log sold is taken to stay sold. Of the pieces asked for 28 of 100 come back unsold from sale or return, as the file \
             says, and are counted on top, in `buyers` too."
        ),
        "{}",
        page(&sold)
    );
    let told = shelf.replace("buyers = '6 / 14 / 30'", &format!("buyers = {due}"));
    let season = read(&told.replace("sells = '6 / 14 / 26'", "sells = 0"));
    let answer = season::run(&season, &settings(20_000), &|_| ()).unwrap();
    let most = answer.sizes.last().unwrap().sold;
    assert!((most.mean - 41.0 / 3.0).abs() < 4.0 * most.se, "{most:?}");
    assert!(
        page(&answer).contains(
            "buyers want 19 pieces. Of these, 28 of 100 come back unsold from where they are left on sale or return."
        ),
        "{}",
        page(&answer)
    );
}

/// A log kept in sets at the price of a set, for a file whose price is that of a piece; a price of a piece, and a file without sets, draw no
/// doubt.
#[test]
fn prices_of_sets_are_noticed() {
    let sets = "title = 'Wrap'\ncurrency = 'EUR'\ntarget = 26\n[[step]]\nname = 'sew'\neach = '20 min'\nper_order = '5 min'\n[sale]\nprice = 21\nset_of = 3\n\
                single_price = 19\n";
    let folder = tempfile::tempdir().unwrap();
    let doubts = |text: &str, price: u32| {
        std::fs::write(folder.path().join("wrap.toml"), text).unwrap();
        let rows: String = (1..8)
            .map(|k| format!("2026-09-0{k},{},2026-10-0{k}\n", price + k % 3))
            .collect();
        std::fs::write(folder.path().join("s.csv"), format!("listed,price,sold\n{rows}")).unwrap();
        let mut command = program::batchwright();
        let output = command
            .current_dir(folder.path())
            .args(["sold", "wrap.toml", "s.csv"])
            .output()
            .unwrap();
        String::from_utf8(output.stderr)
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert!(
        doubts(sets, 63).contains(
            "doubtful: every price in the log is about 3 times the file's 21 EUR, and the file sells in sets of 3; write the price of a piece"
        ),
        "{}",
        doubts(sets, 63)
    );
    assert_eq!(doubts(sets, 21), "");
    assert!(!doubts(&sets.replace("set_of = 3\nsingle_price = 19\n", ""), 63).contains("sets"));
    let understood = batchwright::Scenario::from_toml(sets).unwrap().understood(200);
    assert!(understood.contains("A set of 3 costs 63.00 EUR."), "{understood}");
}

/// Prices from 19 to 23 were tried: a tenth beyond is from 17.10 to 25.30, and the best of them, where all fall short, is told as one of them.
#[test]
fn the_best_price_told_is_within_the_range_told() {
    let dear = VASE
        .replace("target = 24", "target = 90")
        .replace("price = 38", "price = 21");
    let row = |year: i32, price: u32, left: u32| format!("{year}-05-01,{price},20,{left},,{year}-07-01,shop\n");
    let rows = [row(2023, 19, 8), row(2024, 23, 9), row(2025, 19, 9), row(2026, 23, 10)].concat();
    let said = page(&learned(&dear, &rows));
    assert!(
        said.starts_with("Vase Do not sell it at 17.10 to 25.30 EUR. Even the best price there, 25.30 EUR, falls "),
        "{said}"
    );
}

/// At two prices the shops sold as much as chance does at one: the log cannot tell whether buyers mind, and no untried price is commanded. Where
/// it can, one is.
#[test]
fn a_price_is_commanded_only_where_buyers_are_known_to_mind() {
    let row = |year: i32, price: u32, left: u32| format!("{year}-05-01,{price},60,{left},,{year}-07-01,shop\n");
    let at = |price: u32, fewer: [u32; 2]| {
        let rows = [
            row(2023, 36, 48),
            row(2024, 42, 60 - fewer[0]),
            row(2025, 36, 47),
            row(2026, 42, 60 - fewer[1]),
        ]
        .concat();
        let sold = learned(&VASE.replace("price = 38", &format!("price = {price}")), &rows);
        (sold.elasticity.unwrap(), page(&sold))
    };
    let (open, said) = at(36, [12, 11]);
    assert!(open.low.is_none_or(|low| low <= 0.0), "{open:?}");
    assert!(
        said.starts_with(
            "Vase Try 32.50 EUR on a few pieces: of the prices near those you tried the lowest earns most"
        ),
        "{said}"
    );
    assert!(!said.contains("Charge about"), "{said}");
    let many: String = (2018..2026)
        .map(|year| match year % 2 {
            0 => format!("{year}-05-01,36,600,480,,{year}-07-01,shop\n"),
            _ => format!("{year}-05-01,42,600,530,,{year}-07-01,shop\n"),
        })
        .collect();
    let told = learned(&VASE.replace("price = 38", "price = 36"), &many);
    assert!(told.elasticity.unwrap().low.unwrap() > 0.0);
    // 30 minutes at 24 are 12, and 12 x 3.5 / 2.5 lies below all prices that are looked at.
    assert!(
        page(&told).starts_with("Vase Charge about 32.50 EUR"),
        "{}",
        page(&told)
    );
}

/// A fair that is no selling day of the file sells 60.7 a day, and a shop 20 in 147 days: 446 times more slowly. At every offer's one length of time
/// nothing is known of k, and its bracket is closed.
#[test]
fn far_apart_paces_are_told_as_figures() {
    let said = page(&learned(
        VASE,
        &format!("{FAIRS}{SHOPS}").replace("March fair", "spring fair"),
    ));
    assert!(
        said.contains(
            "At one price an offer sells about 446 times more slowly in 'shop' than in 'spring fair' (95 %: "
        ),
        "{said}"
    );
    assert!(said.contains("(k 1.00).") && !said.contains("0.00"), "{said}");
}

/// The told price, and what moves with it, written into the file are enough together: the file's answer calls it enough.
#[test]
fn what_moves_with_a_price_is_told() {
    let sets = "title = 'Wrap'\ncurrency = 'EUR'\ntarget = 40\nbatch.sizes = [20]\n[[step]]\nname = 'sew'\neach = '36 min'\n[sale]\nprice = 20\n\
                set_of = 3\nsingle_price = 18\n";
    // 20 pieces are 6 sets and 2 singles: 18 p + 2 x 0.9 p are due 20 x 24, so p is 24.25 rounded up and a single piece 21.82.
    let folder = tempfile::tempdir().unwrap();
    let told = |text: &str| {
        std::fs::write(folder.path().join("wrap.toml"), text).unwrap();
        let mut command = program::batchwright();
        let output = command
            .current_dir(folder.path())
            .args(["floor", "wrap.toml", "--size", "20"])
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout)
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let said = told(sets);
    assert!(
        said.contains("24.25 EUR") && said.contains("Pieces sold singly are then 21.82 EUR."),
        "{said}"
    );
    let written = told(
        &sets
            .replace("price = 20\n", "price = 24.25\n")
            .replace("= 18", "= 21.82"),
    );
    assert!(
        !written.contains("too little") && !written.contains("sold singly are then"),
        "{written}"
    );
}
