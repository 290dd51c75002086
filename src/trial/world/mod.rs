//! Invented beaches of every sort, drawn over wide ranges: ground, tide, people, receivers, things and patterns.
//!
//! Things lie in the sand by a rate that is known, and are found by passes of a coil, each with a chance; what was
//! found is gone. A world is a [`Book`] as its people would have filled it, and the [`Truth`] behind it. All
//! figures are invented; ranges are judgements without a published source. A seed always gives the same world.

mod calendar;
mod draw;
mod expected;
mod habit;
mod land;
mod passes;
mod pattern;
mod receiver;
mod sand;
mod search;
mod truth;
mod water;
mod written;

#[cfg(test)]
mod tests;

pub use expected::{Expected, Window};
pub use habit::{Habit, Haunt, Way};
pub use land::Land;
pub use pattern::{DropZone, ScourLine};
pub use receiver::Receiver;
pub use sand::{Cause, Class, Richness};
pub use search::{Step, Visit};
pub use truth::{Found, Survey, Truth};

use serde::{Deserialize, Serialize};

use self::draw::{Rng, about_one, chance, log_uniform, normal, pick, stream, uniform};
use self::habit::Gait;
use self::passes::{Places, Touched};
use self::sand::{Strewing, Thing};
use self::search::Dug;
use self::water::Water;
use self::written::{Noting, instant};
use super::error::TrialError;
use crate::book::{Beach, Book, Outing, Record, Setup, TideChoice, Uid};
use crate::earth::Local;

/// What sort of world.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sort {
    /// With scour lines and drop zones.
    Patterned,
    /// Chance alone.
    Plain,
    /// Chance alone, searched in one corner.
    OneSided,
    /// Chance alone, half of the tracks not kept.
    HalfTracked,
    /// Chance alone, people who go out after storms, when everywhere more lies in reach.
    AfterStorms,
}

impl Sort {
    /// All sorts.
    pub const ALL: [Self; 5] = [Self::Patterned, Self::Plain, Self::OneSided, Self::HalfTracked, Self::AfterStorms];
}

/// An invented beach.
#[derive(Debug, Clone)]
pub struct World {
    /// Its seed.
    pub seed: u64,
    /// Its sort.
    pub sort: Sort,
    /// What its people wrote down.
    pub book: Book,
    /// The beach in that book.
    pub beach: Uid,
    /// What was so.
    pub truth: Truth,
}

impl World {
    /// A world with patterns.
    ///
    /// # Errors
    /// As [`World::draw`].
    pub fn patterned(seed: u64) -> Result<Self, TrialError> {
        Self::draw(Sort::Patterned, seed)
    }

    /// A world without any pattern.
    ///
    /// # Errors
    /// As [`World::draw`].
    pub fn plain(seed: u64) -> Result<Self, TrialError> {
        Self::draw(Sort::Plain, seed)
    }

    /// A world without any pattern, searched in one corner alone.
    ///
    /// # Errors
    /// As [`World::draw`].
    pub fn one_sided(seed: u64) -> Result<Self, TrialError> {
        Self::draw(Sort::OneSided, seed)
    }

    /// A world without any pattern, half of whose tracks were not kept.
    ///
    /// # Errors
    /// As [`World::draw`].
    pub fn half_tracked(seed: u64) -> Result<Self, TrialError> {
        Self::draw(Sort::HalfTracked, seed)
    }

    /// A world without any pattern whose people go out after storms, when more lies in reach everywhere.
    ///
    /// # Errors
    /// As [`World::draw`].
    pub fn after_storms(seed: u64) -> Result<Self, TrialError> {
        Self::draw(Sort::AfterStorms, seed)
    }

    /// A world of a sort.
    ///
    /// # Errors
    /// When a position or record would not be valid, which no seed should bring about.
    pub fn draw(sort: Sort, seed: u64) -> Result<Self, TrialError> {
        let part = |part: u64| stream(seed, sort as u64, part);
        let land = Land::draw(&mut part(1))?;
        let water = Water::draw(land.mean_water_m, land.range_m, &mut part(2));
        let name = format!("Invented beach {sort:?} {seed}");
        let mut beach = Beach {
            baseline: land.drawn_back(&mut part(3))?,
            seaward: land.seaward,
            datum_offset_m: Some((water.offset_m * 100.0).round() / 100.0),
            invented: true,
            ..Beach::new(name, land.origin())
        };
        let truth = people(sort, land, &water, &part)?;
        let mut records = vec![Record::from(water.table(beach.uid, truth.0.span_s.0 - 86_400, truth.0.span_s.1 + 86_400))];
        let Drawn(mut truth, mut things) = truth;
        records.extend(things.write(&mut truth, &mut beach, &part)?);
        beach.tide = TideChoice::Table(records[0].uid());
        let uid = beach.uid;
        records.push(beach.into());
        Ok(Self { seed, sort, book: Book::gather(records)?, beach: uid, truth })
    }
}

/// A world before it is written down.
struct Drawn(Truth, Sand);

/// What lies in the sand, and what each outing goes by.
struct Sand {
    car_parks_m: Vec<f64>,
    coils: Vec<f64>,
    usual_swing_m: f64,
    outings: Vec<Going>,
    things: Vec<Thing>,
}

/// An outing about to go.
struct Going {
    visit: Visit,
    /// Which coil.
    coil: usize,
    /// The way second by second as if nothing were dug, and whether the coil is in use.
    way: Vec<(Local, bool)>,
}

/// Draws who goes out when and how, and strews what they may find.
fn people(sort: Sort, land: Land, water: &Water, part: &impl Fn(u64) -> Rng) -> Result<Drawn, TrialError> {
    let rng = &mut part(10);
    let outings = log_uniform(rng, 5.0, 60.99).floor() as usize;
    let span_s = calendar::span_s(outings, rng);
    let storms_s = calendar::storms_s(span_s, if sort == Sort::AfterStorms { 3 } else { 0 }, rng);
    let habits = habits(sort, &land, rng);
    let after: Vec<bool> = habits.iter().map(|h| h.after_storms).collect();
    let planned = calendar::outings(outings, &after, span_s, &storms_s, water, rng);
    let mut richness = Richness::draw(&mut part(11));
    if sort == Sort::AfterStorms {
        richness.storm_gain = uniform(&mut part(12), 0.5, 3.0);
    }
    let (lines, zones) = match sort {
        Sort::Patterned => pattern::plant(&land, &storms_s, span_s, &mut part(13)),
        _ => (Vec::new(), Vec::new()),
    };
    let rng = &mut part(14);
    let car_parks_m: Vec<f64> = (0..1 + pick(rng, 3)).map(|_| uniform(rng, 0.0, land.length_m)).collect();
    let coils: Vec<f64> = (0..1 + pick(rng, 3)).map(|_| (uniform(rng, 0.15, 0.4) * 100.0).round() / 100.0).collect();
    let (usual_swing_m, usual_speed) = (uniform(rng, 0.6, 1.8), uniform(rng, 0.2, 0.6));
    let usual_spacing = uniform(rng, 0.8, 2.5);
    let per_pass = uniform(rng, 0.3, 0.95);
    let days_cv = if chance(rng, 0.2) { 0.0 } else { uniform(rng, 0.0, 0.8) };
    let untracked = match sort {
        Sort::HalfTracked => 0.5,
        _ if chance(rng, 0.5) => 0.0,
        _ => uniform(rng, 0.0, 0.5),
    };
    let kept = tracked(planned.len(), untracked, rng);
    let mut touched = Touched::default();
    let mut going = Vec::with_capacity(planned.len());
    for (n, (plan, tracked)) in planned.iter().zip(kept).enumerate() {
        let rng = &mut part(1000 + n as u64);
        let coil = pick(rng, coils.len());
        let swing_m = usual_swing_m * (1.0 + normal(rng, 0.1)).clamp(0.7, 1.3);
        let radius_m = 0.5 * (swing_m + coils[coil]);
        let gait = Gait {
            speed: usual_speed * (1.0 + normal(rng, 0.1)).clamp(0.7, 1.3),
            spacing_m: 2.0 * radius_m * usual_spacing,
            limit_m: limit_m(&land, water, plan.start_s, plan.seconds),
            car_park_m: car_parks_m[0],
            seconds: plan.seconds as usize + 1,
        };
        let habit = habits[plan.habit];
        let way: Vec<(Local, bool)> =
            habit::way(&land, &habit, gait, rng).into_iter().map(|p| (land.place(p.along_m, p.across_m), p.searching)).collect();
        way.iter().filter(|w| w.1).for_each(|w| touched.touch(w.0));
        let chance = (per_pass * about_one(rng, days_cv)).clamp(0.01, 0.98);
        let (start_s, seconds) = (plan.start_s, plan.seconds);
        let visit = Visit { start_s, seconds, radius_m, chance, tracked, habit, steps: Vec::new() };
        going.push(Going { visit, coil, way });
    }
    let mut strewing = Strewing { land: &land, richness: &richness, touched: &touched, span_s, things: Vec::new() };
    strewing.everywhere(&storms_s, &mut part(20));
    lines.iter().enumerate().for_each(|(n, line)| strewing.line(n, line, &mut part(100 + n as u64)));
    zones.iter().enumerate().for_each(|(n, zone)| strewing.zone(n, zone, &mut part(200 + n as u64)));
    let things = strewing.things;
    let rng = &mut part(15);
    let survey = match uniform(rng, 0.0, 1.0) {
        u if u < 0.55 => Survey::Dense,
        u if u < 0.85 => Survey::Sparse,
        u if u < 0.92 => Survey::Slope,
        _ => Survey::Missing,
    };
    let receiver = Receiver::draw(rng);
    let truth = Truth {
        land,
        lines,
        zones,
        richness,
        span_s,
        storms_s,
        survey,
        receiver,
        chance: per_pass,
        days_cv,
        visits: Vec::new(),
        finds: Vec::new(),
    };
    Ok(Drawn(truth, Sand { car_parks_m, coils, usual_swing_m, outings: going, things }))
}

fn habits(sort: Sort, land: &Land, rng: &mut Rng) -> Vec<Habit> {
    let corner = Habit::corner(land, rng);
    (0..1 + pick(rng, 3))
        .map(|_| {
            let habit = Habit::draw(land, rng);
            match sort {
                Sort::OneSided => Habit { haunt: corner, ..habit },
                Sort::AfterStorms => Habit { after_storms: true, ..habit },
                _ => habit,
            }
        })
        .collect()
}

/// Which outings keep their tracks: as near to the share as whole outings come, and at least one.
fn tracked(outings: usize, untracked: f64, rng: &mut Rng) -> Vec<bool> {
    let lost = ((outings as f64 * untracked).round() as usize).min(outings.saturating_sub(1));
    let mut kept = vec![true; outings];
    let mut left = lost;
    while left > 0 {
        let n = pick(rng, outings);
        if kept[n] {
            kept[n] = false;
            left -= 1;
        }
    }
    kept
}

/// How far seaward one goes: people follow the tide down and turn before it is back.
fn limit_m(land: &Land, water: &Water, start_s: i64, seconds: u32) -> f64 {
    let at = |part: f64| water.level_m(start_s as f64 + part * f64::from(seconds));
    let highest = (0..=8).map(|n| at(f64::from(n) / 8.0)).fold(f64::NEG_INFINITY, f64::max);
    let lowest = (0..=8).map(|n| at(f64::from(n) / 8.0)).fold(f64::INFINITY, f64::min);
    land.reach_m(lowest + 0.3 * (highest - lowest)).max(12.0_f64.min(land.width_m))
}

impl Sand {
    /// Goes on every outing and writes all of it down.
    fn write(&mut self, truth: &mut Truth, beach: &mut Beach, part: &impl Fn(u64) -> Rng) -> Result<Vec<Record>, TrialError> {
        let land = truth.land.clone();
        let mut records: Vec<Record> = Vec::new();
        let rng = &mut part(30);
        if chance(rng, 0.6) {
            beach.search.swing_m = Some((self.usual_swing_m * 10.0).round() / 10.0);
        }
        if truth.survey == Survey::Slope {
            beach.slope = Some(truth.land.slope * uniform(rng, 0.8, 1.25));
            beach.back_level_m = Some(truth.land.back_level_m() + normal(rng, 0.2));
        }
        let setups: Vec<Setup> = self
            .coils
            .iter()
            .enumerate()
            .map(|(n, coil_m)| Setup { coil_width_m: Some(*coil_m), ..Setup::new(format!("Set-up {}", n + 1)) })
            .collect();
        records.extend(written::levels(&land, beach.uid, truth.survey, truth.span_s.0, rng)?.into_iter().map(Record::from));
        for (n, along_m) in self.car_parks_m.iter().enumerate() {
            records.push(written::access(&land, beach.uid, n, *along_m)?.into());
        }
        for (n, peak_s) in truth.storms_s.iter().enumerate() {
            records.push(written::storm(beach.uid, n, *peak_s, rng).into());
        }
        let elsewhere = (0..pick(rng, 3)).map(|_| (uniform(rng, 0.0, land.length_m), uniform(rng, 0.0, land.width_m)));
        let mut seats: Vec<(f64, f64)> = elsewhere.collect();
        seats.extend(truth.zones.iter().filter(|_| chance(rng, 0.5)).map(|z| (z.along_m, z.across_m)));
        for (n, at) in seats.into_iter().enumerate() {
            records.push(written::seats(&land, beach.uid, n, at, uniform(rng, 5.0, 20.0))?.into());
        }
        let noting = Noting::draw(rng);
        let places = Places::new(self.things.iter().map(|t| t.at).collect());
        let mut gone = vec![false; self.things.len()];
        for (n, Going { mut visit, coil, way }) in std::mem::take(&mut self.outings).into_iter().enumerate() {
            let rng = &mut part(5000 + n as u64);
            let dug = visit.go(&way, &self.things, &places, &mut gone, rng);
            let (start, end) = (instant(visit.start_s), instant(visit.start_s + i64::from(visit.seconds)));
            let outing = Outing { setup: Some(setups[coil].uid), ..Outing::new(beach.uid, start, end) };
            let drift = truth.receiver.drift(visit.seconds as usize, rng);
            if visit.tracked {
                records.push(written::track(&land, beach.uid, outing.uid, &visit, &truth.receiver, &drift, rng)?.into());
            }
            self.note(truth, &land, (beach.uid, outing.uid), n, &visit, &dug, &noting, &drift, &mut records, rng)?;
            records.push(outing.into());
            truth.visits.push(visit);
        }
        records.extend(setups.into_iter().map(Record::from));
        Ok(records)
    }

    #[allow(clippy::too_many_arguments, reason = "one outing, and each argument is a different thing")]
    fn note(
        &self,
        truth: &mut Truth,
        land: &Land,
        of: (Uid, Uid),
        number: usize,
        visit: &Visit,
        dug: &Dug,
        noting: &Noting,
        drift: &[(f64, f64)],
        records: &mut Vec<Record>,
        rng: &mut Rng,
    ) -> Result<(), TrialError> {
        for (thing, second) in dug {
            let t = self.things[*thing];
            let time_s = visit.start_s + i64::from(*second);
            let off = drift.get(*second as usize).copied().unwrap_or_default();
            let (find, seen) = noting.find(land, of, truth.finds.len(), (t.at, t.class), time_s, off, rng)?;
            truth.finds.push(Found {
                uid: find.uid,
                visit: number,
                class: t.class,
                cause: t.cause,
                time_s,
                lay: (t.along_m, t.across_m),
                noted: land.shore(seen),
                counted: visit.tracked && find.outing.is_some(),
            });
            records.push(find.into());
        }
        Ok(())
    }
}
