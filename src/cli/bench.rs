use serde_json::{Value, json};

use super::Failure;
use super::args::BenchArgs;
use super::said::{beach_of, open, over, print_json, print_text, rounded};
use crate::bench::{
    self, BenchError, Calibration, Comparison, CutOff, Learned, Leaving, MayBe, Mix, Reliability, Sounded, StepDepth, Undug,
    calibration_words, class_words, comparison_words, cut_off_words, depth_words, leaving_words, may_be_words, read_words,
    setup_label, setup_named, signature_words, undug_words,
};
use crate::book::{Book, Ground, Steadiness, Uid};
use crate::output;

impl From<BenchError> for Failure {
    fn from(error: BenchError) -> Self {
        Self::input(error)
    }
}

/// What was asked, answered.
#[derive(Default)]
struct BenchAnswers {
    /// Each set-up with what it taught, or why it taught nothing.
    setups: Vec<(Uid, String, Result<Learned, BenchError>)>,
    signal: Option<(MayBe, Leaving)>,
    step: Option<StepDepth>,
    cut_off: Option<CutOff>,
    comparison: Option<Comparison>,
    calibration: Option<Calibration>,
    undug: Option<Undug>,
}

pub(super) fn run(args: &BenchArgs) -> Result<(), Failure> {
    if let Some(path) = &args.template {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        if ending.as_deref().is_some_and(|e| e != "csv") {
            return Err(Failure::usage(format!(
                "{} would not be what its name says: the table is a CSV, which spreadsheets open and this program reads back; end the \
                 name in .csv",
                path.display()
            )));
        }
        output::check([path.as_path()], over(args.force))?;
        output::write(path, bench::template().as_bytes(), over(args.force))?;
        return Ok(());
    }
    let book = args.book.as_deref().ok_or_else(|| Failure::usage("say which book with --book"))?;
    let open = open(book)?;
    if let Some(path) = &args.svg {
        output::check([path.as_path()], over(args.force))?;
    }
    let told = answer(open.book(), args)?;
    if let (Some(path), Some(calibration)) = (&args.svg, &told.calibration) {
        let name = told.setups.first().map_or("", |s| s.1.as_str());
        let left_out = if calibration.finds.signals() > 0 { &calibration.finds } else { &calibration.bench };
        output::write(path, left_out.svg(name).as_bytes(), over(args.force))?;
    }
    if args.json { print_json(&document(&told)) } else { print_text(&text(&told, args.table)) }
}

fn answer(book: &Book, args: &BenchArgs) -> Result<BenchAnswers, Failure> {
    let chosen = args.setup.as_deref().map(|name| setup_named(book, name)).transpose()?;
    if book.setups().is_empty() {
        return Err(Failure::input("there is no set-up in the book; import one, or make it in the window"));
    }
    let setups = book.setups().values().filter(|s| chosen.is_none_or(|c| c.uid == s.uid));
    let mut told = BenchAnswers {
        setups: setups.map(|s| (s.uid, setup_label(book.setups(), s), Learned::from_book(book, s.uid))).collect(),
        ..BenchAnswers::default()
    };
    told.setups.sort_by(|a, b| a.1.cmp(&b.1));
    if let Some(typed) = &args.signal {
        let learned = one(&told, "--signal")?;
        let target_ids = bench::read_ids(typed).map_err(Failure::usage)?;
        let steadiness = args.steadiness.as_deref().map(str::parse::<Steadiness>).transpose().map_err(Failure::usage)?;
        let ground = args.ground.as_deref().map(ground_in_words).transpose()?;
        let heard = Sounded { target_ids: &target_ids, steadiness, gauge_step: args.step, ground };
        let beach = weighing(book, args)?;
        let pace = book.beaches().get(&beach).and_then(|b| bench::pace(book, b));
        let may_be = learned.may_be(&heard, &Mix::on(book, beach))?;
        told.signal = Some((may_be.clone(), bench::leaving(&may_be, pace)));
    } else if let Some(step) = args.step {
        told.step = Some(one(&told, "--step")?.gauge.as_ref().map_err(Clone::clone).and_then(|g| g.depth(step))?);
    }
    if let Some(under) = args.under {
        let setup = one(&told, "--under")?.setup;
        let beach = weighing(book, args)?;
        told.cut_off = Some(bench::cut_off(book, beach, setup, under));
    }
    if let Some(against) = &args.against {
        let first = one(&told, "--against")?.setup;
        told.comparison = Some(bench::compare(book, first, setup_named(book, against)?.uid)?);
    }
    if args.calibration {
        let setup = one(&told, "--calibration")?.setup;
        let beach = weighing(book, args)?;
        told.calibration = Some(Calibration::leaving_out(book, beach, setup));
    }
    if args.undug {
        told.undug = Some(bench::undug(book, weighing(book, args)?));
    }
    Ok(told)
}

fn ground_in_words(text: &str) -> Result<Ground, Failure> {
    let choices: Vec<&str> = Ground::ALL.iter().map(|g| g.word()).collect();
    Ground::from_words(text)
        .ok_or_else(|| Failure::usage(format!("\"{text}\" is no ground; write one of {}, or wet", choices.join(", "))))
}

/// The beach whose finds weigh the answers; one that holds nothing where the book has no beach.
fn weighing(book: &Book, args: &BenchArgs) -> Result<Uid, Failure> {
    if args.beach.is_none() && book.beaches().is_empty() {
        return Ok(Uid::of_content("no beach", []));
    }
    Ok(beach_of(book, args.beach.as_deref())?.uid)
}

/// The one set-up that a question is about.
fn one<'t>(told: &'t BenchAnswers, option: &str) -> Result<&'t Learned, Failure> {
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
fn document(told: &BenchAnswers) -> Value {
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
        "signal": told.signal.as_ref().map(|(may_be, leaving)| {
            let mut asked = json!(may_be);
            asked["leaving"] = json!(leaving);
            asked
        }),
        "step": told.step,
        "cut_off": told.cut_off,
        "comparison": told.comparison,
        "calibration": told.calibration.as_ref().map(|c| json!({
            "finds": reliability(&c.finds),
            "of_finds": c.of_finds,
            "bench": reliability(&c.bench),
        })),
        "undug": told.undug.as_ref().map(|u| json!({
            "worthwhile": u.worthwhile(),
            "range": u.range,
            "expected": u.expected,
            "unanswered": u.unanswered.iter().map(|(uid, why)| json!({ "signal": uid, "why": why.to_string() })).collect::<Vec<_>>(),
        })),
    }))
}

fn reliability(r: &Reliability) -> Value {
    json!({
        "signals": r.signals(),
        "first_right": r.first_right(),
        "brier": r.brier(),
        "brier_before": r.brier_before(),
        "error": r.error(),
        "tenths": r.tenths(),
    })
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
        "scraped": learned.evidence.scraped,
        "signatures": learned.signatures,
        "gauge": gauge,
        "readings": raw.collect::<Vec<_>>(),
        "notes": learned.notes,
    })
}

fn text(told: &BenchAnswers, table: bool) -> String {
    let mut lines = Vec::new();
    let indented = |l: String| format!("  {l}");
    // What was asked comes first; the whole table only when it is asked for.
    if let Some((signal, leaving)) = &told.signal {
        lines.push(class_words(signal));
        lines.extend(signal.depth.iter().map(|d| format!("the gauge says {}", depth_words(d))));
        lines.push(leaving_words(leaving));
        lines.push(format!("kind by kind, with \"{}\", weighed by {} finds:", signal.setup, signal.finds));
        lines.extend(may_be_words(signal).into_iter().map(indented));
    }
    lines.extend(told.step.iter().map(|step| format!("gauge step {}: {}", step.step, depth_words(step))));
    if let Some(cut_off) = &told.cut_off {
        lines.push(format!("leaving everything under {}", cut_off.under));
        lines.extend(cut_off_words(cut_off).into_iter().map(indented));
    }
    lines.extend(told.comparison.iter().flat_map(comparison_words));
    lines.extend(told.calibration.iter().flat_map(calibration_words));
    lines.extend(told.undug.iter().flat_map(undug_words));
    let asked = !lines.is_empty();
    if asked && !table {
        return lines.join("\n") + "\n";
    }
    for (_, name, learned) in &told.setups {
        lines.push(name.clone());
        match learned {
            Ok(learned) if table => lines.extend(setup_words(learned).into_iter().map(indented)),
            Ok(learned) => lines.extend(read_words(learned).into_iter().chain(notes(learned)).map(indented)),
            Err(why) => lines.push(format!("  {why}")),
        }
    }
    if !table {
        lines.push("ask of a signal with --signal, of a cut-off with --under; the whole table comes with --table".to_owned());
    }
    lines.join("\n") + "\n"
}

fn setup_words(learned: &Learned) -> Vec<String> {
    let mut lines = read_words(learned);
    lines.extend(learned.signatures.iter().map(|s| format!("{}: {}", s.label, signature_words(s))));
    match &learned.gauge {
        Ok(gauge) => {
            lines.extend(gauge.steps().iter().map(|s| format!("gauge step {}: {}", s.step, depth_words(s))));
            let full = gauge.full_when_shallow().iter();
            lines.extend(full.map(|f| format!("the gauge read full for {} at {:.0} cm", f.target, 100.0 * f.depth_m)));
        }
        Err(why) => lines.push(format!("no depths: {why}")),
    }
    lines.extend(notes(learned));
    lines
}

fn notes(learned: &Learned) -> impl Iterator<Item = String> {
    learned.notes.iter().map(|n| format!("note: {n}"))
}
