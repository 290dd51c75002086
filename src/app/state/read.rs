//! What is asked of a reading, and which part of it is shown.

use crate::app::derived::{ReadAsk, Span};
use crate::app::item::WeightChoice;
use crate::reading::Filter;

/// What is asked of a reading and which part of it is shown.
#[derive(Debug, Clone)]
pub(crate) struct ReadView {
    /// A reading is made from the first time the sheet is opened.
    pub(crate) wanted: bool,
    pub(crate) ask: ReadAsk,
    pub(crate) weight: WeightChoice,
    /// Whether the choices of finds and outings are open.
    pub(crate) choosing: bool,
    pub(crate) typed: TypedDates,
    /// The part or verdict to open by the beginning of its name, until a key or button is pressed.
    pub(crate) part: Option<String>,
    /// Whether every verdict is listed.
    pub(crate) all_verdicts: bool,
    /// Which storm's before and after are shown, by its place in the reading; all together when `None`.
    pub(crate) storm: Option<usize>,
    /// What Time showed before a verdict was picked.
    pub(crate) time_before: Option<Span>,
    /// The distance on the control, kept while the reading finds its own.
    pub(crate) radius_m: f64,
}

impl Default for ReadView {
    fn default() -> Self {
        Self {
            wanted: false,
            ask: ReadAsk::default(),
            weight: WeightChoice::All,
            choosing: false,
            typed: TypedDates::default(),
            part: None,
            all_verdicts: false,
            storm: None,
            time_before: None,
            radius_m: 8.0,
        }
    }
}

impl ReadView {
    /// Asks for this from now on.
    pub(crate) fn set(&mut self, ask: ReadAsk) {
        self.typed = TypedDates::from_filter(&ask.filter);
        self.ask = ask;
    }

    /// Takes every find and every outing again.
    pub(crate) fn clear_filter(&mut self) {
        self.weight = WeightChoice::All;
        self.set(ReadAsk { filter: Filter::default(), ..self.ask.clone() });
    }
}

/// What is being typed into the fields of dates.
#[derive(Debug, Clone, Default)]
pub(crate) struct TypedDates {
    pub(crate) from: String,
    pub(crate) to: String,
}

impl TypedDates {
    /// The dates of a filter as they would be typed.
    pub(crate) fn from_filter(filter: &Filter) -> Self {
        let text = |d: Option<jiff::civil::Date>| d.map_or_else(String::new, |d| d.to_string());
        Self { from: text(filter.from), to: text(filter.to) }
    }
}
