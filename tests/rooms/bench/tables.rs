//! Tables of known targets: kinds as people of other countries write them (common practice, no published source), and rows
//! that come again otherwise. All invented.

use scourline::Progress;
use scourline::bench::Learned;
use scourline::book::{Book, Edit, Kinds, Setup};
use scourline::exchange::{About, Options, Source, look_all};

/// What it is, in German, French, Dutch, Spanish, Danish and Italian.
const WORDS: [(&str, [&str; 6]); 12] = [
    ("nail", ["Nagel", "clou", "spijker", "clavo", "søm", "chiodo"]),
    ("iron", ["Eisen", "ferraille", "ijzer", "hierro", "jern", "ferro"]),
    ("coin", ["Münze", "pièce de monnaie", "munt", "moneda", "mønt", "moneta"]),
    ("ring_pull", ["Dosenlasche", "ring de tirage", "blikjeslipje", "anilla de lata", "dåsering", "linguetta"]),
    ("gold_ring", ["Goldring", "bague en or", "gouden ring", "anillo de oro", "guldring", "anello d'oro"]),
    ("silver_ring", ["Silberring", "bague en argent", "zilveren ring", "anillo de plata", "sølvring", "anello d'argento"]),
    ("silver_coin", ["Silbermünze", "pièce d'argent", "zilveren munt", "moneda de plata", "sølvmønt", "moneta d'argento"]),
    ("lead", ["Blei", "plomb", "lood", "plomo", "bly", "piombo"]),
    ("bottle_cap", ["Kronkorken", "capsule de bière", "kroonkurk", "chapa de botella", "ølkapsel", "tappo a corona"]),
    ("foil", ["Alufolie", "papier alu", "zilverpapier", "papel de aluminio", "sølvpapir", "stagnola"]),
    ("can", ["Getränkedose", "canette", "blikje", "lata", "øldåse", "lattina"]),
    ("button", ["Knopf", "bouton", "knoop", "botón", "knap", "bottone"]),
];

#[test]
fn kinds_are_known_in_seven_languages() {
    let of = |text: &str| Kinds::shipped().recognise(text).key().to_owned();
    for (key, words) in WORDS {
        for word in words {
            assert_eq!(of(word), key, "{word}");
            assert_eq!(of(&word.to_uppercase()), key, "{word}");
        }
    }
    // Words for danger are not read past.
    for word in ["Handgranate aus Eisen", "obus en laiton", "granaat, ijzer", "bomba de hierro", "sømine", "bomba di ferro"] {
        assert_eq!(of(word), "ordnance", "{word}");
    }
}

#[test]
fn a_table_of_readings_in_german_teaches_its_kinds() {
    let table = "Setup;Art;Tiefe (cm);Leitwert\nnass;Nagel;10;5 7 6\nnass;Münze;10;61 60\nnass;ring de tirage;15;40 41\n";
    let mut book = Book::new();
    book.apply(&Edit::put(Setup::new("nass"))).unwrap();
    let source = [Source::bytes("bench.csv", table.as_bytes().to_vec())];
    let looked = look_all(&source, &book, &Options::default(), &Progress::new()).unwrap();
    book.apply(&looked.edit()).unwrap();
    let mut kinds: Vec<&str> = book.bench().values().filter_map(|r| Some(r.kind.as_ref()?.key())).collect();
    kinds.sort_unstable();
    assert_eq!(kinds, ["coin", "nail", "ring_pull"], "{looked:?}");
}

/// A row put right in one's own table used to become a second reading without a word.
#[test]
fn a_reading_put_right_in_one_s_own_table_is_told_and_can_be_taken() {
    let table =
        |ids: &str| format!("setup,target,kind,depth_cm,target_ids\nwet,my coin,coin,10,{ids}\nwet,my nail,nail,10,5 6\n");
    let look = |text: &str, book: &Book, answer: Option<&'static str>| {
        let answers = answer.map(|answer| (About::Corrected, answer)).into_iter().collect();
        let source = [Source::bytes("bench.csv", text.as_bytes().to_vec())];
        look_all(&source, book, &Options { answers, ..Options::default() }, &Progress::new()).unwrap()
    };
    let mut book = Book::new();
    book.apply(&Edit::put(Setup::new("wet"))).unwrap();
    book.apply(&look(&table("60 61"), &book, None).edit()).unwrap();
    assert_eq!(book.bench().len(), 2);
    let asked = look(&table("60 71"), &book, None);
    let question = &asked.intakes[0].unsettled[0];
    assert_eq!((question.about, question.taken), (About::Corrected, Some("keep")));
    assert!(question.question.contains("\"my coin\" at line 2, differs in target IDs"), "{}", question.question);
    // Unanswered it used to come in as one more reading.
    assert_eq!((asked.taken_count(), asked.intakes[0].already_there_count()), (0, 2), "{asked:?}");
    let told = |w: &String| w.starts_with("1 reading(s) of the book stand in the file with other values") && w.contains("line 2");
    assert!(asked.intakes[0].warnings.iter().any(told), "{asked:?}");
    assert_eq!(look(&table("60 71"), &book, Some("each")).taken_count(), 1);
    assert_eq!(look(&table("60 71"), &book, Some("keep")).taken_count(), 0);
    book.apply(&look(&table("60 71"), &book, Some("take")).edit()).unwrap();
    assert_eq!(book.bench().len(), 2, "corrected, not doubled");
    assert!(book.bench().values().any(|r| r.target_ids == [60, 71]) && !book.bench().values().any(|r| r.target_ids == [60, 61]));
    let again = look(&table("60 71"), &book, None);
    assert!(again.taken_count() == 0 && again.intakes[0].unsettled.is_empty(), "{again:?}");
}

/// A depth or a name that was put right used to leave the reading in twice.
#[test]
fn a_table_that_was_edited_is_known_again_and_asked_about() {
    let table = |name: &str, depth: &str| {
        format!(
            "setup,target,kind,depth_cm,target_ids\nwet,{name},coin,{depth},60 61\nwet,my nail,nail,10,5 6\nwet,my ring,ring,10,20 21\n"
        )
    };
    let look = |text: &str, book: &Book, answer: Option<&'static str>| {
        let answers = answer.map(|answer| (About::Corrected, answer)).into_iter().collect();
        let source = [Source::bytes("bench.csv", text.as_bytes().to_vec())];
        look_all(&source, book, &Options { answers, ..Options::default() }, &Progress::new()).unwrap()
    };
    let mut first = Book::new();
    first.apply(&Edit::put(Setup::new("wet"))).unwrap();
    first.apply(&look(&table("my coin", "10"), &first, None).edit()).unwrap();
    let every_depth = table("my coin", "12").replace(",10,", ",25,");
    for (edited, differs, rows) in [
        (table("my coin", "12"), "differs in depth", 1),
        (table("old penny", "10"), "differs in target", 1),
        (table("my coin", "10").replace("my coin,coin", "my coin,button"), "differs in kind", 1),
        (table("old button", "10").replace("button,coin", "button,button"), "differs in target, kind", 1),
        (every_depth, "differs in depth", 3),
    ] {
        let asked = look(&edited, &first, None);
        let question = &asked.intakes[0].unsettled[0];
        assert_eq!((question.about, question.taken, asked.taken_count()), (About::Corrected, Some("keep"), 0), "{edited}");
        assert!(question.question.contains(differs), "{}", question.question);
        let mut book = first.clone();
        // Asked again and answered then, and taken in once more: each reading stands there once.
        book.apply(&look(&edited, &book, None).edit()).unwrap();
        let taken = look(&edited, &book, Some("take"));
        assert_eq!(taken.taken_count(), rows, "{edited}");
        book.apply(&taken.edit()).unwrap();
        assert_eq!(book.bench().len(), 3, "{edited}");
        let again = look(&edited, &book, None);
        assert!(again.taken_count() == 0 && again.intakes[0].unsettled.is_empty(), "{edited}: {again:?}");
    }
    // Rows added below, and another table of the set-up, are readings of their own.
    let longer = table("my coin", "10") + "wet,my coin,coin,20,60 61\n";
    assert_eq!(look(&longer, &first, None).taken_count(), 1);
    let other = "setup,target,kind,depth_cm,target_ids\nwet,other coin,coin,10,63\nwet,other nail,nail,15,5 6\n";
    assert_eq!(look(other, &first, None).taken_count(), 2);
}

/// Noted a pass a row, a target used to be as many targets' worth of single passes, and nothing was told of their scatter.
#[test]
fn a_pass_a_row_teaches_what_the_same_passes_in_one_row_do() {
    let learned = |text: &str| {
        let mut book = Book::new();
        book.apply(&Edit::put(Setup::new("wet"))).unwrap();
        let source = [Source::bytes("bench.csv", text.as_bytes().to_vec())];
        book.apply(&look_all(&source, &book, &Options::default(), &Progress::new()).unwrap().edit()).unwrap();
        Learned::from_book(&book, Setup::new("wet").uid).unwrap()
    };
    let (mut one, mut each) =
        ("setup,target,kind,depth_cm,target_ids\n".to_owned(), "setup,target,kind,depth_cm,target_ids\n".to_owned());
    for (kind, at) in [("coin", 60), ("nail", 5), ("ring_pull", 30)] {
        for target in 0..3 {
            for depth in [10, 20] {
                let ids = [at + target, at + target + 1, at + target - 2].map(|id| id.to_string());
                one += &format!("wet,{kind} {target},{kind},{depth},{}\n", ids.join(" "));
                each += &ids.map(|id| format!("wet,{kind} {target},{kind},{depth},{id}\n")).concat();
            }
        }
    }
    let (one, each) = (learned(&one), learned(&each));
    assert!(each.notes.iter().all(|n| !n.contains("passed over twice")), "{:?}", each.notes);
    assert_eq!(one.signatures.len(), 3);
    for (a, b) in one.signatures.iter().zip(&each.signatures) {
        assert_eq!((&a.kind, a.specimens, a.passes), (&b.kind, b.specimens, b.passes));
        assert!((a.pass_spread - b.pass_spread).abs() < 1e-9 && (a.centre - b.centre).abs() < 1e-9, "{a:?} {b:?}");
    }
}
