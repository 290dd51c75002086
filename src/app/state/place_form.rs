//! A beach that is to be made at a place.

/// A beach that is to be made at a place, as it is typed.
#[derive(Debug, Clone)]
pub(crate) struct PlaceForm {
    pub(crate) name: String,
    /// Its place in any notation, or the name of a tide station near it.
    pub(crate) place: String,
    pub(crate) focus: bool,
    /// Whether it was sent to the book, whose answer is awaited.
    pub(crate) sent: bool,
    pub(crate) refusal: Option<String>,
}

impl PlaceForm {
    /// Whether something was typed.
    pub(crate) fn is_changed(&self) -> bool {
        let first = Self::default();
        (&self.name, &self.place) != (&first.name, &first.place)
    }
}

impl Default for PlaceForm {
    fn default() -> Self {
        Self { name: "My beach".to_owned(), place: String::new(), focus: true, sent: false, refusal: None }
    }
}
