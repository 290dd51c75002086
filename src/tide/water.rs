use std::sync::{Arc, OnceLock};

use jiff::{SignedDuration, Timestamp};

use super::{CAUTION, Datum, Levels, Predictor, Station, TideError, TideTable, Turn};

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
}

impl Water {
    /// Predicted from a station's constituents, metres above `datum`.
    ///
    /// # Errors
    /// As [`Predictor::new`].
    pub fn of_station(station: &Station, datum: Datum) -> Result<Self, TideError> {
        let predictor = Predictor::new(station, &datum)?;
        Ok(Self::of(Source::Station { station: Box::new(station.clone()), datum, predictor }))
    }

    /// Read from the person's own tide table.
    pub fn of_table(table: TideTable) -> Self {
        Self::of(Source::Table(table))
    }

    fn of(source: Source) -> Self {
        Self(Arc::new(Inner { source, levels: OnceLock::new() }))
    }

    /// Name of the station or table.
    pub fn name(&self) -> &str {
        match &self.0.source {
            Source::Station { station, .. } => &station.name,
            Source::Table(table) => table.name(),
        }
    }

    /// What the levels count from.
    pub fn datum(&self) -> &Datum {
        match &self.0.source {
            Source::Station { datum, .. } => datum,
            Source::Table(table) => table.datum(),
        }
    }

    /// The station, where the source is one.
    pub fn station(&self) -> Option<&Station> {
        match &self.0.source {
            Source::Station { station, .. } => Some(station),
            Source::Table(_) => None,
        }
    }

    /// The predictor, where the source is a station.
    pub fn predictor(&self) -> Option<&Predictor> {
        match &self.0.source {
            Source::Station { predictor, .. } => Some(predictor),
            Source::Table(_) => None,
        }
    }

    /// First and last moment the source speaks of; `None` when it has no end.
    pub fn covers(&self) -> Option<(Timestamp, Timestamp)> {
        match &self.0.source {
            Source::Station { .. } => None,
            Source::Table(table) => Some(table.covers()),
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
        }
    }

    /// Level at a moment, metres above [`datum`](Self::datum); `None` where the source does not reach.
    pub fn height_m(&self, time: Timestamp) -> Option<f64> {
        match &self.0.source {
            Source::Station { predictor, .. } => Some(predictor.height_m(time)),
            Source::Table(table) => table.height_m(time),
        }
    }

    /// Levels at `n` moments `step_s` seconds apart from `from` on, as [`height_m`](Self::height_m).
    pub fn heights(&self, from: Timestamp, step_s: f64, n: usize) -> Vec<Option<f64>> {
        match &self.0.source {
            Source::Station { predictor, .. } => predictor.heights(from, step_s, n).into_iter().map(Some).collect(),
            Source::Table(table) => (0..n)
                .map(|i| {
                    let after = SignedDuration::try_from_secs_f64(step_s * i as f64).ok()?;
                    table.height_m(from.checked_add(after).ok()?)
                })
                .collect(),
        }
    }

    /// Every high and low water from `from` up to but not including `to`, in order.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        match &self.0.source {
            Source::Station { predictor, .. } => predictor.turns(from, to),
            Source::Table(table) => table.turns(from, to),
        }
    }

    /// The tide's levels above [`datum`](Self::datum), computed at first use (tens of milliseconds for a
    /// station) and then kept. A table's are means over its own entries.
    pub fn levels(&self) -> &Levels {
        self.0.levels.get_or_init(|| match &self.0.source {
            Source::Station { station, datum, predictor } => {
                Levels::of(station, datum).unwrap_or_else(|_| Levels::computed(predictor))
            }
            Source::Table(table) => Levels { hat: None, lat: None, ..Levels::from_turns(table.entries()) },
        })
    }
}
