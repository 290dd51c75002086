//! The hard rule, checked apart from everything that plans.
//!
//! *From every point of the route, at every moment, at least one access is reachable over sand that is dry
//! and stays dry for the walk plus margin.* Here the route is walked second by second, and at short
//! intervals a way out is walked through forward in time on a grid of its own, finer than the planner's and
//! laid another way. Sand that nobody surveyed is ground on which no way stands; which it is, is told by the levels
//! round a place and not by the planner's facets. Nothing is shared with the planner but the sand, the water, the sun and the book; the
//! reading of them, the barriers and the search for a path are written anew.

mod bars;
mod field;
mod surveyed;
mod water;

use jiff::{SignedDuration, Timestamp};

use self::bars::Fence;
use self::field::Field;
use self::surveyed::Surveyed;
use self::water::Sea;
use super::params::{Params, Start};
use super::result::{Checked, Doing, Step};
use super::tables::RouteTables;
use crate::book::Permission;
use crate::earth::{Local, LonLat};
use crate::shore::Setting;
use crate::sun;

/// Moments looked at while searching and while walking, seconds apart.
const EVERY_SEARCHING_S: f64 = 45.0;
const EVERY_WALKING_S: f64 = 10.0;
/// Nobody crosses sand faster than the stated walk by more than this factor.
const HASTE: f64 = 1.05;

/// How a route breaks the rule.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("at {time} {what}")]
pub struct Breach {
    /// When.
    pub time: Timestamp,
    /// Where, in the beach's plane.
    pub at: Local,
    /// What is wrong there and then.
    pub what: String,
}

/// Checks a way against the beach, its water and the book.
///
/// # Errors
/// [`Breach`]: the first moment found at which the rule is broken.
pub fn check(book: impl Into<RouteTables>, setting: &Setting, params: &Params, trace: &[Step]) -> Result<Checked, Breach> {
    let book = &book.into();
    let nowhere = |what: &str| Breach { time: Timestamp::default(), at: Local::default(), what: what.to_owned() };
    let (Some(first), Some(last)) = (trace.first(), trace.last()) else { return Err(nowhere("there is no way to walk")) };
    let shore = setting.shore.as_ref().map_err(|e| nowhere(&e.to_string()))?;
    let offset_m = setting.beach.datum_offset_m.ok_or_else(|| nowhere("the datum offset is not set"))?;
    let water = setting.water.as_ref().ok_or_else(|| nowhere("there is no tide source"))?;
    let frame = shore.frame();
    let closed = params.closed_zones.clone();
    let calendar = setting.beach.zone().map_err(|e| nowhere(&e.to_string()))?;
    let days: Vec<jiff::civil::Date> = trace.iter().map(|step| calendar.to_datetime(step.time).date()).collect();
    let fence = Fence::on_beach(book, setting.beach.uid, &closed, &days, frame);
    let accesses: Vec<Local> =
        book.accesses().values().filter(|a| a.beach == setting.beach.uid).filter_map(|a| frame.to_local(a.at).ok()).collect();
    let sea = Sea::around(water, first.time, last.time);
    let margin_m = params.run_up_m + params.source_m + params.surge.residual_m.max(0.0) + 2.0 * params.surge.sd_m;
    let surveyed = Surveyed::on_beach(shore);
    let sand = |p: Local| {
        let level = shore.sand_level(p).filter(|_| surveyed.knows(p))?;
        Some(level.land_m + offset_m - params.sand_sigmas * level.sigma_m - params.sand_lower_m - margin_m)
    };
    let near = |p: Local| accesses.iter().any(|a| a.distance_m(p) < 1.0);
    // Who already stands on the sand may set out from there; every rule below holds for that spot too.
    let stands = match params.start {
        Start::Place(spot) => frame.to_local(spot).ok(),
        Start::AnyAccess | Start::Access(_) => None,
    };
    let begins = near(first.at) || stands.is_some_and(|s| s.distance_m(first.at) < 1.0);
    for (end, good) in [(first, begins), (last, near(last.at))] {
        if !good {
            return Err(Breach { time: end.time, at: end.at, what: "the way does not begin and end at an access".to_owned() });
        }
    }
    let dark = |time: Timestamp| !params.head_torch && sun::altitude_deg(setting.beach.origin, time) < sun::CIVIL_DEG - 0.05;
    let permissions: Vec<(&Permission, Vec<Vec<Local>>)> =
        book.permissions().values().filter(|p| p.beach == setting.beach.uid).map(|p| (p, bars::rings(&p.area, frame))).collect();
    let zone = setting.beach.zone().map_err(|e| nowhere(&e.to_string()))?;
    let fastest = params.walk_wet_m_s.max(params.walk_dry_m_s) * HASTE;
    let mut field = Field::new(&sand, &fence, &accesses, params.walk_out_m_s, params.time_margin_min * 60.0);
    let mut seen = Checked { moments: 0, longest_out_s: 0.0, least_spare_s: f64::INFINITY };
    for pair in trace.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let breach = |time: Timestamp, at: Local, what: &str| Breach { time, at, what: what.to_owned() };
        let lasts_s = b.time.duration_since(a.time).as_secs_f64();
        let length_m = a.at.distance_m(b.at);
        if lasts_s < 0.0 || length_m > fastest * lasts_s + 1.0 {
            return Err(breach(a.time, a.at, &format!("{length_m:.0} m are to be walked in {lasts_s:.0} s")));
        }
        if fence.between(a.at, b.at) {
            return Err(breach(a.time, a.at, "the way crosses a barrier or closed ground"));
        }
        let searching = matches!(b.doing, Doing::Searching(_));
        let every = if searching { EVERY_SEARCHING_S } else { EVERY_WALKING_S };
        let parts = (lasts_s / every).max(length_m / 5.0).ceil().max(1.0) as u32;
        for n in 0..=parts {
            let part = f64::from(n) / f64::from(parts);
            let at =
                Local::new(a.at.east_m + (b.at.east_m - a.at.east_m) * part, a.at.north_m + (b.at.north_m - a.at.north_m) * part);
            let time = a.time + SignedDuration::from_millis((lasts_s * part * 1000.0) as i64);
            if dark(time) {
                return Err(breach(time, at, "it is dark and no head-torch is carried"));
            }
            if searching && !permissions.is_empty() && !permissions.iter().any(|(p, area)| allows(p, area, at, time, &zone)) {
                return Err(breach(time, at, "the ground may not be searched then by any permission"));
            }
            let now = sea.at(time);
            // Where the sand by the access is not known, the access itself is where people come and go.
            let link = || accesses.iter().any(|x| field.linked(at, *x));
            match sand(at) {
                Some(level) if level > now => {}
                None if link() => continue,
                Some(_) => return Err(breach(time, at, "the water with its margin reaches the place")),
                None => return Err(breach(time, at, "nobody surveyed the sand, so its level is not known")),
            }
            let Some(out) = field.way_out(at, time, &sea) else {
                return Err(breach(time, at, "no access can be reached over sand that stays dry long enough"));
            };
            let reached = time + SignedDuration::from_secs(out.walk_s.ceil() as i64);
            if dark(reached) {
                return Err(breach(time, at, "the access would be reached in the dark"));
            }
            seen.moments += 1;
            seen.longest_out_s = seen.longest_out_s.max(out.walk_s);
            seen.least_spare_s = seen.least_spare_s.min(out.spare_s);
        }
    }
    Ok(seen)
}

/// Whether a permission allows searching a place at a moment, by the beach's own calendar and clock.
fn allows(permission: &Permission, rings: &[Vec<Local>], at: Local, time: Timestamp, zone: &jiff::tz::TimeZone) -> bool {
    if !bars::inside(rings, at) {
        return false;
    }
    let local = time.to_zoned_datetime(zone.clone());
    let (mut date, clock) = (local.date(), local.time());
    if let Some((from, to)) = permission.hours.filter(|(from, to)| from != to) {
        let within = if from < to { clock >= from && clock <= to } else { clock >= from || clock <= to };
        if !within {
            return false;
        }
        // The small hours belong to the evening before.
        if from > to
            && clock <= to
            && let Ok(before) = date.yesterday()
        {
            date = before;
        }
    }
    permission.from.is_none_or(|f| date >= f) && permission.to.is_none_or(|t| date <= t)
}

/// Where something lies, for a message to a person.
impl Breach {
    /// The sentence with the place as a position and the time on the beach's clock.
    pub fn said(&self, setting: &Setting) -> String {
        let place: Option<LonLat> = setting.shore.as_ref().ok().and_then(|s| s.frame().to_lonlat(self.at).ok());
        let clock = match setting.beach.zone() {
            Ok(zone) => self.time.to_zoned_datetime(zone).strftime("%H:%M").to_string(),
            Err(_) => self.time.to_string(),
        };
        let place = place.map_or_else(String::new, |p| format!(", at {p},"));
        format!("at {clock}{place} {}", self.what)
    }
}
