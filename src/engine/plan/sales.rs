//! The ways of selling of a plan.

use super::{Source, by_step};
use crate::engine::shape::{Shape, half_bound, unit};
use crate::engine::stream::{Use, evenly, part};
use crate::engine::{LANES, Lanes};
use crate::model::counts::{WHOLE, parts_of_rest};
use crate::model::{demand, worth};
use crate::scenario::{OnReturn, Sale, Scenario, SellingDay, Spread};

/// One way of selling, ready for the loops. Without channels there is one, and all goes there.
#[derive(Debug, Clone)]
pub struct PlanChannel {
    /// What a buyer pays for a piece here, as a share of the list price (in this channel's own currency).
    pub price_ratio: f64,
    /// 1 / (1 + tax): the share of what the buyer pays that is not tax.
    pub net: f64,
    /// Fee as a fraction of what the buyer pays.
    pub fee: f64,
    /// Fee per order.
    pub fee_per_order: f64,
    /// Postage paid by the buyer, per order, tax included.
    pub post_charged: f64,
    /// Pieces in an order.
    pub order_of: Source,
    /// Postage per order.
    pub post: Source,
    /// What a buyer adds to an order.
    pub tip: Source,
    /// [`half_bound`] of the chance that an order comes back; 0: none does.
    pub returned_bound: f64,
    /// [`half_bound`] of the chance that it comes back and can be sold again as new.
    pub as_new_bound: f64,
    /// How pieces are left there on sale or return.
    pub on_return: Option<PlanReturn>,
    /// Pieces of a set; 1 where they are sold one by one.
    pub set_of: f64,
    /// What a single piece beside full sets brings without tax, and its fee, in list prices; `None`: nobody takes it.
    pub single: Option<[f64; 2]>,
    /// Minutes per order.
    pub order_times: Vec<Source>,
    /// What is tried until an order comes of it.
    pub tries: Vec<PlanTries>,
    /// Currencies of price, fee per order, postage, postage charged and tips: indices into [`super::Plan::rates`].
    pub rates: [Option<usize>; 5],
    /// The share it has of the pieces that no channel before it takes; 1 for the last.
    pub of_rest: f64,
    /// Stream of where in its share a trial begins.
    pub begins_part: u64,
}

impl PlanChannel {
    /// Where in its share each trial of a group begins; no nearer to a whole piece than what counts as whole.
    #[must_use]
    pub fn begins(&self, seed: u64, group: u64) -> Lanes {
        if self.of_rest < 1.0 {
            evenly(seed, self.begins_part, group).map(|place| place.clamp(2.0 * WHOLE, 1.0 - 2.0 * WHOLE))
        } else {
            [0.0; LANES]
        }
    }

    /// Whether orders leave more behind than pieces, time and postage: tips, returns that are sold again, pieces on sale or return.
    #[must_use]
    pub(crate) fn leaves_more(&self) -> bool {
        !self.tip.shape.is_zero() || self.on_return.is_some() || self.as_new_bound > 0.0
    }
}

/// Pieces left on sale or return, ready for the loops.
#[derive(Debug, Clone)]
pub struct PlanReturn {
    /// Share that comes back.
    pub unsold: Source,
    /// Stream of what becomes of each piece.
    pub part: u64,
    /// [`half_bound`] of the chance that one that comes back is worn.
    pub worn_bound: f64,
    /// Money that a worn one fetches.
    pub worn_price: f64,
    /// What one left there costs until the shop settles, as a share of the money tied up in it.
    pub tied_up: f64,
}

/// Quotes or enquiries, ready for the loops.
#[derive(Debug, Clone)]
pub struct PlanTries {
    /// Minutes of one.
    pub time: Source,
    /// [`half_bound`] of the chance that one comes to nothing.
    pub lost_bound: f64,
    /// Stream of what comes of each.
    pub part: u64,
}

/// Tries for one order that have numbers of their own in their streams.
pub const TRIES_STRIDE: u64 = 1 << 20;

/// A selling day, ready for the loops.
#[derive(Debug, Clone)]
pub struct PlanDay {
    /// Its price without tax, in list prices.
    pub keep: f64,
    /// The fee on a piece, in list prices.
    pub fee: f64,
    /// Pieces that find a buyer.
    pub sells: PlanDemand,
    /// Minutes there and on the way.
    pub times: Vec<Source>,
    /// Money for the day.
    pub cost: Source,
}

/// Pieces that come through and are no firsts.
#[derive(Debug, Clone)]
pub struct PlanSeconds {
    /// [`half_bound`] of the chance that a piece that comes through is a second.
    pub bound: f64,
    /// Stream; piece by piece.
    pub part: u64,
    /// How all of them are sold; its `price_ratio` is their price itself. `None`: they are thrown away.
    ///
    /// Its orders draw from the streams of the others, numbered from [`FIRST_OF_SECONDS`] on.
    pub sale: Option<PlanChannel>,
}

/// The number of the first order of seconds in the streams of orders: no batch has so many of firsts.
pub const FIRST_OF_SECONDS: u64 = 1 << 40;

/// How many pieces are asked for.
#[derive(Debug, Clone)]
pub struct PlanDemand {
    /// A range, or counts that are equally likely.
    pub counts: Result<Shape, Vec<f64>>,
    /// Stream.
    pub part: u64,
    /// Buyers at the asked price for each of the file's.
    pub scale: f64,
}

impl PlanDemand {
    /// Whole pieces asked for, from 64 random bits.
    #[must_use]
    pub fn draw(&self, bits: u64) -> f64 {
        // Which of some known numbers it is takes the leading part of bits x count; what is left of it is uniform still.
        let known =
            |buyers: f64, count: usize| demand::known(buyers, self.scale, unit(bits.wrapping_mul(count as u64)));
        match &self.counts {
            Ok(Shape::Fixed(buyers)) => known(*buyers, 1),
            Ok(shape @ Shape::Logged(log)) => known(shape.draw_one(bits), log.values().len()),
            Ok(shape) => demand::drawn(shape.draw_one(bits), self.scale),
            Err(seen) => {
                let place = (unit(bits) * seen.len() as f64) as usize;
                known(seen[place.min(seen.len() - 1)], seen.len())
            }
        }
    }

    /// The range it is drawn from; `None` for counts, and for a known number of which only the fraction is left to chance.
    #[must_use]
    pub fn range(&self) -> Option<Shape> {
        self.counts.clone().ok().filter(|shape| !shape.is_fixed())
    }

    /// The number asked for, where it is certain.
    #[must_use]
    pub fn certain(&self) -> Option<f64> {
        let known = match &self.counts {
            Ok(Shape::Fixed(buyers)) => *buyers,
            Err(seen) if seen.iter().all(|count| *count == seen[0]) => seen[0],
            _ => return None,
        };
        demand::certain_of(&Spread::Certain(known), self.scale)
    }
}

/// The ways of selling; without channels, the one way of `[sale]`.
///
/// Orders are numbered through all channels and share their streams: with one channel the draws are those without channels.
pub(super) fn channels(scenario: &Scenario) -> Vec<PlanChannel> {
    let list = scenario.sale.price;
    let one = |sale: &Sale, price_ratio: f64, per_order: Option<&Spread>, name: &str| {
        channel(
            scenario,
            sale,
            price_ratio,
            per_order.map(|own| (own, Use::ChannelTime, name)),
            name,
        )
    };
    if scenario.channels.is_empty() {
        return vec![one(&scenario.sale, 1.0, None, "")];
    }
    scenario
        .channels
        .iter()
        .zip(parts_of_rest(&scenario.channels))
        .map(|(channel, of_rest)| PlanChannel {
            of_rest,
            on_return: channel
                .on_return
                .as_ref()
                .map(|on_return| plan_return(on_return, &channel.name)),
            ..one(
                &channel.sale,
                channel.price_ratio(list),
                channel.per_order.as_ref(),
                &channel.name,
            )
        })
        .collect()
}

/// One way of selling; `own` is its own time per order, where it has one, and its stream.
fn channel(
    scenario: &Scenario,
    sale: &Sale,
    price_ratio: f64,
    own: Option<(&Spread, Use, &str)>,
    name: &str,
) -> PlanChannel {
    let tries = [
        (&sale.quote, Use::Quote, Use::QuoteWon),
        (&sale.enquiry, Use::Enquiry, Use::EnquiryBought),
    ];
    PlanChannel {
        tries: tries
            .into_iter()
            .filter(|(tries, ..)| !tries.minutes.is_zero())
            .map(|(tries, time, won)| PlanTries {
                time: Source::new(&tries.minutes, time, name),
                lost_bound: half_bound(1.0 - tries.won),
                part: part(won, name),
            })
            .collect(),
        set_of: f64::from(sale.set_of),
        single: sale.single_price.map(|price| {
            let ratio = price / scenario.sale.price;
            [ratio / (1.0 + sale.tax), ratio * sale.fee]
        }),
        price_ratio,
        net: 1.0 / (1.0 + sale.tax),
        fee: sale.fee,
        fee_per_order: sale.fee_per_order,
        post_charged: sale.post_charged,
        order_of: Source::new(&sale.order_of, Use::OrderSize, ""),
        post: Source::new(&sale.post, Use::Post, ""),
        tip: Source::new(&sale.tip, Use::Tip, ""),
        returned_bound: half_bound(sale.returned),
        as_new_bound: half_bound(sale.returned * sale.as_new),
        on_return: None,
        order_times: match own {
            Some((spread, ..)) if spread.is_zero() => Vec::new(),
            Some((spread, purpose, name)) => vec![Source::new(spread, purpose, name)],
            None => by_step(scenario, Use::OrderTime, |s| &s.per_order),
        },
        rates: [
            sale.currencies.price,
            sale.currencies.fee_per_order,
            sale.currencies.post,
            sale.currencies.post_charged,
            sale.currencies.tip,
        ],
        of_rest: 1.0,
        begins_part: part(Use::Begins, name),
    }
}

fn plan_return(on_return: &OnReturn, name: &str) -> PlanReturn {
    PlanReturn {
        unsold: Source::new(&on_return.unsold, Use::Unsold, name),
        part: part(Use::ComesBack, name),
        worn_bound: half_bound(on_return.worn),
        worn_price: on_return.worn_price,
        tied_up: worth::waiting(on_return),
    }
}

/// `share` times the file's buyers come at the list price.
pub(super) fn plan_day(day: &SellingDay, list: f64, share: f64) -> PlanDay {
    let name = day.name.as_str();
    let times = [(&day.there, Use::DayThere), (&day.travel, Use::DayTravel)];
    PlanDay {
        keep: day.price / list / (1.0 + day.tax),
        fee: day.price / list * day.fee,
        sells: PlanDemand {
            counts: Ok(Shape::new(&day.sells)),
            part: part(Use::DaySells, name),
            scale: share,
        },
        times: times
            .into_iter()
            .filter(|(time, _)| !time.is_zero())
            .map(|(time, purpose)| Source::new(time, purpose, name))
            .collect(),
        cost: Source::new(&day.cost, Use::DayCost, name),
    }
}

pub(super) fn seconds(scenario: &Scenario) -> Option<PlanSeconds> {
    let chance = scenario.second_chance();
    (chance > 0.0).then(|| PlanSeconds {
        bound: half_bound(chance),
        part: part(Use::Second, ""),
        sale: scenario.seconds.as_ref().map(|seconds| {
            let own = seconds.per_order.as_ref().map(|own| (own, Use::SecondTime, ""));
            channel(scenario, &seconds.sale, seconds.sale.price, own, "")
        }),
    })
}
