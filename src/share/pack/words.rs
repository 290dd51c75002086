//! Words of a find that may tell its place, its minute or its photograph.

/// The words, or nothing where they may tell a place and places are not to be told; `most_digits` are too many.
pub(super) fn kept(text: &str, exact: bool, most_digits: usize) -> String {
    if exact || !may_tell_a_place(text, most_digits) { text.to_owned() } else { String::new() }
}

/// Whether words may hold a position, a time or the name of a photograph: so many digits (an age may be two years), a figure
/// with two places and more or with minutes, or a letter of the compass at a figure.
pub(super) fn may_tell_a_place(text: &str, most_digits: usize) -> bool {
    let chars: Vec<char> = text.chars().collect();
    let digits = chars.iter().filter(|c| c.is_ascii_digit()).count();
    let is_digit = |n: usize| chars.get(n).is_some_and(char::is_ascii_digit);
    let parted = |n: usize| {
        let (before, after) = (n > 0 && is_digit(n - 1), is_digit(n + 1) && is_digit(n + 2));
        before && after && matches!(chars[n], '.' | ',' | ':' | 'h' | '\u{b0}' | '\'' | '\u{2032}')
    };
    let compass = |n: usize| {
        let alone = n == 0 || !chars[n - 1].is_alphabetic();
        let beside = is_digit(n + 1) || (n > 0 && is_digit(n - 1) && chars.get(n + 1).is_none_or(|c| !c.is_alphabetic()));
        matches!(chars[n], 'N' | 'S' | 'E' | 'W') && alone && beside
    };
    digits >= most_digits || (0..chars.len()).any(|n| parted(n) || compass(n)) || chars.contains(&'\u{b0}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_may_be_a_place_a_time_or_a_photograph_are_known() {
        let telling = [
            "N50 20.480 W004 10.280",
            "2025-05-03 10:10:07",
            "IMG_20250503_101200",
            "ring at 50.341234, -4.171234 10:15",
            "coin 10:15",
            "SX 4567 8901",
            "50\u{b0} north",
        ];
        assert!(telling.iter().all(|t| may_tell_a_place(t, 5)));
        for text in ["penny", "penny, 1914", "20 pence", "gold ring 44", "ring, 2.5 g", "No 7", "E plated"] {
            assert!(!may_tell_a_place(text, 5), "{text}");
        }
        assert!(!may_tell_a_place("1950s to 1960s", 9) && may_tell_a_place("50.341234 -4.171234", 9));
        assert_eq!((kept("50.341234", false, 5), kept("50.341234", true, 5)), (String::new(), "50.341234".to_owned()));
    }
}
