//! The clock that a heading of times names: `Time (UTC)`, `GMT`, `local time`, `Found at +02:00`.

use jiff::tz::{Offset, TimeZone};

/// What a heading says of the clock its times are on.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::exchange) enum ClockWord {
    /// A clock that is known.
    Zone(TimeZone),
    /// The place's own clock.
    Local,
    /// A word in brackets that may be a clock's, such as `BST`: short names of clocks mean several.
    Unknown(String),
}

/// A heading without its clock, and the clock.
pub(in crate::exchange) fn take_clock(heading: &str) -> (String, Option<ClockWord>) {
    if let Some((before, inside)) = heading.split_once(['(', '[']) {
        let (inside, after) = inside.split_once([')', ']']).unwrap_or((inside, ""));
        let rest = || format!("{before} {after}").trim().to_owned();
        if let Some(clock) = whole_clock(inside.trim()) {
            return (rest(), Some(clock));
        }
        let short = inside.trim();
        if (2..=5).contains(&short.len()) && short.chars().all(|c| c.is_ascii_uppercase()) {
            return (rest(), Some(ClockWord::Unknown(short.to_owned())));
        }
        return (heading.to_owned(), None);
    }
    let parted: Vec<String> = words(heading);
    for (n, word) in parted.iter().enumerate() {
        let lower = word.to_lowercase();
        let clock = match lower.as_str() {
            "local" => Some(ClockWord::Local),
            _ => whole_clock(&lower),
        };
        if let Some(clock) = clock {
            let rest: Vec<&str> = parted.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, w)| w.as_str()).collect();
            return (rest.join(" "), Some(clock));
        }
    }
    (heading.to_owned(), None)
}

/// Words parted at blanks, underscores and slashes, and before a `UTC` or `GMT` written on to one: signs stay.
fn words(heading: &str) -> Vec<String> {
    let mut spaced = heading.replace('−', "-");
    for word in ["UTC", "GMT"] {
        spaced = spaced.replace(word, &format!(" {word}"));
    }
    spaced.split(|c: char| c.is_whitespace() || matches!(c, '_' | '/')).filter(|w| !w.is_empty()).map(str::to_owned).collect()
}

/// The clock that the cell of a column of clocks names: a name such as `Europe/London`, `UTC`, `+02:00`, or the hours of an
/// offset as a number; `None` inside for the place's own.
///
/// # Errors
/// A sentence, where it names none that is known: short names such as `BST` stand for several.
pub(in crate::exchange) fn clock_of_cell(text: &str) -> Result<Option<TimeZone>, String> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("z") {
        return Ok(Some(TimeZone::UTC));
    }
    let hours = || {
        let hours: f64 = text.parse().ok()?;
        let quarters = hours * 4.0;
        let can_be = (-12.0..=14.0).contains(&hours) && quarters.fract() == 0.0;
        Some(TimeZone::fixed(Offset::from_seconds((quarters * 900.0) as i32).ok().filter(|_| can_be)?))
    };
    match whole_clock(text) {
        Some(ClockWord::Zone(zone)) => Ok(Some(zone)),
        Some(ClockWord::Local) => Ok(None),
        _ => hours().map(Some).ok_or_else(|| {
            format!(
                "its time zone \"{text}\" is no clock that is known; write a name such as Europe/London or an offset such as +01:00, or \
                 leave the column out with --columns HEADING=none and say the clock with --zone"
            )
        }),
    }
}

/// A text that is a clock and nothing else.
fn whole_clock(text: &str) -> Option<ClockWord> {
    let text = text.trim().replace('−', "-");
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "local" | "local time" | "ortszeit" | "lokal" | "heure locale" | "hora local" | "ora locale") {
        return Some(ClockWord::Local);
    }
    let bare = lower.strip_prefix("utc").or(lower.strip_prefix("gmt")).map(str::trim);
    if matches!(bare, Some("")) || lower == "zulu" {
        return Some(ClockWord::Zone(TimeZone::UTC));
    }
    if let Some(seconds) = offset(bare.unwrap_or(&lower)) {
        return Some(ClockWord::Zone(TimeZone::fixed(Offset::from_seconds(seconds).ok()?)));
    }
    if text.contains('/') {
        return TimeZone::get(&text).ok().map(ClockWord::Zone);
    }
    None
}

/// `+2`, `+02`, `-0530`, `+05:30`, as seconds.
fn offset(text: &str) -> Option<i32> {
    let sign = match text.chars().next()? {
        '+' => 1,
        '-' => -1,
        _ => return None,
    };
    let body = &text[1..];
    if !body.bytes().all(|b| b.is_ascii_digit() || b == b':') {
        return None;
    }
    let (hours, minutes) = match body.split_once(':') {
        Some((h, m)) if m.len() == 2 => (h.parse::<i32>().ok()?, m.parse::<i32>().ok()?),
        Some(_) => return None,
        None if body.len() == 4 => (body[..2].parse().ok()?, body[2..].parse().ok()?),
        None if (1..=2).contains(&body.len()) => (body.parse().ok()?, 0),
        None => return None,
    };
    ((0..=14).contains(&hours) && (0..60).contains(&minutes)).then_some(sign * (hours * 3600 + minutes * 60))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_are_read_from_cells() {
        let fixed = |seconds| Ok(Some(TimeZone::fixed(Offset::from_seconds(seconds).unwrap())));
        for (cell, clock) in [
            ("UTC", Ok(Some(TimeZone::UTC))),
            ("Z", Ok(Some(TimeZone::UTC))),
            ("+02:00", fixed(7200)),
            ("2", fixed(7200)),
            ("-3.5", fixed(-12600)),
            ("Europe/London", Ok(Some(TimeZone::get("Europe/London").unwrap()))),
            ("local", Ok(None)),
        ] {
            assert_eq!(clock_of_cell(cell), clock, "{cell}");
        }
        for cell in ["BST", "7200", "north", "2.1"] {
            assert!(clock_of_cell(cell).unwrap_err().contains("--zone"), "{cell}");
        }
    }

    #[test]
    fn clocks_are_read_from_headings() {
        let fixed = |seconds| Some(ClockWord::Zone(TimeZone::fixed(Offset::from_seconds(seconds).unwrap())));
        let utc = Some(ClockWord::Zone(TimeZone::UTC));
        for (heading, rest, clock) in [
            ("Time (UTC)", "Time", utc.clone()),
            ("time_utc", "time", utc.clone()),
            ("TimeUTC", "Time", utc.clone()),
            ("GMT", "", utc.clone()),
            ("Time GMT", "Time", utc),
            ("Time (UTC+2)", "Time", fixed(7200)),
            ("Time (+02:00)", "Time", fixed(7200)),
            ("Found at -0330", "Found at", fixed(-12600)),
            ("Local time", "time", Some(ClockWord::Local)),
            ("Time [local]", "Time", Some(ClockWord::Local)),
            ("Time (Europe/London)", "Time", Some(ClockWord::Zone(TimeZone::get("Europe/London").unwrap()))),
            ("Time (BST)", "Time", Some(ClockWord::Unknown("BST".into()))),
            ("Time", "Time", None),
            ("Date / Time", "Date / Time", None),
            ("Depth (cm)", "Depth (cm)", None),
            ("z", "z", None),
            ("+\u{e}é", "+\u{e}é", None),
        ] {
            assert_eq!(take_clock(heading), (rest.to_owned(), clock), "{heading}");
        }
    }
}
