use std::sync::Arc;

use jiff::Timestamp;

use super::record::{PAST, Told};
use super::{Foreshore, Seas, Swash, Waves, swash};
use crate::tide::{Water, Window, dry_windows};

/// What waves run up the sand above still water on the calmest day, metres: no less is ever kept (common practice,
/// no published source).
pub const USUAL_RUN_UP_M: f64 = 0.3;

/// The sea that is taken where nobody says anything of it and no record tells: cautious for a sheltered coast, a
/// plain day on an open one (common practice, no published source).
pub const USUAL_WAVES: Waves = Waves { height_m: 1.5, period_s: 8.0 };

/// Whence the sea is known that a run-up was worked out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeaFrom {
    /// A record or forecast that covers the hours asked about; the entry that runs up highest.
    Record(Timestamp),
    /// The entries of a record nearest before and after hours that none covers: the highest and longest waves of them. The
    /// entry that runs up highest, and how far it is from the farther end of the hours, whole hours.
    Nearest(Timestamp, i64),
    /// The last hours of a record or forecast that ended before the hours asked about, rougher than what would be taken
    /// without it: when it ended, and how long before the end of these hours, whole hours.
    Ended(Timestamp, i64),
    /// The waves that a person expects.
    Asked,
    /// What the record's own past exceeds in 5 hours of 100, as no record covers the hours asked about.
    Past,
    /// [`USUAL_WAVES`], as nothing is known.
    Usual,
}

impl SeaFrom {
    /// The word files hold.
    pub fn word(self) -> &'static str {
        match self {
            Self::Record(_) => "record",
            Self::Nearest(..) => "nearest",
            Self::Ended(..) => "ended",
            Self::Asked => "asked",
            Self::Past => "past",
            Self::Usual => "usual",
        }
    }
}

/// How high the waves are taken to run up, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunUp {
    /// Height above still water that is kept clear of, metres; never less than worked out, and [`surge_m`](Self::surge_m)
    /// on top of it.
    pub m: f64,
    /// What the surge of the record or forecast is more than that which the weather's part of the margin holds, metres.
    pub surge_m: f64,
    /// What was worked out for the waves, metres.
    pub computed_m: f64,
    /// What a person typed, metres.
    pub typed_m: Option<f64>,
    /// The waves.
    pub waves: Waves,
    /// Whence they are known.
    pub from: SeaFrom,
    /// The slope they run up.
    pub foreshore: Foreshore,
    /// The waves that would be taken without the person's word, where that is what counts.
    pub instead: Option<Waves>,
}

/// A sea that a person expects is told as calm where it runs up less than this part of what would be taken without
/// their word (a judgement).
const CALM_PART: f64 = 0.5;

impl RunUp {
    fn new(waves: Waves, from: SeaFrom, foreshore: Foreshore, typed_m: Option<f64>) -> Self {
        let computed_m = swash(waves, foreshore.steep()).run_up_m;
        let m = computed_m.max(typed_m.unwrap_or(0.0)).max(USUAL_RUN_UP_M);
        Self { m, surge_m: 0.0, computed_m, typed_m, waves, from, foreshore, instead: None }
    }

    /// The same with so much surge beside what is kept for the weather.
    fn with_surge(self, surge_m: f64) -> Self {
        Self { m: self.m - self.surge_m + surge_m, surge_m, ..self }
    }

    /// What is to be said of a sea that a person expects much calmer than would be taken without their word.
    pub fn caution(&self) -> Option<String> {
        let instead = Self::new(self.instead?, self.from, self.foreshore, self.typed_m);
        (self.m - self.surge_m < CALM_PART * instead.m).then(|| {
            format!(
                "You expect a calm sea, {}: {:.2} m are kept for its run-up, where {:.2} m would be kept for {} without your word. If it is rougher than you expect, every time here is too late: look at the sea before you go down.",
                self.waves, self.m, instead.m, instead.waves
            )
        })
    }

    fn or_higher(self, other: Self) -> Self {
        if (other.m, other.computed_m) > (self.m, self.computed_m) { other } else { self }
    }

    /// What the waves do on the slope that was taken.
    pub fn swash(&self) -> Swash {
        swash(self.waves, self.foreshore.steep())
    }

    /// Whether a record or forecast covers the hours asked about.
    pub fn is_covered(&self) -> bool {
        matches!(self.from, SeaFrom::Record(_))
    }

    /// The sea that is assumed, in a few words: "1.2 m, 8 s, from the sea record".
    pub fn sea_said(&self) -> String {
        let whence = match self.from {
            SeaFrom::Record(_) => "from the sea record or forecast",
            SeaFrom::Nearest(_, hours) => return format!("{}, from the record's nearest entry, {hours} h off", self.waves),
            SeaFrom::Ended(_, hours) => {
                return format!("{}, as at the end of a record or forecast that breaks off {hours} h before", self.waves);
            }
            SeaFrom::Asked => "as expected by you",
            SeaFrom::Past => {
                "assumed: as rough as the sea record's past but for 5 hours in 100, as no forecast covers these hours"
            }
            SeaFrom::Usual => "assumed, as nothing is known of the sea at these hours (common practice, no published source)",
        };
        format!("{}, {whence}", self.waves)
    }

    /// The whole of it for a person, in sentences.
    pub fn said(&self) -> String {
        let whence = match self.from {
            SeaFrom::Record(_) => "the roughest that the sea record or forecast has over these hours".to_owned(),
            SeaFrom::Nearest(_, hours) => format!(
                "from the record's nearest entry, {hours} h off, as its entries lie too far apart or end too soon to cover these \
                 hours: it may be rougher between them. Give the height and period of today's forecast, or import a denser one"
            ),
            SeaFrom::Ended(_, hours) => format!(
                "the roughest of the last hours of a record or forecast that breaks off {hours} h before the end of these hours: \
                 nothing says that the sea has gone down since, and it may have risen. Give the height and period of today's \
                 forecast, or import it"
            ),
            SeaFrom::Asked => "as expected by you".to_owned(),
            SeaFrom::Past => format!(
                "assumed, as no record or forecast covers these hours: the record's own past is rougher in {:.0} hours of 100. \
                 Give the height and period of today's forecast, or import it",
                (1.0 - PAST) * 100.0
            ),
            SeaFrom::Usual => {
                "assumed, as nothing is known of the sea at these hours (common practice, no published source). Give the height \
                 and period of today's forecast, or import it"
                    .to_owned()
            }
        };
        let kept_m = self.m - self.surge_m;
        let typed = match self.typed_m {
            Some(typed) if typed < kept_m => format!(" The {typed:.2} m of run-up that were typed are less and lower nothing."),
            Some(typed) => format!(" The {typed:.2} m that were typed are more and are kept."),
            None if self.computed_m < kept_m => format!(" {kept_m:.2} m are kept all the same."),
            None => String::new(),
        };
        let surge = match self.surge_m {
            m if m > 0.0 => format!(
                " The record or forecast has a surge {m:.2} m above what the weather's part of the margin holds: {:.2} m are kept with it.",
                self.m
            ),
            _ => String::new(),
        };
        format!(
            "Sea: {}, {whence}. On sand that falls {:.3} ± {:.3} m a metre at the water's edge two waves in a hundred run up \
             {:.2} m or more (Stockdon and others 2006).{typed}{surge}",
            self.waves, self.foreshore.slope, self.foreshore.sd, self.computed_m
        )
    }
}

/// What is known and expected of the sea off a beach.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sea {
    /// Its records and forecasts.
    pub seas: Arc<Seas>,
    /// The waves that a person expects; where a record covers the hours, the higher counts.
    pub asked: Option<Waves>,
    /// The run-up that a person typed, metres; less than what is worked out lowers nothing.
    pub typed_m: Option<f64>,
    /// The surge that the weather's part of the margin holds already, metres: of a record's only what is more is kept.
    pub held_m: f64,
}

impl Sea {
    /// The run-up where no record covers the hours.
    pub fn uncovered(&self, foreshore: Foreshore) -> RunUp {
        let (instead, of) = self.seas.past().map_or((USUAL_WAVES, SeaFrom::Usual), |past| (past, SeaFrom::Past));
        match self.asked {
            Some(asked) => RunUp { instead: Some(instead), ..RunUp::new(asked, SeaFrom::Asked, foreshore, self.typed_m) },
            None => RunUp::new(instead, of, foreshore, self.typed_m),
        }
    }

    /// The highest run-up in `from..to`.
    pub fn highest(&self, foreshore: Foreshore, from: Timestamp, to: Timestamp) -> RunUp {
        let pieces = self.pieces(foreshore, from, to);
        pieces.into_iter().map(|(_, r)| r).reduce(RunUp::or_higher).unwrap_or_else(|| self.uncovered(foreshore))
    }

    /// The run-up piece by piece over `from..to`: between two entries of a record that of the rougher one.
    pub fn pieces(&self, foreshore: Foreshore, from: Timestamp, to: Timestamp) -> Vec<(Window, RunUp)> {
        let mut pieces: Vec<(Window, RunUp)> = Vec::new();
        let mut ends = self.seas.entries(from, to);
        ends.push(to);
        let mut start = from;
        for end in ends {
            if end <= start {
                continue;
            }
            let run_up = self.between(foreshore, start, end);
            match pieces.last_mut() {
                Some((window, last)) if last.m == run_up.m && last.is_covered() == run_up.is_covered() => {
                    window.to = end;
                    *last = last.or_higher(run_up);
                }
                _ => pieces.push((Window { from: start, to: end }, run_up)),
            }
            start = end;
        }
        pieces
    }

    /// The run-up from an instant to the next at which another entry of a record counts.
    fn between(&self, foreshore: Foreshore, start: Timestamp, end: Timestamp) -> RunUp {
        let of = |waves, from| RunUp::new(waves, from, foreshore, self.typed_m);
        let mut around = self.seas.around(start);
        // What a person expects of the day knows more than a record that ended the day before.
        around.retain(|t| t.ended.is_none() || self.asked.is_none());
        // A water held down is no promise, and the highest of several forecasts counts.
        let surge_m = around.iter().filter_map(|t| t.surge_m).fold(0.0, f64::max);
        let (covering, near): (Vec<Told>, Vec<Told>) = around.into_iter().partition(|t| t.covers);
        let recorded = covering.into_iter().map(|t| of(t.waves, SeaFrom::Record(t.time))).reduce(RunUp::or_higher);
        let covered = match (recorded, self.asked) {
            (Some(recorded), Some(asked)) => recorded.or_higher(of(asked, SeaFrom::Asked)),
            (Some(recorded), None) => recorded,
            // An entry hours off calms nothing.
            (None, _) => self.uncovered(foreshore),
        };
        let nearest = nearest(&near, start, end).map(|(waves, from)| of(waves, from));
        let run_up = nearest.map_or(covered, |nearest| covered.or_higher(nearest));
        run_up.with_surge((surge_m - self.held_m.max(0.0)).max(0.0))
    }

    /// When a place is dry: as [`dry_windows`], with the run-up of each hour beside a margin of its own.
    ///
    /// # Units
    /// `level_m` in metres above the water's datum; `margin_m` in metres, without run-up.
    pub fn dry_windows(
        &self,
        water: &Water,
        (level_m, margin_m): (f64, f64),
        foreshore: Foreshore,
        (from, to): (Timestamp, Timestamp),
    ) -> Vec<Window> {
        let mut dry: Vec<Window> = Vec::new();
        for (piece, run_up) in self.pieces(foreshore, from, to) {
            for window in dry_windows(water, level_m, margin_m + run_up.m, piece.from, piece.to) {
                match dry.last_mut() {
                    // Windows are rounded inwards: dry up to an entry of the record and from it on is dry throughout.
                    Some(last) if last.to >= piece.from - ROUNDED && window.from <= piece.from + ROUNDED => last.to = window.to,
                    _ => dry.push(window),
                }
            }
        }
        dry
    }
}

/// The highest and longest waves of entries that do not cover an hour, and which of them is the roughest.
fn nearest(near: &[Told], start: Timestamp, end: Timestamp) -> Option<(Waves, SeaFrom)> {
    let rough = |t: &Told| t.waves.height_m * t.waves.length_m();
    let roughest = near.iter().max_by(|a, b| rough(a).total_cmp(&rough(b)))?;
    let height_m = near.iter().map(|t| t.waves.height_m).fold(0.0, f64::max);
    let period_s = near.iter().map(|t| t.waves.period_s).fold(0.0, f64::max);
    let off_s = |from: Timestamp, at: Timestamp| at.duration_since(from).abs().as_secs();
    let hours = |from: Timestamp| (off_s(from, start).max(off_s(from, end)) + 1_800) / 3_600;
    let from = match roughest.ended {
        Some(ended) => SeaFrom::Ended(ended, hours(ended)),
        None => SeaFrom::Nearest(roughest.time, hours(roughest.time)),
    };
    Some((Waves { height_m, period_s }, from))
}

/// By so much a window is at most rounded inwards.
const ROUNDED: jiff::SignedDuration = jiff::SignedDuration::from_secs(2);
