//! The form of one find, signal or outing, with its figures as they are typed.

use jiff::Timestamp;

use super::frame_context::FrameContext;
use super::plan::PlanView;
use crate::bench::find_of;
use crate::book::{Aside, Find, Kind, Outing, Signal, Uid};
use crate::earth::LonLat;

/// How a time is typed, in the beach's time.
pub(crate) const TIME: &str = "%Y-%m-%d %H:%M";

/// What is edited.
pub(crate) enum Subject {
    Find(Box<Find>),
    Signal(Box<Signal>),
    Outing(Box<Outing>),
}

/// A find, signal or outing being edited.
pub(crate) struct DraftForm {
    pub(crate) subject: Subject,
    pub(crate) new: bool,
    /// The signal that turns into this find once it is kept.
    pub(crate) digs: Option<Uid>,
    /// The kind follows the words until it is chosen by hand.
    pub(crate) kind_by_hand: bool,
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
    pub(crate) lat: String,
    pub(crate) lon: String,
    pub(crate) refusal: Option<String>,
    pub(crate) focus: bool,
}

impl DraftForm {
    fn blank(subject: Subject, new: bool) -> Self {
        let text = String::new;
        Self {
            subject,
            new,
            digs: None,
            kind_by_hand: !new,
            depth_cm: text(),
            target_id: text(),
            target_ids: text(),
            gauge_step: text(),
            mass_g: text(),
            from: text(),
            to: text(),
            asides: text(),
            litter_kg: text(),
            lat: text(),
            lon: text(),
            refusal: None,
            focus: true,
        }
    }

    /// The form of a find.
    pub(crate) fn of_find(shown: &FrameContext<'_>, find: Find, new: bool) -> Self {
        // At most as many digits as anyone measures, so that an untouched field says what it said.
        let text = |v: Option<f64>| v.map_or_else(String::new, |v| ((v * 1000.0).round() / 1000.0).to_string());
        let (depth_cm, target_id, mass_g) = (text(find.depth_m.map(|d| d * 100.0)), text(find.target_id), text(find.mass_g));
        let from = find.time.map_or_else(String::new, |t| shown.time(t, TIME));
        let (lat, lon) = (format!("{:.6}", find.at.lat_deg()), format!("{:.6}", find.at.lon_deg()));
        Self { depth_cm, target_id, mass_g, from, lat, lon, ..Self::blank(Subject::Find(Box::new(find)), new) }
    }

    /// The form of an outing.
    pub(crate) fn of_outing(shown: &FrameContext<'_>, outing: Outing, new: bool) -> Self {
        let (from, to) = (shown.time(outing.start, TIME), shown.time(outing.end, TIME));
        let asides = Aside::words_of_all(&outing.asides, shown.zone);
        let litter_kg = outing.litter_kg.map_or_else(String::new, |kg| kg.to_string());
        Self { from, to, asides, litter_kg, ..Self::blank(Subject::Outing(Box::new(outing)), new) }
    }

    /// The form of a signal.
    pub(crate) fn of_signal(shown: &FrameContext<'_>, signal: Signal, new: bool) -> Self {
        let ids: Vec<String> = signal.target_ids.iter().map(ToString::to_string).collect();
        let gauge_step = signal.gauge_step.map_or_else(String::new, |s| s.to_string());
        let from = signal.time.map_or_else(String::new, |t| shown.time(t, TIME));
        let (lat, lon) = (format!("{:.6}", signal.at.lat_deg()), format!("{:.6}", signal.at.lon_deg()));
        let blank = Self::blank(Subject::Signal(Box::new(signal)), new);
        Self { target_ids: ids.join(" "), gauge_step, from, lat, lon, ..blank }
    }

    /// The find that a signal proves to be; keeping it takes the signal out in the same step.
    pub(crate) fn dig(shown: &FrameContext<'_>, signal: &Signal) -> Self {
        Self { digs: Some(signal.uid), ..Self::of_find(shown, find_of(signal), true) }
    }

    /// A find in the middle of Plan at the instant shown; both can be typed over.
    pub(crate) fn new_find(shown: &FrameContext<'_>, plan: &PlanView, at: Timestamp) -> Option<Self> {
        let beach = shown.beach?;
        let mut find = Find::new(beach.uid, middle_of_plan(shown, plan)?, "", Kind::keyed("other"));
        find.time = Some(at);
        find.outing = outing_at(shown, at);
        Some(Self::of_find(shown, find, true))
    }

    /// A signal in the middle of Plan at the instant shown; both can be typed over.
    pub(crate) fn new_signal(shown: &FrameContext<'_>, plan: &PlanView, at: Timestamp) -> Option<Self> {
        let mut signal = Signal::new(shown.beach?.uid, middle_of_plan(shown, plan)?);
        signal.time = Some(at);
        signal.outing = outing_at(shown, at);
        Some(Self::of_signal(shown, signal, true))
    }

    /// An outing of two hours from an instant on.
    pub(crate) fn new_outing(shown: &FrameContext<'_>, at: Timestamp) -> Option<Self> {
        let end = at.checked_add(jiff::SignedDuration::from_hours(2)).ok()?;
        Some(Self::of_outing(shown, Outing::new(shown.beach?.uid, at, end), true))
    }
}

/// The place in the middle of Plan, or the beach's own where Plan shows none.
fn middle_of_plan(shown: &FrameContext<'_>, plan: &PlanView) -> Option<LonLat> {
    let beach = shown.beach?;
    let middle = plan.look().zip(plan.canvas).map(|(look, canvas)| look.spot(canvas.center()));
    let at = middle.zip(shown.land()).and_then(|(spot, (land, _))| land.placing.to_lonlat(plan.lay_index(), spot).ok());
    Some(at.unwrap_or(beach.origin))
}

/// The outing during which an instant lies, give or take half an hour.
fn outing_at(shown: &FrameContext<'_>, at: Timestamp) -> Option<Uid> {
    let beach = shown.beach?;
    shown.book.outings_of(beach.uid).into_iter().find(|o| o.covers(at, 1800)).map(|o| o.uid)
}
