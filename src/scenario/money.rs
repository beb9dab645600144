//! A scenario in another's money, so that the two can be set against each other.
//!
//! Assumption: the exchange is the same in every batch, at its mean. What a rate may do to a price is said where the scenario sells abroad;
//! here two pieces are compared, and both are paid for in one purse.

use super::{Sale, Scenario, Unsold};

/// Digits after the point in which a currency is paid and written: its minor unit by ISO 4217 (the list from memory), 2 where it is none of these.
#[must_use]
pub fn minor_digits(currency: &str) -> u8 {
    match currency {
        "BIF" | "CLP" | "DJF" | "GNF" | "ISK" | "JPY" | "KMF" | "KRW" | "PYG" | "RWF" | "UGX" | "UYI" | "VND"
        | "VUV" | "XAF" | "XOF" | "XPF" => 0,
        "BHD" | "IQD" | "JOD" | "KWD" | "LYD" | "OMR" | "TND" => 3,
        "CLF" | "UYW" => 4,
        _ => 2,
    }
}

/// The smallest coins that make one of a currency: a hundred cents, a thousand fils, or one where there are none.
#[must_use]
pub fn coins(currency: &str) -> f64 {
    libm::pow(10.0, f64::from(minor_digits(currency)))
}

impl Scenario {
    /// What one unit of this scenario's money is worth in the money of another, where one of the two says so under \[currencies\].
    #[must_use]
    pub fn worth_in(&self, other: &Self) -> Option<f64> {
        if self.currency == other.currency {
            return Some(1.0);
        }
        let said = |by: &Self, of: &str| {
            let one = by.currencies.iter().find(|currency| currency.code == of)?;
            Some(one.rate.mean())
        };
        said(other, &self.currency).or_else(|| said(self, &other.currency).map(|worth| 1.0 / worth))
    }

    /// This scenario with all its money in another currency, of which one unit of its own is worth `worth`.
    #[must_use]
    pub fn in_currency(&self, code: &str, worth: f64) -> Self {
        let mut made = self.clone();
        code.clone_into(&mut made.currency);
        made.target_per_hour *= worth;
        if let Some(helper) = &mut made.helper {
            helper.wage *= worth;
        }
        made.shop.per_hour *= worth;
        made.shop.per_month *= worth;
        made.sale.exchange(worth);
        for channel in &mut made.channels {
            channel.sale.exchange(worth);
            if let Some(on_return) = &mut channel.on_return {
                on_return.worn_price *= worth;
            }
        }
        for day in &mut made.selling_days {
            day.price *= worth;
            day.cost = day.cost.scaled(worth);
        }
        if let Some(seconds) = &mut made.seconds {
            seconds.sale.exchange(worth);
        }
        // Amounts in a third currency stay as they are written; what a unit of it is worth changes.
        for currency in &mut made.currencies {
            currency.rate = currency.rate.scaled(worth);
        }
        for material in made.materials.iter_mut().filter(|material| material.currency.is_none()) {
            material.price = material.price.scaled(worth);
            material.paid = material.paid.map(|paid| paid * worth);
            for tier in &mut material.breaks {
                tier.price = tier.price.scaled(worth);
            }
        }
        if let Some(season) = &mut made.season {
            season.asked_at *= worth;
            if let Unsold::Clearance(each) = &mut season.leftover {
                *each *= worth;
            }
        }
        for jig in &mut made.jigs {
            jig.cost *= worth;
        }
        for misfortune in &mut made.misfortunes {
            *misfortune.scenario = misfortune.scenario.in_currency(code, worth);
        }
        made
    }
}

impl Sale {
    fn exchange(&mut self, worth: f64) {
        let abroad = self.currencies;
        for (amount, abroad) in [
            (&mut self.price, abroad.price),
            (&mut self.fee_per_order, abroad.fee_per_order),
            (&mut self.post_charged, abroad.post_charged),
        ] {
            if abroad.is_none() {
                *amount *= worth;
            }
        }
        self.single_price = self.single_price.map(|price| price * worth);
        for (amount, abroad) in [(&mut self.post, abroad.post), (&mut self.tip, abroad.tip)] {
            if abroad.is_none() {
                *amount = amount.scaled(worth);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::scenario::Spread;

    /// Every amount of a selling day is worth twice as much in a money of half the worth, once.
    #[test]
    fn a_selling_day_is_changed_once() {
        let text = "target = 20\n[[step]]\nname = \"make\"\neach = \"20 min\"\n[sale]\nprice = 50\n\
                    [[selling_day]]\nname = \"fair\"\nsells = 9\nprice = 40\ncost = 30\nthere = \"6 h\"\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let day = &shop.in_currency("USD", 2.0).selling_days[0];
        assert_eq!((day.price, &day.cost), (80.0, &Spread::Certain(60.0)));
    }
}
