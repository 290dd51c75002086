//! Reading that goes on beside the taking in: one thread takes the text apart, the other makes records of it.

use std::sync::mpsc::sync_channel;
use std::thread;

use super::source::Source;
use crate::exchange::error::{Fault, Stop, fault_of_io};

/// How many portions may wait to be taken; a portion is some [`PORTION`] bytes of text, or one long record.
const WAITING: usize = 4;
/// A portion is handed on when it has grown to this, bytes of text.
pub(in crate::exchange) const PORTION: u64 = 64 * 1024;
/// From this size on a file is worth a thread of its own, bytes.
const WORTH_A_THREAD: u64 = 4 * PORTION;

/// What a reader hands its portions to; it says whether more is wanted.
pub(in crate::exchange) type Give<'g, T> = &'g mut dyn FnMut(T) -> bool;

/// Reads a source with `bring`, portion by portion, and sees to each with `take`, in order. A small file is read on this
/// thread. What `bring` returns comes last.
///
/// # Errors
/// What `take` returns, upon which nothing more is taken; else what `bring` returns.
pub(in crate::exchange) fn beside<T: Send, R: Send>(
    source: &Source,
    bring: impl FnOnce(Give<'_, T>) -> Result<R, Stop> + Send,
    mut take: impl FnMut(T) -> Result<(), Stop>,
) -> Result<R, Stop> {
    if source.len()? < WORTH_A_THREAD {
        let mut stop = None;
        let brought = bring(&mut |portion| match take(portion) {
            Ok(()) => true,
            Err(why) => {
                stop = Some(why);
                false
            }
        });
        return stop.map_or(brought, Err);
    }
    thread::scope(|scope| {
        let (sender, receiver) = sync_channel(WAITING);
        let bringing = thread::Builder::new()
            .name("reader of a file".to_owned())
            .spawn_scoped(scope, move || bring(&mut |portion| sender.send(portion).is_ok()))
            .map_err(|e| Stop::from(fault_of_io(&e)))?;
        for portion in &receiver {
            if let Err(why) = take(portion) {
                // Whoever waits to hand on the next one is told that none is wanted.
                drop(receiver);
                return Err(why);
            }
        }
        // A reader that died of a mistake ends this thread as it would have without one of its own.
        bringing.join().unwrap_or_else(|died| std::panic::resume_unwind(died))
    })
}

impl Source {
    /// Its size, bytes.
    fn len(&self) -> Result<u64, Fault> {
        match self {
            Self::Path(path) => std::fs::metadata(path).map(|meta| meta.len()).map_err(|e| fault_of_io(&e)),
            Self::Bytes { bytes, .. } => Ok(bytes.len() as u64),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Both ways bring the same, and end alike.
    #[test]
    fn a_thread_of_its_own_changes_nothing() {
        for len in [10, WORTH_A_THREAD as usize] {
            let source = Source::bytes("x", vec![0; len]);
            let count = |most: u64, last: u64| {
                let mut taken = Vec::new();
                let done = beside(
                    &source,
                    |give| (0..1000).find(|n| !give(*n)).map_or(Ok(last), |_| Ok(0)),
                    |n: u64| {
                        taken.push(n);
                        if n == most { Err(Stop::Enough) } else { Ok(()) }
                    },
                );
                (taken, done.ok())
            };
            assert_eq!(count(5000, 7), ((0..1000).collect(), Some(7)), "{len}");
            assert_eq!(count(20, 7), ((0..=20).collect(), None), "{len}");
            let failed = beside(&source, |give| if give(1) { Err::<(), _>(Stop::Cancelled) } else { Ok(()) }, |_: u8| Ok(()));
            assert!(matches!(failed, Err(Stop::Cancelled)), "{len}");
        }
    }
}
