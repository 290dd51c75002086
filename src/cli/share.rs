use jiff::Timestamp;

use super::Failure;
use super::args::ShareArgs;
use super::permission::named;
use super::said::{beach_of, make_folder, open, over, print_text};
use crate::book::{Book, Uid};
use crate::output;
use crate::query::{Ask as _, AtOnce, Inquiry};

pub(super) fn run(args: &ShareArgs) -> Result<(), Failure> {
    let open = open(&args.book)?;
    let (beach, permission) = whose(args, open.book())?;
    make_folder(&args.out)?;
    let now = Timestamp::now();
    let inquiry = Inquiry::new(open.book(), beach, now)?;
    let handed = AtOnce::default().ask(inquiry.hand_over(permission, now))?;
    let files: Vec<_> = handed.files.iter().map(|(name, bytes)| (args.out.join(name), bytes)).collect();
    let left_out: Vec<_> = handed.left_out().into_iter().map(|name| args.out.join(name)).collect();
    let gone = output::write_instead(&files, &left_out, over(args.force))?;
    let written: Vec<&str> = handed.files.iter().map(|(name, _)| name.as_str()).collect();
    let mut text: String = handed.said.iter().map(|s| format!("{s}\n")).collect();
    text += &format!("Wrote into {}: {}\n", args.out.display(), written.join(", "));
    for path in gone {
        text += &format!("Removed {}, which an earlier hand-over left there and this one leaves out.\n", path.display());
    }
    print_text(&text)
}

/// The beach, and the permission whose holder it is for; none is for oneself.
fn whose(args: &ShareArgs, book: &Book) -> Result<(Uid, Option<Uid>), Failure> {
    // A permission says which beach it is for; without one the beach is the named or the only one.
    let beach = match (&args.beach, &args.permission) {
        (None, Some(_)) => None,
        (name, _) => Some(beach_of(book, name.as_deref())?.uid),
    };
    match (&args.permission, beach) {
        (None, Some(beach)) => Ok((beach, None)),
        (name, beach) => {
            let permission = named(book, beach, name.as_deref().unwrap_or_default())?;
            Ok((permission.beach, Some(permission.uid)))
        }
    }
}
