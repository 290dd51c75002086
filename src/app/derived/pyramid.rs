use super::DrawnPoint;

/// A track prepared for drawing: every fix once, and ever coarser choices among the fixes.
///
/// Each coarser level keeps the fixes that Douglas and Peucker (1973) keep at twice the tolerance
/// of the level before, so the drawn line is never further from the track than the tolerance.
/// Building is O(n log n) for ordinary tracks; drawing touches only the level and the stretches
/// that are in view. A run of fewer than two fixes draws nothing.
#[derive(Debug, Clone, Default)]
pub(crate) struct Pyramid {
    /// The fixes as the beach lies, and straightened.
    spots: [Vec<DrawnPoint>; 2],
    levels: Vec<Level>,
}

#[derive(Debug, Clone, Default)]
struct Level {
    tolerance_m: f32,
    stretches: Vec<Stretch>,
}

/// A piece of line short enough to be left out when it is off the screen.
#[derive(Debug, Clone)]
struct Stretch {
    indices: Vec<u32>,
    /// Lower and upper corner in each lay.
    bounds: [(DrawnPoint, DrawnPoint); 2],
}

/// Fixes in one stretch, at most.
const STRETCH: usize = 256;
/// Tolerance of the first coarser level, metres.
const FINEST_M: f32 = 0.25;

impl Pyramid {
    /// Prepares runs of fixes, each given in both lays: `[as it lies, straight]`.
    pub(crate) fn build(runs: &[Vec<[DrawnPoint; 2]>]) -> Self {
        let mut spots = [Vec::new(), Vec::new()];
        let mut lines: Vec<Vec<u32>> = Vec::new();
        for run in runs {
            let first = spots[0].len() as u32;
            for both in run {
                spots[0].push(both[0]);
                spots[1].push(both[1]);
            }
            if run.len() > 1 {
                lines.push((first..first + run.len() as u32).collect());
            }
        }
        let mut levels = vec![Level::cut(0.0, &lines, &spots)];
        let mut tolerance_m = FINEST_M;
        while lines.iter().any(|l| l.len() > 2) && tolerance_m < 1e6 {
            lines = lines.iter().map(|l| simplify(l, &spots[0], tolerance_m)).collect();
            levels.push(Level::cut(tolerance_m, &lines, &spots));
            tolerance_m *= 2.0;
        }
        Self { spots, levels }
    }

    /// The coarsest level whose tolerance is no more than this, metres.
    fn level_for(&self, tolerance_m: f32) -> Option<&Level> {
        self.levels.iter().rev().find(|l| l.tolerance_m <= tolerance_m).or(self.levels.first())
    }

    /// How many fixes would be drawn of what lies between two corners.
    pub(crate) fn count(&self, lay: usize, tolerance_m: f32, view: (DrawnPoint, DrawnPoint)) -> usize {
        self.level_for(tolerance_m)
            .map_or(0, |l| l.stretches.iter().filter(|s| s.meets(lay, view)).map(|s| s.indices.len()).sum())
    }

    /// The lines to draw of what lies between two corners, within a tolerance.
    pub(crate) fn lines(
        &self,
        lay: usize,
        tolerance_m: f32,
        view: (DrawnPoint, DrawnPoint),
    ) -> impl Iterator<Item = Vec<DrawnPoint>> + '_ {
        let spots = &self.spots[lay];
        self.level_for(tolerance_m)
            .into_iter()
            .flat_map(|l| l.stretches.iter())
            .filter(move |s| s.meets(lay, view))
            .map(move |s| s.indices.iter().map(|i| spots[*i as usize]).collect())
    }
}

impl Level {
    fn cut(tolerance_m: f32, lines: &[Vec<u32>], spots: &[Vec<DrawnPoint>; 2]) -> Self {
        let mut stretches = Vec::new();
        for line in lines {
            let mut from = 0;
            while from + 1 < line.len() {
                // The last fix of a stretch is the first of the next, so that no gap shows.
                let to = (from + STRETCH).min(line.len() - 1);
                let indices = line[from..=to].to_vec();
                let bounds = [0, 1].map(|lay: usize| bounds_of(indices.iter().map(|i| spots[lay][*i as usize])));
                stretches.push(Stretch { indices, bounds });
                from = to;
            }
        }
        Self { tolerance_m, stretches }
    }
}

impl Stretch {
    fn meets(&self, lay: usize, (low, high): (DrawnPoint, DrawnPoint)) -> bool {
        let (a, b) = self.bounds[lay];
        a[0] <= high[0] && b[0] >= low[0] && a[1] <= high[1] && b[1] >= low[1]
    }
}

fn bounds_of(spots: impl Iterator<Item = DrawnPoint>) -> (DrawnPoint, DrawnPoint) {
    spots.fold(([f32::INFINITY; 2], [f32::NEG_INFINITY; 2]), |(a, b), s| {
        ([a[0].min(s[0]), a[1].min(s[1])], [b[0].max(s[0]), b[1].max(s[1])])
    })
}

fn simplify(line: &[u32], spots: &[DrawnPoint], tolerance_m: f32) -> Vec<u32> {
    if line.len() < 3 {
        return line.to_vec();
    }
    let mut keep = vec![false; line.len()];
    keep[0] = true;
    keep[line.len() - 1] = true;
    let mut open = vec![(0, line.len() - 1)];
    while let Some((a, b)) = open.pop() {
        let (from, to) = (spots[line[a] as usize], spots[line[b] as usize]);
        let mut worst = (tolerance_m, None);
        for i in a + 1..b {
            let d = distance_to(spots[line[i] as usize], from, to);
            if d > worst.0 {
                worst = (d, Some(i));
            }
        }
        if let (_, Some(i)) = worst {
            keep[i] = true;
            open.extend([(a, i), (i, b)]);
        }
    }
    line.iter().zip(keep).filter_map(|(i, k)| k.then_some(*i)).collect()
}

/// Distance from a point to a stretch of line, metres.
fn distance_to(p: DrawnPoint, a: DrawnPoint, b: DrawnPoint) -> f32 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let long = dx * dx + dy * dy;
    let t = if long > 0.0 { (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long).clamp(0.0, 1.0) } else { 0.0 };
    (p[0] - a[0] - t * dx).hypot(p[1] - a[1] - t * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: (DrawnPoint, DrawnPoint) = ([-1e6; 2], [1e6; 2]);

    fn wave(n: usize) -> Vec<[DrawnPoint; 2]> {
        (0..n).map(|i| [i as f32, (i as f32 * 0.37).sin() * 6.0]).map(|s| [s, s]).collect()
    }

    #[test]
    fn a_coarser_line_stays_within_its_tolerance_and_keeps_its_ends() {
        let run = wave(4000);
        let pyramid = Pyramid::build(std::slice::from_ref(&run));
        let mut before = usize::MAX;
        for tolerance in [0.0, 0.3, 1.0, 3.0, 30.0] {
            let mut lines: Vec<Vec<DrawnPoint>> = pyramid.lines(0, tolerance, ALL).collect();
            let last = lines.pop().unwrap();
            let mut whole: Vec<DrawnPoint> = lines
                .into_iter()
                .flat_map(|mut l| {
                    l.pop();
                    l
                })
                .collect();
            whole.extend(last);
            assert_eq!((whole[0], *whole.last().unwrap()), (run[0][0], run[3999][0]));
            // Each level is simplified from the one before: the errors add up to less than twice.
            for [p, _] in &run {
                let d = whole.windows(2).map(|w| distance_to(*p, w[0], w[1])).fold(f32::INFINITY, f32::min);
                assert!(d <= 2.0 * tolerance + 1e-3, "{d} at {tolerance}");
            }
            assert!(whole.len() <= before);
            before = whole.len();
        }
        assert!(before < 200);
    }

    #[test]
    fn what_is_off_the_screen_is_left_out() {
        let pyramid = Pyramid::build(&[wave(4000)]);
        let all = pyramid.count(0, 0.0, ALL);
        let some = pyramid.count(0, 0.0, ([0.0, -10.0], [100.0, 10.0]));
        assert!(some > 0 && some < all / 8, "{some} of {all}");
    }

    #[test]
    fn nothing_and_one_fix_draw_nothing() {
        for runs in [vec![], vec![vec![]], vec![wave(1)]] {
            assert_eq!(Pyramid::build(&runs).lines(0, 1.0, ALL).count(), 0);
        }
        assert!(Pyramid::build(&[vec![[[1.0, 1.0]; 2]; 5]]).lines(0, 1.0, ALL).count() >= 1, "a stand still is a dot of line");
    }
}
