use serde::{Deserialize, Serialize};

/// What the hearing of witnesses rests on. All of them judgements, set on invented beaches and held to others that
/// they were not set on (`tests/rooms/witness/trial.rs`).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Params {
    /// Standard deviation of a receiver's place across the shore, metres: the part that stays through minutes.
    pub receiver_m: f64,
    /// A track is looked at once in so many seconds.
    pub step_s: f64,
    /// The lowest sand reached is looked for once in so many seconds: long enough for a lane down and up.
    pub spell_s: f64,
    /// Faster than this nobody goes on foot, metres per second.
    pub foot_m_per_s: f64,
    /// Unevenness of a limit that follows the water: swash, steps, sand that changed since; standard deviation, metres.
    pub uneven_m: f64,
    /// How far the water of one day stands from the predicted one, standard deviation, metres.
    pub day_sd_m: f64,
    /// How far the water's time may be off without anything being wrong, standard deviation, minutes.
    pub time_sd_min: f64,
    /// People go so deep without saying so, metres.
    pub wade_m: f64,
    /// They keep above this share of the run-up, ...
    pub swash_share: f64,
    /// ... which the swash of a day differs by, as a share of the run-up, ...
    pub swash_sd: f64,
    /// ... and so far back from it, metres, ...
    pub back_m: f64,
    /// ... which differs by so much, metres, ...
    pub back_sd_m: f64,
    /// ... and the sand of the whole beach stands off its survey by so much, metres.
    pub sand_sd_m: f64,
    /// Standard deviation of the depth or the sand by which somebody may stand lower than the rest says, metres.
    pub stands_sd_m: f64,
    /// Share of the spells that touch a limit that follows the water, at least.
    pub touch_share: f64,
    /// How large the errors of inputs are that are wrong: of level, standard deviation, metres, ...
    pub wrong_m: f64,
    /// ... and of time, minutes.
    pub wrong_min: f64,
    /// An outing says the same as others if it speaks by so many natural units for what they come to.
    pub says_so_nats: f64,
    /// How much of the lowest of several looks at one limit is taken to be chance, 0 to 1.
    pub lowest_share: f64,
    /// Share of what it costs a limit to lie at another level on each outing, where the water is not the reason.
    pub elsewhere_share: f64,
    /// A limit with a trend of its own costs so many natural units.
    pub trend_nats: f64,
    /// Share of what a spell would say alone that it says beside its neighbours, which share its errors.
    pub own_share: f64,
    /// A limit follows the water when that explains an outing better than a limit that does not, by so many natural units
    /// of log likelihood.
    pub follows_nats: f64,
    /// One outing says no more than so many natural units against another.
    pub most_nats: f64,
    /// One outing asks from so many natural units on.
    pub asks_nats: f64,
    /// All outings together ask from so many on, ...
    pub all_ask_nats: f64,
    /// ... and block from so many on, ...
    pub blocks_nats: f64,
    /// ... where at least so many of them say the same.
    pub agree: usize,
    /// Of a shift by so many minutes or more, ...
    pub timed_min: f64,
    /// ... this share of the outings must say the same (lanes along the shore, each lower than the last, look like water
    /// at another time on a few outings, but not on most), ...
    pub timed_share: f64,
    /// ... though never more than so many outings.
    pub timed_most: usize,
    /// So long must a track stand under the water, minutes.
    pub under_min: f64,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            receiver_m: 3.0,
            step_s: 10.0,
            spell_s: 360.0,
            foot_m_per_s: 2.5,
            uneven_m: 0.08,
            day_sd_m: 0.15,
            time_sd_min: 8.0,
            wade_m: 0.3,
            swash_share: 0.8,
            swash_sd: 0.4,
            back_m: 2.0,
            back_sd_m: 1.2,
            sand_sd_m: 0.08,
            stands_sd_m: 0.15,
            elsewhere_share: 0.7,
            trend_nats: 3.0,
            touch_share: 0.5,
            wrong_m: 1.5,
            wrong_min: 60.0,
            says_so_nats: 0.4,
            lowest_share: 1.0,
            own_share: 0.7,
            follows_nats: 1.5,
            most_nats: 8.0,
            asks_nats: 7.6,
            all_ask_nats: 2.7,
            blocks_nats: 3.8,
            agree: 3,
            timed_min: 20.0,
            timed_share: 0.5,
            timed_most: 6,
            under_min: 5.0,
        }
    }
}

/// How far above the still water people keep: what is expected of it, and how much that differs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Clear {
    /// Metres above the still water.
    pub(super) m: f64,
    /// Standard deviation, metres.
    pub(super) sd_m: f64,
}

impl Clear {
    /// Above the swash and a step or two back from it (common practice, no published source), on sand of this fall whose
    /// survey has this standard error, metres.
    pub(super) fn usual(run_up_m: f64, slope: f64, sigma_m: f64, params: &Params) -> Self {
        let sand_m = params.sand_sd_m.hypot(sigma_m);
        Self {
            m: params.swash_share * run_up_m + params.back_m * slope,
            sd_m: sand_m.hypot(params.swash_sd * run_up_m).hypot(params.back_sd_m * slope),
        }
    }
}
