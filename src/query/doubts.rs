//! What must not be believed of what a beach's plans stand on.

use jiff::Timestamp;

use super::{Given, Question, Refusal, Work};
use crate::book::{Beach, Confirmation};
use crate::route::{AccessTables, of_accesses};
use crate::shore::{OtherBeachTables, Setting, of_other_beaches};
use crate::trust::{AGED_SAND, AT_SEA, Doubt, Told, of_age, of_future, of_place, of_small_tide, of_weather, weighed};
use crate::witness::Heard;

/// What is doubted of what a beach's plans stand on, the gravest first, with what the person confirmed: whoever finds a
/// doubt is asked here, so that the window and the commands tell the same.
#[derive(Clone, PartialEq)]
pub struct DoubtsQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) heard: Given<Option<Heard>>,
    pub(super) accesses: AccessTables,
    pub(super) others: OtherBeachTables,
    pub(super) confirmed: Vec<Confirmation>,
    /// The day of the inquiry: levels grow old.
    pub(super) today: Timestamp,
}

impl Question for DoubtsQuestion {
    type Answer = Vec<Told>;
    const NAME: &'static str = "what must not be believed";

    fn work_out(&self, _work: &Work<Vec<Told>>) -> Result<Vec<Told>, Refusal> {
        // The layout does not hold what was confirmed.
        let beach = &Beach { confirmed: self.confirmed.clone(), ..self.setting.beach.clone() };
        // A beach that lies at sea has everything else wrong with it too: what of the place is to be settled comes first.
        let (at_sea, of_place): (Vec<Doubt>, Vec<Doubt>) = of_place(beach).into_iter().partition(|d| d.key.starts_with(AT_SEA));
        let mut doubts = at_sea;
        doubts.extend(self.setting.doubts.clone());
        doubts.extend(of_other_beaches(&self.setting, &self.others));
        doubts.extend(of_place);
        doubts.extend(of_weather(beach));
        doubts.extend(self.setting.water.as_ref().and_then(|water| of_small_tide(beach, water)));
        doubts.extend(of_age(beach, &self.setting.age, self.today));
        doubts.extend(of_future(beach, &self.setting.age, self.today));
        doubts.extend(of_accesses(&self.setting, &self.accesses));
        let heard = self.heard.as_ref().as_ref().map_or_else(Vec::new, |h| h.doubts(beach, &doubts));
        doubts.extend(heard);
        Ok(weighed(doubts, &self.confirmed))
    }
}

/// The same for a route on another day, on which the levels are of another age.
pub(super) fn on_day(told: &[Told], setting: &Setting, on: Timestamp) -> Vec<Told> {
    let (aged, mut others): (Vec<Told>, Vec<Told>) = told.iter().cloned().partition(|t| t.doubt.key.starts_with(AGED_SAND));
    if let Some(doubt) = of_age(&setting.beach, &setting.age, on) {
        let confirmed = aged.iter().find(|t| t.doubt.key == doubt.key).and_then(|t| t.confirmed);
        let told = Told { doubt, confirmed };
        let graver = |t: &Told| (t.bars(), t.doubt.weight) >= (told.bars(), told.doubt.weight);
        others.insert(others.iter().take_while(|t| graver(t)).count(), told);
    }
    others
}
