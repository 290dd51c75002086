use jiff::Timestamp;
use serde::Serialize;

use crate::book::Uid;
use crate::earth::LonLat;

/// A track stood where the program has water: deeper than receiver, survey, weather and wading explain.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dry {
    /// From when.
    pub from: Timestamp,
    /// For how long, minutes.
    pub minutes: f64,
    /// Half of that time at least so deep under the program's water, metres.
    pub under_m: f64,
    /// Where, in the middle of that time.
    pub at: LonLat,
}

/// By how much the true water differs from the program's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shift {
    /// It stands so much higher, metres (the same as sand so much lower); negative where lower.
    pub higher_m: f64,
    /// Standard error of that, metres.
    pub higher_sd_m: f64,
    /// It comes and goes so much earlier, minutes; negative where later.
    pub earlier_min: f64,
    /// Standard error of that, minutes.
    pub earlier_sd_min: f64,
}

/// The limit of a search that followed the water as it moved.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wet {
    /// From when.
    pub from: Timestamp,
    /// For how long, minutes.
    pub minutes: f64,
    /// What shift of the water explains it best.
    pub shift: Shift,
    /// Where the lowest sand was reached.
    pub at: LonLat,
}

/// What one outing says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Testimony {
    /// The outing; `None` for a track without one.
    pub outing: Option<Uid>,
    /// The outing's uid, else the track's.
    pub who: Uid,
    /// When it began.
    pub began: Timestamp,
    /// Where it stood in the program's water, if it did.
    pub dry: Option<Dry>,
    /// Its limit, where that followed the water.
    pub wet: Option<Wet>,
    /// How much it speaks against the inputs, natural units of log likelihood; 0 for not at all.
    pub against_nats: f64,
    /// Whether that alone is a question to be asked.
    pub asks: bool,
}

/// One input that may be wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Change {
    /// The datum offset, or every level of the sand, by so many metres.
    Level {
        /// To be added to the offset, metres.
        add_m: f64,
    },
    /// The datum offset was read in feet.
    OffsetInFeet {
        /// What it is in metres.
        offset_m: f64,
    },
    /// The levels of the survey were read in feet.
    LevelsInFeet,
    /// The levels of the survey are depths, taken for heights.
    LevelsTurned,
    /// The tide is told on another clock.
    Clock {
        /// It comes so many minutes earlier than the program says: 60 or -60.
        earlier_min: f64,
    },
    /// The tide comes at other times here than at the source's place.
    Times {
        /// So much earlier, minutes; negative for later.
        earlier_min: f64,
    },
    /// Another station of the catalogue.
    Station {
        /// Its id.
        id: String,
        /// Its name.
        name: String,
    },
    /// The tide's range is another here than at the source's place.
    Range {
        /// So many times as large.
        times: f64,
    },
    /// The sand falls otherwise than the beach's even slope.
    Slope {
        /// So many times as steep.
        times: f64,
    },
}

/// A change with how well it explains what the witnesses say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reconciling {
    /// What would be changed.
    pub change: Change,
    /// How much better than the inputs as they are, natural units of log likelihood.
    pub better_nats: f64,
    /// Whether it does as well as the best of them, as far as these witnesses can tell.
    pub as_good: bool,
}

/// What all witnesses together come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// No outing says where the water stood.
    Unheard,
    /// Those that say something agree with the inputs.
    Agree,
    /// One outing, or a few, contradict them: a question.
    Ask,
    /// Several outings contradict them in the same way: nothing may be planned on them.
    Contradict,
}

/// What a beach's own tracks and finds say of its water and sand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heard {
    /// Each outing, earliest first.
    pub testimonies: Vec<Testimony>,
    /// Outings that were on foot on sand whose level is known, at a known time: had the water stood over them they would tell.
    pub dry_witnesses: usize,
    /// Outings whose limit followed the water.
    pub wet_witnesses: usize,
    /// Outings that followed a plan of the book, so that their limit says nothing of the water.
    pub by_plan: usize,
    /// Outings of which the person set a stretch or all aside: that is not heard.
    pub set_aside: usize,
    /// What they come to.
    pub finding: Finding,
    /// How much they speak against the inputs together, natural units of log likelihood.
    pub against_nats: f64,
    /// How many outings say so.
    pub agree: usize,
    /// The shift that explains them all best, where any of them says something.
    pub shift: Option<Shift>,
    /// Single changes that would reconcile them, the best first; empty where nothing is to be reconciled.
    pub changes: Vec<Reconciling>,
}
