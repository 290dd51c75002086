//! The form of one find, signal, outing or access, with its figures as they are typed.

use egui::Id;
use jiff::Timestamp;

use super::frame_context::FrameContext;
use crate::bench::find_of;
use crate::book::{Access, Aside, Find, Kind, Outing, Signal, Uid};
use crate::earth::LonLat;
use crate::exchange::place_typed;

/// How a time is typed, in the beach's time.
pub(crate) const TIME: &str = "%Y-%m-%d %H:%M";

/// What is edited.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Subject {
    Find(Box<Find>),
    Signal(Box<Signal>),
    Outing(Box<Outing>),
    Access(Box<Access>),
}

/// Everything in the form that a person changes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DraftFields {
    pub(crate) subject: Subject,
    /// The kind follows the words until it is chosen by hand.
    pub(crate) kind_by_hand: bool,
    /// The kind as it is typed, to find it.
    pub(crate) kind: String,
    pub(crate) depth_cm: String,
    pub(crate) target_id: String,
    pub(crate) target_ids: String,
    pub(crate) gauge_step: String,
    pub(crate) mass_g: String,
    pub(crate) from: String,
    pub(crate) to: String,
    /// Stretches that are no witness of the water.
    pub(crate) asides: String,
    pub(crate) litter_kg: String,
    /// Where it lay, in any notation; nothing until somebody said.
    pub(crate) place: String,
}

/// A find, signal, outing or access being edited.
#[derive(Debug, Clone)]
pub(crate) struct DraftForm {
    pub(crate) fields: DraftFields,
    pub(crate) new: bool,
    /// The signal that turns into this find once it is kept.
    pub(crate) digs: Option<Uid>,
    /// The field that was refused, by its name, and why; no name for all of it.
    pub(crate) refusal: Option<(&'static str, String)>,
    pub(crate) focus: bool,
    past: Vec<DraftFields>,
    ahead: Vec<DraftFields>,
    /// Where the keyboard was at the last change: changes in one field are one step.
    changed_in: Option<Id>,
}

impl DraftForm {
    fn blank(subject: Subject, new: bool) -> Self {
        let text = String::new;
        let fields = DraftFields {
            subject,
            kind_by_hand: !new,
            kind: text(),
            depth_cm: text(),
            target_id: text(),
            target_ids: text(),
            gauge_step: text(),
            mass_g: text(),
            from: text(),
            to: text(),
            asides: text(),
            litter_kg: text(),
            place: text(),
        };
        Self { fields, new, digs: None, refusal: None, focus: true, past: Vec::new(), ahead: Vec::new(), changed_in: None }
    }

    /// The form of a find.
    pub(crate) fn of_find(shown: &FrameContext<'_>, find: Find, new: bool) -> Self {
        // At most as many digits as anyone measures, so that an untouched field says what it said.
        let text = |v: Option<f64>| v.map_or_else(String::new, |v| ((v * 1000.0).round() / 1000.0).to_string());
        let mut form = Self::blank(Subject::Find(Box::new(find.clone())), new);
        let fields = &mut form.fields;
        fields.kind = find.kind.label().to_owned();
        fields.depth_cm = text(find.depth_m.map(|d| d * 100.0));
        (fields.target_id, fields.mass_g) = (text(find.target_id), text(find.mass_g));
        fields.from = find.time.map_or_else(String::new, |t| shown.time(t, TIME));
        fields.place = place_words(find.at);
        form
    }

    /// The form of an outing.
    pub(crate) fn of_outing(shown: &FrameContext<'_>, outing: Outing, new: bool) -> Self {
        let mut form = Self::blank(Subject::Outing(Box::new(outing.clone())), new);
        form.fields.from = shown.time(outing.start, TIME);
        form.fields.to = shown.time(outing.end, TIME);
        form.fields.asides = Aside::words_of_all(&outing.asides, shown.zone);
        form.fields.litter_kg = outing.litter_kg.map_or_else(String::new, |kg| kg.to_string());
        form
    }

    /// The form of a signal.
    pub(crate) fn of_signal(shown: &FrameContext<'_>, signal: Signal, new: bool) -> Self {
        let ids: Vec<String> = signal.target_ids.iter().map(ToString::to_string).collect();
        let mut form = Self::blank(Subject::Signal(Box::new(signal.clone())), new);
        form.fields.target_ids = ids.join(" ");
        form.fields.gauge_step = signal.gauge_step.map_or_else(String::new, |s| s.to_string());
        form.fields.from = signal.time.map_or_else(String::new, |t| shown.time(t, TIME));
        form.fields.place = place_words(signal.at);
        form
    }

    /// The form of a way on and off the beach.
    pub(crate) fn of_access(access: Access, new: bool) -> Self {
        let place = place_words(access.at);
        let mut form = Self::blank(Subject::Access(Box::new(access)), new);
        form.fields.place = place;
        form
    }

    /// The find that a signal proves to be; keeping it takes the signal out in the same step.
    pub(crate) fn dig(shown: &FrameContext<'_>, signal: &Signal) -> Self {
        Self { digs: Some(signal.uid), ..Self::of_find(shown, find_of(signal), true) }
    }

    /// A find at the instant shown; where it lay is still to be said.
    pub(crate) fn new_find(shown: &FrameContext<'_>, at: Timestamp) -> Option<Self> {
        // Nothing is found at an instant that is still ahead, wherever Time was dragged to.
        let at = at.min(shown.now);
        let beach = shown.beach?;
        let mut find = Find::new(beach.uid, beach.origin, "", Kind::keyed("other"));
        find.time = Some(at);
        find.outing = outing_at(shown, at);
        Some(Self::of_find(shown, find, true).without_place())
    }

    /// A signal at the instant shown; where it is is still to be said.
    pub(crate) fn new_signal(shown: &FrameContext<'_>, at: Timestamp) -> Option<Self> {
        // Nothing is found at an instant that is still ahead, wherever Time was dragged to.
        let at = at.min(shown.now);
        let beach = shown.beach?;
        let mut signal = Signal::new(beach.uid, beach.origin);
        signal.time = Some(at);
        signal.outing = outing_at(shown, at);
        Some(Self::of_signal(shown, signal, true).without_place())
    }

    /// An outing of two hours from an instant on.
    pub(crate) fn new_outing(shown: &FrameContext<'_>, at: Timestamp) -> Option<Self> {
        let end = at.checked_add(jiff::SignedDuration::from_hours(2)).ok()?;
        Some(Self::of_outing(shown, Outing::new(shown.beach?.uid, at, end), true))
    }

    /// A way on and off the beach; where it is is still to be said.
    pub(crate) fn new_access(shown: &FrameContext<'_>) -> Option<Self> {
        let beach = shown.beach?;
        let moment = shown.now.as_nanosecond().to_le_bytes();
        let uid = Uid::of_content("access by hand", [&beach.uid.to_string().into_bytes()[..], &moment[..]]);
        let access = Access { uid, beach: beach.uid, name: String::new(), at: beach.origin, notes: String::new() };
        Some(Self::of_access(access, true).without_place())
    }

    /// Nobody has said where it is: it is not taken from anywhere.
    fn without_place(mut self) -> Self {
        self.fields.place.clear();
        self
    }

    /// Whether something was typed that would be lost.
    pub(crate) fn is_changed(&self) -> bool {
        self.past.first().is_some_and(|first| *first != self.fields)
    }

    /// Whether it is of something that lies at one place.
    pub(crate) fn has_a_place(&self) -> bool {
        !matches!(self.fields.subject, Subject::Outing(_))
    }

    /// The place as it stands in the form, if it is one.
    pub(crate) fn place(&self) -> Option<LonLat> {
        place_typed(&self.fields.place).ok().filter(|_| self.has_a_place())
    }

    /// Says where it is.
    pub(crate) fn set_place(&mut self, at: LonLat, by: Id) {
        let before = self.fields.clone();
        self.fields.place = place_words(at);
        self.refusal = self.refusal.take().filter(|(field, _)| *field != "Place");
        self.note(before, Some(by));
    }

    /// Notes what stood there before a change, so that it can be taken back. Changes made in one place are one step.
    pub(crate) fn note(&mut self, before: DraftFields, place: Option<Id>) {
        if before == self.fields {
            return;
        }
        if self.past.is_empty() || place.is_none() || self.changed_in != place {
            self.past.push(before);
        }
        self.changed_in = place;
        self.ahead.clear();
    }

    /// Takes the last change of the form back.
    pub(crate) fn undo(&mut self) {
        if let Some(before) = self.past.pop() {
            self.ahead.push(std::mem::replace(&mut self.fields, before));
            self.changed_in = None;
        }
    }

    /// Makes it again.
    pub(crate) fn redo(&mut self) {
        if let Some(after) = self.ahead.pop() {
            self.past.push(std::mem::replace(&mut self.fields, after));
            self.changed_in = None;
        }
    }
}

/// A place as the form writes it: latitude and longitude in degrees, to a tenth of a metre.
pub(crate) fn place_words(at: LonLat) -> String {
    format!("{:.6}, {:.6}", at.lat_deg(), at.lon_deg())
}

/// The outing during which an instant lies, give or take half an hour.
fn outing_at(shown: &FrameContext<'_>, at: Timestamp) -> Option<Uid> {
    let beach = shown.beach?;
    shown.book.outings_of(beach.uid).into_iter().find(|o| o.covers(at, 1800)).map(|o| o.uid)
}
