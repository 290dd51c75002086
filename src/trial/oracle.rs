//! What can be told at all: the evidence that somebody would have who knows a pattern's place and days.
//!
//! Of N finds of a class that were made on outings with a track, c lie in the pattern and its days; e is N times the
//! pattern's share of the finds to be expected without it ([`Truth::expected`]). As effort may be misjudged, it is
//! held against m = 1.15 times as much: e' = N m e / (m e + N - e), which keeps e' below N. The log likelihood ratio
//! of a share against another (binomial, the scan statistic of Kulldorff 1997 at a known place) is then
//! c ln(c / e') + (N - c) ln((N - c) / (N - e')), and 0 unless c exceeds e'.

use serde::{Deserialize, Serialize};

use super::world::{Class, Found, Truth, Window};

/// By how much effort may be misjudged.
const MARGIN: f64 = 1.15;
/// Above this a pattern is well evidenced.
pub const WELL: f64 = 15.0;
/// Above this it is fairly evidenced.
pub const FAIR: f64 = 8.0;

/// The evidence for one planted pattern.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Finds of its class in it and its days.
    pub count: usize,
    /// Finds of its class anywhere.
    pub of: usize,
    /// How many of these would be expected in it without it, the margin included.
    pub expected: f64,
    /// Log likelihood ratio.
    pub log_likelihood_ratio: f64,
}

/// How strong the evidence is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Strength {
    /// A log likelihood ratio above [`WELL`].
    Well,
    /// Above [`FAIR`].
    Fair,
    /// Less.
    Weak,
}

impl Evidence {
    /// From `count` finds of `of` where `even` would be expected on even ground with the effort as it was.
    pub(super) fn new(count: usize, of: usize, even: f64) -> Self {
        let (c, n) = (count as f64, of as f64);
        let expected = if even > 0.0 { n * MARGIN * even / (MARGIN * even + n - even) } else { 0.0 };
        let times_ln = |seen: f64, due: f64| if seen > 0.0 { seen * (seen / due.max(1e-9)).ln() } else { 0.0 };
        let log_likelihood_ratio = if c > expected { times_ln(c, expected) + times_ln(n - c, n - expected) } else { 0.0 };
        Self { count, of, expected, log_likelihood_ratio }
    }

    pub(super) fn strength(&self) -> Strength {
        match self.log_likelihood_ratio {
            r if r > WELL => Strength::Well,
            r if r > FAIR => Strength::Fair,
            _ => Strength::Weak,
        }
    }
}

/// The evidence by where things lay, and by where the book says: within the pattern grown by the receiver's error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Both {
    /// By where they lay.
    pub as_lay: Evidence,
    /// By where the book says.
    pub as_noted: Evidence,
}

/// The evidence for every planted scour line and drop zone, in their order.
pub(super) fn evidence(truth: &Truth) -> (Vec<Both>, Vec<Both>) {
    let grown_m = truth.receiver.sigma_m();
    let lines = truth.lines.iter().map(|l| Planted {
        holds: Box::new(|at: (f64, f64), grown: f64| l.holds(&truth.land, at.0, at.1, grown)),
        from_s: l.from_s,
        heavy: true,
    });
    let zones = truth.zones.iter().map(|z| Planted {
        holds: Box::new(|at: (f64, f64), grown: f64| z.holds(at.0, at.1, grown)),
        from_s: z.from_s,
        heavy: false,
    });
    let planted: Vec<Planted> = lines.chain(zones).collect();
    let windows: Vec<Window> = planted
        .iter()
        .flat_map(|p| {
            [0.0, grown_m].map(|grown| Window { holds: Box::new(move |a, c| (p.holds)((a, c), grown)), from_s: p.from_s })
        })
        .collect();
    let expected = truth.expected(&windows);
    let all = expected.tracked(truth);
    let share = |n: usize| if all > 0.0 { expected.in_windows[n] / all } else { 0.0 };
    let mut told = planted.iter().enumerate().map(|(n, p)| {
        let counted = || truth.finds.iter().filter(|f| f.counted && (!p.heavy || f.class == Class::Heavy));
        let of = counted().count();
        let by = |grown: f64, place: fn(&Found) -> (f64, f64), window: usize| {
            let inside = |f: &&Found| (p.holds)(place(f), grown) && p.from_s.is_none_or(|from| f.time_s >= from);
            Evidence::new(counted().filter(inside).count(), of, share(window) * of as f64)
        };
        Both { as_lay: by(0.0, |f| f.lay, 2 * n), as_noted: by(grown_m, |f| f.noted, 2 * n + 1) }
    });
    let lines = told.by_ref().take(truth.lines.len()).collect();
    (lines, told.collect())
}

struct Planted<'a> {
    holds: Box<dyn Fn((f64, f64), f64) -> bool + 'a>,
    from_s: Option<i64>,
    heavy: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: 100 finds, 10 expected inside, 30 made. e' = 100 * 11.5 / (11.5 + 90) = 11.330;
    /// 30 ln(30 / 11.330) + 70 ln(70 / 88.670) = 29.212 - 16.549 = 12.663.
    #[test]
    fn the_log_likelihood_ratio_is_that_worked_by_hand() {
        let e = Evidence::new(30, 100, 10.0);
        assert!((e.expected - 11.330).abs() < 1e-3, "{e:?}");
        assert!((e.log_likelihood_ratio - 12.663).abs() < 5e-3, "{e:?}");
        assert_eq!(e.strength(), Strength::Fair);
        // 11 are more than expected on even ground, but not more than the margin allows.
        assert_eq!(Evidence::new(11, 100, 10.0).log_likelihood_ratio, 0.0);
        assert_eq!(Evidence::new(0, 0, 0.0).log_likelihood_ratio, 0.0);
        assert_eq!(Evidence::new(60, 100, 10.0).strength(), Strength::Well);
        let all = Evidence::new(5, 5, 1.0);
        assert!(all.log_likelihood_ratio.is_finite() && all.expected < 5.0);
    }
}
