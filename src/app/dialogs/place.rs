//! A beach made at a place, without a file.

use egui::{Id, TextEdit, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::place_form::PlaceForm;
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::{entered, stay};
use crate::app::widgets::theme::soft;
use crate::book::Edit;
use crate::earth::LonLat;
use crate::exchange::place_typed;
use crate::query::beach_at;
use crate::tide::Catalogue;

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut PlaceForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(600.0));
    ui.heading("A beach at a place");
    let label = ui.label("Its name");
    let width = ui.available_width().min(420.0);
    let edit = TextEdit::singleline(&mut form.name).id(Id::unique("new beach name")).desired_width(width);
    let name = ui.add(edit).labelled_by(label.id);
    let label = ui.label("Its place, or the name of a tide station near it");
    let edit = TextEdit::singleline(&mut form.place).id(Id::unique("new beach place")).desired_width(width);
    let place = ui.add(edit.hint_text("50.123, -5.456")).labelled_by(label.id);
    if std::mem::take(&mut form.focus) {
        place.request_focus();
    }
    let enter = entered(ui, &place) || entered(ui, &name);
    let found = where_is(form.place.trim());
    match &found {
        Ok((at, None)) => drop(ui.label(soft(ui, format!("at {at}")).size(13.0))),
        Ok((at, Some(station))) => drop(ui.label(soft(ui, format!("at the tide station {station}, {at}")).size(13.0))),
        Err(why) if !form.place.trim().is_empty() => warning(ui, &format!("{why}.")),
        Err(_) => {
            let said = "Latitude and longitude, with minutes and seconds or without; a reference of the British or Irish grid, MGRS or UTM; \
                        or a port.";
            ui.label(soft(ui, said).size(13.0));
        }
    }
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    ui.add_space(6.0);
    let mut done = false;
    ui.horizontal(|ui| {
        let known = shown.book.beach_named(&form.name).is_some();
        let ready = found.is_ok() && !form.name.trim().is_empty() && !known && !form.sent;
        let why = if known { "The book has a beach of that name already" } else { "It needs a name and a place" };
        let button = ui.add_enabled(ready, egui::Button::new("Make the beach")).on_disabled_hover_text(why);
        if let (true, Ok((at, _))) = (button.clicked() || (enter && ready), &found) {
            let (beach, _) = beach_at(form.name.trim().to_owned(), *at);
            form.sent = true;
            form.refusal = None;
            state.apply(Edit::put(beach), "make a beach");
        }
        if enter && !ready {
            stay(ui);
        }
        done |= ui.button("Leave").clicked();
        if known {
            ui.label(soft(ui, why));
        }
    });
    done
}

/// The place that was typed, and the station it is of where that was named.
fn where_is(text: &str) -> Result<(LonLat, Option<String>), String> {
    let typed = place_typed(text);
    if typed.is_err()
        && text.chars().filter(|c| c.is_alphabetic()).count() >= 3
        && let Some(station) = Catalogue::shipped().search(text).into_iter().next()
    {
        return Ok((station.at, Some(station.name.clone())));
    }
    typed.map(|at| (at, None))
}
