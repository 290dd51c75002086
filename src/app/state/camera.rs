//! From where Plan is seen, and the way from places on the ground to the screen and back.

use egui::{Pos2, Rect, Vec2, pos2, vec2};

use crate::query::drawing::DrawnPoint;

/// Where Plan looks: the place in the middle and how large a metre is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// The place in the middle of the view, metres.
    pub centre: [f64; 2],
    /// Points of the screen per metre.
    pub scale: f64,
    /// How many times larger than along the shore a metre across it is drawn; 1 is true to shape.
    pub stretch: f64,
}

impl Default for Camera {
    fn default() -> Self {
        Self { centre: [0.0, 0.0], scale: 1.0, stretch: 1.0 }
    }
}

/// The least and greatest magnification, points per metre.
const SCALES: std::ops::RangeInclusive<f64> = 0.001..=400.0;

impl Camera {
    /// The camera that shows `from..to` (metres) whole in a view of this size, with a margin. A beach
    /// much longer than wide may be stretched across, up to `most_stretch` times.
    pub fn fitting(from: [f64; 2], to: [f64; 2], view: Vec2, most_stretch: f64) -> Self {
        let span = [(to[0] - from[0]).max(20.0), (to[1] - from[1]).max(20.0)];
        let (wide, high) = (f64::from(view.x) * 0.94 / span[0], f64::from(view.y) * 0.90 / span[1]);
        let scale = clamp(wide.min(high));
        let stretch = (high / scale).clamp(1.0, most_stretch.max(1.0));
        Self { centre: [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0], scale, stretch }
    }

    /// The look through this camera onto a rectangle of the screen.
    pub(crate) fn onto(self, rect: Rect) -> Look {
        Look { camera: self, middle: rect.center() }
    }

    /// Moves by a distance on the screen.
    pub fn pan(&mut self, delta: Vec2) {
        self.centre[0] -= f64::from(delta.x) / self.scale;
        self.centre[1] -= f64::from(delta.y) / (self.scale * self.stretch);
    }

    /// Magnifies by a factor, the place under `fixed` (from the middle of the view) staying put.
    pub fn zoom(&mut self, factor: f64, fixed: Vec2) {
        let old = self.scale;
        self.scale = clamp(self.scale * factor);
        let shift = 1.0 / old - 1.0 / self.scale;
        self.centre[0] += f64::from(fixed.x) * shift;
        self.centre[1] += f64::from(fixed.y) * shift / self.stretch;
    }
}

fn clamp(scale: f64) -> f64 {
    if scale.is_finite() { scale.clamp(*SCALES.start(), *SCALES.end()) } else { 1.0 }
}

/// A camera together with the rectangle it looks onto.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    camera: Camera,
    middle: Pos2,
}

impl Look {
    /// Where a place is drawn.
    pub(crate) fn pos(&self, p: DrawnPoint) -> Pos2 {
        let c = &self.camera;
        pos2(
            self.middle.x + ((f64::from(p[0]) - c.centre[0]) * c.scale) as f32,
            self.middle.y + ((f64::from(p[1]) - c.centre[1]) * c.scale * c.stretch) as f32,
        )
    }

    /// The place that is drawn there.
    pub(crate) fn spot(&self, p: Pos2) -> DrawnPoint {
        let c = &self.camera;
        let d = p - self.middle;
        [(c.centre[0] + f64::from(d.x) / c.scale) as f32, (c.centre[1] + f64::from(d.y) / (c.scale * c.stretch)) as f32]
    }

    /// A length in metres as points of the screen.
    pub(crate) fn length(&self, metres: f64) -> f32 {
        (metres * self.camera.scale) as f32
    }

    /// Points of the screen per metre.
    pub(crate) fn scale(&self) -> f64 {
        self.camera.scale
    }

    /// How many times larger a metre across the shore is drawn.
    pub(crate) fn stretch(&self) -> f64 {
        self.camera.stretch
    }

    /// The places a rectangle of the screen shows, as lower and upper corner.
    pub(crate) fn places(&self, rect: Rect) -> (DrawnPoint, DrawnPoint) {
        (self.spot(rect.min), self.spot(rect.max))
    }
}

/// The roundest length (1, 2 or 5 times a power of ten) that fits into `most_m` metres.
pub(crate) fn round_length_m(most_m: f64) -> f64 {
    let power = 10f64.powf(most_m.max(1e-3).log10().floor());
    [5.0, 2.0].into_iter().map(|m| m * power).find(|l| *l <= most_m).unwrap_or(power)
}

/// The rectangle between two corners given in any order.
pub(crate) fn between(a: Pos2, b: Pos2) -> Rect {
    Rect::from_two_pos(a, b)
}

/// Half of a view, from its middle to a position.
pub(crate) fn from_middle(rect: Rect, p: Pos2) -> Vec2 {
    let m = rect.center();
    vec2(p.x - m.x, p.y - m.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn a_place_comes_back_from_the_screen(x in -5e3f32..5e3, y in -5e2f32..5e2, scale in 0.05f64..50.0) {
            let look = Camera { centre: [100.0, -20.0], scale, stretch: 1.7 }.onto(Rect::from_min_size(pos2(10.0, 20.0), vec2(800.0, 400.0)));
            let back = look.spot(look.pos([x, y]));
            prop_assert!((back[0] - x).abs() < 0.05 && (back[1] - y).abs() < 0.05, "{back:?}");
        }

        #[test]
        fn zooming_keeps_the_place_under_the_pointer(fx in -300f32..300.0, fy in -200f32..200.0, factor in 0.2f64..5.0) {
            let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(800.0, 400.0));
            let mut camera = Camera { centre: [5.0, 7.0], scale: 2.0, stretch: 2.5 };
            let at = rect.center() + vec2(fx, fy);
            let before = camera.onto(rect).spot(at);
            camera.zoom(factor, from_middle(rect, at));
            let after = camera.onto(rect).spot(at);
            prop_assert!((before[0] - after[0]).abs() < 0.01 && (before[1] - after[1]).abs() < 0.01);
        }
    }

    #[test]
    fn the_scale_bar_is_round() {
        for (most, want) in [(1.0, 1.0), (3.9, 2.0), (49.0, 20.0), (50.0, 50.0), (999.0, 500.0), (1000.0, 1000.0)] {
            assert!((round_length_m(most) - want).abs() < 1e-9, "{most}");
        }
    }

    #[test]
    fn nothing_to_fit_is_still_a_sound_camera() {
        let c = Camera::fitting([3.0, 3.0], [3.0, 3.0], vec2(0.0, 0.0), 4.0);
        assert!(c.scale.is_finite() && c.scale > 0.0 && c.stretch.is_finite());
        let long = Camera::fitting([0.0, 0.0], [1400.0, 200.0], vec2(700.0, 500.0), 4.0);
        assert!(long.stretch > 2.0 && long.stretch <= 4.0);
        assert!((Camera::fitting([0.0, 0.0], [1400.0, 200.0], vec2(700.0, 500.0), 1.0).stretch - 1.0).abs() < 1e-12);
    }
}
