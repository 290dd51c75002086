//! The colours of the ground covered, of its rates and of how sure they are.

use crate::query::drawing::{GroundShown, SHADES, Shades};

/// Five shades from little to much: by day from pale to deep, by night from deep to bright, so that
/// the scale reads without its hue.
pub(crate) fn of_ground(what: GroundShown) -> Shades {
    Shades([false, true].map(|dark| shades(what, dark)))
}

fn shades(of: GroundShown, dark: bool) -> [[u8; 3]; SHADES] {
    match (of, dark) {
        (GroundShown::Nothing | GroundShown::Covered, false) => [0xE7E4DD, 0xC6C3BC, 0xA09E99, 0x787773, 0x4C4C4A],
        (GroundShown::Rate, false) => [0xF0F4CC, 0xC4DD96, 0x88BC73, 0x4A9062, 0x1C5C4E],
        (GroundShown::Certainty, false) => [0xE9E5F1, 0xC5BCDC, 0x9E93C2, 0x7568A4, 0x4B3D7E],
        (GroundShown::Nothing | GroundShown::Covered, true) => [0x33383D, 0x51575D, 0x737A81, 0x99A0A6, 0xC6CBCF],
        (GroundShown::Rate, true) => [0x25382C, 0x335A40, 0x458459, 0x6DB074, 0xB4DE96],
        (GroundShown::Certainty, true) => [0x302A3D, 0x4B4168, 0x6B5D92, 0x9384C0, 0xC4B8EC],
    }
    .map(rgb)
}

const fn rgb(hex: u32) -> [u8; 3] {
    [(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]
}
