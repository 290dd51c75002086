//! What is asked of a reading, and which part of it is shown.

use crate::book::{Beach, ClusterMethod};
use crate::effort;
use crate::query::drawing::Span;
use crate::reading::{ClusterBy, Filter, Params, WeightChoice};

/// What is asked of a reading and which part of it is shown.
#[derive(Debug, Clone)]
pub(crate) struct ReadView {
    /// A reading is made from the first time the sheet is opened.
    pub(crate) wanted: bool,
    /// Which finds and outings; the weight is a matter of what is shown and never part of it.
    pub(crate) filter: Filter,
    /// How the beach is read, while it is being changed; the beach keeps it.
    pub(crate) draft: Option<ReadSettings>,
    pub(crate) weight: WeightChoice,
    /// Whether the choices of finds and outings are open.
    pub(crate) choosing: bool,
    pub(crate) typed: TypedDates,
    /// The part or verdict to open by the beginning of its name, until a key or button is pressed.
    pub(crate) part: Option<String>,
    /// Whether every verdict is listed.
    pub(crate) all_verdicts: bool,
    /// Which storm's before and after are shown, by its place in the reading; all together when `None`.
    pub(crate) storm: Option<usize>,
    /// What Time showed before a verdict was picked.
    pub(crate) time_before: Option<Span>,
    /// The distance on the control, kept while the reading finds its own.
    pub(crate) radius_m: f64,
}

impl Default for ReadView {
    fn default() -> Self {
        Self {
            wanted: false,
            filter: Filter::default(),
            draft: None,
            weight: WeightChoice::All,
            choosing: false,
            typed: TypedDates::default(),
            part: None,
            all_verdicts: false,
            storm: None,
            time_before: None,
            radius_m: 8.0,
        }
    }
}

impl ReadView {
    /// Takes every find and every outing again.
    pub(crate) fn clear_filter(&mut self) {
        self.weight = WeightChoice::All;
        self.set_filter(Filter::default());
    }

    /// Takes these finds and outings from now on.
    pub(crate) fn set_filter(&mut self, filter: Filter) {
        self.typed = TypedDates::from_filter(&filter);
        self.filter = filter;
    }
}

/// How a beach is read, as the controls have it: a figure for each, the usual one where nothing was set.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadSettings {
    /// What counts as searched, and how wide.
    pub(crate) effort: effort::Params,
    pub(crate) cluster_by: ClusterBy,
    /// Finds this near to each other belong together; taken from the finds when `None`, metres. Of no
    /// account when clusters are made by density.
    pub(crate) radius_m: Option<f64>,
    /// Finds that make the core of a cluster; by density, the least finds of one.
    pub(crate) least: usize,
    /// Chance that one pass finds what lies under it, 0 to 1.
    pub(crate) per_pass: f64,
    /// Share by which the effort in one place may be misjudged.
    pub(crate) effort_error: f64,
}

impl ReadSettings {
    /// As they are kept with a beach.
    pub(crate) fn kept_with(beach: &Beach) -> Self {
        let params = Params::from_settings(&beach.reading);
        Self {
            effort: effort::Params::from_settings(&beach.search),
            cluster_by: params.cluster_by,
            radius_m: beach.reading.cluster_distance_m,
            least: params.cluster_points,
            per_pass: params.detection_per_pass,
            effort_error: params.effort_error,
        }
    }

    /// The beach that keeps them: what was set back to the usual is not set any more.
    pub(crate) fn put_into(&self, beach: &Beach) -> Beach {
        fn kept<T: PartialEq + Copy>(was: Option<T>, usual: T, now: T) -> Option<T> {
            if was.unwrap_or(usual) == now { was } else { Some(now).filter(|n| *n != usual) }
        }
        let (effort, usual) = (effort::Params::default(), Params::default());
        let (mut search, mut reading) = (beach.search, beach.reading);
        search.swing_m = kept(search.swing_m, effort.swing_m, self.effort.swing_m);
        search.overlap = kept(search.overlap, effort.overlap, self.effort.overlap);
        search.walk_m_per_s = kept(search.walk_m_per_s, effort.walk_m_per_s, self.effort.walk_m_per_s);
        search.turn_deg = kept(search.turn_deg, effort.turn_deg, self.effort.turn_deg);
        let method = |by: ClusterBy| match by {
            ClusterBy::Dbscan => ClusterMethod::Dbscan,
            ClusterBy::Hdbscan => ClusterMethod::Hdbscan,
        };
        reading.cluster_by = kept(reading.cluster_by, method(usual.cluster_by), method(self.cluster_by));
        reading.cluster_distance_m = self.radius_m;
        let finds = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        reading.cluster_points = kept(reading.cluster_points, finds(usual.cluster_points), finds(self.least));
        reading.detection_per_pass = kept(reading.detection_per_pass, usual.detection_per_pass, self.per_pass);
        reading.effort_error = kept(reading.effort_error, usual.effort_error, self.effort_error);
        Beach { search, reading, ..beach.clone() }
    }
}

/// What is being typed into the fields of dates.
#[derive(Debug, Clone, Default)]
pub(crate) struct TypedDates {
    pub(crate) from: String,
    pub(crate) to: String,
}

impl TypedDates {
    /// The dates of a filter as they would be typed.
    pub(crate) fn from_filter(filter: &Filter) -> Self {
        let text = |d: Option<jiff::civil::Date>| d.map_or_else(String::new, |d| d.to_string());
        Self { from: text(filter.from), to: text(filter.to) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn what_is_set_back_to_the_usual_is_not_set_any_more_and_the_rest_stays() {
        let mut beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        (beach.search.gap_s, beach.reading.storm_days) = (Some(40.0), Some(20));
        let usual = ReadSettings::kept_with(&beach);
        assert_eq!(usual.put_into(&beach), beach);
        let mut set = usual.clone();
        (set.effort.swing_m, set.least, set.cluster_by) = (0.6, 9, ClusterBy::Hdbscan);
        let kept = set.put_into(&beach);
        assert_eq!((kept.search.swing_m, kept.reading.cluster_points), (Some(0.6), Some(9)));
        assert_eq!((kept.search.gap_s, kept.reading.storm_days), (Some(40.0), Some(20)));
        assert_eq!(ReadSettings::kept_with(&kept), set);
        assert_eq!(usual.put_into(&kept), beach);
    }
}
