//! What stands in a book twice, from the command line.

use serde_json::json;

use super::Failure;
use super::keeping_args::DoublesArgs;
use super::said::{beach_of, open, print_json, print_text, tell_remarks};
use crate::tidy::{Proposal, doubles};

/// What follows a pair's name where the other of the two is to be kept.
const OTHER: &str = "=other";

pub(super) fn run(args: &DoublesArgs) -> Result<(), Failure> {
    let mut open = open(&args.book)?;
    let beach = args.beach.as_deref().map(|name| beach_of(open.book(), Some(name)).map(|b| b.uid)).transpose()?;
    let mut merged = Vec::new();
    let mut all: Vec<Proposal> = doubles(open.book()).into_iter().filter(|p| beach.is_none_or(|b| p.beach == b)).collect();
    // All are looked up before the first is merged, so that a slip of the pen changes nothing.
    let named: Vec<(Proposal, bool)> = args.merge.iter().map(|wanted| named(&all, wanted)).collect::<Result<_, _>>()?;
    for (proposal, other) in named {
        let edit = if other { &proposal.other } else { &proposal.edit };
        open.apply_as(format!("merge {}", proposal.name), edit)?;
        merged.push(proposal.name.clone());
        all.retain(|p| p.name != proposal.name);
    }
    tell_remarks(&mut open);
    if args.json {
        let rows: Vec<_> = all
            .iter()
            .map(|p| json!({ "name": p.name, "twice": p.twice, "keeps": p.pair[0], "goes": p.pair[1], "words": p.words }))
            .collect();
        return print_json(&json!({ "merged": merged, "doubles": rows }));
    }
    let mut out: String = merged.iter().map(|name| format!("merged {name}\n")).collect();
    for p in &all {
        out += &format!("{}: {}\n", p.name, p.words);
    }
    out += &match all.len() {
        0 => "Nothing seems to stand in the book twice.\n".to_owned(),
        n => format!(
            "{n} pair(s). Nothing is merged unless it is named: --merge NAME keeps the first of a pair and what only the second says, \
             --merge NAME{OTHER} the second. What is merged can be taken back with `scourline book --take-back`.\n"
        ),
    };
    print_text(&out)
}

fn named(all: &[Proposal], wanted: &str) -> Result<(Proposal, bool), Failure> {
    let (name, other) = wanted.strip_suffix(OTHER).map_or((wanted, false), |name| (name, true));
    let found = all.iter().find(|p| p.name == name).cloned();
    found.map(|p| (p, other)).ok_or_else(|| Failure::input(format!("no pair is named \"{name}\"; nothing was merged")))
}
