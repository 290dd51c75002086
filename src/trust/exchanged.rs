//! Days of a tide table on which morning and afternoon are exchanged.
//!
//! Whoever writes AM for PM and PM for AM moves each turn of a day by twelve hours. In order of time the lines of a kind have then
//! changed places, and each is off by what twelve hours lack of half a lunar day: less than single misprints are told from. A
//! station near tells of them, as they go with its turns once they are moved back.

use super::off::{Off, TIDAL_M, off_station};
use super::pairs::{Pair, mean_range_m, median};
use crate::tide::{Turn, TurnKind, Window};

/// Two turns of a kind, one after the other, that lie between so many minutes apart, are each other's twelve hours off where
/// they go with a station's once they are moved so: morning and afternoon were exchanged for a day. As they stand each is off by
/// so many minutes, the one late and the other early, ...
const HALF_DAY_APART_MIN: std::ops::Range<f64> = 540.0..900.0;
const HALF_DAY_MIN: f64 = 720.0;
const EXCHANGED_MIN: f64 = 10.0;
/// ... or by so many where those of the other kind of that day do not show it, ...
const EXCHANGED_ALONE_MIN: f64 = 25.0;
/// ... by so many times what their kind is off by in the middle, ...
const EXCHANGED_TIMES: f64 = 3.0;
/// ... and once moved by no more than this part of it. Those of the other kind by no more than the other part, or minutes.
const EXCHANGED_LEFT: f64 = 0.6;
const EXCHANGED_OTHER_LEFT: f64 = 0.8;
const EXCHANGED_OTHER_MIN: f64 = 4.0;
/// So many of a kind must tell what is usual. Of 5,269 pairs of stations within 10 km none is accused; of two days of a month so
/// written 97 in 100 are told beside the station of the place.
const EXCHANGED_OF: usize = 8;

/// Two turns of a kind, one after the other and off to either side.
struct Exchanged {
    kind: TurnKind,
    span: Window,
    /// Each is off by so much at least, minutes, ...
    off_min: f64,
    /// ... and by so much at most once it is moved by twelve hours, ...
    left_min: f64,
    /// ... where its kind is by so much in the middle.
    usual_min: f64,
}

impl Exchanged {
    fn is_out(&self, least_min: f64) -> bool {
        self.off_min >= least_min.max(EXCHANGED_TIMES * self.usual_min) && self.left_min <= EXCHANGED_LEFT * self.off_min
    }

    /// Whether these, of the other kind and through the same day, may be so too.
    fn may_go_with(&self, other: &Self) -> bool {
        let least_min = (EXCHANGED_OTHER_LEFT * self.off_min).max(EXCHANGED_TIMES * self.usual_min).max(EXCHANGED_OTHER_MIN);
        self.kind != other.kind && self.span.shared(&other.span).is_some() && self.left_min <= least_min
    }
}

/// Turns of days on which morning and afternoon are exchanged: in order of time the lines of each kind have then changed
/// places, and each stands at the other's hour less twelve.
pub(super) fn exchanged(turns: &[Turn], pairs: &[Pair]) -> Vec<Off> {
    if mean_range_m(turns).unwrap_or_default() < TIDAL_M {
        return Vec::new();
    }
    let mut all: Vec<Exchanged> = Vec::new();
    for kind in [TurnKind::High, TurnKind::Low] {
        let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
        let Some(late_min) = median(of.iter().map(|p| p.late_min)).filter(|_| of.len() >= EXCHANGED_OF) else { continue };
        let usual_min = median(of.iter().map(|p| (p.late_min - late_min).abs())).unwrap_or_default();
        for two in of.windows(2) {
            let (first, second) = (two[0].late_min - late_min, two[1].late_min - late_min);
            let apart_min = two[1].own.time.duration_since(two[0].own.time).as_secs_f64() / 60.0;
            if first * second >= 0.0 || !HALF_DAY_APART_MIN.contains(&apart_min) {
                continue;
            }
            // Moved, the first stands at the second of the station's and the other way round.
            let there_min = apart_min - second + first;
            let left = [first + HALF_DAY_MIN - there_min, second - HALF_DAY_MIN + there_min];
            all.push(Exchanged {
                kind,
                span: Window { from: two[0].own.time, to: two[1].own.time },
                off_min: first.abs().min(second.abs()),
                left_min: left[0].abs().max(left[1].abs()),
                usual_min,
            });
        }
    }
    let out = |e: &&Exchanged| {
        e.is_out(EXCHANGED_ALONE_MIN) || (e.is_out(EXCHANGED_MIN) && all.iter().any(|other| other.may_go_with(e)))
    };
    let spans: Vec<&Exchanged> = all.iter().filter(out).collect();
    let is_of = |o: &Off| spans.iter().any(|e| e.kind == o.turn.kind && (e.span.from == o.turn.time || e.span.to == o.turn.time));
    off_station(pairs).into_iter().filter(is_of).collect()
}
