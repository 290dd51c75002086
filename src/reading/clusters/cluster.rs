use geo::{Area, BoundingRect, Contains, ConvexHull};
use geo_types::{Coord, MultiPoint, Polygon};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::dbscan::dbscan;
use super::hdbscan::hdbscan;
use crate::Progress;
use crate::book::Uid;
use crate::earth::{Local, LonLat};
use crate::reading::error::ReadingError;
use crate::reading::exposure::Exposure;
use crate::reading::given::{
    Counts, Ground, KindCount, LevelRange, Placed, PlacedFinds, WeightChoice, kinds_of, level_range, main_band, outings_of,
};
use crate::reading::params::{ClusterBy, Params};
use crate::reading::rates::{Part, Rate};
use crate::shore::{Shore, ShorePoint};

/// Finds that lie near to each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cluster {
    /// Which finds it was read from.
    pub of: WeightChoice,
    /// Its number among the clusters of those finds, largest first, from 1.
    pub number: usize,
    /// The finds in it, in order of uid.
    pub uids: Vec<Uid>,
    /// How many, by weight.
    #[serde(flatten)]
    pub counts: Counts,
    /// What they are, most frequent first.
    pub kinds: Vec<KindCount>,
    /// Mean position.
    pub centre: LonLat,
    /// Mean position by the shore, if the beach has a baseline.
    pub shore: Option<ShorePoint>,
    /// Outline, anticlockwise, the first position repeated; a metre wide where the finds span no area.
    pub hull: Vec<LonLat>,
    /// Size of the outline, m².
    pub area_m2: f64,
    /// Levels of the sand at its finds, where known.
    pub level: Option<LevelRange>,
    /// The band most of its finds lie in.
    pub band: Option<String>,
    /// Share of its finds that lie in that band, 0 to 1.
    pub band_share: Option<f64>,
    /// Time of its first find.
    pub first: Option<Timestamp>,
    /// Time of its last find.
    pub last: Option<Timestamp>,
    /// On how many outings its finds were made.
    pub outings: usize,
    /// Ground swept within its outline, m²; `None` when no tracks show any.
    #[serde(default)]
    pub swept_m2: Option<f64>,
    /// Its finds per 100 m² of a visit to rested ground within its outline; as that is drawn round them, rather too many.
    #[serde(default)]
    pub rate: Option<Rate>,
    /// What would make it surer.
    #[serde(default)]
    pub surer: String,
}

/// How one set of finds was clustered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ClusterRun {
    /// Which finds.
    pub of: WeightChoice,
    /// In which way.
    pub by: ClusterBy,
    /// How many they were.
    pub finds: usize,
    /// The distance within which finds belonged together, metres; with HDBSCAN* the longest step that held a
    /// cluster together.
    pub distance_m: f64,
    /// How many clusters came out.
    pub clusters: usize,
    /// How many finds lie in none.
    pub scattered: usize,
}

/// The shortest distance taken on its own account: a receiver is out by 2 to 4 m (common practice,
/// no published source), so that nearer than this nothing can be told apart.
const LEAST_DISTANCE_M: f64 = 4.0;
const MOST_DISTANCE_M: f64 = 30.0;

/// The mean count at which a Poisson variable reaches `least` in one case of a hundred.
fn rare_mean(least: usize) -> f64 {
    let more_than_rare = |mean: f64| {
        let (mut term, mut below) = ((-mean).exp(), 0.0);
        for k in 0..least {
            below += term;
            term *= mean / (k + 1) as f64;
        }
        1.0 - below > 0.01
    };
    let (mut low, mut high) = (0.0, least as f64);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if more_than_rare(mid) { high = mid } else { low = mid }
    }
    low
}

fn hull_of(points: &[Local]) -> Polygon<f64> {
    MultiPoint::from(points.iter().map(|p| Coord::from(*p)).collect::<Vec<_>>()).convex_hull()
}

/// The cluster distance that suits finds strewn evenly over the hull of all of them.
fn distance_for(points: &[Local], core: usize) -> f64 {
    let area_m2 = hull_of(points).unsigned_area();
    let per_m2 = points.len() as f64 / area_m2.max(1.0);
    (rare_mean(core - 1) / (std::f64::consts::PI * per_m2)).sqrt().clamp(LEAST_DISTANCE_M, MOST_DISTANCE_M)
}

/// The squares whose middle lies within an outline.
fn squares_in(hull: &Polygon<f64>, shore: &Shore, exposure: &Exposure) -> Vec<usize> {
    let visits = exposure.visits;
    let by_shore = |c: &Coord<f64>| {
        let s = shore.to_shore((*c).into());
        Coord { x: s.along_m, y: s.across_m }
    };
    let outline = Polygon::new(hull.exterior().0.iter().map(by_shore).collect(), Vec::new());
    let Some(bounds) = outline.bounding_rect() else { return Vec::new() };
    let middle = ShorePoint::new(bounds.center().x, bounds.center().y);
    let near = visits.squares_near(middle, 0.5 * bounds.width(), 0.5 * bounds.height());
    let inside = near.filter(|n| {
        let s = visits.middle(*n);
        outline.contains(&Coord { x: s.along_m, y: s.across_m })
    });
    inside.collect()
}

/// Clusters of all finds, of the heavy and of the light ones, largest first.
pub(in crate::reading) fn clusters(
    ground: &Ground,
    laid: &PlacedFinds,
    exposure: Option<&Exposure>,
    params: &Params,
    progress: &Progress,
) -> Result<(Vec<ClusterRun>, Vec<Cluster>), ReadingError> {
    let (mut runs, mut clusters) = (Vec::new(), Vec::new());
    for of in WeightChoice::ALL {
        let all = laid.finds.iter().enumerate();
        let chosen: Vec<(usize, &Placed)> = all.filter(|(_, f)| of.takes(f.weight) && !f.pinned).collect();
        if chosen.len() < params.least_finds.max(params.cluster_points) {
            continue;
        }
        let places: Vec<Local> = chosen.iter().map(|(_, f)| f.at).collect();
        let points: Vec<[f64; 2]> = places.iter().map(|p| [p.east_m, p.north_m]).collect();
        let by = params.cluster_by;
        let (labels, count, distance_m) = match by {
            ClusterBy::Dbscan => {
                let distance_m = params.cluster_distance_m.unwrap_or_else(|| distance_for(&places, params.cluster_points));
                let found = dbscan(&points, distance_m, params.cluster_points, progress)?;
                (found.labels, found.clusters, distance_m)
            }
            ClusterBy::Hdbscan => {
                let found = hdbscan(&points, params.cluster_points, params.cluster_points, progress)?;
                (found.labels, found.clusters, found.longest_step_m)
            }
        };
        let mut members: Vec<Vec<(usize, &Placed)>> = vec![Vec::new(); count];
        for (find, label) in chosen.iter().zip(&labels) {
            if let Some(label) = label {
                members[*label as usize].push(*find);
            }
        }
        let scattered = labels.iter().filter(|l| l.is_none()).count();
        runs.push(ClusterRun { of, by, finds: chosen.len(), distance_m, clusters: members.len(), scattered });
        members.sort_by_key(|m| std::cmp::Reverse(m.len()));
        for (n, members) in members.into_iter().enumerate() {
            clusters.push(describe(ground, laid, exposure, of, n + 1, &members)?);
        }
    }
    Ok((runs, clusters))
}

fn describe(
    ground: &Ground,
    laid: &PlacedFinds,
    exposure: Option<&Exposure>,
    of: WeightChoice,
    number: usize,
    numbered: &[(usize, &Placed)],
) -> Result<Cluster, ReadingError> {
    let members: &Vec<&Placed> = &numbered.iter().map(|(_, f)| *f).collect();
    let points: Vec<Local> = members.iter().map(|f| f.at).collect();
    let n = points.len() as f64;
    let centre = points.iter().fold(Local::default(), |c, p| Local::new(c.east_m + p.east_m / n, c.north_m + p.north_m / n));
    let mut hull = hull_of(&points);
    if hull.unsigned_area() < 1.0 {
        let round = |p: &Local, k: u8| {
            let (sin, cos) = (f64::from(k) * std::f64::consts::FRAC_PI_4).sin_cos();
            Local::new(p.east_m + 0.5 * cos, p.north_m + 0.5 * sin)
        };
        hull = hull_of(&points.iter().flat_map(|p| (0..8).map(move |k| round(p, k))).collect::<Vec<_>>());
    }
    let outline = hull.exterior().0.iter().map(|c| laid.frame.to_lonlat((*c).into())).collect::<Result<_, _>>()?;
    let (band, band_share) = main_band(ground, members);
    let times = || members.iter().filter_map(|f| f.time);
    let squares = ground.shore().zip(exposure).map(|(shore, exposure)| (exposure, squares_in(&hull, shore, exposure)));
    let swept_m2 = squares.as_ref().map(|(e, squares)| squares.iter().map(|n| e.visits.swept_m2(*n)).sum());
    let rate = squares.and_then(|(exposure, squares)| {
        let by_outing = exposure.by_outing(squares.into_iter());
        Part::of_finds(exposure, &by_outing, numbered.iter().copied()).rate(of)
    });
    Ok(Cluster {
        of,
        number,
        uids: members.iter().map(|f| f.uid).collect(),
        counts: Counts::tally(members.iter().copied()),
        kinds: kinds_of(members),
        centre: laid.frame.to_lonlat(centre)?,
        shore: ground.shore().map(|s| s.to_shore(centre)),
        hull: outline,
        area_m2: hull.unsigned_area(),
        level: level_range(members),
        band,
        band_share,
        first: times().min(),
        last: times().max(),
        outings: outings_of(members),
        rate,
        swept_m2,
        surer: String::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: `poisson.sf(k - 1, mean)` is 0.01 at these means (solved by `brentq`).
    #[test]
    fn chance_cores_are_one_in_a_hundred() {
        assert!((rare_mean(5) - 1.279_106).abs() < 1e-5, "{}", rare_mean(5));
        assert!((rare_mean(1) - 0.010_050).abs() < 1e-5, "{}", rare_mean(1));
    }
}
