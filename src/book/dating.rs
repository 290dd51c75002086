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
    let years = numbers.iter().filter_map(|(n, after)| {
        // A century that is counted ends with the year of its number.
        if is_century(after) {
            return (1..=21).contains(n).then_some(n * 100);
        }
        let decade = if after.starts_with('s') && n % 10 == 0 { if n % 100 == 0 { 99 } else { 9 } } else { 0 };
        let before = ["bc", "b.c"].iter().any(|w| after.trim_start().starts_with(w));
        match n {
            _ if before => Some(-n),
            1000..=2100 => Some(n + decade),
            _ => None,
        }
    });
    if let Some(year) = years.max() {
        return Some(year);
    }
    if NOT.iter().any(|n| words.contains(n)) {
        return None;
    }
    PERIODS.iter().filter(|(word, _)| words.contains(word)).map(|(_, year)| *year).max()
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
        ] {
            assert_eq!(latest_year(words), year, "{words}");
        }
    }
}
