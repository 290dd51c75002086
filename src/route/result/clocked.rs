//! The clock of a route: over all the moments that are told of it.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::route::Route;
use super::route_clock::RouteClock;
use crate::book::Beach;

impl RouteClock {
    /// The clock of a route on a beach.
    pub fn on_beach(route: &Route, beach: &Beach) -> Self {
        Self::for_route(route, &beach.zone().unwrap_or(TimeZone::UTC))
    }

    /// The clock of a route in a time zone.
    pub fn for_route(route: &Route, zone: &TimeZone) -> Self {
        let blocks = route.visits.iter().flat_map(|v| [v.begin, v.leave, v.leave_by]);
        let ways = [route.depart, route.back, route.low.time, route.turn_back, route.off_sand_by()];
        let moments: Vec<Timestamp> = blocks.chain(ways).chain(route.what_if.iter().filter_map(|w| w.turn_back)).collect();
        let first = moments.iter().min().copied().unwrap_or(route.depart);
        let last = moments.iter().max().copied().unwrap_or(route.back);
        Self::between(zone.clone(), first, last)
    }
}
