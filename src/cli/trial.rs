use std::time::Duration;

use serde_json::json;

use super::Failure;
use super::args::TrialArgs;
use super::said::{print_json, print_text};
use crate::Progress;
use crate::trial::world::Sort;
use crate::trial::{Alarms, ByStrength, LEVEL_M, Outcome, PLACE_M, Part, Recovery, Trial};

pub(super) fn run(args: &TrialArgs) -> Result<(), Failure> {
    let trial = Trial { beaches: args.beaches as usize, seed: args.seed, replicates: args.replicates as usize };
    let progress = Progress::new();
    let (done, watched) = std::sync::mpsc::channel::<()>();
    let outcome = std::thread::scope(|scope| {
        let shown = progress.clone();
        scope.spawn(move || {
            // Ends when the sender is dropped, however the trial ends.
            while watched.recv_timeout(Duration::from_secs(10)) == Err(std::sync::mpsc::RecvTimeoutError::Timeout) {
                let beaches = Sort::ALL.len() * trial.beaches;
                eprintln!("scourline: {:.0} % of {beaches} beaches read", 100.0 * shown.share());
            }
        });
        let outcome = trial.run(&progress).map_err(Failure::output);
        drop(done);
        outcome
    })?;
    if args.json {
        print_json(&json!({ "trial": serde_json::to_value(&outcome).map_err(Failure::output)? }))
    } else {
        print_text(&text(&outcome))
    }
}

fn text(outcome: &Outcome) -> String {
    let t = outcome.trial;
    let mut out =
        format!("{} invented beaches of each sort from seed {}, {} replicates a scan\n", t.beaches, t.seed, t.replicates);
    out += &recovery("scour lines", &outcome.scour_lines);
    out += &recovery("drop zones", &outcome.drop_zones);
    out += &format!("hot spots told as nothing more: {} touch a planted pattern\n", part(&outcome.hot_spots.right));
    out += &format!("all that was told on beaches with patterns: {} right\n", part(&outcome.told_right));
    out += &alarms("no pattern", &outcome.plain);
    out += &alarms("no pattern, searched in one corner", &outcome.one_sided);
    out += &alarms("no pattern, half of the tracks not kept", &outcome.half_tracked);
    out += &alarms("no pattern, searched after storms", &outcome.after_storms);
    for f in &outcome.failed {
        out += &format!("failed: {:?}, seed {}: {}\n", f.sort, f.seed, f.why);
    }
    out
}

/// A part of a count with the interval of its chance.
fn part(p: &Part) -> String {
    if p.of == 0 {
        return "0 of 0".to_owned();
    }
    let [share, low, high] = [p.share, p.low, p.high].map(|v| 100.0 * v);
    format!("{} of {}, {share:.1} % (95 % interval {low:.1} to {high:.1} %)", p.count, p.of)
}

fn recovery(what: &str, r: &Recovery) -> String {
    let mut out = format!("{what}: {} planted, {} found, {} told\n", r.planted, r.found, r.told);
    for (strength, by) in [("well", &r.well), ("fairly", &r.fair), ("weakly", &r.weak)] {
        let ByStrength { found, at_least_hot_spot } = by;
        out += &format!("  {strength} evidenced: found {}; with hot spots {}\n", part(found), part(at_least_hot_spot));
    }
    out += &format!("  well evidenced where the sand was surveyed: found {}\n", part(&r.well_surveyed));
    out += &format!("  well evidenced by the noted positions as well: found {}\n", part(&r.well_as_noted));
    out += &format!("  of those told, {} right\n", part(&told(r)));
    if r.level_error_m.is_some() {
        out += &format!("  right is within {PLACE_M} m across, and within {LEVEL_M} m of level or close beside;");
    } else {
        out += "  right is on it or next to it;";
    }
    out += &format!(" half lie within {:.1} m, nine in ten within {:.1} m", r.place_error_m.median, r.place_error_m.p90);
    if let Some(level) = r.level_error_m {
        out += &format!(", of level within {:.3} and {:.3} m", level.median, level.p90);
    }
    out + "\n"
}

fn told(r: &Recovery) -> Part {
    Part { count: r.right, of: r.told, share: r.precision, low: r.precision_low, high: r.precision_high }
}

fn alarms(what: &str, a: &Alarms) -> String {
    let alarmed = Part { count: a.alarmed, of: a.beaches, share: a.share, low: a.low, high: a.high };
    format!("{what}: anything told on {}\n", part(&alarmed))
}
