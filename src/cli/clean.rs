//! Cleaning tracks, from the command line.

use serde_json::json;

use super::Failure;
use super::keeping_args::CleanArgs;
use super::said::{beach_of, open, print_json, print_text, rfc3339, tell_remarks};
use crate::book::{Edit, Uid};
use crate::tidy::{Cleaned, Thresholds, clean};

pub(super) fn run(args: &CleanArgs) -> Result<(), Failure> {
    let mut open = open(&args.book)?;
    let beach = args.beach.as_deref().map(|name| beach_of(open.book(), Some(name)).map(|b| b.uid)).transpose()?;
    let by = Thresholds::default();
    let tracks = open.book().tracks().values().filter(|t| beach.is_none_or(|b| t.beach == b));
    let found: Vec<(String, Cleaned)> = tracks.filter_map(|t| Some((t.name.clone(), clean(t, &by)?))).collect();
    let wanted = wanted(args, &found)?;
    if !wanted.is_empty() {
        let edits: Vec<Edit> = wanted.iter().map(|c| c.edit()).collect();
        open.apply_as(format!("clean {} track(s)", wanted.len()), &Edit::Batch(edits))?;
    }
    tell_remarks(&mut open);
    let is_done = |c: &Cleaned| wanted.iter().any(|w| w.track == c.track);
    if args.json {
        let rows: Vec<_> = found
            .iter()
            .map(|(name, c)| {
                json!({
                    "track": c.track, "name": name, "fixes": c.fixes, "fixes_after": c.after.len(), "spikes": c.spikes, "rests": c.rests,
                    "pauses": c.pauses, "cleaned": is_done(c),
                })
            })
            .collect();
        return print_json(&json!({ "thresholds": by, "tracks": rows }));
    }
    print_text(&text(&found, &by, is_done))
}

/// The tracks to be cleaned: all are known before the first is, so that a slip of the pen changes nothing.
fn wanted<'c>(args: &CleanArgs, found: &'c [(String, Cleaned)]) -> Result<Vec<&'c Cleaned>, Failure> {
    if args.track.iter().any(|t| t == "all") {
        return Ok(found.iter().map(|(_, c)| c).collect());
    }
    let one = |text: &String| {
        let uid: Uid = text.parse().map_err(Failure::usage)?;
        let there = found.iter().map(|(_, c)| c).find(|c| c.track == uid);
        there.ok_or_else(|| Failure::input(format!("there is nothing to clean of a track {uid}; nothing was changed")))
    };
    args.track.iter().map(one).collect()
}

fn text(found: &[(String, Cleaned)], by: &Thresholds, is_done: impl Fn(&Cleaned) -> bool) -> String {
    let mut out = String::new();
    for (name, c) in found {
        out += &format!("{} \"{name}\": {}{}\n", c.track, c.words(), if is_done(c) { " - cleaned" } else { "" });
        for s in &c.spikes {
            let when = s.time.map_or_else(|| "at no known time".to_owned(), rfc3339);
            out += &format!("  spike {when}: {} fix(es), {:.0} m/s\n", s.fixes, s.m_per_s);
        }
        for r in &c.rests {
            let when = |t: Option<jiff::Timestamp>| t.map_or_else(String::new, rfc3339);
            out += &format!("  standing from {} to {}: {} fixes\n", when(r.from), when(r.to), r.fixes);
        }
    }
    if found.is_empty() {
        return "There is nothing to clean.\n".to_owned();
    }
    out + &format!(
        "A spike is faster than {} m/s by more than {} m and comes back within {} fixes; standing is less than {} m/s for {} s within \
         {} m; a pause lasts {} s. Nothing is cleaned unless it is named: --track UID, or --track all. It can be taken back with \
         `scourline book --take-back`.\n",
        by.spike_m_per_s, by.spike_m, by.spike_fixes, by.rest_m_per_s, by.rest_s, by.rest_radius_m, by.pause_s
    )
}
