//! What was agreed with a permission's holder. Its ground comes from a file.

use egui::{TextEdit, Ui};

use crate::app::state::permission_form::PermissionForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::{chord, entered, stay};
use crate::app::widgets::theme::soft;
use crate::book::Edit;

/// Fields that can be refused, with words by which a refusal names each.
const NAMED: [(&str, &str); 9] = [
    ("First day", "first day "),
    ("Last day", "last day "),
    ("Last day", "permission ends on "),
    ("Hours", "hours "),
    ("No deeper than, cm", "greatest depth "),
    ("Holder's share, %", "holder's share "),
    ("When to report", " is no time to report"),
    ("Only older than", "year that finds must be older than "),
    ("Places by kind", "rule for places "),
];

/// The field that a refusal is of, where it is of one.
fn of(why: &str) -> Option<&'static str> {
    if why.starts_with("precision ") || why.starts_with("coarsening grid ") {
        return Some("Places told");
    }
    NAMED.iter().find(|(_, word)| why.starts_with(word) || (word.starts_with(' ') && why.contains(word))).map(|(name, _)| *name)
}

/// The change that was typed, or what is wrong with it.
fn tried(form: &PermissionForm, shown: &FrameContext<'_>) -> Result<Edit, String> {
    let edit = Edit::put(form.typed.read(&form.was).map_err(|e| e.to_string())?);
    shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
    Ok(edit)
}

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut PermissionForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(640.0));
    ui.heading("Permission");
    let mut enter = chord(ui);
    // A reason goes with the values that it was of.
    if form.refusal.is_some() && tried(form, shown).err() != form.refusal {
        form.refusal = None;
    }
    let refusal = form.refusal.clone();
    let at = refusal.as_deref().and_then(of);
    let field = |ui: &mut Ui, label: &str, text: &mut String, hint: &str| {
        field(ui, label, text, hint, refusal.as_deref().filter(|_| at == Some(label)))
    };
    super::scrolled(ui, 84.0, |ui| {
        egui::Grid::new("permission").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
            let t = &mut form.typed;
            enter |= field(ui, "Permission name", &mut t.name, "");
            enter |= field(ui, "Holder", &mut t.holder, "who gave it");
            enter |= field(ui, "Contact", &mut t.contact, "how the holder is reached");
            enter |= field(ui, "Papers", &mut t.papers, "what there is and where it lies");
            enter |= field(ui, "First day", &mut t.from, "such as 2026-04-01");
            enter |= field(ui, "Last day", &mut t.to, "expired after that");
            enter |= field(ui, "Hours", &mut t.hours, "such as 07:00-20:30");
            enter |= field(ui, "Terms", &mut t.terms, "");
            enter |= field(ui, "No deeper than, cm", &mut t.deepest_cm, "");
            enter |= field(ui, "Holder's share, %", &mut t.share_percent, "of a find's value");
            enter |= field(ui, "To be reported", &mut t.report, "");
            enter |=
                field(ui, "When to report", &mut t.due, "at once, after each outing, once a month, once a year, when it ends");
            enter |= field(ui, "Only older than", &mut t.older_than, "a year; what is of unknown age is told too");
            enter |= field(ui, "Places told", &mut t.precision, "exact, or squares of 10, 100, 1000 ... m");
            enter |= field(ui, "Places by kind", &mut t.places, "such as: coins 100 m; jewellery withheld");
        });
        ui.label(soft(ui, "Its ground is drawn in a file: import GeoJSON with the role permission.").size(13.0));
    });
    if let Some(why) = refusal.as_deref().filter(|_| at.is_none()) {
        warning(ui, why);
    }
    ui.add_space(6.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Keep").on_hover_text("Enter").clicked() || enter {
            match tried(form, shown) {
                Ok(edit) => {
                    state.apply(edit, "change permission");
                    done = true;
                }
                Err(why) => {
                    form.refusal = Some(why);
                    stay(ui);
                }
            }
        }
        done |= ui.button("Leave").clicked();
    });
    done
}

/// One line, under it why it was refused; whether Enter was pressed in it.
fn field(ui: &mut Ui, label: &str, text: &mut String, hint: &str, refused: Option<&str>) -> bool {
    let label = ui.label(label);
    let field = ui.vertical(|ui| {
        let field = ui.horizontal_wrapped(|ui| {
            let field = ui.add(TextEdit::singleline(text).desired_width(260.0)).labelled_by(label.id);
            ui.label(soft(ui, hint));
            field
        });
        if let Some(why) = refused {
            warning(ui, why);
        }
        field.inner
    });
    ui.end_row();
    entered(ui, &field.inner)
}

#[cfg(test)]
mod tests {
    use geo::{LineString, MultiPolygon, Polygon};

    use super::*;
    use crate::book::{Permission, PermissionText, Uid};

    /// By what the reader of the text itself says.
    #[test]
    fn a_refusal_stands_at_the_field_that_it_is_of() {
        let ring = LineString::from(vec![(0.0, 0.0), (0.01, 0.0), (0.01, 0.01), (0.0, 0.0)]);
        let area = MultiPolygon(vec![Polygon::new(ring, Vec::new())]);
        let was = Permission { coarsen_m: Some(100.0), ..Permission::new(Uid::fresh(), "north end", area) };
        let refused = |change: fn(&mut PermissionText)| {
            let mut typed = PermissionText::of_permission(&was);
            change(&mut typed);
            of(&typed.read(&was).unwrap_err().to_string())
        };
        assert_eq!(refused(|t| t.from = "spring".into()), Some("First day"));
        assert_eq!(refused(|t| t.to = "autumn".into()), Some("Last day"));
        assert_eq!(refused(|t| (t.from, t.to) = ("2026-04-02".into(), "2026-04-01".into())), Some("Last day"));
        assert_eq!(refused(|t| t.hours = "early".into()), Some("Hours"));
        assert_eq!(refused(|t| t.deepest_cm = "deep".into()), Some("No deeper than, cm"));
        assert_eq!(refused(|t| t.share_percent = "half".into()), Some("Holder's share, %"));
        assert_eq!(refused(|t| t.due = "sometime".into()), Some("When to report"));
        assert_eq!(refused(|t| t.older_than = "old".into()), Some("Only older than"));
        assert_eq!(refused(|t| t.precision = "roughly".into()), Some("Places told"));
        assert_eq!(refused(|t| t.places = "coins somewhere".into()), Some("Places by kind"));
    }
}
