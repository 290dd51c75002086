//! The card: one page of HTML that stands by itself and prints on A4.
use super::route::Route;
use crate::book::Book;
use crate::shore::Setting;
impl Route {
    /// The card.
    pub fn card(&self, _book: &Book, _setting: &Setting) -> String {
        String::new()
    }
}
