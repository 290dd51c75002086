use std::time::Duration;

use serde_json::json;

use super::Failure;
use super::args::TrialArgs;
use super::said::{print_json, print_text};
use crate::Progress;
use crate::trial::{Alarms, LEVEL_M, Outcome, PLACE_M, Recovery, Trial};

pub(super) fn run(args: &TrialArgs) -> Result<(), Failure> {
    let trial = Trial { beaches: args.beaches as usize, seed: args.seed, replicates: args.replicates as usize };
    let progress = Progress::new();
    let (done, watched) = std::sync::mpsc::channel::<()>();
    let outcome = std::thread::scope(|scope| {
        let shown = progress.clone();
        scope.spawn(move || {
            // Ends when the sender is dropped, however the trial ends.
            while watched.recv_timeout(Duration::from_secs(10)) == Err(std::sync::mpsc::RecvTimeoutError::Timeout) {
                eprintln!("scourline: {:.0} % of {} beaches read", 100.0 * shown.share(), 3 * trial.beaches);
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
    out += &alarms("no pattern", &outcome.plain);
    out += &alarms("no pattern, searched in one corner", &outcome.biased);
    out
}

fn recovery(what: &str, r: &Recovery) -> String {
    let mut out = format!(
        "{what}: {} of {} planted ones found (recall {:.3}), {} of {} told ones right (precision {:.3})\n  \
         right is within {PLACE_M} m",
        r.found, r.planted, r.recall, r.right, r.told, r.precision
    );
    if r.level_error_m.is_some() {
        out += &format!(" and {LEVEL_M} m of level");
    }
    out += &format!("; half lie within {:.1} m, nine in ten within {:.1} m", r.place_error_m.median, r.place_error_m.p90);
    if let Some(level) = r.level_error_m {
        out += &format!(", of level within {:.3} and {:.3} m", level.median, level.p90);
    }
    out + "\n"
}

fn alarms(what: &str, a: &Alarms) -> String {
    format!(
        "{what}: anything told on {} of {} beaches, {:.1} % (95 % interval {:.1} to {:.1} %)\n",
        a.alarmed,
        a.beaches,
        100.0 * a.share,
        100.0 * a.low,
        100.0 * a.high
    )
}
