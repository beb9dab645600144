//! `report --for buyer`: a sheet of prices and dates to hand on.

use clap::Args;
use jiff::civil::Date;

use super::floor::{ascending, channel, orders_end};
use super::input::Source;
use super::question::{pieces, within_budget};
use super::{Stop, calendar};
use crate::budget::Work;
use crate::questions::calendar::Day;
use crate::questions::floor::usual_orders;
use crate::questions::offer::Offer;
use crate::questions::{Settings, offer};
use crate::render::report;
use crate::render::text::printable;
use crate::scenario::Scenario;

/// What only a sheet for a buyer takes.
#[derive(Debug, Args)]
pub(super) struct SheetArgs {
    /// For a buyer: pieces of the orders that are priced [default: 1,6,12,24 pieces or sets, up to the largest batch]
    #[arg(long, value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<100_000>)]
    order: Vec<u32>,
    /// For a buyer: the channel the orders go through, with its price, postage and fees
    #[arg(long, value_name = "NAME")]
    channel: Option<String>,
    /// For a buyer: the last day on which prices and dates hold [default: 30 days after the report's date]
    #[arg(long, value_name = "DATE", value_parser = calendar::date)]
    pub(super) until: Option<Date>,
}

impl SheetArgs {
    /// Each flag, and whether it was given.
    pub(super) fn given(&self) -> [(&'static str, bool); 3] {
        [
            ("--order", !self.order.is_empty()),
            ("--channel", self.channel.is_some()),
            ("--until", self.until.is_some()),
        ]
    }
}

/// The orders of every scenario, and the channel they go through there; everything is checked before anything is simulated.
pub(super) struct Wanted {
    orders: Vec<Vec<u32>>,
    channels: Vec<Option<usize>>,
    settings: Settings,
}

pub(super) fn wanted(args: &SheetArgs, read: &[(Source, Scenario)], settings: Settings) -> Result<Wanted, Stop> {
    let mut work = Work::default();
    let mut channels = Vec::with_capacity(read.len());
    let mut all = Vec::with_capacity(read.len());
    for (_, scenario) in read {
        orders_end(scenario)?;
        let through = args.channel.as_deref();
        let through = through.map(|name| channel(scenario, name)).transpose()?;
        let orders = if args.order.is_empty() {
            usual_orders(scenario, through)
        } else {
            ascending(&args.order)
        };
        channels.push(through);
        work = work.and(Work::of_offer(scenario, &orders, settings.trials));
        all.push(orders);
    }
    within_budget(work)?;
    Ok(Wanted {
        orders: all,
        channels,
        settings,
    })
}

/// The prices and dates of each scenario, for work that begins on the day `from`.
pub(super) fn offers(
    wanted: &Wanted,
    read: &[(Source, Scenario)],
    from: Date,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Vec<Offer>, Stop> {
    let all = read.len() as f64;
    let mut offers = Vec::with_capacity(read.len());
    for (k, ((_, scenario), channel)) in read.iter().zip(&wanted.channels).enumerate() {
        let asked = offer::Question {
            orders: wanted.orders[k].clone(),
            channel: *channel,
            from: Day(from),
        };
        let offered = offer::run(scenario, &asked, &wanted.settings, &|done| {
            progress((k as f64 + done) / all)
        });
        offers.push(offered.map_err(|why| refused(scenario, why))?);
    }
    Ok(offers)
}

/// What the maker should know of the sheet before it is handed on, and no buyer is told.
pub(super) fn remarks(offers: &[Offer]) -> Vec<String> {
    let of = |offer: &Offer| {
        let said = report::remarks(offer, |left| format!("with --order {left} they are left out"));
        said.into_iter()
            .map(|said| format!("batchwright: \"{}\": {said}", printable(&offer.title)))
            .collect::<Vec<_>>()
    };
    offers.iter().flat_map(of).collect()
}

fn refused(scenario: &Scenario, why: offer::NoOffer) -> Stop {
    let title = printable(&scenario.title);
    Stop::Wrote(match why {
        offer::NoOffer::NoPrice(pieces) => format!(
            "batchwright: --order {pieces}: no price pays for an order of {pieces} of \"{title}\"; name other quantities, or see `floor --order \
             {pieces}`, through the same channel, for the reason"
        ),
        offer::NoOffer::NoDate(pieces) => format!(
            "batchwright: --order {pieces}: with the bench hours of \"{title}\" an order of {pieces} is never ready; name fewer pieces, or \
             change [hours]"
        ),
    })
}
