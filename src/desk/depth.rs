//! How far an answer goes: in full, or quickly while a hand moves.

use crate::ask::{Options, Unanswered};
use crate::questions::Settings;
use crate::render::question::Question;

/// Seed of the page's answers: that of the commands where nothing is said.
const SEED: u64 = 1;

/// How far it goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Depth {
    /// As the command with nothing said.
    Full,
    /// With so many runs, fewer than usual, so that it is there before the hand has moved on.
    Quick(u64),
}

impl Depth {
    /// Full answers have threads of their own: a quick one that comes meanwhile does not wait behind their work.
    fn threads(self) -> Option<usize> {
        match self {
            Self::Full => std::thread::available_parallelism().ok().map(usize::from),
            Self::Quick(_) => None,
        }
    }

    /// How to ask a question, of this size where one was chosen.
    pub(super) fn options(self, question: Question, size: Option<u32>) -> Options {
        Options {
            size,
            trials: match self {
                Self::Full => None,
                Self::Quick(runs) => Some(runs.min(question.usual_trials())),
            },
            seed: SEED,
            threads: self.threads(),
            start: Some(jiff::ZonedDateTime::now().date()),
            ..Options::new()
        }
    }

    /// How to sweep with so many runs.
    pub(super) fn settings(self, trials: u64) -> Settings {
        Settings {
            trials,
            within: None,
            seed: SEED,
            threads: self.threads(),
        }
    }
}

/// Why there is no answer, and what to do.
pub(super) fn told(why: Unanswered) -> String {
    let missing = |section: &str| match section {
        "[[jig]]" => "write what could be built, and which step it helps",
        "[season]" => "write how many pieces buyers want before it ends",
        "[steady]" => "write how many pieces buyers want a week",
        _ => "write when there is time for the bench",
    };
    match why {
        Unanswered::Lacks(section) => format!("The scenario has no {section}: {}.", missing(section)),
        Unanswered::Several | Unanswered::Currencies => "That takes several scenarios in one currency.".to_owned(),
        // The page asks none of these.
        Unanswered::Alone | Unanswered::Sized | Unanswered::TooLarge(_) | Unanswered::Undated => {
            "That cannot be asked here.".to_owned()
        }
        Unanswered::NoStart => "No bench day is left in the years that dates have: write other [hours].".to_owned(),
        Unanswered::TooLong(size) => format!(
            "With these [hours] a batch of {size} takes more than 200 years: write more hours, or ask about fewer pieces."
        ),
        Unanswered::TooMuch(why) => format!("Nothing was computed: {why}."),
    }
}
