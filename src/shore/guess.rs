use super::ShoreError;
use crate::book::{LevelPoint, Seaward};
use crate::earth::{Frame, Local, LonLat};

/// A baseline made up from the data, with the sentence that says so.
#[derive(Debug, Clone, PartialEq)]
pub struct GuessedBaseline {
    /// Its two ends.
    pub line: Vec<LonLat>,
    /// The hand on which the sea lies; only a coin's toss when `side_known` is false.
    pub seaward: Seaward,
    /// Whether the levels show on which side the sea lies.
    pub side_known: bool,
    /// What was guessed and from what, as a sentence to be shown.
    pub said: String,
}

/// The share of positions at each end that is taken for strays.
const STRAYS: f64 = 0.005;

/// Guesses a straight baseline from levels, and from the positions of finds or tracks.
///
/// With three levels or more that fall in one direction (a plane fitted by least squares explains
/// at least half of their variance), the line lies across the fall, with the sea below. Otherwise
/// it follows the principal axis of all positions, and the side of the sea is taken from the trend
/// of the levels if there are any, else it is not known. The line runs along the landward edge of
/// the positions, the outermost 0.5 % taken for strays.
///
/// # Errors
/// [`ShoreError::NothingToGuessFrom`] when all positions lie within a metre.
pub fn guess_baseline<'a>(
    frame: &Frame,
    levels: impl IntoIterator<Item = &'a LevelPoint>,
    places: impl IntoIterator<Item = LonLat>,
) -> Result<GuessedBaseline, ShoreError> {
    let heights: Vec<(Local, f64)> =
        levels.into_iter().filter_map(|l| frame.to_local(l.at).ok().map(|p| (p, l.level_m))).collect();
    let mut points: Vec<Local> = heights.iter().map(|(p, _)| *p).collect();
    points.extend(places.into_iter().filter_map(|p| frame.to_local(p).ok()));
    let fall = fall_of(&heights);
    let axis = principal_axis(&points).ok_or(ShoreError::NothingToGuessFrom(points.len()))?;
    let (ahead, side_known, from) = match fall {
        // Walking with the sea on the right, the fall points to the right of the way ahead.
        Some(Fall { towards, explained }) if explained >= 0.5 => {
            (Local::new(-towards.north_m, towards.east_m), true, format!("from the fall of {} levels", heights.len()))
        }
        Some(Fall { towards, .. }) => {
            let right = Local::new(axis.north_m, -axis.east_m);
            let flip = if right.east_m * towards.east_m + right.north_m * towards.north_m < 0.0 { -1.0 } else { 1.0 };
            (
                Local::new(axis.east_m * flip, axis.north_m * flip),
                true,
                format!("along the longer side of {} positions, the sea on the side of the lower levels", points.len()),
            )
        }
        None => (axis, false, format!("along the longer side of {} positions", points.len())),
    };
    let sea = Local::new(ahead.north_m, -ahead.east_m);
    let (begin_m, end_m) = inner_range(points.iter().map(|p| p.east_m * ahead.east_m + p.north_m * ahead.north_m));
    let (back_m, _) = inner_range(points.iter().map(|p| p.east_m * sea.east_m + p.north_m * sea.north_m));
    // A guess from a single profile would have no length: give it some to be seen by.
    let (begin_m, end_m) = if end_m - begin_m < 20.0 { (begin_m - 10.0, end_m + 10.0) } else { (begin_m, end_m) };
    let at = |along_m: f64| {
        frame.to_lonlat(Local::new(ahead.east_m * along_m + sea.east_m * back_m, ahead.north_m * along_m + sea.north_m * back_m))
    };
    let side = if side_known { "" } else { "; on which side the sea lies is not known and must be checked" };
    Ok(GuessedBaseline {
        line: vec![at(begin_m)?, at(end_m)?],
        seaward: Seaward::Right,
        side_known,
        said: format!("the baseline was guessed {from}: a straight line along their landward edge{side}"),
    })
}

/// Unit direction of the largest spread, eastward where it can be.
fn principal_axis(points: &[Local]) -> Option<Local> {
    let n = points.len() as f64;
    let mean = points.iter().fold(Local::default(), |m, p| Local::new(m.east_m + p.east_m / n, m.north_m + p.north_m / n));
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (x, y) = (p.east_m - mean.east_m, p.north_m - mean.north_m);
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
    }
    if points.len() < 2 || (xx + yy) / n < 0.25 {
        return None;
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    Some(Local::new(turn.cos(), turn.sin()))
}

struct Fall {
    /// Unit direction downhill.
    towards: Local,
    /// Share of the levels' variance that the plane explains.
    explained: f64,
}

/// Downhill direction of the plane fitted to levels by least squares.
fn fall_of(heights: &[(Local, f64)]) -> Option<Fall> {
    let n = heights.len() as f64;
    if heights.len() < 3 {
        return None;
    }
    let (mut e, mut m, mut h) = (0.0, 0.0, 0.0);
    for (p, z) in heights {
        (e, m, h) = (e + p.east_m / n, m + p.north_m / n, h + z / n);
    }
    let (mut xx, mut xy, mut yy, mut xz, mut yz, mut zz) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (p, z) in heights {
        let (x, y, z) = (p.east_m - e, p.north_m - m, z - h);
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
        (xz, yz, zz) = (xz + x * z, yz + y * z, zz + z * z);
    }
    // A trace of ridge keeps a single straight profile solvable: its fall is then along itself.
    let ridge = 1e-9 * (xx + yy);
    let (xx, yy) = (xx + ridge, yy + ridge);
    let det = xx * yy - xy * xy;
    if det <= 0.0 || zz <= 0.0 {
        return None;
    }
    let (gx, gy) = ((xz * yy - yz * xy) / det, (yz * xx - xz * xy) / det);
    let steep = gx.hypot(gy);
    (steep > 1e-6).then(|| Fall { towards: Local::new(-gx / steep, -gy / steep), explained: (gx * xz + gy * yz) / zz })
}

/// Smallest and largest value without the strays at either end.
fn inner_range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let strays = (sorted.len() as f64 * STRAYS) as usize;
    match (sorted.get(strays), sorted.get(sorted.len().saturating_sub(1 + strays))) {
        (Some(low), Some(high)) => (*low, *high),
        _ => (0.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Uid;

    fn frame() -> Frame {
        Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap()
    }

    fn level(frame: &Frame, east_m: f64, north_m: f64, level_m: f64) -> LevelPoint {
        LevelPoint {
            uid: Uid::fresh(),
            beach: Uid::fresh(),
            at: frame.to_lonlat(Local::new(east_m, north_m)).unwrap(),
            level_m,
            sigma_m: None,
            date: None,
            survey: String::new(),
        }
    }

    #[test]
    fn the_fall_of_the_levels_wins_over_the_longer_side() {
        // A survey longer across (north-south) than along, falling to the south.
        let f = frame();
        let levels: Vec<_> =
            (0..60).map(|n| level(&f, f64::from(n % 3) * 10.0, -f64::from(n / 3) * 8.0, 3.0 - f64::from(n / 3) * 0.2)).collect();
        let guess = guess_baseline(&f, &levels, []).unwrap();
        assert!(guess.side_known);
        let ends: Vec<_> = guess.line.iter().map(|p| f.to_local(*p).unwrap()).collect();
        // Sea on the right and to the south: the line runs west to east... and lies on the northern edge.
        assert!(ends[1].east_m - ends[0].east_m > 15.0 && guess.seaward == Seaward::Right, "{ends:?}");
        assert!(ends.iter().all(|p| p.north_m.abs() < 1.0), "{ends:?}");
    }

    #[test]
    fn without_levels_the_side_is_said_to_be_unknown() {
        let f = frame();
        let places: Vec<_> = (0..50).map(|n| f.to_lonlat(Local::new(f64::from(n) * 10.0, f64::from(n % 5))).unwrap()).collect();
        let guess = guess_baseline(&f, &[], places).unwrap();
        assert!(!guess.side_known && guess.said.contains("not known"));
    }

    #[test]
    fn nothing_comes_from_one_place() {
        let f = frame();
        assert!(guess_baseline(&f, &[], [f.origin(); 9]).is_err());
        assert!(guess_baseline(&f, &[], []).is_err());
    }
}
