//! What all sheets of a workbook have in common: colours, formats, paragraphs, charts of lines and how many rows a page holds.

use rust_xlsxwriter::{
    Chart, ChartAxisLabelPosition, ChartLegendPosition, ChartLine, ChartType, Color, Format, FormatAlign, FormatBorder,
    Worksheet, XlsxError,
};

use crate::render::web::clean;

/// A cell of a workbook holds no more characters (ECMA-376 part 1, 18.3.1.96, as the common programs bound it: 32,767).
const LONGEST: usize = 32_000;
/// The width of a column that nothing was said of.
const UNSET: usize = 8;
/// The width in characters that running text is set in.
pub(super) const TEXT_WIDTH: usize = 100;
/// Height of a line in points, and of one of small print.
pub(super) const LINE: f64 = 15.0;
pub(super) const SMALL_LINE: f64 = 12.5;
/// Rows are no higher than 409 points.
pub(super) const MOST_LINES: usize = 27;
/// So many rows still print on one page in letters that can be read.
const A_PAGE: u32 = 64;

/// The charts' colours (`render/plot/palette.rs`).
pub(super) const MAIN: Color = Color::RGB(0x0b_3f66);
pub(super) const SECOND: Color = Color::RGB(0x00_72b2);
pub(super) const MUTED: Color = Color::RGB(0x58_626a);
pub(super) const BAND: Color = Color::RGB(0xd3_e4f0);
pub(super) const GRID: Color = Color::RGB(0xe4_e7e9);

/// The first columns of a sheet, which a paragraph goes across, and how many characters they have room for together.
#[derive(Clone, Copy)]
pub(super) struct Across {
    pub(super) columns: u16,
    pub(super) width: usize,
}

impl Across {
    /// All of these columns, and one more where there is only one.
    pub(super) fn all(wide: &[usize]) -> Self {
        let more = 2_usize.saturating_sub(wide.len());
        Self {
            columns: (wide.len() + more) as u16,
            width: wide.iter().sum::<usize>() + UNSET * more,
        }
    }

    /// As many of these columns, and of those that follow, as running text is wide.
    pub(super) fn text(wide: &[usize]) -> Self {
        let all = wide.iter().copied().chain(std::iter::repeat(UNSET));
        let mut across = Self { columns: 0, width: 0 };
        for wide in all {
            if across.width >= TEXT_WIDTH && across.columns >= 2 {
                break;
            }
            across.columns += 1;
            across.width += wide;
        }
        across
    }
}

/// A paragraph of small print.
pub(super) fn note(sheet: &mut Worksheet, row: u32, across: Across, text: &str) -> Result<(), XlsxError> {
    let format = small_format().set_text_wrap().set_align(FormatAlign::Top);
    paragraph(sheet, row, across, text, (&format, SMALL_LINE))
}

pub(super) fn paragraph(
    sheet: &mut Worksheet,
    row: u32,
    across: Across,
    text: &str,
    (format, line): (&Format, f64),
) -> Result<(), XlsxError> {
    let text = cut(text);
    // Smaller letters have more room.
    let room = (across.width as f64 * LINE / line) as usize;
    sheet.set_row_height(row, line * lines(&text, room))?;
    sheet.merge_range(row, 0, row, across.columns - 1, &text, format)?;
    Ok(())
}

pub(super) fn cut(text: &str) -> String {
    clean(text).chars().take(LONGEST).collect()
}

pub(super) fn head_format() -> Format {
    Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Bottom)
        .set_font_color(MAIN)
        .set_border_bottom(FormatBorder::Medium)
        .set_border_bottom_color(MAIN)
}

pub(super) fn title_format() -> Format {
    Format::new().set_bold().set_font_size(14).set_font_color(MAIN)
}

pub(super) fn text_format() -> Format {
    Format::new().set_text_wrap().set_align(FormatAlign::Top)
}

pub(super) fn small_format() -> Format {
    Format::new().set_font_color(MUTED).set_font_size(9)
}

/// Lines that a text takes in a column of so many characters.
pub(super) fn lines(text: &str, width: usize) -> f64 {
    text.chars().count().div_ceil(width.max(1)).clamp(1, MOST_LINES) as f64
}

/// On how many pages so many rows print.
pub(super) const fn pages(rows: u32) -> u16 {
    rows.div_ceil(A_PAGE) as u16
}

/// A chart without its lines: what it is called, and what both axes count.
pub(super) fn against(name: &str, across: &str, upwards: &str) -> Chart {
    let mut chart = Chart::new(ChartType::ScatterStraight);
    chart.title().set_name(name);
    chart.x_axis().set_name(across);
    // Below all values, and not along a zero that curves cross.
    chart.x_axis().set_label_position(ChartAxisLabelPosition::Low);
    chart
        .y_axis()
        .set_name(upwards)
        .set_num_format("#,##0.##")
        .set_major_gridlines_line(ChartLine::new().set_color(GRID));
    chart.legend().set_position(ChartLegendPosition::Bottom);
    chart.set_width(640).set_height(360);
    // Longer ones are not taken.
    let said: String = format!("{name}, against {across}").chars().take(120).collect();
    chart.set_alt_text(said);
    chart
}
