use std::borrow::Cow;

/// Text without the control characters that XML does not allow at all; each becomes a blank. Markup in it is the
/// template's affair.
pub(super) fn printable(text: &str) -> Cow<'_, str> {
    let forbidden = |c: char| c.is_control() && c != '\n' && c != '\t';
    if text.contains(forbidden) { Cow::Owned(text.replace(forbidden, " ")) } else { Cow::Borrowed(text) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_characters_become_blanks() {
        // XML 1.0, 2.2: of the characters below a blank only tab, line feed and carriage return may stand in a document.
        assert_eq!(printable("Fish\u{0}\u{1b} & <chips>\n\t"), "Fish   & <chips>\n\t");
    }
}
