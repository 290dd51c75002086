use std::path::PathBuf;

use egui::TextureHandle;

/// The photo on the graphics processor.
#[derive(Default)]
pub(crate) struct PhotoView(pub(crate) Option<(PathBuf, TextureHandle)>);
