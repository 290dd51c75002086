//! Finds to be expected: the true passes over sand that holds what is strewn everywhere, and nothing planted.
//!
//! Places half a metre apart stand for the sand about them. At each, the part f of the stock that is left follows
//! the passes and the renewal: a pass with chance p takes p f and leaves (1 - p) f; over a time t without one,
//! 1 - f shrinks by exp(-t / T), T being the mean time that a thing lies in reach. What storms add is a second
//! stock that decays. As things come and go independently this is the exact mean of the strewing (a Poisson
//! process thinned by independent chances), but for the spacing of the places.

use super::passes::{Coil, Places, Touched};
use super::truth::Truth;

/// Places stand this far apart, metres.
const SPACING_M: f64 = 0.5;

/// Ground and days whose expected finds are summed: whether it holds metres along and across, and since when.
pub struct Window<'a> {
    /// Whether a place lies in it.
    pub holds: Box<dyn Fn(f64, f64) -> bool + 'a>,
    /// Since when, seconds since 1970; `None` for always.
    pub from_s: Option<i64>,
}

/// Finds to be expected without any pattern, of all classes together.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// By outing, whether or not its track was kept.
    pub by_visit: Vec<f64>,
    /// In each window, of the outings whose tracks were kept.
    pub in_windows: Vec<f64>,
}

impl Expected {
    /// Over all outings whose tracks were kept.
    pub fn tracked(&self, truth: &Truth) -> f64 {
        self.by_visit.iter().zip(&truth.visits).filter(|(_, v)| v.tracked).map(|(e, _)| e).sum()
    }
}

/// What is left at a place, as shares of what lies there before anyone comes.
#[derive(Clone, Copy)]
struct Left {
    stock: f64,
    storms: f64,
    at_s: i64,
}

impl Truth {
    /// The finds to be expected from the true passes on each outing and in each window.
    pub fn expected(&self, windows: &[Window]) -> Expected {
        let mut touched = Touched::default();
        let in_use = self.visits.iter().flat_map(|v| v.steps.iter().filter(|s| s.searching));
        in_use.for_each(|s| touched.touch(s.at));
        let at = touched.grid(SPACING_M);
        let shore: Vec<(f64, f64)> = at.iter().map(|p| self.land.shore(*p)).collect();
        let things: Vec<f64> =
            shore.iter().map(|(_, across)| self.richness.per_m2(&self.land, *across) * SPACING_M * SPACING_M).collect();
        // Which windows each place lies in; most places lie in none.
        let lies_in: Vec<Vec<usize>> = shore
            .iter()
            .map(|(along, across)| (0..windows.len()).filter(|w| (windows[*w].holds)(*along, *across)).collect())
            .collect();
        let places = Places::new(at);
        let mut left = vec![Left { stock: 1.0, storms: 0.0, at_s: i64::MIN }; things.len()];
        let mut expected = Expected { by_visit: vec![0.0; self.visits.len()], in_windows: vec![0.0; windows.len()] };
        for (number, visit) in self.visits.iter().enumerate() {
            let mut coil = Coil::new(&places, visit.radius_m);
            for (n, from, to) in visit.sweeps() {
                let now_s = visit.start_s + i64::from(visit.steps[n as usize].second);
                coil.step(n, from, to, |place| {
                    let state = &mut left[place];
                    self.renew(state, now_s);
                    let found = visit.chance * (state.stock + state.storms) * things[place];
                    state.stock *= 1.0 - visit.chance;
                    state.storms *= 1.0 - visit.chance;
                    expected.by_visit[number] += found;
                    if visit.tracked {
                        for w in lies_in[place].iter().filter(|w| windows[**w].from_s.is_none_or(|f| now_s >= f)) {
                            expected.in_windows[*w] += found;
                        }
                    }
                });
            }
        }
        expected
    }

    fn renew(&self, left: &mut Left, now_s: i64) {
        let days = |from_s: i64, to_s: i64| (to_s - from_s) as f64 / 86_400.0;
        let before_s = left.at_s.max(self.span_s.0);
        if let Some(lasts) = self.richness.renewal_days {
            left.stock = 1.0 - (1.0 - left.stock) * (-days(before_s, now_s) / lasts).exp();
        }
        let fades = |from_s: i64| (-days(from_s, now_s) / self.richness.storm_days).exp();
        left.storms *= fades(before_s);
        let since = self.storms_s.iter().filter(|s| (left.at_s..now_s).contains(*s));
        left.storms += since.map(|s| self.richness.storm_gain * fades(*s)).sum::<f64>();
        left.at_s = now_s;
    }
}
