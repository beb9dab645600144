//! A report as one HTML page that needs nothing else: no network, no script, no font.

use askama::Template;

use super::{CARE, Report, ReportError, Section, first_words};
use crate::render::format;
use crate::render::text::Look;
use crate::render::web::{self, Letters, Place, WebTable, clean, sentences};

/// The report as a page: the answers in a sentence each, then each with its figures and chart, then what was assumed.
///
/// What is written is valid HTML and well-formed XML.
///
/// # Errors
/// [`ReportError`] where the page cannot be written, which no known report makes happen.
pub fn html(report: &Report) -> Result<String, ReportError> {
    let mut letters = Letters::default();
    let several = report.parts.len() > 1;
    let look = Look::page(false);
    let (mut summary, mut parts) = (Vec::new(), Vec::new());
    let compared = report.compared.iter();
    let compared = compared.map(|section| (String::new(), None, std::slice::from_ref(section)));
    let each = report.parts.iter().enumerate();
    let each = each.map(|(k, part)| (format!("part{}", k + 1), several.then_some(k), &part.sections[..]));
    for (id, number, sections) in compared.chain(each) {
        // Under the scenario's own heading, where there are several.
        let heading = number.map(|k| clean(&report.parts[k].title));
        let level = if heading.is_some() { 3 } else { 2 };
        summary.push(Group {
            about: heading.clone(),
            link: id.clone(),
            items: sections.iter().map(|s| item(s, number, &look)).collect(),
        });
        let answers = sections.iter().map(|s| answer(s, number, level, &mut letters));
        parts.push(PartView {
            id,
            heading,
            sections: answers.collect(),
        });
    }
    let known = report.known().into_iter();
    let page = ReportPage {
        title: &clean(&report.title()),
        version: &report.version,
        style: web::STYLE,
        paper: report.paper().named(),
        letters: &letters.definitions(),
        made: &format!(
            "{}. What an hour at the bench earns, and which price pays: every figure is simulated.",
            format::date(report.made, None)
        ),
        currencies: report.currencies().map(|said| sentences(&said)),
        care: CARE,
        known: known.map(|(name, what)| (name, clean(&what))).collect(),
        scenarios: report
            .parts
            .iter()
            .map(|part| ScenarioView {
                heading: several.then(|| clean(&part.title)),
                opening: part.told.opening.iter().map(|s| sentences(s)).collect(),
                tables: part.told.tables.iter().map(web::table).collect(),
                closing: part.told.closing.iter().map(|s| sentences(s)).collect(),
                file: clean(&part.file),
                source: web::source(&part.source),
            })
            .collect(),
        summary,
        parts,
    };
    Ok(page.render()?)
}

/// The name of a section in the page: `sweep`, or `sweep2` where there are several scenarios.
fn name(section: &Section, number: Option<usize>) -> String {
    let command = section.question.command();
    number.map_or_else(|| command.to_owned(), |k| format!("{command}{}", k + 1))
}

fn item(section: &Section, number: Option<usize>, look: &Look) -> Item {
    Item {
        link: name(section, number),
        heading: section.question.heading(),
        said: first_words(section, look),
    }
}

fn answer(section: &Section, number: Option<usize>, level: u8, letters: &mut Letters) -> String {
    let place = Place {
        id: &name(section, number),
        level,
        heading: section.question.heading(),
        care: false,
        printed: true,
    };
    web::answer(&section.answer, &place, letters)
}

#[derive(Template)]
#[template(path = "report.html", config = "src/render/web/askama.toml")]
struct ReportPage<'a> {
    title: &'a str,
    version: &'a str,
    style: &'a str,
    paper: &'a str,
    letters: &'a str,
    made: &'a str,
    currencies: Option<String>,
    care: &'a str,
    summary: Vec<Group>,
    parts: Vec<PartView>,
    known: Vec<(&'static str, String)>,
    scenarios: Vec<ScenarioView>,
}

struct Group {
    about: Option<String>,
    link: String,
    items: Vec<Item>,
}

struct Item {
    link: String,
    heading: &'static str,
    said: String,
}

struct PartView {
    id: String,
    heading: Option<String>,
    sections: Vec<String>,
}

struct ScenarioView {
    heading: Option<String>,
    opening: Vec<String>,
    tables: Vec<WebTable>,
    closing: Vec<String>,
    file: String,
    source: String,
}
