//! A report as a spreadsheet workbook: a sheet with the answers, a sheet a question with figures that can be reckoned with, and a
//! sheet a scenario. Figures are unrounded; their formats round. An interval has a column for either end, and where words say a figure
//! it stands beside them, so that there is nothing that cannot be reckoned with.
//!
//! Sheets are named by question; where there are several scenarios they have letters before: A, B, C, as in `compare`.

use rust_xlsxwriter::{
    ChartFormat, ChartLine, ChartLineDashType, Color, DocProperties, ExcelDateTime, Format, FormatAlign,
    FormatUnderline, Workbook, Worksheet, XlsxError,
};

use super::sheets::{
    Across, BAND, LINE, MAIN, MOST_LINES, SECOND, SMALL_LINE, TEXT_WIDTH, against, cut, head_format, lines, note,
    pages, paragraph, text_format, title_format,
};
use super::{CARE, Part, Report, ReportError, Section, sums};
#[cfg(feature = "png")]
use crate::render::Dotted;
use crate::render::Render;
use crate::render::compare::lettered;
use crate::render::figure::{Apart, Cell, Figure, Mark};
use crate::render::figures::Figures;
use crate::render::format::Form;
use crate::render::grid::{Curves, Grid, Head};
use crate::render::text::Look;
use crate::render::web::source;
use crate::render::words::capital;

/// Widths of columns in characters.
const NARROWEST: usize = 10;
const WIDEST: usize = 44;
/// Characters that a figure takes at least.
const FIGURE: usize = 7;
const ASKED: Color = Color::RGB(0xb8_4a00);

/// The report as a workbook (Office Open XML, ECMA-376), as bytes. The same report makes the same bytes.
///
/// # Errors
/// [`ReportError`] where the answers do not fit into a workbook.
pub fn workbook(report: &Report) -> Result<Vec<u8>, ReportError> {
    let mut book = Workbook::new();
    let day = report.made;
    let dated = u16::try_from(day.year())
        .ok()
        .and_then(|year| ExcelDateTime::from_ymd(year, day.month().unsigned_abs(), day.day().unsigned_abs()).ok());
    // A document's date would otherwise be the moment it is written, and no two would be alike.
    let dated = dated.map_or_else(|| ExcelDateTime::from_ymd(2000, 1, 1), Ok)?;
    let about = DocProperties::new()
        .set_title(cut(&report.title()))
        .set_author(format!("batchwright {}", report.version))
        .set_creation_datetime(&dated);
    book.set_properties(&about);
    answers(book.add_worksheet(), report)?;
    for (part, section) in report.sections() {
        question(book.add_worksheet(), report, part, section)?;
    }
    for (k, part) in report.parts.iter().enumerate() {
        if let Ok(reckoned) = &part.sums {
            let sheets = sums::SumSheets {
                title: &part.title,
                currency: &part.currency,
                sheets: ["sums", "counts"].map(|what| sheet_name(report, Some(k), what)),
                sums: reckoned,
                simulated: &simulated(part),
            };
            sums::add(&mut book, &sheets)?;
        }
        scenario(book.add_worksheet(), report, k, part)?;
    }
    // Sheets that were not told otherwise print on what the country of the money prints on.
    let paper = report.paper();
    for sheet in book.worksheets_mut() {
        sheet.set_paper_size(paper.number()).set_footer("&L&A&R&P of &N");
    }
    Ok(book.save_to_buffer()?)
}

/// What an hour earned on average in the simulation, by size, where the sizes were asked about.
fn simulated(part: &Part) -> Vec<(u32, f64)> {
    let sweep = part.sections.iter().find_map(|section| match &section.answer {
        Figures::Sweep(sweep) => Some(sweep),
        _ => None,
    });
    let rates = sweep.map(|sweep| sweep.sizes.iter().map(|size| (size.size, size.rate.long_run)).collect());
    rates.unwrap_or_default()
}

/// A sheet's name, with the scenario's letter where there are several.
fn sheet_name(report: &Report, part: Option<usize>, what: &str) -> String {
    let what = capital(what);
    match part.filter(|_| report.parts.len() > 1) {
        Some(k) => format!("{} {what}", lettered(k)),
        None => what,
    }
}

/// The first sheet: each question with its answer and its sheet.
fn answers(sheet: &mut Worksheet, report: &Report) -> Result<(), XlsxError> {
    // The answers about one scenario have room on one page.
    let pages = u16::from(report.parts.len() == 1);
    sheet
        .set_name("Answers")?
        .set_landscape()
        .set_print_fit_to_pages(1, pages);
    sheet
        .set_column_width(0, 26)?
        .set_column_width(1, TEXT_WIDTH as f64)?
        .set_column_width(2, 16)?;
    sheet.write_string_with_format(0, 0, cut(&report.title()), &title_format())?;
    for (column, head) in ["question", "answer", "sheet"].into_iter().enumerate() {
        sheet.write_string_with_format(1, column as u16, head, &head_format())?;
    }
    sheet.set_freeze_panes(2, 0)?;
    let (wrapped, bold) = (text_format(), text_format().set_bold());
    let linked = text_format()
        .set_font_color(SECOND)
        .set_underline(FormatUnderline::Single);
    let mut row = 2;
    let mut told = None;
    for (part, section) in report.sections() {
        if part != told
            && let Some(k) = part.filter(|_| report.parts.len() > 1)
        {
            let about = format!("{}  {}", lettered(k), report.parts[k].title);
            sheet.write_string_with_format(row, 0, cut(&about), &title_format().set_font_size(12))?;
            row += 1;
        }
        told = part;
        let page = section.answer.page(&Look::page(false));
        let said = cut(&[page.opening, page.why].concat().join(" "));
        let name = sheet_name(report, part, section.question.command());
        sheet.set_row_height(row, LINE * lines(&said, TEXT_WIDTH))?;
        sheet.write_string_with_format(row, 0, section.question.heading(), &bold)?;
        sheet.write_string_with_format(row, 1, said, &wrapped)?;
        let link = format!("internal:'{name}'!A1");
        sheet.write_url_with_options(row, 2, link.as_str(), &name, "", Some(&linked))?;
        row += 1;
    }
    row += 1;
    let parts = report.parts.iter();
    let without = parts.filter_map(|part| Some(("Sums", part.without_sums()?)));
    for (name, what) in report.known().into_iter().chain(without) {
        let what = cut(&what);
        sheet.set_row_height(row, LINE * lines(&what, TEXT_WIDTH))?;
        sheet.write_string_with_format(row, 0, name, &wrapped)?;
        sheet.write_string_with_format(row, 1, what, &wrapped)?;
        row += 1;
    }
    sheet.set_row_height(row + 1, LINE * lines(CARE, TEXT_WIDTH))?;
    sheet.write_string_with_format(row + 1, 1, CARE, &wrapped.set_font_color(ASKED))?;
    Ok(())
}

/// One question: its tables with every row, one under the other, its small print, charts beside the first.
fn question(sheet: &mut Worksheet, report: &Report, part: Option<usize>, section: &Section) -> Result<(), XlsxError> {
    let name = sheet_name(report, part, section.question.command());
    let page = section.answer.page(&Look::page(true));
    sheet.set_name(&name)?.set_landscape();
    let title = format!("{}: {}", section.question.heading(), page.title);
    sheet.write_string_with_format(0, 0, cut(&title), &title_format())?;
    let tables = page.tables.iter().filter(|grid| !grid.heads.is_empty());
    let tables: Vec<Grid> = tables.map(spread).collect();
    let wide = widths(sheet, &tables)?;
    let across = Across::all(&wide);
    let mut row = 1;
    for (k, grid) in tables.iter().enumerate() {
        let first = row;
        row = table(sheet, grid, &wide, row, k > 0)?;
        if k == 0 {
            // The title and the heads stay in sight; where another table follows, these heads would stand over it.
            let kept = if tables.len() > 1 { 0 } else { first };
            sheet.set_freeze_panes(kept + 1, 1)?;
            sheet.set_repeat_rows(0, kept)?;
            curves(sheet, &name, grid, first)?;
            #[cfg(feature = "png")]
            if grid.curves.is_empty() || grid.rows.len() < 2 {
                picture(sheet, section, (first + 1, across.columns + 1))?;
            }
        }
        // A blank line, so that a sheet's reader sees where the table ends.
        row += 1;
        for paragraph in grid.explained() {
            note(sheet, row, across, &paragraph)?;
            row += 1;
        }
        row += 1;
    }
    for paragraph in page.more.iter().chain(&page.small).filter(|p| !p.is_empty()) {
        note(sheet, row, across, paragraph)?;
        row += 1;
    }
    // A few rows or notes are no page of their own.
    sheet.set_print_fit_to_pages(1, pages(row));
    Ok(())
}

/// The table with a column for every figure, heads in one line: a column of intervals becomes one for either end, one of words that say a
/// figure is followed by one of these.
fn spread(grid: &Grid) -> Grid {
    let apart = |column: usize| grid.rows.iter().find_map(|row| row.get(column)?.apart);
    let kinds: Vec<Option<Apart>> = (0..grid.heads.len()).map(apart).collect();
    let mut place = Vec::with_capacity(kinds.len());
    let mut heads = Vec::new();
    for (column, kind) in kinds.iter().enumerate() {
        place.push(heads.len());
        let own = &grid.heads[column];
        let head = own.whole();
        let of = |lines: String| Head {
            lines,
            spanner: None,
            ..own.clone()
        };
        match kind {
            None => heads.push(of(head)),
            Some(Apart::Ends(_)) => heads.extend([format!("{head}, low"), format!("{head}, high")].map(of)),
            Some(Apart::Beside(what, _)) => heads.extend([head.clone(), format!("{head}, {what}")].map(of)),
        }
    }
    let figure_cell = |figure: Option<Figure>| Cell {
        figure,
        ..Cell::default()
    };
    let spread_row = |row: &Vec<Cell>| -> Vec<Cell> {
        let mut cells = Vec::with_capacity(heads.len());
        for (cell, kind) in row.iter().zip(&kinds) {
            match (kind, cell.apart) {
                (None, _) => cells.push(cell.clone()),
                (_, Some(Apart::Ends(ends))) if ends != [None, None] => cells.extend(ends.map(figure_cell)),
                (_, Some(Apart::Beside(_, figure))) => cells.extend([cell.clone(), figure_cell(Some(figure))]),
                _ => cells.extend([cell.clone(), Cell::default()]),
            }
        }
        cells
    };
    let spread_curves = |curves: &Curves| Curves {
        columns: curves.columns.iter().filter_map(|k| place.get(*k).copied()).collect(),
        main: place.get(curves.main).copied().unwrap_or(curves.main),
        ..curves.clone()
    };
    Grid {
        rows: grid.rows.iter().map(spread_row).collect(),
        curves: grid.curves.iter().map(spread_curves).collect(),
        heads,
        ..grid.clone()
    }
}

/// Columns as wide as their cells, within bounds, in characters; heads are broken into lines.
fn widths(sheet: &mut Worksheet, tables: &[Grid]) -> Result<Vec<usize>, XlsxError> {
    let mut wide = Vec::new();
    let columns = tables.iter().map(|grid| grid.heads.len()).max().unwrap_or(0);
    for column in 0..columns {
        let width = |grid: &Grid| {
            let cells = grid.rows.iter().filter_map(|row| row.get(column));
            let letters = |cell: &Cell| cell.text.chars().count().max(cell.figure.map_or(0, |_| FIGURE));
            let longest = cells.map(letters).max().unwrap_or(0);
            // The longest word of a head is not broken.
            let head = grid.heads.get(column).map_or_else(String::new, Head::whole);
            let word = head.split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
            (longest + 3).max(word + 3)
        };
        let widest = tables.iter().map(width).max().unwrap_or(0).clamp(NARROWEST, WIDEST);
        sheet.set_column_width(column as u16, widest as f64)?;
        wide.push(widest);
    }
    Ok(wide)
}

/// Lines of a head, broken at its blanks. Bold letters are wider than the figures that a column is measured in, and so are those of the
/// font that stands in where the sheet's own is missing.
fn head_lines(head: &str, width: usize) -> usize {
    let room = (width * 9 / 10).max(1);
    let (mut lines, mut used) = (1, 0);
    for word in head.split_whitespace() {
        let long = word.chars().count();
        if used > 0 && used + 1 + long > room {
            lines += 1;
            used = long;
        } else {
            used += long + usize::from(used > 0);
        }
    }
    lines
}

/// A table from `row` on, its name above it where that is wanted; the next free row.
fn table(sheet: &mut Worksheet, grid: &Grid, wide: &[usize], mut row: u32, named: bool) -> Result<u32, XlsxError> {
    if named || grid.named {
        sheet.write_string_with_format(row, 0, cut(&grid.name), &title_format().set_font_size(12))?;
        row += 1;
    }
    let right = head_format().set_align(FormatAlign::Right).set_indent(1);
    for (column, head) in grid.heads.iter().enumerate() {
        let format = if head.words {
            head_format().set_indent(indent(column))
        } else {
            right.clone()
        };
        sheet.write_string_with_format(row, column as u16, cut(&head.whole()), &format)?;
    }
    let lines = grid.heads.iter().zip(wide);
    let lines = lines.map(|(head, width)| head_lines(&head.whole(), width.saturating_sub(1)));
    sheet.set_row_height(row, LINE * lines.max().unwrap_or(1).min(MOST_LINES) as f64)?;
    for (k, cells) in grid.rows.iter().enumerate() {
        row += 1;
        for (column, cell) in cells.iter().enumerate() {
            let (words, marked) = (grid.heads[column].words, grid.marked == Some(k));
            put(sheet, (row, column as u16), cell, words, marked)?;
        }
    }
    Ok(row + 1)
}

/// Words keep off the figures to the left of them.
const fn indent(column: usize) -> u8 {
    if column > 0 { 1 } else { 0 }
}

fn put(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    words: bool,
    marked: bool,
) -> Result<(), XlsxError> {
    let mut format = if words {
        Format::new()
            .set_align(FormatAlign::Left)
            .set_indent(indent(usize::from(column)))
    } else {
        // Figures end under their heads, and those end before the next one begins.
        Format::new().set_align(FormatAlign::Right).set_indent(1)
    };
    if marked {
        format = format.set_bold().set_background_color(BAND);
    }
    match cell.figure {
        Some(figure) => {
            let format = format.set_align(FormatAlign::Right);
            let format = format.set_num_format(number_format(figure, cell.mark));
            sheet.write_number_with_format(row, column, figure.value, &format)?
        }
        None => sheet.write_string_with_format(row, column, cut(&cell.read(true)), &format)?,
    };
    Ok(())
}

/// The number format, with the sign that is explained below the table before it.
fn number_format(Figure { form, .. }: Figure, mark: Option<Mark>) -> String {
    let format = form.sheet();
    match mark {
        Some(mark) if !matches!(form, Form::Change(_)) => format!("\"{} \"{format}", mark.sign(true)),
        _ => format,
    }
}

#[cfg(feature = "png")]
/// The answer's chart as a picture beside the tables, where a sheet's own columns make no curves.
fn picture(sheet: &mut Worksheet, section: &Section, (row, column): (u32, u16)) -> Result<(), XlsxError> {
    /// As wide as the charts that the sheet draws: 640 of 1,000 pixels.
    const SCALE: f64 = 0.64;
    let (Some(plot), Ok(png)) = (section.answer.plot(), section.answer.png()) else {
        return Ok(());
    };
    let said: String = plot.headline.chars().take(250).collect();
    let image = rust_xlsxwriter::Image::new_from_buffer(&png)?
        .set_scale_width(SCALE)
        .set_scale_height(SCALE)
        .set_alt_text(said);
    sheet.insert_image(row, column, &image)?;
    Ok(())
}

/// Charts of the table's curves, which follow the figures when they are changed.
fn curves(sheet: &mut Worksheet, name: &str, grid: &Grid, head: u32) -> Result<(), XlsxError> {
    let rows = grid.rows.len() as u32;
    if rows < 2 {
        return Ok(());
    }
    let (first, last) = (head + 1, head + rows);
    let first_head = grid.heads.first().map_or_else(String::new, Head::whole);
    for (k, curves) in grid.curves.iter().enumerate() {
        let mut chart = against(&curves.name, &first_head, &curves.axis);
        chart.set_name(format!("{} {}", curves.name, k + 1));
        for &column in &curves.columns {
            let main = column == curves.main;
            let column = column as u16;
            let mut line = ChartLine::new();
            if main {
                line.set_color(MAIN).set_width(2.5);
            } else {
                line.set_color(SECOND)
                    .set_width(1.25)
                    .set_dash_type(ChartLineDashType::Dash);
            }
            chart
                .add_series()
                .set_name((name, head, column))
                .set_categories((name, first, 0, last, 0))
                .set_values((name, first, column, last, column))
                .set_format(ChartFormat::new().set_line(&line));
        }
        let beside = grid.heads.len() as u16 + 1;
        // Below the heads: those stand on every printed page, and would take a strip of the chart with them.
        sheet.insert_chart(first + 19 * k as u32, beside, &chart)?;
    }
    Ok(())
}

/// A scenario as understood and as it was written.
fn scenario(sheet: &mut Worksheet, report: &Report, k: usize, part: &Part) -> Result<(), XlsxError> {
    sheet.set_name(sheet_name(report, Some(k), "scenario"))?;
    sheet.set_portrait().set_print_fit_to_pages(1, 0);
    let wide = widths(sheet, &part.told.tables)?;
    let across = Across::text(&wide);
    let text = text_format();
    sheet.write_string_with_format(0, 0, cut(&part.title), &title_format())?;
    let mut row = 1;
    for sentence in &part.told.opening {
        paragraph(sheet, row, across, sentence, (&text, LINE))?;
        row += 1;
    }
    for grid in &part.told.tables {
        row = table(sheet, grid, &wide, row + 1, true)?;
    }
    row += 1;
    for sentence in &part.told.closing {
        paragraph(sheet, row, across, sentence, (&text, LINE))?;
        row += 1;
    }
    row += 1;
    let said = format!("As it was written: {}", part.file);
    sheet.write_string_with_format(row, 0, cut(&said), &title_format().set_font_size(12))?;
    let typed = Format::new().set_font_name("Courier New").set_font_size(9);
    for line in source(&part.source).lines() {
        row += 1;
        sheet.set_row_height(row, SMALL_LINE)?;
        sheet.write_string_with_format(row, 0, cut(line), &typed)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::sheets::{GRID, MUTED};
    use super::*;
    use crate::render::{figure, format};

    #[test]
    fn a_head_takes_the_lines_its_words_need() {
        assert_eq!(head_lines("you still reach the target up to, worse by", 11), 5);
        assert_eq!(head_lines("half earn less than", 40), 1);
        assert_eq!(head_lines("", 9), 1);
    }

    /// Columns of 20 and 30 characters and a third of 60 have room for 100; after the last come those of 8.
    #[test]
    fn paragraphs_go_across_as_many_columns_as_they_need() {
        let of = |across: Across| (across.columns, across.width);
        assert_eq!(of(Across::all(&[20, 30, 60])), (3, 110));
        assert_eq!(of(Across::all(&[44])), (2, 52));
        assert_eq!(of(Across::all(&[])), (2, 16));
        assert_eq!(of(Across::text(&[20, 30, 60, 9])), (3, 110));
        assert_eq!(of(Across::text(&[44])), (8, 100));
        assert_eq!(of(Across::text(&[120, 9])), (2, 129));
    }

    #[test]
    fn a_mark_stands_in_the_number_format() {
        let figure = |form| Figure { value: 9.0, form };
        assert_eq!(number_format(figure(Form::Count), Some(Mark::Best)), "\"▲ \"#,##0");
        assert_eq!(number_format(figure(Form::Money(2)), None), "#,##0.00");
        assert_eq!(number_format(figure(Form::Share), None), "#,##0.0%");
    }

    /// An interval is two columns, words with a figure behind them two, and what has no interval says so in the first of them.
    #[test]
    fn figures_behind_words_have_columns_of_their_own() {
        let heads = ["what", "kept\nup to", "95 %\ninterval", "an hour\nearns"];
        let grid = Grid {
            heads: heads
                .map(|lines| Head {
                    lines: lines.to_owned(),
                    words: lines == "what",
                    ..Head::default()
                })
                .to_vec(),
            rows: vec![
                vec![
                    "slow".into(),
                    figure::words("15 % slower".to_owned(), "worse by", 0.153, Form::Share),
                    figure::interval("15 to 16 %".to_owned(), [Some(0.151), Some(0.155)], Form::Share),
                    figure::amount(30.25, "EUR"),
                ],
                vec![
                    "dear".into(),
                    "no limit".into(),
                    "exact".into(),
                    figure::amount(31.0, "EUR"),
                ],
            ],
            curves: vec![Curves {
                name: String::new(),
                axis: String::new(),
                columns: vec![3],
                main: 3,
            }],
            ..Grid::default()
        };
        let wide = spread(&grid);
        let heads: Vec<String> = wide.heads.iter().map(Head::whole).collect();
        assert_eq!(
            heads,
            [
                "what",
                "kept up to",
                "kept up to, worse by",
                "95 % interval, low",
                "95 % interval, high",
                "an hour earns"
            ]
        );
        let values = |row: usize| -> Vec<Option<f64>> {
            wide.rows[row].iter().map(|cell| cell.figure.map(|f| f.value)).collect()
        };
        assert_eq!(
            values(0),
            [None, None, Some(0.153), Some(0.151), Some(0.155), Some(30.25)]
        );
        assert_eq!(values(1), [None, None, None, None, None, Some(31.0)]);
        let said: Vec<&str> = wide.rows[1].iter().map(|cell| cell.text.as_str()).collect();
        assert_eq!(said[..5], ["dear", "no limit", "", "exact", ""]);
        assert_eq!(
            (wide.heads[0].words, wide.curves[0].main, &wide.curves[0].columns[..]),
            (true, 5, &[5][..])
        );
    }

    #[test]
    fn the_charts_colours_are_the_palettes() {
        let palette = include_str!("../plot/palette.rs");
        for colour in [MAIN, SECOND, MUTED, BAND, GRID, ASKED] {
            let Color::RGB(value) = colour else {
                panic!("{colour:?}")
            };
            let [_, r, g, b] = value.to_be_bytes();
            let written = format!("Color(0x{r:02x}, 0x{g:02x}, 0x{b:02x})");
            assert!(palette.contains(&written), "{written}");
        }
        assert_eq!(format::sheet_day(jiff::civil::date(2026, 11, 25)), 46_351.0);
    }
}
