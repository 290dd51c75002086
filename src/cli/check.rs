//! What stands against finds and outings, and which finds may carry a duty, from the command line.

use serde_json::{Value, json};

use super::Failure;
use super::args::CheckArgs;
use super::said::{beach_of, open, print_json, print_text};
use crate::book::{Beach, Book};
use crate::duties::law_said;
use crate::query::{Ask as _, AtOnce, CheckQuestion, Checked, Given};

pub(super) fn run(args: &CheckArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let book = open.book();
    let beaches: Vec<&Beach> = match &args.beach {
        Some(name) => vec![beach_of(book, Some(name))?],
        None => book.beaches().values().collect(),
    };
    let mut all = Vec::new();
    for beach in beaches {
        all.push((beach, AtOnce::default().ask(CheckQuestion::new(book, beach))?));
    }
    if args.json {
        let rows: Vec<Value> = all.iter().map(|(beach, checked)| document(beach, checked)).collect();
        return print_json(&json!({ "beaches": rows }));
    }
    let text: Vec<String> = all.iter().map(|(beach, checked)| said(book, beach, checked)).collect();
    print_text(&text.join("\n"))
}

fn law_of(checked: &Checked) -> Vec<String> {
    law_said(&checked.lies_in)
}

fn document(beach: &Beach, checked: &Given<Checked>) -> Value {
    let flags: Vec<Value> = (checked.flags.iter())
        .map(|f| json!({ "record": f.of.word(), "uid": f.uid, "why": format!("{:?}", f.why).to_lowercase(), "sentence": f.sentence }))
        .collect();
    let duties: Vec<Value> = (checked.reminders.iter())
        .map(|(uid, r)| json!({ "find": uid, "subject": r.subject.label(), "says": r.says, "by": r.by }))
        .collect();
    let country = checked.lies_in.settled();
    let countries: Vec<Value> = (checked.lies_in.all().iter())
        .map(|s| json!({ "country": s.country.code, "country_name": s.country.name, "by": s.by }))
        .collect();
    json!({ "beach": beach.name, "country": country.map(|c| c.code), "country_name": country.map(|c| c.name), "countries": countries, "flags": flags, "crossing": checked.crossing, "unanswered": duties, "law": law_of(checked) })
}

fn said(book: &Book, beach: &Beach, checked: &Checked) -> String {
    let mut lines = vec![format!("{}:", beach.name)];
    lines.extend(checked.crossing_said().iter().map(|said| format!("  {said}")));
    if checked.flags.is_empty() && checked.crossing.is_empty() {
        lines.push(
            "  Every find and outing is covered by a permission, as far as any is recorded, and none lies on closed ground."
                .to_owned(),
        );
    }
    lines.extend(checked.flags.iter().map(|f| format!("  {}", f.sentence)));
    lines.extend(checked.reminders.iter().map(|(uid, r)| {
        let what = book.finds().get(uid).map_or("", |f| if f.what.is_empty() { f.kind.label() } else { &f.what });
        let by = r.by.map_or_else(String::new, |by| format!(" By {by}."));
        format!("  {what}: not yet answered ({}).{by}", r.subject.label())
    }));
    if !checked.reminders.is_empty() {
        lines.push("  Note with a find to whom it was reported, or why it need not be; then it is told no more.".to_owned());
    }
    lines.extend(law_of(checked).iter().map(|line| format!("  {line}")));
    lines.extend(checked.lies_in.to_settle().map(|how| format!("  {how}")));
    lines.join("\n") + "\n"
}
