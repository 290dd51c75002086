//! What must not be believed of what a person gave: the tide's source, the offset between land and tide, and what else
//! a plan stakes a life on.
//!
//! Whoever finds a doubt returns it from a pure function. [`weighed`] joins the doubts with what the person confirmed;
//! a route is refused while one of them bars it.

mod doubt;

pub use doubt::{Confirmed, Doubt, Told, Weight, unsettled, weighed};
