//! Slanting lines over a convex shape, so that a meaning is not carried by colour alone.

use egui::{Painter, Pos2, Rect, Stroke, lerp, pos2};

/// Distance of the lines of ground that nobody surveyed, points.
pub(crate) const UNSURVEYED: f32 = 11.0;

/// Which way the lines slant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Slant {
    /// Up to the right.
    Rising,
    /// Down to the right.
    Falling,
}

/// Lines `spacing` points apart over a convex shape, one of which runs through `root`.
pub(crate) fn lines(painter: &Painter, corners: &[Pos2], root: Pos2, slant: Slant, spacing: f32, stroke: Stroke) {
    let clip = painter.clip_rect();
    if !Rect::from_points(corners).intersects(clip) {
        return;
    }
    let of = |q: Pos2| if slant == Slant::Rising { q.x + q.y } else { q.x - q.y };
    let bound = |all: &mut dyn Iterator<Item = Pos2>| {
        all.map(of).fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let (low, high) = bound(&mut corners.iter().copied());
    let seen = bound(&mut [clip.left_top(), clip.right_top(), clip.left_bottom(), clip.right_bottom()].into_iter());
    let (low, high) = (low.max(seen.0), high.min(seen.1));
    let fixed = of(root).rem_euclid(spacing);
    let mut at = ((low - fixed) / spacing).ceil() * spacing + fixed;
    while at < high {
        let cuts: Vec<Pos2> = (0..corners.len())
            .map(|n| (corners[n], corners[(n + 1) % corners.len()]))
            .filter(|(a, b)| (of(*a) >= at) != (of(*b) >= at))
            .map(|(a, b)| {
                let s = (at - of(a)) / (of(b) - of(a));
                pos2(lerp(a.x..=b.x, s), lerp(a.y..=b.y, s))
            })
            .collect();
        if let [a, b] = cuts[..] {
            painter.line_segment([a, b], stroke);
        }
        at += spacing;
    }
}

/// Lines both ways: ground that nobody surveyed. No other ground is crossed so.
pub(crate) fn unsurveyed(painter: &Painter, corners: &[Pos2], root: Pos2, stroke: Stroke) {
    for slant in [Slant::Rising, Slant::Falling] {
        lines(painter, corners, root, slant, UNSURVEYED, stroke);
    }
}
