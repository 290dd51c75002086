use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;

use super::middle::{Middle, middle_of};
use super::newest::NEWER_WITHIN_M;
use super::source::{Source, source_of, surge_of};
use super::tables::{PlaceTables, SandTables};
use super::{Band, Gap, GuessedBaseline, Shore, ShoreError, ShorePoint, SmallGaps, TideMark, guess_baseline, newest_levels};
use crate::book::{Beach, Book, LevelPoint, Seaward, Uid, Weather};
use crate::earth::{Frame, LonLat, distance_words};
use crate::sea::{Foreshore, RunUp, Sea, Seas, Waves};
use crate::tide::{Analysis, Level, Levels, Surge, Water};
use crate::trust::{
    Doubt, Found, Higher, OffsetFacts, SandAge, SourceError, of_flat, of_levels, of_offset, of_point, of_rise, of_step,
    of_surveys,
};

/// A beach with its sand, its water and the lines that the one draws on the other: what every view,
/// reading and export stands on.
///
/// What is missing is missing and said in [`warnings`](Self::warnings); nothing is assumed in silence.
#[derive(Clone)]
pub struct Setting {
    /// The beach.
    pub beach: Beach,
    /// Its shape, or why there is none. The sea lies on the right hand of its baseline whichever way the
    /// beach's own runs, so that along and across drawn to the right and down are never mirrored.
    pub shore: Result<Arc<Shore>, ShoreError>,
    /// The baseline that was made up, where the beach has none of its own.
    pub guessed: Option<GuessedBaseline>,
    /// Where its sand lies, whatever point was given for it: every distance to a tide source is measured from there.
    pub middle: Option<Middle>,
    /// Of which days its levels are, and which storms it had.
    pub age: SandAge,
    /// Its water, if it has a tide source.
    pub water: Option<Water>,
    /// How far the tide station is, metres, if the source is one.
    pub station_distance_m: Option<f64>,
    /// Whether that station is lent to an invented beach, so that its distance says nothing.
    pub tide_borrowed: bool,
    /// What was found in the gauge record, where the water stands on one: constituents with their errors.
    pub analysis: Option<Arc<Analysis>>,
    /// What the weather adds to the water; [`Surge::UNKNOWN`] where the beach says nothing of it.
    pub surge: Surge,
    /// What is known and expected of the sea, from which the run-up of each hour is worked out.
    pub sea: Sea,
    /// How high waves are taken to run up where no record or forecast of the sea covers the hours.
    pub run_up: RunUp,
    /// What is to be said of the water alone: distance, gaps, what it lacks; also part of `warnings`, but that an
    /// invented beach borrows its tide.
    pub source_notes: Vec<String>,
    /// What must not be believed of its tide source and its offset.
    pub doubts: Vec<Doubt>,
    /// By how much the tide source may be off: part of the margin.
    pub source_error: SourceError,
    /// The tide marks that part its bands, from the highest down; empty without a tide source.
    pub marks: Vec<TideMark>,
    /// Its bands, from the highest down; empty where tide and sand cannot be joined.
    pub bands: Vec<Band>,
    /// What the person ought to know or mend, one sentence each.
    pub warnings: Vec<String>,
    /// What of that is of sand that nobody surveyed.
    pub unsurveyed: Vec<String>,
}

impl Setting {
    /// The setting of one beach of the book; `None` when the book does not hold it.
    ///
    /// As slow as [`laid_out`](Self::laid_out).
    pub fn from_book(book: &Book, beach: Uid) -> Option<Self> {
        let beach = book.beaches().get(&beach)?.clone();
        let places = Self::is_guessed(&beach).then(|| PlaceTables::from(book));
        Some(Self::laid_out(beach, &SandTables::from(book), places.as_ref()))
    }

    /// Whether a beach has no baseline of its own, so that one is guessed from where people went.
    pub fn is_guessed(beach: &Beach) -> bool {
        beach.baseline.len() < 2
    }

    /// The setting of a beach on its levels and its water; `places` are needed where its baseline
    /// [is guessed](Self::is_guessed).
    ///
    /// Predicts 19 years for the tide's levels and triangulates the sand: work for a background thread.
    pub fn laid_out(beach: Beach, tables: &SandTables, places: Option<&PlaceTables>) -> Self {
        let middle = middle_of(&beach, tables, places);
        let at_its_sand = Beach { origin: middle.map_or(beach.origin, |m| m.at), ..beach.clone() };
        let Source { water, station_distance_m, borrowed, analysis, found, warnings: mut source_notes } =
            source_of(tables, &at_its_sand);
        let (surge, both) = surge_of(&beach.weather);
        let sea = Sea { held_m: surge.residual_m, ..sea_of(tables, &beach) };
        source_notes.extend(both);
        // That an invented beach borrows its tide is no mishap to be warned of.
        let mut warnings: Vec<String> = source_notes.iter().skip(usize::from(borrowed)).cloned().collect();
        let marks = water.as_ref().map(|w| marks_of(w.levels())).unwrap_or_default();
        let Laid { shore, guessed, contrary, higher, days } = shore_of(tables, places, &beach);
        let age = SandAge::new(days, tables.storms_of(beach.uid));
        warnings.extend(contrary);
        warnings.extend(guessed.iter().map(|g| g.said.clone()));
        let (mut bands, mut unsurveyed_said) = (Vec::new(), Vec::new());
        match &shore {
            Err(missing) => warnings.push(sentence(missing)),
            Ok(_) if marks.is_empty() => {}
            Ok(shore) => match shore.bands(&marks) {
                Ok(found) if !shore.level_range_m().is_some_and(|(low, high)| low < high) => {
                    drop(found);
                    warnings.push(sentence(&ShoreError::NoLevels(beach.name.clone())));
                }
                Ok(found) => bands = found,
                Err(missing) => warnings.push(sentence(&missing)),
            },
        }
        if let Ok(shore) = &shore {
            unsurveyed_said = unsurveyed(shore, &bands);
            warnings.extend(unsurveyed_said.iter().cloned());
        }
        let shore = shore.map(Arc::new);
        let Found { mut doubts, error: source_error } = found;
        doubts.splice(0..0, middle.filter(|_| !beach.invented).and_then(|m| of_point(&beach, m.at, m.of)));
        if let Some(water) = &water {
            let facts = OffsetFacts::of_water(&beach, water, shore.as_ref().ok().and_then(|s| s.sand_span()));
            doubts.extend(of_offset(&beach, &facts));
            doubts.extend(of_levels(&beach, &facts));
            let flat = shore.as_ref().ok().and_then(|s| s.flat_sand());
            doubts.extend(flat.and_then(|flat| of_flat(&beach, &facts, &flat)));
        }
        doubts.extend(of_surveys(&beach, &higher));
        let step = shore.as_ref().ok().and_then(|s| s.survey_step());
        doubts.extend(step.and_then(|step| of_step(&beach, &step)));
        let rise = shore.as_ref().ok().and_then(|s| s.sand_rise());
        doubts.extend(rise.and_then(|rise| of_rise(&beach, &rise)));
        let setting = Self {
            beach,
            shore,
            guessed,
            middle,
            age,
            water,
            station_distance_m,
            tide_borrowed: borrowed,
            analysis,
            surge,
            run_up: sea.uncovered(Foreshore::UNKNOWN),
            sea,
            source_notes,
            doubts,
            source_error,
            marks,
            bands,
            unsurveyed: unsurveyed_said,
            warnings,
        };
        setting.with_run_up()
    }

    /// The same beach under other weather.
    #[must_use]
    pub fn with_weather(mut self, weather: Weather) -> Self {
        self.beach.weather = weather;
        self.surge = surge_of(&weather).0;
        (self.sea.typed_m, self.sea.held_m) = (weather.run_up_m, self.surge.residual_m);
        self.with_run_up()
    }

    /// The same beach with the waves that a person expects.
    #[must_use]
    pub fn with_waves(mut self, asked: Option<Waves>) -> Self {
        self.sea.asked = asked;
        self.with_run_up()
    }

    /// The run-up where nothing covers the hours, worked out anew.
    fn with_run_up(mut self) -> Self {
        let all = (f64::NEG_INFINITY, f64::INFINITY);
        let between = self.marks.last().zip(self.marks.first()).map_or(all, |(low, high)| (low.level_m, high.level_m));
        self.run_up = self.sea.uncovered(self.foreshore(between));
        self
    }

    /// What dry windows keep between the predicted water and a level that is known exactly: run-up, weather and what
    /// the tide source may be off, where no record or forecast of the sea covers the hours, metres.
    pub fn water_margin_m(&self) -> f64 {
        self.run_up.m + self.surge.margin_m() + self.source_margin_m()
    }

    /// The part of it for what the tide source may be off, metres.
    pub fn source_margin_m(&self) -> f64 {
        self.source_error.margin_m(self.surge.sd_m)
    }

    /// By how much its sand is taken lower than surveyed on a day, as a storm may have taken it since or as the survey is
    /// old, metres. Nothing on an invented beach, whose sand does not move.
    pub fn sand_aged_m(&self, on: Timestamp) -> f64 {
        if self.beach.invented { 0.0 } else { self.age.lower_m(on) }
    }

    /// Where its water comes from, how far that is, and what its heights count from: one sentence, or two.
    pub fn source_said(&self) -> String {
        let Some(water) = &self.water else { return "There is no tide source.".to_owned() };
        let away = match self.station_distance_m {
            Some(_) if self.tide_borrowed => ", borrowed by an invented beach".to_owned(),
            Some(m) => format!(", {} away", distance_words(m)),
            None => String::new(),
        };
        format!("Tide of {} ({}){away}; heights above {}.", water.name(), water.kind().label(), water.datum().words())
    }

    /// The level of the water at an instant above the land datum, if water and offset are known.
    pub fn water_land_m(&self, tide_m: f64) -> Option<f64> {
        Some(tide_m - self.beach.datum_offset_m?)
    }
}

/// Gaps of a survey that are told one by one; more are counted and summed.
const GAPS_TOLD: usize = 3;

/// Where nobody surveyed, and what would mend it.
fn unsurveyed(shore: &Shore, bands: &[Band]) -> Vec<String> {
    if !shore.is_surveyed() && shore.level_range_m().is_some() {
        return vec![
            "The level of the sand is only an even slope, which shows no runnel and no channel: no route is planned on it until levels are surveyed.".to_owned(),
        ];
    }
    let middle = |(low, high): (f64, f64)| 0.5 * (low + high);
    let band = |gap: &Gap| {
        let place = shore.to_local(ShorePoint::new(middle(gap.along_m), middle(gap.across_m)));
        shore.band_at(place, bands).ok().flatten().map(|b| b.name.clone())
    };
    let mut said: Vec<String> = shore.gaps().iter().take(GAPS_TOLD).map(|g| g.said(band(g).as_deref())).collect();
    let more = shore.gaps().iter().skip(GAPS_TOLD);
    let rest = more.fold(shore.small_gaps(), |s, g| SmallGaps { places: s.places + 1, area_m2: s.area_m2 + g.area_m2 });
    said.extend(rest.said());
    said
}

/// The sea off a beach as the book has it.
fn sea_of(tables: &SandTables, beach: &Beach) -> Sea {
    let seas = Arc::new(Seas::from_records(tables.seas_of(beach.uid)));
    Sea { seas, typed_m: beach.weather.run_up_m, ..Sea::default() }
}

fn sentence(error: &ShoreError) -> String {
    let text = error.to_string();
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), chars.as_str()))
}

/// The marks that part a beach into bands: springs and neaps where the tide has them, else the means
/// of high and low waters. A tide table knows no mean sea level; mean tide level, half-way between mean high
/// and low water, then stands between them.
pub fn marks_of(levels: &Levels) -> Vec<TideMark> {
    let m = |level: Option<Level>| level.map(|l| l.m);
    let half_m = m(levels.mhw).zip(m(levels.mlw)).map(|(high, low)| 0.5 * (high + low)).filter(|_| levels.msl.is_none());
    let springs = [
        ("MHWS", m(levels.mhws)),
        ("MHWN", m(levels.mhwn)),
        ("MSL", m(levels.msl)),
        ("MTL", half_m),
        ("MLWN", m(levels.mlwn)),
        ("MLWS", m(levels.mlws)),
    ];
    let means = [
        ("MHHW", m(levels.mhhw)),
        ("MHW", m(levels.mhw)),
        ("MSL", m(levels.msl)),
        ("MTL", half_m),
        ("MLW", m(levels.mlw)),
        ("MLLW", m(levels.mllw)),
    ];
    let chosen = if levels.mhws.is_some() && levels.mlws.is_some() { springs } else { means };
    let mut marks: Vec<TideMark> = chosen.into_iter().filter_map(|(name, m)| Some(TideMark::new(name, m?))).collect();
    marks.sort_by(|a, b| b.level_m.total_cmp(&a.level_m));
    marks
}

/// The marks that a low water is judged by: those at or below mean sea level (or mean tide level), from the highest down. What lies
/// higher is dry at every low water. Two names for one level are one mark.
pub fn low_marks(marks: &[TideMark]) -> Vec<TideMark> {
    let mean_m = marks.iter().find(|m| m.name == "MSL" || m.name == "MTL").map_or(f64::INFINITY, |m| m.level_m);
    let mut low: Vec<TideMark> = Vec::new();
    for mark in marks.iter().filter(|m| m.level_m <= mean_m) {
        match low.last_mut() {
            Some(before) if (before.level_m - mark.level_m).abs() < 1e-3 => {
                before.name = format!("{}/{}", before.name, mark.name)
            }
            _ => low.push(mark.clone()),
        }
    }
    low
}

/// The shape of a beach with what it was made of.
struct Laid {
    shore: Result<Shore, ShoreError>,
    guessed: Option<GuessedBaseline>,
    /// That surveys contradict each other.
    contrary: Option<String>,
    /// Later surveys that lie above earlier ones.
    higher: Vec<Higher>,
    /// The day of each level that counts.
    days: Vec<Option<Date>>,
}

fn shore_of(tables: &SandTables, places: Option<&PlaceTables>, beach: &Beach) -> Laid {
    let frame = match Frame::centred_on(beach.origin) {
        Ok(frame) => frame,
        Err(e) => {
            return Laid { shore: Err(e.into()), guessed: None, contrary: None, higher: Vec::new(), days: Vec::new() };
        }
    };
    let newest = newest_levels(&frame, tables.levels_of(beach.uid), NEWER_WITHIN_M);
    let (contrary, higher, levels): (_, _, Vec<&LevelPoint>) = (newest.said(), newest.higher, newest.levels);
    let days = levels.iter().map(|l| l.date).collect();
    if !Setting::is_guessed(beach) {
        let shore = Shore::build(&sea_on_the_right(beach.clone()), levels.iter().copied());
        return Laid { shore, guessed: None, contrary, higher, days };
    }
    let finds = places.into_iter().flat_map(|p| p.finds_of(beach.uid)).map(|f| f.at);
    // A fix in a hundred shows where a track lies as well as all of them.
    let tracks = places.into_iter().flat_map(|p| p.tracks_of(beach.uid));
    let fixes = tracks.flat_map(|t| t.points().step_by(100).map(|p| p.at));
    let places: Vec<LonLat> = finds.chain(fixes).collect();
    match guess_baseline(&frame, levels.iter().copied(), places) {
        Ok(guess) => {
            let stand_in = Beach { baseline: guess.line.clone(), seaward: guess.seaward, ..beach.clone() };
            let shore = Shore::build(&sea_on_the_right(stand_in), levels.iter().copied());
            Laid { shore, guessed: Some(guess), contrary, higher, days }
        }
        Err(_) => Laid { shore: Err(ShoreError::NoBaseline(beach.name.clone())), guessed: None, contrary, higher, days },
    }
}

/// The same beach, its baseline walked so that the sea is on the right.
fn sea_on_the_right(mut beach: Beach) -> Beach {
    if beach.seaward == Seaward::Left {
        beach.baseline.reverse();
        beach.seaward = Seaward::Right;
    }
    beach
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Edit, TideChoice};
    use crate::tide::Catalogue;

    fn invented() -> (Book, Uid) {
        let beach = Beach::new("Invented Bay", LonLat::new(-12.0, 48.9).unwrap());
        let uid = beach.uid;
        let mut book = Book::new();
        book.apply(&Edit::put(beach)).unwrap();
        (book, uid)
    }

    #[test]
    fn a_bare_beach_says_all_that_is_missing_and_assumes_nothing() {
        let (book, uid) = invented();
        let setting = Setting::from_book(&book, uid).unwrap();
        assert!(setting.water.is_none() && setting.marks.is_empty() && setting.bands.is_empty());
        assert!(matches!(setting.shore, Err(ShoreError::NoBaseline(_))));
        assert!(setting.warnings.iter().any(|w| w.contains("tide source")), "{:?}", setting.warnings);
        assert!(setting.warnings.iter().any(|w| w.contains("baseline")), "{:?}", setting.warnings);
        assert!(Setting::from_book(&book, Uid::fresh()).is_none());
    }

    #[test]
    fn tide_lines_need_the_datum_offset_and_come_with_it() {
        let (mut book, uid) = invented();
        let station = Catalogue::shipped().nearest(book.beaches()[&uid].origin, 1)[0].0;
        let origin = book.beaches()[&uid].origin;
        let shift = |dx: f64| LonLat::new(origin.lon_deg() + dx, origin.lat_deg()).unwrap();
        let beach = Beach {
            baseline: vec![shift(0.0), shift(0.01)],
            tide: TideChoice::Station(station.id.clone()),
            slope: Some(0.03),
            back_level_m: Some(6.0),
            ..book.beaches()[&uid].clone()
        };
        book.apply(&Edit::put(beach.clone())).unwrap();
        let without = Setting::from_book(&book, uid).unwrap();
        assert!(without.bands.is_empty());
        assert!(without.warnings.iter().any(|w| w.contains("offset")), "{:?}", without.warnings);

        book.apply(&Edit::put(Beach { datum_offset_m: Some(3.0), ..beach })).unwrap();
        let with = Setting::from_book(&book, uid).unwrap();
        assert_eq!(with.bands.len(), with.marks.len() + 1, "{:?}", with.warnings);
        assert!(with.marks.is_sorted_by(|a, b| a.level_m >= b.level_m));
        let total: f64 = with.bands.iter().map(|b| b.area_m2).sum();
        assert!((total - with.shore.unwrap().area_m2()).abs() < 1e-6 * total);
    }
}
