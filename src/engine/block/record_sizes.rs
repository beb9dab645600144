//! Hours, profit and floor of every size that ends in a tile.

use super::{Group, Tile};
use crate::engine::line::MoneyLine;
use crate::engine::path::{greater, lesser};
use crate::engine::plan::{CertainSale, Plan, UsedBy};
use crate::engine::record::{COLUMNS, Recorder, Tallies, Tally, add_weighted, weight_of};
use crate::engine::remake::{self, Extra};
use crate::engine::sale::{SaleRow, purchases};
use crate::engine::{Lanes, Row};
use fearless_simd::{Select, Simd, SimdBase, SimdFrom, f64x8};
use std::ops::Range;

/// Where a group writes its hours when money follows from them.
pub(super) struct LeanRecorder<'a> {
    pub(super) sizes: &'a [u32],
    pub(super) lines: &'a [MoneyLine],
    /// The group's hours, one row a size.
    pub(super) rows: &'a mut [Row],
    pub(super) tallies: &'a Tallies,
    /// Sums of every size.
    pub(super) sums: &'a mut [Row],
    /// Lanes that count.
    pub(super) valid: usize,
}

/// Hands-on minutes, orders, pieces and money of all channels.
struct Taken<S: Simd> {
    order_minutes: f64x8<S>,
    orders: f64x8<S>,
    sold: f64x8<S>,
    /// What is kept of a price of 1.
    kept_price: f64x8<S>,
    /// The fees on a price of 1.
    fee_price: f64x8<S>,
    kept_post: f64x8<S>,
    order_fees: f64x8<S>,
    post: f64x8<S>,
    /// Pieces sold as seconds; what they bring is in the rest.
    seconds: f64x8<S>,
    /// Pieces that came back to be sold again as new after they were sold, less unsold ones that came back worn.
    back: f64x8<S>,
    /// Pieces that came back worn.
    worn: f64x8<S>,
    /// Pieces left on sale or return, each times what that costs of the money tied up in it.
    tied_up: f64x8<S>,
}

/// The batch that materials are bought for.
struct Bought<'a, S: Simd> {
    size: u32,
    sale: Option<&'a CertainSale>,
    /// Its last piece in the tile.
    row: usize,
    orders: f64x8<S>,
}

impl Group {
    #[inline(never)]
    pub(super) fn record_hours_only<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_>,
    ) {
        simd.vectorize(
            #[inline(always)]
            || self.record_lean_here(simd, plan, first, tile, numbers, recorder),
        );
    }

    /// Hours of the sizes with the given numbers, whose last pieces are in the tile that begins with the piece `first`.
    #[inline(always)]
    pub(super) fn record_lean_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let base = load(&self.setup_base);
        let per_hour = load(&self.pace_per_hour);
        let weight = weight_of(simd, recorder.valid);
        let count = recorder.tallies.count;
        let has_orders = plan.has_order_times();
        let once = load(&self.once);
        for number in numbers {
            let row = (recorder.sizes[number] - first - 1) as usize;
            let sums = &mut recorder.sums[number * count..(number + 1) * count];
            let mut minutes = once + base;
            if tile.has_rounds {
                let setup = load(&tile.setup[row].0) + base;
                recorder
                    .tallies
                    .add(simd, sums, Tally::SetupHours, setup * per_hour, weight);
                minutes = once + setup;
            }
            minutes += load(&tile.each[row].0);
            if plan.redoes {
                let redo = load(&tile.redo[row].0);
                recorder
                    .tallies
                    .add(simd, sums, Tally::RedoHours, redo * per_hour, weight);
                minutes += redo;
            }
            if has_orders {
                minutes += f64x8::splat(simd, recorder.lines[number].sale.minutes);
            }
            (minutes * per_hour).store_array(&mut recorder.rows[number].0);
        }
    }

    /// Hours, profit and floor of the sizes with the given numbers, whose last pieces are in the tile that begins with the
    /// piece `first`. Most plans account for no `MORE` than steps, materials and plain orders, and are spared the rest.
    #[inline(never)]
    pub(super) fn record<S: Simd, const MORE: bool>(
        &mut self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &mut Tile,
        numbers: Range<usize>,
        recorder: &mut Recorder<'_>,
    ) {
        let mut extras = std::mem::take(&mut tile.extras);
        let mut needed = Vec::new();
        if plan.remake && plan.spoils {
            let sizes = &recorder.sizes[numbers.clone()];
            while extras.len() < sizes.len() {
                extras.push(Extra::new(plan));
            }
            for (size, extra) in sizes.iter().zip(&mut extras) {
                needed.push(self.remake(plan, *size, (size - first - 1) as usize, tile, extra));
            }
        }
        simd.vectorize(
            #[inline(always)]
            || {
                for (k, number) in numbers.enumerate() {
                    let row = (recorder.sizes[number] - first - 1) as usize;
                    let extra = extras.get(k).filter(|_| needed[k]);
                    self.record_here::<S, MORE>(simd, plan, row, tile, number, recorder, extra);
                }
            },
        );
        tile.extras = extras;
    }

    /// The pieces made again for a batch of `size`; whether any trial misses one.
    fn remake(&mut self, plan: &Plan, size: u32, row: usize, tile: &Tile, extra: &mut Extra) -> bool {
        let mut any = false;
        for (lane, good) in tile.sale.good[row].0.iter().enumerate() {
            let missing = plan.due(size).saturating_sub(*good as u32);
            if missing > 0 {
                if !any {
                    extra.clear();
                }
                any = true;
                remake::until_good(
                    plan,
                    self.keys[lane],
                    &mut self.remakes[lane],
                    remake::Before {
                        missing,
                        // A column is kept wherever the count can differ from the size and anything asks for it.
                        reached: &|step| tile.reached[step].get(row).map_or(size, |counts| counts.0[lane] as u32),
                        by_batch: &|step| self.by_batch[step][lane],
                    },
                    lane,
                    extra,
                );
            }
        }
        any
    }

    // Longer than others: one pass over what is in registers, with a line for each sum that is kept.
    /// Hours, profit and floor of the size with the given number, whose last piece is in `row` of the tile.
    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record_here<S: Simd, const MORE: bool>(
        &self,
        simd: S,
        plan: &Plan,
        row: usize,
        tile: &Tile,
        number: usize,
        recorder: &mut Recorder<'_>,
        extra: Option<&Extra>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        let zero = splat(0.0);
        let size = recorder.sizes[number];
        let pieces = splat(f64::from(plan.due(size)));
        let mut setup = load(&tile.setup[row].0) + load(&self.setup_base);
        let mut each = load(&tile.each[row].0);
        let mut redo = load(&tile.redo[row].0);
        if let Some(extra) = extra {
            setup += load(&extra.setup);
            each += load(&extra.each);
            redo += load(&extra.redo);
        }
        let sale = recorder.sales[number].as_ref();
        let mut taken = self.taken_here::<S, MORE>(simd, plan, sale, tile, row);
        let good = if sale.is_none() && plan.sells_short() {
            load(&tile.sale.good[row].0)
        } else {
            pieces
        };
        let on_days = if MORE {
            self.sell_on_days(simd, plan, good, &mut taken)
        } else {
            None
        };
        let per_price = taken.kept_price - taken.fee_price;
        let once = load(&self.once);
        let per_hour = load(&self.pace_per_hour);
        let mut hours = (once + setup + each + redo + taken.order_minutes) * per_hour;
        if on_days.is_some() {
            hours += load(&self.days[0]);
        }
        let terms = plan.terms;

        let bought = Bought {
            size,
            sale,
            row,
            orders: taken.orders,
        };
        let (materials, paid) = self.materials_here(simd, plan, tile, &bought, extra);

        // Money is linear in price: profit = price x per_price - rest.
        let shop = hours * terms.shop_per_hour;
        let mut profit = per_price * terms.price + taken.kept_post - taken.order_fees - taken.post - materials - shop;
        // The floor takes the money that does not hang on the price and what the maker's hours should cost.
        let mut due = hours * terms.target - (taken.kept_post - taken.order_fees - taken.post - materials - shop);
        if on_days.is_some() {
            profit -= load(&self.days[1]);
            due += load(&self.days[1]);
        }
        let has_helper = MORE && tile.has_helper();
        let mut helped = zero;
        if has_helper {
            helped = self.helper_hours(simd, tile, row, extra);
            let wages = helped * terms.wage;
            profit -= wages;
            due += wages;
        }
        let leftover = good - taken.sold;
        if terms.clearance != 0.0 || terms.holding != 0.0 || terms.tied_up != 0.0 {
            let kept_back = (leftover + taken.back) * plan.clearance(size)
                - taken.sold * taken.sold * terms.holding
                - taken.tied_up * terms.tied_up;
            profit += kept_back;
            due -= kept_back;
        }
        if plan.spares.worth != 0.0 {
            let good = load(&tile.sale.good[row].0);
            let worth = greater(good - pieces, zero) * plan.spares.worth;
            profit += worth;
            due -= worth;
        }
        let floor = floor_here(simd, due, per_price, terms.price, profit);
        let rows = &mut recorder.rows[number * COLUMNS..(number + 1) * COLUMNS];
        for (row, values) in rows.iter_mut().zip([hours, profit, floor]) {
            values.store_array(&mut row.0);
        }

        let weight = weight_of(simd, recorder.valid);
        let tallies = recorder.tallies;
        let sums = &mut recorder.sums[number * tallies.count..(number + 1) * tallies.count];
        let mut add = |tally: Tally, value: f64x8<S>| tallies.add(simd, sums, tally, value, weight);
        add(Tally::Hours, hours);
        add(Tally::Good, good);
        add(Tally::GoodSquared, good * good);
        add(Tally::SetupHours, setup * per_hour);
        add(Tally::RedoHours, redo * per_hour);
        add(Tally::OrderHours, taken.order_minutes * per_hour);
        add(Tally::Sold, taken.sold);
        add(Tally::SoldSquared, taken.sold * taken.sold);
        add(Tally::KeptPrice, taken.kept_price);
        add(Tally::FeePrice, taken.fee_price);
        add(Tally::KeptPost, taken.kept_post);
        add(Tally::OrderFees, taken.order_fees);
        add(Tally::Post, taken.post);
        add(Tally::Materials, materials);
        add(Tally::MaterialsPaid, paid);
        let sold_out = leftover.simd_le(zero) & good.simd_gt(zero);
        if MORE {
            add(Tally::Seconds, taken.seconds);
            add(Tally::Back, taken.back);
            add(Tally::TiedUp, taken.tied_up);
            add(Tally::Worn, taken.worn);
        }
        if let Some(sold) = on_days {
            add(Tally::DaySold, sold);
            add(Tally::DayHours, load(&self.days[0]));
            add(Tally::DayCost, load(&self.days[1]));
        }
        if has_helper {
            add(Tally::HelperHours, helped);
        }
        add(Tally::SoldOut, sold_out.select(splat(1.0), zero));
        if plan.channels.len() > 1 {
            self.record_channels(simd, plan, tile, row, number, weight, recorder);
        }
    }

    /// Hours of the helper up to `row`.
    #[inline(always)]
    fn helper_hours<S: Simd>(&self, simd: S, tile: &Tile, row: usize, extra: Option<&Extra>) -> f64x8<S> {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let mut minutes = load(&self.helper.setup);
        for column in &tile.helper {
            minutes += load(&column[row].0);
        }
        if let Some(extra) = extra {
            minutes += load(&extra.helped);
        }
        minutes * load(&self.pace_per_hour)
    }

    /// What all channels together take and give; what each adds is in the order of the channels.
    #[inline(always)]
    fn taken_here<S: Simd, const MORE: bool>(
        &self,
        simd: S,
        plan: &Plan,
        sale: Option<&CertainSale>,
        tile: &Tile,
        row: usize,
    ) -> Taken<S> {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let zero = f64x8::splat(simd, 0.0);
        let mut taken = Taken {
            order_minutes: zero,
            orders: zero,
            sold: zero,
            kept_price: zero,
            fee_price: zero,
            kept_post: zero,
            order_fees: zero,
            post: zero,
            seconds: zero,
            back: zero,
            worn: zero,
            tied_up: zero,
        };
        for (c, money) in self.money.iter().enumerate().take(plan.channels.len()) {
            let row = match sale {
                Some(sale) => SaleRow::certain(simd, sale),
                None => tile.sale.row::<S, MORE>(simd, plan, c, row),
            };
            if MORE && let Some([keep, fee]) = plan.channels[c].single {
                taken.sold += row.singly;
                taken.kept_price += row.singly * keep;
                taken.fee_price += row.singly * fee;
            }
            taken.order_minutes += row.minutes;
            taken.orders += row.orders;
            taken.sold += row.sold;
            taken.kept_price += row.kept * load(&money.keep);
            taken.fee_price += row.sold * load(&money.fee);
            if tile.order_money {
                taken.kept_post += row.kept_orders * load(&money.charged) + row.tips * load(&money.tip);
                taken.order_fees += row.orders * load(&money.order_fee);
            }
            taken.post += row.postage * load(&money.post);
            taken.back += row.as_new - row.worn;
            if MORE && let Some(on_return) = &plan.channels[c].on_return {
                taken.worn += row.worn;
                taken.kept_post += row.worn * on_return.worn_price;
                taken.tied_up += row.placed * on_return.tied_up;
            }
        }
        // What is as large as a row of sales stays in registers only where no call stands between.
        if MORE && let (Some((columns, channel)), Some(money)) = (tile.sale.seconds(plan), self.money.last()) {
            let row = columns.row::<S, MORE>(simd, channel, row);
            taken.order_minutes += row.minutes;
            taken.orders += row.orders;
            // Their price is no part of the list price.
            taken.kept_post +=
                row.kept * load(&money.keep) + row.kept_orders * load(&money.charged) + row.tips * load(&money.tip);
            taken.order_fees += row.sold * load(&money.fee) + row.orders * load(&money.order_fee);
            taken.post += row.postage * load(&money.post);
            taken.seconds = row.sold;
        }
        taken
    }

    /// Adds what selling days sell of so many good pieces, and tells how many; `None` where there are none.
    #[inline(always)]
    fn sell_on_days<S: Simd>(&self, simd: S, plan: &Plan, good: f64x8<S>, taken: &mut Taken<S>) -> Option<f64x8<S>> {
        let ends = &self.orders.as_ref().filter(|_| !plan.days.is_empty())?.days;
        let mut before = f64x8::splat(simd, 0.0);
        for (day, end) in plan.days.iter().zip(ends) {
            let up_to = lesser(good, f64x8::simd_from(simd, *end));
            let sold = up_to - before;
            taken.sold += sold;
            taken.kept_price += sold * day.keep;
            taken.fee_price += sold * day.fee;
            before = up_to;
        }
        Some(before)
    }

    /// What the materials of a batch cost, and what they were really paid.
    #[inline(always)]
    fn materials_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        tile: &Tile,
        bought: &Bought<'_, S>,
        extra: Option<&Extra>,
    ) -> (f64x8<S>, f64x8<S>) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        let Bought {
            size,
            sale,
            row,
            orders,
        } = *bought;
        let pieces = splat(f64::from(size));
        let rate = |k: Option<usize>| k.map_or_else(|| splat(1.0), |k| load(&self.rates[k]));
        let mut materials = splat(0.0);
        let mut paid = splat(0.0);
        for (stock, costs) in tile.stock.iter().zip(&self.stock) {
            let times = match stock.used_by {
                UsedBy::Batch => splat(1.0),
                UsedBy::Order(None) => orders,
                UsedBy::Order(Some(c)) => orders_in(simd, sale, tile, c, row),
                UsedBy::Piece => pieces,
                UsedBy::PieceAt(at) => {
                    let reached = tile.reached_at(simd, plan, at, row, size);
                    with_more(simd, reached, extra.map(|extra| &extra.reached[at]))
                }
                UsedBy::Round(at) => {
                    let rounds = plan.steps[at].rounds(simd, tile.reached_at(simd, plan, at, row, size));
                    with_more(simd, rounds, extra.map(|extra| &extra.rounds[at]))
                }
            };
            materials += times * load(&costs[0]);
            if tile.paid {
                paid += times * load(&costs[1]);
            }
        }
        for (m, material) in plan.materials.iter().enumerate().filter(|(_, m)| !m.is_plain()) {
            let at = material.at;
            let reached = tile.reached_at(simd, plan, at, row, size);
            let mut used = with_more(simd, reached, extra.map(|extra| &extra.reached[at])) * material.per_piece;
            if material.per_round != 0.0 {
                let rounds = plan.steps[at].rounds(simd, reached);
                used += with_more(simd, rounds, extra.map(|extra| &extra.rounds[at])) * material.per_round;
            }
            if material.per_order != 0.0 {
                let orders = match material.channel {
                    None => orders,
                    Some(c) => orders_in(simd, sale, tile, c, row),
                };
                used += orders * material.per_order;
            }
            used += material.per_batch;
            let prices = &self.material_prices[m];
            let (cost, charged) = purchases(simd, material, used * load(&prices[0]), prices);
            materials += cost;
            paid += material
                .paid
                .map_or(cost, |price| charged * (rate(material.rate) * price));
        }
        (materials, paid)
    }

    /// Adds what each channel took and gave.
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    #[inline(always)]
    pub(super) fn record_channels<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        tile: &Tile,
        row: usize,
        number: usize,
        weight: Option<f64x8<S>>,
        recorder: &mut Recorder<'_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        // Stock of orders is bought in any amount here: whole packs and breaks are shared out evenly by the mean price.
        let per_order = |c: usize| {
            let mut cost = splat(0.0);
            for (material, prices) in plan.materials.iter().zip(&self.material_prices) {
                if material.per_order != 0.0 && material.channel.is_none_or(|only| only == c) {
                    cost += load(&prices[0]) * load(&prices[1]) * material.per_order;
                }
            }
            cost
        };
        for (c, money) in self.money.iter().enumerate() {
            let (sold, price) = if c < plan.channels.len() {
                (tile.sale.row::<S, true>(simd, plan, c, row), plan.terms.price)
            } else if let Some((columns, channel)) = tile.sale.seconds(plan) {
                (columns.row::<S, true>(simd, channel, row), 1.0)
            } else {
                continue;
            };
            let on_return = plan.channels.get(c).and_then(|channel| channel.on_return.as_ref());
            let [worn_price, tied_up] = on_return.map_or([0.0; 2], |r| [r.worn_price, r.tied_up]);
            let size = recorder.sizes[number];
            let back = sold.placed - sold.sold - sold.worn + sold.as_new;
            let [mut income, mut fees] = [
                sold.kept * load(&money.keep) * price
                    + sold.kept_orders * load(&money.charged)
                    + sold.tips * load(&money.tip)
                    + sold.worn * worn_price,
                sold.sold * load(&money.fee) * price + sold.orders * load(&money.order_fee),
            ];
            if let Some([keep, fee]) = plan.channels.get(c).and_then(|channel| channel.single) {
                income += sold.singly * keep * price;
                fees += sold.singly * fee * price;
            }
            let values = [
                sold.placed + sold.singly,
                sold.sold + sold.singly,
                sold.orders,
                sold.minutes * load(&self.pace_per_hour),
                income,
                fees,
                sold.postage * load(&money.post),
                sold.orders * per_order(c),
                back * plan.clearance(size) - sold.placed * (tied_up * plan.terms.tied_up),
            ];
            let sums = &mut recorder.channel_sums[number][c];
            for (sum, value) in sums.iter_mut().zip(values) {
                add_weighted(simd, &mut sum.0, value, weight);
            }
        }
    }
}

/// The orders of channel number `c` up to `row` of the tile.
#[inline(always)]
fn orders_in<S: Simd>(simd: S, sale: Option<&CertainSale>, tile: &Tile, c: usize, row: usize) -> f64x8<S> {
    match sale {
        Some(sale) => f64x8::splat(simd, sale.orders),
        None => tile.sale.orders(simd, c, row),
    }
}

/// The price that covers what is due. No price is below 0; one that brings nothing in does it where the rest is enough, and is more
/// than nothing. Where a dearer piece costs more, because all comes back and its fee is lost, a trial pays up to a price and not from one
/// on: no floor says that at every price, so it counts as it fares at the asked one, where the chance of reaching the target must be right
/// (`questions::floor` tells how many such trials there are).
#[inline(always)]
fn floor_here<S: Simd>(simd: S, due: f64x8<S>, per_price: f64x8<S>, price: f64, profit: f64x8<S>) -> f64x8<S> {
    let zero = f64x8::splat(simd, 0.0);
    let enough = due.simd_le(per_price * price) & profit.simd_gt(zero);
    per_price.simd_gt(zero).select(
        greater(due / per_price, zero),
        enough.select(zero, f64x8::splat(simd, f64::INFINITY)),
    )
}

/// A count and what remaking adds to it.
#[inline(always)]
pub(super) fn with_more<S: Simd>(simd: S, count: f64x8<S>, more: Option<&Lanes>) -> f64x8<S> {
    match more {
        Some(more) => count + f64x8::simd_from(simd, *more),
        None => count,
    }
}
