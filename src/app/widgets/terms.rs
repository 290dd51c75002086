//! The words of the tide and of a reading, each in a sentence, said where they stand and under F1.

/// The words with what they mean, the levels from high to low. As hydrographic offices define them (IHO S-32), in plain
/// words.
pub(crate) const TERMS: [(&str, &str); 15] = [
    ("HAT", "highest astronomical tide: the highest water that the tide alone can bring"),
    ("MHHW", "mean higher high water: the average of the higher of each day's high waters"),
    ("MHWS", "mean high water springs: where high water stands on average around new and full moon, when tides are largest"),
    ("MHWN", "mean high water neaps: where high water stands on average around the half moons, when tides are smallest"),
    ("MSL", "mean sea level: the average height of the sea over years"),
    ("MLWN", "mean low water neaps: where low water stands on average around the half moons"),
    ("MLWS", "mean low water springs: where low water stands on average around new and full moon; what lies below is seldom dry"),
    ("MLLW", "mean lower low water: the average of the lower of each day's low waters"),
    ("LAT", "lowest astronomical tide: the lowest water that the tide alone can bring; often the zero of charts"),
    ("chart datum", "the zero that charts and tide tables of a place count from, close to the lowest water there"),
    ("tide datum", "the zero that the tide source of this beach counts its heights from"),
    ("land datum", "the zero that heights on land count from, such as those of a levelling"),
    ("datum offset", "what is added to a height above the land datum to have it above the tide datum"),
    ("band", "the strip of sand between two tide lines"),
    ("rested ground", "ground as one visit would sweep it once, of which nobody took the finds lately"),
];

/// What a word means, if it is one of these; of a band, both its edges.
pub(crate) fn explained(name: &str) -> Option<String> {
    let one = |word: &str| {
        TERMS.iter().find(|(term, _)| term.eq_ignore_ascii_case(word.trim())).map(|(term, said)| format!("{term}: {said}."))
    };
    if let Some((high, low)) = name.split_once(" to ") {
        return Some(format!("{}\n{}", one(high)?, one(low)?));
    }
    let bare = name.trim_start_matches("above ").trim_start_matches("below ");
    one(bare).or_else(|| by_long_name(bare))
}

/// The same by the long form, such as "lowest astronomical tide".
fn by_long_name(name: &str) -> Option<String> {
    let found = TERMS.iter().find(|(_, said)| said.split(':').next().is_some_and(|long| long.eq_ignore_ascii_case(name.trim())));
    found.map(|(term, said)| format!("{term}, {said}."))
}

/// How strong the evidence for a verdict is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Strength {
    Strong,
    Fair,
    Weak,
    None,
}

/// From this chance on that luck brings as much, all scans allowed for, evidence is no longer strong, or fair.
const STRONG: f64 = 0.002;
const FAIR: f64 = 0.01;
/// What less than this is told of at all, as a reading usually is.
const WEAK: f64 = 0.05;

impl Strength {
    /// All, the strongest first.
    pub(crate) const ALL: [Self; 4] = [Self::Strong, Self::Fair, Self::Weak, Self::None];

    /// From the chance left once all scans are allowed for.
    pub(crate) fn of_chance(q: f64) -> Self {
        match q {
            q if q <= STRONG => Self::Strong,
            q if q <= FAIR => Self::Fair,
            _ => Self::Weak,
        }
    }

    /// Its name within a sentence.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Strong => "strong evidence",
            Self::Fair => "fair evidence",
            Self::Weak => "weak evidence",
            Self::None => "no evidence",
        }
    }

    /// What it means, in one sentence.
    pub(crate) fn sentence(self) -> String {
        let of = |q: f64| format!("{:.0}", 1.0 / q);
        match self {
            Self::Strong => format!("luck alone would show as much on fewer than 1 of {} such beaches: plan by it.", of(STRONG)),
            Self::Fair => {
                format!("luck alone would show as much on 1 of {} to 1 of {} such beaches: worth a visit.", of(STRONG), of(FAIR))
            }
            Self::Weak => format!(
                "luck alone would show as much on up to 1 of {} such beaches: look again before you believe it.",
                of(WEAK)
            ),
            Self::None => {
                "what was found there is no more than luck and the ground covered explain; that is an answer too.".to_owned()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_bands_and_long_names_are_explained() {
        assert!(explained("MHWS").unwrap().contains("springs"));
        let band = explained("MHWN to MSL").unwrap();
        assert!(band.contains("MHWN: mean high water neaps") && band.contains("MSL: mean sea level"));
        assert!(explained("above MHWS").is_some() && explained("below MLWS").is_some());
        assert!(explained("lowest astronomical tide").unwrap().starts_with("LAT, "));
        assert_eq!(explained("the pier"), None);
    }

    #[test]
    fn strength_follows_the_chance_and_each_has_its_sentence() {
        let of = Strength::of_chance;
        assert_eq!((of(0.001), of(0.008), of(0.04)), (Strength::Strong, Strength::Fair, Strength::Weak));
        assert!(of(0.001).sentence().contains("1 of 500"));
        assert!(of(0.008).sentence().contains("1 of 100"));
        let all: std::collections::BTreeSet<String> = Strength::ALL.iter().map(|s| s.sentence()).collect();
        assert_eq!(all.len(), Strength::ALL.len());
    }
}
