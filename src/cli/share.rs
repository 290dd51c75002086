use std::borrow::Cow;

use super::args::ShareArgs;
use super::said::{beach_of, make_folder, open, print_text, write_file};
use super::{Failure, read};
use crate::book::{Book, Permission, Uid};
use crate::share;

/// What is written, and the sentences that say how it was cut down.
struct HandedOver<'b> {
    book: Cow<'b, Book>,
    beach: Uid,
    said: Vec<String>,
    for_oneself: bool,
}

pub(super) fn run(args: &ShareArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let handed = handed_over(args, open.book())?;
    make_folder(&args.out)?;
    let (setting, reading) = read::read(&handed.book, handed.beach)?;
    let mut written = Vec::new();
    for (name, bytes) in share::open_files(&handed.book, &setting, &reading).map_err(Failure::output)? {
        write_file(&args.out.join(name), &bytes)?;
        written.push(name);
    }
    let mut report = share::report(&handed.book, &setting, &reading, jiff::Timestamp::now());
    let mut pages = Vec::new();
    if handed.for_oneself {
        pages.push(("plan.svg", share::plan_picture(&handed.book, &setting, &reading).svg()));
    } else {
        report.opening.extend(handed.said.iter().cloned());
    }
    pages.push(("report.html", report.html()));
    for (name, text) in pages {
        write_file(&args.out.join(name), text.as_bytes())?;
        written.push(name);
    }
    let mut text: String = handed.said.iter().map(|s| format!("{s}\n")).collect();
    text += &format!("Wrote into {}: {}\n", args.out.display(), written.join(", "));
    print_text(&text)
}

/// Everything for oneself, or what one permission lets its holder see.
fn handed_over<'b>(args: &ShareArgs, book: &'b Book) -> Result<HandedOver<'b>, Failure> {
    // A permission says which beach it is for; without one the beach is the named or the only one.
    let beach = match (&args.beach, &args.permission) {
        (None, Some(_)) => None,
        (name, _) => Some(beach_of(book, name.as_deref())?.uid),
    };
    match (&args.permission, beach) {
        (None, Some(beach)) => {
            let said = vec![share::EXACT_CAUTION.to_owned()];
            Ok(HandedOver { book: Cow::Borrowed(book), beach, said, for_oneself: true })
        }
        (name, beach) => {
            let permission = permission_of(book, beach, name.as_deref().unwrap_or_default())?;
            let cut = share::cut_to(book, permission).map_err(Failure::input)?;
            Ok(HandedOver { book: Cow::Owned(cut.book), beach: permission.beach, said: cut.said, for_oneself: false })
        }
    }
}

/// The permission of this name or uid, of one beach or of any.
fn permission_of<'b>(book: &'b Book, beach: Option<Uid>, name: &str) -> Result<&'b Permission, Failure> {
    let wanted = name.trim().to_lowercase();
    let all = || book.permissions().values().filter(|p| beach.is_none_or(|b| p.beach == b));
    all().find(|p| p.name.trim().to_lowercase() == wanted || p.uid.to_string() == wanted).ok_or_else(|| {
        let names: Vec<&str> = all().map(|p| p.name.as_str()).collect();
        Failure::input(format!(
            "there is no permission \"{name}\" {}; it has {}",
            if beach.is_some() { "on the beach" } else { "in the book" },
            if names.is_empty() { "none".to_owned() } else { names.join(", ") }
        ))
    })
}
