//! `report` from outside: the figures are those of the single commands, the page is well formed and finds its way about without
//! help, the workbook opens in another library's reader, and nothing is written that was not asked for.

mod paper;
mod workbook;

use crate::program::run;
use std::collections::BTreeSet;
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use crate::shipped;
use calamine::{Data, Range, Reader, Xlsx};
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;

/// Few trials: these tests compare figures with figures, not with the truth.
const FEW: [&str; 2] = ["--trials", "500"];
const DATED: [&str; 2] = ["--date", "2027-01-11"];

fn shipped(name: &str) -> PathBuf {
    shipped::shipped(name).into()
}

/// A report of these files, as bytes; `kind` is its ending.
fn report(files: &[PathBuf], kind: &str, more: &[&str]) -> Vec<u8> {
    let folder = tempfile::tempdir().expect("scratch");
    let out = folder.path().join("report").with_extension(kind);
    let mut arguments: Vec<std::ffi::OsString> = vec!["report".into()];
    arguments.extend(files.iter().map(|file| file.into()));
    arguments.extend(["--out".into(), out.clone().into()]);
    arguments.extend(more.iter().map(|text| text.into()));
    let ran = run(&arguments);
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    assert!(ran.stdout.is_empty());
    fs::read(&out).expect("the report")
}

fn page(files: &[PathBuf], more: &[&str]) -> String {
    String::from_utf8(report(files, "html", more)).expect("text")
}

fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: 50_000_000,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).expect("well-formed")
}

fn workbook(files: &[PathBuf], more: &[&str]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(report(files, "xlsx", more))).expect("a workbook")
}

fn json(command: &str, file: &Path, more: &[&str]) -> Value {
    let mut arguments = vec![command, file.to_str().expect("a name"), "--format", "json"];
    arguments.extend(more);
    let ran = run(&arguments);
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    serde_json::from_slice(&ran.stdout).expect("JSON")
}

fn text_of(node: Node<'_, '_>) -> String {
    node.descendants()
        .filter(|n| n.is_text())
        .filter_map(|n| n.text())
        .collect()
}

/// What a screen shows of an answer; paper has tables and charts of its own.
fn seen<'a, 'input>(document: &'a Document<'input>, id: &str) -> Option<Node<'a, 'input>> {
    let of_class = |class: &'static str| move |n: &Node<'_, '_>| n.attribute("class") == Some(class);
    section(document, id)?.descendants().find(of_class("seen"))
}

fn named<'a, 'input>(at: Node<'a, 'input>, name: &'static str) -> Vec<Node<'a, 'input>> {
    at.descendants().filter(|n| n.tag_name().name() == name).collect()
}

fn section<'a, 'input>(document: &'a Document<'input>, id: &str) -> Option<Node<'a, 'input>> {
    document.descendants().find(|n| n.attribute("id") == Some(id))
}

/// Rows of a table's body as texts.
fn rows(table: Node<'_, '_>) -> Vec<Vec<String>> {
    let body = named(table, "tbody");
    let rows = body.iter().flat_map(|body| named(*body, "tr"));
    rows.map(|row| row.children().filter(Node::is_element).map(text_of).collect())
        .collect()
}

/// A column of a sheet by its head, of the table whose heads stand in the second row.
fn column(sheet: &Range<Data>, head: &str) -> Vec<Option<f64>> {
    let at = |row: usize, column: usize| sheet.get((row, column)).cloned().unwrap_or(Data::Empty);
    let heads: Vec<String> = (0..sheet.width()).map(|k| at(1, k).to_string()).collect();
    let place = heads
        .iter()
        .position(|h| h == head)
        .unwrap_or_else(|| panic!("{head} is not in {heads:?}"));
    let height = (2..sheet.height()).take_while(|row| at(*row, 0) != Data::Empty).count();
    (2..2 + height)
        .map(|row| match at(row, place) {
            Data::Float(v) => Some(v),
            Data::Int(v) => Some(v as f64),
            _ => None,
        })
        // The reader of JSON used here may miss the last bit of a figure: the same reader on both sides.
        .map(|v| v.map(|v| serde_json::from_str(&v.to_string()).expect("a figure")))
        .collect()
}

/// Figures of the JSON's list `list`, each found under `path`.
fn figures(json: &Value, list: &str, path: &str) -> Vec<Option<f64>> {
    let all = json[list].as_array().expect("a list");
    all.iter().map(|one| one.pointer(path).expect(path).as_f64()).collect()
}

/// The figure of a cell: `▲ 12`, `1,204`, `28.42`, `83 %`; and half of its last digit.
fn written(cell: &str) -> (f64, f64) {
    let text: String = cell
        .chars()
        .filter(|c| c.is_ascii_digit() || matches!(c, '.' | '-'))
        .collect();
    let digits = text.split_once('.').map_or(0, |(_, after)| after.len());
    let unit = if cell.ends_with('%') { 100.0 } else { 1.0 };
    let value: f64 = text.parse().unwrap_or_else(|_| panic!("{cell}"));
    (value / unit, 0.5 * 10f64.powi(-(digits as i32)) / unit)
}

#[test]
fn figures_of_page_and_workbook_are_those_of_the_commands() {
    for name in ["oak-peg-rail", "stoneware-mugs", "spinning-tops"] {
        let file = shipped(name);
        let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
        let mut book = workbook(std::slice::from_ref(&file), &asked);
        let mut sheet = |named: &str| book.worksheet_range(named).expect(named);
        let html = page(std::slice::from_ref(&file), &asked);
        let sweep = json("sweep", &file, &FEW);
        sweep_is_the_sheets(name, &sweep, &sheet("Sweep"));
        sweep_is_the_pages(name, &sweep, &parsed(&html));
        let floor = json("floor", &file, &FEW);
        for (head, path) in [("pieces a batch", "/size"), ("pays on average", "/long_run/price")] {
            let shown = column(&sheet("Floor"), head);
            assert_eq!(shown, figures(&floor, "sizes", path), "{name}: {head}");
        }
        drivers_are_the_sheets(name, &json("drivers", &file, &FEW), &sheet("Drivers"));
        stress_is_the_sheets(name, &json("stress", &file, &FEW), &sheet("Stress"));
    }
}

fn sweep_is_the_sheets(name: &str, sweep: &Value, sheet: &Range<Data>) {
    let currency = sweep["currency"].as_str().expect("a currency");
    let earns = format!("an hour earns {currency}");
    let confidence = format!(
        "pays {currency} in {:.0} %",
        100.0 * sweep["confidence"].as_f64().expect("a figure")
    );
    for (head, path) in [
        ("pieces a batch".to_owned(), "/size"),
        ("hours a piece".to_owned(), "/hours_per_piece/mean"),
        ("setup's share of the hours".to_owned(), "/setup_share"),
        (format!("{earns}, 10 % earn less"), "/rate/p10"),
        (format!("{earns}, half earn less"), "/rate/p50"),
        (format!("{earns}, 10 % earn more"), "/rate/p90"),
        (format!("{earns}, on average"), "/rate/long_run"),
        (format!("price that {confidence}"), "/floor_asked/price"),
    ] {
        assert_eq!(column(sheet, &head), figures(sweep, "sizes", path), "{name}: {head}");
    }
}

/// The size in front, the price that pays at the end.
fn sweep_is_the_pages(name: &str, sweep: &Value, document: &Document<'_>) {
    let tables = named(seen(document, "sweep").expect("sweep"), "table");
    let all = sweep["sizes"].as_array().expect("a list");
    assert_eq!(rows(*tables.last().expect("a table")).len(), all.len(), "{name}");
    let first_and_last = tables.iter().take(1).chain(tables.last());
    for row in first_and_last.flat_map(|table| rows(*table)) {
        let (size, _) = written(&row[0]);
        let one = all
            .iter()
            .find(|one| one["size"].as_f64() == Some(size))
            .expect("its size");
        // A price floor is rounded up, so that it is enough.
        for (place, path, up) in [
            (row.len() - 1, "/floor_asked/price", true),
            (row.len() - 3, "/rate/long_run", false),
        ] {
            let (value, half) = written(&row[place]);
            let exact = one.pointer(path).expect(path).as_f64().expect("a figure");
            let middle = if up { exact + half } else { exact };
            assert!(
                (value - middle).abs() <= half * 1.000_001,
                "{name} {size} {path}: {value} is not {exact}"
            );
        }
    }
}

fn drivers_are_the_sheets(name: &str, drivers: &Value, sheet: &Range<Data>) {
    let currency = drivers["currency"].as_str().expect("a currency");
    for (list, head, path) in [
        (
            "levers",
            format!("adds {currency} an hour, a little less"),
            "/gain/mean",
        ),
        ("levers", format!("adds {currency} an hour, 10 % less"), "/tenth/mean"),
        (
            "inputs",
            "why batches differ, by itself".to_owned(),
            "/shares/first/share",
        ),
        (
            "inputs",
            "why batches differ, with others".to_owned(),
            "/shares/total/share",
        ),
        (
            "inputs",
            format!("an hour earns {currency} if, always low"),
            "/swing/low/rate",
        ),
        (
            "inputs",
            format!("an hour earns {currency} if, always high"),
            "/swing/high/rate",
        ),
    ] {
        let all = drivers[list].as_array().expect("a list");
        let known: BTreeSet<u64> = all
            .iter()
            .filter_map(|one| one.pointer(path)?.as_f64())
            .map(f64::to_bits)
            .collect();
        let shown: Vec<f64> = column(sheet, &head).into_iter().flatten().collect();
        assert!(
            shown.len() > 3 && shown.iter().all(|value| known.contains(&value.to_bits())),
            "{name}, {head}: {shown:?}"
        );
    }
}

/// What reads as words has its figures beside it: breaking points and their intervals.
fn stress_is_the_sheets(name: &str, stress: &Value, sheet: &Range<Data>) {
    let sorted = |values: Vec<Option<f64>>| {
        let mut values: Vec<f64> = values.into_iter().flatten().collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let reach = stress["as_planned"]["reach"]["share"].as_f64();
    let lost = match reach >= stress["confidence"].as_f64() {
        true => "you still reach the target up to, worse by",
        false => "for the target, this alone must be, worse by",
    };
    for (head, path) in [
        (lost, "/target_lost/at"),
        ("exact value lies between, low", "/target_lost/low"),
        ("exact value lies between, high", "/target_lost/high"),
        ("an hour earns nothing when, worse by", "/nothing_earned/at"),
    ] {
        let shown = sorted(column(sheet, head));
        assert!(!shown.is_empty(), "{name}, {head}");
        assert_eq!(shown, sorted(figures(stress, "misfortunes", path)), "{name}, {head}");
    }
}

#[test]
fn season_jig_and_calendar_too() {
    let (tops, rail) = (shipped("spinning-tops"), shipped("oak-peg-rail"));
    let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
    let mut book = workbook(std::slice::from_ref(&tops), &asked);
    let season = json("season", &tops, &FEW);
    let sheet = book.worksheet_range("Season").expect("Season");
    for (head, path) in [
        ("pieces a batch", "/size"),
        ("pieces sold", "/sold/mean"),
        ("seasons sold out", "/sold_out/share"),
        ("surplus EUR, on average", "/surplus/mean"),
    ] {
        assert_eq!(column(&sheet, head), figures(&season, "sizes", path), "{head}");
    }
    let mut book = workbook(std::slice::from_ref(&rail), &asked);
    let jig = json("jig", &rail, &FEW);
    let sheet = book.worksheet_range("Jig").expect("Jig");
    for (head, path) in [
        ("costs EUR", "/outlay/mean"),
        ("saves EUR a batch", "/saving/mean"),
        ("saves time a batch", "/hours_saved/mean"),
        ("adds EUR an hour", "/adds_to_hour/mean"),
    ] {
        assert_eq!(column(&sheet, head), figures(&jig, "sets", path), "{head}");
    }
    // The calendar begins on the report's date.
    let calendar = json("calendar", &rail, &[FEW[0], FEW[1], "--start", DATED[1]]);
    let html = page(std::slice::from_ref(&rail), &asked);
    let document = parsed(&html);
    let said = text_of(section(&document, "calendar").expect("calendar"));
    let finish = calendar["sizes"][0]["finish_median"]["date"]
        .as_str()
        .expect("a date")
        .to_owned();
    let day: u32 = finish[8..].parse().expect("a day");
    assert!(
        said.contains(&format!("Thursday {day} January")) || said.contains(&format!(" {day} ")),
        "{finish}: {said}"
    );
}

/// Without --trials every question has its own command's number.
#[test]
fn runs_are_each_commands_own() {
    let file = shipped("ash-dining-table");
    let html = page(std::slice::from_ref(&file), &DATED);
    let document = parsed(&html);
    let said: Vec<String> = named(document.root(), "dd").into_iter().map(text_of).collect();
    for command in ["sweep", "floor", "stress", "drivers"] {
        let trials = json(command, &file, &[])["trials"].as_u64().expect("a number");
        let grouped = match trials {
            n if n >= 1_000 => format!("{},{:03}", n / 1_000, n % 1_000),
            n => n.to_string(),
        };
        let wanted = format!("{command} {grouped}");
        assert!(said.iter().any(|dd| dd.contains(&wanted)), "{wanted}: {said:?}");
    }
    // And what is said there is what each section says.
    let first = text_of(section(&document, "sweep").expect("sweep"));
    assert!(
        first.contains("50,000 batches of each size were simulated, seed 1"),
        "{first}"
    );
}

/// What can be checked of a page without a browser.
fn is_sound(html: &str, name: &str) {
    assert!(html.starts_with("<!DOCTYPE html>\n"), "{name}");
    let document = parsed(html);
    let root = document.root_element();
    // HTML Living Standard, 3.2.6.1 and WCAG 2.2, 3.1.1, 2.4.2: language and title.
    assert_eq!(root.attribute("lang"), Some("en"), "{name}");
    assert!(
        named(root, "title").first().is_some_and(|t| !text_of(*t).is_empty()),
        "{name}"
    );
    links_lead_to_ids(root, name);
    heads_go_down_by_one(root, name);
    tables_have_heads(root, name);
    // WCAG 2.2, 1.1.1: every picture has a text that stands for it.
    for svg in named(root, "svg") {
        let said = svg
            .children()
            .any(|n| n.tag_name().name() == "title" && !text_of(n).is_empty());
        assert!(
            svg.attribute("aria-hidden") == Some("true") || (svg.attribute("role") == Some("img") && said),
            "{name}"
        );
    }
    // WCAG 2.2, 2.1.1: what scrolls can be reached by key.
    for scroll in root.descendants().filter(|n| n.attribute("class") == Some("scroll")) {
        assert_eq!(scroll.attribute("tabindex"), Some("0"), "{name}");
        assert!(scroll.attribute("aria-label").is_some_and(|l| !l.is_empty()), "{name}");
    }
    loads_nothing(html, root, name);
    // Letters of charts are defined once.
    let charts = named(root, "svg").len() - 1;
    assert_eq!(html.matches("<defs>").count(), usize::from(charts > 0), "{name}");
}

/// HTML Living Standard, 3.2.6: an id is unlike any other and has no blanks.
fn links_lead_to_ids(root: Node<'_, '_>, name: &str) {
    let mut ids = BTreeSet::new();
    for node in root.descendants() {
        if let Some(id) = node.attribute("id") {
            assert!(!id.is_empty() && !id.contains(char::is_whitespace), "{name}: {id:?}");
            assert!(ids.insert(id), "{name}: {id} stands there twice");
        }
    }
    for link in root.descendants().filter_map(|n| n.attribute("href")) {
        assert!(
            link.strip_prefix('#').is_some_and(|id| ids.contains(id)),
            "{name}: {link}"
        );
    }
    for label in root.descendants().filter_map(|n| n.attribute("aria-labelledby")) {
        assert!(ids.contains(label), "{name}: {label}");
    }
}

/// HTML Living Standard, 4.3.6 and WCAG 2.2, 1.3.1: one h1, and no level left out going down.
fn heads_go_down_by_one(root: Node<'_, '_>, name: &str) {
    let level = |node: &Node<'_, '_>| {
        let name = node.tag_name().name().strip_prefix('h')?;
        name.parse::<u8>().ok()
    };
    let levels: Vec<u8> = root
        .descendants()
        .filter(Node::is_element)
        .filter_map(|n| level(&n))
        .collect();
    assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1, "{name}: {levels:?}");
    assert_eq!(levels.first(), Some(&1), "{name}");
    assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{name}: {levels:?}");
}

/// WCAG 2.2, 1.3.1 (technique H63, H39): every table has a caption and heads with their scope, every row fills it.
fn tables_have_heads(root: Node<'_, '_>, name: &str) {
    for table in named(root, "table") {
        assert!(
            named(table, "caption").iter().any(|c| !text_of(*c).is_empty()),
            "{name}"
        );
        let heads = named(table, "thead")
            .into_iter()
            .flat_map(|head| named(head, "th"))
            .collect::<Vec<_>>();
        assert!(!heads.is_empty(), "{name}");
        for th in named(table, "th") {
            assert!(
                th.attribute("scope").is_some() && !text_of(th).trim().is_empty(),
                "{name}"
            );
        }
        let span = |n: &Node<'_, '_>| {
            n.attribute("colspan")
                .map_or(1, |c| c.parse::<usize>().expect("a number"))
        };
        let first = named(table, "tr").into_iter().next().expect("a row");
        let wide: usize = first.children().filter(Node::is_element).map(|n| span(&n)).sum();
        assert!(rows(table).iter().all(|row| row.len() == wide), "{name}: {wide}");
    }
}

/// Nothing is run, nothing is fetched: namespaces are names.
fn loads_nothing(html: &str, root: Node<'_, '_>, name: &str) {
    for tag in ["script", "img", "link", "iframe", "object", "form", "base"] {
        assert!(named(root, tag).is_empty(), "{name}: {tag}");
    }
    for node in root.descendants() {
        for attribute in node.attributes() {
            assert!(
                !attribute.name().starts_with("on") && attribute.name() != "src",
                "{name}: {}",
                attribute.name()
            );
            assert_ne!(attribute.name(), "style", "{name}");
        }
    }
    let elsewhere = html
        .replace("http://www.w3.org/2000/svg", "")
        .replace("http://www.w3.org/1999/xhtml", "");
    let before_sources = elsewhere.split("<pre>").next().unwrap_or_default();
    assert!(
        !before_sources.contains("http:") && !before_sources.contains("https:"),
        "{name}"
    );
    assert!(
        html.contains("Content-Security-Policy") && html.contains("default-src 'none'"),
        "{name}"
    );
}

#[test]
fn every_page_is_sound() {
    let asked: Vec<&str> = ["--trials", "200"].into_iter().chain(DATED).collect();
    for name in shipped::names() {
        let html = page(&[shipped(name)], &asked);
        is_sound(&html, name);
        assert_eq!(
            html.matches("leaving a guard off").count(),
            1,
            "{name}: care stands there once"
        );
        // Nobody can type a flag on a page.
        let body = html.split("<body>").nth(1).and_then(|body| body.split("<pre>").next());
        assert!(body.is_some_and(|body| !body.contains(" --")), "{name}");
    }
    let files = ["oak-peg-rail", "oak-coat-stand", "spinning-tops"].map(shipped);
    let html = page(&files, &asked);
    is_sound(&html, "three");
    let document = parsed(&html);
    for id in ["compare", "sweep1", "sweep3", "part2"] {
        assert!(section(&document, id).is_some(), "{id}");
    }
    // The comparison comes first.
    assert!(html.find("id=\"compare\"") < html.find("id=\"part1\""));
}

/// Names that are markup, and a formula.
const EVIL: &str = r#"
title = '=1+1 <script>alert("x")</script> & "pegs"'
currency = 'EUR'
target = 30
[batch]
sizes = '1..6'
[[step]]
name = '<script>alert("step")</script>'
setup = '20 / 30 / 50 min'
each = '5 / 6 / 9 min'
[[step]]
name = "pack & 'post'"
per_order = '10 min'
[[channel]]
name = '"><script>alert(1)</script>'
share = '60 %'
[[channel]]
name = '@shop'
share = '40 %'
discount = '10 %'
[[jig]]
name = '</svg><script>1</script>'
step = '<script>alert("step")</script>'
build = '1 h'
cost = 4
setup = 'x 0.5'
[sale]
price = 40
"#;

#[test]
fn names_are_text_and_nothing_else() {
    let folder = tempfile::tempdir().expect("scratch");
    let file = folder.path().join("odd & <b>.toml");
    fs::write(&file, EVIL).expect("write");
    let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
    let html = page(std::slice::from_ref(&file), &asked);
    is_sound(&html, "odd");
    let document = parsed(&html);
    let title = "=1+1 <script>alert(\"x\")</script> & \"pegs\"";
    assert_eq!(text_of(named(document.root(), "h1")[0]), title);
    let said = text_of(document.root_element());
    for name in [
        "<script>alert(\"step\")</script>",
        "\"><script>alert(1)</script>",
        "</svg><script>1</script>",
        "odd & <b>.toml",
    ] {
        assert!(said.contains(name), "{name}");
    }
    assert_eq!(text_of(named(document.root(), "pre")[0]), EVIL);
    let mut book = workbook(std::slice::from_ref(&file), &asked);
    for name in book.sheet_names() {
        let formulas = book.worksheet_formula(&name).expect("a sheet");
        // The sums are the program's own formulas; nothing of the file stands in one.
        if name == "Sums" {
            for (_, _, formula) in formulas.used_cells() {
                assert!(!formula.to_lowercase().contains("hyperlink"), "{formula}");
            }
        } else {
            assert_eq!(formulas.used_cells().count(), 0, "{name}");
        }
    }
    let sheet = book.worksheet_range("Answers").expect("Answers");
    assert_eq!(sheet.get((0, 0)), Some(&Data::String(title.to_owned())));
}

#[test]
fn the_same_bytes_whatever_the_threads() {
    for kind in ["html", "xlsx"] {
        let made = |threads| {
            let asked: Vec<&str> = FEW.into_iter().chain(DATED).chain(["--threads", threads]).collect();
            report(&[shipped("oak-peg-rail")], kind, &asked)
        };
        let first = made("1");
        std::thread::sleep(std::time::Duration::from_millis(1_100));
        assert!(first == made("2"), "{kind}");
    }
}

#[test]
fn what_does_not_apply_is_left_out_and_said() {
    let asked: Vec<&str> = FEW.into_iter().chain(DATED).collect();
    let html = page(&[shipped("oak-peg-rail")], &asked);
    let document = parsed(&html);
    assert!(section(&document, "season").is_none() && section(&document, "jig").is_some());
    let said: Vec<String> = named(document.root(), "dd").into_iter().map(text_of).collect();
    assert_eq!(
        said.last().map(String::as_str),
        Some("compare (one file); season (no [season]); steady (no [steady])."),
        "{said:?}"
    );
    let only: Vec<&str> = asked
        .iter()
        .copied()
        .chain(["--only", "floor,sweep", "--price", "70"])
        .collect();
    let html = page(&[shipped("oak-peg-rail")], &only);
    let document = parsed(&html);
    let sections: Vec<&str> = named(document.root(), "section")
        .iter()
        .filter_map(|n| n.attribute("id"))
        .collect();
    assert_eq!(sections, ["sweep", "floor", "assumed"]);
    assert!(text_of(document.root_element()).contains("sale.price = 70"));
    // In different currencies they are not set against each other.
    let html = page(&[shipped("oak-peg-rail"), shipped("printed-tea-towels")], &asked);
    assert!(section(&parsed(&html), "compare").is_none());
    assert!(html.contains("compare (different currencies, and no rate under [currencies])"));
}

#[test]
fn what_cannot_be_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("scratch");
    let rail = shipped("oak-peg-rail").display().to_string();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let wrong = |arguments: &[&str], code: i32, says: &[&str]| {
        let ran = run(arguments);
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(code), "{arguments:?}: {said}");
        for words in says {
            assert!(said.contains(words), "{arguments:?}: {words} is not in {said}");
        }
        assert!(ran.stdout.is_empty());
    };
    wrong(&["report", &rail], 2, &["--out"]);
    wrong(
        &["report", &rail, "--out", &at("a.pdf")],
        2,
        &[".html or .xlsx", "a.html"],
    );
    let bad = at("bad.toml");
    fs::write(&bad, "title = 'x'\ntarget = -3\n").expect("write");
    // Faults of flags and of every file at once.
    wrong(
        &["report", &bad, "--out", &at("a.pdf")],
        2,
        &[".html or .xlsx", "target", "step"],
    );
    wrong(
        &["report", &rail, "--out", &at("a.html"), "--only", "tax"],
        2,
        &["possible values", "drivers"],
    );
    wrong(
        &["report", &rail, "--out", &at("a.html"), "--only", "compare,season"],
        2,
        &["nothing is left to report", "compare (one file)", "no [season]"],
    );
    wrong(
        &["report", &rail, "--out", &at("a.html"), "--date", "1.2.2027"],
        2,
        &["year-month-day"],
    );
    wrong(
        &["report", &rail, "--out", &at("none/a.html")],
        1,
        &["there is no folder"],
    );
    wrong(
        &["report", &at("gone.toml"), "--out", &at("a.html")],
        1,
        &["cannot read"],
    );
    // A scenario is never written over, whatever it is called.
    let own = at("rail.html");
    fs::copy(shipped("oak-peg-rail"), &own).expect("copy");
    wrong(&["report", &own, "--out", &own], 2, &["would overwrite the scenario"]);
    let kept = fs::read_to_string(&own).expect("read");
    assert_eq!(kept, fs::read_to_string(&rail).expect("read"));
    let mut left: Vec<String> = fs::read_dir(folder.path())
        .expect("folder")
        .map(|entry| entry.expect("entry").file_name().to_string_lossy().into_owned())
        .collect();
    left.sort();
    assert_eq!(left, ["bad.toml", "rail.html"]);
}
