//! What permissions and closed ground say of finds and outings: what lies outside, came too late, too deep or where nobody may
//! search.

mod flags;
mod ground;

pub use flags::{AllowedTables, Flag, Why, flags};
pub use ground::PermittedGround;
