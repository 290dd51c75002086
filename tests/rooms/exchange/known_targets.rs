//! Tables of known targets, as people keep them.

use super::common::{book, take, take_all};
use scourline::bench::template;
use scourline::book::{BenchReading, Book, Edit, Ground, RecordKind, Setup};
use scourline::exchange::{Intake, Options};

/// A book that holds a set-up and no beach.
fn bare() -> Book {
    let mut book = Book::new();
    book.apply(&Edit::put(Setup::new("mine"))).unwrap();
    book
}

fn readings(intake: &Intake, book: &Book) -> Vec<BenchReading> {
    let mut grown = book.clone();
    grown.apply(&intake.edit).unwrap();
    let mut all: Vec<BenchReading> = grown.bench().values().cloned().collect();
    all.sort_by(|a, b| a.target.cmp(&b.target).then(a.depth_m.total_cmp(&b.depth_m)).then(a.target_ids.cmp(&b.target_ids)));
    all
}

fn ids(intake: &Intake, book: &Book) -> Vec<Vec<i32>> {
    readings(intake, book).into_iter().map(|r| r.target_ids).collect()
}

/// Twenty-five targets at four depths, the six numbers of each reading in columns of their own.
#[test]
fn a_hundred_readings_with_ids_in_columns_are_all_heard() {
    for heads in ["ID1,ID2,ID3,ID4,ID5,ID6", "Pass 1,Pass 2,Pass 3,Pass 4,Pass 5,Pass 6", "id 1,id 2,id 3,id 4,id 5,id 6"] {
        let mut text = format!("Target,Kind,Depth (cm),{heads}\n");
        for target in 0..25 {
            for depth in [5, 10, 15, 25] {
                let at = 20 + 2 * target;
                text += &format!("number {target},coin,{depth},{at},{},{at},{at}.0,{at},nothing\n", at + 1);
            }
        }
        let intake = take("bench.csv", &text, &bare(), &Options::default());
        assert_eq!(
            (intake.refused.len(), intake.taken.get(&RecordKind::Bench)),
            (0, Some(&100)),
            "{heads}: {:?}",
            intake.refused
        );
        let all = readings(&intake, &bare());
        assert!(all.iter().all(|r| r.target_ids.len() == 5), "{heads}: {:?}", all[0]);
        assert_eq!(all.iter().find(|r| r.target == "number 3").unwrap().target_ids, [26, 27, 26, 26, 26]);
        assert!(intake.beach.is_none());
    }
}

#[test]
fn a_column_for_each_depth_is_a_reading_for_each() {
    let text = "What,kind,5 cm,\"6\"\"\",ID at 25 cm\nworn coin,coin,43 44,42/44/43,nothing\nbent nail,nail,-6;71,,x\n";
    let intake = take("wide.csv", text, &bare(), &Options::default());
    assert_eq!(intake.refused, []);
    assert_eq!(ids(&intake, &bare()), [vec![-6, 71], vec![], vec![43, 44], vec![42, 44, 43], vec![]]);
    let depths: Vec<f64> = readings(&intake, &bare()).iter().map(|r| r.depth_m).collect();
    for (got, want) in depths.iter().zip([0.05, 0.25, 0.05, 0.1524, 0.25]) {
        assert!((got - want).abs() < 1e-9, "{depths:?}");
    }
}

#[test]
fn set_ups_stand_beside_the_readings_or_in_a_file_of_their_own() {
    let beside = "setup,mode,sensitivity,target,kind,depth_cm,target_ids\n\
                  edge,salt ground,half of full,worn coin,coin,5,43 44\n\
                  edge,salt ground,half of full,worn coin,coin,15,44 44\n\
                  edge,dry ground,half of full,worn coin,coin,25,44 47\n\
                  towels,dry ground,,worn coin,coin,5,60\n";
    let intake = take("one.csv", beside, &Book::new(), &Options::default());
    assert_eq!((intake.taken.get(&RecordKind::Setup), intake.taken.get(&RecordKind::Bench)), (Some(&2), Some(&3)));
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [4]);
    assert!(intake.refused[0].why.contains("other settings than the set-up \"edge\" had before"), "{:?}", intake.refused);
    let mut book = Book::new();
    book.apply(&intake.edit).unwrap();
    assert_eq!(book.setups().values().find(|s| s.name == "edge").unwrap().mode, "salt ground");

    let setups = "name,mode,sensitivity\nedge,salt ground,half of full\n";
    let bench = "setup,target,kind,depth_cm,target_ids\nedge,worn coin,coin,5,43 44\nedgy,worn coin,coin,5,43 44\n";
    let all = take_all(&[("bench.csv", bench), ("setups.csv", setups)], &Book::new(), &Options::default());
    assert!(all.failed.is_empty(), "{:?}", all.failed);
    assert_eq!((all.taken_count(), all.refused_count()), (2, 1));
    assert!(all.intakes[0].refused[0].why.contains("name one that is: \"edge\""), "{:?}", all.intakes[0].refused);
}

/// A bench written in German, decimal commas and all.
#[test]
fn a_table_in_another_language_is_read() {
    let text = "Gerät;Ziel;Art;Tiefe (cm);Leitwert;Bodenart\n\
                Testgerät;Ehering;Goldring;12,5;14 15;nass\n\
                Testgerät;Ehering;Goldring;27,5;nichts;trocken\n";
    let intake = take("bench.csv", text, &bare(), &Options::default());
    assert!(intake.refused.is_empty(), "{:?}", intake.refused);
    let read: Vec<_> = readings(&intake, &bare()).iter().map(|r| (r.depth_m, r.target_ids.clone(), r.ground)).collect();
    assert!(read.contains(&(0.125, vec![14, 15], Some(Ground::WetSalt))), "{read:?}");
    assert!(read.contains(&(0.275, Vec::new(), Some(Ground::Dry))), "{read:?}");
}

/// A number that cannot be placed must not make a target unheard.
#[test]
fn numbers_that_cannot_be_placed_are_refused_with_their_line() {
    for (text, line, why) in [
        ("target,kind,depth_cm,target_ids\na,coin,5,6667\n", 2, "has \"6667\" among its target IDs"),
        ("target,kind,depth_cm,ID1,ID2\na,coin,5,66,67\nb,coin,5,66,1e3\n", 3, "has \"1e3\" among its target IDs"),
        ("target,kind,depth_cm,target_ids\na,coin,5,43 4x\n", 2, "has \"4x\" among its target IDs"),
        (
            "target,kind,depth_cm,target_ids,left,right\na,coin,5,,43,44\n",
            2,
            "has no target ID but numbers under \"left\" and others",
        ),
        ("setup,target,depth_cm,first\nmine,a,5,43\n", 2, "has no target ID but a number under \"first\""),
        ("setup,target,depth_cm,notes\nmine,a,5,clear\n", 2, "without a column of target IDs"),
        ("target,kind,depth_cm,ID1,ID2\na,coin,5,43,44\nb,coin,15,43,99999\n", 3, "target ID"),
        ("target,kind,5 cm,15 cm\na,coin,43,loud\n", 2, "has \"loud\" among its target IDs"),
        ("target,kind,5 cm,15 cm\na,coin,,\n", 2, "has nothing under any depth"),
    ] {
        let intake = take("bench.csv", text, &bare(), &Options::default());
        assert_eq!(intake.refused.len(), 1, "{text}: {:?}", intake.refused);
        assert_eq!(intake.refused[0].line, line, "{text}");
        assert!(intake.refused[0].why.contains(why), "{text}: {:?}", intake.refused);
        assert!(readings(&intake, &bare()).iter().all(|r| !r.target_ids.is_empty()), "{text}");
    }
    let heard = take("bench.csv", "target,kind,depth_cm,target_ids\na,coin,25,\nb,coin,5,43\n", &bare(), &Options::default());
    assert_eq!(ids(&heard, &bare()), [vec![], vec![43]], "an empty cell is a target that was not heard");
}

/// The same numbers twice are two readings; the same file twice is one.
#[test]
fn a_target_may_give_the_same_numbers_twice() {
    let text = "setup,target,kind,depth_cm,target_ids\nmine,worn coin,coin,5,43 43\nmine,worn coin,coin,5,43 43\n";
    let mut book = bare();
    let intake = take("bench.csv", text, &book, &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Bench), Some(&2));
    book.apply(&intake.edit).unwrap();
    let again = take("bench.csv", text, &book, &Options::default());
    assert_eq!((again.taken_count(), again.already_there.get(&RecordKind::Bench)), (0, Some(&2)));
}

/// Finds without a place stay finds without a place, where the person is asked for one.
#[test]
fn finds_are_not_mistaken_for_known_targets() {
    use scourline::exchange::{Source, look};
    let finds = Source::bytes("finds.csv", b"date,what,depth_cm,target id\n2024-05-13,old penny,12,43\n".to_vec());
    assert!(look(&finds, &book(), &Options::default(), &scourline::Progress::new()).is_err());
}

#[test]
fn the_template_reads_back_as_what_it_shows() {
    let intake = take("template.csv", &template(), &Book::new(), &Options::default());
    assert_eq!(intake.refused, []);
    assert_eq!((intake.taken.get(&RecordKind::Setup), intake.taken.get(&RecordKind::Bench)), (Some(&1), Some(&6)));
    let all = readings(&intake, &Book::new());
    assert_eq!(all.iter().filter(|r| r.kind.is_none()).count(), 1);
    assert_eq!(all.iter().filter(|r| r.target_ids.is_empty()).count(), 2);
    assert_eq!(all.iter().filter(|r| r.ground == Some(Ground::WetSalt)).count(), 1);
    assert_eq!(all.iter().filter(|r| r.ground == Some(Ground::Dry)).count(), 5);
    assert_eq!(all.iter().find(|r| r.target == "bent nail").unwrap().target_ids, [-6, 71, -5, -6]);
    assert_eq!(all.iter().find(|r| r.target == "thin ring").unwrap().kind.as_ref().unwrap().key(), "gold_ring");
}

#[test]
fn what_was_not_read_is_not_what_was_not_heard() {
    let text = "target,kind,depth_cm,target_ids\n\
                ring,ring,5,?\nring,ring,10,n/a\nring,ring,15,-\nring,ring,20,nothing\nring,ring,25,none\nring,ring,30,\n\
                nail,nail,5,- 5\nnail,nail,10,12 - 14\nnail,nail,15,-5 12\n";
    let intake = take("said.csv", text, &bare(), &Options::default());
    let lines: Vec<u64> = intake.refused.iter().map(|r| r.line).collect();
    assert_eq!(lines, [2, 3, 4, 8, 9], "{:?}", intake.refused);
    assert_eq!(ids(&intake, &bare()), [vec![-5, 12], vec![], vec![], vec![]]);
    // Under a depth "none" is that nothing came, and "?" that nobody looked.
    let wide = take("wide.csv", "target,kind,5 cm,15 cm\nring,ring,none,?\n", &bare(), &Options::default());
    assert_eq!((ids(&wide, &bare()), wide.refused.len()), (vec![vec![]], 0));
    // A find with a blank word for its ID has none, and nothing of it is told as unread.
    let finds = take("finds.csv", "lat,lon,what,target_id\n50.1,-5.1,coin,?\n", &book(), &Options::default());
    assert_eq!((finds.refused.len(), finds.taken.get(&RecordKind::Find)), (0, Some(&1)));
}

/// A second row of headings further down used to be read as one more reading, and what stood under it by the first ones.
#[test]
fn tables_below_one_another_are_each_read_by_their_own_headings() {
    let text = "setup,target,kind,depth_cm,ID1,ID2\n\
                mine,worn coin,coin,5,43,44\n\
                \n\
                target,kind,5 cm,15 cm,notes\n\
                thin ring,gold_ring,12 12,x,\n\
                bent nail,nail,-6 71,5,loud\n\
                setup,depth_cm,target,kind,target_ids\n\
                mine,10,lead bit,lead,30 31\n\
                mine,deep,lead bit,lead,30 31\n";
    let intake = take("bench.csv", text, &bare(), &Options::default());
    let read: Vec<(String, f64, Vec<i32>)> =
        readings(&intake, &bare()).into_iter().map(|r| (r.target, r.depth_m, r.target_ids)).collect();
    let wanted = [
        ("bent nail", 0.05, vec![-6, 71]),
        ("bent nail", 0.15, vec![5]),
        ("lead bit", 0.1, vec![30, 31]),
        ("thin ring", 0.05, vec![12, 12]),
        ("thin ring", 0.15, vec![]),
        ("worn coin", 0.05, vec![43, 44]),
    ];
    assert_eq!(read, wanted.map(|(t, d, ids)| (t.to_owned(), d, ids)));
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [9], "{:?}", intake.refused);
    assert!(intake.understood.iter().any(|u| u.what == "column \"5 cm\"" && u.how == "target id at that depth"));
    assert!(intake.guess.contains("3 tables, one below the other") && intake.guess.contains("from line 4"), "{}", intake.guess);
    // A line of words between two tables is refused, and is no set-up.
    let titled = "setup,target,depth_cm,target_ids\nmine,a,5,43\nsecond day\ntarget,5 cm\nb,44\n";
    let intake = take("titled.csv", titled, &bare(), &Options::default());
    assert_eq!((ids(&intake, &bare()), intake.taken.get(&RecordKind::Setup)), (vec![vec![43], vec![44]], None));
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [3], "{:?}", intake.refused);
    // One of them that means nothing is refused with its line, and harms no other.
    let odd = "setup,target,depth_cm,target_ids\nmine,a,5,43\nlat,material,notes\nx,y,z\n";
    let intake = take("odd.csv", odd, &bare(), &Options::default());
    assert_eq!((ids(&intake, &bare()), intake.refused.len()), (vec![vec![43]], 1));
    assert_eq!((intake.refused[0].line, intake.refused[0].record.as_str()), (3, "table 2"), "{:?}", intake.refused);
    // The same headings once more, as where two files were put together, are passed over.
    let twice =
        "setup,target,kind,depth_cm,target_ids\nmine,a,coin,5,43\nSetup,Target,Kind,depth_cm,target_ids\nmine,b,coin,5,44\n";
    let intake = take("twice.csv", twice, &bare(), &Options::default());
    assert_eq!((ids(&intake, &bare()), intake.refused.len()), (vec![vec![43], vec![44]], 0));
    assert!(intake.warnings.iter().any(|w| w.contains("repeat the headings")), "{:?}", intake.warnings);
}

/// In quotes, in a file with semicolons, or run on beyond the last heading.
#[test]
fn ids_with_commas_between_them_are_several_ids_of_one_reading() {
    for text in [
        "target,kind,depth_cm,target_ids\na,coin,5,\"43,44,43\"\nb,coin,10,\"43,44\"\n",
        "target;kind;depth_cm;target_ids\na;coin;5;43,44,43\nb;coin;10;43,44\n",
        "target,kind,depth_cm,target_ids\na,coin,5,43,44,43\nb,coin,10,43,44\n",
        "target,kind,depth_cm,target_ids,,\na,coin,5,43,44,43\nb,coin,10,43,44,\n",
        "target,kind,depth_cm,target_ids\na,coin,5,\"[43, 44, 43]\"\nb,coin,10,43 44\n",
    ] {
        let intake = take("bench.csv", text, &bare(), &Options::default());
        assert_eq!((ids(&intake, &bare()), intake.refused.len()), (vec![vec![43, 44, 43], vec![43, 44]], 0), "{text}");
    }
    // Where only two stand there it may be one number with a decimal comma; more cells than headings may be anything.
    for text in [
        "target;kind;depth_cm;target_ids\na;coin;5;43,44\n",
        "target,kind,depth_cm,target_ids,notes\na,coin,5,43,44,43,clear\n",
        "target,kind,target_ids,depth_cm\na,coin,43,5,6\n",
    ] {
        let intake = take("bench.csv", text, &bare(), &Options::default());
        assert_eq!((intake.taken_count(), intake.refused.len()), (0, 1), "{text}: {:?}", intake.refused);
        assert!(intake.refused[0].why.contains("43 44 43"), "{:?}", intake.refused);
    }
}

/// Each name almost like another used to become a set-up of its own without a word.
#[test]
fn slips_in_the_name_of_a_set_up_are_asked_about() {
    use scourline::exchange::About;
    let text = "setup,target,kind,depth_cm,target_ids\n\
                Dry sand,a,coin,5,43\ndry  SAND ,b,coin,5,44\nDry snad,c,coin,5,45\nWet 1,a,coin,5,43\nWet 2,a,coin,5,43\n";
    let with = |answer: Option<&'static str>| {
        let answers = answer.map(|a| (About::Setups, a)).into_iter().collect();
        take("bench.csv", text, &Book::new(), &Options { answers, ..Options::default() })
    };
    let asked = with(None);
    assert!(asked.waits() && asked.unsettled[0].about == About::Setups, "{:?}", asked.unsettled);
    assert!(
        asked.unsettled[0].question.contains("\"Dry snad\" at line 4 is called almost as \"Dry sand\""),
        "{:?}",
        asked.unsettled
    );
    let setups = |intake: &Intake| intake.taken.get(&RecordKind::Setup).copied();
    let (one, each) = (with(Some("one")), with(Some("each")));
    assert_eq!((setups(&one), setups(&each)), (Some(3), Some(4)));
    assert!(!one.waits() && one.taken[&RecordKind::Bench] == 5 && each.taken[&RecordKind::Bench] == 5);
}

/// A word for a kind that the list does not have used to be lost.
#[test]
fn an_unknown_kind_is_kept_as_one_of_the_person_s_own() {
    let text = "target,kind,depth_cm,target_ids\n\
                old one,crotal bell,5,33 34\nsecond,Crotal  Bell,10,33\nworn coin,thaler,5,60\nlump,,5,12\n";
    let intake = take("bench.csv", text, &bare(), &Options::default());
    let mut book = bare();
    book.apply(&intake.edit).unwrap();
    let keys: Vec<String> = readings(&intake, &bare()).into_iter().map(|r| r.kind.unwrap().key().to_owned()).collect();
    assert_eq!(keys, ["other", "own:other:crotal bell", "own:other:crotal bell", "own:coin:thaler"]);
    assert_eq!(book.own_kinds().len(), 2);
    let told = |w: &&String| {
        w.contains("2 reading(s), first at line 2") && w.contains("\"crotal bell\"") && w.contains("kind of your own")
    };
    assert_eq!(intake.warnings.iter().filter(told).count(), 1, "{:?}", intake.warnings);
    assert!(intake.warnings.iter().any(|w| w.contains("a kind \"lump\" that is not known")), "{:?}", intake.warnings);
    // From then on it is known by its name.
    let again = take("bench.csv", &text.replace("5,33 34", "6,33 34"), &book, &Options::default());
    assert!(!again.warnings.iter().any(|w| w.contains("crotal")), "{:?}", again.warnings);
    assert_eq!(again.taken.get(&RecordKind::OwnKind), None);
}

/// Wet and dry ground by turns used to be refused as other settings, or dropped.
#[test]
fn the_ground_is_kept_with_each_reading() {
    use scourline::book::Ground::{Damp, Dry, WetSalt};
    for (heads, words) in
        [("ground", ["dry", "wet", "damp"]), ("Wet/dry", ["d", "wet sand", "moist"]), ("wet", ["no", "yes", "damp"])]
    {
        let text = format!(
            "setup,mode,target,kind,depth_cm,target_ids,{heads},my own column\n\
             mine,,a,coin,5,43,{},\nmine,,a,coin,5,43,{},swept twice\nmine,,b,coin,5,44,{},\n",
            words[0], words[1], words[2]
        );
        let intake = take("bench.csv", &text, &bare(), &Options::default());
        assert_eq!(intake.refused, [], "{text}");
        let mut grounds: Vec<_> = readings(&intake, &bare()).into_iter().map(|r| (r.target, r.ground, r.notes)).collect();
        grounds.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        let wanted = [("a", Dry, ""), ("a", WetSalt, "my own column: swept twice"), ("b", Damp, "")];
        assert_eq!(grounds, wanted.map(|(t, g, n)| (t.to_owned(), Some(g), n.to_owned())), "{text}");
    }
    let odd = take("bench.csv", "target,kind,depth_cm,target_ids,ground\na,coin,5,43,frozen\n", &bare(), &Options::default());
    assert!(odd.warnings.iter().any(|w| w.contains("\"frozen\"; kept in the notes")), "{:?}", odd.warnings);
}

/// Rows alike in their numbers and not in what else is noted used to be taken once.
#[test]
fn a_pass_a_row_is_a_reading_each_whatever_is_noted_beside_it() {
    let text = "target,kind,depth_cm,target_ids,steadiness,notes\n\
                a,coin,5,43,steady,\na,coin,5,43,jumpy,\na,coin,5,43,steady,from the left\na,coin,5,44,,\n";
    let intake = take("bench.csv", text, &bare(), &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Bench), Some(&4), "{:?}", intake.warnings);
    let mut book = bare();
    book.apply(&intake.edit).unwrap();
    let again = take("bench.csv", text, &book, &Options::default());
    assert_eq!((again.taken_count(), again.unsettled.len()), (0, 0), "{again:?}");
}
