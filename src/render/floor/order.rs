//! What is said of orders alone: what one counts once, and how many spares to start with it.

use crate::model::money::OnceAnOrder;
use crate::questions::floor::{Choice, Floors, Spares};
use crate::render::columns::{Columns, Table, Unit};
use crate::render::figure;
use crate::render::format::{confidence, count, enough, enough_money_beside, hours, money};
use crate::render::words::joined;

/// What an order of up to `most` pieces counts once; nothing where there is nothing of the kind, or one piece alone.
pub(crate) fn one_parcel(once: OnceAnOrder, most: u32, currency: &str) -> Option<String> {
    let money = |value: f64, of: &str| (value > 0.0).then(|| format!("{} of {of}", money(value, currency)));
    let work = (once.minutes > 0.0).then(|| format!("{} of work", hours(once.minutes / 60.0)));
    let sent = once.postage > 0.0 || once.material > 0.0;
    let list = [money(once.postage, "postage"), money(once.material, "material"), work];
    let list = joined(&list.into_iter().flatten().collect::<Vec<_>>()).filter(|_| most > 1)?;
    let n = count(most.into());
    Some(if sent {
        format!("An order counts as one parcel here: {list}. If {n} pieces need more parcels, add what those cost.")
    } else {
        format!("An order counts {list} once, however many pieces are in it. If {n} pieces need more, add that.")
    })
}

/// How many pieces to start.
pub(super) fn start(floors: &Floors, spares: &Spares) -> Option<String> {
    let advised = spares.advised?;
    let one = spares.order == 1;
    let order = match one {
        true => "such an order".to_owned(),
        false => format!("the order of {}", count(spares.order.into())),
    };
    let price = |choice: &Choice| {
        let price = choice.floor_asked.price?;
        Some(enough_money_beside(price, floors.price, &floors.currency))
    };
    let of = |number: u32| spares.choices.iter().find(|choice| choice.spares == number);
    let started = count((spares.order + advised).into());
    let these = if advised == 1 { "this spare" } else { "these spares" };
    if let Some(saved) = spares.saves_at_one_price() {
        let saved = hours(saved);
        let save = if advised == 1 { "saves" } else { "save" };
        return Some(format!(
            "Start {started} pieces for {order}: {these} {save} {saved} on average, at about the same price."
        ));
    }
    Some(match (advised, price(of(0)?)) {
        (0, _) if one => format!("Start one piece for {order}: a spare would hardly lower its price."),
        (0, _) => format!("Start {started} pieces for {order}: spares would hardly lower its price."),
        (_, Some(without)) => {
            let it = if one { "it" } else { "a piece" };
            format!("Start {started} pieces for {order}: without {these} {it} needs {without}.")
        }
        (_, None) => format!("Start {started} pieces for {order}: without {these} no price pays."),
    })
}

/// That the number with the lowest price is not the one that is advised.
pub(super) fn cheapest(spares: &Spares) -> Option<String> {
    let advised = spares
        .choices
        .iter()
        .find(|choice| Some(choice.spares) == spares.advised)?;
    let priced = spares
        .choices
        .iter()
        .filter_map(|choice| Some((choice, choice.floor_asked.price?)));
    let (cheapest, price) = priced.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let pieces = count((spares.order + cheapest.spares).into());
    (price < advised.floor_asked.price?)
        .then(|| format!("With {pieces} a piece would cost next to nothing less, but they take more hours on average."))
}

/// What a spare counts that is left over.
pub(super) fn left_over(floors: &Floors, spares: &Spares) -> Option<String> {
    spares.advised?;
    Some(if spares.worth > 0.0 {
        let worth = money(spares.worth, &floors.currency);
        format!(
            "A spare that is left over counts {worth}: what [season] or [steady] gives for it, but at most what making one more takes."
        )
    } else {
        "A spare that is left over counts nothing here.".to_owned()
    })
}

/// A line for each number of spares.
pub(super) fn table<'a>(floors: &'a Floors, spares: &'a Spares) -> Table<'a, &'a Choice> {
    let mut c: Columns<'a, &'a Choice> = Columns::default();
    c.field("spares", Unit::Count).plain("spares");
    c.field("floor_asked.price", Unit::Floor(&floors.currency))
        .or("no price")
        .plain(format!(
            "{} a piece\nthat pays\nin {}",
            floors.currency,
            confidence(floors.confidence)
        ))
        .decides();
    if !floors.on_return && spares.order > 1 {
        c.shown("in all", move |choice| {
            let whole = choice.floor_asked.price;
            let whole = whole.map(|price| spares.in_all(enough(price, &floors.currency)));
            figure::exact_amount(whole, &floors.currency)
        })
        .plain(format!("whole\norder,\n{}", floors.currency));
    }
    c.field("hours.mean", Unit::Hours).plain("hours\non average");
    c.field("made_again", Unit::Share)
        .plain("made again\nin so many\norders");
    c.field("left_over", Unit::Mean).plain("left over\non average");
    let name = match spares.order {
        1 => "Spares for a piece ordered alone".to_owned(),
        order => format!("Spares for the order of {}", count(order.into())),
    };
    Table::new(name, floors, "spares.choices", &spares.choices, c)
        .titled(true)
        .main(move |choice| Some(choice.spares) == spares.advised)
}
