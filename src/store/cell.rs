//! Values of records as SQLite holds them, with the column type each is declared as.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime, Time};
use jiff::{Timestamp, tz::TimeZone};
use rusqlite::types::{Value, ValueRef};

use crate::book::{
    BarrierKind, Closure, ClusterMethod, FreeHours, Ground, Kind, Lie, Material, PortDifferences, ReportDue, Seaward, Steadiness,
    Uid, Weight, ZoneUse,
};

/// A value that one column holds.
pub(super) trait Cell: Sized {
    /// The type of GeoPackage table 1 that the column is declared as.
    const SQL: &'static str;

    /// The value to bind.
    fn put(&self) -> Value;

    /// The value read; the error says what is wrong, fit to follow the column's name.
    fn take(value: ValueRef<'_>) -> Result<Self, String>;
}

fn unfit(value: ValueRef<'_>, wanted: &str) -> String {
    match value {
        ValueRef::Null => format!("is empty; it needs {wanted}"),
        ValueRef::Integer(n) => format!("holds {n} where {wanted} is needed"),
        ValueRef::Real(n) => format!("holds {n} where {wanted} is needed"),
        ValueRef::Text(t) => format!("holds \"{}\" where {wanted} is needed", String::from_utf8_lossy(&t[..t.len().min(60)])),
        ValueRef::Blob(_) => format!("holds binary data where {wanted} is needed"),
    }
}

fn text<'a>(value: ValueRef<'a>, wanted: &str) -> Result<&'a str, String> {
    let ValueRef::Text(bytes) = value else { return Err(unfit(value, wanted)) };
    std::str::from_utf8(bytes).map_err(|_| "is not UTF-8 text".to_owned())
}

impl<T: Cell> Cell for Option<T> {
    const SQL: &'static str = T::SQL;
    fn put(&self) -> Value {
        self.as_ref().map_or(Value::Null, Cell::put)
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        if value == ValueRef::Null { Ok(None) } else { T::take(value).map(Some) }
    }
}

/// Nothing written is NULL, as other programs expect, and NULL is nothing written.
impl Cell for String {
    const SQL: &'static str = "TEXT";
    fn put(&self) -> Value {
        if self.is_empty() { Value::Null } else { Value::Text(self.clone()) }
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        if value == ValueRef::Null { Ok(Self::new()) } else { text(value, "text").map(str::to_owned) }
    }
}

/// Text that is there even when it is empty; for what may be absent besides.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Word(pub(super) String);

impl Cell for Word {
    const SQL: &'static str = "TEXT";
    fn put(&self) -> Value {
        Value::Text(self.0.clone())
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        text(value, "text").map(|t| Self(t.to_owned()))
    }
}

/// MHWS, MHWN, MLWN and MLWS, metres, as text with commas between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FourLevels(pub(super) [f64; 4]);

impl std::fmt::Display for FourLevels {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let [a, b, c, d] = self.0;
        write!(f, "{a},{b},{c},{d}")
    }
}

impl std::str::FromStr for FourLevels {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let levels: Result<Vec<f64>, ()> = text.split(',').map(|t| t.trim().parse().map_err(drop)).collect();
        levels?.try_into().map(Self).map_err(drop)
    }
}

impl Cell for f64 {
    const SQL: &'static str = "REAL";
    fn put(&self) -> Value {
        Value::Real(*self)
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        match value {
            ValueRef::Real(v) => Ok(v),
            ValueRef::Integer(v) => Ok(v as f64),
            other => Err(unfit(other, "a number")),
        }
    }
}

/// Whole numbers that fit their type; others may have stored them as REAL.
macro_rules! whole {
    ($($ty:ty),+) => { $(
        impl Cell for $ty {
            const SQL: &'static str = "INTEGER";
            fn put(&self) -> Value {
                Value::Integer(i64::from(*self))
            }
            fn take(value: ValueRef<'_>) -> Result<Self, String> {
                let whole = match value {
                    ValueRef::Integer(v) => Some(v),
                    ValueRef::Real(v) if v.fract() == 0.0 && v.abs() < 1e15 => Some(v as i64),
                    _ => None,
                };
                whole.and_then(|v| Self::try_from(v).ok()).ok_or_else(|| unfit(value, "a whole number"))
            }
        }
    )+ };
}
whole!(i32, u32);

impl Cell for bool {
    const SQL: &'static str = "BOOLEAN";
    fn put(&self) -> Value {
        Value::Integer(i64::from(*self))
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        match value {
            ValueRef::Integer(0) => Ok(false),
            ValueRef::Integer(1) => Ok(true),
            other => Err(unfit(other, "0 or 1")),
        }
    }
}

impl Cell for Timestamp {
    const SQL: &'static str = "DATETIME";
    /// `YYYY-MM-DDTHH:MM:SS.SSSZ` as the standard has it; more digits only where there are more.
    fn put(&self) -> Value {
        let finer = self.subsec_nanosecond() % 1_000_000 != 0;
        Value::Text(if finer { self.to_string() } else { format!("{self:.3}") })
    }
    /// A time without a zone is UTC, as the standard has it.
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        let wanted = "a time such as 2025-06-01T09:30:00Z";
        let text = text(value, wanted)?;
        text.parse::<Self>()
            .ok()
            .or_else(|| text.trim_end_matches('Z').parse::<DateTime>().ok().and_then(|t| TimeZone::UTC.to_timestamp(t).ok()))
            .ok_or_else(|| unfit(value, wanted))
    }
}

/// Values that read and write themselves as text.
macro_rules! spoken {
    ($($ty:ty, $sql:literal, $wanted:literal, $put:expr;)+) => { $(
        impl Cell for $ty {
            const SQL: &'static str = $sql;
            fn put(&self) -> Value {
                let put: fn(&$ty) -> String = $put;
                Value::Text(put(self))
            }
            fn take(value: ValueRef<'_>) -> Result<Self, String> {
                text(value, $wanted)?.trim().parse().map_err(|_| unfit(value, $wanted))
            }
        }
    )+ };
}
spoken! {
    PortDifferences, "TEXT", "eight differences with commas between, times in minutes and heights in metres", PortDifferences::to_string;
    Closure, "TEXT", "a reason and a season such as bird_closure 03-01/08-31", Closure::to_string;
    FreeHours, "TEXT", "days and hours such as sat sun 08:00-18:00", FreeHours::to_string;
    FourLevels, "TEXT", "MHWS, MHWN, MLWN and MLWS in metres with commas between", FourLevels::to_string;
    Uid, "TEXT", "32 hexadecimal digits", Uid::to_string;
    Date, "DATE", "a day such as 2025-06-01", Date::to_string;
    Time, "TEXT", "a time of day such as 09:30:00", Time::to_string;
}

/// Values that are one word of a list.
macro_rules! listed {
    ($($ty:ty),+) => { $(
        impl Cell for $ty {
            const SQL: &'static str = "TEXT";
            fn put(&self) -> Value {
                Value::Text(self.word().to_owned())
            }
            fn take(value: ValueRef<'_>) -> Result<Self, String> {
                text(value, "a word")?.parse().map_err(|e: crate::book::BookError| format!("holds what is not known: {e}"))
            }
        }
    )+ };
}
listed!(BarrierKind, ClusterMethod, Ground, Lie, Material, ReportDue, Seaward, Steadiness, Weight, ZoneUse);

impl Cell for Kind {
    const SQL: &'static str = "TEXT";
    fn put(&self) -> Value {
        Value::Text(self.key().to_owned())
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        text(value, "the kind of find").map(Kind::keyed)
    }
}

/// A list as a JSON array; an empty one is NULL.
impl<T: serde::Serialize + serde::de::DeserializeOwned> Cell for Vec<T> {
    const SQL: &'static str = "TEXT";
    fn put(&self) -> Value {
        if self.is_empty() {
            return Value::Null;
        }
        Value::Text(serde_json::to_string(self).expect("lists of numbers and words always serialise"))
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        let wanted = "a JSON list";
        match value {
            ValueRef::Null => Ok(Self::new()),
            other => serde_json::from_str(text(other, wanted)?).map_err(|_| unfit(other, wanted)),
        }
    }
}

/// Words by words as a JSON object; an empty one is NULL.
impl Cell for BTreeMap<String, String> {
    const SQL: &'static str = "TEXT";
    fn put(&self) -> Value {
        if self.is_empty() {
            return Value::Null;
        }
        Value::Text(serde_json::to_string(self).expect("words by words always serialise"))
    }
    fn take(value: ValueRef<'_>) -> Result<Self, String> {
        let wanted = "a JSON object of texts";
        match value {
            ValueRef::Null => Ok(Self::new()),
            other => serde_json::from_str(text(other, wanted)?).map_err(|_| unfit(other, wanted)),
        }
    }
}
