use std::any::{Any, TypeId};
use std::collections::{BTreeMap, VecDeque};

use super::question::{Ask, Given, NotYet, Question, Work};
use super::refusal::Refusal;
use super::runner::{Runner, Running};

/// How an answer stands to what is asked now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Age {
    /// It answers what is asked now.
    Fresh,
    /// It answers something that was asked before; what is asked now may be answered otherwise.
    Old,
}

/// What there is of an answer, with its state; the value cannot be had without the state.
pub struct Answer<'a, Q: Question> {
    known: Option<(&'a Q, &'a Given<Q::Answer>, Age)>,
    so_far: Option<Given<Q::Answer>>,
    not_yet: Option<NotYet>,
    share: Option<f64>,
}

impl<'a, Q: Question> Answer<'a, Q> {
    /// The answer to what is asked now, and nothing else: what people stake a walk on or hand over is
    /// read by this alone.
    pub fn fresh(&self) -> Option<&'a Given<Q::Answer>> {
        self.known.filter(|(_, _, age)| *age == Age::Fresh).map(|(_, value, _)| value)
    }

    /// The best answer so far to what is asked now, while a better one is sought.
    pub fn best_so_far(&self) -> Option<&Given<Q::Answer>> {
        self.so_far.as_ref()
    }

    /// The newest answer with its age; what is old is to be marked as old wherever it is shown.
    pub fn newest(&self) -> Option<(&'a Given<Q::Answer>, Age)> {
        self.known.map(|(_, value, age)| (value, age))
    }

    /// What the newest answer was worked out from.
    pub fn question(&self) -> Option<&'a Q> {
        self.known.map(|(question, _, _)| question)
    }

    /// Whether there is an answer, but to something that was asked before.
    pub fn is_old(&self) -> bool {
        self.known.is_some_and(|(_, _, age)| age == Age::Old)
    }

    /// Why the answer to what is asked now is not there; `None` when it is.
    pub fn not_yet(&self) -> Option<&NotYet> {
        self.not_yet.as_ref()
    }

    /// Why what is asked now cannot be answered, where that is so.
    pub fn failure(&self) -> Option<&str> {
        match &self.not_yet {
            Some(NotYet::Failed(why)) => Some(&why.sentence),
            _ => None,
        }
    }

    /// Whether it was called off by hand.
    pub fn is_called_off(&self) -> bool {
        self.not_yet == Some(NotYet::CalledOff)
    }

    /// The share done of the work under way, 0 to 1.
    pub fn share(&self) -> Option<f64> {
        self.share
    }
}

/// All that has been asked and answered in a window.
///
/// A round is one pass over all that is wanted. An answer is fresh only when its very question was
/// asked in the present round, so that whatever is not asked, because what it stands on is being
/// renewed or for any other reason, is old by itself. For each kind of question at most one piece of
/// work runs; a newer question calls it off and waits for its thread to end, so that a hasty hand never
/// starts a crowd of threads.
pub struct Answers {
    runner: Runner,
    round: u64,
    /// By kind of question.
    kinds: BTreeMap<TypeId, Box<dyn AnyKind>>,
    /// Of work that ended by a mistake in the program, and was not told yet.
    mistakes: Vec<String>,
}

impl Answers {
    /// Nothing asked yet.
    pub fn new(runner: Runner) -> Self {
        Self { runner, round: 0, kinds: BTreeMap::new(), mistakes: Vec::new() }
    }

    /// The runner of all work.
    pub fn runner(&self) -> &Runner {
        &self.runner
    }

    /// Begins a round: nothing is fresh until it is asked anew. Takes in finished work.
    pub fn begin_round(&mut self) {
        self.round += 1;
        for kind in self.kinds.values_mut() {
            self.mistakes.extend(kind.poll(self.round).filter(|why| why.is_mistake).map(|why| why.sentence));
        }
    }

    /// The sentences of work that ended by a mistake in the program since this was last called, whether its answer
    /// is still asked for or not.
    pub fn take_mistakes(&mut self) -> Vec<String> {
        std::mem::take(&mut self.mistakes)
    }

    /// Whether work is under way.
    pub fn is_busy(&self) -> bool {
        self.kinds.values().any(|k| k.is_busy())
    }

    /// What kinds of answer are being worked out, in the words of [`Question::NAME`].
    pub fn under_way(&self) -> Vec<&'static str> {
        self.kinds.values().filter(|k| k.is_busy()).map(|k| k.name()).collect()
    }

    /// Forgets everything and calls off all work: something else is shown.
    pub fn forget(&mut self) {
        self.kinds.values_mut().for_each(|k| k.forget());
    }

    /// What there is of the answer to the question of this kind that was asked in this round.
    pub fn answer<Q: Question>(&self) -> Answer<'_, Q> {
        let none = Answer { known: None, so_far: None, not_yet: Some(NotYet::Waiting), share: None };
        self.kind::<Q>().map_or(none, |kind| kind.answer(self.round))
    }

    /// The question of this kind that was asked in this round.
    pub fn asked<Q: Question>(&self) -> Option<&Q> {
        self.kind::<Q>()?.asked.as_ref().filter(|(_, round)| *round == self.round).map(|(question, _)| question)
    }

    /// The answer to a question that was answered before, if it is still kept.
    pub fn kept<Q: Question>(&self, question: &Q) -> Option<&Given<Q::Answer>> {
        self.kind::<Q>()?.known(question)
    }

    /// Calls off, by hand, what is being worked out for this kind of question.
    pub fn call_off<Q: Question>(&mut self) {
        self.kind_mut::<Q>().call_off();
    }

    /// Tries again what failed or was called off.
    pub fn ask_again<Q: Question>(&mut self) {
        self.kind_mut::<Q>().stopped = None;
    }

    /// Ends the work of this kind with the best answer so far.
    pub fn take_best<Q: Question>(&self) {
        if let Some(under_way) = self.kind::<Q>().and_then(|k| k.running.as_ref()) {
            under_way.work.enough();
        }
    }

    fn kind<Q: Question>(&self) -> Option<&Kind<Q>> {
        self.kinds.get(&TypeId::of::<Q>())?.as_any().downcast_ref()
    }

    #[expect(clippy::expect_used, reason = "the entry under a type's id is of that type, just below")]
    fn kind_mut<Q: Question>(&mut self) -> &mut Kind<Q> {
        let kind = self.kinds.entry(TypeId::of::<Q>()).or_insert_with(|| Box::new(Kind::<Q>::default()));
        kind.as_any_mut().downcast_mut().expect("a kind of question stands under its own type")
    }
}

impl Ask for Answers {
    fn ask<Q: Question>(&mut self, question: Q) -> Result<Given<Q::Answer>, NotYet> {
        let (round, runner) = (self.round, self.runner.clone());
        self.kind_mut::<Q>().ask(question, round, &runner)
    }
}

/// Lets go of what may be large, beside the drawing.
fn discard(what: impl Send + 'static) {
    rayon::spawn(move || drop(what));
}

/// One kind of question: what was asked, what is known, what is under way.
struct Kind<Q: Question> {
    /// The last question and the round in which it was asked.
    asked: Option<(Q, u64)>,
    /// The newest last.
    known: VecDeque<(Q, Given<Q::Answer>)>,
    /// Why the last question has no answer.
    stopped: Option<NotYet>,
    running: Option<UnderWay<Q>>,
}

struct UnderWay<Q: Question> {
    question: Q,
    work: Work<Q::Answer>,
    result: Running<Q::Answer>,
    /// Called off by hand: its end is an answer to the person.
    by_hand: bool,
}

impl<Q: Question> Default for Kind<Q> {
    fn default() -> Self {
        Self { asked: None, known: VecDeque::new(), stopped: None, running: None }
    }
}

impl<Q: Question> Kind<Q> {
    fn known(&self, question: &Q) -> Option<&Given<Q::Answer>> {
        self.known.iter().find(|(q, _)| q == question).map(|(_, a)| a)
    }

    fn ask(&mut self, question: Q, round: u64, runner: &Runner) -> Result<Given<Q::Answer>, NotYet> {
        if self.asked.as_ref().is_none_or(|(asked, _)| *asked != question) {
            // A failure speaks of one question only; asked again after another one it is tried again.
            self.stopped = None;
        }
        if let Some(n) = self.known.iter().position(|(q, _)| *q == question) {
            // Back to what is already there: what runs is no longer wanted.
            if let Some(running) = self.running.as_ref().filter(|r| r.question != question) {
                running.work.progress().cancel();
            }
            if let Some(known) = self.known.remove(n) {
                let answer = known.1.clone();
                self.known.push_back(known);
                self.put_asked(question, round);
                return Ok(answer);
            }
        }
        self.put_asked(question.clone(), round);
        if let Some(stopped) = &self.stopped {
            return Err(stopped.clone());
        }
        match &self.running {
            Some(running) if running.question == question && !running.work.progress().is_cancelled() => {}
            // The thread of an older question ends first.
            Some(running) => running.work.progress().cancel(),
            None => self.start(question, runner),
        }
        Err(NotYet::Waiting)
    }

    /// The question asked now; an older one may be the last to hold a table of an older book.
    fn put_asked(&mut self, question: Q, round: u64) {
        let old = self.asked.replace((question, round));
        if let (Some(old), Some((new, _))) = (old, &self.asked)
            && old.0 != *new
        {
            discard(old);
        }
    }

    fn start(&mut self, question: Q, runner: &Runner) {
        let work = Work::watched(runner.waker().clone());
        let (asked, mine) = (question.clone(), work.clone());
        let work_out = move || asked.work_out(&mine);
        let result = if Q::IS_LONG { runner.start_long(Q::NAME, work_out) } else { runner.start(Q::NAME, work_out) };
        self.running = Some(UnderWay { question, work, result, by_hand: false });
    }

    fn call_off(&mut self) {
        if let Some(running) = &mut self.running {
            running.work.progress().cancel();
            running.by_hand = true;
        }
    }

    fn answer(&self, round: u64) -> Answer<'_, Q> {
        let asked = self.asked.as_ref().filter(|(_, r)| *r == round).map(|(q, _)| q);
        let mut known = self.known.back().map(|(q, a)| (q, a, Age::Old));
        if let (Some(asked), Some((question, _, age))) = (asked, &mut known)
            && asked == *question
        {
            *age = Age::Fresh;
        }
        let fresh = known.is_some_and(|(_, _, age)| age == Age::Fresh);
        let mine = self.running.as_ref().filter(|r| Some(&r.question) == asked && !r.work.progress().is_cancelled());
        Answer {
            known,
            so_far: mine.and_then(|r| r.work.so_far()),
            not_yet: (!fresh).then(|| self.stopped.clone().filter(|_| asked.is_some()).unwrap_or(NotYet::Waiting)),
            share: self.running.as_ref().map(|r| r.work.progress().share()),
        }
    }
}

/// What can be done with a kind of question without knowing which.
trait AnyKind {
    /// Takes in finished work, and says why it failed if it did; `round` is the one that begins.
    fn poll(&mut self, round: u64) -> Option<Refusal>;
    fn is_busy(&self) -> bool;
    fn forget(&mut self);
    fn name(&self) -> &'static str;
    fn as_any(&self) -> &dyn Any;
    fn as_any_mut(&mut self) -> &mut dyn Any;
}

impl<Q: Question> AnyKind for Kind<Q> {
    fn poll(&mut self, round: u64) -> Option<Refusal> {
        if Q::ONLY_WHILE_ASKED
            && self.asked.as_ref().is_some_and(|(_, asked)| asked + 1 < round)
            && let Some(running) = &self.running
        {
            running.work.progress().cancel();
        }
        let result = self.running.as_ref()?.result.poll()?;
        let UnderWay { question, work, by_hand, .. } = self.running.take()?;
        let failed = result.as_ref().err().cloned();
        let is_asked = self.asked.as_ref().is_some_and(|(asked, _)| *asked == question);
        match result {
            _ if work.progress().is_cancelled() => {
                // Called off for a newer question, or because all is forgotten, it is of no interest.
                if by_hand && is_asked {
                    self.stopped = Some(NotYet::CalledOff);
                }
                discard((question, result));
            }
            Ok(answer) => {
                let earlier = self.known.back().map(|(_, earlier)| earlier).filter(|earlier| Q::is_same(earlier, &answer));
                let answer = earlier.cloned().unwrap_or_else(|| Given::new(answer));
                self.known.push_back((question, answer));
                let spare = self.known.len().saturating_sub(Q::KEPT.max(1));
                discard(self.known.drain(..spare).collect::<Vec<_>>());
            }
            Err(why) if is_asked => self.stopped = Some(NotYet::Failed(why)),
            Err(_) => discard(question),
        }
        failed
    }

    fn is_busy(&self) -> bool {
        self.running.is_some()
    }

    fn forget(&mut self) {
        if let Some(running) = &mut self.running {
            running.work.progress().cancel();
            running.by_hand = false;
        }
        (self.asked, self.stopped) = (None, None);
        discard(std::mem::take(&mut self.known));
    }

    fn name(&self) -> &'static str {
        Q::NAME
    }

    fn as_any(&self) -> &dyn Any {
        self
    }

    fn as_any_mut(&mut self) -> &mut dyn Any {
        self
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    #[derive(Debug, Clone, Copy, PartialEq)]
    enum How {
        Gives,
        Fails,
        Dies,
        /// Runs until it is called off, showing one answer meanwhile.
        Lasts,
    }

    #[derive(Clone, PartialEq)]
    struct Sum {
        a: u32,
        how: How,
    }

    impl Question for Sum {
        type Answer = u32;
        const NAME: &'static str = "the sum";
        const KEPT: usize = 2;
        fn work_out(&self, work: &Work<u32>) -> Result<u32, Refusal> {
            match self.how {
                How::Gives => Ok(10 * self.a),
                How::Fails => Err("no".into()),
                How::Dies => panic!("on purpose"),
                How::Lasts => {
                    work.show(self.a);
                    loop {
                        work.check()?;
                        if work.is_enough() {
                            return Ok(self.a);
                        }
                        std::thread::yield_now();
                    }
                }
            }
        }
    }

    /// Stands on a sum.
    #[derive(Clone, PartialEq)]
    struct Twice(Given<u32>);

    impl Question for Twice {
        type Answer = u32;
        const NAME: &'static str = "twice the sum";
        fn work_out(&self, _work: &Work<u32>) -> Result<u32, Refusal> {
            Ok(2 * *self.0)
        }
    }

    /// Says of many numbers the same.
    #[derive(Clone, PartialEq)]
    struct Tens(u32);

    impl Question for Tens {
        type Answer = u32;
        const NAME: &'static str = "the tens";
        const IS_LONG: bool = true;
        fn is_same(earlier: &u32, new: &u32) -> bool {
            earlier == new
        }
        fn work_out(&self, _work: &Work<u32>) -> Result<u32, Refusal> {
            Ok(self.0 / 10)
        }
    }

    fn answers() -> (Answers, tempfile::TempDir) {
        let dir = tempfile::tempdir().unwrap();
        (Answers::new(Runner::new(Arc::new(|| ()), dir.path().to_owned())), dir)
    }

    fn sum(a: u32, how: How) -> Sum {
        Sum { a, how }
    }

    /// Asks in rounds until nothing runs.
    fn settle(answers: &mut Answers, question: &Sum) -> Result<u32, NotYet> {
        loop {
            answers.begin_round();
            let told = answers.ask(question.clone()).map(|v| *v);
            if !answers.is_busy() {
                return told;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn the_newest_question_wins_and_only_its_answer_is_fresh() {
        let (mut all, _dir) = answers();
        all.begin_round();
        assert_eq!(all.ask(sum(1, How::Lasts)), Err(NotYet::Waiting));
        assert_eq!(settle(&mut all, &sum(2, How::Gives)), Ok(20));
        assert_eq!(settle(&mut all, &sum(3, How::Gives)), Ok(30));
        assert_eq!(all.answer::<Sum>().fresh().map(|v| **v), Some(30));
        // Kept, and back at once.
        assert_eq!(all.kept(&sum(2, How::Gives)).map(|v| **v), Some(20));
        all.begin_round();
        assert_eq!(all.ask(sum(2, How::Gives)).map(|v| *v), Ok(20));
        assert!(!all.is_busy());
        // Asked something else, what is there is old from that moment on.
        all.begin_round();
        let _ = all.ask(sum(4, How::Lasts));
        let answer = all.answer::<Sum>();
        assert!(answer.fresh().is_none() && answer.is_old() && answer.not_yet() == Some(&NotYet::Waiting));
        assert_eq!(answer.newest().map(|(v, age)| (**v, age)), Some((20, Age::Old)));
    }

    #[test]
    fn an_answer_that_says_nothing_new_leaves_what_stands_on_it_fresh() {
        let (mut all, _dir) = answers();
        let mut tens = |number: u32| loop {
            all.begin_round();
            if let Ok(tens) = all.ask(Tens(number)) {
                break tens;
            }
            std::thread::yield_now();
        };
        let (first, same, other) = (tens(12), tens(17), tens(27));
        assert_eq!((*first, *same, *other), (1, 1, 2));
        assert!(Twice(first.clone()) == Twice(same) && Twice(first) != Twice(other));
    }

    #[test]
    fn what_is_not_asked_in_a_round_is_old() {
        let (mut all, _dir) = answers();
        let base = settle(&mut all, &sum(1, How::Gives)).unwrap();
        let given = all.kept(&sum(1, How::Gives)).unwrap().clone();
        assert_eq!((base, *given), (10, 10));
        let twice = loop {
            all.begin_round();
            let _ = all.ask(sum(1, How::Gives));
            if let Ok(twice) = all.ask(Twice(given.clone())) {
                break *twice;
            }
            std::thread::yield_now();
        };
        assert_eq!((twice, all.answer::<Twice>().fresh().map(|v| **v)), (20, Some(20)));
        // The sum is being renewed, so twice of it cannot even be asked.
        all.begin_round();
        assert!(all.ask(sum(2, How::Lasts)).is_err());
        let answer = all.answer::<Twice>();
        assert!(answer.is_old() && answer.fresh().is_none() && answer.not_yet().is_some());
    }

    #[test]
    fn a_failure_is_told_once_and_tried_again_after_another_question() {
        let (mut all, _dir) = answers();
        assert_eq!(settle(&mut all, &sum(1, How::Fails)), Err(NotYet::Failed("no".into())));
        all.begin_round();
        assert!(all.ask(sum(1, How::Fails)).is_err() && !all.is_busy(), "asked alike it is not tried again");
        assert_eq!(all.answer::<Sum>().failure(), Some("no"));
        assert_eq!(settle(&mut all, &sum(2, How::Gives)), Ok(20));
        all.begin_round();
        assert_eq!(all.ask(sum(1, How::Fails)), Err(NotYet::Waiting));
    }

    #[test]
    fn called_off_by_hand_it_stays_so_until_asked_again_and_forgetting_leaves_no_trace() {
        let (mut all, _dir) = answers();
        let lasting = sum(1, How::Lasts);
        all.begin_round();
        let _ = all.ask(lasting.clone());
        all.call_off::<Sum>();
        assert_eq!(settle(&mut all, &lasting), Err(NotYet::CalledOff));
        assert!(all.answer::<Sum>().is_called_off());
        all.ask_again::<Sum>();
        all.begin_round();
        assert_eq!(all.ask(lasting.clone()), Err(NotYet::Waiting));
        // Another beach and back: nothing says that it was called off.
        all.forget();
        assert_eq!(settle(&mut all, &sum(5, How::Gives)), Ok(50));
        all.forget();
        all.begin_round();
        assert_eq!(all.ask(lasting), Err(NotYet::Waiting));
    }

    #[test]
    fn the_best_so_far_is_shown_and_can_be_taken() {
        let (mut all, _dir) = answers();
        let lasting = sum(7, How::Lasts);
        loop {
            all.begin_round();
            let _ = all.ask(lasting.clone());
            let answer = all.answer::<Sum>();
            if let Some(best) = answer.best_so_far() {
                assert!(answer.fresh().is_none());
                assert_eq!(**best, 7);
                break;
            }
            std::thread::yield_now();
        }
        all.take_best::<Sum>();
        assert_eq!(settle(&mut all, &lasting), Ok(7));
    }

    #[test]
    fn work_that_dies_is_a_failure_with_a_report_and_nothing_stays_busy() {
        let (mut all, dir) = answers();
        let told = settle(&mut all, &sum(1, How::Dies));
        assert!(matches!(&told, Err(NotYet::Failed(why)) if why.sentence.contains("the sum ended by a mistake")), "{told:?}");
        assert!(!all.is_busy());
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
        let mistakes = all.take_mistakes();
        assert!(mistakes.len() == 1 && mistakes[0].contains("a report is in"), "{mistakes:?}");
        assert!(all.take_mistakes().is_empty(), "told once");
        // A refusal is no mistake in the program.
        assert!(settle(&mut all, &sum(1, How::Fails)).is_err() && all.take_mistakes().is_empty());
        // What died while something else is asked already is told all the same.
        all.begin_round();
        let _ = all.ask(sum(3, How::Dies));
        assert_eq!(settle(&mut all, &sum(2, How::Gives)), Ok(20));
        while all.is_busy() {
            all.begin_round();
        }
        assert_eq!(all.take_mistakes().len(), 1);
        assert_eq!(settle(&mut all, &sum(2, How::Gives)), Ok(20));
    }
}
