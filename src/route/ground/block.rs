//! Candidate ground: blocks along and across the shore that may be searched and can be reached.

use std::collections::BTreeMap;

use geo::{BoundingRect, Contains, Intersects};
use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::bars::Bars;
use super::cells::{Cells, Sand};
use super::chord_plane::ChordPlane;
use super::dryness::{Dryness, Span};
use super::ways_out::WaysOut;
use crate::book::Permission;
use crate::earth::Local;
use crate::route::params::{BlockId, Params};
use crate::route::worth::{Place, Worth};
use crate::shore::ShorePoint;

/// A block that may be searched.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::route) struct Candidate {
    pub(in crate::route) id: BlockId,
    /// Its corners in the beach's plane, anticlockwise by shore coordinates.
    pub(in crate::route) corners: [Local; 4],
    /// Lower and upper along, and across, metres.
    pub(in crate::route) along_m: (f64, f64),
    pub(in crate::route) across_m: (f64, f64),
    /// Square of the walking ground at its middle.
    pub(in crate::route) cell: usize,
    /// When it may be worked.
    pub(in crate::route) span: Span,
    /// Last moment at which one may still be on it, seconds from the low.
    pub(in crate::route) leave_by_s: i32,
    /// Finds expected.
    pub(in crate::route) finds: f64,
    /// Standard deviation of what is not known of all ground alike, in finds.
    pub(in crate::route) shared_sd: f64,
    /// The same of each place in it, of what is not known of that place alone.
    pub(in crate::route) own_sd: Vec<(Place, f64)>,
    /// Time it takes, seconds.
    pub(in crate::route) takes_s: i32,
    pub(in crate::route) area_m2: f64,
    /// Lowest sand that counts, metres above the tide's datum.
    pub(in crate::route) level_m: f64,
    /// Which of the permissions covers it.
    pub(in crate::route) permission: Option<usize>,
}

impl Candidate {
    /// How little is known of some blocks together, as a standard deviation of their finds: what is not known of all
    /// ground adds up, what is not known of a place adds up over the blocks on it alone.
    pub(in crate::route) fn unsure(blocks: &[&Self]) -> f64 {
        let shared: f64 = blocks.iter().map(|b| b.shared_sd).sum();
        let mut own: BTreeMap<Place, f64> = BTreeMap::new();
        blocks.iter().flat_map(|b| &b.own_sd).for_each(|(place, sd)| *own.entry(*place).or_default() += sd);
        (shared * shared + own.values().map(|sd| sd * sd).sum::<f64>()).sqrt()
    }
}

/// A permission laid on the ground and on the clock.
pub(in crate::route) struct Allowed {
    pub(in crate::route) area: MultiPolygon<f64>,
    pub(in crate::route) spans: Vec<Span>,
}

impl Allowed {
    /// `None` when the permission's area lies off the plane.
    pub(in crate::route) fn laid_on(
        permission: &Permission,
        zone: &TimeZone,
        dryness: &Dryness,
        lay: &ChordPlane,
        frame: &crate::earth::Frame,
    ) -> Option<Self> {
        let place = |c: Coord<f64>| -> Result<Coord<f64>, crate::earth::EarthError> {
            Ok(lay.lay_at(frame.to_local(crate::earth::LonLat::try_from(c)?)?))
        };
        let area = geo::MapCoords::try_map_coords(&permission.area, place).ok()?;
        Some(Self { area, spans: spans(permission, zone, dryness) })
    }
}

/// The spans around a low in which a permission holds, by the beach's own clock, clock changes and hours
/// that cross midnight included.
fn spans(permission: &Permission, zone: &TimeZone, dryness: &Dryness) -> Vec<Span> {
    let day = dryness.time(0).to_zoned_datetime(zone.clone()).date();
    let instant = |date: jiff::civil::Date, time: jiff::civil::Time| -> Option<Timestamp> {
        date.to_datetime(time).to_zoned_datetime(zone.clone()).ok().map(|z| z.timestamp())
    };
    let midnight = jiff::civil::Time::midnight();
    let mut out = Vec::new();
    let Ok(mut date) = day.yesterday() else { return out };
    for _ in 0..3 {
        let Ok(next) = date.tomorrow() else { break };
        let holds = permission.from.is_none_or(|f| date >= f) && permission.to.is_none_or(|t| date <= t);
        if holds {
            let (from, to) = match permission.hours {
                Some((from, to)) if from < to => (instant(date, from), instant(date, to)),
                Some((from, to)) if from > to => (instant(date, from), instant(next, to)),
                _ => (instant(date, midnight), instant(next, midnight)),
            };
            if let (Some(from), Some(to)) = (from, to) {
                let span = Span { from_s: dryness.seconds(from), to_s: dryness.seconds(to) };
                match out.last_mut() {
                    // Day after day without a gap is one span.
                    Some(Span { to_s, .. }) if *to_s >= span.from_s => *to_s = span.to_s,
                    _ => out.push(span),
                }
            }
        }
        date = next;
    }
    out
}

/// Everything that blocks are cut from.
pub(in crate::route) struct Cutting<'a> {
    pub(in crate::route) sand: &'a Sand<'a>,
    pub(in crate::route) cells: &'a Cells,
    pub(in crate::route) ways_out: &'a WaysOut,
    pub(in crate::route) bars: &'a Bars,
    /// Empty where no permission is recorded.
    pub(in crate::route) allowed: &'a [Allowed],
    pub(in crate::route) worth: &'a dyn Worth,
    /// When it is searched: the low.
    pub(in crate::route) when: Timestamp,
    pub(in crate::route) params: &'a Params,
}

/// Why ground fell away, to say what is missing when nothing remains.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in crate::route) struct Tally {
    pub(in crate::route) known: usize,
    pub(in crate::route) allowed: usize,
    pub(in crate::route) clear: usize,
    pub(in crate::route) in_hours: usize,
    pub(in crate::route) reached: usize,
}

/// The blocks that can be worked within `window`, in order of their numbers.
pub(in crate::route) fn cut(c: &Cutting<'_>, window: Span) -> (Vec<Candidate>, Tally) {
    let (shore, p) = (c.sand.shore, c.params);
    let steps = |(low, high): (f64, f64), step: f64| (low / step).floor() as i32..(high / step).ceil() as i32;
    let mut tally = Tally::default();
    let mut out = Vec::new();
    // A survey or slope out of all proportion must not cut blocks for ever.
    let (along, across) = (steps(shore.along_range_m(), p.block_along_m), steps(shore.across_range_m(), p.block_across_m));
    for row in across.take(2000) {
        for column in along.clone().take(5000) {
            let id = BlockId { along: column, across: row };
            if !p.excluded.contains(&id) {
                out.extend(one(c, id, window, &mut tally));
            }
        }
    }
    (out, tally)
}

fn one(c: &Cutting<'_>, id: BlockId, window: Span, tally: &mut Tally) -> Option<Candidate> {
    let (shore, p, lay) = (c.sand.shore, c.params, &c.cells.lay);
    let along_m = (f64::from(id.along) * p.block_along_m, f64::from(id.along + 1) * p.block_along_m);
    let across_m = (f64::from(id.across) * p.block_across_m, f64::from(id.across + 1) * p.block_across_m);
    let at = |a, x| shore.to_local(ShorePoint::new(a, x));
    let corners = [at(along_m.0, across_m.0), at(along_m.0, across_m.1), at(along_m.1, across_m.1), at(along_m.1, across_m.0)];
    let middle = at((along_m.0 + along_m.1) / 2.0, (across_m.0 + across_m.1) / 2.0);
    let cell = c.cells.at(lay.lay_at(middle)).filter(|n| c.cells.is_ground(*n))?;
    tally.known += 1;
    let ring: Vec<Coord<f64>> = corners.iter().chain(&corners[..1]).map(|l| lay.lay_at(*l)).collect();
    let quad = Polygon::new(LineString(ring), Vec::new());
    let permission = c.allowed.iter().position(|a| a.area.contains(&quad));
    if permission.is_none() && !c.allowed.is_empty() {
        return None;
    }
    tally.allowed += 1;
    if c.bars.touch(&quad) {
        return None;
    }
    tally.clear += 1;
    let mut spans = vec![window];
    if let Some(n) = permission {
        spans = c.allowed[n].spans.iter().filter_map(|s| s.shared(window)).collect();
    }
    // Of several spans the longest: a block is worked in one go.
    let mut span = spans.into_iter().max_by_key(|s| s.to_s - s.from_s)?;
    tally.in_hours += 1;
    let (mut level_m, mut leave_by_s) = (f64::INFINITY, i32::MAX);
    for n in c.cells.within(quad.bounding_rect()?).filter(|n| quad.intersects(&c.cells.rect(*n))) {
        let safe = c.ways_out.safe(n)?;
        span = span.shared(safe)?;
        leave_by_s = leave_by_s.min(safe.to_s);
        level_m = level_m.min(c.cells.level_m(n));
    }
    let area_m2 = geo::Area::unsigned_area(&quad);
    let (finds, shared_sd, own_sd) = expected(c, along_m, across_m, area_m2);
    let takes_s = takes_s(p, area_m2, finds);
    (span.to_s - span.from_s >= takes_s).then(|| {
        tally.reached += 1;
        Candidate {
            id,
            corners,
            along_m,
            across_m,
            cell,
            span,
            leave_by_s,
            finds,
            shared_sd,
            own_sd,
            takes_s,
            area_m2,
            level_m,
            permission,
        }
    })
}

/// Side of the squares by which a block is looked at, metres: about that of the cells of a reading.
const LOOK_M: f64 = 10.0;

/// Finds expected on a block, and what is not known of them: of all ground alike, and of each place in it.
fn expected(c: &Cutting<'_>, along_m: (f64, f64), across_m: (f64, f64), area_m2: f64) -> (f64, f64, Vec<(Place, f64)>) {
    let looks = |(low, high): (f64, f64)| {
        let count = ((high - low) / LOOK_M).ceil().clamp(1.0, 5.0);
        (0..count as usize).map(move |n| low + (high - low) * (n as f64 + 0.5) / count)
    };
    let places: Vec<Local> = looks(along_m)
        .flat_map(|a| looks(across_m).map(move |x| ShorePoint::new(a, x)))
        .map(|s| c.sand.shore.to_local(s))
        .collect();
    let share = area_m2 / 100.0 / places.len() as f64;
    let (mut finds, mut shared_sd, mut own_sd) = (0.0, 0.0, Vec::<(Place, f64)>::new());
    for at in places {
        let here = c.worth.expected(at, c.when).times(share);
        finds += here.per_100m2;
        shared_sd += here.sd_per_100m2;
        let place = c.worth.place(at);
        match own_sd.iter_mut().find(|(p, _)| *p == place) {
            Some((_, sd)) => *sd += here.own_sd_per_100m2,
            None => own_sd.push((place, here.own_sd_per_100m2)),
        }
    }
    (finds, shared_sd, own_sd)
}

/// Time to sweep a block, dig what is found and walk from its middle to the first lane and back, with rest.
fn takes_s(p: &Params, area_m2: f64, finds: f64) -> i32 {
    let link_m = 2.0 * p.block_along_m.hypot(p.block_across_m);
    let work_s = area_m2 / p.sweep_m2_s() + finds * p.dig_min * 60.0;
    (work_s / (1.0 - p.rest) + link_m / p.walk_dry_m_s.min(p.walk_wet_m_s)).ceil() as i32
}
