//! What can be asked of one beach of a book: each composition of questions stands here once, for the window
//! and for commands alike.

use jiff::Timestamp;

use super::doubts::DoubtsQuestion;
use super::ground::SettingQuestion;
use super::read::{
    CountedBeach, CountsQuestion, CoveredQuestion, GroundCovered, KnownGroundQuestion, PacesQuestion, ReadBeach, ReadingQuestion,
};
use super::route::{Planned, RouteAsk, RouteQuestion};
use super::witness::{InWashQuestion, WitnessQuestion};
use super::{Ask, Given, NotYet, Refusal};
use crate::book::{Beach, Book, FindTables, Part as _, Uid};
use crate::effort;
use crate::reading::{Filter, KnownGround, Params, ReadingTables};
use crate::route::{AccessTables, Paces, RouteTables};
use crate::shore::OtherBeachTables;
use crate::trust::Told;
use crate::witness::WitnessTables;

/// A beach of a book with how it is read: as it is kept with the beach, or otherwise for one run.
#[derive(Clone)]
pub struct Inquiry {
    book: Book,
    beach: Beach,
    /// Which finds and outings are read.
    pub filter: Filter,
    /// What counts as searched.
    pub effort: effort::Params,
    /// How it is read.
    pub params: Params,
    /// The instant of the inquiry, to the hour: finds dated later are told as in the future.
    now: Timestamp,
}

/// An answer that stands on others is asked for once those are there.
type Answered<A> = Result<Given<A>, NotYet>;

impl Inquiry {
    /// An inquiry into a beach, read as it is kept with the beach and of every find.
    ///
    /// # Errors
    /// When the beach is not in the book.
    pub fn new(book: &Book, beach: Uid, now: Timestamp) -> Result<Self, Refusal> {
        let beach = book.beaches().get(&beach).ok_or("the beach is no longer in the book")?.clone();
        // To the hour, so that an answer stays fresh for a while.
        let hour = Timestamp::from_second(now.as_second().div_euclid(3600) * 3600 + 3600).unwrap_or(now);
        Ok(Self {
            filter: Filter::default(),
            effort: effort::Params::from_settings(&beach.search),
            params: Params::from_settings(&beach.reading),
            book: book.clone(),
            beach,
            now: hour,
        })
    }

    /// The book as it is asked of.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// The beach.
    pub fn beach(&self) -> &Beach {
        &self.beach
    }

    /// The layout of the beach.
    pub fn setting(&self) -> SettingQuestion {
        SettingQuestion::new(&self.book, &self.beach)
    }

    /// The ground that the outings of the filter covered.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    pub fn covered(&self, of: &mut impl Ask) -> Answered<GroundCovered> {
        let setting = of.ask(self.setting())?;
        let (outings, tables) = (self.filter.of_outings(), ReadingTables::of_book(&self.book));
        of.ask(CoveredQuestion { setting, tables: (&tables).into(), outings, effort: self.effort })
    }

    /// What stands on the ground covered, whatever finds are read on it.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    pub fn known_ground(&self, of: &mut impl Ask) -> Answered<Option<KnownGround>> {
        let (setting, covered) = (of.ask(self.setting())?, self.covered(of)?);
        let outings = (&ReadingTables::of_book(&self.book)).into();
        of.ask(KnownGroundQuestion { setting, covered, outings, scan_cell_m: self.params.scan_cell_m })
    }

    fn counts_question(&self, of: &mut impl Ask) -> Result<CountsQuestion, NotYet> {
        let (setting, covered, known) = (of.ask(self.setting())?, self.covered(of)?, self.known_ground(of)?);
        let (tables, filter, params) = (ReadingTables::of_book(&self.book), self.filter.clone(), self.params.clone());
        Ok(CountsQuestion { setting, covered, known, tables, filter, params, now: self.now })
    }

    /// Counts and rates, all that a route stands on.
    ///
    /// # Errors
    /// [`NotYet`] when they are not there.
    pub fn counts(&self, of: &mut impl Ask) -> Answered<CountedBeach> {
        let question = self.counts_question(of)?;
        of.ask(question)
    }

    /// What the beach gives, patterns and all.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    pub fn reading(&self, of: &mut impl Ask) -> Answered<ReadBeach> {
        let question = self.counts_question(of)?;
        let counted = of.ask(question.clone())?;
        of.ask(ReadingQuestion { of: question, counted })
    }

    /// The person's own paces.
    ///
    /// # Errors
    /// [`NotYet`] when they are not there.
    pub fn paces(&self, of: &mut impl Ask) -> Answered<Option<Paces>> {
        let covered = self.covered(of)?;
        of.ask(PacesQuestion { covered, finds: FindTables::of_book(&self.book) })
    }

    /// What is doubted of what the beach's plans stand on, with what the person confirmed.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    pub fn doubts(&self, of: &mut impl Ask) -> Answered<Vec<Told>> {
        let setting = of.ask(self.setting())?;
        let in_wash = of.ask(InWashQuestion { finds: FindTables::of_book(&self.book), beach: self.beach.uid })?;
        let tables = WitnessTables::of_book(&self.book);
        let heard = of.ask(WitnessQuestion { setting: setting.clone(), tables, in_wash })?;
        let (accesses, confirmed) = (AccessTables::of_book(&self.book), self.beach.confirmed.clone());
        let day_s = self.now.as_second().div_euclid(86_400) * 86_400;
        let today = Timestamp::from_second(day_s).unwrap_or(self.now);
        let others = OtherBeachTables::of_book(&self.book);
        of.ask(DoubtsQuestion { setting, heard, accesses, others, confirmed, today })
    }

    /// The question that a route answers, once what it stands on is there.
    ///
    /// # Errors
    /// [`NotYet`] when something it stands on is not there.
    pub fn route_question(&self, of: &mut impl Ask, ask: RouteAsk) -> Result<RouteQuestion, NotYet> {
        let (setting, covered) = (of.ask(self.setting())?, self.covered(of)?);
        let (paces, doubts) = (self.paces(of)?, self.doubts(of)?);
        let reading = self.counts(of)?.read.clone();
        Ok(RouteQuestion { setting, reading, covered, paces, doubts, tables: RouteTables::of_book(&self.book), ask })
    }

    /// The route that serves best.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    pub fn route(&self, of: &mut impl Ask, ask: RouteAsk) -> Answered<Planned> {
        let question = self.route_question(of, ask)?;
        of.ask(question)
    }
}
