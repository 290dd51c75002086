//! The ground swept within clusters, and what more of it would make them surer.

use geo::{BoundingRect, Contains};
use geo_types::{Coord, Polygon};

use super::band::round_up;
use super::visits::Visits;
use super::{Cluster, Of, Params, ScanRun, Yield, power};
use crate::shore::{Shore, ShorePoint};

/// Ground swept within an outline, m²: of the squares whose middle lies in it.
pub(super) fn swept_in(hull: &Polygon<f64>, shore: &Shore, visits: &Visits) -> f64 {
    let by_shore = |c: &Coord<f64>| {
        let s = shore.to_shore((*c).into());
        Coord { x: s.along_m, y: s.across_m }
    };
    let outline = Polygon::new(hull.exterior().0.iter().map(by_shore).collect(), Vec::new());
    let Some(bounds) = outline.bounding_rect() else { return 0.0 };
    let middle = ShorePoint::new(bounds.center().x, bounds.center().y);
    let near = visits.squares_near(middle, 0.5 * bounds.width(), 0.5 * bounds.height());
    let inside = near.filter(|n| {
        let s = visits.middle(*n);
        outline.contains(&Coord { x: s.along_m, y: s.across_m })
    });
    inside.map(|n| visits.swept_m2(n)).sum()
}

/// Says of each cluster what would make it surer: the ground that would halve the interval of its rate, and how
/// many finds there are told from luck.
pub(super) fn tell_surer(clusters: &mut [Cluster], whole: &Yield, runs: &[ScanRun], params: &Params) {
    for c in clusters {
        let beach = match c.of {
            Of::All => whole.rate,
            Of::Heavy => whole.rate_heavy,
            Of::Light => whole.rate_light,
        };
        let found = c.uids.len();
        c.surer = match (c.rate, c.swept_m2) {
            (Some(rate), Some(swept_m2)) => {
                let expected = beach.map_or(0.0, |b| b.rate_per_100m2 * swept_m2 / 100.0);
                let from = power::told_from(expected, c.of, runs, params).map_or_else(String::new, |from| {
                    format!(
                        "; the rate of the beach would give {expected:.1} on the {swept_m2:.0} m² swept in it, and more than luck \
                         gives are {from:.0} and above: it has {found}"
                    )
                });
                format!("another {} m² swept inside it would halve the interval of its rate{from}", round_up(rate.to_halve_m2))
            }
            (None, Some(_)) => {
                format!("ground swept inside it: tracks show none of its {:.0} m², though {found} finds lie there", c.area_m2)
            }
            _ => format!(
                "tracks over it: {found} finds on {:.0} m² may only show where one walked, as long as no ground is known as swept",
                c.area_m2
            ),
        };
    }
}
