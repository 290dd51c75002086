//! A person's own tracks and finds as witnesses of where the water stood.
//!
//! *Dry* ones were on foot at a known minute: the sand stood above the water then. They tell of water believed too
//! high, or sand too low. *Wet* ones are the limits of a search that moved with the water: walks along the edge, lanes
//! that turn at it, finds noted "in the wash". They tell of the fatal case, sand believed too high or water too low or
//! too late: the program calls ground dry that nobody ever came near.
//!
//! One outing is one witness. Of each the lowest sand reached is taken spell by spell ([`Params::spell_s`]) and two
//! accounts of it are compared: a limit that follows the believed water, shifted by some level and some time; and a
//! limit that the water has nothing to do with, at one level or moving evenly, so long as nobody stood in the shifted
//! water. Where the first is not clearly better the outing is silent but for that last condition. The log likelihoods of
//! all outings over the same shifts are added; how much the best shift is better than none at all (people keeping
//! as far from the water as is usual, the water within some minutes of its time) is what they say against the inputs.
//! Receiver, slope, survey, the weather of each day, swash and wading are allowed for. Stretches that the person
//! marked as waded, not on foot, not their own or kept clear of the water are left out. An outing that followed a plan
//! of the book says nothing by its limit, as that is the plan's; that it stood on the sand it still says.
//!
//! Who always keeps further from the water than people do, by one and the same measure of level, cannot be told
//! from water that stands higher than believed. That asks, and one mark answers.

mod changes;
mod curve;
mod doubts;
mod followed;
mod hear;
mod params;
mod shifts;
mod surface;
mod testimony;
mod visit;
mod wall;
mod wash;

use std::sync::Arc;

use jiff::Timestamp;

use self::visit::{Visit, visits};
pub use params::Params;
pub use testimony::{Change, Dry, Finding, Heard, Reconciling, Shift, Testimony, Wet};
pub use wash::{InWash, in_wash};

use crate::book::part::part;
use crate::effort::{EffortError, EffortTables};
use crate::sea::USUAL_RUN_UP_M;
use crate::shore::{Setting, Shore};
use crate::tide::{Catalogue, Datum, Water};
use crate::{Cancelled, Progress};

part! {
    /// What witnesses are heard from.
    pub struct WitnessTables: outings, setups, tracks, plans;
    holds EffortTables: outings, setups, tracks;
}

impl WitnessTables {
    /// Whether the person set this moment of an outing aside, seconds since 1970.
    fn is_aside(&self, outing: Option<crate::book::Uid>, time_s: f64) -> bool {
        let outing = outing.and_then(|o| self.outings().get(&o));
        outing.is_some_and(|o| o.asides.iter().any(|a| a.holds(time_s)))
    }
}

/// Stations tried in place of the beach's own: so many, ...
const OTHERS: usize = 4;
/// ... within so many metres.
const OTHERS_WITHIN_M: f64 = 150_000.0;

/// The visits to a beach on its sand as surveyed, whatever the water.
pub struct Witnesses {
    shore: Arc<Shore>,
    visits: Vec<Visit>,
    /// Outings of which the person set something aside.
    set_aside: usize,
}

/// Another station that the beach's tide might be that of.
#[derive(Debug, Clone)]
pub struct Other {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its water.
    pub water: Water,
    /// To be added to its levels, so that its mean is that of the believed water, metres.
    pub add_m: f64,
}

/// What the witnesses are held against.
#[derive(Debug, Clone, Copy)]
pub struct Believed<'a> {
    /// The water.
    pub water: &'a Water,
    /// Its mean level, metres above its datum, where it is known.
    pub mean_m: Option<f64>,
    /// Tide level = land level + this, metres.
    pub offset_m: f64,
    /// What waves run up the sand, metres.
    pub run_up_m: f64,
    /// Level of the sand at the baseline, metres above the land datum, where the sand is taken as an even slope.
    pub even_from_m: Option<f64>,
    /// Stations that might be the right one.
    pub others: &'a [Other],
}

impl Witnesses {
    /// Lays the visits of a beach on its sand. Nothing of the water or the datum offset enters.
    ///
    /// # Errors
    /// When a find lies too far off to belong to the beach.
    pub fn gather(
        tables: &WitnessTables,
        in_wash: &[InWash],
        setting: &Setting,
        shore: &Arc<Shore>,
        params: &Params,
    ) -> Result<Self, EffortError> {
        let here = |o: &&crate::book::Outing| o.beach == setting.beach.uid && !o.asides.is_empty();
        let set_aside = tables.outings().values().filter(here).count();
        Ok(Self { shore: Arc::clone(shore), visits: visits(tables, in_wash, shore, &setting.beach, params)?, set_aside })
    }

    /// What they say of the water.
    ///
    /// # Errors
    /// [`Cancelled`] when the work was called off.
    pub fn hear(&self, believed: &Believed<'_>, params: &Params, progress: &Progress) -> Result<Heard, Cancelled> {
        hear::hear(self, believed, params, progress)
    }
}

/// What the tracks of a beach, and its finds noted at the water's edge, say of its water and sand; `None` where it has no shape, no water or no offset
/// for them to speak of.
///
/// # Errors
/// When the beach's settings cannot be, or the work was called off.
pub fn heard(
    tables: &WitnessTables,
    in_wash: &[InWash],
    setting: &Setting,
    params: &Params,
    progress: &Progress,
) -> Result<Option<Heard>, EffortError> {
    let (Ok(shore), Some(water), Some(offset_m)) = (&setting.shore, &setting.water, setting.beach.datum_offset_m) else {
        return Ok(None);
    };
    let witnesses = Witnesses::gather(tables, in_wash, setting, shore, params)?;
    progress.check()?;
    let first_s = witnesses.visits.iter().map(|v| v.span_s().0).fold(f64::INFINITY, f64::min);
    let mean_m = Timestamp::from_second(first_s as i64).ok().and_then(|from| mean_level_m(water, from));
    let others = mean_m.map(|m| other_stations(setting, m)).unwrap_or_default();
    let even_from_m = setting.beach.back_level_m.filter(|_| !shore.is_surveyed());
    let believed = Believed {
        water,
        mean_m,
        offset_m,
        run_up_m: setting.sea.typed_m.unwrap_or(USUAL_RUN_UP_M),
        even_from_m,
        others: &others,
    };
    Ok(Some(witnesses.hear(&believed, params, progress)?))
}

/// Mean level of a water over a month from a moment on, metres above its datum.
pub fn mean_level_m(water: &Water, from: Timestamp) -> Option<f64> {
    // 29.53 days hold springs and neaps twice, and whole tides of both kinds to within an hour.
    let levels: Vec<f64> = water.heights(from, 3600.0, 709).into_iter().flatten().collect();
    (levels.len() > 24).then(|| levels.iter().sum::<f64>() / levels.len() as f64)
}

/// Stations near a beach that are not its own, each on the mean level of the believed water.
pub fn other_stations(setting: &Setting, mean_m: f64) -> Vec<Other> {
    let own = setting.water.as_ref().and_then(Water::station).map(|s| s.id.clone());
    let near = Catalogue::shipped().nearest(setting.beach.origin, OTHERS + 1);
    let of = |(station, away_m): (&crate::tide::Station, f64)| {
        let other = away_m <= OTHERS_WITHIN_M && own.as_ref() != Some(&station.id);
        let water = Water::of_station(station, Datum::Msl).ok().filter(|_| other)?;
        Some(Other { id: station.id.clone(), name: station.name.clone(), water, add_m: mean_m })
    };
    near.into_iter().filter_map(of).take(OTHERS).collect()
}
