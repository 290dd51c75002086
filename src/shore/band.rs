//! The ground between two levels, as polygons.
//!
//! Every facet is cut at the two levels. The pieces are merged by their topology, not by their
//! coordinates: an edge walked in both directions lies inside and drops out, the rest is walked
//! round. So the areas of all bands add up to the area of the surface exactly, and no sliver is
//! left between neighbours. O(facets) a band.

use geo::{Area, Contains};
use geo_types::{Coord, LineString, MultiPolygon, Point, Polygon};
use serde::{Deserialize, Serialize};

use super::surface::Surface;
use super::tide_line::{Edge, edge};

/// A named level of the tide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TideMark {
    /// Its name, e.g. "MHWS".
    pub name: String,
    /// Its height above the tide's datum, metres.
    pub level_m: f64,
}

impl TideMark {
    /// A mark from its name and its height above the tide's datum, metres.
    pub fn new(name: impl Into<String>, level_m: f64) -> Self {
        Self { name: name.into(), level_m }
    }
}

/// The strip between two tide lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Its name, upper mark first: "MHWN to MSL", "above MHWS", "below MLWS".
    pub name: String,
    /// Lower edge above the tide's datum, metres; `None` for the lowest band.
    pub low_m: Option<f64>,
    /// Upper edge above the tide's datum, metres; `None` for the highest band.
    pub high_m: Option<f64>,
    /// The ground it covers, in the beach's plane, metres.
    pub area: MultiPolygon<f64>,
    /// Its size, m².
    pub area_m2: f64,
}

impl Band {
    /// Whether a level above the tide's datum belongs to it; the lower edge does, the upper does not.
    pub fn holds(&self, tide_m: f64) -> bool {
        self.low_m.is_none_or(|low| tide_m >= low) && self.high_m.is_none_or(|high| tide_m < high)
    }
}

/// Names and edges of the bands that marks make, from the highest down. Marks within a millimetre
/// of each other make one edge with both names.
pub(super) fn strips(marks: &[TideMark]) -> Vec<(String, Option<f64>, Option<f64>)> {
    let mut sorted: Vec<&TideMark> = marks.iter().filter(|m| m.level_m.is_finite()).collect();
    sorted.sort_by(|a, b| b.level_m.total_cmp(&a.level_m).then_with(|| a.name.cmp(&b.name)));
    let mut edges: Vec<(String, f64)> = Vec::new();
    for mark in sorted {
        match edges.last_mut() {
            Some((name, level)) if *level - mark.level_m < 1e-3 => *name = format!("{name}/{}", mark.name),
            _ => edges.push((mark.name.clone(), mark.level_m)),
        }
    }
    let (Some((top, top_m)), Some((bottom, bottom_m))) = (edges.first(), edges.last()) else {
        return vec![("whole beach".to_owned(), None, None)];
    };
    let between = edges.windows(2).map(|w| (format!("{} to {}", w[0].0, w[1].0), Some(w[1].1), Some(w[0].1)));
    std::iter::once((format!("above {top}"), Some(*top_m), None))
        .chain(between)
        .chain([(format!("below {bottom}"), None, Some(*bottom_m))])
        .collect()
}

/// A corner of a piece: a corner of the surface, or where the low or high level crosses an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Node {
    Corner(u32),
    Low(Edge),
    High(Edge),
}

impl Surface {
    /// The ground between two levels above the land datum, metres, in the beach's plane.
    pub(super) fn between(&self, low_m: Option<f64>, high_m: Option<f64>) -> MultiPolygon<f64> {
        let low_m = low_m.map_or(f64::NEG_INFINITY, |l| self.free_level(l));
        let high_m = high_m.map_or(f64::INFINITY, |l| self.free_level(l));
        if low_m >= high_m {
            return MultiPolygon::new(Vec::new());
        }
        let mut steps: Vec<(Node, Node)> = Vec::new();
        let mut piece = Vec::with_capacity(8);
        for facet in &self.facets {
            self.cut(*facet, low_m, high_m, &mut piece);
            if piece.len() > 2 {
                steps.extend((0..piece.len()).map(|n| (piece[n], piece[(n + 1) % piece.len()])));
            }
        }
        let rings = rings(outline(steps), |node| match node {
            Node::Corner(n) => self.corner(n).at.into(),
            Node::Low(e) => self.crossing(e, low_m),
            Node::High(e) => self.crossing(e, high_m),
        });
        nest(rings)
    }

    /// The part of a facet between two levels, anticlockwise.
    fn cut(&self, facet: [u32; 3], low_m: f64, high_m: f64, piece: &mut Vec<Node>) {
        piece.clear();
        for n in 0..3 {
            let (a, b) = (facet[n], facet[(n + 1) % 3]);
            let (from, to) = (self.corner(a).land_m, self.corner(b).land_m);
            if from > low_m && from < high_m {
                piece.push(Node::Corner(a));
            }
            let low = ((from > low_m) != (to > low_m)).then(|| Node::Low(edge(a, b)));
            let high = ((from > high_m) != (to > high_m)).then(|| Node::High(edge(a, b)));
            piece.extend(if from < to { [low, high] } else { [high, low] }.into_iter().flatten());
        }
    }
}

/// Directed edges without those walked both ways.
fn outline(mut steps: Vec<(Node, Node)>) -> Vec<(Node, Node)> {
    steps.sort_unstable_by_key(|(a, b)| (a.min(b).to_owned(), a.max(b).to_owned()));
    steps
        .chunk_by(|x, y| (x.0.min(x.1), x.0.max(x.1)) == (y.0.min(y.1), y.0.max(y.1)))
        .filter(|same| same.len() == 1)
        .flatten()
        .copied()
        .collect()
}

/// Walks edges into rings with the inside on the left. Where several leave one node, the first
/// clockwise from where one came is taken, so that parts meeting in a point stay separate rings.
fn rings(mut steps: Vec<(Node, Node)>, at: impl Fn(Node) -> Coord<f64>) -> Vec<LineString<f64>> {
    steps.sort_unstable();
    let leaving = |node: Node| {
        let begin = steps.partition_point(|s| s.0 < node);
        begin..begin + steps[begin..].partition_point(|s| s.0 == node)
    };
    let mut walked = vec![false; steps.len()];
    let mut found = Vec::new();
    for first in 0..steps.len() {
        let mut ring = Vec::new();
        let mut step = first;
        // Each edge in has one edge out, so the walk comes back to where it began.
        while !walked[step] {
            walked[step] = true;
            let (from, to) = steps[step];
            ring.push(at(from));
            let choices = leaving(to);
            step = match choices.len() {
                0 => break,
                1 => choices.start,
                _ => choices.start + first_clockwise(at(to), at(from), &steps[choices], &at),
            };
        }
        ring.dedup();
        if ring.len() > 2 {
            ring.push(ring[0]);
            found.push(LineString::new(ring));
        }
    }
    found
}

fn first_clockwise(here: Coord<f64>, before: Coord<f64>, choices: &[(Node, Node)], at: impl Fn(Node) -> Coord<f64>) -> usize {
    let angle = |c: Coord<f64>| (c.y - here.y).atan2(c.x - here.x);
    let back = angle(before);
    let turn = |n: usize| {
        let turn = (back - angle(at(choices[n].1))).rem_euclid(std::f64::consts::TAU);
        // Straight back is the last resort, not the first.
        if turn == 0.0 { std::f64::consts::TAU } else { turn }
    };
    (0..choices.len()).min_by(|a, b| turn(*a).total_cmp(&turn(*b))).unwrap_or(0)
}

/// Puts each hole into the smallest outer ring round it.
fn nest(rings: Vec<LineString<f64>>) -> MultiPolygon<f64> {
    let signed = |ring: &LineString<f64>| Polygon::new(ring.clone(), Vec::new()).signed_area();
    let (outer, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|r| signed(r) > 0.0);
    let mut polygons: Vec<Polygon<f64>> = outer.into_iter().map(|r| Polygon::new(r, Vec::new())).collect();
    polygons.sort_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
    let shells = polygons.clone();
    for hole in holes {
        // A hole may touch its shell in corners, never along an edge: the middle of one decides.
        let middle = Point::new((hole.0[0].x + hole.0[1].x) / 2.0, (hole.0[0].y + hole.0[1].y) / 2.0);
        if let Some(n) = shells.iter().position(|s| s.contains(&middle)) {
            polygons[n].interiors_push(hole);
        }
    }
    polygons.reverse();
    MultiPolygon::new(polygons)
}
