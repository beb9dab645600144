//! A sheet for a buyer or a shop: what is offered, prices by quantity, dates, and until when that holds. What it rests on stays with the
//! maker: no cost, no hours, nothing of what is earned.

use askama::Template;
use jiff::civil::Date;

use super::{Paper, ReportError};
use crate::questions::calendar::Day;
use crate::questions::offer::{Line, Offer};
use crate::render::figure::{self, Cell};
use crate::render::floor::one_parcel;
use crate::render::format;
use crate::render::grid::{Grid, Head};
use crate::render::web::{self, WebTable, clean};
use crate::render::words::joined;

/// Days for which an offer holds where no date is named (assumption).
const HOLDS: i64 = 30;

/// All that stands in it.
pub struct Sheet {
    /// The day it is dated.
    pub made: Date,
    /// Orders that are there by then keep the dates.
    pub from: Date,
    /// The last day on which it holds.
    pub until: Date,
    /// The program's version.
    pub version: String,
    /// What it is printed on.
    pub paper: Paper,
    /// One scenario each.
    pub offers: Vec<Offer>,
}

impl Sheet {
    /// Of this program; it holds until `until`, or for 30 days.
    pub fn new(made: Date, from: Date, until: Option<Date>, paper: Paper, offers: Vec<Offer>) -> Self {
        Self {
            made,
            from,
            until: until.or_else(|| Day(made).plus(HOLDS).map(|day| day.0)).unwrap_or(made),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            paper,
            offers,
        }
    }
}

/// What the maker should know of an offer before it is handed on, and no buyer is told. `leave_out` says how to ask for the orders that it is
/// given, `6,12`, and no others.
pub fn remarks(offer: &Offer, leave_out: impl Fn(&str) -> String) -> Vec<String> {
    let most = offer.lines.last().map_or(1, |line| line.pieces);
    let parcel = offer
        .once_an_order
        .and_then(|once| one_parcel(once, most, &offer.currency));
    let said = [
        above(offer, &leave_out),
        dearer(offer, &leave_out),
        too_little(offer),
        capped(offer),
        lower(offer),
        spares(offer),
        parcel,
        nameless(offer),
        once(offer),
        no_channel(offer),
    ];
    said.into_iter().flatten().collect()
}

/// What is missing where no channel is named.
fn no_channel(offer: &Offer) -> Option<String> {
    offer.past_channels.then(|| {
        "no channel is named, so what your channels add is missing from these prices: their fees, postage and packing".to_owned()
    })
}

/// That a buyer does not read whose offer it is.
fn nameless(offer: &Offer) -> Option<String> {
    let maker = &offer.offered.maker;
    maker.is_none().then(|| {
        "the sheet does not say who offers it: for that there are `maker`, `contact` and `description`, beside the title".to_owned()
    })
}

/// That the dates are those of a product that was made before.
fn once(offer: &Offer) -> Option<String> {
    let dated = offer.lines.iter().any(|line| line.ready.is_some());
    (dated && offer.once_hours > 0.0).then(|| {
        format!(
            "the dates leave out what is done once, {}: where that is still to do, promise later",
            format::hours(offer.once_hours)
        )
    })
}

/// Which quantities cost more than the scenario itself asks, and how to leave them out.
fn above(offer: &Offer, leave_out: &impl Fn(&str) -> String) -> Option<String> {
    let (dear, others): (Vec<_>, Vec<_>) = offer.lines.iter().partition(|line| line.each > offer.own_price);
    let listed: Vec<String> = dear
        .iter()
        .map(|line| format!("{} ({})", line.pieces, format::money(line.each, &offer.currency)))
        .collect();
    let said = format!(
        "the sheet asks more than your price of {} a piece for orders of {}, as they do not pay at it",
        format::typed_money(offer.own_price, &offer.currency),
        joined(&listed)?
    );
    let left: Vec<String> = others.iter().map(|line| line.pieces.to_string()).collect();
    Some(if left.is_empty() {
        said
    } else {
        format!("{said}; {}", leave_out(&left.join(",")))
    })
}

/// Which quantities cost more a piece than a smaller one, why, and how to leave them out.
fn dearer(offer: &Offer, leave_out: &impl Fn(&str) -> String) -> Option<String> {
    let (dear, others): (Vec<_>, Vec<_>) = offer.lines.iter().partition(|line| line.dearer.is_some());
    let said = dear.iter().filter_map(|line| {
        let dearer = line.dearer.as_ref()?;
        let because = dearer.rounds_at.as_ref().map_or_else(String::new, |step| {
            format!(" (more rounds of '{}' for each)", clean(step))
        });
        Some(format!("for {} than for {}{because}", line.pieces, dearer.than))
    });
    let said = joined(&said.collect::<Vec<_>>())?;
    let left: Vec<String> = others.iter().map(|line| line.pieces.to_string()).collect();
    Some(format!(
        "the sheet asks more a piece {said}, and tells the buyer so; {}",
        leave_out(&left.join(","))
    ))
}

/// How many to start, as the prices count on it.
fn spares(offer: &Offer) -> Option<String> {
    let with = offer
        .lines
        .iter()
        .filter_map(|line| Some((line.pieces, line.spares.filter(|spares| *spares > 0)?)));
    let started = with.map(|(pieces, spares)| format!("{} for an order of {pieces}", pieces + spares));
    Some(format!(
        "the prices count on spares: start {}",
        joined(&started.collect::<Vec<_>>())?
    ))
}

/// For which orders even the price told may be too little.
fn too_little(offer: &Offer) -> Option<String> {
    let such = offer
        .lines
        .iter()
        .filter(|line| line.worse_when_dearer.is_some_and(|share| share >= 0.005));
    let pieces: Vec<String> = such.map(|line| line.pieces.to_string()).collect();
    Some(format!(
        "for orders of {} even that may be too little: where all that is sold comes back, the fee you lose rises with the price",
        joined(&pieces)?
    ))
}

/// Which quantities are offered for less than they need by themselves, as the asked price pays in some batch.
fn capped(offer: &Offer) -> Option<String> {
    let said = |price: f64| format::enough_money(price, &offer.currency);
    let short = offer
        .lines
        .iter()
        .filter(|line| line.needs > line.each && line.each >= offer.own_price);
    let (pieces, needs): (Vec<_>, Vec<_>) = short
        .map(|line| (line.pieces.to_string(), said(line.needs)))
        .filter(|(_, needs)| *needs != said(offer.own_price))
        .unzip();
    Some(format!(
        "the sheet asks only your price of {} a piece for orders of {}; made alone they need {} a piece to pay in {} orders, and at your price \
         they pay only as part of a larger batch",
        format::typed_money(offer.own_price, &offer.currency),
        joined(&pieces)?,
        joined(&needs)?,
        format::asked_of_100(offer.confidence)
    ))
}

/// Which quantities are offered below the asked price, and what stands behind those prices.
fn lower(offer: &Offer) -> Option<String> {
    let below = offer.lines.iter().filter(|line| line.each < offer.own_price);
    let pieces: Vec<String> = below.map(|line| line.pieces.to_string()).collect();
    Some(format!(
        "the prices for orders of {} are below your price of {} a piece: they are the least that pays in {} orders, rounded up",
        joined(&pieces)?,
        format::typed_money(offer.own_price, &offer.currency),
        format::asked_of_100(offer.confidence)
    ))
}

/// The sheet as a page, valid HTML and well-formed XML.
///
/// # Errors
/// [`ReportError`] where the page cannot be written, which no known sheet makes happen.
pub fn html(sheet: &Sheet) -> Result<String, ReportError> {
    let one = sheet.offers.len() == 1;
    let title = match sheet.offers.as_slice() {
        [only] => clean(&only.title),
        _ => "Our offer".to_owned(),
    };
    // Said once where all are offered by the same.
    let mut makers: Vec<Vec<String>> = sheet
        .offers
        .iter()
        .map(offered_by)
        .filter(|lines| !lines.is_empty())
        .collect();
    makers.dedup();
    let offered_by_one = makers.len() <= 1;
    let currencies: Vec<&str> = sheet.offers.iter().map(|offer| offer.currency.as_str()).collect();
    let several = currencies.windows(2).any(|pair| pair[0] != pair[1]);
    Ok(BuyerPage {
        title: &title,
        version: &sheet.version,
        style: web::PLAIN_STYLE,
        paper: sheet.paper.named(),
        made: &format::date(sheet.made, None),
        until: &format::date(sheet.until, None),
        offered_by: if offered_by_one { makers.concat() } else { Vec::new() },
        currencies: several.then(|| {
            let mut named = currencies.clone();
            named.dedup();
            format!("Prices are in several currencies: {}.", named.join(", "))
        }),
        offers: sheet
            .offers
            .iter()
            .map(|offer| OfferView {
                heading: (!one).then(|| clean(&offer.title)),
                offered_by: if offered_by_one { Vec::new() } else { offered_by(offer) },
                description: offer.offered.description.as_deref().map(clean),
                table: web::table(&table(offer, sheet.made)),
                terms: terms(offer, sheet),
            })
            .collect(),
    }
    .render()?)
}

/// Who offers it and where a buyer reaches them, a line each.
fn offered_by(offer: &Offer) -> Vec<String> {
    let of = &offer.offered;
    [&of.maker, &of.contact]
        .into_iter()
        .flatten()
        .map(|line| clean(line))
        .collect()
}

/// Prices by quantity.
fn table(offer: &Offer, made: Date) -> Grid {
    let head = |lines: &str, words: bool| Head {
        lines: lines.to_owned(),
        words,
        ..Head::default()
    };
    let dated = offer.lines.iter().any(|line| line.ready.is_some());
    let mut heads = vec![
        head("pieces", false),
        head(&format!("price of a piece, {}", offer.currency), false),
        head(&format!("in all, {}", offer.currency), false),
    ];
    if dated {
        heads.push(head("ready by", true));
    }
    let row = |line: &Line| {
        let mut cells: Vec<Cell> = vec![
            figure::count(line.pieces.into()),
            format::exact_amount(line.each, &offer.currency).as_str().into(),
            format::exact_amount(line.in_all, &offer.currency).as_str().into(),
        ];
        if let Some(ready) = line.ready {
            let same_year = Some(made.year()).filter(|year| ready.0.year() == *year);
            cells.push(format::date(ready.0, same_year).as_str().into());
        }
        cells
    };
    Grid {
        name: "Prices by quantity".to_owned(),
        heads,
        rows: offer.lines.iter().map(row).collect(),
        ..Grid::default()
    }
}

/// What else a buyer must know.
fn terms(offer: &Offer, sheet: &Sheet) -> Vec<String> {
    let mut said = vec!["Each price is for one order of so many, made and sent together.".to_owned()];
    said.extend(dearer_orders(offer));
    if offer.set_of > 1 {
        said.push(format!("Pieces are sold in sets of {}.", offer.set_of));
    }
    if offer.on_return {
        said.push("It is left on sale or return: what you send back unsold costs you nothing.".to_owned());
    }
    if offer.tax > 0.0 {
        said.push(format!("Prices contain {} tax.", format::confidence(offer.tax)));
    }
    if offer.postage > 0.0 {
        let postage = format::typed_money(offer.postage, &offer.currency);
        said.push(format!("Postage is {postage} an order."));
    } else if offer.postage_included {
        said.push("Postage is included.".to_owned());
    }
    if offer.lines.iter().any(|line| line.ready.is_some()) {
        said.push(format!(
            "Dates are for an order received by {}.{} Pieces are made by hand: four orders in five are ready by the date.",
            format::date(sheet.from, None),
            match (sheet.until > sheet.from, offer.days_off) {
                (true, false) => " An order that comes later, while this offer holds, is ready about as many days later.",
                (true, true) => " Please ask for the date of an order that comes later: on some days no work is done.",
                (false, _) => "",
            }
        ));
    } else {
        said.push("The date of delivery is agreed with the order.".to_owned());
    }
    said.iter().map(|sentence| web::sentences(sentence)).collect()
}

/// That a piece of some orders costs more than one of a smaller order.
fn dearer_orders(offer: &Offer) -> Option<String> {
    let dear: Vec<_> = offer
        .lines
        .iter()
        .filter_map(|line| Some((line.pieces, line.dearer.as_ref()?)))
        .collect();
    let because = if dear.iter().all(|(_, dearer)| dearer.rounds_at.is_some()) {
        "so many need another round of the work"
    } else {
        "so many take more for each piece"
    };
    let orders = dear
        .iter()
        .map(|(pieces, dearer)| format!("in an order of {pieces} than in one of {}", dearer.than));
    let orders = joined(&orders.collect::<Vec<_>>())?;
    Some(format!("A piece costs more {orders}, as {because}."))
}

#[derive(Template)]
#[template(path = "buyer.html", config = "src/render/web/askama.toml")]
struct BuyerPage<'a> {
    title: &'a str,
    version: &'a str,
    style: &'a str,
    paper: &'a str,
    made: &'a str,
    until: &'a str,
    offered_by: Vec<String>,
    currencies: Option<String>,
    offers: Vec<OfferView>,
}

struct OfferView {
    heading: Option<String>,
    offered_by: Vec<String>,
    description: Option<String>,
    table: WebTable,
    terms: Vec<String>,
}
