//! The strongest window of one replicate: bounds turn down most windows before their ratio is taken.

use super::grid::Padded;
use super::needs::{Needs, ROUNDED, Table, least_that};
use super::plan::{LEAST_EXPECTED, Plan};
use super::window::{Row, RunningSums, most_and_any};
use crate::chance::Group;

/// A shape that is less likely than the likeliest by this, on the scale of logarithms, is not looked at in a replicate:
/// a window of luck hardly ever makes good for that, and each shape takes as long as the counting itself.
const FAR_FROM_LIKELY: f64 = 2.0;

/// What a replicate needs room for.
pub(super) struct Room {
    /// Finds drawn, on the padded grid, ...
    pub(super) finds: Vec<u32>,
    /// ... and how many each outing made.
    pub(super) groups: Vec<Group>,
    counts: RunningSums<u32>,
    laid: Vec<f32>,
    /// Finds expected at each shape.
    expected: Vec<RunningSums<f32>>,
    /// The least that any shape expects.
    least: Vec<f32>,
    least_expected: RunningSums<f32>,
}

/// How a replicate is looked at.
struct Look<'a> {
    /// The shapes that are likely enough, and by how much each is behind the likeliest.
    near: &'a [(usize, f64)],
    /// Sums of finds expected are rounded by less than this.
    rounded: f32,
    table: Option<&'a Table>,
}

/// The bound is rounded by far less than this part of it.
const ROUGHLY: f64 = 0.999;

impl Plan {
    pub(super) fn room(&self, grid: &Padded) -> Room {
        Room {
            finds: vec![0; grid.len],
            groups: self.groups.clone(),
            counts: RunningSums::new(grid),
            laid: vec![0.0; grid.len],
            expected: self.layers.iter().map(|_| RunningSums::new(grid)).collect(),
            least: vec![0.0; grid.len],
            least_expected: RunningSums::new(grid),
        }
    }

    /// What it takes of finds to reach a ratio.
    pub(super) fn needs(&self, ratio: f64) -> Needs {
        let (count, exposure) = self.groups.iter().fold((0.0, 0.0), |(n, e), g| (n + g.count, e + g.exposure));
        Needs::new((ratio * ROUGHLY) as f32, (count / exposure) as f32, count as f32)
    }

    /// For each trial how many finds it takes to reach a ratio at a rate at the least, sums being rounded by less than
    /// `rounded`.
    fn table(&self, enough: f32, rate: f32, rounded: f32) -> Table {
        let least = |(m2, share): (&f32, &f32)| {
            if share.is_nan() {
                return u16::MAX;
            }
            let expected = rate * m2 - rounded;
            let passes = |n| n >= self.least && Self::may_reach(enough, n, expected, *share);
            let near = expected.max(LEAST_EXPECTED) + (2.0 * enough * expected.max(LEAST_EXPECTED)).sqrt();
            u16::try_from(least_that(passes, near as u32 + 1)).unwrap_or(u16::MAX)
        };
        let least: Vec<u16> = self.inside_m2.iter().zip(&self.most_share).map(least).collect();
        let mut of_block = vec![u16::MAX; self.blocks.iter().map(|b| b.len * self.windows.len()).sum()];
        let mut within = Vec::with_capacity(self.blocks.len() * self.windows.len());
        for block in &self.blocks {
            let mut fewest = u16::MAX;
            for (w, window) in self.windows.iter().enumerate() {
                if window.rings == 1 {
                    fewest = u16::MAX;
                }
                within.push(fewest);
                let together = &mut of_block[block.trials + w * block.len..][..block.len];
                for row in &self.rows[block.rows.clone()] {
                    let own = &least[row.trials + w * row.len..][..row.len];
                    let across = row.from % self.width - block.from % self.width;
                    together[across..][..row.len].iter_mut().zip(own).for_each(|(all, n)| *all = (*all).min(*n));
                }
                fewest = together.iter().fold(fewest, |fewest, n| fewest.min(*n));
            }
        }
        Table { least, of_block, within }
    }

    /// Whether a window may have at least so large a ratio without the margin.
    ///
    /// With u = n/e - 1 the ratio is n ln(1 + u) + (M - n) ln((M - n)/(M - e)). As ln(1 + u) <= u (6 + u)/(6 + 4 u) for
    /// u >= 0 (Topsøe 2007, *Some bounds for the logarithmic function*) and ln v <= v - 1, it is at most
    /// (n - e) u [(3 + u)/(6 + 4 u) + x/(1 - x)]; where n reaches M the ratio has no such form, and it may. No branch, so
    /// that many windows are looked at in one step; false of one that does not fit.
    #[inline]
    fn may_reach(enough: f32, inside: u32, expected: f32, share: f32) -> bool {
        let (e, n) = (expected.max(LEAST_EXPECTED), inside as f32);
        let over = n - e;
        // (n - e) u [..] >= enough, both sides times e^2 (6 + 4 u) (1 - x) > 0.
        let (slope, rest) = (6.0 * e + 4.0 * over, 1.0 - share);
        let most = over * over * ((3.0 * e + over) * rest + slope * share);
        (over > 0.0) & ((most >= enough * e * slope * rest) | (n * share >= e))
    }

    /// The largest ratio of all windows in the replicate that was drawn into `room`, without the margin, or `floor` if there
    /// is none larger; the shape is the likeliest with the window and without.
    ///
    /// Each row of windows is first looked at with the least that any shape expects and the most that it shares: where even
    /// so a bound on the ratio ([`Plan::may_reach`]) is no more than the largest so far, no shape is looked at by itself. There
    /// is no need of logarithms either where the shape's own bound is no more. If it is known what it takes to reach the floor,
    /// or less, the count alone turns down most of them.
    pub(super) fn largest(&self, grid: &Padded, room: &mut Room, floor: f64, needs: Option<&Needs>) -> f64 {
        let evidence = self.evidence(&room.groups);
        let likeliest = evidence.iter().map(|e| e.1).fold(f64::NEG_INFINITY, f64::max);
        room.counts.sum(&room.finds, self.width, 0);
        room.least.fill(f32::INFINITY);
        let (mut near, mut most) = (Vec::with_capacity(self.layers.len()), 0.0_f32);
        for (n, (b, ln)) in evidence.iter().enumerate() {
            let behind = likeliest - ln;
            if behind > FAR_FROM_LIKELY {
                continue;
            }
            self.lay_expected(grid, &Self::rates(&room.groups, *b, self.layers[n].phi), &mut room.laid);
            room.expected[n].sum(&room.laid, self.width, 0);
            room.least.iter_mut().zip(&room.laid).for_each(|(least, laid)| *least = least.min(*laid));
            most = most.max(room.laid.iter().sum());
            near.push((n, behind));
        }
        if near.is_empty() {
            return floor;
        }
        room.least_expected.sum(&room.least, self.width, 0);
        let rounded = most * ROUNDED;
        let table = needs.and_then(|needs| {
            let of_cell = |(place, m2): (&usize, &f32)| if *m2 > 0.0 { room.least[*place] / m2 } else { f32::INFINITY };
            let poorest = grid.place.iter().zip(&self.cell_m2).map(of_cell).fold(f32::INFINITY, f32::min);
            needs.at(poorest * (1.0 - ROUNDED), most, |enough, rate, rounded| self.table(enough, rate, rounded))
        });
        let look = Look { near: &near, rounded, table };
        let Some(table) = table else {
            return self.rows.iter().fold(floor, |largest, row| {
                // Of each shape the widest window first: where that holds too few finds, those within it do.
                let (mut too_few, mut largest) = (None, largest);
                for (w, window) in self.windows.iter().enumerate().rev() {
                    if too_few == Some(window.shape) {
                        continue;
                    }
                    let most;
                    (largest, most) = self.look_at(room, row, w, &look, largest);
                    if most < self.least {
                        too_few = Some(window.shape);
                    }
                }
                largest
            });
        };
        let mut largest = floor;
        for (number, block) in self.blocks.iter().enumerate() {
            let mut too_few = None;
            for (w, window) in self.windows.iter().enumerate().rev() {
                if too_few == Some(window.shape) {
                    continue;
                }
                let inside = room.counts.count_between(block.from, block.to, block.len, window);
                let (highest, any) = most_and_any(inside, &table.of_block[block.trials + w * block.len..]);
                if highest < self.least.max(u32::from(table.within[number * self.windows.len() + w])) {
                    too_few = Some(window.shape);
                }
                if any {
                    largest = self.rows[block.rows.clone()]
                        .iter()
                        .fold(largest, |largest, row| self.look_at(room, row, w, &look, largest).0);
                }
            }
        }
        largest
    }

    /// The largest ratio of one window laid round each cell of a row, or `largest` if there is none larger; and the most finds
    /// in any.
    fn look_at(&self, room: &mut Room, row: &Row, w: usize, look: &Look, mut largest: f64) -> (f64, u32) {
        let window = &self.windows[w];
        let trials = row.trials + w * row.len..row.trials + (w + 1) * row.len;
        let inside = room.counts.count(row, window);
        let (highest, any) = match look.table {
            Some(table) => most_and_any(inside, &table.least[trials.clone()]),
            None => {
                let highest = inside.iter().copied().fold(0, u32::max);
                (highest, highest >= self.least)
            }
        };
        if !any {
            return (largest, highest);
        }
        let within = room.least_expected.count(row, window);
        let enough = (largest * ROUGHLY) as f32;
        let mut any = false;
        for ((c, e), x) in inside.iter().zip(within).zip(&self.most_share[trials.clone()]) {
            any |= Self::may_reach(enough, *c, *e - look.rounded, *x);
        }
        if any {
            for (n, behind) in look.near {
                let within = room.expected[*n].count(row, window);
                let share = &self.layers[*n].share[trials.clone()];
                largest = self.largest_of(inside, within, share, largest + behind) - behind;
            }
        }
        (largest, highest)
    }

    /// The largest ratio of a row of windows at one shape, or `largest` if there is none larger.
    fn largest_of(&self, inside: &[u32], within: &[f32], share: &[f32], mut largest: f64) -> f64 {
        for ((c, e), x) in inside.iter().zip(within).zip(share) {
            if Self::may_reach((largest * ROUGHLY) as f32, *c, *e, *x) {
                largest = self.ratio(*c, *e, *x, 1.0).map_or(largest, |r| largest.max(r));
            }
        }
        largest
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::log_ratio;
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(crate::cases::kept())]

        /// Else the strongest window of a replicate could be passed over.
        #[test]
        fn no_ratio_is_above_its_bound(n in 1_u32..5000, ratio in 1.0001_f32..60.0, share in 1e-6_f32..0.9) {
            let expected = (n as f32 / ratio).max(LEAST_EXPECTED);
            if let Some(found) = log_ratio(f64::from(n), f64::from(expected), f64::from(share), 1.0) {
                prop_assert!(Plan::may_reach((found * ROUGHLY) as f32, n, expected, share), "{found}");
            }
            // And it is a bound that turns down: three times a ratio that the bound's own form holds for is not reached.
            if let Some(found) = log_ratio(f64::from(n), f64::from(expected), f64::from(share), 1.0)
                && ratio < 1.5 && share < 0.3
            {
                prop_assert!(!Plan::may_reach((3.0 * found) as f32 + 0.01, n, expected, share), "{found}");
            }
        }
    }
}
