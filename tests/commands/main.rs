//! The commands, run as a stranger runs them.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

#[cfg(feature = "window")]
mod alike;
mod believed;
mod doubts;
mod end_to_end;
mod files;
mod ground;
mod keeping;
mod kills;
mod lost;
mod permissions;
mod tides;

/// The demo's folder as a command makes it, and what that told; made once for all tests that only begin with it.
fn demo_in(folder: &std::path::Path) -> serde_json::Value {
    static MADE: std::sync::OnceLock<(tempfile::TempDir, serde_json::Value)> = std::sync::OnceLock::new();
    let (made, told) = MADE.get_or_init(|| {
        let dir = tempfile::tempdir().unwrap();
        let out = dir.path().join("demo");
        let told = end_to_end::json(&["demo", "--out", end_to_end::text(&out), "--no-window", "--json"]);
        (dir, told)
    });
    std::fs::create_dir_all(folder).unwrap();
    let mut copied = 0;
    for entry in std::fs::read_dir(made.path().join("demo")).unwrap().map(Result::unwrap) {
        // The sources stand in a folder of their own, which no test reads.
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), folder.join(entry.file_name())).unwrap();
            copied += 1;
        }
    }
    assert!(copied > 5, "{copied} files");
    told.clone()
}
