//! What can be done to the window from outside, just as its own views do it.

use jiff::Timestamp;

use super::App;
use super::state::SheetChoice;
use crate::book::{Edit, Uid};
use crate::query::drawing::GroundShown;
use crate::reading::Filter;
use crate::route;

impl App {
    /// Asks for an edit of the book under a name of its own, which Undo then says; done by the book's thread after
    /// the coming frame.
    pub fn edit(&mut self, edit: Edit, name: &str) {
        self.state.apply(edit, name);
    }

    /// The beach that is shown.
    pub fn beach_shown(&self) -> Option<Uid> {
        self.beach
    }

    /// Shows another beach of the book.
    pub fn show_beach(&mut self, beach: Uid) {
        self.turn_to(Some(beach));
    }

    /// Shows a sheet.
    pub fn show_sheet(&mut self, sheet: SheetChoice) {
        (self.state.sheet, self.state.sheet_folded) = (sheet, false);
    }

    /// Shows something of the ground in Plan, by its word on screen; nothing of it for any other word.
    pub fn show_ground(&mut self, word: &str) {
        self.state.plan.ground = GroundShown::named(word).unwrap_or_default();
    }

    /// Reads only what a filter takes.
    pub fn read_only(&mut self, filter: Filter) {
        self.state.read.filter = filter;
    }

    /// Shows an instant.
    pub fn show_instant(&mut self, at: Timestamp) {
        self.state.go_to(at);
    }

    /// Plans the routes to come with these settings.
    pub fn plan_with(&mut self, params: route::Params) {
        self.state.next_low.params = params;
    }

    /// Chooses a low water and plans a route for it with these settings.
    pub fn plan_for(&mut self, low: Timestamp, params: route::Params) {
        self.state.next_low.choose(low);
        self.plan_with(params);
    }
}
