use jiff::civil::Date;

use super::photos::PictureFolder;

/// What of a permission's finds and outings is to be handed over.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PackAsk {
    /// The first day, of the beach's calendar.
    pub from: Option<Date>,
    /// The last day.
    pub to: Option<Date>,
    /// Only what no receipt of this permission holds yet.
    pub new_only: bool,
    /// The folder that pictures lie in, as it stood when they were asked for, if they are to go along.
    pub photos: Option<PictureFolder>,
}

impl PackAsk {
    /// Whether a day lies in the period; what has no day lies in none but the whole.
    pub(super) fn takes(&self, day: Option<Date>) -> bool {
        match day {
            Some(day) => self.from.is_none_or(|from| day >= from) && self.to.is_none_or(|to| day <= to),
            None => self.from.is_none() && self.to.is_none(),
        }
    }

    /// The period in words.
    pub(super) fn period(&self) -> String {
        match (self.from, self.to) {
            (None, None) => "everything so far".to_owned(),
            (Some(from), None) => format!("from {} on", said(from)),
            (None, Some(to)) => format!("up to {}", said(to)),
            (Some(from), Some(to)) => format!("{} to {}", said(from), said(to)),
        }
    }
}

/// A day as people write it.
pub(super) fn said(day: Date) -> String {
    day.strftime("%-d %B %Y").to_string()
}
