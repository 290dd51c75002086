//! What each outing did in each cell, in order of time: the stays from which exposure is worked out.

use rayon::prelude::*;

use super::field::Field;
use crate::book::Uid;
use crate::reading::given::{OutingTables, Visits};

/// What one outing did in one cell of the field.
#[derive(Clone, Copy)]
pub(super) struct Stay {
    pub(super) cell: u32,
    pub(super) outing: u32,
    /// Days since 1970; NaN for an outing without a date.
    day: f64,
    pub(super) swept_m2: f32,
    /// How often it passed over what it swept, at least 1.
    passes: f32,
}

/// All stays, in order of cell and then of time.
pub(super) struct Stays {
    pub(super) all: Vec<Stay>,
    /// The stay that each of [`Visits::all`] belongs to, [`NO_STAY`] for none.
    pub(super) of_visit: Vec<u32>,
    cell_m2: f64,
}

pub(super) const NO_STAY: u32 = u32::MAX;

/// However often ground was searched, so much of what lies there is left: what lay on edge, beside the lanes or just
/// too deep, and what the receiver's error put elsewhere (this project's judgement, no published source).
const LEAST_LEFT: f64 = 0.05;

impl Stays {
    pub(super) fn new(outings: &OutingTables, visits: &Visits, field: &Field) -> Self {
        let day_of = |outing: &Option<Uid>| {
            let outing = outing.and_then(|o| outings.outings().get(&o));
            outing.map_or(f64::NAN, |o| o.start.as_second() as f64 / 86_400.0)
        };
        let day_of: Vec<f64> = visits.outings().iter().map(day_of).collect();
        let of_square = field.of_square.iter().enumerate();
        let mut squares: Vec<(usize, usize)> = of_square.filter_map(|(n, cell)| Some(((*cell)?, n))).collect();
        squares.sort_unstable();
        let of_cells: Vec<&[(usize, usize)]> = squares.chunk_by(|a, b| a.0 == b.0).collect();
        let in_cells: Vec<StaysOf> = of_cells.par_iter().map(|squares| stays_in(squares, visits, &day_of)).collect();
        let mut all = Vec::with_capacity(in_cells.iter().map(|(own, _)| own.len()).sum());
        let mut of_visit = vec![NO_STAY; visits.all().len()];
        for (own, of_visits) in in_cells {
            of_visits.into_iter().for_each(|(visit, stay)| of_visit[visit as usize] = all.len() as u32 + stay);
            all.extend(own);
        }
        Self { all, of_visit, cell_m2: field.cell_m * field.cell_m }
    }

    /// For every stay its exposure: m² of rested ground, swept once, that would give as much.
    ///
    /// What an outing passes over n times it finds by 1 - (1 - d)^n of what lies there; how its swaths lie on those of
    /// other outings cannot be known, as a receiver errs by more than a swath is wide, so each finds its share of
    /// whatever is left in the cell. What was taken comes back towards 1 with the time constant `days`.
    pub(super) fn exposure(&self, d: f64, days: Option<f64>) -> Vec<f32> {
        let (mut cell, mut stock, mut day) = (u32::MAX, 1.0_f64, 0.0);
        let exposure = |stay: &Stay| {
            if stay.cell != cell {
                (cell, stock, day) = (stay.cell, 1.0, stay.day);
            }
            let since = (stay.day - day).max(0.0);
            // An outing without a date leaves the stock as it is (a comparison with NaN is false).
            if since > 0.0
                && let Some(days) = days
            {
                stock = 1.0 - (1.0 - stock) * (-since / days).exp();
            }
            let found_m2 = f64::from(stay.swept_m2) * found(d, f64::from(stay.passes));
            let exposure = found_m2 / d * stock.max(LEAST_LEFT);
            stock *= 1.0 - (found_m2 / self.cell_m2).min(1.0);
            if stay.day.is_finite() {
                day = stay.day;
            }
            exposure as f32
        };
        self.all.iter().map(exposure).collect()
    }

    /// For each cell what its last visit left of what lies there, 0 to 1, and when, seconds since 1970.
    pub(super) fn left(&self, d: f64, days: Option<f64>, cells: usize) -> Vec<(f64, Option<f64>)> {
        let mut left = vec![(1.0, None); cells];
        for own in self.all.chunk_by(|a, b| a.cell == b.cell) {
            let (mut stock, mut day): (f64, Option<f64>) = (1.0, None);
            for stay in own {
                if let (Some(days), Some(before), true) = (days, day, stay.day.is_finite()) {
                    stock = 1.0 - (1.0 - stock) * (-(stay.day - before).max(0.0) / days).exp();
                }
                let found_m2 = f64::from(stay.swept_m2) * found(d, f64::from(stay.passes));
                stock *= 1.0 - (found_m2 / self.cell_m2).min(1.0);
                day = Some(stay.day).filter(|d| d.is_finite()).or(day);
            }
            left[own[0].cell as usize] = (stock.max(LEAST_LEFT), day.map(|d| d * 86_400.0));
        }
        left
    }

    /// The stays of one cell in so many, spread over the ground, and the finds made in them; both by their place here.
    pub(super) fn sampled(&self, one_in: u32, finds: &[usize]) -> (Self, Vec<usize>) {
        // Steps of the golden section, so that no row of the grid is taken whole.
        let takes = |cell: u32| cell.wrapping_mul(0x9E37_79B9).rotate_left(16).is_multiple_of(one_in);
        let mut place_of = vec![NO_STAY; self.all.len()];
        let mut all = Vec::with_capacity(self.all.len() / one_in as usize + 1);
        for (stay, place) in self.all.iter().zip(&mut place_of).filter(|(s, _)| takes(s.cell)) {
            *place = all.len() as u32;
            all.push(*stay);
        }
        let finds = finds.iter().map(|n| place_of[*n]).filter(|n| *n != NO_STAY).map(|n| n as usize).collect();
        (Self { all, of_visit: Vec::new(), cell_m2: self.cell_m2 }, finds)
    }

    /// The stay of an outing in a cell.
    pub(super) fn at(&self, cell: u32, outing: u32) -> Option<usize> {
        let first = self.all.partition_point(|s| s.cell < cell);
        let own = self.all[first..].iter().take_while(|s| s.cell == cell).position(|s| s.outing == outing)?;
        Some(first + own)
    }
}

/// Share of what lies in ground that so many passes find.
fn found(d: f64, passes: f64) -> f64 {
    // Once over is by far the most frequent.
    if passes <= 1.0 { d } else { 1.0 - (1.0 - d).powf(passes) }
}

/// Stays, and for each visit the stay it belongs to.
type StaysOf = (Vec<Stay>, Vec<(u32, u32)>);

/// What each outing did in one cell, in order of time, and to which of these each visit belongs.
fn stays_in(squares: &[(usize, usize)], visits: &Visits, day_of: &[f64]) -> StaysOf {
    // Each visit with its outing and the ground it passed over.
    let mut order: Vec<(usize, u32, f64)> = Vec::new();
    for (_, square) in squares {
        let passes = visits.passes_each(*square).min(20.0);
        let numbered = visits.numbers(*square).zip(visits.to(*square));
        order.extend(numbered.map(|(n, visit)| (visit.outing as usize, n as u32, visit.swept_m2 * passes)));
    }
    order.sort_unstable_by(|a, b| day_of[a.0].total_cmp(&day_of[b.0]).then(a.0.cmp(&b.0)).then(a.1.cmp(&b.1)));
    let mut stays: Vec<Stay> = Vec::new();
    let mut of_visits = Vec::with_capacity(order.len());
    let cell = squares.first().map_or(0, |s| s.0) as u32;
    for own in order.chunk_by(|a, b| a.0 == b.0) {
        let swept: f64 = own.iter().map(|(_, n, _)| visits.all()[*n as usize].swept_m2).sum();
        let passed: f64 = own.iter().map(|o| o.2).sum();
        of_visits.extend(own.iter().map(|(_, n, _)| (*n, stays.len() as u32)));
        let (outing, passes) = (own[0].0, if swept > 0.0 { (passed / swept).max(1.0) } else { 1.0 });
        stays.push(Stay { cell, outing: outing as u32, day: day_of[outing], swept_m2: swept as f32, passes: passes as f32 });
    }
    (stays, of_visits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sample_takes_whole_cells_spread_over_the_ground_and_their_finds() {
        let stay = |n: u32| Stay { cell: n / 3, outing: n % 3, day: f64::from(n % 3), swept_m2: 5.0, passes: 1.0 };
        let stays = Stays { all: (0..30_000).map(stay).collect(), of_visit: Vec::new(), cell_m2: 25.0 };
        let finds: Vec<usize> = (0..30_000).step_by(10).collect();
        let (sampled, in_sample) = stays.sampled(4, &finds);
        let cells: Vec<u32> = sampled.all.iter().step_by(3).map(|s| s.cell).collect();
        assert!((2300..=2700).contains(&cells.len()) && sampled.all.len() == 3 * cells.len(), "{}", cells.len());
        for rows in cells.chunk_by(|a, b| a / 1000 == b / 1000) {
            assert!((200..=300).contains(&rows.len()), "{}", rows.len());
        }
        let left = |cells: &Stays| cells.exposure(0.5, Some(30.0));
        let whole = left(&stays);
        assert!(left(&sampled).iter().zip(&sampled.all).all(|(e, s)| *e == whole[(3 * s.cell + s.outing) as usize]));
        assert!((650..=850).contains(&in_sample.len()), "{}", in_sample.len());
        assert!(in_sample.iter().all(|n| finds.contains(&((3 * sampled.all[*n].cell + sampled.all[*n].outing) as usize))));
    }
}
