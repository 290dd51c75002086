//! The bench in sentences, the same for the command line and the window.

use super::{Calibration, Comparison, CutOff, Learned, Leaving, MayBe, Range, Reliability, Signature, StepDepth, Undug};
use crate::chance::Share;

fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// A sum that rounding left a hair below nothing is nothing, and has no sign.
fn none_below(value: f64) -> f64 {
    value.max(0.0) + 0.0
}

/// How a kind reads, in one line after its name.
pub fn signature_words(s: &Signature) -> String {
    let unsteady = if s.steadiness_noted == 0 {
        String::new()
    } else {
        format!(", {:.0} % of readings jumpy or broken", 100.0 * (s.steadiness[1] + s.steadiness[2]))
    };
    let one_place = s.ranges.len() < 2;
    let middle = if one_place {
        format!("; middle of its targets {:.1} ({:.1} to {:.1})", s.centre, s.centre_interval.0, s.centre_interval.1)
    } else {
        String::new()
    };
    let drift = match s.drift_per_10cm {
        d if d.abs() < 0.5 => String::new(),
        d => format!(", {:.1} {} each 10 cm deeper", d.abs(), if d > 0.0 { "higher" } else { "lower" }),
    };
    let deeper = if one_place { format!(", spreading ×{:.1} each 10 cm deeper", s.wider_per_10cm) } else { String::new() };
    format!(
        "9 of 10 passes {}{middle}{deeper}{drift}{unsteady}; {} of {}{}",
        range_words(&s.ranges),
        count(s.passes, "number"),
        count(s.specimens, "target"),
        s.care.as_ref().map_or_else(String::new, |c| format!("; {c}")),
    )
}

/// Ranges of numbers; where there are several, how often each.
fn range_words(ranges: &[Range]) -> String {
    let ends = |r: &Range| if r.low < r.high { format!("{:.0} to {:.0}", r.low, r.high) } else { format!("{:.0}", r.low) };
    match ranges {
        [one] => ends(one),
        several => {
            let each = |r: &Range| format!("{} ({:.0} %)", ends(r), 100.0 * r.share);
            several.iter().map(each).collect::<Vec<_>>().join(" or ")
        }
    }
}

/// What a set-up was taught, in a line or two.
pub fn read_words(learned: &Learned) -> Vec<String> {
    let numbers: usize = learned.signatures.iter().map(|s| s.passes).sum();
    let kinds = learned.signatures.len();
    let mut lines = vec![format!(
        "{} of {} read, {} in all",
        count(learned.targets(), "target"),
        count(kinds, "kind"),
        count(numbers, "number")
    )];
    lines.extend(learned.too_little());
    lines.extend(grounds_words(learned));
    lines
}

/// That a set-up was read on several grounds, where it was.
pub fn grounds_words(learned: &Learned) -> Option<String> {
    let grounds = learned.evidence.grounds();
    let each: Vec<String> = grounds.iter().map(|(ground, readings)| format!("{readings} on {ground}")).collect();
    (each.len() > 1).then(|| format!("Heard on several grounds, {}: say on which a signal was heard.", each.join(", ")))
}

/// What a signal may be by class, likeliest first: gold, silver and the rest, and what is not on the bench.
pub fn class_words(told: &MayBe) -> String {
    let unread: f64 = told.answers.iter().filter(|a| a.kind.is_none()).map(|a| a.chance).sum();
    let mut classes: Vec<(&str, f64)> = told.classes.iter().map(|c| (c.class, c.chance)).collect();
    classes.push((super::NOT_ON_THE_BENCH, unread));
    classes.sort_by(|a, b| b.1.total_cmp(&a.1));
    let each = classes.iter().map(|(class, chance)| format!("{class} {:.0} %", 100.0 * none_below(*chance))).collect::<Vec<_>>();
    let care = if told.too_little { "not enough known targets; as far as they go, " } else { "" };
    format!("{care}{}", each.join(", "))
}

/// What leaving such signals costs, in a sentence.
pub fn leaving_words(leaving: &Leaving) -> String {
    let worth: f64 = leaving.worth.iter().map(|c| c.chance).sum();
    let mut classes: Vec<_> = leaving.worth.iter().filter(|c| c.chance >= 0.05).collect();
    classes.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    let of: Vec<String> = classes.iter().map(|c| format!("{:.1} {}", c.chance, c.class)).collect();
    let of = if of.is_empty() { String::new() } else { format!(" ({})", of.join(", ")) };
    let unknown = if leaving.unknown >= 0.05 { format!(", {:.1} may be anything", leaving.unknown) } else { String::new() };
    let saved = match leaving.minutes_saved {
        Some((m, low, high)) => format!("; it saves {m:.0} minutes of digging ({low:.0} to {high:.0})"),
        None => "; no track shows the time at six holes, so what it saves is not known".to_owned(),
    };
    format!("leaving {} that sound like this leaves {:.1} worth digging{of}{unknown}{saved}", leaving.of, none_below(worth))
}

/// What a gauge step means, in centimetres.
pub fn depth_words(step: &StepDepth) -> String {
    let cm = |m: f64| 100.0 * m;
    let range = step.interval_m.map_or_else(
        || ", not enough readings for an interval".to_owned(),
        |(low, high)| format!(" (90 %: {:.0} to {:.0} cm)", cm(low), cm(high)),
    );
    format!("{:.0} cm{range}", cm(step.depth_m))
}

/// What a signal may be kind by kind, likeliest first; what to bear in mind comes last.
pub fn may_be_words(told: &MayBe) -> Vec<String> {
    let answer = |a: &&super::Answer| format!("{:.0} % {} ({})", 100.0 * a.chance, a.label, a.words);
    let mut lines: Vec<String> = told.told(6).iter().map(answer).collect();
    lines.extend(told.notes.iter().map(|n| format!("note: {n}")));
    lines
}

fn share_words(share: &Share) -> String {
    match share.share {
        Some(s) => {
            format!("{} of {}, {:.0} % ({:.0} to {:.0})", share.count, share.of, 100.0 * s, 100.0 * share.low, 100.0 * share.high)
        }
        None => "none found yet".to_owned(),
    }
}

/// What a cut-off would have given up and saved, line by line.
pub fn cut_off_words(cut_off: &CutOff) -> Vec<String> {
    let mut lines = Vec::new();
    if !cut_off.too_little {
        lines.extend(cut_off.classes.iter().map(|c| format!("gives up {}: {}", c.class, share_words(&c.lost))));
        let minutes =
            cut_off.minutes_saved.map_or_else(String::new, |(m, low, high)| format!(", {m:.0} minutes ({low:.0} to {high:.0})"));
        lines.push(format!("saves holes: {}{minutes}", share_words(&cut_off.holes)));
    }
    lines.extend(cut_off.notes.iter().map(|n| format!("note: {n}")));
    lines
}

/// Two set-ups side by side, line by line.
pub fn comparison_words(c: &Comparison) -> Vec<String> {
    let mut lines = vec![format!("\"{}\" against \"{}\" on {} targets", c.setups.0, c.setups.1, c.targets)];
    let cm = |m: f64| 100.0 * m;
    lines.extend(c.heard.iter().map(|h| {
        let (a, b) = (h.first, h.second);
        format!("at {:.0} cm: heard {} of {} against {} of {}", cm(h.depth_m), a.0, a.1, b.0, b.1)
    }));
    for (name, reach) in [(&c.setups.0, &c.first_reach), (&c.setups.1, &c.second_reach)] {
        lines.extend(
            reach
                .iter()
                .map(|r| format!("\"{name}\" hears half at {:.0} cm ({:.0} to {:.0})", cm(r.half_m), cm(r.low_m), cm(r.high_m))),
        );
    }
    let verdict = |within: bool| if within { "within chance" } else { "more than chance" };
    lines.extend(
        c.difference.iter().map(|d| {
            format!("odds of hearing ×{:.2} ({:.2} to {:.2}): {}", d.odds_ratio, d.low, d.high, verdict(d.within_chance))
        }),
    );
    lines.extend(c.spread.iter().map(|s| {
        format!(
            "numbers spread over {:.1} % of the scale against {:.1} %, ×{:.2} ({:.2} to {:.2}): {}",
            100.0 * s.first,
            100.0 * s.second,
            s.ratio,
            s.low,
            s.high,
            verdict(s.within_chance)
        )
    }));
    lines.extend(c.notes.iter().map(|n| format!("note: {n}")));
    lines
}

/// Forecasts of a tenth below which its figure is not told.
const FEW: usize = 5;

fn reliability_words(r: &Reliability) -> Vec<String> {
    let mut lines = vec![r.said()];
    let percent = |p: f64| format!("{:.0}", 100.0 * p);
    lines.extend(r.tenths().iter().filter(|t| t.so.of >= FEW).map(|t| {
        format!(
            "given {} to {} %, {} % on average: right {} of {}, {} % ({} to {})",
            percent(t.from),
            percent(t.to),
            percent(t.said),
            t.so.count,
            t.so.of,
            percent(t.so.share.unwrap_or(0.0)),
            percent(t.so.low),
            percent(t.so.high)
        )
    }));
    lines
}

/// How often the answers of a set-up are right, line by line.
pub fn calibration_words(c: &Calibration) -> Vec<String> {
    let mut lines = Vec::new();
    match c.finds.signals() {
        0 => lines.push("No find with a target ID was made here with this set-up, so none could be left out.".to_owned()),
        n => {
            let each = if n < c.of_finds { format!("{n} of {} finds", c.of_finds) } else { format!("each of {n} finds") };
            lines.push(format!("Leaving out {each} in turn, answered by the rest:"));
            lines.extend(reliability_words(&c.finds));
        }
    }
    match c.bench.signals() {
        0 => lines.push("No bench target could be left out and answered by others.".to_owned()),
        _ => {
            lines.push("Leaving out each bench target whole, every kind as likely as any other:".to_owned());
            lines.extend(reliability_words(&c.bench));
        }
    }
    lines
}

/// What the signals left undug count for, line by line.
pub fn undug_words(undug: &Undug) -> Vec<String> {
    let (answered, left) = (undug.expected.len(), undug.unanswered.len());
    let sum = |of: fn(&super::Expected) -> f64| undug.expected.iter().map(of).sum::<f64>();
    let mut lines = vec![format!(
        "{answered} signals heard and left count as {:.1} finds worth going back for; by weight {:.1} heavy, {:.1} light, {:.1} unknown",
        undug.worthwhile(),
        sum(|e| e.heavy),
        sum(|e| e.light),
        sum(|e| e.unknown)
    )];
    if answered > 0 {
        lines.push(match undug.range {
            Some((low, high)) if undug.from_bench => format!(
                "{low:.1} to {high:.1}: what you dig is not what you leave. The figure is weighed by what you said on the bench you would dig, \
                 and by how what you left sounded; the least holds if you left them for something that is not noted, the most if you dig \
                 all kinds alike"
            ),
            Some((low, high)) => format!(
                "{low:.1} to {high:.1}: what you dig is not what you leave. The figure shares out what you left by how it sounded; at one end \
                 stands what it would be if you dug all kinds alike. No bench reading says whether you would dig it or leave it"
            ),
            None => "weighed by what you dig, so rather too many: no bench reading says whether you would dig it or leave it".to_owned(),
        });
    }
    if let Some((_, why)) = undug.unanswered.first() {
        lines.push(format!("{left} have no answer and count for nothing; the first because {why}"));
    }
    lines
}
