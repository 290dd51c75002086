//! The water at one beach, whichever source it comes from.

mod secondary;

use std::sync::{Arc, OnceLock};

use jiff::{SignedDuration, Timestamp};

use self::secondary::SecondaryCurve;
pub use self::secondary::{Differences, SecondaryPort};
use super::astro::{seconds_j2000, timestamp};
use super::envelope::Envelope;
use super::{CAUTION, Datum, Levels, Predictor, Publisher, Station, TideError, TideTable, Turn, Window};

/// The water at one beach, whichever source it comes from. Cheap to clone and to send to another thread.
#[derive(Debug, Clone)]
pub struct Water(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    source: Source,
    levels: OnceLock<Levels>,
}

#[derive(Debug)]
enum Source {
    Station { station: Box<Station>, datum: Datum, predictor: Predictor },
    Table(TideTable),
    Secondary(SecondaryPort),
}

/// The kind of source that levels come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WaterKind {
    /// A station of the shipped catalogue.
    Station,
    /// Constants found in a gauge record of the person's own.
    Gauge,
    /// The person's own tide table.
    TideTable,
    /// Differences on a standard port.
    SecondaryPort,
}

impl WaterKind {
    /// The word that `--json` prints.
    pub fn word(self) -> &'static str {
        match self {
            Self::Station => "station",
            Self::Gauge => "gauge",
            Self::TideTable => "tide_table",
            Self::SecondaryPort => "secondary_port",
        }
    }

    /// How the screen says it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Station => "tide station",
            Self::Gauge => "own gauge record",
            Self::TideTable => "own tide table",
            Self::SecondaryPort => "secondary port",
        }
    }
}

/// A source's curve over one span, prepared for fast reading. Times are seconds since J2000.
pub(in crate::tide) enum Curve<'a> {
    Predicted(Envelope),
    Table(&'a TideTable),
    Secondary(SecondaryCurve<'a>),
}

impl Curve<'_> {
    /// Level at a moment of the span, metres.
    pub(in crate::tide) fn height_m(&self, seconds: f64) -> Option<f64> {
        match self {
            Self::Predicted(envelope) => Some(envelope.height_m(seconds)),
            Self::Table(table) => table.height_m(timestamp(seconds)),
            Self::Secondary(curve) => curve.height_m(seconds),
        }
    }
}

impl Water {
    /// Predicted from a station's constituents, metres above `datum`.
    ///
    /// # Errors
    /// As [`Predictor::new`].
    pub fn of_station(station: &Station, datum: Datum) -> Result<Self, TideError> {
        let predictor = Predictor::new(station, &datum)?;
        Ok(Self::from_source(Source::Station { station: Box::new(station.clone()), datum, predictor }))
    }

    /// Read from the person's own tide table.
    pub fn of_table(table: TideTable) -> Self {
        Self::from_source(Source::Table(table))
    }

    /// From a secondary port's differences on a standard port.
    pub fn of_secondary(port: SecondaryPort) -> Self {
        Self::from_source(Source::Secondary(port))
    }

    fn from_source(source: Source) -> Self {
        Self(Arc::new(Inner { source, levels: OnceLock::new() }))
    }

    /// Name of the station or table.
    pub fn name(&self) -> &str {
        match &self.0.source {
            Source::Station { station, .. } => &station.name,
            Source::Table(table) => table.name(),
            Source::Secondary(port) => port.name(),
        }
    }

    /// The kind of source.
    pub fn kind(&self) -> WaterKind {
        match &self.0.source {
            Source::Station { station, .. } if station.publisher == Publisher::Own => WaterKind::Gauge,
            Source::Station { .. } => WaterKind::Station,
            Source::Table(_) => WaterKind::TideTable,
            Source::Secondary(_) => WaterKind::SecondaryPort,
        }
    }

    /// The secondary port, where the source is one.
    pub fn secondary(&self) -> Option<&SecondaryPort> {
        match &self.0.source {
            Source::Secondary(port) => Some(port),
            Source::Station { .. } | Source::Table(_) => None,
        }
    }

    /// What the levels count from.
    pub fn datum(&self) -> &Datum {
        match &self.0.source {
            Source::Station { datum, .. } => datum,
            Source::Table(table) => table.datum(),
            Source::Secondary(port) => port.datum(),
        }
    }

    /// The station, where the source is one.
    pub fn station(&self) -> Option<&Station> {
        match &self.0.source {
            Source::Station { station, .. } => Some(station),
            Source::Table(_) | Source::Secondary(_) => None,
        }
    }

    /// The predictor, where the source is a station.
    pub fn predictor(&self) -> Option<&Predictor> {
        match &self.0.source {
            Source::Station { predictor, .. } => Some(predictor),
            Source::Table(_) | Source::Secondary(_) => None,
        }
    }

    /// First and last moment the source speaks of; `None` when it has no end.
    pub fn covers(&self) -> Option<(Timestamp, Timestamp)> {
        match &self.0.source {
            Source::Station { .. } => None,
            Source::Table(table) => Some(table.covers()),
            Source::Secondary(port) => port.standard().covers(),
        }
    }

    /// The parts of `from..to` that the source speaks of.
    pub fn spans(&self, from: Timestamp, to: Timestamp) -> Vec<Window> {
        let asked = Window { from, to };
        match &self.0.source {
            Source::Station { .. } if from < to => vec![asked],
            Source::Station { .. } => Vec::new(),
            Source::Table(table) => table.spans().iter().filter_map(|span| span.shared(&asked)).collect(),
            // Within a day of an end of the standard port's own knowledge a shifted turn may be missing.
            Source::Secondary(port) => {
                let day = SignedDuration::from_hours(24);
                let inner = port.standard().spans(from - day, to + day).into_iter();
                inner.filter_map(|s| Window { from: s.from + day, to: s.to - day }.shared(&asked)).collect()
            }
        }
    }

    /// The curve over a span, prepared.
    pub(in crate::tide) fn curve(&self, from: Timestamp, to: Timestamp) -> Curve<'_> {
        match &self.0.source {
            Source::Station { predictor, .. } => Curve::Predicted(predictor.envelope(seconds_j2000(from), seconds_j2000(to))),
            Source::Table(table) => Curve::Table(table),
            Source::Secondary(port) => Curve::Secondary(port.curve(from, to)),
        }
    }

    /// What must be shown beside every level of this source.
    pub fn caution(&self) -> String {
        match &self.0.source {
            Source::Station { station, .. } if !station.remark.is_empty() => {
                format!("{CAUTION} About this station: {}.", station.remark.trim_end_matches('.'))
            }
            Source::Station { .. } => CAUTION.to_owned(),
            Source::Table(_) => format!("{CAUTION} Your own tide table: a half-cosine between its high and low waters."),
            Source::Secondary(port) => format!(
                "{CAUTION} Predicted by its differences on {}: {}",
                port.standard().name(),
                port.standard().caution().trim_start_matches(CAUTION).trim_start()
            ),
        }
    }

    /// Level at a moment, metres above [`datum`](Self::datum); `None` where the source does not reach.
    pub fn height_m(&self, time: Timestamp) -> Option<f64> {
        match &self.0.source {
            Source::Station { predictor, .. } => Some(predictor.height_m(time)),
            Source::Table(table) => table.height_m(time),
            Source::Secondary(port) => port.curve(time, time).height_m(seconds_j2000(time)),
        }
    }

    /// Levels at `n` moments `step_s` seconds apart from `from` on, as [`height_m`](Self::height_m).
    pub fn heights(&self, from: Timestamp, step_s: f64, n: usize) -> Vec<Option<f64>> {
        match &self.0.source {
            Source::Station { predictor, .. } => predictor.heights(from, step_s, n).into_iter().map(Some).collect(),
            Source::Table(_) | Source::Secondary(_) => {
                let from_s = seconds_j2000(from);
                let to = timestamp(from_s + step_s * n as f64);
                let curve = self.curve(from.min(to), from.max(to));
                (0..n).map(|i| curve.height_m(from_s + step_s * i as f64)).collect()
            }
        }
    }

    /// Every high and low water from `from` up to but not including `to`, in order.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        match &self.0.source {
            Source::Station { predictor, .. } => predictor.turns(from, to),
            Source::Table(table) => table.turns(from, to),
            Source::Secondary(port) => port.turns(from, to),
        }
    }

    /// The tide's levels above [`datum`](Self::datum), computed at first use (tens of milliseconds for a
    /// station) and then kept. A table's are means over its own entries.
    pub fn levels(&self) -> &Levels {
        self.0.levels.get_or_init(|| match &self.0.source {
            Source::Station { station, datum, predictor } => {
                Levels::from_station(station, datum).unwrap_or_else(|_| Levels::computed(predictor))
            }
            Source::Table(table) => Levels { hat: None, lat: None, ..Levels::from_turns(table.entries()) },
            Source::Secondary(port) => port.levels(),
        })
    }
}
