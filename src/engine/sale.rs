//! Good pieces into orders: one tile of pieces, eight trials side by side.
//!
//! # Why orders are opened size by size
//!
//! Of the sale only what was sold up to the last piece of a size is asked for, and what an order draws hangs on its number alone. So as many
//! orders are opened as that many pieces take, in all lanes at once. Piece by piece, nearly every piece drew an order for eight lanes of
//! which one or two wanted it: where orders are for several and sizes far apart, a sweep took up to twice as long.
//!
//! # Why a trial begins somewhere in the shares
//!
//! A maker goes on sharing out where the last batch left off. Were each batch shared out anew, single pieces would all go to the channel with
//! the largest share. So of m pieces a channel that has the share p of what those before it leave takes floor(p m + u), with u between
//! 0 and 1 drawn once for the trial and the channel: p m on average, less than a piece from it in every batch, the same for any u where p m
//! is whole, and no less of more pieces, so that a small batch is the beginning of a large one (by largest remainders it would not be).
//! Order j of channel c among C has number j C + c in the streams: with one channel the draws are those without channels, to the bit.
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
//! Where there is one way of selling, nothing is spoiled or returned and order sizes, times and postage are certain, the orders of a batch are
//! a formula and are not simulated.

use super::path::{greater, lesser};
use super::plan::{
    CertainSale, FIRST_OF_SECONDS, Plan, PlanChannel, PlanDay, PlanMaterial, PlanTries, Source, TRIES_STRIDE,
};
use super::shape::{Shape, half_bound, high_half, low_half};
use super::stream::{GAMMA, mix_lanes, nth, nth_of_all, start, trial_keys};
use super::{LANES, Lanes, Row, TILE};
use fearless_simd::{Select, Simd, SimdBase, SimdFloat, SimdFrom, SimdMask, f64x8, mask64x8, u64x8};

/// What is carried of the sale from tile to tile.
#[derive(Debug, Clone)]
pub struct OrderState {
    shared: Shared,
    /// Pieces asked for.
    demand: Lanes,
    good: Lanes,
    /// Pieces that came through as seconds.
    others: Lanes,
    /// Good pieces up to which each selling day, and those before it, find buyers.
    pub days: Vec<Lanes>,
    /// Pieces gone through; only where there are seconds.
    pieces: u64,
    /// Where the stream of seconds starts.
    second: [u64; LANES],
    channels: Vec<ChannelState>,
    seconds: Option<ChannelState>,
}

/// Where the streams that all orders share start in each lane.
#[derive(Debug, Clone)]
struct Shared {
    size: [u64; LANES],
    post: [u64; LANES],
    tip: [u64; LANES],
    returned: [u64; LANES],
}

/// What is carried of one channel's orders.
#[derive(Debug, Clone)]
struct ChannelState {
    times: Vec<[u64; LANES]>,
    /// Where the streams of times and of what comes of them start, of quotes and enquiries.
    tries: Vec<[[u64; LANES]; 2]>,
    /// One more than the next order's number, times the increment of the streams; and what that grows by with each order.
    next: [u64; LANES],
    stride: u64,
    /// Where in its share the channel begins.
    begins: Lanes,
    /// [`half_bound`] of the share of the pieces that comes back unsold.
    unsold: Lanes,
    /// What the next piece's fate is mixed from, where any comes back: start and number of the stream in one.
    fate: [u64; LANES],
    totals: Totals,
}

/// Running totals of one channel's orders.
#[derive(Debug, Clone)]
struct Totals {
    /// Pieces that the orders so far have room for.
    room: Lanes,
    /// 1 where the open order is kept by the buyer, 0 where it comes back.
    open_kept: Lanes,
    /// 1 where the open order comes back and can be sold again as new.
    open_as_new: Lanes,
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
    /// Nothing sold yet; the first order has this number, and each further one is so much on.
    fn new(channel: &PlanChannel, keys: &[u64; LANES], number: u64, on: u64) -> Self {
        let on_return = channel.on_return.as_ref();
        Self {
            begins: [0.0; LANES],
            times: channel.order_times.iter().map(|s| starts(keys, s.part)).collect(),
            tries: channel
                .tries
                .iter()
                .map(|tries| [tries.time.part, tries.part].map(|part| starts(keys, part)))
                .collect(),
            next: [GAMMA.wrapping_mul(number + 1); LANES],
            stride: GAMMA.wrapping_mul(on),
            unsold: on_return.map_or([0.0; LANES], |on_return| {
                let Source { shape, part } = &on_return.unsold;
                keys.map(|key| half_bound(shape.draw_one(nth(start(key, *part), 0))))
            }),
            fate: on_return.map_or([0; LANES], |on_return| {
                starts(keys, on_return.part).map(|start| start.wrapping_add(GAMMA))
            }),
            totals: Totals {
                room: [0.0; LANES],
                open_kept: [1.0; LANES],
                open_as_new: [0.0; LANES],
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
            },
        }
    }
}

fn starts(keys: &[u64; LANES], part: u64) -> [u64; LANES] {
    keys.map(|key| start(key, part))
}

impl OrderState {
    /// Nothing sold yet.
    #[must_use]
    pub fn new(plan: &Plan, seed: u64, group: u64) -> Self {
        let keys = &trial_keys(seed, group);
        let first = &plan.channels[0];
        let channels = (0..).zip(&plan.channels).map(|(number, channel)| ChannelState {
            begins: channel.begins(seed, group),
            // Order j of channel c has number j x C + c in the streams, so that no two orders share a draw.
            ..ChannelState::new(channel, keys, number, plan.channels.len() as u64)
        });
        Self {
            shared: Shared {
                size: starts(keys, first.order_of.part),
                post: starts(keys, first.post.part),
                tip: starts(keys, first.tip.part),
                returned: starts(keys, plan.returned_part),
            },
            demand: plan.demand.as_ref().map_or([f64::INFINITY; LANES], |demand| {
                keys.map(|key| demand.draw(nth(start(key, demand.part), 0)))
            }),
            good: [0.0; LANES],
            others: [0.0; LANES],
            days: days(plan, keys),
            pieces: 0,
            second: starts(keys, plan.seconds.as_ref().map_or(0, |seconds| seconds.part)),
            channels: channels.collect(),
            seconds: of_seconds(plan).map(|channel| ChannelState::new(channel, keys, FIRST_OF_SECONDS, 1)),
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

/// Running totals of the sale; a column that nothing is written to stays as it is made.
pub struct SaleTile {
    /// Good pieces, piece by piece.
    pub good: Vec<Row>,
    /// Seconds, piece by piece.
    others: Vec<Row>,
    /// Pieces that are sold otherwise than on a selling day and that no channel filled so far takes, in the rows of sizes.
    left: Vec<Row>,
    /// Of those, the pieces (or full sets) that go to the channel that is filled.
    goes: Vec<Row>,
    channels: Vec<SaleColumns>,
    seconds: Option<SaleColumns>,
}

/// Running totals of one channel, in the rows of sizes; where it sells sets, these are counted in place of pieces.
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
            others: column(),
            left: column(),
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

/// The pieces of one tile, `alive` where they are good, into orders: what is sold of each of `sizes`, whose last pieces are in the tile
/// that begins with the piece `first`.
#[inline(always)]
pub fn orders_tile<S: Simd>(
    simd: S,
    plan: &Plan,
    state: &mut OrderState,
    alive: &[Row],
    first: u32,
    sizes: &[u32],
    tile: &mut SaleTile,
) {
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    if !plan.all_good() {
        count_good(simd, plan, state, alive, tile);
    }
    let demand = load(&state.demand);
    let away = state.days.last().map(&load);
    for size in sizes {
        let row = (size - first - 1) as usize;
        // Where spoiled pieces are made again, all that are due are there to be sold.
        let mut there = if plan.sells_short() {
            load(&tile.good[row].0)
        } else {
            f64x8::splat(simd, f64::from(plan.due(*size)))
        };
        // What selling days take comes first.
        if let Some(away) = away {
            there = greater(there - away, f64x8::splat(simd, 0.0));
        }
        lesser(there, demand).store_array(&mut tile.left[row].0);
    }
    let rows = || sizes.iter().map(|size| (size - first - 1) as usize);
    for (number, channel) in plan.channels.iter().enumerate() {
        let (state, shared) = (&mut state.channels[number], &state.shared);
        let columns = &mut tile.channels[number];
        for row in rows() {
            let goes = goes_here(
                simd,
                channel,
                &state.begins,
                &mut tile.left[row],
                &mut columns.beside[row],
            );
            goes.store_array(&mut tile.goes[row].0);
        }
        if is_a_count(channel) {
            for row in rows() {
                (columns.orders[row], columns.sold[row]) = (tile.goes[row], tile.goes[row]);
            }
        } else if is_more_than_orders(channel) {
            fill_orders::<S, true>(simd, channel, shared, state, rows(), &tile.goes, columns);
        } else {
            fill_orders::<S, false>(simd, channel, shared, state, rows(), &tile.goes, columns);
        }
    }
    if let (Some(channel), Some(seconds), Some(columns)) = (of_seconds(plan), &mut state.seconds, &mut tile.seconds) {
        fill_orders::<S, true>(simd, channel, &state.shared, seconds, rows(), &tile.others, columns);
    }
}

/// Running totals of the pieces that come through, firsts and seconds apart.
#[inline(always)]
fn count_good<S: Simd>(simd: S, plan: &Plan, state: &mut OrderState, alive: &[Row], tile: &mut SaleTile) {
    let Some(seconds) = &plan.seconds else {
        let mut good = f64x8::simd_from(simd, state.good);
        for (alive, row) in alive.iter().zip(&mut tile.good) {
            good += f64x8::simd_from(simd, alive.0);
            good.store_array(&mut row.0);
        }
        good.store_array(&mut state.good);
        return;
    };
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let (mut good, mut others) = (load(&state.good), load(&state.others));
    let begin = u64x8::simd_from(simd, state.second);
    for (piece, alive) in alive.iter().enumerate() {
        let alive = load(&alive.0);
        let chance = high_half(nth_of_all(begin, state.pieces + piece as u64));
        let first = chance.simd_ge(f64x8::splat(simd, seconds.bound));
        let first = first.select(alive, f64x8::splat(simd, 0.0));
        good += first;
        others += alive - first;
        good.store_array(&mut tile.good[piece].0);
        others.store_array(&mut tile.others[piece].0);
    }
    state.pieces += alive.len() as u64;
    good.store_array(&mut state.good);
    others.store_array(&mut state.others);
}

/// How many of the pieces `left` go this way, or how many full sets they make here; `beside` takes the pieces that make none.
#[inline(always)]
fn goes_here<S: Simd>(simd: S, channel: &PlanChannel, begins: &Lanes, left: &mut Row, beside: &mut Row) -> f64x8<S> {
    let mut goes = f64x8::simd_from(simd, left.0);
    if channel.of_rest < 1.0 {
        let all = goes;
        goes = (all * channel.of_rest + f64x8::simd_from(simd, *begins)).floor();
        (all - goes).store_array(&mut left.0);
    }
    if channel.set_of > 1.0 {
        let sets = (goes / channel.set_of).floor();
        (goes - sets * channel.set_of).store_array(&mut beside.0);
        goes = sets;
    }
    goes
}

/// Whether each piece is an order by itself, about which nothing is drawn or added up.
fn is_a_count(channel: &PlanChannel) -> bool {
    matches!(channel.order_of.shape, Shape::Fixed(size) if size < 1.5)
        && channel.order_times.is_empty()
        && channel.post.shape.is_zero()
        && channel.returned_bound == 0.0
        && !is_more_than_orders(channel)
}

/// Whether an order is tried for, or leaves more behind than its pieces, time and postage.
fn is_more_than_orders(channel: &PlanChannel) -> bool {
    !channel.tries.is_empty() || channel.leaves_more()
}

/// Pieces into orders of one way of selling, each order with its time, postage and fate, from row to row: in each, so many pieces as `goes`
/// says have gone this way.
/// Without `MORE` than orders, each with its time, postage and returns, the loop carries less.
///
/// Longer than others: one loop, whose running totals stay in registers.
#[inline(always)]
fn fill_orders<S: Simd, const MORE: bool>(
    simd: S,
    channel: &PlanChannel,
    shared: &Shared,
    state: &mut ChannelState,
    rows: impl Iterator<Item = usize>,
    goes: &[Row],
    columns: &mut SaleColumns,
) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let totals = &mut state.totals;
    let mut next = u64x8::simd_from(simd, state.next);
    let mut fate = u64x8::simd_from(simd, state.fate);
    let mut room = load(&totals.room);
    let mut open_kept = load(&totals.open_kept);
    let mut open_as_new = load(&totals.open_as_new);
    let mut orders = load(&totals.orders);
    let mut kept_orders = load(&totals.kept_orders);
    let mut minutes = load(&totals.minutes);
    let mut postage = load(&totals.postage);
    let mut tips = load(&totals.tips);
    let mut placed = load(&totals.placed);
    let mut sold = load(&totals.sold);
    let mut kept = load(&totals.kept);
    let mut as_new = load(&totals.as_new);
    let mut worn = load(&totals.worn);
    let returns = channel.returned_bound > 0.0;
    let has_times = !(channel.order_times.is_empty() && channel.tries.is_empty());
    let has_post = !channel.post.shape.is_zero();
    let has_tips = MORE && !channel.tip.shape.is_zero();
    let on_return = channel.on_return.as_ref().filter(|_| MORE);
    for row in rows {
        let goes = load(&goes[row].0);
        loop {
            // Where each piece has a fate of its own they go one by one.
            let up_to = match on_return {
                Some(_) => lesser(placed + 1.0, goes),
                None => goes,
            };
            let opens = up_to.simd_gt(room);
            if opens.any_true() {
                let size = draw_order(simd, &channel.order_of, &shared.size, next);
                let size = greater((size + 0.5).floor(), one);
                room += opens.select(size, zero);
                for (source, start) in channel.order_times.iter().zip(&state.times) {
                    minutes += opens.select(draw_order(simd, source, start, next), zero);
                }
                if MORE {
                    for (tries, starts) in channel.tries.iter().zip(&state.tries) {
                        minutes += try_until_won(simd, tries, starts, next, opens);
                    }
                }
                if has_post {
                    postage += opens.select(draw_order(simd, &channel.post, &shared.post, next), zero);
                }
                if returns {
                    let chance = high_half(mix_lanes(u64x8::simd_from(simd, shared.returned) + next));
                    let stays = chance
                        .simd_ge(f64x8::splat(simd, channel.returned_bound))
                        .select(one, zero);
                    open_kept = opens.select(stays, open_kept);
                    if on_return.is_none() {
                        kept += opens.select(size * open_kept, zero);
                    }
                    if MORE {
                        let again = chance
                            .simd_lt(f64x8::splat(simd, channel.as_new_bound))
                            .select(one, zero);
                        open_as_new = opens.select(again, open_as_new);
                        if on_return.is_none() {
                            as_new += opens.select(size * open_as_new, zero);
                        }
                    }
                }
                if has_tips {
                    let tip = draw_order(simd, &channel.tip, &shared.tip, next);
                    tips += opens.select(tip * open_kept, zero);
                }
                orders += opens.select(one, zero);
                kept_orders += opens.select(open_kept, zero);
                next += opens.select(u64x8::splat(simd, state.stride), u64x8::splat(simd, 0));
            } else if on_return.is_none() {
                break;
            }
            let Some(on_return) = on_return else { continue };
            let takes = up_to.simd_gt(placed);
            let here = takes.select(one, zero);
            let bits = mix_lanes(fate);
            fate += takes.select(u64x8::splat(simd, GAMMA), u64x8::splat(simd, 0));
            let unsold = high_half(bits).simd_lt(load(&state.unsold)).select(here, zero);
            let spent = low_half(simd, bits).simd_lt(f64x8::splat(simd, on_return.worn_bound));
            worn += spent.select(unsold, zero);
            let bought = here - unsold;
            placed = up_to;
            sold += bought;
            kept += bought * open_kept;
            as_new += bought * open_as_new;
            if !goes.simd_gt(placed).any_true() {
                break;
            }
        }
        orders.store_array(&mut columns.orders[row].0);
        // What the open order has room for beyond these pieces.
        let free = match on_return {
            Some(_) => zero,
            None => room - goes,
        };
        let all = if on_return.is_some() { sold } else { goes };
        all.store_array(&mut columns.sold[row].0);
        if has_times {
            minutes.store_array(&mut columns.minutes[row].0);
        }
        if has_post {
            postage.store_array(&mut columns.postage[row].0);
        }
        if has_tips {
            tips.store_array(&mut columns.tips[row].0);
        }
        if returns {
            kept_orders.store_array(&mut columns.kept_orders[row].0);
            (kept - free * open_kept).store_array(&mut columns.kept[row].0);
            if MORE {
                (as_new - free * open_as_new).store_array(&mut columns.as_new[row].0);
            }
        }
        if on_return.is_some() {
            placed.store_array(&mut columns.placed[row].0);
            worn.store_array(&mut columns.worn[row].0);
        }
    }
    next.store_array(&mut state.next);
    fate.store_array(&mut state.fate);
    room.store_array(&mut totals.room);
    open_kept.store_array(&mut totals.open_kept);
    open_as_new.store_array(&mut totals.open_as_new);
    orders.store_array(&mut totals.orders);
    kept_orders.store_array(&mut totals.kept_orders);
    minutes.store_array(&mut totals.minutes);
    postage.store_array(&mut totals.postage);
    tips.store_array(&mut totals.tips);
    placed.store_array(&mut totals.placed);
    sold.store_array(&mut totals.sold);
    kept.store_array(&mut totals.kept);
    as_new.store_array(&mut totals.as_new);
    worn.store_array(&mut totals.worn);
}

/// Minutes of all tries until an order is won, in the lanes that open one; `next` is one more than its number, times the increment.
#[inline(always)]
fn try_until_won<S: Simd>(
    simd: S,
    tries: &PlanTries,
    [times, fates]: &[[u64; LANES]; 2],
    next: u64x8<S>,
    opens: mask64x8<S>,
) -> f64x8<S> {
    let zero = f64x8::splat(simd, 0.0);
    let (mut minutes, mut again) = (zero, opens);
    let mut place = (next - GAMMA) << TRIES_STRIDE.trailing_zeros();
    for _ in 0..TRIES_STRIDE {
        place += GAMMA;
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
