use super::clusters::{clusters, tell_surer};
use super::counted::{COUNTED_SHARE, Counted, count, said_of};
use super::error::ReadingError;
use super::exposure::{Exposure, KnownGround, Outings};
use super::given::{Counts, Ground, WeightChoice};
use super::outcome::Reading;
use super::params::Params;
use super::rates::ZoneReading;
use super::scan::{HotSpot, ScanRun, to_tell};
use super::verdicts::{ScourLine, Whereabouts, drop_zones, is_compact_and_mixed};
use super::{scan, verdicts};
use crate::Progress;
use crate::chance::false_discovery;

/// Reads a beach.
///
/// # Errors
/// [`ReadingError::Parameter`] when a setting cannot be, [`ReadingError::Cancelled`] when called off.
pub fn read(ground: &Ground, params: &Params, progress: &Progress) -> Result<Reading, ReadingError> {
    params.check()?;
    let known = KnownGround::under(ground, params);
    let counted = count(ground, known.as_ref(), params, progress)?;
    seek(ground, known.as_ref(), &counted, params, progress)
}

/// Seeks patterns in what was [`count`]ed: of the same ground, and with the same settings.
///
/// # Errors
/// As [`read`].
pub fn seek(
    ground: &Ground,
    known: Option<&KnownGround>,
    counted: &Counted,
    params: &Params,
    progress: &Progress,
) -> Result<Reading, ReadingError> {
    params.check()?;
    progress.set(COUNTED_SHARE);
    let ground = &known.map_or(*ground, |known| known.told_apart(ground));
    let visits = ground.covered.zip(known).map(|(covered, known)| known.visits(covered));
    let exposure = visits.as_ref().zip(counted.exposed.as_ref()).map(|(visits, exposed)| exposed.beside(visits));
    let (laid, mut reading) = (&counted.laid, counted.reading.clone());
    let outings = Outings::new(ground, laid, exposure.as_ref());
    progress.check()?;
    let enough = ground.covered.is_some_and(|c| c.swept_m2() >= params.least_swept_m2);
    let scanned = exposure.as_ref().filter(|_| enough);
    // Each leaves a core idle now and then.
    let (clustered, (spots, lines)) = rayon::join(
        || clusters(ground, laid, exposure.as_ref(), params, progress),
        || {
            rayon::join(
                || scanned.map(|exposure| scan::hot_spots(ground, laid, exposure, params, progress)).transpose(),
                || scanned.map(|exposure| verdicts::scour_lines(ground, laid, exposure, params, progress)).transpose(),
            )
        },
    );
    let (cluster_runs, mut clusters) = clustered?;
    let (mut scan_runs, mut hot_spots) = spots?.map_or_else(Default::default, |found| (found.runs, found.spots));
    let (run, mut scour_lines) = lines?.unwrap_or_default();
    scan_runs.extend(run);
    if let Some(whereabouts) = ground.shore().map(|shore| Whereabouts::new(ground, shore)) {
        hot_spots.iter_mut().for_each(|s| s.place = whereabouts.said(s.shore));
    }
    progress.set(0.9);
    let all = Counts::tally(laid.finds.iter().filter(|f| !f.pinned));
    allow_for_all(&mut scan_runs, &mut hot_spots, &mut scour_lines, all, params.worst_p);
    progress.check()?;
    reading.drop_zones = drop_zones(ground, laid, &outings, &hot_spots, &scour_lines, params);
    reading.to_tell = to_tell(&reading.whole, &reading.cells, &scan_runs, params);
    tell_surer(&mut clusters, &reading.whole, &scan_runs, params);
    reading.not_sought = not_sought(ground, &reading, &scan_runs, exposure.as_ref(), params);
    reading.notes.extend(scan_notes(&scan_runs, params.worst_p));
    reading.notes.extend(apart_notes(&reading));
    reading.notes.extend(outside_zones(&reading.zones, counted.outside_zones));
    progress.set(1.0);
    Ok(Reading { cluster_runs, clusters, scan_runs, hot_spots, scour_lines, ..reading })
}

/// Several scans are several chances of a false alarm: the p-value of each scan's strongest window is
/// raised by Benjamini & Hochberg's rule, its others in the same proportion, and what is then too
/// weak is dropped.
fn allow_for_all(runs: &mut [ScanRun], spots: &mut Vec<HotSpot>, lines: &mut Vec<ScourLine>, all: Counts, worst_p: f64) {
    let p: Vec<f64> = runs.iter().map(|r| r.p.unwrap_or(1.0)).collect();
    for (run, q) in runs.iter_mut().zip(false_discovery(&p)) {
        run.q = run.p.map(|_| q);
    }
    let raise = |of: WeightChoice, sought: &str, p: f64| {
        let run = runs.iter().find(|r| r.of == of && r.sought == sought);
        let times = run.and_then(|r| Some(r.q? / r.p?)).unwrap_or(1.0);
        (p * times).min(1.0)
    };
    spots.iter_mut().for_each(|s| s.q = raise(s.of, "hot_spot", s.p));
    lines.iter_mut().for_each(|l| l.q = raise(WeightChoice::Heavy, "scour_line", l.p));
    spots.retain(|s| s.q <= worst_p);
    // Where people lose things there are heavy ones too.
    let mixed: Vec<&HotSpot> = spots.iter().filter(|s| is_compact_and_mixed(s, all)).collect();
    lines.retain(|l| l.q <= worst_p && l.stands_without(&mixed));
}

/// What was not sought for lack of levels, tracks, times or finds: silence would read as "there is none".
fn not_sought(ground: &Ground, reading: &Reading, runs: &[ScanRun], exposure: Option<&Exposure>, params: &Params) -> Vec<String> {
    let mut told = Vec::new();
    let counted = exposure.map_or(0, |e| e.of_find.iter().flatten().count());
    if exposure.is_none() {
        told.push("Hot spots, scour lines and drop zones were not sought: no track shows which ground was searched.".to_owned());
    } else if runs.is_empty() {
        let ground = reading.whole.swept_m2.unwrap_or(0.0);
        told.push(format!(
            "Hot spots, scour lines and drop zones were not sought: {counted} finds on {ground:.0} m² of known ground; it takes {} finds \
             and {:.0} m².",
            params.least_finds, params.least_swept_m2
        ));
    } else if !runs.iter().any(|r| r.sought == "scour_line") {
        let heavy = runs.iter().find(|r| r.of == WeightChoice::Heavy).map_or(0, |r| r.finds);
        told.push(if ground.shore().is_some() {
            format!(
                "Scour lines were not sought: {heavy} heavy finds on ground that was searched; it takes {}.",
                params.least_finds
            )
        } else {
            "Scour lines were not sought: the beach has no baseline along which they could lie. Draw or import one.".to_owned()
        });
    } else if runs.iter().any(|r| r.by_distance) {
        told.push(
            "Scour lines were sought by their distance from the baseline alone, as hardly any level of the sand is known: one that bends \
             away from it is missed. Survey some levels, or walk the water's edge."
                .to_owned(),
        );
    }
    let undated = ground.book.finds_of(ground.setting.beach.uid).filter(|f| f.time.is_none()).count();
    if undated > 0 && !reading.storms.each.is_empty() {
        told.push(format!(
            "What storms changed was not read from {undated} finds without a time that belong to no dated outing."
        ));
    }
    if ground.setting.water.is_none() && exposure.is_some() {
        told.push("Rates by state of the tide were not read: the beach has no tide source.".to_owned());
    }
    told
}

/// Finds that are set apart, each reason in a sentence of its own, and heaps as a question.
fn apart_notes(reading: &Reading) -> Vec<String> {
    let apart = reading.apart;
    let mut notes = Vec::new();
    notes.extend(said_of(
        apart.without_track,
        "was made on no outing whose track is known and is in no rate and no verdict",
        "were made on no outing whose track is known and are in no rate and no verdict",
    ));
    notes.extend(said_of(
        apart.off_track,
        "lies off the track of its own outing and is in no rate and no verdict",
        "lie off the tracks of their own outings and are in no rate and no verdict",
    ));
    for pinned in reading.pinned.iter().take(3) {
        notes.push(format!(
            "{} finds share one position ({:.5}, {:.5}): is it where you were, or where you noted them? They are in no rate by place and \
             no verdict.",
            pinned.finds,
            pinned.at.lat_deg(),
            pinned.at.lon_deg()
        ));
    }
    notes
}

fn scan_notes(runs: &[ScanRun], worst_p: f64) -> Vec<String> {
    let weak = runs.iter().filter(|r| r.q.is_none_or(|q| q > worst_p));
    weak.map(|r| {
        let of = match r.of {
            WeightChoice::All => "",
            WeightChoice::Heavy => "heavy ",
            WeightChoice::Light => "light ",
        };
        let what = if r.sought == "hot_spot" { "hot spot" } else { "scour line" };
        let chance = r.q.map_or_else(String::new, |q| {
            format!("; the strongest would come by luck on {:.0} of 100 beaches of even rate", (q * 100.0).ceil())
        });
        format!("No {what} among {} {of}finds stands out from luck{chance}.", r.finds)
    })
    .collect()
}

/// Finds outside every zone, where the beach has zones.
fn outside_zones(zones: &[ZoneReading], outside: usize) -> Option<String> {
    said_of(
        if zones.is_empty() { 0 } else { outside },
        "lies outside every zone and counts for the beach and its band alone",
        "lie outside every zone and count for the beach and their bands alone",
    )
}
