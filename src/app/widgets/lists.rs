//! Lists of which one thing is chosen, by the pointer and the keyboard alike: Enter chooses and closes, Escape closes the
//! list and nothing under it, and so does Tab when it leads away.

use egui::{ComboBox, Context, Id, InnerResponse, Key, Modifiers, Popup, Ui};

/// The field of the list that is open, and whether it or the list had the keyboard.
type Open = (Id, bool);

fn open_list() -> Id {
    Id::unique("the list that is open")
}

/// A field with a list to choose from.
pub(crate) trait Offer {
    /// Shows the field, and while it is open its list.
    fn offer<R>(self, ui: &mut Ui, contents: impl FnOnce(&mut Ui) -> R) -> InnerResponse<Option<R>>;
}

impl Offer for ComboBox<'_> {
    fn offer<R>(self, ui: &mut Ui, contents: impl FnOnce(&mut Ui) -> R) -> InnerResponse<Option<R>> {
        let (mut in_list, mut chosen) = (false, false);
        let shown = self.show_ui(ui, |ui| {
            let inside = contents(ui);
            let held = ui.memory(|m| m.focused()).and_then(|id| ui.ctx().read_response(id));
            in_list = held.is_some_and(|held| held.layer_id == ui.layer_id());
            // By itself a list closes on a click of the pointer alone. When Enter opened it the field has the keyboard.
            chosen = in_list && ui.input(|i| i.key_pressed(Key::Enter) || i.key_pressed(Key::Space));
            if chosen {
                ui.close();
            }
            inside
        });
        follow(ui.ctx(), shown.response.id, shown.inner.is_some(), in_list, chosen);
        shown
    }
}

/// Follows the keyboard into a list and out of it.
fn follow(ctx: &Context, field: Id, open: bool, in_list: bool, chosen: bool) {
    let was = ctx.data(|d| d.get_temp::<Open>(open_list())).filter(|(of, _)| *of == field);
    if !open || chosen {
        if was.is_some() {
            ctx.data_mut(|d| d.remove::<Open>(open_list()));
        }
        if chosen {
            ctx.memory_mut(|m| m.request_focus(field));
        }
        return;
    }
    let held = ctx.memory(|m| m.focused());
    let elsewhere = held.is_some_and(|id| id != field && ctx.read_response(id).is_some()) && !in_list;
    let had = was.is_some_and(|(_, had)| had);
    if elsewhere && had {
        Popup::close_all(ctx);
    }
    let has = in_list || held == Some(field) || (had && !elsewhere);
    ctx.data_mut(|d| d.insert_temp::<Open>(open_list(), (field, has)));
}

/// Escape closes the list or menu that is open, and nothing under it; the keyboard goes back to the field of the list.
pub(crate) fn escape(ctx: &Context) {
    if !Popup::is_any_open(ctx) || !ctx.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Escape)) {
        return;
    }
    Popup::close_all(ctx);
    if let Some((field, _)) = ctx.data(|d| d.get_temp::<Open>(open_list())) {
        ctx.memory_mut(|m| m.request_focus(field));
    }
}
