//! What can be asked of the window from outside: where it stands and what it shows.

use super::App;
use super::state::{Camera, Clock, PlanShape, Selection, SheetChoice};
use crate::book::Book;
use crate::query::{
    Age, GroundPictureQuestion, Item, LandQuestion, MarksQuestion, ReadDrawingQuestion, ReadingQuestion, SettingQuestion,
};

/// How the reading on the sheet stands to the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Freshness {
    /// Nothing has been read yet.
    Nothing,
    /// What stands there is from before the last change, and is marked so.
    Old,
    /// Counts and rates are of the book as it is; patterns are still being sought.
    Rates,
    /// All of it is of the book as it is.
    Whole,
}

/// Words on a drawing, and where they stand.
pub type Written = (String, egui::Rect);

impl App {
    /// How the reading on the sheet stands to the book.
    pub fn freshness(&self) -> Freshness {
        match self.answers.answer::<ReadDrawingQuestion>().newest() {
            None => Freshness::Nothing,
            Some((_, Age::Old)) => Freshness::Old,
            Some((read, Age::Fresh)) if read.is_whole() => Freshness::Whole,
            Some(_) => Freshness::Rates,
        }
    }

    /// The book as it stands.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// The low for which a route is planned.
    pub fn chosen_low(&self) -> Option<jiff::Timestamp> {
        self.state.next_low.low
    }

    /// What is picked.
    pub fn selection(&self) -> &Selection {
        &self.state.selection
    }

    /// The instant shown.
    pub fn clock(&self) -> Clock {
        self.state.clock
    }

    /// The sheet shown.
    pub fn sheet(&self) -> SheetChoice {
        self.state.sheet
    }

    /// How Plan lies and from where it is seen.
    pub fn plan(&self) -> (PlanShape, Camera) {
        (self.state.plan.lay, self.state.plan.camera())
    }

    /// Where the water's edge is cut in Plan: the level above the land datum, metres.
    pub fn water_land_m(&self) -> Option<f64> {
        let setting = self.answers.answer::<SettingQuestion>();
        let setting = setting.fresh()?;
        setting.water_land_m(setting.water.as_ref()?.height_m(self.state.clock.at)?)
    }

    /// What warns on Plan, and the next low on Time, as they were last written: the words and where they stand.
    pub fn warnings_drawn(&self) -> (Vec<Written>, Option<Written>) {
        let told = |p: &super::widgets::labels::Placed| (p.text.clone(), p.rect);
        (self.state.plan.warned.iter().map(told).collect(), self.state.time.next_low.as_ref().map(told))
    }

    /// The warnings on Plan that stand away from what they warn of, and where the line leads that ties each to it.
    pub fn warnings_tied(&self) -> Vec<(egui::Rect, egui::Pos2)> {
        self.state.plan.warned.iter().filter_map(|w| Some((w.rect, w.tie()?))).collect()
    }

    /// The turns of the tide that are named on Time, and how.
    pub fn turns_named(&self) -> Vec<(jiff::Timestamp, String)> {
        self.state.time.named.iter().map(|(time, name)| (*time, name.text.clone())).collect()
    }

    /// When the route's first block must be left, as it was last written on Time.
    pub fn first_to_leave_drawn(&self) -> Option<Written> {
        self.state.time.leave.as_ref().map(|p| (p.text.clone(), p.rect))
    }

    /// Where words stand on Plan, the numbers of blocks, the scale and the mark of north among them.
    pub fn words_on_plan(&self) -> &[egui::Rect] {
        &self.state.plan.words
    }

    /// The numbers of the route's blocks and the names of its ends on Plan, and where they stand.
    pub fn numbers_on_plan(&self) -> &[Written] {
        &self.state.plan.numbers
    }

    /// The names of tide levels on Plan, in full, and where they stand.
    pub fn levels_on_plan(&self) -> Vec<Written> {
        self.state.plan.levels.iter().map(|(rect, name)| (name.clone(), *rect)).collect()
    }

    /// Where it stands among the tide what the hatching of the expected water means, if it does.
    pub fn key_among_the_tide(&self) -> Option<egui::Rect> {
        self.state.time.key
    }

    /// Where the high waters in view are drawn on Time.
    pub fn tide_highs_drawn(&self) -> Vec<egui::Pos2> {
        let shown = self.frame_context();
        let (Some(axis), Some(curve)) = (self.state.time.axis, shown.tide_curve()) else { return Vec::new() };
        let highs = curve.turns.iter().filter(|t| t.kind == crate::tide::TurnKind::High);
        let drawn = highs.map(|t| super::views::time::position(&axis, t));
        drawn.filter(|at| axis.rect.contains(*at)).collect()
    }

    /// What went wrong and was not read yet.
    pub fn errors_in_view(&self) -> &[String] {
        &self.errors
    }

    /// The place in the form that is open, if it has one.
    pub fn place_in_form(&self) -> Option<crate::earth::LonLat> {
        self.state.draft.as_ref()?.place()
    }

    /// Where a place is drawn in Plan.
    pub fn position_of(&self, at: crate::earth::LonLat) -> Option<egui::Pos2> {
        let (land, _) = self.answers.answer::<LandQuestion>().newest()?;
        let drawn = land.placing.of_lonlat(at).ok()?;
        Some(self.state.plan.look()?.pos(drawn[self.state.plan.lay_index()]))
    }

    /// Where an item's mark is drawn in Plan, if it is.
    pub fn mark_position(&self, item: Item) -> Option<egui::Pos2> {
        let (marks, _) = self.answers.answer::<MarksQuestion>().newest()?;
        let mark = marks.get(item)?;
        Some(self.state.plan.look()?.pos(mark.at[self.state.plan.lay_index()]))
    }

    /// What Plan shows of the ground, by its word on screen.
    pub fn ground_shown(&self) -> &'static str {
        self.state.plan.ground.label()
    }

    /// The colour of the ground by day at a place along and across the shore; `None` while no picture
    /// of it is shown, transparent where nobody looked.
    pub fn ground_colour(&self, place: crate::shore::ShorePoint) -> Option<egui::Color32> {
        let (picture, _) = self.answers.answer::<GroundPictureQuestion>().newest()?;
        let colour = |[r, g, b]: [u8; 3]| egui::Color32::from_rgb(r, g, b);
        (picture.what == self.state.plan.ground).then(|| picture.colour_at(place).map_or(egui::Color32::TRANSPARENT, colour))
    }

    /// The reading, where it is fresh.
    pub fn fresh_reading(&self) -> Option<&crate::reading::Reading> {
        self.answers.answer::<ReadingQuestion>().fresh().map(|read| &read.reading)
    }

    /// What the reading on the sheet was made of, and how many finds it took.
    pub fn reading_of(&self) -> Option<(&crate::reading::Filter, usize)> {
        let (read, _) = self.answers.answer::<ReadDrawingQuestion>().newest()?;
        Some((&read.read.filter, read.taken().finds.0))
    }

    /// The settings of the reading on the sheet.
    pub fn reading_params(&self) -> Option<&crate::reading::Params> {
        self.answers.answer::<ReadDrawingQuestion>().newest().map(|(r, _)| &r.reading().params)
    }

    /// Ground swept by the reading on the sheet, m².
    pub fn reading_swept_m2(&self) -> Option<f64> {
        self.answers.answer::<ReadDrawingQuestion>().newest()?.0.reading().whole.swept_m2
    }

    /// Whether an outing or storm is behind the verdict in the light, as Time shows it.
    pub fn is_behind_verdict(&self, item: Item) -> bool {
        let read = self.answers.answer::<ReadDrawingQuestion>().newest().map(|(read, _)| read);
        let outline = self.state.selection.lead.and_then(|lead| read?.outline(lead));
        outline.is_some_and(|o| o.rests_on(item))
    }

    /// Metres along at which Section is cut.
    pub fn section_along_m(&self) -> Option<f64> {
        self.state.plan.section_along_m(self.answers.answer::<LandQuestion>().newest()?.0)
    }

    /// Where the start of the route is drawn in Plan, if one is.
    pub fn route_start_position(&self) -> Option<egui::Pos2> {
        let (routed, _) = self.state.next_low.current_route(&self.frame_context())?;
        Some(self.state.plan.look()?.pos(routed.ends[0][self.state.plan.lay_index()]))
    }

    /// Where the middle of the route's block of this number, from 0, is drawn in Plan.
    pub fn route_block_position(&self, n: usize) -> Option<egui::Pos2> {
        let (routed, _) = self.state.next_low.current_route(&self.frame_context())?;
        let (look, lay) = (self.state.plan.look()?, self.state.plan.lay_index());
        let corners = routed.blocks.get(n)?.map(|b| look.pos(b[lay]).to_vec2());
        Some((corners.iter().fold(egui::Vec2::ZERO, |sum, c| sum + *c) / corners.len() as f32).to_pos2())
    }
}
