//! Every derived thing as a question with declared inputs, its answer with a state, and one runner.
//!
//! A [`Question`] is a value: its fields are all that its answer is worked out from, so that nobody
//! types a key and no input can be left out of one. The window asks [`Answers`], which works beside the
//! drawing and says of each answer whether it is fresh; a command asks [`AtOnce`], which waits. Both are
//! [`Ask`], so that each composition of questions stands once, in [`Inquiry`].

mod answers;
mod bench;
mod check;
mod doubts;
pub(crate) mod drawing;
mod drawn;
mod ground;
mod happenings;
mod inquiry;
mod intake;
mod item;
mod kinds;
mod log;
mod question;
mod read;
mod refusal;
mod route;
mod runner;
mod share;
mod tide;
mod witness;

pub use answers::{Age, Answer, Answers};
pub use check::{CheckQuestion, Checked};
pub use doubts::DoubtsQuestion;
pub use ground::SettingQuestion;
pub use inquiry::Inquiry;
pub use item::Item;
pub use question::{Ask, AtOnce, Given, NotYet, Question, Work};
pub use read::{
    CountedBeach, CountsQuestion, CoveredQuestion, GroundCovered, KnownGroundQuestion, PacesQuestion, ReadBeach, ReadingQuestion,
    Taken,
};
pub use refusal::Refusal;
pub use route::{Planned, RouteAsk, RouteQuestion};
pub use runner::{Runner, Running, Waker};
pub use share::{Beside, HandOver, HandOverQuestion, WholeBook};
pub use witness::{InWashQuestion, WitnessQuestion};

pub(crate) use bench::{
    BenchLessons, BenchQuestion, CalibrationQuestion, ComparisonQuestion, OneSignal, PaceQuestion, SignalQuestion,
};
pub(crate) use drawn::{
    GroundPictureQuestion, LandQuestion, MarksQuestion, OutlinesQuestion, ReadDrawingQuestion, RouteDrawingQuestion,
    TracesQuestion,
};
pub(crate) use happenings::{Happening, HappeningTables, HappeningsQuestion};
pub(crate) use intake::{Home, IntakeQuestion, Looked, beach_at};
pub(crate) use kinds::KindsQuestion;
pub(crate) use log::{Listed, LogFilter, LogQuestion, LogTables, SortBy, TallyQuestion, TallyTables};
pub(crate) use tide::{CurveQuestion, DryBandQuestion, DryPlaceQuestion, LowsQuestion, ProfileQuestion};
