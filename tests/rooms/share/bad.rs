//! What a hand-over may meet.

use geo_types::{MultiPolygon, polygon};
use scourline::book::{Beach, Book, Edit, Find, Kind, Permission, Record, Uid};
use scourline::earth::LonLat;
use scourline::share::{PackAsk, PictureFolder};

use super::{features, over, pack, rows, searched, text, try_pack};

#[test]
fn a_ground_that_crosses_itself_is_refused_and_a_period_that_ends_before_it_begins() {
    let (mut book, permission) = searched(20, 100.0);
    assert!(try_pack(&book, &permission, over("2026-06-03", "2026-06-01")).unwrap_err().contains("before it begins"));
    let area =
        MultiPolygon(vec![polygon![(x: -20.01, y: 45.0), (x: -19.98, y: 45.003), (x: -19.98, y: 45.0), (x: -20.01, y: 45.003)]]);
    let eight = Permission { area, ..permission };
    book.apply(&Edit::put(eight.clone())).unwrap();
    let why = try_pack(&book, &eight, PackAsk::default()).unwrap_err();
    assert!(why.contains("crosses itself") && why.contains("draw it anew"), "{why}");
}

#[test]
fn none_in_the_period_is_said_and_finds_on_the_edge_belong_to_the_ground() {
    let (mut book, permission) = searched(21, 100.0);
    let none = try_pack(&book, &permission, over("1999-01-01", "1999-12-31")).unwrap();
    assert!(features(&none, "finds.geojson").is_empty() && rows(&none, "outings.csv").is_empty());
    let page = text(&none, "report.html");
    assert!(page.contains("No visit falls into this time.") && page.contains("Nothing was found."));
    let edge = Find::new(permission.beach, LonLat::new(-20.02, 45.0).unwrap(), "gold coin", Kind::keyed("coin"));
    let corner = Find::new(permission.beach, LonLat::new(-19.97, 45.01).unwrap(), "bent coin", Kind::keyed("coin"));
    book.apply(&Edit::Batch(vec![Edit::put(edge), Edit::put(corner)])).unwrap();
    let told = rows(&pack(&book, &permission), "finds.csv");
    assert!(["gold coin", "bent coin"].iter().all(|w| told.iter().any(|r| r["what"] == *w)));
    // What has no day is told of the whole, and of no period.
    let period = try_pack(&book, &permission, over("2000-01-01", "")).unwrap();
    assert!(rows(&period, "finds.csv").iter().all(|r| !r["day"].is_empty()));
}

/// In both packs it would lie on the line between the two grounds.
#[test]
fn a_find_on_the_edge_that_two_grounds_share_stands_in_one_pack() {
    let (mut book, permission) = searched(25, 1000.0);
    let of = |name: &str, west: f64, east: f64| {
        let area =
            MultiPolygon(vec![polygon![(x: west, y: 44.99), (x: east, y: 44.99), (x: east, y: 45.01), (x: west, y: 45.01)]]);
        Permission { uid: Uid::of_content("permission", [name.as_bytes()]), name: name.into(), area, ..permission.clone() }
    };
    let (west, east) = (of("West", -20.02, -20.0), of("East", -20.0, -19.97));
    let find = Find::new(permission.beach, LonLat::new(-20.0, 45.001).unwrap(), "gold coin", Kind::keyed("gold_coin"));
    book.apply(&Edit::Batch(vec![Edit::put(west.clone()), Edit::put(east.clone()), Edit::put(find.clone())])).unwrap();
    let holds =
        |book: &Book, p: &Permission| rows(&pack(book, p), "finds.csv").iter().filter(|r| r["what"] == "gold coin").count();
    assert_eq!(holds(&book, &west) + holds(&book, &east), 1);
    assert_eq!(holds(&book, &permission), 1, "of a ground that holds it within, whatever lies beside");
    // A find that names one of them is told of that one.
    for (named, other) in [(&west, &east), (&east, &west)] {
        book.apply(&Edit::put(Find { permission: named.name.clone(), ..find.clone() })).unwrap();
        assert_eq!((holds(&book, named), holds(&book, other)), (1, 0), "{}", named.name);
    }
}

#[test]
fn names_with_markup_formulas_and_text_from_right_to_left_are_shown_as_text() {
    let (mut book, permission) = searched(22, 100.0);
    // Where places are told exactly, as every other word but those of listed things stays in the book.
    let exact = Permission { exact_positions: true, coarsen_m: None, ..permission };
    let named = Permission { name: "<b onload=x()>Bay</b>".into(), holder: "نادي الشاطئ & \"sons\"".into(), ..exact };
    let at = LonLat::new(-20.0, 45.001).unwrap();
    let words = ["<script>alert(x)</script>", "=HYPERLINK(\"x\")", "עגיל זהב", "Åländsk knäppe, ß"];
    let finds = words.map(|w| Edit::put(Find { age: w.into(), ..Find::new(named.beach, at, w, Kind::keyed("ring")) }));
    book.apply(&Edit::Batch(finds.into_iter().chain([Edit::put(named.clone())]).collect())).unwrap();
    let made = pack(&book, &named);
    let page = text(&made, "report.html");
    assert!(!page.contains("<script") && !page.contains("<b onload") && page.contains("&lt;script&gt;"));
    assert!(page.contains("עגיל זהב") && page.contains("نادي الشاطئ") && page.contains("dir=\"auto\""));
    let table = rows(&made, "finds.csv");
    assert!(table.iter().any(|r| r["what"] == "Åländsk knäppe, ß") && table.iter().any(|r| r["what"].starts_with("'=HYPER")));
    assert!(!text(&made, "plan.svg").contains("<b "));
}

#[test]
fn words_of_a_coarsely_told_find_leave_only_where_each_is_of_a_listed_thing() {
    let (mut book, permission) = searched(24, 1000.0);
    let at = LonLat::new(-20.0, 45.001).unwrap();
    let words = ["coin third groyne", "Münze am Steg", "by Smith's boathouse", "bent silver coin"];
    let find = |w: &str| {
        let told = Find {
            age: w.into(),
            state: w.into(),
            reported: w.into(),
            disposal: w.into(),
            ..Find::new(permission.beach, at, w, Kind::keyed("coin"))
        };
        Edit::put(told)
    };
    book.apply(&Edit::Batch(words.map(find).into_iter().collect())).unwrap();
    let made = pack(&book, &permission);
    for (name, bytes) in &made.files {
        let content = String::from_utf8_lossy(bytes);
        assert!(["groyne", "Steg", "boathouse"].iter().all(|w| !content.contains(w)), "{name}");
    }
    let table = rows(&made, "finds.csv");
    let whole = table.iter().find(|r| r["what"] == "bent silver coin").unwrap();
    assert_eq!((whole["state"].as_str(), whole["age"].as_str()), ("bent silver coin", "noted, not told here"));
    assert_eq!(table.iter().filter(|r| r["state"] == "noted, not told here").count(), 3);
}

#[test]
fn a_missing_photograph_is_told_and_one_that_is_there_goes_along_under_another_name() {
    let (mut book, permission) = searched(23, 100.0);
    let folder = tempfile::tempdir().unwrap();
    let finds: Vec<Find> = book.finds().values().take(2).cloned().collect();
    let pixels = image::RgbImage::from_pixel(40, 30, image::Rgb([9, 99, 199]));
    pixels.save(folder.path().join("there.jpg")).unwrap();
    for (find, photo) in finds.iter().zip(["there.jpg", "IMG_50.1234_-4.1234.jpg"]) {
        book.apply(&Edit::put(Find { photo: photo.into(), ..find.clone() })).unwrap();
    }
    let others = book.finds().values().filter(|f| f.photo.starts_with("IMG_2026")).cloned();
    let bare: Vec<Edit> = others.map(|f| Edit::put(Find { photo: String::new(), ..f })).collect();
    book.apply(&Edit::Batch(bare)).unwrap();
    let ask = PackAsk { photos: Some(PictureFolder::looked_into(folder.path())), ..PackAsk::default() };
    let made = try_pack(&book, &permission, ask).unwrap();
    let pictures: Vec<&str> = made.files.iter().map(|(n, _)| n.as_str()).filter(|n| n.starts_with("picture-")).collect();
    assert_eq!(pictures, [format!("picture-{}.jpg", finds[0].uid.disguised(permission.key))]);
    assert!(made.said.iter().any(|s| s.starts_with("1 picture could not be had: ")), "{:?}", made.said);
    let page = text(&made, "report.html");
    assert_eq!(page.matches("<img src=\"data:image/jpeg;base64,").count(), 1);
    assert!(
        !page.contains("IMG_")
            && made
                .files
                .iter()
                .filter(|(n, _)| !n.ends_with("html"))
                .all(|(_, b)| !String::from_utf8_lossy(b).contains("there.jpg"))
    );
}

#[test]
fn ten_thousand_finds_are_told_one_by_one() {
    let beach = Beach::new("Invented Strand", LonLat::new(-20.0, 45.001).unwrap());
    let area = MultiPolygon(vec![
        polygon![(x: -20.02, y: 44.999), (x: -19.97, y: 45.0), (x: -19.97, y: 45.0041), (x: -20.02, y: 45.003)],
    ]);
    let permission = Permission { coarsen_m: Some(10.0), ..Permission::new(beach.uid, "Strand", area) };
    let find = |n: u32| {
        let at = LonLat::new(-20.015 + 4e-6 * f64::from(n), 45.0005 + 2e-7 * f64::from(n % 10_000)).unwrap();
        Record::from(Find::new(beach.uid, at, "coin", Kind::keyed("coin")))
    };
    let records = (0..10_000).map(find).chain([beach.clone().into(), permission.clone().into()]);
    let made = pack(&Book::gather(records).unwrap(), &permission);
    assert_eq!((features(&made, "finds.geojson").len(), rows(&made, "finds.csv").len()), (10_000, 10_000));
}
