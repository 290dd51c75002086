//! What counts as searched and how a beach is read: kept with the beach, or for one run.

use std::fmt::Display;
use std::str::FromStr;

use serde_json::{Value, json};

use super::Failure;
use super::args::{ClusterByArg, ReadArgs, SettingsArgs};
use crate::book::{Beach, ClusterMethod, ReadingSettings, SearchSettings};

impl From<ClusterByArg> for ClusterMethod {
    fn from(arg: ClusterByArg) -> Self {
        match arg {
            ClusterByArg::Dbscan => Self::Dbscan,
            ClusterByArg::Hdbscan => Self::Hdbscan,
        }
    }
}

/// A kept setting with what an option makes of it; the word `none` sets it back to what is usual.
pub(super) fn kept<T: FromStr>(
    option: &str,
    text: Option<&String>,
    known: Option<T>,
    wanted: &str,
) -> Result<Option<T>, Failure> {
    match text.map(|t| t.trim()) {
        None => Ok(known),
        Some("none") => Ok(None),
        Some(text) => {
            text.parse().map(Some).map_err(|_| Failure::usage(format!("{option}: \"{text}\" is neither {wanted} nor \"none\"")))
        }
    }
}

/// The beach with what the options change in its settings.
pub(super) fn keep_in(beach: Beach, args: &SettingsArgs) -> Result<Beach, Failure> {
    let number = |option, text: &Option<String>, known| kept::<f64>(option, text.as_ref(), known, "a number");
    let whole = |option, text: &Option<String>, known| kept::<u32>(option, text.as_ref(), known, "a whole number");
    let (search, reading) = (beach.search, beach.reading);
    let search = SearchSettings {
        swing_m: number("--swing", &args.swing, search.swing_m)?,
        coil_width_m: number("--coil", &args.coil, search.coil_width_m)?,
        overlap: number("--overlap", &args.overlap, search.overlap)?,
        walk_m_per_s: number("--walk-speed", &args.walk_speed, search.walk_m_per_s)?,
        turn_deg: number("--turn", &args.turn, search.turn_deg)?,
        gap_s: number("--gap", &args.gap, search.gap_s)?,
    };
    let reading = ReadingSettings {
        cluster_by: kept("--clusters", args.clusters.as_ref(), reading.cluster_by, "dbscan nor hdbscan")?,
        cluster_distance_m: number("--radius", &args.radius, reading.cluster_distance_m)?,
        cluster_points: whole("--least", &args.least, reading.cluster_points)?,
        detection_per_pass: number("--per-pass", &args.per_pass, reading.detection_per_pass)?,
        effort_error: number("--effort-error", &args.effort_error, reading.effort_error)?,
        storm_days: whole("--storm-days", &args.storm_days, reading.storm_days)?,
    };
    let set_radius = args.radius.as_deref().is_some_and(|r| r.trim() != "none");
    if set_radius && reading.cluster_by == Some(ClusterMethod::Hdbscan) {
        return Err(Failure::usage("hdbscan has no distance; leave --radius out or cluster with dbscan"));
    }
    search.validate().map_err(Failure::usage)?;
    reading.validate().map_err(Failure::usage)?;
    Ok(Beach { search, reading, ..beach })
}

/// What the options of `read` say, and what is kept with the beach for the rest.
pub(super) fn for_one_run(args: &ReadArgs, beach: &Beach) -> (SearchSettings, ReadingSettings) {
    let (effort, search, reading) = (&args.effort, beach.search, beach.reading);
    let search = SearchSettings {
        swing_m: effort.swing.or(search.swing_m),
        coil_width_m: effort.coil.or(search.coil_width_m),
        overlap: effort.overlap.or(search.overlap),
        walk_m_per_s: effort.walk_speed.or(search.walk_m_per_s),
        turn_deg: effort.turn.or(search.turn_deg),
        gap_s: effort.gap.or(search.gap_s),
    };
    let reading = ReadingSettings {
        cluster_by: args.clusters.map(ClusterMethod::from).or(reading.cluster_by),
        cluster_distance_m: args.radius.or(reading.cluster_distance_m),
        cluster_points: args.least.or(reading.cluster_points),
        detection_per_pass: args.per_pass.or(reading.detection_per_pass),
        effort_error: args.effort_error.or(reading.effort_error),
        storm_days: args.storm_days.or(reading.storm_days),
    };
    (search, reading)
}

/// The settings as `--json` tells them: null stands for what is usual.
pub(super) fn document(beach: &Beach) -> Value {
    json!({ "search": beach.search, "reading": beach.reading })
}

/// The settings that are not the usual ones, in words; nothing where all are.
pub(super) fn text(beach: &Beach) -> Option<String> {
    fn said<T: Display>(value: Option<T>, what: &str, unit: &str) -> Option<String> {
        value.map(|v| format!("{what} {v}{unit}"))
    }
    let (search, reading) = (&beach.search, &beach.reading);
    let told: Vec<String> = [
        said(search.swing_m, "swing", " m"),
        said(search.coil_width_m, "coil", " m"),
        said(search.overlap, "overlap", ""),
        said(search.walk_m_per_s, "walking from", " m/s"),
        said(search.turn_deg, "turning from", "°"),
        said(search.gap_s, "gaps from", " s"),
        said(reading.cluster_by, "clusters", ""),
        said(reading.cluster_distance_m, "finds of a cluster within", " m"),
        said(reading.cluster_points, "finds of a cluster at least", ""),
        said(reading.detection_per_pass, "found per pass", ""),
        said(reading.effort_error, "effort misjudged by up to", ""),
        said(reading.storm_days, "days before and after a storm", ""),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!told.is_empty()).then(|| told.join(", "))
}
