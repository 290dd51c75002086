//! Finds, signals and tracks as a file for other programs, exact and for oneself.

use std::collections::BTreeSet;

use super::Failure;
use super::args::{ExportArgs, ExportWhat};
use super::filter;
use super::said::{beach_of, open, over, print_text};
use crate::book::Weight;
use crate::exchange::{self, Chosen, Written};
use crate::output;
use crate::reading::WeightChoice;

pub(super) fn run(args: &ExportArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let book = open.book();
    let beach = beach_of(book, args.beach.as_deref())?;
    let written = format(args)?;
    let filter = filter::from_args(&args.filter, book, beach)?;
    let cut = filter.cut(book, beach).map_err(Failure::usage)?;
    let weight = match filter.weight {
        Some(WeightChoice::Heavy) => Some(Weight::Heavy),
        Some(WeightChoice::Light) => Some(Weight::Light),
        _ => None,
    };
    let what = wanted(&args.what, written);
    let mut chosen = Chosen { name: beach.name.clone(), ..Chosen::default() };
    if what.contains(&ExportWhat::Finds) {
        let takes = |w: Weight| weight.is_none_or(|wanted| wanted == w);
        chosen.finds = cut.book.finds_of(beach.uid).filter(|f| takes(f.weight_class())).collect();
    }
    if what.contains(&ExportWhat::Signals) {
        chosen.signals = cut.book.signals_of(beach.uid).collect();
    }
    if what.contains(&ExportWhat::Tracks) {
        chosen.tracks = cut.book.tracks_of(beach.uid).collect();
    }
    if chosen.is_empty() {
        return Err(Failure::input(format!("{} has nothing of what is asked for, so nothing was written", beach.name)));
    }
    let left_out = chosen.finds.iter().filter(|f| f.depth_m.is_some() || f.target_id.is_some() || f.mass_g.is_some()).count();
    let bytes = exchange::export(&chosen, written).map_err(Failure::usage)?;
    output::write(&args.out, &bytes, over(args.force))?;
    let counts = [(chosen.finds.len(), "find"), (chosen.signals.len(), "signal"), (chosen.tracks.len(), "track")];
    let counts: Vec<String> =
        counts.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}{}", if *n == 1 { "" } else { "s" })).collect();
    print_text(&format!(
        "Wrote {} to {} ({}).\nIts places and times are exact: it is for yourself. For a landowner or anybody else there is `share`.\n",
        counts.join(", "),
        args.out.display(),
        written.word()
    ))?;
    if written == Written::Gpx && left_out > 0 {
        print_text(&format!(
            "GPX has no place for depth, target ID, mass and their like, which {left_out} of the finds have: CSV, KML and GeoJSON keep them.\n"
        ))?;
    }
    Ok(())
}

fn format(args: &ExportArgs) -> Result<Written, Failure> {
    let words = || Written::ALL.map(|(_, word)| word).join(", ");
    match &args.format {
        Some(word) => Written::named(word)
            .ok_or_else(|| Failure::usage(format!("\"{word}\" is no format to write; use one of {}", words()))),
        None => Written::of_path(&args.out).ok_or_else(|| {
            let name = args.out.display();
            Failure::usage(format!(
                "the name {name} does not say in which format; end it in one of {}, or name it with --format",
                words()
            ))
        }),
    }
}

/// What is asked for; of a table everything that fits into one.
fn wanted(asked: &[ExportWhat], written: Written) -> BTreeSet<ExportWhat> {
    if !asked.is_empty() {
        return asked.iter().copied().collect();
    }
    let points = [ExportWhat::Finds, ExportWhat::Signals];
    if written == Written::Csv { points.into() } else { points.into_iter().chain([ExportWhat::Tracks]).collect() }
}
