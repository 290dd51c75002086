//! Outings: the coil goes its way, hears some of what it passes, and what is dug is gone.

use super::draw::{Rng, chance, uniform};
use super::habit::Habit;
use super::passes::{Coil, Places};
use super::sand::Thing;
use crate::earth::Local;

/// A second of a way: when, on the outing's clock, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Seconds since the outing began; digging takes time between two steps.
    pub second: u32,
    /// Where the middle of the swing was.
    pub at: Local,
    /// Whether the coil was in use.
    pub searching: bool,
}

/// One outing as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// When it began, seconds since 1970.
    pub start_s: i64,
    /// How long, seconds.
    pub seconds: u32,
    /// Half the width of the swath, metres.
    pub radius_m: f64,
    /// Chance that one pass finds what lies under it, that day.
    pub chance: f64,
    /// Whether its track was kept.
    pub tracked: bool,
    /// How it was laid.
    pub habit: Habit,
    /// The way.
    pub steps: Vec<Step>,
}

/// What one outing dug: numbers of things, and when on the outing's clock.
pub(super) type Dug = Vec<(usize, u32)>;

impl Visit {
    /// Goes along `way` (second by second, with whether the coil is in use) for as long as the outing lasts.
    pub(super) fn go(
        &mut self,
        way: &[(Local, bool)],
        things: &[Thing],
        places: &Places,
        gone: &mut [bool],
        rng: &mut Rng,
    ) -> Dug {
        let mut coil = Coil::new(places, self.radius_m);
        let mut dug = Dug::new();
        let (mut clock, mut heard) = (0, Vec::new());
        for (n, (at, searching)) in way.iter().enumerate() {
            if clock > self.seconds {
                break;
            }
            self.steps.push(Step { second: clock, at: *at, searching: *searching });
            if let (true, Some((before, _))) = (*searching, n.checked_sub(1).map(|b| way[b])) {
                let now_s = self.start_s + i64::from(clock);
                heard.clear();
                coil.step(n as u32, before, *at, |thing| heard.push(thing));
                for thing in heard.drain(..) {
                    let there = !gone[thing] && (things[thing].from_s..things[thing].until_s).contains(&now_s);
                    if there && chance(rng, self.chance) {
                        gone[thing] = true;
                        dug.push((thing, clock));
                        clock += uniform(rng, 20.0, 90.0) as u32;
                    }
                }
            }
            clock += 1;
        }
        dug
    }

    /// The steps with the coil in use: number of the second, from where to where.
    pub(super) fn sweeps(&self) -> impl Iterator<Item = (u32, Local, Local)> + '_ {
        let pairs = self.steps.windows(2).enumerate().filter(|(_, pair)| pair[1].searching);
        pairs.map(|(n, pair)| (n as u32 + 1, pair[0].at, pair[1].at))
    }

    /// Length of the way with the coil in use, metres.
    pub fn searched_m(&self) -> f64 {
        self.sweeps().map(|(_, from, to)| from.distance_m(to)).sum()
    }
}
