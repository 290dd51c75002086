//! What the present state of the window asks: one round of questions a frame.

use jiff::SignedDuration;

use super::folder::FolderQuestion;
use super::photo::{PhotoQuestion, path_of};
use super::snapshot::Message;
use super::state::dialog::Dialog;
use super::tidying::TidyQuestion;
use super::views::next_low::dry_place;
use super::widgets::shades;
use super::{App, SheetChoice};
use jiff::Timestamp;

use crate::book::{Beach, KindTables, Part as _, Uid};
use crate::earth::LonLat;
use crate::query::drawing::{GroundShown, GroundWanted, Land, MarkTables, OutlineTables, TraceTables};
use crate::query::{
    Ask as _, BenchQuestion, CalibrationQuestion, CheckQuestion, ComparisonQuestion, CurveQuestion, DryBandQuestion,
    DryPlaceQuestion, Given, GroundPictureQuestion, HappeningTables, HappeningsQuestion, Inquiry, KindsQuestion, LandQuestion,
    LogQuestion, LogTables, LowsQuestion, MarksQuestion, NotYet, OutlinesQuestion, PaceQuestion, ProfileQuestion,
    ReadDrawingQuestion, RouteDrawingQuestion, RouteQuestion, SignalQuestion, TallyQuestion, TallyTables, TracesQuestion,
    WholeBook,
};
use crate::reading::ReadingTables;
use crate::shore::Setting;
use crate::tide::TurnKind;

/// A low water this near to the one chosen is the same one.
const LOW_WITHIN: SignedDuration = SignedDuration::from_secs(90);

impl App {
    /// Asks everything that the views show, and nothing else: what is not asked is old by itself.
    pub(super) fn ask_all(&mut self) {
        self.answers.begin_round();
        (self.route_base, self.unplanned) = (None, None);
        if let Some(Dialog::Intake(form)) = &self.state.dialog
            && let Some(question) = form.question(&self.book)
        {
            // Its answer is read by the dialog, with its state.
            let _ = self.answers.ask(question);
        }
        if let Some(chooser) = &self.state.chooser {
            let _ = self.answers.ask(FolderQuestion { folder: chooser.folder.clone() });
        }
        if matches!(self.state.dialog, Some(Dialog::Tidy)) {
            let _ = self.answers.ask(TidyQuestion { book: WholeBook(self.book.clone()) });
        }
        if let Some(path) = self.wanted_photo() {
            let _ = self.answers.ask(PhotoQuestion { path });
        }
        let Some(mut inquiry) = self.beach.and_then(|beach| Inquiry::new(&self.book, beach, self.now()).ok()) else {
            return self.ask_of_no_beach();
        };
        inquiry.filter.clone_from(&self.state.read.filter);
        self.ask_lists(inquiry.beach());
        // Each of these says on its own what it waits for; the views read that with the answer.
        self.unplanned = self.ask_land(&inquiry).and_then(|land| self.ask_on_land(&inquiry, &land)).err();
        self.write_what_waits(&inquiry);
    }

    /// The photo of the find that is picked, where it should lie.
    fn wanted_photo(&self) -> Option<std::path::PathBuf> {
        let Some(super::Item::Find(uid)) = self.state.selection.lead else { return None };
        let find = self.book.finds().get(&uid).filter(|f| !f.photo.trim().is_empty())?;
        let folder = self.kept.as_ref()?.path.as_deref()?.parent();
        path_of(folder, &find.photo).ok()
    }

    /// The Log, and the bench.
    fn ask_lists(&mut self, beach: &Beach) {
        let (book, answers, state) = (&self.book, &mut self.answers, &mut self.state);
        let filter = state.log.filter.clone();
        let _ = answers.ask(LogQuestion { tables: LogTables::of_book(book), beach: beach.uid, filter });
        let _ = answers.ask(HappeningsQuestion { tables: HappeningTables::of_book(book), beach: beach.uid });
        let _ = answers.ask(KindsQuestion { tables: KindTables::of_book(book), beach: beach.uid });
        let _ = answers.ask(TallyQuestion { tables: TallyTables::of_book(book) });
        self.ask_bench(beach);
    }

    /// Known targets lie on no beach: a book that holds none is asked of them all the same.
    fn ask_of_no_beach(&mut self) {
        let Ok(origin) = LonLat::new(0.0, 0.0) else { return };
        let nowhere = Beach { uid: Uid::of_content("no beach", []), ..Beach::new("", origin) };
        let _ = self.answers.ask(KindsQuestion { tables: KindTables::of_book(&self.book), beach: nowhere.uid });
        self.ask_bench(&nowhere);
    }

    fn ask_bench(&mut self, beach: &Beach) {
        let (book, answers, state) = (&self.book, &mut self.answers, &mut self.state);
        if state.bench.wanted || matches!(state.selection.lead, Some(super::Item::Signal(_))) {
            let lessons = answers.ask(BenchQuestion { tables: book.into(), beach: beach.uid });
            let place = PaceQuestion::place(beach);
            let pace = answers.ask(PaceQuestion { tables: book.into(), beach: place });
            if let (Ok(lessons), Ok(pace), Some(signal)) = (lessons, pace, state.bench.asking_of()) {
                let _ = answers.ask(SignalQuestion { lessons, pace: *pace, signal });
            }
        }
        if state.sheet == SheetChoice::Share || state.draft.is_some() {
            let _ = answers.ask(CheckQuestion::new(book, beach));
        }
        if let Some(setup) = state.bench.calibrating() {
            let _ = answers.ask(CalibrationQuestion { tables: book.into(), beach: beach.uid, setup });
        }
        if let Some((first, second)) = state.bench.comparing() {
            let _ = answers.ask(ComparisonQuestion { tables: book.into(), first, second });
        }
    }

    /// The beach laid out and drawn, with what stands on it whatever the sheet.
    fn ask_land(&mut self, inquiry: &Inquiry) -> Result<Given<Land>, NotYet> {
        let setting = self.answers.ask(inquiry.setting())?;
        self.drop_a_low_that_is_none(&setting);
        let _ = inquiry.doubts(&mut self.answers);
        let waves = (self.state.next_low.run_up_m, self.state.next_low.sea);
        let answers = &mut self.answers;
        let _ = answers.ask(CurveQuestion { setting: setting.clone(), span: self.state.time.span.rounded_out() });
        if self.state.sheet == SheetChoice::NextLow
            && setting.water.is_some()
            && let Some(ask) = self.state.lows.ask(self.state.clock.at, inquiry.beach(), &self.zone, waves)
        {
            let _ = answers.ask(LowsQuestion { setting: setting.clone(), ask });
        }
        if self.state.sheet == SheetChoice::NextLow {
            self.ask_when_dry(&setting);
        }
        let answers = &mut self.answers;
        let land = answers.ask(LandQuestion { setting: setting.clone() })?;
        let _ = answers.ask(MarksQuestion { land: land.clone(), tables: MarkTables::of_book(&self.book) });
        let _ = answers.ask(OutlinesQuestion { land: land.clone(), tables: OutlineTables::of_book(&self.book) });
        let _ = answers.ask(TracesQuestion { land: land.clone(), tables: TraceTables::of_book(&self.book) });
        if let Some(along_m) = self.state.plan.section_along_m(&land) {
            let _ = answers.ask(ProfileQuestion::at(setting, along_m));
        }
        Ok(land)
    }

    /// When what is picked is dry, asked from before the instant to beyond three days after it, so that one answer
    /// serves while time goes on.
    fn ask_when_dry(&mut self, setting: &Given<Setting>) {
        const STEP_S: i64 = 6 * 3600;
        let steps = |s: i64| Timestamp::from_second(s.div_euclid(STEP_S) * STEP_S).ok();
        let at_s = self.state.clock.at.as_second();
        let (Some(from), Some(to)) = (steps(at_s), steps(at_s + dry_place::AHEAD_H * 3600 + STEP_S)) else { return };
        let Some(lead) = self.state.selection.lead else { return };
        let (setting, sea) = (setting.clone(), self.state.next_low.sea);
        if let super::Item::Band(n) = lead {
            let read = self.answers.answer::<ReadDrawingQuestion>().newest().map(|(read, _)| read);
            let Some(band) = read.and_then(|r| r.reading().bands.get(n)) else { return };
            let Some(band) = setting.bands.iter().find(|b| b.name == band.name) else { return };
            let levels_m = [band.high_m, band.low_m].into_iter().flatten().collect();
            let _ = self.answers.ask(DryBandQuestion { setting, levels_m, sea, from, to });
        } else if let Some(at) = dry_place::place(&self.book, lead) {
            let _ = self.answers.ask(DryPlaceQuestion { setting, at, sea, from, to });
        }
    }

    /// Lets go of the low that was chosen where another tide source has none at that time.
    fn drop_a_low_that_is_none(&mut self, setting: &Given<Setting>) {
        if self.low_held_against.as_ref() == Some(setting) {
            return;
        }
        self.low_held_against = Some(setting.clone());
        let (Some(low), Some(water)) = (self.state.next_low.low, &setting.water) else { return };
        let near = water.turns(low - LOW_WITHIN, low + LOW_WITHIN);
        if !near.iter().any(|turn| turn.kind == TurnKind::Low) {
            self.state.next_low.low = None;
            let text = "the low that was chosen is none of this tide; choose one from the list".to_owned();
            self.message = Some(Message { text, bad: true });
        }
    }

    /// What is read and planned.
    fn ask_on_land(&mut self, inquiry: &Inquiry, land: &Given<Land>) -> Result<(), NotYet> {
        let (what, plans) =
            (self.state.plan.ground, self.state.next_low.low.is_some() || !self.state.next_low.planned.is_empty());
        let (grounds, reads) = (what != GroundShown::Nothing, self.state.read.wanted || plans);
        if !grounds && !reads {
            return Ok(());
        }
        let covered = inquiry.covered(&mut self.answers)?;
        if grounds {
            let wanted = GroundWanted { what, of: self.state.read.weight, shades: shades::of_ground(what) };
            let (tables, filter) = (ReadingTables::of_book(&self.book), inquiry.filter.clone());
            let (params, known) = (inquiry.params.clone(), inquiry.known_ground(&mut self.answers)?);
            let _ =
                self.answers.ask(GroundPictureQuestion { land: land.clone(), covered, known, tables, filter, params, wanted });
        }
        if !reads {
            return Ok(());
        }
        let counted = inquiry.counts(&mut self.answers)?;
        // Counts and rates are drawn while patterns are still sought.
        let read = inquiry.reading(&mut self.answers).unwrap_or_else(|_| counted.read.clone());
        let _ = self.answers.ask(ReadDrawingQuestion { land: land.clone(), read });
        let _ = inquiry.paces(&mut self.answers);
        let Some(ask) = self.state.next_low.ask(&self.state.clock) else {
            // What was planned before may still stand.
            if let Some(ask) = self.state.next_low.planned.values().next().cloned() {
                self.route_base = Some(inquiry.route_question(&mut self.answers, ask)?);
            }
            return Ok(());
        };
        let of = inquiry.route_question(&mut self.answers, ask)?;
        self.route_base = Some(of.clone());
        if self.writes.waits_for_route() {
            return Ok(());
        }
        let planned = self.answers.ask(of.clone());
        let shown = planned.ok().or_else(|| self.answers.answer::<RouteQuestion>().best_so_far().cloned());
        if let Some(planned) = shown {
            let _ = self.answers.ask(RouteDrawingQuestion { land: land.clone(), planned, of });
        }
        Ok(())
    }
}
