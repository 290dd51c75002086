//! The beach as it is typed.

use crate::book::{Beach, StandardPort, TideChoice};

/// A draft of the beach with its figures as they are typed.
pub(crate) struct BeachForm {
    pub(crate) draft: Beach,
    pub(crate) offset: String,
    /// Whether the keyboard goes to the offset, as that is what is lacking.
    pub(crate) to_offset: bool,
    /// The source that the offset stands there for.
    pub(crate) offset_for: TideChoice,
    /// The source and the offset as the form began with them.
    pub(crate) offset_first: (TideChoice, String),
    /// Why the offset is asked for again, once the source was changed; what stands there then was typed for the new one.
    pub(crate) offset_anew: Option<String>,
    pub(crate) slope: String,
    pub(crate) back: String,
    pub(crate) tide: TideForm,
    /// Whether it was sent to the book, whose answer is awaited.
    pub(crate) sent: bool,
    pub(crate) refusal: Option<String>,
    /// Whether it was refused as typed, before it went to the book.
    pub(crate) refused_here: bool,
    /// All that is typed, as the form began.
    first: Option<Box<Typed>>,
}

/// All that is typed: the draft, offset, slope, level at the baseline, and the tide.
type Typed = (Beach, [String; 3], TideForm);

impl BeachForm {
    /// The form of a beach.
    pub(crate) fn from_beach(mut draft: Beach) -> Self {
        let text = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
        let (offset, tide) = (text(draft.datum_offset_m), TideForm::from_draft(&mut draft));
        Self {
            offset: offset.clone(),
            to_offset: false,
            offset_for: draft.tide.clone(),
            offset_first: (draft.tide.clone(), offset),
            offset_anew: None,
            slope: text(draft.slope.map(|s| 1.0 / s)),
            back: text(draft.back_level_m),
            tide,
            sent: false,
            refusal: None,
            refused_here: false,
            first: None,
            draft,
        }
        .noted()
    }

    fn typed(&self) -> Typed {
        let figures = [&self.offset, &self.slope, &self.back].map(Clone::clone);
        (self.draft.clone(), figures, self.tide.clone())
    }

    fn noted(mut self) -> Self {
        self.first = Some(Box::new(self.typed()));
        self
    }

    /// Whether something was typed.
    pub(crate) fn is_changed(&self) -> bool {
        self.first.as_deref() != Some(&self.typed())
    }
}

impl BeachForm {
    /// The same with the keyboard at the offset.
    pub(crate) fn at_offset(draft: Beach) -> Self {
        Self { to_offset: true, ..Self::from_beach(draft) }
    }
}

/// The tide part of the beach form, as it is typed.
#[derive(Clone, PartialEq)]
pub(crate) struct TideForm {
    pub(crate) search: String,
    /// Whether the chosen source is a standard port for differences.
    pub(crate) as_port: bool,
    pub(crate) port: String,
    pub(crate) differences: String,
    pub(crate) levels: String,
    pub(crate) surge: String,
    pub(crate) surge_sd: String,
    pub(crate) pressure: String,
    pub(crate) run_up: String,
}

impl TideForm {
    /// The form of a beach; its draft keeps the standard port as its plain source.
    pub(crate) fn from_draft(draft: &mut Beach) -> Self {
        let text = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
        let weather = draft.weather;
        let mut form = Self {
            search: String::new(),
            as_port: false,
            port: String::new(),
            differences: String::new(),
            levels: String::new(),
            surge: text(weather.surge_m),
            surge_sd: text(weather.surge_sd_m),
            pressure: text(weather.pressure_hpa),
            run_up: text(weather.run_up_m),
        };
        if let TideChoice::Secondary(port) = draft.tide.clone() {
            form.as_port = true;
            form.port = port.name;
            form.differences = port.differences.to_string().replace(',', ", ");
            form.levels = port.standard_levels_m.map_or_else(String::new, |l| l.map(|m| m.to_string()).join(", "));
            draft.tide = match port.standard {
                StandardPort::Station(id) => TideChoice::Station(id),
                StandardPort::Table(uid) => TideChoice::Table(uid),
            };
        }
        form
    }
}
