//! Charts of every kind of answer: whole, well formed, the same in SVG and PNG.

use super::*;
use crate::questions::sweep::Sweep;
use crate::render::columns::tests::{answers, odd_answers};
use crate::render::format;
use crate::render::plot::{Axis, Curves, EndLabel, LABEL, Layer, Line, Panel, RowLayer, palette};
use crate::render::samples::{any_sweep, gallery};
use crate::render::{Dotted, Render};
use proptest::prelude::*;

fn with(answer: &Sweep, headline: &str) -> Plot {
    Plot {
        headline: headline.to_owned(),
        ..answer.plot().expect("it has sizes")
    }
}

fn sweep_svg(answer: &Sweep, headline: &str) -> String {
    svg(&with(answer, headline))
}

fn sweep_png(answer: &Sweep, headline: &str) -> Result<Vec<u8>, ChartError> {
    png(&with(answer, headline)).map(|(png, _)| png)
}

const HEADLINE: &str = "Make at least 12 at a time: from there on the target is reached in four runs out of five, and a one-off earns a third of it.";

fn drawn_texts(plot: &Plot, paper: Paper) -> Vec<String> {
    let drawn = page(plot, paper).drawn();
    let texts = drawn.marks().iter().filter_map(|mark| match mark {
        Mark::Text { text, .. } => Some(text.to_string()),
        _ => None,
    });
    texts.collect()
}

/// A panel alone, its axis from 0 to 1.
fn alone(field: Field, names_wide: f64) -> Plot {
    let panel = Panel {
        share: 1.0,
        axis: Axis::values((0.0, 1.0), |value, _| value.to_string()),
        names_wide,
        field,
        ..Panel::default()
    };
    Plot {
        height: page::height_of_one(120.0),
        panels: vec![panel],
        ..Plot::default()
    }
}

/// Names of rows that are too long for their place are folded, on a sheet and in a column of paper, and say all; a very long one keeps
/// both of its ends.
#[test]
fn long_names_of_rows_are_folded() {
    let long = [
        "glue the pegs into their holes and clamp them for the night: setup",
        "vegetable-tanned leather of the second choice: price",
        "drill",
    ];
    let names = |of: &[&str]| Field::Rows {
        names: of.iter().map(|name| (*name).to_owned()).collect(),
        layers: Vec::new(),
    };
    let plot = alone(names(&long), 264.0);
    for paper in [Paper::SHEET, Paper::column(COLUMN, &plot)] {
        let texts = drawn_texts(&plot, paper).join(" ");
        for name in long {
            assert!(texts.contains(name), "{name}: {texts}");
        }
    }
    let letters = format!("a{}z slower", " bcd".repeat(48));
    let cut = drawn_texts(&alone(names(&[&letters]), 264.0), Paper::SHEET).join(" ");
    assert!(
        cut.contains("a bcd") && cut.contains("z slower") && cut.contains('…'),
        "{cut}"
    );
}

/// Rows whose names are folded are higher, those of one line are alike, and all of them fill the panel.
#[test]
fn rows_are_as_high_as_their_names() {
    let names = ["a".to_owned(), "of several words ".repeat(4), "c".to_owned()];
    let field = Field::Rows {
        names: names.to_vec(),
        layers: Vec::new(),
    };
    let plot = alone(field, 264.0);
    let paper = Paper::column(COLUMN, &plot);
    let folds = names::least(&paper.row_names(&plot.panels[0], &names)) - 3.0 * names::LOWEST;
    assert!(folds > 0.0);
    let bounds = labels::Rect {
        x0: 200.0,
        y0: 50.0,
        x1: 400.0,
        y1: 200.0,
    };
    let ends = names::tops(&paper.row_names(&plot.panels[0], &names), bounds).0;
    let tall: Vec<f64> = ends.windows(2).map(|ends| ends[1] - ends[0]).collect();
    assert_eq!(tall[0], tall[2]);
    assert!((tall[1] - tall[0] - folds).abs() < 1e-9, "{tall:?}");
    assert!((ends[3] - 200.0).abs() < 1e-9, "{ends:?}");
}

/// A sheet grows until long names of many rows have room; where a panel is high anyway it stays as it is.
#[test]
fn a_sheet_is_as_high_as_names_need() {
    let plot = |of: &str| {
        let names = vec![of.to_owned(); 12];
        alone(
            Field::Rows {
                names,
                layers: Vec::new(),
            },
            264.0,
        )
    };
    let (short, long) = (
        plot("saw"),
        plot("the name of a step that is told as a whole sentence: setup"),
    );
    let least = |plot: &Plot| match &plot.panels[0].field {
        Field::Rows { names, .. } => names::least(&Paper::SHEET.row_names(&plot.panels[0], names)),
        _ => 0.0,
    };
    assert_eq!(Paper::SHEET.height(&short), short.height);
    assert!(least(&long) > f64::from(long.height));
    assert!(f64::from(Paper::SHEET.height(&long)) > least(&long));
    let room = plot("saw").height + 500;
    let high = |of: &str| Plot {
        height: room,
        ..plot(of)
    };
    assert_eq!(
        Paper::SHEET.height(&high("the name of a step that is told as a sentence")),
        room
    );
}

/// Where figures beside rows have no room, all of a panel are brief: half a figure says less than none.
#[test]
fn figures_beside_rows_are_whole_or_brief() {
    let figure = |row, text: &str| RowLayer::figure(row, text, LABEL).brief(format!("{row}"));
    let of = |texts: [&str; 2]| Field::Rows {
        names: vec!["a".to_owned(), "b".to_owned()],
        layers: texts.iter().enumerate().map(|(row, text)| figure(row, text)).collect(),
    };
    let said = |texts| drawn_texts(&alone(of(texts), 264.0), Paper::SHEET);
    assert!(said(["low 30, high 20", "low 3, high 2"]).contains(&"low 3, high 2".to_owned()));
    let brief = said(["low 1,213,433,054,000, high 958,340,111,000", "low 3, high 2"]);
    assert!(
        brief.iter().all(|text| !text.contains("low") && !text.contains('…')),
        "{brief:?}"
    );
}

/// The plot gives way as far as the longest label beside it needs, and not a pixel less.
#[test]
fn labels_beside_a_plot_are_whole() {
    for letters in 1..30 {
        let name = "m n o ".repeat(6)[..letters].trim_end().to_owned();
        let end = EndLabel::line(0.5, Line::solid(palette::INK, 2.0), name.as_str(), "30.78");
        let curves = Curves {
            range: (0.0, 1.0),
            layers: vec![Layer::ends(vec![end])],
            ..Curves::default()
        };
        let texts = drawn_texts(&alone(Field::Curves(curves), 0.0), Paper::SHEET);
        assert!(texts.contains(&name), "{name}: {texts:?}");
    }
}

/// On paper a column is 92 mm wide: A4 (ISO 216) without margins of 10 mm and a gap of 6 mm. Both columns are 190 mm.
#[test]
fn letters_on_paper_are_seven_points_high() {
    const POINTS_A_MM: f64 = 72.0 / 25.4;
    let smallest = |plot: &Plot, paper| {
        let sizes = page(plot, paper).drawn();
        let sizes = sizes.marks().iter().filter_map(|mark| match mark {
            Mark::Text { letters, .. } => Some(letters.size / canvas::UNIT),
            _ => None,
        });
        sizes.fold(f64::INFINITY, f64::min)
    };
    for (name, answer) in gallery() {
        let plot = answer.plot().expect("it has sizes");
        for (pixels, mm) in [(COLUMN, 92.0), (COLUMNS, 190.0)] {
            let points = smallest(&plot, Paper::column(pixels, &plot)) * mm * POINTS_A_MM / f64::from(pixels);
            assert!((7.0..20.0).contains(&points), "{name}: {points} pt over {mm} mm");
        }
        let pieces = pieces(&plot);
        assert_eq!(pieces.len(), plot.panels.len(), "{name}");
        for piece in pieces {
            let picture = roxmltree::Document::parse(&piece.svg).unwrap();
            let [wide, tall] = ["width", "height"].map(|side| {
                let side = picture.root_element().attribute(side).unwrap();
                side.parse::<f64>().unwrap()
            });
            // As many as three fit into the height of a page, so that none leaves half of it empty.
            assert!(
                piece.wide || wide == f64::from(COLUMN) && tall < 1.2 * wide,
                "{name}: {wide} by {tall}"
            );
        }
    }
}

fn pictures() -> std::path::PathBuf {
    let folder = std::env::temp_dir().join("batchwright-charts");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn sample(name: &str) -> Sweep {
    gallery().into_iter().find(|g| g.0 == name).unwrap().1
}

/// All the texts of an SVG chart, in drawing order.
fn texts(svg: &str) -> Vec<String> {
    let page = roxmltree::Document::parse(svg).unwrap();
    page.descendants()
        .filter_map(|n| n.attribute("data-text"))
        .map(str::to_owned)
        .collect()
}

fn says(svg: &str, text: &str) -> bool {
    texts(svg).iter().any(|t| t == text)
}

/// A name in letters of other scripts: an SVG leaves them to a font of whoever looks, in the room that was reckoned; a PNG has bars.
#[test]
fn letters_that_the_font_lacks_are_text_in_an_svg_and_bars_in_a_png() {
    let mut plot = with(&sample("rail"), HEADLINE);
    "Чаша за чай, 釉薬 5".clone_into(&mut plot.about);
    let drawing = svg(&plot);
    let page = roxmltree::Document::parse(&drawing).unwrap();
    let set: Vec<(&str, f64)> = page
        .descendants()
        .filter(|n| n.tag_name().name() == "text")
        .map(|n| (n.text().unwrap(), n.attribute("textLength").unwrap().parse().unwrap()))
        .collect();
    let [("Чаша за чай", first), ("釉薬", second)] = set[..] else {
        panic!("{set:?}")
    };
    // Nine letters of 0.6 and two blanks, two letters of 1.
    assert!(first > 2.7 * second && first < 3.2 * second, "{first} {second}");
    assert!(
        !drawing.contains("\"bw-r0\"") && !drawing.contains("\"bw-s0\""),
        "an empty box"
    );
    assert_eq!(lacking(&plot), "Чашзчй釉薬");
    "no letters".clone_into(&mut plot.about);
    assert_eq!(lacking(&plot), "");
    let (without, none) = png(&plot).unwrap();
    "no letters 釉薬".clone_into(&mut plot.about);
    let (bars, letters) = png(&plot).unwrap();
    assert_ne!(bars, without);
    assert_eq!((none.as_str(), letters.as_str()), ("", "釉薬"));
}

#[test]
fn svg_is_well_formed_and_needs_nothing_from_outside() {
    for (name, answer) in gallery() {
        let svg = sweep_svg(&answer, "5 < 6 & \"more\" \u{7} <b>");
        let page = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{name}: {e}"));
        let root = page.root_element();
        assert_eq!(root.attribute("width"), Some("1000"), "{name}");
        for node in page.descendants().filter(roxmltree::Node::is_element) {
            let tag = node.tag_name().name();
            let known = ["svg", "title", "desc", "defs", "path", "g", "use", "circle"];
            assert!(known.contains(&tag), "{name}: <{tag}> may look different elsewhere");
            if let Some(target) = node.attribute("href") {
                let id = target.strip_prefix('#').unwrap();
                assert!(
                    page.descendants().any(|n| n.attribute("id") == Some(id)),
                    "{name}: {target} is defined nowhere"
                );
            }
        }
        assert!(!svg.contains("font"), "{name}");
    }
}

#[test]
fn png_is_a_picture_of_the_said_size_with_something_on_it() {
    for (name, answer) in gallery() {
        let bytes = sweep_png(&answer, HEADLINE).unwrap();
        let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
        decoder.set_transformations(png::Transformations::EXPAND);
        let mut reader = decoder.read_info().unwrap();
        assert_eq!(
            (reader.info().width, reader.info().height),
            (Paper::SHEET.width as u32, answer.plot().unwrap().height),
            "{name}"
        );
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        let dark = pixels.chunks_exact(3).filter(|p| p.iter().all(|&v| v < 100)).count();
        assert!(dark > 3000, "{name}: {dark} dark pixels");
    }
}

/// Drawn in bands it is the picture drawn in one, but where a coordinate rounded the other way puts one of the sixteen points
/// that a pixel is sampled at on the other side of an edge.
#[test]
fn bands_leave_no_seam() {
    for (name, answer) in gallery() {
        let canvas = page(&with(&answer, HEADLINE), Paper::SHEET).drawn();
        let [whole, bands] = [1, 4].map(|bands| {
            let (width, height, each) = raster::bands(&canvas, bands, <[u8]>::to_vec).unwrap();
            (width, height, each.concat())
        });
        assert_eq!((whole.0, whole.1, whole.2.len()), (bands.0, bands.1, bands.2.len()));
        let rows = whole.2.chunks(whole.0 as usize).zip(bands.2.chunks(whole.0 as usize));
        let unlike = rows.filter(|(a, b)| a != b);
        let apart = unlike.flat_map(|(a, b)| a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)));
        assert!(apart.clone().all(|d| d <= 16), "{name}: {:?}", apart.max());
    }
}

#[test]
fn what_matters_is_said_in_words() {
    let rail = sweep_svg(&sample("rail"), "Make eight.");
    for text in [
        "Oak peg rail, five pegs",
        "Make eight",
        "What an hour earns",
        "EUR per hands-on hour; figures at 8",
        "pays from 8",
    ] {
        assert!(says(&rail, text), "{text} is not in {:?}", texts(&rail));
    }
    assert!(says(
        &sweep_svg(&sample("poor"), ""),
        "no size here reaches the target in 80 % of batches"
    ));
    let gap = "no price does it in 90 % of batches at sizes 1–4";
    assert!(says(&sweep_svg(&sample("hopeless"), ""), gap));
    let none = "no price does it in 90 % of batches, at any size";
    assert!(says(&sweep_svg(&sample("hopeless_all"), ""), none));
    let certain = sweep_svg(&sample("certain"), "");
    let same = texts(&certain).iter().filter(|t| t.ends_with("every batch")).count();
    assert_eq!(same, 2, "{:?}", texts(&certain));
    assert!(!says(&certain, "1 batch in 10 over"));
    let cut = texts(&sweep_svg(&sample("card"), ""));
    assert!(cut.iter().any(|t| t.contains("off the chart: up to 353.49")), "{cut:?}");
}

#[test]
fn sizes_that_fail_after_the_first_that_pays_are_named() {
    let mut answer = sample("mug_20");
    for s in &mut answer.sizes {
        s.reach.share = if s.size == 12 || s.size > 14 { 0.9 } else { 0.5 };
    }
    let svg = sweep_svg(&answer, "");
    assert!(
        says(&svg, "pays first at 12") && says(&svg, "but not at 13, 14"),
        "{:?}",
        texts(&svg)
    );
}

#[test]
fn a_chart_of_nothing_is_refused() {
    let mut answer = sample("rail");
    answer.sizes.clear();
    assert_eq!(answer.svg().unwrap_err(), ChartError::Empty);
    assert_eq!(answer.png().unwrap_err(), ChartError::Empty);
}

#[test]
fn the_same_answer_gives_the_same_bytes() {
    let answer = sample("mug");
    assert_eq!(sweep_svg(&answer, HEADLINE), sweep_svg(&answer, HEADLINE));
    assert_eq!(
        sweep_png(&answer, HEADLINE).unwrap(),
        sweep_png(&answer, HEADLINE).unwrap()
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn no_answer_breaks_the_chart(answer in any_sweep(), headline in ".{0,200}") {
        let svg = sweep_svg(&answer, &headline);
        prop_assert!(roxmltree::Document::parse(&svg).is_ok());
        prop_assert!(!sweep_png(&answer, &headline).unwrap().is_empty());
    }
}

/// Writes how long drawing takes beside the pictures of [`charts_to_look_at`]:
/// `cargo test --release --lib chart_times -- --ignored`
#[test]
#[ignore = "measures, asserts nothing"]
fn chart_times() {
    let mut times = String::new();
    for name in ["rail", "card"] {
        let answer = sample(name);
        let least = |work: &dyn Fn()| {
            let times = (0..12).map(|_| {
                let start = std::time::Instant::now();
                work();
                start.elapsed()
            });
            times.min().unwrap()
        };
        let svg = least(&|| drop(sweep_svg(&answer, HEADLINE)));
        let png = least(&|| drop(sweep_png(&answer, HEADLINE).unwrap()));
        times.push_str(&format!("{name}: SVG {svg:?}, PNG {png:?}\n"));
    }
    std::fs::write(pictures().join("times.txt"), times).unwrap();
}

#[test]
fn dashes_go_on_around_corners_and_end_with_their_line() {
    let found = page::dashes(&[(0, 0), (100, 0)], 30, 20);
    assert_eq!(found, [[(0, 0), (30, 0)], [(50, 0), (80, 0)]]);
    let found = page::dashes(&[(0, 0), (30, 40), (30, 100)], 60, 20);
    assert_eq!(found, [vec![(0, 0), (30, 40), (30, 50)], vec![(30, 70), (30, 100)]]);
    assert_eq!(page::dashes(&[(7, 7), (7, 7)], 6, 4), Vec::<Vec<_>>::new());
}

/// Figures are those of the size that the page speaks of, and say so; beside their lines' ends, where that is the last, they speak for themselves,
/// and above a narrow panel they say it all the same.
#[test]
fn figures_are_of_the_size_that_is_spoken_of_and_say_so() {
    let mut rail = sample("rail");
    let told = rail.sizes.iter().find(|at| Some(at.size) == rail.advised_size);
    let told = told.map(|at| {
        (
            at.size,
            format::amount(at.rate.p50, "EUR"),
            format::amount(at.rate.p10, "EUR"),
        )
    });
    let said = "EUR per hands-on hour";
    let plot = with(&rail, HEADLINE);
    let (wide, narrow) = (
        drawn_texts(&plot, Paper::SHEET),
        drawn_texts(&plot, Paper::part(358, &plot)),
    );
    let (size, median, under) = told.expect("a size that pays");
    assert!(
        size < 40 && wide.contains(&format!("{said}; figures at {size}")),
        "{wide:?}"
    );
    assert!(narrow.contains(&format!("{said}; at {size}:")), "{narrow:?}");
    for drawn in [&wide, &narrow] {
        assert!(
            drawn.contains(&median) && drawn.contains(&under),
            "{median} {under}: {drawn:?}"
        );
    }
    (rail.first_paying_size, rail.advised_size) = (Some(40), Some(40));
    let plot = with(&rail, HEADLINE);
    assert!(drawn_texts(&plot, Paper::SHEET).contains(&said.to_owned()));
    assert!(drawn_texts(&plot, Paper::part(358, &plot)).contains(&format!("{said}; at 40:")));
}

/// The comparison's figures are of the sizes compared, and those of a calendar are dates: neither is said to be of its lines' ends.
#[test]
fn only_figures_of_the_ends_of_lines_are_said_to_be_there() {
    let mut told = [0, 0];
    for (name, answer) in answers().iter().chain(odd_answers()) {
        let Some(plot) = answer.plot() else { continue };
        let figures = |panel: &&Panel| panel.end_labels().any(|label| !label.figure.is_empty());
        for panel in plot.panels.iter().filter(figures) {
            let elsewhere = name.contains("compare") || name.contains("calendar");
            assert_eq!(panel.figures_at().is_none(), elsewhere, "{name}: {}", panel.title);
            told[usize::from(elsewhere)] += 1;
        }
    }
    assert!(told[0] > 100 && told[1] > 6, "{told:?}");
}
