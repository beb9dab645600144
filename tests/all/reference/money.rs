//! Money of a batch: what is bought, charged and returned, and the floors that follow.

use super::*;

/// What each material costs for ten pieces stands beside it.
const CABINETS: &str = r#"
target = 20
[batch]
sizes = [10]
[[step]]
name = "cut"
each = "30 min"
room = 4
[[material]]
name = "panel"                 # 100 and 30 %: 130 at 1.00 = 130.00
per_piece = 10
price = 1
waste = "30 %"
[[material]]
name = "screws"                # 70, packs of 50: 100 at 0.10 = 10.00
per_piece = 7
price = 0.10
pack = 50
leftover = "lost"
[[material]]
name = "screws, kept"          # 70 at 0.10 = 7.00
per_piece = 7
price = 0.10
pack = 50
leftover = "keep"
[[material]]
name = "cord"                  # 18 at 2.00 = 36.00, but 20 at 1.50 = 30.00
per_piece = 1.8
price = 2
breaks = [{ from = 20, price = 1.5 }]
leftover = "lost"
[[material]]
name = "cord, kept"            # likewise, but only the 18 are charged: 27.00
per_piece = 1.8
price = 2
breaks = [{ from = 20, price = 1.5 }]
[[material]]
name = "hinges"                # 20, packs of 8: 24 at 3.00 = 72.00, but from 30, which is 32 in packs, 64.00
per_piece = 2
price = 3
pack = 8
breaks = [{ from = 30, price = 2 }]
leftover = "lost"
[[material]]
name = "varnish"               # 3 a batch at 2.00 = 6.00
per_batch = 3
price = 2
[[material]]
name = "boxes"                 # 2 an order of two at 0.25: 2.50
per_order = 2
price = 0.25
[[material]]
name = "resin mix"             # three rounds of at most 4 at 7.00 = 21.00
per_round = 1
price = 7
[[material]]
name = "old beam"              # 10 at 4.00 = 40.00, paid 5.00
per_piece = 1
price = 4
paid = 0.5
[sale]
price = 60
tax = "20 %"
order_of = 2
fee = "10 %"
fee_per_order = 0.30
post = 5
post_charged = 4
[shop]
per_hour = 2
per_month = 180
hours_per_month = 60
"#;

/// Money of a certain run by hand. Waste is added to what is used, so 30 % of 100 makes 130 bought, not the 142.857 that a share of
/// what is bought would give (both readings are common practice, no source).
#[test]
fn stock_fees_tax_and_postage_add_up() {
    let sweep = run(CABINETS, 3);
    let answer = &sweep.sizes[0];
    let materials = 130.0 + 10.0 + 7.0 + 30.0 + 27.0 + 64.0 + 6.0 + 2.5 + 21.0 + 40.0;
    // Five hours; five orders of two, each 120 + 4 from the buyer, tax in both: what is charged for transport belongs to the taxed
    // amount (Council Directive 2006/112/EC, article 78 (b); from memory).
    let (income, fees, post, shop) = (10.0 * 50.0 + 20.0 / 1.2, 62.0 + 1.5, 25.0, 25.0);
    let profit = income - fees - post - shop - materials;
    for (found, exact, what) in [
        (answer.money.materials, materials, "materials"),
        (answer.money.materials_paid, materials - 35.0, "materials as paid"),
        (answer.money.income, income, "income"),
        (answer.money.fees, fees, "fees"),
        (answer.money.post, post, "postage"),
        (answer.money.shop, shop, "shop"),
        (answer.profit.mean, profit, "profit"),
        (answer.rate.long_run, profit / 5.0, "rate"),
        (answer.rate.long_run_paid, (profit + 35.0) / 5.0, "rate as paid"),
    ] {
        close(found, exact, 1e-10, what);
    }
    // The floor: 10 p / 1.2 - 0.1 (10 p + 20) - 1.5 + 20 / 1.2 - 25 - 25 - materials = 20 x 5.
    let floor = (100.0 + 2.0 + 1.5 - 20.0 / 1.2 + 25.0 + 25.0 + materials) / (10.0 / 1.2 - 1.0);
    close(answer.floor_asked.price.expect("valid"), floor, 1e-10, "floor");
    close(answer.floor_long_run.expect("valid"), floor, 1e-10, "long-run floor");
    // At that price the target is reached, and no sooner.
    let at_price = |price: f64| run(&CABINETS.replace("price = 60\n", &format!("price = {price}\n")), 3);
    let again = at_price(floor);
    close(again.sizes[0].rate.long_run, 20.0, 1e-10, "rate at the floor");
    assert_eq!(again.sizes[0].reach.share, 1.0);
    assert_eq!(at_price(floor * (1.0 - 1e-9)).sizes[0].reach.share, 0.0);
}

/// A returned order is refunded, its postage with it, and lost; its fees and what it cost stay. Source: binomial by hand.
#[test]
fn returned_orders_are_refunded_and_lost() {
    let text = "target = 20\n[batch]\nsizes = [6]\n[[step]]\nname = \"make\"\neach = \"1 h\"\n\
        [sale]\nprice = 30\norder_of = 2\npost = 5\npost_charged = 4\nfee = \"10 %\"\nreturned = \"25 %\"\n";
    let trials = 100_000;
    let runs = &simulate(&scenario(text), trials, 6)[0];
    let law = statrs::distribution::Binomial::new(0.75, 3).expect("valid");
    for kept in 0..=3 {
        // Three orders of 64; fee 10 % and postage 5 on each, kept or not.
        let profit = 64.0 * kept as f64 - 3.0 * 11.4;
        let count = runs.profit.iter().filter(|p| (**p - profit).abs() < 1e-9).count() as u64;
        count_is_binomial(count, trials, law.pmf(kept), &format!("{kept} orders kept"));
        // Floor: kept orders bring 2 p + 4; all three pay 10 % of that and 5; the hours cost 120.
        let k = kept as f64;
        let per_price = 2.0 * k - 0.6;
        if per_price > 0.0 {
            let floor = (120.0 + 1.2 + 15.0 - 4.0 * k) / per_price;
            let count = runs.floor.iter().filter(|f| (**f - floor).abs() < 1e-9).count() as u64;
            count_is_binomial(count, trials, law.pmf(kept), &format!("floor with {kept} orders kept"));
        } else {
            let count = runs.floor.iter().filter(|f| f.is_infinite()).count() as u64;
            count_is_binomial(count, trials, law.pmf(kept), "infinite floors");
        }
    }
}

/// Where nothing at all is done in a trial there is no hour to divide by; nothing may panic, and what is undefined is null.
#[test]
fn runs_without_hours_or_sales_do_not_break_the_answer() {
    let sweep = run(&spoiling("[1, 2]", &["60 %"]), 1000);
    assert_eq!(sweep.sizes[0].floor_asked.price, None);
    let json: serde_json::Value = serde_json::to_value(&sweep).expect("valid");
    assert_eq!(json["sizes"].as_array().expect("valid").len(), 2);
}

/// One piece in two is spoiled and made again with a setup of its own: two starts on average, of an hour and of half an hour. Starts are
/// geometric, with a variance of 2.
#[test]
fn pieces_made_again_have_setups_of_their_own() {
    let text = "target = 30\n[batch]\nsizes = [1]\nspoiled = \"remake\"\n[[step]]\nname = \"a\"\nsetup = \"60 min\"\neach = \"30 min\"\nspoil = \
                \"50 %\"\n[sale]\nprice = 50\n";
    let trials = 40_000;
    let size = &run(text, trials).sizes[0];
    let bound = normal_bound(1e-6) * (2.0 / trials as f64).sqrt();
    close(size.hours_parts.setup, 2.0, bound, "setup");
    close(size.hours_parts.each, 1.0, 0.5 * bound, "each");
    close(size.setup_share, 2.0 / 3.0, 1e-9, "two of three hours in any run");
}

/// Ten of one season's pieces fetch 15 each where nobody asks for any: 150 for 100 minutes is 90 an hour and reaches 30 at any price. Else
/// five are sold: (100 + 75) / (100 / 60).
#[test]
fn what_clearance_alone_earns_reaches_the_target() {
    let text = "target = 30\n[batch]\nsizes = [10]\n[[step]]\nname = \"a\"\neach = \"10 min\"\n[sale]\nprice = 20\n[season]\nbuyers = [0, \
                5]\nclearance = 15\n";
    let size = &run(text, 1_000).sizes[0];
    assert_eq!((size.reach.share, size.floor_asked.price), (1.0, Some(0.0)));
    close(size.rate.p10, 90.0, 1e-9, "a season without buyers");
    close(size.rate.p90, 105.0, 1e-9, "a season with five");
    // Where clearance does not do it, no price does in such a season.
    let dear = &run(&text.replace("target = 30", "target = 100"), 1_000).sizes[0];
    assert!((dear.reach.share - 0.5).abs() < 0.1 && dear.floor_asked.price.is_none());
}

/// Postage alone earns more than is wanted: no price is below nothing.
#[test]
fn no_price_is_below_nothing() {
    let text = "target = 6\n[batch]\nsizes = [1]\n[[step]]\nname = \"a\"\neach = \"10 min\"\n[sale]\nprice = 4\npost = 3\npost_charged = 6\n";
    let size = &run(text, 10).sizes[0];
    // Ten minutes at 6 are 1; 3 are left of the postage.
    assert_eq!((size.floor_asked.price, size.floor_long_run), (Some(0.0), Some(0.0)));
    close(size.profit.mean, 7.0, 1e-12, "profit");
}

/// Of what the buyer pays 28 % come in and 28 % go out as a fee: no price changes anything, whatever chance leaves of it.
#[test]
fn a_price_that_cancels_is_no_price() {
    let text = "target = 6\n[batch]\nsizes = [5]\n[[step]]\nname = \"a\"\neach = \"10 min\"\n[sale]\nprice = 400\nreturned = \"72 %\"\nfee = \"28 \
                %\"\n";
    assert_eq!(run(text, 2_000).sizes[0].floor_long_run, None);
}

/// A dear day is dear at every tier, whatever shapes the ranges have: both prices at the same quantile. 6.13 are needed and all that is
/// bought is charged: at the plain price, or 7.883 at the break where that is less. By numerical integration over the quantile.
#[test]
fn tiers_share_the_quantile() {
    let text = |leftover: &str| {
        format!(
            "target = 1\n[batch]\nsizes = [1]\n[[step]]\nname = \"a\"\neach = \"1 min\"\n[sale]\nprice = 5\n[[material]]\nname = \"m\"\nper_batch \
             = 6.13\nprice = \"2 / 4 / 5\"\nleftover = \"{leftover}\"\nbreaks = [{{ from = 7.883, price = \"2.3 / 3.8\" }}]\n"
        )
    };
    // Inverses of the triangular and the uniform law.
    let plain = |u: f64| {
        if u <= 2.0 / 3.0 {
            2.0 + (u * 3.0 * 2.0).sqrt()
        } else {
            5.0 - ((1.0 - u) * 3.0 * 1.0).sqrt()
        }
    };
    let cheaper = |u: f64| 2.3 + 1.5 * u;
    let trials = 40_000;
    for (leftover, charged) in [("lost", 7.883), ("keep", 6.13)] {
        let points = 200_000;
        let of = |k: usize| {
            let u = (k as f64 + 0.5) / points as f64;
            let (now, later) = (6.13 * plain(u), 7.883 * cheaper(u));
            if later < now { charged * cheaper(u) } else { now }
        };
        let mean = (0..points).map(of).sum::<f64>() / points as f64;
        let squares = (0..points).map(|k| of(k) * of(k)).sum::<f64>() / points as f64;
        let bound = normal_bound(1e-6) * ((squares - mean * mean) / trials as f64).sqrt();
        let found = run(&text(leftover), trials).sizes[0].money.materials;
        close(found, mean, bound, leftover);
    }
}
