use jiff::Timestamp;
use serde_json::{Value, json};

use super::Failure;
use super::args::ReadArgs;
use super::said::{beach_of, open, print_json, print_text};
use super::settings;
use crate::effort::{self, Effort};
use crate::query::{AtOnce, Inquiry};
use crate::reading::{BeforeAfter, ClusterBy, DropZone, HotSpot, Params, Rate, Reading, ScourLine, WeightChoice, odds};
use crate::tide::whole;

pub(super) fn run(args: &ReadArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let beach = beach_of(open.book(), args.beach.as_deref())?;
    let (search, set) = settings::for_one_run(args, beach);
    let mut params = Params::from_settings(&set);
    if args.radius.is_some() {
        // Asked for beside hdbscan it is refused, not passed over.
        params.cluster_distance_m = args.radius;
    }
    params.seed = args.seed.unwrap_or(params.seed);
    params.replicates = args.replicates.unwrap_or(params.replicates);
    let filter = super::filter::from_args(&args.filter, open.book(), beach)?;
    let mut inquiry = Inquiry::new(open.book(), beach.uid, Timestamp::now())?;
    inquiry.filter = filter.clone();
    (inquiry.effort, inquiry.params) = (effort::Params::from_settings(&search), params);
    let mut at_once = AtOnce::default();
    let (covered, read) = (inquiry.covered(&mut at_once)?, inquiry.reading(&mut at_once)?);
    let mut reading = read.reading.clone();
    filter.tell(&mut reading);
    if args.json {
        let mut document = document(&reading)?;
        document["effort"] = covered.effort.as_ref().map_or(Value::Null, ground_covered);
        super::filter::add(&mut document, &filter, &read.taken)?;
        print_json(&document)
    } else {
        print_text(&(super::filter::text(&filter, &read.taken, open.book(), beach) + &text(&reading)))
    }
}

/// The ground covered with the settings it rests on, without its squares.
fn ground_covered(effort: &Effort) -> Value {
    let totals = effort.totals();
    json!({
        "params": effort.params,
        "swept_m2": totals.swept_m2,
        "passed_m2": totals.passed_m2,
        "lengths_m": effort.lengths_m(),
        "outings": effort.outings,
        "repeated_tracks": effort.repeated_tracks,
        "unusable_fixes": effort.unusable_fixes,
    })
}

/// The reading as `--json` tells it; the keys are part of the promise in DEVELOPERS.md.
pub(super) fn document(reading: &Reading) -> Result<Value, Failure> {
    Ok(json!({ "reading": serde_json::to_value(reading).map_err(Failure::output)? }))
}

fn scour_line(line: &ScourLine) -> String {
    let keeps = match line.level {
        Some(l) => format!("sand {:.1} to {:.1} m above land datum", l.low_m, l.high_m),
        None => format!("{:.0} to {:.0} m from the baseline (hardly any level is known)", line.across.from_m, line.across.to_m),
    };
    let since = line.since.as_ref().map_or_else(String::new, |s| format!("since {}: ", s.storm));
    format!(
        "{since}{:.0} m long from {:.0} m along, {keeps}; {} heavy finds where the searching done would give {:.0}, {:.0} % heavy; {}; by luck on {} beaches; {}",
        line.length_m,
        whole(line.from_along_m),
        line.counts.heavy,
        line.expected_heavy,
        100.0 * line.heavy_share,
        line.place,
        odds(line.q),
        line.surer
    )
}

/// How a line lay between storms, where enough was found to tell.
fn line_states(line: &ScourLine) -> String {
    let mut out = String::new();
    for s in &line.states {
        let Some(level) = s.level_m else { continue };
        let after = s.after.as_ref().map_or_else(|| "before the first storm".to_owned(), |name| format!("after {name}"));
        let moved = s.rose_m.map_or_else(String::new, |m| {
            format!(", {:.2} m {} ({:.2} to {:.2})", m.mean.abs(), if m.mean < 0.0 { "lower" } else { "higher" }, m.low, m.high)
        });
        out += &format!(
            "    {after}: {} heavy finds at {:.2} m ({:.2} to {:.2}){moved}\n",
            s.finds, level.mean, level.low, level.high
        );
    }
    out
}

fn change(row: &BeforeAfter) -> String {
    let of = match row.of {
        WeightChoice::All => "finds",
        WeightChoice::Heavy => "heavy finds",
        WeightChoice::Light => "light finds",
    };
    let rate = |r: Option<Rate>| r.map_or_else(|| "none".to_owned(), |r| format!("{:.2}", r.per_100m2));
    let ratio = row.ratio.map(|r| {
        let high = r.high.map_or_else(|| "no upper end".to_owned(), |h| format!("{h:.2}"));
        let times = r.ratio.map_or_else(|| "not known".to_owned(), |t| format!("{t:.2}"));
        format!("ratio {times} ({:.2} to {high})", r.low)
    });
    format!(
        "{}, {of} per 100 m² of rested ground: {} before, {} after; {}",
        row.band.as_deref().unwrap_or("whole beach"),
        rate(row.before),
        rate(row.after),
        ratio.unwrap_or_else(|| row.surer.clone())
    )
}

/// What touches a zone and is told with it.
fn beside(zone: &DropZone) -> String {
    match zone.together_with.len() {
        0 => String::new(),
        1 => ", with another rich spot against it".to_owned(),
        n => format!(", with {n} rich spots against it"),
    }
}

/// The weights of a zone's finds, where they are known, as they follow in the sentence.
fn weights(heavy_share: Option<f64>) -> String {
    let said = match heavy_share {
        None => return String::new(),
        Some(1.0) => "all heavy",
        Some(0.0) => "all light",
        Some(share) if share > 0.75 => "mostly heavy",
        Some(share) if share < 0.25 => "mostly light",
        Some(_) => "mixed weights",
    };
    format!(", {said}")
}

/// Whether a zone outlasted storms, where there were any.
fn lasted(zone: &DropZone) -> String {
    match zone.storms {
        0 => String::new(),
        storms => format!(", outlasted {} of {storms} storm{}", zone.storms_outlasted, if storms == 1 { "" } else { "s" }),
    }
}

fn drop_zone(zone: &DropZone, spot: &HotSpot) -> String {
    let beside = beside(zone);
    let near = zone.near.first().map_or_else(String::new, |n| format!(", {:.0} m from {}", n.distance_m, n.name));
    format!(
        "{} finds where the searching done would give {:.0}{}{near}{}{beside}; {}; by luck on {} beaches",
        spot.seen,
        spot.expected,
        weights(zone.heavy_share),
        lasted(zone),
        zone.place,
        odds(spot.q)
    )
}

/// How many clusters the text names; people read no more.
const CLUSTERS_TOLD: usize = 8;

pub(super) fn text(reading: &Reading) -> String {
    let counts = reading.whole.counts;
    let mut out = format!("{}: {} finds, {} heavy, {} light\n", reading.beach, counts.finds, counts.heavy, counts.light);
    for line in &reading.scour_lines {
        out += &format!("  scour line {}: {}\n", line.number, scour_line(line));
        out += &line_states(line);
    }
    for zone in &reading.drop_zones {
        if let Some(spot) = reading.hot_spots.iter().find(|s| s.of == WeightChoice::All && s.number == zone.hot_spot) {
            out += &format!(
                "  drop zone at {:.0} m along, {:.0} m across: {}\n",
                whole(spot.shore.along_m),
                whole(spot.shore.across_m),
                drop_zone(zone, spot)
            );
        }
    }
    if reading.scour_lines.is_empty() && reading.hot_spots.is_empty() {
        for told in reading.to_tell.iter().filter(|t| t.of == WeightChoice::All) {
            out += &format!("  no place stands out from luck; what would make it surer: {}\n", told.surer);
        }
    }
    for lacking in &reading.not_sought {
        out += &format!("  {lacking}\n");
    }
    for run in reading.cluster_runs.iter().filter(|r| r.of == WeightChoice::All) {
        let near = match run.by {
            ClusterBy::Dbscan => format!("within {:.1} m of each other", run.distance_m),
            ClusterBy::Hdbscan => "that lie denser than what is round them".to_owned(),
        };
        out += &format!("{} clusters of finds {near}, {} finds scattered\n", run.clusters, run.scattered);
    }
    for c in reading.clusters.iter().filter(|c| c.of == WeightChoice::All).take(CLUSTERS_TOLD) {
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
    let more = reading.clusters.iter().filter(|c| c.of == WeightChoice::All).count().saturating_sub(CLUSTERS_TOLD);
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
            (Some(r), false) => format!(", {:.2} ({:.2} to {:.2}) per 100 m² of rested ground", r.per_100m2, r.low, r.high),
            (Some(_), true) => ", not enough ground covered yet".to_owned(),
            (None, _) => b.gave.density_per_100m2.map_or_else(String::new, |d| format!(", {d:.2} per 100 m² of band")),
        };
        out += &format!("  {}: {} finds ({} heavy){rate}\n", b.name, b.gave.counts.finds, b.gave.counts.heavy);
    }
    for t in reading.tides.iter().filter(|t| t.band.is_none() && !t.gave.too_little) {
        let Some(r) = t.gave.rate else { continue };
        out +=
            &format!("  {}: {:.2} ({:.2} to {:.2}) per 100 m² of rested ground\n", t.state.words(), r.per_100m2, r.low, r.high);
    }
    if let Some(f) = reading.fresh.first()
        && let (Some(fresh), Some(again)) = (f.fresh, f.again)
    {
        out += &format!(
            "  fresh ground {:.2} per 100 m² as swept, ground swept again {:.2}; with {:.0} % found per pass and nothing coming back it would be {:.2}\n",
            fresh.per_100m2,
            again.per_100m2,
            100.0 * f.detection_per_pass,
            fresh.per_100m2 * f.ratio_if_nothing_came_back.unwrap_or(1.0)
        );
    }
    if let Some(r) = reading.whole.rate_signals {
        out += &format!("  {} signals left undug, {:.2} per 100 m² of rested ground\n", reading.whole.signals, r.per_100m2);
    }
    if let Some(forecasts) = &reading.forecasts {
        out += &format!("  forecasts: {}\n", forecasts.said());
    }
    let storms = reading.storms.each.len();
    for row in reading.storms.over_all.iter().filter(|r| !r.too_little || r.band.is_none()) {
        out += &format!("  before and after {storms} storms, {}\n", change(row));
    }
    for note in &reading.notes {
        out += &format!("  note: {note}\n");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zone_is_told_by_the_weights_it_holds() {
        let shares = [None, Some(1.0), Some(0.9), Some(0.5), Some(0.1), Some(0.0)];
        let said = shares.map(weights);
        assert_eq!(said, ["", ", all heavy", ", mostly heavy", ", mixed weights", ", mostly light", ", all light"]);
    }
}
