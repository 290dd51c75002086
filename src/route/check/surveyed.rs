use crate::earth::Local;
use crate::shore::{Shore, ShorePoint};

/// Levels nearer to each other than this count as one, metres.
const THIN_M: f64 = 2.0;
/// No farther than this may the levels before and behind a place stand across the shore, metres, ...
const ACROSS_M: (f64, f64) = (11.0, 22.0);
/// ... and to its two sides along it: the least and the most that the survey's own steps are held to.
const ALONG_M: (f64, f64) = (19.0, 38.0);
/// How many of the survey's own steps.
const STEPS: f64 = 1.9;

/// The survey as places by the shore: whether a spot lies between levels on all four sides of it.
///
/// Facets are no part of this. Within a strip on both sides of the spot the nearest level landward and the nearest
/// seaward are taken, and how far the two stand apart; within a strip before and behind it the same to its left
/// and right. The spot is known when neither is farther than the survey steps there, and a step is measured at the
/// levels that were found: to the nearest one that lies more across than along, or more along than across.
pub(super) struct Surveyed<'a> {
    shore: &'a Shore,
    /// In order of along, with the steps across and along; infinite where nothing lies that way.
    levels: Vec<(ShorePoint, f64, f64)>,
}

impl<'a> Surveyed<'a> {
    pub(super) fn on_beach(shore: &'a Shore) -> Self {
        let mut places: Vec<ShorePoint> = shore.surveyed().map(|(at, _)| shore.to_shore(at)).collect();
        let square = |p: &ShorePoint| ((p.along_m / THIN_M).floor() as i64, (p.across_m / THIN_M).floor() as i64);
        places.sort_by(|a, b| {
            square(a).cmp(&square(b)).then(a.along_m.total_cmp(&b.along_m)).then(a.across_m.total_cmp(&b.across_m))
        });
        places.dedup_by(|a, b| square(a) == square(b));
        places.sort_by(|a, b| a.along_m.total_cmp(&b.along_m));
        let mut all = Self { shore, levels: places.iter().map(|p| (*p, f64::INFINITY, f64::INFINITY)).collect() };
        let steps: Vec<(f64, f64)> = places
            .iter()
            .map(|p| {
                let mut step = (f64::INFINITY, f64::INFINITY);
                for (q, ..) in all.within(p.along_m, ALONG_M.1) {
                    let (along, across) = ((q.along_m - p.along_m).abs(), (q.across_m - p.across_m).abs());
                    let away = along.hypot(across);
                    if away < 0.5 * THIN_M {
                        continue;
                    }
                    if across >= along { step.0 = away.min(step.0) } else { step.1 = away.min(step.1) }
                }
                step
            })
            .collect();
        all.levels.iter_mut().zip(steps).for_each(|(l, (across, along))| (l.1, l.2) = (across, along));
        all
    }

    /// The levels no farther along than `reach_m`.
    fn within(&self, along_m: f64, reach_m: f64) -> &[(ShorePoint, f64, f64)] {
        let from = self.levels.partition_point(|l| l.0.along_m < along_m - reach_m);
        let to = self.levels.partition_point(|l| l.0.along_m <= along_m + reach_m);
        self.levels.get(from..to).unwrap_or_default()
    }

    /// Whether the survey knows the sand at a place.
    pub(super) fn knows(&self, p: Local) -> bool {
        let here = self.shore.to_shore(p);
        let near = self.within(here.along_m, ALONG_M.1);
        let across = near
            .iter()
            .filter(|l| (l.0.along_m - here.along_m).abs() <= 0.75 * ALONG_M.1)
            .map(|l| (l.0.across_m - here.across_m, l.1));
        let along = near
            .iter()
            .filter(|l| (l.0.across_m - here.across_m).abs() <= 0.75 * ACROSS_M.1)
            .map(|l| (l.0.along_m - here.along_m, l.2));
        between(across, ACROSS_M) && between(along, ALONG_M)
    }
}

/// Whether the nearest level on either side stand near enough to each other.
fn between(levels: impl Iterator<Item = (f64, f64)>, (least_m, most_m): (f64, f64)) -> bool {
    let (mut before, mut behind) = ((f64::INFINITY, 0.0_f64), (f64::INFINITY, 0.0_f64));
    for (away_m, step_m) in levels {
        if away_m <= 0.0 && -away_m < before.0 {
            before = (-away_m, step_m);
        }
        if away_m >= 0.0 && away_m < behind.0 {
            behind = (away_m, step_m);
        }
    }
    before.0 + behind.0 <= (STEPS * before.1.max(behind.1)).clamp(least_m, most_m)
}
