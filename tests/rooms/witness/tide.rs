//! The trial's tide: invented constants of a few constituents, so that the program's own prediction is right when they are.

use scourline::earth::LonLat;
use scourline::tide::{Constant, Datum, DatumsFrom, Licence, Place, Publisher, Station, Water};

use super::draw::Draw;

/// Amplitude above the mean of the highest spring tides, in amplitudes of M2, and that of chart datum below it.
const SPRINGS: f64 = 1.35;
const DATUM: f64 = 1.6;

#[derive(Debug, Clone)]
pub(super) struct Tide {
    at: LonLat,
    constants: Vec<(&'static str, f64, f64)>,
    /// Mean sea level above the land datum.
    pub(super) mean_m: f64,
}

impl Tide {
    pub(super) fn draw(at: LonLat, draw: &mut Draw) -> Self {
        let m2_m = 0.5 * draw.log_uniform(1.2, 9.0) / SPRINGS;
        let phase = draw.uniform(0.0, 360.0);
        let mut constants = vec![("M2", m2_m, phase), ("S2", 0.35 * m2_m, phase + draw.uniform(20.0, 60.0))];
        constants.push(("N2", 0.2 * m2_m, phase - draw.uniform(10.0, 30.0)));
        constants.push(("K1", draw.uniform(0.03, 0.12), draw.uniform(0.0, 360.0)));
        constants.push(("O1", draw.uniform(0.03, 0.1), draw.uniform(0.0, 360.0)));
        constants.push(("M4", draw.uniform(0.0, 0.06) * m2_m, draw.uniform(0.0, 360.0)));
        Self { at, constants, mean_m: draw.uniform(-0.3, 0.3) }
    }

    fn m2_m(&self) -> f64 {
        self.constants[0].1
    }

    pub(super) fn springs_m(&self) -> (f64, f64) {
        (self.mean_m + SPRINGS * self.m2_m(), self.mean_m - SPRINGS * self.m2_m())
    }

    pub(super) fn range_m(&self) -> f64 {
        2.0 * SPRINGS * self.m2_m()
    }

    /// Chart datum lies below the lowest tides.
    pub(super) fn offset_m(&self) -> f64 {
        DATUM * self.m2_m() - self.mean_m
    }

    /// The water above chart datum, its range so many times as large and so many minutes later.
    pub(super) fn water(&self, times: f64, later_min: f64) -> Water {
        // Degrees an hour, to the figures that a lag of hours needs (Schureman 1958, table 2).
        let speed = |name: &str| match name {
            "M2" => 28.984_104,
            "S2" => 30.0,
            "N2" => 28.439_73,
            "K1" => 15.041_069,
            "O1" => 13.943_036,
            _ => 57.968_208,
        };
        let constant = |(name, amplitude_m, phase): &(&str, f64, f64)| Constant {
            name: (*name).into(),
            amplitude_m: amplitude_m * times,
            phase_deg: (phase + speed(name) * later_min / 60.0).rem_euclid(360.0),
        };
        let station = Station {
            id: "invented".into(),
            name: "Invented".into(),
            place: Place::default(),
            at: self.at,
            time_zone: "UTC".into(),
            publisher: Publisher::Own,
            licence: Licence::Own,
            chart_datum: Datum::ChartDatum,
            datums: vec![(Datum::Msl, DATUM * self.m2_m()), (Datum::ChartDatum, 0.0)],
            datums_from: DatumsFrom::Constituents,
            epoch: String::new(),
            remark: String::new(),
            constants: self.constants.iter().map(constant).collect(),
        };
        Water::of_station(&station, Datum::ChartDatum).unwrap()
    }
}
