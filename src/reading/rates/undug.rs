use serde::{Deserialize, Serialize};

use crate::bench::{BenchTables, Expected, undug};
use crate::earth::Frame;
use crate::reading::given::Ground;

/// Signals heard and left, counted as the finds they are expected to be.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ExpectedFinds {
    /// Signals that the bench has an answer for.
    pub signals: usize,
    /// Finds expected of them, rubbish and iron left out.
    pub worthwhile: f64,
    /// Of all they may be, how many the sea handles as heavy.
    pub heavy: f64,
    /// How many it handles as light.
    pub light: f64,
    /// How many are of unknown weight.
    pub unknown: f64,
}

/// The undug signals of one band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BandUndug {
    /// Name of the band.
    pub name: String,
    /// What its signals count for.
    #[serde(flatten)]
    pub counts: ExpectedFinds,
}

/// The undug signals of a beach. They are expected finds, not finds, and enter no rate.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct UndugReading {
    /// Of the whole beach.
    #[serde(flatten)]
    pub whole: ExpectedFinds,
    /// Signals without an answer: no target ID, no set-up, or nothing read with it.
    pub unanswered: usize,
    /// Band by band, from the highest down.
    pub bands: Vec<BandUndug>,
}

impl ExpectedFinds {
    fn add(&mut self, e: &Expected) {
        self.signals += 1;
        self.worthwhile += e.worthwhile();
        self.heavy += e.heavy;
        self.light += e.light;
        self.unknown += e.unknown;
    }
}

/// Counts the undug signals of the ground's beach.
pub(in crate::reading) fn read_undug(ground: &Ground, frame: &Frame) -> UndugReading {
    let beach = &ground.setting.beach;
    let undug = undug(BenchTables::from(ground.book), beach.uid);
    let mut told = UndugReading { unanswered: undug.unanswered.len(), ..UndugReading::default() };
    let named = |b: &crate::shore::Band| BandUndug { name: b.name.clone(), counts: ExpectedFinds::default() };
    told.bands = ground.setting.bands.iter().map(named).collect();
    for e in &undug.expected {
        told.whole.add(e);
        let level = frame.to_local(e.at).ok().and_then(|at| ground.shore()?.sand_level(at));
        let tide_m = level.zip(beach.datum_offset_m).map(|(l, offset)| l.land_m + offset);
        let band = tide_m.and_then(|m| ground.setting.bands.iter().position(|b| b.holds(m)));
        if let Some(band) = band.and_then(|n| told.bands.get_mut(n)) {
            band.counts.add(e);
        }
    }
    told
}
