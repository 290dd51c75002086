//! Accesses that are no way off the sand at high water.

use super::ground::bars::Bars;
use super::ground::cells::{Cells, Sand};
use super::ground::chord_plane::ChordPlane;
use super::ground::footing::{Footing, footings};
use super::params::Params;
use super::tables::AccessTables;
use crate::book::Access;
use crate::earth::Local;
use crate::shore::Setting;
use crate::trust::{Doubt, Weight};

/// The doubt that an access is a way off has a key that begins so, with the access's name after it.
pub(super) fn key_of(access: &str) -> String {
    format!("access-off:{access}:")
}

/// What is to be said of the accesses of a beach at high water springs, with the margins that dry windows keep. Nothing
/// where sand and water are not both known.
pub fn of_accesses(setting: &Setting, tables: &AccessTables) -> Vec<Doubt> {
    laid(setting, tables).unwrap_or_default()
}

fn laid(setting: &Setting, tables: &AccessTables) -> Option<Vec<Doubt>> {
    let shore = setting.shore.as_ref().ok().filter(|s| s.is_surveyed())?;
    let (offset_m, usual) = (shore.datum_offset_m().ok()?, Params::default());
    let high = setting.marks.iter().filter(|m| m.name != "HAT").max_by(|a, b| a.level_m.total_cmp(&b.level_m))?;
    let mine = tables.accesses().values().filter(|a| a.beach == setting.beach.uid);
    let (accesses, places): (Vec<&Access>, Vec<Local>) =
        mine.filter_map(|a| Some((a, shore.frame().to_local(a.at).ok()?))).unzip();
    let sand = Sand { shore, offset_m, sigmas: usual.sand_sigmas, lower_m: 0.0 };
    // What bars the way may bar it at some states of the tide alone: here it is looked for on foot.
    let bars = Bars { lines: Vec::new(), areas: Vec::new() };
    let cells = Cells::cut(&sand, ChordPlane::along(&shore.baseline().points())?, &bars, usual.cell_m)?;
    let water_m = high.level_m + setting.water_margin_m();
    let told = |(access, footing): (&Access, Option<Footing>)| {
        let Footing { own_m, way_m } = footing.filter(|f| f.way_m < water_m)?;
        let how = if own_m < water_m {
            format!(
                "lies on sand that the water covers at {} with the margins ({own_m:.1} m, water up to {water_m:.1} m above the tide's datum)",
                high.name
            )
        } else if way_m.is_finite() {
            format!(
                "is an island at {} with the margins: by the levels no way from it to the back of the beach stays dry then",
                high.name
            )
        } else {
            "has no surveyed way to the back of the beach: it may be an island at high water".to_owned()
        };
        Some(Doubt {
            spans: Vec::new(),
            key: format!("{}{own_m:.1},{way_m:.1}", key_of(&access.name)),
            sentence: format!("The access \"{}\" {how}. Whoever comes back to it is not off the water.", access.name),
            weight: Weight::Question,
            settle: vec!["Put the access where steps, a slip or a path leave the beach, or leave it out if none does; other accesses are taken first.".to_owned()],
        })
    };
    Some(accesses.into_iter().zip(footings(&cells, &sand, &places)).filter_map(told).collect())
}
