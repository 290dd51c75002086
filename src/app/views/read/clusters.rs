//! Clusters of a reading as cards, and how they were made.

use egui::Ui;

use super::cards::{capital, is_asked, pick_on, surer, title, to_top};
use super::figures::rate;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::card;
use crate::app::widgets::theme::{palette, soft, strong};
use crate::query::Item;
use crate::query::drawing::ReadDrawing;
use crate::reading::{Cluster, ClusterBy, ClusterRun, Params, WeightChoice};
use crate::tide::whole;

/// Clusters shown at once, largest first.
const MOST_CARDS: usize = 8;

/// The clusters of the weight that is shown, largest first.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, read: &ReadDrawing) {
    let wanted = state.read.weight;
    let run = read.reading().cluster_runs.iter().find(|r| r.of == wanted);
    let p = palette(ui.ctx());
    let Some(run) = run else {
        ui.add_space(4.0);
        card(ui, p.soft, false, "Not enough finds for clusters", |ui| {
            ui.label(strong("Not enough finds for clusters yet"));
            let have = read.reading().whole.counts.count(wanted);
            ui.label(format!(
                "{have} finds of this choice; at least {} are needed before a pattern is worth naming.",
                read.reading().params.least_finds
            ));
            let lacking = read.reading().to_tell.iter().find(|t| t.of == wanted && t.needed.is_none());
            if let Some(lacking) = lacking {
                surer(ui, &lacking.surer);
            }
        });
        return;
    };
    ui.label(
        soft(
            ui,
            match run.by {
                ClusterBy::Dbscan => format!(
                    "{} clusters of {} finds within {:.1} m of each other; {} lie scattered",
                    run.clusters, run.finds, run.distance_m, run.scattered
                ),
                ClusterBy::Hdbscan => format!(
                    "{} clusters of {} finds that lie denser than what is round them, the longest step within one {:.1} m; {} \
                     lie scattered",
                    run.clusters, run.finds, run.distance_m, run.scattered
                ),
            },
        )
        .size(13.0),
    );
    let mine = read.reading().clusters.iter().enumerate().filter(|(_, c)| c.of == wanted);
    for (n, cluster) in mine.clone().take(MOST_CARDS) {
        let item = Item::Cluster(n);
        let lit = state.selection.holds(item);
        let name = read.clusters.get(n).map_or_else(String::new, |o| o.label.clone());
        let response = card(ui, p.cluster, lit, &name, |ui| cluster_lines(ui, shown, cluster, &name, lit));
        if is_asked(state.read.part.as_deref(), &name) {
            to_top(&response);
            state.selection.only(item);
        }
        pick_on(state, &response, item);
        ui.add_space(1.0);
    }
    let more = mine.count().saturating_sub(MOST_CARDS);
    if more > 0 {
        ui.label(soft(ui, format!("and {more} smaller ones, outlined in Plan when pointed at")).size(13.0));
    }
}

fn cluster_lines(ui: &mut Ui, shown: &FrameContext<'_>, c: &Cluster, name: &str, open: bool) {
    let p = palette(ui.ctx());
    title(ui, p.cluster, &format!("{}   {} finds", capital(name), c.counts.finds), open);
    let mut place = format!("{:.0} m²", c.area_m2);
    if let Some(s) = c.shore {
        place += &format!(" at {:.0} m along, {:.0} m across", whole(s.along_m), whole(s.across_m));
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
    if !open {
        return;
    }
    if let Some(r) = c.rate {
        ui.label(soft(ui, format!("within its outline {}: drawn round its finds, rather too many", rate(r))).size(13.0));
    }
    surer(ui, &c.surer);
}

/// How clusters were made, with the settings that were used.
pub(super) fn method(p: &Params, runs: &[ClusterRun]) -> String {
    match p.cluster_by {
        ClusterBy::Dbscan => {
            let of = |of: WeightChoice| match of {
                WeightChoice::All => "all finds",
                WeightChoice::Heavy => "heavy ones",
                WeightChoice::Light => "light ones",
            };
            let within: Vec<String> = match p.cluster_distance_m {
                Some(m) => vec![format!("{m:.1} m as set")],
                None => runs.iter().map(|r| format!("{:.1} m for {}", r.distance_m, of(r.of))).collect(),
            };
            let fitted = if p.cluster_distance_m.is_none() { ", fitted to how densely they lie," } else { "" };
            let within = if within.is_empty() { "a fitting distance".to_owned() } else { within.join(", ") };
            format!("Clusters are DBSCAN over positions: {} finds within {within}{fitted} make a core.", p.cluster_points)
        }
        ClusterBy::Hdbscan => format!(
            "Clusters are HDBSCAN* over positions: at least {} finds that lie denser than what is round them, at no set distance.",
            p.cluster_points
        ),
    }
}
