//! The window: Plan, Section and Time of one beach, and the sheet for the job in hand.
//!
//! It shows and edits and holds no copy of the domain: the book is a snapshot that the keeper's
//! thread hands over after every edit, everything derived is made from it by jobs in the
//! background, and what the views change are `state`'s few values and commands to the keeper.

mod beach_form;
mod command;
mod controls;
mod derived;
mod desk;
mod intake;
mod keeper;
mod keys;
mod memory;
mod notices;
mod options;
mod photo;
mod picture;
mod plan;
mod section;
mod sheet;
mod shown;
mod snapshot;
mod state;
mod theme;
mod tide_form;
mod time;
mod wants;
mod work;
mod world;

use std::path::PathBuf;
use std::sync::Arc;

use egui::{CentralPanel, Frame, Margin, Panel, Ui};
use jiff::Timestamp;
use jiff::tz::TimeZone;

pub use options::{Options, Start};
pub use plan::Camera;
pub use state::{Clock, Item, Lay, Selection, SheetChoice, WeightChoice};

pub(crate) use command::{Command, Dialog};

use crate::book::{Book, Edit, Uid};
use keeper::{Ask, Keeper};
use memory::Memory;
use shown::{Derived, Revision, Shown};
use snapshot::{KeptFacts, Message};
use work::Waker;

/// Height of the line of controls over a canvas, points.
const HEAD: f32 = 30.0;
/// Height of the line under Plan and Section, points.
const FOOT: f32 = 34.0;

/// Why the window could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum WindowError {
    /// The system gave no window.
    #[error("no window can be opened here ({0}); without one, try: scourline demo --out demo --no-window")]
    NoWindow(String),
    /// The picture could not be written.
    #[error("the picture could not be written: {0}")]
    Picture(String),
}

/// Everything the views share and change.
pub(crate) struct State {
    pub(crate) selection: Selection,
    pub(crate) clock: Clock,
    pub(crate) sheet: SheetChoice,
    pub(crate) plan: plan::PlanView,
    pub(crate) section: section::SectionView,
    pub(crate) time: time::TimeView,
    pub(crate) log: sheet::LogView,
    pub(crate) read: sheet::ReadView,
    pub(crate) next_low: sheet::NextLowView,
    pub(crate) share: sheet::ShareView,
    pub(crate) lows: sheet::LowsView,
    pub(crate) bench: sheet::BenchView,
    pub(crate) draft: Option<sheet::DraftForm>,
    pub(crate) photo: photo::PhotoView,
    pub(crate) dialog: Option<Dialog>,
    pub(crate) section_folded: bool,
    pub(crate) sheet_folded: bool,
    /// What is to be done once the frame is laid out.
    pub(crate) commands: Vec<Command>,
}

impl State {
    /// Shows an instant, moving Time along if need be.
    pub(crate) fn go_to(&mut self, at: Timestamp) {
        self.clock.at = at;
        self.time.span = self.time.span.holding(time::seconds(at));
    }

    /// Moves the instant by seconds.
    pub(crate) fn step(&mut self, seconds: f64) {
        self.clock.step(seconds);
        self.time.span = self.time.span.holding(time::seconds(self.clock.at));
    }

    /// Asks for an edit.
    pub(crate) fn apply(&mut self, edit: Edit, label: impl Into<String>) {
        self.commands.push(Command::Ask(Ask::Apply(edit, Some(label.into()))));
    }
}

/// The window and everything behind it.
pub struct App {
    keeper: Keeper,
    waker: Waker,
    state: State,
    derived: Derived,
    book: Book,
    kept: Option<KeptFacts>,
    beach: Option<Uid>,
    zone: TimeZone,
    revision: Revision,
    picks: notices::Picks,
    exports: work::Slot<PathBuf, String>,
    message: Option<Message>,
    picture: picture::Sitting,
    /// The wall clock, when it is fixed for a picture or a test.
    fixed_now: Option<Timestamp>,
}

/// Opens the window and stays until it is closed.
///
/// # Errors
/// [`WindowError`] when there is no display, or the picture asked for could not be written.
pub fn run(options: Options) -> Result<(), WindowError> {
    let outcome = picture::Outcome::default();
    let native = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Scourline")
            .with_app_id("scourline")
            .with_inner_size(options.size)
            .with_min_inner_size([900.0, 560.0]),
        renderer: eframe::Renderer::Glow,
        persist_window: false,
        ..eframe::NativeOptions::default()
    };
    let mine = outcome.clone();
    let opened =
        eframe::run_native("scourline", native, Box::new(move |cc| Ok(Box::new(App::with_outcome(&cc.egui_ctx, options, mine)))));
    opened.map_err(|e| WindowError::NoWindow(e.to_string()))?;
    outcome.take().map_or(Ok(()), |why| Err(WindowError::Picture(why)))
}

impl App {
    /// The window's content; nothing is read before its thread gets to it.
    pub fn new(ctx: &egui::Context, options: Options) -> Self {
        Self::with_outcome(ctx, options, picture::Outcome::default())
    }

    fn with_outcome(ctx: &egui::Context, options: Options, outcome: picture::Outcome) -> Self {
        theme::install(ctx);
        // Where the system does not say, it is day.
        ctx.options_mut(|o| o.fallback_theme = egui::Theme::Light);
        match options.dark {
            Some(true) => ctx.set_theme(egui::Theme::Dark),
            Some(false) => ctx.set_theme(egui::Theme::Light),
            None => ctx.set_theme(egui::ThemePreference::System),
        }
        let waking = ctx.clone();
        let waker: Waker = Arc::new(move || waking.request_repaint());
        let memory = if options.remember { Memory::usual() } else { Memory::default() };
        let mut keeper = Keeper::start(memory, Arc::clone(&waker));
        let first = match options.start {
            Start::Last => Ask::Last,
            Start::Book(path) => Ask::Open(path),
            Start::Demo => Ask::Demo,
            Start::Given(open) => Ask::Given(open),
        };
        let message = keeper.ask(first).err().map(|text| Message { text, bad: true });
        let at = options.at.unwrap_or_else(Timestamp::now);
        let mut app = Self {
            keeper,
            waker,
            state: State {
                selection: Selection::default(),
                clock: Clock { at, playing: false },
                sheet: options.sheet,
                plan: plan::PlanView::default(),
                section: section::SectionView::default(),
                time: time::TimeView::around(at),
                log: sheet::LogView::default(),
                read: sheet::ReadView::default(),
                next_low: sheet::NextLowView::default(),
                share: sheet::ShareView::default(),
                lows: sheet::LowsView::default(),
                bench: sheet::BenchView::default(),
                draft: None,
                photo: photo::PhotoView::default(),
                dialog: None,
                section_folded: false,
                sheet_folded: false,
                commands: Vec::new(),
            },
            derived: Derived::default(),
            book: Book::new(),
            kept: None,
            beach: None,
            zone: TimeZone::UTC,
            revision: Revision::default(),
            picks: notices::Picks::default(),
            exports: work::Slot::default(),
            message,
            picture: picture::Sitting::new(options.picture, options.first_frame, options.began, outcome),
            fixed_now: options.at,
        };
        if options.bench {
            sheet::to_bench(&mut app.state);
        }
        app.state.read.part = options.part;
        if let Some(word) = options.ground.as_deref() {
            app.state.plan.ground = derived::GroundShown::named(word).unwrap_or_default();
        }
        app
    }

    /// The book as it stands.
    pub fn book(&self) -> &Book {
        &self.book
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
    pub fn plan(&self) -> (Lay, Camera) {
        (self.state.plan.lay, self.state.plan.camera())
    }

    /// Where the water's edge is cut in Plan: the level above the land datum, metres.
    pub fn water_land_m(&self) -> Option<f64> {
        let land = self.derived.land.value()?;
        land.land_m(land.setting.water.as_ref()?.height_m(self.state.clock.at)?)
    }

    /// Where an item's mark is drawn in Plan, if it is.
    pub fn mark_position(&self, item: Item) -> Option<egui::Pos2> {
        let mark = self.derived.marks.value()?.get(item)?;
        Some(self.state.plan.look()?.pos(mark.at[self.state.plan.lay_index()]))
    }

    /// What Plan shows of the ground, by its word on screen.
    pub fn ground_shown(&self) -> &'static str {
        self.state.plan.ground.label()
    }

    /// The colour of the ground by day at a place along and across the shore; `None` while no picture
    /// of it is shown, transparent where nobody looked.
    pub fn ground_colour(&self, place: crate::shore::ShorePoint) -> Option<egui::Color32> {
        let picture = self.derived.ground.value()?;
        (picture.what == self.state.plan.ground).then(|| picture.dot(place))
    }

    /// What the reading on the sheet was made of, and how many finds it took.
    pub fn reading_of(&self) -> Option<(&crate::reading::Filter, usize)> {
        let read = self.derived.read.value()?;
        Some((&read.ask.filter, read.taken.finds.0))
    }

    /// The settings of the reading on the sheet.
    pub fn reading_params(&self) -> Option<&crate::reading::Params> {
        self.derived.read.value().map(|r| &r.reading.params)
    }

    /// Ground swept by the reading on the sheet, m².
    pub fn reading_swept_m2(&self) -> Option<f64> {
        self.derived.read.value()?.reading.whole.swept_m2
    }

    /// Whether an outing or storm is behind the verdict in the light, as Time shows it.
    pub fn is_behind_verdict(&self, item: Item) -> bool {
        let read = self.derived.read.value();
        let outline = self.state.selection.lead.and_then(|lead| read?.outline(lead));
        outline.is_some_and(|o| o.rests_on(item))
    }

    /// Metres along at which Section is cut.
    pub fn section_along_m(&self) -> Option<f64> {
        self.state.plan.section_along_m(self.derived.land.value()?)
    }

    /// Whether nothing is being worked on.
    pub fn is_idle(&self) -> bool {
        let dialog = match &self.state.dialog {
            Some(Dialog::Intake(form)) => form.is_busy(),
            _ => false,
        };
        self.kept.is_some() && !dialog && !self.keeper.is_busy() && !self.derived.is_busy() && !self.exports.is_busy()
    }

    fn now(&self) -> Timestamp {
        self.fixed_now.unwrap_or_else(Timestamp::now)
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.catch_up(ctx);
    }

    fn raw_input_hook(&mut self, _ctx: &egui::Context, input: &mut egui::RawInput) {
        if self.picture.is_sitting() {
            // Wherever the mouse happens to lie, it is no part of the picture.
            input.events.retain(|e| !matches!(e, egui::Event::PointerMoved(_) | egui::Event::MouseMoved(_)));
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        let now = self.now();
        let undo = self.kept.as_ref().map(|k| (k.undo.clone(), k.redo.clone())).unwrap_or_default();
        let Self { state, derived, book, beach, zone, kept, message, revision, .. } = self;
        let folder = kept.as_ref().and_then(|k| k.path.as_deref()).and_then(std::path::Path::parent);
        let beach = beach.and_then(|b| book.beaches().get(&b));
        let shown = Shown { book, beach, zone, derived, revision: *revision, now, folder };
        keys::global(&ctx, &shown, state, &undo);
        let paper = theme::palette(&ctx).paper;
        let margin = |l, r, t, b| Frame::new().fill(paper).inner_margin(Margin { left: l, right: r, top: t, bottom: b });
        Panel::top("desk").frame(margin(16, 16, 6, 2)).show_separator_line(false).show(ui, |ui| {
            desk::top(ui, &shown, state, &undo);
        });
        Panel::bottom("foot").frame(margin(16, 16, 2, 4)).show_separator_line(false).show(ui, |ui| {
            desk::foot(
                ui,
                state,
                kept.as_ref().map(|k| (k.path.as_deref(), k.demo, k.read_only)),
                message.as_ref().map(|m| (m.text.as_str(), m.bad)),
            );
        });
        let wide = ui.available_width();
        if !state.sheet_folded {
            Panel::right("sheet")
                .resizable(true)
                .default_size((wide * 0.29).clamp(350.0, 560.0))
                .size_range(320.0..=(wide * 0.5).max(320.0))
                .frame(margin(6, 16, 2, 2))
                .show_separator_line(false)
                .show(ui, |ui| sheet::show(ui, &shown, state));
        }
        let high = ui.available_height();
        Panel::bottom("time")
            .resizable(true)
            .default_size((high * 0.30).clamp(180.0, 380.0))
            .size_range(140.0..=(high * 0.6).max(140.0))
            .frame(margin(16, 8, 0, 2))
            .show_separator_line(false)
            .show(ui, |ui| time::show(ui, &shown, state));
        if !state.section_folded {
            let left = ui.available_width();
            Panel::right("section")
                .resizable(true)
                .default_size((left * 0.24).clamp(190.0, 460.0))
                .size_range(170.0..=(left * 0.5).max(170.0))
                .frame(margin(6, 8, 2, 2))
                .show_separator_line(false)
                .show(ui, |ui| section::show(ui, &shown, state));
        }
        let right = if state.section_folded { 8 } else { 6 };
        CentralPanel::default().frame(margin(16, right, 2, 2)).show(ui, |ui| plan::show(ui, &shown, state));
        notices::dialogs(&ctx, &shown, state, &self.waker);
        picture::drop_hint(&ctx);
        self.carry_out();
        let idle = self.is_idle();
        self.picture.after_frame(&ctx, idle);
    }
}
