use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::error::RouteError;
use super::paces::Paces;
use super::tables::RouteTables;
use crate::book::{Uid, Weather};
use crate::earth::LonLat;
use crate::sea::{USUAL_RUN_UP_M, Waves};
use crate::shore::Setting;
use crate::tide::Surge;

/// Soft dry sand is walked at this share of the speed on wet sand, as the usual settings have it.
const DRY_SHARE: f64 = 0.75;

/// A block of ground by its place in the beach's pattern: how many blocks along and across from the
/// baseline's first point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BlockId {
    /// Blocks along.
    pub along: i32,
    /// Blocks seaward.
    pub across: i32,
}

/// Where a route sets out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Start {
    /// At whichever access serves best.
    #[default]
    AnyAccess,
    /// At this access.
    Access(Uid),
    /// On the sand, where one stands when the plan begins.
    Place(LonLat),
}

/// Everything a route is planned with; part of every route, so that it can be planned again.
///
/// The paces are common practice, no published source: a person on sand carries a spade and a machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Params {
    /// Length of a block along the shore, metres.
    pub block_along_m: f64,
    /// Width of a block across the shore, metres.
    pub block_across_m: f64,
    /// Side of a square of the walking ground, metres.
    pub cell_m: f64,
    /// Walking on firm wet sand, metres a second.
    pub walk_wet_m_s: f64,
    /// Walking on soft dry sand (above the highest tide mark), metres a second.
    pub walk_dry_m_s: f64,
    /// Walking out when it matters, over any sand, metres a second: the slowest of the party.
    pub walk_out_m_s: f64,
    /// Width of the coil, metres.
    pub coil_width_m: f64,
    /// Width of the ground that one walk past covers, from one end of the swing to the other, metres.
    pub swing_m: f64,
    /// Speed of the coil over the sand, metres a second.
    pub sweep_m_s: f64,
    /// Ground searched in a second while not digging, m², where outings tell it; `None`: coil times speed.
    pub ground_m2_s: Option<f64>,
    /// Share of the coil's width by which neighbouring strokes and lanes overlap, 0 to 0.9.
    pub overlap: f64,
    /// Time to dig one find and fill the hole, minutes.
    pub dig_min: f64,
    /// Share of the time on the ground spent at rest, 0 to 0.5.
    pub rest: f64,
    /// Chance that one pass finds what lies there, 0 to 1.
    pub detection: f64,
    /// Finds per 100 m² where nothing is known of the ground: a stand-in, shown as such.
    pub prior_per_100m2: f64,
    /// How much unknown ground is sought: standard deviations of a block's expected finds added to its
    /// value. 0 works the known ground.
    pub explore: f64,
    /// Height that waves run up above still water, metres. What is asked for is the least: the planner keeps what it
    /// works out for the sea where that is more, and the parameters of a route say what was kept.
    pub run_up_m: f64,
    /// The waves that the person expects where no record or forecast of the sea covers the low.
    pub sea: Option<Waves>,
    /// What the weather adds to the predicted level.
    pub surge: Surge,
    /// What the tide source may be off, metres, 0 to 50: for its distance, its curve, its misfit.
    pub source_m: f64,
    /// Standard errors of the sand's level by which it is taken lower than it is known.
    pub sand_sigmas: f64,
    /// The sand taken lower still by this much, metres (a survey grown old).
    pub sand_lower_m: f64,
    /// Time by which every step of the way out is dry longer than needed, minutes.
    pub time_margin_min: f64,
    /// Whether a head-torch is carried, so that the dark is no bar.
    pub head_torch: bool,
    /// Where it sets out.
    pub start: Start,
    /// The access it must come back to; `None`: whichever serves best.
    pub end: Option<Uid>,
    /// Blocks to be visited before any other.
    pub pinned: BTreeSet<BlockId>,
    /// Blocks to be left out.
    pub excluded: BTreeSet<BlockId>,
    /// Zones closed for the day (bathing season, birds), besides those not to be searched.
    pub closed_zones: BTreeSet<Uid>,
    /// The pace that somebody slower than usual said, metres a second, by which all walking is held back.
    pub slowest_m_s: Option<f64>,
    /// What the paces were learnt from; `None`: they are the usual ones.
    pub paces: Option<Paces>,
    /// Seed of the search for a route.
    pub seed: u64,
    /// Rounds of that search; more rounds, better routes. They, or a count of what was tried, and no clock end it,
    /// so that the same parameters give the same route. The usual 700 take about 3 s of a release build on the demo beach at
    /// the pace learnt there (814 blocks, 26 of them in the route; two cores), longer where more blocks are in reach.
    pub rounds: u32,
    /// Most time for that search, seconds, where a person asks for one; `None` lets it do all its rounds, which alone
    /// makes two runs alike.
    pub time_limit_s: Option<f64>,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            block_along_m: 20.0,
            block_across_m: 10.0,
            cell_m: 10.0,
            walk_wet_m_s: 1.2,
            walk_dry_m_s: 0.9,
            walk_out_m_s: 0.9,
            coil_width_m: 0.28,
            swing_m: 1.5,
            sweep_m_s: 1.0,
            ground_m2_s: None,
            overlap: 0.3,
            dig_min: 3.0,
            rest: 0.08,
            detection: 0.6,
            prior_per_100m2: 0.5,
            explore: 0.0,
            run_up_m: USUAL_RUN_UP_M,
            sea: None,
            source_m: 0.0,
            surge: Surge::UNKNOWN,
            sand_sigmas: 2.0,
            sand_lower_m: 0.0,
            time_margin_min: 20.0,
            head_torch: false,
            start: Start::AnyAccess,
            end: None,
            pinned: BTreeSet::new(),
            excluded: BTreeSet::new(),
            closed_zones: BTreeSet::new(),
            slowest_m_s: None,
            paces: None,
            seed: 1,
            rounds: 700,
            time_limit_s: None,
        }
    }
}

impl Params {
    /// The usual settings with what the book knows better: the width of the coil last used on the beach,
    /// and what weather and waves add to its tide.
    pub fn for_beach(book: impl Into<RouteTables>, setting: &Setting) -> Self {
        let book = book.into();
        let beach = setting.beach.uid;
        let mut params =
            Self { surge: setting.surge, run_up_m: setting.sea.typed_m.unwrap_or(USUAL_RUN_UP_M), ..Self::default() };
        params.source_m = setting.source_margin_m();
        let last = book.outings_of(beach).into_iter().filter(|o| o.setup.is_some()).max_by_key(|o| o.start);
        let coil = last.and_then(|o| book.setups().get(&o.setup?)?.coil_width_m);
        params.coil_width_m = coil.unwrap_or(params.coil_width_m);
        params
    }

    /// Margin kept between the sand and the predicted water beside the sand's own error: run-up, weather and
    /// tide source, metres.
    pub fn water_margin_m(&self) -> f64 {
        self.run_up_m + self.surge.margin_m() + self.source_m
    }

    /// Walks no faster than somebody who says that they walk out at this pace, metres a second, where that is slower than
    /// usual: who is slow on the way out is slow on the way in, and every time on the way is worked out for that.
    pub fn keep_to_pace(&mut self, out_m_s: f64) {
        if out_m_s < Self::default().walk_out_m_s {
            self.walk_out_m_s = self.walk_out_m_s.min(out_m_s);
            self.walk_dry_m_s = self.walk_dry_m_s.min(out_m_s);
            self.walk_wet_m_s = self.walk_wet_m_s.min(out_m_s);
            self.slowest_m_s = Some(out_m_s);
        }
    }

    /// Distance between neighbouring lanes, metres.
    pub fn lane_m(&self) -> f64 {
        (self.swing_m - self.overlap * self.coil_width_m).max(0.05)
    }

    /// Ground that is swept in a second, m².
    pub fn sweep_m2_s(&self) -> f64 {
        self.ground_m2_s.unwrap_or(self.coil_width_m * (1.0 - self.overlap) * self.sweep_m_s)
    }

    pub(super) fn check(&self) -> Result<(), RouteError> {
        let ranges = [
            ("block length", self.block_along_m, 2.0, 200.0),
            ("block width", self.block_across_m, 2.0, 200.0),
            ("walking square", self.cell_m, 2.0, 50.0),
            ("walking speed on wet sand", self.walk_wet_m_s, 0.2, 3.0),
            ("walking speed on dry sand", self.walk_dry_m_s, 0.2, 3.0),
            ("walking speed on the way out", self.walk_out_m_s, 0.2, 2.0),
            ("coil width", self.coil_width_m, 0.05, 3.0),
            ("swing", self.swing_m, self.coil_width_m.max(0.05), 5.0),
            ("sweep speed", self.sweep_m_s, 0.05, 3.0),
            ("overlap", self.overlap, 0.0, 0.9),
            ("ground a second", self.sweep_m2_s(), 0.002, 5.0),
            ("digging time", self.dig_min, 0.0, 60.0),
            ("rest", self.rest, 0.0, 0.5),
            ("chance of detection", self.detection, 0.01, 1.0),
            ("finds per 100 m² of unknown ground", self.prior_per_100m2, 0.0, 1000.0),
            ("exploring", self.explore, 0.0, 10.0),
            ("run-up", self.run_up_m, 0.0, 10.0),
            ("error of the tide source", self.source_m, 0.0, 50.0),
            ("surge", self.surge.residual_m, Weather::SURGE_M.0, Weather::SURGE_M.1),
            ("standard deviation of the surge", self.surge.sd_m, 0.0, 5.0),
            ("standard errors of the sand", self.sand_sigmas, 0.0, 5.0),
            ("lower sand", self.sand_lower_m, -5.0, 5.0),
            ("time margin", self.time_margin_min, 5.0, 240.0),
        ];
        if let Some(sea) = self.sea.filter(|s| !s.can_be()) {
            return Err(RouteError::Parameter { what: "sea", why: format!("waves of {sea} cannot be") });
        }
        for (what, value, low, high) in ranges {
            if !(low..=high).contains(&value) {
                return Err(RouteError::Parameter { what, why: format!("{value} is not between {low} and {high}") });
            }
        }
        Ok(())
    }
}

impl Paces {
    /// Puts what was learnt in the place of usual settings. The walk out, on which a life may hang, is only ever
    /// slowed down by it.
    pub fn apply(&self, params: &mut Params) {
        if let Some(walk) = self.walk_m_s {
            params.walk_wet_m_s = walk.value.clamp(0.2, 3.0);
            params.walk_dry_m_s = (walk.value * DRY_SHARE).clamp(0.2, 3.0);
            params.walk_out_m_s = params.walk_out_m_s.min(walk.low * DRY_SHARE).clamp(0.2, 2.0);
        }
        if let Some(ground) = self.ground_m2_s {
            params.ground_m2_s = Some(ground.value.clamp(0.002, 5.0));
            // The outings' own rests are in it.
            params.rest = 0.0;
        }
        if let Some(dig) = self.dig_s {
            params.dig_min = (dig.value / 60.0).clamp(0.0, 60.0);
        }
        params.paces = Some(*self);
    }
}
