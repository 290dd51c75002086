//! Which files are meant where folders and patterns are named.

use std::collections::BTreeSet;
use std::fs;
use std::io::Read as _;
use std::path::{Component, Path, PathBuf};

use glob::{MatchOptions, Pattern};

use super::error::{ExchangeError, Fault};
use super::look::can_be_read;
use super::tools::source::Source;
use crate::output::MARK;

/// The files that are meant, and what stands beside them and is not read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Named {
    /// The files, those of one folder or pattern in the order of their names; none twice.
    pub files: Vec<PathBuf>,
    /// What a folder or pattern holds and is passed over.
    pub passed_over: Vec<PassedOver>,
}

/// Something in a folder that is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedOver {
    /// Where it stands.
    pub path: PathBuf,
    /// Why it is not read.
    pub why: String,
}

/// How deep folders within folders are looked into.
const DEEPEST: usize = 16;
/// How many things a folder or pattern may lead to.
const MOST: usize = 20_000;

/// The files that a person names: each file itself, of a folder those in it and in the folders below it that hold
/// something known here, and of a pattern such as `tracks/*.gpx` or `2026/**/*.csv` those that fit it.
///
/// A file named by itself is kept whatever it is, so that what is wrong with it is said; but for those of a pack in which
/// nothing stands that could be taken in. What a folder or a pattern leads
/// to is judged by content, and what is not known is told as passed over. Links are not followed there, so that nothing
/// leads out of the folder or round in it; what is hidden (its name begins with a point) is not looked at.
///
/// # Errors
/// When a folder cannot be read, or holds nothing that can be read, or a pattern is none or fits nothing.
pub fn files_of(named: &[PathBuf]) -> Result<Named, ExchangeError> {
    let mut all = Named::default();
    let mut known = BTreeSet::new();
    for path in named {
        let fault = |fault: Fault| fault.in_file(&path.display().to_string());
        let found = match fs::metadata(path) {
            Ok(about) if about.is_dir() => folder(path).map_err(fault)?,
            Err(_) if is_pattern(path) => pattern(path).map_err(fault)?,
            _ => match of_a_pack(path) {
                Some(what) => {
                    let passed_over = vec![PassedOver { path: path.clone(), why: what.to_owned() }];
                    Named { files: Vec::new(), passed_over }
                }
                None => Named { files: vec![path.clone()], passed_over: Vec::new() },
            },
        };
        all.files.extend(found.files.into_iter().filter(|f| known.insert(f.clone())));
        all.passed_over.extend(found.passed_over);
    }
    if let (true, Some(first)) = (all.files.is_empty(), all.passed_over.first()) {
        let why = format!("{}; name finds.geojson, or the whole folder", first.why);
        return Err(Fault::Option(why).in_file(&first.path.display().to_string()));
    }
    Ok(all)
}

fn folder(path: &Path) -> Result<Named, Fault> {
    let found = judged(walk(path, DEEPEST)?);
    if found.files.is_empty() { Err(nothing("holds no file that can be read here", &found)) } else { Ok(found) }
}

fn nothing(what: &str, found: &Named) -> Fault {
    let why = found.passed_over.first().map(|p| {
        let name = p.path.file_name().unwrap_or_default().to_string_lossy();
        format!("; the first of {} passed over, {name}, {}", found.passed_over.len(), p.why)
    });
    Fault::Option(format!("{what}{}", why.unwrap_or_default()))
}

const SIGNS: [char; 3] = ['*', '?', '['];

fn is_pattern(path: &Path) -> bool {
    path.to_string_lossy().contains(SIGNS)
}

/// The files that fit a pattern, sought from the last folder before its first sign.
fn pattern(path: &Path) -> Result<Named, Fault> {
    let signed = |c: &Component<'_>| c.as_os_str().to_string_lossy().contains(SIGNS);
    let parts: Vec<Component<'_>> = path.components().collect();
    let first = parts.iter().position(signed).unwrap_or(parts.len());
    let (root, rest) = parts.split_at(first);
    let root: PathBuf = root.iter().collect();
    let text = rest.iter().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/");
    let fits = Pattern::new(&text).map_err(|e| Fault::Option(format!("is no pattern of file names: {}", e.msg)))?;
    let from = if root.as_os_str().is_empty() { Path::new(".") } else { root.as_path() };
    // A pattern of so many parts leads no deeper than that, unless one of them stands for any number.
    let depth = if rest.iter().any(|c| c.as_os_str() == "**") { DEEPEST } else { rest.len() - 1 };
    let options = MatchOptions { case_sensitive: true, require_literal_separator: true, require_literal_leading_dot: true };
    let fitting = walk(from, depth)?.into_iter().filter_map(|(found, what)| {
        let inner = found.strip_prefix(from).ok()?;
        let named = if root.as_os_str().is_empty() { inner.to_owned() } else { found.clone() };
        fits.matches_path_with(inner, options).then_some((named, what))
    });
    let found = judged(fitting.collect());
    if found.files.is_empty() { Err(nothing("fits no file that can be read here", &found)) } else { Ok(found) }
}

/// What stands at a place: `None` for a file, else why it is none to be read.
type Standing = Option<String>;

/// Everything below a folder, in the order of names, folder by folder.
fn walk(folder: &Path, depth: usize) -> Result<Vec<(PathBuf, Standing)>, Fault> {
    let mut found = Vec::new();
    below(folder, depth, &mut found)?;
    Ok(found)
}

fn below(folder: &Path, depth: usize, found: &mut Vec<(PathBuf, Standing)>) -> Result<(), Fault> {
    let entries = fs::read_dir(folder).map_err(|e| super::error::fault_of_io(&e))?;
    let mut entries: Vec<_> = entries.flatten().filter(|e| !e.file_name().to_string_lossy().starts_with('.')).collect();
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        if found.len() >= MOST {
            return Err(Fault::Option(format!("leads to more than {MOST} files; name a smaller part of it")));
        }
        let path = entry.path();
        match entry.file_type() {
            Ok(sort) if sort.is_symlink() => {
                found.push((path, Some("is a link, which is not followed; name it by itself".to_owned())))
            }
            Ok(sort) if sort.is_file() => found.push((path, None)),
            Ok(sort) if sort.is_dir() && depth > 0 => {
                if let Err(why) = below(&path, depth - 1, found) {
                    if found.len() >= MOST {
                        return Err(why);
                    }
                    found.push((path, Some(why.to_string())));
                }
            }
            Ok(sort) if sort.is_dir() => found.push((path, Some("is a folder that is not looked into".to_owned()))),
            _ => found.push((path, Some("is no ordinary file".to_owned()))),
        }
    }
    Ok(())
}

/// What the files of a pack are that hold nothing to be taken in, as all of it stands in its finds.geojson; `None` for any other
/// file. They are known by the mark that they have from being made here.
fn of_a_pack(path: &Path) -> Option<&'static str> {
    let name = path.file_name()?.to_str()?;
    let what = match name {
        "manifest.json" => "is the list of a pack's files",
        "report.html" => "is the account of a pack, for people",
        "plan.svg" => "is the picture of a pack's ground",
        "outings.csv" => "is the table of a pack's visits",
        "finds.csv" if path.with_file_name("finds.geojson").is_file() => {
            "is the table of a pack, whose finds stand in finds.geojson beside it"
        }
        _ if name.starts_with("picture-") && name.ends_with(".jpg") => "is a picture of a pack, which goes with its find",
        _ => return None,
    };
    let mut head = Vec::new();
    fs::File::open(path).ok()?.take(HEAD).read_to_end(&mut head).ok()?;
    let tag = MARK.trim_end_matches('0').as_bytes();
    head.windows(tag.len()).any(|w| w == tag).then_some(what)
}

/// So much of a file holds its mark, bytes.
const HEAD: u64 = 64 << 10;

fn judged(walked: Vec<(PathBuf, Standing)>) -> Named {
    let mut named = Named::default();
    for (path, standing) in walked {
        let of_a_pack = || of_a_pack(&path).map_or(Ok(()), |what| Err(what.to_owned()));
        match standing.map_or_else(|| of_a_pack().and_then(|()| can_be_read(&Source::path(&path))), Err) {
            Ok(()) => named.files.push(path),
            Err(why) => named.passed_over.push(PassedOver { path, why }),
        }
    }
    named
}
