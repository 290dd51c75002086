use std::io;

use crate::Cancelled;

/// Why a file could not be taken in or written at all.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExchangeError {
    /// Something is wrong with a file as a whole; nothing of it was taken.
    #[error("{file}: {fault}")]
    File {
        /// The file, as it was named.
        file: String,
        /// What is wrong.
        fault: Fault,
    },
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// A record that cannot be written in the format asked for.
    #[error("{what} cannot be written: {why}")]
    Write {
        /// The record.
        what: String,
        /// What is wrong with it.
        why: String,
    },
}

/// What can be wrong with a file as a whole.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// There is no such file.
    #[error("there is no such file; check the path")]
    NotFound,
    /// The file may not be read.
    #[error("may not be read: permission denied; change its permissions or copy it somewhere readable")]
    Denied,
    /// A directory stands there.
    #[error("is a directory; name the files in it one by one")]
    Directory,
    /// Reading failed below the program.
    #[error("could not be read: {0}")]
    Io(String),
    /// There is nothing in the file.
    #[error("is empty")]
    Empty,
    /// Not a text format at all.
    #[error("is {what}; {todo}")]
    Binary {
        /// What it looks like.
        what: &'static str,
        /// What to do instead.
        todo: &'static str,
    },
    /// XML of some other sort.
    #[error("is XML whose first element is <{root}>, not <gpx> or <kml>; export it as GPX, KML or GeoJSON")]
    OtherXml {
        /// Name of the first element.
        root: String,
    },
    /// Text that is none of the formats known.
    #[error("is neither GPX, GeoJSON nor a table with a row of headings, nor anything else that is read here: {why}")]
    Unknown {
        /// What was missing.
        why: String,
    },
    /// The end of the file is missing.
    #[error("ends too early, at line {line}: the end of the file is missing; copy or download it again")]
    Truncated {
        /// Last line there is.
        line: u64,
    },
    /// The file breaks its own format.
    #[error("is not well-formed at line {line}: {why}")]
    Syntax {
        /// Where.
        line: u64,
        /// How.
        why: String,
    },
    /// Bytes that are no text in the encoding the file is in.
    #[error("is not valid {encoding} text at line {line}, though it should be; save it again as UTF-8")]
    Encoding {
        /// Where.
        line: u64,
        /// The encoding it was read in.
        encoding: &'static str,
    },
    /// An encoding that is not known here.
    #[error("says it is written in the encoding \"{label}\", which is not known; save it again as UTF-8")]
    UnknownEncoding {
        /// What the file says.
        label: String,
    },
    /// Nested without end.
    #[error("nests elements more than {limit} deep at line {line}, which no honest file does")]
    TooDeep {
        /// Where.
        line: u64,
        /// How deep is allowed.
        limit: usize,
    },
    /// Larger than anything honest of its kind.
    #[error("{what}, which no honest file of its kind does; give a smaller part of it")]
    TooLarge {
        /// What is too large.
        what: String,
    },
    /// The book has no beach to put the records on.
    #[error("the book has no beach yet; make one first, or name one to be made")]
    NoBeach,
    /// The beach that was asked for is not in the book.
    #[error("the beach asked for is not in the book")]
    NoSuchBeach,
    /// Several beaches, and the file does not say where it lies.
    #[error("does not say on which beach it belongs; name one of: {choices}")]
    WhichBeach {
        /// Names of the beaches there are.
        choices: String,
    },
    /// No beach near the file's data.
    #[error("lies near {centre}, {distance_km:.0} km from the nearest beach ({nearest}); {todo}")]
    FarFromAll {
        /// Middle of the data.
        centre: String,
        /// Nearest beach.
        nearest: String,
        /// How far that is, kilometres.
        distance_km: f64,
        /// What to do.
        todo: String,
    },
    /// Two files that are to place a new beach together and lie together only with the positions of one of them changed.
    #[error(
        "lies near {centre} and {other} near {there}, {distance_km:.0} km apart; with {how} the one lies where the other does: which of the two is off cannot be known here, so look which place is the beach's and change the positions of the other file"
    )]
    Apart {
        /// Middle of the data.
        centre: String,
        /// The other file.
        other: String,
        /// Middle of its data.
        there: String,
        /// How far they are apart, kilometres.
        distance_km: f64,
        /// Which change brings them together.
        how: &'static str,
    },
    /// A declared grid that is not known or a combination of options that cannot be.
    #[error("{0}")]
    Option(String),
}

impl Fault {
    /// The same fault, of a named file.
    pub(super) fn in_file(self, file: &str) -> ExchangeError {
        ExchangeError::File { file: file.to_owned(), fault: self }
    }
}

/// What a reader inside this room stops with: a fault of the file, or the work called off.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stop {
    Fault(Fault),
    Cancelled,
    /// Enough was seen; only ever raised by a survey of the positions.
    Enough,
}

impl From<Fault> for Stop {
    fn from(fault: Fault) -> Self {
        Self::Fault(fault)
    }
}

/// Carried through `io::Error` by the text layer.
#[derive(Debug, Clone, Copy, thiserror::Error)]
pub(super) enum TextFault {
    #[error("malformed {0}")]
    Malformed(&'static str),
    #[error("called off")]
    Cancelled,
    /// A quote that opens on this line and is not closed where its cell ends.
    #[error("a quote that is not closed, opened at line {0}")]
    Quote(u64),
}

/// Why a table is refused for a quote: whatever follows it would be taken for words of one cell.
const NOT_CLOSED: &str = "a quote opens there and is not closed where its cell ends, so that the rows behind it would be read as words of \
                          that cell; close it, take it out, or write it twice within a quoted cell";

impl Stop {
    /// What an error of the text layer means, met at `line`.
    pub(super) fn from_io(error: &io::Error, line: u64) -> Self {
        match error.get_ref().and_then(|e| e.downcast_ref::<TextFault>()) {
            Some(TextFault::Malformed(encoding)) => Self::Fault(Fault::Encoding { line, encoding }),
            Some(TextFault::Cancelled) => Self::Cancelled,
            Some(TextFault::Quote(line)) => Self::Fault(Fault::Syntax { line: *line, why: NOT_CLOSED.to_owned() }),
            None => Self::Fault(fault_of_io(error)),
        }
    }

    pub(super) fn in_file(self, file: &str) -> ExchangeError {
        match self {
            Self::Fault(fault) => fault.in_file(file),
            Self::Cancelled | Self::Enough => Cancelled.into(),
        }
    }
}

pub(super) fn fault_of_io(error: &io::Error) -> Fault {
    match error.kind() {
        io::ErrorKind::NotFound => Fault::NotFound,
        io::ErrorKind::PermissionDenied => Fault::Denied,
        io::ErrorKind::IsADirectory => Fault::Directory,
        _ => Fault::Io(error.to_string()),
    }
}
