//! A find's photo: a PNG or JPEG file beside the book, read off the drawing thread and made small.

use std::io::{BufReader, Cursor};
use std::path::{Component, Path, PathBuf};

use egui::ColorImage;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::query::{Question, Refusal, Work};

/// Longest side kept, pixels: more than the sheet ever shows.
const SIDE: usize = 900;
/// Largest file read, bytes.
const MOST_BYTES: u64 = 64 << 20;
/// Longest side of a file that is decoded at all, pixels.
const MOST_SIDE: usize = 16_384;
/// Most pixels of a file that is decoded at all.
const MOST_PIXELS: usize = 120_000_000;
/// A photo made ready to be drawn.
pub(crate) struct Photo {
    pub(crate) image: ColorImage,
}

/// Where a find's photo should lie: a bare file name in the folder of the book. Anything that leads elsewhere is
/// refused, as books are handed on.
pub(crate) fn path_of(folder: Option<&Path>, name: &str) -> Result<PathBuf, String> {
    let name = name.trim();
    let mut parts = Path::new(name).components();
    let bare = matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None)) && !name.contains(['/', '\\', ':']);
    if !bare {
        return Err(format!("\"{name}\" is no file name; put the photo beside the book and write its name alone"));
    }
    let folder = folder.ok_or("this book is not in a file yet, so its photos lie nowhere; save it first")?;
    Ok(folder.join(name))
}

/// The photo in a file.
#[derive(Clone, PartialEq)]
pub(crate) struct PhotoQuestion {
    pub(crate) path: PathBuf,
}

impl Question for PhotoQuestion {
    type Answer = Photo;
    const NAME: &'static str = "the photo";

    fn work_out(&self, _work: &Work<Photo>) -> Result<Photo, Refusal> {
        read(&self.path).map_err(Refusal::from)
    }
}

/// Reads a PNG or JPEG file, whichever it is by its first bytes, turned as its EXIF says and made small.
pub(crate) fn read(path: &Path) -> Result<Photo, String> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let size = std::fs::metadata(path).map_err(|_| format!("there is no file {name} beside the book"))?.len();
    if size > MOST_BYTES {
        return Err(format!("{name} is larger than {} MB", MOST_BYTES >> 20));
    }
    let bytes = std::fs::read(path).map_err(|e| format!("{name} cannot be read: {e}"))?;
    let raw = match bytes.as_slice() {
        [0x89, b'P', b'N', b'G', ..] => png(&bytes),
        [0xFF, 0xD8, ..] => jpeg(&bytes),
        _ => Err("is neither PNG nor JPEG".to_owned()),
    };
    let raw = raw.map_err(|why| format!("{name} {why}"))?;
    Ok(Photo { image: raw.small() })
}

/// Red, green and blue, row by row, with how EXIF says it is turned.
struct Raw {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
    orientation: u16,
}

fn sound(width: usize, height: usize) -> Result<(), String> {
    if width == 0 || height == 0 || width > MOST_SIDE || height > MOST_SIDE || width * height > MOST_PIXELS {
        return Err(format!("is {width} × {height} pixels; at most {} million can be shown", MOST_PIXELS / 1_000_000));
    }
    Ok(())
}

fn jpeg(bytes: &[u8]) -> Result<Raw, String> {
    let broken = |e: zune_jpeg::errors::DecodeErrors| format!("is a broken JPEG: {e}");
    let options =
        DecoderOptions::default().set_max_width(MOST_SIDE).set_max_height(MOST_SIDE).jpeg_set_out_colorspace(ColorSpace::RGB);
    let mut decoder = JpegDecoder::new_with_options(Cursor::new(bytes), options);
    decoder.decode_headers().map_err(broken)?;
    let (width, height) = decoder.dimensions().ok_or("is a broken JPEG: no size")?;
    sound(width, height)?;
    let rgb = decoder.decode().map_err(broken)?;
    let orientation = decoder.exif().and_then(|e| orientation(e)).unwrap_or(1);
    if rgb.len() < width * height * 3 {
        return Err("is a broken JPEG: it ends early".to_owned());
    }
    Ok(Raw { width, height, rgb, orientation })
}

fn png(bytes: &[u8]) -> Result<Raw, String> {
    let broken = |e: png::DecodingError| format!("is a broken PNG: {e}");
    let mut decoder = png::Decoder::new(BufReader::new(Cursor::new(bytes)));
    decoder.set_transformations(png::Transformations::EXPAND | png::Transformations::STRIP_16);
    let mut reader = decoder.read_info().map_err(broken)?;
    let (width, height) = (reader.info().width as usize, reader.info().height as usize);
    sound(width, height)?;
    let mut data = vec![0; reader.output_buffer_size().ok_or("is too large")?];
    let info = reader.next_frame(&mut data).map_err(broken)?;
    let step = info.color_type.samples();
    let rgb = data
        .chunks_exact(step)
        .take(width * height)
        .flat_map(|p| match p {
            [grey] | [grey, _] => [*grey; 3],
            [r, g, b, ..] => [*r, *g, *b],
            [] => [0; 3],
        })
        .collect();
    Ok(Raw { width, height, rgb, orientation: 1 })
}

/// The orientation tag, 0x0112, of the first directory of an EXIF block (TIFF 6.0, CIPA DC-008).
fn orientation(exif: &[u8]) -> Option<u16> {
    let exif = exif.strip_prefix(b"Exif\0\0").unwrap_or(exif);
    let big = match exif.get(..2)? {
        b"MM" => true,
        b"II" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let b: [u8; 2] = exif.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if big { u16::from_be_bytes(b) } else { u16::from_le_bytes(b) })
    };
    let long = |at: usize| {
        let b: [u8; 4] = exif.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if big { u32::from_be_bytes(b) } else { u32::from_le_bytes(b) } as usize)
    };
    let first = long(4)?;
    let count = usize::from(short(first)?);
    let entry = (0..count).filter_map(|n| first.checked_add(2 + 12 * n)).find(|at| short(*at) == Some(0x0112))?;
    short(entry + 8).filter(|o| (1..=8).contains(o))
}

impl Raw {
    /// Averaged down to at most [`SIDE`] and turned upright.
    fn small(&self) -> ColorImage {
        let by = self.width.max(self.height).div_ceil(SIDE).max(1);
        let (w, h) = (self.width.div_ceil(by), self.height.div_ceil(by));
        let turned = self.orientation >= 5;
        let (width, height) = if turned { (h, w) } else { (w, h) };
        let mut pixels = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                // The stored pixel that stands here, by the tag's table.
                let (sx, sy) = match self.orientation {
                    2 => (w - 1 - x, y),
                    3 => (w - 1 - x, h - 1 - y),
                    4 => (x, h - 1 - y),
                    5 => (y, x),
                    6 => (y, h - 1 - x),
                    7 => (w - 1 - y, h - 1 - x),
                    8 => (w - 1 - y, x),
                    _ => (x, y),
                };
                pixels.push(self.mean(sx * by, sy * by, by));
            }
        }
        ColorImage::new([width, height], pixels)
    }

    fn mean(&self, x: usize, y: usize, by: usize) -> egui::Color32 {
        let (mut sum, mut count) = ([0_usize; 3], 0);
        for row in y..(y + by).min(self.height) {
            for column in x..(x + by).min(self.width) {
                if let Some(p) = self.rgb.get(3 * (row * self.width + column)..).and_then(|p| p.first_chunk::<3>()) {
                    (0..3).for_each(|n| sum[n] += usize::from(p[n]));
                    count += 1;
                }
            }
        }
        let [r, g, b] = sum.map(|s| (s / count.max(1)) as u8);
        egui::Color32::from_rgb(r, g, b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_is_a_bare_name_beside_the_book() {
        let folder = Some(Path::new("/books"));
        assert_eq!(path_of(folder, " ring.jpg "), Ok(PathBuf::from("/books/ring.jpg")));
        for bad in ["../ring.jpg", "/etc/passwd", "a/b.png", "..", ".", "", "c:\\ring.jpg", "c:ring.jpg"] {
            assert!(path_of(folder, bad).unwrap_err().contains("is no file name"), "{bad}");
        }
        assert!(path_of(None, "ring.jpg").unwrap_err().contains("save it first"));
    }

    #[test]
    fn what_is_no_picture_is_said_to_be_none() {
        let dir = tempfile::tempdir().unwrap();
        let file = |name: &str, bytes: &[u8]| {
            let path = dir.path().join(name);
            std::fs::write(&path, bytes).unwrap();
            read(&path).map(|p| p.image.size).unwrap_err()
        };
        assert!(file("a.jpg", b"hello").contains("neither PNG nor JPEG"));
        assert!(file("b.jpg", &[0xFF, 0xD8, 0xFF, 0xE0, 0, 4, 1, 2]).contains("broken JPEG"));
        assert!(file("c.png", &[0x89, b'P', b'N', b'G', 13, 10, 26, 10, 0]).contains("broken PNG"));
        assert!(file("empty.png", b"").contains("neither"));
        assert!(read(&dir.path().join("gone.png")).map(|p| p.image.size).unwrap_err().contains("no file gone.png"));
    }

    #[test]
    fn a_png_is_read_and_a_turned_one_stands_upright() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("two.png");
        let mut encoder = png::Encoder::new(std::fs::File::create(&path).unwrap(), 2, 1);
        encoder.set_color(png::ColorType::Rgb);
        encoder.write_header().unwrap().write_image_data(&[255, 0, 0, 0, 0, 255]).unwrap();
        let image = read(&path).unwrap().image;
        let (red, blue) = (egui::Color32::from_rgb(255, 0, 0), egui::Color32::from_rgb(0, 0, 255));
        assert_eq!((image.size, image.pixels), ([2, 1], vec![red, blue]));
        // Orientation 6: turned by a quarter clockwise to stand upright, so the left end is at the top.
        let turned = |orientation| Raw { width: 2, height: 1, rgb: vec![255, 0, 0, 0, 0, 255], orientation }.small();
        assert_eq!((turned(6).size, turned(6).pixels), ([1, 2], vec![red, blue]));
        assert_eq!((turned(8).size, turned(8).pixels), ([1, 2], vec![blue, red]));
        assert_eq!(turned(3).pixels, vec![blue, red]);
        let large = Raw { width: 4000, height: 10, rgb: vec![7; 4000 * 30], orientation: 1 }.small();
        assert!(large.size[0] <= SIDE && large.pixels.iter().all(|p| p.r() == 7));
    }

    #[test]
    fn the_orientation_tag_is_read_in_both_byte_orders() {
        let little = b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0";
        let big = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x08\0\0";
        assert_eq!((orientation(little), orientation(big)), (Some(6), Some(8)));
        assert_eq!((orientation(b""), orientation(b"II*\0\xff\xff\xff\xff")), (None, None));
    }
}
