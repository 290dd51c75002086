//! What it takes to tell a rich place from luck: the power of the scans for hot spots.
//!
//! A place is told of when it holds more finds than any window of a scan does by luck, up to the stated chance
//! of a false alarm. Every window is counted as a test of its own here (Bonferroni), which asks for somewhat
//! more than the scan itself does: windows overlap. The critical count of a place with e finds expected is the
//! least n with P(X >= n) <= p / windows, X Poisson of mean e; one k times as rich is told with the power
//! P(Y >= n), Y of mean k e. As counts are whole the power saws up and down with e; told is the e from which it
//! stays above what is asked. As the scan counts only what goes beyond effort misjudged by a margin m, e is m times
//! what the ground would give, and a place k times as rich is k / m times as rich as that. O(critical count) gamma quantiles and O(cells) for the ground in one place.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::gamma_lr;

use super::hot_spot::{HALF_WIDTHS_M, STRETCHES};
use super::run::ScanRun;
use crate::chance::gamma_quantile;
use crate::reading::given::WeightChoice;
use crate::reading::params::Params;
use crate::reading::rates::{CellReading, Cells, Rate, Yield, round_up};

/// A place so many times as rich as the beach is asked about, ...
const TIMES: f64 = 2.0;
/// ... to be told in this share of cases.
const POWER: f64 = 0.8;
/// Windows that a scan lays round each cell.
const WINDOWS_A_CELL: f64 = (HALF_WIDTHS_M.len() * STRETCHES.len()) as f64;
/// No place is asked for that needs more finds than this.
const MOST_FINDS: u32 = 2000;

/// What it takes to tell a rich place from luck, for one choice of finds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToTell {
    /// Which finds.
    pub of: WeightChoice,
    /// How many times as rich as the beach the place is that is asked about.
    pub times: f64,
    /// Share of cases in which it is to be told.
    pub power: f64,
    /// Chance of a false alarm on even ground, all windows of all scans allowed for.
    pub p: f64,
    /// The figures; `None` where too few finds were made for a scan, or none.
    pub needed: Option<Needed>,
    /// The same as a sentence, or what is lacking for a scan.
    pub surer: String,
}

/// Ground that one place must have.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Needed {
    /// Finds that the rate of the beach would give there.
    pub expected: f64,
    /// Ground swept on which it would, m².
    pub swept_m2: f64,
    /// Side of the place, a square, metres: one that has room for it or, where the windows of the scan have not,
    /// the largest; then it is to be swept again and again.
    pub side_m: f64,
    /// The most ground swept in any such square now, m².
    pub most_swept_m2: f64,
    /// How many times as rich as the beach that square would have to be to be told now.
    pub times_now: Option<f64>,
}

/// Finds expected by luck from which on a place `times` as rich is told with `power`, at `alpha` a window.
fn expected_for(times: f64, power: f64, alpha: f64) -> Option<f64> {
    // Up to the mean `most` of a count its critical value is at most that count.
    (1..MOST_FINDS).map(f64::from).find_map(|count| {
        let most = gamma_quantile(count, alpha);
        (gamma_lr(count + 1.0, times * most) >= power).then(|| gamma_quantile(count, power) / times)
    })
}

/// The least count that luck gives with a chance of at most `alpha` where so many are expected.
fn critical(expected: f64, alpha: f64, least: u32) -> Option<f64> {
    (expected > 0.0).then(|| (least.max(1)..MOST_FINDS).map(f64::from).find(|n| gamma_lr(*n, expected) <= alpha))?
}

/// How many times as rich a place with so many finds expected must be to be told with `power`.
fn times_for(expected: f64, power: f64, alpha: f64, least: u32) -> Option<f64> {
    critical(expected, alpha, least).map(|count| gamma_quantile(count, power) / expected)
}

/// Chance of a false alarm left to one window when all windows of all scans are to give `worst_p` together.
fn alpha(run: &ScanRun, scans: usize, params: &Params) -> f64 {
    params.worst_p / (WINDOWS_A_CELL * run.cells.max(1) as f64 * scans.max(1) as f64)
}

/// No place is wider than this, metres: a square as large as the largest window. In a larger one a window would see
/// but a part.
fn widest_m() -> f64 {
    let most = |of: &[f64]| of.iter().copied().fold(0.0, f64::max);
    most(&HALF_WIDTHS_M) * (std::f64::consts::PI * most(&STRETCHES)).sqrt()
}

/// How many times as rich as the rest ground may seem because effort is misjudged.
fn margin(params: &Params) -> f64 {
    1.0 + params.effort_error
}

/// The finds from which on ground with so many expected is told from luck; `None` without a scan of such finds.
pub(in crate::reading) fn told_from(expected: f64, of: WeightChoice, runs: &[ScanRun], params: &Params) -> Option<f64> {
    let run = runs.iter().find(|r| r.of == of && r.sought == "hot_spot")?;
    critical(margin(params) * expected, alpha(run, runs.len(), params), params.least_in_spot)
}

/// For all finds, the heavy and the light ones.
pub(in crate::reading) fn to_tell(whole: &Yield, cells: &Cells, runs: &[ScanRun], params: &Params) -> Vec<ToTell> {
    let rates = [whole.rate, whole.rate_heavy, whole.rate_light];
    let told = |(of, rate): (WeightChoice, Option<Rate>)| {
        let run = runs.iter().find(|r| r.of == of && r.sought == "hot_spot");
        let needed = run.zip(rate).and_then(|(run, rate)| needed(run, rate, cells, runs.len(), params));
        let surer = match &needed {
            Some(n) => sentence(of, n, rate, params),
            None => lacking(of, whole.counts.count(of), rate, params),
        };
        ToTell { of, times: TIMES, power: POWER, p: params.worst_p, needed, surer }
    };
    WeightChoice::ALL.into_iter().zip(rates).map(told).collect()
}

fn needed(run: &ScanRun, rate: Rate, cells: &Cells, scans: usize, params: &Params) -> Option<Needed> {
    let alpha = alpha(run, scans, params);
    let per_m2 = rate.per_100m2 / 100.0;
    if per_m2 <= 0.0 || cells.cell_m <= 0.0 {
        return None;
    }
    let margin = margin(params);
    let expected = expected_for(TIMES / margin, POWER, alpha)? / margin;
    let swept_m2 = expected / per_m2;
    let wide = (swept_m2.sqrt() / cells.cell_m).ceil().min((widest_m() / cells.cell_m).floor()).max(1.0);
    let most_swept_m2 = most_swept(cells, wide as usize)?;
    let times_now = times_for(margin * per_m2 * most_swept_m2, POWER, alpha, params.least_in_spot).map(|times| margin * times);
    Some(Needed { expected, swept_m2, side_m: wide * cells.cell_m, most_swept_m2, times_now })
}

/// The most ground swept in any square of `wide` by `wide` cells, m²; `None` where the cells lie too far apart to be laid out.
fn most_swept(cells: &Cells, wide: usize) -> Option<f64> {
    let index = |m: f64| (m / cells.cell_m).floor() as i64;
    let range = |of: fn(&CellReading) -> f64| {
        let values = || cells.cells.iter().map(|c| index(of(c)));
        Some((values().min()?, usize::try_from(values().max()? - values().min()?).ok()? + 1))
    };
    let ((left, columns), (top, rows)) = (range(|c| c.along_m)?, range(|c| c.across_m)?);
    let width = columns + 1;
    let size = width.checked_mul(rows + 1).filter(|n| *n <= 4_000_000)?;
    // Sums of all that lies left of and above each corner.
    let mut sums = vec![0.0; size];
    for c in &cells.cells {
        let (column, row) = ((index(c.along_m) - left) as usize, (index(c.across_m) - top) as usize);
        sums[(row + 1) * width + column + 1] += c.swept_m2;
    }
    for n in width..size {
        if n % width > 0 {
            sums[n] += sums[n - 1] + sums[n - width] - sums[n - width - 1];
        }
    }
    let within = |row: usize, column: usize| {
        let (low, right) = ((row + wide).min(rows), (column + wide).min(columns));
        sums[low * width + right] - sums[row * width + right] - sums[low * width + column] + sums[row * width + column]
    };
    let corners = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    Some(corners.map(|(row, column)| within(row, column)).fold(0.0, f64::max))
}

fn word(of: WeightChoice) -> &'static str {
    match of {
        WeightChoice::All => "",
        WeightChoice::Heavy => "heavy ",
        WeightChoice::Light => "light ",
    }
}

fn sentence(of: WeightChoice, n: &Needed, rate: Option<Rate>, params: &Params) -> String {
    let rate = rate.map_or(0.0, |r| r.per_100m2);
    let of_ten = (10.0 * POWER).round();
    let more_m2 = n.swept_m2 - n.most_swept_m2;
    let sweeps = n.swept_m2 / n.side_m.powi(2);
    let more = if sweeps > 1.0 {
        format!(
            "{} m² swept in one place of {:.0} by {:.0} m (now {:.0} m² at most), gone over {:.0} times with time to fill up between them,",
            round_up(n.swept_m2),
            n.side_m,
            n.side_m,
            n.most_swept_m2,
            sweeps.ceil()
        )
    } else if more_m2 > 0.0 {
        format!("another {} m² swept in one place of {:.0} by {:.0} m", round_up(more_m2), n.side_m, n.side_m)
    } else {
        format!("as much ground elsewhere as the best-covered {:.0} by {:.0} m have", n.side_m, n.side_m)
    };
    let now = n.times_now.map_or_else(String::new, |times| {
        format!(
            "; as it stands, the best-covered such place ({:.0} m² swept) would be told from {times:.1} times on",
            n.most_swept_m2
        )
    });
    format!(
        "{more} would tell a place {TIMES:.0} times as rich in {}finds as the beach ({rate:.2} per 100 m²) from luck in {of_ten:.0} of 10 \
         cases, with a false alarm on {:.0} of 100 beaches at most{now}",
        word(of),
        100.0 * params.worst_p
    )
}

/// What is lacking for a scan of these finds.
fn lacking(of: WeightChoice, finds: usize, rate: Option<Rate>, params: &Params) -> String {
    let (what, least) = (word(of), params.least_finds);
    let Some(rate) = rate else {
        return format!("tracks that show which ground was covered; at least {least} {what}finds on it are needed");
    };
    let short = least.saturating_sub(finds) as f64;
    if short <= 0.0 {
        return format!("at least {least} {what}finds on ground that tracks show as swept are needed");
    }
    let more = if rate.per_100m2 > 0.0 {
        format!("another {} m² at the rate so far ({:.2} per 100 m²)", round_up(100.0 * short / rate.per_100m2), rate.per_100m2)
    } else {
        format!(
            "at least another {} m², as no more than {:.2} per 100 m² lie there",
            round_up(100.0 * short / rate.high),
            rate.high
        )
    };
    format!("{more} would bring the {least} {what}finds that it takes; there are {finds}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::given::Counts;

    /// scipy 1.17.1, by brute force over e in steps of 0.001: the critical count is the least n with
    /// `poisson.sf(n - 1, e) <= alpha`, the power `poisson.sf(n - 1, times * e)`, and told is the e after the last
    /// at which the power falls short of 0.8.
    #[test]
    fn the_finds_a_place_needs_agree_with_scipy() {
        for (times, alpha, want) in REFERENCE {
            let got = expected_for(times, 0.8, alpha).unwrap();
            assert!((got - want).abs() <= 0.002, "{times} times at {alpha}: {got} instead of {want}");
            // At that expectation the same richness is what can be told.
            let back = times_for(got * 1.0001, 0.8, alpha, 1).unwrap();
            assert!(back <= times + 1e-3, "{back} instead of {times}");
        }
        assert!(times_for(0.0, 0.8, 1e-6, 5).is_none() && expected_for(1.0001, 0.8, 1e-6).is_none());
    }

    const REFERENCE: [(f64, f64, f64); 4] =
        [(2.0, 1e-6, 43.708), (2.0, 0.05 / 96_000.0, 45.278), (3.0, 1e-5, 11.496), (1.5, 1e-4, 101.970)];

    fn cell(along_m: f64, across_m: f64, swept_m2: f64) -> CellReading {
        CellReading {
            along_m,
            across_m,
            counts: Counts::default(),
            signals: 0,
            counted: 0,
            swept_m2,
            exposure_m2: swept_m2,
            left: 1.0,
            last_s: None,
            again_m2: 0.0,
            drawn_per_100m2: 0.0,
            low: 0.0,
            high: 0.0,
        }
    }

    #[test]
    fn the_best_covered_place_is_found_wherever_its_corner_lies() {
        // Two bars crossing at (25, 25): no corner of the best square is swept itself.
        let bars = [(15.0, 25.0), (25.0, 25.0), (35.0, 25.0), (25.0, 15.0), (25.0, 35.0), (95.0, 95.0)];
        let cells = Cells { cell_m: 10.0, mean_per_100m2: 1.0, cells: bars.iter().map(|(a, b)| cell(*a, *b, 50.0)).collect() };
        assert_eq!(most_swept(&cells, 1), Some(50.0));
        assert_eq!(most_swept(&cells, 2), Some(150.0));
        assert_eq!(most_swept(&cells, 3), Some(250.0));
        assert_eq!(most_swept(&cells, 50), Some(300.0));
        assert_eq!(most_swept(&Cells::default(), 2), None);
    }

    #[test]
    fn more_ground_makes_the_sentence_ask_for_less() {
        let params = Params::default();
        let run = ScanRun {
            of: WeightChoice::All,
            sought: "hot_spot".to_owned(),
            finds: 60,
            cell_m: 4.0,
            cells: 500,
            replicates: 999,
            outings_cv: 0.0,
            by_distance: false,
            p: Some(0.4),
            q: Some(0.4),
        };
        let strip = |columns: u32| {
            let at = |n: u32| 10.0 * f64::from(n) + 5.0;
            let cells = (0..columns).flat_map(|a| (0..columns).map(move |b| cell(at(a), at(b), 80.0)));
            Cells { cell_m: 10.0, mean_per_100m2: 1.0, cells: cells.collect() }
        };
        let rate = Rate::counted(60.0, 3000.0).unwrap();
        let told = |columns| needed(&run, rate, &strip(columns), 1, &params).unwrap();
        let (few, many) = (told(2), told(4));
        assert_eq!((few.swept_m2, few.side_m), (many.swept_m2, many.side_m));
        assert_eq!((few.most_swept_m2, many.most_swept_m2), (320.0, 1280.0));
        assert!(few.times_now.unwrap() > many.times_now.unwrap() && many.times_now.unwrap() > 2.0, "{few:?} {many:?}");
        let said = sentence(WeightChoice::Heavy, &few, Some(rate), &params);
        let more = round_up(few.swept_m2 - 320.0);
        assert!(said.starts_with(&format!("another {more} m² swept in one place of {:.0} by", few.side_m)), "{said}");
        assert!(said.contains("2 times as rich in heavy finds") && said.contains("8 of 10 cases"), "{said}");
        assert!(said.contains("320 m² swept) would be told from"), "{said}");
        // Effort known exactly asks for less ground.
        let exact = Params { effort_error: 0.0, ..params.clone() };
        assert!(needed(&run, rate, &strip(2), 1, &exact).unwrap().swept_m2 < 0.8 * few.swept_m2);
        // At a tenth of the rate no window of the scan has room for the ground: the same place, again and again.
        let rare = Rate::counted(6.0, 3000.0).unwrap();
        let few = needed(&run, rare, &strip(2), 1, &params).unwrap();
        assert_eq!((few.side_m, few.most_swept_m2), (60.0, 320.0));
        let said = sentence(WeightChoice::All, &few, Some(rare), &params);
        let times = (few.swept_m2 / 3600.0).ceil();
        assert!(times > 2.0 && said.contains(&format!("(now 320 m² at most), gone over {times:.0} times")), "{said}");
    }

    #[test]
    fn too_few_finds_ask_for_the_ground_that_would_bring_them() {
        let params = Params::default();
        let said = lacking(WeightChoice::Heavy, 8, Rate::counted(8.0, 800.0), &params);
        // Twelve more at one per 100 m².
        assert!(
            said.starts_with("another 1200 m² at the rate so far (1.00 per 100 m²) would bring the 20 heavy finds"),
            "{said}"
        );
        // No find on 400 m²: at most 0.92 per 100 m² (Garwood), so twenty need at least 2169 m².
        let said = lacking(WeightChoice::All, 0, Rate::counted(0.0, 400.0), &params);
        assert!(said.starts_with("at least another 2200 m², as no more than 0.92 per 100 m² lie there"), "{said}");
        assert!(lacking(WeightChoice::All, 30, None, &params).starts_with("tracks that show which ground was covered"));
    }
}
