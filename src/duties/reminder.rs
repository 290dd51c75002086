//! Which find may carry a duty: by its material, its age, its kind and the words it was written with.

use std::collections::HashMap;

use jiff::civil::Date;

use super::list::{Duty, NO_LIST, Subject, duties_in};
use super::spoken;
use crate::book::{Find, Kind, KindGroup, Kinds, Material, ORDNANCE_CAUTION, Uid, latest_year};

/// A find may be an antiquity from this age on where the list of a country names none, years. A judgement, on the safe side.
const OLD_YEARS: i32 = 100;

/// Words under "reported" that say that nothing was reported yet, in lower case. Common practice, no published source.
const NOT_YET: [&str; 42] = [
    "no",
    "n",
    "not",
    "not yet",
    "not reported",
    "none",
    "nobody",
    "noone",
    "no one",
    "pending",
    "to do",
    "todo",
    "tbd",
    "later",
    "false",
    "0",
    "unknown",
    "?",
    "-",
    "nein",
    "noch nicht",
    "niemand",
    "offen",
    "non",
    "pas encore",
    "personne",
    "à faire",
    "nee",
    "nog niet",
    "open",
    "nej",
    "ikke endnu",
    "ingen",
    "todavía no",
    "aún no",
    "nadie",
    "pendiente",
    "non ancora",
    "nessuno",
    "da fare",
    "no, not yet",
    "to be reported",
];

/// What such words begin with where more stands behind them.
const NOT_YET_BEGINS: [&str; 22] = [
    "not yet",
    "no, ",
    "nobody yet",
    "to be ",
    "to do",
    "still to ",
    "will ",
    "must ",
    "should ",
    "need to ",
    "needs to ",
    "needs reporting",
    "have to ",
    "has to ",
    "haven't",
    "noch nicht",
    "muss noch",
    "pas encore",
    "à déclarer",
    "nog niet",
    "ikke endnu",
    "moet nog",
];

/// Whether it was noted to whom a find was reported, or why it need not be.
pub fn is_answered(reported: &str) -> bool {
    let said = reported.trim().trim_end_matches(['.', '!', ' ']).to_lowercase();
    !(said.is_empty() || NOT_YET.contains(&said.as_str()) || NOT_YET_BEGINS.iter().any(|begins| said.starts_with(begins)))
}

/// What a find may carry a duty for, gravest first.
pub fn carries(find: &Find, found: Option<Date>, least_age_years: Option<u32>) -> Vec<Subject> {
    let label = if find.what.trim().is_empty() { find.kind.label() } else { "" };
    let spoken = spoken::of([&find.what, label, &find.age, &find.state]);
    let may_be = |subject: Subject| match subject {
        Subject::Ordnance => find.kind.group() == KindGroup::Danger || spoken.contains(&subject),
        Subject::Treasure => is_old(find, found, least_age_years, spoken.contains(&subject)),
        other => spoken.contains(&other),
    };
    let gravest_first = [Subject::Ordnance, Subject::HumanRemains, Subject::Treasure, Subject::Wreck, Subject::Ivory];
    gravest_first.into_iter().filter(|s| may_be(*s)).collect()
}

/// Whether it may be old enough to count: its age as written, else the year in its words; of unknown age precious
/// metal may be, and what its words call by the name of an old thing.
fn is_old(find: &Find, found: Option<Date>, least_age_years: Option<u32>, named: bool) -> bool {
    let least = least_age_years.map_or(OLD_YEARS, |years| i32::try_from(years).unwrap_or(i32::MAX));
    let year_found = found.map_or(2026, |d| i32::from(d.year()));
    match latest_year(&find.age).or_else(|| latest_year(&find.what)) {
        Some(year) => year_found - year >= least,
        None => {
            let kinds = Kinds::shipped();
            let material =
                find.material.or_else(|| kinds.material(&find.kind)).or_else(|| kinds.material(&kinds.recognise(&find.what)));
            named || matches!(material, Some(Material::Gold | Material::Silver | Material::Platinum))
        }
    }
}

/// What is to be remembered of one find.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reminder {
    /// What the duty is about.
    pub subject: Subject,
    /// What to do, in sentences.
    pub says: String,
    /// The last day to do it, where a number of days was read and the day of the find is known: the shortest of the
    /// country's regions.
    pub by: Option<Date>,
}

/// What is to be remembered of a find in a country (ISO 3166-1, two letters; none where it is not known, several where it is
/// not settled: the strictest of them holds then), until it was said to whom the find was reported, or why it was not.
pub fn reminders(find: &Find, found: Option<Date>, countries: &[&str]) -> Vec<Reminder> {
    reminders_of_all([(find, found)], countries).into_iter().map(|(_, reminder)| reminder).collect()
}

/// All that decides what a find may carry a duty for.
type Looks<'f> = (&'f str, &'f Kind, &'f str, &'f str, Option<Material>, Option<i16>);

/// The same of many finds, in their order. Of finds that look alike it is worked out once.
pub fn reminders_of_all<'f>(
    finds: impl IntoIterator<Item = (&'f Find, Option<Date>)>,
    countries: &[&str],
) -> Vec<(Uid, Reminder)> {
    let duties: Vec<&Duty> = countries.iter().flat_map(|country| duties_in(country)).collect();
    let ages = duties.iter().filter(|d| d.subject == Subject::Treasure);
    // Where one region names no least age, the usual one holds for the country, and so it does beside a country without a list.
    let all_listed = countries.iter().all(|country| duties.iter().any(|d| d.country == **country));
    let every_age = all_listed && ages.clone().all(|d| d.older_than_years.is_some());
    let least_age = every_age.then(|| ages.filter_map(|d| d.older_than_years).min()).flatten();
    let mut known: HashMap<Looks<'f>, Vec<Subject>> = HashMap::new();
    let mut all = Vec::new();
    for (find, found) in finds.into_iter().filter(|(find, _)| !is_answered(&find.reported)) {
        let looks =
            (find.what.as_str(), &find.kind, find.age.as_str(), find.state.as_str(), find.material, found.map(|d| d.year()));
        let subjects = known.entry(looks).or_insert_with(|| carries(find, found, least_age));
        all.extend(subjects.iter().map(|subject| (find.uid, reminder(*subject, &duties, countries, found))));
    }
    all
}

fn reminder(subject: Subject, duties: &[&'static Duty], countries: &[&str], found: Option<Date>) -> Reminder {
    let of: Vec<&&Duty> = duties.iter().filter(|d| d.subject == subject).collect();
    let days = of.iter().filter_map(|d| d.within_days).min();
    let by = days.zip(found).and_then(|(days, day)| day.checked_add(jiff::Span::new().days(i64::from(days))).ok());
    let may = match subject {
        Subject::Ordnance => ORDNANCE_CAUTION.to_owned(),
        Subject::HumanRemains => {
            "Human remains are left as they lie, the place is kept from others, and the police are called at once.".to_owned()
        }
        other => format!("This may have to be reported ({}).", other.label()),
    };
    let several = countries.len() > 1;
    let said: Vec<String> =
        of.iter().map(|d| if several { format!("If in {}: {}", d.country, d.said()) } else { d.said() }).collect();
    let ask = if duties.is_empty() {
        NO_LIST.to_owned()
    } else if said.is_empty() {
        "Ask the museum or the police of the place, and whoever owns the ground.".to_owned()
    } else {
        said.join(" ")
    };
    Reminder { subject, says: format!("{may} {ask}"), by }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Kind, Uid};
    use crate::earth::LonLat;

    fn find(what: &str, age: &str) -> Find {
        let find = Find::new(Uid::fresh(), LonLat::new(0.0, 51.0).unwrap(), what, crate::book::Kinds::shipped().recognise(what));
        Find { age: age.into(), ..find }
    }

    #[test]
    fn finds_carry_duties_by_kind_age_material_and_words() {
        let day = Some("2026-06-01".parse().unwrap());
        let of = |what: &str, age: &str| carries(&find(what, age), day, None);
        assert_eq!(of("mortar shell", ""), [Subject::Ordnance]);
        assert_eq!(of("human bone", ""), [Subject::HumanRemains]);
        assert_eq!(of("brooch", "Roman"), [Subject::Treasure]);
        assert_eq!(of("penny 1914", ""), [Subject::Treasure]);
        assert_eq!(of("ship's porthole", ""), [Subject::Wreck]);
        assert_eq!(of("ivory handle", "1950s"), [Subject::Ivory]);
        assert_eq!(of("button, cannon pattern", ""), []);
        assert_eq!(of("ring-pull", ""), []);
        assert_eq!(of("penny 1967", ""), []);
        let silver = Find { material: Some(Material::Silver), kind: Kind::keyed("coin"), ..find("coin", "") };
        assert_eq!(carries(&silver, day, None), [Subject::Treasure]);
        assert_eq!(carries(&find("penny", "1800"), day, Some(300)), []);
    }

    #[test]
    fn precious_metal_of_unknown_age_and_the_material_of_the_kind_count() {
        let kinds = crate::book::Kinds::shipped();
        let of = |kind: &str, what: &str, age: &str| {
            let kind = kinds.all().iter().find(|k| k.key() == kind).unwrap().clone();
            carries(&Find { kind, ..find(what, age) }, None, None)
        };
        for (kind, what) in [("gold_coin", ""), ("silver_coin", "coin"), ("silver_ring", "ring"), ("ring", "gold ring")] {
            assert_eq!(of(kind, what, ""), [Subject::Treasure], "{kind} {what}");
        }
        assert_eq!(of("gold_ring", "ring", "1995"), []);
        assert_eq!(of("coin", "coin", ""), []);
    }

    #[test]
    fn a_reminder_counts_its_days_and_ends_with_an_answer() {
        let found = find("mortar shell", "");
        let day: Date = "2026-06-01".parse().unwrap();
        let told = reminders(&found, Some(day), &["GB"]);
        assert_eq!((told[0].subject, told[0].by), (Subject::Ordnance, Some(day)));
        assert!(told[0].says.starts_with(ORDNANCE_CAUTION));
        // In Scotland and Northern Ireland no least age was read, so the usual one holds for the country.
        let old = reminders(&find("brooch", "Roman"), Some(day), &["GB"]);
        assert_eq!((old[0].by, old[0].says.contains("Treasure Trove Unit")), (Some("2026-06-15".parse().unwrap()), true));
        let reported = |to: &str| Find { reported: to.into(), ..found.clone() };
        for answer in ["finds officer, 2 June", "no duty: modern", "police, log 12", "not treasure, the museum says"] {
            assert!(reminders(&reported(answer), Some(day), &["GB"]).is_empty(), "{answer}");
        }
        for none in [
            "no",
            "No.",
            "not yet",
            "to do",
            "?",
            "to be reported to the museum",
            "noch nicht",
            "0",
            "not yet, on Monday",
            "Will ring the museum",
            "must tell the coroner",
        ] {
            assert_eq!(reminders(&reported(none), Some(day), &["GB"]).len(), 1, "{none}");
        }
        // Of two countries the stricter days hold, and each duty is told under its own; Sweden has no list.
        let either = reminders(&find("brooch", "Roman"), Some(day), &["GB", "DK"]);
        assert_eq!(either[0].by, Some(day));
        assert!(either[0].says.contains("If in DK: ") && either[0].says.contains("If in GB: "), "{}", either[0].says);
        assert_eq!(reminders(&find("brooch", "Roman"), Some(day), &["GB", "SE"])[0].by, old[0].by);
        assert!(reminders(&find("brooch", "Roman"), None, &[])[0].says.contains(NO_LIST));
    }
}
