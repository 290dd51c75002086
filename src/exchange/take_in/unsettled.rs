use std::fmt;

/// What of a file can be left open: by its records, and by what is known beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// Rows that are the same in everything.
    Alike,
    /// The clock that a camera was on.
    Camera,
    /// Records of the book that stand in the file with other values.
    Changes,
    /// Finds of the book that stand in the file at the same place and time with other values or another name, and readings
    /// of the same target and depth with other values.
    Corrected,
    /// The order of day and month.
    Dates,
    /// What the six digits of dates stand for.
    Digits,
    /// Records of the book that stand in the file with day and month exchanged.
    Exchanged,
    /// What the track of a time that has not come yet is.
    Future,
    /// The grid of easting and northing.
    Grid,
    /// What stands in the first line of a table, of which no heading is known.
    Headings,
    /// What heights beside times are.
    Heights,
    /// What a column `id` holds.
    Id,
    /// What lines that do not say it are.
    Lines,
    /// Which of a pair of degrees comes first.
    Pairs,
    /// A permission of a name and holder that the book has, with another ground or other terms.
    Permission,
    /// Names of set-ups that differ by a letter or two.
    Setups,
    /// A tide table of a name that the book has with other turns.
    Table,
    /// Waypoints that name a place rather than a find.
    Waypoints,
    /// Dates that may have been written 1,024 weeks too early.
    Weeks,
}

impl About {
    /// Everything that can be left open.
    pub const ALL: [Self; 19] = [
        Self::Alike,
        Self::Camera,
        Self::Changes,
        Self::Corrected,
        Self::Dates,
        Self::Digits,
        Self::Exchanged,
        Self::Future,
        Self::Grid,
        Self::Headings,
        Self::Heights,
        Self::Id,
        Self::Lines,
        Self::Pairs,
        Self::Permission,
        Self::Setups,
        Self::Table,
        Self::Waypoints,
        Self::Weeks,
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Alike => "alike",
            Self::Camera => "camera",
            Self::Changes => "changes",
            Self::Corrected => "corrected",
            Self::Dates => "dates",
            Self::Digits => "digits",
            Self::Exchanged => "exchanged",
            Self::Future => "future",
            Self::Grid => "grid",
            Self::Headings => "headings",
            Self::Heights => "heights",
            Self::Id => "id",
            Self::Lines => "lines",
            Self::Pairs => "pairs",
            Self::Permission => "permission",
            Self::Setups => "setups",
            Self::Table => "table",
            Self::Waypoints => "waypoints",
            Self::Weeks => "weeks",
        }
    }

    /// Whether an answer holds for every file with the same headings, so that it is worth remembering.
    pub(super) fn is_of_the_headings(self) -> bool {
        match self {
            Self::Dates | Self::Digits | Self::Grid | Self::Heights | Self::Id | Self::Pairs => true,
            Self::Alike
            | Self::Camera
            | Self::Changes
            | Self::Corrected
            | Self::Exchanged
            | Self::Future
            | Self::Headings
            | Self::Lines
            | Self::Permission
            | Self::Setups
            | Self::Table
            | Self::Waypoints
            | Self::Weeks => false,
        }
    }

    /// The answers there are: the word of each, and what it means.
    pub fn answers(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::Alike => &[("one", "one find, written down twice"), ("each", "a find for each row")],
            Self::Camera => &[("beach", "the clock of the beach"), ("utc", "UTC")],
            Self::Changes => &[("keep", "keep them as the book has them"), ("take", "change them as the file has them")],
            Self::Corrected => &[
                ("each", "records of their own: take them in as well"),
                ("take", "the same ones, corrected: change them as the file has them"),
                ("keep", "the same ones: keep them as the book has them"),
            ],
            Self::Dates => &[("day-first", "the day comes first"), ("month-first", "the month comes first")],
            Self::Digits => &[("year-first", "YYMMDD"), ("day-first", "DDMMYY"), ("month-first", "MMDDYY")],
            Self::Exchanged => &[
                ("keep", "keep the dates of the book"),
                ("take", "give them the dates of the file"),
                ("each", "other finds, of another day: take them in as well"),
            ],
            Self::Future => &[("plans", "a plan, not yet walked"), ("tracks", "walked; a clock was wrong")],
            Self::Grid => &[("british", "the British National Grid"), ("irish", "the Irish Grid")],
            Self::Headings => &[("these", "headings, though none of them is known")],
            Self::Heights => &[("tracks", "a track, its heights a receiver's"), ("levels", "levels of the sand")],
            Self::Id => &[("target", "the target ID"), ("number", "a number of one's own")],
            Self::Lines => &[("leave", "leave them out"), ("tracks", "tracks"), ("baseline", "the baseline"), ("plans", "plans")],
            Self::Pairs => &[("lat-first", "latitude comes first"), ("lon-first", "longitude comes first")],
            Self::Permission => &[
                (
                    "change",
                    "the one in the book, drawn or agreed anew: change it, and keep its receipts and the ids its holder knows",
                ),
                ("each", "another permission: take it in as well"),
                ("keep", "the one in the book: keep it as the book has it"),
            ],
            Self::Setups => &[
                ("one", "one set-up: the name that stands first is right, the other a slip"),
                ("each", "a set-up for each name"),
            ],
            Self::Table => {
                &[("replace", "the same table: it takes the place of the one in the book"), ("each", "a table of its own")]
            }
            Self::Weeks => &[("as-written", "the dates are right"), ("later", "1,024 weeks later")],
            Self::Waypoints => &[("leave", "leave them out"), ("finds", "finds"), ("accesses", "ways on and off the beach")],
        }
    }

    /// Every answer there is, as the command line gives it: `alike=one|each, camera=beach|utc, ...`.
    pub fn all_answers() -> String {
        let words = |about: &Self| about.answers().iter().map(|(word, _)| *word).collect::<Vec<_>>().join("|");
        Self::ALL.iter().map(|about| format!("{about}={}", words(about))).collect::<Vec<_>>().join(", ")
    }

    /// An answer as the command line gives it, such as `dates=month-first`.
    ///
    /// # Errors
    /// A sentence that names what there is.
    pub fn answered(text: &str) -> Result<(Self, &'static str), String> {
        let wrong = || format!("\"{text}\" is not an answer; use one of {}", Self::all_answers());
        let (about, answer) = text.split_once('=').ok_or_else(wrong)?;
        let about = Self::ALL.into_iter().find(|a| a.word() == about.trim()).ok_or_else(wrong)?;
        let answer = about.answers().iter().find(|(word, _)| *word == answer.trim()).ok_or_else(wrong)?;
        Ok((about, answer.0))
    }
}

impl fmt::Display for About {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// Something a file leaves open that its person can settle.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Unsettled {
    /// What.
    pub about: About,
    /// The question, with an example from the file.
    pub question: String,
    /// The answer that is taken until there is one, as it does no harm; without it nothing of the file may be taken.
    pub taken: Option<&'static str>,
}

impl Unsettled {
    /// How to answer without a window.
    pub fn how_to_answer(&self) -> String {
        let answers: Vec<String> =
            self.about.answers().iter().map(|(word, means)| format!("--answer {}={word} ({means})", self.about)).collect();
        match self.about {
            About::Headings => format!(
                "--columns 1=lon,2=lat,3=what (what each column holds, by its number; the first line is then a record) or {}",
                answers.join(" or ")
            ),
            _ => answers.join(" or "),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_answer_reads_back_and_nothing_else_does() {
        for about in About::ALL {
            for (word, _) in about.answers() {
                assert_eq!(About::answered(&format!("{about}={word}")), Ok((about, *word)));
            }
        }
        for wrong in ["", "dates", "dates=", "dates=yes", "songs=loud"] {
            assert!(About::answered(wrong).unwrap_err().contains("dates=day-first|month-first"), "{wrong}");
        }
    }
}
