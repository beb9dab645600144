//! Tables declared once: columns as data, from which come the terminal's table, the page's, the workbook's sheet and CSV.
//!
//! # How to declare a table
//!
//! ```ignore
//! let mut c = Columns::default();
//! c.field("size", Unit::Count).plain("size");                 // what JSON has as `size` in a row; CSV column `size`
//! c.fields("hours", SUMMARY, Unit::Hours)                     // `hours.mean`, `hours.se` ...; CSV `hours_mean` ...
//!     .head("hours\na batch").note("Hours: hands-on.").spare(2);  // the first of them is shown where there is room
//! c.field("rate.p50", Unit::Hourly("EUR"))                    // CSV `rate_p50_EUR_per_hour`
//!     .plain("half earn\nless").under("an hour earns EUR");
//! c.shown("interval", |a| between(a.low, a.high)).plain("95 %\ninterval"); // on pages only
//! Table::new("Size by size", answer, "sizes", &answer.sizes, c)   // row k is `sizes[k]` of the answer
//!     .choose(places, "sizes")                                // rows shown unless all are asked for
//!     .mark(Mark::Best, "leaves most", move |a| a.size == best)    // explained below as "advised: leaves most"
//!     .main(move |a| a.size == best)                               // the row that matters most
//! ```
//!
//! - A figure is read where JSON has it, so that no face can have another. Its CSV name is its path with `_` for `.`, and the unit;
//!   [`Column::named`] gives another name. [`Columns::from`] reads what follows in another place than the row, [`Columns::of_all`] one figure
//!   of the answer itself.
//! - [`Columns::figure`] and [`Columns::text`] are for what follows from JSON's figures without standing there.
//! - A column with a head is shown, one without is only data (standard errors, ends of intervals).
//! - What is shown has a note or a head that says it, [`Column::plain`]; notes stand under the table, those of shown columns only.
//! - In a terminal words with [`Column::breaks`] are broken over lines where room is short; where that is not enough, columns with
//!   the highest [`Column::spare`] go first.
//! - Columns of one CSV name are one, so that a CSV may have rows of several kinds.

use std::rc::Rc;

use serde::Serialize;
use serde_json::Value;

use super::figure::{self, Cell, Figure, Mark};
use super::format::{self, Form};
use super::grid::{Curves, Grid, Head};
use super::text::Look;
use crate::clean;

/// Parts of a mean.
pub const MEAN: &[&str] = &["mean", "se"];
/// Parts of a mean with quantiles.
pub const MIDDLE: &[&str] = &["mean", "p10", "p50", "p90"];
/// Parts of a mean with its error and quantiles.
pub const SUMMARY: &[&str] = &["mean", "se", "p10", "p50", "p90"];
/// Parts of a share.
pub const SHARE: &[&str] = &["share", "low", "high"];

/// What a column's figures are; it says how they are written and what their CSV name ends in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit<'a> {
    /// Money in this currency.
    Money(&'a str),
    /// A price floor in this currency, which is told so that it is enough.
    Floor(&'a str),
    /// Money an hour in this currency.
    Hourly(&'a str),
    /// A span of time in hours.
    Hours,
    /// A span of time in minutes.
    Minutes,
    /// A share as a fraction.
    Share,
    /// A whole number of things.
    Count,
    /// A mean number of things.
    Mean,
    /// How often something happens.
    Often,
    /// A number without a unit, to two digits.
    Ratio,
    /// A number of days.
    Days,
    /// Words, or what is neither figure nor words: a date, yes or no.
    Text,
}

impl Unit<'_> {
    /// What a CSV name ends in.
    fn suffix(self) -> String {
        match self {
            Self::Money(currency) | Self::Floor(currency) => format!("_{currency}"),
            Self::Hourly(currency) => format!("_{currency}_per_hour"),
            _ => String::new(),
        }
    }

    /// A figure as it is usually written.
    pub(super) fn cell(self, value: f64) -> Cell {
        match self {
            Self::Money(currency) | Self::Hourly(currency) => figure::amount(value, currency),
            Self::Floor(currency) => figure::enough(value, currency),
            Self::Hours => Cell::new(format::hours(value), value, Form::Hours),
            Self::Minutes => Cell::new(format::minutes(value), value, Form::Minutes),
            Self::Share => Cell::new(format::share(value), value, Form::Share),
            Self::Count if value >= 0.0 => figure::count(value as u64),
            Self::Count | Self::Mean | Self::Text => Cell::new(format::mean_count(value), value, Form::Mean),
            Self::Often => Cell::new(format::often(value), value, Form::Ratio),
            Self::Ratio => Cell::new(format::ratio(value), value, Form::Ratio),
            Self::Days => figure::days_earlier(value),
        }
    }

    /// What JSON has, as it is usually written.
    fn read(self, value: &Value) -> Cell {
        match value {
            Value::Number(number) => number.as_f64().map(|value| self.cell(value)).into(),
            Value::String(text) => text.as_str().into(),
            Value::Bool(yes) => yes.to_string().into(),
            Value::Null | Value::Array(_) | Value::Object(_) => Cell::default(),
        }
    }

    /// The form of its figures for a workbook.
    fn form(self, value: f64) -> Form {
        self.cell(value).figure.map_or(Form::Ratio, |figure| figure.form)
    }
}

/// Where a part of a row stands in the whole answer's JSON; `None` where the row has no such part.
type Place<'a, R> = Rc<dyn Fn(&R) -> Option<String> + 'a>;

/// Where a column's cells come from.
enum Source<'a, R> {
    /// JSON, under this path of the row or of this place.
    Json(Option<Place<'a, R>>, String),
    /// The row itself.
    Row(Box<dyn Fn(&R) -> Cell + 'a>),
}

/// A change of a cell.
type Change<'a, R> = Box<dyn Fn(&R, Cell) -> Cell + 'a>;

/// One column of rows of the type `R`.
pub struct Column<'a, R> {
    key: String,
    /// Its CSV name without the unit.
    name: String,
    unit: Unit<'a>,
    /// Whether it is in the CSV.
    data: bool,
    head: Option<Head>,
    source: Source<'a, R>,
    changes: Vec<Change<'a, R>>,
}

impl<'a, R: 'a> Column<'a, R> {
    /// Shows it under this; a line break makes two lines.
    pub fn head(&mut self, lines: impl Into<String>) -> &mut Self {
        self.head = Some(Head {
            lines: lines.into(),
            words: self.unit == Unit::Text,
            ..Head::default()
        });
        self
    }

    /// [`Self::head`] that says what it is.
    pub fn plain(&mut self, lines: impl Into<String>) -> &mut Self {
        self.head(lines).note("")
    }

    fn shown(&mut self) -> &mut Head {
        self.head.get_or_insert_with(Head::default)
    }

    /// The head over this and neighbouring columns that say the same.
    pub fn under(&mut self, spanner: impl Into<String>) -> &mut Self {
        self.shown().spanner = Some(spanner.into());
        self
    }

    /// What it means, as a sentence.
    pub fn note(&mut self, sentence: impl Into<String>) -> &mut Self {
        self.shown().note = Some(sentence.into());
        self
    }

    /// Left out where a terminal has no room: the greatest first, 0 never.
    pub fn spare(&mut self, rank: u8) -> &mut Self {
        self.shown().spare = rank;
        self
    }

    /// People decide by it: it stands first where few columns are seen at once.
    pub(crate) fn decides(&mut self) -> &mut Self {
        self.shown().decides = true;
        self
    }

    /// Its words may be broken over lines of at least so many characters.
    pub fn breaks(&mut self, least: usize) -> &mut Self {
        self.shown().least = Some(least);
        self
    }

    /// What it says is not said again in the next rows that say the same.
    pub fn once(&mut self) -> &mut Self {
        self.shown().once = true;
        self
    }

    /// Its CSV name without the unit.
    pub fn named(&mut self, name: impl Into<String>) -> &mut Self {
        self.name = name.into();
        self
    }

    /// Not in the CSV.
    pub(crate) fn unwritten(&mut self) -> &mut Self {
        self.data = false;
        self
    }

    fn again(&mut self, change: impl Fn(&R, Cell) -> Cell + 'a) -> &mut Self {
        self.changes.push(Box::new(change));
        self
    }

    /// What is read where there is no figure.
    pub fn or(&mut self, words: impl Into<String>) -> &mut Self {
        let words = words.into();
        self.again(move |_, cell| {
            if cell.figure.is_some() {
                cell
            } else {
                Cell::from(words.as_str())
            }
        })
    }

    /// What is read and written where there is nothing.
    pub(crate) fn or_row(&mut self, words: impl Fn(&R) -> &'static str + 'a) -> &mut Self {
        self.again(move |row, cell| {
            if cell == Cell::default() {
                words(row).into()
            } else {
                cell
            }
        })
    }

    /// Figures are written like this, and not as their unit usually is; they stay what they are.
    pub fn written(&mut self, write: impl Fn(f64) -> Cell + 'a) -> &mut Self {
        self.again(move |_, cell| {
            let Some(Figure { value, .. }) = cell.figure else {
                return cell;
            };
            let written = write(value);
            let figure = written.figure.map(|figure| Figure { value, ..figure });
            Cell { figure, ..written }
        })
    }

    /// Rows read like this; the figure stays.
    pub fn says(&mut self, words: impl Fn(&R) -> String + 'a) -> &mut Self {
        self.again(move |row, cell| Cell {
            text: words(row),
            ..cell
        })
    }

    /// What JSON has of a row that stands there; `None` where there is no such key, not even one that is `null`.
    fn found<'v>(&self, row: &R, at: &str, json: &'v Value) -> Option<&'v Value> {
        let Source::Json(place, path) = &self.source else {
            return None;
        };
        let part = match place {
            Some(place) => follow(json, &place(row)?),
            None => follow(json, at),
        };
        follow(part?, path)
    }

    fn cell(&self, row: &R, at: &str, json: &Value) -> Cell {
        let cell = match &self.source {
            Source::Row(cell) => cell(row),
            Source::Json(..) => self.found(row, at, json).map(|value| self.unit.read(value)).into(),
        };
        self.changes.iter().fold(cell, |cell, change| change(row, cell))
    }

    /// As machines read it: the shortest digits that read back as the same number.
    fn data(&self, cell: Cell) -> String {
        match self.unit {
            Unit::Text => cell.text,
            _ => cell.figure.map_or_else(String::new, |figure| figure.value.to_string()),
        }
    }

    fn csv_name(&self) -> String {
        format!("{}{}", self.name, self.unit.suffix())
    }
}

/// Columns of rows of the type `R`, in order.
pub struct Columns<'a, R> {
    columns: Vec<Column<'a, R>>,
    place: Option<Place<'a, R>>,
}

impl<R> Default for Columns<'_, R> {
    fn default() -> Self {
        Self {
            columns: Vec::new(),
            place: None,
        }
    }
}

impl<'a, R: 'a> Columns<'a, R> {
    fn put(&mut self, key: String, unit: Unit<'a>, source: Source<'a, R>) -> &mut Column<'a, R> {
        let column = Column {
            name: key.replace('.', "_"),
            key,
            unit,
            data: true,
            head: None,
            source,
            changes: Vec::new(),
        };
        self.columns.push(column);
        let last = self.columns.len() - 1;
        &mut self.columns[last]
    }

    /// Fields from here on are those of what stands there in the answer's JSON; where that is `None` the row has no such part.
    pub fn from(&mut self, place: impl Fn(&R) -> Option<String> + 'a) {
        self.place = Some(Rc::new(place));
    }

    /// Fields from here on are those of the row, as they are in the beginning.
    pub fn from_row(&mut self) {
        self.place = None;
    }

    /// What JSON has there.
    pub fn field(&mut self, path: impl Into<String>, unit: Unit<'a>) -> &mut Column<'a, R> {
        let path = path.into();
        let place = self.place.clone();
        self.put(path.clone(), unit, Source::Json(place, path))
    }

    /// What JSON has there of the answer itself, the same for all rows.
    pub fn of_all(&mut self, path: &str, unit: Unit<'a>) -> &mut Column<'a, R> {
        let all: Place<'a, R> = Rc::new(|_| Some(String::new()));
        self.put(path.to_owned(), unit, Source::Json(Some(all), path.to_owned()))
    }

    /// Parts of what JSON has there; the first of them is given back.
    pub fn fields(&mut self, path: &str, parts: &[&str], unit: Unit<'a>) -> &mut Column<'a, R> {
        self.called(path, &path.replace('.', "_"), parts, unit)
    }

    /// [`Self::fields`] with another name in the CSV; the first of them is given back.
    pub(crate) fn called(&mut self, path: &str, name: &str, parts: &[&str], unit: Unit<'a>) -> &mut Column<'a, R> {
        let first = self.columns.len();
        for part in parts {
            self.field(format!("{path}.{part}"), unit)
                .named(format!("{name}_{part}"));
        }
        &mut self.columns[first]
    }

    /// What an hour earns as a [`crate::questions::sweep::Rate`]: what some batches earn less than, where they vary, and the average.
    /// The mean of what batches earn an hour is data only, as it is not what the hour earns on average.
    pub fn rates(&mut self, path: &str, currency: &'a str, varies: bool) -> &mut Column<'a, R> {
        let hourly = Unit::Hourly(currency);
        let earns = format!("an hour earns {currency}");
        let tenths = [
            ("p10", "10 %\nearn\nless"),
            ("p50", "half\nearn\nless"),
            ("p90", "10 %\nearn\nmore"),
        ];
        self.called(path, "rate", &["mean"], hourly);
        for (part, head) in tenths {
            let column = self.called(path, "rate", &[part], hourly);
            if varies {
                column.plain(head).under(&earns).spare(u8::from(part == "p90"));
            }
        }
        let average = self.called(path, "rate", &["long_run", "long_run_se", "long_run_paid"], hourly);
        if varies {
            average.plain("on\naverage").under(&earns)
        } else {
            average.plain(format!("an hour\nearns {currency}"))
        }
    }

    /// A figure that JSON has only by way of others.
    pub fn figure(
        &mut self,
        key: impl Into<String>,
        unit: Unit<'a>,
        value: impl Fn(&R) -> Option<f64> + 'a,
    ) -> &mut Column<'a, R> {
        let cell = move |row: &R| value(row).map(|value| unit.cell(value)).into();
        self.put(key.into(), unit, Source::Row(Box::new(cell)))
    }

    /// Words that JSON does not have.
    pub fn text<T: ToString>(&mut self, key: impl Into<String>, words: impl Fn(&R) -> T + 'a) -> &mut Column<'a, R> {
        let cell = move |row: &R| words(row).to_string().into();
        self.put(key.into(), Unit::Text, Source::Row(Box::new(cell)))
    }

    /// What is shown and not in the CSV.
    pub fn shown(&mut self, key: impl Into<String>, cell: impl Fn(&R) -> Cell + 'a) -> &mut Column<'a, R> {
        self.put(key.into(), Unit::Ratio, Source::Row(Box::new(cell)))
            .unwritten()
    }

    /// Words that are shown and not in the CSV, on the left as words stand.
    pub fn said(&mut self, key: impl Into<String>, cell: impl Fn(&R) -> Cell + 'a) -> &mut Column<'a, R> {
        self.put(key.into(), Unit::Text, Source::Row(Box::new(cell)))
            .unwritten()
    }

    /// Only those with these keys, in this order.
    pub fn pick(mut self, keys: &[&str]) -> Self {
        let place = |column: &Column<'a, R>| keys.iter().position(|key| *key == column.key);
        self.columns.retain(|column| place(column).is_some());
        self.columns.sort_by_key(place);
        self
    }
}

/// Whether a row is one of some.
type Test<'a, R> = Box<dyn Fn(&R) -> bool + 'a>;

/// Where JSON has a row, of which the place among the rows and the row itself are given.
type RowPlace<'a, R> = Box<dyn Fn(usize, &R) -> String + 'a>;

/// A sign before the first cell of some rows.
struct Marked<'a, R> {
    mark: Mark,
    /// What it comes to on this page.
    here: String,
    of: Test<'a, R>,
}

/// Columns that make curves against the first one, by their keys.
struct Curved {
    name: String,
    axis: String,
    keys: Vec<String>,
    main: String,
}

/// A table of rows of the type `R`.
pub struct Table<'a, R> {
    name: String,
    named: bool,
    /// Its columns but for the first are of one kind.
    alike: bool,
    json: Value,
    columns: Columns<'a, R>,
    rows: Vec<R>,
    place: RowPlace<'a, R>,
    chosen: Option<(Vec<usize>, &'static str)>,
    gapped: bool,
    marks: Vec<Marked<'a, R>>,
    own_marks: Vec<(Mark, &'static str)>,
    main: Option<Test<'a, R>>,
    curves: Vec<Curved>,
}

impl<'a, R: 'a> Table<'a, R> {
    /// Row k is `at[k]` of the answer's JSON.
    pub fn new<A: Serialize>(
        name: impl Into<String>,
        answer: &A,
        at: &'a str,
        rows: impl IntoIterator<Item = R>,
        columns: Columns<'a, R>,
    ) -> Self {
        Self {
            // Plain structs always have a JSON form.
            json: serde_json::to_value(answer).unwrap_or_default(),
            name: name.into(),
            named: false,
            alike: false,
            columns,
            rows: rows.into_iter().collect(),
            place: Box::new(move |k, _| format!("{at}[{k}]")),
            chosen: None,
            gapped: false,
            marks: Vec::new(),
            own_marks: Vec::new(),
            main: None,
            curves: Vec::new(),
        }
    }

    /// Where JSON has a row, of which the place among the rows and the row itself are given.
    pub(crate) fn placed(mut self, place: impl Fn(usize, &R) -> String + 'a) -> Self {
        self.place = Box::new(place);
        self
    }

    /// Whether a terminal says the name above the table.
    pub(crate) fn titled(mut self, named: bool) -> Self {
        self.named = named;
        self
    }

    /// Its columns but for the first are of one kind: where some have no room, that is said.
    pub fn alike(mut self) -> Self {
        self.alike = true;
        self
    }

    /// Only these rows are shown where not all of them, `sizes` or whatever they are, are asked for.
    pub fn choose(mut self, rows: Vec<usize>, what: &'static str) -> Self {
        self.chosen = Some((rows, what));
        self
    }

    /// A row of dots stands for rows that are left out between two that are shown.
    pub(crate) fn gapped(mut self) -> Self {
        self.gapped = true;
        self
    }

    /// A sign before the first cell of such rows; of several that a row could have, the one declared first. `here` says what it comes to on
    /// this page.
    pub fn mark(mut self, mark: Mark, here: impl Into<String>, of: impl Fn(&R) -> bool + 'a) -> Self {
        self.marks.push(Marked {
            mark,
            here: here.into(),
            of: Box::new(of),
        });
        self
    }

    /// A sign that some of the cells have themselves.
    pub(crate) fn explain(mut self, mark: Mark, here: &'static str) -> Self {
        self.own_marks.push((mark, here));
        self
    }

    /// The row that matters most.
    pub fn main(mut self, of: impl Fn(&R) -> bool + 'a) -> Self {
        self.main = Some(Box::new(of));
        self
    }

    /// A chart of a workbook: columns by key against the first one; the others are the band of `main`.
    pub fn curve<K: Into<String>>(
        mut self,
        name: impl Into<String>,
        axis: impl Into<String>,
        keys: impl IntoIterator<Item = K>,
        main: impl Into<String>,
    ) -> Self {
        self.curves.push(Curved {
            name: name.into(),
            axis: axis.into(),
            keys: keys.into_iter().map(Into::into).collect(),
            main: main.into(),
        });
        self
    }

    /// Places of the rows that are shown.
    fn rows_shown(&self, all: bool) -> Vec<usize> {
        match &self.chosen {
            Some((rows, _)) if !all => rows.clone(),
            _ => (0..self.rows.len()).collect(),
        }
    }

    /// Cells of a row in such columns.
    fn cells(&self, k: usize, of: impl Fn(&Column<'a, R>) -> bool) -> Vec<(&Column<'a, R>, Cell)> {
        let row = &self.rows[k];
        let at = (self.place)(k, row);
        let columns = self.columns.columns.iter().filter(|column| of(column));
        columns
            .map(|column| (column, column.cell(row, &at, &self.json)))
            .collect()
    }

    fn mark_of(&self, row: &R) -> Option<Mark> {
        self.marks.iter().find(|m| (m.of)(row)).map(|m| m.mark)
    }

    /// Marks of rows that can be seen, and that there are more rows.
    fn legend(&self, look: &Look) -> Vec<String> {
        let shown = self.rows_shown(look.complete());
        let mut seen: Vec<Mark> = shown.iter().filter_map(|k| self.mark_of(&self.rows[*k])).collect();
        if !self.own_marks.is_empty() {
            let cells = |k: &usize| self.cells(*k, |column| column.head.is_some());
            seen.extend(shown.iter().flat_map(cells).filter_map(|(_, cell)| cell.mark));
        }
        let own = self.own_marks.iter().map(|(mark, here)| (*mark, *here));
        let marks = self.marks.iter().map(|m| (m.mark, m.here.as_str())).chain(own);
        let mut said: Vec<String> = marks
            .filter(|(mark, _)| seen.contains(mark))
            .map(|(mark, here)| format!("{} {}", mark.sign(look.unicode), mark.explained(here)))
            .collect();
        if let Some((_, what)) = self.chosen.as_ref().filter(|_| shown.len() < self.rows.len()) {
            said.push(format!("--all: all {} {what}", format::count(self.rows.len() as u64)));
        }
        said
    }
}

/// A table whose type of rows does not matter.
pub trait Declared {
    /// As it is read: rows and columns for which there is room, with what explains them.
    fn grid(&self, look: &Look) -> Grid;
    /// All rows and columns of figures, unrounded, units in the names, nothing where there is no figure.
    fn csv(&self) -> String;
    /// The paths that it reads from JSON, and whether there is anything in any row.
    #[cfg(test)]
    fn found(&self) -> Vec<(String, bool)>;
}

impl<'a, R: 'a> Declared for Table<'a, R> {
    fn grid(&self, look: &Look) -> Grid {
        let columns = self.columns.columns.iter();
        let columns: Vec<(&Column<'a, R>, &Head)> = columns.filter_map(|c| Some((c, c.head.as_ref()?))).collect();
        let (mut rows, mut marked) = (Vec::new(), None);
        let (mut last, mut before): (Option<usize>, Vec<Cell>) = (None, Vec::new());
        for k in self.rows_shown(look.all) {
            if self.gapped && last.is_some_and(|last| k > last + 1) {
                let mut gap = vec![Cell::default(); columns.len()];
                gap[0] = "...".into();
                rows.push(gap);
                before.clear();
            }
            last = Some(k);
            let row = &self.rows[k];
            if marked.is_none() && self.main.as_ref().is_some_and(|main| main(row)) {
                marked = Some(rows.len());
            }
            let cells = self.cells(k, |column| column.head.is_some());
            let mut cells: Vec<Cell> = cells.into_iter().map(|(_, cell)| cell).collect();
            if let (Some(first), Some(mark)) = (cells.first_mut(), self.mark_of(row)) {
                first.mark = Some(mark);
            }
            let said = cells.clone();
            for ((cell, (_, head)), before) in cells.iter_mut().zip(&columns).zip(&before) {
                if head.once && before.text == cell.text {
                    *cell = Cell::default();
                }
            }
            before = said;
            rows.push(cells);
        }
        let place = |key: &String| columns.iter().position(|(column, _)| column.key == *key);
        let curves = self.curves.iter().filter_map(|curved| {
            Some(Curves {
                name: curved.name.clone(),
                axis: curved.axis.clone(),
                columns: curved.keys.iter().filter_map(place).collect(),
                main: place(&curved.main)?,
            })
        });
        let grid = Grid {
            name: self.name.clone(),
            named: self.named,
            heads: columns.iter().map(|(_, head)| (*head).clone()).collect(),
            rows,
            marked,
            curves: curves.collect(),
            legend: self.legend(look),
            left_out: String::new(),
        };
        if !look.terminal {
            return grid;
        }
        let whole = grid.heads.len();
        let mut grid = grid.fitted(look.columns);
        if self.alike && grid.heads.len() < whole {
            // The first column names the rows.
            grid.left_out = format!(
                "Only {} of the {} values across have room here. A wider terminal shows more, and --format csv has them all.",
                grid.heads.len() - 1,
                whole - 1
            );
        }
        grid
    }

    fn csv(&self) -> String {
        // Columns of one name are one.
        let mut names: Vec<String> = Vec::new();
        let columns = self.columns.columns.iter().filter(|column| column.data);
        let mut places = Vec::new();
        for name in columns.map(Column::csv_name) {
            let place = names.iter().position(|known| *known == name).unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            });
            places.push(place);
        }
        let row = |k: usize| {
            let mut row = vec![String::new(); names.len()];
            for ((column, cell), place) in self.cells(k, |column| column.data).into_iter().zip(&places) {
                if row[*place].is_empty() {
                    row[*place] = column.data(cell);
                }
            }
            row
        };
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in std::iter::once(names.clone()).chain((0..self.rows.len()).map(row)) {
            writer
                .write_record(row.iter().map(|cell| clean::cell(cell).into_owned()))
                .expect("rows of one width, written to memory, cannot fail");
        }
        let bytes = writer.into_inner().expect("memory takes what is flushed to it");
        String::from_utf8(bytes).expect("texts in, text out")
    }

    #[cfg(test)]
    fn found(&self) -> Vec<(String, bool)> {
        let fields = self
            .columns
            .columns
            .iter()
            .filter(|column| matches!(column.source, Source::Json(..)));
        let is_there = |column: &Column<'a, R>| {
            let mut rows = self.rows.iter().enumerate();
            rows.any(|(k, row)| column.found(row, &(self.place)(k, row), &self.json).is_some())
        };
        fields.map(|column| (column.key.clone(), is_there(column))).collect()
    }
}

/// What stands under a path: `sizes[3].rate.p50`.
fn follow<'v>(json: &'v Value, path: &str) -> Option<&'v Value> {
    path.split(['.', '['])
        .filter(|part| !part.is_empty())
        .try_fold(json, |at, part| match part.strip_suffix(']') {
            Some(place) => at.get(place.parse::<usize>().ok()?),
            None => at.get(part),
        })
}

/// An interval whose ends JSON and CSV have as columns of their own.
pub fn between(text: String, ends: [Option<f64>; 2], unit: Unit<'_>) -> Cell {
    let form = unit.form(ends[0].unwrap_or(0.0));
    figure::interval(text, ends, form)
}

#[cfg(all(test, feature = "cli"))]
pub(in crate::render) mod tests;
