use std::collections::{BTreeMap, HashMap};
use std::fmt;
use std::str::FromStr;
use std::sync::{Arc, OnceLock};

use serde::{Deserialize, Serialize};

use super::danger;
use super::words::words;
use super::{Material, Weight};

words! {
    /// What a kind of find belongs with.
    KindGroup, "group of kinds" {
        /// Coins and tokens.
        Coin = "coin", "coins";
        /// Jewellery.
        Jewellery = "jewellery", "jewellery";
        /// Lead, bullets, shot.
        Lead = "lead", "lead";
        /// Copper alloys that are neither coin nor jewellery.
        Brass = "brass", "brass and copper";
        /// Iron.
        Iron = "iron", "iron";
        /// What one throws away.
        Rubbish = "rubbish", "rubbish";
        /// What one leaves alone and reports.
        Danger = "danger", "danger";
        /// The rest.
        Other = "other", "other";
    }
}

/// What the key of a kind of one's own begins with.
const OWN: &str = "own:";

/// The kind of a find, by its key in the list of kinds.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Kind(Arc<str>);

impl Kind {
    /// The kind with this key, whether or not the list knows it.
    pub fn keyed(key: &str) -> Self {
        Self(key.into())
    }

    /// A particular kind of one's own, within a general kind of the list: it has the group, weight and material of
    /// that, and the person's words for a name. A particular kind stands for its general one. Its key says all of
    /// it, so it means the same in any book. `None` when there are no words or no such general kind.
    pub fn own(within: &Kind, words: &str) -> Option<Self> {
        let list = Kinds::shipped();
        let general = list.within(within).or_else(|| list.entries.get_key_value(within).map(|e| e.0))?;
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        (!words.is_empty()).then(|| Self::keyed(&format!("{OWN}{}:{words}", general.key())))
    }

    /// Whether it is one of the person's own.
    pub fn is_own(&self) -> bool {
        self.own_parts().is_some()
    }

    /// The key of the general kind and the person's words.
    fn own_parts(&self) -> Option<(&str, &str)> {
        let (general, words) = self.0.strip_prefix(OWN)?.split_once(':')?;
        (!words.trim().is_empty() && Kinds::shipped().entries.contains_key(&Self::keyed(general))).then_some((general, words))
    }

    /// The key that files hold.
    pub fn key(&self) -> &str {
        &self.0
    }

    /// How the screen says it; a kind the list does not know is shown by its key.
    pub fn label(&self) -> &str {
        match self.own_parts() {
            Some((_, words)) => words,
            None => Kinds::shipped().entry(self).map_or(&self.0, |e| e.label.as_str()),
        }
    }

    /// What it belongs with.
    pub fn group(&self) -> KindGroup {
        Kinds::shipped().entry(self).map_or(KindGroup::Other, |e| e.group)
    }

    /// How the sea usually handles it.
    pub fn weight(&self) -> Weight {
        Kinds::shipped().entry(self).map_or(Weight::Unknown, |e| e.weight)
    }

    /// Iron and rubbish: dug, but not what one came for.
    pub fn is_rubbish(&self) -> bool {
        matches!(self.group(), KindGroup::Rubbish | KindGroup::Iron)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.label())
    }
}

impl fmt::Debug for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Kind({})", self.0)
    }
}

/// What is typical of a kind, where anything is.
#[derive(Debug, Clone, PartialEq)]
pub struct Typical {
    /// Density of its material, kg/m³.
    pub density_kg_m3: Option<f64>,
    /// Mass, grams: a coin's as struck, otherwise a usual one.
    pub mass_g: Option<f64>,
    /// Largest dimension, millimetres.
    pub size_mm: Option<f64>,
    /// Where the figures come from.
    pub source: String,
}

#[derive(Debug, Clone)]
struct Entry {
    label: String,
    group: KindGroup,
    weight: Weight,
    material: Option<Material>,
    within: Option<Kind>,
    typical: Typical,
}

/// The list of kinds, with the words by which each is recognised in a person's own text.
#[derive(Debug)]
pub struct Kinds {
    entries: BTreeMap<Kind, Entry>,
    order: Vec<Kind>,
    words: Vec<(Vec<String>, Kind)>,
    /// The words that speak of danger, apart from the others.
    dangerous: Vec<(Vec<String>, Kind)>,
    /// Where among `words` and `dangerous` the phrases stand that begin with a word.
    words_at: HashMap<String, Vec<usize>>,
    dangerous_at: HashMap<String, Vec<usize>>,
    /// Kinds by their label in lower case; of two with one label the first by key.
    labels: HashMap<String, Kind>,
}

/// Where the phrases stand that begin with each word.
fn by_first_word(phrases: &[(Vec<String>, Kind)]) -> HashMap<String, Vec<usize>> {
    let mut at: HashMap<String, Vec<usize>> = HashMap::new();
    for (n, (phrase, _)) in phrases.iter().enumerate() {
        if let Some(first) = phrase.first() {
            at.entry(first.clone()).or_default().push(n);
        }
    }
    at
}

/// Where the phrases stand that begin with a word of a text, in their order: no others can be in it. A list of finds has
/// many texts and the list of kinds many phrases.
fn begun(at: &HashMap<String, Vec<usize>>, have: &[String]) -> Vec<usize> {
    let forms = have.iter().flat_map(|word| [Some(word.as_str()), word.strip_suffix('s')]).flatten();
    let mut begun: Vec<usize> = forms.filter_map(|word| at.get(word)).flatten().copied().collect();
    begun.sort_unstable();
    begun.dedup();
    begun
}

impl Kinds {
    /// The list that ships with the program.
    pub fn shipped() -> &'static Self {
        static LIST: OnceLock<Kinds> = OnceLock::new();
        LIST.get_or_init(|| Self::read(include_str!("../../data/kinds/kinds.csv")))
    }

    fn read(text: &str) -> Self {
        let mut list = Self {
            entries: BTreeMap::new(),
            order: Vec::new(),
            words: Vec::new(),
            dangerous: Vec::new(),
            words_at: HashMap::new(),
            dangerous_at: HashMap::new(),
            labels: HashMap::new(),
        };
        for row in csv::Reader::from_reader(text.as_bytes()).records().flatten() {
            let cell = |n: usize| row.get(n).unwrap_or_default();
            let (Ok(group), Ok(weight)) = (KindGroup::from_str(cell(2)), Weight::from_str(cell(3))) else { continue };
            let kind = Kind::keyed(cell(0));
            let figure = |n: usize| cell(n).parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0);
            let within = Some(cell(6)).filter(|k| !k.is_empty()).map(Kind::keyed);
            list.words.extend(cell(5).split('|').filter(|w| !w.is_empty()).map(|w| (words_of(w), kind.clone())));
            // People seldom write a particular kind's whole label; parts of it would catch what they mean otherwise.
            if within.is_none() {
                list.words.push((words_of(cell(1)), kind.clone()));
            }
            let entry = Entry {
                label: cell(1).to_owned(),
                group,
                weight,
                material: cell(4).parse().ok(),
                within,
                typical: Typical {
                    density_kg_m3: figure(7).map(|d| d * 1000.0),
                    mass_g: figure(8),
                    size_mm: figure(9),
                    source: cell(10).to_owned(),
                },
            };
            list.order.push(kind.clone());
            list.entries.insert(kind, entry);
        }
        // The longest phrase that fits decides, so "gold ring" beats "ring".
        list.words.sort_by_key(|(w, _)| std::cmp::Reverse((w.len(), w.iter().map(String::len).sum::<usize>())));
        let (dangerous, words) = std::mem::take(&mut list.words).into_iter().partition(|(_, kind)| list.is_danger(kind));
        (list.dangerous, list.words) = (dangerous, words);
        (list.dangerous_at, list.words_at) = (by_first_word(&list.dangerous), by_first_word(&list.words));
        for (kind, entry) in &list.entries {
            list.labels.entry(entry.label.to_lowercase()).or_insert_with(|| kind.clone());
        }
        list
    }

    /// The general kind that a particular one belongs to: a coin of one country to coins. `None` for a general kind.
    pub fn within(&self, kind: &Kind) -> Option<&Kind> {
        match kind.own_parts() {
            Some((general, _)) => self.entries.get_key_value(&Kind::keyed(general)).map(|e| e.0),
            None => self.entry(kind)?.within.as_ref(),
        }
    }

    /// The kinds that belong to no more general one, in the list's order.
    pub fn general(&self) -> impl Iterator<Item = &Kind> {
        self.order.iter().filter(|k| self.within(k).is_none())
    }

    /// What is typical of a kind; `None` for one the list does not know.
    pub fn typical(&self, kind: &Kind) -> Option<&Typical> {
        self.entry(kind).map(|e| &e.typical)
    }

    /// Every kind, in the list's order: general ones first, then particular ones.
    pub fn all(&self) -> &[Kind] {
        &self.order
    }

    /// The usual material of a kind, if it has one.
    pub fn material(&self, kind: &Kind) -> Option<Material> {
        self.entry(kind)?.material
    }

    /// The kind a person's own words speak of, or `other` when none of its words are known.
    ///
    /// A key or a whole label of the list is taken as such; otherwise the longest known phrase in the text decides,
    /// and of two equally long ones the first in the text.
    pub fn recognise(&self, text: &str) -> Kind {
        let key = Kind::keyed(text.trim());
        if self.entries.contains_key(&key) || key.is_own() {
            return key;
        }
        let wanted = text.trim().to_lowercase();
        if let Some(kind) = self.labels.get(&wanted) {
            return kind.clone();
        }
        let have = words_of(text);
        if let Some(danger) = self.danger(&have) {
            return danger;
        }
        let place = |phrase: &[String]| have.windows(phrase.len().max(1)).position(|w| same_words(w, phrase));
        let mut best: Option<(usize, usize, &Kind)> = None;
        // What may be dangerous was seen to: its words that are left only sound like it.
        for (phrase, kind) in begun(&self.words_at, &have).into_iter().filter_map(|n| self.words.get(n)) {
            if best.is_some_and(|(len, _, _)| phrase.len() < len) {
                break;
            }
            if let Some(at) = place(phrase)
                && best.is_none_or(|(_, first, _)| at < first)
            {
                best = Some((phrase.len(), at, kind));
            }
        }
        let said = best.filter(|(_, at, _)| !is_denied(have.get(..*at).unwrap_or_default()));
        said.map_or_else(|| Kind::keyed("other"), |(_, _, kind)| kind.clone())
    }

    /// Whether a text is made of nothing but phrases of the list, one after the other, and such other words, in lower case.
    pub fn makes_up(&self, text: &str, is_other: impl Fn(&str) -> bool) -> bool {
        let have = words_of(text);
        // How far phrases and words reach that begin where others ended.
        let mut reached = vec![false; have.len() + 1];
        reached[0] = true;
        for at in 0..have.len() {
            if !reached[at] {
                continue;
            }
            if is_other(&have[at]) {
                reached[at + 1] = true;
            }
            for (phrases, begin) in [(&self.words, &self.words_at), (&self.dangerous, &self.dangerous_at)] {
                for (phrase, _) in begun(begin, &have[at..=at]).into_iter().filter_map(|n| phrases.get(n)) {
                    if have.get(at..at + phrase.len()).is_some_and(|words| same_words(words, phrase)) {
                        reached[at + phrase.len()] = true;
                    }
                }
            }
        }
        reached[have.len()]
    }

    /// The dangerous kind that the notes of a thing suppose it to be, as in "looks like a mortar shell"; where they are all
    /// that was written of it, any that they speak of.
    pub fn danger_in_notes(&self, notes: &str, all_there_is: bool) -> Option<Kind> {
        let words = words_of(notes);
        let said = if all_there_is { self.danger(&words) } else { None };
        said.or_else(|| danger::supposed(&words).find_map(|words| self.danger(words)))
    }

    /// Whether a word says itself that a thing is none of the listed ones.
    pub fn is_other(&self, text: &str) -> bool {
        let have = words_of(text);
        self.words.iter().any(|(phrase, kind)| kind.key() == "other" && same_words(&have, phrase))
    }

    /// A kind to be left alone, if any word speaks of one: "brass fuze" is no brass. A longer phrase that holds the word
    /// takes it away: a "shell button" is a button. Common practice, no published source.
    fn danger(&self, have: &[String]) -> Option<Kind> {
        let places = |phrase: &[String]| {
            let len = phrase.len().max(1);
            (0..(have.len() + 1).saturating_sub(len))
                .filter(move |at| same_words(&have[*at..*at + len], phrase))
                .collect::<Vec<_>>()
        };
        let begun = begun(&self.dangerous_at, have);
        let by_phrase = begun.into_iter().filter_map(|n| self.dangerous.get(n)).find_map(|(phrase, kind)| {
            let free = places(phrase).into_iter().any(|at| {
                let holds = |p: &[String]| places(p).into_iter().any(|from| from <= at && at + phrase.len() <= from + p.len());
                let mut longer = self.words.iter().filter(|(p, _)| p.len() > phrase.len());
                !longer.any(|(p, _)| holds(p)) && !danger::harmless().any(|p| p.len() > phrase.len() && holds(&p))
            });
            free.then(|| kind.clone())
        });
        by_phrase.or_else(|| danger::speaks(have).then(|| Kind::keyed("ordnance")).filter(|kind| self.entries.contains_key(kind)))
    }

    fn is_danger(&self, kind: &Kind) -> bool {
        self.entries.get(kind).is_some_and(|e| e.group == KindGroup::Danger)
    }

    fn entry(&self, kind: &Kind) -> Option<&Entry> {
        match kind.own_parts() {
            Some((general, _)) => self.entries.get(&Kind::keyed(general)),
            None => self.entries.get(kind),
        }
    }
}

fn words_of(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

/// Equal word by word, a plural "s" on the text's side allowed.
fn same_words(text: &[String], phrase: &[String]) -> bool {
    text.len() == phrase.len() && text.iter().zip(phrase).all(|(t, p)| t == p || t.strip_suffix('s') == Some(p))
}

/// Whether the words before a thing say that it is none: "not gold ring", "no coin".
fn is_denied(before: &[String]) -> bool {
    let denies =
        |word: &String| matches!(word.as_str(), "no" | "not" | "kein" | "keine" | "nicht" | "geen" | "niet" | "ikke" | "ingen");
    match before {
        [word] => denies(word),
        [word, article] => denies(word) && matches!(article.as_str(), "a" | "an" | "the"),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_list_is_read() {
        let rows = include_str!("../../data/kinds/kinds.csv").lines().count() - 1;
        assert_eq!(Kinds::shipped().all().len(), rows);
    }

    #[test]
    fn a_text_of_known_phrases_alone_is_told_from_one_with_more() {
        let kinds = Kinds::shipped();
        let bent = |word: &str| word == "bent";
        for text in ["", "ring-pull", "Gold ring", "bent gold rings, bottle cap", "hot rock", "hand grenade"] {
            assert!(kinds.makes_up(text, bent), "{text}");
        }
        for text in ["ring by rock", "rock", "gold ring bentx", "bottle ring-pull"] {
            assert!(!kinds.makes_up(text, bent), "{text}");
        }
    }

    #[test]
    fn recognises_people_s_own_words() {
        let of = |text| Kinds::shipped().recognise(text).key().to_owned();
        assert_eq!(of("9ct Gold ring, size M"), "gold_ring");
        assert_eq!(of("pull tabs"), "ring_pull");
        assert_eq!(of("pull ring"), "ring_pull");
        assert_eq!((of("not gold ring"), of("no coin"), of("not a coin")), ("other".into(), "other".into(), "other".into()));
        assert_eq!((of("no date coin"), of("not sure, coin")), ("coin".into(), "coin".into()));
        assert_eq!(of("bent 2p coin"), "coin");
        assert_eq!(of("key"), "key");
        assert_eq!(of("lead fishing weight 3oz"), "lead_weight");
        assert_eq!(of("ring_pull"), "ring_pull");
        assert_eq!(of("what on earth"), "other");
        assert!(Kinds::shipped().is_other("Relic") && !Kinds::shipped().is_other("Scherbe"));
        assert_eq!(of(""), "other");
    }

    /// Common practice, no published source.
    #[test]
    fn notes_that_suppose_ordnance_tell_of_it_and_others_do_not() {
        let of = |notes, all| Kinds::shipped().danger_in_notes(notes, all).map(|k| k.key().to_owned());
        for notes in ["looks like a mortar shell", "Lump of rust; might be an old grenade", "possible bomb, left in place"] {
            assert_eq!(of(notes, false).as_deref(), Some("ordnance"), "{notes}");
        }
        for notes in ["near the old bomb crater", "looks like a shell button", "by the shell bank", "may be", "looks like silver"]
        {
            assert_eq!(of(notes, false), None, "{notes}");
        }
        assert_eq!((of("mortar bomb", true).as_deref(), of("bath bomb tin", true)), (Some("ordnance"), None));
    }

    /// Common practice, no published source.
    #[test]
    fn what_may_be_ordnance_is_known_by_whole_words_in_context() {
        let of = |text| Kinds::shipped().recognise(text).key().to_owned();
        for text in [
            "bomb",
            "m\u{f8}rtergranat",
            "WW2 cartridge live",
            "live bullets",
            "Hand grenade",
            "mortar",
            "UXO",
            "sea mine",
            "detonator",
            "flare",
            "munition",
            "live ammunition",
            "live round",
            "brass fuze",
            "shell fragment",
            "rusty iron shell",
            "old shell, 20 mm",
            "Granate",
            "obus",
            "munitie",
            "lead and a bomb",
            "mines, naval mine",
            "box of live rounds",
            "small-arms ammunition",
            "unexploded something",
            "torpedo",
            "depth charge",
            // A weapon where it is all that was written: as a pronoun nobody writes it down for a find.
            "mine",
            "Mines",
            "20mm shell case",
            "shell case 30 mm",
            "25 pounder shell case",
            "40mm casing",
            "hand granade",
            "gernade",
            "amunition",
            "unexploaded thing",
            "contact mine",
            "horn of a mine",
            "WW2 mine",
            "grenat",
            "Granat",
            "Handgranate",
            "Panzergranate",
            "Fliegerbomben",
            "Blindgänger",
            "Munition",
            "grenade à main",
            "obus de mortier",
            "munitions",
            "engin explosif",
            "bom",
            "brisantgranaat",
            "landmijn",
            "proyectil sin explotar",
            "munición",
            "håndgranat",
            "forsager",
            "bomba a mano",
            "proiettile di artiglieria",
            "spoletta",
            "smoke float",
            "marine marker",
            "artillery projectile",
            "naval projectile, 4 inch",
            "bomb",
        ] {
            assert_eq!(of(text), "ordnance", "{text}");
        }
        for (text, kind) in [
            ("shell button", "button"),
            ("pearl shell button", "button"),
            ("shell case", "cartridge"),
            ("pot fragment", "other"),
            ("sea shell", "other"),
            ("flared ring", "ring"),
            ("bombastic", "other"),
            ("a coin of mine", "coin"),
            ("bomb-shaped pendant", "earring"),
            ("coal mine token", "coin"),
            ("mine worker's tag", "other"),
            ("shell case", "cartridge"),
            ("shell button 20 mm", "button"),
            ("cockle shell 40 mm", "other"),
            ("garnet ring", "ring"),
            ("trombone mouthpiece", "other"),
            ("lime mortar", "other"),
            ("bath bomb", "other"),
        ] {
            assert_eq!(of(text), kind, "{text}");
        }
    }

    #[test]
    fn a_particular_kind_is_known_by_its_whole_label_only() {
        let kinds = Kinds::shipped();
        assert_eq!(kinds.recognise("UK £2").key(), "gb_2_pound");
        assert_eq!(kinds.recognise("uk 2 pence").key(), "coin");
        assert_eq!(kinds.recognise("2p, worn").key(), "coin");
        let first_particular = kinds.all().iter().position(|k| kinds.within(k).is_some()).unwrap();
        assert_eq!(kinds.general().count(), first_particular, "the general kinds come first");
    }

    #[test]
    fn every_particular_kind_belongs_to_a_general_one_and_every_figure_names_its_source() {
        let kinds = Kinds::shipped();
        for kind in kinds.all() {
            let typical = kinds.typical(kind).unwrap();
            let figures = [typical.density_kg_m3, typical.mass_g, typical.size_mm];
            assert_eq!(figures.iter().any(Option::is_some), !typical.source.is_empty(), "{}", kind.key());
            if let Some(general) = kinds.within(kind) {
                assert_eq!(kinds.within(general), None, "{}", kind.key());
                assert_eq!(kind.group(), general.group(), "{}", kind.key());
            }
        }
    }

    #[test]
    fn the_sea_keeps_lead_and_carries_foil() {
        assert_eq!(Kind::keyed("lead").weight(), Weight::Heavy);
        assert_eq!(Kind::keyed("foil").weight(), Weight::Light);
        assert_eq!(Kind::keyed("no such key").weight(), Weight::Unknown);
        assert!(Kind::keyed("nail").is_rubbish() && !Kind::keyed("coin").is_rubbish());
    }
}
