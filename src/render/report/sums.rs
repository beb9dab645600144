//! The workbook's sheets that reckon: a scenario's averages as sums, which follow when a price or a time is changed.
//!
//! One sheet has the means, each in a cell with a name, and the sums by batch size; one has the counts ([`Counts`]), which no price and
//! no time changes. Formulas hold their results, so that a reader that does not reckon shows them as well.

use std::collections::BTreeSet;

use rust_xlsxwriter::{
    ChartFormat, ChartLine, ChartLineDashType, Color, Format, FormatAlign, Formula, Workbook, Worksheet, XlsxError,
};

use super::sheets::{self, BAND, LINE, MAIN, SECOND, head_format, small_format, title_format};
use crate::model::sums::{Counts, Sums, Total};
use crate::render::format::Form;

/// Widths of the columns of names and of figures, in characters, and what paragraphs go across.
const NAMES: f64 = 26.0;
const FIGURES: f64 = 13.0;
const ACROSS: sheets::Across = sheets::Across {
    columns: 11,
    width: (NAMES + 10.0 * FIGURES) as usize,
};
/// The width of the names of counts, and how many sizes print beside them in letters that can be read.
const NAMES_OF_COUNTS: usize = 42;
const SIZES_A_PAGE: usize = 24;
/// The tint of a cell that is there to be changed.
const OPEN: Color = Color::RGB(0xff_f6df);
/// More sizes than this are left out: the sheet is for looking at.
const MOST_SIZES: usize = 400;

/// What one scenario's sheets are made of.
pub struct SumSheets<'a> {
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
pub fn add(book: &mut Workbook, wanted: &SumSheets) -> Result<(), XlsxError> {
    let sums = wanted.sums;
    let sheet = book.add_worksheet();
    sheet.set_name(&wanted.sheets[0])?.set_landscape();
    sheet.set_column_width(0, NAMES)?;
    sheet.set_column_range_width(1, 11, FIGURES)?;
    sheet.write_string_with_format(0, 0, sheets::cut(&format!("Sums: {}", wanted.title)), &title_format())?;
    sheets::note(
        sheet,
        1,
        ACROSS,
        &format!(
            "Change a figure in a tinted cell and the sums follow. They are averages without chance; how sure they are stands on the \
             other sheets. What is counted stands on the sheet {}, as the file has it: another price here has no other buyers.",
            wanted.sheets[1]
        ),
    )?;
    let mut means = Means {
        sheet: &mut *sheet,
        row: 3,
        names: Vec::new(),
        taken: BTreeSet::new(),
    };
    means.terms(wanted)?;
    let steps = means.steps(sums)?;
    let places = Places {
        steps,
        ways: means.ways(wanted, steps)?,
        materials: means.materials(wanted)?,
        counts: rows_of_counts(sums),
    };
    let names = means.names;
    batches(sheet, wanted, &places)?;
    for (name, place) in names {
        let quoted = wanted.sheets[0].replace('\'', "''");
        book.define_name(format!("'{quoted}'!{name}"), &format!("='{quoted}'!{place}"))?;
    }
    counts(book.add_worksheet(), wanted, &places, sums)
}

fn money(wanted: &SumSheets) -> Format {
    figure(&Form::money(1.0, wanted.currency).sheet())
}

fn number() -> Format {
    figure("0.00")
}

/// Figures end under their heads, and those end before the next one begins.
fn figure(format: &str) -> Format {
    Format::new()
        .set_align(FormatAlign::Right)
        .set_indent(1)
        .set_num_format(format)
}

fn open(format: &Format) -> Format {
    format.clone().set_background_color(OPEN)
}

fn heads(sheet: &mut Worksheet, row: u32, heads: &[&str]) -> Result<(), XlsxError> {
    let right = head_format().set_align(FormatAlign::Right).set_indent(1);
    for (column, head) in heads.iter().enumerate() {
        let format = if column == 0 { head_format() } else { right.clone() };
        sheet.write_string_with_format(row, column as u16, *head, &format)?;
    }
    sheet.set_row_height(row, 3.0 * LINE)?;
    Ok(())
}

/// Writes the means of a scenario, block by block, each in a tinted cell with a name.
struct Means<'a> {
    sheet: &'a mut Worksheet,
    /// The row that is written to next.
    row: u32,
    /// Names of cells, and where they stand.
    names: Vec<(String, String)>,
    taken: BTreeSet<String>,
}

impl Means<'_> {
    /// Begins a block, a row below the last, and returns its first row.
    fn block(&mut self, names: &[&str]) -> Result<u32, XlsxError> {
        heads(self.sheet, self.row + 1, names)?;
        self.row += 2;
        Ok(self.row)
    }

    /// Ends a line.
    fn line(&mut self) {
        self.row += 1;
    }

    /// What the line is about.
    fn label(&mut self, text: &str) -> Result<(), XlsxError> {
        self.sheet.write_string(self.row, 0, sheets::cut(text))?;
        Ok(())
    }

    /// A mean that may be changed.
    fn mean(&mut self, column: u16, name: &str, value: f64, format: &Format) -> Result<(), XlsxError> {
        self.sheet
            .write_number_with_format(self.row, column, value, &open(format))?;
        self.names.push((name.to_owned(), cell(self.row, column)));
        Ok(())
    }

    /// A mean of one step, way or material, whose name is made of both.
    fn mean_of(&mut self, column: u16, what: &str, whose: &str, value: f64, format: &Format) -> Result<(), XlsxError> {
        let name = named(what, whose, &mut self.taken);
        self.mean(column, &name, value, format)
    }

    fn formula(&mut self, column: u16, formula: &str, result: f64, format: &Format) -> Result<(), XlsxError> {
        let formula = Formula::new(formula).set_result(result.to_string());
        self.sheet
            .write_formula_with_format(self.row, column, formula, format)?;
        Ok(())
    }

    fn terms(&mut self, wanted: &SumSheets) -> Result<(), XlsxError> {
        let (sums, money, number) = (wanted.sums, money(wanted), number());
        for (what, name, value, format) in [
            ("Price asked", "price", sums.price, &money),
            ("Wanted for an hour", "target", sums.target, &money),
            ("Pace of the work", "pace", sums.pace, &number),
            ("Overhead an hour", "overhead", sums.overhead, &money),
        ] {
            self.label(what)?;
            self.mean(1, name, value, format)?;
            self.taken.insert(name.to_owned());
            self.line();
        }
        Ok(())
    }

    fn steps(&mut self, sums: &Sums) -> Result<u32, XlsxError> {
        let number = number();
        let first = self.block(&[
            "step",
            "setup, min a round",
            "each piece, min",
            "each order, min",
            "once, min",
        ])?;
        for step in &sums.steps {
            self.label(&step.name)?;
            self.mean_of(1, "ready", &step.name, step.setup, &number)?;
            self.mean_of(2, "each", &step.name, step.each, &number)?;
            self.mean_of(3, "order", &step.name, step.per_order, &number)?;
            self.mean_of(4, "once", &step.name, step.once, &number)?;
            self.line();
        }
        Ok(first)
    }

    /// `steps` is the first row of the steps.
    fn ways(&mut self, wanted: &SumSheets, steps: u32) -> Result<u32, XlsxError> {
        let (sums, money, number) = (wanted.sums, money(wanted), number());
        let share = figure(&Form::Share.sheet());
        let order_minutes = format!("=SUM({})", range(steps, sums.steps.len(), 3));
        let of_steps: f64 = sums.steps.iter().map(|step| step.per_order).sum();
        let first = self.block(&[
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
        ])?;
        for way in &sums.ways {
            let name = way.name.as_deref().unwrap_or("direct");
            self.label(name)?;
            // A way's own price keeps its share of the list price, as the floor has it.
            self.formula(1, &format!("=price*{}", way.ratio), sums.price * way.ratio, &money)?;
            self.mean_of(2, "tax", name, way.tax, &share)?;
            self.mean_of(3, "fee", name, way.fee, &share)?;
            self.mean_of(4, "order_fee", name, way.fee_per_order, &money)?;
            self.mean_of(5, "postage", name, way.post, &money)?;
            self.mean_of(6, "charged", name, way.post_charged, &money)?;
            self.mean_of(7, "given_back", name, way.returned, &share)?;
            self.mean_of(8, "tip", name, way.tip, &money)?;
            match way.minutes {
                Some(own) => {
                    self.sheet.write_number_with_format(self.row, 9, own, &open(&number))?;
                }
                None => self.formula(9, &order_minutes, of_steps, &number)?,
            }
            let [tax, fee, returned] = [2, 3, 7].map(|column| cell(self.row, column));
            self.formula(10, &format!("=(1-{returned})/(1+{tax})-{fee}"), way.kept(), &share)?;
            self.line();
        }
        Ok(first)
    }

    fn materials(&mut self, wanted: &SumSheets) -> Result<u32, XlsxError> {
        let money = money(wanted);
        let right = figure("General");
        let first = self.block(&["material", "price", "for a"])?;
        for material in &wanted.sums.materials {
            self.label(&material.name)?;
            self.mean_of(1, "price_of", &material.name, material.price, &money)?;
            self.sheet
                .write_string_with_format(self.row, 2, sheets::cut(&material.unit), &right)?;
            self.line();
        }
        Ok(first)
    }
}

/// First rows of the kinds of counts, one after the other on the sheet of counts.
fn rows_of_counts(sums: &Sums) -> [u32; 7] {
    let (steps, ways) = (sums.steps.len(), sums.ways.len());
    let mut next = 3;
    [steps, steps, ways, ways, sums.materials.len(), 1, 1].map(|length| {
        let first = next;
        next += length as u32;
        first
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
        let (pieces, orders) = (self.counted(2, ways), self.counted(3, ways));
        let [price, fee, paid, charged, returned, tip, kept] =
            [1, 4, 5, 6, 7, 8, 10].map(|column| range(first, ways, column));
        format!(
            "=SUMPRODUCT({price},{kept},{pieces})+SUMPRODUCT({charged},{kept},{orders})+SUMPRODUCT({tip},{orders})\
             -SUMPRODUCT({tip},{returned},{orders})-SUMPRODUCT({fee},{orders})-SUMPRODUCT({paid},{orders})",
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
fn batches(sheet: &mut Worksheet, wanted: &SumSheets, places: &Places) -> Result<(), XlsxError> {
    let sums = wanted.sums;
    let money = money(wanted);
    let verdicts = places.materials + sums.materials.len() as u32 + 1;
    let first = verdicts + 5;
    let shown = &sums.sizes[..sums.sizes.len().min(MOST_SIZES)];
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
            "price that pays on average",
            "reaches it on average",
            "an hour earned, simulated",
        ],
    )?;
    for (k, (size, counts)) in shown.iter().enumerate() {
        let row = first + k as u32;
        // Under a head that begins at the left.
        sheet.write_number_with_format(row, 0, f64::from(*size), &Format::new().set_align(FormatAlign::Left))?;
        batch(sheet, row, wanted, places, (k as u16 + 2, counts))?;
        let reaches = format!("=IF({}>=target,\"yes\",\"no\")", cell(row, 7));
        let reached = sums.total(counts).rate() >= sums.target;
        let said = if reached { "yes" } else { "no" };
        let right = figure("General");
        sheet.write_formula_with_format(row, 9, Formula::new(reaches).set_result(said), &right)?;
        if let Some((_, rate)) = wanted.simulated.iter().find(|(of, _)| of == size) {
            sheet.write_number_with_format(row, 10, *rate, &money)?;
        }
    }
    let endless = first + shown.len() as u32 + 1;
    let (last, most) = without_end(sheet, wanted, places, (endless, shown.len()))?;
    chart(sheet, wanted, places, (first, shown.len()))?;
    let bold = bold(&money);
    sheet.write_string(verdicts, 0, "Fewest that reach it on average")?;
    let mut reaching = shown.iter();
    let reaching = reaching.find(|(_, counts)| sums.total(counts).rate() >= sums.target);
    let [all, reached] = [0, 9].map(|column| range(first, shown.len(), column));
    let formula = format!("=IFERROR(INDEX({all},MATCH(\"yes\",{reached},0)),\"none here\")");
    let said = reaching.map_or_else(|| "none here".to_owned(), |(size, _)| size.to_string());
    let whole = bold.clone().set_num_format(Form::Count.sheet());
    sheet.write_formula_with_format(verdicts, 1, Formula::new(formula).set_result(said), &whole)?;
    sheet.write_string(verdicts + 1, 0, "No batch passes")?;
    let formula = Formula::new(most).set_result(sums.ceiling().to_string());
    sheet.write_formula_with_format(verdicts + 1, 1, formula, &bold)?;
    sheet.write_string_with_format(verdicts + 1, 2, "an hour, on average", &small_format().set_indent(1))?;
    let notes = notes(sums, shown.len());
    let end = last + 2 + notes.len() as u32;
    for (row, said) in (last + 2..).zip(notes) {
        sheets::note(sheet, row, ACROSS, &said)?;
    }
    // The heads of the sizes stand on the pages that follow too.
    sheet
        .set_repeat_rows(first - 1, first - 1)?
        .set_print_fit_to_pages(1, sheets::pages(end));
    Ok(())
}

/// One more piece of an endless batch, sold or left over, below so many sizes: the last row, and the formula of what no batch passes.
fn without_end(
    sheet: &mut Worksheet,
    wanted: &SumSheets,
    places: &Places,
    (row, sizes): (u32, usize),
) -> Result<(u32, String), XlsxError> {
    let sums = wanted.sums;
    sheet.write_string(row, 0, "one more, without end")?;
    batch(sheet, row, wanted, places, (1, &sums.endless))?;
    let [sold, left] = [row, row + 1].map(|row| cell(row, 7));
    let Some(counts) = &sums.left_over else {
        return Ok((row, format!("={sold}")));
    };
    sheet.write_string(row + 1, 0, "one more, left over")?;
    batch(sheet, row + 1, wanted, places, (sizes as u16 + 2, counts))?;
    let most = if sums.saves_making {
        format!("=MAX({sold},MIN({left},target))")
    } else {
        format!("=MAX({sold},{left})")
    };
    Ok((row + 1, most))
}

fn bold(money: &Format) -> Format {
    money.clone().set_bold().set_background_color(BAND)
}

/// What one batch takes and brings, in its row; its counts stand in that column of the other sheet.
fn batch(
    sheet: &mut Worksheet,
    row: u32,
    wanted: &SumSheets,
    places: &Places,
    (column, counts): (u16, &Counts),
) -> Result<(), XlsxError> {
    let total = wanted.sums.total(counts);
    let money = money(wanted);
    let bold = bold(&money);
    let hours = figure(&Form::Hours.sheet());
    let batch = Batch {
        places,
        sums: wanted.sums,
        counts_sheet: format!("'{}'", wanted.sheets[1].replace('\'', "''")),
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
}

/// What the sums leave out.
fn notes(sums: &Sums, shown: usize) -> Vec<String> {
    let mut said = vec![
        "All of this is on average. How surely a batch reaches what you want stands on the sheet Answers.".to_owned(),
    ];
    if !sums.near.is_empty() {
        let names: Vec<&str> = sums.near.iter().map(|k| sums.materials[*k].name.as_str()).collect();
        said.push(format!(
            "{}: the cheapest purchase at the average price, so the simulated average is a little different.",
            names.join(", ")
        ));
    }
    if shown < sums.sizes.len() {
        said.push(format!("The first {shown} of {} sizes.", sums.sizes.len()));
    }
    said
}

/// What an hour earns by size, by the sums and as simulated: the first follows what is changed. It stands beside the steps, where the
/// sheet is free, so that the sheet is no wider for it and prints in larger letters.
fn chart(
    sheet: &mut Worksheet,
    wanted: &SumSheets,
    places: &Places,
    (first, sizes): (u32, usize),
) -> Result<(), XlsxError> {
    /// Where it begins; columns 6 to 11 and rows as high as figures are, in pixels, but for the heads.
    const AT: (u32, u16) = (2, 6);
    const WIDE: u32 = 560;
    const ROW: u32 = 20;

    if sizes < 2 {
        return Ok(());
    }
    let (name, last) = (wanted.sheets[0].as_str(), first + sizes as u32 - 1);
    let mut chart = sheets::against("What an hour earns", "pieces in a batch", wanted.currency);
    let rows = places.ways - 2 - AT.0;
    chart.set_width(WIDE).set_height((rows * ROW + ROW).min(360));
    let simulated = ChartLine::new()
        .set_color(SECOND)
        .set_width(2)
        .set_dash_type(ChartLineDashType::Dash)
        .clone();
    let summed = ChartLine::new().set_color(MAIN).set_width(2.5).clone();
    for (head, column, line) in [("sums", 7, &summed), ("simulated", 10, &simulated)] {
        if column == 10 && wanted.simulated.is_empty() {
            continue;
        }
        chart
            .add_series()
            .set_name(head)
            .set_categories((name, first, 0, last, 0))
            .set_values((name, first, column, last, column))
            .set_format(ChartFormat::new().set_line(line));
    }
    sheet.insert_chart(AT.0, AT.1, &chart)?;
    Ok(())
}

/// The price at which a batch earns what is wanted on average, where a price does it.
fn floor(sheet: &mut Worksheet, row: u32, batch: &Batch, total: &Total, money: &Format) -> Result<(), XlsxError> {
    let ([hours, profit], per_price) = ([1, 6].map(|column| cell(row, column)), batch.per_price());
    let formula = format!("=IFERROR(MAX(0,price+(target*{hours}-{profit})/({per_price})),\"no price\")");
    let floor = batch.sums.floor(total);
    let said = floor.map_or_else(|| "no price".to_owned(), |price| price.to_string());
    sheet.write_formula_with_format(row, 8, Formula::new(formula).set_result(said), money)?;
    Ok(())
}

/// The sheet of counts: a column a size, the endless batch first, and last one more piece that is left over.
fn counts(sheet: &mut Worksheet, wanted: &SumSheets, places: &Places, sums: &Sums) -> Result<(), XlsxError> {
    sheet
        .set_name(&wanted.sheets[1])?
        .set_landscape()
        .set_repeat_columns(0, 0)?
        .set_print_fit_to_pages(sums.sizes.len().min(MOST_SIZES).div_ceil(SIZES_A_PAGE) as u16, 1);
    sheet.set_column_width(0, NAMES_OF_COUNTS as f64)?;
    // In its own column like what follows: every printed page repeats that and no more. Its letters are larger, and bold.
    let title = sheets::cut(&format!("Counts: {}", wanted.title));
    sheet.set_row_height(0, 20.0 * title.chars().count().div_ceil(NAMES_OF_COUNTS * 3 / 4) as f64)?;
    sheet.write_string_with_format(0, 0, title, &title_format().set_text_wrap().set_align(FormatAlign::Top))?;
    sheet.write_string_with_format(
        1,
        0,
        "What a batch counts on average. A go is one piece handled once by somebody who has learned nothing yet.",
        &small_format().set_text_wrap().set_align(FormatAlign::Top),
    )?;
    // The first head of figures has room in one line.
    sheet.set_row_height(1, 3.0 * LINE)?;
    sheet.set_column_width(1, 11)?;
    sheet.write_string_with_format(2, 0, "pieces in a batch", &head_format())?;
    sheet.set_freeze_panes(3, 1)?;
    let label = |what: &str, whose: &str| sheets::cut(&format!("{what}: {whose}"));
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
    let sizes = sums.sizes.iter().take(MOST_SIZES);
    let sizes = sizes.map(|(size, counts)| (size.to_string(), counts));
    let left = sums.left_over.iter().map(|counts| ("left over".to_owned(), counts));
    let all = std::iter::once(("one more".to_owned(), &sums.endless))
        .chain(sizes)
        .chain(left);
    let plain = number();
    let right = head_format().set_align(FormatAlign::Right);
    for (k, (head, counted)) in all.enumerate() {
        let column = k as u16 + 1;
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
