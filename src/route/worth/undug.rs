use jiff::Timestamp;
use statrs::function::erf::erf;

use super::{Expected, Place, Worth};
use crate::bench::{BenchTables, Undug, undug};
use crate::earth::{Frame, Local};
use crate::route::Params;
use crate::shore::{Setting, Shore};

/// How far a receiver may have put a signal from where it lies, standard deviation in each direction, metres.
const PLACE_SD_M: f64 = 4.0;

/// Worth of ground with the signals heard and left on it counted as expected finds.
///
/// Each counts for the chance that it is no rubbish, as the [bench](crate::bench) has it, spread normally about
/// its place and averaged over a block about the place asked for, so that the blocks of a route share it out
/// between them, and for the chance that one pass hears it again. It stays whole on ground covered before, as it was
/// heard and left there.
pub struct WithUndug<'a> {
    worth: &'a dyn Worth,
    shore: Option<&'a Shore>,
    /// Half a block along and across the shore, metres.
    half_m: (f64, f64),
    /// Place along and across, or in the plane without a shore, with the finds expected there.
    signals: Vec<(f64, f64, f64)>,
    unanswered: usize,
    detection: f64,
}

impl<'a> WithUndug<'a> {
    /// Adds the undug signals of the setting's beach to what else is known.
    pub fn new(worth: &'a dyn Worth, book: impl Into<BenchTables>, setting: &'a Setting, params: &Params) -> Self {
        Self::with_answers(worth, &undug(book, setting.beach.uid), setting, params)
    }

    /// The same with the signals answered before.
    pub fn with_answers(worth: &'a dyn Worth, undug: &Undug, setting: &'a Setting, params: &Params) -> Self {
        let shore = setting.shore.as_ref().ok().map(AsRef::as_ref);
        let half_m = (0.5 * params.block_along_m, 0.5 * params.block_across_m);
        let (unanswered, detection) = (undug.unanswered.len(), params.detection);
        let mut this = Self { worth, shore, half_m, signals: Vec::new(), unanswered, detection };
        if let Ok(frame) = Frame::centred_on(setting.beach.origin) {
            let place = |e: &crate::bench::Expected| {
                let (along, across) = this.plane(frame.to_local(e.at).ok()?);
                Some((along, across, e.worthwhile()))
            };
            this.signals = undug.expected.iter().filter_map(place).collect();
        }
        this
    }

    fn plane(&self, at: Local) -> (f64, f64) {
        match self.shore {
            Some(shore) => {
                let s = shore.to_shore(at);
                (s.along_m, s.across_m)
            }
            None => (at.east_m, at.north_m),
        }
    }

    /// Finds expected of undug signals within the block about a place.
    fn left_m2(&self, at: Local) -> f64 {
        let (along, across) = self.plane(at);
        let within = |d: f64, half: f64| {
            let at = |x: f64| erf(x / (PLACE_SD_M * std::f64::consts::SQRT_2));
            0.5 * (at(d + half) - at(d - half))
        };
        let far = (self.half_m.0 + 6.0 * PLACE_SD_M, self.half_m.1 + 6.0 * PLACE_SD_M);
        let near =
            self.signals.iter().map(|s| (s.0 - along, s.1 - across, s.2)).filter(|s| s.0.abs() < far.0 && s.1.abs() < far.1);
        let finds: f64 = near.map(|(da, dx, finds)| finds * within(da, self.half_m.0) * within(dx, self.half_m.1)).sum();
        finds / (4.0 * self.half_m.0 * self.half_m.1)
    }
}

impl Worth for WithUndug<'_> {
    fn expected(&self, at: Local, when: Timestamp) -> Expected {
        let else_known = self.worth.expected(at, when);
        let left = 100.0 * self.left_m2(at) * self.detection;
        if left <= 0.0 {
            return else_known;
        }
        let own_sd_per_100m2 = else_known.own_sd_per_100m2.hypot(left);
        Expected { per_100m2: else_known.per_100m2 + left, own_sd_per_100m2, ..else_known }
    }

    fn place(&self, at: Local) -> Place {
        self.worth.place(at)
    }

    fn day_variance(&self) -> f64 {
        self.worth.day_variance()
    }

    fn said(&self) -> String {
        let said = self.worth.said();
        if self.signals.is_empty() {
            return said;
        }
        let finds: f64 = self.signals.iter().map(|s| s.2).sum();
        let unanswered = if self.unanswered > 0 {
            format!("; {} more have no answer and count for nothing", self.unanswered)
        } else {
            String::new()
        };
        format!("{said} {} signals heard and left count as {finds:.0} finds where they lie{unanswered}.", self.signals.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Expected as Left;
    use crate::book::{Beach, Book, Uid};
    use crate::earth::LonLat;

    struct Even;
    impl Worth for Even {
        fn expected(&self, _: Local, _: Timestamp) -> Expected {
            Expected::new(1.0, 0.5)
        }
        fn said(&self) -> String {
            "Even.".into()
        }
    }

    fn left(at: LonLat, rubbish: f64) -> Left {
        let signal = Uid::of_content("signal", []);
        Left { signal, at, likeliest: String::new(), chance: 0.5, heavy: 0.5, light: 0.5, unknown: 0.0, rubbish }
    }

    /// Over all blocks about it a signal counts for exactly its own chance, times that of hearing it again.
    #[test]
    fn the_blocks_share_out_what_a_signal_counts_for() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let mut book = Book::new();
        book.apply(&crate::book::Edit::put(beach.clone())).unwrap();
        let setting = Setting::from_book(&book, beach.uid).unwrap();
        let params = Params::default();
        let undug = Undug { expected: vec![left(beach.origin, 0.25), left(beach.origin, 1.0)], ..Undug::default() };
        let worth = WithUndug::with_answers(&Even, &undug, &setting, &params);
        let now = Timestamp::UNIX_EPOCH;
        let (a, b) = (params.block_along_m, params.block_across_m);
        let mut finds = 0.0;
        for n in -10..10 {
            for m in -10..10 {
                let at = Local::new((f64::from(n) + 0.5) * a, (f64::from(m) + 0.3) * b);
                finds += (worth.expected(at, now).per_100m2 - 1.0) * a * b / 100.0;
            }
        }
        assert!((finds - 0.75 * params.detection).abs() < 1e-6, "{finds}");
        assert!(worth.said().contains("2 signals heard and left count as 1 finds"), "{}", worth.said());
        let nothing = WithUndug::with_answers(&Even, &Undug::default(), &setting, &params);
        let here = Local::new(0.0, 0.0);
        assert_eq!((nothing.said(), nothing.expected(here, now)), (Even.said(), Even.expected(here, now)));
    }
}
