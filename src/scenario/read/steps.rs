//! `[[step]]`: the work.

use crate::scenario::amounts::short;
use crate::scenario::faults::{Fault, SourceSpan};
use crate::scenario::tree::Table;
use crate::scenario::{Guessed, Learning, Spread, Step, Varies};

use super::reader::{Reader, Section, entry_title};

impl Reader<'_> {
    /// The steps, and for each entry of the list its name (empty where it has none), so that places keep their index.
    pub(super) fn steps(&mut self, top: &Section<'_>) -> (Vec<Step>, Vec<String>) {
        let had = self.faults.len();
        let Some(list) = self.list(top, "step") else {
            if had == self.faults.len() {
                self.faults.push(Fault::new(
                    self.end(),
                    "there is no [[step]]: a scenario needs at least one step of the work",
                    "up to here",
                    "add for example a line `[[step]]` and under it `name = \"sawing\"`, `setup = \"10 min\"`, `each = \"5 / 6 / 9 min\"`",
                ));
            }
            return (Vec::new(), Vec::new());
        };
        let helper = top.get("helper").is_some();
        let steps: Vec<Step> = list
            .iter()
            .map(|(table, place)| self.step(table, place, helper))
            .collect();
        self.unique(&list, "step", steps.iter().map(|s| s.name.as_str()));
        if had == self.faults.len() && !steps.iter().any(takes_time) {
            let place = list.first().map_or_else(|| self.end(), |(_, place)| (*place).clone());
            self.faults.push(Fault::new(
                place,
                "no step takes any hands-on time of yours, so there is no hour to reckon with",
                "this and the others take none",
                "give at least one step that you do yourself `setup`, `each`, `per_order` or `once`",
            ));
        }
        let names = steps.iter().map(|s| s.name.clone()).collect();
        (steps, names)
    }

    fn step(&mut self, table: &Table, place: &SourceSpan, helper: bool) -> Step {
        let title = entry_title("step", table);
        let s = Section {
            word: "step",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "step");
        let time = |this: &mut Self, key: &str| this.amount(&s, key).unwrap_or(Spread::ZERO);
        let once = time(self, "once");
        let setup = time(self, "setup");
        let each = time(self, "each");
        let per_order = time(self, "per_order");
        let wait = time(self, "wait");
        let varies = |this: &mut Self, key: &str| this.choice(&s, key, &[Varies::Piece, Varies::Batch]);
        let guessed = Guessed {
            once: self.amount(&s, "guessed_once"),
            setup: self.amount(&s, "guessed_setup"),
            each: self.amount(&s, "guessed_each"),
            per_order: self.amount(&s, "guessed_per_order"),
            varies: varies(self, "guessed_varies"),
        };
        let varies = varies(self, "varies").unwrap_or(Varies::Piece);
        let opposite = self.certain(&s, "opposite").unwrap_or(0.0);
        if opposite > 0.0 && varies == Varies::Piece {
            self.faults.push(Fault::new(
                s.key_place("opposite"),
                format!("{}: each piece takes its own time here", s.owner("opposite")),
                "setups can only lie opposite to one time for all pieces",
                "write `varies = \"batch\"` beside it, or leave `opposite` out",
            ));
        }
        let helped = self.choice(&s, "done_by", &[false, true]).unwrap_or(false);
        if helped && !helper {
            self.faults.push(Fault::new(
                s.key_place("done_by"),
                format!("{}: there is no [helper]", s.owner("done_by")),
                "what does the helper cost?",
                "add for example a line `[helper]` and under it `wage = 18`, or leave `done_by` out",
            ));
        }
        if helped && !per_order.is_zero() {
            self.faults.push(Fault::new(
                s.key_place("per_order"),
                format!("{}: a helper does no orders", s.owner("per_order")),
                "orders are yours",
                "put `per_order` under a step of its own, which you do yourself",
            ));
        }
        Step {
            name,
            once,
            setup,
            each,
            per_order,
            // A faulty one is some room all the same: a jig that widens it has no fault of its own.
            room: self.count(&s, "room").or_else(|| s.get("room").map(|_| 1)),
            helped,
            others: self.certain(&s, "others").unwrap_or(0.0),
            kept_in: self.text(&s, "kept_in"),
            wait,
            varies,
            opposite,
            learning: self.learning(&s),
            redo: self.redo(&s),
            spoil: self.certain(&s, "spoil").unwrap_or(0.0),
            second: self.certain(&s, "second").unwrap_or(0.0),
            guessed,
        }
    }

    fn redo(&mut self, s: &Section<'_>) -> f64 {
        let redo = self.certain(s, "redo").unwrap_or(0.0);
        if redo > 0.99 {
            self.at_value(
                s,
                "redo",
                format!("{} % means more than 100 tries for each piece", short(redo * 100.0)),
                "at most 99 %",
                "it is the chance that the step must be done again; `\"5 %\"` is one piece in twenty".to_owned(),
            );
        }
        redo
    }

    fn learning(&mut self, s: &Section<'_>) -> Option<Learning> {
        let rate = self.certain(s, "learning");
        let made_before = self.count(s, "made_before");
        let learned_by = self.count(s, "learned_by");
        if s.get("learning").is_none() {
            for key in ["made_before", "learned_by"] {
                if s.get(key).is_some() {
                    self.faults.push(Fault::new(
                        s.key_place(key),
                        format!("{} has no effect without `learning`", s.owner(key)),
                        "no learning here",
                        format!("add for example `learning = \"92 %\"`, or leave `{key}` out"),
                    ));
                }
            }
            return None;
        }
        let made_before = made_before.unwrap_or(0);
        if let Some(by) = learned_by
            && by < made_before
        {
            self.at_value(
                s,
                "learned_by",
                format!("{by} is fewer than the {made_before} pieces of `made_before`, which it includes"),
                "learned before it begins",
                format!("write more than {made_before}, or leave it out if the gain goes on"),
            );
        }
        Some(Learning {
            rate: rate?,
            made_before,
            learned_by,
        })
    }
}

/// Whether a step takes any hands-on time of the maker's own.
pub(super) fn takes_time(step: &Step) -> bool {
    let bench = if step.helped {
        [&Spread::ZERO; 2]
    } else {
        [&step.setup, &step.each]
    };
    let own = [&step.once, &step.per_order];
    own.into_iter().chain(bench).any(|time| !time.is_zero())
}
