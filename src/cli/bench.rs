use serde_json::{Value, json};

use super::Failure;
use super::args::BenchArgs;
use super::said::{beach_of, open, print_json, print_text, rounded};
use crate::bench::{
    self, BenchError, Comparison, CutOff, Learned, MayBe, Mix, Share, Signature, Sounded, StepDepth, setup_label, setup_named,
};
use crate::book::{Book, Steadiness, Uid};

impl From<BenchError> for Failure {
    fn from(error: BenchError) -> Self {
        Self::input(error)
    }
}

/// What was asked, answered.
#[derive(Default)]
struct Told {
    /// Each set-up with what it taught, or why it taught nothing.
    setups: Vec<(Uid, String, Result<Learned, BenchError>)>,
    signal: Option<MayBe>,
    step: Option<StepDepth>,
    cut_off: Option<CutOff>,
    comparison: Option<Comparison>,
}

pub(super) fn run(args: &BenchArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let told = answer(open.book(), args)?;
    if args.json { print_json(&document(&told)) } else { print_text(&text(&told)) }
}

fn answer(book: &Book, args: &BenchArgs) -> Result<Told, Failure> {
    let chosen = args.setup.as_deref().map(|name| setup_named(book, name)).transpose()?;
    if book.setups().is_empty() {
        return Err(Failure::input("there is no set-up in the book; import one, or make it in the window"));
    }
    let setups = book.setups().values().filter(|s| chosen.is_none_or(|c| c.uid == s.uid));
    let mut told =
        Told { setups: setups.map(|s| (s.uid, setup_label(book, s), Learned::of(book, s.uid))).collect(), ..Told::default() };
    told.setups.sort_by(|a, b| a.1.cmp(&b.1));
    if let Some(typed) = &args.signal {
        let learned = one(&told, "--signal")?;
        let target_ids = bench::read_ids(typed).map_err(Failure::usage)?;
        let steadiness = args.steadiness.as_deref().map(str::parse::<Steadiness>).transpose().map_err(Failure::usage)?;
        let heard = Sounded { target_ids: &target_ids, steadiness, gauge_step: args.step };
        let beach = beach_of(book, args.beach.as_deref())?.uid;
        told.signal = Some(learned.may_be(&heard, &Mix::on(book, beach))?);
    } else if let Some(step) = args.step {
        told.step = Some(one(&told, "--step")?.gauge.as_ref().map_err(Clone::clone).and_then(|g| g.depth(step))?);
    }
    if let Some(under) = args.under {
        let setup = one(&told, "--under")?.setup;
        let beach = beach_of(book, args.beach.as_deref())?.uid;
        told.cut_off = Some(bench::cut_off(book, beach, setup, under));
    }
    if let Some(against) = &args.against {
        let first = one(&told, "--against")?.setup;
        told.comparison = Some(bench::compare(book, first, setup_named(book, against)?.uid)?);
    }
    Ok(told)
}

/// The one set-up that a question is about.
fn one<'t>(told: &'t Told, option: &str) -> Result<&'t Learned, Failure> {
    match told.setups.as_slice() {
        [(_, _, learned)] => Ok(learned.as_ref().map_err(Clone::clone)?),
        several => {
            let names: Vec<String> = several.iter().map(|s| format!("\"{}\"", s.1)).collect();
            Err(Failure::usage(format!(
                "the book has several set-ups; choose one for {option} with --setup: {}",
                names.join(", ")
            )))
        }
    }
}

/// The answers as `--json` tells them; the keys are part of the promise in DEVELOPERS.md.
fn document(told: &Told) -> Value {
    let setups: Vec<Value> = told
        .setups
        .iter()
        .map(|(uid, name, learned)| match learned {
            Ok(learned) => setup_document(*uid, learned),
            Err(why) => json!({ "uid": uid, "name": name, "why": why.to_string() }),
        })
        .collect();
    plain(json!({
        "setups": setups,
        "signal": told.signal,
        "step": told.step,
        "cut_off": told.cut_off,
        "comparison": told.comparison,
    }))
}

/// The same with every figure to four decimals, so that none pretends to more.
fn plain(value: Value) -> Value {
    match value {
        Value::Number(n) if n.is_f64() => n.as_f64().map_or(Value::Null, |v| json!(rounded(v, 4))),
        Value::Array(all) => Value::Array(all.into_iter().map(plain).collect()),
        Value::Object(all) => Value::Object(all.into_iter().map(|(k, v)| (k, plain(v))).collect()),
        other => other,
    }
}

fn setup_document(uid: Uid, learned: &Learned) -> Value {
    let gauge = match &learned.gauge {
        Ok(gauge) => json!({ "steps": gauge.steps(), "full_when_shallow": gauge.full_when_shallow() }),
        Err(why) => json!({ "why": why.to_string() }),
    };
    let raw = learned
        .evidence
        .kinds
        .iter()
        .flat_map(|k| k.raw.iter().map(|(depth_m, id)| json!({ "kind": k.kind, "depth_m": depth_m, "target_id": id })));
    json!({
        "uid": uid,
        "name": learned.name,
        "usual_depth_m": learned.usual_depth_m,
        "scale": learned.scale,
        "growth_per_m": learned.growth_per_m,
        "steadiness": learned.steadiness,
        "bare_hole": { "readings": learned.evidence.controls, "heard": learned.evidence.controls_heard },
        "signatures": learned.signatures,
        "gauge": gauge,
        "readings": raw.collect::<Vec<_>>(),
        "notes": learned.notes,
    })
}

fn text(told: &Told) -> String {
    let mut out = String::new();
    for (_, name, learned) in &told.setups {
        match learned {
            Ok(learned) => out += &setup_text(learned),
            Err(why) => out += &format!("{name}\n  {why}\n"),
        }
    }
    if let Some(signal) = &told.signal {
        out += &signal_text(signal);
    }
    if let Some(step) = &told.step {
        out += &format!("gauge step {}: {}\n", step.step, depth_words(step));
    }
    if let Some(cut_off) = &told.cut_off {
        out += &cut_off_text(cut_off);
    }
    if let Some(comparison) = &told.comparison {
        out += &comparison_text(comparison);
    }
    out
}

fn setup_text(learned: &Learned) -> String {
    let mut out = format!("{}\n", learned.name);
    for s in &learned.signatures {
        out += &format!("  {}\n", signature_words(s));
    }
    match &learned.gauge {
        Ok(gauge) => {
            for step in gauge.steps() {
                out += &format!("  gauge step {}: {}\n", step.step, depth_words(&step));
            }
            for f in gauge.full_when_shallow() {
                out += &format!("  the gauge read full for {} at {:.0} cm\n", f.target, 100.0 * f.depth_m);
            }
        }
        Err(why) => out += &format!("  no depths: {why}\n"),
    }
    for note in &learned.notes {
        out += &format!("  note: {note}\n");
    }
    out
}

fn signature_words(s: &Signature) -> String {
    let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let unsteady = if s.readings == 0 {
        String::new()
    } else {
        format!(", {:.0} % jumpy or broken", 100.0 * (s.steadiness[1] + s.steadiness[2]))
    };
    format!(
        "{}: centre {:.1} ({:.1} to {:.1}), 90 % of passes {:.0} to {:.0}, ×{:.1} wider each 10 cm{unsteady}; {} of {}{}",
        s.label,
        s.centre,
        s.centre_interval.0,
        s.centre_interval.1,
        s.expected.0,
        s.expected.1,
        s.wider_per_10cm,
        count(s.passes, "number"),
        count(s.specimens, "specimen"),
        s.care.as_ref().map_or_else(String::new, |c| format!("; {c}")),
    )
}

fn depth_words(step: &StepDepth) -> String {
    let cm = |m: f64| 100.0 * m;
    let range = step.interval_m.map_or_else(
        || ", not enough readings for an interval".to_owned(),
        |(low, high)| format!(" (90 %: {:.0} to {:.0} cm)", cm(low), cm(high)),
    );
    format!("{:.0} cm{range}", cm(step.depth_m))
}

fn signal_text(signal: &MayBe) -> String {
    let mut out = format!("with {}, weighed by {} finds, it may be\n", signal.setup, signal.finds);
    for a in signal.told(6) {
        out += &format!("  {:>3.0} %  {} ({})\n", 100.0 * a.chance, a.label, a.words);
    }
    if let Some(depth) = &signal.depth {
        out += &format!("  the gauge says {}\n", depth_words(depth));
    }
    for note in &signal.notes {
        out += &format!("  note: {note}\n");
    }
    out
}

fn share_words(share: &Share) -> String {
    match share.share {
        Some(s) => {
            format!("{} of {}, {:.0} % ({:.0} to {:.0})", share.count, share.of, 100.0 * s, 100.0 * share.low, 100.0 * share.high)
        }
        None => "none found yet".to_owned(),
    }
}

fn cut_off_text(cut_off: &CutOff) -> String {
    let mut out = format!("leaving everything under {} would have given up\n", cut_off.under);
    if !cut_off.too_little {
        for c in &cut_off.classes {
            out += &format!("  {}: {}\n", c.class, share_words(&c.lost));
        }
        out += &format!("  and saved {} holes", share_words(&cut_off.holes));
        if let Some((minutes, low, high)) = cut_off.minutes_saved {
            out += &format!(", {minutes:.0} minutes ({low:.0} to {high:.0})");
        }
        out += "\n";
    }
    for note in &cut_off.notes {
        out += &format!("  note: {note}\n");
    }
    out
}

fn comparison_text(c: &Comparison) -> String {
    let mut out = format!("\"{}\" against \"{}\" on {} targets\n", c.setups.0, c.setups.1, c.targets);
    for h in &c.heard {
        let (a, b) = (h.first, h.second);
        out += &format!("  at {:.0} cm: heard {} of {} against {} of {}\n", 100.0 * h.depth_m, a.0, a.1, b.0, b.1);
    }
    for (name, reach) in [(&c.setups.0, &c.first_reach), (&c.setups.1, &c.second_reach)] {
        if let Some(r) = reach {
            let cm = |m: f64| 100.0 * m;
            out += &format!("  {name} hears half at {:.0} cm ({:.0} to {:.0})\n", cm(r.half_m), cm(r.low_m), cm(r.high_m));
        }
    }
    let verdict = |within: bool| if within { "within chance" } else { "more than chance" };
    if let Some(d) = &c.difference {
        let (ratio, low, high) = (d.odds_ratio, d.low, d.high);
        out += &format!("  odds of hearing ×{ratio:.2} ({low:.2} to {high:.2}): {}\n", verdict(d.within_chance));
    }
    if let Some(s) = &c.spread {
        out += &format!(
            "  numbers spread over {:.1} % of the scale against {:.1} %, ×{:.2} ({:.2} to {:.2}): {}\n",
            100.0 * s.first,
            100.0 * s.second,
            s.ratio,
            s.low,
            s.high,
            verdict(s.within_chance)
        );
    }
    for note in &c.notes {
        out += &format!("  note: {note}\n");
    }
    out
}
