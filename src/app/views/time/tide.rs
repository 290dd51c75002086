//! The tide itself with day and night: kept as it was drawn until the curve or the view changes.

use std::sync::Arc;

use egui::epaint::{Mesh, PathStroke};
use egui::{Painter, Pos2, Shape, pos2};

use super::axis::Axis;
use crate::app::state::clock::seconds;
use crate::app::state::time::TideLaid;
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::theme::{Palette, palette};
use crate::query::drawing::Curve;
use crate::tide::{Turn, TurnKind};

impl Drawing for TideLaid {
    /// Whether an expected water is among it.
    type Told = bool;

    fn draw(&self, painter: &Painter) -> bool {
        let (p, axis, curve) = (palette(painter.ctx()), &self.axis, &*self.curve);
        if curve.heights.is_empty() {
            envelope(painter, axis, &curve.turns, p);
            return false;
        }
        let water = tide(painter, axis, curve, p);
        super::light::shade(painter, axis, curve, &water, p);
        outline(painter, axis, curve, p);
        super::light::leaves(painter, axis, curve, p);
        self.expected.is_some_and(|(surge, from)| super::expected::paint(painter, axis, curve, surge, from, p))
    }
}

/// The unbroken runs of the curve in view.
fn runs(axis: &Axis, curve: &Curve) -> Vec<Vec<Pos2>> {
    let mut runs: Vec<Vec<Pos2>> = vec![Vec::new()];
    for (n, height) in curve.heights.iter().enumerate() {
        let at_s = curve.span.from_s + n as f64 * curve.step_s;
        if at_s < axis.span.from_s - 2.0 * curve.step_s || at_s > axis.span.to_s + 2.0 * curve.step_s {
            continue;
        }
        match (height, runs.last_mut()) {
            (Some(m), Some(run)) => run.push(pos2(axis.x(at_s), axis.y(*m))),
            _ => runs.push(Vec::new()),
        }
    }
    runs.retain(|r| r.len() > 1);
    runs
}

/// The tide itself, filled down to the bottom; returns what was filled.
fn tide(painter: &Painter, axis: &Axis, curve: &Curve, p: &Palette) -> Vec<Arc<Mesh>> {
    let fill = |run: Vec<Pos2>| {
        let mut under = Mesh::default();
        for q in &run {
            under.colored_vertex(*q, p.water.gamma_multiply(0.42));
            under.colored_vertex(pos2(q.x, axis.rect.bottom()), p.water.gamma_multiply(0.42));
        }
        for n in 0..run.len() as u32 - 1 {
            under.add_triangle(2 * n, 2 * n + 1, 2 * n + 2);
            under.add_triangle(2 * n + 1, 2 * n + 3, 2 * n + 2);
        }
        Arc::new(under)
    };
    let filled: Vec<Arc<Mesh>> = runs(axis, curve).into_iter().map(fill).collect();
    for mesh in &filled {
        painter.add(Shape::Mesh(Arc::clone(mesh)));
    }
    filled
}

fn outline(painter: &Painter, axis: &Axis, curve: &Curve, p: &Palette) {
    for run in runs(axis, curve) {
        painter.add(Shape::line(run, PathStroke::new(1.8, p.water_edge)));
    }
}

/// Over long spans: between the high waters and the low waters.
fn envelope(painter: &Painter, axis: &Axis, turns: &[Turn], p: &Palette) {
    let line = |kind: TurnKind| -> Vec<Pos2> {
        turns.iter().filter(|t| t.kind == kind).map(|t| pos2(axis.x(seconds(t.time)), axis.y(t.level_m))).collect()
    };
    let (high, low) = (line(TurnKind::High), line(TurnKind::Low));
    let mut between = Mesh::default();
    for (a, b) in high.iter().zip(&low) {
        between.colored_vertex(*a, p.water.gamma_multiply(0.5));
        between.colored_vertex(*b, p.water.gamma_multiply(0.5));
    }
    for n in 0..(high.len().min(low.len()) as u32).saturating_sub(1) {
        between.add_triangle(2 * n, 2 * n + 1, 2 * n + 2);
        between.add_triangle(2 * n + 1, 2 * n + 3, 2 * n + 2);
    }
    painter.add(Shape::mesh(between));
    for side in [high, low] {
        painter.add(Shape::line(side, PathStroke::new(1.0, p.water_edge)));
    }
}
