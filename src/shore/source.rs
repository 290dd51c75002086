//! The water of a beach, built from whichever source the book names for it.

use std::sync::Arc;

use jiff::Timestamp;

use super::tables::SandTables;
use crate::book::{Beach, GaugeRecord, SecondaryChoice, StandardPort, TideChoice, TideTable, Uid, Weather};
use crate::earth::{distance_m, distance_words};
use crate::tide::{
    self, Analysis, Catalogue, Datum, Differences, Levels, SecondaryPort, Station, Surge, TableEntry, TideError, TurnKind, Water,
};
use crate::trust::{
    Found, Weight, beside_station, of_afar, of_gauge, of_gauge_beside, of_secondary, of_station, of_table, of_zero,
    station_beside,
};

/// The water of a beach with what is to be said of it.
#[derive(Clone, Default)]
pub(super) struct Source {
    pub(super) water: Option<Water>,
    /// How far the station is, metres, if the source is one.
    pub(super) station_distance_m: Option<f64>,
    /// Whether the station is lent to an invented beach.
    pub(super) borrowed: bool,
    /// What was found in the gauge record, if the source is one.
    pub(super) analysis: Option<Arc<Analysis>>,
    /// What must not be believed of it, and by how much it may be off.
    pub(super) found: Found,
    /// Sentences for the person.
    pub(super) warnings: Vec<String>,
}

/// Readings closer together than this are averaged first, seconds: six minutes lose less than a ten
/// thousandth of any constituent's amplitude.
const BIN_S: i64 = 360;
/// A silence longer than this many steps of the record is a gap.
const GAP_STEPS: f64 = 3.0;

/// The water that the beach's choice leads to; without one a warning says what is missing.
pub(super) fn source_of(book: &SandTables, beach: &Beach) -> Source {
    let found = match &beach.tide {
        TideChoice::None => {
            Err(format!("No tide source is chosen for \"{}\"; choose a station near it or import a tide table.", beach.name))
        }
        TideChoice::Station(id) => station(id).map(|water| {
            let station_distance_m = water.station().map(|s| distance_m(beach.origin, s.at));
            let far = water.station().and_then(|s| station_caution(beach, s));
            let warnings = far.into_iter().chain(incomplete(&water)).collect();
            let borrowed = beach.invented;
            let found = water.station().map(|s| of_station(beach, s)).unwrap_or_default();
            Source { found, water: Some(water), station_distance_m, borrowed, warnings, ..Source::default() }
        }),
        TideChoice::Table(uid) => own_table(book, *uid).map(|table| {
            let mut found = of_table(beach, &beach.tide.key(), &table);
            let from = table.covers().0;
            let water = Water::of_table(table);
            let beside = beside_station(beach, &beach.tide.key(), &water, from);
            found.add_untold(beside);
            found.doubts.extend(of_afar(beach, &beach.tide.key(), &water, from));
            let warnings = odd_range(beach, &water).into_iter().collect();
            Source { found, water: Some(water), warnings, ..Source::default() }
        }),
        TideChoice::Gauge(uid) => book
            .gauges()
            .get(uid)
            .ok_or_else(|| "The beach's gauge record is no longer in the book; choose another source.".to_owned())
            .and_then(|record| gauge(record, beach)),
        TideChoice::Secondary(port) => secondary(book, port, beach),
    };
    found.unwrap_or_else(|says| Source { warnings: vec![says], ..Source::default() })
}

/// What is to be said of a station that stands in for a beach: how far it is, or that an invented beach
/// borrows it; `None` when it is next to it.
pub fn station_caution(beach: &Beach, station: &Station) -> Option<String> {
    if beach.invented {
        return Some(format!(
            "{} is an invented beach and borrows the tide of {}, a real place. For a beach of your own choose a station near it, or \
             your own tide table.",
            beach.name, station.name
        ));
    }
    station.distance_caution(distance_m(beach.origin, station.at))
}

/// Nearest station that a table's range is held against, metres away at most.
const COMPARED_WITHIN_M: f64 = 50_000.0;

/// A sentence where a table's mean range is that of a nearby station in feet, or far from it.
fn odd_range(beach: &Beach, water: &Water) -> Option<String> {
    let range_m = |levels: &Levels| Some(levels.mhw?.m - levels.mlw?.m);
    let (station, away_m) = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next()?;
    let there = Water::of_station(station, Datum::Msl).ok().filter(|_| away_m <= COMPARED_WITHIN_M)?;
    let (own_m, known_m) = (range_m(water.levels())?, range_m(there.levels())?);
    // Below half a metre weather rules the range.
    let part = if known_m > 0.5 { own_m / known_m } else { 1.0 };
    let so = format!(
        "The mean range of the tide table \"{}\" is {own_m:.1} m, that of {}, {} away, {known_m:.1} m",
        water.name(),
        station.name,
        distance_words(away_m)
    );
    // A foot is 0.3048 m: heights in feet taken for metres show a range 3.28 times too large.
    match part {
        p if (2.6..4.2).contains(&p) => Some(format!("{so}: are its heights in feet? Import it again saying so.")),
        p if !(0.4..2.6).contains(&p) => {
            Some(format!("{so}: check that the table is for this beach and its heights are in metres."))
        }
        _ => None,
    }
}

/// What the weather adds, as the beach has it, and a sentence where two of its figures say the same.
pub fn surge_of(weather: &Weather) -> (Surge, Option<String>) {
    let sd_m = weather.surge_sd_m.unwrap_or(Surge::UNKNOWN.sd_m);
    match (weather.surge_m, weather.pressure_hpa) {
        (Some(residual_m), pressure) => {
            let said = pressure.map(|_| {
                "The air pressure is not added to the surge, which holds its effect already; clear the surge to use the pressure."
                    .to_owned()
            });
            (Surge { residual_m, sd_m }, said)
        }
        (None, Some(hpa)) => (Surge::from_pressure(hpa, sd_m), None),
        (None, None) => (Surge { sd_m, ..Surge::UNKNOWN }, None),
    }
}

fn sentence(error: &TideError) -> String {
    let text = error.to_string();
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), chars.as_str()))
}

fn station(id: &str) -> Result<Water, String> {
    if let Some(why) = Catalogue::shipped().refused(id) {
        return Err(why);
    }
    let station = Catalogue::shipped()
        .get(id)
        .ok_or_else(|| format!("The tide station \"{id}\" is not in the catalogue; choose another."))?;
    Water::of_station(station, station.chart_datum.clone()).map_err(|e| sentence(&e))
}

/// What a station's list of constituents lacks.
fn incomplete(water: &Water) -> Vec<String> {
    let Some(predictor) = water.predictor() else { return Vec::new() };
    let mut said = Vec::new();
    if predictor.amplitude_m("M2") == 0.0 {
        said.push(format!(
            "{} has no M2, the moon's main tide: its list of constituents may be incomplete; compare with a tide table.",
            water.name()
        ));
    }
    let missing_m: f64 = predictor.left_out().iter().map(|(_, m)| m).sum();
    if missing_m >= 0.05 {
        said.push(format!(
            "{} constituents of {} are not known here and left out; levels can be wrong by up to {missing_m:.2} m.",
            predictor.left_out().len(),
            water.name()
        ));
    }
    said
}

fn table(book: &SandTables, uid: Uid) -> Result<Water, String> {
    own_table(book, uid).map(Water::of_table)
}

fn own_table(book: &SandTables, uid: Uid) -> Result<tide::TideTable, String> {
    let table = book.tide_tables().get(&uid).ok_or("The beach's tide table is no longer in the book; choose another source.")?;
    table_of(table).map_err(|e| sentence(&e))
}

fn table_of(table: &TideTable) -> Result<tide::TideTable, TideError> {
    let kind = |high: bool| if high { TurnKind::High } else { TurnKind::Low };
    let entries: Vec<TableEntry> =
        table.turns.iter().map(|t| TableEntry { time: t.time, level_m: t.level_m, kind: Some(kind(t.high)) }).collect();
    tide::TideTable::new(table.name.clone(), Datum::ChartDatum, &entries)
}

fn secondary(book: &SandTables, choice: &SecondaryChoice, beach: &Beach) -> Result<Source, String> {
    let standard = match &choice.standard {
        StandardPort::Station(id) => station(id)?,
        StandardPort::Table(uid) => table(book, *uid)?,
    };
    let [mhws, mhwn, mlwn, mlws] = choice.differences.heights_m;
    let differences = Differences {
        high_time_min: choice.differences.high_time_min,
        low_time_min: choice.differences.low_time_min,
        high_m: (mhws, mhwn),
        low_m: (mlws, mlwn),
    };
    let warnings = incomplete(&standard);
    let port = match choice.standard_levels_m {
        Some(levels) => SecondaryPort::with_levels(choice.name.clone(), standard, differences, levels),
        None => SecondaryPort::new(choice.name.clone(), standard, differences).map_err(|e| sentence(&e))?,
    };
    let water = Water::of_secondary(port);
    let found = of_secondary(beach, &water);
    Ok(Source { water: Some(water), warnings, found, ..Source::default() })
}

fn gauge(record: &GaugeRecord, beach: &Beach) -> Result<Source, String> {
    let readings = thinned(&record.readings);
    let refused = |e: TideError| format!("Gauge record \"{}\": {e}; until then choose another source.", record.name);
    let analysis = Analysis::beside(&readings, station_beside(beach)).map_err(refused)?;
    let station = analysis.station(format!("gauge/{}", record.uid), record.name.clone(), beach.origin, beach.time_zone.clone());
    let water = Water::of_station(&station, station.chart_datum.clone()).map_err(refused)?;
    let mut warnings = gauge_warnings(record, &readings, &analysis);
    warnings.extend(incomplete(&water));
    let key = TideChoice::Gauge(record.uid).key();
    let mut found = of_gauge(&record.name, &key, &readings, &analysis);
    found.doubts.extend(of_zero(beach, &record.name, &key, &readings));
    // What plans nothing anyway, as it is too short or too poor, need not be held against another.
    if found.doubts.iter().all(|d| d.weight < Weight::Refuses) {
        let beside = of_gauge_beside(beach, &key, &water, &readings);
        found.doubts.extend(beside.doubts);
        (found.error.short_m, found.error.late_m) = (beside.error.short_m, beside.error.late_m);
    }
    Ok(Source { water: Some(water), analysis: Some(Arc::new(analysis)), found, warnings, ..Source::default() })
}

/// The mean of what lies in one bin, for a record that is denser than the tide needs.
fn thinned(readings: &[(Timestamp, f64)]) -> Vec<(Timestamp, f64)> {
    let usable: Vec<(Timestamp, f64)> = readings.iter().copied().filter(|(_, m)| m.is_finite()).collect();
    if usual_step_s(&usable) >= BIN_S as f64 / 2.0 {
        return usable;
    }
    let mean = |bin: &[(Timestamp, f64)]| {
        let first = bin.first()?.0;
        let n = bin.len() as f64;
        let late_s = bin.iter().map(|(t, _)| t.duration_since(first).as_secs_f64()).sum::<f64>() / n;
        let time = first.checked_add(jiff::SignedDuration::try_from_secs_f64(late_s).ok()?).ok()?;
        Some((time, bin.iter().map(|(_, m)| m).sum::<f64>() / n))
    };
    let bin = |t: Timestamp| t.as_second().div_euclid(BIN_S);
    usable.chunk_by(|a, b| bin(a.0) == bin(b.0)).filter_map(mean).collect()
}

/// Median of the steps of a record, seconds.
fn usual_step_s(readings: &[(Timestamp, f64)]) -> f64 {
    let mut steps: Vec<f64> = readings.windows(2).map(|w| w[1].0.duration_since(w[0].0).as_secs_f64()).collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(f64::INFINITY)
}

fn gauge_warnings(record: &GaugeRecord, readings: &[(Timestamp, f64)], analysis: &Analysis) -> Vec<String> {
    let name = &record.name;
    let mut said = Vec::new();
    let span_s = |a: Option<&(Timestamp, f64)>, b: Option<&(Timestamp, f64)>| {
        a.zip(b).map_or(0.0, |(a, b)| b.0.duration_since(a.0).as_secs_f64())
    };
    let days = span_s(readings.first(), readings.last()) / 86_400.0;
    let is_inferred = |name: &&str| analysis.inferred.iter().any(|i| i.fitted.name == *name);
    let left_out: Vec<&str> = analysis.unresolved.iter().copied().filter(|name| !is_inferred(name)).collect();
    if !left_out.is_empty() {
        let (shown, more) = (left_out.iter().take(6), left_out.len().saturating_sub(6));
        let and = if more > 0 { format!(" and {more} more") } else { String::new() };
        let season = if analysis.unresolved.contains(&"SA") { " The rise and fall with the season is not in it." } else { "" };
        said.push(format!(
            "Gauge record \"{name}\" of {days:.0} days is too short to tell {}{and} from their neighbours; they are left out.{season}",
            shown.copied().collect::<Vec<_>>().join(", ")
        ));
    }
    let step_s = usual_step_s(readings);
    let gaps: Vec<f64> =
        readings.windows(2).map(|w| span_s(w.first(), w.last())).filter(|gap_s| *gap_s > GAP_STEPS * step_s).collect();
    if let Some(longest_s) = gaps.iter().copied().max_by(f64::total_cmp) {
        let share = 100.0 * gaps.iter().sum::<f64>() / (days * 86_400.0);
        let longest = if longest_s < 172_800.0 {
            format!("{:.0} h", longest_s / 3600.0)
        } else {
            format!("{:.0} days", longest_s / 86_400.0)
        };
        let plural = if gaps.len() == 1 { "gap" } else { "gaps" };
        said.push(format!("Gauge record \"{name}\" has {} {plural}, {share:.0} % of it, the longest of {longest}.", gaps.len()));
    }
    let unsure = analysis.fitted.iter().filter(|f| f.amplitude_m < 2.0 * f.amplitude_sd_m).count();
    said.push(format!(
        "Gauge record \"{name}\": {} constituents from {} readings leave {:.2} m unexplained (root mean square){}.",
        analysis.fitted.len(),
        analysis.samples,
        analysis.residual_m,
        if unsure > 0 { format!("; {unsure} of them are no larger than twice their error") } else { String::new() }
    ));
    said
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::*;
    use crate::book::Book;
    use crate::earth::LonLat;
    use crate::tide::{Constant, Predictor};

    /// A shipped station with only those of its constants that pass.
    fn station_with(keep: impl Fn(&Constant) -> bool) -> Station {
        let mut station = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap().clone();
        station.constants.retain(keep);
        station
    }

    #[test]
    fn a_station_without_its_main_tide_is_told_of_and_one_without_any_is_refused() {
        let whole = Water::of_station(&station_with(|_| true), Datum::Msl).unwrap();
        assert_eq!(incomplete(&whole), Vec::<String>::new());
        let headless = Water::of_station(&station_with(|c| *c.name != *"M2"), Datum::Msl).unwrap();
        assert!(incomplete(&headless)[0].contains("has no M2"), "{:?}", incomplete(&headless));
        let mut still = station_with(|_| true);
        still.constants.iter_mut().for_each(|c| c.amplitude_m = 0.0);
        let refused = Water::of_station(&still, Datum::Msl).unwrap_err();
        assert!(sentence(&refused).contains("no tidal constituent"), "{refused}");
    }

    /// Levels as a gauge at Newlyn would log them, from published constants (TICON-4), centimetres.
    fn logged(step_s: i64, days: i64) -> Vec<(Timestamp, f64)> {
        let predictor = Predictor::new(&station_with(|_| true), &Datum::Msl).unwrap();
        let start: Timestamp = "2025-01-01T00:00:00Z".parse().unwrap();
        let n = (days * 86_400 / step_s) as usize;
        let heights = predictor.heights(start, step_s as f64, n);
        (0..).zip(heights).map(|(i, m)| (start + SignedDuration::from_secs(i * step_s), (m * 100.0).round() / 100.0)).collect()
    }

    fn source_from(readings: Vec<(Timestamp, f64)>) -> Result<Source, String> {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        gauge(&GaugeRecord { uid: Uid::fresh(), beach: beach.uid, name: "logger".into(), readings }, &beach)
    }

    #[test]
    fn a_month_of_a_logger_gives_the_tide_with_errors_and_says_what_it_lacks() {
        let mut readings = logged(3600, 31);
        readings.drain(200..260);
        let source = source_from(readings).unwrap();
        let analysis = source.analysis.unwrap();
        let m2 = analysis.fitted.iter().find(|f| f.name == "M2").unwrap();
        let published = station_with(|c| *c.name == *"M2").constants[0].amplitude_m;
        // K2 and its like cannot be told apart in a month and lean on M2's neighbours, not on M2.
        assert!((m2.amplitude_m - published).abs() < 0.05, "{} {published}", m2.amplitude_m);
        assert!(m2.amplitude_sd_m > 0.0 && m2.phase_sd_deg > 0.0);
        let said = source.warnings.join(" ");
        assert!(said.contains("1 gap") && said.contains("the longest of 3 days"), "{said}");
        assert!(said.contains("too short to tell") && said.contains("season"), "{said}");
        assert!(said.contains("unexplained"), "{said}");
        assert_eq!(source.water.unwrap().kind(), tide::WaterKind::Gauge);
    }

    #[test]
    fn a_dense_record_is_averaged_first_and_gives_the_same() {
        let (dense, coarse) = (source_from(logged(60, 16)).unwrap(), source_from(logged(360, 16)).unwrap());
        let m2 = |s: &Source| s.analysis.as_ref().unwrap().fitted.iter().find(|f| f.name == "M2").unwrap().clone();
        assert!((m2(&dense).amplitude_m - m2(&coarse).amplitude_m).abs() < 1e-3);
        assert!(dense.analysis.unwrap().samples <= 16 * 240 + 1);
    }

    #[test]
    fn a_record_too_short_for_anything_is_refused_in_words() {
        let refused = source_from(logged(600, 1)).map(drop).unwrap_err();
        assert!(refused.contains("\"logger\"") && refused.contains("longer record"), "{refused}");
        assert!(source_from(vec![]).is_err());
    }

    #[test]
    fn the_demo_beach_says_that_it_borrows_its_tide_and_a_real_one_is_warned_of_the_distance() {
        let setting = |beach: &Beach| {
            let mut book = Book::new();
            book.apply(&crate::book::Edit::put(beach.clone())).unwrap();
            crate::shore::Setting::from_book(&book, beach.uid).unwrap()
        };
        let demo = crate::demo::beach().unwrap();
        let told = setting(&demo);
        assert!(told.tide_borrowed && told.source_notes[0].contains("borrows the tide of St Marys"), "{:?}", told.source_notes);
        assert!(!told.warnings.iter().any(|w| w.contains("St Marys")), "{:?}", told.warnings);
        // The same place under another name is somebody's own, and so is the demo beach with another station.
        let newlyn = TideChoice::Station("ticon/newlyn-new-gbr-bodc".into());
        for own in [Beach { name: "Mine".into(), ..demo.clone() }, Beach { tide: newlyn, ..demo.clone() }] {
            let told = setting(&own.changed_from(&demo));
            assert!(!told.tide_borrowed && told.warnings[0].contains("km away"), "{:?}", told.warnings);
        }
    }

    #[test]
    fn a_station_of_another_clock_gives_a_beach_no_water_and_says_why() {
        let id = "ticon/coyote_creek_tam_valley-coy-usa-cm";
        let at = Catalogue::shipped().get(id).unwrap().at;
        let port = SecondaryChoice {
            name: "Invented Haven".into(),
            standard: StandardPort::Station(id.into()),
            differences: "0,0,0,0,0,0,0,0".parse().unwrap(),
            standard_levels_m: None,
        };
        for tide in [TideChoice::Station(id.into()), TideChoice::Secondary(port)] {
            let source = source_of(&SandTables::from(&Book::new()), &Beach { tide, ..Beach::new("Invented Bay", at) });
            assert!(source.water.is_none() && source.warnings[0].contains("keeps another clock"), "{:?}", source.warnings);
        }
    }

    #[test]
    fn the_surge_wins_over_the_pressure_that_it_holds() {
        let of = |surge_m, surge_sd_m, pressure_hpa| surge_of(&Weather { surge_m, surge_sd_m, pressure_hpa, run_up_m: None });
        assert_eq!(of(None, None, None), (Surge::UNKNOWN, None));
        // 1 cm for each hPa below 1013.25.
        assert!((of(None, Some(0.05), Some(983.25)).0.margin_m() - 0.40).abs() < 1e-12);
        let (surge, said) = of(Some(0.1), Some(0.05), Some(983.25));
        assert!((surge.margin_m() - 0.20).abs() < 1e-12 && said.is_some());
    }

    #[test]
    fn a_secondary_port_whose_range_is_not_that_of_the_sea_next_door_is_asked_about() {
        let newlyn = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let told = |differences: &str| {
            let standard = StandardPort::Station(newlyn.id.clone());
            let differences = differences.parse().unwrap();
            let port = SecondaryChoice { name: "Invented Haven".into(), standard, differences, standard_levels_m: None };
            let beach = Beach { tide: TideChoice::Secondary(port), ..Beach::new("Invented Bay", newlyn.at) };
            let doubts = source_of(&SandTables::from(&Book::new()), &beach).found.doubts;
            doubts.into_iter().map(|d| (d.key.split(':').next().unwrap().to_owned(), d.weight)).collect::<Vec<_>>()
        };
        let differences = "0005,5,0,0,0.2,0.1,0,0";
        assert!(told(differences).iter().all(|(kind, w)| kind.starts_with("port-differences") && *w == Weight::Caution));
        let crushed = told("0,0,0,0,-2.2,-1.1,1.1,2.2");
        assert!(crushed.contains(&("source-range".to_owned(), Weight::Question)), "{crushed:?}");
        assert!(crushed.iter().all(|(_, w)| *w <= Weight::Question), "{crushed:?}");
    }
}
