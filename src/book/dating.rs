//! The age of a thing as people write it, in years: `1914`, `1950s to 1960s`, `18th century`, `medieval`.

/// Words for a period with the last year it is usually said to last to, in Britain and near it (common practice, no published
/// source).
const PERIODS: &[(&str, i32)] = &[
    ("palaeolithic", -9500),
    ("paleolithic", -9500),
    ("mesolithic", -4000),
    ("neolithic", -2000),
    ("bronze age", -700),
    ("iron age", 43),
    ("prehistoric", 43),
    ("celtic", 43),
    ("roman", 410),
    ("saxon", 1066),
    ("viking", 1066),
    ("early medieval", 1066),
    ("medieval", 1540),
    ("hammered", 1662),
    ("tudor", 1603),
    ("elizabethan", 1603),
    ("stuart", 1714),
    ("georgian", 1837),
    ("napoleonic", 1815),
    ("victorian", 1901),
    ("edwardian", 1910),
    ("first world war", 1918),
    ("ww1", 1918),
    ("second world war", 1945),
    ("ww2", 1945),
];

/// What takes the meaning of a period's word away.
const NOT: &[&str] = &["post medieval", "post-medieval", "roman numeral", "romantic", "replica", "modern copy"];

/// The latest year that words give to a thing, by our calendar (negative before it); `None` where they say nothing that is
/// understood. A thing said to be of a span is as young as its end.
pub fn latest_year(words: &str) -> Option<i32> {
    let words = words.to_lowercase();
    let numbers = numbers_in(&words);
    let year = |n: usize| {
        let (number, after) = numbers[n];
        // A century that is counted ends with the year of its number.
        if is_century(after) {
            return (1..=21).contains(&number).then_some(number * 100);
        }
        if is_age(after) {
            return (number >= LEAST_AGE).then_some(AGES_COUNT_FROM - number);
        }
        let decade = if after.starts_with('s') && number % 10 == 0 { if number % 100 == 0 { 99 } else { 9 } } else { 0 };
        // Of a span the end alone says so.
        let between = after.split(|c: char| c.is_ascii_digit()).next().unwrap_or("").trim();
        let spans = || ["to", "-", "\u{2013}", "until", "or"].contains(&between);
        match number {
            _ if is_before(after) || spans() && numbers.get(n + 1).is_some_and(|(_, next)| is_before(next)) => Some(-number),
            1000..=2100 => Some(number + decade),
            _ => None,
        }
    };
    let year = (0..numbers.len()).filter_map(year).max();
    let is_named = !NOT.iter().any(|n| words.contains(n));
    let period = PERIODS.iter().filter(|(word, _)| is_named && words.contains(word)).map(|(_, year)| *year).max();
    match (year, period) {
        // The year in which it was found or looked at, not that of the thing.
        (Some(year), Some(period)) if year >= NOW_AND_THEN && period < NOW_AND_THEN => Some(period),
        (Some(year), _) => Some(year),
        (None, period) => period,
    }
}

/// From this year on a year beside a period's word is that of somebody who wrote it down.
const NOW_AND_THEN: i32 = 1950;
/// An age in years is taken to be counted from this year, ...
const AGES_COUNT_FROM: i32 = 2000;
/// ... and says a year only where a few decades make no difference.
const LEAST_AGE: i32 = 200;

/// `years old`, `+ yrs`.
fn is_age(after: &str) -> bool {
    let after = after.trim_start_matches(['+', ' ']);
    // The whole word: an "anniversary" is no age.
    let word = after.split(|c: char| !c.is_alphabetic()).next().unwrap_or("");
    ["year", "years", "yr", "yrs", "jahr", "jahre", "an", "ans", "jaar", "år", "años", "anni"].contains(&word)
}

fn is_before(after: &str) -> bool {
    ["bc", "b.c"].iter().any(|w| after.trim_start().starts_with(w))
}

/// Each whole number with what follows it.
fn numbers_in(words: &str) -> Vec<(i32, &str)> {
    let mut found = Vec::new();
    let mut rest = words;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let from = &rest[at..];
        let end = from.find(|c: char| !c.is_ascii_digit()).unwrap_or(from.len());
        if let Ok(n) = from[..end].parse() {
            found.push((n, &from[end..]));
        }
        rest = &from[end..];
    }
    found
}

/// `th century`, `. Jahrhundert`, `e siècle`, `c` and the like; of a span such as `17th-18th century` the later counts.
fn is_century(after: &str) -> bool {
    let rest = after.trim_start_matches(['.', ' ']);
    let rest = ["st", "nd", "rd", "th", "ème", "eme", "e"].iter().find_map(|end| rest.strip_prefix(end)).unwrap_or(rest);
    let rest = rest.trim_start();
    ["century", "centuries", "cent.", "jahrhundert", "jh.", "siècle", "eeuw", "århundrede"].iter().any(|w| rest.starts_with(w))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ages_are_read_as_people_write_them() {
        for (words, year) in [
            ("1914", Some(1914)),
            ("penny, 1862-1894", Some(1894)),
            ("1950s to 1960s", Some(1969)),
            ("1800s", Some(1899)),
            ("18th century", Some(1800)),
            ("17th-18th century", Some(1800)),
            ("3rd century", Some(300)),
            ("19. Jahrhundert", Some(1900)),
            ("Roman", Some(410)),
            ("early medieval to medieval", Some(1540)),
            ("post-medieval", None),
            ("about 700 BC", Some(-700)),
            ("old", None),
            ("", None),
            ("No 44", None),
            ("99999999999999", None),
            ("about 2000 years old", Some(0)),
            ("2000+ years", Some(0)),
            ("some 60 years old", None),
            ("1887 anniversary medal", Some(1887)),
            ("1800 years old", Some(200)),
            ("2000 to 1500 BC", Some(-1500)),
            ("500 BC - 100 BCE", Some(-100)),
            ("Bronze Age (ident. 1998)", Some(-700)),
            ("Georgian, 1820", Some(1820)),
        ] {
            assert_eq!(latest_year(words), year, "{words}");
        }
    }
}
