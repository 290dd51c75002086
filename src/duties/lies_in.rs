//! In which country a place lies, as far as that is known.

/// A country.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Country {
    /// Two letters of ISO 3166-1.
    pub code: &'static str,
    /// Its name.
    pub name: &'static str,
}

/// A country, and by what a place is taken to lie in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supposed {
    /// The country.
    pub country: Country,
    /// By what, as it stands in a sentence: "by its clock, Europe/Lisbon".
    pub by: String,
}

/// In which country a place lies.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum LiesIn {
    /// Nothing tells.
    #[default]
    Unknown,
    /// In this one.
    In(Supposed),
    /// In one of these: what tells differs, or one thing alone tells, so that no law can be said to be the one that holds.
    OneOf(Vec<Supposed>),
}

/// What to do where it is not settled.
const SAY_WHICH: &str = "Say which with `scourline beach --country`, by its two letters.";

impl LiesIn {
    /// The country, where it is settled.
    pub fn settled(&self) -> Option<Country> {
        match self {
            Self::In(supposed) => Some(supposed.country),
            Self::Unknown | Self::OneOf(_) => None,
        }
    }

    /// Every country it may lie in.
    pub fn all(&self) -> &[Supposed] {
        match self {
            Self::Unknown => &[],
            Self::In(one) => std::slice::from_ref(one),
            Self::OneOf(some) => some,
        }
    }

    /// The letters of every country it may lie in.
    pub fn codes(&self) -> Vec<&'static str> {
        self.all().iter().map(|s| s.country.code).collect()
    }

    /// Where it lies, in a sentence.
    pub fn said(&self) -> String {
        let one = |s: &Supposed| format!("{} in {} ({})", s.by, s.country.name, s.country.code);
        match self {
            Self::Unknown => "The place does not tell in which country this lies.".to_owned(),
            Self::In(s) => format!("This lies, {}, in: {} ({}).", s.by, s.country.name, s.country.code),
            Self::OneOf(some) => {
                format!("In which country this lies is not settled: {}.", some.iter().map(one).collect::<Vec<_>>().join("; "))
            }
        }
    }

    /// What its person may do to settle it; `None` where it is settled, and where the place tells nothing to choose from.
    pub fn to_settle(&self) -> Option<&'static str> {
        matches!(self, Self::OneOf(_)).then_some(SAY_WHICH)
    }
}
