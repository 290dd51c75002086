//! Figures as people type them.

/// A number typed with point or comma; nothing typed is no number.
pub(crate) fn number(what: &str, text: &str) -> Result<Option<f64>, String> {
    let plain = text.trim().replace(',', ".").replace('−', "-");
    if plain.is_empty() {
        return Ok(None);
    }
    match plain.parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(Some(v)),
        _ => Err(format!("{what}: \"{}\" is not a number", text.trim())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        assert_eq!(number("x", " 2,5 "), Ok(Some(2.5)));
        assert_eq!(number("x", "−2.90"), Ok(Some(-2.9)));
        assert_eq!(number("x", "  "), Ok(None));
        assert!(number("offset", "deep").unwrap_err().contains("offset"));
        assert!(number("x", "inf").is_err());
    }
}
