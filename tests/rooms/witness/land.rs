//! The trial's sand: bars and runnels, headlands, groynes, a survey of it and how it changed since.

use std::f64::consts::TAU;

use scourline::book::{LevelPoint, Uid};
use scourline::earth::{Frame, Local, LonLat};

use super::draw::Draw;

/// A ridge (or, negative, a runnel) along the shore.
#[derive(Debug)]
struct Bar {
    across_m: f64,
    half_m: f64,
    height_m: f64,
}

#[derive(Debug)]
pub(super) struct Land {
    frame: Frame,
    pub(super) length_m: f64,
    /// How far seaward anything is asked.
    pub(super) width_m: f64,
    back_m: f64,
    upper: f64,
    lower: f64,
    turn_m: f64,
    bars: Vec<Bar>,
    /// Headlands: along, half width and how far they push the shore seaward, metres.
    headlands: Vec<(f64, f64, f64)>,
    /// Groynes: apart and how much higher the sand lies on their one side, metres.
    groynes: Option<(f64, f64)>,
    bay_m: f64,
    /// What changed since the survey: height, and lengths along and across, metres.
    changed: (f64, f64, f64, f64),
    /// Change of all the sand, metres.
    pub(super) season_m: f64,
}

impl Land {
    /// `high_m` and `low_m`: spring tides above the land datum.
    pub(super) fn draw(high_m: f64, low_m: f64, draw: &mut Draw) -> Self {
        let upper = draw.log_uniform(0.03, 0.12);
        let lower = upper * draw.uniform(0.25, 0.9);
        let turn_m = draw.uniform(15.0, 60.0);
        let back_m = high_m + draw.uniform(0.5, 2.0);
        let mut land = Self {
            frame: Frame::centred_on(LonLat::new(draw.uniform(-10.0, 2.0), draw.uniform(45.0, 58.0)).unwrap()).unwrap(),
            length_m: draw.uniform(200.0, 600.0),
            width_m: 1.0,
            back_m,
            upper,
            lower,
            turn_m,
            bars: Vec::new(),
            headlands: Vec::new(),
            groynes: None,
            bay_m: draw.uniform(-25.0, 25.0),
            changed: (draw.uniform(0.0, 0.2), draw.uniform(60.0, 300.0), draw.uniform(15.0, 60.0), draw.uniform(0.0, TAU)),
            season_m: draw.normal(0.07),
        };
        land.width_m = (1..).map(|n| f64::from(n) * 2.0).find(|c| land.even_m(*c) < low_m - 1.0 || *c > 450.0).unwrap();
        for _ in 0..draw.pick(4) {
            let across_m = draw.uniform(0.25, 0.9) * land.width_m;
            let (half_m, height_m) = (draw.uniform(4.0, 15.0), draw.uniform(0.2, 0.7));
            land.bars.push(Bar { across_m, half_m, height_m });
            land.bars.push(Bar { across_m: across_m - 2.2 * half_m, half_m, height_m: -draw.uniform(0.1, 0.5) });
        }
        for _ in 0..draw.pick(3) {
            let along_m = draw.uniform(0.0, land.length_m);
            land.headlands.push((along_m, draw.uniform(20.0, 60.0), draw.uniform(-15.0, 30.0)));
        }
        land.groynes = draw.chance(0.3).then(|| (draw.uniform(40.0, 110.0), draw.uniform(0.1, 0.6)));
        land
    }

    fn even_m(&self, across_m: f64) -> f64 {
        let steep = (self.upper - self.lower) * self.turn_m * (1.0 - (-across_m.max(0.0) / self.turn_m).exp());
        self.back_m - self.lower * across_m - steep
    }

    /// The sand on the day of the survey, metres above the land datum.
    fn surveyed_m(&self, along_m: f64, across_m: f64) -> f64 {
        let push: f64 = self.headlands.iter().map(|(a, half, by)| by * (-((along_m - a) / half).powi(2)).exp()).sum();
        let across_m = across_m - push;
        let bars: f64 = self.bars.iter().map(|b| b.height_m * (-0.5 * ((across_m - b.across_m) / b.half_m).powi(2)).exp()).sum();
        let groynes = self.groynes.map_or(0.0, |(apart, step)| step * ((along_m / apart).rem_euclid(1.0) - 0.5));
        self.even_m(across_m) + bars + groynes
    }

    /// The sand under people's feet, metres above the land datum.
    pub(super) fn level_m(&self, along_m: f64, across_m: f64) -> f64 {
        let (height, along, across, phase) = self.changed;
        let changed = height * (TAU * along_m / along + phase).sin() * (TAU * across_m / across + 2.0 * phase).sin();
        self.surveyed_m(along_m, across_m) + changed + self.season_m
    }

    /// The first wet place going seaward where the water stands so high; looked for from a little above where it was.
    pub(super) fn edge_m(&self, along_m: f64, water_m: f64, before_m: f64) -> f64 {
        let mut across_m = (before_m - 25.0).max(0.0);
        if self.level_m(along_m, across_m) < water_m {
            across_m = 0.0;
        }
        while across_m < self.width_m && self.level_m(along_m, across_m) >= water_m {
            across_m += 1.0;
        }
        across_m
    }

    pub(super) fn place(&self, along_m: f64, across_m: f64) -> Local {
        let bay_m = self.bay_m * (TAU * along_m / (2.0 * self.length_m)).sin();
        Local::new(along_m - 0.5 * self.length_m, -across_m - bay_m)
    }

    pub(super) fn lonlat(&self, p: Local) -> LonLat {
        self.frame.to_lonlat(p).unwrap()
    }

    pub(super) fn origin(&self) -> LonLat {
        self.frame.origin()
    }

    pub(super) fn baseline(&self, draw: &mut Draw) -> Vec<LonLat> {
        let at = |n: u32, off: f64| self.lonlat(self.place(self.length_m * f64::from(n) / 8.0, off));
        (0..=8).map(|n| at(n, draw.normal(0.5))).collect()
    }

    /// A survey in lines across the shore, down to where one can stand.
    pub(super) fn survey(&self, beach: Uid, shift_m: f64, draw: &mut Draw) -> Vec<LevelPoint> {
        let (apart_m, every_m) = (draw.uniform(15.0, 50.0), draw.uniform(4.0, 12.0));
        let lines = (self.length_m / apart_m).round() as u32 + 1;
        let mut levels = Vec::new();
        for line in 0..=lines {
            let mut across = -3.0;
            while across < self.width_m {
                let (a, c) = (self.length_m * f64::from(line) / f64::from(lines), across + draw.normal(0.5));
                levels.push(LevelPoint {
                    uid: Uid::of_content("witness level", [beach.to_string().as_bytes(), &levels.len().to_le_bytes()]),
                    beach,
                    at: self.lonlat(self.place(a, c)),
                    level_m: self.surveyed_m(a, c) + draw.normal(0.04) + shift_m,
                    sigma_m: Some(0.04),
                    date: None,
                    survey: "invented".into(),
                });
                across += every_m;
            }
        }
        levels
    }

    /// Fall of an even slope from the back down to the middle of the beach, as somebody without a survey states it.
    pub(super) fn stated_slope(&self) -> (f64, f64) {
        let middle_m = 0.6 * self.width_m;
        (self.even_m(0.0), (self.even_m(0.0) - self.even_m(middle_m)) / middle_m)
    }
}
