//! Two lows side by side, and how the moment to turn back moves when things go otherwise.

use egui::{Align2, ComboBox, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::heading;
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::{self, palette, soft, strong};
use crate::query::drawing::RouteDrawing;
use crate::route::Route;

/// The route beside that of another low.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, routed: &RouteDrawing) {
    let kept = |l: &jiff::Timestamp| state.next_low.kept_route(shown, *l).is_some();
    let others: Vec<_> = state.next_low.planned.keys().copied().filter(kept).filter(|l| Some(*l) != routed.ask().low).collect();
    if others.is_empty() {
        ui.label(soft(ui, "Plan another low from the list below to see the two side by side.").size(13.0));
        return;
    }
    heading(ui, "Beside another low");
    let beside = state.next_low.beside.filter(|l| others.contains(l)).unwrap_or(others[0]);
    let name = |low| shown.time(low, "%a %-d %b, %H:%M");
    let label = ui.label("compared with the low of");
    ComboBox::from_id_salt("beside")
        .selected_text(name(beside))
        .offer(ui, |ui| {
            for low in &others {
                ui.selectable_value(&mut state.next_low.beside, Some(*low), name(*low));
            }
        })
        .response
        .labelled_by(label.id);
    let Some(other) = state.next_low.kept_route(shown, beside) else { return };
    table(ui, shown, (routed.route(), other.route()));
    if ui.button(format!("Turn to the low of {}", name(beside))).clicked() {
        let to = other.ask().clone();
        let view = &mut state.next_low;
        view.beside = routed.ask().low;
        view.low = Some(beside);
        view.block = None;
        // As it was planned, so that nothing has to be sought again.
        (view.params, view.coil_m, view.own_paces) = (to.params, to.coil_m, to.own_paces);
        let before = beside.duration_since(to.after).as_mins();
        (view.when, view.before_min) = (crate::app::state::next_low::When::BeforeLow, before);
        state.go_to(beside);
    }
}

fn table(ui: &mut Ui, shown: &FrameContext<'_>, (a, b): (&Route, &Route)) {
    type Figure = fn(&FrameContext<'_>, &Route) -> String;
    let rows: [(&str, Figure); 12] = [
        ("low water", |s, r| format!("{} {:.1} m", s.time(r.low.time, "%a %H:%M"), r.low.level_m)),
        ("set out", |s, r| s.time(r.depart, "%H:%M")),
        ("first to be left by", |s, r| s.time(r.turn_back, "%H:%M")),
        ("out by", |s, r| s.time(r.back, "%H:%M")),
        ("finds expected", |_, r| format!("about {:.0} ({})", r.finds, r.range_said())),
        ("finds an hour", |_, r| {
            let hours = r.back.duration_since(r.depart).as_secs_f64() / 3600.0;
            format!("{:.1}", r.finds / hours.max(1e-9))
        }),
        ("blocks", |_, r| format!("{} of {}", r.visits.len(), r.ground.len())),
        ("ground", |_, r| format!("{:.0} m²", r.swept_m2)),
        ("walked", |_, r| format!("{:.0} m", r.walked_m)),
        ("longest way out", |_, r| format!("{:.0} min", (r.checked.longest_out_s / 60.0).ceil())),
        ("if 0.3 m higher", |s, r| otherwise(s, r, 1)),
        ("if sand 0.2 m lower", |s, r| otherwise(s, r, 2)),
    ];
    egui::Grid::new("two lows").num_columns(3).striped(true).spacing([14.0, 2.0]).show(ui, |ui| {
        ui.label("");
        ui.label(strong(shown.time(a.low.time, "%-d %b")));
        ui.label(strong(shown.time(b.low.time, "%-d %b")));
        ui.end_row();
        for (name, figure) in rows {
            ui.label(soft(ui, name));
            ui.label(figure(shown, a));
            ui.label(figure(shown, b));
            ui.end_row();
        }
    });
}

fn otherwise(shown: &FrameContext<'_>, route: &Route, n: usize) -> String {
    match route.what_if.get(n) {
        None => "not yet".to_owned(),
        Some(w) => w.turn_back.map_or("no block safe".to_owned(), |t| shown.route_clock(route).hour(t)),
    }
}

/// Bars from the low to the moment to turn back: as planned, and when things go otherwise.
pub(super) fn what_if(ui: &mut Ui, shown: &FrameContext<'_>, route: &Route) {
    if route.what_if.is_empty() {
        return;
    }
    heading(ui, "What if");
    let from = route.depart.min(route.low.time).as_second() as f64;
    let to = route.turn_back.max(route.back).as_second() as f64;
    let row = |ui: &mut Ui, said: &str, turn: Option<jiff::Timestamp>, rest: &str| {
        let p = palette(ui.ctx());
        ui.label(format!("{said}: {rest}"));
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width() - 4.0, 13.0), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Label, true, format!("{said}: {rest}")));
        let x = |t: jiff::Timestamp| {
            rect.left() + rect.width() * (((t.as_second() as f64 - from) / (to - from).max(1.0)) as f32).clamp(0.0, 1.0)
        };
        let painter = ui.painter();
        painter.hline(rect.x_range(), rect.center().y, Stroke::new(1.0, p.rule));
        let planned = x(route.turn_back);
        if let Some(turn) = turn {
            let bar = Rect::from_min_max(pos2(rect.left(), rect.top() + 4.0), pos2(x(turn), rect.bottom() - 4.0));
            painter.rect_filled(bar, 0.0, p.water_edge.gamma_multiply(0.75));
            painter.vline(x(turn), rect.y_range(), Stroke::new(2.5, p.danger));
        }
        painter.vline(planned, rect.y_range(), Stroke::new(1.0, p.ink));
        painter.vline(x(route.low.time), rect.y_range(), Stroke::new(1.0, p.soft));
    };
    let clock = shown.route_clock(route);
    let hour = |t| clock.hour(t);
    row(ui, "as planned", Some(route.turn_back), &format!("first to be left by {}", hour(route.turn_back)));
    for w in &route.what_if {
        let turn = w.turn_back.map_or("no block is safe".to_owned(), |t| {
            let earlier = route.turn_back.duration_since(t).as_mins();
            let moved = if earlier > 0 { format!(", {earlier} min earlier") } else { String::new() };
            format!("first to be left by {}{moved}", hour(t))
        });
        row(ui, &w.said, w.turn_back, &format!("{turn}; {}", w.blocks_said()));
    }
    let p = palette(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width() - 4.0, 14.0), Sense::hover());
    let font = theme::label_font(11.5);
    let at = |t: jiff::Timestamp| rect.left() + rect.width() * (((t.as_second() as f64 - from) / (to - from).max(1.0)) as f32);
    let painter = ui.painter();
    painter.text(rect.left_top(), Align2::LEFT_TOP, hour(route.depart), font.clone(), p.soft);
    let low = pos2(at(route.low.time).clamp(rect.left() + 60.0, rect.right() - 60.0), rect.top());
    painter.text(low, Align2::CENTER_TOP, format!("low {}", hour(route.low.time)), font.clone(), p.soft);
    painter.text(rect.right_top(), Align2::RIGHT_TOP, hour(route.turn_back.max(route.back)), font, p.soft);
}
