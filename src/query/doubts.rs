//! What must not be believed of what a beach's plans stand on.

use super::{Given, Question, Refusal, Work};
use crate::book::Confirmation;
use crate::shore::Setting;
use crate::trust::{Told, of_place, of_weather, weighed};
use crate::witness::Heard;

/// What is doubted of what a beach's plans stand on, the gravest first, with what the person confirmed: whoever finds a
/// doubt is asked here, so that the window and the commands tell the same.
#[derive(Clone, PartialEq)]
pub struct DoubtsQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) heard: Given<Option<Heard>>,
    pub(super) confirmed: Vec<Confirmation>,
}

impl Question for DoubtsQuestion {
    type Answer = Vec<Told>;
    const NAME: &'static str = "what must not be believed";

    fn work_out(&self, _work: &Work<Vec<Told>>) -> Result<Vec<Told>, Refusal> {
        let beach = &self.setting.beach;
        let mut doubts = self.setting.doubts.clone();
        doubts.extend(of_place(beach));
        doubts.extend(of_weather(beach));
        let heard = self.heard.as_ref().as_ref().map_or_else(Vec::new, |h| h.doubts(beach, &doubts));
        doubts.extend(heard);
        Ok(weighed(doubts, &self.confirmed))
    }
}
