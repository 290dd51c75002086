//! What Time shows.

use jiff::Timestamp;

use crate::app::widgets::labels::Placed;
use crate::query::drawing::Span;

/// The spans offered by name, seconds.
pub(crate) const SPANS: [(&str, f64); 5] = [
    ("day", 86_400.0),
    ("3 days", 3.0 * 86_400.0),
    ("fortnight", 15.0 * 86_400.0),
    ("season", 92.0 * 86_400.0),
    ("18 months", 548.0 * 86_400.0),
];

/// What Time shows.
#[derive(Debug, Clone)]
pub(crate) struct TimeView {
    pub(crate) span: Span,
    /// Whether the span is being moved rather than the instant.
    pub(crate) pans: bool,
    /// The name of the next low, as it was last written.
    pub(crate) next_low: Option<Placed>,
}

impl TimeView {
    pub(crate) fn around(at: Timestamp) -> Self {
        Self { span: Span::around(at, SPANS[1].1), pans: false, next_low: None }
    }
}
