//! What the law may ask of who searches a beach or finds something, by country, and which find may carry such a duty.

mod list;
mod reminder;

pub use list::{CHECK_THE_LAW, Duty, Subject, duties_in};
pub use reminder::{Reminder, carries, reminders};
