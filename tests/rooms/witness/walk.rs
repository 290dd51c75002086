//! The trial's people: where they go while the water moves, and what their receivers make of it.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use scourline::book::{Find, Kind, Outing, Track, TrackPoint, Uid};
use scourline::earth::Local;
use scourline::tide::{TurnKind, Water};

use super::draw::Draw;
use super::land::Land;

/// How somebody searches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Habit {
    /// Along the water's edge, to and fro.
    Edge,
    /// Lanes down to the water and up again.
    LanesAcross,
    /// Lanes along the shore, each lower than the last, until the water is met or pushes them back.
    LanesAlong,
    /// Hither and thither, wherever it is dry.
    Wander,
    /// A strip of the upper beach, whatever the water does.
    High,
    /// Along the edge, but always in the water. Outside of what the room assumes.
    Wader,
    /// Along the edge, but always eight to twenty metres from it. Outside of what the room assumes.
    KeepsFar,
    /// Lanes to where a plan that keeps 0.8 m above the predicted water ends. Outside of what the room assumes.
    ByPlan,
}

impl Habit {
    pub(super) const USUAL: [Self; 5] = [Self::Edge, Self::LanesAcross, Self::LanesAlong, Self::Wander, Self::High];
    pub(super) const OUTSIDE: [Self; 3] = [Self::Wader, Self::KeepsFar, Self::ByPlan];
}

/// What a person is like, and the sea and the receiver of the trial's beach.
#[derive(Debug, Clone, Copy)]
pub(super) struct Person {
    pub(super) habit: Habit,
    keep_m: f64,
    depth_m: f64,
    speed: f64,
    run_up_m: f64,
    surge_sd_m: f64,
    notes_wash: bool,
    receiver_m: f64,
    drift_s: f64,
    every_s: f64,
}

impl Person {
    pub(super) fn draw(habit: Habit, stormy: bool, draw: &mut Draw) -> Self {
        let far = habit == Habit::KeepsFar;
        Self {
            habit,
            keep_m: if far { draw.uniform(8.0, 20.0) } else { draw.uniform(0.5, 4.0) },
            depth_m: draw.uniform(0.2, 0.5),
            speed: draw.uniform(0.25, 0.6),
            run_up_m: draw.log_uniform(0.12, 0.55),
            surge_sd_m: if stormy { 0.4 } else { draw.uniform(0.05, 0.18) },
            notes_wash: draw.chance(0.3),
            receiver_m: draw.uniform(1.0, 5.0) * std::f64::consts::FRAC_1_SQRT_2,
            drift_s: draw.log_uniform(60.0, 1200.0),
            every_s: draw.uniform(2.0, 10.0).round(),
        }
    }
}

/// Ten visits as they enter a book.
pub(super) struct Walked {
    pub(super) outings: Vec<Outing>,
    pub(super) tracks: Vec<Track>,
    pub(super) finds: Vec<Find>,
}

const STEP_S: f64 = 2.0;

/// Walks `count` outings on a beach.
pub(super) fn walk(
    land: &Land,
    water: &Water,
    offset_m: f64,
    beach: Uid,
    person: Person,
    count: usize,
    draw: &mut Draw,
) -> Walked {
    let from: Timestamp = "2026-02-01T00:00:00Z".parse().unwrap();
    let to = from + SignedDuration::from_hours(24 * 120);
    let lows: Vec<Timestamp> = water.turns(from, to).into_iter().filter(|t| t.kind == TurnKind::Low).map(|t| t.time).collect();
    let mut walked = Walked { outings: Vec::new(), tracks: Vec::new(), finds: Vec::new() };
    for n in 0..count {
        let low = lows[n * lows.len() / count + draw.pick(lows.len() / count)];
        let start = low - SignedDuration::from_secs(draw.uniform(0.0, 3.5 * 3600.0) as i64);
        let seconds = draw.uniform(1.5, 4.0) * 3600.0;
        one(land, water, offset_m, beach, person, start, seconds, &mut walked, draw);
    }
    walked
}

#[allow(clippy::too_many_arguments, reason = "one outing, and each argument is a different thing")]
fn one(
    land: &Land,
    water: &Water,
    offset_m: f64,
    beach: Uid,
    person: Person,
    start: Timestamp,
    seconds: f64,
    walked: &mut Walked,
    draw: &mut Draw,
) {
    let end = start + SignedDuration::from_secs(seconds as i64);
    let outing = Outing::new(beach, start, end);
    let steps = (seconds / STEP_S) as usize;
    let levels: Vec<f64> = water.heights(start, 60.0, (seconds / 60.0) as usize + 2).into_iter().flatten().collect();
    let surge_m = draw.normal(person.surge_sd_m);
    let swash_m = person.run_up_m * (1.0 + draw.normal(0.25)).clamp(0.4, 1.8);
    let still_m = |s: f64| {
        let x = s / 60.0;
        levels[x as usize] + (levels[x as usize + 1] - levels[x as usize]) * x.fract() - offset_m + surge_m
    };
    // Above the land datum: where people will not go below.
    let wall_m = |s: f64| match person.habit {
        Habit::Wader => still_m(s) - person.depth_m,
        Habit::ByPlan => still_m(s) - surge_m + 0.8,
        _ => still_m(s) + 0.9 * swash_m,
    };
    let mut way = Way::new(land, person, draw);
    let mut edge_m = land.edge_m(way.along_m, wall_m(0.0), 0.0);
    let (keep, fresh) = (person.receiver_m, (-person.every_s / person.drift_s).exp());
    let mut drift = (draw.normal(keep), draw.normal(keep));
    let mut points = Vec::new();
    let mut next_s = 0.0;
    for n in 0..steps {
        let s = n as f64 * STEP_S;
        edge_m = land.edge_m(way.along_m, wall_m(s), edge_m);
        way.step((edge_m - person.keep_m).max(0.0), draw);
        if s >= next_s {
            next_s += person.every_s;
            let new = keep * (1.0 - fresh * fresh).sqrt() * 0.9;
            drift = (fresh * drift.0 + draw.normal(new), fresh * drift.1 + draw.normal(new));
            let at = land.place(way.along_m, way.across_m);
            let seen = Local::new(at.east_m + drift.0 + draw.normal(0.4), at.north_m + drift.1 + draw.normal(0.4));
            let time = start + SignedDuration::from_secs(s as i64);
            points.push(TrackPoint::new(land.lonlat(seen)).with_time(Some(time)));
            if person.notes_wash && draw.chance(person.every_s / 6000.0) {
                let edge = land.place(way.along_m, edge_m + draw.uniform(-2.0, 1.0));
                let off = Local::new(edge.east_m + drift.0, edge.north_m + drift.1);
                let mut find = Find::new(beach, land.lonlat(off), "worn coin", Kind::keyed("coin"));
                (find.outing, find.time, find.notes) = (Some(outing.uid), Some(time), "in the wash".into());
                walked.finds.push(find);
            }
        }
    }
    let segments: Vec<Arc<[TrackPoint]>> = vec![points.into()];
    let uid = Track::content_uid(beach, &segments);
    walked.tracks.push(Track { uid, beach, outing: Some(outing.uid), name: String::new(), segments });
    walked.outings.push(outing);
}

/// Where somebody is, and where to.
struct Way<'a> {
    land: &'a Land,
    person: Person,
    along_m: f64,
    across_m: f64,
    ahead: f64,
    down: bool,
    /// Ends of the piece in hand, the lane in hand and the highest one, metres.
    piece: (f64, f64),
    lane_m: f64,
    top_m: f64,
    sway_m: f64,
    heading: f64,
}

impl<'a> Way<'a> {
    fn new(land: &'a Land, person: Person, draw: &mut Draw) -> Self {
        let length_m = draw.uniform(40.0, 0.6 * land.length_m);
        let from_m = draw.uniform(0.0, land.length_m - length_m);
        let top_m = draw.uniform(0.0, 0.35) * land.width_m;
        Self {
            land,
            person,
            along_m: from_m,
            across_m: top_m,
            ahead: 1.0,
            down: true,
            piece: (from_m, from_m + length_m),
            lane_m: top_m,
            top_m,
            sway_m: 0.0,
            heading: draw.uniform(0.0, std::f64::consts::TAU),
        }
    }

    /// Two seconds on, no further seaward than the limit.
    fn step(&mut self, limit_m: f64, draw: &mut Draw) {
        let pace_m = self.person.speed * STEP_S;
        self.sway_m = 0.99 * self.sway_m + draw.normal(0.12);
        match self.person.habit {
            Habit::Edge | Habit::Wader | Habit::KeepsFar => self.lane(pace_m, limit_m - self.sway_m.abs(), draw),
            Habit::LanesAcross | Habit::ByPlan => self.across(pace_m, limit_m),
            Habit::LanesAlong => {
                let before = self.ahead;
                self.lane(pace_m, self.lane_m.min(limit_m), draw);
                if before != self.ahead {
                    self.lane_m += 2.0;
                    if self.lane_m > limit_m + 6.0 {
                        // Met by the water: a piece further on, from its top.
                        self.lane_m = self.top_m;
                        let length_m = self.piece.1 - self.piece.0;
                        let from_m = draw.uniform(0.0, self.land.length_m - length_m);
                        self.piece = (from_m, from_m + length_m);
                    }
                }
            }
            Habit::Wander => {
                self.heading += draw.normal(0.12);
                self.along_m = (self.along_m + pace_m * self.heading.cos()).clamp(self.piece.0, self.piece.1);
                let to_m = self.across_m + pace_m * self.heading.sin();
                if to_m > limit_m || to_m < self.top_m.min(limit_m) {
                    self.heading += 1.0;
                }
                self.across_m = to_m.clamp(self.top_m.min(limit_m), limit_m);
            }
            Habit::High => {
                let lane_m = (0.15 * self.land.width_m + self.lane_m % 8.0).min(limit_m);
                self.lane(pace_m, lane_m, draw);
            }
        }
    }

    /// On along the shore, turning at the ends of the piece, and towards a line across.
    fn lane(&mut self, pace_m: f64, across_m: f64, draw: &mut Draw) {
        self.along_m += self.ahead * pace_m;
        if self.along_m > self.piece.1 || self.along_m < self.piece.0 {
            self.ahead = if self.along_m > self.piece.1 { -1.0 } else { 1.0 };
        }
        let most_m = 1.2 * STEP_S;
        self.across_m += (across_m - self.across_m).clamp(-most_m, most_m) + draw.normal(0.03);
    }

    fn across(&mut self, pace_m: f64, limit_m: f64) {
        self.across_m += if self.down { pace_m } else { -pace_m };
        if self.across_m >= limit_m {
            (self.across_m, self.down) = (limit_m, false);
            self.along_m += self.ahead * 2.0;
        } else if self.across_m <= self.top_m {
            self.down = true;
            self.along_m += self.ahead * 2.0;
        }
        if self.along_m > self.piece.1 || self.along_m < self.piece.0 {
            self.ahead = -self.ahead;
        }
    }
}
