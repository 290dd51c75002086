//! Where the sand of a beach lies, whatever point was given for the beach.

use super::tables::{PlaceTables, SandTables};
use crate::book::Beach;
use crate::earth::{LonLat, distance_m};

/// The middle of a beach's sand, and what it is the middle of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Middle {
    /// Where.
    pub at: LonLat,
    /// "baseline", "levels" or "accesses".
    pub of: &'static str,
}

/// The middle of the baseline, else of the levels, else of the accesses; `None` where there is nothing of these.
pub(super) fn middle_of(beach: &Beach, tables: &SandTables, places: Option<&PlaceTables>) -> Option<Middle> {
    let baseline = || {
        let legs = beach.baseline.windows(2).map(|leg| (mean(leg.iter().map(|p| (*p, 1.0))), distance_m(leg[0], leg[1])));
        mean(legs.filter_map(|(at, length_m)| Some((at?, length_m))))
    };
    let levels = || mean(tables.levels_of(beach.uid).map(|l| (l.at, 1.0)));
    let accesses = || mean(places?.accesses().values().filter(|a| a.beach == beach.uid).map(|a| (a.at, 1.0)));
    let named = |at: Option<LonLat>, of: &'static str| at.map(|at| Middle { at, of });
    named(baseline(), "baseline").or_else(|| named(levels(), "levels")).or_else(|| named(accesses(), "accesses"))
}

/// The middle of weighted places, across the date line too: the direction of the sum of their unit vectors.
fn mean(places: impl Iterator<Item = (LonLat, f64)>) -> Option<LonLat> {
    let (x, y, z) = places.fold((0.0, 0.0, 0.0), |(x, y, z), (at, weight)| {
        let (lon, lat) = (at.lon_deg().to_radians(), at.lat_deg().to_radians());
        (x + weight * lat.cos() * lon.cos(), y + weight * lat.cos() * lon.sin(), z + weight * lat.sin())
    });
    let flat = f64::hypot(x, y);
    if flat <= 0.0 {
        return None;
    }
    LonLat::new(y.atan2(x).to_degrees(), z.atan2(flat).to_degrees()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_a_line_lies_half_way_and_across_the_date_line_too() {
        let at = |lon: f64, lat: f64| LonLat::new(lon, lat).unwrap();
        // Three positions close together at one end do not draw the middle of the line to them.
        let line = [at(-4.0, 50.0), at(-3.999, 50.0), at(-3.998, 50.0), at(-3.9, 50.0)];
        let beach = Beach { baseline: line.to_vec(), ..Beach::new("Invented Bay", at(0.0, 0.0)) };
        let middle = middle_of(&beach, &SandTables::default(), None).unwrap();
        // Half way on a great circle lies 1.1e-5 degrees north of the parallel: 0.05 degrees of arc squared, times sin cos / 2.
        assert!((middle.at.lon_deg() + 3.95).abs() < 1e-6 && (middle.at.lat_deg() - 50.0).abs() < 2e-5, "{middle:?}");
        let over = mean([(at(179.9, -17.0), 1.0), (at(-179.9, -17.0), 1.0)].into_iter()).unwrap();
        assert!(over.lon_deg().abs() > 179.999 && (over.lat_deg() + 17.0).abs() < 1e-3, "{over:?}");
        assert_eq!(middle_of(&Beach::new("Bare", at(0.0, 0.0)), &SandTables::default(), None), None);
    }
}
