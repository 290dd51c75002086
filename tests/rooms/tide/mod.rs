//! The tide: predicted, found from a record, and when it leaves a place dry.

mod analysis;
mod dry;
mod predicted;
