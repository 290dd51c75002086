//! The window: Plan, Section and Time of one beach, and the sheet for the job in hand.
//!
//! It shows and edits and holds no copy of the domain: the book is a snapshot that the keeper's
//! thread hands over after every edit, everything derived is made from it by jobs in the
//! background, and what the views change are `state`'s few values and commands to the keeper.

mod asks;
mod carry_out;
mod dialogs;
mod drive;
mod folder;
mod footer;
mod fresh;
mod header;
mod inspect;
mod keeper;
mod keys;
mod memory;
#[cfg(test)]
mod mistakes;
mod options;
mod photo;
mod picks;
mod picture;
mod sheet;
mod snapshot;
mod state;
mod tidying;
mod views;
mod widgets;
mod writes;

use std::sync::Arc;

use egui::{CentralPanel, Frame, Margin, Panel, Ui};
use jiff::Timestamp;
use jiff::tz::TimeZone;

pub use crate::query::Item;
pub use crate::reading::WeightChoice;
pub use inspect::{Freshness, Written};
pub use options::{OPENING, Options, PICTURE, Start};
pub use state::{Camera, Clock, PlanShape, Selection, SheetChoice};

use crate::book::{Book, Uid};
use crate::query::drawing::GroundShown;
use crate::query::{Answers, Given, NotYet, RouteQuestion, Runner, Waker};
use crate::shore::Setting;
use keeper::Keeper;
use memory::Memory;
use snapshot::{KeptFacts, Message};
use state::command::Ask;
use state::{FrameContext, State};
use views::{plan, section, time};
use widgets::canvas::is_low;
use widgets::kept::{self, Glyphs};
use widgets::lists;
use widgets::theme;

/// In a window narrower than this, points, the sheet and the drawings take turns.
const ALONE: f32 = 640.0;
/// Plan and Section together narrower than this: there is no room for Section, points.
const NO_SECTION: f32 = 430.0;
/// And narrower than this Section only crowds Plan, and is there if it is asked for.
const CROWDED: f32 = 620.0;
/// Section, made wide elsewhere, leaves Plan at least this width, points.
const PLAN_LEAST: f32 = 340.0;
/// Time in a low window.
const TIME_LOW: &str = "time in a low window";
/// What went wrong and was not read: so many are kept in view.
const ERRORS: usize = 3;

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

/// The window and everything behind it.
pub struct App {
    keeper: Keeper,
    state: State,
    answers: Answers,
    /// What every route stands on now; see [`FrameContext::route_base`].
    route_base: Option<RouteQuestion>,
    /// The setting that the low chosen was last held against.
    low_held_against: Option<Given<Setting>>,
    /// Why no route can be asked for; see [`FrameContext::unplanned`].
    unplanned: Option<NotYet>,
    book: Book,
    kept: Option<KeptFacts>,
    beach: Option<Uid>,
    zone: TimeZone,
    picks: picks::Picks,
    writes: writes::Writes,
    message: Option<Message>,
    /// What went wrong and was not read yet, the oldest first.
    errors: Vec<String>,
    picture: picture::Sitting,
    /// Whether a route is to be planned for the next low once that is known.
    plans_next: bool,
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
            .with_clamp_size_to_monitor_size(true)
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
        ctx.set_zoom_factor(options.zoom);
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
        let runner = Runner::new(waker, options.reports.clone().unwrap_or_else(|| memory.reports()));
        let mut keeper = Keeper::start(memory, &runner);
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
            state: State { sheet_asked: options.sheet_asked, ..State::opening(at, options.sheet) },
            answers: Answers::new(runner),
            route_base: None,
            low_held_against: None,
            unplanned: None,
            book: Book::new(),
            kept: None,
            beach: None,
            zone: TimeZone::UTC,
            picks: picks::Picks::default(),
            writes: writes::Writes::default(),
            message,
            errors: Vec::new(),
            picture: picture::Sitting::new(options.picture, options.over, options.first_frame, options.began, outcome),
            plans_next: options.part.as_deref() == Some("route"),
            fixed_now: options.at,
        };
        if options.bench {
            app.state.open_bench();
        }
        app.state.read.part = options.part;
        if let Some(word) = options.ground.as_deref() {
            app.state.plan.ground = GroundShown::named(word).unwrap_or_default();
        }
        app
    }

    /// Whether nothing is being worked on.
    pub fn is_idle(&self) -> bool {
        self.kept.is_some() && !self.keeper.is_busy() && !self.answers.is_busy() && !self.writes.is_busy()
    }

    /// What went wrong stays in view until it was read, whatever is done meanwhile.
    fn keep_errors(&mut self) {
        if let Some(Message { text, .. }) = self.message.take_if(|m| m.bad)
            && !self.errors.contains(&text)
        {
            self.errors.push(text);
            let gone = self.errors.len().saturating_sub(ERRORS);
            self.errors.drain(..gone);
        }
    }

    fn now(&self) -> Timestamp {
        self.fixed_now.unwrap_or_else(Timestamp::now)
    }
}

/// The least room in which all that warns can be shown, points.
const LEAST_ROOM: [f32; 2] = [560.0, 360.0];

/// Holds the magnification where what warns would fall out of a window of this size.
fn hold_zoom(ctx: &egui::Context) {
    let zoom = ctx.zoom_factor();
    let most = most_zoom(ctx.content_rect().size() * zoom);
    if zoom > most + 0.01 {
        ctx.set_zoom_factor(most);
    }
}

/// The most by which everything may be magnified in a window of this size, which it has at a magnification of one.
fn most_zoom(size: egui::Vec2) -> f32 {
    (size.x / LEAST_ROOM[0]).min(size.y / LEAST_ROOM[1]).max(1.0)
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.catch_up(ctx);
        if self.fixed_now.is_none() && self.state.follow(Timestamp::now()) {
            ctx.request_repaint_after(std::time::Duration::from_secs(60));
        }
    }

    fn raw_input_hook(&mut self, _ctx: &egui::Context, input: &mut egui::RawInput) {
        if self.picture.is_sitting() {
            // Wherever the mouse happens to lie, it is no part of the picture.
            input.events.retain(|e| !matches!(e, egui::Event::PointerMoved(_) | egui::Event::MouseMoved(_)));
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        hold_zoom(&ctx);
        let glyphs = Glyphs::of_context(&ctx);
        let now = self.now();
        let undo = self.kept.as_ref().map(|k| (k.undo.clone(), k.redo.clone())).unwrap_or_default();
        self.keep_errors();
        let writing = self.writes.is_busy().then_some("composing the files to be written ...");
        let Self { state, answers, route_base, unplanned, book, beach, zone, kept, message, errors, .. } = self;
        let folder = kept.as_ref().and_then(|k| k.path.as_deref()).and_then(std::path::Path::parent);
        let proposed = kept.as_ref().map_or("", |k| k.proposed.as_str());
        let beach = beach.and_then(|b| book.beaches().get(&b));
        let (route_base, unplanned) = (route_base.as_ref(), unplanned.as_ref());
        let shown = FrameContext { book, beach, zone, answers, route_base, unplanned, now, folder, proposed };
        lists::escape(&ctx);
        keys::global(&ctx, &shown, state, &undo);
        let paper = theme::palette(&ctx).paper;
        let margin = |l, r, t, b| Frame::new().fill(paper).inner_margin(Margin { left: l, right: r, top: t, bottom: b });
        Panel::top("desk").frame(margin(16, 16, 6, 2)).show_separator_line(false).show(ui, |ui| {
            header::show(ui, &shown, state, &undo, errors);
        });
        Panel::bottom("foot").frame(margin(16, 16, 2, 4)).show_separator_line(false).show(ui, |ui| {
            footer::show(
                ui,
                state,
                kept.as_ref().map(|k| (k.path.as_deref(), k.demo, k.read_only)),
                writing.or(message.as_ref().map(|m| m.text.as_str())),
            );
        });
        let (wide, high, low) = (ui.available_width(), ui.available_height(), is_low(&ctx));
        // In a window too narrow for both, the sheet makes way for the drawings until it is asked for, and Section for Plan.
        state.take_turns(wide < ALONE);
        let alone = state.turns && !state.sheet_folded;
        let drawn = wide - if state.sheet_folded { 0.0 } else { 350.0 };
        let room = !alone && drawn > NO_SECTION;
        let section = room && state.section_wanted.unwrap_or(drawn > CROWDED);
        state.section_there = room.then_some(section);
        if alone {
            CentralPanel::default().frame(margin(16, 16, 2, 2)).show(ui, |ui| sheet::show(ui, &shown, state));
        } else {
            if !state.sheet_folded {
                Panel::right("sheet")
                    .resizable(true)
                    .default_size((wide * 0.29).clamp(350.0, 560.0))
                    .size_range(320.0..=(wide * 0.5).max(320.0))
                    .frame(margin(6, 16, 2, 2))
                    .show_separator_line(false)
                    .show(ui, |ui| sheet::show(ui, &shown, state));
            }
            // In a low window Plan comes first; how high Time was elsewhere says nothing there.
            let (name, least, usual, most) = if low {
                (TIME_LOW, 98.0, (0.38 * high).clamp(98.0, 150.0), 0.46 * high)
            } else {
                ("time", 140.0_f32.min(0.5 * high), (high * 0.30).clamp(180.0_f32.min(0.5 * high), 380.0), high * 0.6)
            };
            Panel::bottom(name)
                .resizable(true)
                .default_size(usual)
                .size_range(least..=most.max(least))
                .frame(margin(16, 8, 0, 2))
                .show_separator_line(false)
                .show(ui, |ui| time::show(ui, &shown, state));
            if section {
                let left = ui.available_width();
                Panel::right("section")
                    .resizable(true)
                    .default_size((left * 0.24).clamp(190.0, 460.0))
                    .size_range(170.0..=(left * 0.5).min(left - PLAN_LEAST).max(170.0))
                    .frame(margin(6, 8, 2, 2))
                    .show_separator_line(false)
                    .show(ui, |ui| section::show(ui, &shown, state));
            }
            let right = if section { 6 } else { 8 };
            CentralPanel::default().frame(margin(16, right, 2, 2)).show(ui, |ui| plan::show(ui, &shown, state));
        }
        dialogs::show(&ctx, &shown, state);
        picture::drop_hint(&ctx);
        kept::settle(&ctx, &glyphs);
        self.carry_out();
        let idle = self.is_idle();
        self.picture.after_frame(&ctx, idle);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_is_magnified_as_far_as_what_warns_has_room() {
        assert!(most_zoom(egui::vec2(1440.0, 900.0)) >= 2.5 && most_zoom(egui::vec2(2560.0, 1440.0)) >= 2.5);
        let small = most_zoom(egui::vec2(900.0, 560.0));
        assert!((1.5..1.6).contains(&small), "{small}");
        assert!((most_zoom(egui::vec2(400.0, 300.0)) - 1.0).abs() < 1e-6);
    }
}
