//! What is typed on the bench: a set-up, a reading, a question of a signal, a kind of one's own.

use crate::bench::DepthUnit;
use crate::book::{Book, Ground, Kind, Lie, Setup, Steadiness, Uid};

/// The name of a field that was refused, and why.
pub(crate) type Refused = (&'static str, String);

/// A set-up as it is typed.
pub(crate) struct SetupForm {
    pub(crate) setup: Setup,
    /// The set-up it began as; `None` for a new one.
    pub(crate) was: Option<Uid>,
    pub(crate) width_cm: String,
    /// The field that was refused, by its name, and why; no name for all of it.
    pub(crate) refusal: Option<Refused>,
    pub(crate) focus: bool,
}

impl SetupForm {
    /// Whether something was typed that would be lost.
    pub(crate) fn is_changed(&self, book: &Book) -> bool {
        let first = self.was.and_then(|uid| book.setups().get(&uid)).map_or_else(Self::blank, Self::from_setup);
        let typed = Setup { uid: first.setup.uid, ..self.setup.clone() };
        typed != first.setup || self.width_cm != first.width_cm
    }

    /// A set-up that is not in the book.
    pub(crate) fn blank() -> Self {
        let mut setup = Setup::new("");
        setup.name.clear();
        Self { setup, was: None, width_cm: String::new(), refusal: None, focus: true }
    }

    /// The settings of a set-up, to be looked at and put right.
    pub(crate) fn from_setup(setup: &Setup) -> Self {
        let width_cm = setup.coil_width_m.map_or_else(String::new, |m| ((m * 1e4).round() / 100.0).to_string());
        Self { setup: setup.clone(), was: Some(setup.uid), width_cm, refusal: None, focus: true }
    }
}

/// Where the hand goes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Next {
    Ids,
    Depth,
    Target,
}

/// A reading as it is typed.
pub(crate) struct EntryForm {
    /// `None` for the bare hole.
    pub(crate) kind: Option<Kind>,
    /// Whether the kind was chosen, so that the target's name says no other.
    pub(crate) chosen: bool,
    pub(crate) target: String,
    pub(crate) depth: String,
    pub(crate) unit: DepthUnit,
    pub(crate) scraped: String,
    /// The ground read on, where it is not the set-up's; it stays from reading to reading.
    pub(crate) ground: Option<Ground>,
    pub(crate) lie: Option<Lie>,
    pub(crate) ids: String,
    pub(crate) steadiness: Option<Steadiness>,
    pub(crate) tone: String,
    pub(crate) step: String,
    pub(crate) dig: Option<bool>,
    pub(crate) notes: String,
    /// The field that was refused, by its name, and why; no name for all of it.
    pub(crate) refusal: Option<Refused>,
    /// Said after a reading was kept.
    pub(crate) kept: Option<String>,
    pub(crate) next: Option<Next>,
    /// What is typed to find a kind.
    pub(crate) sought: String,
    /// The depths of this run as they were typed, in their order.
    pub(crate) depths: Vec<String>,
    /// What is left of the list of targets.
    pub(crate) list: TargetList,
}

/// Targets that were read with other set-ups and not yet with the one in hand.
#[derive(Default)]
pub(crate) struct TargetList {
    /// The set-up it was made for, and how many readings there were.
    pub(crate) made_for: Option<(Uid, usize)>,
    pub(crate) left: Vec<Listed>,
}

/// A target at a depth, as it was read before.
pub(crate) struct Listed {
    pub(crate) kind: Option<Kind>,
    pub(crate) target: String,
    pub(crate) depth_m: f64,
    pub(crate) lie: Option<Lie>,
}

impl Default for EntryForm {
    fn default() -> Self {
        let text = String::new;
        Self {
            kind: Some(Kind::keyed("coin")),
            chosen: false,
            target: text(),
            depth: text(),
            unit: DepthUnit::default(),
            scraped: text(),
            ground: None,
            lie: None,
            ids: text(),
            steadiness: None,
            tone: text(),
            step: text(),
            dig: None,
            notes: text(),
            refusal: None,
            kept: None,
            next: None,
            sought: text(),
            depths: Vec::new(),
            list: TargetList::default(),
        }
    }
}

/// What is asked of the bench.
pub(crate) struct Asking {
    pub(crate) ids: String,
    pub(crate) steadiness: Option<Steadiness>,
    pub(crate) step: String,
    /// The ground it was heard on, where it is not the set-up's.
    pub(crate) ground: Option<Ground>,
    pub(crate) under: f64,
    pub(crate) against: Option<Uid>,
    pub(crate) proved: Kind,
}

impl Default for Asking {
    fn default() -> Self {
        let (ids, step) = (String::new(), String::new());
        Self { ids, steadiness: None, step, ground: None, under: 50.0, against: None, proved: Kind::keyed("coin") }
    }
}

/// A kind of one's own as it is typed.
pub(crate) struct KindForm {
    pub(crate) within: Kind,
    pub(crate) name: String,
    pub(crate) mass_g: String,
    pub(crate) size_mm: String,
    pub(crate) density: String,
    pub(crate) source: String,
    pub(crate) refusal: Option<String>,
}

impl Default for KindForm {
    fn default() -> Self {
        let text = String::new;
        let within = Kind::keyed("coin");
        Self { within, name: text(), mass_g: text(), size_mm: text(), density: text(), source: text(), refusal: None }
    }
}
