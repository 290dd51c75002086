//! Whether a draft was left by a program that was ended: its name tells the machine and the process that made it.
//!
//! A lock on the draft would tell it too, but where a folder lies on another machine such a lock keeps SQLite out of the
//! draft, as both kinds of locks are one there (flock(2), on NFS and SMB).

use std::fs::{self, File};
use std::io::Read as _;
use std::path::Path;

use super::DRAFT;

/// What a database and the journal of one begin with (SQLite's *Database File Format*, 1.3.1 and 3).
const DATABASE: &[u8] = b"SQLite format 3\0";
const JOURNAL: &[u8] = &[0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7];

/// A word for the processes that this one can see: of this machine since it was started, and of this container. `None` where
/// the system does not tell.
pub(super) fn machine() -> Option<String> {
    let boot = fs::read("/proc/sys/kernel/random/boot_id").ok()?;
    let space = fs::read_link("/proc/self/ns/pid").ok()?;
    let mut hash = blake3::Hasher::new();
    hash.update(&boot).update(space.as_os_str().as_encoded_bytes());
    hash.finalize().to_hex().get(..8).map(str::to_owned)
}

/// Whether a file is a draft, or the journal of one, that a process of this machine made which is gone.
pub(super) fn is_left(name: &str, path: &Path) -> bool {
    let Some((pid, journal)) = maker(name) else { return false };
    !is_running(pid) && begins_as_made(path, journal)
}

/// The process that a draft's name tells of, if it is of this machine, and whether the file is a journal.
fn maker(name: &str) -> Option<(u32, bool)> {
    let (draft, journal) = match name.strip_suffix("-journal") {
        Some(draft) => (draft, true),
        None => (name, false),
    };
    let parts: Vec<&str> = draft.strip_prefix(DRAFT.0)?.strip_suffix(DRAFT.1)?.split('-').collect();
    let [made_on, pid, random] = parts.as_slice() else { return None };
    let is_random = !random.is_empty() && random.bytes().all(|b| b.is_ascii_alphanumeric());
    (is_random && machine().is_some_and(|here| here == *made_on)).then_some((pid.parse().ok()?, journal))
}

/// Whether a process is there; one that only waits for its end to be noticed is none any more.
fn is_running(pid: u32) -> bool {
    let Ok(about) = fs::read_to_string(format!("/proc/{pid}/stat")) else { return Path::new(&format!("/proc/{pid}")).exists() };
    // The name of the program stands in brackets and may hold any sign (proc_pid_stat(5)).
    let state = about.rsplit_once(')').and_then(|(_, rest)| rest.trim_start().chars().next());
    !matches!(state, Some('Z' | 'X'))
}

/// Whether a file holds what a draft of a book does: nothing yet, or a database.
fn begins_as_made(path: &Path, journal: bool) -> bool {
    if !path.symlink_metadata().is_ok_and(|about| about.is_file()) {
        return false;
    }
    let mut head = Vec::new();
    let wanted = if journal { JOURNAL } else { DATABASE };
    let read = File::open(path).and_then(|file| file.take(wanted.len() as u64).read_to_end(&mut head));
    // The beginning of a journal is laid out empty before it is filled in.
    read.is_ok() && (head.is_empty() || head == wanted || (journal && head.iter().all(|b| *b == 0)))
}
