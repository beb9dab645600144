//! Good pieces into orders: one tile of pieces, eight trials side by side.
//!
//! # Why channels are split piece by piece
//!
//! Each further piece goes to the channel that is furthest behind its share, so no batch is a whole piece off, and a small batch is the
//! beginning of a large one (by largest remainders it would not be). Order j of channel c among C has number j C + c in the streams: with
//! one channel the draws are those without channels, to the bit.
//!
//! # Why seconds are told at the sale
//!
//! A piece that becomes a second at some step goes on as the others do, so it makes no difference when that is drawn: each piece has one
//! number for all steps, and only who sells it hangs on it. Orders of seconds are numbered from far on in the same streams.
//!
//! # Why selling days take the first pieces
//!
//! Day k finds buyers for so many pieces of the trial, drawn once, so that the first good pieces go to the first day, the next to the next,
//! and the rest comes home: a small batch is the beginning of a large one. How many a day sold follows from the good pieces alone.
//!
//! # Why pieces on sale or return have numbers of their own
//!
//! A shop takes its pieces in orders as others do, and what becomes of each is drawn by its number among those that went there. So the
//! pieces of a small batch come back in a large one too, and a change elsewhere leaves them alone.
//!
//! Where nothing is spoiled or returned and order sizes, times and postage are certain, the orders of a batch are a formula and are not
//! simulated.

use super::kernel::whole;
use super::path::greater;
use super::plan::{
    CertainSale, FIRST_OF_SECONDS, Plan, PlanChannel, PlanDay, PlanMaterial, PlanTries, Source, TRIES_STRIDE,
};
use super::shape::{Shape, half_bound, high_half, low_half};
use super::stream::{GAMMA, mix_lanes, nth, nth_of_all, start};
use super::{LANES, Lanes, Row, TILE};
use fearless_simd::{Select, Simd, SimdBase, SimdFloat, SimdFrom, SimdMask, f64x8, mask64x8, u64x8};

/// What is carried of the sale from tile to tile.
#[derive(Debug, Clone)]
pub struct OrderState {
    size: [u64; LANES],
    post: [u64; LANES],
    tip: [u64; LANES],
    returned: [u64; LANES],
    /// Pieces asked for.
    demand: Lanes,
    good: Lanes,
    /// Pieces that were there to be sold; only where there are selling days.
    brought: Lanes,
    sold: Lanes,
    /// Good pieces up to which each selling day, and those before it, find buyers.
    pub days: Vec<Lanes>,
    /// Pieces gone through.
    pieces: u64,
    /// Where the stream of seconds starts.
    second: [u64; LANES],
    channels: Vec<ChannelState>,
    seconds: Option<ChannelState>,
}

/// What is carried of one channel's orders.
#[derive(Debug, Clone)]
struct ChannelState {
    times: Vec<[u64; LANES]>,
    /// Where the streams of times and of what comes of them start, of quotes and enquiries.
    tries: Vec<[[u64; LANES]; 2]>,
    /// Pieces that make no full set yet.
    gone: Lanes,
    /// Room left in the open order.
    left: Lanes,
    /// 1 where the open order is kept by the buyer, 0 where it comes back.
    open_kept: Lanes,
    /// 1 where the open order comes back and can be sold again as new.
    open_as_new: Lanes,
    /// [`half_bound`] of the share of the pieces that comes back unsold, and where the stream of their fates starts.
    unsold: (Lanes, [u64; LANES]),
    orders: Lanes,
    kept_orders: Lanes,
    minutes: Lanes,
    postage: Lanes,
    tips: Lanes,
    placed: Lanes,
    sold: Lanes,
    kept: Lanes,
    as_new: Lanes,
    worn: Lanes,
}

impl ChannelState {
    fn new(channel: &PlanChannel, keys: &[u64; LANES]) -> Self {
        Self {
            times: channel.order_times.iter().map(|s| starts(keys, s.part)).collect(),
            tries: channel
                .tries
                .iter()
                .map(|tries| [tries.time.part, tries.part].map(|part| starts(keys, part)))
                .collect(),
            gone: [0.0; LANES],
            left: [0.0; LANES],
            open_kept: [1.0; LANES],
            open_as_new: [0.0; LANES],
            unsold: channel
                .on_return
                .as_ref()
                .map_or(([0.0; LANES], [0; LANES]), |on_return| {
                    let Source { shape, part } = &on_return.unsold;
                    let share = keys.map(|key| half_bound(shape.draw_one(nth(start(key, *part), 0))));
                    (share, starts(keys, on_return.part))
                }),
            orders: [0.0; LANES],
            kept_orders: [0.0; LANES],
            minutes: [0.0; LANES],
            postage: [0.0; LANES],
            tips: [0.0; LANES],
            placed: [0.0; LANES],
            sold: [0.0; LANES],
            kept: [0.0; LANES],
            as_new: [0.0; LANES],
            worn: [0.0; LANES],
        }
    }
}

fn starts(keys: &[u64; LANES], part: u64) -> [u64; LANES] {
    keys.map(|key| start(key, part))
}

impl OrderState {
    /// Nothing sold yet.
    #[must_use]
    pub fn new(plan: &Plan, keys: &[u64; LANES]) -> Self {
        let first = &plan.channels[0];
        Self {
            size: starts(keys, first.order_of.part),
            post: starts(keys, first.post.part),
            tip: starts(keys, first.tip.part),
            returned: starts(keys, plan.returned_part),
            demand: plan.demand.as_ref().map_or([f64::INFINITY; LANES], |demand| {
                keys.map(|key| demand.draw(nth(start(key, demand.part), 0)))
            }),
            good: [0.0; LANES],
            brought: [0.0; LANES],
            sold: [0.0; LANES],
            days: days(plan, keys),
            pieces: 0,
            second: starts(keys, plan.seconds.as_ref().map_or(0, |seconds| seconds.part)),
            channels: plan
                .channels
                .iter()
                .map(|channel| ChannelState::new(channel, keys))
                .collect(),
            seconds: of_seconds(plan).map(|channel| ChannelState::new(channel, keys)),
        }
    }
}

/// Good pieces up to which each selling day, and those before it, find buyers.
fn days(plan: &Plan, keys: &[u64; LANES]) -> Vec<Lanes> {
    let mut before = [0.0; LANES];
    let mut day = |day: &PlanDay| {
        for (sum, key) in before.iter_mut().zip(keys) {
            *sum += day.sells.draw(nth(start(*key, day.sells.part), 0));
        }
        before
    };
    plan.days.iter().map(&mut day).collect()
}

/// Running totals of the sale, one row a piece; a column that nothing is written to stays as it is made.
pub struct SaleTile {
    /// Good pieces.
    pub good: Vec<Row>,
    /// 1 where the piece is sold otherwise than on a selling day; only where there are such days, or where demand can end.
    sells: Vec<Row>,
    /// Pieces sold before it; only where there are several channels.
    before: Vec<Row>,
    /// 1 where the piece comes through and is a first, and where it is a second; only where there are seconds.
    firsts: Vec<Row>,
    others: Vec<Row>,
    /// 1 where a piece goes to the channel that is filled, or where it makes a set full there.
    goes: Vec<Row>,
    channels: Vec<SaleColumns>,
    seconds: Option<SaleColumns>,
}

/// Running totals of one channel; where it sells sets, these are counted in place of pieces.
pub struct SaleColumns {
    /// Pieces that make no full set; only where there are sets.
    beside: Vec<Row>,
    orders: Vec<Row>,
    kept_orders: Vec<Row>,
    minutes: Vec<Row>,
    postage: Vec<Row>,
    tips: Vec<Row>,
    placed: Vec<Row>,
    sold: Vec<Row>,
    kept: Vec<Row>,
    as_new: Vec<Row>,
    worn: Vec<Row>,
}

impl SaleColumns {
    fn new() -> Self {
        let column = || vec![Row::default(); TILE];
        Self {
            beside: column(),
            orders: column(),
            kept_orders: column(),
            minutes: column(),
            postage: column(),
            tips: column(),
            placed: column(),
            sold: column(),
            kept: column(),
            as_new: column(),
            worn: column(),
        }
    }

    /// What was sold up to the piece in `row`. Without `MORE` the channel has no sets and leaves nothing more behind.
    #[inline(always)]
    pub fn row<S: Simd, const MORE: bool>(&self, simd: S, channel: &PlanChannel, row: usize) -> SaleRow<S> {
        let load = |column: &[Row]| f64x8::simd_from(simd, column[row].0);
        let (mut sold, orders) = (load(&self.sold), load(&self.orders));
        let returns = channel.returned_bound > 0.0;
        let mut kept = if returns { load(&self.kept) } else { sold };
        let zero = f64x8::splat(simd, 0.0);
        let mut as_new = if MORE && channel.as_new_bound > 0.0 {
            load(&self.as_new)
        } else {
            zero
        };
        let mut singly = zero;
        if MORE && channel.set_of > 1.0 {
            sold *= f64x8::splat(simd, channel.set_of);
            kept *= f64x8::splat(simd, channel.set_of);
            as_new *= f64x8::splat(simd, channel.set_of);
            if channel.single.is_some() {
                singly = load(&self.beside);
            }
        }
        let (mut placed, mut worn) = (sold, zero);
        if MORE && channel.on_return.is_some() {
            (placed, worn) = (load(&self.placed), load(&self.worn));
        }
        SaleRow {
            placed,
            sold,
            as_new,
            worn,
            singly,
            kept,
            orders,
            kept_orders: if returns { load(&self.kept_orders) } else { orders },
            minutes: load(&self.minutes),
            postage: load(&self.postage),
            tips: if MORE { load(&self.tips) } else { zero },
        }
    }
}

/// How seconds are sold, where they are.
fn of_seconds(plan: &Plan) -> Option<&PlanChannel> {
    plan.seconds.as_ref()?.sale.as_ref()
}

impl SaleTile {
    /// Nothing sold yet.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let column = || vec![Row::default(); TILE];
        Self {
            good: column(),
            sells: column(),
            before: column(),
            firsts: column(),
            others: column(),
            goes: column(),
            channels: plan.channels.iter().map(|_| SaleColumns::new()).collect(),
            seconds: of_seconds(plan).map(|_| SaleColumns::new()),
        }
    }

    /// What channel number `c` sold up to the piece in `row`.
    #[inline(always)]
    pub fn row<S: Simd, const MORE: bool>(&self, simd: S, plan: &Plan, c: usize, row: usize) -> SaleRow<S> {
        self.channels[c].row::<S, MORE>(simd, &plan.channels[c], row)
    }

    /// The orders of channel number `c` up to the piece in `row`.
    #[inline(always)]
    pub fn orders<S: Simd>(&self, simd: S, c: usize, row: usize) -> f64x8<S> {
        f64x8::simd_from(simd, self.channels[c].orders[row].0)
    }

    /// The totals of seconds, and how they are sold; `None` where none are.
    #[inline(always)]
    pub fn seconds<'a>(&'a self, plan: &'a Plan) -> Option<(&'a SaleColumns, &'a PlanChannel)> {
        Some((self.seconds.as_ref()?, of_seconds(plan)?))
    }
}

/// What one channel sold up to one piece.
pub struct SaleRow<S: Simd> {
    /// Pieces that went there.
    pub placed: f64x8<S>,
    /// Pieces that found a buyer there: all, but on sale or return.
    pub sold: f64x8<S>,
    /// Sold pieces that came back and can be sold again as new.
    pub as_new: f64x8<S>,
    /// Unsold pieces that came back worn.
    pub worn: f64x8<S>,
    /// Pieces beside, which make no full set and are sold singly.
    pub singly: f64x8<S>,
    /// Pieces that did not come back.
    pub kept: f64x8<S>,
    /// Orders.
    pub orders: f64x8<S>,
    /// Orders that did not come back.
    pub kept_orders: f64x8<S>,
    /// Hands-on minutes.
    pub minutes: f64x8<S>,
    /// Postage.
    pub postage: f64x8<S>,
    /// Tips on the orders that did not come back.
    pub tips: f64x8<S>,
}

impl<S: Simd> SaleRow<S> {
    /// A sale without chance.
    #[inline(always)]
    pub fn certain(simd: S, sale: &CertainSale) -> Self {
        let splat = |value: f64| f64x8::splat(simd, value);
        let (all, orders) = (splat(sale.pieces), splat(sale.orders));
        Self {
            placed: all,
            as_new: splat(0.0),
            worn: splat(0.0),
            sold: all,
            singly: splat(0.0),
            kept: all,
            orders,
            kept_orders: orders,
            minutes: splat(sale.minutes),
            postage: splat(sale.postage),
            tips: splat(sale.tips),
        }
    }
}

/// The pieces of one tile, `alive` where they are good, into orders.
#[inline(always)]
pub fn orders_tile<S: Simd>(
    simd: S,
    plan: &Plan,
    state: &mut OrderState,
    alive: &[Row],
    length: usize,
    tile: &mut SaleTile,
) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let mut good = load(&state.good);
    let mut sold = load(&state.sold);
    let demand = load(&state.demand);
    let short = plan.sells_short();
    let ends = plan.demand.is_some();
    let several = plan.channels.len() > 1;
    let mut alive = &alive[..length];
    // They are read while the columns beside them are written.
    let mut firsts = std::mem::take(&mut tile.firsts);
    if let Some(seconds) = &plan.seconds {
        let begin = u64x8::simd_from(simd, state.second);
        for (piece, alive) in alive.iter().enumerate() {
            let alive = load(&alive.0);
            let chance = high_half(nth_of_all(begin, state.pieces + piece as u64));
            let first = chance.simd_ge(f64x8::splat(simd, seconds.bound)).select(alive, zero);
            first.store_array(&mut firsts[piece].0);
            (alive - first).store_array(&mut tile.others[piece].0);
        }
        state.pieces += length as u64;
        alive = &firsts[..length];
    }
    // What selling days take comes first.
    let away = state.days.last().map(&load);
    let mut brought = load(&state.brought);
    // Where all pieces are good and go one way, there is nothing to count.
    let counted = if plan.all_good() && !ends && !several && away.is_none() {
        &[]
    } else {
        alive
    };
    for (piece, alive) in counted.iter().enumerate() {
        let alive = load(&alive.0);
        good += alive;
        good.store_array(&mut tile.good[piece].0);
        // Where spoiled pieces are made again, all that were started are there to be sold.
        let mut there = if short { alive } else { one };
        if let Some(away) = away {
            let home = brought.simd_ge(away).select(there, zero);
            brought += there;
            there = home;
        }
        if several {
            sold.store_array(&mut tile.before[piece].0);
        }
        if ends || several || away.is_some() {
            let sells = if ends {
                sold.simd_lt(demand).select(there, zero)
            } else {
                there
            };
            sells.store_array(&mut tile.sells[piece].0);
            sold += sells;
        }
    }
    good.store_array(&mut state.good);
    brought.store_array(&mut state.brought);
    sold.store_array(&mut state.sold);
    for channel in 0..plan.channels.len() {
        channel_tile(simd, plan, channel, state, alive, tile);
    }
    tile.firsts = firsts;
    seconds_tile(simd, plan, state, length, tile);
}

/// Where the streams that all orders share start in each lane.
struct Shared {
    size: [u64; LANES],
    post: [u64; LANES],
    tip: [u64; LANES],
    returned: [u64; LANES],
}

impl OrderState {
    const fn shared(&self) -> Shared {
        Shared {
            size: self.size,
            post: self.post,
            tip: self.tip,
            returned: self.returned,
        }
    }
}

/// The seconds of one tile into orders.
#[inline(always)]
fn seconds_tile<S: Simd>(simd: S, plan: &Plan, state: &mut OrderState, length: usize, tile: &mut SaleTile) {
    let shared = state.shared();
    if let (Some(channel), Some(state), Some(columns)) = (of_seconds(plan), &mut state.seconds, &mut tile.seconds) {
        let here = &tile.others[..length];
        fill_orders::<S, true>(simd, channel, [1, FIRST_OF_SECONDS], &shared, state, here, columns);
    }
}

/// One channel's pieces of one tile into orders.
///
/// Order j of channel c among C has number j x C + c in the streams, so that no two orders share a draw.
#[inline(always)]
fn channel_tile<S: Simd>(
    simd: S,
    plan: &Plan,
    number: usize,
    state: &mut OrderState,
    alive: &[Row],
    tile: &mut SaleTile,
) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let shared = state.shared();
    let channel = &plan.channels[number];
    let of = plan.channels.len() as u64;
    let (short, ends) = (plan.sells_short(), plan.demand.is_some() || !plan.days.is_empty());
    let sets = channel.set_of > 1.0;
    let goes_here = &channel.takes[..];
    let (state, columns) = (&mut state.channels[number], &mut tile.channels[number]);
    let set = f64x8::splat(simd, channel.set_of);
    // Where all that come through go one way, and one by one, their column is there already.
    let all_go = (short || plan.all_good()) && !ends && of == 1 && !sets;
    let mut gone = load(&state.gone);
    let told_apart = if all_go { &[] } else { alive };
    for (piece, alive) in told_apart.iter().enumerate() {
        let mut here = if ends || of > 1 {
            load(&tile.sells[piece].0)
        } else if short {
            load(&alive.0)
        } else {
            one
        };
        if of > 1 {
            // 1 in the lanes whose next piece goes this way.
            let places = whole(load(&tile.before[piece].0));
            let places = places.as_array();
            let mut ours = [0.0; LANES];
            for (ours, place) in ours.iter_mut().zip(places) {
                *ours = goes_here[*place as usize];
            }
            here *= f64x8::simd_from(simd, ours);
        }
        if sets {
            // An order is for sets: of the pieces only those count that make one full.
            gone += here;
            let fills = gone.simd_ge(set);
            here = fills.select(one, zero);
            gone = fills.select(zero, gone);
            gone.store_array(&mut columns.beside[piece].0);
        }
        here.store_array(&mut tile.goes[piece].0);
    }
    gone.store_array(&mut state.gone);
    let here = if all_go { alive } else { &tile.goes[..alive.len()] };
    let numbers = [of, number as u64];
    if is_a_count(channel) {
        count_orders(simd, state, here, columns);
    } else if is_more_than_orders(channel) {
        fill_orders::<S, true>(simd, channel, numbers, &shared, state, here, columns);
    } else {
        fill_orders::<S, false>(simd, channel, numbers, &shared, state, here, columns);
    }
}

/// Whether each piece is an order by itself, about which nothing is drawn or added up.
fn is_a_count(channel: &PlanChannel) -> bool {
    matches!(channel.order_of.shape, Shape::Fixed(size) if size < 1.5)
        && channel.order_times.is_empty()
        && channel.post.shape.is_zero()
        && channel.returned_bound == 0.0
        && !is_more_than_orders(channel)
}

/// [`fill_orders`] where orders are counted and no more.
#[inline(always)]
fn count_orders<S: Simd>(simd: S, state: &mut ChannelState, here: &[Row], columns: &mut SaleColumns) {
    let mut orders = f64x8::simd_from(simd, state.orders);
    for (piece, here) in here.iter().enumerate() {
        orders += f64x8::simd_from(simd, here.0);
        orders.store_array(&mut columns.orders[piece].0);
        orders.store_array(&mut columns.sold[piece].0);
    }
    orders.store_array(&mut state.orders);
}

/// Whether an order is tried for, or leaves more behind than its pieces, time and postage.
fn is_more_than_orders(channel: &PlanChannel) -> bool {
    !channel.tries.is_empty() || channel.leaves_more()
}

/// Pieces of one tile into orders of one way of selling, each order with its time, postage and fate. `here` is 1 in the lanes whose piece
/// goes this way; order j has number j x `numbers[0]` + `numbers[1]` in the streams.
/// Without `MORE` than orders, each with its time, postage and returns, the loop carries less.
///
/// Longer than others: one loop, whose running totals stay in registers.
#[inline(always)]
fn fill_orders<S: Simd, const MORE: bool>(
    simd: S,
    channel: &PlanChannel,
    numbers: [u64; 2],
    shared: &Shared,
    state: &mut ChannelState,
    here: &[Row],
    columns: &mut SaleColumns,
) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let mut left = load(&state.left);
    let mut open_kept = load(&state.open_kept);
    let mut open_as_new = load(&state.open_as_new);
    let mut orders = load(&state.orders);
    let mut kept_orders = load(&state.kept_orders);
    let mut minutes = load(&state.minutes);
    let mut postage = load(&state.postage);
    let mut tips = load(&state.tips);
    let mut placed = load(&state.placed);
    let mut sold = load(&state.sold);
    let mut kept = load(&state.kept);
    let mut as_new = load(&state.as_new);
    let mut worn = load(&state.worn);
    let returns = channel.returned_bound > 0.0;
    let has_times = !(channel.order_times.is_empty() && channel.tries.is_empty());
    let has_post = !channel.post.shape.is_zero();
    let has_tips = MORE && !channel.tip.shape.is_zero();
    for (piece, here) in here.iter().enumerate() {
        let here = load(&here.0);
        let opens = here.simd_gt(zero) & left.simd_le(zero);
        if opens.any_true() {
            let mut order = whole(orders);
            if numbers != [1, 0] {
                order = order * numbers[0] + numbers[1];
            }
            // The same for all streams of the order.
            let place = (order + 1) * GAMMA;
            let size = draw_order(simd, &channel.order_of, &shared.size, place);
            let size = greater((size + 0.5).floor(), one);
            left = opens.select(size, left);
            for (source, start) in channel.order_times.iter().zip(&state.times) {
                minutes += opens.select(draw_order(simd, source, start, place), zero);
            }
            if MORE {
                for (tries, starts) in channel.tries.iter().zip(&state.tries) {
                    minutes += try_until_won(simd, tries, starts, order, opens);
                }
            }
            if has_post {
                postage += opens.select(draw_order(simd, &channel.post, &shared.post, place), zero);
            }
            if returns {
                let chance = high_half(mix_lanes(u64x8::simd_from(simd, shared.returned) + place));
                let stays = chance
                    .simd_ge(f64x8::splat(simd, channel.returned_bound))
                    .select(one, zero);
                open_kept = opens.select(stays, open_kept);
                if MORE {
                    let again = chance
                        .simd_lt(f64x8::splat(simd, channel.as_new_bound))
                        .select(one, zero);
                    open_as_new = opens.select(again, open_as_new);
                }
            }
            if has_tips {
                let tip = draw_order(simd, &channel.tip, &shared.tip, place);
                tips += opens.select(tip * open_kept, zero);
            }
            orders += opens.select(one, zero);
            kept_orders += opens.select(open_kept, zero);
        }
        left -= here;
        let mut bought = here;
        if MORE && let Some(on_return) = &channel.on_return {
            let (share, fates) = &state.unsold;
            let bits = mix_lanes(u64x8::simd_from(simd, *fates) + (whole(placed) + 1) * GAMMA);
            let unsold = high_half(bits).simd_lt(load(share)).select(here, zero);
            let spent = low_half(simd, bits).simd_lt(f64x8::splat(simd, on_return.worn_bound));
            placed += here;
            worn += spent.select(unsold, zero);
            bought -= unsold;
            placed.store_array(&mut columns.placed[piece].0);
            worn.store_array(&mut columns.worn[piece].0);
        }
        sold += bought;
        orders.store_array(&mut columns.orders[piece].0);
        sold.store_array(&mut columns.sold[piece].0);
        if has_times {
            minutes.store_array(&mut columns.minutes[piece].0);
        }
        if has_post {
            postage.store_array(&mut columns.postage[piece].0);
        }
        if has_tips {
            tips.store_array(&mut columns.tips[piece].0);
        }
        if returns {
            kept += bought * open_kept;
            if MORE {
                as_new += bought * open_as_new;
                as_new.store_array(&mut columns.as_new[piece].0);
            }
            kept_orders.store_array(&mut columns.kept_orders[piece].0);
            kept.store_array(&mut columns.kept[piece].0);
        }
    }
    left.store_array(&mut state.left);
    open_kept.store_array(&mut state.open_kept);
    open_as_new.store_array(&mut state.open_as_new);
    orders.store_array(&mut state.orders);
    kept_orders.store_array(&mut state.kept_orders);
    minutes.store_array(&mut state.minutes);
    postage.store_array(&mut state.postage);
    tips.store_array(&mut state.tips);
    placed.store_array(&mut state.placed);
    sold.store_array(&mut state.sold);
    kept.store_array(&mut state.kept);
    as_new.store_array(&mut state.as_new);
    worn.store_array(&mut state.worn);
}

/// Minutes of all tries until an order with this number is won, in the lanes that open one.
#[inline(always)]
fn try_until_won<S: Simd>(
    simd: S,
    tries: &PlanTries,
    [times, fates]: &[[u64; LANES]; 2],
    order: u64x8<S>,
    opens: mask64x8<S>,
) -> f64x8<S> {
    let zero = f64x8::splat(simd, 0.0);
    let (mut minutes, mut again) = (zero, opens);
    for k in 1..=TRIES_STRIDE {
        let place = (order * TRIES_STRIDE + k) * GAMMA;
        minutes += again.select(draw_order(simd, &tries.time, times, place), zero);
        let chance = high_half(mix_lanes(u64x8::simd_from(simd, *fates) + place));
        again &= chance.simd_lt(f64x8::splat(simd, tries.lost_bound));
        if !again.any_true() {
            break;
        }
    }
    minutes
}

/// One draw a lane, number k of its stream, where `place` is (k + 1) times the increment.
#[inline(always)]
fn draw_order<S: Simd>(simd: S, source: &Source, start: &[u64; LANES], place: u64x8<S>) -> f64x8<S> {
    if let Shape::Fixed(value) = source.shape {
        return f64x8::splat(simd, value);
    }
    let bits = mix_lanes(u64x8::simd_from(simd, *start) + place);
    source.shape.draw_lanes(simd, bits)
}

/// What buying `need` units costs each lane, and the units charged: [`PlanMaterial::purchase`] on all lanes.
#[inline(always)]
pub fn purchases<S: Simd>(simd: S, material: &PlanMaterial, need: f64x8<S>, prices: &[Lanes]) -> (f64x8<S>, f64x8<S>) {
    let zero = f64x8::splat(simd, 0.0);
    let price = |tier: usize| f64x8::simd_from(simd, prices[tier + 1]);
    let mut bought = packed(simd, material.pack, need);
    let mut paid = price(0);
    for (k, (from, _)) in material.breaks.iter().enumerate() {
        paid = bought.simd_ge(*from).select(price(k + 1), paid);
    }
    let mut outlay = bought * paid;
    let (reached, buys) = (bought, bought.simd_gt(zero));
    for (k, (from, _)) in material.breaks.iter().enumerate() {
        let up = packed(simd, material.pack, f64x8::splat(simd, *from));
        let up_outlay = up * price(k + 1);
        let better = buys & reached.simd_lt(*from) & up_outlay.simd_lt(outlay);
        bought = better.select(up, bought);
        paid = better.select(price(k + 1), paid);
        outlay = better.select(up_outlay, outlay);
    }
    let charged = if material.lost { bought } else { need };
    (charged * paid, charged)
}

/// Units in whole packs; a need that is a whole number of packs but for rounding opens no other.
#[inline(always)]
fn packed<S: Simd>(simd: S, pack: f64, units: f64x8<S>) -> f64x8<S> {
    if pack == 0.0 {
        return units;
    }
    let pack = f64x8::splat(simd, pack);
    (units / pack * (1.0 - 1e-12) - 1e-12).ceil() * pack
}
