//! Permissions, what stands against finds, and packs, from the command line.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::end_to_end::{json, refuses, scourline, text};

const GROUND: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"role":"permission","name":"Strand","holder":"an invented trust","from":"2026-01-01","to":"2026-12-31","coarsen_m":100,"deepest_cm":30,"places_by_kind":"jewellery withheld"},"geometry":{"type":"Polygon","coordinates":[[[-20.01,45.0],[-19.99,45.0],[-19.99,45.01],[-20.01,45.01],[-20.01,45.0]]]}},
{"type":"Feature","properties":{"role":"zone","name":"Tern plot","use":"bird closure","closed season":"03-01/08-31"},"geometry":{"type":"Polygon","coordinates":[[[-20.001,45.001],[-20.0,45.001],[-20.0,45.002],[-20.001,45.002],[-20.001,45.001]]]}}]}"#;

const FINDS: &str = "what,kind,lat,lon,time,depth_cm,age\n\
penny,coin,45.0050000,-20.0050000,2026-05-01T09:00:00Z,10,1914\n\
gold ring,ring,45.0052000,-20.0052000,2026-05-01T09:10:00Z,40,\n\
penny,coin,45.0015000,-20.0005000,2026-05-01T09:20:00Z,10,1967\n\
penny,coin,45.0055000,-20.0055000,2027-05-01T09:20:00Z,10,1967\n\
penny,coin,45.0500000,-20.0050000,2026-05-01T09:30:00Z,10,1967\n";

fn book(dir: &Path) -> PathBuf {
    let (book, ground, finds) = (dir.join("b.gpkg"), dir.join("ground.geojson"), dir.join("finds.csv"));
    std::fs::write(&ground, GROUND).expect("a file");
    std::fs::write(&finds, FINDS).expect("a file");
    let out = scourline(&["import", "--book", text(&book), "--beach", "Strand", text(&ground), text(&finds)]);
    assert!(out.status.success(), "{out:?}");
    book
}

fn said(args: &[&str]) -> String {
    let out = scourline(args);
    assert!(out.status.success(), "{out:?}");
    String::from_utf8(out.stdout).expect("text")
}

#[test]
fn terms_are_taken_in_shown_changed_and_refused_with_a_sentence() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let shown = json(&["permission", "--book", text(&book), "--json"]);
    let p = &shown["permissions"][0];
    assert_eq!((&p["name"], &p["deepest_m"], &p["square_m"]), (&"Strand".into(), &0.3.into(), &100.0.into()));
    assert_eq!((&p["places_by_kind"], &p["to"]), (&"jewellery withheld".into(), &"2026-12-31".into()));
    let changed = [
        "--name",
        "strand",
        "--contact",
        "the office",
        "--due",
        "yearly",
        "--older-than",
        "1950",
        "--to",
        "",
        "--precision",
        "10",
    ];
    let told = json(&[&["permission", "--book", text(&book), "--json"][..], &changed].concat());
    let p = &told["permissions"][0];
    assert_eq!((&p["contact"], &p["report_due"], &p["older_than"]), (&"the office".into(), &"yearly".into(), &1950.into()));
    assert_eq!((&p["to"], &p["square_m"]), (&Value::Null, &10.0.into()));
    let why = refuses(2, &["permission", "--book", text(&book), "--name", "Strand", "--precision", "250"]);
    assert!(why.contains("250") && why.contains("squares of 10"), "{why}");
    // A file that names an unusual square is refused as well, and not rounded.
    let odd = dir.path().join("odd.geojson");
    std::fs::write(&odd, GROUND.replace("\"coarsen_m\":100", "\"coarsen_m\":250")).expect("a file");
    let read = json(&["import", "--book", text(&book), "--dry-run", "--json", text(&odd)]);
    assert!(read["files"][0]["refused"].to_string().contains("no squares of 250 m"), "{read}");
}

/// "1 km" used to be left out, and the places were then told by squares of 100 m, or exactly.
#[test]
fn a_precision_is_read_in_every_word_for_it_and_refused_where_it_cannot_be() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("ground.geojson");
    let with = |n: usize, said: &str| {
        let book = dir.path().join(format!("{n}.gpkg"));
        let ground = GROUND.replace(r#""coarsen_m":100"#, said).replace(r#","places_by_kind":"jewellery withheld""#, "");
        std::fs::write(&file, ground).expect("a file");
        let told = json(&["import", "--book", text(&book), "--beach", "Strand", "--json", text(&file)]);
        let kept = json(&["permission", "--book", text(&book), "--json"])["permissions"][0].clone();
        (told["files"][0]["refused"].to_string(), kept)
    };
    for (n, (said, square_m)) in [
        (r#""coarsen_m":"1 km""#, 1000.0),
        (r#""exact_positions":true,"coarsen_m":"1km""#, 1000.0),
        (r#""square_m":1000,"exact_positions":true"#, 1000.0),
        (r#""precision":"10 km""#, 10_000.0),
        (r#""precision":"100 m","square_m":100"#, 100.0),
    ]
    .into_iter()
    .enumerate()
    {
        let (refused, kept) = with(n, said);
        assert_eq!((&kept["square_m"], &kept["exact"]), (&square_m.into(), &false.into()), "{said}: {refused}");
    }
    assert_eq!(with(10, r#""precision":"exact""#).1["exact"], true);
    assert_eq!(with(11, r#""places":"jewellery withheld","exact_positions":true"#).1["places_by_kind"], "jewellery withheld");
    assert_eq!(with(12, r#""exact_positions":true,"precision":"withheld""#).1["places_by_kind"], "everything withheld");
    for (n, said) in [
        r#""coarsen_m":"a field""#,
        r#""exact_positions":true,"coarsen_m":"about 1 km""#,
        r#""exact_positions":true,"precision":"250 m""#,
        r#""coarsen_m":100,"square_m":1000"#,
        r#""coarsen_m":100,"precision":"exact""#,
        r#""exact_positions":false,"precision":"exact""#,
        r#""exact_positions":true,"places":"unicorns withheld""#,
        r#""exact":true,"exact_positions":false"#,
    ]
    .into_iter()
    .enumerate()
    {
        let (refused, kept) = with(20 + n, said);
        assert!(kept.is_null() && refused.contains("feature"), "{said}: {refused} {kept}");
    }
}

/// Only the account said so, long after.
#[test]
fn a_ground_that_crosses_itself_is_told_at_import_and_by_check() {
    let dir = tempfile::tempdir().expect("a folder");
    let (book, file) = (dir.path().join("b.gpkg"), dir.path().join("ground.geojson"));
    let straight = "[[[-20.01,45.0],[-19.99,45.0],[-19.99,45.01],[-20.01,45.01],[-20.01,45.0]]]";
    let crossing = "[[[-20.01,45.0],[-19.99,45.01],[-19.99,45.0],[-20.01,45.01],[-20.01,45.0]]]";
    for (outline, crosses) in [(straight, false), (crossing, true)] {
        assert!(GROUND.contains(straight));
        std::fs::write(&file, GROUND.replace(straight, outline)).expect("a file");
        let told = said(&["import", "--book", text(&book), "--beach", &format!("Strand {crosses}"), text(&file)]);
        assert_eq!(told.contains("outline crosses itself"), crosses, "{told}");
        let checked = said(&["check", "--book", text(&book), "--beach", &format!("Strand {crosses}")]);
        assert_eq!(checked.contains("\"Strand\" has an outline that crosses itself"), crosses, "{checked}");
    }
}

#[test]
fn what_stands_against_finds_is_checked() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let told = json(&["check", "--book", text(&book), "--json"]);
    let flags = told["beaches"][0]["flags"].as_array().expect("a list").clone();
    let whys: Vec<&str> = flags.iter().filter_map(|f| f["why"].as_str()).collect();
    assert_eq!(whys, ["closed", "outside", "expired", "toodeep"], "{flags:?}");
    assert!(flags[0]["sentence"].as_str().is_some_and(|s| s.contains("bird closure, 1 March to 31 August")));
    let open = told["beaches"][0]["unanswered"].as_array().expect("a list").len();
    assert_eq!(open, 2, "the penny of 1914 may be an antiquity, and gold of unknown age: {told}");
    let beach = &told["beaches"][0];
    assert!(beach["country_name"].is_null() && beach["law"].to_string().contains("no list here for this place"), "{told}");
    assert!(said(&["check", "--book", text(&book)]).contains("always check the law where you are"));
}

#[test]
fn a_pack_is_previewed_written_remembered_and_followed_by_what_is_new() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let share = ["share", "--book", text(&book), "--permission", "Strand"];
    let listed = said(&[&share[..], &["--preview"]].concat());
    assert!(listed.contains("This would leave, and nothing else:") && listed.contains("place_told withheld"), "{listed}");
    assert!(!listed.contains("45.0050000") && !listed.contains("09:00"));
    let out = dir.path().join("handed");
    let may = ["--from", "2026-01-01", "--to", "2026-12-31", "--out", text(&out)];
    let first = said(&[&share[..], &may].concat());
    assert!(first.contains("3 finds") && first.contains("The book keeps a receipt of it."), "{first}");
    let manifest: Value = serde_json::from_slice(&std::fs::read(out.join("manifest.json")).expect("a manifest")).expect("JSON");
    assert_eq!(manifest["finds"], 3);
    let handed = json(&["permission", "--book", text(&book), "--json"]);
    assert_eq!(handed["permissions"][0]["handed"][0]["finds"], 3);
    let second = dir.path().join("second");
    let new = said(&[&share[..], &["--new", "--out", text(&second)]].concat());
    assert!(new.contains("1 find ") && new.contains("3 handed over before"), "{new}");
    refuses(2, &[&share[..], &["--from", "spring", "--out", text(&second)]].concat());
}

/// An exact hand-over of one's own used to stay beside the pack where its files had been edited, and so did an export.
#[test]
fn a_pack_is_not_written_beside_ones_own_exact_files() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let (own, with, clean) = (dir.path().join("own"), dir.path().join("with"), dir.path().join("clean"));
    let pack = ["share", "--book", text(&book), "--permission", "Strand", "--no-receipt", "--force", "--out"];
    said(&["share", "--book", text(&book), "--out", text(&own)]);
    // As it was made it goes, and the pack stands alone.
    said(&[&pack[..], &[text(&own)]].concat());
    assert!(own.join("manifest.json").exists() && !own.join("signals.geojson").exists());
    said(&["share", "--book", text(&book), "--out", text(&with)]);
    let signals = with.join("signals.geojson");
    let edited = std::fs::read_to_string(&signals).expect("signals") + "\n";
    std::fs::write(&signals, &edited).expect("a file");
    let why = refuses(4, &[&pack[..], &[text(&with)]].concat());
    assert!(why.contains("signals.geojson") && why.contains("another folder"), "{why}");
    assert!(!with.join("manifest.json").exists() && with.join("clusters.geojson").exists(), "nothing was written, nothing went");
    assert_eq!(std::fs::read_to_string(&signals).expect("signals"), edited);
    // An export of one's own in a folder within it, the same.
    std::fs::create_dir_all(clean.join("mine")).expect("a folder");
    said(&["export", "--book", text(&book), "--what", "finds", "--out", text(&clean.join("mine/all.geojson"))]);
    assert!(refuses(4, &[&pack[..], &[text(&clean)]].concat()).contains("all.geojson"));
    std::fs::remove_dir_all(clean.join("mine")).expect("a folder");
    std::fs::write(clean.join("letter.txt"), "dear holder").expect("a file");
    let told = said(&[&pack[..], &[text(&clean)]].concat());
    assert!(
        told.contains("no part of it: ") && told.contains("letter.txt") && told.contains("Do not hand over the folder"),
        "{told}"
    );
    assert!(clean.join("manifest.json").exists());
}

#[test]
fn a_club_mates_finds_are_kept_apart() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let theirs = dir.path().join("finds.csv");
    let told = json(&["import", "--book", text(&book), "--by", "an invented friend", "--json", text(&theirs)]);
    assert_eq!((&told["taken"], &told["already_there"]), (&5.into(), &0.into()), "their own, though of the very same content");
    let again = json(&["import", "--book", text(&book), "--by", "an invented friend", "--json", text(&theirs)]);
    assert_eq!((&again["taken"], &again["already_there"]), (&0.into(), &5.into()));
    let listed = said(&["share", "--book", text(&book), "--permission", "Strand", "--preview"]);
    assert!(listed.contains("4 finds") && listed.contains("4 of other people"), "{listed}");
}

/// By the folder, by its files one by one as a shell names them, and with pictures in it: nothing is asked, nothing fails.
#[test]
fn a_pack_is_read_back_as_another_persons() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let (pack, pictures) = (dir.path().join("handed"), dir.path().join("pictures"));
    std::fs::create_dir(&pictures).expect("a folder");
    let pixels = image::RgbImage::from_pixel(8, 8, image::Rgb([9, 9, 9]));
    pixels.save(pictures.join("penny.jpg")).expect("a picture");
    let shown = dir.path().join("shown.csv");
    let row = "what,kind,lat,lon,time,photo\nspoon,other,45.0040000,-20.0040000,2026-05-01T09:05:00Z,penny.jpg\n";
    std::fs::write(&shown, row).expect("a file");
    said(&["import", "--book", text(&book), text(&shown)]);
    said(&["share", "--book", text(&book), "--permission", "Strand", "--pictures", text(&pictures), "--out", text(&pack)]);
    let files: Vec<PathBuf> = std::fs::read_dir(&pack).expect("a pack").map(|f| f.expect("a file").path()).collect();
    assert!(files.iter().any(|f| text(f).ends_with(".jpg")), "{files:?}");
    let read = |named: &[&str], book: &Path| {
        json(
            &[&["import", "--book", text(book), "--beach", "Their strand", "--by", "an invented friend", "--json"][..], named]
                .concat(),
        )
    };
    let mut one_by_one: Vec<&str> = files.iter().map(|f| text(f)).collect();
    one_by_one.sort_unstable();
    for (n, named) in [vec![text(&pack)], one_by_one].iter().enumerate() {
        let other = dir.path().join(format!("other{n}.gpkg"));
        let told = read(named, &other);
        // The ring's place is withheld, and where a find lay that has none nobody can say.
        assert_eq!((&told["taken"], &told["refused"]), (&4.into(), &1.into()), "{told}");
        assert!(told["files"].as_array().expect("files").iter().all(|f| f["unsettled"] == Value::Array(Vec::new())), "{told}");
        assert!(told.to_string().contains("is a find whose place is not told"), "{told}");
        assert_eq!(told["failed"], Value::Array(Vec::new()));
        assert_eq!(read(named, &other)["already_there"], 4, "once more adds nothing");
        let listed = said(&["read", "--book", text(&other), "--beach", "Their strand", "--json"]);
        assert!(listed.contains("\"of_others\": 4"), "in no reading: {listed}");
    }
    let alone = refuses(3, &["import", "--book", text(&book), text(&pack.join("report.html"))]);
    assert!(alone.contains("is the account of a pack") && alone.contains("name finds.geojson"), "{alone}");
}

/// It used to become a second permission without a word.
#[test]
fn a_ground_that_is_drawn_anew_is_asked_about() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let permissions =
        |book: &Path| json(&["permission", "--book", text(book), "--json"])["permissions"].as_array().expect("a list").clone();
    let before = permissions(&book);
    said(&["share", "--book", text(&book), "--permission", "Strand", "--out", text(&dir.path().join("handed"))]);
    let anew = dir.path().join("anew.geojson");
    let drawn = GROUND.replace("45.01]", "45.06]").replace("\"deepest_cm\":30,", "");
    std::fs::write(&anew, &drawn).expect("a file");
    let import = ["import", "--book", text(&book), text(&anew)];
    let why = refuses(3, &import);
    assert!(why.contains("has a permission \"Strand\" of an invented trust already") && why.contains("another ground"), "{why}");
    assert!(why.contains("--answer permission=change") && permissions(&book).len() == 1, "{why}");
    let kept = said(&[&import[..], &["--answer", "permission=keep"]].concat());
    assert!(kept.contains("already there: 1 zone, 1 permission") || kept.contains("already there: 1 permission"), "{kept}");
    let told = said(&[&import[..], &["--answer", "permission=change"]].concat());
    assert!(told.contains("get another ground, and packs were handed over for the old one"), "{told}");
    let after = permissions(&book);
    assert_eq!((after.len(), &after[0]["uid"], &after[0]["deepest_m"]), (1, &before[0]["uid"], &before[0]["deepest_m"]));
    assert_eq!(after[0]["handed"].as_array().map(Vec::len), Some(1), "its receipts stay");
    // The same file says nothing new now, nor does it begun at another corner.
    let again = said(&import);
    assert!(again.contains("took nothing") && !again.contains("asks:"), "{again}");
    let turned = drawn.replace(
        "[[[-20.01,45.0],[-19.99,45.0],[-19.99,45.06],[-20.01,45.06],[-20.01,45.0]]]",
        "[[[-19.99,45.06],[-19.99,45.0],[-20.01,45.0],[-20.01,45.06],[-19.99,45.06]]]",
    );
    assert_ne!(turned, drawn);
    std::fs::write(&anew, turned).expect("a file");
    assert!(said(&import).contains("took nothing"));
    let each = said(&["import", "--book", text(&book), "--answer", "permission=each", text(&dir.path().join("ground.geojson"))]);
    assert!(each.contains("took 1 permission") && permissions(&book).len() == 2, "{each}");
}
