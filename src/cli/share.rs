use jiff::Timestamp;

use super::Failure;
use super::args::ShareArgs;
use super::permission::named;
use super::said::{beach_of, make_folder, open, over, print_text, tell_remarks};
use crate::book::{Book, Edit, Uid};
use crate::output;
use crate::query::{Ask as _, AtOnce, Inquiry};
use crate::share::{PackAsk, PictureFolder};

pub(super) fn run(args: &ShareArgs) -> Result<(), Failure> {
    let mut open = open(&args.book)?;
    let (beach, permission) = whose(args, open.book())?;
    let permission = permission.map(|uid| Ok::<_, Failure>((uid, asked(args)?))).transpose()?;
    let now = Timestamp::now();
    let inquiry = Inquiry::new(open.book(), beach, now)?;
    let handed = AtOnce::default().ask(inquiry.hand_over(permission, now))?;
    let mut text: String = handed.said.iter().map(|s| format!("{s}\n")).collect();
    let Some(out) = args.out.as_deref().filter(|_| !args.preview) else {
        text += "This would leave, and nothing else:\n";
        handed.leaves.iter().for_each(|line| text += &format!("  {line}\n"));
        return print_text(&text);
    };
    let beside = handed.beside_in(out);
    if let Some(why) = beside.refusal() {
        return Err(Failure::output(why));
    }
    make_folder(out)?;
    let files: Vec<_> = handed.files.iter().map(|(name, bytes)| (out.join(name), bytes)).collect();
    let gone = output::write_instead(&files, &handed.left_out_in(out), over(args.force))?;
    let written: Vec<&str> = handed.files.iter().map(|(name, _)| name.as_str()).collect();
    text += &format!("Wrote into {}: {}\n", out.display(), written.join(", "));
    for path in gone {
        text += &format!("Removed {}, which an earlier hand-over left there and this one leaves out.\n", path.display());
    }
    if let Some(receipt) = handed.receipt.clone().filter(|_| !args.no_receipt) {
        let label = format!("hand over under {}", receipt.name);
        open.apply_as(label, &Edit::put(receipt)).map_err(|why| {
            Failure::output(format!("the files were written, but the book could not keep what was handed over: {why}"))
        })?;
        tell_remarks(&mut open);
        text += "The book keeps a receipt of it.\n";
    }
    text.extend(beside.said().map(|said| format!("{said}\n")));
    print_text(&text)
}

/// What of the permission's finds is wanted.
fn asked(args: &ShareArgs) -> Result<PackAsk, Failure> {
    let day = |option: &str, text: &Option<String>| {
        let read =
            |t: &String| t.trim().parse().map_err(|_| Failure::usage(format!("{option} \"{t}\" is no day such as 2027-03-31")));
        text.as_ref().map(read).transpose()
    };
    let (from, to) = (day("--from", &args.from)?, day("--to", &args.to)?);
    Ok(PackAsk { from, to, new_only: args.new, photos: args.pictures.as_deref().map(PictureFolder::looked_into) })
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
