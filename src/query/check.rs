//! What stands against finds and outings, and which finds may carry a duty.

use jiff::tz::TimeZone;

use super::{Question, Refusal, Work};
use crate::allowed::{AllowedTables, Flag, PermittedGround, flags};
use crate::book::{Beach, Book, Part as _, Uid};
use crate::duties::{Duty, LiesIn, Reminder, duties_in, reminders_of_all};
use crate::share::country_at;

/// What was found of one beach.
pub struct Checked {
    /// What no permission covers, and what lies where nobody may search; gravest first.
    pub flags: Vec<Flag>,
    /// The finds that may carry a duty and of which nobody noted to whom they were reported.
    pub reminders: Vec<(Uid, Reminder)>,
    /// The permissions whose ground has an outline that crosses itself, so that nobody can say what lies on it, by name.
    pub crossing: Vec<String>,
    /// The country the beach lies in, as far as it is known.
    pub lies_in: LiesIn,
    /// What the law may ask of every country it may lie in, as far as the list knows.
    pub law: Vec<&'static Duty>,
}

impl Checked {
    /// What is to be said of grounds whose outline crosses itself, one sentence each.
    pub fn crossing_said(&self) -> Vec<String> {
        let one = |name: &String| {
            format!(
                "The ground of the permission \"{name}\" has an outline that crosses itself, so nobody can say what lies on it; draw it anew and import it."
            )
        };
        self.crossing.iter().map(one).collect()
    }
}

/// What stands against finds and outings of a beach, and which may carry a duty.
#[derive(Clone, PartialEq)]
pub struct CheckQuestion {
    tables: AllowedTables,
    beach: Uid,
}

impl CheckQuestion {
    /// Of a beach of the book.
    pub fn new(book: &Book, beach: &Beach) -> Self {
        Self { tables: AllowedTables::of_book(book), beach: beach.uid }
    }
}

impl Question for CheckQuestion {
    type Answer = Checked;
    const NAME: &'static str = "what permissions and law say of the finds";

    fn work_out(&self, work: &Work<Checked>) -> Result<Checked, Refusal> {
        let beach = self.tables.beaches().get(&self.beach).ok_or("the beach is no longer in the book")?;
        let lies_in = country_at(beach);
        let flags = flags(&self.tables, self.beach);
        work.check()?;
        let zone = beach.zone().unwrap_or(TimeZone::UTC);
        let days = self
            .tables
            .finds_of(self.beach)
            .filter(|f| !f.is_of_another())
            .map(|f| (f, f.time.map(|t| zone.to_datetime(t).date())));
        let mut told = reminders_of_all(days, &lies_in.codes());
        told.sort_by_key(|(uid, r)| (r.by.is_none(), r.by, r.subject, *uid));
        let law = lies_in.codes().into_iter().flat_map(duties_in).collect();
        let of_the_beach = self.tables.permissions().values().filter(|p| p.beach == self.beach);
        let crossing = of_the_beach.filter(|p| PermittedGround::new(&p.area).crosses_itself()).map(|p| p.name.clone()).collect();
        Ok(Checked { flags, reminders: told, crossing, lies_in, law })
    }
}
