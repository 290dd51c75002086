//! A tide table of a name that the book has already: the same table read on another clock or in another unit, which takes
//! its place, or another one.

use super::{Mark, Taking};
use crate::book::{RecordKind, TideTable, Uid};
use crate::exchange::error::Stop;
use crate::exchange::take_in::unsettled::About;

impl Taking<'_> {
    /// Takes a tide table in. Where the book has one of its name with other turns, its person says whether it is the same
    /// one, read anew; until then nothing of it is taken, as two tables of one name are easily taken for each other.
    pub(in crate::exchange) fn take_tide_table(&mut self, mark: Mark, table: TideTable) -> Result<(), Stop> {
        // A first look at a file settles nothing.
        if self.survey {
            return self.take(mark, table);
        }
        let alike = |name: &str| name.trim().to_lowercase() == table.name.trim().to_lowercase();
        let mut mine = self.book.tide_tables().values().filter(|t| t.beach == table.beach && alike(&t.name)).peekable();
        let Some(first) = mine.peek().map(|t| TideTable::clone(t)) else { return self.take(mark, table) };
        if mine.any(|t| t.turns == table.turns) {
            *self.already_there.entry(RecordKind::TideTable).or_default() += 1;
            return Ok(());
        }
        let (name, said) = (first.name.clone(), differs(&first, &table));
        let question =
            || format!("the book has a tide table \"{name}\" already; this one {said}: is it the same table, read anew?");
        match self.settle(About::Table, question, None) {
            Some("replace") => {
                self.count(mark.line, "tide table(s) take the place of the one in the book");
                self.records.push(TideTable { uid: first.uid, ..table }.into());
                Ok(())
            }
            Some(_) => {
                let mut free = (2..).map(|n| format!("{} ({n})", table.name));
                let free_of =
                    |name: &String| !self.book.tide_tables().values().any(|t| t.beach == table.beach && t.name == *name);
                let name = free.find(free_of).unwrap_or_else(|| table.name.clone());
                // The table in the book may have taken the place of one with these very turns, and kept its uid.
                let first = table.turns.first().map_or_else(String::new, |t| t.time.to_string());
                let parts = [table.beach.to_string(), name.clone(), first];
                let uid = Uid::of_content("one of several tide tables", parts.iter().map(|p| p.as_bytes()));
                self.take_known(mark, TideTable { name, ..table }, uid)
            }
            None => Ok(()),
        }
    }
}

/// In what a table differs from one of the same name.
fn differs(mine: &TideTable, file: &TideTable) -> String {
    let pairs = || mine.turns.iter().zip(&file.turns);
    let shifts: Vec<i64> = pairs().map(|(a, b)| (b.time.as_second() - a.time.as_second()).div_euclid(60)).collect();
    let same_heights = pairs().all(|(a, b)| (a.level_m - b.level_m).abs() < 0.005);
    match shifts.iter().max() {
        _ if mine.turns.len() != file.turns.len() => format!("has {} turns and not {}", file.turns.len(), mine.turns.len()),
        Some(0) if shifts.iter().all(|s| *s == 0) => "has the same times with other heights".to_owned(),
        Some(most) if same_heights && most.abs() <= 26 * 60 => {
            let way = if *most > 0 { "later" } else { "earlier" };
            format!(
                "has the same heights up to {} minutes {way}, as on another clock",
                most.abs().max(shifts.iter().map(|s| s.abs()).max().unwrap_or(0))
            )
        }
        _ => "has other times and heights".to_owned(),
    }
}
