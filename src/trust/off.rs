//! How far turns of a tide table lie from where a station has them.

use jiff::tz::TimeZone;

use super::pairs::{Pair, median};
use crate::tide::{Turn, TurnKind};

/// Where the tide ranges less, metres, the times of turns say nothing.
pub(super) const TIDAL_M: f64 = 0.5;

/// Where the station's water has gone by less since its turn, metres, a time says nothing either: it stands there for hours.
const STANDS_M: f64 = 0.12;

/// How far a turn lies from where it is expected.
#[derive(Clone, Copy)]
pub(super) struct Off {
    pub(super) turn: Turn,
    pub(super) late_min: f64,
    pub(super) up_m: f64,
    /// Whether the water there has gone some way by its minute.
    pub(super) is_gone: bool,
}

/// Whether the station's water has gone some way from its turn by the minute of the other's.
pub(super) fn is_gone(pair: &Pair) -> bool {
    pair.made_m >= STANDS_M
}

/// How turns of one kind go with those of a station in the middle.
pub(super) struct Usual {
    late_min: f64,
    own_m: f64,
    there_m: f64,
    times: f64,
}

impl Usual {
    pub(super) fn new<'a>(of: impl Iterator<Item = &'a Pair> + Clone) -> Self {
        let middle = |value: fn(&Pair) -> f64| median(of.clone().map(value)).unwrap_or_default();
        let (own_m, there_m) = (middle(|p| p.own.level_m), middle(|p| p.there_m));
        // As far from its middle as the station's, by what both spread in the middle case.
        let own_spread_m = median(of.clone().map(|p| (p.own.level_m - own_m).abs())).unwrap_or_default();
        let there_spread_m = median(of.clone().map(|p| (p.there_m - there_m).abs())).unwrap_or_default();
        let times = if there_spread_m > 0.0 { (own_spread_m / there_spread_m).clamp(0.2, 5.0) } else { 1.0 };
        Self { late_min: middle(|p| p.late_min), own_m, there_m, times }
    }

    pub(super) fn off(&self, p: &Pair) -> Off {
        Off {
            turn: p.own,
            late_min: p.late_min - self.late_min,
            up_m: p.own.level_m - self.own_m - self.times * (p.there_m - self.there_m),
            is_gone: is_gone(p),
        }
    }
}

/// Turns out of line with those of a station that they were paired with, but for what all of their kind are.
pub(super) fn off_station(pairs: &[Pair]) -> Vec<Off> {
    let of = |kind: TurnKind| {
        let of = pairs.iter().filter(move |p| p.own.kind == kind);
        let usual = Usual::new(of.clone());
        of.map(|p| usual.off(p)).collect::<Vec<_>>()
    };
    [TurnKind::High, TurnKind::Low].into_iter().flat_map(of).collect()
}

impl Off {
    /// "the high water of 2026-11-30 15:12 comes 60 minutes later and stands 0.02 m lower than expected".
    pub(super) fn said(&self, zone: &TimeZone) -> String {
        let at = zone.to_datetime(self.turn.time).strftime("%Y-%m-%d %H:%M");
        let (late, up) =
            (if self.late_min > 0.0 { "later" } else { "earlier" }, if self.up_m > 0.0 { "higher" } else { "lower" });
        format!(
            "the {} water of {at} comes {:.0} minutes {late} and stands {:.2} m {up} than expected",
            self.turn.kind,
            self.late_min.abs(),
            self.up_m.abs()
        )
    }
}
