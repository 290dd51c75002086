//! A picture of the window, and how long its first frames took.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use egui::{ColorImage, Context, ViewportCommand};

use super::widgets::theme::{self, palette};
use crate::output::{self, Over};

/// What went wrong with the picture, told to whoever opened the window.
#[derive(Debug, Clone, Default)]
pub(crate) struct Outcome(Arc<Mutex<Option<String>>>);

impl Outcome {
    pub(crate) fn take(&self) -> Option<String> {
        self.0.lock().ok()?.take()
    }

    fn set(&self, why: String) {
        if let Ok(mut slot) = self.0.lock() {
            *slot = Some(why);
        }
    }
}

/// Frames to let pass once all work is done, so that everything has found its place.
const SETTLED: u32 = 4;
/// Frames after which a picture is taken even if work goes on.
const PATIENCE: u32 = 4000;

/// The wait for the moment at which the picture is taken or the times are told.
pub(crate) struct Sitting {
    picture: Option<PathBuf>,
    over: Over,
    first_frame: bool,
    began: Instant,
    outcome: Outcome,
    frames: u32,
    idle_frames: u32,
    first_ms: Option<u128>,
    asked: bool,
}

impl Sitting {
    pub(crate) fn new(picture: Option<PathBuf>, over: Over, first_frame: bool, began: Instant, outcome: Outcome) -> Self {
        Self { picture, over, first_frame, began, outcome, frames: 0, idle_frames: 0, first_ms: None, asked: false }
    }

    /// Whether a picture is still to be taken.
    pub(crate) fn is_sitting(&self) -> bool {
        self.picture.is_some()
    }

    /// Ends without a picture of a window that could not show what it was to show.
    pub(crate) fn give_up(&mut self, ctx: &Context, why: &str) {
        if self.picture.take().is_some() {
            self.outcome.set(why.to_owned());
            ctx.send_viewport_cmd(ViewportCommand::Close);
        }
    }

    /// To be called at the end of every frame.
    pub(crate) fn after_frame(&mut self, ctx: &Context, idle: bool) {
        if self.picture.is_none() && !self.first_frame {
            return;
        }
        // Nobody moves the mouse: the frames must come by themselves.
        ctx.request_repaint();
        let ms = self.began.elapsed().as_millis();
        self.first_ms.get_or_insert(ms);
        self.frames += 1;
        self.idle_frames = if idle { self.idle_frames + 1 } else { 0 };
        let settled = self.idle_frames >= SETTLED || self.frames > PATIENCE;
        if self.first_frame && self.idle_frames >= 1 {
            println!("first frame after {} ms, the beach complete after {ms} ms", self.first_ms.unwrap_or(ms));
            self.first_frame = false;
            if self.picture.is_none() {
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
        }
        if let (Some(path), true, false) = (&self.picture, settled, self.asked) {
            self.asked = true;
            let (path, over, outcome, ctx2) = (path.clone(), self.over, self.outcome.clone(), ctx.clone());
            ctx.send_viewport_cmd(ViewportCommand::Screenshot(egui::ScreenshotCallback::new(move |image| {
                if let Err(why) = write_png(&path, &image, over) {
                    outcome.set(format!("{}: {why}", path.display()));
                }
                ctx2.send_viewport_cmd(ViewportCommand::Close);
                ctx2.request_repaint();
            })));
        }
    }
}

/// Writes an image as PNG, eight bits a channel, without alpha.
fn write_png(path: &Path, image: &ColorImage, over: Over) -> Result<(), String> {
    let mut png = Vec::new();
    let [width, height] = image.size.map(|n| u32::try_from(n).unwrap_or(u32::MAX));
    let mut encoder = png::Encoder::new(&mut png, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    encoder.add_text_chunk("Software".to_owned(), "Scourline".to_owned()).map_err(|e| e.to_string())?;
    let mut writer = encoder.write_header().map_err(|e| e.to_string())?;
    let bytes: Vec<u8> = image.pixels.iter().flat_map(|p| [p.r(), p.g(), p.b()]).collect();
    writer.write_image_data(&bytes).and_then(|()| writer.finish()).map_err(|e| e.to_string())?;
    output::write(path, &png, over).map_err(|e| e.to_string())
}

/// Says what will happen while files hang over the window.
pub(crate) fn drop_hint(ctx: &Context) {
    let count = ctx.input(|i| i.raw.hovered_files.len());
    if count == 0 {
        return;
    }
    let p = palette(ctx);
    let painter = ctx.layer_painter(egui::LayerId::new(egui::Order::Foreground, egui::Id::unique("drop hint")));
    let rect = ctx.content_rect();
    painter.rect_filled(rect, 0.0, p.paper.gamma_multiply(0.85));
    painter.rect_stroke(rect.shrink(12.0), 0.0, egui::Stroke::new(2.0, p.accent), egui::StrokeKind::Inside);
    let said = format!("Let go to look at {count} file(s). Nothing is written before you say so.");
    painter.text(rect.center(), egui::Align2::CENTER_CENTER, said, theme::bold_font(20.0), p.ink);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_written_picture_reads_back_with_its_size_and_colours() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("p.png");
        let image = ColorImage::filled([7, 3], egui::Color32::from_rgb(10, 200, 30));
        write_png(&path, &image, Over::Own).unwrap();
        write_png(&path, &image, Over::Own).unwrap();
        let decoder = png::Decoder::new(std::io::BufReader::new(std::fs::File::open(&path).unwrap()));
        let mut reader = decoder.read_info().unwrap();
        let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut bytes).unwrap();
        assert_eq!((info.width, info.height), (7, 3));
        assert_eq!(&bytes[..3], &[10, 200, 30]);
        assert!(write_png(dir.path(), &image, Over::Anything).is_err(), "a folder is no file");
        let photograph = dir.path().join("holiday.png");
        std::fs::write(&photograph, b"\x89PNG of the family").unwrap();
        assert!(write_png(&photograph, &image, Over::Own).is_err(), "a photograph of somebody's is replaced");
    }
}
