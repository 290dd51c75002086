//! The demo beach, as it is made and as it is taken in.

mod import;
mod made;
