//! What is agreed with a permission's holder beyond ground, days and hours.

use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, KindGroup, check_range};

words! {
    /// When a holder wants to be told what was found.
    ReportDue, "time to report" {
        /// As soon as it is found.
        AtOnce = "at_once", "at once";
        /// After every outing.
        EachOuting = "each_outing", "after each outing";
        /// Once a month.
        Monthly = "monthly", "once a month";
        /// Once a year.
        Yearly = "yearly", "once a year";
        /// When the permission ends.
        AtEnd = "at_end", "when it ends";
    }
}

words! {
    /// How the place of a find is told.
    Telling, "way to tell a place" {
        /// Where it is.
        Exact = "exact", "exact";
        /// As the square of 10 m of the grid fixed to the earth.
        M10 = "10_m", "10 m";
        /// As the square of 100 m.
        M100 = "100_m", "100 m";
        /// As the square of 1 km.
        Km1 = "1_km", "1 km";
        /// Not at all.
        Withheld = "withheld", "withheld";
    }
}

/// How the places of a group of kinds are told, where that differs from the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlaceRule {
    /// Which finds.
    pub group: KindGroup,
    /// How their places are told.
    pub told: Telling,
}

/// A way to tell a place as it is typed; the square of 1 km in metres too, as precisions are.
fn told_as(text: &str) -> Result<Telling, BookError> {
    match text.trim() {
        "1000 m" | "1000m" => Ok(Telling::Km1),
        other => other.parse(),
    }
}

/// Stands for every group of kinds in a rule.
const EVERYTHING: &str = "everything";

impl PlaceRule {
    /// Rules as they are typed, such as `coins 100 m; jewellery withheld` or `coins exact; everything withheld`, where everything
    /// is every group that is not named beside it; nothing is none.
    ///
    /// # Errors
    /// A sentence about the first that cannot be read, or about a group that stands there twice.
    pub fn read_all(text: &str) -> Result<Vec<Self>, BookError> {
        let mut rules: Vec<Self> = Vec::new();
        let mut for_the_rest = None;
        for part in text.split(';').map(str::trim).filter(|t| !t.is_empty()) {
            if let Some((all, told)) = part.split_once(char::is_whitespace)
                && all.eq_ignore_ascii_case(EVERYTHING)
            {
                if for_the_rest.replace(told_as(told)?).is_some() {
                    return Err(BookError::field("rule for places", format!("names {EVERYTHING} twice")));
                }
                continue;
            }
            let rule = Self::read(part)?;
            if rules.iter().any(|r| r.group == rule.group) {
                return Err(BookError::field("rule for places", format!("names {} twice", rule.group)));
            }
            rules.push(rule);
        }
        if let Some(told) = for_the_rest {
            let named: Vec<KindGroup> = rules.iter().map(|r| r.group).collect();
            let rest = KindGroup::ALL.iter().filter(|g| !named.contains(g));
            rules.extend(rest.map(|group| Self { group: *group, told }));
        }
        Ok(rules)
    }

    /// The group may be of several words, and so may the telling.
    fn read(text: &str) -> Result<Self, BookError> {
        let spaces = text.char_indices().filter(|(_, c)| c.is_whitespace() || matches!(c, '=' | ':')).map(|(n, _)| n);
        let (mut of_group, mut of_telling) = (None, None);
        for at in spaces {
            let (group, told) = (&text[..at], text[at..].trim_start_matches(['=', ':', ' ']));
            match (group.trim().parse::<KindGroup>(), told_as(told)) {
                (Ok(group), Ok(told)) => return Ok(Self { group, told }),
                // "250 m" is to be refused for what it is, not for the words before it.
                (Ok(_), Err(why)) => of_telling = of_telling.or(Some(why)),
                (Err(why), _) => of_group = of_group.or(Some(why)),
            }
        }
        let bare = || BookError::field("rule for places", format!("\"{text}\" is not one such as \"coins 100 m\""));
        Err(of_telling.or(of_group).unwrap_or_else(bare))
    }

    /// Rules as they are typed; see [`PlaceRule::read_all`].
    pub fn words_of_all(all: &[Self]) -> String {
        if let Some(told) = Self::of_everything(all) {
            return format!("{EVERYTHING} {told}");
        }
        all.iter().map(|r| format!("{} {}", r.group, r.told)).collect::<Vec<_>>().join("; ")
    }

    /// How all places are told, where the rules say the same of every group.
    fn of_everything(all: &[Self]) -> Option<Telling> {
        let told = all.first()?.told;
        let same = |g: &KindGroup| all.iter().any(|r| r.group == *g && r.told == told);
        KindGroup::ALL.iter().all(same).then_some(told)
    }
}

/// What is agreed with a permission's holder beyond ground, days and hours; empty where nothing is.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Agreed {
    /// How the holder is reached.
    pub contact: String,
    /// What papers there are and where they lie.
    pub papers: String,
    /// No deeper than this, metres.
    pub deepest_m: Option<f64>,
    /// The part of a find's value that is the holder's, 0 to 1.
    pub holder_share: Option<f64>,
    /// When the holder wants to be told.
    pub due: Option<ReportDue>,
    /// Only what is older than this year need be told; what is of unknown age is told as well.
    pub older_than: Option<i32>,
    /// How places are told where a group of kinds differs from the rest.
    pub places: Vec<PlaceRule>,
}

impl Agreed {
    pub(super) fn validate(&self) -> Result<(), BookError> {
        check_range("greatest depth", self.deepest_m, 0.0, 5.0, "m")?;
        check_range("holder's share", self.holder_share, 0.0, 1.0, "of the value")?;
        check_range("year that finds must be older than", self.older_than.map(f64::from), -10_000.0, 3000.0, "")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_is_every_group_that_is_not_named() {
        let rules = PlaceRule::read_all("everything withheld; coins exact").unwrap();
        assert_eq!(rules.len(), KindGroup::ALL.len());
        let of = |g: KindGroup| rules.iter().find(|r| r.group == g).unwrap().told;
        assert_eq!((of(KindGroup::Coin), of(KindGroup::Jewellery)), (Telling::Exact, Telling::Withheld));
        assert_eq!(PlaceRule::read_all(&PlaceRule::words_of_all(&rules)).unwrap(), rules);
        let all = PlaceRule::read_all("Everything 1 km").unwrap();
        assert_eq!(PlaceRule::words_of_all(&all), "everything 1 km");
        assert!(PlaceRule::read_all("everything withheld; everything exact").is_err());
        assert!(PlaceRule::read_all("everything 250 m").is_err());
        assert_eq!(PlaceRule::words_of_all(&PlaceRule::read_all("coins 1000 m").unwrap()), "coins 1 km");
    }

    #[test]
    fn rules_for_places_are_read_as_they_are_written() {
        let text = "coins 100 m; brass and copper withheld; jewellery exact";
        let rules = PlaceRule::read_all(text).unwrap();
        assert_eq!(rules[1], PlaceRule { group: KindGroup::Brass, told: Telling::Withheld });
        assert_eq!((rules.len(), PlaceRule::words_of_all(&rules)), (3, text.to_owned()));
        assert_eq!(PlaceRule::read_all("coin=1 km").unwrap()[0].told, Telling::Km1);
        assert_eq!(PlaceRule::read_all(" ; "), Ok(Vec::new()));
        // A precision there is no square for is refused and not rounded.
        assert!(PlaceRule::read_all("coins 250 m").unwrap_err().to_string().contains("250 m"));
        for bad in ["coins", "beads 100 m", "coins 100 m; coins exact", "100 m"] {
            assert!(PlaceRule::read_all(bad).is_err(), "{bad}");
        }
    }
}
