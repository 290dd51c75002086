//! Photographs, made anew of their pixels: nothing else of the file goes along, be it the place, the time, the camera, a
//! thumbnail or what lies behind the picture.

use std::collections::BTreeMap;
use std::fs::Metadata;
use std::io::Cursor;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder as _, ImageReader, Limits};

use crate::output::MARK;

/// Longest side of what leaves, pixels.
const SIDE: u32 = 1024;
const QUALITY: u8 = 82;
/// Largest file read, bytes.
const MOST_BYTES: u64 = 64 << 20;
/// Longest side that is decoded at all, pixels.
const MOST_SIDE: u32 = 16_384;

/// A folder of pictures as it stood when it was looked into: what each file's length and time of change were then. As an
/// input of a hand-over it differs once a picture does, and what is handed over is never of another picture than was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureFolder {
    path: PathBuf,
    stood: Arc<BTreeMap<PathBuf, Stand>>,
}

/// Length in bytes and time of change of a file.
type Stand = (u64, Option<SystemTime>);

fn stand(metadata: &Metadata) -> Stand {
    (metadata.len(), metadata.modified().ok())
}

impl PictureFolder {
    /// Looks into a folder. Of one that cannot be read, or a file of it, it says that nothing is there.
    pub fn looked_into(path: &Path) -> Self {
        let files = std::fs::read_dir(path).into_iter().flatten().flatten();
        // A link counts as what it leads to.
        let stood = files.filter_map(|f| Some((f.file_name().into(), stand(&std::fs::metadata(f.path()).ok()?))));
        Self { path: path.to_owned(), stood: Arc::new(stood.collect()) }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

/// The photograph of this name in a folder, as a JPEG file of its own. Of one in HEIC the pixels are not read: a picture of the
/// same name in another format, saved beside it or in its place, stands for it.
///
/// # Errors
/// A sentence: it is not there, its name leads elsewhere, it is another than when the folder was looked into, or it is no
/// picture that can be read.
pub(super) fn bare(folder: &PictureFolder, name: &str) -> Result<Vec<u8>, String> {
    let name = name.trim();
    let unread = |why: String| format!("the picture \"{name}\" cannot be read: {why}");
    let ending = Path::new(name).extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let is_named_so = ["heic", "heif"].contains(&ending.as_str());
    let bytes = match bytes_of(folder, name) {
        Ok(bytes) if !is_heif(&bytes) => return made_anew(&bytes).map_err(unread),
        Err(why) if !(is_named_so && why.ends_with(GONE)) => return Err(why),
        other => other,
    };
    let other = beside(folder, name).map(|other| bytes_of(folder, &other)).transpose()?;
    match (other, bytes) {
        (Some(other), _) if !is_heif(&other) => made_anew(&other).map_err(unread),
        (_, Err(gone)) => Err(gone),
        _ => {
            let stem = Path::new(name).file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
            Err(format!(
                "the picture \"{name}\" is in HEIC, which is not read here: open it in a program for pictures, save it as JPEG, as \
                 \"{stem}.jpg\" in the same folder, and hand over again; the find need not be changed"
            ))
        }
    }
}

/// What a file is that is not there.
const GONE: &str = "is not there";

/// What stands in a file of a folder.
fn bytes_of(folder: &PictureFolder, name: &str) -> Result<Vec<u8>, String> {
    let mut parts = Path::new(name).components();
    let is_bare = matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None)) && !name.contains(['/', '\\', ':']);
    if !is_bare {
        return Err(format!("the picture \"{name}\" is no file name alone"));
    }
    let is_gone = || format!("the picture \"{name}\" {GONE}");
    let stood = *folder.stood.get(Path::new(name)).ok_or_else(is_gone)?;
    let path = folder.path.join(name);
    let stands = || std::fs::metadata(&path).map(|m| stand(&m)).map_err(|_| is_gone());
    if stood.0 > MOST_BYTES {
        return Err(format!("the picture \"{name}\" is larger than {} MB", MOST_BYTES >> 20));
    }
    // Read between two looks: whatever was written into it meanwhile shows in one of them.
    let bytes = if stands()? == stood { std::fs::read(&path) } else { Ok(Vec::new()) };
    let bytes = bytes.map_err(|e| format!("the picture \"{name}\" cannot be read: {e}"))?;
    if stands()? != stood {
        return Err(format!("the picture \"{name}\" was changed just now: ask for it again"));
    }
    Ok(bytes)
}

/// A picture of the same name in a format that is read, beside one that is in HEIC.
fn beside(folder: &PictureFolder, name: &str) -> Option<String> {
    let stem = |path: &Path| path.file_stem().map(|s| s.to_string_lossy().to_lowercase());
    let (wanted, read) = (stem(Path::new(name))?, ["jpg", "jpeg", "png", "webp"]);
    let fits = |path: &Path| {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        path != Path::new(name) && stem(path).as_ref() == Some(&wanted) && ending.is_some_and(|e| read.contains(&e.as_str()))
    };
    // The order of names, so that the same folder gives the same picture.
    let mut found: Vec<&str> = folder.stood.keys().filter(|p| fits(Path::new(p))).filter_map(|p| Path::new(p).to_str()).collect();
    found.sort_unstable();
    found.first().map(|n| (*n).to_owned())
}

/// Whether it is a HEIF file of a photograph, as many phones write it: a box "ftyp" of one of these brands (ISO/IEC 23008-12,
/// 10.2 and B.4).
fn is_heif(bytes: &[u8]) -> bool {
    const BRANDS: [&[u8]; 7] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1"];
    bytes.get(4..8) == Some(b"ftyp") && bytes.get(8..12).is_some_and(|brand| BRANDS.contains(&brand))
}

/// The pixels of a PNG, JPEG or WebP file, turned as they are to be seen and made small, as a JPEG file.
fn made_anew(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|e| e.to_string())?;
    let mut limits = Limits::default();
    (limits.max_image_width, limits.max_image_height) = (Some(MOST_SIDE), Some(MOST_SIDE));
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|e| e.to_string())?;
    let turn = decoder.orientation().map_err(|e| e.to_string())?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|e| e.to_string())?;
    picture.apply_orientation(turn);
    if picture.width().max(picture.height()) > SIDE {
        picture = picture.thumbnail(SIDE, SIDE);
    }
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, QUALITY).encode_image(&picture.to_rgb8()).map_err(|e| e.to_string())?;
    Ok(marked(&out))
}

/// With the mark as a comment behind the first marker (ITU-T T.81, B.2.4.5: FF FE, length, text).
fn marked(jpeg: &[u8]) -> Vec<u8> {
    let (start, rest) = jpeg.split_at(jpeg.len().min(2));
    let length = u16::try_from(MARK.len() + 2).unwrap_or(2).to_be_bytes();
    [start, &[0xFF, 0xFE], &length, MARK.as_bytes(), rest].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(wide: u32, high: u32) -> Vec<u8> {
        let pixels = image::RgbImage::from_fn(wide, high, |x, _| image::Rgb([if x < wide / 2 { 250 } else { 5 }, 90, 30]));
        let mut out = Vec::new();
        JpegEncoder::new(&mut out).encode_image(&pixels).unwrap();
        out
    }

    /// As a camera writes it (Exif 2.32, 4.6): little-endian TIFF with one entry, orientation 6, and words that stand for
    /// whatever else is in there; and a second part behind the picture.
    fn told_of_its_place(jpeg: &[u8]) -> Vec<u8> {
        let mut exif = b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0".to_vec();
        exif.extend_from_slice(b"GPS 50.1234567 W 004.1234567 the camera of somebody");
        let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
        [&jpeg[..2], &[0xFF, 0xE1], &length, &exif, &jpeg[2..], b"moving part at 50.1234567"].concat()
    }

    #[test]
    fn nothing_but_its_pixels_leaves_and_they_stand_upright() {
        let made = made_anew(&told_of_its_place(&picture(80, 40))).unwrap();
        for private in [&b"GPS"[..], b"Exif", b"50.1234567", b"somebody", b"moving"] {
            assert!(!made.windows(private.len()).any(|w| w == private));
        }
        let seen = image::load_from_memory(&made).unwrap();
        assert_eq!((seen.width(), seen.height()), (40, 80), "turned as its camera said");
        assert_eq!(made, made_anew(&told_of_its_place(&picture(80, 40))).unwrap());
        assert!(crate::output::is_own(&crate::output::as_written(&made)));
    }

    #[test]
    fn large_ones_are_made_small_and_what_is_none_is_refused() {
        let seen = image::load_from_memory(&made_anew(&picture(2600, 60)).unwrap()).unwrap();
        assert_eq!(seen.width(), SIDE);
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("note.jpg"), "no picture").unwrap();
        let looked = PictureFolder::looked_into(folder.path());
        for (name, why) in [("gone.jpg", "is not there"), ("../note.jpg", "no file name"), ("note.jpg", "cannot be read")] {
            assert!(bare(&looked, name).unwrap_err().contains(why), "{name}");
        }
    }

    /// WebP without loss is read; HEIC is named (the box of ISO/IEC 23008-12 that a phone begins with).
    #[test]
    fn webp_is_made_anew_and_heic_is_told_by_name() {
        let pixels = image::RgbImage::from_pixel(40, 20, image::Rgb([10, 200, 30]));
        let mut webp = Vec::new();
        image::codecs::webp::WebPEncoder::new_lossless(&mut webp)
            .encode(&pixels, 40, 20, image::ExtendedColorType::Rgb8)
            .unwrap();
        let made = image::load_from_memory(&made_anew(&webp).unwrap()).unwrap();
        assert_eq!((made.width(), made.height()), (40, 20));
        let heic = [&24_u32.to_be_bytes()[..], b"ftypheic", &[0; 12]].concat();
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("ring.HEIC"), &heic).unwrap();
        let looked = || PictureFolder::looked_into(folder.path());
        let told = bare(&looked(), "ring.HEIC").unwrap_err();
        assert!(told.contains("is in HEIC") && told.contains("save it as JPEG, as \"ring.jpg\" in the same folder"), "{told}");
        // As it is told: nothing is to be changed in the book.
        std::fs::write(folder.path().join("ring.jpg"), picture(40, 20)).unwrap();
        assert!(bare(&looked(), "ring.HEIC").is_ok());
        // Nor where it was saved in place of the other. A file of another format under that name leads nowhere, and not round.
        std::fs::remove_file(folder.path().join("ring.HEIC")).unwrap();
        assert!(bare(&looked(), "ring.HEIC").is_ok() && bare(&looked(), "coin.HEIC").unwrap_err().ends_with("is not there"));
        for name in ["ring.HEIC", "ring.jpg"] {
            std::fs::write(folder.path().join(name), &heic).unwrap();
        }
        assert!(bare(&looked(), "ring.HEIC").is_err() && bare(&looked(), "ring.jpg").is_err());
    }

    #[test]
    fn a_picture_that_changed_since_the_folder_was_looked_into_does_not_leave() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jpg");
        std::fs::write(&path, picture(80, 40)).unwrap();
        let looked = PictureFolder::looked_into(folder.path());
        assert_eq!(looked, PictureFolder::looked_into(folder.path()));
        assert!(bare(&looked, "a.jpg").is_ok());
        std::fs::write(&path, picture(82, 40)).unwrap();
        assert!(bare(&looked, "a.jpg").unwrap_err().contains("was changed just now"));
        let now = PictureFolder::looked_into(folder.path());
        assert!(now != looked && bare(&now, "a.jpg").is_ok());
        // Of the same length and of another time of change.
        let file = std::fs::File::options().append(true).open(&path).unwrap();
        file.set_modified(SystemTime::UNIX_EPOCH).unwrap();
        assert!(bare(&now, "a.jpg").is_err());
    }
}
