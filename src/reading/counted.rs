//! Counts and rates, before any pattern is sought.

use super::error::ReadingError;
use super::exposure::{Apart, Exposed, KnownGround, Outings};
use super::given::{Counts, Ground, Pinned, PlacedFinds};
use super::outcome::Reading;
use super::params::Params;
use super::rates::{
    Differ, Part, Yield, bands, cells, few_for_forecasts, forecasts, fresh_again, kinds, read_undug, storms, tides,
    without_minute, zones,
};
use crate::Progress;
use crate::book::Uid;

/// Counts and rates, and what patterns are then sought in.
pub struct Counted {
    /// A reading in which no pattern has been sought yet, so that clusters, scans, spots, lines and zones where people
    /// drop things are empty and what it takes to tell them is not said.
    pub reading: Reading,
    pub(super) laid: PlacedFinds,
    pub(super) exposed: Option<Exposed>,
    /// Finds outside every zone.
    pub(super) outside_zones: usize,
}

impl Counted {
    /// The finds in each band of the setting, in order of uid.
    pub fn finds_by_band(&self, bands: usize) -> Vec<Vec<Uid>> {
        let mut by_band = vec![Vec::new(); bands];
        for find in &self.laid.finds {
            if let Some(own) = find.band.and_then(|n| by_band.get_mut(n)) {
                own.push(find.uid);
            }
        }
        by_band
    }
}

/// The share of the work of a whole reading that counts and rates are.
pub(super) const COUNTED_SHARE: f64 = 0.2;

/// Tells counts and rates; `known` must be what stands on this very ground.
///
/// # Errors
/// As [`read`](super::read).
pub fn count(
    ground: &Ground,
    known: Option<&KnownGround>,
    params: &Params,
    progress: &Progress,
) -> Result<Counted, ReadingError> {
    params.check()?;
    progress.set(0.0);
    let ground = &known.map_or(*ground, |known| known.told_apart(ground));
    let laid = ground.lay()?;
    progress.check()?;
    progress.set(0.25 * COUNTED_SHARE);
    let visits = ground.covered.zip(known).map(|(covered, known)| known.visits(covered));
    let exposed = visits.as_ref().zip(known).and_then(|(visits, known)| Exposed::new(ground, &laid, visits, known, params));
    progress.check()?;
    progress.set(0.5 * COUNTED_SHARE);
    let exposure = visits.as_ref().zip(exposed.as_ref()).map(|(visits, exposed)| exposed.beside(visits));
    let outings = Outings::new(ground, &laid, exposure.as_ref());
    let (reading, outside_zones) = rates(ground, &laid, &outings, params)?;
    progress.check()?;
    progress.set(COUNTED_SHARE);
    Ok(Counted { reading, laid, exposed, outside_zones })
}

/// Counts and rates, without any pattern, and how many finds lie outside every zone.
fn rates(ground: &Ground, laid: &PlacedFinds, outings: &Outings, params: &Params) -> Result<(Reading, usize), ReadingError> {
    let (zones, outside) = zones(ground, laid, outings, params)?;
    let counts = Counts::tally(&laid.finds);
    let area_m2 = ground.shore().map(|s| s.area_m2());
    let exposure = outings.exposure;
    let part = exposure.map(|e| Part::new(e, &e.by_outing(0..e.visits.squares()), laid, |_, _| true));
    let swept_m2 = ground.covered.map(|c| c.swept_m2());
    // Some go through millions of visits one after the other, so that others can go on beside them.
    let (fresh, ((cells, cell_rates), ((storms, tides), (undug, (bands, kinds))))) = rayon::join(
        || fresh_again(ground, outings, params),
        || {
            rayon::join(
                || cells(ground, laid, exposure, params),
                || {
                    rayon::join(
                        || rayon::join(|| storms(ground, laid, outings, params), || tides(ground, laid, outings, params)),
                        || {
                            rayon::join(
                                || read_undug(ground, &laid.frame),
                                || rayon::join(|| bands(ground, laid, outings, params), || kinds(laid, outings)),
                            )
                        },
                    )
                },
            )
        },
    );
    let forecasts = cell_rates.as_ref().and_then(|rates| forecasts(rates, outings));
    let whole = Yield::new("of this beach", counts, area_m2, swept_m2, part.as_ref(), params).with_signals(laid.signals.len());
    let mut notes = notes(ground, laid, params);
    if cell_rates.is_some() && forecasts.is_none() {
        notes.push(few_for_forecasts(outings));
    }
    if !tides.is_empty() {
        notes.extend(said_of(
            without_minute(laid, outings),
            "is known by its day alone and is left out of the rates by state of the tide, with its share of the ground of its outing",
            "are known by their day alone and are left out of the rates by state of the tide, with their share of the ground of their \
             outings",
        ));
    }
    let reading = Reading {
        beach: ground.setting.beach.name.clone(),
        params: params.clone(),
        notes,
        whole,
        cluster_runs: Vec::new(),
        clusters: Vec::new(),
        apart: exposure.map_or_else(Apart::default, |e| e.apart),
        pinned: Pinned::told(laid)?,
        renewal: exposure.map(|e| e.renewal),
        scan_runs: Vec::new(),
        hot_spots: Vec::new(),
        to_tell: Vec::new(),
        not_sought: Vec::new(),
        drop_zones: Vec::new(),
        scour_lines: Vec::new(),
        bands,
        zones,
        kinds,
        cells,
        differ: cell_rates.as_ref().map(Differ::among),
        forecasts,
        fresh,
        tides,
        undug,
        storms,
    };
    Ok((reading, outside))
}

/// So many finds, as a sentence; `None` of none.
pub(super) fn said_of(what: usize, one: &str, many: &str) -> Option<String> {
    match what {
        0 => None,
        1 => Some(format!("1 find {one}.")),
        n => Some(format!("{n} finds {many}.")),
    }
}

/// Tracks without any time say where one went but not when, nor what was walked and what searched.
fn timeless(ground: &Ground) -> Option<String> {
    let is_timeless = |t: &&crate::book::Track| t.points().next().is_some() && t.points().all(|p| p.time().is_none());
    let tracks = ground.book.tracks_of(ground.setting.beach.uid).filter(is_timeless).count();
    let (has, is) = if tracks == 1 { ("track has", "it is") } else { ("tracks have", "they are") };
    (tracks > 0).then(|| {
        format!(
            "{tracks} {has} no times: {is} taken as searched from end to end, and left out of the rates by state of the tide."
        )
    })
}

fn notes(ground: &Ground, laid: &PlacedFinds, params: &Params) -> Vec<String> {
    let finds = &laid.finds;
    let mut notes = ground.setting.warnings.clone();
    if finds.len() < params.least_finds {
        notes.push(format!(
            "Not enough finds for a pattern yet: {} of at least {} ({} needed more).",
            finds.len(),
            params.least_finds,
            params.least_finds - finds.len()
        ));
    }
    if ground.covered.is_none() {
        notes.push(
            "No tracks show which ground was covered, so there are no rates: densities say where one walked as much as where things lie."
                .to_owned(),
        );
    }
    notes.extend(said_of(
        laid.too_far,
        "lies too far from the beach and is left out",
        "lie too far from the beach and are left out",
    ));
    notes.extend(said_of(
        laid.repeated,
        "repeats another (same kind, time and place) and is counted once",
        "repeat others (same kind, time and place) and are counted once",
    ));
    if let Some(now) = ground.now {
        let future = finds.iter().filter(|f| f.time.is_some_and(|t| t > now)).count();
        notes.extend(said_of(future, "is dated in the future", "are dated in the future"));
    }
    if finds.len() > 1 && finds.iter().all(|f| f.at.distance_m(finds[0].at) < 0.01) {
        notes.push("All finds have one and the same position; no pattern can be read from that.".to_owned());
    }
    notes.extend(timeless(ground));
    if !ground.setting.bands.is_empty() {
        let off = finds.iter().filter(|f| f.band.is_none()).count();
        notes.extend(said_of(
            off,
            "lies off the surveyed sand and belongs to no band",
            "lie off the surveyed sand and belong to no band",
        ));
    }
    notes
}
