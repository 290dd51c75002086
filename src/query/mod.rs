//! Every derived thing as a question with declared inputs, its answer with a state, and one runner.
//!
//! A [`Question`] is a value: its fields are all that its answer is worked out from, so that nobody
//! types a key and no input can be left out of one. The window asks [`Answers`], which works beside the
//! drawing and says of each answer whether it is fresh; a command asks [`AtOnce`], which waits. Both are
//! [`Ask`], so that each composition of questions stands here once.

mod answers;
mod question;
mod runner;

pub use answers::{Age, Answer, Answers};
pub use question::{Ask, AtOnce, Given, NotYet, Question, Work};
pub use runner::{Runner, Running, Waker};
