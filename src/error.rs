//! The one error of the library.

use std::fmt;

use crate::ask::Unanswered;
use crate::render::question::Question;
use crate::scenario::Faults;

/// Why there is no scenario, no log, no option, no answer or no chart; its text says what is wrong and what would be right.
///
/// The faults of a scenario's text keep their list and their places: [`Error::faults`].
#[derive(Debug, Clone, PartialEq)]
pub struct Error(Box<Kind>);

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Faults(Faults),
    Option {
        name: &'static str,
        value: String,
        rule: String,
    },
    Unanswered(Question, Unanswered),
    /// What a log says cannot be written where it would stand, a sentence each.
    Unwritten(Vec<String>),
    #[cfg(feature = "charts")]
    Chart(crate::render::chart::ChartError),
    #[cfg(feature = "report")]
    Report(crate::render::report::ReportError),
}

impl Error {
    pub(crate) fn option(name: &'static str, value: impl fmt::Display, rule: impl Into<String>) -> Self {
        let value = value.to_string();
        let rule = rule.into();
        Self(Box::new(Kind::Option { name, value, rule }))
    }

    pub(crate) fn unanswered(question: Question, why: Unanswered) -> Self {
        Self(Box::new(Kind::Unanswered(question, why)))
    }

    pub(crate) fn unwritten(why: Vec<String>) -> Self {
        Self(Box::new(Kind::Unwritten(why)))
    }

    #[cfg(feature = "charts")]
    pub(crate) fn chart(error: crate::render::chart::ChartError) -> Self {
        Self(Box::new(Kind::Chart(error)))
    }

    /// Everything that is wrong with the text of a scenario or a log, sorted by place; `None` where something else is wrong.
    #[must_use]
    pub fn faults(&self) -> Option<&Faults> {
        match &*self.0 {
            Kind::Faults(faults) => Some(faults),
            _ => None,
        }
    }
}

impl From<Faults> for Error {
    fn from(faults: Faults) -> Self {
        Self(Box::new(Kind::Faults(faults)))
    }
}

#[cfg(feature = "report")]
impl From<crate::render::report::ReportError> for Error {
    fn from(error: crate::render::report::ReportError) -> Self {
        Self(Box::new(Kind::Report(error)))
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &*self.0 {
            Kind::Faults(faults) => write!(f, "{faults}"),
            Kind::Option { name, value, rule } => write!(f, "{name}: {value:?} cannot be; it must be {rule}"),
            Kind::Unanswered(question, why) => {
                write!(f, "{} has no answer: ", question.command())?;
                match why {
                    Unanswered::Several => {
                        f.write_str("it takes two scenarios or more; name the others with Options::against")
                    }
                    Unanswered::Alone => f.write_str("it is about one scenario; leave Options::against out"),
                    Unanswered::Currencies => f.write_str("the scenarios are in different currencies, and no [currencies] says what one is worth in another"),
                    Unanswered::Sized => f.write_str("it looks for the size itself; leave Options::size out"),
                    Unanswered::TooLarge(most) => write!(f, "it is asked about {most} pieces at most"),
                    Unanswered::Lacks(section) => write!(f, "the scenario has no {section}"),
                    Unanswered::Undated => f.write_str("it counts from a date; say which with Options::start"),
                    Unanswered::NoStart => f.write_str("no bench day is left in the years that dates have"),
                    Unanswered::TooLong(size) => {
                        write!(f, "a batch of {size} takes more than 200 years with these [hours]")
                    }
                    Unanswered::NoSet(why) | Unanswered::TooMuch(why) => f.write_str(why),
                }
            }
            Kind::Unwritten(why) => f.write_str(&why.join("; ")),
            #[cfg(feature = "charts")]
            Kind::Chart(error) => write!(f, "{error}"),
            #[cfg(feature = "report")]
            Kind::Report(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for Error {}
