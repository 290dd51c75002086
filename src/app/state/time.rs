//! What Time shows.

use std::sync::Arc;

use egui::Rect;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::app::widgets::kept::Kept;
use crate::app::widgets::labels::Placed;
use crate::query::Given;
use crate::query::drawing::{Curve, Span};
use crate::tide::Surge;

/// The spans offered by name, seconds.
pub(crate) const SPANS: [(&str, f64); 5] = [
    ("day", 86_400.0),
    ("3 days", 3.0 * 86_400.0),
    ("fortnight", 15.0 * 86_400.0),
    ("season", 92.0 * 86_400.0),
    ("18 months", 548.0 * 86_400.0),
];

/// What Time shows.
#[derive(Debug)]
pub(crate) struct TimeView {
    pub(crate) span: Span,
    /// Whether the span is being moved rather than the instant.
    pub(crate) pans: bool,
    /// How it was last drawn.
    pub(crate) axis: Option<TimeAxis>,
    /// Where what the hatching means was last written among the tide.
    pub(crate) key: Option<Rect>,
    /// The name of the next low, as it was last written.
    pub(crate) next_low: Option<Placed>,
    /// The names of the turns of the tide, the same, each with its time.
    pub(crate) named: Arc<[(Timestamp, Placed)]>,
    /// When the route's first block must be left, the same.
    pub(crate) leave: Option<Placed>,
    pub(crate) tide: Kept<TideLaid>,
    pub(crate) turns: Kept<TurnNames>,
}

/// What a time and a level are drawn by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct TimeAxis {
    pub(crate) rect: Rect,
    pub(crate) span: Span,
    pub(crate) low_m: f64,
    pub(crate) high_m: f64,
}

/// The tide itself with day and night.
#[derive(PartialEq)]
pub(crate) struct TideLaid {
    pub(crate) axis: TimeAxis,
    pub(crate) curve: Given<Curve>,
    /// What the weather adds, and from which level of the curve on.
    pub(crate) expected: Option<(Surge, usize)>,
}

/// When the water turns and how high it stands then.
#[derive(PartialEq)]
pub(crate) struct TurnNames {
    pub(crate) axis: TimeAxis,
    pub(crate) curve: Given<Curve>,
    /// The moment shown.
    pub(crate) at: Timestamp,
    /// When the low is that is planned, else when the next one is.
    pub(crate) next: Option<Timestamp>,
    pub(crate) zone: TimeZone,
    /// From when on the water is drawn with what the weather may add, and the least and the most of that, metres.
    pub(crate) expected: Option<(Timestamp, (f64, f64))>,
    /// Where names stand already.
    pub(crate) taken: Arc<[Rect]>,
}

impl TimeView {
    pub(crate) fn around(at: Timestamp) -> Self {
        let span = Span::around(at, SPANS[1].1);
        Self {
            span,
            pans: false,
            axis: None,
            key: None,
            next_low: None,
            named: Arc::default(),
            leave: None,
            tide: Kept::default(),
            turns: Kept::default(),
        }
    }
}
