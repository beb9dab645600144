use super::*;
use crate::render::figure;
use crate::render::figure::Mark;
use crate::render::grid::{Grid, Head};
use crate::render::plot::palette::{ASKED, Color, INK, MAIN, MUTED, PAYS};
use crate::render::samples::gallery;
use std::collections::{BTreeMap, BTreeSet};

const EVIL: &str = "<script>alert(\"x\")</script> & 'pegs' \u{1b}[2J";

fn place(id: &str) -> Place<'_> {
    Place {
        id,
        level: 3,
        heading: EVIL,
        care: true,
        printed: true,
    }
}

/// Every id of a document; one that stands there twice fails.
fn ids(document: &roxmltree::Document<'_>) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for id in document.descendants().filter_map(|n| n.attribute("id")) {
        assert!(found.insert(id.to_owned()), "{id} stands there twice");
    }
    found
}

fn text_of(node: roxmltree::Node<'_, '_>) -> String {
    node.descendants()
        .filter(|n| n.is_text())
        .filter_map(|n| n.text())
        .collect()
}

#[test]
fn what_somebody_wrote_is_text_and_nothing_else() {
    let head = |lines: &str, spanner: Option<&str>| Head {
        lines: lines.to_owned(),
        spanner: spanner.map(str::to_owned),
        words: spanner.is_none(),
        ..Head::default()
    };
    let grid = Grid {
        name: EVIL.to_owned(),
        heads: vec![head(EVIL, None), head("figure", Some(EVIL))],
        rows: vec![vec![EVIL.into(), figure::count(3).marked(Mark::Best)]],
        marked: Some(0),
        ..Grid::default()
    };
    let page = Page {
        title: EVIL.to_owned(),
        opening: vec![EVIL.to_owned()],
        why: vec![EVIL.to_owned()],
        tables: vec![grid.clone()],
        more: vec![EVIL.to_owned()],
        small: vec![EVIL.to_owned()],
        care: EVIL.to_owned(),
    };
    let mut whole = page.clone();
    whole.tables[0].rows.push(vec!["more".into(), figure::count(4)]);
    let html = fragment(&page, &whole, Vec::new(), None, &place("a"));
    let document = roxmltree::Document::parse(&html).unwrap_or_else(|e| panic!("{e}\n{html}"));
    assert!(
        !document.descendants().any(|n| n.tag_name().name() == "script"),
        "{html}"
    );
    let said = "<script>alert(\"x\")</script> & 'pegs' \u{fffd}[2J";
    // Heading, opening, why, what else, care, small print; caption, two heads, a row's head, of both tables; what opens the second.
    let times = document
        .descendants()
        .filter(|n| n.is_text() && n.text() == Some(said))
        .count();
    assert_eq!(times, 6 + 2 * 4, "{html}");
    assert!(
        html.contains("aria-label=\"&#60;script&#62;alert(&#34;x&#34;)"),
        "{html}"
    );
}

#[test]
fn every_answer_is_well_formed_and_its_table_says_what_the_terminal_says() {
    for (name, sweep) in gallery() {
        let mut letters = Letters::default();
        let html = answer(&sweep, &place("a"), &mut letters);
        let document = roxmltree::Document::parse(&html).unwrap_or_else(|e| panic!("{name}: {e}"));
        ids(&document);
        let page = sweep.page(&Look::page(false));
        let rows: Vec<Vec<String>> = document
            .descendants()
            .find(|n| n.has_tag_name("tbody"))
            .into_iter()
            .flat_map(|body| body.children().filter(|n| n.has_tag_name("tr")).collect::<Vec<_>>())
            .map(|row| row.children().filter(|n| n.is_element()).map(text_of).collect())
            .collect();
        let expected: Vec<Vec<String>> = page.tables[0]
            .rows
            .iter()
            .map(|row| row.iter().map(|cell| cell.read(true)).collect())
            .collect();
        assert_eq!(rows, expected, "{name}");
        assert!(!html.contains(" --"), "{name}: nobody can type a flag here");
    }
}

/// HTML Living Standard, 4.9.12: heads that span rows and columns fill the same rectangle as the cells under them.
#[test]
fn heads_over_columns_fill_the_table() {
    for (name, sweep) in gallery() {
        let grid = &sweep.page(&Look::page(false)).tables[0];
        let lines = head(grid);
        let first: usize = lines[0].iter().map(|h| h.columns).sum();
        assert_eq!(first, grid.heads.len(), "{name}");
        if let Some(second) = lines.get(1) {
            let spanned: usize = lines[0].iter().filter(|h| h.rows == 1).map(|h| h.columns).sum();
            assert_eq!(second.len(), spanned, "{name}");
        }
    }
}

#[test]
fn charts_share_their_letters() {
    let (mut letters, mut used) = (Letters::default(), BTreeSet::new());
    let mut body = String::new();
    for (k, (_, sweep)) in gallery().into_iter().enumerate() {
        body.push_str(&answer(&sweep, &place(&format!("a{k}")), &mut letters));
    }
    let page = format!("<body>{}{body}</body>", letters.definitions());
    let options = roxmltree::ParsingOptions {
        nodes_limit: 10_000_000,
        ..Default::default()
    };
    let document = roxmltree::Document::parse_with_options(&page, options).unwrap();
    let known = ids(&document);
    for link in document.descendants().filter_map(|n| n.attribute("href")) {
        assert!(known.contains(&link[1..]), "{link} has no target");
        used.insert(link.to_owned());
    }
    assert!(used.len() > 50);
    // WCAG 2.2, 1.1.1: every picture has a text that stands for it.
    for svg in document
        .descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "svg")))
    {
        let hidden = svg.attribute("aria-hidden") == Some("true");
        let named = svg
            .children()
            .any(|n| n.tag_name().name() == "title" && n.text().is_some_and(|t| !t.is_empty()));
        assert!(hidden || (named && svg.attribute("role") == Some("img")));
    }
}

/// The colours of a block of the style sheet that begins so.
fn colours(begins: &str) -> BTreeMap<String, [u8; 3]> {
    let block = STYLE.split_once(begins).unwrap().1;
    let block = block.split_once('}').unwrap().0;
    let pair = |line: &str| {
        let (name, value) = line.trim().strip_prefix("--")?.split_once(": #")?;
        let value = u32::from_str_radix(value.trim_end_matches(';'), 16).unwrap();
        Some((name.to_owned(), [16, 8, 0].map(|shift| (value >> shift) as u8)))
    };
    block.lines().filter_map(pair).collect()
}

/// Relative luminance (WCAG 2.2, with the sRGB curve of IEC 61966-2-1).
fn luminance(colour: [u8; 3]) -> f64 {
    let [r, g, b] = colour.map(|v| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// WCAG 2.2, 1.4.3: 4.5 to 1 for text; 1.4.11: 3 to 1 for what is needed to find one's way.
#[test]
fn light_and_dark_can_be_read() {
    let light = colours(":root {");
    // Dark on screens only: paper is light.
    let dark = colours("@media screen and (prefers-color-scheme: dark) {\n  :root {");
    assert!(light.len() > 8);
    assert_eq!(light.keys().collect::<Vec<_>>(), dark.keys().collect::<Vec<_>>());
    // Black on white: the formula's own example (WCAG 2.2, definition of contrast ratio), 21 to 1.
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    for theme in [&light, &dark] {
        for text in ["ink", "muted", "main", "link", "asked", "pays"] {
            for ground in ["ground", "raised"] {
                let ratio = contrast(theme[text], theme[ground]);
                assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
            }
        }
        for text in ["ink", "link"] {
            let ratio = contrast(theme[text], theme["band"]);
            assert!(ratio >= 4.5, "{text} on band: {ratio:.2}");
        }
        let ratio = contrast(theme["asked"], theme["ground"]);
        assert!(ratio >= 3.0, "focus: {ratio:.2}");
    }
}

#[test]
fn pages_have_the_charts_colours() {
    let palette = include_str!("../plot/palette.rs");
    for (name, [r, g, b]) in colours(":root {") {
        let written = format!("Color(0x{r:02x}, 0x{g:02x}, 0x{b:02x})");
        assert!(
            palette.contains(&written) || [r, g, b] == [255; 3],
            "{name} is no colour of the charts"
        );
    }
}

/// Every colour of the charts has one for the dark, by its name there; those of letters reach 4.5 to 1 on the ground (WCAG 2.2, 1.4.3).
#[test]
fn charts_can_be_read_in_the_dark() {
    let ground = colours("@media screen and (prefers-color-scheme: dark) {\n  :root {")["ground"];
    let (dark, _) = include_str!("charts.css").split_once('}').unwrap();
    let dark: BTreeMap<&str, &str> = dark.split("--c-").filter_map(|pair| pair.split_once(": #")).collect();
    let (palette, _) = include_str!("../plot/palette.rs").split_once("#[cfg(test)]").unwrap();
    let mut seen = 0;
    for line in palette.lines() {
        for colour in line.split("Color(0x").skip(1) {
            let name = colour[..14].replace(", 0x", "");
            assert!(name == "ffffff" || dark.contains_key(name.as_str()), "{name}");
            seen += 1;
        }
    }
    assert!(seen > 25);
    for letters in [INK, MUTED, ASKED, MAIN, PAYS] {
        let Color(r, g, b) = letters;
        let value = &dark[format!("{r:02x}{g:02x}{b:02x}").as_str()][..6];
        let value = u32::from_str_radix(value, 16).unwrap();
        let ratio = contrast([16, 8, 0].map(|shift| (value >> shift) as u8), ground);
        assert!(ratio >= 4.5, "{letters:?}: {ratio:.2}");
    }
}

/// A phone has the narrow picture of a chart, whose letters are not drawn smaller than they are; neither is seen beside the other.
#[test]
fn one_picture_of_a_chart_is_seen() {
    let (_, sweep) = gallery().remove(0);
    let html = answer(&sweep, &place("a"), &mut Letters::default());
    for (name, width) in [("broad", BROAD), ("narrow", NARROW)] {
        let (_, figure) = html.split_once(&format!("<figure class=\"chart {name}\">")).unwrap();
        assert!(figure[..400].contains(&format!(" width=\"{width}\"")), "{name}");
    }
    for rule in [
        "\n.narrow { display: none; }",
        "@media screen and (max-width: 45rem) {\n  .broad { display: none; }\n  .narrow { display: block; }",
    ] {
        assert!(STYLE.contains(rule), "{rule}");
    }
}

/// Selector and declarations of the style sheet's print rules.
fn printed_rules() -> BTreeMap<&'static str, &'static str> {
    let (_, print) = STYLE.split_once("@media print {").unwrap();
    let (print, _) = print.split_once("@media (forced-colors").unwrap();
    let rules = print
        .split('}')
        .filter_map(|rule| rule.rsplit_once("*/").map_or(rule, |(_, rule)| rule).split_once('{'));
    rules.map(|(selector, says)| (selector.trim(), says.trim())).collect()
}

#[test]
fn paper_has_two_columns_and_breaks_where_it_may() {
    let rules = printed_rules();
    let (screen, _) = STYLE.split_once("@media print {").unwrap();
    assert!(screen.contains(".printed { display: none; }"));
    for (selector, says) in [
        (".seen", "display: none"),
        (".printed", "display: block"),
        (".columns", "columns: 2"),
        (".columns > .wide, .printed > .wide", "column-span: all"),
        ("pre", "columns: 2"),
        (".lead", "break-inside: avoid"),
        (".lead", "break-after: avoid"),
        ("h2, h3, h4, caption, thead, .opening", "break-after: avoid"),
        ("figure", "break-inside: avoid"),
        ("thead", "display: table-header-group"),
        ("@page", "margin: 7mm 9mm 9.5mm"),
    ] {
        let found = rules
            .get(selector)
            .unwrap_or_else(|| panic!("{selector} is not in {rules:?}"));
        assert!(found.contains(says), "{selector}: {found}");
    }
    assert!(STYLE.contains("@bottom-right { content: counter(page) \" of \" counter(pages);"));
}

/// A table stands in a column of a page where few of its columns have to go for that; if more, it stands over both, whole.
#[test]
fn a_table_for_paper_is_narrow_or_whole() {
    let grid = |columns: usize| Grid {
        heads: (0..columns)
            .map(|k| Head {
                lines: "1234567890".to_owned(),
                spare: u8::from(k > 0),
                ..Head::default()
            })
            .collect(),
        rows: vec![vec![figure::count(1); columns]],
        ..Grid::default()
    };
    let shown = |columns| {
        let table = for_paper(&grid(columns));
        (table.head[0].len(), table.wide)
    };
    assert_eq!(
        [5, 6, 7, 8, 9].map(shown),
        [(5, false), (5, false), (5, false), (8, true), (9, true)]
    );
}

#[test]
fn nothing_is_fetched() {
    for word in ["url(", "@import", "http:", "https:", "expression", "</"] {
        assert!(!STYLE.contains(word), "{word}");
    }
}
