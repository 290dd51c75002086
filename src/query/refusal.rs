use std::fmt;

use crate::Cancelled;

/// Why a question cannot be answered, in a sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{sentence}")]
pub struct Refusal {
    /// What is wrong and what to do.
    pub sentence: String,
    /// Whether it lies in what was set or asked for, rather than in what the book holds.
    pub is_bad_use: bool,
    /// Whether the work ended by a mistake in the program; the sentence then says where the report is.
    pub is_mistake: bool,
}

impl Refusal {
    /// Something that was set or asked for cannot be.
    pub fn bad_use(why: impl fmt::Display) -> Self {
        Self { sentence: why.to_string(), is_bad_use: true, is_mistake: false }
    }

    /// The work ended by a mistake in the program.
    pub fn mistake(sentence: String) -> Self {
        Self { sentence, is_bad_use: false, is_mistake: true }
    }

    /// Something is missing, or cannot be worked out.
    pub fn missing(why: impl fmt::Display) -> Self {
        why.to_string().into()
    }
}

impl From<String> for Refusal {
    fn from(sentence: String) -> Self {
        Self { sentence, is_bad_use: false, is_mistake: false }
    }
}

impl From<&str> for Refusal {
    fn from(sentence: &str) -> Self {
        sentence.to_owned().into()
    }
}

impl From<Cancelled> for Refusal {
    fn from(called_off: Cancelled) -> Self {
        called_off.to_string().into()
    }
}
