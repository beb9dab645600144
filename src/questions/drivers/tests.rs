use super::*;

/// An input switched by way of its own hours is the whole trial with other names for its streams.
#[test]
fn parts_switched_are_trials_switched() {
    let settings = Settings {
        trials: 300,
        ..Settings::default()
    };
    for text in [
        include_str!("../../../scenarios/ash-dining-table.toml"),
        include_str!("../../../scenarios/card-wallet.toml"),
        include_str!("../../../scenarios/letterpress-cards.toml"),
        include_str!("../../../scenarios/oak-peg-rail.toml"),
        include_str!("../../../scenarios/poured-candles.toml"),
        include_str!("../../../scenarios/printed-tea-towels.toml"),
        include_str!("../../../scenarios/stoneware-mugs.toml"),
    ] {
        // A season none of them has, so that demand is an input too.
        let season = ("season.buyers".to_owned(), "4 / 7 / 12".to_owned());
        let mut scenario = crate::scenario::read("shipped", text, &[season]).expect("it reads");
        scenario.batch.sizes = vec![9];
        let plan = Plan::new(&scenario);
        let simulator = Simulator {
            settings: &settings,
            progress: &|_| (),
            done: AtomicUsize::new(0),
            due: 1,
        };
        let parts = time_parts(&scenario);
        let inputs = groups(&scenario);
        let times: Vec<TimeTrials> = parts
            .iter()
            .map(|time| {
                let only = plan.with_time_only(time);
                let streams = inputs.iter().find(|g| g.input == time.input).map(|g| &g.streams);
                TimeTrials {
                    hours: simulator.run(&only).hours,
                    a_minute: Vec::new(),
                    other: streams.map_or_else(Vec::new, |s| simulator.run(&only.salted(s)).hours),
                }
            })
            .collect();
        let view = View {
            kept: None,
            scenario: &scenario,
            plan: &plan,
            bare: &plan.without_times(),
            simulator: &simulator,
            base: &simulator.run(&plan),
            paces: &simulator.run(&plan.pace_alone()).hours,
            other_paces: &simulator.run(&plan.pace_alone().salted(&[plan.pace.part])).hours,
            parts: &parts,
            times: &times,
        };
        assert!(inputs.len() > 8);
        for group in &inputs {
            let whole = simulator.run(&plan.salted(&group.streams));
            let due = rates(&whole.hours, &whole.profit);
            let found = view.switched(group.input, &group.streams);
            for (found, due) in found.iter().zip(&due) {
                assert!(
                    (found - due).abs() <= 1e-9 * (1.0 + due.abs()),
                    "{}: {found} {due}",
                    group.name
                );
            }
        }
    }
}

/// Two trials by hand: 10 in 2 h and 20 in 3 h earn 6; an hour less of each 10 + 20 in 1 h and 2 h, 10.
#[test]
fn gains_by_hand() {
    let columns = |hours: [f64; 2]| Columns {
        hours: hours.to_vec(),
        profit: vec![10.0, 20.0],
    };
    let (before, after) = (columns([2.0, 3.0]), columns([1.0, 2.0]));
    let found = gain(&before, &after).expect("hours are left");
    assert!((found.mean - 4.0).abs() < 1e-12);
    // Residuals (10 - 12) / 2.5 and (20 - 18) / 2.5 before; (10 - 10) / 1.5 twice after: differences 0.8 and -0.8.
    assert!((found.se - 0.8).abs() < 1e-12, "{found:?}");
    assert_eq!(gain(&before, &columns([0.0, 0.0])), None);
    assert_eq!(gain(&before, &before), Some(Mean { mean: 0.0, se: 0.0 }));
}
