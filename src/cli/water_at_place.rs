//! The water that `tides` is asked about, from a beach of a book or a station.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::args::TidesArgs;
use super::said::{beach_of, lonlat, open};
use super::source::served;
use super::{Failure, doubts};
use crate::book::{FreeHours, Weather};
use crate::earth::LonLat;
use crate::sea::{Foreshore, RunUp, Sea};
use crate::shore::{Setting, surge_of};
use crate::tide::{Analysis, Catalogue, Station, Surge, Turn, Water, Window, without_small};
use crate::trust::Told;

/// The water asked about, and where and on whose clock it is told.
pub(super) struct WaterAtPlace {
    pub(super) water: Water,
    pub(super) at: LonLat,
    pub(super) zone: TimeZone,
    pub(super) distance_m: Option<f64>,
    pub(super) borrowed: bool,
    pub(super) surge: Surge,
    pub(super) sea: Sea,
    /// The run-up where no record covers the hours.
    pub(super) run_up: RunUp,
    /// The hours kept with the beach.
    pub(super) free: FreeHours,
    /// The beach with its sand, where one was asked about.
    pub(super) setting: Option<Box<Setting>>,
    pub(super) analysis: Option<Arc<Analysis>>,
    pub(super) notes: Vec<String>,
    /// What must not be believed of the beach, where one was asked about.
    pub(super) doubts: Vec<Told>,
}

impl WaterAtPlace {
    /// When sand of a level above the tide's datum, metres, is dry, and the highest run-up that was kept for it.
    pub(super) fn dry(&self, level_m: f64, from: Timestamp, to: Timestamp) -> (Vec<Window>, RunUp) {
        let foreshore = self.setting().map_or(Foreshore::UNKNOWN, |s| s.foreshore_below(level_m));
        let margin_m = self.surge.margin_m() + self.source_m();
        let windows = self.sea.dry_windows(&self.water, (level_m, margin_m), foreshore, (from, to));
        (windows, self.sea.highest(foreshore, from, to))
    }

    /// The part of what dry windows keep above the predicted water for what the tide source may be off, metres.
    pub(super) fn source_m(&self) -> f64 {
        self.setting.as_ref().map_or(0.0, |s| s.source_margin_m())
    }

    /// The beach, where one was asked about.
    pub(super) fn setting(&self) -> Option<&Setting> {
        self.setting.as_deref()
    }

    /// High and low waters, small pairs left out where that was asked.
    pub(super) fn turns(&self, args: &TidesArgs, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        let turns = self.water.turns(from, to);
        args.merge_below.map_or_else(|| turns.clone(), |below_m| without_small(&turns, below_m))
    }
}

/// What the options say of weather and waves, else what the beach does.
fn weather(args: &TidesArgs, known: Weather) -> Result<Weather, Failure> {
    let given = Weather {
        surge_m: args.surge.or(known.surge_m),
        surge_sd_m: args.surge_sd.or(known.surge_sd_m),
        // A pressure that is given stands against a surge that is only kept.
        pressure_hpa: args.pressure.or(known.pressure_hpa),
        run_up_m: args.run_up.or(known.run_up_m),
    };
    let given = if args.pressure.is_some() && args.surge.is_none() { Weather { surge_m: None, ..given } } else { given };
    given.validate().map_err(Failure::usage)?;
    Ok(given)
}

pub(super) fn water_at_place(args: &TidesArgs) -> Result<WaterAtPlace, Failure> {
    if let Some(path) = &args.book {
        let open = open(path)?;
        let beach = beach_of(open.book(), args.beach.as_deref())?;
        let zone = beach.zone().map_err(Failure::input)?;
        let weather = weather(args, beach.weather)?;
        let (setting, doubts) = doubts::of_beach(open.book(), beach.uid)?;
        let setting = setting.with_weather(weather).with_waves(args.sea);
        let water = setting.water.clone().ok_or_else(|| Failure::input(setting.warnings.join(" ")))?;
        return Ok(WaterAtPlace {
            water,
            at: beach.origin,
            zone,
            distance_m: setting.station_distance_m,
            borrowed: setting.tide_borrowed,
            surge: setting.surge,
            sea: setting.sea.clone(),
            run_up: setting.run_up,
            free: beach.free.clone(),
            analysis: setting.analysis.clone(),
            notes: setting.source_notes.clone(),
            doubts: doubts.to_vec(),
            setting: Some(Box::new(setting)),
        });
    }
    let (station, at, distance_m): (&Station, LonLat, Option<f64>) = match (&args.near, &args.station) {
        (Some(near), _) => {
            let at = lonlat(near)?;
            let (station, away_m) =
                Catalogue::shipped().nearest(at, 1).into_iter().next().ok_or_else(|| Failure::input("the catalogue is empty"))?;
            (station, at, Some(away_m))
        }
        (None, Some(id)) => {
            let station = served(id)?;
            (station, station.at, None)
        }
        (None, None) => return Err(Failure::usage("say where: --near LON,LAT, --station ID, or --book FILE with --beach NAME")),
    };
    let zone = TimeZone::get(&station.time_zone).unwrap_or(TimeZone::UTC);
    let water = Water::of_station(station, station.chart_datum.clone()).map_err(Failure::input)?;
    let notes = distance_m.and_then(|m| station.distance_caution(m)).into_iter().chain(station.remark_said()).collect();
    let weather = weather(args, Weather::default())?;
    let sea = Sea { asked: args.sea, typed_m: weather.run_up_m, ..Sea::default() };
    Ok(WaterAtPlace {
        water,
        at,
        zone,
        distance_m,
        borrowed: false,
        surge: surge_of(&weather).0,
        run_up: sea.uncovered(Foreshore::UNKNOWN),
        sea,
        free: FreeHours::default(),
        setting: None,
        analysis: None,
        notes,
        doubts: Vec::new(),
    })
}
