//! Where a beach's water level comes from: station, own table, gauge record, secondary port; and the weather.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::beach_form::TideForm;
use crate::app::widgets::controls::{choice, heading, switch, warning};
use crate::app::widgets::form::entered;
use crate::app::widgets::theme::soft;
use crate::app::widgets::typed::number;
use crate::app::widgets::world::{self, Pins};
use crate::book::{Beach, Book, PortDifferences, SecondaryChoice, StandardPort, TideChoice, Weather};
use crate::earth::distance_m;
use crate::sea::USUAL_RUN_UP_M;
use crate::shore::station_caution;
use crate::tide::{Catalogue, Station, Surge};

impl TideForm {
    /// The source and weather as typed, or what is wrong with them.
    pub(crate) fn finish(&self, chosen: &TideChoice) -> Result<(TideChoice, Weather), String> {
        let weather = Weather {
            surge_m: number("surge", &self.surge)?,
            surge_sd_m: number("uncertainty of the surge", &self.surge_sd)?,
            pressure_hpa: number("air pressure", &self.pressure)?,
            run_up_m: number("run-up of the waves", &self.run_up)?,
        };
        if !self.as_port {
            return Ok((chosen.clone(), weather));
        }
        let standard = match chosen {
            TideChoice::Station(id) => StandardPort::Station(id.clone()),
            TideChoice::Table(uid) => StandardPort::Table(*uid),
            _ => return Err("choose a station or a tide table as the standard port of the differences".to_owned()),
        };
        let differences = PortDifferences::from_typed(&self.differences).map_err(|e| e.to_string())?;
        let standard_levels_m = four_levels(&self.levels)?;
        let port = SecondaryChoice { name: self.port.trim().to_owned(), standard, differences, standard_levels_m };
        Ok((TideChoice::Secondary(port), weather))
    }
}

/// MHWS, MHWN, MLWN, MLWS as typed; nothing typed is none.
fn four_levels(text: &str) -> Result<Option<[f64; 4]>, String> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let wrong = || format!("levels of the standard port: \"{}\" are not four figures such as 5.6, 4.4, 2.0, 0.8", text.trim());
    let figures: Result<Vec<f64>, String> = text.split([',', ';']).map(|t| number("level", t)?.ok_or_else(wrong)).collect();
    figures.map_err(|_| wrong())?.try_into().map(Some).map_err(|_| wrong())
}

/// One line that says which source a choice is.
pub(crate) fn source_line(book: &Book, tide: &TideChoice) -> String {
    let table = |uid| book.tide_tables().get(uid).map_or_else(|| "no longer there".to_owned(), |t| t.name.clone());
    let station = |id: &String| Catalogue::shipped().get(id).map_or_else(|| id.clone(), station_line);
    match tide {
        TideChoice::None => "no source chosen".to_owned(),
        TideChoice::Station(id) => format!("tide station: {}", station(id)),
        TideChoice::Table(uid) => format!("own tide table: {}", table(uid)),
        TideChoice::Gauge(uid) => format!(
            "own gauge record: {}",
            book.gauges().get(uid).map_or_else(|| "no longer there".to_owned(), |g| g.name.clone())
        ),
        TideChoice::Secondary(port) => {
            let standard = match &port.standard {
                StandardPort::Station(id) => station(id),
                StandardPort::Table(uid) => table(uid),
            };
            format!("secondary port: {} on {standard}", port.name)
        }
    }
}

/// Shows the source and the weather; whether Enter was pressed in one of the fields.
pub(crate) fn show(ui: &mut Ui, draft: &mut Beach, form: &mut TideForm, shown: &FrameContext<'_>) -> bool {
    heading(ui, "Tide");
    ui.label(if form.as_port {
        format!("secondary port, its standard port being the {}", source_line(shown.book, &draft.tide))
    } else {
        source_line(shown.book, &draft.tide)
    });
    own_sources(ui, draft, shown.book);
    let searched = stations(ui, draft, form);
    outline(ui, draft);
    let port = port(ui, form);
    let weather = weather(ui, form);
    searched || port || weather
}

/// Tables and gauge records of the book that belong to the beach.
fn own_sources(ui: &mut Ui, draft: &mut Beach, book: &Book) {
    let tables = book.tide_tables().values().filter(|t| t.beach == draft.uid).map(|t| TideChoice::Table(t.uid));
    let gauges = book.gauges().values().filter(|g| g.beach == draft.uid).map(|g| TideChoice::Gauge(g.uid));
    let own: Vec<TideChoice> = tables.chain(gauges).collect();
    for this in own {
        if choice(ui, draft.tide == this, &source_line(book, &this)).clicked() {
            draft.tide = this;
        }
    }
}

/// The nearest stations, or those whose name or place was typed; whether Enter was pressed where nothing was typed, as
/// else it takes the first that is offered.
fn stations(ui: &mut Ui, draft: &mut Beach, form: &mut TideForm) -> bool {
    let label = ui.label(soft(ui, "Stations near the beach, or by name:"));
    let edit = egui::TextEdit::singleline(&mut form.search).desired_width(260.0).hint_text("name of a place");
    let field = ui.add(edit).labelled_by(label.id);
    let enter = entered(ui, &field);
    let typed = !form.search.trim().is_empty();
    let origin = draft.origin;
    let offered: Vec<(&Station, f64)> = if form.search.trim().len() < 3 {
        Catalogue::shipped().nearest(origin, 6)
    } else {
        let found = Catalogue::shipped().search(&form.search).into_iter().take(8);
        found.map(|s| (s, distance_m(s.at, origin))).collect()
    };
    if offered.is_empty() {
        ui.label(format!("No station has \"{}\" in its name or place.", form.search.trim()));
    }
    for (n, (station, away_m)) in offered.into_iter().enumerate() {
        let this = TideChoice::Station(station.id.clone());
        let line = format!("{} · {:.0} km", station_line(station), away_m / 1000.0);
        if choice(ui, draft.tide == this, &line).clicked() || (enter && typed && n == 0) {
            draft.tide = this;
            if draft.time_zone == "UTC" {
                draft.time_zone.clone_from(&station.time_zone);
            }
        }
    }
    enter && !typed
}

/// The world as the stations trace it, with the chosen one and the beach, and how far apart they are.
fn outline(ui: &mut Ui, draft: &Beach) {
    let TideChoice::Station(id) = &draft.tide else { return };
    let Some(station) = Catalogue::shipped().get(id) else { return };
    let away_m = distance_m(station.at, draft.origin);
    let said = format!("{}, {:.0} km from {}", station.name, away_m / 1000.0, draft.name);
    world::show(ui, &Pins { station: station.at, beach: draft.origin, said: &said });
    ui.label(soft(ui, format!("{said}. Dots are the other stations: they trace the coasts.")).size(13.0));
    match station_caution(draft, station) {
        // That an invented beach borrows its tide is no danger.
        Some(said) if draft.invented => drop(ui.label(soft(ui, said).size(13.0))),
        Some(said) => warning(ui, &said),
        None => {}
    }
}

fn port(ui: &mut Ui, form: &mut TideForm) -> bool {
    switch(ui, &mut form.as_port, "Secondary port: differences on this source");
    let mut enter = false;
    if !form.as_port {
        return enter;
    }
    egui::Grid::new("port").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
        enter |= line(ui, "Name of the port", &mut form.port, "");
        enter |= line(ui, "Differences", &mut form.differences, "-0010, 0005, -0020, -0015, 0.3, 0.2, 0.0, -0.1");
        enter |= line(ui, "Levels of the standard port", &mut form.levels, "needed with a tide table");
    });
    ui.label(
        soft(
            ui,
            "Differences as tide tables print them: high water times at springs and neaps, low water times at springs and neaps \
             (hhmm or minutes), heights at MHWS, MHWN, MLWN, MLWS (metres). Levels: MHWS, MHWN, MLWN, MLWS.",
        )
        .size(13.0),
    );
    match PortDifferences::from_typed(&form.differences) {
        Ok(read) => {
            let later = |min: f64| format!("{:.0} min {}", min.abs(), if min < 0.0 { "earlier" } else { "later" });
            ui.label(format!(
                "High water {} at springs, {} at neaps; low water {} and {}.",
                later(read.high_time_min.0),
                later(read.high_time_min.1),
                later(read.low_time_min.0),
                later(read.low_time_min.1)
            ));
        }
        Err(why) if !form.differences.trim().is_empty() => warning(ui, &format!("{why}.")),
        Err(_) => {}
    }
    enter
}

fn weather(ui: &mut Ui, form: &mut TideForm) -> bool {
    heading(ui, "Weather and waves");
    let mut enter = false;
    egui::Grid::new("weather").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
        enter |= line(ui, "Surge, m", &mut form.surge, "observed or forecast, above the prediction");
        enter |= line(ui, "Uncertainty of the surge, m", &mut form.surge_sd, "one standard deviation");
        enter |= line(ui, "Air pressure, hPa", &mut form.pressure, "1 cm of water for each hPa; used without a surge");
        enter |= line(ui, "Waves run up, m", &mut form.run_up, "height above still water that the swash reaches");
    });
    ui.label(
        soft(
            ui,
            format!(
                "Dry windows keep clear of the surge, twice its uncertainty and the run-up. Nothing given: {:.1} m of uncertainty. \
                 Run-up is worked out for the sea of each hour, {USUAL_RUN_UP_M:.1} m at least; what you give is kept where it is more. \
                 A negative surge takes nothing from what is kept. It stays until you change it.",
                Surge::UNKNOWN.sd_m
            ),
        )
        .size(13.0),
    );
    enter
}

/// One line; whether Enter was pressed in it.
fn line(ui: &mut Ui, label: &str, text: &mut String, hint: &str) -> bool {
    let label = ui.label(label);
    let field = ui.horizontal_wrapped(|ui| {
        let field = ui.add(egui::TextEdit::singleline(text).desired_width(200.0)).labelled_by(label.id);
        ui.label(soft(ui, hint).size(13.0));
        field
    });
    ui.end_row();
    entered(ui, &field.inner)
}

fn station_line(station: &Station) -> String {
    format!("{} ({}, {})", station.name, station.publisher.name(), station.chart_datum.code())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn a_secondary_port_goes_into_the_form_and_comes_out_the_same() {
        let port = SecondaryChoice {
            name: "Invented Haven".into(),
            standard: StandardPort::Station("noaa/9447130".into()),
            differences: "-0010,5,-20,-15,0.3,0.2,0,-0.1".parse().unwrap(),
            standard_levels_m: Some([5.6, 4.4, 2.0, 0.8]),
        };
        let weather = Weather { surge_m: Some(-0.25), surge_sd_m: None, pressure_hpa: Some(1020.5), run_up_m: Some(0.75) };
        let mut draft = Beach {
            tide: TideChoice::Secondary(port.clone()),
            weather,
            ..Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap())
        };
        let mut form = TideForm::from_draft(&mut draft);
        assert_eq!(draft.tide, TideChoice::Station("noaa/9447130".into()));
        assert_eq!(form.finish(&draft.tide), Ok((TideChoice::Secondary(port), weather)));
        assert!(form.finish(&TideChoice::None).unwrap_err().contains("standard port"));
        form.levels = "5.6, 4.4".into();
        assert!(form.finish(&draft.tide).unwrap_err().contains("four figures"));
        form.as_port = false;
        assert_eq!(form.finish(&draft.tide).unwrap().0, draft.tide);
    }
}
