use geo::{BoundingRect, Contains};
use geo_types::{Coord, MultiPolygon, Rect};
use serde::{Deserialize, Serialize};

use super::yields::{Part, Yield, in_band};
use crate::book::{Uid, ZoneUse};
use crate::reading::error::ReadingError;
use crate::reading::exposure::Outings;
use crate::reading::given::{Counts, Ground, Placed, PlacedFinds};
use crate::reading::params::Params;

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

/// Finds and rates of each band of the setting, from the highest down. Ground swept counts for the
/// band in which the middle of its square lies.
pub(in crate::reading) fn bands(ground: &Ground, laid: &PlacedFinds, outings: &Outings, params: &Params) -> Vec<BandReading> {
    let bands = &ground.setting.bands;
    let mut swept = vec![0.0; bands.len()];
    for (cell, band) in ground.covered.iter().flat_map(|c| &c.cells).zip(outings.band_of_square) {
        if let Some(band) = band {
            swept[*band] += cell.swept_m2;
        }
    }
    let of = |(n, band): (usize, &crate::shore::Band)| {
        let part = outings.exposure.map(|exposure| {
            let is_in = |square: usize| outings.band_of_square.get(square) == Some(&Some(n));
            let by_outing = exposure.by_outing((0..outings.band_of_square.len()).filter(|s| is_in(*s)));
            let square_of = |find: usize| exposure.of_find[find].map(|at| at.square as usize);
            Part::new(exposure, &by_outing, laid, |find, _| square_of(find).is_some_and(is_in))
        });
        let counts = Counts::tally(laid.finds.iter().filter(|f| f.band == Some(n)));
        let swept_m2 = ground.covered.map(|_| swept[n]);
        BandReading {
            name: band.name.clone(),
            low_m: band.low_m,
            high_m: band.high_m,
            area_m2: band.area_m2,
            gave: Yield::new(&in_band(&band.name), counts, Some(band.area_m2), swept_m2, part.as_ref(), params)
                .with_signals(laid.signals.iter().filter(|s| s.band == Some(n)).count()),
        }
    };
    bands.iter().enumerate().map(of).collect()
}

/// Finds and rates of each zone, in order of name, and how many finds lie outside all of them.
pub(in crate::reading) fn zones(
    ground: &Ground,
    laid: &PlacedFinds,
    outings: &Outings,
    params: &Params,
) -> Result<(Vec<ZoneReading>, usize), ReadingError> {
    let mut zones: Vec<_> = ground.book.zones_of(ground.setting.beach.uid).collect();
    zones.sort_by(|a, b| a.name.cmp(&b.name).then(a.uid.cmp(&b.uid)));
    let mut readings = Vec::new();
    let mut outside = vec![true; laid.finds.len()];
    for zone in zones {
        let place = |c: Coord<f64>| -> Result<Coord<f64>, ReadingError> { Ok(laid.frame.to_local(c.try_into()?)?.into()) };
        // A zone drawn too far off belongs to no reading; the notes of the import tell of it.
        let Ok(area) = geo::MapCoords::try_map_coords(&zone.area, place) else { continue };
        let Some(bounds) = area.bounding_rect() else { continue };
        let is_in: Vec<bool> = laid.finds.iter().map(|f| holds(&area, bounds, f.at.into())).collect();
        outside.iter_mut().zip(&is_in).for_each(|(o, inside)| *o &= !inside);
        let inside: Vec<&Placed> = laid.finds.iter().zip(&is_in).filter(|(_, i)| **i).map(|(f, _)| f).collect();
        let counts = Counts::tally(inside);
        let squares = ground.shore().zip(outings.visits).map(|(shore, visits)| {
            let is_in = |n: &usize| holds(&area, bounds, shore.to_local(visits.middle(*n)).into());
            (0..visits.squares()).filter(is_in).collect::<Vec<usize>>()
        });
        let swept_m2 = squares.as_ref().zip(outings.visits).map(|(s, visits)| s.iter().map(|n| visits.swept_m2(*n)).sum());
        let part = squares
            .zip(outings.exposure)
            .map(|(squares, exposure)| Part::new(exposure, &exposure.by_outing(squares.into_iter()), laid, |n, _| is_in[n]));
        let area_m2 = geo::Area::unsigned_area(&area);
        let signals = laid.signals.iter().filter(|s| holds(&area, bounds, s.at.into())).count();
        let gave = Yield::new(&format!("in {}", zone.name), counts, Some(area_m2), swept_m2, part.as_ref(), params)
            .with_signals(signals);
        readings.push(ZoneReading { uid: zone.uid, name: zone.name.clone(), usage: zone.usage, area_m2, gave });
    }
    Ok((readings, outside.into_iter().filter(|o| *o).count()))
}

fn holds(area: &MultiPolygon<f64>, bounds: Rect<f64>, c: Coord<f64>) -> bool {
    bounds.contains(&c) && area.contains(&c)
}
