//! What is kept of a form: the record as typed.

use jiff::Timestamp;
use jiff::civil::DateTime;

use crate::app::state::FrameContext;
use crate::app::state::draft::{DraftFields, DraftForm, Subject, TIME, place_words};
use crate::app::widgets::typed::number;
use crate::bench::read_ids;
use crate::book::{Access, Aside, Find, Kind, Outing, Record, Signal};
use crate::earth::LonLat;
use crate::exchange::place_typed;

/// The name of a field that was refused, and why.
type Refused = (&'static str, String);

/// The record as typed, or the first field that cannot be and why.
pub(super) fn record(form: &DraftForm, shown: &FrameContext<'_>) -> Result<Record, Refused> {
    let f = &form.fields;
    match &f.subject {
        Subject::Signal(signal) => {
            let gauge_step = match f.gauge_step.trim() {
                "" => None,
                text => Some(text.parse().map_err(|_| ("Gauge step", format!("\"{text}\" is not a whole number")))?),
            };
            let target_ids = read_ids(&f.target_ids).map_err(|e| ("Target IDs", e.to_string()))?;
            let at = placed(f, signal.at)?;
            Ok(Signal { at, time: timed(f, signal.time, shown)?, target_ids, gauge_step, ..(**signal).clone() }.into())
        }
        Subject::Find(find) => {
            let figure = |field: &'static str, what: &str, text: &str| number(what, text).map_err(|why| (field, why));
            Ok(Find {
                kind: kind_typed(f, find, shown)?,
                at: placed(f, find.at)?,
                time: timed(f, find.time, shown)?,
                depth_m: figure("Depth, cm", "depth", &f.depth_cm)?.map(|cm| cm / 100.0),
                target_id: figure("Target ID", "target ID", &f.target_id)?,
                mass_g: figure("Mass, g", "mass", &f.mass_g)?,
                more: find
                    .more
                    .iter()
                    .filter(|(_, text)| !text.trim().is_empty())
                    .map(|(t, text)| (t.clone(), text.clone()))
                    .collect(),
                ..(**find).clone()
            }
            .into())
        }
        Subject::Outing(outing) => {
            let instant = |field: &'static str, what: &str, text: &str| {
                time(field, text, shown)?.ok_or_else(|| (field, format!("{what} is missing")))
            };
            let (start, end) = (instant("Start", "the start", &f.from)?, instant("End", "the end", &f.to)?);
            // What was not touched keeps its seconds.
            let same = Aside::words_of_all(&outing.asides, shown.zone) == f.asides.trim();
            let asides = if same {
                outing.asides.clone()
            } else {
                Aside::read_all(&f.asides, (start, end), shown.zone).map_err(|e| ("Set aside", e.to_string()))?
            };
            let litter_kg = number("litter", &f.litter_kg).map_err(|why| ("Litter taken, kg", why))?;
            let mut made = Outing { start, end, asides, litter_kg, ..(**outing).clone() };
            if form.new {
                made.uid = Outing::new(outing.beach, start, end).uid;
            }
            Ok(made.into())
        }
        Subject::Access(access) => {
            if access.name.trim().is_empty() {
                return Err(("Name", "it needs a name, by which a route tells it".to_owned()));
            }
            Ok(Access { at: placed(f, access.at)?, ..(**access).clone() }.into())
        }
    }
}

/// The kind as it was found by typing.
fn kind_typed(f: &DraftFields, find: &Find, shown: &FrameContext<'_>) -> Result<Kind, Refused> {
    let typed = f.kind.trim();
    if typed == find.kind.label() {
        return Ok(find.kind.clone());
    }
    let known = shown.kinds().iter().find(|k| k.label().to_lowercase() == typed.to_lowercase());
    known.cloned().ok_or_else(|| ("Kind", format!("no kind is called \"{typed}\": choose one of those below")))
}

/// The place, which somebody must have said; untouched it keeps all its digits.
fn placed(f: &DraftFields, was: LonLat) -> Result<LonLat, Refused> {
    if f.place.trim().is_empty() {
        return Err(("Place", "where it lies is missing: click on Plan, type it, or take it from a track".to_owned()));
    }
    if f.place.trim() == place_words(was) {
        return Ok(was);
    }
    place_typed(&f.place).map_err(|why| ("Place", why))
}

fn timed(f: &DraftFields, was: Option<Timestamp>, shown: &FrameContext<'_>) -> Result<Option<Timestamp>, Refused> {
    let same = was.map_or_else(String::new, |t| shown.time(t, TIME)) == f.from;
    // Typed as it was shown, it means the very same instant: seconds are not lost.
    if same { Ok(was) } else { time("Time", &f.from, shown) }
}

/// A time as it is typed, in the beach's time.
pub(super) fn time(field: &'static str, text: &str, shown: &FrameContext<'_>) -> Result<Option<Timestamp>, Refused> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let civil =
        DateTime::strptime(TIME, text).map_err(|_| (field, format!("\"{text}\" is not a time such as 2027-01-12 06:40")))?;
    let zoned = civil.to_zoned_datetime(shown.zone.clone()).map_err(|_| (field, format!("\"{text}\" is beyond the calendar")))?;
    Ok(Some(zoned.timestamp()))
}
