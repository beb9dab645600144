//! `report --for buyer`: a sheet of prices and dates to hand on.

use jiff::civil::Date;

use super::Stop;
use super::floor::{ascending, channel, orders_end};
use super::input::Source;
use super::question::within_budget;
use super::report::ReportCommand;
use crate::budget::Work;
use crate::questions::calendar::Day;
use crate::questions::offer::Offer;
use crate::questions::{floor, offer};
use crate::render::report::{self, Paper, Sheet};
use crate::render::text::printable;
use crate::scenario::Scenario;

/// The orders of every scenario, and the channel they go through there; everything is checked before anything is simulated.
pub(super) struct Wanted {
    orders: Vec<Vec<u32>>,
    channels: Vec<Option<usize>>,
}

pub(super) fn wanted(command: &ReportCommand, read: &[(Source, Scenario)]) -> Result<Wanted, Stop> {
    let trials = command.given.settings(floor::TRIALS).trials;
    let mut work = Work::default();
    let mut channels = Vec::with_capacity(read.len());
    let mut all = Vec::with_capacity(read.len());
    for (_, scenario) in read {
        orders_end(scenario)?;
        let through = command.channel.as_deref();
        let through = through.map(|name| channel(scenario, name)).transpose()?;
        let orders = if command.order.is_empty() {
            floor::usual_orders(scenario, through)
        } else {
            ascending(&command.order)
        };
        channels.push(through);
        work = work.and(Work::of_offer(scenario, &orders, trials));
        all.push(orders);
    }
    within_budget(work)?;
    Ok(Wanted { orders: all, channels })
}

pub(super) fn sheet(
    command: &ReportCommand,
    read: &[(Source, Scenario)],
    wanted: &Wanted,
    made: Date,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Sheet, Stop> {
    let from = command.start.unwrap_or(made);
    let settings = command.given.settings(floor::TRIALS);
    let all = read.len() as f64;
    let mut offers = Vec::with_capacity(read.len());
    for (k, ((_, scenario), channel)) in read.iter().zip(&wanted.channels).enumerate() {
        let asked = offer::Question {
            orders: wanted.orders[k].clone(),
            channel: *channel,
            from: Day(from),
        };
        let offered = offer::run(scenario, &asked, &settings, &|done| progress((k as f64 + done) / all));
        offers.push(offered.map_err(|why| refused(scenario, why))?);
    }
    let paper = command
        .paper
        .unwrap_or_else(|| Paper::of(read.first().map_or("", |(_, scenario)| &scenario.currency)));
    Ok(Sheet::new(made, from, command.until, paper, offers))
}

/// What the maker should know of the sheet before it is handed on, and no buyer is told.
pub(super) fn remarks(sheet: &Sheet) -> Vec<String> {
    let of = |offer: &Offer| {
        let said = report::remarks(offer, |left| format!("with --order {left} they are left out"));
        said.into_iter()
            .map(|said| format!("batchwright: \"{}\": {said}", printable(&offer.title)))
            .collect::<Vec<_>>()
    };
    sheet.offers.iter().flat_map(of).collect()
}

fn refused(scenario: &Scenario, why: offer::NoOffer) -> Stop {
    let title = printable(&scenario.title);
    Stop::Wrote(match why {
        offer::NoOffer::NoPrice(pieces) => format!(
            "batchwright: --order {pieces}: no price pays for an order of {pieces} of \"{title}\"; name other quantities, or see `floor --order \
             {pieces}` for the reason"
        ),
        offer::NoOffer::NoDate(pieces) => format!(
            "batchwright: --order {pieces}: with the bench hours of \"{title}\" an order of {pieces} is never ready; name fewer pieces, or \
             change [hours]"
        ),
    })
}
