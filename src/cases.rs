//! Where a property test of this crate keeps a case that once failed: under `tests`, beside those of
//! `tests/rooms` and `tests/window`, and not in a folder of its own at the top.

use proptest::test_runner::{Config, FileFailurePersistence};

/// What every `proptest!` under `src` is configured with.
pub(crate) fn kept() -> Config {
    let folder = FileFailurePersistence::SourceParallel("tests/proptest-regressions");
    Config { failure_persistence: Some(Box::new(folder)), ..Config::default() }
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use proptest::test_runner::{FailurePersistence as _, FileFailurePersistence};

    fn files_under(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { files_under(&path, found) } else { found.push(path) }
        }
    }

    /// A recorded case is run again only while its file is called as the source that it was found in.
    #[test]
    fn every_recorded_case_is_found_again() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let folder = root.join("tests/proptest-regressions");
        let mut recorded = Vec::new();
        files_under(&folder, &mut recorded);
        assert!(!recorded.is_empty());
        let of_tests = FileFailurePersistence::default();
        for file in recorded {
            let source = file.strip_prefix(&folder).unwrap().with_extension("rs");
            let cases = |under: &str| -> usize {
                let source = root.join(under).join(&source);
                if !std::fs::read_to_string(&source).is_ok_and(|text| text.contains("proptest! {")) {
                    return 0;
                }
                let source = Some(&*source.to_string_lossy().into_owned().leak());
                match under {
                    "src" => super::kept().failure_persistence.unwrap().load_persisted_failures2(source).len(),
                    _ => of_tests.load_persisted_failures2(source).len(),
                }
            };
            assert!(cases("src") + cases("tests/rooms") + cases("tests/window") > 0, "no property test reads {}", file.display());
        }
    }
}
