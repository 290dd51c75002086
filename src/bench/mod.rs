//! The bench: known targets read with one set-up, and what they say of a signal that was not dug.
//!
//! Everything is learned per set-up, as [`Learned`]: numbers of different settings or machines do not
//! compare, and none is taken across. A set-up learns from its bench readings and from the finds made on
//! outings with it that carry a target ID, so digging a signal improves what is said of the next.
//!
//! The model, from the top. A kind has a shape: a bell curve (its targets lie about a centre, the passes over a target
//! about it, the more widely the deeper it lies), or, where its numbers pile up in more than one place, a kernel
//! estimate of them; how far each is believed is told by leaving targets out ([`Signature`]). Spreads are shrunk
//! towards what the kinds of the set-up have in common ([`chance::Common`](crate::chance::Common)). For a signal,
//! [`Learned::may_be`] weighs each kind, and what is not on the bench, by the person's own [`Mix`] of finds. Where the ground
//! is known that a signal was heard on, what was read on other ground is first moved to it ([`ReadOn`]).
//! [`Calibration`] leaves each reading out in turn and says how often such answers are right; [`undug`] counts
//! a beach's signals as finds still to be made. [`DepthGauge`] turns gauge steps into depths, [`CutOff`] says what a rule such as "leave everything
//! under 50" costs, [`Comparison`] sets two set-ups side by side.

mod bell;
mod calibration;
mod compare;
mod cut_off;
mod drift;
mod evidence;
mod expected;
mod gauge;
mod grounds;
mod growth;
mod habit;
mod hearing;
mod kernel;
mod learned;
mod leaving;
mod left;
mod likely;
mod may_be;
mod mix;
mod on_ground;
mod pace;
mod reliability;
mod series;
mod shape;
mod signature;
mod tables;
mod template;
mod typed;
mod unread;
mod words;

pub use calibration::Calibration;
pub use compare::{Comparison, Difference, Heard, HeardChance, Reach, SpreadCompared, compare};
pub use cut_off::{ClassLost, CutOff, cut_off, cut_off_at};
pub use evidence::{Evidence, KindEvidence, Passes, Scraped, Specimen};
pub use expected::{Expected, Undug, expected, undug, undug_by};
pub use gauge::{DepthGauge, FullWhenShallow, StepDepth};
pub use grounds::{OtherGround, ReadOn};
pub use growth::{Growth, Scatter, growth};
pub use learned::{Learned, learn_all};
pub use leaving::{Leaving, leaving};
pub use likely::likelihood_words;
pub use may_be::{Answer, ClassChance, MayBe, NOT_ON_THE_BENCH, Sounded, dug, find_of, may_be};
pub use mix::{Mix, class_of};
pub use pace::{Pace, pace};
pub use reliability::{Reliability, Tenth};
pub use signature::{Range, Signature};
pub use tables::{BenchTables, PaceTables};
pub use template::template;
pub use typed::{DepthUnit, read_depth_m, read_ids, setup_label, setup_named};
pub use words::{
    calibration_words, class_words, comparison_words, cut_off_words, depth_words, grounds_words, leaving_words, may_be_words,
    read_words, signature_words, undug_words,
};

/// Why the bench has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BenchError {
    /// No set-up of that name.
    #[error("there is no set-up \"{name}\" in the book; it has {known}")]
    NoSetup {
        /// The name asked for.
        name: String,
        /// The names there are, or "none".
        known: String,
    },
    /// Several set-ups of one name, which must not be mixed.
    #[error("{count} set-ups are called \"{name}\"; name the one you mean by its uid: {uids}")]
    SameName {
        /// The name.
        name: String,
        /// How many have it.
        count: usize,
        /// Their uids.
        uids: String,
    },
    /// Nothing was read with the set-up.
    #[error(
        "nothing has been read with the set-up \"{setup}\" yet; read a few known targets with it, or dig with it and note target IDs"
    )]
    NothingRead {
        /// The set-up's name.
        setup: String,
    },
    /// A signal without a number.
    #[error("the signal has no target ID; note at least one number")]
    NoIds,
    /// A signal of unknown settings.
    #[error("the signal's outing names no set-up, so its numbers compare with none; name the set-up of the outing first")]
    NoOutingSetup,
    /// Too few steps for a gauge.
    #[error("the gauge was read at fewer than two different steps; read targets at two depths or more")]
    NoSteps,
    /// A step outside what was read.
    #[error(
        "gauge step {step} lies outside the steps read on the bench, {lowest} to {highest}; read a target at that step first"
    )]
    BeyondGauge {
        /// The step asked for.
        step: i32,
        /// The lowest step read.
        lowest: i32,
        /// The highest step read.
        highest: i32,
    },
    /// Text that is not a row of target IDs.
    #[error("\"{text}\" is no target ID; write whole numbers between -999 and 999 with a space between them, such as 43 44 43")]
    BadIds {
        /// What stood there.
        text: String,
    },
    /// Text that is not one depth.
    #[error("\"{text}\" is no depth; write one number with one unit, such as 15 cm or 6 in, from 0 to 300 cm")]
    BadDepth {
        /// What stood there.
        text: String,
    },
    /// A set-up compared with itself.
    #[error("a set-up cannot be compared with itself; choose two")]
    SameSetup,
    /// Two set-ups without a target in common.
    #[error("the two set-ups have no target in common; read the same targets with both")]
    NothingInCommon,
}
