//! What more ground swept would make clusters surer.

use super::cluster::Cluster;
use crate::reading::given::WeightChoice;
use crate::reading::params::Params;
use crate::reading::rates::{Yield, surer};
use crate::reading::scan::{ScanRun, told_from};

/// Says of each cluster what would make it surer: the ground that would halve the interval of its rate, and how
/// many finds there are told from luck.
pub(in crate::reading) fn tell_surer(clusters: &mut [Cluster], whole: &Yield, runs: &[ScanRun], params: &Params) {
    for c in clusters {
        let beach = match c.of {
            WeightChoice::All => whole.rate,
            WeightChoice::Heavy => whole.rate_heavy,
            WeightChoice::Light => whole.rate_light,
        };
        let found = c.uids.len();
        c.surer = match (c.rate, c.swept_m2) {
            (Some(rate), Some(_)) => {
                let expected = beach.map_or(0.0, |b| b.per_100m2 * rate.exposure_m2 / 100.0);
                let from = told_from(expected, c.of, runs, params).map_or_else(String::new, |from| {
                    format!(
                        "; the rate of the beach would give {expected:.1} for the searching done in it, and more than luck gives are \
                         {from:.0} and above: it has {found}"
                    )
                });
                format!("{}{from}", surer("inside it", &rate))
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
