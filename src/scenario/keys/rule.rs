//! Which amounts a key takes.

use serde::Serialize;

/// Largest amount taken, in any unit: sums and products of such stay far from the end of floating-point numbers.
pub(in crate::scenario) const LARGEST: f64 = 1e12;
/// Smallest amount taken where zero is not allowed: quotients stay finite as well.
pub(in crate::scenario) const SMALLEST: f64 = 1e-6;
/// Largest batch that is simulated.
pub(crate) const LARGEST_SIZE: u32 = 10_000;

/// What an amount measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Hands-on time, held in minutes. A day is refused: a day of work is not 24 hours.
    Work,
    /// Clock time, held in minutes; a day is 24 hours.
    Clock,
    /// Money in the scenario's currency.
    Money,
    /// A share or chance, held as a fraction, written in per cent.
    Share,
    /// A plain number.
    Number,
}

impl Measure {
    pub(in crate::scenario) const fn noun(self) -> &'static str {
        match self {
            Self::Work | Self::Clock => "a time",
            Self::Money => "an amount of money",
            Self::Share => "a share in per cent",
            Self::Number => "a plain number",
        }
    }

    /// Its units, in words.
    pub(super) const fn unit(self) -> &'static str {
        match self {
            Self::Work => "minutes or hours",
            Self::Clock => "minutes, hours or days",
            Self::Money => "money",
            Self::Share => "per cent",
            Self::Number => "",
        }
    }
}

/// Which amounts a key takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rule {
    /// What it measures.
    pub measure: Measure,
    /// The least; times in minutes, shares as fractions.
    pub low: Bound,
    /// The most; times in minutes, shares as fractions.
    pub high: Bound,
    /// Whether it must be one certain value; otherwise it may be a range.
    pub certain: bool,
    /// What the key's own example is, empty where no key is known: a plain number is pieces here and a factor there.
    #[serde(skip)]
    pub(in crate::scenario) such_as: &'static str,
}

/// One end of what is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// The value itself is allowed.
    To(f64),
    /// The value itself is not.
    Short(f64),
}

impl Rule {
    /// Zero or more.
    pub(in crate::scenario) const fn of(measure: Measure) -> Self {
        Self {
            measure,
            low: Bound::To(0.0),
            high: Bound::To(LARGEST),
            certain: false,
            such_as: "",
        }
    }

    /// More than zero.
    pub(in crate::scenario) const fn positive(measure: Measure) -> Self {
        Self {
            low: Bound::To(SMALLEST),
            ..Self::of(measure)
        }
    }

    pub(in crate::scenario) const fn certain(self) -> Self {
        Self { certain: true, ..self }
    }

    pub(in crate::scenario) const fn from(self, low: Bound) -> Self {
        Self { low, ..self }
    }

    pub(super) const fn such_as(self, such_as: &'static str) -> Self {
        Self { such_as, ..self }
    }

    pub(in crate::scenario) const fn up_to(self, high: Bound) -> Self {
        Self { high, ..self }
    }
}
