//! Log: outings and finds, to be sorted, filtered, picked and mended.

mod draft;
mod draft_fields;
mod draft_finish;
mod draft_more;
mod duty;
mod photo;

use egui::{Align2, Rect, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::draft::DraftForm;
use crate::app::widgets::controls::{choice, warning};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::marks::paint_mark;
use crate::app::widgets::theme::{self, palette, soft};
use crate::bench::undug_words;
use crate::query::{Item, Listed, LogQuestion, SortBy};
use crate::reading::WeightChoice;

/// Height of a row, points.
const ROW: f32 = 23.0;

/// The head, on which what is listed is chosen.
pub(crate) fn head(ui: &mut Ui, state: &mut State) {
    ui.horizontal(|ui| {
        ui.heading("Log");
        ui.add_space(10.0);
        let lists =
            [(Listed::Finds, "finds"), (Listed::Outings, "outings"), (Listed::Signals, "signals"), (Listed::Bench, "bench")];
        for (listed, label) in lists {
            if choice(ui, state.log.filter.listed == listed, label).clicked() {
                state.log.filter.listed = listed;
            }
        }
    });
}

/// On a sheet lower than this a form stands alone until it is done with, points.
const FORM_ALONE: f32 = 640.0;

/// The form, the filters and the list.
pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    if let Some(mut form) = state.draft.take() {
        let alone = ui.available_height() < FORM_ALONE;
        if !draft::show(ui, &mut form, shown, state, alone) && state.draft.is_none() {
            state.draft = Some(form);
        }
        if alone {
            return;
        }
        ui.separator();
    }
    filters(ui, shown, state);
    let answer = shown.answers.answer::<LogQuestion>();
    if let Some(why) = answer.failure() {
        warning(ui, why);
    }
    let rows = answer.newest().map_or(&[][..], |(rows, _)| rows.as_slice());
    summary(ui, shown, state, rows);
    if let Some(Item::Find(uid)) = state.selection.lead
        && let Some(find) = shown.book.finds().get(&uid)
    {
        photo::show(ui, &mut state.photo, find, shown);
    }
    if state.log.filter.listed == Listed::Finds {
        headings(ui, state);
    }
    if state.log.filter.listed == Listed::Signals {
        // What each may be is the bench's word.
        state.bench.wanted = true;
        if let Some(lessons) = shown.lessons().map(|(l, _)| l).filter(|_| !rows.is_empty()) {
            for line in undug_words(lessons.undug()) {
                ui.label(soft(ui, line).size(13.0));
            }
        }
    }
    list(ui, shown, state, rows);
}

fn filters(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let filter = &mut state.log.filter;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(soft(ui, "with"));
        ui.add(egui::TextEdit::singleline(&mut filter.text).desired_width(84.0).hint_text("words")).labelled_by(label.id);
        if filter.listed != Listed::Finds {
            return;
        }
        let said = filter.kind.as_ref().map_or("any kind", |k| k.label()).to_owned();
        let combo = egui::ComboBox::from_id_salt("kind filter").selected_text(said).width(96.0).offer(ui, |ui| {
            ui.selectable_value(&mut filter.kind, None, "any kind");
            for kind in shown.kinds().iter().cloned() {
                let label = kind.label().to_owned();
                ui.selectable_value(&mut filter.kind, Some(kind), label);
            }
        });
        combo.response.accessible_name("Kind listed");
        for weight in WeightChoice::ALL {
            if choice(ui, filter.weight == weight, weight.label()).clicked() {
                filter.weight = weight;
            }
        }
        if let Some(outing) = filter.outing {
            let name = shown.name_of(Item::Outing(outing));
            if ui.button(format!("of {name}  ×")).on_hover_text("Show the finds of every outing again").clicked() {
                filter.outing = None;
            }
        }
    });
}

fn summary(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, rows: &[Item]) {
    let picked = state.selection.len();
    ui.horizontal_wrapped(|ui| {
        let what = match state.log.filter.listed {
            Listed::Finds => "finds",
            Listed::Outings => "outings",
            Listed::Signals => "signals",
            Listed::Bench => "readings",
        };
        ui.label(soft(ui, format!("{} {what} listed, {picked} picked", rows.len())).size(13.0));
        if ui.add_enabled(shown.has_beach(), egui::Button::new("Add find").small()).clicked() {
            state.draft = DraftForm::new_find(shown, state.clock.at);
        }
        if ui.add_enabled(shown.has_beach(), egui::Button::new("Add outing").small()).clicked() {
            state.draft = DraftForm::new_outing(shown, state.clock.at);
        }
        if ui.add_enabled(shown.has_beach(), egui::Button::new("Add signal").small()).clicked() {
            state.draft = DraftForm::new_signal(shown, state.clock.at);
        }
        let way = ui.add_enabled(shown.has_beach(), egui::Button::new("Add way down").small());
        if way.on_hover_text("A way on and off the beach, which routes set out from").clicked() {
            state.draft = DraftForm::new_access(shown);
        }
        let Some(lead) = state.selection.lead else { return };
        if let Item::Signal(signal) = lead
            && ui.small_button("Dig it").on_hover_text("Make it the find it was, with all that was heard (D)").clicked()
        {
            state.dig(shown, signal);
        }
        if matches!(lead, Item::Find(_) | Item::Outing(_) | Item::Signal(_) | Item::Access(_))
            && ui.small_button("Edit").on_hover_text("E").clicked()
        {
            state.edit(shown, lead);
        }
        if matches!(lead, Item::Find(_) | Item::Outing(_) | Item::Signal(_) | Item::Access(_))
            && ui.small_button("Delete").on_hover_text("Can be undone").clicked()
        {
            state.delete_picked(shown);
        }
        match lead {
            Item::Outing(uid) if ui.small_button("its finds").clicked() => {
                state.log.filter.outing = Some(uid);
                state.log.filter.listed = Listed::Finds;
            }
            _ => {}
        }
        let time = match lead {
            Item::Find(uid) => shown.book.finds().get(&uid).and_then(|f| f.time),
            Item::Signal(uid) => shown.book.signals().get(&uid).and_then(|s| s.time),
            Item::Outing(uid) => shown.book.outings().get(&uid).map(|o| o.start),
            _ => None,
        };
        if let Some(time) = time
            && ui.small_button("its time").on_hover_text("Show the water as it stood then").clicked()
        {
            state.go_to(time);
        }
    });
}

/// Where the columns of a list of finds stand, as offsets from its edges.
struct Columns {
    what: f32,
    depth: f32,
    id: f32,
    date: f32,
}

fn columns(rect: Rect) -> Columns {
    Columns { what: rect.left() + 20.0, depth: rect.right() - 138.0, id: rect.right() - 94.0, date: rect.right() - 4.0 }
}

fn headings(ui: &mut Ui, state: &mut State) {
    let width = ui.available_width() - 12.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, 20.0), Sense::hover());
    let p = palette(ui.ctx());
    let c = columns(rect);
    let filter = &mut state.log.filter;
    let spots = [
        (SortBy::What, "what", c.what, Align2::LEFT_CENTER),
        (SortBy::Depth, "cm", c.depth, Align2::RIGHT_CENTER),
        (SortBy::TargetId, "ID", c.id, Align2::RIGHT_CENTER),
        (SortBy::Time, "when", c.date, Align2::RIGHT_CENTER),
    ];
    for (sort, label, x, anchor) in spots {
        let chosen = filter.sort == sort;
        let text = if !chosen {
            label.to_owned()
        } else if filter.backwards {
            format!("{label} ↑")
        } else {
            format!("{label} ↓")
        };
        let font = if chosen { theme::bold_font(13.0) } else { theme::label_font(13.0) };
        let galley = ui.painter().layout_no_wrap(text, font, if chosen { p.ink } else { p.soft });
        let spot = anchor.anchor_size(pos2(x, rect.center().y), galley.size());
        let response = ui.interact(spot.expand(3.0), ui.scope_id().with(("sort", label)), Sense::click());
        response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, format!("Sort by {label}")));
        crate::app::widgets::controls::focus_edge(ui, &response, spot.expand(2.0));
        if response.hovered() {
            ui.painter().hline(spot.x_range(), spot.bottom(), Stroke::new(1.0, p.soft));
        }
        ui.painter().galley(spot.min, galley, p.ink);
        if response.clicked() {
            filter.backwards = chosen && !filter.backwards;
            filter.sort = sort;
        }
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, p.rule));
}

fn list(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, rows: &[Item]) {
    if rows.is_empty() {
        ui.add_space(8.0);
        ui.label(soft(ui, "Nothing here. Import files, add one by hand, or ask for less."));
        return;
    }
    // What was picked in another view comes into sight once, and then leaves the hand free.
    if state.selection.lead != state.log.lead_seen {
        state.log.lead_seen = state.selection.lead;
        state.log.scroll_to_lead = true;
    }
    ui.spacing_mut().item_spacing.y = 0.0;
    let height = ui.available_height();
    let mut area = ScrollArea::vertical().id_salt("log rows").auto_shrink([false, false]);
    // What was just added is on its way into the list.
    if state.log.scroll_to_lead
        && let Some(n) = state.selection.lead.and_then(|l| rows.iter().position(|r| *r == l))
    {
        state.log.scroll_to_lead = false;
        area = area.vertical_scroll_offset((n as f32 * ROW - height / 2.0).max(0.0));
    }
    area.show_rows(ui, ROW, rows.len(), |ui, range| {
        for n in range {
            if let Some(item) = rows.get(n) {
                row(ui, shown, state, rows, n, *item);
            }
        }
    });
}

fn row(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, rows: &[Item], n: usize, item: Item) {
    let p = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width() - 12.0, ROW), Sense::click());
    let picked = state.selection.holds(item);
    response.widget_info(|| WidgetInfo::selected(Role::ListBoxOption, true, picked, shown.name_of(item)));
    if picked {
        ui.painter().rect_filled(rect, 0.0, p.picked.gamma_multiply(0.14));
    } else if response.hovered() || state.selection.hovered == Some(item) {
        ui.painter().rect_filled(rect, 0.0, p.rule.gamma_multiply(0.4));
    }
    if response.has_focus() {
        ui.painter().rect_stroke(rect, 0.0, Stroke::new(theme::FOCUS, p.accent), egui::StrokeKind::Inside);
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), Stroke::new(0.5, p.rule.gamma_multiply(0.6)));
    match item {
        Item::Find(uid) => find_row(ui, shown, rect, uid),
        _ => plain_row(ui, shown, rect, item),
    }
    if response.hovered() {
        state.selection.hovered = Some(item);
    }
    if response.double_clicked() {
        state.edit(shown, item);
    } else if response.clicked() {
        let (shift, command) = ui.input(|i| (i.modifiers.shift, i.modifiers.command));
        let from = state.selection.lead.and_then(|l| rows.iter().position(|r| *r == l));
        match from {
            Some(from) if shift => {
                let (a, b) = (from.min(n), from.max(n));
                state.selection.these(rows[a..=b].iter().copied());
            }
            _ if command => state.selection.toggle(item),
            _ => state.selection.only(item),
        }
        state.log.lead_seen = state.selection.lead;
    }
}

fn find_row(ui: &Ui, shown: &FrameContext<'_>, rect: Rect, uid: crate::book::Uid) {
    let Some(find) = shown.book.finds().get(&uid) else { return };
    let p = palette(ui.ctx());
    let c = columns(rect);
    let y = rect.center().y;
    if let Some(mark) = shown.marks().and_then(|(m, _)| m.get(Item::Find(uid))) {
        paint_mark(ui.painter(), pos2(rect.left() + 8.0, y), mark.shape, 1.0, p, false);
    }
    let cell = |x: f32, text: String| {
        ui.painter().text(pos2(x, y), Align2::RIGHT_CENTER, text, theme::label_font(13.5), p.soft);
    };
    cell(c.depth, find.depth_m.map_or_else(String::new, |d| format!("{:.0}", d * 100.0)));
    cell(c.id, find.target_id.map_or_else(String::new, |t| format!("{t:.0}")));
    cell(c.date, find.time.map_or_else(String::new, |t| shown.time(t, "%-d %b %Y")));
    let what = if find.what.is_empty() { find.kind.label() } else { &find.what };
    let mut job = egui::text::LayoutJob::simple_singleline(what.to_owned(), theme::label_font(14.5), p.ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width((c.depth - 34.0 - c.what).max(20.0));
    let galley = ui.painter().layout_job(job);
    ui.painter().galley(pos2(c.what, y - galley.size().y / 2.0), galley, p.ink);
}

fn plain_row(ui: &Ui, shown: &FrameContext<'_>, rect: Rect, item: Item) {
    let p = palette(ui.ctx());
    let right = match item {
        Item::Signal(uid) => {
            let expected = shown.lessons().and_then(|(l, _)| l.expected_of(uid));
            expected.map_or_else(String::new, |e| format!("{} {:.0} %", e.likeliest, 100.0 * e.chance))
        }
        Item::Outing(uid) => shown.finds_of_outing(uid).unwrap_or_default(),
        _ => String::new(),
    };
    let at = ui.painter().text(
        pos2(rect.right() - 4.0, rect.center().y),
        Align2::RIGHT_CENTER,
        right,
        theme::label_font(13.5),
        p.soft,
    );
    let mut job = egui::text::LayoutJob::simple_singleline(shown.name_of(item), theme::label_font(14.5), p.ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width((at.left() - 12.0 - rect.left() - 4.0).max(20.0));
    let galley = ui.painter().layout_job(job);
    ui.painter().galley(pos2(rect.left() + 4.0, rect.center().y - galley.size().y / 2.0), galley, p.ink);
}
