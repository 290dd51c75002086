//! Files that are zip archives: what they hold, unpacked within bounds.

use std::io::{Cursor, Read};
use std::sync::Arc;

use zip::ZipArchive;
use zip::result::ZipError;

use super::source::Source;
use crate::Progress;
use crate::exchange::error::{Fault, Stop};

/// Largest archive that is opened, bytes.
const MOST_PACKED: u64 = 256 << 20;
/// Most that an archive may hold unpacked, bytes. What its directory says of that may be a lie, so it is counted.
const MOST_UNPACKED: u64 = 512 << 20;

/// What an archive is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Sort {
    /// KML with what goes with it.
    Kmz,
    /// A workbook of Office Open XML.
    Xlsx,
    /// A workbook of OpenDocument.
    Ods,
}

/// An open archive.
pub(in crate::exchange) struct Packed {
    bytes: Arc<[u8]>,
    zip: ZipArchive<Cursor<Arc<[u8]>>>,
}

fn broken() -> Fault {
    Fault::Binary {
        what: "a zip archive or a spreadsheet that cannot be opened",
        todo: "copy or download it again, unpack it, or save the sheet as CSV",
    }
}

impl Packed {
    pub(in crate::exchange) fn open(source: &Source, progress: &Progress) -> Result<Self, Stop> {
        let bytes: Arc<[u8]> = source.whole(MOST_PACKED, progress)?.into();
        let zip = ZipArchive::new(Cursor::new(Arc::clone(&bytes))).map_err(|_| broken())?;
        Ok(Self { bytes, zip })
    }

    /// What the archive is, by the names in it.
    pub(in crate::exchange) fn sort(&self) -> Result<Sort, Fault> {
        let names = self.names();
        let has = |name: &str| names.iter().any(|n| n == name);
        if names.iter().any(|n| n.starts_with("xl/workbook")) {
            Ok(Sort::Xlsx)
        } else if has("content.xml") && has("mimetype") {
            Ok(Sort::Ods)
        } else if names.iter().any(|n| is_kml(n)) {
            Ok(Sort::Kmz)
        } else {
            Err(Fault::Binary { what: "a zip archive", todo: "unpack it; of a spreadsheet, save the sheet as CSV" })
        }
    }

    /// The names in it, in its own order.
    pub(in crate::exchange) fn names(&self) -> Vec<String> {
        self.zip.file_names_raw().map(|n| String::from_utf8_lossy(n).into_owned()).collect()
    }

    /// One of the files in it.
    pub(in crate::exchange) fn read(&mut self, name: &str) -> Result<Vec<u8>, Fault> {
        let at = self.zip.index_for_name_raw(name.as_bytes()).ok_or_else(broken)?;
        let file = self.zip.by_index(at).map_err(locked_or_broken)?;
        let mut bytes = Vec::new();
        file.take(MOST_UNPACKED + 1).read_to_end(&mut bytes).map_err(|_| broken())?;
        if bytes.len() as u64 > MOST_UNPACKED { Err(too_large()) } else { Ok(bytes) }
    }

    /// The archive itself, once it is known that all of it unpacks within bounds.
    pub(in crate::exchange) fn bounded(mut self) -> Result<Cursor<Arc<[u8]>>, Fault> {
        let mut left = MOST_UNPACKED + 1;
        for at in 0..self.zip.len() {
            let file = self.zip.by_index(at).map_err(locked_or_broken)?;
            left -= std::io::copy(&mut file.take(left), &mut std::io::sink()).map_err(|_| broken())?;
            if left == 0 {
                return Err(too_large());
            }
        }
        Ok(Cursor::new(self.bytes))
    }
}

fn locked_or_broken(why: ZipError) -> Fault {
    match why {
        ZipError::UnsupportedArchive(why) => {
            Fault::Option(format!("cannot be unpacked ({why}); save it anew without a password"))
        }
        _ => broken(),
    }
}

fn too_large() -> Fault {
    Fault::TooLarge { what: format!("unpacks to more than {} MB", MOST_UNPACKED >> 20) }
}

/// Whether a file in an archive is KML by its name.
pub(in crate::exchange) fn is_kml(name: &str) -> bool {
    name.rsplit_once('.').is_some_and(|(_, ending)| ending.eq_ignore_ascii_case("kml"))
}
