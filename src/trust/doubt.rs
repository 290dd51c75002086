use jiff::Timestamp;
use serde::{Serialize, Serializer};

use crate::book::Confirmation;
use crate::tide::Window;

/// How much hangs on a doubt, in order of gravity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Weight {
    /// To be known; nothing is asked.
    Caution,
    /// To be looked into; plans are made all the same, and say so.
    Question,
    /// No route until it is mended, or expressly confirmed.
    Blocks,
    /// No route until it is mended, whatever is confirmed: nothing that a person may know makes it serve.
    Refuses,
}

/// An input that must not be believed as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Doubt {
    /// Names the kind and the values it rests on, such as `offset:10.00@station:abc`: a confirmation under it dies with the
    /// values.
    pub key: String,
    /// What is doubted and why, one sentence.
    pub sentence: String,
    /// How much hangs on it.
    pub weight: Weight,
    /// What settles it, one sentence each.
    pub settle: Vec<String>,
    /// Where any are given, it bars the lows alone whose water is read within one of them, and is a caution on the rest.
    pub spans: Vec<Window>,
}

/// How a doubt was confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confirmed {
    /// At this instant; the book keeps it.
    Kept(Timestamp),
    /// For one route alone.
    ForThisRoute,
}

impl Serialize for Confirmed {
    /// An RFC 3339 time in UTC, or the words `for this route`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Kept(time) => serializer.serialize_str(&time.round(jiff::Unit::Second).unwrap_or(*time).to_string()),
            Self::ForThisRoute => serializer.serialize_str("for this route"),
        }
    }
}

/// A doubt as it is told: with whether the person confirmed what it doubts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Told {
    /// The doubt.
    #[serde(flatten)]
    pub doubt: Doubt,
    /// That the person says it is so.
    pub confirmed: Option<Confirmed>,
}

/// Keys of the doubts that `--trust-station` answers begin so.
pub(super) const STATION: &str = "station-";

impl Doubt {
    /// Whether it bars a route for how far the station is, or what lies between.
    pub fn is_of_distance(&self) -> bool {
        self.weight == Weight::Blocks && self.key.starts_with(STATION)
    }
}

impl Told {
    /// Whether it stands in the way of a route, or of those at some lows.
    pub fn stands(&self) -> bool {
        match self.doubt.weight {
            Weight::Caution | Weight::Question => false,
            Weight::Blocks => self.confirmed.is_none(),
            Weight::Refuses => true,
        }
    }

    /// Whether no route may be planned because of it, at whatever low.
    pub fn bars(&self) -> bool {
        self.stands() && self.doubt.spans.is_empty()
    }

    /// Whether it bars a route whose water is read within this span, and not every route.
    fn bars_within(&self, read: &Window) -> bool {
        self.stands() && self.doubt.spans.iter().any(|span| span.shared(read).is_some())
    }

    /// Whether it can be confirmed, and is not yet.
    pub fn can_be_confirmed(&self) -> bool {
        matches!(self.doubt.weight, Weight::Question | Weight::Blocks) && self.confirmed.is_none()
    }

    /// The same, for a route whose station is trusted expressly, or not.
    #[must_use]
    pub fn trusted(&self, station: bool) -> Self {
        let for_this = station && self.confirmed.is_none() && self.doubt.is_of_distance();
        Self { confirmed: if for_this { Some(Confirmed::ForThisRoute) } else { self.confirmed }, doubt: self.doubt.clone() }
    }

    /// What the card, the route and the sheet repeat of it: one sentence, or two.
    pub fn caution(&self) -> String {
        match self.confirmed {
            Some(Confirmed::Kept(_)) => format!("Confirmed by you: {}", self.doubt.sentence),
            Some(Confirmed::ForThisRoute) => format!("Trusted by you for this route: {}", self.doubt.sentence),
            None => self.doubt.sentence.clone(),
        }
    }
}

/// Doubts with what the person confirmed of them, the gravest that still stand first.
pub fn weighed(doubts: Vec<Doubt>, confirmed: &[Confirmation]) -> Vec<Told> {
    let told = |doubt: Doubt| {
        let confirmed = confirmed.iter().find(|c| c.key == doubt.key && doubt.weight != Weight::Refuses);
        Told { confirmed: confirmed.map(|c| Confirmed::Kept(c.time)), doubt }
    };
    let mut all: Vec<Told> = doubts.into_iter().map(told).collect();
    all.sort_by_key(|t| std::cmp::Reverse((t.bars(), t.stands(), t.doubt.weight)));
    all
}

/// Why no route may be planned, and what settles it; `None` where nothing bars it.
pub fn unsettled(told: &[Told]) -> Option<String> {
    said_of(told.iter().filter(|t| t.bars()))
}

/// Why no route may be planned whose water is read within a span, where nothing bars every route; `None` where nothing bars
/// this one.
pub fn unsettled_within(told: &[Told], read: &Window) -> Option<String> {
    said_of(told.iter().filter(|t| t.bars_within(read)))
}

fn said_of<'a>(barring: impl Iterator<Item = &'a Told>) -> Option<String> {
    let said: Vec<String> = barring
        .map(|t| {
            let doubt = &t.doubt;
            let mut said = doubt.sentence.clone();
            for way in &doubt.settle {
                said = format!("{said} {way}");
            }
            if t.can_be_confirmed() {
                said = format!(
                    "{said} Or, if you have looked into it and it is so, confirm it (`scourline beach --confirm \"{}\"`).",
                    doubt.key
                );
            }
            said
        })
        .collect();
    (!said.is_empty()).then(|| said.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubt(key: &str, weight: Weight) -> Doubt {
        Doubt {
            key: key.into(),
            sentence: format!("It is {key}."),
            weight,
            settle: vec![format!("Mend {key}.")],
            spans: Vec::new(),
        }
    }

    #[test]
    fn a_confirmation_holds_for_its_key_alone_and_never_for_what_refuses() {
        let time: Timestamp = "2026-05-01T10:00:00Z".parse().unwrap();
        let confirmed = ["offset:10.00@a", "short"].map(|key| Confirmation { key: key.into(), time });
        let doubts = vec![
            doubt("note", Weight::Caution),
            doubt("offset:10.00@a", Weight::Blocks),
            doubt("asked", Weight::Question),
            doubt("short", Weight::Refuses),
        ];
        let told = weighed(doubts, &confirmed);
        let bars: Vec<(&str, bool)> = told.iter().map(|t| (t.doubt.key.as_str(), t.bars())).collect();
        assert_eq!(bars, [("short", true), ("offset:10.00@a", false), ("asked", false), ("note", false)]);
        assert!(told[1].caution().starts_with("Confirmed by you: It is"), "{}", told[1].caution());
        let why = unsettled(&told).unwrap();
        assert!(why.contains("It is short. Mend short.") && !why.contains("confirm"), "{why}");
        // Another value, another key: what was confirmed of the old one says nothing.
        let told = weighed(vec![doubt("offset:3.05@a", Weight::Blocks)], &confirmed);
        assert!(told[0].bars() && unsettled(&told).unwrap().contains("--confirm \"offset:3.05@a\""));
        assert_eq!(unsettled(&weighed(vec![doubt("asked", Weight::Question)], &[])), None);
    }

    #[test]
    fn a_doubt_of_some_hours_bars_what_is_read_within_them_and_is_a_caution_on_the_rest() {
        let at = |hour: i64| Timestamp::from_second(hour * 3600).unwrap();
        let span = |from: i64, to: i64| Window { from: at(from), to: at(to) };
        let turn = Doubt { spans: vec![span(10, 22), span(100, 112)], ..doubt("turn:1@a", Weight::Blocks) };
        let told = weighed(vec![doubt("asked", Weight::Question), turn.clone()], &[]);
        assert!(told[0].doubt == turn && told[0].stands() && !told[0].bars() && told[0].can_be_confirmed());
        assert_eq!(unsettled(&told), None);
        let within = |from: i64, to: i64| unsettled_within(&told, &span(from, to));
        assert!(within(20, 28).unwrap().contains("--confirm \"turn:1@a\"") && within(105, 106).is_some());
        assert!(within(0, 10).is_none() && within(22, 30).is_none() && within(50, 60).is_none());
        let confirmed = weighed(vec![turn], &[Confirmation { key: "turn:1@a".into(), time: at(0) }]);
        assert_eq!(unsettled_within(&confirmed, &span(20, 28)), None);
    }
}
