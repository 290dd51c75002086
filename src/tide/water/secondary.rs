use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};

use super::{Curve, Water};
use crate::tide::astro::seconds_j2000;
use crate::tide::levels::{Levels, computed};
use crate::tide::turns::{Turn, TurnKind};
use crate::tide::{Datum, TideError};

/// What a secondary port's high and low waters differ by from those of its standard port, as tide tables
/// print them: at springs and at neaps, between which they are interpolated by the standard port's height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Differences {
    /// Times of high water: minutes later than the standard port, at springs and at neaps.
    pub high_time_min: (f64, f64),
    /// Times of low water, likewise.
    pub low_time_min: (f64, f64),
    /// Heights of high water: metres above the standard port's, at springs and at neaps.
    pub high_m: (f64, f64),
    /// Heights of low water, likewise.
    pub low_m: (f64, f64),
}

/// A port that is predicted by its differences on a standard port.
///
/// Each turning point of the standard port is shifted in time and height; the difference is linear in the
/// standard port's height between its MHWN and MHWS (MLWN and MLWS for lows) and goes on beyond them at
/// the same slope, the usual method of the tide tables. Between two turning points the standard port's
/// curve is stretched to fit, so that a stand or a second high water stays.
#[derive(Debug, Clone)]
pub struct SecondaryPort {
    name: String,
    standard: Water,
    differences: Differences,
    /// The standard port's MHWS, MHWN, MLWN, MLWS, metres above its datum.
    levels_m: [f64; 4],
}

impl SecondaryPort {
    /// A port with the given differences on a standard port.
    ///
    /// # Errors
    /// [`TideError::NoSprings`] when the standard port has no springs and neaps to interpolate between.
    pub fn new(name: impl Into<String>, standard: Water, differences: Differences) -> Result<Self, TideError> {
        let levels = standard.levels();
        let (Some(a), Some(b), Some(c), Some(d)) = (levels.mhws, levels.mhwn, levels.mlwn, levels.mlws) else {
            return Err(TideError::NoSprings { name: standard.name().to_owned() });
        };
        Ok(Self::with_levels(name, standard, differences, [a.m, b.m, c.m, d.m]))
    }

    /// A port on a standard port whose MHWS, MHWN, MLWN and MLWS are known otherwise, as a tide table prints
    /// them beside the differences.
    ///
    /// # Units
    /// Metres above the standard port's datum.
    pub fn with_levels(name: impl Into<String>, standard: Water, differences: Differences, levels_m: [f64; 4]) -> Self {
        Self { name: name.into(), standard, differences, levels_m }
    }

    /// The differences.
    pub fn differences(&self) -> &Differences {
        &self.differences
    }

    /// The port's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The standard port.
    pub fn standard(&self) -> &Water {
        &self.standard
    }

    /// Heights are above the secondary port's own chart datum, as its differences are printed.
    pub fn datum(&self) -> &Datum {
        &Datum::ChartDatum
    }

    /// The port's levels: its springs and neaps by its differences, HAT, LAT and the means from 19 years of
    /// its own turning points, where the standard port reaches so far.
    pub(super) fn levels(&self) -> Levels {
        let (from, to) = Levels::years();
        let mut levels = Levels::from_turns(&self.turns(from, to));
        let [mhws, mhwn, mlwn, mlws] = self.levels_m;
        let Differences { high_m, low_m, .. } = self.differences;
        levels.mhws = computed(mhws + high_m.0);
        levels.mhwn = computed(mhwn + high_m.1);
        levels.mlwn = computed(mlwn + low_m.1);
        levels.mlws = computed(mlws + low_m.0);
        levels
    }

    /// The turning point that follows from one of the standard port.
    fn shifted(&self, turn: &Turn) -> Turn {
        let Differences { high_time_min, low_time_min, high_m, low_m } = self.differences;
        let [mhws, mhwn, mlwn, mlws] = self.levels_m;
        let (minutes, metres, springs, neaps) = match turn.kind {
            TurnKind::High => (high_time_min, high_m, mhws, mhwn),
            TurnKind::Low => (low_time_min, low_m, mlws, mlwn),
        };
        let part = if springs == neaps { 0.0 } else { (turn.level_m - springs) / (neaps - springs) };
        let between = |(at_springs, at_neaps): (f64, f64)| at_springs + part * (at_neaps - at_springs);
        let later = SignedDuration::try_from_secs_f64(60.0 * between(minutes)).unwrap_or_default();
        Turn { time: turn.time + later, level_m: turn.level_m + between(metres), ..*turn }
    }

    /// Pairs of standard and secondary turning points around a span, in order of both.
    fn pairs(&self, from: Timestamp, to: Timestamp) -> Vec<(Turn, Turn)> {
        let edge = SignedDuration::from_hours(48);
        let mut out: Vec<(Turn, Turn)> = Vec::new();
        for turn in self.standard.turns(from - edge, to + edge) {
            let moved = self.shifted(&turn);
            // Differences that would overtake each other at a close pair leave the pair out.
            match out.last() {
                Some((_, before)) if moved.time <= before.time => {
                    out.pop();
                }
                _ => out.push((turn, moved)),
            }
        }
        out
    }

    /// Turning points from `from` up to but not including `to`.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        self.pairs(from, to).into_iter().map(|(_, turn)| turn).filter(|turn| turn.time >= from && turn.time < to).collect()
    }

    /// The port's curve over a span.
    pub(super) fn curve(&self, from: Timestamp, to: Timestamp) -> SecondaryCurve<'_> {
        let edge = SignedDuration::from_hours(72);
        let pairs = self.pairs(from, to);
        SecondaryCurve { pairs, standard: Box::new(self.standard.curve(from - edge, to + edge)) }
    }
}

/// A secondary port's curve, ready to be read.
pub(in crate::tide) struct SecondaryCurve<'a> {
    pairs: Vec<(Turn, Turn)>,
    standard: Box<Curve<'a>>,
}

impl SecondaryCurve<'_> {
    /// Height at a number of seconds since J2000.
    pub(super) fn height_m(&self, seconds: f64) -> Option<f64> {
        let after = self.pairs.partition_point(|(_, turn)| seconds_j2000(turn.time) <= seconds);
        let ((a0, a), (b0, b)) = (self.pairs.get(after.checked_sub(1)?)?, self.pairs.get(after)?);
        let (a_s, b_s) = (seconds_j2000(a.time), seconds_j2000(b.time));
        let (a0_s, b0_s) = (seconds_j2000(a0.time), seconds_j2000(b0.time));
        let part = (seconds - a_s) / (b_s - a_s);
        let there = self.standard.height_m(a0_s + part * (b0_s - a0_s))?;
        let share = if a0.level_m == b0.level_m { part } else { (there - a0.level_m) / (b0.level_m - a0.level_m) };
        Some(a.level_m + share * (b.level_m - a.level_m))
    }
}
