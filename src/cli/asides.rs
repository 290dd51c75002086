//! Stretches of outings that are no witness of the water, from the command line.

use jiff::Timestamp;
use jiff::civil::Date;

use super::Failure;
use crate::book::{Aside, Beach, Book, Edit, Outing, Track};

/// The edits that set stretches aside, each given as the day of its outing and the stretches, or `none`; and a sentence for
/// each stretch that reaches over its outing.
pub(super) fn edits(book: &Book, beach: &Beach, asked: &[String]) -> Result<(Vec<Edit>, Vec<String>), Failure> {
    let mut said = Vec::new();
    let all: Result<Vec<Edit>, Failure> = asked.iter().map(|text| edit(book, beach, text, &mut said)).collect();
    Ok((all?, said))
}

fn edit(book: &Book, beach: &Beach, text: &str, said: &mut Vec<String>) -> Result<Edit, Failure> {
    let unfit = || Failure::usage(format!("\"{text}\" is not a day and stretches such as \"2026-07-12 06:40-07:10 wading\""));
    let (day, rest) = text.trim().split_once(' ').ok_or_else(unfit)?;
    let day: Date = day.parse().map_err(|_| unfit())?;
    let zone = beach.zone().map_err(Failure::input)?;
    let stretches = if rest.trim() == "none" { "" } else { rest };
    let mut last = None;
    for outing in book.outings_of(beach.uid).into_iter().filter(|o| zone.to_datetime(o.start).date() == day) {
        let (from, to) = lasts(book, outing);
        let typed = Aside::read_all(stretches, (from, to), &zone).map_err(Failure::usage)?;
        let cut: Option<Vec<Aside>> = typed.iter().map(|a| a.within(from, to)).collect();
        if let Some(asides) = cut {
            let over = typed.iter().zip(&asides).filter(|(typed, kept)| typed != kept);
            said.extend(over.map(|(typed, kept)| {
                let [typed, kept] = [typed, kept].map(|a| Aside::words_of_all(&[*a], &zone));
                format!("The stretch {typed} of {day} reaches over its outing: {kept} is set aside.")
            }));
            return Ok(Edit::put(Outing { asides, ..outing.clone() }));
        }
        last = Some(outing);
    }
    Err(Failure::input(match last {
        Some(_) => format!("no outing of {day} has been under way at those times of the beach's clock"),
        None => format!("there is no outing on {day} at \"{}\"", beach.name),
    }))
}

/// From when to when an outing lasts, its tracks and finds among it: people note its times roughly.
fn lasts(book: &Book, outing: &Outing) -> (Timestamp, Timestamp) {
    let tracks = book.tracks_of(outing.beach).filter(|t| t.outing == Some(outing.uid)).filter_map(Track::span);
    let finds = book.finds_of(outing.beach).filter(|f| f.outing == Some(outing.uid)).filter_map(|f| f.time).map(|t| (t, t));
    tracks.chain(finds).fold((outing.start, outing.end), |(from, to), (a, b)| (from.min(a), to.max(b)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn a_stretch_that_reaches_over_its_outing_is_cut_and_one_apart_from_it_is_refused() {
        let beach = Beach { time_zone: "Europe/London".into(), ..Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap()) };
        let [start, end] = ["2026-07-12T06:00:00Z", "2026-07-12T09:00:00Z"].map(|t| t.parse::<Timestamp>().unwrap());
        let outing = Outing::new(beach.uid, start, end);
        let mut book = Book::new();
        book.apply(&Edit::Batch(vec![Edit::put(beach.clone()), Edit::put(outing.clone())])).unwrap();
        let set = |text: &str| {
            let (edits, said) = edits(&book, &beach, &[text.to_owned()])?;
            let mut with = book.clone();
            with.apply(&Edit::Batch(edits)).unwrap();
            Ok::<_, Failure>((Aside::words_of_all(&with.outings()[&outing.uid].asides, &beach.zone().unwrap()), said.join(" ")))
        };
        // The outing lasts from 07:00 to 10:00 British Summer Time.
        assert_eq!(set("2026-07-12 07:30-08:00 wading").unwrap(), ("07:30-08:00 wading".into(), String::new()));
        let (kept, said) = set("2026-07-12 06:30-07:30 wading; 09:30-10:45 not me").unwrap();
        assert_eq!(kept, "07:00-07:30 wading; 09:30-10:00 not me");
        assert!(said.contains("06:30-07:30 wading of 2026-07-12 reaches over its outing: 07:00-07:30 wading"), "{said}");
        assert_eq!(set("2026-07-12 05:00-23:00 not me").unwrap().0, "07:00-10:00 not me");
        for apart in ["2026-07-12 05:00-07:00 wading", "2026-07-12 10:10-10:30 wading", "2026-07-13 07:30-08:00 wading"] {
            assert!(set(apart).is_err(), "{apart}");
        }
    }
}
