use egui::Color32;

/// What a scale of shades on the ground stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shade {
    Covered,
    Rate,
    Certainty,
}

/// Five shades from little to much: by day from pale to deep, by night from deep to bright, so that
/// the scale reads without its hue.
pub(crate) fn shades(of: Shade, dark: bool) -> [Color32; 5] {
    match (of, dark) {
        (Shade::Covered, false) => [0xE7E4DD, 0xC6C3BC, 0xA09E99, 0x787773, 0x4C4C4A],
        (Shade::Rate, false) => [0xF0F4CC, 0xC4DD96, 0x88BC73, 0x4A9062, 0x1C5C4E],
        (Shade::Certainty, false) => [0xE9E5F1, 0xC5BCDC, 0x9E93C2, 0x7568A4, 0x4B3D7E],
        (Shade::Covered, true) => [0x33383D, 0x51575D, 0x737A81, 0x99A0A6, 0xC6CBCF],
        (Shade::Rate, true) => [0x25382C, 0x335A40, 0x458459, 0x6DB074, 0xB4DE96],
        (Shade::Certainty, true) => [0x302A3D, 0x4B4168, 0x6B5D92, 0x9384C0, 0xC4B8EC],
    }
    .map(rgb)
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}
