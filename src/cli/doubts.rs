//! What must not be believed of a beach, and its confirmation, from the command line.

use jiff::Timestamp;

use super::Failure;
use crate::book::{Beach, Book, Confirmation, Edit, Uid};
use crate::query::{Ask as _, AtOnce, Given, Inquiry};
use crate::shore::Setting;
use crate::trust::{Confirmed, Told, Weight};

/// A beach of the book laid out, and what is doubted of it, the gravest first.
pub(super) fn of_beach(book: &Book, beach: Uid) -> Result<(Setting, Given<Vec<Told>>), Failure> {
    let (inquiry, mut at_once) = (Inquiry::new(book, beach, Timestamp::now())?, AtOnce::default());
    // The layout is the same however the beach is read, and does not hold that.
    let laid_out = at_once.ask(inquiry.setting())?;
    let setting = Setting { beach: inquiry.beach().clone(), ..Setting::clone(&laid_out) };
    Ok((setting, inquiry.doubts(&mut at_once)?))
}

/// The beach with these doubts confirmed, and these confirmations taken back. Only what is doubted of the beach as it
/// stands can be confirmed, so that a slip of the pen confirms nothing.
pub(super) fn confirmed(book: &Book, beach: Beach, confirm: &[String], take_back: &[String]) -> Result<Beach, Failure> {
    let mut beach = beach;
    for key in take_back {
        if !beach.confirmed.iter().any(|c| c.key == *key) {
            return Err(Failure::input(format!("nothing is confirmed under \"{key}\"")));
        }
        beach = beach.without_confirmed(key);
    }
    if confirm.is_empty() {
        return Ok(beach);
    }
    let mut with = book.clone();
    with.apply(&Edit::put(beach.clone())).map_err(Failure::input)?;
    let (_, told) = of_beach(&with, beach.uid)?;
    for key in confirm {
        match told.iter().find(|t| t.doubt.key == *key) {
            Some(t) if t.doubt.weight == Weight::Refuses => {
                return Err(Failure::input(format!("this cannot be confirmed, only mended: {}", t.doubt.sentence)));
            }
            Some(_) => beach = beach.with_confirmed(Confirmation { key: key.clone(), time: Timestamp::now() }),
            None => {
                let open: Vec<&str> = told.iter().filter(|t| t.can_be_confirmed()).map(|t| t.doubt.key.as_str()).collect();
                let open = if open.is_empty() {
                    "nothing waits for it".to_owned()
                } else {
                    format!("what waits for it is {}", open.join(", "))
                };
                return Err(Failure::input(format!("there is no doubt \"{key}\" to be confirmed; {open}")));
            }
        }
    }
    Ok(beach)
}

/// For a person, a few lines each.
pub(super) fn text(told: &[Told]) -> String {
    let mut out = String::new();
    for t in told {
        let doubt = &t.doubt;
        let head = match (doubt.weight, t.confirmed) {
            (_, Some(Confirmed::Kept(_))) => "confirmed by you",
            (_, Some(Confirmed::ForThisRoute)) => "trusted by you",
            (Weight::Caution, None) => "caution",
            (Weight::Question, None) => "question",
            (Weight::Blocks | Weight::Refuses, None) if doubt.spans.is_empty() => "NO ROUTE UNTIL SETTLED",
            (Weight::Blocks | Weight::Refuses, None) => "NO ROUTE AT THE LOWS IT TOUCHES UNTIL SETTLED",
        };
        out += &format!("  {head}: {}\n", doubt.sentence);
        if t.confirmed.is_none() {
            doubt.settle.iter().for_each(|way| out += &format!("    {way}\n"));
        }
        if t.can_be_confirmed() {
            out += &format!("    If you looked into it and it is so: scourline beach --confirm \"{}\"\n", doubt.key);
        }
    }
    out
}
