use jiff::Timestamp;

use super::turns::{Turn, TurnKind};
use super::{Datum, TideError};

/// One line of a tide table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableEntry {
    /// When the water turns.
    pub time: Timestamp,
    /// Level, metres above the table's datum.
    pub level_m: f64,
    /// High or low water, where the table says so.
    pub kind: Option<TurnKind>,
}

/// The person's own tide table: high and low waters, a half-cosine between them.
///
/// Between two turning points h = h₁ + (h₂ − h₁)(1 − cos πx)/2 with x the part of the time gone by; the
/// common approximation for an undistorted tide (within a few centimetres of the rule of twelfths, which
/// the tests compare). It knows nothing outside its first and last entry.
#[derive(Debug, Clone, PartialEq)]
pub struct TideTable {
    name: String,
    datum: Datum,
    turns: Vec<Turn>,
}

impl TideTable {
    /// A table of entries in order of time. Kinds left open are taken from the levels.
    ///
    /// # Errors
    /// [`TideError::TableTooShort`], [`TideError::TableOrder`], [`TideError::TableAlternation`] or
    /// [`TideError::TableLevels`] naming the entry (the first is number 1).
    pub fn new(name: impl Into<String>, datum: Datum, entries: &[TableEntry]) -> Result<Self, TideError> {
        if entries.len() < 2 {
            return Err(TideError::TableTooShort(entries.len()));
        }
        let mut turns: Vec<Turn> = Vec::with_capacity(entries.len());
        for (i, entry) in entries.iter().enumerate() {
            let (number, time) = (i + 1, entry.time);
            if !entry.level_m.is_finite() {
                return Err(TideError::TableLevels { entry: number, time });
            }
            let neighbour = if i == 0 { &entries[1] } else { &entries[i - 1] };
            let higher = entry.level_m > neighbour.level_m;
            let kind = entry.kind.unwrap_or(if higher { TurnKind::High } else { TurnKind::Low });
            if let Some(before) = turns.last() {
                if time <= before.time {
                    return Err(TideError::TableOrder { entry: number, time });
                }
                if kind == before.kind {
                    return Err(TideError::TableAlternation { entry: number, time, kind });
                }
                if higher != (kind == TurnKind::High) || entry.level_m == before.level_m {
                    return Err(TideError::TableLevels { entry: number, time });
                }
            }
            turns.push(Turn { time, kind, level_m: entry.level_m });
        }
        Ok(Self { name: name.into(), datum, turns })
    }

    /// The table's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What its levels count from.
    pub fn datum(&self) -> &Datum {
        &self.datum
    }

    /// Every entry as a turning point.
    pub fn entries(&self) -> &[Turn] {
        &self.turns
    }

    /// First and last moment the table speaks of.
    pub fn covers(&self) -> (Timestamp, Timestamp) {
        match (self.turns.first(), self.turns.last()) {
            (Some(first), Some(last)) => (first.time, last.time),
            _ => unreachable!("a table has at least two entries"),
        }
    }

    /// Level at a moment, metres above the table's datum; `None` outside the table.
    pub fn height_m(&self, time: Timestamp) -> Option<f64> {
        let after = self.turns.partition_point(|turn| turn.time <= time);
        if after == self.turns.len() {
            return self.turns.last().filter(|last| last.time == time).map(|last| last.level_m);
        }
        let (a, b) = (self.turns.get(after.checked_sub(1)?)?, self.turns.get(after)?);
        let part = time.duration_since(a.time).as_secs_f64() / b.time.duration_since(a.time).as_secs_f64();
        Some(a.level_m + (b.level_m - a.level_m) * 0.5 * (1.0 - (std::f64::consts::PI * part).cos()))
    }

    /// Turning points from `from` up to but not including `to`.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        self.turns.iter().filter(|turn| turn.time >= from && turn.time < to).copied().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(hour: i64, level_m: f64, kind: Option<TurnKind>) -> TableEntry {
        TableEntry { time: Timestamp::from_second(hour * 3600).unwrap(), level_m, kind }
    }

    fn table(entries: &[TableEntry]) -> Result<TideTable, TideError> {
        TideTable::new("mine", Datum::ChartDatum, entries)
    }

    /// Rule of twelfths (handbook rule): 1, 3, 6, 9, 11 and 12 twelfths of the range after each sixth
    /// of the time. It rounds the half-cosine to within 2.5 % of the range.
    #[test]
    fn half_cosine_stays_near_the_rule_of_twelfths() {
        let t = table(&[entry(0, 0.0, None), entry(6, 12.0, None)]).unwrap();
        for (hour, twelfths) in [(0, 0.0), (1, 1.0), (2, 3.0), (3, 6.0), (4, 9.0), (5, 11.0), (6, 12.0)] {
            let h = t.height_m(Timestamp::from_second(hour * 3600).unwrap()).unwrap();
            assert!((h - twelfths).abs() <= 0.025 * 12.0, "{hour} h: {h} against {twelfths}");
        }
    }

    #[test]
    fn knows_nothing_outside() {
        let t = table(&[entry(0, 1.0, None), entry(6, 4.0, None), entry(12, 0.5, None)]).unwrap();
        assert_eq!(t.height_m(Timestamp::from_second(-1).unwrap()), None);
        assert_eq!(t.height_m(Timestamp::from_second(0).unwrap()), Some(1.0));
        assert_eq!(t.height_m(Timestamp::from_second(12 * 3600).unwrap()), Some(0.5));
        assert_eq!(t.height_m(Timestamp::from_second(12 * 3600 + 1).unwrap()), None);
        assert_eq!(t.entries().iter().map(|turn| turn.kind).collect::<Vec<_>>(), [TurnKind::Low, TurnKind::High, TurnKind::Low]);
    }

    #[test]
    fn refuses_what_is_no_tide() {
        let (high, low) = (Some(TurnKind::High), Some(TurnKind::Low));
        assert_eq!(table(&[entry(0, 1.0, None)]), Err(TideError::TableTooShort(1)));
        let unordered = table(&[entry(6, 4.0, None), entry(0, 1.0, None)]);
        assert!(matches!(unordered, Err(TideError::TableOrder { entry: 2, .. })));
        let twice = table(&[entry(0, 1.0, low), entry(6, 4.0, high), entry(12, 4.5, high)]);
        assert!(matches!(twice, Err(TideError::TableAlternation { entry: 3, kind: TurnKind::High, .. })));
        let rising = table(&[entry(0, 1.0, None), entry(6, 4.0, None), entry(12, 4.5, None)]);
        assert!(matches!(rising, Err(TideError::TableAlternation { entry: 3, .. })));
        let upside_down = table(&[entry(0, 4.0, low), entry(6, 1.0, high)]);
        assert!(matches!(upside_down, Err(TideError::TableLevels { entry: 2, .. })));
        assert!(matches!(table(&[entry(0, f64::NAN, None), entry(6, 1.0, None)]), Err(TideError::TableLevels { entry: 1, .. })));
    }
}
