//! What lies in the sand: the kinds, how often each is met and where, and what a detector says to it.

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Normal};

use crate::book::{Kind, Kinds, Material};

/// Why a kind is met in three places in different numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    Scattered,
    Dropped,
    Sorted,
}

/// One kind as the generator knows it. All figures are invented.
struct Row {
    key: &'static str,
    /// How people write it down; each is recognised as `key`.
    words: &'static [&'static str],
    /// How often it is met among scattered, dropped and sorted things, in no unit.
    share: [f64; 3],
    /// Its place on an invented scale of conductivity, 0 to 1, and the spread.
    response: (f64, f64),
    /// Median mass in grams and the spread of its logarithm; 0 where nobody weighs it.
    mass: (f64, f64),
    /// Largest dimension, millimetres.
    size_mm: (f64, f64),
}

const fn row(
    key: &'static str,
    words: &'static [&'static str],
    share: [f64; 3],
    response: (f64, f64),
    mass: (f64, f64),
    size_mm: (f64, f64),
) -> Row {
    Row { key, words, share, response, mass, size_mm }
}

const ROWS: [Row; 26] = [
    row(
        "coin",
        &["20 pence", "old penny", "2 pence", "pound coin", "50 pence", "10 cents", "worn coin"],
        [12.0, 34.0, 38.0],
        (0.66, 0.07),
        (6.5, 0.35),
        (18.0, 31.0),
    ),
    row("plated_coin", &["plated steel coin", "steel penny"], [5.0, 10.0, 4.0], (0.52, 0.09), (3.9, 0.25), (18.0, 26.0)),
    row(
        "silver_coin",
        &["silver sixpence", "silver shilling", "silver coin, worn"],
        [0.2, 0.4, 3.0],
        (0.80, 0.04),
        (4.6, 0.4),
        (17.0, 30.0),
    ),
    row("gold_ring", &["9ct gold ring", "wedding ring", "gold band"], [0.1, 0.7, 1.2], (0.42, 0.08), (3.4, 0.4), (17.0, 22.0)),
    row("silver_ring", &["silver ring", "silver band"], [0.2, 1.5, 2.0], (0.60, 0.08), (3.2, 0.5), (16.0, 23.0)),
    row("ring", &["ring, plain", "tungsten ring"], [0.4, 1.6, 2.0], (0.36, 0.10), (4.5, 0.5), (17.0, 23.0)),
    row("chain", &["thin chain", "bracelet"], [0.3, 1.6, 0.2], (0.22, 0.09), (4.0, 0.7), (120.0, 220.0)),
    row("earring", &["earring", "stud", "pendant"], [0.4, 2.0, 0.2], (0.18, 0.08), (1.2, 0.5), (6.0, 24.0)),
    row("watch", &["watch, dead"], [0.1, 0.7, 0.4], (0.40, 0.12), (45.0, 0.3), (30.0, 42.0)),
    row(
        "lead_weight",
        &["lead weight", "fishing weight", "ledger weight"],
        [6.0, 1.0, 22.0],
        (0.58, 0.08),
        (42.0, 0.7),
        (15.0, 60.0),
    ),
    row("lead", &["lead piece", "lead, melted"], [3.0, 0.5, 9.0], (0.55, 0.09), (18.0, 0.8), (10.0, 50.0)),
    row("bullet", &["bullet", "musket shot"], [2.0, 0.2, 7.0], (0.50, 0.07), (10.0, 0.4), (9.0, 28.0)),
    row("cartridge", &["cartridge case"], [0.8, 0.2, 0.3], (0.48, 0.06), (6.0, 0.3), (20.0, 55.0)),
    row("button", &["button", "button, anchor pattern"], [2.0, 1.0, 0.8], (0.46, 0.10), (3.0, 0.4), (12.0, 26.0)),
    row("buckle", &["buckle", "eyelet", "boat fitting"], [1.5, 0.8, 3.5], (0.57, 0.10), (14.0, 0.7), (18.0, 60.0)),
    row("key", &["key", "door key"], [0.8, 2.5, 1.0], (0.54, 0.12), (9.0, 0.3), (45.0, 65.0)),
    row("toy", &["toy car"], [1.5, 3.5, 0.1], (0.44, 0.12), (32.0, 0.4), (40.0, 75.0)),
    row(
        "ring_pull",
        &["ring-pull", "pull tab", "ring pull, old type"],
        [17.0, 14.0, 1.0],
        (0.34, 0.07),
        (0.0, 0.0),
        (20.0, 30.0),
    ),
    row("foil", &["foil", "chocolate wrapper"], [12.0, 6.0, 0.2], (0.12, 0.07), (0.0, 0.0), (15.0, 60.0)),
    row("can", &["can slaw", "drinks can"], [7.0, 3.0, 0.3], (0.62, 0.14), (0.0, 0.0), (30.0, 120.0)),
    row("bottle_cap", &["bottle cap", "crown cap"], [9.0, 8.0, 0.4], (0.30, 0.10), (0.0, 0.0), (26.0, 32.0)),
    row("screw_cap", &["screw cap"], [4.0, 3.0, 0.2], (0.45, 0.08), (0.0, 0.0), (25.0, 32.0)),
    row("tent_peg", &["tent peg"], [1.0, 4.0, 0.1], (0.64, 0.10), (0.0, 0.0), (150.0, 200.0)),
    row("iron", &["iron bolt", "rusty iron"], [3.0, 0.7, 1.0], (0.08, 0.06), (0.0, 0.0), (30.0, 160.0)),
    row("nail", &["nail", "ship's nail"], [5.0, 1.3, 2.0], (0.06, 0.05), (0.0, 0.0), (30.0, 140.0)),
    row("hook", &["fish hook"], [4.0, 1.0, 0.3], (0.05, 0.04), (0.0, 0.0), (15.0, 60.0)),
];

/// A thing in the sand, as it would be written down once dug.
#[derive(Debug, Clone)]
pub(super) struct Thing {
    pub(super) kind: Kind,
    pub(super) what: &'static str,
    pub(super) material: Option<Material>,
    /// Place on the invented scale of conductivity, 0 to 1.
    pub(super) response: f64,
    pub(super) mass_g: Option<f64>,
    pub(super) size_mm: f64,
    pub(super) depth_m: f64,
}

/// Draws one thing of the mix that a source has.
pub(super) fn draw(source: Source, rng: &mut ChaCha8Rng) -> Thing {
    let column = source as usize;
    let whole: f64 = ROWS.iter().map(|r| r.share[column]).sum();
    let mut left = rng.random::<f64>() * whole;
    let row = ROWS
        .iter()
        .find(|r| {
            left -= r.share[column];
            left < 0.0
        })
        .unwrap_or(&ROWS[0]);
    let what = row.words[rng.random_range(0..row.words.len())];
    let kind = Kind::keyed(row.key);
    let material = Kinds::shipped().material(&kind);
    // Heavy things sink further; what was dropped this season lies shallow.
    let usual = match source {
        Source::Scattered => 0.13,
        Source::Dropped => 0.10,
        Source::Sorted => 0.17,
    };
    let depth_m = (usual * spread(rng, 0.45).exp()).clamp(0.02, 0.40);
    let mass_g = (row.mass.0 > 0.0).then(|| ((row.mass.0 * spread(rng, row.mass.1).exp()) * 10.0).round() / 10.0);
    Thing {
        kind,
        what,
        material,
        response: (row.response.0 + spread(rng, row.response.1)).clamp(0.01, 0.99),
        mass_g,
        size_mm: rng.random_range(row.size_mm.0..row.size_mm.1).round(),
        depth_m: (depth_m * 100.0).round() / 100.0,
    }
}

/// A normal error of the given standard deviation.
pub(super) fn spread(rng: &mut ChaCha8Rng, sigma: f64) -> f64 {
    Normal::new(0.0, sigma).map_or(0.0, |n| n.sample(rng))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wording_is_recognised_as_the_kind_it_stands_for() {
        for row in &ROWS {
            for words in row.words {
                assert_eq!(Kinds::shipped().recognise(words).key(), row.key, "{words}");
            }
        }
    }
}
