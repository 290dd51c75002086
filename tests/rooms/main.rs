//! Every room without a screen, by its public face: one binary, as each links the whole crate.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

mod bench;
mod demo;
mod earth;
mod effort;
mod exchange;
mod reading;
mod route;
mod sea;
mod share;
mod shore;
mod store;
mod structure;
mod sun;
mod tide;
mod tidy;
mod trial;
mod witness;
