//! The invented beach: made the same each time, planted where the truth says, and shipped as it is made.

use std::collections::BTreeMap;

use scourline::book::Weight;
use scourline::demo::{self, Cause, Made, Planting};

fn shipped() -> Made {
    Planting::shipped().make().expect("the shipped beach can be made")
}

/// Set to make the files of `data/demo` anew; the test then fails, so that nobody leaves it set.
const REGENERATE: &str = "SCOURLINE_REGENERATE_DEMO";

#[test]
fn the_shipped_files_are_what_the_generator_makes() {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo");
    if std::env::var_os(REGENERATE).is_some() {
        let tracks = dir.join("tracks");
        if tracks.exists() {
            std::fs::remove_dir_all(tracks).expect("the old tracks can be removed");
        }
        let names = demo::write_files(&dir).expect("the files can be written");
        panic!("{} files of data/demo were made anew; unset {REGENERATE} and run again", names.len());
    }
    let made: Vec<(String, Vec<u8>)> = shipped().files();
    let embedded = demo::files();
    let names = |list: &mut dyn Iterator<Item = &str>| list.map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(names(&mut embedded.iter().map(|f| f.name)), names(&mut made.iter().map(|f| f.0.as_str())));
    for (shipped, (name, bytes)) in embedded.iter().zip(&made) {
        assert!(shipped.bytes == bytes, "{name} is not what the generator makes; set {REGENERATE}=1 and run this test");
    }
}

#[test]
#[ignore = "prints figures"]
fn figures() {
    for (name, planting) in [("shipped", Planting::shipped()), ("plain", Planting::plain(1)), ("biased", Planting::biased(1))] {
        let clock = std::time::Instant::now();
        let made = planting.make().unwrap();
        println!("== {name} in {:?}", clock.elapsed());
        println!(
            "outings {} fixes {} finds {} signals {} levels {} storms {}",
            made.outings.len(),
            made.tracks.iter().map(|t| t.len()).sum::<usize>(),
            made.finds.len(),
            made.signals.len(),
            made.levels.len(),
            made.storms.len()
        );
        let mut causes: BTreeMap<Cause, [usize; 2]> = BTreeMap::new();
        for f in &made.finds {
            causes.entry(made.truth.cause_of[&f.uid]).or_default()[usize::from(f.weight_class() == Weight::Heavy)] += 1;
        }
        println!("{causes:?}");
        for l in &made.truth.scour_lines {
            println!("line {:?} {:.2} {:?}", l.along_m, l.level_m, l.renewals);
        }
        for z in &made.truth.drop_zones {
            println!("zone {:.0} {:.0}", z.along_m, z.across_m);
        }
        for o in &made.outings {
            println!(
                "{} {} {}",
                o.start,
                (o.end.as_second() - o.start.as_second()) / 60,
                made.finds.iter().filter(|f| f.outing == Some(o.uid)).count()
            );
        }
        let bytes: usize = made.files().iter().map(|f| f.1.len()).sum();
        println!("bytes {bytes}");
    }
}
