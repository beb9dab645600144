//! Answers as CSV: one row a size, unrounded, units in the headers, nothing in a cell that has no figure.

use crate::questions::sweep::{Floor, SizeAnswer, Sweep};

/// The sweep as a table with one header row. Times are in hours, shares are fractions.
///
/// The columns do not depend on the figures, but for the price floors: a triple for each confidence that the answer holds.
#[must_use]
pub fn sweep(answer: &Sweep) -> String {
    let unit = &answer.currency;
    // Every size of one answer has floors at the same confidences; the first speaks for all.
    let confidences: Vec<f64> = answer
        .sizes
        .first()
        .map(|s| s.floor.iter().map(|f| f.confidence).collect())
        .unwrap_or_default();
    let mut names = header(unit, &confidences, answer.confidence);
    names.extend(["sold_out_share", "sold_out_low", "sold_out_high"].map(String::from));
    for channel in answer.sizes.first().map_or(&[][..], |size| &size.channels) {
        let (name, own) = (&channel.name, &channel.currency);
        names.extend([
            format!("channel {name} sold_mean"),
            format!("channel {name} orders_mean"),
            format!("channel {name} hours_mean"),
            format!("channel {name} profit_mean_{unit}"),
            format!("channel {name} rate_long_run_{unit}_per_hour"),
            format!("channel {name} rate_long_run_se_{unit}_per_hour"),
            format!("channel {name} floor_asked_{own}"),
        ]);
    }
    let mut table = Table::new(names);
    for size in &answer.sizes {
        let mut cells = row(size, &confidences);
        let share = &size.sold_out;
        cells.extend([share.share, share.low, share.high].map(|v| cell(Some(v))));
        for c in &size.channels {
            cells.extend([c.sold, c.orders, c.hours, c.profit, c.rate.mean, c.rate.se].map(|v| cell(Some(v))));
            cells.push(cell(c.floor_asked));
        }
        table.row(cells);
    }
    table.into_text()
}

fn header(unit: &str, confidences: &[f64], asked: f64) -> Vec<String> {
    let mut names: Vec<String> = ["size", "good_mean", "good_se", "sold_mean", "sold_se"]
        .map(String::from)
        .to_vec();
    for part in ["mean", "se", "p10", "p50", "p90"] {
        names.push(format!("hours_{part}"));
    }
    for part in [
        "mean",
        "p10",
        "p50",
        "p90",
        "once",
        "setup",
        "each",
        "redo",
        "per_order",
    ] {
        names.push(format!("hours_per_piece_{part}"));
    }
    names.push("setup_share".into());
    for part in ["mean", "se", "p10", "p50", "p90"] {
        names.push(format!("profit_{part}_{unit}"));
    }
    for part in ["mean", "p10", "p50", "p90", "long_run", "long_run_se", "long_run_paid"] {
        names.push(format!("rate_{part}_{unit}_per_hour"));
    }
    names.extend(["reach_share", "reach_low", "reach_high"].map(String::from));
    for confidence in confidences {
        let percent = (confidence * 1e4).round() / 100.0;
        names.extend(["price", "low", "high"].map(|end| format!("floor_{percent}pct_{end}_{unit}")));
    }
    let percent = (asked * 1e4).round() / 100.0;
    names.extend(["price", "low", "high"].map(|end| format!("floor_asked_{percent}pct_{end}_{unit}")));
    names.push(format!("floor_long_run_{unit}"));
    for part in [
        "income",
        "materials",
        "materials_paid",
        "fees",
        "post",
        "shop",
        "clearance",
        "holding",
    ] {
        names.push(format!("money_{part}_{unit}"));
    }
    names
}

fn row(s: &SizeAnswer, confidences: &[f64]) -> Vec<String> {
    let mut cells = vec![s.size.to_string()];
    let mut add = |values: &[f64]| cells.extend(values.iter().map(|&v| cell(Some(v))));
    add(&[s.good.mean, s.good.se, s.sold.mean, s.sold.se]);
    add(&[s.hours.mean, s.hours.se, s.hours.p10, s.hours.p50, s.hours.p90]);
    let (per, parts) = (&s.hours_per_piece, &s.hours_parts);
    add(&[
        per.mean,
        per.p10,
        per.p50,
        per.p90,
        parts.once,
        parts.setup,
        parts.each,
        parts.redo,
        parts.per_order,
    ]);
    add(&[s.setup_share]);
    add(&[s.profit.mean, s.profit.se, s.profit.p10, s.profit.p50, s.profit.p90]);
    let rate = &s.rate;
    add(&[
        rate.mean,
        rate.p10,
        rate.p50,
        rate.p90,
        rate.long_run,
        rate.long_run_se,
        rate.long_run_paid,
    ]);
    add(&[s.reach.share, s.reach.low, s.reach.high]);
    let none = |confidence| Floor {
        confidence,
        price: None,
        low: None,
        high: None,
    };
    for (i, &confidence) in confidences.iter().enumerate() {
        let floor = s.floor.get(i).copied().unwrap_or_else(|| none(confidence));
        cells.extend([floor.price, floor.low, floor.high].map(cell));
    }
    cells.extend(
        [
            s.floor_asked.price,
            s.floor_asked.low,
            s.floor_asked.high,
            s.floor_long_run,
        ]
        .map(cell),
    );
    let money = &s.money;
    let sums = [
        money.income,
        money.materials,
        money.materials_paid,
        money.fees,
        money.post,
        money.shop,
        money.clearance,
        money.holding,
    ];
    cells.extend(sums.map(|v| cell(Some(v))));
    cells
}

/// The shortest digits that read back as the same number; empty where there is none.
pub(super) fn cell(value: Option<f64>) -> String {
    value
        .filter(|v| v.is_finite())
        .map(|v| v.to_string())
        .unwrap_or_default()
}

/// Rows of one width, written to memory.
pub(super) struct Table(csv::Writer<Vec<u8>>);

impl Table {
    pub(super) fn new(header: Vec<String>) -> Self {
        let mut table = Self(csv::Writer::from_writer(Vec::new()));
        table.row(header);
        table
    }

    pub(super) fn row(&mut self, cells: Vec<String>) {
        self.0
            .write_record(cells)
            .expect("rows of one width, written to memory, cannot fail");
    }

    pub(super) fn into_text(self) -> String {
        let bytes = self.0.into_inner().expect("memory takes what is flushed to it");
        String::from_utf8(bytes).expect("texts in, text out")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{Shop, gallery};

    fn read(text: &str) -> (csv::StringRecord, Vec<csv::StringRecord>) {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        (header, reader.records().map(Result::unwrap).collect())
    }

    #[test]
    fn the_header_names_what_and_in_which_unit() {
        let (header, _) = read(&sweep(&Shop::default().sweep([1])));
        let expected = "size good_mean good_se sold_mean sold_se hours_mean hours_se hours_p10 hours_p50 hours_p90 \
             hours_per_piece_mean hours_per_piece_p10 hours_per_piece_p50 hours_per_piece_p90 hours_per_piece_once \
             hours_per_piece_setup hours_per_piece_each hours_per_piece_redo hours_per_piece_per_order setup_share \
             profit_mean_EUR profit_se_EUR profit_p10_EUR profit_p50_EUR profit_p90_EUR rate_mean_EUR_per_hour \
             rate_p10_EUR_per_hour rate_p50_EUR_per_hour rate_p90_EUR_per_hour rate_long_run_EUR_per_hour \
             rate_long_run_se_EUR_per_hour rate_long_run_paid_EUR_per_hour reach_share reach_low reach_high \
             floor_50pct_price_EUR floor_50pct_low_EUR floor_50pct_high_EUR floor_80pct_price_EUR floor_80pct_low_EUR \
             floor_80pct_high_EUR floor_90pct_price_EUR floor_90pct_low_EUR floor_90pct_high_EUR \
             floor_asked_80pct_price_EUR floor_asked_80pct_low_EUR floor_asked_80pct_high_EUR floor_long_run_EUR \
             money_income_EUR money_materials_EUR money_materials_paid_EUR money_fees_EUR money_post_EUR money_shop_EUR money_clearance_EUR \
             money_holding_EUR sold_out_share sold_out_low sold_out_high";
        assert_eq!(
            header.iter().collect::<Vec<_>>(),
            expected.split_whitespace().collect::<Vec<_>>()
        );
    }

    #[test]
    fn every_answer_is_one_row_a_size_under_its_own_header() {
        for (name, answer) in gallery() {
            let (header, rows) = read(&sweep(&answer));
            assert_eq!(rows.len(), answer.sizes.len(), "{name}");
            let column = |wanted: &str| header.iter().position(|h| h == wanted).unwrap();
            for (row, size) in rows.iter().zip(&answer.sizes) {
                let number = |name: &str| row[column(name)].parse::<f64>().ok();
                assert_eq!(row[0], size.size.to_string());
                assert_eq!(number("rate_p50_EUR_per_hour"), Some(size.rate.p50), "{name}");
                assert_eq!(number("hours_per_piece_setup"), Some(size.hours_parts.setup));
                assert_eq!(number("floor_90pct_price_EUR"), size.floor[2].price);
                assert_eq!(number("floor_asked_80pct_high_EUR"), size.floor_asked.high);
                assert_eq!(number("money_shop_EUR"), Some(size.money.shop));
            }
        }
    }

    #[test]
    fn an_answer_without_sizes_is_a_header() {
        let (header, rows) = read(&sweep(&Shop::default().sweep([])));
        assert!(header.len() > 40 && rows.is_empty());
    }
}
