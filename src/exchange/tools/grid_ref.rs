//! Grid references as people write them: British and Irish letters, MGRS, UTM with its zone.

use crate::earth::{Grid, LonLat};

/// Whose grid a reference is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum System {
    British,
    Irish,
    Utm,
    Mgrs,
}

impl System {
    /// How it is called, and how far what is worked out here may be off.
    pub(in crate::exchange) fn words(self) -> &'static str {
        match self {
            Self::British => {
                "references of the British National Grid (OSGB36), brought to WGS 84 by a shift of seven parameters, which is good to \
                 about 5 m"
            }
            Self::Irish => {
                "references of the Irish Grid (TM75), brought to WGS 84 by a shift of seven parameters, which is good to about 5 m"
            }
            Self::Utm => "UTM on WGS 84, each with its zone",
            Self::Mgrs => "references of the military grid (MGRS) on WGS 84",
        }
    }
}

/// What a reference says.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::exchange) struct Reference {
    /// Where, the middle of the square it names; two places where a letter may mean a band or a half of the globe, the
    /// likelier first.
    pub(in crate::exchange) at: Vec<LonLat>,
    pub(in crate::exchange) system: System,
    /// The side of the square that it names, metres.
    pub(in crate::exchange) square_m: f64,
}

/// Coarser squares say too little of where something lay, metres.
const COARSEST_M: f64 = 1000.0;

/// The letters of a grid's squares, row by row, without I.
const LETTERS: &str = "ABCDEFGHJKLMNOPQRSTUVWXYZ";

/// Reads a reference; `None` for a text that has the form of none.
///
/// # Errors
/// A sentence on what is wrong with it.
pub(in crate::exchange) fn reference(text: &str) -> Option<Result<Reference, String>> {
    let upper = text.trim().to_uppercase();
    if !upper.is_ascii() {
        return None;
    }
    let compact: String = upper.chars().filter(|c| !c.is_whitespace()).collect();
    let letters = compact.chars().take_while(char::is_ascii_alphabetic).count();
    match letters {
        0 => mgrs(&compact).or_else(|| utm_text(&upper)),
        1 => squares(&compact, 1, System::Irish),
        2 => squares(&compact, 2, System::British),
        _ => None,
    }
}

/// The digits of a reference as metres east and north within its square of 100 km, and the side of the square they name.
fn within(digits: &str) -> Option<(f64, f64, f64)> {
    if digits.len() > 10 || digits.len() % 2 == 1 || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let (east, north) = digits.split_at(digits.len() / 2);
    let side_m = 100_000.0 / 10_f64.powi(east.len() as i32);
    let metres = |part: &str| if part.is_empty() { Some(0.0) } else { part.parse::<f64>().ok().map(|v| v * side_m) };
    Some((metres(east)? + side_m / 2.0, metres(north)? + side_m / 2.0, side_m))
}

fn coarse(side_m: f64) -> Result<(), String> {
    if side_m > COARSEST_M {
        return Err(format!("names a square of {:.0} km, which is too coarse; give more figures", side_m / 1000.0));
    }
    Ok(())
}

/// Letters and figures of the British or the Irish grid: the squares of 100 km are lettered row by row from the north
/// west, the British ones within lettered squares of 500 km (Ordnance Survey, "A guide to coordinate systems in Great
/// Britain", 7.1).
fn squares(compact: &str, letters: usize, system: System) -> Option<Result<Reference, String>> {
    let (square, digits) = compact.split_at_checked(letters)?;
    if digits.is_empty() {
        return None;
    }
    let (east_m, north_m, side_m) = within(digits)?;
    let at = |c: char| LETTERS.find(c).map(|n| (n as i32 % 5, n as i32 / 5));
    let mut squares = square.chars().map(at);
    let (column, row) = match (squares.next()??, squares.next()) {
        (irish, None) => (irish.0, 4 - irish.1),
        ((wide, high), Some(inner)) => {
            let (column, row) = inner?;
            // The false origin lies two squares of 500 km east and one north of the corner of the lettering.
            ((wide - 2) * 5 + column, (3 - high) * 5 + 4 - row)
        }
    };
    let on_grid = match system {
        System::British => (0..7).contains(&column) && (0..13).contains(&row),
        _ => (0..5).contains(&column) && (0..5).contains(&row),
    };
    if !on_grid {
        return None;
    }
    let code = if system == System::British { "EPSG:27700" } else { "EPSG:29903" };
    let (x, y) = (f64::from(column) * 1e5 + east_m, f64::from(row) * 1e5 + north_m);
    let place = coarse(side_m).and_then(|()| on(code, x, y));
    Some(place.map(|at| Reference { at: vec![at], system, square_m: side_m }))
}

fn on(code: &str, x: f64, y: f64) -> Result<LonLat, String> {
    Grid::named(code).and_then(|g| g.to_lonlat(x, y)).map_err(|e| e.to_string())
}

/// Letters of the bands of latitude, each 8 degrees high from 80 S on, the last 12.
const BANDS: &str = "CDEFGHJKLMNPQRSTUVWX";

/// The lowest and highest latitude of a band, degrees.
fn band(letter: char) -> Option<(f64, f64)> {
    let n = BANDS.find(letter)? as f64;
    Some((-80.0 + 8.0 * n, if letter == 'X' { 84.0 } else { -72.0 + 8.0 * n }))
}

fn utm_grid(zone: u8, north: bool) -> String {
    format!("EPSG:{}", if north { 32600 } else { 32700 } + u16::from(zone))
}

/// A zone and the letters and figures behind it: `30U UA 18353 52839` (NGA.STND.0037, the military grid reference system).
fn mgrs(compact: &str) -> Option<Result<Reference, String>> {
    let zone_digits = compact.bytes().take_while(u8::is_ascii_digit).count();
    let zone: u8 = compact.get(..zone_digits)?.parse().ok().filter(|z| (1..=60).contains(z))?;
    let mut rest = compact.get(zone_digits..)?.chars();
    let (band_letter, column, row) = (rest.next()?, rest.next()?, rest.next()?);
    let (low, high) = band(band_letter)?;
    let (east_m, north_m, side_m) = within(rest.as_str())?;
    // Columns are lettered from A, J or S on, by turns of three zones; rows from A in odd and from F in even zones.
    let columns = ["ABCDEFGH", "JKLMNPQR", "STUVWXYZ"].get(usize::from((zone - 1) % 3))?;
    const ROWS: &str = "ABCDEFGHJKLMNPQRSTUV";
    let column = columns.find(column)? as f64;
    let row = (ROWS.find(row)? + if zone.is_multiple_of(2) { 15 } else { 0 }) % 20;
    let found = || {
        coarse(side_m)?;
        let x = (column + 1.0) * 1e5 + east_m;
        // Rows repeat every 2,000 km; a band, a seventh of the way to the pole, holds one of them.
        let grid = Grid::named(&utm_grid(zone, band_letter >= 'N')).map_err(|e| e.to_string())?;
        let place = (0..5).find_map(|n| {
            let at = grid.to_lonlat(x, f64::from(n) * 2e6 + row as f64 * 1e5 + north_m).ok()?;
            (low - 1.0..=high + 1.0).contains(&at.lat_deg()).then_some(at)
        });
        place.ok_or_else(|| format!("its square does not lie in its band {band_letter}"))
    };
    Some(found().map(|at| Reference { at: vec![at], system: System::Mgrs, square_m: side_m }))
}

/// `30U 318353 5552839`: zone and band or half of the globe, easting, northing, parted by blanks or commas.
fn utm_text(upper: &str) -> Option<Result<Reference, String>> {
    let mut parts = upper.split(|c: char| c.is_whitespace() || c == ',').filter(|p| !p.is_empty());
    let mut zone = parts.next()?.to_owned();
    let mut next = parts.next()?;
    if next.chars().all(|c| c.is_ascii_alphabetic()) {
        zone.push_str(next);
        next = parts.next()?;
    }
    let metres = |part: &str| part.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse::<f64>().ok();
    let (east, north) = (metres(next)?, metres(parts.next()?)?);
    if parts.next().is_some() || !zone.ends_with(|c: char| c.is_ascii_alphabetic()) {
        return None;
    }
    utm(&zone, None, east, north)
}

/// A place on UTM: the zone with the letter of its band or half, `30U`, or without where the half is known otherwise.
pub(in crate::exchange) fn utm(zone: &str, north: Option<bool>, east_m: f64, north_m: f64) -> Option<Result<Reference, String>> {
    let zone: String = zone.to_uppercase().chars().filter(|c| c.is_ascii_alphanumeric()).collect();
    let digits = zone.bytes().take_while(u8::is_ascii_digit).count();
    let number: u8 = zone.get(..digits)?.parse().ok().filter(|z| (1..=60).contains(z))?;
    let letter = zone.get(digits..)?;
    let whole = |north: bool| on(&utm_grid(number, north), east_m, north_m);
    let in_band = |letter: char| {
        let (low, high) = band(letter)?;
        let at = whole(letter >= 'N').ok()?;
        (low - 0.5..=high + 0.5).contains(&at.lat_deg()).then_some(at)
    };
    let places = match (letter, letter.chars().next()) {
        ("", _) => vec![whole(north?)],
        ("NORTH", _) => vec![whole(true)],
        ("SOUTH", _) => vec![whole(false)],
        // N and S are bands as well as halves of the globe; band N lies in the northern one.
        ("N", _) => vec![whole(true)],
        ("S", _) => in_band('S').map(Ok).into_iter().chain([whole(false)]).collect(),
        (_, Some(letter)) if zone.len() == digits + 1 => {
            band(letter)?;
            vec![in_band(letter).ok_or_else(|| format!("its northing {north_m} does not lie in its band {letter}"))]
        }
        _ => return None,
    };
    let at: Result<Vec<LonLat>, String> = places.into_iter().collect();
    Some(at.map(|at| Reference { at, system: System::Utm, square_m: 1.0 }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::distance_m;

    fn place(text: &str) -> LonLat {
        reference(text).unwrap().unwrap().at[0]
    }

    fn at(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    /// Caister Water Tower: easting 651409.804, northing 313177.450 on OSGB36 and 52.658007833 N, 1.716073973 E on ETRS89
    /// (Ordnance Survey, "Transformations and OSGM15 user guide", annexe A, by the exact transformation OSTN15). The shift of
    /// seven parameters is "good to about 5 m" against that (the same, "A guide to coordinate systems in Great Britain", 6.6).
    #[test]
    fn a_british_reference_lies_where_ordnance_survey_s_own_example_does() {
        let tower = at(1.716_073_973, 52.658_007_833);
        let off_m = distance_m(place("TG 51409 13177"), tower);
        assert!(off_m < 5.0, "{off_m} m");
        assert!(off_m > 0.5, "the shift has an error, which is told: {off_m} m");
        // Fewer figures name larger squares, and their middle lies in them.
        for (text, square_m) in [("TG5140913177", 1.0), ("TG 5140 1317", 10.0), ("tg 514 131", 100.0), ("TG5113", 1000.0)] {
            let read = reference(text).unwrap().unwrap();
            assert_eq!((read.square_m, read.system), (square_m, System::British), "{text}");
            assert!(distance_m(read.at[0], tower) < 5.0 + square_m, "{text}");
        }
        assert!(reference("TG 51").unwrap().is_err(), "10 km are too coarse");
    }

    /// PROJ 9.5.1 by pyproj 3.7.2: EPSG:4326 to EPSG:29903, by the same shift.
    #[test]
    fn an_irish_reference_lies_where_proj_puts_it() {
        for (text, lon, lat) in [("O 15900 34671", -6.2603, 53.3498), ("W6548049785", -8.5, 51.7), ("C 44845 17171", -7.3, 55.0)]
        {
            let off_m = distance_m(place(text), at(lon, lat));
            assert!(off_m < 1.5, "{text}: {off_m} m");
        }
    }

    /// PyPI mgrs 1.6.0 (GEOTRANS), which gives the corner of each square of one metre.
    #[test]
    fn military_references_lie_where_another_library_puts_them() {
        for (lon, lat, text) in [
            (-5.54, 50.10, "30UUA1835352839"),
            (-20.0001, 45.0001, "27TWK7880783447"),
            (151.28, -33.89, "56HLH4094848709"),
            (-70.9, -53.2, "19FCB7308603795"),
            (9.98, 54.32, "32UNF6374319568"),
            (5.3, 60.4, "32VKN9619101684"),
            (0.5, 0.5, "31NBA2173455318"),
            (-0.5, -0.5, "30MYE7826544681"),
            (-157.83, 21.27, "04QFJ2138252479"),
            (178.4, -18.1, "60KXE4813598188"),
            (32.3, 35.1, "36SVD3620184356"),
            (-5.54, 83.2, "30XVT6643439524"),
            (3.0, 63.9, "32VKR0580899721"),
        ] {
            let read = reference(text).unwrap().unwrap();
            assert_eq!(read.system, System::Mgrs);
            let off_m = distance_m(read.at[0], at(lon, lat));
            assert!(off_m < 1.5, "{text}: {off_m} m");
        }
        assert_eq!(place("4Q FJ 21382 52479"), place("04QFJ2138252479"));
    }

    /// PROJ by pyproj gave these for the places above.
    #[test]
    fn utm_with_its_zone_in_every_spelling() {
        let wanted = at(-5.54, 50.10);
        for text in [
            "30U 318353 5552839",
            "30 U 318353 5552839",
            "30N, 318353, 5552839",
            "30U 318353mE 5552839mN",
            "30u 318353.4 5552839.2",
        ] {
            let off_m = distance_m(place(text), wanted);
            assert!(off_m < 1.5, "{text}: {off_m} m");
        }
        assert!(distance_m(utm("30", Some(true), 318_353.0, 5_552_839.0).unwrap().unwrap().at[0], wanted) < 1.5);
        // S is a band in the north and half of the globe: here only one of them can be.
        assert!(reference("56S 340948 6248709").unwrap().unwrap().at.iter().all(|at| at.lat_deg() < 0.0));
        let two = reference("36S 436201 3884356").unwrap().unwrap().at;
        assert!(two.len() == 2 && (two[0].lat_deg() - 35.1).abs() < 0.01 && two[1].lat_deg() < 0.0, "{two:?}");
        assert!(reference("30W 318353 5552839").unwrap().is_err(), "the northing lies in band U");
    }

    #[test]
    fn what_has_the_form_of_no_reference_is_none() {
        for text in [
            "",
            "TQ",
            "II1234",
            "TQ123",
            "TQ12345678901",
            "ZZ1234",
            "I1234",
            "61UUA1234",
            "30IUA1234",
            "50.1, -5.5",
            "50 06 5 30",
            "near the pier",
            "30U 318353",
            "30U x y",
            "30U 1 2 3",
            "é30",
            "N50.1 W5.5",
            "30YAA1234",
        ] {
            assert!(reference(text).is_none(), "{text}: {:?}", reference(text));
        }
    }
}
