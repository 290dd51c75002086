//! What the law may ask of who searches a beach or finds something, by country, and which find may carry such a duty.

mod lies_in;
mod list;
mod reminder;
mod spoken;

pub use lies_in::{Country, LiesIn, Supposed};
pub use list::{CHECK_THE_LAW, Duty, NO_LIST, Subject, duties_in, law_said};
pub use reminder::{Reminder, carries, is_answered, reminders, reminders_of_all};
