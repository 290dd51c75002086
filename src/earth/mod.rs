//! Where things are: positions on the globe and a beach's own flat metres.
//!
//! Longitudes and latitudes are WGS 84 degrees ([`LonLat`]); everything that is measured
//! happens in a transverse Mercator plane centred on the beach ([`Frame`], [`Local`]).

mod frame;
mod geodesic;
mod grid;
mod lonlat;
mod square;

pub use frame::{Frame, Local};
pub use geodesic::{bearing_deg, distance_m};
pub use grid::Grid;
pub use lonlat::LonLat;
pub use square::{EarthSquare, SquareSide};

/// A distance for a person: "8 m", "270 m", "3.4 km", "120 km".
pub fn distance_words(distance_m: f64) -> String {
    if distance_m < 99.5 {
        format!("{distance_m:.0} m")
    } else if distance_m < 995.0 {
        format!("{:.0} m", (distance_m / 10.0).round() * 10.0)
    } else if distance_m < 9_950.0 {
        format!("{:.1} km", distance_m / 1000.0)
    } else {
        format!("{:.0} km", distance_m / 1000.0)
    }
}

/// What can be wrong with a position.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EarthError {
    /// Latitude is not a number between -90 and 90.
    #[error("latitude {0} is outside -90 to 90 degrees; check that latitude and longitude are not swapped")]
    Latitude(f64),
    /// Longitude is not a number between -180 and 180.
    #[error("longitude {0} is outside -180 to 180 degrees")]
    Longitude(f64),
    /// A position too far from the frame's centre to be projected.
    #[error("the position {0} is too far from the beach to be drawn on it")]
    TooFar(LonLat),
    /// A coordinate grid that is not known here.
    #[error("the coordinate grid \"{0}\" is not known; give an EPSG code such as EPSG:27700 or EPSG:32630")]
    UnknownGrid(String),
    /// Grid coordinates that do not lead to a place on earth.
    #[error("the grid position {x}, {y} does not lie on {grid}")]
    OffGrid {
        /// First coordinate (easting), metres.
        x: f64,
        /// Second coordinate (northing), metres.
        y: f64,
        /// Name of the grid.
        grid: String,
    },
}

#[cfg(test)]
mod tests {
    use super::distance_words;

    #[test]
    fn distances_have_two_figures_or_more_from_ten_metres_on() {
        let said = [0.0, 4.0, 268.0, 994.0, 996.0, 3_449.0, 9_949.0, 9_951.0, 123_456.0].map(distance_words);
        assert_eq!(said, ["0 m", "4 m", "270 m", "990 m", "1.0 km", "3.4 km", "9.9 km", "10 km", "123 km"]);
    }
}
