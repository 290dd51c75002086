//! Permissions, from the command line.

use jiff::civil::{Date, Time};
use serde_json::{Value, json};

use super::Failure;
use super::args::PermissionArgs;
use super::said::{open, print_json, print_text, tell_remarks};
use crate::book::{Book, Edit, Permission, PermissionText, PlaceRule, Uid};
use crate::share::Precision;

pub(super) fn run(args: &PermissionArgs) -> Result<(), Failure> {
    let mut open = open(&args.book)?;
    if let Some(name) = &args.name {
        let before = named(open.book(), None, name)?.clone();
        let after = changed(args, &before)?;
        if after != before {
            open.apply_as(format!("change permission {}", after.name), &Edit::put(after))?;
            tell_remarks(&mut open);
        }
    }
    let wanted = args.name.as_ref().map(|name| named(open.book(), None, name).map(|p| p.uid)).transpose()?;
    let shown: Vec<&Permission> = open.book().permissions().values().filter(|p| wanted.is_none_or(|u| p.uid == u)).collect();
    if args.json {
        let rows: Vec<Value> = shown.iter().map(|p| document(open.book(), p)).collect();
        return print_json(&json!({ "permissions": rows }));
    }
    let text: Vec<String> = shown.iter().map(|p| said(open.book(), p)).collect();
    print_text(&if text.is_empty() {
        "There is no permission in the book; import its ground as GeoJSON with the role permission.\n".to_owned()
    } else {
        text.join("\n")
    })
}

/// The permission of this name or uid, of one beach or of any.
pub(super) fn named<'b>(book: &'b Book, beach: Option<Uid>, name: &str) -> Result<&'b Permission, Failure> {
    let wanted = name.trim().to_lowercase();
    let all = || book.permissions().values().filter(|p| beach.is_none_or(|b| p.beach == b));
    let so_called: Vec<&Permission> = all().filter(|p| p.name.trim().to_lowercase() == wanted).collect();
    if so_called.len() > 1 {
        let which: Vec<String> = so_called.iter().map(|p| format!("{} ({})", p.uid, p.holder)).collect();
        return Err(Failure::input(format!(
            "there are {} permissions \"{name}\": name one by its uid, {}",
            which.len(),
            which.join(", ")
        )));
    }
    so_called.first().copied().or_else(|| all().find(|p| p.uid.to_string() == wanted)).ok_or_else(|| {
        let names: Vec<&str> = all().map(|p| p.name.as_str()).collect();
        Failure::input(format!(
            "there is no permission \"{name}\" {}; it has {}",
            if beach.is_some() { "on the beach" } else { "in the book" },
            if names.is_empty() { "none".to_owned() } else { names.join(", ") }
        ))
    })
}

/// The permission as the options have it.
fn changed(args: &PermissionArgs, was: &Permission) -> Result<Permission, Failure> {
    let mut typed = PermissionText::of_permission(was);
    let fields = [
        (&args.holder, &mut typed.holder),
        (&args.contact, &mut typed.contact),
        (&args.papers, &mut typed.papers),
        (&args.from, &mut typed.from),
        (&args.to, &mut typed.to),
        (&args.hours, &mut typed.hours),
        (&args.terms, &mut typed.terms),
        (&args.deepest_cm, &mut typed.deepest_cm),
        (&args.holder_share, &mut typed.share_percent),
        (&args.report, &mut typed.report),
        (&args.due, &mut typed.due),
        (&args.older_than, &mut typed.older_than),
        (&args.precision, &mut typed.precision),
        (&args.places, &mut typed.places),
    ];
    for (given, field) in fields {
        if let Some(text) = given {
            // A date, an hour or a rule is taken away by its word; nothing typed is hard to type in some shells.
            *field = if text.trim().eq_ignore_ascii_case("none") { String::new() } else { text.clone() };
        }
    }
    typed.read(was).map_err(Failure::usage)
}

fn document(book: &Book, p: &Permission) -> Value {
    let beach = book.beaches().get(&p.beach).map(|b| b.name.as_str());
    let clock = |t: Time| t.strftime("%H:%M").to_string();
    let handed: Vec<Value> = (book.receipts().values().filter(|r| r.permission == p.uid))
        .map(|r| json!({ "time": r.time, "from": r.from, "to": r.to, "finds": r.finds.len(), "manifest_sha256": r.manifest }))
        .collect();
    json!({
        "uid": p.uid, "name": p.name, "beach": beach, "holder": p.holder, "contact": p.agreed.contact, "papers": p.agreed.papers,
        "from": p.from, "to": p.to, "hours": p.hours.map(|(from, to)| json!({ "from": clock(from), "to": clock(to) })),
        "terms": p.terms, "deepest_m": p.agreed.deepest_m, "holder_share": p.agreed.holder_share, "report": p.report,
        "report_due": p.agreed.due.map(|d| d.word()), "older_than": p.agreed.older_than,
        "square_m": match Precision::granted(p) { Precision::Squares(side) => json!(side.m()), Precision::Exact | Precision::Withheld => Value::Null },
        "exact": Precision::granted(p) == Precision::Exact, "places_by_kind": PlaceRule::words_of_all(&p.agreed.places), "handed": handed,
    })
}

fn said(book: &Book, p: &Permission) -> String {
    let beach = book.beaches().get(&p.beach).map_or("", |b| b.name.as_str());
    let mut lines = vec![format!("{} ({beach})", p.name)];
    let mut line = |what: &str, text: String| {
        if !text.is_empty() {
            lines.push(format!("  {what}: {text}"));
        }
    };
    line("holder", p.holder.clone());
    line("contact", p.agreed.contact.clone());
    line("papers", p.agreed.papers.clone());
    let day = |d: Option<Date>, open: &str| d.map_or_else(|| open.to_owned(), |d| d.to_string());
    if p.from.is_some() || p.to.is_some() {
        line("holds", format!("{} to {}", day(p.from, "any day"), day(p.to, "no end")));
    }
    line("hours", p.hours.map_or_else(String::new, |(from, to)| format!("{}-{}", from.strftime("%H:%M"), to.strftime("%H:%M"))));
    line("terms", p.terms.clone());
    line("no deeper than", p.agreed.deepest_m.map_or_else(String::new, |m| format!("{:.0} cm", 100.0 * m)));
    line("holder's share", p.agreed.holder_share.map_or_else(String::new, |s| format!("{:.0} %", 100.0 * s)));
    line("to be reported", p.report.clone());
    line("when", p.agreed.due.map_or_else(String::new, |d| d.label().to_owned()));
    line("older than", p.agreed.older_than.map_or_else(String::new, |y| y.to_string()));
    line("places", Precision::granted(p).said());
    line("places by kind", PlaceRule::words_of_all(&p.agreed.places));
    for receipt in book.receipts().values().filter(|r| r.permission == p.uid) {
        line(
            "handed over",
            format!("{}, {} find(s), manifest {}", receipt.time.strftime("%F"), receipt.finds.len(), receipt.manifest),
        );
    }
    lines.join("\n") + "\n"
}
