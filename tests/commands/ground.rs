//! Known targets read on two grounds, and a signal asked about on one of them. Everything is invented.

use std::fmt::Write as _;
use std::fs;

use crate::end_to_end::{json, refuses, scourline, text};

/// Three kinds of four targets on dry sand, most of them on wet sand too, where they read six higher.
fn table() -> String {
    let mut table = "setup,target,kind,depth_cm,target_ids,ground\n".to_owned();
    for (kind, at) in [("coin", 60), ("lead", 40), ("nail", 5)] {
        for n in 0..4 {
            let ids = |by: i32| [0, 1, 0, 0].map(|d| (at + n + by + d).to_string()).join(" ");
            let mut read = |depth_cm: i32, by: i32, ground: &str| {
                writeln!(table, "my set-up,{kind} {n},{kind},{depth_cm},{},{ground}", ids(by)).unwrap();
            };
            read(10, 0, "dry");
            read(20, 0, "dry");
            if n < 2 || kind == "coin" {
                read(10, 6, "wet");
            }
        }
    }
    table
}

#[test]
fn a_signal_is_answered_on_its_ground_and_what_was_made_of_it_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("known.csv"));
    fs::write(&file, table()).unwrap();
    assert!(scourline(&["import", "--book", text(&book), text(&file)]).status.success());
    let asked = ["bench", "--book", text(&book), "--signal", "46 47 46"];
    let plain = json(&[&asked[..], &["--json"]].concat());
    assert!(plain["signal"].get("ground").is_none(), "{}", plain["signal"]);
    let wet = json(&[&asked[..], &["--ground", "wet", "--json"]].concat());
    let ground = &wet["signal"]["ground"];
    assert_eq!((&ground["ground"], &ground["readings"], &ground["of"]), (&"wet_salt".into(), &8.into(), &32.into()));
    assert_eq!((&ground["others"][0]["ground"], &ground["others"][0]["readings"]), (&"dry".into(), &24.into()));
    let by = ground["others"][0]["moved_by"].as_f64().unwrap();
    assert!((by - 6.0).abs() < 0.5, "{ground}");
    let lead = |told: &serde_json::Value| {
        let answers = told["signal"]["answers"].as_array().unwrap();
        answers.iter().find(|a| a["label"] == "lead piece").unwrap()["chance"].as_f64().unwrap()
    };
    assert!(lead(&wet) > lead(&plain), "{} {}", lead(&wet), lead(&plain));
    let out = scourline(&[&asked[..], &["--ground", "wet sand"]].concat());
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(said.contains("Taken on wet salt sand: 8 of 32 readings heard were on it. The 24 on dry sand are taken"), "{said}");
    let why = refuses(2, &[&asked[..], &["--ground", "grass"]].concat());
    assert!(why.contains("\"grass\" is no ground"), "{why}");
    refuses(2, &["bench", "--book", text(&book), "--ground", "wet"]);
}
