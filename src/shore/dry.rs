use jiff::Timestamp;

use super::{LevelSource, SandLevel, Setting, ShoreError};
use crate::earth::LonLat;
use crate::sea::RunUp;
use crate::tide::Window;

/// Standard errors of the sand's level by which it is taken lower than it is known: about 97.7 % of the
/// sand then lies no lower.
const SAND_SIGMAS: f64 = 2.0;

/// When one place of a beach is dry, and with what margin.
#[derive(Debug, Clone, PartialEq)]
pub struct DryPlace {
    /// Level of its sand.
    pub sand: SandLevel,
    /// The same above the tide's datum, metres.
    pub tide_m: f64,
    /// Part of the margin for waves running up: the highest of the time asked about. Each window keeps that of its hours.
    pub run_up: RunUp,
    /// Part of the margin for surge and pressure with twice their uncertainty, metres.
    pub surge_m: f64,
    /// Part of the margin for what the tide source may be off, metres.
    pub source_m: f64,
    /// Part of the margin for the sand's level, metres: two standard errors, and what old levels are taken lower by.
    pub sand_m: f64,
    /// From when to when it is dry.
    pub windows: Vec<Window>,
}

impl DryPlace {
    /// Whether the level of its sand is a guess, as nobody surveyed there: it may be a runnel, and no route goes there.
    pub fn is_guess(&self) -> bool {
        self.sand.from != LevelSource::Surveyed
    }

    /// What is to be said of a guess.
    pub const GUESS: &str =
        "Nobody surveyed the sand there: its level is a guess and it may be a runnel. Do not rely on these times.";

    /// What is kept at most between the predicted water and the sand, metres.
    pub fn margin_m(&self) -> f64 {
        self.run_up.m + self.surge_m + self.source_m + self.sand_m
    }
}

impl Setting {
    /// When a place of the beach is dry in `from..to`, keeping clear of run-up, weather and the error of the
    /// sand's level.
    ///
    /// # Errors
    /// [`ShoreError::NoWater`], [`ShoreError::NoDatumOffset`], [`ShoreError::NoLevels`] where the sand's level
    /// there is not known, or whatever keeps the beach from having a shape.
    pub fn dry_at(&self, place: LonLat, from: Timestamp, to: Timestamp) -> Result<DryPlace, ShoreError> {
        let shore = self.shore.as_ref().map_err(Clone::clone)?;
        self.water.as_ref().ok_or_else(|| ShoreError::NoWater(self.beach.name.clone()))?;
        let local = shore.frame().to_local(place)?;
        let sand = shore.sand_level(local).ok_or_else(|| ShoreError::NoLevels(self.beach.name.clone()))?;
        let tide_m = shore.tide_level_m(local)?;
        let mut dry = DryPlace {
            sand,
            tide_m,
            run_up: self.sea.highest(self.foreshore_below(tide_m), from, to),
            surge_m: self.surge.margin_m(),
            source_m: self.source_margin_m(),
            sand_m: SAND_SIGMAS * sand.sigma_m + self.sand_aged_m(from),
            windows: Vec::new(),
        };
        dry.windows = self.dry_windows(tide_m, dry.sand_m, (from, to));
        Ok(dry)
    }

    /// When sand is dry down to a level above the tide's datum, metres, in `from..to`, keeping clear of run-up and
    /// weather. The level is taken as given: how well the sand is known at a place is for [`Setting::dry_at`].
    ///
    /// # Errors
    /// [`ShoreError::NoWater`].
    pub fn dry_down_to(&self, tide_m: f64, from: Timestamp, to: Timestamp) -> Result<Vec<Window>, ShoreError> {
        self.water.as_ref().ok_or_else(|| ShoreError::NoWater(self.beach.name.clone()))?;
        Ok(self.dry_windows(tide_m, 0.0, (from, to)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Book, Edit, LevelPoint, TideChoice, Uid, Weather};
    use crate::sea::Waves;
    use crate::tide::Catalogue;

    #[test]
    fn a_place_is_dry_while_the_water_stands_below_it_by_every_part_of_the_margin() {
        let newlyn = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let at = newlyn.at;
        let shift = |dx: f64, dy: f64| LonLat::new(at.lon_deg() + dx, at.lat_deg() + dy).unwrap();
        let bare = Beach {
            // Walked westwards, so that the sea on the right hand lies in the north.
            baseline: vec![shift(0.01, 0.0), shift(-0.01, 0.0)],
            datum_offset_m: Some(3.0),
            ..Beach::new("Invented Bay", at)
        };
        let (from, to): (Timestamp, Timestamp) =
            ("2026-03-01T00:00:00Z".parse().unwrap(), "2026-03-08T00:00:00Z".parse().unwrap());
        let setting_with = |beach: Beach| {
            let mut book = Book::new();
            book.apply(&Edit::put(beach.clone())).unwrap();
            // Falling by 2 cm a metre from 4 m above land datum at the baseline.
            for (n, along) in (0..40).flat_map(|n| [(n, -0.01), (n, 0.0), (n, 0.01)]) {
                let level = LevelPoint {
                    uid: Uid::fresh(),
                    beach: beach.uid,
                    at: shift(along, 1e-4 * f64::from(n)),
                    level_m: 4.0 - 0.02 * 11.12 * f64::from(n),
                    sigma_m: Some(0.05),
                    date: None,
                    survey: String::new(),
                };
                book.apply(&Edit::put(level)).unwrap();
            }
            // A calm sea, so that the least run-up is what is kept.
            Setting::from_book(&book, beach.uid).unwrap().with_waves(Some(Waves { height_m: 0.2, period_s: 3.0 }))
        };
        let dry_with = |beach: Beach| setting_with(beach).dry_at(shift(0.0, 0.001), from, to);
        assert!(matches!(dry_with(bare.clone()), Err(ShoreError::NoWater(_))));
        assert!(matches!(setting_with(bare.clone()).dry_down_to(2.0, from, to), Err(ShoreError::NoWater(_))));
        let tidal = Beach { tide: TideChoice::Station(newlyn.id.clone()), ..bare };
        assert!(matches!(dry_with(Beach { datum_offset_m: None, ..tidal.clone() }), Err(ShoreError::NoDatumOffset(_))));
        let usual = dry_with(tidal.clone()).unwrap();
        // 111 m seaward of 4 m, the land datum three metres above chart datum.
        assert!((usual.tide_m - (4.0 - 0.02 * 111.2 + 3.0)).abs() < 0.02, "{}", usual.tide_m);
        assert!((usual.margin_m() - (0.3 + 0.4 + 2.0 * usual.sand.sigma_m)).abs() < 1e-12);
        let water = crate::tide::Water::of_station(newlyn, newlyn.chart_datum.clone()).unwrap();
        assert!(usual.windows.len() >= 13, "two a day: {:?}", usual.windows);
        for w in &usual.windows {
            for t in [w.from, w.to] {
                assert!(water.height_m(t).unwrap() < usual.tide_m - usual.margin_m());
            }
        }
        // A place is dry as its level is, but for what is not known of its sand.
        let level = setting_with(tidal.clone()).dry_down_to(usual.tide_m - usual.sand_m, from, to).unwrap();
        assert_eq!(level.len(), usual.windows.len());
        for (l, w) in level.iter().zip(&usual.windows) {
            assert!((l.from.as_second() - w.from.as_second()).abs() <= 1 && (l.to.as_second() - w.to.as_second()).abs() <= 1);
        }
        let swell = Weather { run_up_m: Some(1.5), ..Weather::default() };
        let narrower = dry_with(Beach { weather: swell, ..tidal }).unwrap();
        let total = |d: &DryPlace| d.windows.iter().map(Window::length_s).sum::<f64>();
        assert!(total(&narrower) < total(&usual) - 3600.0);
    }
}
