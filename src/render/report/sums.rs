//! The workbook's sheets that reckon: a scenario's averages as sums, which follow when a price or a time is changed.
//!
//! One sheet has the means, each in a cell with a name, and the sums by batch size; one has the counts ([`Counts`]), which no price and
//! no time changes. Formulas hold their results, so that a reader that does not reckon shows them as well.

use std::collections::BTreeSet;

use rust_xlsxwriter::{
    Chart, ChartFormat, ChartLegendPosition, ChartLine, ChartType, Color, Format, FormatAlign, Formula, Workbook,
    Worksheet, XlsxError,
};

use super::workbook::{self, BAND, LINE, MAIN, SECOND, head_format, small_format, title_format};
use crate::model::sums::{Counts, Sums, Total};
use crate::render::format::Form;

/// The tint of a cell that is there to be changed.
const OPEN: Color = Color::RGB(0xff_f6df);
/// More sizes than this are left out: the sheet is for looking at.
const MOST_SIZES: usize = 400;

/// What one scenario's sheets are made of.
pub struct Asked<'a> {
    /// The scenario's title.
    pub title: &'a str,
    /// The currency of its money.
    pub currency: &'a str,
    /// Names of the two sheets.
    pub sheets: [String; 2],
    /// Its averages.
    pub sums: &'a Sums,
    /// What an hour earned on average in the simulation, by size.
    pub simulated: &'a [(u32, f64)],
}

/// A cell, as formulas name it.
fn cell(row: u32, column: u16) -> String {
    rust_xlsxwriter::utility::row_col_to_cell_absolute(row, column)
}

/// Rows of a column.
fn range(first: u32, rows: usize, column: u16) -> String {
    format!("{}:{}", cell(first, column), cell(first + rows as u32 - 1, column))
}

/// A name for a cell made of what it is and whose: letters, digits and `_`, no name twice.
fn named(what: &str, whose: &str, taken: &mut BTreeSet<String>) -> String {
    let letters = whose.chars().map(|c| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '_'
        }
    });
    let plain: String = format!("{what}_").chars().chain(letters).take(60).collect();
    let mut name = plain.clone();
    let mut number = 2;
    while !taken.insert(name.clone()) {
        name = format!("{plain}_{number}");
        number += 1;
    }
    name
}

/// Where the means stand that the sums need: first row of each block on the sheet of sums, and of each kind of count on that of counts.
struct Places {
    steps: u32,
    ways: u32,
    materials: u32,
    counts: [u32; 7],
}

/// Adds both sheets of one scenario.
///
/// # Errors
/// [`XlsxError`], where a sheet cannot be written.
pub fn add(book: &mut Workbook, asked: &Asked) -> Result<(), XlsxError> {
    let sums = asked.sums;
    let mut names = Vec::new();
    let sheet = book.add_worksheet();
    sheet
        .set_name(&asked.sheets[0])?
        .set_landscape()
        .set_print_fit_to_pages(1, 0);
    sheet.set_column_width(0, 26)?;
    sheet.set_column_range_width(1, 11, 13)?;
    sheet.write_string_with_format(0, 0, workbook::cut(&format!("Sums: {}", asked.title)), &title_format())?;
    workbook::note(
        sheet,
        1,
        11,
        &format!(
            "Change a figure in a tinted cell and the sums follow. They are averages without chance; how sure they are stands on the \
             other sheets. What is counted stands on the sheet {}, as the file has it: another price here has no other buyers.",
            asked.sheets[1]
        ),
    )?;
    let places = means(sheet, asked, &mut names)?;
    batches(sheet, asked, &places)?;
    for (name, place) in names {
        let quoted = asked.sheets[0].replace('\'', "''");
        book.define_name(format!("'{quoted}'!{name}"), &format!("='{quoted}'!{place}"))?;
    }
    counts(book.add_worksheet(), asked, &places, sums)
}

fn money(asked: &Asked) -> Format {
    Format::new()
        .set_align(FormatAlign::Right)
        .set_num_format(Form::money(1.0, asked.currency).sheet())
}

fn open(format: &Format) -> Format {
    format.clone().set_background_color(OPEN)
}

fn heads(sheet: &mut Worksheet, row: u32, heads: &[&str]) -> Result<(), XlsxError> {
    let right = head_format().set_align(FormatAlign::Right);
    for (column, head) in heads.iter().enumerate() {
        let format = if column == 0 { head_format() } else { right.clone() };
        sheet.write_string_with_format(row, column as u16, *head, &format)?;
    }
    sheet.set_row_height(row, 3.0 * LINE)?;
    Ok(())
}

/// The means, each in a tinted cell; the names of cells go into `names`.
fn means(sheet: &mut Worksheet, asked: &Asked, names: &mut Vec<(String, String)>) -> Result<Places, XlsxError> {
    let sums = asked.sums;
    let (money, number) = (money(asked), Format::new().set_num_format("0.00"));
    let share = Format::new().set_num_format("0.0%");
    let mut taken = BTreeSet::new();
    let mut row = 3;
    for (what, name, value, format) in [
        ("Price asked", "price", sums.price, &money),
        ("Wanted for an hour", "target", sums.target, &money),
        ("Pace of the work", "pace", sums.pace, &number),
        ("Overhead an hour", "overhead", sums.overhead, &money),
    ] {
        sheet.write_string(row, 0, what)?;
        sheet.write_number_with_format(row, 1, value, &open(format))?;
        names.push((name.to_owned(), cell(row, 1)));
        taken.insert(name.to_owned());
        row += 1;
    }
    row += 1;
    heads(
        sheet,
        row,
        &[
            "step",
            "setup, min a round",
            "each piece, min",
            "each order, min",
            "once, min",
        ],
    )?;
    let steps = row + 1;
    for step in &sums.steps {
        row += 1;
        sheet.write_string(row, 0, workbook::cut(&step.name))?;
        for (k, (what, value)) in [
            ("ready", step.setup),
            ("each", step.each),
            ("order", step.per_order),
            ("once", step.once),
        ]
        .into_iter()
        .enumerate()
        {
            let column = k as u16 + 1;
            sheet.write_number_with_format(row, column, value, &open(&number))?;
            names.push((named(what, &step.name, &mut taken), cell(row, column)));
        }
    }
    let order_minutes = format!("SUM({})", range(steps, sums.steps.len(), 3));
    let of_steps: f64 = sums.steps.iter().map(|step| step.per_order).sum();
    row += 2;
    heads(
        sheet,
        row,
        &[
            "way of selling",
            "price",
            "tax in the price",
            "fee",
            "fee an order",
            "postage paid",
            "postage charged",
            "given back",
            "tip, an order",
            "each order, min",
            "kept of the price",
        ],
    )?;
    let ways = row + 1;
    for way in &sums.ways {
        row += 1;
        let name = way.name.as_deref().unwrap_or("direct");
        sheet.write_string(row, 0, workbook::cut(name))?;
        // A way's own price keeps its share of the list price, as the floor has it.
        let price = Formula::new(format!("=price*{}", way.ratio)).set_result((sums.price * way.ratio).to_string());
        sheet.write_formula_with_format(row, 1, price, &money)?;
        for (k, (what, value, format)) in [
            ("tax", way.tax, &share),
            ("fee", way.fee, &share),
            ("order_fee", way.fee_per_order, &money),
            ("postage", way.post, &money),
            ("charged", way.post_charged, &money),
            ("given_back", way.returned, &share),
            ("tip", way.tip, &money),
        ]
        .into_iter()
        .enumerate()
        {
            let column = k as u16 + 2;
            sheet.write_number_with_format(row, column, value, &open(format))?;
            names.push((named(what, name, &mut taken), cell(row, column)));
        }
        match way.minutes {
            Some(own) => {
                sheet.write_number_with_format(row, 9, own, &open(&number))?;
            }
            None => {
                let formula = Formula::new(format!("={order_minutes}")).set_result(of_steps.to_string());
                sheet.write_formula_with_format(row, 9, formula, &number)?;
            }
        }
        let kept = format!("=(1-{})/(1+{})-{}", cell(row, 7), cell(row, 2), cell(row, 3));
        let kept = Formula::new(kept).set_result(way.kept().to_string());
        sheet.write_formula_with_format(row, 10, kept, &share)?;
    }
    row += 2;
    heads(sheet, row, &["material", "price", "for a"])?;
    let materials = row + 1;
    for material in &sums.materials {
        row += 1;
        sheet.write_string(row, 0, workbook::cut(&material.name))?;
        sheet.write_number_with_format(row, 1, material.price, &open(&money))?;
        let right = Format::new().set_align(FormatAlign::Right);
        sheet.write_string_with_format(row, 2, workbook::cut(&material.unit), &right)?;
        names.push((named("price_of", &material.name, &mut taken), cell(row, 1)));
    }
    let mut counts = [0; 7];
    let lengths = [
        sums.steps.len(),
        sums.steps.len(),
        sums.ways.len(),
        sums.ways.len(),
        sums.materials.len(),
        1,
        1,
    ];
    let mut next = 3;
    for (place, length) in counts.iter_mut().zip(lengths) {
        *place = next;
        next += length as u32;
    }
    Ok(Places {
        steps,
        ways,
        materials,
        counts,
    })
}

/// What the formulas of one batch say, in the order of the table's columns.
struct Batch<'a> {
    places: &'a Places,
    sums: &'a Sums,
    counts_sheet: String,
    /// Column on the sheet of counts.
    column: u16,
}

impl Batch<'_> {
    fn counted(&self, kind: usize, rows: usize) -> String {
        format!(
            "{}!{}",
            self.counts_sheet,
            range(self.places.counts[kind], rows, self.column)
        )
    }

    /// Sum over rows of a column of means times counts; more columns of counts or means are factors.
    fn product(&self, first: u32, rows: usize, column: u16, kind: usize) -> String {
        if rows == 0 {
            return "0".to_owned();
        }
        format!(
            "SUMPRODUCT({},{})",
            range(first, rows, column),
            self.counted(kind, rows)
        )
    }

    fn hours(&self) -> String {
        let (p, steps, ways) = (self.places, self.sums.steps.len(), self.sums.ways.len());
        format!(
            "=pace/60*({}*SUM({})+{}+{}+{})",
            self.counted(5, 1),
            range(p.steps, steps, 4),
            self.product(p.steps, steps, 1, 0),
            self.product(p.steps, steps, 2, 1),
            self.product(p.ways, ways, 9, 3),
        )
    }

    fn income(&self) -> String {
        let (first, ways) = (self.places.ways, self.sums.ways.len());
        let of = |column| range(first, ways, column);
        let (pieces, orders) = (self.counted(2, ways), self.counted(3, ways));
        format!(
            "=SUMPRODUCT({},{},{pieces})+SUMPRODUCT({},{},{orders})+SUMPRODUCT({},{orders})-SUMPRODUCT({},{},{orders})\
             -SUMPRODUCT({},{orders})-SUMPRODUCT({},{orders})",
            of(1),
            of(10),
            of(6),
            of(10),
            of(8),
            of(8),
            of(7),
            of(4),
            of(5),
        )
    }

    fn materials(&self) -> String {
        let product = self.product(self.places.materials, self.sums.materials.len(), 1, 4);
        format!("={product}")
    }

    fn per_price(&self) -> String {
        let (first, ways) = (self.places.ways, self.sums.ways.len());
        format!(
            "SUMPRODUCT({},{},{})/price",
            range(first, ways, 1),
            range(first, ways, 10),
            self.counted(2, ways)
        )
    }
}

/// The sums by batch size, what they say, and the ceiling.
fn batches(sheet: &mut Worksheet, asked: &Asked, places: &Places) -> Result<(), XlsxError> {
    let sums = asked.sums;
    let money = money(asked);
    let bold = money.clone().set_bold().set_background_color(BAND);
    let hours = Format::new().set_num_format(Form::Hours.sheet());
    let fewest = places.materials + sums.materials.len() as u32 + 1;
    let first = fewest + 5;
    let sizes = sums.sizes.len().min(MOST_SIZES);
    heads(
        sheet,
        first - 1,
        &[
            "pieces in a batch",
            "hours",
            "buyers bring",
            "material",
            "overhead",
            "left over and kept",
            "profit",
            "an hour earns",
            "price floor",
            "reaches what you want",
            "an hour earned, simulated",
        ],
    )?;
    let write = |sheet: &mut Worksheet, row: u32, column: u16, counts: &Counts| -> Result<(), XlsxError> {
        let total = sums.total(counts);
        let batch = Batch {
            places,
            sums,
            counts_sheet: format!("'{}'", asked.sheets[1].replace('\'', "''")),
            column,
        };
        let besides = format!("={}", batch.counted(6, 1));
        let profit = format!("={}-{}-{}+{}", cell(row, 2), cell(row, 3), cell(row, 4), cell(row, 5));
        let formulas: [(String, f64, &Format); 7] = [
            (batch.hours(), total.hours, &hours),
            (batch.income(), total.income, &money),
            (batch.materials(), total.materials, &money),
            (format!("=overhead*{}", cell(row, 1)), total.overhead, &money),
            (besides, counts.besides, &money),
            (profit, total.profit, &money),
            (format!("={}/{}", cell(row, 6), cell(row, 1)), total.rate(), &bold),
        ];
        for (k, (formula, result, format)) in formulas.into_iter().enumerate() {
            let formula = Formula::new(formula).set_result(result.to_string());
            sheet.write_formula_with_format(row, k as u16 + 1, formula, format)?;
        }
        floor(sheet, row, &batch, &total, &money)
    };
    for (k, (size, counts)) in sums.sizes.iter().take(sizes).enumerate() {
        let row = first + k as u32;
        sheet.write_number(row, 0, f64::from(*size))?;
        write(sheet, row, k as u16 + 2, counts)?;
        let reaches = format!("=IF({}>=target,\"yes\",\"no\")", cell(row, 7));
        let said = if sums.total(counts).rate() >= sums.target {
            "yes"
        } else {
            "no"
        };
        let right = Format::new().set_align(FormatAlign::Right);
        sheet.write_formula_with_format(row, 9, Formula::new(reaches).set_result(said), &right)?;
        if let Some((_, rate)) = asked.simulated.iter().find(|(of, _)| of == size) {
            sheet.write_number_with_format(row, 10, *rate, &money)?;
        }
    }
    let end = first + sizes as u32;
    sheet.write_string(end + 1, 0, "one more, without end")?;
    write(sheet, end + 1, 1, &sums.endless)?;
    chart(sheet, asked, first, sizes)?;
    sheet.write_string(fewest, 0, "Fewest that reach it")?;
    let reaching = sums
        .sizes
        .iter()
        .take(sizes)
        .find(|(_, counts)| sums.total(counts).rate() >= sums.target);
    let (all, verdicts) = (range(first, sizes, 0), range(first, sizes, 9));
    let formula = format!("=IFERROR(INDEX({all},MATCH(\"yes\",{verdicts},0)),\"none here\")");
    let said = reaching.map_or_else(|| "none here".to_owned(), |(size, _)| size.to_string());
    let whole = bold.clone().set_num_format(Form::Count.sheet());
    sheet.write_formula_with_format(fewest, 1, Formula::new(formula).set_result(said), &whole)?;
    sheet.write_string(fewest + 1, 0, "No batch passes")?;
    let ceiling = sums.total(&sums.endless).rate();
    let formula = Formula::new(format!("={}", cell(end + 1, 7))).set_result(ceiling.to_string());
    sheet.write_formula_with_format(fewest + 1, 1, formula, &bold)?;
    sheet.write_string_with_format(fewest + 1, 2, "an hour, on average", &small_format())?;
    let mut notes = Vec::new();
    if !sums.near.is_empty() {
        let names: Vec<&str> = sums.near.iter().map(|k| sums.materials[*k].name.as_str()).collect();
        notes.push(format!(
            "{}: the cheapest purchase at the average price, so the simulated average is a little different.",
            names.join(", ")
        ));
    }
    if sizes < sums.sizes.len() {
        notes.push(format!("The first {sizes} of {} sizes.", sums.sizes.len()));
    }
    for (k, said) in notes.iter().enumerate() {
        workbook::note(sheet, end + 3 + k as u32, 11, said)?;
    }
    Ok(())
}

/// What an hour earns by size, by the sums and as simulated: the first follows what is changed.
fn chart(sheet: &mut Worksheet, asked: &Asked, first: u32, sizes: usize) -> Result<(), XlsxError> {
    if sizes < 2 {
        return Ok(());
    }
    let (name, last) = (asked.sheets[0].as_str(), first + sizes as u32 - 1);
    let mut chart = Chart::new(ChartType::ScatterStraight);
    chart.title().set_name("What an hour earns");
    chart.x_axis().set_name("pieces in a batch");
    chart.y_axis().set_name(asked.currency).set_num_format("#,##0.##");
    chart.legend().set_position(ChartLegendPosition::Bottom);
    chart.set_width(640).set_height(360);
    chart.set_alt_text("What an hour earns, against pieces in a batch");
    for (head, column, colour) in [("sums", 7, MAIN), ("simulated", 10, SECOND)] {
        if column == 10 && asked.simulated.is_empty() {
            continue;
        }
        chart
            .add_series()
            .set_name(head)
            .set_categories((name, first, 0, last, 0))
            .set_values((name, first, column, last, column))
            .set_format(ChartFormat::new().set_line(ChartLine::new().set_color(colour).set_width(2)));
    }
    sheet.insert_chart(2, 12, &chart)?;
    Ok(())
}

/// The price at which a batch earns what is wanted on average, where a price does it.
fn floor(sheet: &mut Worksheet, row: u32, batch: &Batch, total: &Total, money: &Format) -> Result<(), XlsxError> {
    let formula = format!(
        "=IFERROR(MAX(0,price+(target*{}-{})/({})),\"no price\")",
        cell(row, 1),
        cell(row, 6),
        batch.per_price()
    );
    let said = batch
        .sums
        .floor(total)
        .map_or_else(|| "no price".to_owned(), |price| price.to_string());
    sheet.write_formula_with_format(row, 8, Formula::new(formula).set_result(said), money)?;
    Ok(())
}

/// The sheet of counts: a column a size, the endless batch first.
fn counts(sheet: &mut Worksheet, asked: &Asked, places: &Places, sums: &Sums) -> Result<(), XlsxError> {
    sheet
        .set_name(&asked.sheets[1])?
        .set_landscape()
        .set_print_fit_to_pages(1, 0);
    sheet.set_column_width(0, 44)?;
    sheet.write_string_with_format(
        0,
        0,
        workbook::cut(&format!("Counts: {}", asked.title)),
        &title_format(),
    )?;
    sheet.write_string_with_format(
        1,
        0,
        "What a batch counts on average. A go is one piece handled once by somebody who has learned nothing yet.",
        &small_format(),
    )?;
    sheet.write_string_with_format(2, 0, "pieces in a batch", &head_format())?;
    sheet.set_freeze_panes(3, 1)?;
    let label = |what: &str, whose: &str| workbook::cut(&format!("{what}: {whose}"));
    let way = |k: usize| sums.ways[k].name.as_deref().unwrap_or("direct");
    for (k, step) in sums.steps.iter().enumerate() {
        sheet.write_string(places.counts[0] + k as u32, 0, label("rounds", &step.name))?;
        sheet.write_string(places.counts[1] + k as u32, 0, label("goes", &step.name))?;
    }
    for k in 0..sums.ways.len() {
        sheet.write_string(places.counts[2] + k as u32, 0, label("pieces sold", way(k)))?;
        sheet.write_string(places.counts[3] + k as u32, 0, label("orders", way(k)))?;
    }
    for (k, material) in sums.materials.iter().enumerate() {
        sheet.write_string(places.counts[4] + k as u32, 0, label("units bought", &material.name))?;
    }
    sheet.write_string(places.counts[5], 0, "share of what is done once")?;
    sheet.write_string(places.counts[6], 0, "money from left over pieces, less keeping")?;
    let sizes = sums
        .sizes
        .iter()
        .take(MOST_SIZES)
        .map(|(size, counts)| (Some(*size), counts));
    let plain = Format::new().set_num_format("0.00");
    let right = head_format().set_align(FormatAlign::Right);
    for (k, (size, counted)) in std::iter::once((None, &sums.endless)).chain(sizes).enumerate() {
        let column = k as u16 + 1;
        let head = size.map_or_else(|| "one more".to_owned(), |size| size.to_string());
        sheet.write_string_with_format(2, column, head, &right)?;
        let rows = [
            &counted.rounds[..],
            &counted.goes,
            &counted.pieces,
            &counted.orders,
            &counted.units,
            &[counted.once],
            &[counted.besides],
        ];
        for (value, row) in rows.into_iter().flatten().zip(places.counts[0]..) {
            sheet.write_number_with_format(row, column, *value, &plain)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_cells_are_letters_and_none_stands_twice() {
        let mut taken = BTreeSet::from(["price".to_owned()]);
        assert_eq!(named("each", "Glue & clamp", &mut taken), "each_glue___clamp");
        assert_eq!(named("each", "glue + clamp", &mut taken), "each_glue___clamp_2");
        assert_eq!(named("price_of", "=HYPERLINK(1)", &mut taken), "price_of__hyperlink_1_");
        assert_eq!(cell(3, 1), "$B$4");
        assert_eq!(range(3, 2, 1), "$B$4:$B$5");
    }
}
