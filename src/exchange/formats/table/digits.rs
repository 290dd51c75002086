//! Dates of six digits, as loggers and their programs write them: which of year, month and day comes first.

use std::collections::BTreeSet;

use csv::StringRecord;
use jiff::Timestamp;
use jiff::civil::Date;

use super::dates::days_out;
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::value::is_blank;

/// What six digits of a date stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    /// YYMMDD.
    Year,
    /// DDMMYY.
    Day,
    /// MMDDYY.
    Month,
}

impl Order {
    const ALL: [Self; 3] = [Self::Year, Self::Day, Self::Month];

    fn answer(self) -> &'static str {
        match self {
            Self::Year => "year-first",
            Self::Day => "day-first",
            Self::Month => "month-first",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Year => "YYMMDD, the year first",
            Self::Day => "DDMMYY, the day first",
            Self::Month => "MMDDYY, the month first",
        }
    }

    fn read(self, cell: &str) -> Option<Date> {
        let part = |from: usize| cell.get(from..from + 2)?.parse::<i8>().ok();
        let (a, b, c) = (part(0)?, part(2)?, part(4)?);
        let (year, month, day) = match self {
            Self::Year => (a, b, c),
            Self::Day => (c, b, a),
            Self::Month => (c, a, b),
        };
        // Two digits: this century up to 2068, as in every other date.
        let century = if year < 69 { 2000 } else { 1900 };
        Date::new(century + i16::from(year), month, day).ok()
    }
}

fn is_six_digits(cell: &str) -> bool {
    cell.len() == 6 && cell.bytes().all(|b| b.is_ascii_digit())
}

/// How many different dates are held against the outings.
const KEPT: usize = 2000;

/// What the cells of one column say about their six digits.
#[derive(Debug, Clone, Default)]
pub(super) struct Digits {
    /// Something else stands there, too.
    others: bool,
    first: Option<(String, u64)>,
    different: BTreeSet<String>,
    /// The orders in which some cell is no date.
    ruled_out: [bool; 3],
}

impl Digits {
    pub(super) fn add(&mut self, cell: &str, line: u64) {
        let cell = cell.trim();
        if self.others || is_blank(cell) {
            return;
        }
        if !is_six_digits(cell) {
            self.others = true;
            return;
        }
        if self.different.contains(cell) {
            return;
        }
        self.first.get_or_insert_with(|| (cell.to_owned(), line));
        for (out, order) in self.ruled_out.iter_mut().zip(Order::ALL) {
            *out |= order.read(cell).is_none();
        }
        if self.different.len() < KEPT {
            self.different.insert(cell.to_owned());
        }
    }

    /// The orders in which all are dates, and none is of days to come.
    fn fits(&self, today: Date) -> Vec<Order> {
        let latest = today.tomorrow().unwrap_or(today);
        let past = |order: Order| self.different.iter().filter_map(|cell| order.read(cell)).all(|day| day <= latest);
        let orders = Order::ALL.into_iter().zip(self.ruled_out);
        orders.filter(|(order, out)| !out && past(*order)).map(|(order, _)| order).collect()
    }

    /// The order in which most of the days are days of one's outings, two of them at least, and plainly more than in any other.
    fn by_outings(&self, fits: &[Order], days: &BTreeSet<Date>) -> Option<Order> {
        let on = |order: Order| self.different.iter().filter_map(|c| order.read(c)).filter(|d| days.contains(d)).count();
        let others = |order: Order| fits.iter().filter(|o| **o != order).map(|o| on(*o)).max().unwrap_or(0);
        let plain = |order: &Order| {
            let own = on(*order);
            own >= 2 && 2 * own > self.different.len() && own > 3 * others(*order)
        };
        fits.iter().copied().find(plain)
    }
}

/// A column of dates of six digits, and how they are read.
#[derive(Debug, Clone, Copy)]
pub(super) struct SixDigits {
    column: usize,
    order: Order,
}

impl SixDigits {
    /// Decides by the columns of dates, tells how, and asks where more than one order fits.
    pub(super) fn settle<'d>(mut dates: impl Iterator<Item = (usize, &'d Digits)>, taking: &mut Taking<'_>) -> Option<Self> {
        let (column, digits) = dates.find(|(_, digits)| !digits.others && digits.first.is_some())?;
        decided(digits, taking).map(|order| Self { column, order })
    }

    /// A row with its whole date.
    pub(super) fn row(self, row: &StringRecord) -> StringRecord {
        row.iter().enumerate().map(|(n, cell)| self.cell(n, cell).unwrap_or_else(|| cell.to_owned())).collect()
    }

    /// The whole date of a cell, if it is one of six digits in this column.
    pub(super) fn cell(self, n: usize, cell: &str) -> Option<String> {
        let cell = Some(cell.trim()).filter(|cell| n == self.column && is_six_digits(cell))?;
        self.order.read(cell).map(|day| day.to_string())
    }
}

fn decided(digits: &Digits, taking: &mut Taking<'_>) -> Option<Order> {
    let now = taking.options.now.unwrap_or_else(Timestamp::now);
    let fits = digits.fits(taking.zone.to_datetime(now).date());
    let (cell, line) = digits.first.as_ref()?;
    let said = |answer: &str| Order::ALL.into_iter().find(|order| order.answer() == answer);
    let (order, how) = match fits.as_slice() {
        [] => return None,
        [only] if taking.answered(About::Digits).is_none() => (*only, "as they can be nothing else"),
        several => {
            let open = taking.answered(About::Digits).is_none() && taking.remembered(About::Digits).is_none();
            match digits.by_outings(several, &days_out(taking)).filter(|_| open) {
                Some(order) => (order, "as the dates are then days of your outings"),
                None => {
                    let question = || {
                        let read = |order: &Order| Some(order.read(cell)?.strftime("%-d %B %Y").to_string());
                        let days: Vec<String> = several.iter().filter_map(read).collect();
                        format!("\"{cell}\" at line {line} is a date of six digits, {}: which comes first?", days.join(" or "))
                    };
                    let answer = taking.settle(About::Digits, question, None);
                    (answer.and_then(said).or(several.first().copied())?, "as answered")
                }
            }
        }
    };
    if !taking.must_answer(About::Digits) {
        taking.understand("dates", format!("six digits, {}, {how}", order.words()));
    }
    Some(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(cells: &[&str]) -> Digits {
        let mut digits = Digits::default();
        cells.iter().enumerate().for_each(|(n, cell)| digits.add(cell, n as u64 + 2));
        digits
    }

    fn days(all: &[&str]) -> BTreeSet<Date> {
        all.iter().map(|d| d.parse().unwrap()).collect()
    }

    #[test]
    fn what_is_no_date_or_of_days_to_come_rules_an_order_out() {
        let today = Date::constant(2024, 11, 1);
        assert_eq!(of(&["991231"]).fits(today), [Order::Year]);
        assert_eq!(of(&["311299"]).fits(today), [Order::Day]);
        assert_eq!(of(&["123199"]).fits(today), [Order::Month]);
        assert_eq!(of(&["241012", ""]).fits(today), [Order::Year, Order::Day]);
        // Read with the day first it would be of 2031.
        assert_eq!(of(&["241012", "241031"]).fits(today), [Order::Year]);
        assert!(of(&["999999"]).fits(today).is_empty());
        assert!(of(&["241012", "2024-10-12"]).others);
        assert_eq!(Order::Year.read("240230"), None);
    }

    #[test]
    fn two_days_of_one_s_outings_tell_the_order() {
        let digits = of(&["241012", "241012", "241013"]);
        let fits = [Order::Year, Order::Day];
        assert_eq!(digits.by_outings(&fits, &days(&["2024-10-12", "2024-10-13"])), Some(Order::Year));
        assert_eq!(digits.by_outings(&fits, &days(&["2012-10-24", "2013-10-24"])), Some(Order::Day));
        assert_eq!(digits.by_outings(&fits, &days(&["2024-10-12"])), None, "one day may be by chance");
        assert_eq!(digits.by_outings(&fits, &days(&["2024-10-12", "2024-10-13", "2012-10-24"])), None);
    }
}
