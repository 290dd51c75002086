//! Read: which ground pays and how sure that is, in sentences with their figures.

mod cards;
mod clusters;
mod figures;
mod filters;
mod shares;
mod storms;
mod undug;
mod verdicts;

use egui::{Align2, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::command::Command;
use crate::app::widgets::controls::heading;
use crate::app::widgets::lacking;
use crate::app::widgets::terms::explained;
use crate::app::widgets::theme::{self, palette, soft, strong};
use crate::query::Item;
use crate::query::drawing::ReadDrawing;
use crate::query::{Age, CountsQuestion, CoveredQuestion, KnownGroundQuestion, NotYet, ReadingQuestion};
use crate::reading::{BandReading, COVERAGE, Rate, WeightChoice};
use cards::{is_asked, pick_on, quiet, to_top};
use figures::whole;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    state.read.wanted = true;
    if !shown.has_beach() {
        ui.label("There is no beach to read yet.");
        ui.label(soft(
            ui,
            "Import finds and tracks (Ctrl+I), or make a beach: Beach, above. Then this sheet says which ground pays.",
        ));
        return;
    }
    let read = shown.read().map(|(read, age)| (read.clone(), age));
    if is_asked(state.read.part.as_deref(), "choices") {
        state.read.choosing = true;
    }
    filters::said(ui, shown, state, read.as_ref().map(|(read, _)| &**read));
    if state.read.choosing {
        filters::choices(ui, shown, state);
    }
    lacking::show(ui, shown, state);
    under_way(ui, shown, state, read.as_ref().map(|(_, age)| *age));
    let Some((read, _)) = read else { return };
    let gave = &read.reading().whole;
    if gave.counts.finds == 0 {
        let filtered = !read.read.filter.is_open();
        ui.label(strong(if filtered { "No find fits this choice." } else { "No finds on this beach yet." }));
        ui.label(soft(
            ui,
            if filtered {
                "Widen it, or clear it."
            } else {
                "Import finds and the tracks of your outings (Ctrl+I), or note finds one by one in the Log."
            },
        ));
        undug::show(ui, &read.reading().undug);
        return;
    }
    if ui.input(|i| i.events.iter().any(is_press)) {
        state.read.part = None;
    }
    let part = state.read.part.clone();
    ui.label(whole_beach(&read));
    if let Some(forecasts) = &read.reading().forecasts {
        ui.label(soft(ui, forecasts.sentence()).size(13.0));
    }
    if read.is_whole() {
        verdicts::show(ui, shown, state, &read);
    } else {
        ui.label(soft(ui, "Where finds lie closer than luck would have it is still being sought ..."));
    }
    bands(ui, state, &read);
    storms::show(ui, shown, state, &read);
    let told = !read.reading().scan_runs.is_empty();
    undug::show(ui, &read.reading().undug);
    if read.reading().whole.signals > 0 {
        shares::signals(ui, &read);
    }
    folded(ui, part.as_deref(), "By state of the tide", false, !read.reading().tides.is_empty(), |ui| shares::tides(ui, &read));
    folded(ui, part.as_deref(), "Fresh ground and ground swept again", false, !read.reading().fresh.is_empty(), |ui| {
        shares::fresh(ui, &read)
    });
    folded(ui, part.as_deref(), "Zones", false, !read.reading().zones.is_empty(), |ui| zones(ui, state, &read));
    folded(ui, part.as_deref(), "Clusters", !told || is_asked(Some("cluster "), part.as_deref().unwrap_or("")), true, |ui| {
        clusters::show(ui, shown, state, &read)
    });
    folded(ui, part.as_deref(), "How this was read", false, true, |ui| how(ui, shown, &read));
}

fn is_press(event: &egui::Event) -> bool {
    matches!(event, egui::Event::Key { .. } | egui::Event::PointerButton { .. } | egui::Event::MouseWheel { .. })
}

/// A part of the sheet that is opened by its name.
fn folded(ui: &mut Ui, part: Option<&str>, name: &str, open: bool, there: bool, contents: impl FnOnce(&mut Ui)) {
    if there {
        let asked = is_asked(part, name);
        let shown = egui::CollapsingHeader::new(strong(name).size(15.5))
            .id_salt((name, open))
            .default_open(open || asked)
            .show_unindented(ui, contents);
        if asked {
            to_top(&shown.header_response);
        }
    }
}

/// Work under way, with the way to stop it; what failed, with the way to try again.
fn under_way(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, there: Option<Age>) {
    let (read, counts) = (shown.answers.answer::<ReadingQuestion>(), shown.answers.answer::<CountsQuestion>());
    let (covered, known) = (shown.answers.answer::<CoveredQuestion>(), shown.answers.answer::<KnownGroundQuestion>());
    let failure = read.failure().or(counts.failure()).or(known.failure()).or(covered.failure());
    let is_called_off = read.is_called_off() || counts.is_called_off() || known.is_called_off() || covered.is_called_off();
    if read.not_yet() == Some(&NotYet::Waiting) && failure.is_none() && !is_called_off {
        ui.horizontal(|ui| {
            // The ground covered comes first and takes about a third of the time.
            let share = if covered.fresh().is_none() {
                0.3 * covered.share().unwrap_or(0.0)
            } else {
                0.3 + 0.7 * read.share().or(counts.share()).unwrap_or(0.0)
            };
            ui.add(egui::ProgressBar::new(share as f32).desired_width(160.0).text("reading"));
            if ui.button("Stop").on_hover_text("Call it off; what stands below stays").clicked() {
                state.commands.push(Command::StopReading);
            }
        });
    }
    if there == Some(Age::Old) {
        ui.label(strong("What stands below is from before the last change.").color(palette(ui.ctx()).accent));
    }
    if let Some(why) = failure.or(is_called_off.then_some("it was called off")) {
        ui.label(soft(ui, format!("The last reading gave nothing: {why}.")));
        if ui.button("Read again").clicked() {
            state.commands.push(Command::ReadAgain);
        }
    }
}

/// What the figures rest on: notes of the reading, its settings, and what clusters are.
fn how(ui: &mut Ui, shown: &FrameContext<'_>, read: &ReadDrawing) {
    let reading = &read.reading();
    // What the land warns of stands at the head of the window already.
    let known = shown.setting().map_or(&[][..], |s| s.warnings.as_slice());
    for note in reading.notes.iter().filter(|n| !known.contains(n)) {
        ui.label(egui::RichText::new(note).size(13.5));
    }
    if let Some(r) = &reading.renewal {
        let back =
            r.days.map_or_else(|| "nothing came back".to_owned(), |d| format!("two thirds of that came back in {d:.0} days"));
        let said = format!(
            "Ground swept again is weighed as if a pass took {:.0} % of what lies there and {back}: that fits the places of {} finds of this \
             beach best. It is a weight, not the detector's own reach; ground that stays rich makes it smaller.",
            r.found_per_pass * 100.0,
            r.finds
        );
        ui.label(egui::RichText::new(said).size(13.5));
    }
    let p = &reading.params;
    let said = format!(
        "Scan statistics with the ground covered as the measure of chance, {} replicates, seed {}; verdicts up to a chance of {} by luck, all \
         scans allowed for; nothing that effort misjudged by {:.0} % could bring about. {} Rates carry exact 95 % intervals. {} They follow where one walked as much as where things lie. Intervals hold \
         the truth in {:.0} cases of 100 if finds fall independently.",
        p.replicates,
        p.seed,
        p.worst_p,
        p.effort_error * 100.0,
        searched(&read.read.effort),
        clusters::method(p, &reading.cluster_runs),
        COVERAGE * 100.0
    );
    ui.label(soft(ui, said).size(13.0));
}

/// What counts as ground searched.
fn searched(p: &crate::effort::Params) -> String {
    format!(
        "Searched is where one went slower than {:.1} m/s or turned by more than {:.0}° within {:.0} s, a swing of {:.1} m and the coil's \
         own width to either end; a pause of more than {:.0} s or a jump is a gap.",
        p.walk_m_per_s, p.turn_deg, p.window_s, p.swing_m, p.gap_s
    )
}

/// The whole beach in a sentence.
fn whole_beach(read: &ReadDrawing) -> String {
    let gave = &read.reading().whole;
    let mut said = format!(
        "{} finds, {} heavy, {} light, on {}",
        whole(gave.counts.finds as f64),
        whole(gave.counts.heavy as f64),
        whole(gave.counts.light as f64),
        figures::outings(read.taken().outings.0)
    );
    if let (Some(swept), Some(rate)) = (gave.swept_m2, gave.rate) {
        said += &format!(" and {} m² swept: {}", whole(swept), figures::rate(rate).replace(" swept", ""));
    }
    said
}

fn bands(ui: &mut Ui, state: &mut State, read: &ReadDrawing) {
    let bands = &read.reading().bands;
    if bands.is_empty() {
        return;
    }
    let rated = bands.iter().any(|b| rate_of(b, state.read.weight).is_some());
    let what = match state.read.weight {
        WeightChoice::All => "Finds",
        WeightChoice::Heavy => "Heavy finds",
        WeightChoice::Light => "Light finds",
    };
    heading(ui, &if rated { format!("{what} per 100 m² of rested ground, by band") } else { format!("{what} by band") });
    let most = bands
        .iter()
        .map(|b| if rated { rate_of(b, state.read.weight).map_or(0.0, |r| r.high) } else { density(b, state.read.weight) })
        .fold(0.0, f64::max);
    for (n, band) in bands.iter().enumerate() {
        band_row(ui, state, n, band, rated, most);
    }
    if !rated {
        ui.label(
            soft(ui, "Not enough is known of the ground covered for rates: bars show finds per 100 m² of band, searched or not.")
                .size(13.0),
        );
    }
    let thin: Vec<&BandReading> = bands.iter().filter(|b| rated && b.gave.too_little).collect();
    if !thin.is_empty() {
        let least = read.reading().params.least_swept_m2;
        let short = |b: &BandReading| {
            let swept = b.gave.swept_m2.unwrap_or(0.0);
            format!("another {} m² {}", whole((least - swept).ceil()), figures::band(&b.name))
        };
        let each: Vec<String> = thin.iter().map(|b| short(b)).collect();
        let why = format!("It takes {}: a rate needs {} m² swept.", each.join(", "), whole(least));
        quiet(ui, "Not enough ground covered yet", &why);
    }
}

fn rate_of(band: &BandReading, weight: WeightChoice) -> Option<Rate> {
    match weight {
        WeightChoice::All => band.gave.rate,
        WeightChoice::Heavy => band.gave.rate_heavy,
        WeightChoice::Light => band.gave.rate_light,
    }
}

fn density(band: &BandReading, weight: WeightChoice) -> f64 {
    if band.area_m2 > 0.0 { band.gave.counts.count(weight) as f64 / band.area_m2 * 100.0 } else { 0.0 }
}

/// One band on the common axis: its rate with its interval, or a bar of what was found there.
fn band_row(ui: &mut Ui, state: &mut State, n: usize, band: &BandReading, rated: bool, most: f64) {
    let p = palette(ui.ctx());
    let item = Item::Band(n);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 22.0), Sense::click());
    let count = band.gave.counts.count(state.read.weight);
    let figure = match rate_of(band, state.read.weight) {
        Some(_) if band.gave.too_little => "too little swept".to_owned(),
        Some(r) => format!("{:.2} ({:.2} to {:.2})", r.per_100m2, r.low, r.high),
        None if rated => "none swept".to_owned(),
        None => format!("{count} finds, {:.2}", density(band, state.read.weight)),
    };
    let lit = state.selection.holds(item);
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, lit, format!("{}: {figure} per 100 m²", band.name)));
    if lit || response.hovered() {
        ui.painter().rect_filled(rect, 0.0, if lit { p.picked.gamma_multiply(0.14) } else { p.rule.gamma_multiply(0.4) });
    }
    crate::app::widgets::controls::follow(&response);
    if response.has_focus() {
        ui.painter().rect_stroke(rect, 0.0, Stroke::new(theme::FOCUS, p.accent), egui::StrokeKind::Inside);
    }
    let y = rect.center().y;
    ui.painter().text(pos2(rect.left() + 2.0, y), Align2::LEFT_CENTER, &band.name, theme::label_font(13.5), p.ink);
    ui.painter().text(pos2(rect.right() - 2.0, y), Align2::RIGHT_CENTER, figure, theme::label_font(13.0), p.soft);
    let (left, right) = (rect.left() + 112.0, rect.right() - 128.0);
    let x = |v: f64| left + ((v / most.max(1e-9)) as f32).clamp(0.0, 1.0) * (right - left).max(1.0);
    ui.painter().vline(left, rect.y_range(), Stroke::new(0.8, p.rule));
    match rate_of(band, state.read.weight).filter(|_| rated && !band.gave.too_little) {
        Some(r) => {
            ui.painter().hline(x(r.low)..=x(r.high), y, Stroke::new(2.0, p.accent));
            ui.painter().circle(pos2(x(r.per_100m2), y), 3.6, p.accent, Stroke::new(1.0, p.card));
        }
        None if !rated => {
            let bar = egui::Rect::from_x_y_ranges(left..=x(density(band, state.read.weight)), y - 4.0..=y + 4.0);
            ui.painter().rect_filled(bar, 0.0, p.accent.gamma_multiply(0.55));
        }
        None => {}
    }
    pick_on(state, &response, item);
    if let Some(meant) = explained(&band.name) {
        response.on_hover_text(meant);
    }
}

fn zones(ui: &mut Ui, state: &mut State, read: &ReadDrawing) {
    if read.reading().zones.is_empty() {
        return;
    }
    let least = whole(read.reading().params.least_swept_m2);
    if read.reading().whole.swept_m2.is_some() {
        let said = format!(
            "Finds on 100 m² of rested ground (swept once, not searched lately), with 95 % intervals by outing; a rate needs {least}\u{a0}m² swept."
        );
        ui.label(soft(ui, said).size(13.0));
    }
    for zone in &read.reading().zones {
        let figure = match zone.gave.rate.filter(|_| !zone.gave.too_little) {
            Some(r) => format!("{:.2} ({:.2} to {:.2})", r.per_100m2, r.low, r.high),
            None => {
                let n = zone.gave.counts.finds;
                let found = if n == 1 { "1 find".to_owned() } else { format!("{n} finds") };
                match zone.gave.swept_m2 {
                    Some(swept) => format!("{found}, only {}\u{a0}m² of {least}\u{a0}m² swept", whole(swept)),
                    None => format!("{found} on its {}\u{a0}m², searched or not", whole(zone.area_m2)),
                }
            }
        };
        let item = Item::Zone(zone.uid);
        let lit = state.selection.holds(item);
        let label = ui.add(egui::Button::selectable(lit, format!("{}: {figure}", zone.name)).wrap());
        if label.hovered() {
            state.selection.hovered = Some(item);
        }
        if label.clicked() {
            state.selection.only(item);
        }
    }
}
