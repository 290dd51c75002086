use std::collections::HashMap;

use super::DrawnPoint;

/// The sand's level on a regular net along and across the shore, for drawing only.
///
/// Strips between two levels are cut out of the net triangle by triangle (each square of the net
/// is two triangles, level is linear on each), and so are the contours, so that a contour is
/// exactly the edge of its strip. DrawnPlace cost O(squares).
#[derive(Debug, Clone, Default)]
pub(crate) struct Relief {
    columns: usize,
    rows: usize,
    /// Level at each knot, row by row, metres above land datum; NaN where nobody knows.
    level_m: Vec<f32>,
    spots: Vec<[DrawnPoint; 2]>,
}

/// Triangles ready to be placed on the screen.
#[derive(Debug, Clone, Default)]
pub(crate) struct Patch {
    /// Corners in both lays.
    pub(crate) spots: Vec<[DrawnPoint; 2]>,
    /// Three corners a triangle.
    pub(crate) triangles: Vec<u32>,
}

/// A knot or a point on an edge: its level and its place in both lays.
#[derive(Debug, Clone, Copy)]
struct Knot {
    level: f32,
    at: [DrawnPoint; 2],
    /// Of a knot, its number in the net.
    number: Option<usize>,
}

/// Squares that lie wholly within one strip are joined along the shore up to this many.
const JOIN: usize = 8;

impl Relief {
    /// A net of `columns` x `rows` knots, filled by asking for each.
    pub(crate) fn sample(
        columns: usize,
        rows: usize,
        mut knot: impl FnMut(usize, usize) -> (Option<f64>, [DrawnPoint; 2]),
    ) -> Self {
        let mut net = Self { columns, rows, ..Self::default() };
        for row in 0..rows {
            for column in 0..columns {
                let (level, at) = knot(column, row);
                net.level_m.push(level.map_or(f32::NAN, |l| l as f32));
                net.spots.push(at);
            }
        }
        net
    }

    /// Whether any level is known.
    pub(crate) fn is_empty(&self) -> bool {
        self.level_m.iter().all(|l| l.is_nan())
    }

    fn knot(&self, column: usize, row: usize) -> Knot {
        let i = row * self.columns + column;
        Knot { level: self.level_m[i], at: self.spots[i], number: Some(i) }
    }

    fn squares(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let (columns, rows) = (self.columns.saturating_sub(1), self.rows.saturating_sub(1));
        (0..rows).flat_map(move |r| (0..columns).map(move |c| (c, r)))
    }

    /// Corners of a square in turn, if their levels are all known.
    fn corners(&self, (c, r): (usize, usize)) -> Option<[Knot; 4]> {
        let k = [self.knot(c, r), self.knot(c + 1, r), self.knot(c + 1, r + 1), self.knot(c, r + 1)];
        k.iter().all(|k| k.level.is_finite()).then_some(k)
    }

    /// The ground from `low` up to `high`, metres.
    pub(crate) fn strip(&self, low: f32, high: f32) -> Patch {
        let mut patch = Sewn { of_knot: vec![None; self.level_m.len()], ..Sewn::default() };
        let mut skip_until = None;
        for (c, r) in self.squares() {
            if skip_until.is_some_and(|(row, column)| row == r && c < column) {
                continue;
            }
            let Some(k) = self.corners((c, r)) else { continue };
            let within = |k: &[Knot; 4]| k.iter().all(|k| k.level >= low && k.level < high);
            if within(&k) {
                let mut end = c + 1;
                while end % JOIN != 0 && end + 1 < self.columns && self.corners((end, r)).is_some_and(|k| within(&k)) {
                    end += 1;
                }
                patch.polygon(&[k[0], self.knot(end, r), self.knot(end, r + 1), k[3]]);
                skip_until = Some((r, end));
            } else if k.iter().any(|k| k.level >= low) && k.iter().any(|k| k.level < high) {
                for triangle in [[k[0], k[1], k[2]], [k[0], k[2], k[3]]] {
                    let above = clip(&triangle, |k| k.level - low);
                    patch.polygon(&clip(&above, |k| high - k.level));
                }
            }
        }
        patch.patch
    }

    /// The squares that touch one of the knots `wanted`, by their numbers row by row.
    pub(crate) fn touching(&self, wanted: impl Fn(usize) -> bool) -> Patch {
        let mut patch = Sewn { of_knot: vec![None; self.level_m.len()], ..Sewn::default() };
        let touches = |c: usize, r: usize| self.corners((c, r)).filter(|k| k.iter().any(|k| k.number.is_some_and(&wanted)));
        for r in 0..self.rows.saturating_sub(1) {
            let mut c = 0;
            while c + 1 < self.columns {
                let Some(k) = touches(c, r) else {
                    c += 1;
                    continue;
                };
                let mut end = c + 1;
                while end % JOIN != 0 && end + 1 < self.columns && touches(end, r).is_some() {
                    end += 1;
                }
                patch.polygon(&[k[0], self.knot(end, r), self.knot(end, r + 1), k[3]]);
                c = end;
            }
        }
        patch.patch
    }

    /// The lines on which the sand stands at a level, metres.
    pub(crate) fn contour(&self, level: f32) -> Vec<Vec<[DrawnPoint; 2]>> {
        let mut pieces = Vec::new();
        for square in self.squares() {
            let Some(k) = self.corners(square) else { continue };
            if k.iter().all(|k| k.level >= level) || k.iter().all(|k| k.level < level) {
                continue;
            }
            for t in [[k[0], k[1], k[2]], [k[0], k[2], k[3]]] {
                let cuts: Vec<[DrawnPoint; 2]> = [(0, 1), (1, 2), (2, 0)]
                    .into_iter()
                    .filter(|(a, b)| (t[*a].level >= level) != (t[*b].level >= level))
                    // From the lower end, so that both triangles of an edge find the very same point.
                    .map(|(a, b)| if t[a].level < t[b].level { cross(t[a], t[b], level) } else { cross(t[b], t[a], level) }.at)
                    .collect();
                if let [from, to] = cuts[..] {
                    pieces.push([from, to]);
                }
            }
        }
        join(&pieces)
    }
}

impl Patch {
    /// Whether a spot lies in one of the triangles.
    pub(crate) fn holds(&self, lay: usize, spot: DrawnPoint) -> bool {
        let side = |a: DrawnPoint, b: DrawnPoint| (b[0] - a[0]) * (spot[1] - a[1]) - (b[1] - a[1]) * (spot[0] - a[0]);
        self.triangles.chunks_exact(3).any(|t| {
            let [a, b, c] = [t[0], t[1], t[2]].map(|i| self.spots[i as usize][lay]);
            let (u, v, w) = (side(a, b), side(b, c), side(c, a));
            (u >= 0.0 && v >= 0.0 && w >= 0.0) || (u <= 0.0 && v <= 0.0 && w <= 0.0)
        })
    }
}

/// A patch being made, each corner of which is there once however many triangles meet in it: every one of them is
/// handed to the screen in every frame.
#[derive(Default)]
struct Sewn {
    patch: Patch,
    of_knot: Vec<Option<u32>>,
    /// Corners on edges, by their place as the beach lies and straightened.
    of_edge: HashMap<[u32; 4], u32>,
}

impl Sewn {
    fn corner(&mut self, knot: &Knot) -> u32 {
        let next = self.patch.spots.len() as u32;
        let [[a, b], [c, d]] = knot.at;
        let known = match knot.number {
            Some(number) => *self.of_knot[number].get_or_insert(next),
            None => *self.of_edge.entry([a, b, c, d].map(f32::to_bits)).or_insert(next),
        };
        if known == next {
            self.patch.spots.push(knot.at);
        }
        known
    }

    fn polygon(&mut self, corners: &[Knot]) {
        let numbers: Vec<u32> = corners.iter().map(|k| self.corner(k)).collect();
        if let [first, rest @ ..] = &numbers[..] {
            self.patch.triangles.extend(rest.windows(2).flat_map(|pair| [*first, pair[0], pair[1]]));
        }
    }
}

/// The point between two knots where a level is met.
fn cross(a: Knot, b: Knot, level: f32) -> Knot {
    let t = (level - a.level) / (b.level - a.level);
    let mix = |p: DrawnPoint, q: DrawnPoint| [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
    Knot { level, at: [mix(a.at[0], b.at[0]), mix(a.at[1], b.at[1])], number: None }
}

/// The part of a convex polygon where `side` is not negative (Sutherland & Hodgman 1974).
fn clip(corners: &[Knot], side: impl Fn(&Knot) -> f32) -> Vec<Knot> {
    let mut out = Vec::with_capacity(corners.len() + 1);
    for (i, b) in corners.iter().enumerate() {
        let a = &corners[(i + corners.len() - 1) % corners.len()];
        let (sa, sb) = (side(a), side(b));
        if (sa >= 0.0) != (sb >= 0.0) {
            let t = sa / (sa - sb);
            out.push(cross(*a, *b, a.level + t * (b.level - a.level)));
        }
        if sb >= 0.0 {
            out.push(*b);
        }
    }
    out
}

/// Joins pieces that share an end into lines, longest first.
fn join(pieces: &[[[DrawnPoint; 2]; 2]]) -> Vec<Vec<[DrawnPoint; 2]>> {
    use std::collections::BTreeMap;
    let key = |p: &[DrawnPoint; 2]| (p[0][0].to_bits(), p[0][1].to_bits());
    let mut at: BTreeMap<(u32, u32), Vec<usize>> = BTreeMap::new();
    for (i, piece) in pieces.iter().enumerate() {
        for end in piece {
            at.entry(key(end)).or_default().push(i);
        }
    }
    let mut used = vec![false; pieces.len()];
    let mut lines = Vec::new();
    for start in 0..pieces.len() {
        if std::mem::replace(&mut used[start], true) {
            continue;
        }
        let mut line = std::collections::VecDeque::from(pieces[start]);
        for forward in [true, false] {
            while let Some(end) = if forward { line.back() } else { line.front() } {
                let end = *end;
                let Some(next) = at.get(&key(&end)).into_iter().flatten().copied().find(|i| !used[*i]) else { break };
                used[next] = true;
                let [a, b] = pieces[next];
                let other = if key(&a) == key(&end) { b } else { a };
                if forward { line.push_back(other) } else { line.push_front(other) }
            }
        }
        lines.push(Vec::from(line));
    }
    lines.sort_by_key(|l| std::cmp::Reverse(l.len()));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A plane falling seaward by 1 m per row.
    fn plane(columns: usize, rows: usize) -> Relief {
        Relief::sample(columns, rows, |c, r| (Some(-(r as f64)), [[c as f32, r as f32]; 2]))
    }

    fn area(patch: &Patch) -> f64 {
        let p = |i: u32| patch.spots[i as usize][0].map(f64::from);
        patch
            .triangles
            .chunks(3)
            .map(|t| {
                let (a, b, c) = (p(t[0]), p(t[1]), p(t[2]));
                ((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])).abs() / 2.0
            })
            .sum()
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]

        #[test]
        fn strips_share_out_the_whole_ground(low in -9f32..0.0, levels in prop::collection::vec(-5f64..5.0, 100)) {
            let net = Relief::sample(10, 10, |c, r| (Some(levels[r * 10 + c]), [[c as f32, r as f32]; 2]));
            let whole = area(&net.strip(-100.0, low)) + area(&net.strip(low, 1.0)) + area(&net.strip(1.0f32.max(low), 100.0));
            prop_assume!(low < 1.0);
            prop_assert!((whole - 81.0).abs() < 1e-2, "{whole}");
        }
    }

    #[test]
    fn a_strip_of_a_plane_is_as_wide_as_its_levels() {
        assert!((area(&plane(21, 6).strip(-3.25, -1.5)) - 20.0 * 1.75).abs() < 1e-3);
    }

    #[test]
    fn corners_that_meet_are_one() {
        // Squares are joined eight by eight, so that of 21 knots along those at 0, 8, 16 and 20 are corners.
        let patch = plane(21, 6).strip(-100.0, 100.0);
        assert_eq!((patch.spots.len(), patch.triangles.len() / 3), (4 * 6, 2 * 3 * 5));
        let cut = plane(21, 6).strip(-3.25, -1.5);
        let places: std::collections::BTreeSet<_> = cut.spots.iter().map(|s| s[0].map(f32::to_bits)).collect();
        assert_eq!(places.len(), cut.spots.len());
    }

    #[test]
    fn the_contour_of_a_plane_is_one_level_line() {
        let lines = plane(21, 6).contour(-2.5);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|p| (p[0][1] - 2.5).abs() < 1e-5));
        let x: Vec<f32> = lines[0].iter().map(|p| p[0][0]).collect();
        assert!(x.is_sorted() || x.iter().rev().is_sorted());
        assert!((x[0] - x[x.len() - 1]).abs() > 19.9);
    }

    #[test]
    fn the_squares_about_a_knot_are_those_it_is_a_corner_of() {
        let net = plane(21, 6);
        assert!((area(&net.touching(|n| n == 2 * 21 + 5)) - 4.0).abs() < 1e-6);
        assert!((area(&net.touching(|n| n / 21 >= 4)) - 2.0 * 20.0).abs() < 1e-4);
        assert!(net.touching(|_| false).triangles.is_empty());
    }

    #[test]
    fn unknown_ground_is_neither_strip_nor_contour() {
        let net = Relief::sample(3, 3, |c, r| ((c < 2).then_some(-(r as f64)), [[c as f32, r as f32]; 2]));
        assert!((area(&net.strip(-9.0, 9.0)) - 2.0).abs() < 1e-6);
        assert!(Relief::sample(2, 2, |_, _| (None, [[0.0; 2]; 2])).is_empty());
        assert!(Relief::default().contour(0.0).is_empty());
    }
}
