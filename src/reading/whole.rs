use serde::{Deserialize, Serialize};

use super::band::{bands, zones};
use super::cluster::clusters;
use super::ground::Laid;
use super::{BandReading, Cluster, ClusterRun, Counts, Ground, Params, ReadingError, Yield, ZoneReading};
use crate::Progress;

/// All that was read from one beach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Name of the beach.
    pub beach: String,
    /// The settings it was made with.
    pub params: Params,
    /// What the reader ought to know: what is missing, left out or too little. One sentence each.
    pub notes: Vec<String>,
    /// Finds of the whole beach and their rates.
    pub whole: Yield,
    /// How the finds were clustered.
    pub cluster_runs: Vec<ClusterRun>,
    /// Clusters of all finds, then of the heavy, then of the light ones; largest first.
    pub clusters: Vec<Cluster>,
    /// What each band gave, from the highest down.
    pub bands: Vec<BandReading>,
    /// What each zone gave, in order of name.
    pub zones: Vec<ZoneReading>,
}

/// Reads a beach.
///
/// # Errors
/// [`ReadingError::Parameter`] when a setting cannot be, [`ReadingError::Cancelled`] when called off.
pub fn read(ground: &Ground, params: &Params, progress: &Progress) -> Result<Reading, ReadingError> {
    params.check()?;
    progress.set(0.0);
    let laid = ground.lay()?;
    progress.check()?;
    progress.set(0.1);
    let (cluster_runs, clusters) = clusters(ground, &laid, params, progress)?;
    progress.set(0.3);
    let bands = bands(ground, &laid, params);
    let zones = zones(ground, &laid, params)?;
    progress.check()?;
    let counts = Counts::of(&laid.finds);
    let area_m2 = ground.shore().map(|s| s.area_m2());
    let whole = Yield::new("of this beach", counts, area_m2, ground.covered.map(|c| c.swept_m2()), params);
    let notes = notes(ground, &laid, params);
    progress.set(1.0);
    Ok(Reading {
        beach: ground.setting.beach.name.clone(),
        params: params.clone(),
        notes,
        whole,
        cluster_runs,
        clusters,
        bands,
        zones,
    })
}

fn notes(ground: &Ground, laid: &Laid, params: &Params) -> Vec<String> {
    let finds = &laid.finds;
    let count = |what: usize, one: &str, many: &str| match what {
        0 => None,
        1 => Some(format!("1 find {one}.")),
        n => Some(format!("{n} finds {many}.")),
    };
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
    notes.extend(count(
        laid.too_far,
        "lies too far from the beach and is left out",
        "lie too far from the beach and are left out",
    ));
    notes.extend(count(
        laid.repeated,
        "repeats another (same kind, time and place) and is counted once",
        "repeat others (same kind, time and place) and are counted once",
    ));
    if let Some(now) = ground.now {
        let future = finds.iter().filter(|f| f.time.is_some_and(|t| t > now)).count();
        notes.extend(count(future, "is dated in the future", "are dated in the future"));
    }
    if finds.len() > 1 && finds.iter().all(|f| f.at.distance_m(finds[0].at) < 0.01) {
        notes.push("All finds have one and the same position; no pattern can be read from that.".to_owned());
    }
    if !ground.setting.bands.is_empty() {
        let off = finds.iter().filter(|f| f.band.is_none()).count();
        notes.extend(count(
            off,
            "lies off the surveyed sand and belongs to no band",
            "lie off the surveyed sand and belong to no band",
        ));
    }
    notes
}
