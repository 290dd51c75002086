//! What every low has in common: the ground as it is, whatever the water does.

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use super::bars::Bars;
use super::cells::{Cells, Sand};
use super::chord_plane::ChordPlane;
use super::dryness::{Dryness, Span};
use super::footing::{Footing, footings};
use crate::book::{Access, Permission, Zone};
use crate::earth::Local;
use crate::route::asked::Asked;
use crate::route::error::RouteError;
use crate::route::result::{PassedOver, RouteClock};
use crate::sea::RunUp;
use crate::shore::{Shore, ShoreError};
use crate::tide::Water;

/// How far ahead a low is looked for.
pub(in crate::route) const AHEAD_H: i64 = 48;

/// The ground as it is, whatever the water does.
pub(in crate::route) struct Planner<'a> {
    pub(in crate::route) asked: Asked<'a>,
    pub(in crate::route) shore: &'a Shore,
    pub(in crate::route) water: &'a Water,
    pub(in crate::route) sand: Sand<'a>,
    pub(in crate::route) bars: Bars,
    pub(in crate::route) cells: Cells,
    pub(in crate::route) accesses: Vec<(&'a Access, Local)>,
    /// How each access stands above the water.
    pub(in crate::route) footings: Vec<Option<Footing>>,
    pub(in crate::route) permissions: Vec<&'a Permission>,
    pub(in crate::route) pace: Vec<f64>,
    /// The sea at the low under work.
    pub(in crate::route) run_up: RunUp,
    /// The lows before it that did not serve.
    pub(in crate::route) passed_over: Vec<PassedOver>,
}

/// One low with its clock and light.
pub(in crate::route) struct Tide {
    pub(in crate::route) dryness: Dryness,
    pub(in crate::route) light: Span,
}

/// The days of the beach's calendar that a route may lie on.
fn possible_days(asked: &Asked<'_>) -> Result<Vec<Date>, RouteError> {
    let zone = asked.setting.beach.zone().map_err(|e| RouteError::Parameter { what: "time zone", why: e.to_string() })?;
    let ahead = SignedDuration::from_hours(AHEAD_H + 24);
    let day = |t: Timestamp| zone.to_datetime(t).date();
    let (first, last) = match asked.low {
        Some(low) => (low - SignedDuration::from_hours(24), low + SignedDuration::from_hours(24)),
        None => (asked.after - SignedDuration::from_hours(24), asked.after + ahead),
    };
    let last = day(last);
    Ok(day(first).series(jiff::Span::new().days(1)).take_while(|d| *d <= last).collect())
}

impl<'a> Planner<'a> {
    pub(in crate::route) fn new(asked: &'a Asked<'a>) -> Result<Self, RouteError> {
        let (setting, params) = (asked.setting, asked.params);
        let beach = &setting.beach;
        let shore = setting.shore.as_ref().map_err(|e| RouteError::Shore(e.clone()))?;
        let water = setting.water.as_ref().ok_or_else(|| RouteError::NoTide { beach: beach.name.clone() })?;
        let offset_m = shore.datum_offset_m()?;
        let accesses: Vec<(&Access, Local)> = asked
            .book
            .accesses()
            .values()
            .filter(|a| a.beach == beach.uid)
            .filter_map(|a| Some((a, shore.frame().to_local(a.at).ok()?)))
            .collect();
        if accesses.is_empty() {
            return Err(RouteError::NoAccess { beach: beach.name.clone() });
        }
        if !shore.is_surveyed() && shore.level_range_m().is_some() {
            return Err(RouteError::only_slope(&beach.name));
        }
        let no_levels = || ShoreError::NoLevels(beach.name.clone());
        let lay = ChordPlane::along(&shore.baseline().points()).ok_or_else(no_levels)?;
        // A season is held to every day that the search for a low may come to.
        let days = possible_days(asked)?;
        let closed = |zone: &Zone| params.closed_zones.contains(&zone.uid) || days.iter().any(|day| zone.is_closed_on(*day));
        let bars = Bars::on_beach(asked.book, beach.uid, &closed, shore.frame(), &lay);
        let sand = Sand { shore, offset_m, sigmas: params.sand_sigmas, lower_m: params.sand_lower_m };
        let cells = Cells::cut(&sand, lay, &bars, params.cell_m).ok_or_else(no_levels)?;
        let top_m = setting.marks.first().map_or(f64::INFINITY, |m| m.level_m);
        let pace = (0..cells.len())
            .map(|n| 1.0 / if cells.level_m(n) > top_m { params.walk_dry_m_s } else { params.walk_wet_m_s })
            .collect();
        let permissions = asked.book.permissions().values().filter(|p| p.beach == beach.uid).collect();
        let places: Vec<Local> = accesses.iter().map(|a| a.1).collect();
        let footings = footings(&cells, &sand, &places);
        let (run_up, passed_over) = (setting.run_up, Vec::new());
        let asked = *asked;
        Ok(Self { asked, shore, water, sand, bars, cells, accesses, footings, permissions, pace, run_up, passed_over })
    }

    pub(in crate::route) fn name(&self) -> String {
        self.asked.setting.beach.name.clone()
    }

    pub(in crate::route) fn clock(&self, time: Timestamp) -> String {
        RouteClock::at(time, &self.asked.setting.beach).dated(time)
    }
}
