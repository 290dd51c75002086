use jiff::Timestamp;
use serde_json::{Value, json};

use super::Failure;
use super::args::{ClusterByArg, ReadArgs};
use super::said::{beach_of, open, print_json, print_text};
use crate::Progress;
use crate::book::{Book, Uid};
use crate::effort;
use crate::reading::{self, ClusterBy, Covered, DropZone, Ground, HotSpot, Of, Params, Reading, ScourLine};
use crate::shore::Setting;

pub(super) fn run(args: &ReadArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let mut params = Params::default();
    params.cluster_by = match args.clusters {
        ClusterByArg::Dbscan => ClusterBy::Dbscan,
        ClusterByArg::Hdbscan => ClusterBy::Hdbscan,
    };
    params.cluster_distance_m = args.radius.or(params.cluster_distance_m);
    params.cluster_points = args.least.unwrap_or(params.cluster_points);
    let beach = beach_of(open.book(), args.beach.as_deref())?;
    let filter = super::filter::of(&args.filter, open.book(), beach)?;
    let cut = filter.cut(open.book(), beach).map_err(Failure::usage)?;
    let (_, mut reading) = read(&cut.book, beach.uid, &params)?;
    filter.tell(&mut reading);
    if args.json {
        let mut document = document(&reading)?;
        super::filter::add(&mut document, &filter, &cut)?;
        print_json(&document)
    } else {
        print_text(&(super::filter::text(&filter, &cut, open.book(), beach) + &text(&reading)))
    }
}

/// The setting of a beach and what is read there.
pub(super) fn read(book: &Book, beach: Uid, params: &Params) -> Result<(Setting, Reading), Failure> {
    let setting = Setting::of(book, beach).ok_or_else(|| Failure::input("the beach is not in the book"))?;
    let progress = Progress::new();
    let covered = Covered::of(book, &setting, &effort::Params::default(), &progress).map_err(Failure::input)?;
    let ground = Ground { book, setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: Some(Timestamp::now()) };
    let reading = reading::read(&ground, params, &progress).map_err(Failure::usage)?;
    Ok((setting, reading))
}

/// The reading as `--json` tells it; the keys are part of the promise in DEVELOPERS.md.
pub(super) fn document(reading: &Reading) -> Result<Value, Failure> {
    Ok(json!({ "reading": serde_json::to_value(reading).map_err(Failure::output)? }))
}

fn scour_line(line: &ScourLine) -> String {
    format!(
        "{:.0} m long from {:.0} m along, sand {:.1} to {:.1} m above land datum; {} heavy finds where the ground covered would give {:.0}, {:.0} % heavy; p {:.3}; {}",
        line.length_m,
        line.from_along_m,
        line.level.low_m,
        line.level.high_m,
        line.counts.heavy,
        line.expected_heavy,
        100.0 * line.heavy_share,
        line.q,
        line.surer
    )
}

fn drop_zone(zone: &DropZone, spot: &HotSpot) -> String {
    let near = zone.near.first().map_or_else(String::new, |n| format!(", {:.0} m from {}", n.distance_m, n.name));
    format!(
        "{} finds where the ground covered would give {:.0}, mixed weights{near}, outlasted {} of {} storms; p {:.3}",
        spot.seen, spot.expected, zone.storms_outlasted, zone.storms, spot.q
    )
}

/// How many clusters the text names; people read no more.
const CLUSTERS_TOLD: usize = 8;

pub(super) fn text(reading: &Reading) -> String {
    let counts = reading.whole.counts;
    let mut out = format!("{}: {} finds, {} heavy, {} light\n", reading.beach, counts.finds, counts.heavy, counts.light);
    for line in &reading.scour_lines {
        out += &format!("  scour line {}: {}\n", line.number, scour_line(line));
    }
    for zone in &reading.drop_zones {
        if let Some(spot) = reading.hot_spots.iter().find(|s| s.of == Of::All && s.number == zone.hot_spot) {
            out += &format!(
                "  drop zone at {:.0} m along, {:.0} m across: {}\n",
                spot.shore.along_m,
                spot.shore.across_m,
                drop_zone(zone, spot)
            );
        }
    }
    for run in reading.cluster_runs.iter().filter(|r| r.of == Of::All) {
        let near = match run.by {
            ClusterBy::Dbscan => format!("within {:.1} m of each other", run.distance_m),
            ClusterBy::Hdbscan => "that lie denser than what is round them".to_owned(),
        };
        out += &format!("{} clusters of finds {near}, {} finds scattered\n", run.clusters, run.scattered);
    }
    for c in reading.clusters.iter().filter(|c| c.of == Of::All).take(CLUSTERS_TOLD) {
        let kinds: Vec<String> = c.kinds.iter().take(3).map(|k| format!("{} {}", k.finds, k.kind)).collect();
        let level = c.level.map_or_else(String::new, |l| format!(", sand {:.1} to {:.1} m above land datum", l.low_m, l.high_m));
        let band = c.band.as_ref().map_or_else(String::new, |b| format!(", {b}"));
        out += &format!(
            "  cluster {}: {} finds ({} heavy) on {:.0} m²{level}{band}; mostly {}\n",
            c.number,
            c.counts.finds,
            c.counts.heavy,
            c.area_m2,
            kinds.join(", ")
        );
    }
    let more = reading.clusters.iter().filter(|c| c.of == Of::All).count().saturating_sub(CLUSTERS_TOLD);
    if more > 0 {
        out += &format!("  and {more} smaller ones (--json gives all)\n");
    }
    if reading.undug.whole.signals > 0 {
        let undug = &reading.undug.whole;
        out += &format!(
            "  {} signals heard and left count as {:.1} finds worth going back for ({:.1} heavy, {:.1} light); they enter no rate\n",
            undug.signals, undug.worthwhile, undug.heavy, undug.light
        );
    }
    for b in &reading.bands {
        let rate = match (&b.gave.rate, b.gave.too_little) {
            (Some(r), false) => format!(", {:.2} ({:.2} to {:.2}) per 100 m² swept", r.rate_per_100m2, r.low, r.high),
            (Some(_), true) => ", not enough ground covered yet".to_owned(),
            (None, _) => b.gave.density_per_100m2.map_or_else(String::new, |d| format!(", {d:.2} per 100 m² of band")),
        };
        out += &format!("  {}: {} finds ({} heavy){rate}\n", b.name, b.gave.counts.finds, b.gave.counts.heavy);
    }
    for note in &reading.notes {
        out += &format!("  note: {note}\n");
    }
    out
}
