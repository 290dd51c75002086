//! Everything the views share and change.

use jiff::Timestamp;

use super::bench::BenchView;
use super::clock::{Clock, seconds};
use super::command::{Ask, Command};
use super::dialog::{Chooser, Dialog, Leaving};
use super::draft::DraftForm;
use super::log::{LogView, PhotoView};
use super::lows::LowsView;
use super::next_low::{NextLowView, When};
use super::plan::PlanView;
use super::read::ReadView;
use super::section::SectionView;
use super::selection::Selection;
use super::share::ShareView;
use super::sheet_choice::SheetChoice;
use super::sun_said::SunSaid;
use super::time::TimeView;
use crate::book::Edit;
use crate::query::Listed;

/// Everything the views share and change.
pub(crate) struct State {
    pub(crate) selection: Selection,
    pub(crate) clock: Clock,
    /// The instant shown, if it is the present one and goes on with it: until somebody moves it.
    pub(crate) followed: Option<Timestamp>,
    pub(crate) sheet: SheetChoice,
    pub(crate) plan: PlanView,
    pub(crate) section: SectionView,
    pub(crate) time: TimeView,
    pub(crate) log: LogView,
    pub(crate) read: ReadView,
    pub(crate) next_low: NextLowView,
    pub(crate) share: ShareView,
    pub(crate) lows: LowsView,
    pub(crate) bench: BenchView,
    pub(crate) draft: Option<DraftForm>,
    /// The form that was sent to the book and whose answer is awaited.
    pub(crate) sent_draft: Option<DraftForm>,
    /// The program's own chooser of files, over whatever else is open.
    pub(crate) chooser: Option<Chooser>,
    pub(crate) photo: PhotoView,
    pub(crate) sun_said: SunSaid,
    pub(crate) dialog: Option<Dialog>,
    /// The form that is about to be left with something typed in it: that is asked first.
    pub(crate) leaving: Option<Leaving>,
    /// Whether Section is wanted, once somebody said so; else it is there where there is room.
    pub(crate) section_wanted: Option<bool>,
    /// Whether it stands there now; `None` where there is no room for it.
    pub(crate) section_there: Option<bool>,
    pub(crate) sheet_folded: bool,
    /// Whether the sheet was asked for as the window opened, and there was room for it so far.
    pub(crate) sheet_asked: bool,
    /// Whether the window is so narrow that the sheet and the drawings take turns.
    pub(crate) turns: bool,
    /// Whether the sheet stood there before the window became so narrow.
    pub(crate) made_way: bool,
    /// Whether the sheet is to be shown from its top on once more, as something else is told there now.
    pub(crate) sheet_to_top: bool,
    /// What is to be done once the frame is laid out.
    pub(crate) commands: Vec<Command>,
}

impl State {
    /// The window as it opens.
    pub(crate) fn opening(at: Timestamp, sheet: SheetChoice) -> Self {
        Self {
            selection: Selection::default(),
            clock: Clock { at, playing: false },
            followed: Some(at),
            sheet,
            plan: PlanView::default(),
            section: SectionView::default(),
            time: TimeView::around(at),
            log: LogView::default(),
            read: ReadView::default(),
            next_low: NextLowView::default(),
            share: ShareView::default(),
            lows: LowsView::default(),
            bench: BenchView::default(),
            draft: None,
            sent_draft: None,
            chooser: None,
            photo: PhotoView::default(),
            sun_said: SunSaid::default(),
            dialog: None,
            leaving: None,
            section_wanted: None,
            section_there: None,
            sheet_folded: false,
            sheet_asked: false,
            turns: false,
            made_way: false,
            sheet_to_top: false,
            commands: Vec::new(),
        }
    }

    /// The form on the sheet, if one of something that lies at one place is before the person's eyes, or was so before
    /// they turned to the drawings.
    pub(crate) fn placed_draft(&mut self) -> Option<&mut DraftForm> {
        let seen =
            self.sheet == SheetChoice::Log && (!self.sheet_folded || self.turns) && self.log.filter.listed != Listed::Bench;
        self.draft.as_mut().filter(|d| seen && d.has_a_place())
    }

    /// Lets the sheet and the drawings take turns in a narrow window. The drawings come first there, with the sheet one press
    /// away, unless a form is open on it or it was asked for; where there is room again the sheet is back.
    pub(crate) fn take_turns(&mut self, narrow: bool) {
        if narrow == self.turns {
            return;
        }
        self.turns = narrow;
        if narrow {
            self.made_way = !self.sheet_folded;
            let asked = std::mem::take(&mut self.sheet_asked);
            self.sheet_folded |= self.draft.is_none() && self.bench.form.is_none() && !asked;
        } else if std::mem::take(&mut self.made_way) {
            self.sheet_folded = false;
        }
    }

    /// Leaves the form on the sheet, or asks first where something was typed in it.
    pub(crate) fn leave_draft(&mut self) {
        if self.draft.as_ref().is_some_and(DraftForm::is_changed) {
            self.leaving = Some(Leaving::Draft);
        } else {
            self.draft = None;
        }
    }

    /// Shows an instant, moving Time along if need be.
    pub(crate) fn go_to(&mut self, at: Timestamp) {
        self.clock.at = at;
        self.time.span = self.time.span.holding(seconds(at));
    }

    /// Shows the present moment, and goes on with it.
    pub(crate) fn go_to_now(&mut self, now: Timestamp) {
        self.go_to(now);
        self.followed = Some(now);
    }

    /// Goes on with the present minute by minute, unless somebody moved the instant or a route is planned from it on.
    /// Whether it does.
    pub(crate) fn follow(&mut self, now: Timestamp) -> bool {
        let planned_from = self.next_low.low.is_some() && self.next_low.when == When::Shown;
        let follows = self.followed == Some(self.clock.at) && !self.clock.playing && !planned_from;
        if follows && now.duration_since(self.clock.at).as_secs() >= 60 {
            self.go_to_now(now);
        }
        follows
    }

    /// Plans for a low: Plan, Time and the top of the sheet then show the day that is planned, and no other.
    pub(crate) fn plan_at(&mut self, low: Timestamp) {
        self.go_to(low);
        self.next_low.choose(low);
        self.sheet_to_top = true;
    }

    /// Moves the instant by seconds.
    pub(crate) fn step(&mut self, by_s: f64) {
        self.clock.step(by_s);
        self.time.span = self.time.span.holding(seconds(self.clock.at));
    }

    /// Asks for an edit.
    pub(crate) fn apply(&mut self, edit: Edit, label: impl Into<String>) {
        self.commands.push(Command::Ask(Ask::Apply(edit, Some(label.into()))));
    }
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::*;

    #[test]
    fn the_sheet_makes_way_in_a_narrow_window_and_comes_back() {
        let mut state = State::opening(Timestamp::UNIX_EPOCH, SheetChoice::Log);
        state.take_turns(true);
        assert!(state.sheet_folded, "the drawings come first");
        // Asked for, it stays.
        state.sheet_folded = false;
        state.take_turns(true);
        assert!(!state.sheet_folded);
        state.sheet_folded = true;
        state.take_turns(false);
        assert!(!state.sheet_folded, "there is room for both");
        // Hidden by hand, it stays hidden.
        state.sheet_folded = true;
        state.take_turns(true);
        state.take_turns(false);
        assert!(state.sheet_folded);
    }

    #[test]
    fn the_instant_goes_on_with_the_present_until_somebody_moves_it() {
        let at: Timestamp = "2026-06-01T05:30:00Z".parse().unwrap();
        let after = |s: i64| at + SignedDuration::from_secs(s);
        let mut state = State::opening(at, SheetChoice::NextLow);
        assert!(state.follow(after(59)) && state.clock.at == at);
        assert!(state.follow(after(61)) && state.clock.at == after(61));
        state.step(600.0);
        assert!(!state.follow(after(3600)) && state.clock.at == after(661));
        state.go_to_now(after(3600));
        assert!(state.follow(after(3700)) && state.clock.at == after(3700));
        // A route from the instant shown stands while time goes by.
        state.next_low.choose(after(9000));
        state.next_low.when = When::Shown;
        assert!(!state.follow(after(3900)) && state.clock.at == after(3700));
    }
}
