use geo::{BoundingRect, Contains};
use geo_types::{Coord, MultiPolygon, Rect};
use serde::{Deserialize, Serialize};

use super::cluster::Counts;
use super::ground::{Covered, Laid, Placed};
use super::outings::Outings;
use super::{Ground, Params, Rate, ReadingError};
use crate::book::{Uid, ZoneUse};
use crate::shore::ShorePoint;

/// What a part of the beach gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Yield {
    /// Finds in it, by weight.
    #[serde(flatten)]
    pub counts: Counts,
    /// Finds per 100 m² of ground, searched or not. Says where one walked as much as where things lie.
    pub density_per_100m2: Option<f64>,
    /// Ground swept in it, m²; `None` when no tracks show it.
    pub swept_m2: Option<f64>,
    /// All finds per 100 m² swept.
    pub rate: Option<Rate>,
    /// Heavy finds per 100 m² swept.
    pub rate_heavy: Option<Rate>,
    /// Light finds per 100 m² swept.
    pub rate_light: Option<Rate>,
    /// Signals left undug in it; not among the finds.
    #[serde(default)]
    pub signals: usize,
    /// Signals left undug per 100 m² swept.
    #[serde(default)]
    pub rate_signals: Option<Rate>,
    /// Whether so little ground was covered that its rates say nothing yet.
    pub too_little: bool,
    /// What would make the rate surer, as a sentence.
    pub surer: Option<String>,
}

/// Finds of one band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BandReading {
    /// Its name.
    pub name: String,
    /// Lower edge above the tide's datum, metres; `None` for the lowest band.
    pub low_m: Option<f64>,
    /// Upper edge above the tide's datum, metres; `None` for the highest band.
    pub high_m: Option<f64>,
    /// Size, m².
    pub area_m2: f64,
    /// What it gave.
    #[serde(flatten)]
    pub gave: Yield,
}

/// Finds of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneReading {
    /// The zone.
    pub uid: Uid,
    /// Its name.
    pub name: String,
    /// Its use.
    #[serde(rename = "use")]
    pub usage: ZoneUse,
    /// Size, m².
    pub area_m2: f64,
    /// What it gave.
    #[serde(flatten)]
    pub gave: Yield,
}

impl Yield {
    pub(super) fn new(place: &str, counts: Counts, area_m2: Option<f64>, swept_m2: Option<f64>, params: &Params) -> Self {
        let rate = |n: usize| swept_m2.and_then(|swept| Rate::new(n as f64, swept));
        let all = rate(counts.finds);
        let too_little = swept_m2.is_none_or(|swept| swept < params.least_swept_m2);
        let surer = match (all, swept_m2) {
            (_, None) => None,
            (Some(rate), Some(swept)) if !too_little => {
                debug_assert!(swept > 0.0);
                Some(format!("another {} m² {place} would halve this interval", round_up(rate.to_halve_m2)))
            }
            (_, Some(swept)) => Some(format!(
                "not enough ground covered yet: another {:.0} m² {place} until the {:.0} m² that a rate needs; {swept:.0} m² are swept",
                (params.least_swept_m2 - swept).ceil(),
                params.least_swept_m2
            )),
        };
        Self {
            density_per_100m2: area_m2.filter(|a| *a > 0.0).map(|a| counts.finds as f64 / a * 100.0),
            swept_m2,
            rate: all,
            rate_heavy: rate(counts.heavy),
            rate_light: rate(counts.light),
            signals: 0,
            rate_signals: None,
            too_little,
            counts,
            surer,
        }
    }

    /// The same with the signals left undug.
    pub(super) fn with_signals(self, signals: usize) -> Self {
        let rate_signals = self.swept_m2.and_then(|m2| Rate::new(signals as f64, m2));
        Self { signals, rate_signals, ..self }
    }
}

/// Rounded up to two figures: nobody paces out 613.2 m².
pub(super) fn round_up(area_m2: f64) -> f64 {
    let step = 10_f64.powf((area_m2.max(10.0).log10().floor() - 1.0).max(1.0));
    (area_m2 / step).ceil() * step
}

/// Ground swept whose middle `takes`, m².
fn swept_where(covered: Option<&Covered>, takes: impl Fn(ShorePoint) -> bool) -> Option<f64> {
    let cells = &covered?.cells;
    Some(cells.iter().filter(|c| takes(ShorePoint::new(c.along_m, c.across_m))).map(|c| c.swept_m2).sum())
}

/// Finds and rates of each band of the setting, from the highest down. Ground swept counts for the
/// band in which the middle of its square lies.
pub(super) fn bands(ground: &Ground, laid: &Laid, outings: &Outings, params: &Params) -> Vec<BandReading> {
    let bands = &ground.setting.bands;
    let mut swept = vec![0.0; bands.len()];
    for (cell, band) in ground.covered.iter().flat_map(|c| &c.cells).zip(&outings.band_of_square) {
        if let Some(band) = band {
            swept[*band] += cell.swept_m2;
        }
    }
    let of = |(n, band): (usize, &crate::shore::Band)| {
        let counts = Counts::of(laid.finds.iter().filter(|f| f.band == Some(n)));
        let swept_m2 = ground.covered.map(|_| swept[n]);
        BandReading {
            name: band.name.clone(),
            low_m: band.low_m,
            high_m: band.high_m,
            area_m2: band.area_m2,
            gave: Yield::new(&in_band(&band.name), counts, Some(band.area_m2), swept_m2, params)
                .with_signals(laid.signals.iter().filter(|s| s.band == Some(n)).count()),
        }
    };
    bands.iter().enumerate().map(of).collect()
}

/// A band's name as the end of a sentence: "between MHWN and MSL", "above MHWS".
pub(super) fn in_band(name: &str) -> String {
    name.split_once(" to ").map_or_else(|| name.to_owned(), |(high, low)| format!("between {high} and {low}"))
}

/// Finds and rates of each zone, in order of name, and how many finds lie outside all of them.
pub(super) fn zones(ground: &Ground, laid: &Laid, params: &Params) -> Result<(Vec<ZoneReading>, usize), ReadingError> {
    let mut zones: Vec<_> = ground.book.zones_of(ground.setting.beach.uid).collect();
    zones.sort_by(|a, b| a.name.cmp(&b.name).then(a.uid.cmp(&b.uid)));
    let mut readings = Vec::new();
    let mut outside = vec![true; laid.finds.len()];
    for zone in zones {
        let place = |c: Coord<f64>| -> Result<Coord<f64>, ReadingError> { Ok(laid.frame.to_local(c.try_into()?)?.into()) };
        // A zone drawn too far off belongs to no reading; the notes of the import tell of it.
        let Ok(area) = geo::MapCoords::try_map_coords(&zone.area, place) else { continue };
        let Some(bounds) = area.bounding_rect() else { continue };
        let mut inside: Vec<&Placed> = Vec::new();
        for (find, outside) in laid.finds.iter().zip(&mut outside).filter(|(f, _)| holds(&area, bounds, f.at.into())) {
            inside.push(find);
            *outside = false;
        }
        let counts = Counts::of(inside);
        let swept_m2 =
            ground.shore().and_then(|shore| swept_where(ground.covered, |s| holds(&area, bounds, shore.to_local(s).into())));
        let area_m2 = geo::Area::unsigned_area(&area);
        let signals = laid.signals.iter().filter(|s| holds(&area, bounds, s.at.into())).count();
        let gave = Yield::new(&format!("in {}", zone.name), counts, Some(area_m2), swept_m2, params).with_signals(signals);
        readings.push(ZoneReading { uid: zone.uid, name: zone.name.clone(), usage: zone.usage, area_m2, gave });
    }
    Ok((readings, outside.into_iter().filter(|o| *o).count()))
}

fn holds(area: &MultiPolygon<f64>, bounds: Rect<f64>, c: Coord<f64>) -> bool {
    bounds.contains(&c) && area.contains(&c)
}
