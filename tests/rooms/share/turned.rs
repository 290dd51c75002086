//! The plan of a beach whose baseline nobody gave: it follows the ground and nothing that was found.

use scourline::book::{Book, Edit, Find, Permission};
use scourline::earth::{EarthSquare, LonLat, SquareSide};

use super::{pack, searched, text};

/// The book with every find moved within its square of 100 m: along a slant, so that their direction is another.
fn moved(book: &Book) -> Book {
    let mut own = book.clone();
    let slanted = book.finds().values().enumerate().map(|(n, find)| {
        let square = geo::BoundingRect::bounding_rect(&EarthSquare::around(find.at, SquareSide::M100).outline()).unwrap();
        let t = 0.1 + 0.8 * (n as f64 / book.finds().len() as f64);
        let at = LonLat::new(square.min().x + t * square.width(), square.min().y + (1.0 - t) * square.height()).unwrap();
        Edit::put(Find { at, ..find.clone() })
    });
    own.apply(&Edit::Batch(slanted.collect())).unwrap();
    // What somebody else found, far along another line, is no part of the pack.
    let theirs = book.finds().values().take(200).enumerate().map(|(n, find)| {
        let at = LonLat::new(-20.015 + 2e-6 * n as f64, 44.992 + 8e-5 * n as f64).unwrap();
        let more = [(Find::OF_ANOTHER.to_owned(), "an invented friend".to_owned())].into();
        Edit::put(Find { more, ..Find::new(find.beach, at, "coin", find.kind.clone()) })
    });
    own.apply(&Edit::Batch(theirs.collect())).unwrap();
    own
}

#[test]
fn without_a_given_baseline_the_plan_says_nothing_of_where_finds_lie_in_their_squares() {
    let (book, permission) = searched(40, 100.0);
    let (first, second) = (pack(&book, &permission), pack(&moved(&book), &permission));
    for name in ["finds.geojson", "outings.geojson", "zones.geojson", "plan.svg", "report.html", "finds.csv", "outings.csv"] {
        assert_eq!(text(&first, name), text(&second, name), "{name}");
    }
    assert!(text(&first, "plan.svg").contains("rotate(0.0)"), "north is up");
    let page = text(&first, "report.html");
    assert!(page.contains("north at its upper side") && !page.contains("the sea at its lower side"));
}

#[test]
fn a_given_baseline_turns_the_plan_so_that_the_sea_lies_below() {
    let (mut book, permission) = searched(41, 100.0);
    let beach = book.beaches()[&permission.beach].clone();
    let baseline = [(-20.01, 45.0), (-19.985, 45.002)].map(|(x, y)| LonLat::new(x, y).unwrap()).to_vec();
    book.apply(&Edit::put(scourline::book::Beach { baseline, ..beach })).unwrap();
    let made = pack(&book, &permission);
    assert!(text(&made, "report.html").contains("the sea at its lower side"));
    assert!(!text(&made, "plan.svg").contains("rotate(0.0)"));
}

/// HTML Living Standard, 4.5.24: words whose direction is not known are set apart from what stands about them by `bdi`.
#[test]
fn names_within_sentences_are_set_apart() {
    let (mut book, permission) = searched(42, 100.0);
    let named = Permission { holder: "نادي الشاطئ".into(), name: "חוף".into(), ..permission };
    book.apply(&Edit::put(named.clone())).unwrap();
    let page = text(&pack(&book, &named), "report.html").to_owned();
    assert!(
        page.contains("<bdi>نادي الشاطئ</bdi>") && page.contains("<bdi>חוף</bdi>") && page.contains("<bdi>Invented Strand</bdi>")
    );
}
