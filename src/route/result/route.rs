use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Time;

use super::likely::{range, range_said, spread};
use super::not_off::NotOff;
use super::passed_over::PassedOver;
use crate::earth::Local;
use crate::route::ground::block::Candidate;
use crate::route::ground::gates::WayIn;
use crate::route::params::{BlockId, Params};
use crate::sea::RunUp;
use crate::tide::Turn;
use crate::trust::Told;

/// A route for one low water, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Name of the beach.
    pub beach: String,
    /// The low water it is for; its level is above the tide's datum.
    pub low: Turn,
    /// The access it sets out from.
    pub from: WayIn,
    /// The access it comes back to.
    pub to: WayIn,
    /// That this access is covered or cut off when the tide is in.
    pub not_off: Option<NotOff>,
    /// When to step onto the sand.
    pub depart: Timestamp,
    /// When the last access is reached.
    pub back: Timestamp,
    /// The first moment at which some block of the route must be behind one: the earliest
    /// [`Visit::leave_by`], and never later than [`Self::back`]. Whoever is still on that block then turns back; what is worked later lies
    /// higher and has its own, later time.
    pub turn_back: Timestamp,
    /// The blocks in order.
    pub visits: Vec<Visit>,
    /// The whole way with its times, access to access.
    pub trace: Vec<Step>,
    /// Finds to be expected in all.
    pub finds: f64,
    /// Standard deviation of that: chance, the day, and how little is known of the ground.
    pub finds_sd: f64,
    /// Ground swept, m².
    pub swept_m2: f64,
    /// Walked between blocks and accesses, metres.
    pub walked_m: f64,
    /// The blocks that could have been chosen, those chosen among them.
    pub ground: Arc<[Ground]>,
    /// The lows before this one that were passed over.
    pub passed_over: Vec<PassedOver>,
    /// The sea that is assumed, and how high it runs up the sand.
    pub sea: RunUp,
    /// The margins kept.
    pub margins: Margins,
    /// How the last safe moment moves when things go otherwise.
    pub what_if: Vec<WhatIf>,
    /// The permissions it lies in, with who gave them and their terms.
    pub permissions: Vec<PermissionSaid>,
    /// Sunset on the day, where the sun sets.
    pub sunset: Option<Timestamp>,
    /// When it is too dark without a head-torch (end of civil twilight).
    pub dark: Option<Timestamp>,
    /// Minutes of the outing that are in the dark.
    pub dark_min: f64,
    /// What can hurt, and who knows better, in the order in which a coastguard would say it. One sentence each.
    pub cautions: Vec<String>,
    /// What is doubted of all that it stands on, with what the person confirmed; the cautions repeat it, what weighs most
    /// first.
    pub doubts: Vec<Told>,
    /// What was taken for granted. One sentence each.
    pub assumptions: Vec<String>,
    /// What the independent check looked at.
    pub checked: Checked,
    /// What it was planned with.
    pub params: Params,
}

/// One block with its times.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// Which block.
    pub block: BlockId,
    /// Its corners in the beach's plane.
    pub corners: [Local; 4],
    /// Metres along the baseline at its middle.
    pub along_m: f64,
    /// Metres seaward at its middle.
    pub across_m: f64,
    /// When one arrives.
    pub arrive: Timestamp,
    /// When the first lane is begun.
    pub begin: Timestamp,
    /// When one leaves.
    pub leave: Timestamp,
    /// Last moment at which one may be on it: with every margin, and off the sand by the time told for the whole plan.
    pub leave_by: Timestamp,
    /// Last moment at which the water leaves a way out of it with every margin, however long the plan lasts.
    pub dry_by: Timestamp,
    /// Finds expected.
    pub finds: f64,
    /// Standard deviation of that: chance, the day, and how little is known of the ground.
    pub finds_sd: f64,
    /// Ground in it, m².
    pub area_m2: f64,
    /// Its lowest sand above the tide's datum, the sand's own error taken off, metres.
    pub level_m: f64,
    /// Its lanes in order, each from where it is begun.
    pub lanes: Vec<[Local; 2]>,
}

/// A block that could be searched at this low.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Which block.
    pub block: BlockId,
    /// Its corners in the beach's plane.
    pub corners: [Local; 4],
    /// Finds expected.
    pub finds: f64,
    /// How little is known of the ground, as a standard deviation of the finds; chance not included.
    pub finds_sd: f64,
    /// Standard deviation of the finds: that, chance and the day.
    pub spread: f64,
}

impl Ground {
    pub(in crate::route) fn from_candidate(block: &Candidate, day_variance: f64) -> Self {
        let (finds_sd, spread) = (Candidate::unsure(&[block]), spread(&[block], day_variance));
        Self { block: block.id, corners: block.corners, finds: block.finds, finds_sd, spread }
    }
}

/// What one does on the way to a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Walking, or waiting.
    Walking,
    /// Swinging the coil in the visit of this number.
    Searching(usize),
}

/// A place of the way and when one is there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Where.
    pub at: Local,
    /// When.
    pub time: Timestamp,
    /// What one did since the step before.
    pub doing: Doing,
}

/// The margins kept between sand and water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// For waves running up, metres.
    pub run_up_m: f64,
    /// For the weather, metres.
    pub surge_m: f64,
    /// For what the tide source may be off, metres.
    pub source_m: f64,
    /// For the error of the sand's level: least and most over the blocks of the route, metres.
    pub sand_m: (f64, f64),
    /// Time by which the whole way out stays dry longer than needed, minutes.
    pub time_min: f64,
}

impl Margins {
    /// All heights together, least and most, metres.
    pub fn sum_m(&self) -> (f64, f64) {
        let water = self.run_up_m + self.surge_m + self.source_m;
        (water + self.sand_m.0, water + self.sand_m.1)
    }
}

/// How the route fares when things go otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// What goes otherwise.
    pub said: String,
    /// The first moment at which some block must be behind one then, never later than planned nor than in a case less
    /// bad; `None` when no block is ever safe.
    pub turn_back: Option<Timestamp>,
    /// The blocks that could not be worked at their times any more, counted from 0.
    pub lost: Vec<usize>,
    /// Those of them that are at no moment dry with a dry way out: to be left out.
    pub never_safe: Vec<usize>,
}

/// A permission as the card names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PermissionSaid {
    /// Its name.
    pub name: String,
    /// Who gave it.
    pub holder: String,
    /// Its terms.
    pub terms: String,
    /// From and to which hour of the day searching is allowed, on the beach's clock; `None`: at any.
    pub hours: Option<(Time, Time)>,
}

impl PermissionSaid {
    /// "from 06:00 to 21:00", "from 06:00 to 24:00" or "at any hour".
    pub fn hours_said(&self) -> String {
        let end = |t: Time| if t == Time::midnight() { "24:00".to_owned() } else { t.strftime("%H:%M").to_string() };
        // The same hour twice is all day.
        let hours = self.hours.filter(|(a, b)| a != b);
        hours.map_or("at any hour".to_owned(), |(a, b)| format!("from {} to {}", a.strftime("%H:%M"), end(b)))
    }
}

/// What the independent check looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Checked {
    /// Moments of the route at which a way out was walked through.
    pub moments: usize,
    /// Longest walk out among them, seconds.
    pub longest_out_s: f64,
    /// Least time by which a way out stayed dry longer than the walk, seconds, as far as it was looked for.
    pub least_spare_s: f64,
}

impl Route {
    /// Where one is at a moment; before and after it, at the accesses.
    pub fn at(&self, time: Timestamp) -> Option<Local> {
        let after = self.trace.partition_point(|s| s.time <= time);
        let (Some(a), Some(b)) = (self.trace.get(after.saturating_sub(1)), self.trace.get(after)) else {
            return self.trace.last().map(|s| s.at);
        };
        if after == 0 {
            return Some(a.at);
        }
        let part = time.duration_since(a.time).as_secs_f64() / b.time.duration_since(a.time).as_secs_f64().max(1e-9);
        let between = |a: f64, b: f64| a + (b - a) * part.clamp(0.0, 1.0);
        Some(Local::new(between(a.at.east_m, b.at.east_m), between(a.at.north_m, b.at.north_m)))
    }
}

impl Route {
    /// The latest time of the whole plan: with it behind one, nobody who follows the plan is on the sand any more.
    pub fn off_sand_by(&self) -> Timestamp {
        self.back
    }

    /// What it means that part of the outing is in the dark, where some is.
    pub fn dark_said(&self) -> Option<String> {
        (self.dark_min >= 1.0).then(|| {
            format!(
                "{:.0} minutes of this outing are in the dark: you see neither the water's edge nor a filling runnel before you \
                 stand in it, and nobody sees you. Two lights each, a charged phone, a whistle, and not alone (common practice, no \
                 published source).",
                self.dark_min
            )
        })
    }

    /// The block that must be behind one first, counted from 0, and by when. `None` when every block may be stood on
    /// until the plan ends: [`off_sand_by`](Self::off_sand_by) then comes first.
    pub fn first_to_leave(&self) -> Option<(usize, Timestamp)> {
        let first = self.visits.iter().enumerate().min_by_key(|(_, v)| v.leave_by)?;
        (first.1.leave_by < self.off_sand_by()).then_some((first.0, first.1.leave_by))
    }

    /// "3 to 16 on 9 days in 10".
    pub fn range_said(&self) -> String {
        range_said(self.finds, self.finds_sd)
    }
}

impl Visit {
    /// "0 to 3 on 9 days in 10".
    pub fn range_said(&self) -> String {
        range_said(self.finds, self.finds_sd)
    }

    /// The same for a table that says what its brackets hold: "0 to 3".
    pub fn range_short(&self) -> String {
        range(self.finds, self.finds_sd)
    }
}

impl Ground {
    /// "0 to 3 on 9 days in 10".
    pub fn range_said(&self) -> String {
        range_said(self.finds, self.spread)
    }
}
