use std::fs::File;
use std::io::{self, BufRead, BufReader, Cursor, Read, Seek};
use std::path::PathBuf;
use std::sync::Arc;

use crate::Progress;
use crate::exchange::error::{Fault, Stop, TextFault, fault_of_io};

/// Where a file's bytes come from.
#[derive(Debug, Clone)]
pub enum Source {
    /// A file on disk.
    Path(PathBuf),
    /// Bytes in memory under a name, such as the demo's own files or what was dropped on the window.
    Bytes {
        /// What to call it.
        name: String,
        /// The content.
        bytes: Arc<[u8]>,
    },
}

/// Bytes that can be read here and there.
pub(in crate::exchange) trait Seekable: BufRead + Seek {}

impl<T: BufRead + Seek> Seekable for T {}

/// How much of a file is looked at to tell its format.
const HEAD: u64 = 64 * 1024;

impl Source {
    /// A file on disk.
    pub fn path(path: impl Into<PathBuf>) -> Self {
        Self::Path(path.into())
    }

    /// Bytes under a name.
    pub fn bytes(name: impl Into<String>, bytes: impl Into<Arc<[u8]>>) -> Self {
        Self::Bytes { name: name.into(), bytes: bytes.into() }
    }

    /// What messages call it.
    pub fn name(&self) -> String {
        match self {
            Self::Path(path) => path.display().to_string(),
            Self::Bytes { name, .. } => name.clone(),
        }
    }

    /// The name without folders and ending, for records that have none of their own.
    pub fn stem(&self) -> String {
        let name = self.name();
        let path = std::path::Path::new(&name);
        path.file_stem().map_or_else(|| name.clone(), |s| s.to_string_lossy().into_owned())
    }

    /// Opens it from the start; `progress` follows the share read and can call the reading off.
    pub(in crate::exchange) fn open(&self, progress: &Progress) -> Result<Box<dyn Read + '_>, Fault> {
        let (inner, total): (Box<dyn Read + '_>, u64) = match self {
            Self::Path(path) => {
                let meta = std::fs::metadata(path).map_err(|e| fault_of_io(&e))?;
                if meta.is_dir() {
                    return Err(Fault::Directory);
                }
                (Box::new(File::open(path).map_err(|e| fault_of_io(&e))?), meta.len())
            }
            Self::Bytes { bytes, .. } => (Box::new(&bytes[..]), bytes.len() as u64),
        };
        Ok(Box::new(Watched { inner, done: 0, total, progress: progress.clone() }))
    }

    /// All of it, unless it is larger than `most` bytes.
    pub(in crate::exchange) fn whole(&self, most: u64, progress: &Progress) -> Result<Vec<u8>, Stop> {
        let mut bytes = Vec::new();
        self.open(progress)?.take(most + 1).read_to_end(&mut bytes).map_err(|e| Stop::from_io(&e, 1))?;
        if bytes.len() as u64 > most {
            return Err(Fault::TooLarge { what: format!("is larger than {} MB", most >> 20) }.into());
        }
        Ok(bytes)
    }

    /// The bytes to be read here and there, unless there are more than `most`.
    pub(in crate::exchange) fn seekable(&self, most: u64) -> Result<Box<dyn Seekable + '_>, Fault> {
        let too_large = |len: u64| {
            let what = format!("is larger than {} MB", most >> 20);
            if len > most { Err(Fault::TooLarge { what }) } else { Ok(()) }
        };
        match self {
            Self::Path(path) => {
                let file = File::open(path).map_err(|e| fault_of_io(&e))?;
                too_large(file.metadata().map_err(|e| fault_of_io(&e))?.len())?;
                Ok(Box::new(BufReader::new(file)))
            }
            Self::Bytes { bytes, .. } => {
                too_large(bytes.len() as u64)?;
                Ok(Box::new(Cursor::new(&bytes[..])))
            }
        }
    }

    /// Its first bytes.
    pub(in crate::exchange) fn head(&self) -> Result<Vec<u8>, Fault> {
        let mut head = Vec::new();
        self.open(&Progress::new())?.take(HEAD).read_to_end(&mut head).map_err(|e| fault_of_io(&e))?;
        Ok(head)
    }
}

/// A reader that reports how far it is and stops when called off.
struct Watched<R> {
    inner: R,
    done: u64,
    total: u64,
    progress: Progress,
}

impl<R: Read> Read for Watched<R> {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        if self.progress.is_cancelled() {
            return Err(io::Error::other(TextFault::Cancelled));
        }
        let n = self.inner.read(buf)?;
        self.done += n as u64;
        if self.total > 0 {
            self.progress.set(self.done as f64 / self.total as f64);
        }
        Ok(n)
    }
}
