use crate::book::{FindTables, Uid};
use crate::earth::LonLat;

/// Where the water's edge stood at a moment, as somebody noted it of a find.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InWash {
    pub(super) outing: Uid,
    /// Seconds since 1970.
    pub(super) time_s: f64,
    pub(super) at: LonLat,
}

/// The finds of a beach that were noted at the water's edge, with their outing and time, in order of uid. Few are, and
/// so an edit of any other find changes nothing of what is heard.
pub fn in_wash(tables: &FindTables, beach: Uid) -> Vec<InWash> {
    let noted = tables.finds_of(beach).filter(|f| noted_in_wash(&f.notes) || noted_in_wash(&f.what));
    let of =
        |f: &crate::book::Find| Some(InWash { outing: f.outing?, time_s: f.time?.as_millisecond() as f64 / 1000.0, at: f.at });
    noted.filter_map(of).collect()
}

/// Whether somebody noted that this was found at the water's edge itself.
fn noted_in_wash(notes: &str) -> bool {
    let said = notes.to_lowercase();
    ["in the wash", "in the swash", "at the water's edge", "at the edge of the water", "at the waterline"]
        .iter()
        .any(|words| said.contains(words))
}
