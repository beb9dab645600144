//! What a block of trials writes down of every batch size: columns trial by trial, and sums.
//!
//! # Why sums are kept beside columns
//!
//! Rate, profit and floor need all trials for their quantiles; what setup or postage costs needs only a mean. Three values a trial and size
//! are held, and large sweeps go through their sizes in stretches with the generators' state kept, so that memory does not grow with sizes
//! x trials x steps. Only what varies is added up: what is certain, nothing, or another sum times a number is worked out at the end.
//! Adding all of it for every trial and size was a sixth of a sweep's time.

use super::kernel::sum_lanes;
use super::line::MoneyLine;
use super::plan::{CertainSale, Plan};
use super::{LANES, Lanes, Row};
use fearless_simd::{Simd, SimdBase, SimdFrom, f64x8};

/// Sums that are named once, for what adds them up and what carries them to another worker.
macro_rules! sums {
    ($(#[$of:meta])* $name:ident { $($(#[$doc:meta])* $sum:ident,)* }) => {
        $(#[$of])*
        #[derive(Debug, Clone, Copy, Default, PartialEq)]
        pub struct $name {
            $($(#[$doc])* pub $sum: f64,)*
        }

        impl $name {
            /// How many they are.
            pub const COUNT: usize = [$(stringify!($sum)),*].len();

            /// All of them, in order.
            #[must_use]
            pub const fn all(&self) -> [f64; Self::COUNT] {
                [$(self.$sum),*]
            }
        }

        impl From<[f64; Self::COUNT]> for $name {
            fn from([$($sum),*]: [f64; Self::COUNT]) -> Self {
                Self { $($sum),* }
            }
        }
    };
}

sums! {
    /// Sums over trials that are kept for every size besides the columns.
    Sums {
        /// Good pieces.
        good,
        /// Their squares.
        good_squared,
        /// Hours of setup.
        setup_hours,
        /// Hours of redoing.
        redo_hours,
        /// Hours of orders.
        order_hours,
        /// Hours once for the design.
        once_hours,
        /// What a price of 1 brings in: kept pieces without tax, less the fee on all that were sold.
        per_price,
        /// Income.
        income,
        /// Fees.
        fees,
        /// Postage paid.
        post,
        /// Materials at replacement prices.
        materials,
        /// Materials at what was paid.
        materials_paid,
        /// Pieces sold.
        sold,
        /// Their squares.
        sold_squared,
        /// What leftovers brought in.
        clearance,
        /// Cost of holding.
        holding,
        /// Trials in which every good piece was sold, and there was one.
        sold_out,
        /// Pieces sold as seconds.
        seconds,
        /// Pieces sold on selling days.
        day_sold,
        /// Hours of selling days.
        day_hours,
        /// Money for selling days.
        day_cost,
        /// Hours of the helper.
        helper_hours,
        /// Pieces that came back worn from sale or return.
        worn,
    }
}

impl Sums {
    /// Adds the sums of another block.
    pub fn add(&mut self, other: &Self) {
        let (own, other) = (self.all(), other.all());
        *self = std::array::from_fn(|k| own[k] + other[k]).into();
    }
}

sums! {
    /// What one channel took and gave, summed over the trials of a block.
    ChannelSums {
        /// Pieces that went there.
        placed,
        /// Pieces sold there.
        sold,
        /// Orders sent.
        orders,
        /// Hours of orders.
        order_hours,
        /// Income.
        income,
        /// Fees.
        fees,
        /// Postage paid.
        post,
        /// Materials used per order, at replacement prices.
        materials,
        /// What pieces that came back are worth, less what it costs to wait for them and for the money.
        back,
    }
}

/// Lanes of [`ChannelSums`], in the order of its fields.
pub const CHANNEL_SUMS: usize = ChannelSums::COUNT;

impl ChannelSums {
    /// From sums lane by lane.
    #[must_use]
    pub fn from_lanes(lanes: &[Row; CHANNEL_SUMS]) -> Self {
        lanes.each_ref().map(|lanes| sum_lanes(&lanes.0)).into()
    }
}

/// Sums over one block of trials for one size.
#[derive(Debug, Clone, Default)]
pub struct BlockSums {
    /// Everything that all ways of selling share.
    pub sums: Sums,
    /// Hours; only where there are several channels.
    pub hours: f64,
    /// What each channel took and gave, and, where seconds are sold, they; empty where there are no channels to tell apart.
    pub channels: Vec<ChannelSums>,
}

/// What a block of trials found for some sizes.
#[derive(Debug, Clone, Default)]
pub struct BlockTrials {
    /// Values by chunk of groups, then size, then column (hours; and profit and floor where they do not follow from hours),
    /// then group.
    pub rows: Vec<Row>,
    /// Sums by size.
    pub sums: Vec<BlockSums>,
}

/// A value that is added up trial by trial; [`Sums`] follow from these.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tally {
    /// Hours, only where there are several channels to tell apart.
    Hours,
    Good,
    GoodSquared,
    SetupHours,
    RedoHours,
    OrderHours,
    Sold,
    SoldSquared,
    /// Kept pieces without tax, in what a price of 1 brings in.
    KeptPrice,
    /// Fees, in what a price of 1 brings in.
    FeePrice,
    /// Postage and tips paid by buyers, and what they pay for seconds.
    KeptPost,
    /// Fees that do not hang on the price.
    OrderFees,
    Post,
    Materials,
    MaterialsPaid,
    SoldOut,
    Seconds,
    /// Pieces that came back to be sold again as new after they were sold, less unsold ones that came back worn.
    Back,
    /// Pieces left on sale or return, each times what that costs of the money tied up in it.
    TiedUp,
    DaySold,
    DayHours,
    DayCost,
    HelperHours,
    /// Pieces that came back worn from sale or return.
    Worn,
}

const TALLIES: usize = 24;

/// Which values are added up: those that are not certain, nothing, or another value times a number. Adding all of them for
/// every trial and size took a sixth of a sweep's time.
#[derive(Debug, Clone)]
pub struct Tallies {
    slots: [Option<u8>; TALLIES],
    /// How many there are.
    pub count: usize,
}

/// What a block's trials add up to whatever the size.
#[derive(Debug, Clone, Copy, Default)]
pub struct TrialSums {
    /// Trials.
    pub trials: usize,
    /// Hours that a minute of work takes at the trial's pace.
    pub per_hour: f64,
    /// Hours once for the design.
    pub once_hours: f64,
    /// Hours of setups that fall due once in any batch.
    pub setup_hours: f64,
}

impl Tallies {
    /// Those of a plan whose hours alone are left to chance.
    #[must_use]
    pub fn of_hours(plan: &Plan) -> Self {
        Self::new(&[(Tally::SetupHours, plan.has_rounds()), (Tally::RedoHours, plan.redoes)])
    }

    /// Those of any plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let certain = plan.sells_for_certain();
        let returns = plan.channels.iter().any(|channel| channel.returned_bound > 0.0);
        let (one, ends) = (plan.channels.len() == 1, plan.demand.is_some());
        let rates = !plan.rates.is_empty();
        // Money of sales, other than what follows from the pieces sold.
        let money = !certain || rates;
        let days = !plan.days.is_empty();
        let sets = plan.has_sets();
        let per_piece = money && (rates || !one || days || sets);
        let seconds = plan.seconds.as_ref().is_some_and(|seconds| seconds.sale.is_some());
        let charged = plan.channels.iter().any(|channel| channel.post_charged != 0.0);
        let on_return = plan.channels.iter().any(|channel| channel.on_return.is_some());
        let worn = plan.wears();
        let as_new = plan.channels.iter().any(|channel| channel.as_new_bound > 0.0);
        let tips = plan.channels.iter().any(|channel| !channel.tip.shape.is_zero());
        let per_order = plan.channels.iter().any(|channel| channel.fee_per_order != 0.0);
        Self::new(&[
            (Tally::Hours, !one),
            (Tally::Good, plan.sells_short()),
            (Tally::GoodSquared, plan.sells_short()),
            // Pieces that are made again have setups of their own.
            (Tally::SetupHours, plan.has_rounds() || (plan.remake && plan.spoils)),
            (Tally::RedoHours, plan.redoes),
            (Tally::OrderHours, !certain && plan.has_order_times()),
            (Tally::Sold, !certain && (ends || on_return || sets)),
            (Tally::SoldSquared, !certain && (ends || on_return || sets)),
            (Tally::KeptPrice, per_piece || (money && returns)),
            (Tally::FeePrice, per_piece),
            (Tally::KeptPost, money && (charged || tips || seconds || on_return)),
            (Tally::OrderFees, money && (charged || per_order || seconds)),
            (
                Tally::Post,
                money && plan.sales().any(|channel| !channel.post.shape.is_zero()),
            ),
            (Tally::Materials, !plan.materials.is_empty()),
            (
                Tally::MaterialsPaid,
                plan.materials.iter().any(|material| material.paid.is_some()),
            ),
            (
                Tally::SoldOut,
                !certain && (ends || on_return || sets || plan.sells_short()),
            ),
            (Tally::Seconds, seconds),
            (Tally::Back, on_return || as_new),
            (Tally::TiedUp, on_return),
            (Tally::DaySold, days),
            (Tally::DayHours, days),
            (Tally::DayCost, days),
            (Tally::HelperHours, plan.has_helper()),
            (Tally::Worn, worn),
        ])
    }

    fn new(wanted: &[(Tally, bool)]) -> Self {
        let mut slots = [None; TALLIES];
        let mut count = 0;
        for (tally, _) in wanted.iter().filter(|(_, wanted)| *wanted) {
            slots[*tally as usize] = Some(count);
            count += 1;
        }
        Self {
            slots,
            count: usize::from(count),
        }
    }

    /// Adds a group's values to the sums of a size.
    #[inline(always)]
    pub fn add<S: Simd>(&self, simd: S, sums: &mut [Row], tally: Tally, value: f64x8<S>, weight: Option<f64x8<S>>) {
        if let Some(slot) = self.slots[tally as usize] {
            let value = weight.map_or(value, |weight| value * weight);
            let sum = &mut sums[usize::from(slot)].0;
            (f64x8::simd_from(simd, *sum) + value).store_array(sum);
        }
    }

    /// Hours, where they are added up.
    #[must_use]
    pub fn hours(&self, sums: &[Row]) -> f64 {
        self.slots[Tally::Hours as usize].map_or(0.0, |slot| sum_lanes(&sums[usize::from(slot)].0))
    }

    /// The sums of a batch of `size`, from what was added up and what needs no adding up.
    #[must_use]
    pub fn sums(&self, sums: &[Row], plan: &Plan, size: u32, sale: Option<&CertainSale>, totals: &TrialSums) -> Sums {
        let trials = totals.trials as f64;
        let pieces = f64::from(plan.due(size));
        let tally = |tally: Tally| self.slots[tally as usize].map(|slot| sum_lanes(&sums[usize::from(slot)].0));
        // Sums where all is certain.
        let certain = |of: &dyn Fn(&CertainSale) -> f64| sale.map_or(0.0, |sale| of(sale) * trials);
        let sold_for_certain = sale.map(|sale| sale.pieces);
        let good = tally(Tally::Good).unwrap_or(pieces * trials);
        let good_squared = tally(Tally::GoodSquared).unwrap_or(pieces * pieces * trials);
        let [sold, sold_squared] = match sold_for_certain {
            Some(sold) => [sold * trials, sold * sold * trials],
            None => [
                tally(Tally::Sold).unwrap_or(good),
                tally(Tally::SoldSquared).unwrap_or(good_squared),
            ],
        };
        // Where there is one channel and nothing comes back, money follows from the pieces sold.
        let follows = |share: f64| {
            if sale.is_some() {
                certain(&|sale| sale.pieces * share)
            } else {
                sold * share
            }
        };
        let channel = &plan.channels[0];
        let kept_price = tally(Tally::KeptPrice).unwrap_or_else(|| follows(channel.net * channel.price_ratio));
        let fee_price = tally(Tally::FeePrice).unwrap_or_else(|| follows(channel.fee * channel.price_ratio));
        let kept_post = tally(Tally::KeptPost)
            .unwrap_or_else(|| certain(&|sale| sale.orders * (channel.net * channel.post_charged) + sale.tips));
        let order_fees = tally(Tally::OrderFees).unwrap_or_else(|| {
            certain(&|sale| sale.orders * (channel.post_charged * channel.fee + channel.fee_per_order))
        });
        let materials = tally(Tally::Materials).unwrap_or(0.0);
        let terms = plan.terms;
        Sums {
            good,
            good_squared,
            setup_hours: tally(Tally::SetupHours).unwrap_or(totals.setup_hours),
            redo_hours: tally(Tally::RedoHours).unwrap_or(0.0),
            order_hours: tally(Tally::OrderHours)
                .unwrap_or_else(|| sale.map_or(0.0, |sale| sale.minutes * totals.per_hour)),
            once_hours: totals.once_hours,
            per_price: kept_price - fee_price,
            income: kept_price * terms.price + kept_post,
            fees: fee_price * terms.price + order_fees,
            post: tally(Tally::Post).unwrap_or_else(|| certain(&|sale| sale.postage)),
            materials,
            materials_paid: tally(Tally::MaterialsPaid).unwrap_or(materials),
            sold,
            sold_squared,
            clearance: (good - sold + tally(Tally::Back).unwrap_or(0.0)) * plan.clearance(size),
            holding: sold_squared * terms.holding + tally(Tally::TiedUp).unwrap_or(0.0) * terms.tied_up,
            seconds: tally(Tally::Seconds).unwrap_or(0.0),
            day_sold: tally(Tally::DaySold).unwrap_or(0.0),
            day_hours: tally(Tally::DayHours).unwrap_or(0.0),
            day_cost: tally(Tally::DayCost).unwrap_or(0.0),
            helper_hours: tally(Tally::HelperHours).unwrap_or(0.0),
            worn: tally(Tally::Worn).unwrap_or(0.0),
            sold_out: tally(Tally::SoldOut).unwrap_or_else(|| {
                let all = sold_for_certain.is_none_or(|sold| sold >= pieces && sold > 0.0);
                if all { trials } else { 0.0 }
            }),
        }
    }

    /// The sums of a batch of `size` whose money follows from hours.
    #[must_use]
    pub fn sums_of_line(&self, sums: &[Row], plan: &Plan, size: u32, line: &MoneyLine, totals: &TrialSums) -> Sums {
        Sums {
            materials: added_up(line.materials, totals.trials),
            materials_paid: added_up(line.materials_paid, totals.trials),
            ..self.sums(sums, plan, size, Some(&line.sale), totals)
        }
    }
}

/// A value added up lane by lane over the trials of a block: the bits of the general way, which multiplication would miss.
fn added_up(value: f64, trials: usize) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let lane = |lane: usize| {
        let groups = trials.saturating_sub(lane).div_ceil(LANES);
        (0..groups).fold(0.0, |total, _| total + value)
    };
    sum_lanes(&std::array::from_fn(lane))
}

/// Values kept of each trial and size where money does not follow from hours: hours, profit and floor.
pub const COLUMNS: usize = 3;

/// Where a group writes what it found.
pub struct Recorder<'a> {
    /// Sizes, ascending.
    pub sizes: &'a [u32],
    /// How each size sells, where nothing about that is left to chance.
    pub sales: &'a [Option<CertainSale>],
    /// The group's values, [`COLUMNS`] rows a size.
    pub rows: &'a mut [Row],
    /// Which sums are kept.
    pub tallies: &'a Tallies,
    /// The sums of every size.
    pub sums: &'a mut [Row],
    /// By size, then by channel.
    pub channel_sums: &'a mut [Vec<[Row; CHANNEL_SUMS]>],
    /// Lanes that count.
    pub valid: usize,
}

/// 1 in the lanes that count, where not all do.
#[inline(always)]
pub fn weight_of<S: Simd>(simd: S, valid: usize) -> Option<f64x8<S>> {
    (valid < LANES).then(|| f64x8::simd_from(simd, std::array::from_fn(|lane| f64::from(u8::from(lane < valid)))))
}

/// The running total of lanes that count.
#[inline(always)]
pub fn add_weighted<S: Simd>(simd: S, sum: &mut Lanes, value: f64x8<S>, weight: Option<f64x8<S>>) {
    let value = weight.map_or(value, |weight| value * weight);
    (f64x8::simd_from(simd, *sum) + value).store_array(sum);
}
