//! A pack read in by another person's book.

use scourline::book::{Book, Edit, Find};
use scourline::exchange::Options;
use scourline::reading::Filter;

use super::{FINDS, features, outline, pack, searched, text};
use crate::exchange::common::take;

#[test]
fn a_coarse_pack_is_taken_in_as_another_persons_and_is_in_no_reading() {
    let (book, permission) = searched(50, 100.0);
    let made = pack(&book, &permission);
    let beach = book.beaches()[&permission.beach].clone();
    let mut own = Book::new();
    own.apply(&Edit::put(beach.clone())).unwrap();
    let take = |book: &Book, options: &Options| take("finds.geojson", text(&made, "finds.geojson"), book, options);
    // As one's own they would stand where they do not lie.
    let refused = take(&own, &Options::default());
    assert!(refused.edit.singles().is_empty() && refused.refused_count == FINDS, "{:?}", refused.refused);
    let by = Options { by: Some("an invented friend".into()), ..Options::default() };
    let taken = take(&own, &by);
    assert_eq!((taken.edit.singles().len(), taken.refused_count), (FINDS, 0));
    own.apply(&taken.edit).unwrap();
    let areas: Vec<_> = features(&made, "finds.geojson").iter().map(outline).collect();
    for find in own.finds().values() {
        assert!(find.is_of_another() && find.more[Find::ROUGHLY].contains("from corner to corner"), "{find:?}");
        let at = geo_types::Point::new(find.at.lon_deg(), find.at.lat_deg());
        assert!(areas.iter().any(|a| geo::Contains::contains(a, &at)));
    }
    let cut = Filter::default().cut(&own, &beach).unwrap();
    assert_eq!((cut.finds, cut.finds_in_all, cut.of_others), (0, 0, FINDS));
}
