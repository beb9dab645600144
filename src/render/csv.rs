//! Rows of cells as CSV: unrounded, nothing in a cell that has no figure.

use crate::clean;

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
            .write_record(cells.iter().map(|text| clean::cell(text).into_owned()))
            .expect("rows of one width, written to memory, cannot fail");
    }

    pub(super) fn into_text(self) -> String {
        let bytes = self.0.into_inner().expect("memory takes what is flushed to it");
        String::from_utf8(bytes).expect("texts in, text out")
    }
}

#[cfg(test)]
mod tests {
    use crate::questions::sweep::Sweep;
    use crate::render::columns::Declared;
    use crate::render::samples::{Shop, gallery};
    use crate::render::table::sizes;

    fn sweep(answer: &Sweep) -> String {
        sizes(answer).csv()
    }

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
