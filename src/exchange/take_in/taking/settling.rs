//! What a file leaves open: what the person answered, now or for the last file like it, or what is taken meanwhile.

use jiff::tz::TimeZone;

use super::doubtful::FUTURE_S;
use super::{Mark, Taking};
use crate::book::{Find, Plan, Record};
use crate::exchange::take_in::changes::{added, changed};
use crate::exchange::take_in::like::Like;
use crate::exchange::take_in::unsettled::{About, Unsettled};

impl Taking<'_> {
    /// Sees to what the book has with day and month exchanged: where the file has both days they are two finds, else one
    /// of which the date was read in the other order.
    pub(super) fn settle_exchanged(&mut self) {
        for (mark, record, mine, changed) in std::mem::take(&mut self.exchanged) {
            let kind = record.kind();
            if self.seen.contains_key(&(kind, mine)) {
                self.push_new(mark, record);
                continue;
            }
            let Some(changed) = changed else {
                *self.already_there.entry(kind).or_default() += 1;
                continue;
            };
            let line = mark.line;
            let question = || {
                format!(
                    "{} of the book stand in the file with day and month exchanged, the first at line {line}, as if the dates were \
                     read in the other order then: which dates are to count?",
                    kind.plural()
                )
            };
            match self.settle(About::Exchanged, question, Some("keep")) {
                Some("take") => {
                    self.count(line, "record(s) of the book get the day of the file, of which day and month were exchanged");
                    self.records.push(changed);
                }
                Some("each") => self.push_new(mark, record),
                _ => {
                    self.count(
                        line,
                        "record(s) stand in the book with day and month exchanged, and are left as the book has them",
                    );
                    *self.already_there.entry(kind).or_default() += 1;
                }
            }
        }
    }

    /// The book's find as the file has it, if it says otherwise and is to be believed.
    pub(super) fn settle_change(&mut self, mark: Mark, file: &Find) -> Option<Find> {
        let mine = self.book.finds().get(&file.uid)?;
        let (find, what) = changed(mine, file, self.says_other)?;
        let question = || {
            format!(
                "finds of the book stand in the file with other values; the first, \"{}\" at line {}, differs in {}: which are to count?",
                mine.what,
                mark.line,
                what.join(", ")
            )
        };
        let take = self.settle(About::Changes, question, Some("keep")) == Some("take");
        let said = if take {
            "find(s) of the book are changed as the file has them"
        } else {
            "find(s) of the book stand in the file with other values"
        };
        self.count(mark.line, said);
        take.then_some(find)
    }

    /// The book's find with the numbers that it lacks and the file has, if they are to be taken: its uid is of what it was
    /// once read with, as in a file of another format that holds less.
    pub(super) fn settle_addition(&mut self, mark: Mark, file: &Find) -> Option<Find> {
        let mine = self.book.finds().get(&file.uid)?;
        let (find, what) = added(mine, file)?;
        let question = || {
            format!(
                "finds of the book lack what the file says of them; the first, \"{}\" at line {}, lacks {}: which are to count?",
                mine.what,
                mark.line,
                what.join(", ")
            )
        };
        let take = self.settle(About::Changes, question, Some("keep")) == Some("take");
        let said = if take {
            "find(s) of the book get what they lack and the file has"
        } else {
            "find(s) of the book lack what the file says of them"
        };
        self.count(mark.line, said);
        take.then_some(find)
    }

    /// What a track that lies in the future is: the track itself when it is none or was said to be walked (`None`), else
    /// the plan it is, or nothing while that is open.
    pub(super) fn settle_future(&mut self, record: &Record) -> Option<Option<Record>> {
        let Record::Track(track) = record else { return None };
        let (_, to) = track.span()?;
        if to.as_second() - self.now.as_second() <= FUTURE_S {
            return None;
        }
        let day = self.zone.to_datetime(to).date();
        let name = track.name.clone();
        let question = || format!("the track \"{name}\" is of {day}, which is yet to come: is it a plan, or was a clock wrong?");
        match self.settle(About::Future, question, None) {
            Some("tracks") => None,
            Some(_) => {
                let points = track.points().map(|p| p.at).collect();
                Some(Some(Plan { uid: track.uid, beach: track.beach, name, points }.into()))
            }
            None => Some(None),
        }
    }

    /// What the person answered; else what is taken meanwhile, and the question is told.
    pub(in crate::exchange) fn settle(
        &mut self,
        about: About,
        question: impl FnOnce() -> String,
        meanwhile: Option<&'static str>,
    ) -> Option<&'static str> {
        if let Some(answer) = self.options.answers.get(&about) {
            self.like.answered(about, answer);
            return Some(*answer);
        }
        let known = self.like.answer(about);
        let taken = known.or(meanwhile);
        if !self.survey && !self.unsettled.iter().any(|u| u.about == about) {
            let mut question = question();
            if let Some(means) = known.and_then(|known| about.answers().iter().find(|(word, _)| *word == known)) {
                question += &format!(" For the last file with these headings you said: {}.", means.1);
            }
            self.unsettled.push(Unsettled { about, question, taken });
        }
        taken
    }

    /// Asks what no answer alone settles, so that the question stays until enough was said.
    pub(in crate::exchange) fn ask(&mut self, about: About, question: impl FnOnce() -> String) {
        if !self.survey && !self.must_answer(about) {
            self.unsettled.push(Unsettled { about, question: question(), taken: None });
        }
    }

    /// Whether something must be answered before anything of the file is taken.
    pub(in crate::exchange) fn must_answer(&self, about: About) -> bool {
        self.unsettled.iter().any(|u| u.about == about && u.taken.is_none())
    }

    /// What the person answered for this file.
    pub(in crate::exchange) fn answered(&self, about: About) -> Option<&'static str> {
        self.options.answers.get(&about).copied()
    }

    /// What the person answered for the last file with these headings.
    pub(in crate::exchange) fn remembered(&self, about: About) -> Option<&'static str> {
        self.like.answer(about)
    }

    /// Says what the headings of the file are, by which answers are remembered; the clock of the last file like it is its
    /// clock unless one is stated.
    pub(in crate::exchange) fn with_headings<'h>(&mut self, headings: impl IntoIterator<Item = &'h str>) {
        self.headings = headings.into_iter().map(str::to_owned).collect();
        self.like = Like::of_headings(self.book, self.headings.iter().map(String::as_str));
        if self.options.zone.is_none()
            && let Some(zone) = self.like.zone().and_then(|name| TimeZone::get(name).ok())
        {
            self.zone = zone;
        }
    }

    /// Notes what was said of the file's columns, and says what was said of those of the last file like it and not
    /// otherwise of this one.
    pub(in crate::exchange) fn columns_of_the_last(&mut self) -> Vec<(String, String)> {
        let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
        for (heading, word) in &self.options.columns {
            if self.headings.iter().any(|h| same(h, heading)) {
                self.like.column(heading, word);
            }
        }
        let stated = |heading: &str| self.options.columns.iter().any(|(h, _)| same(h, heading));
        self.like.columns().into_iter().filter(|(heading, _)| !stated(heading)).collect()
    }

    /// The name of the clock of times that state none, and whether it is remembered of the last file with these headings.
    pub(in crate::exchange) fn clock(&mut self) -> (String, bool) {
        if let Some(stated) = &self.options.zone {
            self.like.clock(stated);
            return (stated.clone(), false);
        }
        match self.like.zone() {
            Some(zone) => (zone.to_owned(), true),
            None => (self.beach.time_zone.clone(), false),
        }
    }
}
