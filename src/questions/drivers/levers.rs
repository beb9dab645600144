//! What could be less, and what that is worth.

use super::{Columns, Kind, Lever, SECONDS, StepWorth, View, gain, name, prices};
use crate::engine::Plan;
use crate::engine::groups::{Input, asked_first, asked_through};
use crate::engine::plan::{PlanChannel, PlanStep};
use crate::engine::shape::half_bound;
use crate::engine::stream::{Use, part};
use crate::parallel;
use crate::scenario::{Sale, Scenario, Spread};
use crate::stats;

/// Minutes less that are looked at: an hour of what always takes more and two or more on average, else a minute, or all of it.
fn little(time: &Spread) -> f64 {
    let mean = time.mean();
    if mean >= 120.0 && time.limits().0 > 60.0 {
        60.0
    } else {
        mean.min(1.0)
    }
}

impl View<'_> {
    /// Everything that could be less, and what that is worth.
    pub(super) fn levers(&self, inputs: &[Input]) -> Vec<Lever> {
        let place = |input: Input| inputs.iter().position(|i| *i == input);
        let mut levers: Vec<Lever> = self
            .parts
            .iter()
            .zip(self.times)
            .map(|(time, trials)| {
                let (kind, of) = self.belongs(time.input);
                let mean = time.spread.mean();
                let less = little(&time.spread);
                let saved: Vec<f64> = match less {
                    less if less < 1.0 => trials.hours.clone(),
                    less => trials.a_minute.iter().map(|hours| less * hours).collect(),
                };
                let columns = self.with_time(self.with_part(time.input, &saved, |_| 0.0), time.input, mean - less);
                let tenth = self.with_part(time.input, &trials.hours, |i| (1.0 - TENTH) * trials.hours[i]);
                let tenth = self.with_time(tenth, time.input, (1.0 - TENTH) * mean);
                Lever {
                    name: name(kind, of.as_deref()),
                    kind,
                    of,
                    less,
                    has: mean,
                    all_of_it: less == mean,
                    gain: gain(self.base, &columns),
                    tenth: gain(self.base, &tenth),
                    input: place(time.input),
                }
            })
            .collect();
        let changes = self.changes();
        levers.extend(parallel::map(changes.len(), |k| {
            let change = &changes[k];
            let columns = |plan: &Plan, less: &Less| {
                if change.hours_stay {
                    return self.revalued(self.with_money(plan), |then| change.take(then, less));
                }
                // Other pieces come through, and others are kept.
                let Some(kept) = self.kept else {
                    return self.simulator.run(plan);
                };
                let mut then = self.scenario.clone();
                change.take(&mut then, less);
                self.simulator.run(&kept.plan(plan, &then))
            };
            let by_little = columns(&change.plan, &|has| has.min(change.less));
            let tenth = match &change.tenth {
                Tenth::Plan(plan) => columns(plan, &|has| TENTH * has),
                Tenth::Times(times) => self.scaled(&by_little, *times),
            };
            Lever {
                name: name(change.kind, change.of.as_deref()),
                kind: change.kind,
                of: change.of.clone(),
                less: change.less,
                has: change.has,
                all_of_it: change.all_of_it,
                gain: gain(self.base, &by_little),
                tenth: gain(self.base, &tenth),
                input: change.input.and_then(place),
            }
        }));
        levers.extend(self.wage());
        let worth = |lever: &Lever| lever.tenth.map_or(f64::NEG_INFINITY, |g| g.mean);
        levers.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        levers
    }

    /// The helper's wage, which is paid for the hours that are simulated already.
    fn wage(&self) -> Option<Lever> {
        let wage = self.scenario.helper.filter(|_| self.plan.has_helper())?.wage;
        if wage <= 0.0 {
            return None;
        }
        let hours = self.helper_hours();
        let cheaper = |less: f64| {
            let saved: Vec<f64> = hours.iter().map(|h| h * less / wage).collect();
            let columns = self.with_less_wages(self.base.clone(), &saved);
            let columns = self.revalued(columns, |then| {
                if let Some(helper) = &mut then.helper {
                    helper.wage -= less;
                }
            });
            gain(self.base, &columns)
        };
        let less = a_little(wage, unit_of_money(self.scenario.target_per_hour));
        Some(Lever {
            name: name(Kind::Wage, None),
            kind: Kind::Wage,
            of: None,
            less,
            has: wage,
            all_of_it: less == wage,
            gain: cheaper(less),
            tenth: cheaper(TENTH * wage),
            input: None,
        })
    }

    /// The trials with so many times the difference in money that others make, hours being the same.
    pub(super) fn scaled(&self, others: &Columns, times: f64) -> Columns {
        let both = self.base.profit.iter().zip(&others.profit);
        Columns {
            hours: self.base.hours.clone(),
            profit: both.map(|(was, is)| was + times * (is - was)).collect(),
        }
    }

    /// The work of each step and channel, and what a tenth less of all of it is worth.
    pub(super) fn steps(&self) -> Vec<StepWorth> {
        // The maker's hours, and the helper's.
        let mut owners: Vec<(Owner, [Vec<f64>; 2])> = Vec::new();
        for (time, trials) in self.parts.iter().zip(self.times) {
            let Some(owner) = Owner::of(time.input) else {
                continue;
            };
            let whose = usize::from(self.is_helped(time.input));
            let place = owners.iter().position(|(other, _)| *other == owner).unwrap_or_else(|| {
                let none = vec![0.0; trials.hours.len()];
                owners.push((owner, [none.clone(), none]));
                owners.len() - 1
            });
            let hours = &mut owners[place].1[whose];
            hours.iter_mut().zip(&trials.hours).for_each(|(sum, own)| *sum += own);
        }
        let mut steps: Vec<StepWorth> = owners
            .into_iter()
            .map(|(owner, [hours, helped])| {
                let columns = self.with_hours(self.exchanged(&hours, |i| (1.0 - TENTH) * hours[i]));
                let less: Vec<f64> = helped.iter().map(|own| TENTH * own).collect();
                let columns = self.with_less_wages(columns, &less);
                let columns = self.revalued(columns, |then| {
                    if let Owner::Step(i) = owner {
                        then.steps[i].each = then.steps[i].each.scaled(1.0 - TENTH);
                    }
                });
                StepWorth {
                    name: match owner {
                        Owner::Step(i) => self.scenario.steps[i].name.clone(),
                        Owner::Channel(i) => self.scenario.channels[i].name.clone(),
                        Owner::Seconds => SECONDS.to_owned(),
                        Owner::Day(i) => self.scenario.selling_days[i].name.clone(),
                        Owner::Asked(way) => {
                            let asked = asked_first(&[self.scenario.sales()[way]], |_| true).unwrap_or_default();
                            asked_through(asked, self.way(way).as_deref().unwrap_or(""))
                        }
                    },
                    hours: stats::mean(&hours).mean + stats::mean(&helped).mean,
                    tenth: gain(self.base, &columns),
                }
            })
            .collect();
        let worth = |step: &StepWorth| step.tenth.map_or(f64::NEG_INFINITY, |g| g.mean);
        steps.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        steps
    }

    /// Levers that are not times: each with its changed plan.
    fn changes(&self) -> Vec<Change> {
        let mut out = Vec::new();
        self.chance_changes(&mut out);
        self.material_changes(&mut out);
        self.sale_changes(&mut out);
        out
    }

    /// Adds a lever, where there is anything of it.
    fn add(&self, out: &mut Vec<Change>, lever: Possible<'_>, make: &dyn Fn(&Less) -> Plan) {
        let Possible {
            kind,
            of,
            has,
            most,
            input,
        } = lever;
        if has <= 0.0 {
            return;
        }
        let less = match kind {
            Kind::Price | Kind::Postage | Kind::FeePerOrder | Kind::DayCost => a_little(has, most),
            _ => has.min(most),
        };
        let hours_stay = !matches!(kind, Kind::Spoil | Kind::Second | Kind::Redo | Kind::Returns);
        // What comes in whole packs or at breaks costs less in steps.
        let linear = match input {
            Some(Input::Waste(i)) => self.plan.materials[i].is_plain(),
            // A piece comes back or it does not.
            Some(Input::Unsold(_)) => false,
            _ => true,
        };
        out.push(Change {
            kind,
            of: of.cloned(),
            less,
            has,
            all_of_it: less == has,
            hours_stay,
            input,
            plan: make(&|has| has.min(less)),
            // Money is linear in every price and fee; with channels each has a tenth of its own.
            tenth: if hours_stay && linear && self.plan.sales().count() == 1 {
                Tenth::Times(TENTH * has / less)
            } else {
                Tenth::Plan(Box::new(make(&|has| TENTH * has)))
            },
        });
    }

    fn chance_changes(&self, out: &mut Vec<Change>) {
        for (i, step) in self.scenario.steps.iter().enumerate() {
            let changed = |change: &dyn Fn(&mut PlanStep)| {
                let mut plan = self.plan.clone();
                change(&mut plan.steps[i]);
                plan
            };
            let redo = if step.each.is_zero() { 0.0 } else { step.redo };
            let lever = |kind: Kind, has: f64| Possible {
                kind,
                of: Some(&step.name),
                has,
                most: POINT,
                input: Some(Input::Chance(i)),
            };
            let seconds = Possible {
                input: Some(Input::Seconds),
                ..lever(Kind::Second, step.second)
            };
            self.add(out, seconds, &|less| {
                let mut fewer = self.scenario.clone();
                fewer.steps[i].second -= less(step.second);
                let mut plan = self.plan.clone();
                if let Some(seconds) = &mut plan.seconds {
                    seconds.bound = half_bound(fewer.second_chance());
                }
                plan
            });
            self.add(out, lever(Kind::Spoil, step.spoil), &|less| {
                changed(&|s| {
                    s.spoil -= less(step.spoil);
                    s.spoil_bound = half_bound(s.spoil);
                })
            });
            self.add(out, lever(Kind::Redo, redo), &|less| {
                changed(&|s| {
                    s.redo -= less(step.redo);
                    s.redo_bound = half_bound(s.redo);
                })
            });
        }
    }

    fn material_changes(&self, out: &mut Vec<Change>) {
        let money = unit_of_money(self.scenario.target_per_hour);
        for (i, material) in self.scenario.materials.iter().enumerate().filter(|(_, m)| m.is_used()) {
            // Scaled, not shifted: no draw falls below nothing, and which break is bought up to stays as it was.
            let scaled = |what: Use, has: f64, less: f64| {
                let stream = part(what, &material.name);
                self.bare.with_shape(stream, |shape| shape.scaled(1.0 - less / has))
            };
            let lever = |kind: Kind, has: f64, most: f64, input: Input| Possible {
                kind,
                of: Some(&material.name),
                has,
                most,
                input: Some(input),
            };
            let (price, waste) = (material.price.mean(), material.waste.mean());
            self.add(out, lever(Kind::Price, price, money, Input::Price(i)), &|less| {
                scaled(Use::Price, price, less(price))
            });
            self.add(out, lever(Kind::Waste, waste, POINT, Input::Waste(i)), &|less| {
                scaled(Use::Waste, waste, less(waste))
            });
        }
    }

    /// In every channel that has it; by what is asked, or by all of it where a channel has less.
    fn sale_changes(&self, out: &mut Vec<Change>) {
        let money = unit_of_money(self.scenario.target_per_hour);
        let of_seconds = self.scenario.seconds.as_ref().map(|seconds| &seconds.sale);
        let sales: Vec<&Sale> = self.scenario.sales().into_iter().chain(of_seconds).collect();
        let largest = |of: &dyn Fn(&Sale) -> f64| sales.iter().map(|sale| of(sale)).fold(0.0, f64::max);
        let everywhere = |plan: &Plan, change: &dyn Fn(&mut PlanChannel, &Sale)| {
            let mut plan = plan.clone();
            for (channel, sale) in plan.sales_mut().zip(&sales) {
                change(channel, sale);
            }
            plan
        };
        let lever = |kind: Kind, has: f64, most: f64, input: Option<Input>| Possible {
            kind,
            of: None,
            has,
            most,
            input,
        };
        let post = largest(&|sale| sale.post.mean());
        self.add(out, lever(Kind::Postage, post, money, Some(Input::Postage)), &|less| {
            everywhere(self.bare, &|channel, sale| {
                let mean = sale.post.mean();
                if mean > 0.0 {
                    channel.post.shape = channel.post.shape.scaled(1.0 - less(mean) / mean);
                }
            })
        });
        let returned = largest(&|sale| sale.returned);
        self.add(
            out,
            lever(Kind::Returns, returned, POINT, Some(Input::Returns)),
            &|less| {
                everywhere(self.plan, &|channel, sale| {
                    let returned = (sale.returned - less(sale.returned)).max(0.0);
                    channel.returned_bound = half_bound(returned);
                    channel.as_new_bound = half_bound(returned * sale.as_new);
                })
            },
        );
        let fee = largest(&|sale| sale.fee);
        self.add(out, lever(Kind::Fee, fee, POINT, None), &|less| {
            everywhere(self.bare, &|channel, sale| {
                channel.fee = (sale.fee - less(sale.fee)).max(0.0);
                if let Some([_, fee]) = channel.single.as_mut().filter(|_| sale.fee > 0.0) {
                    *fee *= channel.fee / sale.fee;
                }
            })
        });
        self.unsold_changes(out);
        self.day_changes(out);
        let per_order = largest(&|sale| sale.fee_per_order);
        self.add(out, lever(Kind::FeePerOrder, per_order, money, None), &|less| {
            everywhere(self.bare, &|channel, sale| {
                channel.fee_per_order = (sale.fee_per_order - less(sale.fee_per_order)).max(0.0);
            })
        });
    }

    /// What comes back unsold.
    fn unsold_changes(&self, out: &mut Vec<Change>) {
        for (i, on_return) in self.scenario.on_return() {
            let unsold = on_return.unsold.mean();
            let possible = Possible {
                kind: Kind::Unsold,
                of: Some(&self.scenario.channels[i].name),
                has: unsold,
                most: POINT,
                input: Some(Input::Unsold(i)),
            };
            self.add(out, possible, &|less| {
                let mut plan = self.bare.clone();
                if let Some(on_return) = &mut plan.channels[i].on_return {
                    on_return.unsold.shape = on_return.unsold.shape.scaled(1.0 - less(unsold) / unsold);
                }
                plan
            });
        }
    }

    /// What selling days cost.
    fn day_changes(&self, out: &mut Vec<Change>) {
        for (i, day) in self.scenario.selling_days.iter().enumerate() {
            let cost = day.cost.mean();
            let possible = Possible {
                kind: Kind::DayCost,
                of: Some(&day.name),
                has: cost,
                most: unit_of_money(self.scenario.target_per_hour),
                input: Some(Input::DayCost(i)),
            };
            let stream = self.plan.days[i].cost.part;
            self.add(out, possible, &|less| {
                self.bare
                    .with_shape(stream, |shape| shape.scaled(1.0 - less(cost) / cost))
            });
        }
    }
}

/// A lever of which there may be anything.
struct Possible<'a> {
    kind: Kind,
    of: Option<&'a String>,
    has: f64,
    /// How much less of it at most.
    most: f64,
    input: Option<Input>,
}

/// A point of a share.
const POINT: f64 = 0.01;

/// Whose time a part of the work is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Owner {
    Step(usize),
    Channel(usize),
    Seconds,
    Asked(usize),
    Day(usize),
}

impl Owner {
    pub(super) const fn of(input: Input) -> Option<Self> {
        match input {
            Input::Once(i) | Input::Setup(i) | Input::Each(i) | Input::PerOrder(i) => Some(Self::Step(i)),
            Input::ChannelOrder(i) => Some(Self::Channel(i)),
            Input::SecondOrder => Some(Self::Seconds),
            Input::Quote(way) | Input::Enquiry(way) => Some(Self::Asked(way)),
            Input::There(i) | Input::Travel(i) => Some(Self::Day(i)),
            _ => None,
        }
    }
}

/// Of what there is, how much less.
pub(super) type Less<'a> = dyn Fn(f64) -> f64 + 'a;

/// How a tenth less is found.
pub(super) enum Tenth {
    /// So many times the difference that the little less makes.
    Times(f64),
    /// By a plan of its own.
    Plan(Box<Plan>),
}

/// A lever that needs trials of its own.
pub(super) struct Change {
    pub(super) kind: Kind,
    pub(super) of: Option<String>,
    pub(super) less: f64,
    pub(super) has: f64,
    pub(super) all_of_it: bool,
    /// Whether the plan is one without times, because hours stay as they are.
    pub(super) hours_stay: bool,
    pub(super) input: Option<Input>,
    pub(super) plan: Plan,
    pub(super) tenth: Tenth,
}

impl Change {
    /// Takes so much off what the scenario has of it, as far as that bears on what a piece costs: what seconds bring is taken off it.
    fn take(&self, then: &mut Scenario, less: &Less) {
        if let Some(seconds) = &mut then.seconds {
            let sale = &mut seconds.sale;
            let post = sale.post.mean();
            match self.kind {
                Kind::Postage if post > 0.0 => sale.post = sale.post.scaled(1.0 - less(post) / post),
                Kind::Returns => sale.returned -= less(sale.returned),
                Kind::Fee => sale.fee -= less(sale.fee),
                Kind::FeePerOrder => sale.fee_per_order -= less(sale.fee_per_order),
                _ => {}
            }
        }
        let less = less(self.has);
        let step = then.steps.iter_mut().find(|step| Some(&step.name) == self.of.as_ref());
        let material = then.materials.iter_mut().find(|m| Some(&m.name) == self.of.as_ref());
        let part = 1.0 - less / self.has;
        match (self.kind, step, material) {
            (Kind::Spoil, Some(step), _) => step.spoil -= less,
            (Kind::Second, Some(step), _) => step.second -= less,
            (Kind::Redo, Some(step), _) => step.redo -= less,
            (Kind::Price, _, Some(material)) => prices(material, &|price| price.scaled(part)),
            (Kind::Waste, _, Some(material)) => material.waste = material.waste.scaled(part),
            _ => {}
        }
    }
}

/// A unit of money, the step of a lever: where hours are worth thousands, a hundred.
pub(super) fn unit_of_money(target: f64) -> f64 {
    if target >= 1_000.0 { 100.0 } else { 1.0 }
}

/// Money less that is looked at: a unit, or, where that is more than half of what there is, the greatest tenth or hundredth and so on that is not.
fn a_little(has: f64, unit: f64) -> f64 {
    let mut less = unit;
    while less > 0.5 * has && less > f64::MIN_POSITIVE {
        less /= 10.0;
    }
    less
}

/// What there is less of everything, so that unlike things can be ranked.
pub(super) const TENTH: f64 = 0.1;
