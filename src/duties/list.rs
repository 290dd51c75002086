//! The list of duties (data/duties).

use std::sync::LazyLock;

use jiff::civil::Date;

use super::lies_in::{LiesIn, Supposed};

/// What is said beside every duty.
pub const CHECK_THE_LAW: &str = "This is no advice and may be out of date: always check the law where you are.";

/// What is said where the list does not know the country, or the place does not tell it.
pub const NO_LIST: &str = "There is no list here for this place: ask the police, the heritage office and the landowner.";

/// What the law may ask, in sentences: of which country, its duties or that there is no list, and that none of it is advice.
/// Where it is not settled in which country a place lies, those of each are told under its name and none as the law there.
pub fn law_said(lies_in: &LiesIn) -> Vec<String> {
    let mut said = vec![lies_in.said()];
    match lies_in {
        LiesIn::Unknown => said.push(NO_LIST.to_owned()),
        LiesIn::In(one) => said.extend(duties_said(one.country.code)),
        LiesIn::OneOf(some) => {
            for Supposed { country, .. } in some {
                said.extend(duties_said(country.code).iter().map(|duty| format!("If in {}: {duty}", country.name)));
            }
        }
    }
    said.push(CHECK_THE_LAW.to_owned());
    said
}

/// The duties of a country, or that there is no list of them.
fn duties_said(country: &str) -> Vec<String> {
    let duties = duties_in(country);
    if duties.is_empty() { vec![NO_LIST.to_owned()] } else { duties.iter().map(|d| d.said()).collect() }
}

/// What a duty is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// Whether one may search at all.
    Searching,
    /// Whose leave it takes.
    Foreshore,
    /// Treasure and antiquities.
    Treasure,
    /// What came from a ship or an aircraft.
    Wreck,
    /// Human remains.
    HumanRemains,
    /// Ordnance.
    Ordnance,
    /// Ivory.
    Ivory,
}

impl Subject {
    /// Every one, with the word that the list holds and how it is said.
    const ALL: [(Self, &'static str, &'static str); 7] = [
        (Self::Searching, "searching", "searching at all"),
        (Self::Foreshore, "foreshore", "whose leave it takes"),
        (Self::Treasure, "treasure", "treasure and antiquities"),
        (Self::Wreck, "wreck", "wreck"),
        (Self::HumanRemains, "human_remains", "human remains"),
        (Self::Ordnance, "ordnance", "ordnance"),
        (Self::Ivory, "ivory", "ivory"),
    ];

    /// How it is said.
    pub fn label(self) -> &'static str {
        Self::ALL.iter().find(|(s, ..)| *s == self).map_or("", |(_, _, label)| label)
    }

    fn named(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, w, _)| *w == word).map(|(subject, ..)| *subject)
    }
}

/// One duty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duty {
    /// Two letters of ISO 3166-1.
    pub country: String,
    /// The part of the country that it holds in; empty where in all.
    pub region: String,
    /// What it is about.
    pub subject: Subject,
    /// Whether searching itself is restricted.
    pub restricts: bool,
    /// The duty in a sentence; empty where it was not read at its source.
    pub says: String,
    /// Whom to ask or tell.
    pub who: String,
    /// Days counted from the day after the find; 0 at once.
    pub within_days: Option<u32>,
    /// The least age from which a find may carry it, years.
    pub older_than_years: Option<u32>,
    /// Title and section of where it was read.
    pub source: String,
    /// The day on which it was read there; `None`: it was not.
    pub read: Option<Date>,
}

impl Duty {
    /// The duty with its source, or whom to ask where it was not read.
    pub fn said(&self) -> String {
        let place = if self.region.is_empty() { String::new() } else { format!(" ({})", self.region) };
        match self.read {
            Some(read) => format!(
                "{}{place}: {} Ask {}. [{}; read {read}]",
                capital(self.subject.label()),
                self.says,
                self.who,
                self.source
            ),
            None => {
                let first = if self.restricts { "before any search ask" } else { "ask" };
                format!("{}{place}: {first} {}. [not checked]", capital(self.subject.label()), self.who)
            }
        }
    }
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

static LIST: LazyLock<Vec<Duty>> = LazyLock::new(|| {
    let mut rows = csv::Reader::from_reader(&include_bytes!("../../data/duties/duties.csv")[..]);
    // Every line is read by a test.
    rows.records().filter_map(|row| duty(&row.ok()?)).collect()
});

fn duty(row: &csv::StringRecord) -> Option<Duty> {
    let text = |n: usize| row.get(n).map(str::trim);
    let number = |n: usize| match text(n)? {
        "" => Some(None),
        digits => digits.parse().ok().map(Some),
    };
    let (title, section) = (text(8)?, text(9)?);
    Some(Duty {
        country: text(0)?.to_owned(),
        region: text(1)?.to_owned(),
        subject: Subject::named(text(2)?)?,
        restricts: text(3)? == "yes",
        says: text(4)?.to_owned(),
        who: text(5)?.to_owned(),
        within_days: number(6)?,
        older_than_years: number(7)?,
        source: if section.is_empty() { title.to_owned() } else { format!("{title}, {section}") },
        read: text(10)?.parse().ok(),
    })
}

/// The duties of a country (two letters of ISO 3166-1), those first that restrict searching itself; empty where the list does
/// not know it.
pub fn duties_in(country: &str) -> Vec<&'static Duty> {
    let mut all: Vec<&Duty> = LIST.iter().filter(|d| d.country == country).collect();
    all.sort_by_key(|d| (!d.restricts, d.subject));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_is_read_and_none_is_cited_that_was_not_checked() {
        let lines = include_str!("../../data/duties/duties.csv").lines().count() - 1;
        assert_eq!(LIST.len(), lines);
        for duty in LIST.iter() {
            assert!(!duty.who.is_empty() && !duty.who.ends_with('.'), "{duty:?}");
            match duty.read {
                Some(_) => assert!(!duty.says.is_empty() && !duty.source.is_empty(), "{duty:?}"),
                None => {
                    assert!(duty.says.is_empty() && duty.source.is_empty() && duty.older_than_years.is_none(), "{duty:?}");
                    // Whom to ask, and neither what is to be done nor by when.
                    let claims = ["at once", "before", "leave", "who ", "often", "must"];
                    assert!(claims.iter().all(|w| !duty.who.contains(w)), "{duty:?}");
                    assert!(duty.within_days.is_none_or(|days| days == 0 && duty.subject == Subject::Ordnance), "{duty:?}");
                }
            }
            assert_eq!(duty.restricts, duty.subject == Subject::Searching, "{duty:?}");
        }
    }

    #[test]
    fn where_it_is_not_settled_in_which_country_a_place_lies_no_law_is_told_as_the_one_that_holds() {
        use crate::duties::Country;
        let by = |code, name, by: &str| Supposed { country: Country { code, name }, by: by.to_owned() };
        let both = LiesIn::OneOf(vec![by("DK", "Denmark", "by its clock"), by("SE", "Sweden", "by a station")]);
        let said = law_said(&both);
        assert!(
            said[0].contains("not settled") && said[0].contains("Denmark (DK)") && said[0].contains("Sweden (SE)"),
            "{said:?}"
        );
        let (last, duties) = said[1..].split_last().unwrap();
        assert_eq!(last, CHECK_THE_LAW);
        assert!(
            duties.iter().all(|line| line.starts_with("If in Denmark: ") || line.starts_with("If in Sweden: ")),
            "{duties:?}"
        );
        assert_eq!(duties.len(), duties_in("DK").len() + 1);
        assert!(both.settled().is_none() && both.to_settle().is_some_and(|how| how.contains("--country")));
        let one = LiesIn::In(by("DK", "Denmark", "as is stated"));
        assert!(law_said(&one)[1..].iter().all(|line| !line.starts_with("If in")) && one.to_settle().is_none());
        assert!(law_said(&LiesIn::Unknown).iter().any(|line| line == NO_LIST));
    }

    #[test]
    fn the_countries_of_the_list_know_every_subject_and_put_what_restricts_first() {
        for country in ["GB", "IE", "FR", "NL", "DK", "DE", "US", "AU"] {
            let all = duties_in(country);
            assert!(all[0].restricts, "{country}");
            for (subject, ..) in Subject::ALL {
                // Of the beaches of Denmark and the Netherlands the line on searching names the owner.
                let there = all.iter().any(|d| d.subject == subject);
                assert!(there || (subject == Subject::Foreshore && country == "DK"), "{country} {subject:?}");
            }
            let last = all.iter().rposition(|d| d.restricts).unwrap();
            assert!(all[..last].iter().all(|d| d.restricts));
        }
        for region in ["England and Wales", "Scotland", "Northern Ireland"] {
            assert!(duties_in("GB").iter().any(|d| d.region == region && d.subject == Subject::Treasure));
        }
        assert!(duties_in("XX").is_empty());
    }

    // Wales has an act of its own since 2024 (Historic Environment (Wales) Act 2023, from memory).
    #[test]
    fn each_nation_names_its_own_office() {
        let of = |region: &str| -> Vec<&Duty> { duties_in("GB").into_iter().filter(|d| d.region == region).collect() };
        let searching = |region: &str| of(region).into_iter().find(|d| d.subject == Subject::Searching).unwrap();
        assert!(of("Scotland").iter().all(|d| !d.who.contains("Historic England") && !d.who.contains("Cadw")));
        let wales = searching("Wales");
        assert!(wales.who.contains("Cadw") && wales.said().ends_with("[not checked]"));
        assert_eq!(searching("England").who, "Historic England");
        assert!(of("England and Wales").iter().all(|d| d.subject != Subject::Searching));
    }

    // Treasure Act 1996, section 8 (2): fourteen days beginning with the day after the find.
    #[test]
    fn the_coroner_is_told_within_fourteen_days() {
        let coroner = duties_in("GB").into_iter().find(|d| d.who.contains("coroner of the district")).unwrap();
        // 200 years: Treasure (Designation) (Amendment) Order 2023, from memory.
        assert_eq!((coroner.within_days, coroner.older_than_years), (Some(14), Some(200)));
        assert!(coroner.says.contains("over 200 years") && coroner.says.contains("from memory, not checked"));
        assert!(coroner.said().contains("Treasure Act 1996, sections 1 and 8"));
    }
}
