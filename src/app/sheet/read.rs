//! Read: clusters and bands, in sentences with their figures.

use egui::{Align2, DragValue, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::State;
use crate::app::controls::{card, choice, heading};
use crate::app::derived::Read;
use crate::app::shown::{ReadAsk, Shown};
use crate::app::state::{Item, WeightChoice};
use crate::app::theme::{self, palette, soft, strong};
use crate::reading::{BandReading, COVERAGE, Cluster, Of, Rate, Yield};

/// Clusters shown at once, largest first.
const MOST_CARDS: usize = 8;

/// What is asked of a reading and which part of it is shown.
#[derive(Debug, Clone)]
pub(crate) struct ReadView {
    /// A reading is made from the first time the sheet is opened.
    pub(crate) wanted: bool,
    pub(crate) ask: ReadAsk,
    pub(crate) weight: WeightChoice,
    /// The distance on the control, kept while the reading finds its own.
    radius_m: f64,
}

impl Default for ReadView {
    fn default() -> Self {
        Self { wanted: false, ask: ReadAsk { radius_m: None, least: 6 }, weight: WeightChoice::All, radius_m: 8.0 }
    }
}

/// The reading's word for a choice of weight.
pub(crate) fn of(weight: WeightChoice) -> Of {
    match weight {
        WeightChoice::All => Of::All,
        WeightChoice::Heavy => Of::Heavy,
        WeightChoice::Light => Of::Light,
    }
}

pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    state.read.wanted = true;
    asks(ui, state);
    let slot = &shown.derived.read;
    if slot.is_busy() {
        ui.horizontal(|ui| {
            let share = slot.share().unwrap_or(0.0) as f32;
            ui.add(egui::ProgressBar::new(share).desired_width(180.0).text("reading"));
            if ui.button("Stop").clicked() {
                state.commands.push(crate::app::Command::StopReading);
            }
        });
    }
    if let Some(why) = slot.failure() {
        ui.label(soft(ui, format!("The last reading gave nothing: {why}.")));
        if ui.button("Read again").clicked() {
            state.commands.push(crate::app::Command::ReadAgain);
        }
    }
    let Some(read) = slot.value().cloned() else {
        if !shown.has_beach() {
            ui.label("There is no beach to read yet.");
        }
        return;
    };
    let stale = slot.is_busy();
    if stale {
        ui.label(strong("What stands below is from before the last change.").color(palette(ui.ctx()).accent));
    }
    ui.label(whole(&read.reading.whole, shown));
    for note in &read.reading.notes {
        ui.label(soft(ui, format!("· {note}")).size(13.0));
    }
    super::verdicts::show(ui, shown, state, &read);
    bands(ui, state, &read);
    super::undug::show(ui, &read.reading.undug);
    clusters(ui, shown, state, &read);
    zones(ui, state, &read);
    ui.add_space(8.0);
    ui.label(
        soft(
            ui,
            format!(
                "Clusters: DBSCAN over the finds' positions. They follow where one walked as much as where things lie. Intervals hold the \
                 truth in {:.0} cases of 100 if finds fall independently.",
                COVERAGE * 100.0
            ),
        )
        .size(13.0),
    );
}

fn asks(ui: &mut Ui, state: &mut State) {
    let view = &mut state.read;
    ui.horizontal_wrapped(|ui| {
        ui.label(soft(ui, "finds"));
        for weight in WeightChoice::ALL {
            if choice(ui, view.weight == weight, weight.label()).clicked() {
                view.weight = weight;
                state.selection.drop_reading();
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(soft(ui, "clustered within"));
        if choice(ui, view.ask.radius_m.is_none(), "a fitting distance")
            .on_hover_text("Taken from how densely the finds lie")
            .clicked()
        {
            view.ask.radius_m = None;
        }
        let drag = DragValue::new(&mut view.radius_m).range(1.0..=200.0).speed(0.2).suffix(" m").max_decimals(1);
        let set = ui.add(drag).on_hover_text("Finds this near to each other belong together");
        if set.changed() || (view.ask.radius_m.is_none() && set.clicked()) {
            view.ask.radius_m = Some(view.radius_m);
        }
        let least = ui.label(soft(ui, "at least"));
        ui.add(DragValue::new(&mut view.ask.least).range(2..=200).speed(0.1))
            .labelled_by(least.id)
            .on_hover_text("Finds that make a core");
    });
}

/// The whole beach in a sentence.
fn whole(gave: &Yield, shown: &Shown<'_>) -> String {
    let outings = shown.beach.map_or(0, |b| shown.book.outings().values().filter(|o| o.beach == b.uid).count());
    let swept = gave.swept_m2.map_or_else(String::new, |m| format!(" · {m:.0} m² swept"));
    format!("{} finds, {} heavy, {} light · {outings} outings{swept}", gave.counts.finds, gave.counts.heavy, gave.counts.light)
}

fn clusters(ui: &mut Ui, shown: &Shown<'_>, state: &mut State, read: &Read) {
    let wanted = of(state.read.weight);
    let run = read.reading.cluster_runs.iter().find(|r| r.of == wanted);
    let p = palette(ui.ctx());
    let Some(run) = run else {
        ui.add_space(4.0);
        card(ui, p.soft, false, "Not enough finds for clusters", |ui| {
            ui.label(strong("Not enough finds for clusters yet"));
            let have = read.reading.whole.counts.count(wanted);
            ui.label(format!(
                "{have} finds of this choice; at least {} are needed before a pattern is worth naming.",
                read.reading.params.least_finds
            ));
        });
        return;
    };
    heading(ui, "Clusters");
    ui.label(
        soft(
            ui,
            format!(
                "{} clusters of {} finds within {:.1} m of each other; {} lie scattered",
                run.clusters, run.finds, run.distance_m, run.scattered
            ),
        )
        .size(13.0),
    );
    let mine = read.reading.clusters.iter().enumerate().filter(|(_, c)| c.of == wanted);
    for (n, cluster) in mine.clone().take(MOST_CARDS) {
        let item = Item::Cluster(n);
        let lit = state.selection.holds(item);
        let name = read.clusters.get(n).map_or_else(String::new, |o| o.label.clone());
        let response = card(ui, p.cluster, lit, &name, |ui| cluster_lines(ui, shown, cluster, &name));
        pick_on(state, &response, item);
        ui.add_space(1.0);
    }
    let more = mine.count().saturating_sub(MOST_CARDS);
    if more > 0 {
        ui.label(soft(ui, format!("and {more} smaller ones, outlined in Plan when pointed at")).size(13.0));
    }
}

/// A name at the beginning of a line.
pub(super) fn capital(name: &str) -> String {
    let mut chars = name.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// Points at what a card tells of while it is pointed at, picks it when it is pressed.
pub(super) fn pick_on(state: &mut State, response: &egui::Response, item: Item) {
    if response.hovered() {
        state.selection.hovered = Some(item);
    }
    if response.clicked() {
        if state.selection.holds(item) { state.selection.clear() } else { state.selection.only(item) }
    }
}

fn cluster_lines(ui: &mut Ui, shown: &Shown<'_>, c: &Cluster, name: &str) {
    let p = palette(ui.ctx());
    ui.label(strong(format!("{}   {} finds", capital(name), c.counts.finds)).color(p.cluster));
    let mut place = format!("{:.0} m²", c.area_m2);
    if let Some(s) = c.shore {
        place += &format!(" at {:.0} m along, {:.0} m across", s.along_m, s.across_m);
    }
    if let (Some(band), Some(share)) = (&c.band, c.band_share) {
        let band = band.split_once(" to ").map_or_else(|| band.clone(), |(high, low)| format!("between {high} and {low}"));
        place += &format!(", {:.0} % {band}", share * 100.0);
    }
    ui.label(place);
    if let Some(l) = c.level {
        let offset = shown.beach.and_then(|b| b.datum_offset_m);
        let (shift, datum) = offset.map_or((0.0, "land datum"), |o| (o, "tide datum"));
        ui.label(format!("sand {:.1} to {:.1} m above {datum}", l.low_m + shift, l.high_m + shift));
    }
    let kinds: Vec<String> = c.kinds.iter().take(4).map(|k| format!("{} {}", k.kind, k.finds)).collect();
    ui.label(format!("{} heavy, {} light: {}", c.counts.heavy, c.counts.light, kinds.join(", ")));
    if let (Some(first), Some(last)) = (c.first, c.last) {
        let outings = if c.outings == 1 { "one outing".to_owned() } else { format!("{} outings", c.outings) };
        ui.label(
            soft(ui, format!("on {outings}, {} to {}", shown.time(first, "%-d %b %Y"), shown.time(last, "%-d %b %Y"))).size(13.0),
        );
    }
}

fn bands(ui: &mut Ui, state: &mut State, read: &Read) {
    let bands = &read.reading.bands;
    if bands.is_empty() {
        return;
    }
    let rated = bands.iter().any(|b| rate_of(b, state.read.weight).is_some());
    let what = match state.read.weight {
        WeightChoice::All => "Finds",
        WeightChoice::Heavy => "Heavy finds",
        WeightChoice::Light => "Light finds",
    };
    heading(ui, &if rated { format!("{what} per 100 m² swept, by band") } else { format!("{what} by band") });
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
    for band in bands.iter().filter(|b| rated && b.gave.too_little) {
        card(ui, palette(ui.ctx()).soft, false, &format!("{}: not enough ground covered yet", band.name), |ui| {
            ui.label(strong(format!("{}   not enough ground covered yet", band.name)));
            if let Some(surer) = &band.gave.surer {
                ui.label(surer);
            }
        });
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
    if band.area_m2 > 0.0 { band.gave.counts.count(of(weight)) as f64 / band.area_m2 * 100.0 } else { 0.0 }
}

/// One band on the common axis: its rate with its interval, or a bar of what was found there.
fn band_row(ui: &mut Ui, state: &mut State, n: usize, band: &BandReading, rated: bool, most: f64) {
    let p = palette(ui.ctx());
    let item = Item::Band(n);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 22.0), Sense::click());
    let count = band.gave.counts.count(of(state.read.weight));
    let figure = match rate_of(band, state.read.weight) {
        Some(_) if band.gave.too_little => "too little swept".to_owned(),
        Some(r) => format!("{:.2} ({:.2} to {:.2})", r.rate_per_100m2, r.low, r.high),
        None => format!("{count} finds, {:.2}", density(band, state.read.weight)),
    };
    let lit = state.selection.holds(item);
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, lit, format!("{}: {figure} per 100 m²", band.name)));
    if lit || response.hovered() {
        ui.painter().rect_filled(rect, 0.0, if lit { p.picked.gamma_multiply(0.14) } else { p.rule.gamma_multiply(0.4) });
    }
    if response.has_focus() {
        ui.painter().rect_stroke(rect, 0.0, Stroke::new(1.0, p.accent), egui::StrokeKind::Inside);
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
            ui.painter().circle(pos2(x(r.rate_per_100m2), y), 3.6, p.accent, Stroke::new(1.0, p.card));
        }
        None if !rated => {
            let bar = egui::Rect::from_x_y_ranges(left..=x(density(band, state.read.weight)), y - 4.0..=y + 4.0);
            ui.painter().rect_filled(bar, 0.0, p.accent.gamma_multiply(0.55));
        }
        None => {}
    }
    pick_on(state, &response, item);
}

fn zones(ui: &mut Ui, state: &mut State, read: &Read) {
    if read.reading.zones.is_empty() {
        return;
    }
    heading(ui, "Zones");
    for zone in &read.reading.zones {
        let figure = match zone.gave.rate.filter(|_| !zone.gave.too_little) {
            Some(r) => format!("{:.2} ({:.2} to {:.2}) per 100 m² swept", r.rate_per_100m2, r.low, r.high),
            None => format!("{} finds ({} heavy) on {:.0} m²", zone.gave.counts.finds, zone.gave.counts.heavy, zone.area_m2),
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
