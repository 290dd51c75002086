use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::BookError;

/// That a person looked into something the program doubts, and says that it is so.
///
/// The key names the doubt and the values it rests on, so that a confirmation holds for those values and no others.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Confirmation {
    /// Key of the doubt.
    pub key: String,
    /// When it was confirmed.
    pub time: Timestamp,
}

impl Confirmation {
    pub(super) fn validate(&self) -> Result<(), BookError> {
        if self.key.trim().is_empty() {
            return Err(BookError::field("confirmation", "has no key; name what is confirmed"));
        }
        Ok(())
    }
}
