use proj4rs::{adaptors::transform_vertex_2d, proj::Proj};

use super::{EarthError, LonLat};

/// A projected coordinate grid by its EPSG code, as a file may declare it (`EPSG:32630`).
///
/// Datum shifts are the seven-parameter ones of the EPSG definitions: for grids on an old datum
/// (British National Grid among them) that leaves an error of up to about 5 m.
pub struct Grid {
    name: String,
    grid: Proj,
    globe: Proj,
}

impl Grid {
    /// The grid a text names: `EPSG:27700`, `epsg 32630` or the bare number.
    ///
    /// # Errors
    /// [`EarthError::UnknownGrid`] when the text is no known code or is not a projected grid.
    pub fn named(text: &str) -> Result<Self, EarthError> {
        let unknown = || EarthError::UnknownGrid(text.trim().to_owned());
        let digits = text.trim().trim_start_matches(|c: char| !c.is_ascii_digit());
        let code: u16 = digits.parse().map_err(|_| unknown())?;
        let grid = Proj::from_epsg_code(code).map_err(|_| unknown())?;
        let globe = Proj::from_proj_string("+proj=longlat +datum=WGS84 +no_defs").map_err(|_| unknown())?;
        Ok(Self { name: format!("EPSG:{code}"), grid, globe })
    }

    /// Its name, `EPSG:` and the code.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The WGS 84 position of easting `x` and northing `y` (degrees when the grid is geographic).
    ///
    /// # Errors
    /// [`EarthError::OffGrid`] when the pair leads nowhere on earth.
    pub fn to_lonlat(&self, x: f64, y: f64) -> Result<LonLat, EarthError> {
        let off = || EarthError::OffGrid { x, y, grid: self.name.clone() };
        let from = if self.grid.is_latlong() { (x.to_radians(), y.to_radians()) } else { (x, y) };
        let (lon, lat) = transform_vertex_2d(&self.grid, &self.globe, from).map_err(|_| off())?;
        LonLat::new(lon.to_degrees(), lat.to_degrees()).map_err(|_| off())
    }
}
