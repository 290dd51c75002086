use serde::Serialize;

use super::series::Series;
use super::shape::Shape;
use crate::book::Kind;

/// How one kind reads with one set-up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Signature {
    /// The kind.
    pub kind: Kind,
    /// How the screen says it.
    pub label: String,
    /// Its centre on the ID scale.
    pub centre: f64,
    /// Ends of the 95 % interval of the centre.
    pub centre_interval: (f64, f64),
    /// Standard deviation of one pass about its specimen, at the set-up's usual depth.
    pub pass_spread: f64,
    /// Standard deviation of specimens about the centre.
    pub specimen_spread: f64,
    /// Growth of the passes' spread, per metre of depth: as exp(growth × depth).
    pub growth_per_m: f64,
    /// How many numbers higher it reads 10 cm deeper, lower if negative; 0 where nothing shows that it drifts.
    pub drift_per_10cm: f64,
    /// How many times wider the passes spread for each 10 cm of depth.
    pub wider_per_10cm: f64,
    /// Between which ends 90 % of single passes at the usual depth are expected, as many below as above.
    pub expected: (f64, f64),
    /// The fewest numbers that hold 90 % of them: more than one range where the kind reads in more than one place.
    pub ranges: Vec<Range>,
    /// Bench readings.
    pub readings: usize,
    /// Bench readings at which nothing was heard.
    pub unheard: usize,
    /// Bench targets and finds read.
    pub specimens: usize,
    /// Finds among them.
    pub finds: usize,
    /// Numbers in all.
    pub passes: usize,
    /// Share of steady, jumpy and broken readings, drawn towards the set-up's own; they add up to 1.
    pub steadiness: [f64; 3],
    /// Readings of which somebody noted how steady they were; with none the shares are those of other kinds.
    pub steadiness_noted: usize,
    /// The share of the specimens' spread that is lent by the other kinds, 0 to 1.
    pub lent: f64,
    /// Why the figures need care, if they do.
    pub care: Option<String>,
    /// How its numbers lie.
    #[serde(skip)]
    pub(super) shape: Shape,
}

/// Numbers that stand together on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Lowest number.
    pub low: f64,
    /// Highest number.
    pub high: f64,
    /// Share of single passes that fall here, 0 to 1.
    pub share: f64,
}

/// Share of the passes that the ranges hold.
const HELD: f64 = 0.9;
/// Numbers of the scale that are looked at, at most.
const MOST: f64 = 400.0;
/// A share below which a range is left to the rest.
const LEAST: f64 = 0.02;

impl Signature {
    /// Standard deviation of one pass about its specimen at a depth, metres, when the set-up's usual depth is `usual_m`.
    pub fn pass_spread_at(&self, depth_m: f64, usual_m: f64) -> f64 {
        self.pass_spread * (self.growth_per_m * (depth_m - usual_m)).clamp(-4.0, 4.0).exp()
    }
}

/// The ends between which 90 % of single passes of a shape fall, and the densest ranges that hold as many, on a scale.
pub(super) fn passes_of(shape: &Shape, (low, high): (f64, f64)) -> ((f64, f64), Vec<Range>) {
    let (low, high) = (low.floor(), high.ceil());
    let step = ((high - low) / MOST).ceil().max(1.0);
    let count = ((high - low) / step) as usize;
    let numbers: Vec<f64> = (0..=count).map(|n| low + step * n as f64).collect();
    let density: Vec<f64> = numbers.iter().map(|n| shape.ln_density(&Series::from_numbers(vec![*n]), 0.0).exp()).collect();
    let all: f64 = density.iter().sum();
    let share: Vec<f64> = density.iter().map(|d| d / all).collect();
    let at = |p: f64| {
        let mut sum = 0.0;
        let found = share.iter().position(|s| {
            sum += s;
            sum >= p
        });
        found.and_then(|n| numbers.get(n)).copied().unwrap_or(high)
    };
    let tail = 0.5 * (1.0 - HELD);
    let mut order: Vec<usize> = (0..share.len()).collect();
    order.sort_by(|a, b| share[*b].total_cmp(&share[*a]));
    let mut sum = 0.0;
    let mut held = vec![false; share.len()];
    for n in order.into_iter().take_while(|n| {
        let go_on = sum < HELD;
        sum += share[*n];
        go_on
    }) {
        held[n] = true;
    }
    let mut ranges: Vec<Range> = Vec::new();
    for (n, number) in numbers.iter().enumerate().filter(|(n, _)| held[*n]) {
        match ranges.last_mut().filter(|_| n > 0 && held[n - 1]) {
            Some(range) => (range.high, range.share) = (*number, range.share + share[n]),
            None => ranges.push(Range { low: *number, high: *number, share: share[n] }),
        }
    }
    ranges.retain(|r| r.share >= LEAST);
    ((at(tail), at(1.0 - tail)), ranges)
}
