//! What a signal may be, what a cut-off costs, and two set-ups side by side.

use egui::{ComboBox, DragValue, Grid, Role, Sense, TextEdit, Ui, WidgetInfo, vec2};

use super::ground;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::bench_forms::Asking;
use crate::app::widgets::controls::{heading, one_of, warning};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::{palette, soft, strong};
use crate::bench::{
    Learned, MayBe, class_words, comparison_words, cut_off_at, cut_off_words, depth_words, dug, grounds_words, leaving_words,
    read_ids, setup_label,
};
use crate::book::{Ground, Setup, Signal, Steadiness, Uid};
use crate::query::{Age, ComparisonQuestion, Item, OneSignal, PaceQuestion, SignalQuestion};

/// Answers shown, likeliest first.
const TOLD: usize = 6;

/// Asks what typed numbers or the picked signal may be; returns how it sounded, with the set-up it was heard with.
pub(super) fn show(
    ui: &mut Ui,
    asking: &mut Asking,
    in_hand: Uid,
    shown: &FrameContext<'_>,
    state: &mut State,
) -> Option<OneSignal> {
    heading(ui, "What may it be?");
    if let Some(Item::Signal(uid)) = state.selection.lead
        && let Some(signal) = shown.book.signals().get(&uid)
    {
        return picked(ui, asking, signal, shown, state);
    }
    Grid::new("bench asking").num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| {
        let name = ui.label("Heard");
        ui.horizontal(|ui| {
            ui.add(TextEdit::singleline(&mut asking.ids).desired_width(110.0)).labelled_by(name.id);
            let name = ui.label("at gauge step");
            ui.add(TextEdit::singleline(&mut asking.step).desired_width(36.0)).labelled_by(name.id);
        });
        ui.end_row();
        one_of(ui, "It was", &mut asking.steadiness, Steadiness::ALL, |s| s.label());
        let none = ground::as_set_up(shown.book.setups().get(&in_hand));
        ground::choose(ui, "ground asked of", &mut asking.ground, &none, 190.0);
        ui.end_row();
    });
    ui.label(soft(ui, "Or pick a signal, in Plan or in the Log.").size(12.5));
    let typed = read_ids(&asking.ids);
    let step = asking.step.trim();
    let gauge_step = if step.is_empty() { Ok(None) } else { step.parse().map(Some) };
    let target_ids = match (typed, &gauge_step) {
        (Err(why), _) => {
            warning(ui, &why.to_string());
            return None;
        }
        (_, Err(_)) => {
            warning(ui, &format!("gauge step: \"{step}\" is not a whole number"));
            return None;
        }
        (Ok(ids), _) => ids,
    };
    let learned = shown.lessons()?.0.learned.get(&in_hand)?;
    which_ground(ui, learned, asking.ground);
    if target_ids.is_empty() {
        return None;
    }
    let (steadiness, gauge_step, ground) = (asking.steadiness, gauge_step.ok().flatten(), asking.ground);
    let signal = OneSignal { setup: in_hand, target_ids, steadiness, gauge_step, ground };
    tell(ui, &signal, shown);
    Some(signal)
}

/// A signal of the book, heard with the set-up of its outing, whichever is in hand.
fn picked(ui: &mut Ui, asking: &mut Asking, signal: &Signal, shown: &FrameContext<'_>, state: &mut State) -> Option<OneSignal> {
    ui.label(strong(shown.name_of(Item::Signal(signal.uid))));
    let setup = signal.outing.and_then(|o| shown.book.outings().get(&o)).and_then(|o| o.setup);
    if let Some(setup) = setup {
        ui.horizontal(|ui| {
            let none = ground::as_set_up(shown.book.setups().get(&setup));
            ground::choose(ui, "ground of the signal", &mut asking.ground, &none, 190.0);
        });
    }
    let heard = setup.map(|setup| OneSignal::of_book(signal, setup, asking.ground));
    let learned = setup.and_then(|s| shown.lessons()?.0.learned.get(&s));
    match (&heard, learned) {
        (None, _) => warning(ui, "Its outing names no set-up, so its numbers compare with none."),
        (Some(heard), Some(learned)) => {
            ui.label(soft(ui, format!("heard with {}", learned.name)).size(13.0));
            which_ground(ui, learned, asking.ground);
            tell(ui, heard, shown);
        }
        (Some(_), None) => {
            ui.label(soft(ui, "Nothing has been read with the set-up of its outing."));
        }
    }
    ui.horizontal_wrapped(|ui| {
        let name = ui.label("It was dug and is a");
        let combo = ComboBox::from_id_salt("proved").selected_text(asking.proved.label()).width(150.0).offer(ui, |ui| {
            for kind in shown.kinds().iter().cloned() {
                let label = kind.label().to_owned();
                ui.selectable_value(&mut asking.proved, kind, label);
            }
        });
        combo.response.labelled_by(name.id);
        if ui.button("Make it a find").on_hover_text("Its numbers then teach the bench; can be undone").clicked() {
            let kind = asking.proved.clone();
            state.apply(dug(signal, kind.label(), kind.clone(), None), "dig signal");
            state.selection.clear();
        }
        if ui.button("Let go").on_hover_text("Escape").clicked() {
            state.selection.clear();
        }
    });
    heard.filter(|_| learned.is_some())
}

/// Asks for the ground where it would tell something and nobody says it.
fn which_ground(ui: &mut Ui, learned: &Learned, chosen: Option<Ground>) {
    if let Some(said) = grounds_words(learned).filter(|_| chosen.is_none() && learned.evidence.ground.is_none()) {
        ui.label(soft(ui, said).size(13.0));
    }
}

fn tell(ui: &mut Ui, signal: &OneSignal, shown: &FrameContext<'_>) {
    let answer = shown.answers.answer::<SignalQuestion>();
    if let Some(why) = answer.failure() {
        warning(ui, &format!("{why}."));
        return;
    }
    let is_asked = shown.answers.asked::<SignalQuestion>().is_some_and(|q| q.signal == *signal);
    if !is_asked && shown.lessons().is_some_and(|(_, age)| age == Age::Fresh) {
        // It is asked before the next frame.
        ui.ctx().request_repaint();
    }
    let Some((told, age)) = answer.newest().filter(|_| answer.question().is_some_and(|q| q.signal == *signal)) else {
        ui.label(soft(ui, "asking ..."));
        return;
    };
    if age == Age::Old {
        ui.label(soft(ui, "as it was before the last change; asking anew ..."));
    }
    let (told, cost) = &**told;
    // What is asked first stands first: of what class, how deep, what it costs to leave it.
    ui.label(strong(class_words(told)));
    if let Some(depth) = &told.depth {
        ui.label(format!("the gauge says {}", depth_words(depth)));
    }
    ui.label(soft(ui, leaving_words(cost)).size(13.0));
    ranked(ui, told);
}

fn ranked(ui: &mut Ui, told: &MayBe) {
    let p = palette(ui.ctx());
    for answer in told.told(TOLD) {
        let percent = 100.0 * answer.chance;
        let said = format!("{percent:.0} % {} ({})", answer.label, answer.words);
        let row = ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            let (bar, response) = ui.allocate_exact_size(vec2(64.0, 14.0), Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, format!("{percent:.0} %")));
            let mut full = bar;
            full.set_width(bar.width() * answer.chance as f32);
            ui.painter().rect_filled(bar, 0.0, p.rule.gamma_multiply(0.5));
            ui.painter().rect_filled(full, 0.0, p.accent);
            // It wraps: a long one would widen the sheet.
            ui.add(egui::Label::new(said).wrap());
        });
        row.response.on_hover_text(format!("{:.0} % by your finds alone, before anything is heard", 100.0 * answer.before));
    }
    ui.label(soft(ui, format!("weighed by {} finds", told.finds)).size(13.0));
    for note in &told.notes {
        ui.label(soft(ui, format!("· {note}")).size(13.0));
    }
}

/// What a cut-off would have cost, and another set-up on the same targets; returns that set-up.
pub(super) fn prices(ui: &mut Ui, asking: &mut Asking, setup: &Setup, shown: &FrameContext<'_>) -> Option<Uid> {
    heading(ui, "A cut-off");
    ui.horizontal_wrapped(|ui| {
        let name = ui.label("Leaving everything under ID");
        ui.add(DragValue::new(&mut asking.under).range(-1000.0..=10_000.0).speed(0.3).max_decimals(0)).labelled_by(name.id);
    });
    if let Some(beach) = shown.beach {
        let pace = shown.newest::<PaceQuestion>().and_then(|(pace, _)| *pace);
        for line in cut_off_words(&cut_off_at(shown.book, beach.uid, setup.uid, asking.under, pace)) {
            ui.label(line);
        }
    }
    heading(ui, "Against another set-up");
    let others = || shown.book.setups().values().filter(|s| s.uid != setup.uid);
    asking.against = asking.against.filter(|a| others().any(|s| s.uid == *a));
    ui.horizontal_wrapped(|ui| {
        let name = ui.label("Compare with");
        let chosen = asking.against.and_then(|a| shown.book.setups().get(&a));
        let said = chosen.map_or_else(|| "none".to_owned(), |s| setup_label(shown.book.setups(), s));
        let combo = ComboBox::from_id_salt("against").selected_text(said).width(200.0).offer(ui, |ui| {
            ui.selectable_value(&mut asking.against, None, "none");
            for other in others() {
                ui.selectable_value(&mut asking.against, Some(other.uid), setup_label(shown.book.setups(), other));
            }
        });
        combo.response.labelled_by(name.id);
    });
    let against = asking.against?;
    let answer = shown.answers.answer::<ComparisonQuestion>();
    let told = answer.newest().filter(|_| answer.question().is_some_and(|q| (q.first, q.second) == (setup.uid, against)));
    if let Some(why) = answer.failure() {
        warning(ui, &format!("{why}."));
    } else if let Some((told, age)) = told {
        if age == Age::Old {
            ui.label(soft(ui, "as it was before the last change; comparing anew ..."));
        }
        super::heard::show(ui, told);
        for line in comparison_words(told) {
            ui.label(line);
        }
    } else {
        ui.label(soft(ui, "comparing ..."));
    }
    Some(against)
}
