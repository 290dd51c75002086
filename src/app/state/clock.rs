//! The instant the drawings show.

use jiff::Timestamp;

/// The instant the drawings show, and how it runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    /// The instant.
    pub at: Timestamp,
    /// Whether it runs by itself.
    pub playing: bool,
}

/// Beach seconds that pass in one second while playing.
pub(crate) const PLAY_RATE: f64 = 1800.0;

impl Clock {
    /// Moves by seconds, staying within what can be said as a date.
    pub fn step(&mut self, seconds: f64) {
        let ms = self.at.as_millisecond().saturating_add((seconds * 1000.0) as i64);
        if let Ok(at) = Timestamp::from_millisecond(ms) {
            self.at = at;
        }
    }

    /// Lets `dt` seconds of the wall clock pass.
    pub fn run(&mut self, dt_s: f64) {
        if self.playing {
            self.step(dt_s * PLAY_RATE);
        }
    }
}

/// One press of an arrow, comma or full stop, seconds.
pub(crate) const STEP_S: f64 = 600.0;

/// The instant as seconds since 1970.
pub(crate) fn seconds(at: Timestamp) -> f64 {
    at.as_millisecond() as f64 / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_runs_only_while_playing() {
        let mut c = Clock { at: Timestamp::UNIX_EPOCH, playing: false };
        c.run(1.0);
        assert_eq!(c.at, Timestamp::UNIX_EPOCH);
        c.playing = true;
        c.run(2.0);
        assert_eq!(c.at.as_second(), 3600);
    }
}
