//! A permission as it is typed, alike in the window and on the command line.

use jiff::civil::Time;

use super::{BookError, Permission, PlaceRule, ReportDue};
use crate::earth::SquareSide;

/// The fields of a permission as text; an empty one is none.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PermissionText {
    /// Its name.
    pub name: String,
    /// Who gave it.
    pub holder: String,
    /// How the holder is reached.
    pub contact: String,
    /// What papers there are.
    pub papers: String,
    /// First day, such as 2027-03-31.
    pub from: String,
    /// Last day.
    pub to: String,
    /// Hours such as 07:00-20:30.
    pub hours: String,
    /// The terms.
    pub terms: String,
    /// Greatest depth, centimetres.
    pub deepest_cm: String,
    /// The holder's part of the value, per cent.
    pub share_percent: String,
    /// What is to be reported.
    pub report: String,
    /// When, by a word of [`ReportDue`].
    pub due: String,
    /// The year that finds must be older than.
    pub older_than: String,
    /// `exact`, or the side of squares in metres.
    pub precision: String,
    /// How places of some kinds are told: `coins 100 m; jewellery withheld`.
    pub places: String,
}

impl PermissionText {
    /// The text of a permission.
    pub fn of_permission(p: &Permission) -> Self {
        let text = |v: Option<f64>, unit: f64| v.map_or_else(String::new, |v| ((v / unit * 1e6).round() / 1e6).to_string());
        Self {
            name: p.name.clone(),
            holder: p.holder.clone(),
            contact: p.agreed.contact.clone(),
            papers: p.agreed.papers.clone(),
            from: p.from.map_or_else(String::new, |d| d.to_string()),
            to: p.to.map_or_else(String::new, |d| d.to_string()),
            hours: p.hours.map_or_else(String::new, |(from, to)| format!("{}-{}", from.strftime("%H:%M"), to.strftime("%H:%M"))),
            terms: p.terms.clone(),
            deepest_cm: text(p.agreed.deepest_m, 0.01),
            share_percent: text(p.agreed.holder_share, 0.01),
            report: p.report.clone(),
            due: p.agreed.due.map_or_else(String::new, |d| d.label().to_owned()),
            older_than: p.agreed.older_than.map_or_else(String::new, |y| y.to_string()),
            precision: if p.exact_positions && p.coarsen_m.is_none() {
                "exact".to_owned()
            } else {
                p.coarsen_m.map_or_else(String::new, |m| m.to_string())
            },
            places: PlaceRule::words_of_all(&p.agreed.places),
        }
    }

    /// The permission as typed; what was not touched keeps its digits and seconds.
    ///
    /// # Errors
    /// A sentence about the first field that cannot be read.
    pub fn read(&self, was: &Permission) -> Result<Permission, BookError> {
        let before = Self::of_permission(was);
        let words = |text: &str| text.trim().to_owned();
        let mut agreed = was.agreed.clone();
        (agreed.contact, agreed.papers) = (words(&self.contact), words(&self.papers));
        if self.deepest_cm != before.deepest_cm {
            agreed.deepest_m = number("greatest depth", &self.deepest_cm)?.map(|cm| cm / 100.0);
        }
        if self.share_percent != before.share_percent {
            agreed.holder_share = number("holder's share", &self.share_percent)?.map(|percent| percent / 100.0);
        }
        agreed.due = optional(&self.due, |t| t.parse::<ReportDue>())?;
        agreed.older_than = optional(&self.older_than, |t| {
            t.parse().map_err(|_| BookError::field("year that finds must be older than", format!("\"{t}\" is not a year")))
        })?;
        // Of which field it is, whatever is wrong in it.
        agreed.places = PlaceRule::read_all(&self.places).map_err(|why| match why.to_string() {
            said if said.starts_with("rule for places ") => why,
            said => BookError::field("rule for places", format!("\"{}\" cannot be read: {said}", self.places)),
        })?;
        let day = |what: &'static str, text: &str| {
            optional(text, |t| t.parse().map_err(|_| BookError::field(what, format!("\"{t}\" is not a day such as 2027-03-31"))))
        };
        let hours = if self.hours == before.hours { was.hours } else { optional(&self.hours, hours)? };
        let precision = if self.precision.trim() == before.precision {
            (was.exact_positions, was.coarsen_m)
        } else {
            precision(self.precision.trim())?
        };
        let made = Permission {
            name: words(&self.name),
            holder: words(&self.holder),
            from: day("first day", &self.from)?,
            to: day("last day", &self.to)?,
            hours,
            terms: words(&self.terms),
            report: words(&self.report),
            exact_positions: precision.0,
            coarsen_m: precision.1,
            agreed,
            ..was.clone()
        };
        made.validate().map(|()| made)
    }
}

fn optional<T>(text: &str, read: impl FnOnce(&str) -> Result<T, BookError>) -> Result<Option<T>, BookError> {
    match text.trim() {
        "" => Ok(None),
        text => read(text).map(Some),
    }
}

fn number(what: &'static str, text: &str) -> Result<Option<f64>, BookError> {
    optional(text, |t| match t.replace(',', ".").trim_end_matches([' ', '%']).parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(v),
        _ => Err(BookError::field(what, format!("\"{t}\" is not a number"))),
    })
}

fn hours(text: &str) -> Result<(Time, Time), BookError> {
    let wrong = || BookError::field("hours", format!("\"{text}\" are not hours such as 07:00-20:30"));
    hours_between(text, |t| Time::strptime("%H:%M", t).ok()).ok_or_else(wrong)
}

/// Hours of the day as people write them: `07:00-20:30`, `6-8`, `09:00 to 24:00`. What is no bare hour is read by `clock`. The
/// end of the day is the midnight that begins the next; the same hour twice is all day.
pub fn hours_between(text: &str, clock: impl Fn(&str) -> Option<Time>) -> Option<(Time, Time)> {
    let (from, to) = text.split_once(['-', '–']).or_else(|| text.split_once("to"))?;
    let (from, to) = (from.trim(), to.trim());
    // "6-8 pm" may begin in the morning or in the evening.
    let says_half = |t: &str| t.to_lowercase().contains('m');
    let bare = |t: &str| match t.parse::<i8>() {
        Ok(hour) if t.len() <= 2 && t.bytes().all(|b| b.is_ascii_digit()) => Time::new(hour, 0, 0, 0).ok(),
        _ => None,
    };
    let of = |t: &str, other: &str| clock(t).or_else(|| bare(t).filter(|_| !says_half(other)));
    let ends_the_day = matches!(to, "24" | "24:00" | "24.00" | "2400" | "24h" | "24:00:00") && !says_half(from);
    let end = if ends_the_day { Some(Time::midnight()) } else { of(to, from) };
    Some((of(from, to)?, end?))
}

/// What is unusual is refused and not rounded.
fn precision(text: &str) -> Result<(bool, Option<f64>), BookError> {
    if text.is_empty() {
        return Ok((false, None));
    }
    if text.eq_ignore_ascii_case("exact") {
        return Ok((true, None));
    }
    let metres = match text.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace()).parse::<f64>() {
        Ok(v) if text.ends_with("km") => Some(1000.0 * v),
        Ok(v) => Some(v),
        Err(_) => None,
    };
    let side = metres.and_then(SquareSide::with_side).ok_or_else(|| {
        BookError::field("precision", format!("\"{text}\" is none; use exact, or squares of 10, 100, 1000, 10000 or 100000 m; places that are not to be told at all stand under places by kind, such as \"everything withheld\""))
    })?;
    Ok((false, Some(side.m())))
}

#[cfg(test)]
mod tests {
    use geo_types::{MultiPolygon, polygon};

    use super::*;
    use crate::book::Uid;

    fn permission() -> Permission {
        let area = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 0.0, y: 1.0)]]);
        Permission { coarsen_m: Some(250.0), ..Permission::new(Uid::fresh(), "Bay", area) }
    }

    #[test]
    fn what_is_typed_is_read_and_what_is_not_touched_stays() {
        let was = permission();
        assert_eq!(PermissionText::of_permission(&was).read(&was).unwrap(), was);
        let typed = PermissionText {
            contact: " office ".into(),
            from: "2026-04-01".into(),
            to: "2027-03-31".into(),
            hours: "7:00-20:30".into(),
            deepest_cm: "30".into(),
            share_percent: "50 %".into(),
            due: "once a year".into(),
            older_than: "1950".into(),
            precision: "1 km".into(),
            places: "coins 100 m".into(),
            ..PermissionText::of_permission(&was)
        };
        let read = typed.read(&was).unwrap();
        assert_eq!(
            (read.agreed.contact.as_str(), read.agreed.deepest_m, read.agreed.holder_share),
            ("office", Some(0.3), Some(0.5))
        );
        assert_eq!(
            (read.coarsen_m, read.agreed.due, read.agreed.older_than),
            (Some(1000.0), Some(ReportDue::Yearly), Some(1950))
        );
        assert_eq!(PermissionText::of_permission(&read).read(&read).unwrap(), read);
    }

    /// ISO 8601-1:2019, 4.3.8: 24:00 is the end of a day, and the same instant as 00:00 of the next.
    #[test]
    fn hours_are_read_as_people_write_them() {
        let of = |text: &str| hours(text).map(|(a, b)| format!("{} {}", a.strftime("%H:%M"), b.strftime("%H:%M"))).unwrap();
        for (text, read) in [
            ("07:00-20:30", "07:00 20:30"),
            ("7:00 – 20:30", "07:00 20:30"),
            ("6-8", "06:00 08:00"),
            ("06-24", "06:00 00:00"),
            ("09:00 to 24:00", "09:00 00:00"),
            ("00:00-24:00", "00:00 00:00"),
            ("22-5", "22:00 05:00"),
        ] {
            assert_eq!(of(text), read, "{text}");
        }
        let clock = |t: &str| (t == "8pm").then(|| jiff::civil::time(20, 0, 0, 0));
        assert_eq!(hours_between("6-8pm", clock), None, "of the morning or of the evening?");
    }

    #[test]
    fn what_cannot_be_is_refused_with_a_sentence() {
        let was = permission();
        let with = |change: fn(&mut PermissionText)| {
            let mut typed = PermissionText::of_permission(&was);
            change(&mut typed);
            typed.read(&was).unwrap_err().to_string()
        };
        assert!(with(|t| t.precision = "50".into()).contains("use exact, or squares of 10"));
        assert!(with(|t| t.from = "soon".into()).contains("2027-03-31"));
        assert!(with(|t| (t.from, t.to) = ("2027-01-02".into(), "2027-01-01".into())).contains("before it begins"));
        assert!(with(|t| t.share_percent = "150".into()).contains("share"));
        for wrong in ["dawn", "sunrise-sunset", "24-6", "6-25", "6", "-", "006-8"] {
            assert!(hours(wrong).is_err_and(|e| e.to_string().contains("07:00-20:30")), "{wrong}");
        }
        assert!(with(|t| t.hours = "dawn".into()).contains("07:00-20:30"));
        assert!(with(|t| t.places = "coins 250 m".into()).contains("250 m"));
        assert!(with(|t| t.due = "never".into()).contains("yearly"));
    }
}
