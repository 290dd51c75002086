//! Surveys of one sand that contradict each other though their days tell which is newer, or within themselves; and the same sand
//! under another beach of the book.

use jiff::civil::Date;

use super::{Doubt, Weight};
use crate::book::Beach;

/// A later survey that lies evenly higher than an earlier one over the same spots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Higher {
    /// Day of the later one.
    pub newer: Date,
    /// Day of the earlier one.
    pub older: Date,
    /// At how many spots.
    pub spots: usize,
    /// By how much in the middle, metres.
    pub by_m: f64,
    /// Three in four of them by so much or more, metres.
    pub evenly_m: f64,
}

/// A later survey that lies so much higher in the middle, and so much at three in four, of so many spots blocks; less is asked
/// about. Of 300 invented sound beaches that nobody looked at 2.7 in 100 are told of one, asked or blocked, and 1.3 of a step
/// (`sound_surveys_by_the_hundred`, seeds 800000 on).
const HIGHER_BLOCKS_M: f64 = 0.7;
const EVENLY_BLOCKS_M: f64 = 0.45;
const SPOTS_BLOCK: usize = 8;
/// So high a step blocks, metres; a lower one is asked about, as groynes make them.
const STEP_BLOCKS_M: f64 = 0.85;

/// What is to be said of it. Sand may build up so far, but not often as a whole: more likely the later survey is in another
/// unit, above another datum, or its staff or antenna was read too high, and sand believed too high drowns people. An
/// invented beach's surveys are what they are.
pub fn of_surveys(beach: &Beach, higher: &[Higher]) -> Vec<Doubt> {
    let told = |h: &Higher| {
        let blocks = h.by_m >= HIGHER_BLOCKS_M && h.evenly_m >= EVENLY_BLOCKS_M && h.spots >= SPOTS_BLOCK;
        let [newer, older] = [h.newer, h.older].map(|day| day.strftime("%-d %b %Y").to_string());
        Doubt {
            key: format!("levels-higher:{}>{}:{:.2}", h.newer, h.older, h.by_m),
            sentence: format!(
                "The levels of {newer} lie {:.1} m higher than those of {older} in the middle of {} spots that both have: sand seldom builds up so evenly, so one of the two may be in another unit, above another datum, or misread.",
                h.by_m, h.spots
            ),
            weight: if blocks { Weight::Blocks } else { Weight::Question },
            settle: vec!["Look in which unit and above which datum each survey is, and take the wrong one out.".to_owned()],
            spans: Vec::new(),
        }
    };
    if beach.invented { Vec::new() } else { higher.iter().map(told).collect() }
}

/// From some place along the beach on the sand of a survey stands evenly higher, or lower, than before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurveyStep {
    /// Along the baseline, walked with the sea on the right, metres.
    pub along_m: f64,
    /// By so much it stands higher from there on, metres; negative where lower.
    pub by_m: f64,
}

/// What is to be said of a step: one half of the survey is wrong by it, and which one nobody can tell from the levels.
pub fn of_step(beach: &Beach, step: &SurveyStep) -> Option<Doubt> {
    let SurveyStep { along_m, by_m } = *step;
    let way = if by_m > 0.0 { "higher" } else { "lower" };
    (!beach.invented).then(|| Doubt {
        key: format!("levels-step:{along_m:.0}:{by_m:+.2}"),
        sentence: format!(
            "From about {along_m:.0} m along the baseline on (walked with the sea on the right) the sand stands {:.1} m {way} than before it, evenly from the back of the beach down: an instrument set up anew at a wrong height does that, and sand seldom.",
            by_m.abs()
        ),
        weight: if by_m.abs() >= STEP_BLOCKS_M { Weight::Blocks } else { Weight::Question },
        settle: vec![
            "Hold both parts of the survey against one mark of known height, and import the wrong one again.".to_owned(),
            "Where a groyne, a wall or rock stands there the sand may step: if you know that it does, confirm it.".to_owned(),
        ],
        spans: Vec::new(),
    })
}

/// Rows of levels this far apart leave a bar no room to rise between them, metres, ...
const SHARP_M: f64 = 12.0;
/// ... and where they stand farther apart a rise blocks from so much on, metres: few bars are as high.
const APART_BLOCKS_M: f64 = 1.3;

/// Seaward of some place the sand of a survey stands evenly higher than landward of it, to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SandRise {
    /// How far seaward of the baseline, metres.
    pub across_m: f64,
    /// By so much it stands higher from there on, metres.
    pub by_m: f64,
    /// How far apart the levels are between which it rises, metres.
    pub apart_m: f64,
}

impl SandRise {
    /// Whether it rises over less than a bar does.
    pub fn is_sharp(&self) -> bool {
        self.apart_m <= SHARP_M
    }
}

/// What is to be said of a rise: the seaward part of the survey is too high by it, or the landward part too low.
pub fn of_rise(beach: &Beach, rise: &SandRise) -> Option<Doubt> {
    let SandRise { across_m, by_m, .. } = *rise;
    let blocks_m = if rise.is_sharp() { STEP_BLOCKS_M } else { APART_BLOCKS_M };
    (!beach.invented).then(|| Doubt {
        key: format!("levels-rise:{across_m:.0}:{by_m:.2}"),
        sentence: format!(
            "About {across_m:.0} m seaward of the baseline the sand rises by {by_m:.1} m towards the sea, on most of the length, and stays so much higher to the end of the survey: a bar falls again, but the height of a pole that was not taken off stays."
        ),
        weight: if by_m >= blocks_m { Weight::Blocks } else { Weight::Question },
        settle: vec![
            "Hold both parts of the survey against one mark of known height, or against the water's edge at one minute, and import the wrong one again.".to_owned(),
            "Where a bank, a ledge of rock or a wall stands there: if you know that it does, confirm it.".to_owned(),
        ],
        spans: Vec::new(),
    })
}

/// The levels of a beach lie evenly higher than those that another beach of the book has of the same sand.
#[derive(Debug, Clone, PartialEq)]
pub struct HigherThanOther {
    /// What the other beach is called.
    pub other: String,
    /// At how many spots.
    pub spots: usize,
    /// By how much in the middle, metres, above what both count from where that is known.
    pub by_m: f64,
    /// Three in four of them by so much or more, metres.
    pub evenly_m: f64,
}

/// What is to be said of it, as of a later survey above an earlier one.
pub fn of_other_beach(higher: &HigherThanOther) -> Doubt {
    let HigherThanOther { other, spots, by_m, evenly_m } = higher;
    let blocks = *by_m >= HIGHER_BLOCKS_M && *evenly_m >= EVENLY_BLOCKS_M && *spots >= SPOTS_BLOCK;
    Doubt {
        key: format!("levels-above:{other}:{by_m:.2}"),
        sentence: format!(
            "The sand of this beach stands {by_m:.1} m higher, in the middle of {spots} spots that both have, than by the levels and the offset of the beach \"{other}\" in this book: one of the two may be in another unit, above another datum, or misread."
        ),
        weight: if blocks { Weight::Blocks } else { Weight::Question },
        settle: vec![
            "Look in which unit and above which datum the levels of each are, and take the wrong ones out.".to_owned(),
            "If they count from different land datums, give each beach its own offset.".to_owned(),
        ],
        spans: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn a_step_in_a_survey_blocks_and_says_where_and_by_how_much() {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let step = SurveyStep { along_m: 312.0, by_m: -1.04 };
        let told = of_step(&beach, &step).unwrap();
        assert!(told.weight == Weight::Blocks && told.key == "levels-step:312:-1.04", "{told:?}");
        assert!(told.sentence.contains("312 m along") && told.sentence.contains("1.0 m lower"), "{told:?}");
        let lower = of_step(&beach, &SurveyStep { by_m: 0.7, ..step }).unwrap();
        assert_eq!(lower.weight, Weight::Question, "{lower:?}");
        assert_eq!(of_step(&Beach { invented: true, ..beach }, &step), None);
    }

    #[test]
    fn a_rise_blocks_from_where_no_bar_is_so_high_over_so_little() {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let rise = SandRise { across_m: 121.0, by_m: 1.8, apart_m: 10.0 };
        let told = of_rise(&beach, &rise).unwrap();
        assert!(told.weight == Weight::Blocks && told.key == "levels-rise:121:1.80", "{told:?}");
        assert!(told.sentence.contains("121 m seaward") && told.sentence.contains("1.8 m towards the sea"), "{told:?}");
        for (by_m, apart_m, weight) in [
            (0.9, 10.0, Weight::Blocks),
            (0.7, 10.0, Weight::Question),
            (1.0, 20.0, Weight::Question),
            (1.4, 20.0, Weight::Blocks),
        ] {
            assert_eq!(of_rise(&beach, &SandRise { by_m, apart_m, ..rise }).unwrap().weight, weight, "{by_m} {apart_m}");
        }
        assert_eq!(of_rise(&Beach { invented: true, ..beach }, &rise), None);
    }

    #[test]
    fn a_survey_above_an_earlier_one_blocks_and_names_both_days() {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let [newer, older] = ["2026-11-01", "2026-05-01"].map(|d| d.parse().unwrap());
        let higher = [Higher { newer, older, spots: 60, by_m: 2.04, evenly_m: 1.9 }];
        let told = of_surveys(&beach, &higher);
        assert!(told.len() == 1 && told[0].weight == Weight::Blocks, "{told:?}");
        assert_eq!(told[0].key, "levels-higher:2026-11-01>2026-05-01:2.04");
        let said = &told[0].sentence;
        assert!(said.contains("1 Nov 2026") && said.contains("1 May 2026") && said.contains("2.0 m higher"), "{said}");
        for less in [
            Higher { by_m: 0.6, evenly_m: 0.5, ..higher[0] },
            Higher { evenly_m: 0.3, ..higher[0] },
            Higher { spots: 6, ..higher[0] },
        ] {
            assert_eq!(of_surveys(&beach, &[less])[0].weight, Weight::Question, "{less:?}");
        }
        assert_eq!(of_surveys(&beach, &[]), []);
        assert_eq!(of_surveys(&Beach { invented: true, ..beach }, &higher), []);
    }
}
