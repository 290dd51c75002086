use std::collections::BTreeMap;
use std::fmt;

use super::unsettled::Unsettled;
use crate::book::{Edit, RecordKind, Uid};
use crate::exchange::error::ExchangeError;

/// The formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// GPS Exchange Format 1.0 or 1.1.
    Gpx,
    /// GeoJSON, RFC 7946.
    GeoJson,
    /// A table of delimited text with a row of headings.
    Csv,
    /// Layers of others in a GeoPackage.
    GeoPackage,
    /// KML 2.2 or 2.3, alone or in a KMZ archive.
    Kml,
    /// A log of NMEA 0183 sentences.
    Nmea,
    /// Training Center XML, as watches keep a walk.
    Tcx,
    /// FIT, the same in binary form.
    Fit,
    /// A photograph with what its camera wrote into it.
    Photograph,
    /// A workbook of Office Open XML (XLSX) or OpenDocument (ODS), its sheets as tables.
    Spreadsheet,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Gpx => "GPX",
            Self::GeoJson => "GeoJSON",
            Self::Csv => "CSV",
            Self::GeoPackage => "GeoPackage",
            Self::Kml => "KML",
            Self::Nmea => "NMEA 0183",
            Self::Tcx => "TCX",
            Self::Fit => "FIT",
            Self::Photograph => "photograph",
            Self::Spreadsheet => "spreadsheet",
        })
    }
}

/// One record of a file that was not taken.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Refusal {
    /// The file, with the sheet where it has several.
    pub file: String,
    /// The sheet, where the file has several.
    #[serde(skip)]
    pub part: String,
    /// The line on which the record begins, from 1, or its row in a sheet; 0 where a file has no lines.
    pub line: u64,
    /// Which record it is, such as `waypoint 3`.
    pub record: String,
    /// What is wrong with it.
    pub why: String,
}

impl Refusal {
    /// Where in the file it stands, such as `line 12, waypoint 3`.
    pub fn place(&self) -> String {
        if self.part.is_empty() { self.line_and_record() } else { format!("{}, {}", self.part, self.line_and_record()) }
    }

    fn line_and_record(&self) -> String {
        if self.line == 0 { self.record.clone() } else { format!("line {}, {}", self.line, self.record) }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}: {}", self.file, self.line_and_record(), self.why)
    }
}

/// How some part of a file was understood, for the person to check.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Understood {
    /// What part: `encoding`, `delimiter`, a column's heading ...
    pub what: String,
    /// How it was read.
    pub how: String,
}

/// How a column of a table was read, and that it may be read otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnRead {
    /// Its heading.
    pub heading: String,
    /// What it means, in words; `None` for one that is only kept with its record.
    pub meaning: Option<String>,
    /// Whether a person said so, now or for the last file with these headings.
    pub chosen: bool,
}

/// What one file would change in the book. Nothing is written until [`Intake::edit`] is applied.
#[derive(Debug, Clone)]
pub struct Intake {
    /// The file.
    pub file: String,
    /// Its format.
    pub format: Format,
    /// In a sentence, what it is taken for.
    pub guess: String,
    /// The beach its records go to; `None` when it holds only records of no beach.
    pub beach: Option<Uid>,
    /// The change, ready to be applied.
    pub edit: Edit,
    /// How many records of each kind are new, or changed as the file has them. A baseline counts as a beach.
    pub taken: BTreeMap<RecordKind, usize>,
    /// How many of each kind are in the book, or earlier in the file, already.
    pub already_there: BTreeMap<RecordKind, usize>,
    /// The first of the refused records, at most [`Intake::REFUSALS_KEPT`].
    pub refused: Vec<Refusal>,
    /// How many were refused in all.
    pub refused_count: usize,
    /// What the person should look at before accepting.
    pub warnings: Vec<String>,
    /// How many values could not be read; they are told by column among the warnings.
    pub unread_count: usize,
    /// What the file leaves open that its person can settle.
    pub unsettled: Vec<Unsettled>,
    /// How many extension elements were passed over.
    pub ignored_extensions: usize,
    /// How the file was understood.
    pub understood: Vec<Understood>,
    /// The columns of a table, in their order; of several sheets, those of the first that has any.
    pub columns: Vec<ColumnRead>,
}

impl Intake {
    /// How many refusals are kept with their reasons; the rest are only counted.
    pub const REFUSALS_KEPT: usize = 200;

    /// How many records are new.
    pub fn taken_count(&self) -> usize {
        self.taken.values().sum()
    }

    /// How many are there already.
    pub fn already_there_count(&self) -> usize {
        self.already_there.values().sum()
    }

    /// What must be answered before anything of it may be taken.
    pub fn must_be_answered(&self) -> impl Iterator<Item = &Unsettled> {
        self.unsettled.iter().filter(|u| u.taken.is_none())
    }

    /// Whether it waits for an answer, so that nothing of it is taken.
    pub fn waits(&self) -> bool {
        self.must_be_answered().next().is_some()
    }

    /// Whether all that it holds was refused.
    pub fn is_all_refused(&self) -> bool {
        self.refused_count > 0 && self.taken_count() == 0 && self.already_there_count() == 0
    }

    /// Whether applying it would change anything.
    pub fn changes_nothing(&self) -> bool {
        self.edit.singles().is_empty()
    }
}

/// What several files would change together, each seeing the records of those before it.
#[derive(Debug)]
pub struct Intakes {
    /// The files that could be read, in the order they were named; also those that wait for an answer.
    pub intakes: Vec<Intake>,
    /// The files that could not, each with its sentence.
    pub failed: Vec<ExchangeError>,
    /// In which order those that are taken build on each other, by their place among them.
    order: Vec<usize>,
}

impl Intakes {
    pub(in crate::exchange) fn new(intakes: Vec<Intake>, failed: Vec<ExchangeError>, order: Vec<usize>) -> Self {
        Self { intakes, failed, order }
    }

    /// The change all readable files make together, in the order in which they build on each other.
    pub fn edit(&self) -> Edit {
        Edit::Batch(self.order.iter().filter_map(|n| self.intakes.get(*n)).map(|i| i.edit.clone()).collect())
    }

    /// The same, taken out of the intakes: a million records are not to be held twice. What is counted and told stays.
    pub fn take_edit(&mut self) -> Edit {
        let nothing = || Edit::Batch(Vec::new());
        let mut taken = Vec::with_capacity(self.order.len());
        for n in &self.order {
            taken.extend(self.intakes.get_mut(*n).map(|i| std::mem::replace(&mut i.edit, nothing())));
        }
        Edit::Batch(taken)
    }

    /// What must be answered before anything may be taken, each with its file.
    pub fn must_be_answered(&self) -> impl Iterator<Item = (&str, &Unsettled)> {
        self.intakes.iter().flat_map(|i| i.must_be_answered().map(|u| (i.file.as_str(), u)))
    }

    /// How many records are new over all files that are taken.
    pub fn taken_count(&self) -> usize {
        self.order.iter().filter_map(|n| self.intakes.get(*n)).map(Intake::taken_count).sum()
    }

    /// How many were refused over all files.
    pub fn refused_count(&self) -> usize {
        self.intakes.iter().map(|i| i.refused_count).sum()
    }
}
