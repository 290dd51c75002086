//! A small outline of the world: the tide stations themselves, which trace its coasts.

use egui::epaint::Mesh;
use egui::{Color32, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::theme::palette;
use crate::earth::LonLat;
use crate::tide::Catalogue;

/// Southern and northern edge, degrees: beyond them there is no station to speak of.
const LATITUDES: (f64, f64) = (-80.0, 84.0);
/// Most width it takes, points.
const WIDTH: f32 = 420.0;

/// The two places that are marked.
pub(crate) struct Pins<'a> {
    pub(crate) station: LonLat,
    pub(crate) beach: LonLat,
    /// The same in words, for who cannot see it.
    pub(crate) said: &'a str,
}

/// Where a place lies in the picture: longitude and latitude drawn alike.
fn place(rect: Rect, at: LonLat) -> Pos2 {
    let x = (at.lon_deg() + 180.0) / 360.0;
    let y = (LATITUDES.1 - at.lat_deg()) / (LATITUDES.1 - LATITUDES.0);
    pos2(rect.left() + x as f32 * rect.width(), rect.top() + (y as f32).clamp(0.0, 1.0) * rect.height())
}

pub(crate) fn show(ui: &mut Ui, pins: &Pins<'_>) {
    let p = palette(ui.ctx());
    let width = ui.available_width().min(WIDTH);
    let high = width * ((LATITUDES.1 - LATITUDES.0) / 360.0) as f32;
    let (rect, response) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, format!("World outline: {}", pins.said)));
    let painter = ui.painter().with_clip_rect(rect);
    painter.rect_filled(rect, 0.0, p.paper);
    for lon in (-150..180).step_by(30) {
        let x = rect.left() + (lon as f32 + 180.0) / 360.0 * rect.width();
        painter.vline(x, rect.y_range(), Stroke::new(0.5, p.rule.gamma_multiply(0.6)));
    }
    for lat in [-60.0, -30.0, 0.0, 30.0, 60.0] {
        if let Ok(at) = LonLat::new(0.0, lat) {
            painter.hline(rect.x_range(), place(rect, at).y, Stroke::new(0.5, p.rule.gamma_multiply(0.6)));
        }
    }
    let mut dots = Mesh::default();
    for station in Catalogue::shipped().stations() {
        dots.add_colored_rect(Rect::from_center_size(place(rect, station.at), vec2(1.4, 1.4)), p.soft);
    }
    painter.add(Shape::mesh(dots));
    let (station, beach) = (place(rect, pins.station), place(rect, pins.beach));
    painter.line_segment([station, beach], Stroke::new(1.0, p.accent));
    painter.circle(station, 3.5, p.water_edge, Stroke::new(1.0, p.card));
    // The beach is a ring around whatever it covers, so that both show when they are close.
    painter.circle(beach, 6.5, Color32::TRANSPARENT, Stroke::new(1.8, p.accent));
    painter.rect_stroke(rect, 0.0, Stroke::new(1.0, p.ink), egui::StrokeKind::Inside);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_station_lies_within_the_picture() {
        let rect = Rect::from_min_size(Pos2::ZERO, vec2(360.0, 164.0));
        for station in Catalogue::shipped().stations() {
            assert!((LATITUDES.0..=LATITUDES.1).contains(&station.at.lat_deg()), "{}", station.id);
            assert!(rect.contains(place(rect, station.at)), "{}", station.id);
        }
        let at = |lon, lat| place(rect, LonLat::new(lon, lat).unwrap());
        assert_eq!(at(-180.0, 84.0), pos2(0.0, 0.0));
        assert_eq!(at(0.0, 2.0), pos2(180.0, 82.0));
    }
}
