//! Words of a find that may tell its place, its minute or its photograph.

/// What is said where words were written that are not told.
pub(super) const NOT_TOLD: &str = "noted, not told here";

/// The words, or that they are not told where places are not to be told and they may tell one.
pub(super) fn kept(text: &str, exact: bool) -> String {
    if exact || !may_tell_a_place(text) { text.to_owned() } else { NOT_TOLD.to_owned() }
}

/// The same of an age, in which years and centuries may stand.
pub(super) fn kept_age(text: &str, exact: bool) -> String {
    if is_years(text) { text.to_owned() } else { kept(text, exact) }
}

/// Whether words may hold a position, a time or the name of a photograph: a figure of any script, or three words joined by
/// dots, as some write a place.
pub(super) fn may_tell_a_place(text: &str) -> bool {
    let joined = |word: &str| {
        let parts: Vec<&str> = word.split(['.', '\u{3002}', '\u{ff0e}', '\u{ff61}', '\u{b7}']).collect();
        let is_word = |part: &&str| part.chars().any(char::is_alphabetic);
        parts.windows(3).any(|three| three.iter().all(is_word))
    };
    text.chars().any(char::is_numeric) || text.split_whitespace().any(joined) || tells_the_way(text)
}

/// Words by which people tell a way or a mark on the shore, in lower case. Common practice, no published source.
const WAY: [&str; 44] = [
    "north", "south", "east", "west", "left", "right", "paces", "steps", "yards", "metres", "meters", "feet", "groyne",
    "groynes", "pier", "slip", "slipway", "shed", "sheds", "hut", "huts", "outfall", "stairs", "path", "steps", "behind",
    "beside", "opposite", "below", "above", "halfway", "between", "nord", "süd", "ost", "links", "rechts", "schritte", "buhne",
    "neben", "hinter", "gauche", "droite", "pas",
];

/// Words after which a mark stands by which a place is found again, whatever the mark.
const NEAR: [&str; 30] = [
    "near",
    "beside",
    "behind",
    "opposite",
    "beneath",
    "underneath",
    "under",
    "outside",
    "alongside",
    "beyond",
    "past",
    "bei",
    "beim",
    "neben",
    "hinter",
    "unter",
    "vor",
    "près",
    "devant",
    "derrière",
    "naast",
    "achter",
    "bij",
    "ved",
    "bag",
    "junto",
    "cerca",
    "vicino",
    "accanto",
    "dietro",
];
/// With these after them they are things and states: the Danish "bag" is a bag in English.
const THINGS: [[&str; 2]; 6] =
    [["bag", "seal"], ["bag", "clasp"], ["bag", "frame"], ["bag", "buckle"], ["near", "mint"], ["near", "complete"]];
/// Those that do so only before one of [`THE`]: "by the oak" and not "by hand".
const AT: [&str; 10] = ["by", "at", "from", "in", "on", "off", "along", "below", "above", "inside"];
const THE: [&str; 10] = ["the", "a", "an", "my", "our", "his", "her", "their", "that", "this"];

/// Whether two and more words of a text are such as tell a way, or one stands before a mark.
fn tells_the_way(text: &str) -> bool {
    let words: Vec<String> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect();
    let is_one = |list: &[&str], word: &String| list.contains(&word.as_str());
    let is_thing = |pair: &[String]| THINGS.iter().any(|thing| pair[0] == thing[0] && pair[1] == thing[1]);
    let before_a_mark =
        |pair: &[String]| is_one(&NEAR, &pair[0]) && !is_thing(pair) || is_one(&AT, &pair[0]) && is_one(&THE, &pair[1]);
    words.iter().filter(|w| is_one(&WAY, w)).count() >= 2 || words.windows(2).any(before_a_mark)
}

/// Years and centuries in plain words: at most two figures of up to four digits, and beside them words in lower case or of an
/// era. A degree or a decimal is none.
fn is_years(text: &str) -> bool {
    let chars: Vec<char> = text.chars().collect();
    let is_digit = |c: Option<&char>| c.is_some_and(char::is_ascii_digit);
    let decimal = (1..chars.len()).any(|n| {
        !chars[n].is_alphanumeric()
            && !"-\u{2013}/ ".contains(chars[n])
            && is_digit(chars.get(n - 1))
            && is_digit(chars.get(n + 1))
    });
    let sound = |c: &char| c.is_alphanumeric() || c.is_whitespace() || "-\u{2013}/.,?()~'".contains(*c);
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let numbers = words.iter().filter(|w| w.chars().any(char::is_numeric)).count();
    let joined = may_tell_a_place(&text.replace(|c: char| c.is_ascii_digit(), ""));
    numbers <= 2 && !decimal && !joined && chars.iter().all(sound) && words.iter().all(|w| is_year_or_word(w))
}

fn is_year_or_word(word: &str) -> bool {
    if !word.chars().any(char::is_numeric) {
        return ["AD", "BC", "CE", "BCE"].contains(&word) || word.chars().all(char::is_lowercase);
    }
    // "c1800", "1950s", "19th".
    let bare = word.strip_prefix('c').unwrap_or(word);
    let digits = bare.trim_end_matches(|c: char| c.is_ascii_lowercase());
    let ends = ["", "s", "st", "nd", "rd", "th", "e"].contains(&&bare[digits.len()..]);
    ends && (1..=4).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_may_be_a_place_a_time_or_a_photograph_are_known() {
        let telling = [
            "N50 20.480 W004 10.280",
            "IMG_20250503_101200",
            "coin 10:15",
            "SX 45",
            // Arabic-Indic, Devanagari and full-width digits (Unicode, general category Nd), a fraction (No).
            "\u{665}\u{660}",
            "\u{96b}\u{966}",
            "\u{ff15}\u{ff10}",
            "\u{bd} way down",
            "invented.words.here",
            "at ///invented.words.here",
            "ring, twelve paces north of the boat sheds steps",
            "ten metres from the wreck post",
            "roman brooch by the oak",
            "found near gate at ten past ten",
            "fundet bag klitten",
        ];
        assert!(telling.iter().all(|t| may_tell_a_place(t) && !is_years(t)), "{telling:?}");
        for text in [
            "penny",
            "left boot buckle",
            "gold ring",
            "E plated",
            "Bent. Cleaned. Kept.",
            "approx. worn",
            "made by hand",
            "Under",
        ] {
            assert!(!may_tell_a_place(text), "{text}");
        }
        assert_eq!((kept("50.3", false), kept("50.3", true)), (NOT_TOLD.to_owned(), "50.3".to_owned()));
    }

    #[test]
    fn an_age_may_be_years_or_centuries_and_nothing_else_with_a_figure() {
        for age in
            ["1914", "1950s to 1960s", "c. 1800", "17th century", "43 AD", "500 BC - 100 BCE", "1837-1901", "Roman", "c1700?"]
        {
            assert_eq!(kept_age(age, false), age);
        }
        for age in
            ["50.3412 4.1712", "10:15", "SX 4567 8901", "50n 4w", "1 2 3", "20250503", "N 5034", "\u{665}\u{660}", "5034' 0417'E"]
        {
            assert_eq!(kept_age(age, false), NOT_TOLD, "{age}");
        }
    }
}
