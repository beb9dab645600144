//! What a plan knows.

use super::*;
use crate::testing::{pencil_trays, scenario, step};

#[test]
fn plans_know_what_must_be_counted() {
    let plan = Plan::new(&pencil_trays());
    assert!(!plan.spoils && !plan.sells_short());
    assert!(plan.steps.iter().all(|s| !s.after_spoilage && s.factors.is_empty()));
    assert_eq!(plan.channels[0].order_times.len(), 1);
    assert!(plan.once.is_empty());
    let mut made = scenario(50.0, 30.0, &[3, 8], vec![step("fire"), step("glaze"), step("pack")]);
    made.steps[0].spoil = 0.1;
    made.steps[1].learning = Some(Learning {
        rate: 0.9,
        made_before: 0,
        learned_by: None,
    });
    made.steps[1].each = Spread::Certain(2.0);
    let plan = Plan::new(&made);
    assert_eq!(
        plan.steps.iter().map(|s| s.after_spoilage).collect::<Vec<_>>(),
        [false, true, true]
    );
    assert!(plan.spoils && plan.sells_short());
    // Factors reach to the largest size, and on by the same rule.
    assert_eq!(plan.steps[1].factors.len(), 8);
    for index in [0, 7, 8, 100] {
        assert_eq!(
            plan.steps[1].factor(index),
            learning_factor(made.steps[1].learning, index)
        );
    }
    made.batch.spoiled = Spoiled::Remake;
    assert!(!Plan::new(&made).sells_short());
}
