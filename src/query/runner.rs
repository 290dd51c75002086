use std::any::Any;
use std::backtrace::Backtrace;
use std::cell::RefCell;
use std::io::Write as _;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::sync::{Arc, Once, OnceLock};

use jiff::Timestamp;

use super::refusal::Refusal;

/// Wakes whoever waits for a result.
pub type Waker = Arc<dyn Fn() + Send + Sync>;

/// Starts every piece of work beside the drawing: the one place that knows of threads, of work that
/// dies, and of waking the window.
#[derive(Clone)]
pub struct Runner {
    wake: Waker,
    /// Where a report of a mistake in the program is written.
    reports: PathBuf,
    /// The work that dies, so that a test sees how that is told.
    #[cfg(test)]
    dies: Option<&'static str>,
}

impl Runner {
    /// A runner that wakes the window by `wake` and writes reports into a folder, made when needed.
    pub fn new(wake: Waker, reports: PathBuf) -> Self {
        Self {
            wake,
            reports,
            #[cfg(test)]
            dies: None,
        }
    }

    /// The same, on which every piece of work of this name dies.
    #[cfg(test)]
    pub(crate) fn dying_at(self, name: &'static str) -> Self {
        Self { dies: Some(name), ..self }
    }

    /// What wakes the window.
    pub fn waker(&self) -> &Waker {
        &self.wake
    }

    /// Starts a piece of work on a thread of its own.
    pub fn start<T: Send + 'static>(&self, name: &str, work: impl FnOnce() -> Result<T, Refusal> + Send + 'static) -> Running<T> {
        let runner = self.clone();
        let what = name.to_owned();
        self.spawn(name, move || runner.guard(&what, work))
    }

    /// As [`start`](Self::start), for work that takes many seconds on a large book: it has threads of its own, so that
    /// short work that all cores share does not wait for its end.
    pub fn start_long<T: Send + 'static>(
        &self,
        name: &str,
        work: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
    ) -> Running<T> {
        let runner = self.clone();
        let what = name.to_owned();
        self.spawn(name, move || apart(|| runner.guard(&what, work)))
    }

    fn spawn<T: Send + 'static>(
        &self,
        name: &str,
        guarded: impl FnOnce() -> Result<Result<T, Refusal>, String> + Send + 'static,
    ) -> Running<T> {
        let (send, result) = channel();
        let wake = Arc::clone(&self.wake);
        let started = std::thread::Builder::new().name(name.to_owned()).spawn(move || {
            // The window may have closed meanwhile; then nobody waits for the result.
            let _ = send.send(guarded().unwrap_or_else(|died| Err(Refusal::mistake(died))));
            wake();
        });
        match started {
            Ok(_) => Running(Ok(result)),
            Err(e) => Running(Err(format!("no thread could be started for {name}: {e}"))),
        }
    }

    /// Does a piece of work on this thread; when it dies of a mistake in the program, that is written
    /// into a report, and the error says so and where.
    ///
    /// # Errors
    /// The sentence for the person.
    pub fn guard<T>(&self, name: &str, work: impl FnOnce() -> T) -> Result<T, String> {
        note_panics();
        // Whatever the work touched is dropped with it or, where it is shared, said to be in doubt by the caller.
        let work = || {
            #[cfg(test)]
            assert!(self.dies != Some(name), "on purpose");
            work()
        };
        catch_unwind(AssertUnwindSafe(work)).map_err(|payload| {
            let place = LAST.with_borrow_mut(Option::take).unwrap_or_default();
            let message = said(payload.as_ref());
            let report = match write_report(&self.reports, name, &message, &place) {
                Ok(path) => format!("a report is in {}", path.display()),
                Err(e) => format!("no report could be written into {} ({e}): {message}", self.reports.display()),
            };
            format!("{name} ended by a mistake in the program, and nothing was changed by it; {report}")
        })
    }
}

/// Does work with the threads of long work.
fn apart<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    static LONG: OnceLock<Option<rayon::ThreadPool>> = OnceLock::new();
    match LONG.get_or_init(|| rayon::ThreadPoolBuilder::new().build().ok()) {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

/// Work that was started.
pub struct Running<T>(Result<Receiver<Result<T, Refusal>>, String>);

impl<T> Running<T> {
    /// The result, once; `None` while it is still under way.
    pub fn poll(&self) -> Option<Result<T, Refusal>> {
        match &self.0 {
            Err(why) => Some(Err(why.clone().into())),
            Ok(result) => match result.try_recv() {
                Ok(result) => Some(result),
                Err(TryRecvError::Empty) => None,
                Err(TryRecvError::Disconnected) => Some(Err("the work ended without a result".into())),
            },
        }
    }
}

thread_local! {
    /// Where this thread last panicked, and by which way it got there.
    static LAST: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Has panics note where they came from before they are caught.
fn note_panics() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let usual = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            let place = info.location().map_or_else(|| "an unknown place".to_owned(), ToString::to_string);
            LAST.set(Some(format!("{place}\n{}", Backtrace::force_capture())));
            usual(info);
        }));
    });
}

fn said(payload: &(dyn Any + Send)) -> String {
    let text = payload.downcast_ref::<&str>().map(|s| (*s).to_owned());
    text.or_else(|| payload.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no message".to_owned())
}

/// Writes a report under a name that is not taken yet.
fn write_report(folder: &Path, name: &str, message: &str, place: &str) -> std::io::Result<PathBuf> {
    std::fs::create_dir_all(folder)?;
    let stamp = Timestamp::now().strftime("%Y%m%d-%H%M%S").to_string();
    for n in 1_u32.. {
        let path = folder.join(format!("fault-{stamp}-{n}.txt"));
        match std::fs::File::create_new(&path) {
            Ok(mut file) => {
                writeln!(file, "Scourline {}\n{}\nwhile working on {name}\n", env!("CARGO_PKG_VERSION"), Timestamp::now())?;
                writeln!(file, "{message}\nat {place}")?;
                return Ok(path);
            }
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists && n < 1000 => {}
            Err(e) => return Err(e),
        }
    }
    Err(std::io::Error::other("too many reports"))
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    fn settled<T>(running: &Running<T>) -> Result<T, Refusal> {
        loop {
            if let Some(result) = running.poll() {
                return result;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn work_that_dies_is_told_writes_a_report_and_wakes() {
        let (dir, woken) = (tempfile::tempdir().unwrap(), Arc::new(AtomicUsize::new(0)));
        let counted = Arc::clone(&woken);
        let wake: Waker = Arc::new(move || {
            counted.fetch_add(1, Ordering::SeqCst);
        });
        let runner = Runner::new(wake, dir.path().join("reports"));
        let why = settled(&runner.start::<u32>("the reading", || panic!("on purpose, {}", 7))).unwrap_err().sentence;
        assert!(why.starts_with("the reading ended by a mistake in the program"), "{why}");
        let path = PathBuf::from(why.split(" is in ").nth(1).unwrap());
        let report = std::fs::read_to_string(path).unwrap();
        assert!(report.contains("on purpose, 7") && report.contains("runner.rs"), "{report}");
        assert_eq!(settled(&runner.start("a sum", || Ok(1 + 1))), Ok(2));
        while woken.load(Ordering::SeqCst) < 2 {
            std::thread::yield_now();
        }
        // Two in the same second are two reports.
        assert!(runner.guard("x", || panic!("again")).is_err_and(|w: String| w.contains("report is in")));
        assert_eq!(std::fs::read_dir(dir.path().join("reports")).unwrap().count(), 2);
    }

    #[test]
    fn a_report_that_cannot_be_written_is_told_with_what_it_would_have_said() {
        let file = tempfile::NamedTempFile::new().unwrap();
        let runner = Runner::new(Arc::new(|| ()), file.path().join("under a file"));
        let why = runner.guard("the route", || panic!("lost the way")).map(|(): ()| ()).unwrap_err();
        assert!(why.contains("no report could be written") && why.contains("lost the way"), "{why}");
    }
}
