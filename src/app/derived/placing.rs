use std::sync::Arc;

use super::{DrawnPlace, DrawnPoint};
use crate::earth::{EarthError, Frame, Local, LonLat};
use crate::shore::{Setting, Shore, ShorePoint};

/// Puts positions onto the drawing: land at the top, the shore level across the screen.
///
/// A [`Setting`] has the sea on the right hand of its baseline, so along runs to the right and
/// across runs down.
#[derive(Clone)]
pub(crate) struct Placing {
    frame: Frame,
    /// Unit vector of the plane that points right on the screen; down is a quarter turn clockwise.
    right: Local,
    shore: Option<Arc<Shore>>,
}

impl Placing {
    /// The placing of a beach; without a shore, north is at the top and nothing can be straightened.
    ///
    /// # Errors
    /// [`EarthError`] when no plane can be laid at the beach.
    pub(crate) fn new(setting: &Setting) -> Result<Self, EarthError> {
        let shore = setting.shore.as_ref().ok().cloned();
        let frame = match &shore {
            Some(shore) => shore.frame().clone(),
            None => Frame::centred_on(setting.beach.origin)?,
        };
        let ends = shore.as_ref().and_then(|s| {
            let points = s.baseline().points();
            Some((*points.first()?, *points.last()?))
        });
        let right = ends.filter(|(a, b)| a.distance_m(*b) > 0.0).map_or(Local::new(1.0, 0.0), |(a, b)| {
            let d = a.distance_m(b);
            Local::new((b.east_m - a.east_m) / d, (b.north_m - a.north_m) / d)
        });
        Ok(Self { frame, right, shore })
    }

    /// The shore, when the beach has a baseline.
    pub(crate) fn shore(&self) -> Option<&Arc<Shore>> {
        self.shore.as_ref()
    }

    /// Where a place of the plane lies on the drawing.
    pub(crate) fn of_local(&self, p: Local) -> DrawnPlace {
        let lies = self.turned(p);
        [lies, self.shore.as_ref().map_or(lies, |s| straightened(s.to_shore(p)))]
    }

    /// Where a position lies on the drawing.
    ///
    /// # Errors
    /// [`EarthError`] when it cannot belong to the beach.
    pub(crate) fn of(&self, p: LonLat) -> Result<DrawnPlace, EarthError> {
        Ok(self.of_local(self.frame.to_local(p)?))
    }

    /// Where a place along and across lies on the drawing.
    pub(crate) fn of_shore(&self, s: ShorePoint) -> DrawnPlace {
        let straight = straightened(s);
        [self.shore.as_ref().map_or(straight, |shore| self.turned(shore.to_local(s))), straight]
    }

    /// The place of the plane that lies there on the drawing.
    pub(crate) fn to_local(&self, lay: usize, spot: DrawnPoint) -> Local {
        let (x, y) = (f64::from(spot[0]), f64::from(spot[1]));
        match &self.shore {
            Some(shore) if lay == 1 => shore.to_local(ShorePoint::new(x, y)),
            _ => {
                let (c, s) = (self.right.east_m, self.right.north_m);
                Local::new(x * c + y * s, x * s - y * c)
            }
        }
    }

    /// Metres along and across of a spot on the drawing, when the beach has a baseline.
    pub(crate) fn to_shore(&self, lay: usize, spot: DrawnPoint) -> Option<ShorePoint> {
        let shore = self.shore.as_ref()?;
        Some(match lay {
            1 => ShorePoint::new(f64::from(spot[0]), f64::from(spot[1])),
            _ => shore.to_shore(self.to_local(lay, spot)),
        })
    }

    /// The position of a spot on the drawing.
    ///
    /// # Errors
    /// [`EarthError`] when it leads off the map.
    pub(crate) fn to_lonlat(&self, lay: usize, spot: DrawnPoint) -> Result<LonLat, EarthError> {
        self.frame.to_lonlat(self.to_local(lay, spot))
    }

    /// Direction of grid north on the screen as a unit vector (`x` right, `y` down).
    pub(crate) fn north(&self) -> [f32; 2] {
        [self.right.north_m as f32, -self.right.east_m as f32]
    }

    fn turned(&self, p: Local) -> DrawnPoint {
        let (c, s) = (self.right.east_m, self.right.north_m);
        [(p.east_m * c + p.north_m * s) as f32, (p.east_m * s - p.north_m * c) as f32]
    }
}

fn straightened(s: ShorePoint) -> DrawnPoint {
    [s.along_m as f32, s.across_m as f32]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Book, Edit, Seaward};

    /// An invented shore facing the given way: its baseline runs along the bearing, sea on a side.
    fn placing(bearing_deg: f64, seaward: Seaward) -> Placing {
        let origin = LonLat::new(-20.0, 45.0).unwrap();
        let frame = Frame::centred_on(origin).unwrap();
        let (s, c) = bearing_deg.to_radians().sin_cos();
        let at = |m: f64, off: f64| frame.to_lonlat(Local::new(m * s + off * c, m * c - off * s)).unwrap();
        let mut beach = Beach::new("Invented Bay", origin);
        beach.baseline = vec![at(-300.0, 0.0), at(0.0, 4.0), at(300.0, 0.0)];
        beach.seaward = seaward;
        let uid = beach.uid;
        let mut book = Book::new();
        book.apply(&Edit::put(beach)).unwrap();
        Placing::new(&Setting::from_book(&book, uid).unwrap()).unwrap()
    }

    #[test]
    fn the_sea_is_at_the_bottom_whichever_way_the_beach_faces() {
        for bearing in [0.0, 37.0, 90.0, 200.0, 300.0] {
            for side in [Seaward::Left, Seaward::Right] {
                let p = placing(bearing, side);
                let (land, sea) = (p.of_shore(ShorePoint::new(300.0, 0.0)), p.of_shore(ShorePoint::new(300.0, 80.0)));
                for lay in 0..2 {
                    assert!(sea[lay][1] - land[lay][1] > 79.0, "{bearing} {side} {lay}");
                    assert!((sea[lay][0] - land[lay][0]).abs() < 3.0);
                }
            }
        }
    }

    #[test]
    fn a_spot_comes_back_in_both_lays() {
        for side in [Seaward::Left, Seaward::Right] {
            let p = placing(122.0, side);
            let at = ShorePoint::new(140.0, 55.0);
            for (lay, spot) in p.of_shore(at).into_iter().enumerate() {
                let back = p.to_shore(lay, spot).unwrap();
                assert!((back.along_m - at.along_m).abs() < 0.01 && (back.across_m - at.across_m).abs() < 0.01, "{back:?}");
                let there = p.of(p.to_lonlat(lay, spot).unwrap()).unwrap();
                assert!((there[lay][0] - spot[0]).abs() < 0.01 && (there[lay][1] - spot[1]).abs() < 0.01);
            }
        }
    }

    #[test]
    fn north_turns_with_the_beach() {
        // A shore that runs east with the sea in the south lies as a map does.
        let n = placing(90.0, Seaward::Right).north();
        assert!(n[0].abs() < 1e-3 && (n[1] + 1.0).abs() < 1e-3, "{n:?}");
        // One with the sea in the north is turned upside down.
        let n = placing(90.0, Seaward::Left).north();
        assert!((n[1] - 1.0).abs() < 1e-3, "{n:?}");
    }
}
