//! The readers fed with files broken at random, for as long as one likes: `tests/fuzz/plain SECONDS [TARGET ...]`. Nothing
//! guides the search here; `tests/fuzz/run` does it by what of the code was reached, at the price of a build of its own.

use std::fs;
use std::io::{Cursor, Read as _, Write as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rand::{RngExt as _, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::watch::{messages, whole};

#[path = "../../fuzz/src/lib.rs"]
#[allow(unreachable_pub, reason = "where the fuzz targets are built it is a library of its own")]
mod reading;

const TARGETS: [&str; 10] = ["gpx", "kml", "geojson", "table", "nmea", "tcx", "fit", "photo", "sheet", "geopackage"];
/// What readers look out for, of several formats.
const TOKENS: [&[u8]; 24] = [
    b"",
    b"0",
    b"-1",
    b"1e308",
    b"NaN",
    b"999999999999999999999",
    b"\n",
    b"\r\n",
    b"\"",
    b",",
    b";",
    b"<",
    b">",
    b"&amp;",
    b"&#x110000;",
    b"]]>",
    b"{",
    b"}",
    b"null",
    b"24:00:00",
    b"31/02/2024",
    b"\xEF\xBB\xBF",
    b"\xFF\xFF\xFF\xFF",
    b"\x80\0\0\0",
];
/// No mutant grows beyond this, bytes.
const LONGEST: usize = 64 * 1024;

fn here() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests")
}

fn files_in(folder: &Path) -> Vec<Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.filter_map(|e| Some(e.ok()?.path())).collect();
    paths.sort();
    paths.into_iter().filter_map(|path| fs::read(path).ok()).collect()
}

fn seeds_of(target: &str) -> Vec<Vec<u8>> {
    let reference = here().join("reference/exchange");
    let mut seeds = files_in(&here().join("fuzz/seeds").join(target));
    match target {
        "gpx" => seeds.extend(files_in(&reference.join("samples"))),
        "photo" => seeds.extend(files_in(&reference.join("photos"))),
        "sheet" => seeds.extend(files_in(&reference.join("sheets"))),
        "fit" => seeds.push(messages()),
        "geopackage" => {
            let packed = fs::read(reference.join("layers.gpkg.gz")).unwrap();
            let mut layers = Vec::new();
            flate2::read::GzDecoder::new(packed.as_slice()).read_to_end(&mut layers).unwrap();
            seeds.push(layers);
        }
        _ => {}
    }
    seeds
}

/// A seed with one to eight things done to it.
fn mutant(rng: &mut ChaCha8Rng, seeds: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = seeds[rng.random_range(0..seeds.len())].clone();
    for _ in 0..rng.random_range(1..=8) {
        let len = bytes.len().max(1);
        let (from, span) = (rng.random_range(0..len).min(bytes.len()), rng.random_range(1..=64.min(len)));
        let to = (from + span).min(bytes.len());
        match rng.random_range(0..7) {
            0 if from < bytes.len() => bytes[from] ^= 1 << rng.random_range(0..8),
            1 if from < bytes.len() => bytes[from] = rng.random_range(0..=255),
            2 => drop(bytes.drain(from..to)),
            3 => {
                let piece = bytes[from..to].to_vec();
                let at = rng.random_range(0..=bytes.len());
                drop(bytes.splice(at..at, piece));
            }
            4 => {
                let other = &seeds[rng.random_range(0..seeds.len())];
                let start = rng.random_range(0..other.len().max(1)).min(other.len());
                let piece = other[start..(start + span).min(other.len())].to_vec();
                drop(bytes.splice(from..to, piece));
            }
            5 => drop(bytes.splice(from..to.min(from + 8), TOKENS[rng.random_range(0..TOKENS.len())].iter().copied())),
            _ if rng.random_range(0..20) == 0 => bytes.truncate(from),
            _ => {}
        }
    }
    bytes.truncate(LONGEST.max(seeds.iter().map(Vec::len).max().unwrap_or(0)));
    bytes
}

/// A mutant as the reader is to have it: a FIT file's sums are right, and half of the sheets are broken inside, in a sound
/// archive; else hardly one would be read at all.
fn dressed(target: &str, rng: &mut ChaCha8Rng, seeds: &[Vec<u8>]) -> Vec<u8> {
    match target {
        "fit" => whole(&mutant(rng, seeds)),
        "sheet" if rng.random() => {
            let seed = &seeds[rng.random_range(0..seeds.len())];
            let Some(mut parts) = unpacked(seed) else { return mutant(rng, seeds) };
            let n = rng.random_range(0..parts.len());
            parts[n].1 = mutant(rng, std::slice::from_ref(&parts[n].1));
            packed(&parts)
        }
        _ => mutant(rng, seeds),
    }
}

/// The files of an archive, by name; `None` where it is none, or empty.
fn unpacked(archive: &[u8]) -> Option<Vec<(String, Vec<u8>)>> {
    let mut zip = zip::ZipArchive::new(Cursor::new(archive)).ok()?;
    let mut parts = Vec::new();
    for n in 0..zip.len() {
        let mut file = zip.by_index(n).ok()?;
        let name = file.name().ok()?.into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).ok()?;
        parts.push((name, bytes));
    }
    (!parts.is_empty()).then_some(parts)
}

fn packed(parts: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        zip.start_file(name.as_str(), zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// Every seed as it stands is taken in without a mistake, also those that once made one.
#[test]
fn what_was_once_found_is_read() {
    for target in TARGETS {
        let seeds = seeds_of(target);
        assert!(!seeds.is_empty(), "{target}");
        seeds.iter().for_each(|bytes| reading::take_in(target, bytes));
    }
}

#[test]
#[ignore = "for as long as it is told to: tests/fuzz/plain"]
fn mutants_are_read_without_a_mistake() {
    let said = |name: &str| std::env::var(name).unwrap_or_default();
    let seconds: u64 = said("FUZZ_SECONDS").parse().unwrap_or(10);
    let wanted: Vec<String> = said("FUZZ_TARGETS").split_whitespace().map(str::to_owned).collect();
    let seed: u64 = said("FUZZ_SEED").parse().unwrap_or(1);
    let mut found = 0;
    for target in TARGETS.iter().filter(|t| wanted.is_empty() || wanted.iter().any(|w| w == *t)) {
        let seeds = seeds_of(target);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let (start, mut runs, mut slowest, mut findings) = (Instant::now(), 0_u64, Duration::ZERO, 0);
        while start.elapsed() < Duration::from_secs(seconds) {
            let bytes = dressed(target, &mut rng, &seeds);
            let began = Instant::now();
            if catch_unwind(AssertUnwindSafe(|| reading::take_in(target, &bytes))).is_err() && findings < 20 {
                findings += 1;
                let name = format!("found-{:016x}", rng.random_range(0..u64::MAX));
                fs::write(here().join("fuzz/seeds").join(target).join(name), &bytes)
                    .or_else(|_| fs::write(std::env::temp_dir().join(target), &bytes))
                    .unwrap();
            }
            slowest = slowest.max(began.elapsed());
            runs += 1;
        }
        println!(
            "{target}: {runs} mutants in {} s from {} seeds (seed {seed}), {findings} finding(s), the slowest {:.2} s",
            start.elapsed().as_secs(),
            seeds.len(),
            slowest.as_secs_f64()
        );
        found += findings;
    }
    assert_eq!(found, 0, "findings are kept in tests/fuzz/seeds");
}
