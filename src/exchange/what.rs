use std::fmt;
use std::str::FromStr;

/// What the records of a file are, when the person says so rather than leaving it to a guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// Where the coil went.
    Tracks,
    /// Things dug.
    Finds,
    /// Things heard and not dug.
    Signals,
    /// Surveyed levels of the sand.
    Levels,
    /// Parts of the beach with a use.
    Zones,
    /// Who allows searching where.
    Permissions,
    /// The line along the back of the beach.
    Baseline,
    /// Ways on and off the beach.
    Accesses,
    /// What bars the way.
    Barriers,
    /// A record of the sea, split into storms.
    Storm,
    /// High and low waters.
    TideTable,
    /// Water levels as a gauge recorded them.
    Gauge,
    /// Visits.
    Outings,
    /// Detector settings.
    Setups,
    /// Known targets read at known depths.
    Bench,
}

impl What {
    /// Every choice, with the word the command line knows it by.
    pub const ALL: &'static [(What, &'static str)] = &[
        (What::Tracks, "tracks"),
        (What::Finds, "finds"),
        (What::Signals, "signals"),
        (What::Levels, "levels"),
        (What::Zones, "zones"),
        (What::Permissions, "permissions"),
        (What::Baseline, "baseline"),
        (What::Accesses, "accesses"),
        (What::Barriers, "barriers"),
        (What::Storm, "storm"),
        (What::TideTable, "tide-table"),
        (What::Gauge, "gauge"),
        (What::Outings, "outings"),
        (What::Setups, "setups"),
        (What::Bench, "bench"),
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(w, _)| *w == self).map_or("", |(_, word)| word)
    }

    /// In which order files build on each other: set-ups, then outings, then tracks, then the rest.
    pub(super) fn turn(self) -> u8 {
        match self {
            Self::Setups => 0,
            Self::Outings => 1,
            Self::Tracks => 2,
            _ => What::LAST,
        }
    }

    /// The turn of what nothing builds on.
    pub(super) const LAST: u8 = 3;

    /// What a `role` of one record says: the words of [`What::ALL`] in the singular or plural.
    pub(super) fn of_role(role: &str) -> Option<Self> {
        let plain = |s: &str| s.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
        let wanted = plain(role);
        let singular =
            |s: &str| s.strip_suffix("es").filter(|s| s.ends_with("ss")).or(s.strip_suffix('s')).unwrap_or(s).to_owned();
        if wanted == "access" {
            return Some(Self::Accesses);
        }
        Self::ALL.iter().find(|(_, word)| plain(word) == wanted || singular(&plain(word)) == singular(&wanted)).map(|(w, _)| *w)
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for What {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        Self::of_role(text).ok_or_else(|| {
            let all: Vec<_> = Self::ALL.iter().map(|(_, word)| *word).collect();
            format!("\"{text}\" is not something a file can hold; use one of {}", all.join(", "))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_roles_read_back() {
        for (what, word) in What::ALL {
            assert_eq!(word.parse(), Ok(*what));
            assert_eq!(what.to_string(), *word);
        }
        for (role, what) in
            [("zone", What::Zones), ("access", What::Accesses), ("Level", What::Levels), ("tide_table", What::TideTable)]
        {
            assert_eq!(What::of_role(role), Some(what), "{role}");
        }
        assert!("songs".parse::<What>().unwrap_err().contains("use one of tracks"));
    }
}
