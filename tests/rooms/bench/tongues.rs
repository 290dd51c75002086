//! Kinds as people of other countries write them in a table of known targets. Common practice, no published source.

use scourline::Progress;
use scourline::book::{Book, Edit, Kinds, Setup};
use scourline::exchange::{Options, Source, look_all};

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
