//! The mark by which the program knows a file it made, with a seal over everything else in the file.

use std::borrow::Cow;

/// The mark, its seal still blank, for a format to place where people do not read. The first one in a file counts.
pub const MARK: &str = "scourline-made-00000000000000000000000000000000";

const TAG: &[u8] = b"scourline-made-";
const DIGITS: usize = 32;
/// A picture's own word for what made it (PNG, third edition, 11.3.3.2: keyword, a zero byte, text); its chunks
/// carry sums of their own, so it has no seal.
const PNG_SOFTWARE: &[u8] = b"tEXtSoftware\0Scourline";

fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).position(|w| w == wanted)
}

/// The first 32 hexadecimal digits of BLAKE3 over the bytes.
fn seal_of(blank: &[u8]) -> String {
    blake3::hash(blank).to_hex().chars().take(DIGITS).collect()
}

/// The bytes with the seal of their first mark filled in; as they are where they hold no blank mark.
pub(super) fn sealed(bytes: &[u8]) -> Cow<'_, [u8]> {
    let Some(at) = find(bytes, TAG).filter(|at| bytes[*at..].starts_with(MARK.as_bytes())) else { return Cow::Borrowed(bytes) };
    let mut sealed = bytes.to_vec();
    let digits = at + TAG.len();
    sealed[digits..digits + DIGITS].copy_from_slice(seal_of(bytes).as_bytes());
    Cow::Owned(sealed)
}

/// The bytes as they will stand on disk: with the seal of their first mark filled in.
pub fn as_written(bytes: &[u8]) -> Vec<u8> {
    sealed(bytes).into_owned()
}

/// Whether the program made these bytes, whoever changed them since.
pub fn is_marked(bytes: &[u8]) -> bool {
    is_own(bytes) || find(bytes, TAG).is_some()
}

/// Whether the program made these bytes and nobody changed them since.
pub fn is_own(bytes: &[u8]) -> bool {
    if bytes.starts_with(b"\x89PNG") {
        return find(&bytes[..bytes.len().min(4096)], PNG_SOFTWARE).is_some();
    }
    let Some(digits) = find(bytes, TAG).map(|at| at + TAG.len()) else { return false };
    let Some(seal) = bytes.get(digits..digits + DIGITS) else { return false };
    let mut blank = bytes.to_vec();
    blank[digits..digits + DIGITS].fill(b'0');
    seal == seal_of(&blank).as_bytes()
}
