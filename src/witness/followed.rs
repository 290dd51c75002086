//! Outings that followed a plan.
//!
//! Whoever walks a plan keeps as far from the water as the plan does, by what the program believes: such a limit is no
//! witness against what is believed, nor for it.

use jiff::civil::DateTime;

use super::WitnessTables;
use crate::book::{Beach, Plan};
use crate::earth::Local;
use crate::shore::Shore;

/// So near to the line of a plan one is on it, metres: half of a block and the receiver's error.
const ON_M: f64 = 12.0;
/// An outing follows a plan that this share of its steps lie on, ...
const STEPS_SHARE: f64 = 0.8;
/// ... and that it went this share of.
const PLAN_SHARE: f64 = 0.5;
/// A shorter line is no plan of an outing, metres.
const LEAST_M: f64 = 150.0;
/// Where the plan says of which low it is: its outing lies so near to it, seconds.
const WITHIN_S: f64 = 6.0 * 3600.0;

/// A plan of the book, laid on the beach.
pub(super) struct Followed {
    /// Places along its line, at most [`ON_M`] apart.
    places: Vec<Local>,
    /// The low that it is for, where its name says so, seconds since 1970.
    low_s: Option<f64>,
}

impl Followed {
    /// The plans of a beach that are as long as an outing.
    pub(super) fn of_beach(tables: &WitnessTables, shore: &Shore, beach: &Beach) -> Vec<Self> {
        let lay = |plan: &Plan| {
            let corners: Vec<Local> = plan.points.iter().filter_map(|p| shore.frame().to_local(*p).ok()).collect();
            let length_m: f64 = corners.windows(2).map(|w| w[0].distance_m(w[1])).sum();
            (length_m >= LEAST_M).then(|| Self { places: dense(&corners), low_s: low_s(&plan.name, beach) })
        };
        tables.plans().values().filter(|p| p.beach == beach.uid).filter_map(lay).collect()
    }

    /// Whether an outing that went over these places in this span of time, seconds since 1970, followed it.
    pub(super) fn is_followed_by(&self, steps: &[Local], (from_s, to_s): (f64, f64)) -> bool {
        if self.low_s.is_some_and(|low_s| low_s < from_s - WITHIN_S || low_s > to_s + WITHIN_S) {
            return false;
        }
        share_near(steps, &self.places) >= STEPS_SHARE && share_near(&self.places, steps) >= PLAN_SHARE
    }
}

/// Share of places that lie near to some other.
fn share_near(places: &[Local], others: &[Local]) -> f64 {
    let near = places.iter().filter(|p| others.iter().any(|o| p.distance_m(*o) <= ON_M)).count();
    near as f64 / places.len().max(1) as f64
}

/// A line with places between its corners.
fn dense(corners: &[Local]) -> Vec<Local> {
    let between = |w: &[Local]| {
        let parts = (w[0].distance_m(w[1]) / ON_M).ceil().max(1.0) as u32;
        let at = |n: u32| f64::from(n) / f64::from(parts);
        let (a, b) = (w[0], w[1]);
        (0..parts)
            .map(move |n| Local::new(a.east_m + (b.east_m - a.east_m) * at(n), a.north_m + (b.north_m - a.north_m) * at(n)))
            .collect::<Vec<_>>()
    };
    corners.windows(2).flat_map(between).chain(corners.last().copied()).collect()
}

/// The low in the name of a plan that this program wrote: "Plan: Bay, low water Sun 21 Jun 2026 12:00".
fn low_s(name: &str, beach: &Beach) -> Option<f64> {
    let (_, when) = name.rsplit_once("low water ")?;
    let time = DateTime::strptime("%a %d %b %Y %H:%M", when.trim()).ok()?;
    Some(beach.zone().ok()?.to_timestamp(time).ok()?.as_second() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn the_low_of_a_plan_is_read_from_its_name_on_the_clock_of_the_beach() {
        let beach = Beach { time_zone: "Europe/London".into(), ..Beach::new("Bay", LonLat::new(-5.5, 50.1).unwrap()) };
        let at = |name: &str| low_s(name, &beach);
        assert_eq!(at("Plan: Bay, low water Sun 21 Jun 2026 12:00"), Some(1_782_039_600.0));
        assert_eq!((at("Plan: Bay"), at("low water soon")), (None, None));
    }
}
