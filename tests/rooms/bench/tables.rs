//! Tables of known targets: kinds as people of other countries write them (common practice, no published source), and rows
//! that come again otherwise. All invented.

use scourline::Progress;
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
