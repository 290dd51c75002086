use jiff::Timestamp;

use super::predictor::Predictor;
use super::turns::{Turn, TurnKind};
use super::{Datum, Station, TideError};

/// Where a level's figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// From the station's published datums ([`Station::datums_from`] says how they came about).
    Published,
    /// Computed here from the prediction.
    Computed,
}

/// One level of the tide above the source's datum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Metres above the source's datum.
    pub m: f64,
    /// Where the figure comes from.
    pub origin: Origin,
    /// What the prediction gives, metres, so that a published figure can be seen beside it.
    pub computed_m: Option<f64>,
}

/// The levels that hydrographic offices define, above one datum. `None` where there is no figure.
///
/// Published figures win over computed ones. Computed: HAT and LAT are the highest and lowest turning
/// points of the 19 years 2007 to 2025; MHW, MLW, MHHW and MLLW the means over them (a day being a
/// lunar day of 24.84 h); MHWS = Z0 + (M2 + S2), MHWN = Z0 + |M2 − S2| and the lows likewise below (the
/// Admiralty's approximation), given only where the tide is mainly semidiurnal:
/// (K1 + O1) / (M2 + S2) < 1.5.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Levels {
    /// Highest astronomical tide.
    pub hat: Option<Level>,
    /// Mean high water springs.
    pub mhws: Option<Level>,
    /// Mean higher high water.
    pub mhhw: Option<Level>,
    /// Mean high water.
    pub mhw: Option<Level>,
    /// Mean high water neaps.
    pub mhwn: Option<Level>,
    /// Mean sea level.
    pub msl: Option<Level>,
    /// Mean low water neaps.
    pub mlwn: Option<Level>,
    /// Mean low water.
    pub mlw: Option<Level>,
    /// Mean lower low water.
    pub mllw: Option<Level>,
    /// Mean low water springs.
    pub mlws: Option<Level>,
    /// Lowest astronomical tide.
    pub lat: Option<Level>,
}

/// A lunar day, seconds.
const LUNAR_DAY_S: f64 = 89_428.3;
/// 2007-01-01 and 2026-01-01: 19 whole years, a little more than one turn of the moon's node.
const YEARS: (i64, i64) = (1_167_609_600, 1_767_225_600);

impl Levels {
    /// A station's levels above `datum`.
    ///
    /// Predicts 19 years, so it takes some tens of milliseconds: not for a drawing thread.
    ///
    /// # Errors
    /// As [`Predictor::new`].
    pub fn from_station(station: &Station, datum: &Datum) -> Result<Self, TideError> {
        let predictor = Predictor::new(station, datum)?;
        let mut levels = Self::computed(&predictor);
        for (known, slot) in levels.slots() {
            if let Some(m) = station.above_m(&known, datum) {
                *slot = Some(Level { m, origin: Origin::Published, computed_m: slot.map(|level| level.m) });
            }
        }
        Ok(levels)
    }

    /// Levels from the prediction alone.
    pub fn computed(predictor: &Predictor) -> Self {
        let (from, to) = Self::years();
        let mut levels = Self::from_turns(&predictor.turns(from, to));
        let z0 = predictor.mean_m();
        levels.msl = computed(z0);
        let [m2, s2, k1, o1] = ["M2", "S2", "K1", "O1"].map(|name| predictor.amplitude_m(name));
        if m2 + s2 > 0.0 && (k1 + o1) / (m2 + s2) < 1.5 {
            levels.mhws = computed(z0 + m2 + s2);
            levels.mlws = computed(z0 - m2 - s2);
            levels.mhwn = computed(z0 + (m2 - s2).abs());
            levels.mlwn = computed(z0 - (m2 - s2).abs());
        }
        levels
    }

    /// The 19 years that computed levels are taken from.
    pub(super) fn years() -> (Timestamp, Timestamp) {
        let at = |s| Timestamp::from_second(s).unwrap_or_default();
        (at(YEARS.0), at(YEARS.1))
    }

    /// HAT, LAT and the means of high and low waters from a run of turning points; nothing from less than
    /// a day of them.
    pub(super) fn from_turns(turns: &[Turn]) -> Self {
        let of = |kind: TurnKind| turns.iter().filter(move |turn| turn.kind == kind).map(|turn| turn.level_m);
        let best = |kind: TurnKind| of(kind).reduce(|a, b| further(kind, a, b)).and_then(computed);
        Self {
            hat: best(TurnKind::High),
            lat: best(TurnKind::Low),
            mhw: mean(of(TurnKind::High)),
            mlw: mean(of(TurnKind::Low)),
            mhhw: mean_of_days(turns, TurnKind::High),
            mllw: mean_of_days(turns, TurnKind::Low),
            ..Self::default()
        }
    }

    /// Each level with its name, from the highest by definition down.
    pub fn iter(&self) -> impl Iterator<Item = (Datum, Level)> {
        let mut all = *self;
        let found: Vec<(Datum, Level)> = all.slots().into_iter().filter_map(|(datum, slot)| Some((datum, (*slot)?))).collect();
        found.into_iter()
    }

    fn slots(&mut self) -> [(Datum, &mut Option<Level>); 11] {
        [
            (Datum::Hat, &mut self.hat),
            (Datum::Mhws, &mut self.mhws),
            (Datum::Mhhw, &mut self.mhhw),
            (Datum::Mhw, &mut self.mhw),
            (Datum::Mhwn, &mut self.mhwn),
            (Datum::Msl, &mut self.msl),
            (Datum::Mlwn, &mut self.mlwn),
            (Datum::Mlw, &mut self.mlw),
            (Datum::Mllw, &mut self.mllw),
            (Datum::Mlws, &mut self.mlws),
            (Datum::Lat, &mut self.lat),
        ]
    }
}

/// A figure rounded for print, metres to the millimetre and the like, so that none pretends to more; never
/// minus zero.
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let k = 10f64.powi(decimals);
    (value * k).round() / k + 0.0
}

/// To whole figures as they are printed, never "-0".
pub fn whole(value: f64) -> f64 {
    rounded(value, 0)
}

pub(super) fn computed(m: f64) -> Option<Level> {
    Some(Level { m, origin: Origin::Computed, computed_m: Some(m) })
}

/// The higher of two highs or the lower of two lows.
fn further(kind: TurnKind, a: f64, b: f64) -> f64 {
    match kind {
        TurnKind::High => a.max(b),
        TurnKind::Low => a.min(b),
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<Level> {
    let (n, sum) = values.fold((0_u32, 0.0), |(n, sum), v| (n + 1, sum + v));
    if n == 0 { None } else { computed(sum / f64::from(n)) }
}

/// Mean over lunar days of each day's highest high or lowest low.
fn mean_of_days(turns: &[Turn], kind: TurnKind) -> Option<Level> {
    let start = turns.first()?.time;
    let mut days: Vec<(i64, f64)> = Vec::new();
    for turn in turns.iter().filter(|turn| turn.kind == kind) {
        let day = (turn.time.duration_since(start).as_secs_f64() / LUNAR_DAY_S).floor() as i64;
        match days.last_mut() {
            Some((same, level)) if *same == day => *level = further(kind, *level, turn.level_m),
            _ => days.push((day, turn.level_m)),
        }
    }
    mean(days.into_iter().map(|(_, level)| level))
}

#[cfg(test)]
mod tests {
    use super::whole;

    #[test]
    fn no_whole_figure_is_minus_nothing() {
        assert_eq!([-0.4, -0.0, 0.4, -0.6, 12.5].map(|m| format!("{:.0}", whole(m))), ["0", "0", "0", "-1", "13"]);
    }
}
