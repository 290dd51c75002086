//! What the Log lists and where it stands.

use std::path::PathBuf;
use std::sync::Arc;

use egui::TextureHandle;

use super::frame_context::FrameContext;
use super::log_rows::{LogFilter, Rows};
use crate::app::item::Item;

/// What the Log lists and where it stands.
#[derive(Debug, Clone, Default)]
pub(crate) struct LogView {
    pub(crate) filter: LogFilter,
    pub(crate) rows: Rows,
    /// Brings the row of what was picked elsewhere into view.
    pub(crate) scroll_to_lead: bool,
    pub(crate) lead_seen: Option<Item>,
}

impl LogView {
    /// What is listed, in order.
    pub(crate) fn rows(&mut self, shown: &FrameContext<'_>) -> Arc<Vec<Item>> {
        self.rows.listed_by(shown, &self.filter)
    }
}

/// The photo on the graphics processor.
#[derive(Default)]
pub(crate) struct PhotoView(pub(crate) Option<(PathBuf, TextureHandle)>);
