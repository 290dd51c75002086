//! Marks of a drawing as things of their own for screen readers: those in view, up to a limit, each with its name and
//! where it stands, and each can be pressed. While nobody listens nothing is done.

use egui::accesskit::{Action, Node, Rect as Bounds};
use egui::{Rect, Response, Role, Ui};

use crate::app::state::{FrameContext, Selection};
use crate::query::Item;

/// As many as these have a name of their own; more would only be waded through, and the list on the sheet has them all.
pub(crate) const MOST: usize = 60;

/// A mark in view.
pub(crate) struct Named {
    pub(crate) item: Item,
    pub(crate) rect: Rect,
}

/// Names the marks of a drawing, whose view is called so: the first of `marks`, and those that are picked among them
/// by their plain names. What is pressed by a screen reader is picked.
pub(crate) fn show<M>(
    ui: &Ui,
    canvas: &Response,
    view: &str,
    shown: &FrameContext<'_>,
    selection: &mut Selection,
    marks: impl FnOnce() -> M,
) where
    M: IntoIterator<Item = Named>,
{
    let ctx = ui.ctx();
    if ctx.accesskit_node_builder(canvas.id, |_| ()).is_none() {
        return;
    }
    let marks: Vec<Named> = marks().into_iter().take(MOST + 1).collect();
    let named = marks.len().min(MOST);
    let more = if marks.len() > MOST { ", the first of more" } else { "" };
    let steps = "Page Down and Page Up step from one to the next";
    let said = match named {
        0 => "nothing is marked in view".to_owned(),
        n => format!("{n} marked in view have names{more}; {steps}"),
    };
    ctx.accesskit_node_builder(canvas.id, |node| node.set_description(said));
    for mark in &marks[..named] {
        let picked = selection.holds(mark.item);
        let id = canvas.id.with(("named mark", mark.item));
        if ui.input(|i| i.has_accesskit_action_request(id, Action::Click)) {
            selection.only(mark.item);
        }
        let name = shown.name_of(mark.item);
        ctx.accesskit_node_builder(id, |node| {
            describe(node, mark.rect, if picked { name } else { format!("{name}, in {view}") });
            node.set_selected(picked);
        });
    }
}

fn describe(node: &mut Node, rect: Rect, name: String) {
    node.set_role(Role::Mark);
    node.set_label(name);
    node.add_action(Action::Click);
    let Rect { min, max } = rect;
    node.set_bounds(Bounds { x0: min.x.into(), y0: min.y.into(), x1: max.x.into(), y1: max.y.into() });
}
