//! What the Log lists and where it stands.

use std::path::PathBuf;

use egui::TextureHandle;

use crate::query::Item;
use crate::query::LogFilter;

/// What the Log lists and where it stands.
#[derive(Debug, Clone, Default)]
pub(crate) struct LogView {
    pub(crate) filter: LogFilter,
    /// Brings the row of what was picked elsewhere into view.
    pub(crate) scroll_to_lead: bool,
    pub(crate) lead_seen: Option<Item>,
}

/// The photo on the graphics processor.
#[derive(Default)]
pub(crate) struct PhotoView(pub(crate) Option<(PathBuf, TextureHandle)>);
