//! What a scenario may say by mistake although it can be computed: remarks, never refusals.
//!
//! Thresholds are judgement (common practice, no source) and said as such in the words.

use super::read::NO_CURRENCY;
use super::{Buyers, Change, Jig, Sale, Scenario, Spoiled, Spread, Step};

/// Learning steeper than this is more than hand work usually shows.
const STEEP_LEARNING: f64 = 0.70;
/// Of fewer logged values than this, more than one in ten of those to come is outside of all of them: 2 / (n + 1), whatever their law, if
/// they come alike (by symmetry; Wilks 1941, "Determination of sample sizes for setting tolerance limits", Annals of Mathematical
/// Statistics 12(1), 91-96; from memory).
const ENOUGH_LOGGED: usize = 19;

/// One sentence for each thing that looks unintended; empty for most scenarios.
#[must_use]
pub fn doubts(scenario: &Scenario) -> Vec<String> {
    let mut said = Vec::new();
    whole(scenario, &mut said);
    steps(scenario, &mut said);
    helper(scenario, &mut said);
    materials(scenario, &mut said);
    sale(scenario, &mut said);
    jigs(scenario, &mut said);
    logged(scenario, &mut said);
    said
}

/// Jigs that take more off a time together than there is.
fn jigs(scenario: &Scenario, said: &mut Vec<String>) {
    type Part = (&'static str, fn(&Jig) -> Change, fn(&Step) -> &Spread);
    const PARTS: [Part; 2] = [
        ("setup", |jig| jig.setup, |step| &step.setup),
        ("each", |jig| jig.each, |step| &step.each),
    ];
    for (index, step) in scenario.steps.iter().enumerate() {
        for (key, change, time) in PARTS {
            let shorten = |jig: &&Jig| jig.step == index && (change(jig).minutes < 0.0 || change(jig).factor < 1.0);
            let jigs: Vec<&Jig> = scenario.jigs.iter().filter(shorten).collect();
            let mut left = Some(time(step).clone());
            for jig in &jigs {
                left = left.and_then(|left| change(jig).apply(&left));
            }
            if left.is_none() {
                let names: Vec<&str> = jigs.iter().map(|jig| jig.name.as_str()).collect();
                said.push(format!(
                    "jigs `{}` together take more off the `{key}` of step `{}` than it takes, so that used together they leave nothing of it. \
                     Do they save the same minutes?",
                    names.join("`, `"),
                    step.name
                ));
            }
        }
    }
}

/// Logs of few values, all in one sentence.
fn logged(scenario: &Scenario, said: &mut Vec<String>) {
    let mut few: Vec<(String, usize)> = Vec::new();
    each_range(scenario, &mut |owner, spread| {
        if let Spread::Logged(log) = spread
            && log.values().len() < ENOUGH_LOGGED
        {
            few.push((owner(), log.values().len()));
        }
    });
    let Some(least) = few.iter().map(|(_, count)| *count).min() else {
        return;
    };
    let list: Vec<String> = few.iter().map(|(owner, count)| format!("{owner} ({count})")).collect();
    said.push(format!(
        "few values are logged for {}. With {least}, up to {:.0} % of those to come lie outside of all that were seen, and nothing is \
         drawn there; with {ENOUGH_LOGGED} it is at most 10 %",
        list.join(", "),
        200.0 / (least + 1) as f64
    ));
}

/// Every range that a file may have, with its name.
fn each_range(scenario: &Scenario, look: &mut dyn FnMut(&dyn Fn() -> String, &Spread)) {
    look(&|| "pace.factor".to_owned(), &scenario.pace);
    for step in &scenario.steps {
        for (key, spread) in [
            ("once", &step.once),
            ("setup", &step.setup),
            ("each", &step.each),
            ("per_order", &step.per_order),
            ("wait", &step.wait),
        ] {
            look(&|| format!("step `{}`: {key}", step.name), spread);
        }
    }
    for material in &scenario.materials {
        let owner = |key: &str| format!("material `{}`: {key}", material.name);
        look(&|| owner("price"), &material.price);
        look(&|| owner("waste"), &material.waste);
        for tier in &material.breaks {
            look(&|| owner(&format!("price from {}", tier.from)), &tier.price);
        }
    }
    let sale = &scenario.sale;
    for (key, spread) in ranges_of(sale) {
        look(&|| format!("sale.{key}"), spread);
    }
    for channel in &scenario.channels {
        let owner = |key: &str| format!("channel `{}`: {key}", channel.name);
        if let Some(per_order) = &channel.per_order {
            look(&|| owner("per_order"), per_order);
        }
        if let Some(on_return) = &channel.on_return {
            look(&|| owner("unsold"), &on_return.unsold);
        }
        for (key, spread) in own_ranges(&channel.sale, sale) {
            look(&|| owner(key), spread);
        }
    }
    for day in &scenario.selling_days {
        for (key, spread) in [
            ("sells", &day.sells),
            ("there", &day.there),
            ("travel", &day.travel),
            ("cost", &day.cost),
        ] {
            look(&|| format!("selling day `{}`: {key}", day.name), spread);
        }
    }
    if let Some(seconds) = &scenario.seconds {
        if let Some(per_order) = &seconds.per_order {
            look(&|| "seconds.per_order".to_owned(), per_order);
        }
        for (key, spread) in own_ranges(&seconds.sale, sale) {
            look(&|| format!("seconds.{key}"), spread);
        }
    }
    for currency in &scenario.currencies {
        look(&|| format!("currencies.{}", currency.code), &currency.rate);
    }
    for jig in &scenario.jigs {
        look(&|| format!("jig `{}`: build", jig.name), &jig.build);
    }
    if let Some(Buyers::Range(buyers)) = scenario.season.as_ref().map(|season| &season.buyers) {
        look(&|| "season.buyers".to_owned(), buyers);
    }
}

/// The ranges of a way of selling.
fn ranges_of(sale: &Sale) -> [(&'static str, &Spread); 5] {
    [
        ("post", &sale.post),
        ("tip", &sale.tip),
        ("order_of", &sale.order_of),
        ("quote", &sale.quote.minutes),
        ("enquiry", &sale.enquiry.minutes),
    ]
}

/// Those that a channel, or what is sold as seconds, has not from `[sale]`.
fn own_ranges<'a>(own: &'a Sale, sale: &'a Sale) -> impl Iterator<Item = (&'static str, &'a Spread)> {
    let both = ranges_of(own).into_iter().zip(ranges_of(sale));
    both.filter_map(|(own, of_all)| (own != of_all).then_some(own))
}

fn whole(scenario: &Scenario, said: &mut Vec<String>) {
    if scenario.currency == NO_CURRENCY {
        said.push(format!(
            "no currency is named, so amounts are in {NO_CURRENCY}, the code for none. Write `currency = \"EUR\"`, or another code of \
             three letters, at the top"
        ));
    }
    if scenario.target_per_hour == 0.0 {
        said.push("the target is 0, so any size that covers its costs counts as paying".to_owned());
    }
    let pace = scenario.pace.mean();
    if !(0.7..=2.0).contains(&pace) {
        said.push(format!(
            "the pace averages {pace:.2}, and all hands-on time is multiplied by it; 1 means as estimated"
        ));
    }
    let once = scenario.steps.iter().any(|step| !step.once.is_zero());
    if scenario.batch.runs > 1 && !once && scenario.jigs.is_empty() {
        said.push("how many batches you make (`runs` of [batch]) changes nothing, because no step has a `once` for them to share".to_owned());
    }
    let by_steps = scenario.channels.is_empty() || scenario.channels.iter().any(|channel| channel.per_order.is_none());
    if by_steps && scenario.steps.iter().all(|step| step.per_order.is_zero()) {
        said.push("no step takes time per order. Were packing, posting or delivering forgotten?".to_owned());
    }
    let whole_pieces: f64 = scenario.steps.iter().map(|step| 1.0 - step.spoil).product();
    if whole_pieces < 0.5 {
        let spoiled = 100.0 * (1.0 - whole_pieces);
        said.push(match scenario.batch.spoiled {
            Spoiled::Short => format!("all steps together spoil {spoiled:.0} % of the pieces started"),
            Spoiled::Remake => {
                format!("all steps together spoil {spoiled:.0} % of the pieces started, and each is made again")
            }
        });
    }
}

fn steps(scenario: &Scenario, said: &mut Vec<String>) {
    for (index, step) in scenario.steps.iter().enumerate() {
        let name = &step.name;
        if let Some(learning) = step.learning {
            if learning.rate < STEEP_LEARNING {
                said.push(format!(
                    "step `{name}`: learning {:.0} % means twice as many made take {:.0} % less time each, which is rare; \
                     95 % is usual for practised hand work",
                    100.0 * learning.rate,
                    100.0 * (1.0 - learning.rate)
                ));
            }
            if step.each.is_zero() {
                said.push(format!("step `{name}`: learning changes nothing without an `each`"));
            }
            if learning.learned_by.is_some_and(|most| most <= learning.made_before) {
                said.push(format!(
                    "step `{name}`: learning changes nothing, because made_before already reaches learned_by"
                ));
            }
        }
        if step.opposite > step.opposite_share() {
            said.push(format!(
                "step `{name}`: opposite changes nothing unless both its setup and its `each` are ranges"
            ));
        }
        if step.redo > 0.0 && step.each.is_zero() && step.wait.is_zero() {
            said.push(format!(
                "step `{name}`: redo changes nothing without an `each` or a wait"
            ));
        }
        if step.redo >= 0.5 {
            said.push(format!(
                "step `{name}`: redo {:.0} % does most pieces more than once",
                100.0 * step.redo
            ));
        }
        let by_round = scenario.materials.iter().any(|m| m.at == index && m.per_round > 0.0);
        if step.room.is_some() && step.setup.is_zero() && step.wait.is_zero() && !by_round {
            said.push(format!(
                "step `{name}`: room changes nothing without a setup, a wait or a material used per round"
            ));
        }
        if step.others > 0.0 && step.setup.is_zero() && !by_round {
            said.push(format!(
                "step `{name}`: others change nothing without a setup or a material used per round"
            ));
        }
        if let Some(place) = &step.kept_in {
            let mut others = scenario.steps.iter().enumerate();
            let shared = others.any(|(other, step)| other != index && step.kept_in.as_ref() == Some(place));
            if !shared {
                said.push(format!(
                    "step `{name}`: no other step is kept in `{place}`; its rounds wait for each other there, and nothing else does"
                ));
            }
        }
        let idle = [&step.once, &step.setup, &step.each, &step.per_order, &step.wait]
            .into_iter()
            .all(Spread::is_zero);
        if idle && step.spoil == 0.0 && !by_round && !scenario.materials.iter().any(|m| m.at == index) {
            said.push(format!("step `{name}` takes no time and uses nothing"));
        }
    }
}

/// A helper who does nothing.
fn helper(scenario: &Scenario, said: &mut Vec<String>) {
    if scenario.helper.is_some() && !scenario.steps.iter().any(|step| step.helped) {
        said.push("[helper] changes nothing: no step says `done_by = \"helper\"`".to_owned());
    }
}

fn materials(scenario: &Scenario, said: &mut Vec<String>) {
    for material in &scenario.materials {
        let name = &material.name;
        if !material.is_used() {
            said.push(format!(
                "material `{name}` is never used: give per_piece, per_batch, per_round or per_order"
            ));
        } else if material.price.is_zero() {
            said.push(format!("material `{name}` costs nothing to replace"));
        }
        let waste = material.waste.mean();
        if waste > 1.0 {
            said.push(format!(
                "material `{name}`: waste averages {:.0} %; it is added to what is used, so {:.1} times the used amount is \
                 bought",
                100.0 * waste,
                1.0 + waste
            ));
        }
        if material.paid.is_some_and(|paid| paid > material.price.limits().1) {
            said.push(format!(
                "material `{name}`: more was paid for it than it would cost to replace"
            ));
        }
    }
}

fn sale(scenario: &Scenario, said: &mut Vec<String>) {
    let sale = &scenario.sale;
    if sale.price == 0.0 {
        said.push("the price is 0, so nothing is earned".to_owned());
    }
    if sale.left_of_money() <= 0.0 {
        said.push("tax, fees and refunds take the whole price, so no price can pay".to_owned());
    }
    if let Some(seconds) = scenario.seconds.as_ref().filter(|s| s.sale.price >= sale.price) {
        said.push(format!(
            "a second is sold at {} and a first at {}, which is no more",
            seconds.sale.price, sale.price
        ));
    }
    for day in &scenario.selling_days {
        if day.nobody() {
            said.push(format!("selling day `{}` sells nothing", day.name));
        }
        if day.minutes() == 0.0 {
            said.push(format!("selling day `{}` takes none of your time", day.name));
        }
    }
    if sale.post_charged > 0.0 && sale.post.is_zero() {
        said.push("the buyer pays postage, but the carrier takes none: was `post` forgotten?".to_owned());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{scenario, step};

    /// A place that one step alone names may be a slip of the pen: "kiln" and "Kiln".
    #[test]
    fn a_place_that_nothing_else_needs_is_doubtful() {
        let mut made = scenario(50.0, 30.0, &[5], vec![step("bisque"), step("glaze firing")]);
        let about = |made: &Scenario| doubts(made).iter().filter(|doubt| doubt.contains("kept in")).count();
        made.steps[0].kept_in = Some("kiln".to_owned());
        assert_eq!(about(&made), 1);
        made.steps[1].kept_in = Some("Kiln".to_owned());
        assert_eq!(about(&made), 2);
        made.steps[1].kept_in = Some("kiln".to_owned());
        assert_eq!(about(&made), 0);
    }

    /// Nothing is the opposite of a certain time.
    #[test]
    fn what_is_opposite_to_a_certain_time_is_doubtful() {
        let mut made = scenario(50.0, 30.0, &[5], vec![step("cut")]);
        made.steps[0].opposite = 0.4;
        made.steps[0].setup = Spread::uniform(4.0, 9.0);
        for (each, due) in [(Spread::Certain(6.0), 1), (Spread::uniform(5.0, 8.0), 0)] {
            made.steps[0].each = each;
            let about = doubts(&made).iter().filter(|doubt| doubt.contains("opposite")).count();
            assert_eq!(about, due);
        }
    }

    /// A known number of buyers sells something wherever it is above 0; a range that is rounded to none does not.
    #[test]
    fn a_selling_day_on_which_nobody_buys_is_doubtful() {
        let fair = |sells: Spread| {
            let text = "[batch]\nsizes = [5]\n[sale]\nprice = 50\n[[step]]\nname = \"saw\"\neach = \"10 min\"\n[[selling_day]]\nname = \"fair\"\nsells = 3\nthere = \"6 h\"\n";
            let mut made =
                crate::scenario::read("fair", &format!("target = 30\ncurrency = \"EUR\"\n{text}"), &[]).unwrap();
            made.selling_days[0].sells = sells;
            doubts(&made)
                .iter()
                .filter(|doubt| doubt.contains("sells nothing"))
                .count()
        };
        assert_eq!([0.0, 0.4, 3.0].map(|known| fair(Spread::Certain(known))), [1, 0, 0]);
    }
}
