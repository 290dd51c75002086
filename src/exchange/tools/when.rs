//! Dates and times as people write them.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};

/// What a text about time says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum When {
    /// An instant, its offset stated.
    Instant(Timestamp),
    /// A date and a time of day on some clock.
    Local(DateTime),
    /// A date alone.
    Day(Date),
}

/// Something to be told about how a local time became an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Doubt {
    /// The clock was put back and showed this time twice; the first was taken.
    Twice,
    /// The clock was put forward and never showed this time; as much later was taken.
    Never,
    /// Only the day is known; noon was taken.
    Noon,
}

impl When {
    /// Reads a date and time in any common notation, a day of the week before it or not. `day_first` decides `03/04/2024`.
    pub(in crate::exchange) fn read(text: &str, day_first: bool) -> Option<Self> {
        let text = text.trim();
        Self::dated(text, day_first).or_else(|| Self::dated(behind_weekday(text)?, day_first))
    }

    fn dated(text: &str, day_first: bool) -> Option<Self> {
        // A date alone, as a million levels may have, is no instant; the shortest is `20240501T10Z`.
        if text.len() == 10
            && text.as_bytes().get(4) == Some(&b'-')
            && let Some(day) = date(text, day_first)
        {
            return Some(Self::Day(day));
        }
        if text.len() >= 12
            && let Ok(instant) = text.parse::<Timestamp>()
        {
            return Some(Self::Instant(instant));
        }
        if let Some(instant) = since_1970(text) {
            return Some(Self::Instant(instant));
        }
        // A time of day follows the date after a space, a comma or a T.
        let split = text.char_indices().find(|(i, c)| {
            let rest = text[i + c.len_utf8()..].trim_start();
            let digits = rest.chars().take_while(char::is_ascii_digit).count();
            let colon = rest.chars().nth(digits) == Some(':');
            matches!(c, ' ' | ',' | 'T' | 't') && (1..=2).contains(&digits) && (colon || clock(rest).is_some())
        });
        let Some((at, c)) = split else { return Some(Self::Day(date(text, day_first)?)) };
        let day = date(text[..at].trim_end_matches(','), day_first)?;
        let (rest, offset) = strip_offset(text[at + c.len_utf8()..].trim());
        let local = day.to_datetime(clock(rest)?);
        match offset {
            Some(seconds) => {
                let zone = TimeZone::fixed(jiff::tz::Offset::from_seconds(seconds).ok()?);
                Some(Self::Instant(zone.to_timestamp(local).ok()?))
            }
            None => Some(Self::Local(local)),
        }
    }

    /// A date and a time of day from two columns.
    pub(in crate::exchange) fn read_two(day: &str, time: &str, day_first: bool) -> Option<Self> {
        match Self::read(day, day_first)? {
            Self::Day(day) => {
                let (rest, offset) = strip_offset(time.trim());
                let local = day.to_datetime(clock(rest)?);
                match offset {
                    Some(0) => Some(Self::Instant(TimeZone::UTC.to_timestamp(local).ok()?)),
                    Some(_) => Self::read(&format!("{day} {time}"), day_first),
                    None => Some(Self::Local(local)),
                }
            }
            whole => Some(whole),
        }
    }

    /// The instant, on the clock of `zone` where none is stated, and what is doubtful about it.
    pub(in crate::exchange) fn instant(self, zone: &TimeZone) -> Option<(Timestamp, Option<Doubt>)> {
        let (local, mut doubt) = match self {
            Self::Instant(instant) => return Some((instant, None)),
            Self::Local(local) => (local, None),
            Self::Day(day) => (day.at(12, 0, 0, 0), Some(Doubt::Noon)),
        };
        let ambiguous = zone.to_ambiguous_timestamp(local);
        match ambiguous.offset() {
            AmbiguousOffset::Gap { .. } => doubt = Some(Doubt::Never),
            AmbiguousOffset::Fold { .. } => doubt = Some(Doubt::Twice),
            AmbiguousOffset::Unambiguous { .. } => {}
        }
        Some((ambiguous.compatible().ok()?, doubt))
    }

    /// The day on the clock of `zone`.
    pub(in crate::exchange) fn day(self, zone: &TimeZone) -> Date {
        match self {
            Self::Instant(instant) => zone.to_datetime(instant).date(),
            Self::Local(local) => local.date(),
            Self::Day(day) => day,
        }
    }
}

/// Seconds or milliseconds since 1970 as loggers write them, of 2001 and later: ten digits or thirteen, the first of them 1,
/// which no date begins with.
fn since_1970(text: &str) -> Option<Timestamp> {
    if !text.starts_with('1') || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    match text.len() {
        10 => Timestamp::from_second(text.parse().ok()?).ok(),
        13 => Timestamp::from_millisecond(text.parse().ok()?).ok(),
        _ => None,
    }
}

/// A trailing `Z`, `UTC` or `+01:00`, as seconds.
fn strip_offset(text: &str) -> (&str, Option<i32>) {
    for word in ["UTC", "GMT", "Z", "z"] {
        if let Some(rest) = text.strip_suffix(word) {
            return (rest.trim_end(), Some(0));
        }
    }
    let Some(at) = text.rfind(['+', '-']).filter(|at| *at > 0) else { return (text, None) };
    let (rest, offset) = text.split_at(at);
    let digits: String = offset[1..].chars().filter(|c| *c != ':').collect();
    let seconds = match (digits.len(), digits.parse::<i32>()) {
        (2, Ok(hours)) => hours * 3600,
        (4, Ok(both)) => both / 100 * 3600 + both % 100 * 60,
        _ => return (text, None),
    };
    (rest.trim_end(), Some(if offset.starts_with('-') { -seconds } else { seconds }))
}

/// A time of day: `14:05`, `14:05:30.5`, `2:05 pm`, `14h05`, `1405`.
pub(in crate::exchange) fn clock(text: &str) -> Option<Time> {
    let lower = text.trim().to_lowercase().replace(['.', 'h'], ":");
    let (body, shift) = match lower.trim_end_matches("m").trim_end_matches("m:") {
        t if lower.contains('m') && t.ends_with('p') => (t.trim_end_matches('p').trim_end().to_owned(), Some(12)),
        t if lower.contains('m') && t.ends_with('a') => (t.trim_end_matches('a').trim_end().to_owned(), Some(0)),
        _ => (lower.clone(), None),
    };
    let parts: Vec<&str> = body.split(':').collect();
    let whole = |n: usize| parts.get(n).map_or(Some(0), |p| p.trim().parse::<i8>().ok());
    let (hour, minute) = match (parts.as_slice(), shift) {
        ([four], None) if four.len() == 4 => (four.get(..2)?.parse().ok()?, four.get(2..)?.parse().ok()?),
        // The basic format of ISO 8601, as receivers write it.
        ([six], None) if six.len() == 6 && six.bytes().all(|b| b.is_ascii_digit()) => {
            let second = six.get(4..)?.parse().ok()?;
            return Time::new(six.get(..2)?.parse().ok()?, six.get(2..4)?.parse().ok()?, second, 0).ok();
        }
        ([_], None) => return None,
        _ => (whole(0)?, whole(1)?),
    };
    let hour = match shift {
        Some(shift) if (1..=12).contains(&hour) => hour % 12 + shift,
        Some(_) => return None,
        None => hour,
    };
    let nanos = parts.get(3).map_or(Some(0), |f| format!("{f:0<9}").get(..9)?.parse::<i32>().ok())?;
    if parts.len() > 4 {
        return None;
    }
    Time::new(hour, minute, whole(2)?, nanos).ok()
}

/// A date: `2024-05-01`, `01/05/2024`, `1.5.24`, `1 May 2024`, `May 1, 2024`.
pub(in crate::exchange) fn date(text: &str, day_first: bool) -> Option<Date> {
    let text = text.trim();
    // As a million levels may have it.
    if let [_, _, _, _, b'-', _, _, b'-', _, _] = text.as_bytes()
        && text.bytes().enumerate().all(|(n, b)| b.is_ascii_digit() || matches!(n, 4 | 7))
    {
        return Date::new(text.get(..4)?.parse().ok()?, text.get(5..7)?.parse().ok()?, text.get(8..)?.parse().ok()?).ok();
    }
    if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
        // The basic format of ISO 8601.
        return Date::new(text.get(..4)?.parse().ok()?, text.get(4..6)?.parse().ok()?, text.get(6..)?.parse().ok()?).ok();
    }
    let is_filler = |p: &&str| FILLERS.iter().any(|f| p.eq_ignore_ascii_case(f));
    let parts: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty()).filter(|p| !is_filler(p)).collect();
    let [a, b, c] = parts.as_slice() else { return None };
    let whole = |t: &str| t.trim_end_matches(|c: char| c.is_alphabetic()).parse::<i16>().ok();
    let year = |t: &str| match (t.len(), t.parse::<i16>().ok()?) {
        (4, y) => Some(y),
        // Two digits: this century up to 2069, as POSIX strptime does.
        (2, y) => Some(if y < 69 { 2000 + y } else { 1900 + y }),
        _ => None,
    };
    let (y, m, d) = if a.len() == 4 && a.parse::<i16>().is_ok() {
        (year(a)?, month(b).or_else(|| whole(b))?, whole(c)?)
    } else if let Some(m) = month(b) {
        (year(c)?, m, whole(a)?)
    } else if let Some(m) = month(a) {
        (year(c)?, m, whole(b)?)
    } else {
        let (first, second) = (a.parse().ok()?, b.parse().ok()?);
        if day_first { (year(c)?, second, first) } else { (year(c)?, first, second) }
    };
    Date::new(y, i8::try_from(m).ok()?, i8::try_from(d).ok()?).ok()
}

/// Words that stand between the parts of a date: `5 de abril de 2026`, `den 5. april 2026`.
const FILLERS: &[&str] = &["de", "del", "den", "le", "el", "il", "am", "of", "the"];

/// How the names of the months begin in English, German, French, Dutch, Spanish, Danish and Italian, January first (Unicode
/// CLDR, month names; from memory).
const MONTHS: [&[&str]; 12] = [
    &["jan", "j\u{e4}n", "jaen", "ene", "gen"],
    &["feb", "f\u{e9}v", "fev"],
    &["mar", "m\u{e4}r", "maer", "mrz", "mrt", "maa"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mei", "maj", "mag"],
    &["jun", "juin", "giu"],
    &["jul", "juil", "lug"],
    &["aug", "ao\u{fb}", "aou", "ago"],
    &["sep", "set"],
    &["oct", "okt", "ott"],
    &["nov"],
    &["dec", "dez", "d\u{e9}c", "dic"],
];

fn month(text: &str) -> Option<i16> {
    let lower = text.to_lowercase();
    let begins = |starts: &&[&str]| starts.iter().any(|m| lower.starts_with(m));
    lower.chars().all(char::is_alphabetic).then(|| MONTHS.iter().position(begins)).flatten().map(|n| n as i16 + 1)
}

/// How the days of the week begin in these languages, in two letters as some write no more (Unicode CLDR; from memory).
const WEEKDAYS: &[&str] = &[
    "mo", "tu", "we", "th", "fr", "sa", "su", "di", "mi", "do", "so", "lu", "ma", "me", "je", "ve", "wo", "vr", "za", "zo", "mi",
    "ju", "vi", "s\u{e1}", "on", "ti", "to", "l\u{f8}", "s\u{f8}", "gi",
];

/// What follows a day of the week at the beginning of a date; `None` where none stands there.
fn behind_weekday(text: &str) -> Option<&str> {
    let rest = text.trim_start_matches(char::is_alphabetic);
    let word = text[..text.len() - rest.len()].to_lowercase();
    let behind = rest.trim_start_matches(['.', ',', ' ']);
    let follows = behind.len() < rest.len() && behind.starts_with(char::is_alphanumeric);
    (follows && WEEKDAYS.iter().any(|w| word.starts_with(w))).then_some(behind)
}

/// What a date of numbers alone says about the order of day and month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Order {
    /// Only the day can come first: the second number is a month.
    DayFirst,
    /// Only the month can come first.
    MonthFirst,
    /// Either, and it matters: the two readings differ.
    Open,
}

/// The order that a date of three numbers shows; `None` for anything else, such as a time of day, a date that begins
/// with its year or names its month, or one whose two readings are the same.
pub(in crate::exchange) fn order(text: &str) -> Option<Order> {
    let text = text.trim();
    let text = behind_weekday(text).unwrap_or(text);
    let date = text.split(|c: char| c.is_whitespace() || matches!(c, 'T' | 't' | ',')).next()?;
    let sign = date.chars().find(|c| !c.is_ascii_digit()).filter(|c| matches!(c, '/' | '.' | '-'))?;
    let parts: Vec<&str> = date.trim_end_matches(sign).split(sign).collect();
    let [a, b, year] = parts.as_slice() else { return None };
    let short = |p: &str| (1..=2).contains(&p.len());
    if !(short(a) && short(b) && matches!(year.len(), 2 | 4) && year.parse::<u16>().is_ok()) {
        return None;
    }
    match (a.parse::<u8>().ok()?, b.parse::<u8>().ok()?) {
        (13..=31, 1..=12) => Some(Order::DayFirst),
        (1..=12, 13..=31) => Some(Order::MonthFirst),
        (a @ 1..=12, b @ 1..=12) if a != b => Some(Order::Open),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<String> {
        When::read(text, true).map(|w| match w {
            When::Instant(t) => t.to_string(),
            When::Local(t) => t.to_string(),
            When::Day(d) => d.to_string(),
        })
    }

    #[test]
    fn common_notations() {
        for (text, wanted) in [
            ("2024-05-01T10:00:00Z", "2024-05-01T10:00:00Z"),
            ("2024-05-01 10:00", "2024-05-01T10:00:00"),
            ("2024-05-01 10:00+02:00", "2024-05-01T08:00:00Z"),
            ("01/05/2024 14:30:15", "2024-05-01T14:30:15"),
            ("1.5.24 9:05", "2024-05-01T09:05:00"),
            ("1 May 2024, 2:30 pm", "2024-05-01T14:30:00"),
            ("May 1st, 2024", "2024-05-01"),
            ("2024/05/01", "2024-05-01"),
            ("01-May-2024 12:15 AM", "2024-05-01T00:15:00"),
            ("2024-05-01 10:00:00.25", "2024-05-01T10:00:00.25"),
            ("2024-05-01 10:00 UTC", "2024-05-01T10:00:00Z"),
            ("20240501", "2024-05-01"),
        ] {
            assert_eq!(read(text).as_deref(), Some(wanted), "{text}");
        }
        for bad in ["", "tomorrow", "31/02/2024", "2024-13-01", "1/2", "25:00", "12"] {
            assert_eq!(read(bad), None, "{bad}");
        }
        assert_eq!(When::read("05/01/2024", false), Some(When::Day(Date::constant(2024, 5, 1))));
        assert_eq!(When::read_two("20240501", "093015", true), When::read("2024-05-01 09:30:15", true));
        assert_eq!((date("20241301", true), clock("250000"), clock("12345x")), (None, None, None));
        assert_eq!(When::read_two("1/5/2024", "0930", true), When::read("2024-05-01 09:30", true));
    }

    /// The fifth of each month in seven languages, as CLDR has their names (from memory), short and long.
    #[test]
    fn months_are_known_by_name_in_seven_languages() {
        for (n, names) in [
            "5 Jan 2026|5. Januar 2026|5 janvier 2026|5 januari 2026|5 de enero de 2026|5. januar 2026|5 gennaio 2026|5 gen. 2026",
            "5 Feb 2026|5. Februar 2026|5 f\u{e9}vrier 2026|5 f\u{e9}vr. 2026|5 februari 2026|5 febrero 2026|5 febbraio 2026",
            "5 Mar 2026|5. M\u{e4}rz 2026|5. Mrz. 2026|5 mars 2026|5 maart 2026|5 mrt. 2026|5 marzo 2026|5. marts 2026",
            "5 Apr 2026|5. April 2026|5 avril 2026|5 avr. 2026|5 april 2026|5 de abril de 2026|5 aprile 2026",
            "May 5, 2026|5. Mai 2026|5 mai 2026|5 mei 2026|5 mayo 2026|den 5. maj 2026|5 maggio 2026",
            "5 June 2026|5. Juni 2026|5 juin 2026|5 juni 2026|5 junio 2026|5 giugno 2026",
            "5 July 2026|5. Juli 2026|5 juillet 2026|5 juil. 2026|5 julio 2026|5 luglio 2026",
            "5 Aug 2026|5. August 2026|5 ao\u{fb}t 2026|5 augustus 2026|5 agosto 2026",
            "5 Sept 2026|5. September 2026|5 septembre 2026|5 septiembre 2026|5 settembre 2026|5 set. 2026",
            "5 Oct 2026|5. Okt. 2026|5 octobre 2026|5 oktober 2026|5 octubre 2026|5 ottobre 2026",
            "5 Nov 2026|5. November 2026|5 novembre 2026|5 noviembre 2026",
            "5 Dec 2026|5. Dezember 2026|5 d\u{e9}cembre 2026|5 d\u{e9}c. 2026|5 diciembre 2026|5 dicembre 2026",
        ]
        .into_iter()
        .enumerate()
        {
            for text in names.split('|') {
                assert_eq!(read(text), Some(format!("2026-{:02}-05", n + 1)), "{text}");
            }
        }
        for text in
            ["Sa 4.4.2026", "Sa., 4.4.26", "Saturday 4 April 2026", "s\u{e1}bado 4 de abril de 2026", "sabato, 4 aprile 2026"]
        {
            assert_eq!(read(text).as_deref(), Some("2026-04-04"), "{text}");
        }
        assert_eq!(read("lundi 6 avril 2026 09:15").as_deref(), Some("2026-04-06T09:15:00"));
        assert_eq!(order("Sa 25.4.2026"), Some(Order::DayFirst));
        for bad in ["5 marble", "Sa", "Montag", "5 xyz 2026"] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }

    #[test]
    fn seconds_and_milliseconds_since_1970_are_instants() {
        // 2024-05-01T10:00:00Z by POSIX: 19,844 days of 86,400 s and ten hours.
        for text in ["1714557600", "1714557600000"] {
            assert_eq!(read(text).as_deref(), Some("2024-05-01T10:00:00Z"), "{text}");
        }
        for text in ["2026050410", "171455760", "17145576000"] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn the_order_of_day_and_month_shows_itself() {
        assert_eq!(order("13/05/2024"), Some(Order::DayFirst));
        assert_eq!(order("05/13/2024 09:45"), Some(Order::MonthFirst));
        assert_eq!(order("05/06/2024"), Some(Order::Open));
        assert_eq!(order("5.6.24"), Some(Order::Open));
        // A time of day says nothing, however it is written, and no more does a date that leaves nothing open.
        for text in ["2024-05-13", "09:45", "9:45:13", "05/05/2024", "5 June 2024", "", "45.13", "99/99/99"] {
            assert_eq!(order(text), None, "{text}");
        }
    }

    /// The clock went forward at 01:00 UTC on 2024-03-31 and back on 2024-10-27 in Europe/London (IANA tz database).
    #[test]
    fn clock_changes_are_told() {
        let zone = TimeZone::get("Europe/London").unwrap();
        let of = |text| When::read(text, true).unwrap().instant(&zone).map(|(t, d)| (t.to_string(), d)).unwrap();
        assert_eq!(of("2024-03-31 01:30"), ("2024-03-31T01:30:00Z".into(), Some(Doubt::Never)));
        assert_eq!(of("2024-10-27 01:30"), ("2024-10-27T00:30:00Z".into(), Some(Doubt::Twice)));
        assert_eq!(of("2024-07-01 12:00"), ("2024-07-01T11:00:00Z".into(), None));
        assert_eq!(of("2024-07-01"), ("2024-07-01T11:00:00Z".into(), Some(Doubt::Noon)));
    }
}
