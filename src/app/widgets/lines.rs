//! Lines cut down to what can be seen of them: each of their corners is cut into triangles for every frame.

use egui::epaint::PathStroke;
use egui::{Pos2, Shape};
use geo::{LineString, Simplify as _};

/// No one sees a line pass this far beside a corner, points.
const UNSEEN: f32 = 0.2;

/// A line without the corners that no one sees (Douglas & Peucker 1973); its ends stay.
pub(crate) fn plain(line: &[Pos2]) -> Vec<Pos2> {
    let line: LineString<f32> = line.iter().map(|q| (q.x, q.y)).collect();
    line.simplify(UNSEEN).0.into_iter().map(|c| Pos2::new(c.x, c.y)).collect()
}

/// A line in dashes, each of which bends with it.
pub(crate) fn dashed(line: &[Pos2], stroke: &PathStroke, dash: f32, gap: f32) -> Vec<Shape> {
    let mut shapes = Vec::new();
    let Some(first) = line.first() else { return shapes };
    // The dash that is being drawn; none in a gap.
    let mut open = vec![*first];
    let mut left = dash;
    for pair in line.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let length = from.distance(to);
        let mut gone = 0.0;
        while length - gone > left {
            gone += left;
            let at = from + (to - from) * (gone / length);
            if open.is_empty() {
                open.push(at);
                left = dash;
            } else {
                open.push(at);
                shapes.push(Shape::line(std::mem::take(&mut open), stroke.clone()));
                left = gap;
            }
        }
        left -= length - gone;
        if !open.is_empty() {
            open.push(to);
        }
    }
    if open.len() > 1 {
        shapes.push(Shape::line(open, stroke.clone()));
    }
    shapes
}

#[cfg(test)]
mod tests {
    use egui::{Color32, pos2};

    use super::*;

    fn ring(radius: f32) -> Vec<Pos2> {
        (0..=36_u8).map(|n| pos2(50.0, 50.0) + radius * egui::Vec2::angled(f32::from(n).to_radians() * 10.0)).collect()
    }

    /// How far a position lies from a line.
    fn away(at: Pos2, line: &[Pos2]) -> f32 {
        let to = |a: Pos2, b: Pos2| {
            let d = b - a;
            let t = if d.length_sq() > 0.0 { ((at - a).dot(d) / d.length_sq()).clamp(0.0, 1.0) } else { 0.0 };
            at.distance(a + t * d)
        };
        line.windows(2).map(|w| to(w[0], w[1])).fold(f32::INFINITY, f32::min)
    }

    #[test]
    fn a_small_ring_needs_few_corners_and_stays_where_it_was() {
        for radius in [0.01, 2.0, 6.0, 40.0] {
            let (whole, few) = (ring(radius), plain(&ring(radius)));
            assert!(few.len() >= 2 && few.first() == whole.first() && few.last() == whole.last());
            assert!(whole.iter().all(|q| away(*q, &few) <= UNSEEN * 1.01), "{radius}");
            assert!(radius > 10.0 || few.len() < 20, "{radius}: {}", few.len());
        }
    }

    #[test]
    fn dashes_and_gaps_share_out_a_bent_line() {
        let line = [pos2(0.0, 0.0), pos2(10.0, 0.0), pos2(10.0, 30.0)];
        let runs: Vec<Vec<Pos2>> = dashed(&line, &PathStroke::new(1.0, Color32::BLACK), 7.0, 4.0)
            .into_iter()
            .filter_map(|s| if let Shape::Path(path) = s { Some(path.points) } else { None })
            .collect();
        let length = |run: &Vec<Pos2>| run.windows(2).map(|w| w[0].distance(w[1])).sum::<f32>();
        // 40 points of line: dashes begin at 0, 11, 22 and 33.
        assert_eq!(runs.len(), 4);
        assert!(runs.iter().all(|run| (length(run) - 7.0).abs() < 1e-3), "{runs:?}");
        assert_eq!([runs[0][0], runs[1][0], runs[3][0]], [pos2(0.0, 0.0), pos2(10.0, 1.0), pos2(10.0, 23.0)]);
        let bent = dashed(&[pos2(0.0, 0.0), pos2(5.0, 0.0), pos2(5.0, 5.0)], &PathStroke::new(1.0, Color32::BLACK), 7.0, 4.0);
        assert!(matches!(&bent[..], [Shape::Path(dash)] if dash.points.len() == 3));
        assert!(dashed(&[], &PathStroke::NONE, 7.0, 4.0).is_empty());
    }
}
