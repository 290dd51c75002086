//! What the witnesses say, in words, and as doubts about the inputs.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::testimony::{Change, Finding, Heard, Shift, Testimony};
use crate::book::Beach;
use crate::tide::rounded;
use crate::trust::{Doubt, Weight};

/// Outings that a sentence names.
const NAMED: usize = 3;

impl Heard {
    /// What is to be doubted, and what nobody witnesses. `others` is what else is doubted of the beach: where that names
    /// a remedy, it and the witnesses' are told as one, or as alternatives.
    pub fn doubts(&self, beach: &Beach, others: &[Doubt]) -> Vec<Doubt> {
        let zone = beach.zone().unwrap_or(TimeZone::UTC);
        let mut doubts = Vec::new();
        if self.finding >= Finding::Ask {
            doubts.push(self.contradiction(beach, others, &zone));
        }
        doubts.extend(self.set_aside());
        doubts.extend(self.unwitnessed().map(|sentence| Doubt {
            key: "unwitnessed".to_owned(),
            sentence,
            weight: Weight::Caution,
            settle: Vec::new(),
            spans: Vec::new(),
        }));
        doubts
    }

    /// A sentence where no outing is a witness of one kind or the other.
    pub fn unwitnessed(&self) -> Option<String> {
        let by_plan = match self.by_plan {
            0 => "",
            1 => " One outing followed a plan made here: its limit is the plan's, and no evidence of the water.",
            _ => " Outings that followed a plan made here are no evidence of the water: their limit is the plan's.",
        };
        let said = match (self.dry_witnesses, self.wet_witnesses) {
            (0, 0) => Some(
                "No outing of yours says where the water stood: nothing but the figures themselves speaks for offset, levels \
                 and tide. Hold them against the official tide tables and against the water itself."
                    .to_owned(),
            ),
            (_, 0) => Some(
                "No outing of yours followed the water's edge: were the water higher than believed, or earlier, none would \
                 tell. Hold the times against the official tide tables and against the water itself."
                    .to_owned(),
            ),
            _ => None,
        };
        said.map(|s| s + by_plan)
    }

    /// That outings were set aside as witnesses: whoever is handed a route is to know it.
    fn set_aside(&self) -> Option<Doubt> {
        let outings = match self.set_aside {
            0 => return None,
            1 => "1 outing is".to_owned(),
            n => format!("{n} outings are"),
        };
        Some(Doubt {
            key: format!("set-aside:{}", self.set_aside),
            sentence: format!(
                "Of this beach {outings} set aside by you, in whole or in part, and not heard as witnesses of the water."
            ),
            weight: Weight::Caution,
            settle: Vec::new(),
            spans: Vec::new(),
        })
    }

    fn contradiction(&self, beach: &Beach, others: &[Doubt], zone: &TimeZone) -> Doubt {
        let speaking: Vec<&Testimony> = self.testimonies.iter().filter(|t| t.dry.is_some() || t.wet.is_some()).collect();
        let mut said: Vec<String> = Vec::new();
        let mut dry: Vec<&Testimony> = speaking.iter().copied().filter(|t| t.dry.is_some()).collect();
        dry.sort_by(|a, b| b.dry.map_or(0.0, |d| d.under_m).total_cmp(&a.dry.map_or(0.0, |d| d.under_m)));
        said.extend(dry.iter().take(NAMED).filter_map(|t| dry_words(t, zone)));
        if dry.len() > NAMED {
            let more = dry.len() - NAMED;
            said.push(format!("So did {more} more outing{}.", if more == 1 { "" } else { "s" }));
        }
        let asking: Vec<&Testimony> = speaking.iter().copied().filter(|t| t.wet.is_some() && t.asks).collect();
        match self.shift {
            Some(shift) if self.agree >= 2 || asking.len() != 1 => said.push(match self.wet_witnesses {
                0 => format!("Taken together your outings say that {}.", shift_words(&shift)),
                n => format!(
                    "On {n} of your outings the limit of the search followed the water as it moved, and together they say that {}.",
                    shift_words(&shift)
                ),
            }),
            _ => said.extend(asking.iter().filter_map(|t| {
                let shift = t.wet?.shift;
                Some(format!("On {} the limit of your search moved as if {}.", day(t.began, zone), shift_words(&shift)))
            })),
        }
        if said.is_empty() {
            said.push("Taken together your outings do not go with them.".to_owned());
        }
        let shift = self
            .shift
            .map_or_else(String::new, |s| format!(":{:+.1}m:{:+.0}min", rounded(s.higher_m, 1), rounded(s.earlier_min, 0)));
        let offset = beach.datum_offset_m.map_or_else(String::new, |m| format!("{m:.2}"));
        let mut settle = self.fitting_words(beach, Proposed::among(others));
        settle.push(
            "Where you were wading, not on foot, kept well clear of the water on purpose, or the track is not yours: set that \
             stretch aside on its outing."
                .to_owned(),
        );
        settle.push("Look up the official tide tables for the place before you believe either.".to_owned());
        Doubt {
            key: format!("witness:{offset}@{}{shift}:{}", beach.tide.key(), self.agree.max(dry.len())),
            sentence: format!("Your own tracks contradict the water and the sand as entered. {}", said.join(" ")),
            weight: if self.finding == Finding::Contradict { Weight::Blocks } else { Weight::Question },
            settle,
            spans: Vec::new(),
        }
    }

    /// Which single changes would reconcile them, in sentences; `proposed` is what the figures themselves propose.
    fn fitting_words(&self, beach: &Beach, proposed: Option<Proposed>) -> Vec<String> {
        let same = proposed.and_then(|p| self.changes.iter().map(|c| &c.change).find(|c| p.is(c)));
        let differs = |c: &&Change| same.is_none_or(|s| s != *c && !is_nearly(c, s, beach));
        let best = self.changes.iter().filter(|c| c.as_good).map(|c| &c.change).filter(differs);
        let best: Vec<String> = best.map(|c| change_words(c, beach)).collect();
        let as_well = |others: &[String]| {
            let others = others.join(", or if ");
            (!others.is_empty()).then(|| format!("As far as these outings tell, it would fit as well if {others}."))
        };
        let mut said = match (same, best.split_first()) {
            (Some(same), _) => vec![format!("It would fit if {}, as the figures themselves say.", change_words(same, beach))],
            (None, None) => vec!["No single change of an input would reconcile them.".to_owned()],
            (None, Some((first, _))) => vec![format!("It would fit if {first}.")],
        };
        said.extend(as_well(best.get(usize::from(same.is_none())..).unwrap_or_default()));
        if let (Some(proposed), None) = (proposed, same) {
            said.push(format!(
                "The figures themselves propose something else, {}: settle one of the two, and look whether the other is still told.",
                proposed.words()
            ));
        }
        said
    }
}

/// A remedy that the figures propose by themselves, without any outing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Proposed {
    OffsetInFeet,
    LevelsInFeet,
    LevelsTurned,
    Clock,
}

impl Proposed {
    fn among(doubts: &[Doubt]) -> Option<Self> {
        doubts.iter().find_map(|d| match d.key.split(':').next()? {
            "offset-feet" => Some(Self::OffsetInFeet),
            "levels-feet" => Some(Self::LevelsInFeet),
            "levels-turned" => Some(Self::LevelsTurned),
            "table-clock" | "source-late" => Some(Self::Clock),
            _ => None,
        })
    }

    fn is(self, change: &Change) -> bool {
        match change {
            Change::OffsetInFeet { .. } => self == Self::OffsetInFeet,
            Change::LevelsInFeet => self == Self::LevelsInFeet,
            Change::LevelsTurned => self == Self::LevelsTurned,
            Change::Clock { .. } => self == Self::Clock,
            _ => false,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::OffsetInFeet => "an offset in feet",
            Self::LevelsInFeet => "levels in feet",
            Self::LevelsTurned => "levels with the other sign",
            Self::Clock => "another clock",
        }
    }
}

/// Two changes that come to the same figure, as nearly as outings tell it, metres.
const SAME_M: f64 = 0.5;

/// Whether a change of the offset comes to nearly what another one does.
fn is_nearly(change: &Change, other: &Change, beach: &Beach) -> bool {
    match (change, other, beach.datum_offset_m) {
        (Change::Level { add_m }, Change::OffsetInFeet { offset_m }, Some(m)) => (m + add_m - offset_m).abs() < SAME_M,
        (Change::Times { earlier_min }, Change::Clock { earlier_min: hour }, _) => (earlier_min - hour).abs() <= 20.0,
        _ => false,
    }
}

fn day(time: Timestamp, zone: &TimeZone) -> String {
    zone.to_datetime(time).strftime("%-d %B %Y").to_string()
}

fn dry_words(t: &Testimony, zone: &TimeZone) -> Option<String> {
    let dry = t.dry?;
    Some(format!(
        "On {} your track stood {:.1} m under this water for {:.0} minutes.",
        day(dry.from, zone),
        dry.under_m,
        dry.minutes
    ))
}

/// "the water stands 0.8 m (give or take 0.3) higher than believed and comes 20 minutes earlier".
fn shift_words(shift: &Shift) -> String {
    let mut parts = Vec::new();
    let (m, minutes) = (rounded(shift.higher_m, 1), rounded(shift.earlier_min, 0));
    if m != 0.0 {
        let which = if m > 0.0 { "higher" } else { "lower" };
        let give = (2.0 * shift.higher_sd_m).max(0.1);
        parts.push(format!("stands {:.1} m (give or take {give:.1} m) {which} than believed", m.abs()));
    }
    let give = 2.0 * shift.earlier_sd_min;
    // A time that is known no better than it is long says nothing, beside a level that says something.
    if minutes != 0.0 && (minutes.abs() > give || parts.is_empty()) {
        let which = if minutes > 0.0 { "earlier" } else { "later" };
        parts.push(format!("comes and goes {:.0} minutes (give or take {give:.0}) {which}", minutes.abs()));
    }
    if parts.is_empty() { "the water is not as believed".to_owned() } else { format!("the water {}", parts.join(" and ")) }
}

fn change_words(change: &Change, beach: &Beach) -> String {
    let earlier = |minutes: f64| if minutes > 0.0 { "earlier" } else { "later" };
    match change {
        Change::Level { add_m } => {
            let to = beach.datum_offset_m.map_or_else(String::new, |m| format!(", {:.2} m in place of {m:.2} m", m + add_m));
            let which = if *add_m < 0.0 { "smaller" } else { "larger" };
            format!("the datum offset were {:.1} m {which}{to}, or every level of the sand were off by as much", add_m.abs())
        }
        Change::LevelsInFeet => "the levels of the sand were read in feet".to_owned(),
        Change::LevelsTurned => "the levels of the sand were depths, to be read with the other sign".to_owned(),
        Change::OffsetInFeet { offset_m } => format!("the datum offset was read in feet: {offset_m:.2} m"),
        Change::Clock { earlier_min } => {
            format!("the tide came an hour {}, as on another clock (summer time, or none)", earlier(*earlier_min))
        }
        Change::Times { earlier_min } => format!(
            "the tide came {:.0} minutes {}: this source may not be for this place",
            earlier_min.abs(),
            earlier(*earlier_min)
        ),
        Change::Station { name, .. } => format!("the tide were that of {name}"),
        Change::Range { times } => {
            format!("the tide's range were {times:.1} times as large: this source may not be for this place")
        }
        Change::Slope { times } => format!("the sand fell {times:.1} times as steeply"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{TideChoice, Uid};
    use crate::earth::LonLat;
    use crate::witness::{Dry, Reconciling, Wet};

    fn heard(finding: Finding, dry: usize, wet: usize) -> Heard {
        let began: Timestamp = "2026-07-12T10:00:00Z".parse().unwrap();
        let at = LonLat::new(-20.0, 45.0).unwrap();
        let shift = Shift { higher_m: 0.83, higher_sd_m: 0.16, earlier_min: 0.0, earlier_sd_min: 5.0 };
        let one = |dry: bool| Testimony {
            outing: None,
            who: Uid::fresh(),
            began,
            dry: dry.then_some(Dry { from: began, minutes: 40.2, under_m: 1.42, at }),
            wet: (!dry).then_some(Wet { from: began, minutes: 90.0, shift, at }),
            against_nats: 8.0,
            asks: true,
        };
        let testimonies: Vec<Testimony> = (0..dry).map(|_| one(true)).chain((0..wet).map(|_| one(false))).collect();
        let change = |change, as_good| Reconciling { change, better_nats: 9.0, as_good };
        Heard {
            dry_witnesses: testimonies.len(),
            wet_witnesses: wet,
            by_plan: 0,
            set_aside: 0,
            finding,
            against_nats: 12.0,
            agree: dry + wet,
            shift: (wet > 0).then_some(shift),
            changes: vec![
                change(Change::OffsetInFeet { offset_m: 3.05 }, true),
                change(Change::Clock { earlier_min: 60.0 }, true),
                change(Change::Level { add_m: -0.8 }, false),
            ],
            testimonies,
        }
    }

    fn beach() -> Beach {
        let tide = TideChoice::Station("abc".into());
        Beach { tide, datum_offset_m: Some(10.0), ..Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap()) }
    }

    #[test]
    fn one_outing_asks_and_several_block_and_the_words_say_what_when_and_what_would_fit() {
        let asked = heard(Finding::Ask, 1, 0).doubts(&beach(), &[]);
        assert_eq!(asked[0].weight, Weight::Question);
        assert!(
            asked[0].sentence.contains("On 12 July 2026 your track stood 1.4 m under this water for 40 minutes."),
            "{asked:?}"
        );
        let blocked = heard(Finding::Contradict, 0, 4).doubts(&beach(), &[]);
        assert_eq!((blocked.len(), blocked[0].weight), (1, Weight::Blocks));
        assert!(blocked[0].sentence.contains("stands 0.8 m (give or take 0.3 m) higher than believed"), "{blocked:?}");
        let settle = blocked[0].settle.join(" ");
        assert!(
            settle.contains("read in feet: 3.05 m") && settle.contains("as well if the tide came an hour earlier"),
            "{settle}"
        );
        assert!(!settle.contains("0.8 m smaller") && settle.contains("official tide tables"), "{settle}");
        // What was confirmed of one offset says nothing of another, nor once more outings say the same.
        let other = Beach { datum_offset_m: Some(9.0), ..beach() };
        let keys = [&heard(Finding::Contradict, 0, 4), &heard(Finding::Contradict, 0, 5)]
            .map(|h| h.doubts(&beach(), &[])[0].key.clone());
        assert!(keys[0] != keys[1] && heard(Finding::Contradict, 0, 4).doubts(&other, &[])[0].key != keys[0], "{keys:?}");
    }

    #[test]
    fn the_remedy_of_the_figures_and_that_of_the_outings_are_told_as_one_or_as_alternatives() {
        let told = |key: &str| {
            let weight = Weight::Blocks;
            let figures =
                Doubt { key: key.into(), sentence: "It is in feet.".into(), weight, settle: Vec::new(), spans: Vec::new() };
            let mut heard = heard(Finding::Contradict, 0, 4);
            // The level alone comes to 3.2 m in place of 10: the same as feet, and best by a little.
            heard.changes.rotate_right(1);
            heard.changes[0] = Reconciling { change: Change::Level { add_m: -6.8 }, better_nats: 9.5, as_good: true };
            heard.doubts(&beach(), &[figures])[0].settle.join(" ")
        };
        let one = told("offset-feet:10.000@station:abc");
        assert!(
            one.starts_with("It would fit if the datum offset was read in feet: 3.05 m, as the figures themselves say."),
            "{one}"
        );
        assert!(!one.contains("smaller") && one.contains("as well if the tide came an hour"), "{one}");
        let other = told("levels-turned:1@x");
        assert!(
            other.starts_with("It would fit if the datum offset were 6.8 m smaller")
                && other.contains("propose something else, levels with the other sign"),
            "{other}"
        );
    }

    #[test]
    fn what_nobody_witnesses_is_told_as_a_caution() {
        let none = heard(Finding::Unheard, 0, 0).doubts(&beach(), &[]);
        assert!(none[0].weight == Weight::Caution && none[0].sentence.starts_with("No outing of yours says where"), "{none:?}");
        let mut dry_alone = heard(Finding::Agree, 0, 0);
        dry_alone.dry_witnesses = 3;
        assert!(dry_alone.doubts(&beach(), &[])[0].sentence.starts_with("No outing of yours followed the water's edge"));
        assert_eq!(heard(Finding::Agree, 0, 4).doubts(&beach(), &[]), []);
    }

    #[test]
    fn outings_that_were_set_aside_are_told_beside_whatever_else_is() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let keys = |set_aside: usize| {
            let all = Heard { set_aside, ..heard(Finding::Agree, 1, 1) }.doubts(&beach, &[]);
            all.iter().map(|d| format!("{} {}", d.key, d.sentence)).collect::<Vec<_>>()
        };
        assert_eq!(keys(0), Vec::<String>::new());
        assert!(keys(10)[0].starts_with("set-aside:10 Of this beach 10 outings are set aside by you"), "{:?}", keys(10));
    }
}
