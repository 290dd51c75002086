//! Whether land lies between two places, by a coarse coastline.
//!
//! Natural Earth's land at 1:50,000,000 (`data/coast`): the coast can be some kilometres out, and small islands, inlets
//! and spits are not in it. So land only counts as lying between where the straight way comes [`INLAND_M`] away from
//! every coast: a bay, a headland or a narrow tongue of land is not seen.

use std::io::Read as _;
use std::sync::LazyLock;

use crate::earth::{LonLat, distance_m};

/// The straight way between beach and station must come this far from any coast to have land between, metres: well
/// above the error of the coastline. A judgement; of the 5,257 pairs of stations that ship, 15 to 100 km apart, with an
/// M2 above 0.2 m and so much land between, half differ in M2's time by more than an hour and a half.
pub(super) const INLAND_M: f64 = 10_000.0;
/// The ends lie on coasts that may be a few kilometres out, metres.
const ENDS_M: f64 = 3_000.0;
/// Steps of the way, metres.
const STEP_M: f64 = 1_000.0;
/// Metres of a degree of latitude, near enough for this.
const DEGREE_M: f64 = 111_195.0;

/// One side of a ring: two positions, degrees.
type Side = [(f64, f64); 2];

static SIDES: LazyLock<Vec<Side>> = LazyLock::new(|| {
    let mut bytes = Vec::new();
    let read = flate2::read::GzDecoder::new(&include_bytes!("../../data/coast/land-50m.bin.gz")[..]).read_to_end(&mut bytes);
    read.expect("the embedded coastline is the gzip file that the tests unpacked");
    sides(&bytes).expect("the embedded coastline is the one that the tests read")
});

/// The sides of all rings; `None` when the file breaks off.
fn sides(bytes: &[u8]) -> Option<Vec<Side>> {
    let mut rest = bytes;
    let count = |rest: &mut &[u8]| {
        let (head, tail) = rest.split_first_chunk::<4>()?;
        *rest = tail;
        Some(u32::from_le_bytes(*head) as usize)
    };
    let mut all = Vec::new();
    for _ in 0..count(&mut rest)? {
        let positions = count(&mut rest)?;
        let (ring, tail) = rest.split_at_checked(4 * positions)?;
        rest = tail;
        let degrees = |pair: &[u8], span: f64| f64::from(i16::from_le_bytes([pair[0], pair[1]])) / 32_767.0 * span;
        let ring: Vec<(f64, f64)> = ring.chunks_exact(4).map(|c| (degrees(&c[..2], 180.0), degrees(&c[2..], 90.0))).collect();
        all.extend(ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| [*a, *b]));
    }
    Some(all)
}

/// How far from every coast the straight way between two places comes while it is over land, metres; 0 where it keeps
/// to the sea. For places at most some hundred kilometres apart. O(sides x kilometres).
pub(super) fn inland_m(from: LonLat, to: LonLat) -> f64 {
    let (a, length_m) = ((from.lon_deg(), from.lat_deg()), distance_m(from, to));
    let turn = (to.lon_deg() - a.0 + 180.0).rem_euclid(360.0) - 180.0;
    let steps = (length_m / STEP_M).ceil().max(1.0) as usize;
    let mut most = 0.0_f64;
    for n in 1..steps {
        let part = n as f64 / steps as f64;
        if (part * length_m).min((1.0 - part) * length_m) < ENDS_M {
            continue;
        }
        let lon = (a.0 + part * turn + 180.0).rem_euclid(360.0) - 180.0;
        let place = (lon, a.1 + part * (to.lat_deg() - a.1));
        if within_rings(place) {
            most = most.max(from_coast_m(place));
        }
    }
    most
}

/// Whether a place lies on land.
pub(super) fn is_land(at: LonLat) -> bool {
    within_rings((at.lon_deg(), at.lat_deg()))
}

/// Whether a place lies within an odd number of rings.
fn within_rings((x, y): (f64, f64)) -> bool {
    let crosses = |[a, b]: &&Side| (a.1 > y) != (b.1 > y) && a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0) > x;
    SIDES.iter().filter(crosses).count() % 2 == 1
}

/// Distance of a place to the nearest coast, metres: right within some hundred kilometres, and large beyond.
pub(super) fn to_coast_m(at: LonLat) -> f64 {
    from_coast_m((at.lon_deg(), at.lat_deg()))
}

/// Distance to the nearest coast, metres.
fn from_coast_m((x, y): (f64, f64)) -> f64 {
    let east = DEGREE_M * y.to_radians().cos();
    let lay = |p: (f64, f64)| ((p.0 - x) * east, (p.1 - y) * DEGREE_M);
    let away_m = |[a, b]: &Side| {
        let (a, b) = (lay(*a), lay(*b));
        let d = (b.0 - a.0, b.1 - a.1);
        let t = (-(a.0 * d.0 + a.1 * d.1) / (d.0 * d.0 + d.1 * d.1).max(1e-9)).clamp(0.0, 1.0);
        (a.0 + t * d.0).hypot(a.1 + t * d.1)
    };
    SIDES.iter().map(away_m).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    #[test]
    fn land_lies_between_the_coasts_of_florida_and_not_along_one() {
        // Positions of towns by their published coordinates (GeoNames, rounded): Sarasota and Vero Beach lie on the two
        // coasts of Florida; Brighton and Eastbourne on one coast of England, Helsingborg and Copenhagen on one strait.
        assert!(inland_m(at(-82.53, 27.34), at(-80.40, 27.64)) > 50_000.0);
        assert!(inland_m(at(-0.14, 50.82), at(0.29, 50.77)) < INLAND_M);
        assert!(inland_m(at(12.69, 56.05), at(12.57, 55.68)) < INLAND_M);
        // Across Jutland, and across the line at which longitudes begin anew (Fiji, Taveuni island and the sea east of it).
        assert!(inland_m(at(8.13, 56.0), at(10.2, 56.15)) > INLAND_M);
        assert_eq!(inland_m(at(179.9, -15.0), at(-179.5, -15.0)), 0.0);
    }
}
