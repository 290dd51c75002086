use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::widgets::controls::heading;
use crate::app::widgets::theme::soft;

/// The usual cautions (common practice, no published source), and whose word counts.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>) {
    ui.set_max_width(620.0_f32.min(ui.available_width()));
    ui.heading("Cautions");
    for (title, text) in [
        (
            "Tide",
            "Levels here are predictions from harmonic constants or your own table. Wind, pressure and swell move the real water by \
             decimetres. Check the official tables, know your way off, leave before the flood reaches it, and never count on the last minute.",
        ),
        ("Cut-off", "Headlands, groynes and channels close behind you long before the sand where you stand is wet."),
        (
            "Mud and quicksand",
            "Stay off soft mud. If you sink, lean back, spread your weight, and call the coastguard or emergency number.",
        ),
        ("Cliffs", "Keep away from the foot and the edge, above all after rain, frost and storms."),
        ("Ordnance", crate::book::ORDNANCE_CAUTION),
        ("Sharps and chemicals", "Gloves; a hand trowel rather than fingers; needles and flares are left and reported."),
        ("Lightning", "A detector shaft on an open beach is the wrong thing to hold. Leave at the first thunder."),
        (
            "Permission",
            "The landowner, local rules and the law on finds decide; a permission noted in a book is only your note of it.",
        ),
    ] {
        heading(ui, title);
        ui.label(text);
    }
    if let Some(water) = shown.water() {
        heading(ui, "This beach's tide");
        ui.label(water.caution());
    }
    heading(ui, "Sources");
    ui.label(soft(ui, crate::tide::ATTRIBUTION).size(12.5));
    ui.label(soft(ui, "Type: Source Sans 3 and Source Serif 4, Adobe, SIL Open Font License 1.1.").size(12.5));
    ui.add_space(8.0);
}
