//! Beaches of the trial, sound or with one fault planted in what the program believes of them.

use scourline::Progress;
use scourline::book::{Beach, Book, Record, Seaward};
use scourline::shore::Setting;
use scourline::tide::Water;
use scourline::witness::{Believed, Heard, Params, Witnesses, in_wash, mean_level_m};

use super::draw::Draw;
use super::land::Land;
use super::tide::Tide;
use super::walk::{Habit, Person, walk};

/// What is wrong with what the program believes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fault {
    /// Nothing.
    None,
    /// The true water stands so much higher than believed, metres: the offset is wrong.
    Offset(f64),
    /// An offset in metres, typed in feet.
    Feet,
    /// The true water comes so many minutes earlier than believed.
    Earlier(f64),
    /// The believed range is so many times the true one.
    Range(f64),
    /// Every level of the survey is too high by so much, metres.
    Levels(f64),
    /// The stated even slope is so many times the true one (of a beach without a survey).
    Slope(f64),
}

/// A beach with its people's outings.
pub(super) struct Planted {
    pub(super) surveyed: bool,
    pub(super) range_m: f64,
    land: Land,
    tide: Tide,
    beach: Beach,
    records: Vec<Record>,
    setting: Setting,
    witnesses: Witnesses,
    water: Water,
    seed: u64,
}

impl Planted {
    /// The spring range at the beach of a seed, metres.
    pub(super) fn range_of(seed: u64) -> f64 {
        Tide::draw(scourline::earth::LonLat::new(0.0, 50.0).unwrap(), &mut Draw::new(seed, 1)).range_m()
    }

    /// A beach whose person has this habit; `stormy` days stand further off the predicted water than the room assumes.
    pub(super) fn new(seed: u64, habit: Habit, stormy: bool, surveyed: bool, outings: usize) -> Self {
        let at = scourline::earth::LonLat::new(0.0, 50.0).unwrap();
        let tide = Tide::draw(at, &mut Draw::new(seed, 1));
        let (high_m, low_m) = tide.springs_m();
        let land = Land::draw(high_m, low_m, &mut Draw::new(seed, 2));
        let mut beach = Beach {
            baseline: land.baseline(&mut Draw::new(seed, 3)),
            seaward: Seaward::Right,
            datum_offset_m: Some(tide.offset_m()),
            invented: true,
            ..Beach::new(format!("Invented witness beach {seed}"), land.origin())
        };
        if !surveyed {
            let (back_m, slope) = land.stated_slope();
            (beach.slope, beach.back_level_m) = (Some(slope), Some(back_m));
        }
        let person = Person::draw(habit, stormy, &mut Draw::new(seed, 4));
        let water = tide.water(1.0, 0.0);
        let walked = walk(&land, &water, tide.offset_m(), beach.uid, person, outings, &mut Draw::new(seed, 5));
        let mut records: Vec<Record> = walked.outings.into_iter().map(Record::from).collect();
        records.extend(walked.tracks.into_iter().map(Record::from));
        records.extend(walked.finds.into_iter().map(Record::from));
        let (witnesses, setting) = laid(&land, &beach, &records, surveyed.then_some(0.0), seed);
        let range_m = tide.range_m();
        Self { surveyed, range_m, land, tide, beach, records, setting, witnesses, water, seed }
    }

    /// What the witnesses say with one fault planted.
    pub(super) fn heard(&self, fault: Fault) -> Heard {
        let offset_m = self.tide.offset_m();
        match fault {
            Fault::None => self.with(&self.witnesses, &self.water, offset_m, None),
            Fault::Offset(m) => self.with(&self.witnesses, &self.water, offset_m + m, None),
            Fault::Feet => self.with(&self.witnesses, &self.water, offset_m / 0.3048, None),
            Fault::Earlier(minutes) => self.with(&self.witnesses, &self.tide.water(1.0, minutes), offset_m, None),
            Fault::Range(times) => self.with(&self.witnesses, &self.tide.water(times, 0.0), offset_m, None),
            Fault::Levels(m) => {
                let (witnesses, _) = laid(&self.land, &self.beach, &self.records, Some(m), self.seed);
                self.with(&witnesses, &self.water, offset_m, None)
            }
            Fault::Slope(times) => {
                let mut beach = self.beach.clone();
                beach.slope = beach.slope.map(|s| s * times);
                let (witnesses, _) = laid(&self.land, &beach, &self.records, None, self.seed);
                self.with(&witnesses, &self.water, offset_m, beach.back_level_m)
            }
        }
    }

    fn with(&self, witnesses: &Witnesses, water: &Water, offset_m: f64, even_from_m: Option<f64>) -> Heard {
        let from = "2026-02-01T00:00:00Z".parse().unwrap();
        let even_from_m = even_from_m.or(self.beach.back_level_m.filter(|_| !self.surveyed));
        let mean_m = mean_level_m(water, from);
        let believed = Believed {
            water,
            mean_m,
            offset_m,
            run_up_m: self.setting.sea.typed_m.unwrap_or(scourline::sea::USUAL_RUN_UP_M),
            even_from_m,
            others: &[],
        };
        witnesses.hear(&believed, &params(), &Progress::new()).unwrap()
    }
}

fn laid(land: &Land, beach: &Beach, records: &[Record], survey_m: Option<f64>, seed: u64) -> (Witnesses, Setting) {
    let mut all = records.to_vec();
    all.push(beach.clone().into());
    if let Some(shift_m) = survey_m {
        all.extend(land.survey(beach.uid, shift_m, &mut Draw::new(seed, 6)).into_iter().map(Record::from));
    }
    let book = Book::gather(all).unwrap();
    let setting = Setting::from_book(&book, beach.uid).unwrap();
    let shore = setting.shore.as_ref().map_err(ToString::to_string).unwrap();
    let noted = in_wash(&(&book).into(), beach.uid);
    let witnesses = Witnesses::gather(&(&book).into(), &noted, &setting, shore, &params()).unwrap();
    (witnesses, setting)
}

/// The room's own, or for whoever tunes it those of `WITNESS_PARAMS`, as JSON.
fn params() -> Params {
    std::env::var("WITNESS_PARAMS").map_or(Params::default(), |text| serde_json::from_str(&text).unwrap())
}
