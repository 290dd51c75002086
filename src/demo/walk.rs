//! How the beach is searched: from the access down with the ebb in lanes along the shore, up again with the
//! flood, with wandering in between and a stop wherever something is heard.

use jiff::Timestamp;
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::buried::Buried;
use super::calendar::{Visit, turns, water_m};
use super::ground::{ACCESSES, DATUM_OFFSET_M, GROYNES_M, Spot, across_at_level_m, barred, crosses_groyne};
use super::planting::Bias;
use super::things::spread;

/// Width of ground that one walk past covers, metres: the whole swing of the coil.
pub(super) const SWING_M: f64 = 1.5;
/// Walking with the coil up, and searching, metres per second.
const WALK_M_PER_S: f64 = 1.25;
const SEARCH_M_PER_S: f64 = 0.48;
/// Share of what is heard that is left in the ground.
const LEFT: f64 = 0.06;
/// Stretches of the beach between channel, groynes and rocks, metres along: no lane leaves its own.
const SECTIONS: [(f64, f64); 4] = [(12.0, 146.0), (176.0, 874.0), (886.0, 1004.0), (1016.0, 1268.0)];

/// Where the walker stood at one second of the outing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub(super) at: Spot,
    /// Standing to dig.
    pub(super) still: bool,
}

/// Something heard: dug out, or left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heard {
    /// Number in the list of what is buried.
    pub(super) buried: usize,
    /// Second of the outing at which it lay in the hand, or was left.
    pub(super) second: usize,
    pub(super) dug: bool,
}

/// One outing as it truly went, second by second.
pub(super) struct Walk {
    pub(super) start: Timestamp,
    pub(super) steps: Vec<Step>,
    pub(super) heard: Vec<Heard>,
}

/// What is buried, by cells, and what has become of it.
pub(super) struct Field<'a> {
    buried: &'a [Buried],
    cells: Vec<Vec<u32>>,
    state: Vec<State>,
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    /// Not heard yet; the second since 1970 of the last pass over it.
    Lying(i64),
    Left,
    Dug,
}

const CELL_M: f64 = 4.0;
const COLUMNS: usize = 352;
const ROWS: usize = 90;

impl<'a> Field<'a> {
    pub(super) fn new(buried: &'a [Buried]) -> Self {
        let mut cells = vec![Vec::new(); COLUMNS * ROWS];
        for (i, b) in buried.iter().enumerate() {
            cells[cell(b.at)].push(i as u32);
        }
        Self { buried, cells, state: vec![State::Lying(i64::MIN / 2); buried.len()] }
    }

    /// What the coil makes heard on the way between two neighbouring spots at an instant.
    fn sweep(&mut self, from: Spot, to: Spot, now_s: i64, rng: &mut ChaCha8Rng) -> Option<usize> {
        for (dx, dy) in
            [(-1.0, -1.0), (-1.0, 0.0), (-1.0, 1.0), (0.0, -1.0), (0.0, 0.0), (0.0, 1.0), (1.0, -1.0), (1.0, 0.0), (1.0, 1.0)]
        {
            for n in 0..self.cells[cell(to.moved(dx * CELL_M, dy * CELL_M))].len() {
                let i = self.cells[cell(to.moved(dx * CELL_M, dy * CELL_M))][n] as usize;
                let b = &self.buried[i];
                let State::Lying(last_s) = self.state[i] else { continue };
                if now_s < b.from_s || now_s > b.until_s || distance_to_way_m(b.at, from, to) > SWING_M / 2.0 {
                    continue;
                }
                // One pass, one chance: the coil swings over the same thing several times while one walks by.
                self.state[i] = State::Lying(now_s);
                if now_s - last_s > 20 && rng.random::<f64>() < heard_per_pass(b.thing.depth_m) {
                    return Some(i);
                }
            }
        }
        None
    }
}

/// Chance that a thing at a depth is heard while one walks past it once.
pub(super) fn heard_per_pass(depth_m: f64) -> f64 {
    (0.95 - 1.6 * depth_m).clamp(0.2, 0.9)
}

fn cell(at: Spot) -> usize {
    let of = |v: f64, count: usize| ((v / CELL_M).max(0.0) as usize).min(count - 1);
    of(at.across_m, ROWS) * COLUMNS + of(at.along_m, COLUMNS)
}

fn distance_to_way_m(p: Spot, from: Spot, to: Spot) -> f64 {
    let (dx, dy) = (to.along_m - from.along_m, to.across_m - from.across_m);
    let length2 = dx * dx + dy * dy;
    let share = if length2 > 0.0 {
        (((p.along_m - from.along_m) * dx + (p.across_m - from.across_m) * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance_m(from.moved(dx * share, dy * share))
}

/// The ground an outing is meant to cover.
#[derive(Debug, Clone, Copy)]
pub(super) struct Aim {
    along_m: (f64, f64),
    across_m: (f64, f64),
}

impl Aim {
    /// A stretch around a share of the beach's length, or the biased walker's corner.
    pub(super) fn new(share: f64, bias: Option<Bias>, rng: &mut ChaCha8Rng) -> Self {
        if let Some(bias) = bias {
            return Self { along_m: bias.along_m, across_m: bias.across_m };
        }
        let whole: f64 = SECTIONS.iter().map(|s| s.1 - s.0).sum();
        let mut left = share.rem_euclid(1.0) * whole;
        let mut section = SECTIONS[0];
        for s in SECTIONS {
            section = s;
            if left <= s.1 - s.0 {
                break;
            }
            left -= s.1 - s.0;
        }
        let half = rng.random_range(65.0..125.0);
        let middle = section.0 + left.min(section.1 - section.0);
        Self { along_m: ((middle - half).max(section.0), (middle + half).min(section.1)), across_m: (12.0, 235.0) }
    }

    fn middle_m(&self) -> f64 {
        (self.along_m.0 + self.along_m.1) / 2.0
    }
}

pub(super) struct Walker<'f, 'b> {
    field: &'f mut Field<'b>,
    rng: ChaCha8Rng,
    walk: Walk,
    at: Spot,
    speed: f64,
    /// When the water's edge was last looked at, in quarters of a minute, and where it was.
    edge: Option<(usize, f64)>,
}

impl<'f, 'b> Walker<'f, 'b> {
    /// Walks one visit and returns how it went.
    pub(super) fn go(visit: Visit, aim: Aim, field: &'f mut Field<'b>, mut rng: ChaCha8Rng) -> Walk {
        let nearest = |a: &&(&str, f64, f64)| ((a.1 - aim.middle_m()).abs() * 10.0) as i64;
        let access = ACCESSES.iter().min_by_key(nearest).map_or(Spot::new(640.0, 8.0), |a| Spot::new(a.1, a.2));
        let upper_first = rng.random_range(0.12..0.34);
        let setting_up_s = rng.random_range(20..90);
        let walk = Walk { start: visit.start, steps: Vec::new(), heard: Vec::new() };
        let mut walker = Self { field, rng, walk, at: access, speed: SEARCH_M_PER_S, edge: None };
        walker.stand(setting_up_s);
        let lasting_s = (visit.end.as_second() - visit.start.as_second()) as usize;
        // Along the back of the beach, landward of the groynes where they stand in the way.
        let in_bay = aim.middle_m() > GROYNES_M[0] && aim.middle_m() < GROYNES_M[1];
        let back_m = if in_bay { 20.0 } else { 46.0 };
        let first_m = if walker.rng.random() { aim.along_m.0 } else { aim.along_m.1 };
        walker.walk_to(Spot::new(access.along_m, back_m));
        walker.walk_to(Spot::new(first_m, back_m));
        walker.upper_sand(&aim, (lasting_s as f64 * upper_first) as usize);
        walker.follow_the_water(&aim, visit.low, lasting_s * 9 / 10);
        walker.upper_sand(&aim, lasting_s);
        walker.walk_to(Spot::new(walker.at.along_m, back_m));
        walker.walk_to(Spot::new(access.along_m, back_m));
        walker.walk_to(access);
        walker.walk
    }

    fn second(&self) -> usize {
        self.walk.steps.len()
    }

    fn now_s(&self) -> i64 {
        self.walk.start.as_second() + self.second() as i64
    }

    /// Metres across beyond which the sand is wet to the ankles; looked at every quarter of a minute.
    fn edge_m(&mut self) -> f64 {
        let look = self.second() / 15;
        if self.edge.is_none_or(|(looked, _)| looked != look) {
            let now = Timestamp::from_second(self.now_s()).unwrap_or(self.walk.start);
            let across = across_at_level_m(self.at.along_m, water_m(turns(), now) - DATUM_OFFSET_M + 0.2) - 3.0;
            self.edge = Some((look, across));
        }
        self.edge.map_or(0.0, |(_, across)| across)
    }

    fn stand(&mut self, seconds: usize) {
        let at = self.at;
        self.walk.steps.extend(std::iter::repeat_n(Step { at, still: true }, seconds));
    }

    fn walk_to(&mut self, goal: Spot) {
        while self.at.distance_m(goal) > WALK_M_PER_S {
            let share = WALK_M_PER_S * self.rng.random_range(0.9..1.1) / self.at.distance_m(goal);
            self.at = self.at.moved((goal.along_m - self.at.along_m) * share, (goal.across_m - self.at.across_m) * share);
            self.walk.steps.push(Step { at: self.at, still: false });
        }
    }

    /// Lanes on the sand above the tide until a second of the outing.
    fn upper_sand(&mut self, aim: &Aim, until: usize) {
        let mut across = self.rng.random_range(15.0..58.0);
        let step_m = self.rng.random_range(2.5..5.5);
        let mut down = self.rng.random::<bool>();
        while self.second() < until {
            if self.rng.random_bool(0.2) {
                self.wander(aim, 240);
            } else {
                self.lane(aim, across);
            }
            across += if down { step_m } else { -step_m };
            if !(15.0..=60.0).contains(&across) {
                down = !down;
                across = across.clamp(15.0, 60.0) + self.rng.random_range(-2.0..2.0);
            }
        }
    }

    /// Lanes down with the ebb and up with the flood, until a second of the outing.
    fn follow_the_water(&mut self, aim: &Aim, low: Timestamp, until: usize) {
        let mut across = 60.0;
        let step_m = self.rng.random_range(4.0..8.0);
        while self.second() < until {
            let ebbing = self.now_s() < low.as_second();
            let edge = self.edge_m().min(aim.across_m.1);
            across = if ebbing { across + step_m } else { across - step_m };
            if across > edge {
                across = edge - self.rng.random_range(0.0..6.0) - if ebbing { step_m } else { 0.0 };
            }
            if across < 56.0 {
                // Too early for the ebb or driven off by the flood: the foot of the upper sand meanwhile.
                across = edge.min(self.rng.random_range(56.0..70.0)).max(50.0);
            }
            if self.rng.random_bool(0.15) { self.wander(aim, 300) } else { self.lane(aim, across) }
        }
    }

    /// One lane along the shore, towards the end that is farther away.
    fn lane(&mut self, aim: &Aim, across_m: f64) {
        let across_m = across_m.clamp(aim.across_m.0, aim.across_m.1);
        let (near, far) = aim.along_m;
        let onward = (self.at.along_m - near).abs() < (self.at.along_m - far).abs();
        let slack = self.rng.random_range(0.0..12.0);
        let goal = if onward { far - slack } else { near + slack };
        let entry = Spot::new(self.at.along_m.clamp(near, far), across_m);
        if barred(entry) || crosses_groyne(self.at, entry) {
            self.wander(aim, 120);
            return;
        }
        self.walk_to(entry);
        let phase = self.rng.random_range(0.0..6.0);
        let direction = if onward { 1.0 } else { -1.0 };
        while (goal - self.at.along_m) * direction > 0.0 {
            let wobble = 0.9 * (self.at.along_m / 13.0 + phase).sin();
            let d_across = (across_m + wobble - self.at.across_m).clamp(-0.2, 0.2);
            // Two minutes' rise of the tide may reach the lane: give way landward.
            let d_across = if self.at.across_m > self.edge_m() { -0.3 } else { d_across };
            if !self.search_step(direction, d_across) {
                return;
            }
        }
    }

    /// Looking about without a plan for so many seconds.
    fn wander(&mut self, aim: &Aim, seconds: usize) {
        let until = self.second() + seconds;
        let mut heading = self.rng.random_range(0.0..std::f64::consts::TAU);
        while self.second() < until {
            heading += spread(&mut self.rng, 0.16);
            let next = self.at.moved(6.0 * heading.cos(), 6.0 * heading.sin());
            let deepest = aim.across_m.1.min(self.edge_m());
            let inside =
                (aim.along_m.0..=aim.along_m.1).contains(&next.along_m) && (aim.across_m.0..=deepest).contains(&next.across_m);
            if !inside {
                // Back towards the middle of the ground, at no deeper than here.
                let inward = Spot::new(aim.middle_m(), deepest * 0.7);
                heading = (inward.across_m - self.at.across_m).atan2(inward.along_m - self.at.along_m);
            }
            if !self.search_step(heading.cos(), heading.sin()) {
                heading += std::f64::consts::PI;
            }
        }
    }

    /// One second of searching, or of standing before what bars the way, which returns false.
    fn search_step(&mut self, d_along: f64, d_across: f64) -> bool {
        self.speed = (self.speed + spread(&mut self.rng, 0.02)).clamp(0.34, 0.62);
        let length = d_along.hypot(d_across).max(1e-9);
        let next = self.at.moved(d_along / length * self.speed, d_across / length * self.speed);
        if barred(next) || crosses_groyne(self.at, next) {
            self.stand(1);
            return false;
        }
        let now_s = self.now_s();
        let from = std::mem::replace(&mut self.at, next);
        self.walk.steps.push(Step { at: next, still: false });
        if let Some(i) = self.field.sweep(from, next, now_s, &mut self.rng) {
            let dug = !self.rng.random_bool(LEFT);
            self.field.state[i] = if dug { State::Dug } else { State::Left };
            let depth_m = self.field.buried[i].thing.depth_m;
            let seconds =
                if dug { 18 + (130.0 * depth_m) as usize + self.rng.random_range(0..25) } else { self.rng.random_range(5..12) };
            self.stand(seconds);
            let second = self.second() - 1;
            self.walk.heard.push(Heard { buried: i, second, dug });
        }
        true
    }
}
