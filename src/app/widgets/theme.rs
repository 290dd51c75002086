//! Paper and ink: the colours, type and spacing of the window, by day and by night.

use std::sync::Arc;

use egui::{
    Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke, TextStyle, Theme as Mode, Vec2, Visuals,
};

/// Colours that mean something on the chart, for one of the two grounds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Palette {
    pub(crate) paper: Color32,
    pub(crate) card: Color32,
    pub(crate) ink: Color32,
    /// Second voice: captions, axes, what is only said in passing.
    pub(crate) soft: Color32,
    pub(crate) rule: Color32,
    /// The one accent of the frame.
    pub(crate) accent: Color32,
    /// Sand from never wetted to always under water, seven steps.
    pub(crate) sand: [Color32; 7],
    /// Ground whose level nobody knows.
    pub(crate) unknown: Color32,
    pub(crate) tide_line: Color32,
    pub(crate) water: Color32,
    pub(crate) water_edge: Color32,
    pub(crate) heavy: Color32,
    pub(crate) light: Color32,
    pub(crate) rubbish: Color32,
    pub(crate) undug: Color32,
    pub(crate) track: Color32,
    pub(crate) cluster: Color32,
    pub(crate) zone: Color32,
    pub(crate) danger: Color32,
    /// The sun in Time.
    pub(crate) sun: Color32,
    pub(crate) picked: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// Width of the edge of what has the keyboard, points.
pub(crate) const FOCUS: f32 = 2.5;

/// Ink on paper.
const DAY: Palette = Palette {
    paper: rgb(0xF6F2E8),
    card: rgb(0xFCFAF4),
    ink: rgb(0x23272C),
    soft: rgb(0x665F52),
    rule: rgb(0xCEC5B1),
    accent: rgb(0x8A4513),
    sand: [rgb(0xEFE4CB), rgb(0xE9DAB9), rgb(0xE1CDA0), rgb(0xD6BE8C), rgb(0xC4AC86), rgb(0xAEB0A2), rgb(0x93ABAF)],
    unknown: rgb(0xEFEADD),
    tide_line: rgb(0x7B6A48),
    water: Color32::from_rgba_premultiplied(26, 66, 87, 128),
    water_edge: rgb(0x174E70),
    heavy: rgb(0x8A3A0C),
    light: rgb(0x176B63),
    rubbish: rgb(0x5E584D),
    undug: rgb(0x23272C),
    track: Color32::from_rgba_premultiplied(48, 43, 34, 92),
    cluster: rgb(0x59388A),
    zone: rgb(0x5C5645),
    danger: rgb(0xA31D1D),
    sun: rgb(0xEBC25A),
    picked: rgb(0xC2185B),
};

/// Chalk on slate.
const NIGHT: Palette = Palette {
    paper: rgb(0x14181C),
    card: rgb(0x1B2025),
    ink: rgb(0xEAE4D7),
    soft: rgb(0xA69F91),
    rule: rgb(0x3A4148),
    accent: rgb(0xE8A063),
    sand: [rgb(0x74664B), rgb(0x665940), rgb(0x574C36), rgb(0x493F2D), rgb(0x3A352A), rgb(0x2D3A3C), rgb(0x1C2F3D)],
    unknown: rgb(0x20252A),
    tide_line: rgb(0xB9A983),
    water: Color32::from_rgba_premultiplied(15, 47, 68, 140),
    water_edge: rgb(0x7CC0E4),
    heavy: rgb(0xF5A55B),
    light: rgb(0x79D2C1),
    rubbish: rgb(0xA69F91),
    undug: rgb(0xEAE4D7),
    track: Color32::from_rgba_premultiplied(50, 47, 42, 60),
    cluster: rgb(0xC3A4F0),
    zone: rgb(0xB5AB93),
    danger: rgb(0xFF8A80),
    sun: rgb(0xC9A24A),
    picked: rgb(0xFF6FA8),
};

/// The palette of the ground in force.
pub(crate) fn palette(ctx: &egui::Context) -> &'static Palette {
    match ctx.theme() {
        Mode::Light => &DAY,
        Mode::Dark => &NIGHT,
    }
}

/// The colour of sand by how wet it is, stepping through the palette.
pub(crate) fn sand_colour(p: &Palette, wet: f32) -> Color32 {
    let at = wet.clamp(0.0, 1.0) * (p.sand.len() - 1) as f32;
    let (n, share) = (at as usize, at.fract());
    let (a, b) = (p.sand[n], p.sand[(n + 1).min(p.sand.len() - 1)]);
    let mix = |a: u8, b: u8| egui::lerp(f32::from(a)..=f32::from(b), share).round() as u8;
    Color32::from_rgb(mix(a.r(), b.r()), mix(a.g(), b.g()), mix(a.b(), b.b()))
}

/// The family of headings within text.
pub(crate) fn bold() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// The family of titles.
pub(crate) fn serif() -> FontFamily {
    FontFamily::Name("title".into())
}

/// Type for labels drawn on the chart.
pub(crate) fn label_font(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Bold type for labels drawn on the chart.
pub(crate) fn bold_font(size: f32) -> FontId {
    FontId::new(size, bold())
}

/// Text in the second voice.
pub(crate) fn soft(ui: &egui::Ui, text: impl Into<String>) -> egui::RichText {
    egui::RichText::new(text).color(palette(ui.ctx()).soft)
}

/// Text that carries weight.
pub(crate) fn strong(text: impl Into<String>) -> egui::RichText {
    egui::RichText::new(text).family(bold())
}

/// Sets type, spacing and both grounds; called once.
pub(crate) fn install(ctx: &egui::Context) {
    fonts(ctx);
    for (mode, palette) in [(Mode::Light, &DAY), (Mode::Dark, &NIGHT)] {
        ctx.style_mut_of(mode, |style| {
            style.visuals = visuals(mode, palette);
            style.text_styles = [
                (TextStyle::Small, label_font(12.5)),
                (TextStyle::Body, label_font(14.5)),
                (TextStyle::Button, label_font(14.5)),
                (TextStyle::Monospace, FontId::monospace(13.0)),
                (TextStyle::Heading, FontId::new(21.0, serif())),
            ]
            .into();
            style.spacing.item_spacing = Vec2::new(8.0, 5.0);
            style.spacing.button_padding = Vec2::new(7.0, 3.0);
            style.spacing.interact_size = Vec2::new(30.0, 22.0);
            style.spacing.window_margin = Margin::same(14);
            style.spacing.scroll.floating = true;
            style.interaction.selectable_labels = false;
            style.animation_time = 0.0;
        });
    }
}

fn fonts(ctx: &egui::Context) {
    let mut all = FontDefinitions::default();
    let mut face = |name: &str, bytes: &'static [u8]| {
        all.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    };
    face("sans", include_bytes!("../../../data/fonts/SourceSans3-Regular.ttf"));
    face("sans bold", include_bytes!("../../../data/fonts/SourceSans3-SemiBold.ttf"));
    face("serif", include_bytes!("../../../data/fonts/SourceSerif4-SemiBold.ttf"));
    // Signs that a face lacks (arrows, primes, degree forms) come from the next one in its family.
    let rest = ["sans", "Hack", "NotoEmoji-Regular", "emoji-icon-font"];
    for (family, face) in [(FontFamily::Proportional, "sans"), (bold(), "sans bold"), (serif(), "serif")] {
        let mut faces = vec![face.to_owned()];
        faces.extend(rest.iter().filter(|f| **f != face && all.font_data.contains_key(**f)).map(|f| (*f).to_owned()));
        all.families.insert(family, faces);
    }
    ctx.set_fonts(all);
}

fn visuals(mode: Mode, p: &Palette) -> Visuals {
    let mut v = match mode {
        Mode::Light => Visuals::light(),
        Mode::Dark => Visuals::dark(),
    };
    v.override_text_color = None;
    v.panel_fill = p.paper;
    v.window_fill = p.card;
    v.extreme_bg_color = p.card;
    v.text_edit_bg_color = Some(p.card);
    v.faint_bg_color = p.rule.gamma_multiply(0.22);
    v.code_bg_color = p.rule.gamma_multiply(0.3);
    v.weak_text_color = Some(p.soft);
    v.hyperlink_color = p.accent;
    v.warn_fg_color = p.accent;
    v.error_fg_color = p.danger;
    v.window_stroke = Stroke::new(1.0, p.ink);
    v.window_corner_radius = CornerRadius::ZERO;
    v.menu_corner_radius = CornerRadius::ZERO;
    v.window_shadow = egui::Shadow { offset: [0, 2], blur: 12, spread: 0, color: Color32::from_black_alpha(60) };
    v.popup_shadow = v.window_shadow;
    v.selection.bg_fill = p.accent.gamma_multiply(0.22);
    v.selection.stroke = Stroke::new(FOCUS, p.accent);
    v.striped = false;
    v.button_frame = true;
    let w = &mut v.widgets;
    for (look, fill, line, ink) in [
        (&mut w.noninteractive, p.paper, p.rule, p.ink),
        (&mut w.inactive, Color32::TRANSPARENT, p.rule, p.ink),
        // What is pointed at is filled; what has the keyboard has a thick edge. The one cannot be taken for the other.
        (&mut w.hovered, p.rule.gamma_multiply(0.5), p.rule, p.ink),
        (&mut w.active, Color32::TRANSPARENT, p.accent, p.ink),
        (&mut w.open, p.rule.gamma_multiply(0.35), p.soft, p.ink),
    ] {
        look.bg_fill = fill;
        look.weak_bg_fill = fill;
        look.bg_stroke = Stroke::new(1.0, line);
        look.fg_stroke = Stroke::new(1.2, ink);
        look.corner_radius = CornerRadius::same(2);
        look.expansion = 0.0;
    }
    w.active.bg_stroke = Stroke::new(FOCUS, p.accent);
    // Sliders and scroll bars fill with this and must show against the card.
    w.inactive.bg_fill = p.rule;
    w.hovered.bg_fill = p.soft;
    w.active.bg_fill = p.accent;
    v
}

/// What lies behind a name on the chart steps back a little.
pub(crate) fn plate(painter: &egui::Painter, of: egui::Rect) {
    let paper = palette(painter.ctx()).card.gamma_multiply(0.55);
    painter.rect_filled(of.expand2(Vec2::new(2.5, 0.0)), CornerRadius::same(3), paper);
}

/// Text on the chart with a thin edge of paper, so that it reads over anything.
pub(crate) fn halo_text(
    painter: &egui::Painter,
    at: egui::Pos2,
    anchor: egui::Align2,
    text: &str,
    font: FontId,
    ink: Color32,
) -> egui::Rect {
    let p = palette(painter.ctx());
    let galley = painter.layout_no_wrap(text.to_owned(), font, ink);
    let rect = anchor.anchor_size(at, galley.size());
    for n in 0..8 {
        let by = Vec2::angled(n as f32 * std::f32::consts::FRAC_PI_4) * 1.4;
        painter.galley_with_override_text_color(rect.min + by, Arc::clone(&galley), p.card);
    }
    painter.galley(rect.min, galley, ink);
    rect
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance (WCAG 2.2, "relative luminance").
    fn luminance(c: Color32) -> f64 {
        let part = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(c.r()) + 0.7152 * part(c.g()) + 0.0722 * part(c.b())
    }

    /// Contrast ratio (WCAG 2.2, "contrast ratio").
    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_measure_is_that_of_the_guidelines() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        // #767676 on white is the usual example of the least grey that passes: 4.54.
        assert!((contrast(rgb(0x76_7676), Color32::WHITE) - 4.54).abs() < 0.01);
    }

    /// WCAG 2.2, success criteria 1.4.3 (text, 4.5) and 1.4.11 (what is not text, 3.0), level AA.
    #[test]
    fn text_and_marks_stand_out_by_day_and_by_night() {
        for (name, p) in [("day", &DAY), ("night", &NIGHT)] {
            let grounds = [("paper", p.paper), ("card", p.card)];
            let texts = [
                ("ink", p.ink),
                ("soft", p.soft),
                ("accent", p.accent),
                ("danger", p.danger),
                ("heavy", p.heavy),
                ("light", p.light),
                ("cluster", p.cluster),
                ("zone", p.zone),
                ("water's edge", p.water_edge),
                ("picked", p.picked),
            ];
            for (on, ground) in grounds {
                for (what, colour) in texts {
                    let ratio = contrast(colour, ground);
                    assert!(ratio >= 4.5, "{name}: {what} on {on} has {ratio:.2}");
                }
            }
            // The flag in Time is written in the card's colour on the accent.
            assert!(contrast(p.card, p.accent) >= 4.5, "{name}: the flag");
            // What is pointed at is filled; its words still stand out.
            let over = |fill: Color32, ground: Color32| {
                let mix = |f: u8, g: u8| (f32::from(f) + f32::from(g) * (1.0 - f32::from(fill.a()) / 255.0)).min(255.0) as u8;
                Color32::from_rgb(mix(fill.r(), ground.r()), mix(fill.g(), ground.g()), mix(fill.b(), ground.b()))
            };
            let pointed = over(p.rule.gamma_multiply(0.5), p.card);
            assert!(contrast(p.ink, pointed) >= 4.5, "{name}: what is pointed at");
            // The mark of what may be ordnance has an edge in the card's colour all round, and names have ink on any sand.
            assert!(contrast(p.danger, p.card) >= 3.0, "{name}: ordnance against its edge");
            for (n, sand) in p.sand.iter().enumerate() {
                assert!(contrast(p.ink, *sand) >= 3.0, "{name}: ink on sand {n}");
            }
            assert!(contrast(p.accent, p.card) >= 3.0, "{name}: the edge of what has the keyboard");
        }
    }
}
