//! What a pack holds, with a checksum for each file.

use serde_json::json;
use sha2::{Digest as _, Sha256};

use super::PackAsk;
use super::counted::Sums;
use crate::book::Permission;
use crate::output::{MARK, as_written};

/// SHA-256 (FIPS 180-4), hexadecimal.
pub(super) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

/// The manifest of files as they will stand on disk, and its own checksum.
pub(super) fn manifest(files: &[(String, Vec<u8>)], permission: &Permission, ask: &PackAsk, sums: &Sums) -> (Vec<u8>, String) {
    let listed: Vec<_> = files
        .iter()
        .map(|(name, bytes)| {
            let written = as_written(bytes);
            json!({ "name": name, "bytes": written.len(), "sha256": sha256(&written) })
        })
        .collect();
    let document = json!({
        "generator": format!("Scourline {MARK}"),
        "permission": permission.name,
        "holder": permission.holder,
        "from": ask.from,
        "to": ask.to,
        "new_only": ask.new_only,
        "finds": sums.finds,
        "outings": sums.outings,
        "files": listed,
    });
    let text = format!("{document:#}\n").into_bytes();
    let own = sha256(&as_written(&text));
    (text, own)
}

#[cfg(test)]
mod tests {
    use super::*;

    // FIPS 180-4's own example, "abc" (NIST, "Examples with intermediate values", SHA-256).
    #[test]
    fn the_checksum_is_that_of_the_standard() {
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
