//! Which finds and which outings a reading takes.
//!
//! A choice of dates, season, storm or set-up is a choice of *outings*: it takes the finds and the
//! ground covered of the same outings, so that rates stay true. What belongs to an outing goes with
//! it, by the instant the outing began; a find or track of no outing goes by its own time, and where
//! it has none it is left out and counted. A choice of kinds takes finds only, as the coil covers the
//! same ground whatever it finds.

mod season;

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

pub use season::Season;

use super::error::ReadingError;
use super::given::{OutingTables, ReadingTables, WeightChoice};
use super::outcome::Reading;
use crate::book::{Beach, Find, Kind, Kinds, Outing, Track, Uid};

/// Which finds and which outings a reading takes; what is left open takes all.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Filter {
    /// Finds of these kinds, and of the particular kinds within them; empty for every kind.
    pub kinds: BTreeSet<Kind>,
    /// Only what is told of these finds. All finds are still read, as heavy ones can only be told
    /// from chance against the light ones that lie beside them.
    pub weight: Option<WeightChoice>,
    /// Outings of this day and later, by the beach's own calendar.
    pub from: Option<Date>,
    /// Outings of this day and earlier.
    pub to: Option<Date>,
    /// Outings after this storm and before the end of the next one.
    pub after_storm: Option<Uid>,
    /// Outings with this set-up.
    pub setup: Option<Uid>,
    /// Outings of this season, of whatever year.
    pub season: Option<Season>,
}

/// What a filter made of a book.
#[derive(Debug, Clone)]
pub struct Cut {
    /// What the reading is made from, with only what the filter takes.
    pub book: ReadingTables,
    /// Finds taken.
    pub finds: usize,
    /// Finds of the beach.
    pub finds_in_all: usize,
    /// Outings taken.
    pub outings: usize,
    /// Outings of the beach.
    pub outings_in_all: usize,
    /// Finds and tracks left out because neither they nor an outing tell when they were made, or
    /// with what.
    pub undated: usize,
    /// Finds that were taken in as another person's: they belong to no searching of one's own and are never read.
    pub of_others: usize,
}

impl Filter {
    /// Whether it takes everything.
    pub fn is_open(&self) -> bool {
        *self == Self::default()
    }

    /// Whether it leaves outings out, and with them ground covered.
    pub fn cuts_outings(&self) -> bool {
        self.by_time() || self.setup.is_some()
    }

    /// The part of it that decides which ground counts as covered.
    #[must_use]
    pub fn of_outings(&self) -> Self {
        Self { kinds: BTreeSet::new(), weight: None, ..self.clone() }
    }

    /// Whether a time has to be known.
    fn by_time(&self) -> bool {
        self.from.is_some() || self.to.is_some() || self.after_storm.is_some() || self.season.is_some()
    }

    /// Whether it takes finds of a kind.
    pub fn takes_kind(&self, kind: &Kind) -> bool {
        self.kinds.is_empty()
            || self.kinds.contains(kind)
            || Kinds::shipped().within(kind).is_some_and(|general| self.kinds.contains(general))
    }

    /// The part of a book that it takes on a beach.
    ///
    /// # Errors
    /// [`ReadingError::Parameter`] when the days are in the wrong order, or the storm or set-up is
    /// not in the book.
    pub fn cut(&self, book: impl Into<ReadingTables>, beach: &Beach) -> Result<Cut, ReadingError> {
        let book = book.into();
        let outings = OutingTables::from(&book);
        let times = Times::new(self, &outings, beach)?;
        let here: Vec<&Outing> = outings.outings_of(beach.uid);
        let taken: BTreeSet<Uid> = here.iter().filter(|o| self.takes_outing(o, &times)).map(|o| o.uid).collect();
        let takes = |outing: Option<Uid>, time: Option<Timestamp>| match outing {
            Some(o) => taken.contains(&o),
            // Nobody knows with what a find of no outing was made.
            None => self.setup.is_none() && (!self.by_time() || time.is_some_and(|t| times.hold(t))),
        };
        let takes_find = |f: &Find| {
            f.beach == beach.uid
                && !f.is_of_another()
                && self.takes_kind(&f.kind)
                && (!self.cuts_outings() || takes(f.outing, f.time))
        };
        let takes_track = |t: &Track| {
            t.beach == beach.uid && (!self.cuts_outings() || takes(t.outing, began(t).filter(|_| t.outing.is_none())))
        };
        let lost = |outing: Option<Uid>, time: Option<Timestamp>| {
            outing.is_none() && (self.setup.is_some() || (self.by_time() && time.is_none()))
        };
        let of_others = book.finds_of(beach.uid).filter(|f| f.is_of_another()).count();
        let own = || book.finds_of(beach.uid).filter(|f| !f.is_of_another());
        let undated = own().filter(|f| self.takes_kind(&f.kind) && lost(f.outing, f.time)).count()
            + book.tracks_of(beach.uid).filter(|t| t.outing.is_none() && lost(None, began(t))).count();
        let cut = if self.cuts_outings() || !self.kinds.is_empty() {
            book.narrowed(takes_find, |s| !self.cuts_outings() || takes(s.outing, s.time), takes_track)
        } else if of_others > 0 {
            book.with_finds(takes_find)
        } else {
            book.clone()
        };
        Ok(Cut {
            finds: cut.finds_of(beach.uid).count(),
            finds_in_all: own().count(),
            outings: if self.cuts_outings() { taken.len() } else { here.len() },
            outings_in_all: here.len(),
            undated,
            of_others,
            book: cut,
        })
    }

    /// The tracks of a beach that it takes, whatever finds it takes: what the ground covered is worked out from.
    ///
    /// # Errors
    /// As [`cut`](Self::cut).
    pub fn cut_tracks(&self, book: impl Into<OutingTables>, beach: &Beach) -> Result<OutingTables, ReadingError> {
        let book = book.into();
        let times = Times::new(self, &book, beach)?;
        if !self.cuts_outings() {
            return Ok(book);
        }
        let takes = |track: &Track| match track.outing {
            Some(o) => book.outings().get(&o).is_some_and(|o| o.beach == beach.uid && self.takes_outing(o, &times)),
            None => self.setup.is_none() && (!self.by_time() || began(track).is_some_and(|t| times.hold(t))),
        };
        Ok(book.with_tracks(|t| t.beach == beach.uid && takes(t)))
    }

    fn takes_outing(&self, outing: &Outing, times: &Times) -> bool {
        self.setup.is_none_or(|s| outing.setup == Some(s)) && times.hold(outing.start)
    }

    /// Takes out of a reading what is told of other finds than the weight chosen. Drop zones are
    /// told of all finds and scour lines of heavy ones.
    pub fn tell(&self, reading: &mut Reading) {
        let Some(of) = self.weight.filter(|of| *of != WeightChoice::All) else { return };
        reading.cluster_runs.retain(|r| r.of == of);
        reading.clusters.retain(|c| c.of == of);
        reading.scan_runs.retain(|r| r.of == of);
        reading.hot_spots.retain(|s| s.of == of);
        reading.drop_zones.clear();
        if of != WeightChoice::Heavy {
            reading.scour_lines.clear();
        }
    }

    /// What it takes, in a few words each; empty when it takes everything.
    pub fn words(&self, book: impl Into<OutingTables>, beach: &Beach) -> Vec<String> {
        let book = book.into();
        let mut said = Vec::new();
        if !self.kinds.is_empty() {
            let kinds: Vec<&str> = self.kinds.iter().map(Kind::label).collect();
            said.push(format!("only {}", kinds.join(", ")));
        }
        match self.weight {
            Some(WeightChoice::Heavy) => said.push("told of heavy finds".to_owned()),
            Some(WeightChoice::Light) => said.push("told of light finds".to_owned()),
            Some(WeightChoice::All) | None => {}
        }
        let day = |d: Date| d.strftime("%-d %b %Y").to_string();
        match (self.from, self.to) {
            (Some(a), Some(b)) if a == b => said.push(format!("on {}", day(a))),
            (Some(a), Some(b)) => said.push(format!("{} to {}", day(a), day(b))),
            (Some(a), None) => said.push(format!("since {}", day(a))),
            (None, Some(b)) => said.push(format!("until {}", day(b))),
            (None, None) => {}
        }
        if let Some(season) = self.season {
            said.push(format!("in {season} ({})", season.months(beach.origin.lat_deg())));
        }
        if let Some(uid) = self.after_storm {
            let storms = book.storms_of(beach.uid);
            let place = storms.iter().position(|s| s.uid == uid);
            let name = |n: usize| storms.get(n).map_or("a storm that is no longer there", |s| s.name.as_str());
            said.push(match place {
                Some(n) if n + 1 < storms.len() => format!("after {} until {}", name(n), name(n + 1)),
                Some(n) => format!("after {}, the last storm", name(n)),
                None => format!("after {}", name(usize::MAX)),
            });
        }
        if let Some(uid) = self.setup {
            said.push(format!(
                "with {}",
                book.setups().get(&uid).map_or("a set-up that is no longer there", |s| s.name.as_str())
            ));
        }
        said
    }
}

/// A track of no outing goes by its first time, as an outing does.
fn began(track: &Track) -> Option<Timestamp> {
    track.points().find_map(|p| p.time())
}

/// The instants a filter takes.
struct Times {
    zone: TimeZone,
    lat_deg: f64,
    from: Option<Date>,
    to: Option<Date>,
    season: Option<Season>,
    after: Option<Timestamp>,
    until: Option<Timestamp>,
}

impl Times {
    fn new(filter: &Filter, book: &OutingTables, beach: &Beach) -> Result<Self, ReadingError> {
        if let (Some(a), Some(b)) = (filter.from, filter.to)
            && a > b
        {
            return Err(ReadingError::Parameter { what: "dates", why: format!("{a} is later than {b}; turn them round") });
        }
        if filter.setup.is_some_and(|s| !book.setups().contains_key(&s)) {
            return Err(ReadingError::Parameter { what: "set-up", why: "it is not in the book".to_owned() });
        }
        let (mut after, mut until) = (None, None);
        if let Some(uid) = filter.after_storm {
            let storms = book.storms_of(beach.uid);
            let end = |n: usize| storms.get(n).and_then(|s| s.span()).map(|(_, end)| end);
            let Some(n) = storms.iter().position(|s| s.uid == uid) else {
                return Err(ReadingError::Parameter { what: "storm", why: "it is not in the book".to_owned() });
            };
            (after, until) = (end(n), end(n + 1));
        }
        let zone = beach.zone().unwrap_or(TimeZone::UTC);
        let lat_deg = beach.origin.lat_deg();
        Ok(Self { zone, lat_deg, from: filter.from, to: filter.to, season: filter.season, after, until })
    }

    fn hold(&self, t: Timestamp) -> bool {
        let date = t.to_zoned_datetime(self.zone.clone()).date();
        self.from.is_none_or(|d| date >= d)
            && self.to.is_none_or(|d| date <= d)
            && self.season.is_none_or(|s| s.holds(date.month(), self.lat_deg))
            && self.after.is_none_or(|a| t >= a)
            && self.until.is_none_or(|u| t < u)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Book, Edit, SeaState, Setup, Storm, TrackPoint};
    use crate::earth::LonLat;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn storm(beach: Uid, name: &str, from: &str, to: &str) -> Storm {
        let sea = |t: &str| SeaState { time: at(t), hs_m: 4.0, tp_s: None, dir_deg: None, surge_m: None };
        let uid = Uid::of_content("storm", [name.as_bytes()]);
        Storm { uid, beach, name: name.into(), series: vec![sea(from), sea(to)], notes: String::new() }
    }

    /// An invented beach with an outing in each of January, April and July, each with a track, a coin
    /// and a ring-pull; two storms between them, one set-up in April; a find and a track without any date.
    fn invented() -> (Book, Beach) {
        let origin = LonLat::new(-20.0, 45.0).unwrap();
        let mut beach = Beach::new("Invented Bay", origin);
        beach.time_zone = "Atlantic/Azores".into();
        let setup = Setup::new("wet sand");
        let mut edits = vec![Edit::put(beach.clone()), Edit::put(setup.clone())];
        edits.push(Edit::put(storm(beach.uid, "the first storm", "2026-02-01T00:00:00Z", "2026-02-02T00:00:00Z")));
        edits.push(Edit::put(storm(beach.uid, "the second storm", "2026-05-01T00:00:00Z", "2026-05-02T00:00:00Z")));
        let track = |outing, time: Option<Timestamp>, n: u8| {
            let segments = vec![vec![TrackPoint::new(origin).with_time(time)].into()];
            Track { uid: Uid::of_content("track", [[n].as_slice()]), beach: beach.uid, outing, name: String::new(), segments }
        };
        for (n, day) in (0u8..).zip(["2026-01-15", "2026-04-15", "2026-07-15"]) {
            let start = at(&format!("{day}T10:00:00Z"));
            let mut outing = Outing::new(beach.uid, start, at(&format!("{day}T12:00:00Z")));
            outing.setup = (n == 1).then_some(setup.uid);
            edits.push(Edit::put(outing.clone()));
            for key in ["gb_2_pound", "ring_pull"] {
                let mut find = Find::new(beach.uid, origin, key, Kind::keyed(key));
                find.outing = Some(outing.uid);
                edits.push(Edit::put(find));
            }
            edits.push(Edit::put(track(Some(outing.uid), Some(start), n)));
        }
        edits.push(Edit::put(Find::new(beach.uid, origin, "found some day", Kind::keyed("coin"))));
        edits.push(Edit::put(track(None, None, 9)));
        let mut book = Book::new();
        book.apply(&Edit::Batch(edits)).unwrap();
        (book, beach)
    }

    fn sizes(filter: &Filter) -> (usize, usize, usize) {
        let (book, beach) = invented();
        let cut = filter.cut(&book, &beach).unwrap();
        (cut.finds, cut.book.tracks_of(beach.uid).count(), cut.undated)
    }

    fn date(text: &str) -> Option<Date> {
        Some(text.parse().unwrap())
    }

    #[test]
    fn an_open_filter_takes_everything() {
        assert!(Filter::default().is_open());
        assert_eq!(sizes(&Filter::default()), (7, 4, 0));
        let weight = Filter { weight: Some(WeightChoice::Heavy), ..Filter::default() };
        assert_eq!(sizes(&weight), (7, 4, 0), "a weight is a matter of what is told");
    }

    #[test]
    fn kinds_take_finds_and_leave_the_ground() {
        let coins = Filter { kinds: [Kind::keyed("coin")].into(), ..Filter::default() };
        assert_eq!(sizes(&coins), (4, 4, 0), "a particular coin is a coin, and the ground is the same");
        assert!(!coins.cuts_outings());
    }

    #[test]
    fn dates_storms_seasons_and_set_ups_take_finds_and_ground_alike() {
        let (book, _) = invented();
        let storm = |name: &str| book.storms().values().find(|s| s.name == name).map(|s| s.uid);
        let open = Filter::default;
        let cases = [
            (Filter { from: date("2026-04-15"), ..open() }, (4, 2, 2)),
            (Filter { to: date("2026-04-15"), ..open() }, (4, 2, 2)),
            (Filter { from: date("2026-04-16"), to: date("2026-07-14"), ..open() }, (0, 0, 2)),
            (Filter { after_storm: storm("the first storm"), ..open() }, (2, 1, 2)),
            (Filter { after_storm: storm("the second storm"), ..open() }, (2, 1, 2)),
            (Filter { season: Some(Season::Winter), ..open() }, (2, 1, 2)),
            (Filter { setup: book.setups().keys().next().copied(), ..open() }, (2, 1, 2)),
            (Filter { season: Some(Season::Autumn), ..open() }, (0, 0, 2)),
        ];
        for (filter, want) in cases {
            assert_eq!(sizes(&filter), want, "{filter:?}");
            assert!(filter.cuts_outings());
        }
    }

    /// Half past midnight in UTC is still the day before on a beach west of Greenwich.
    #[test]
    fn a_day_is_the_beach_s_own() {
        let (mut book, beach) = invented();
        let start = at("2026-03-10T00:30:00Z");
        let outing = Outing::new(beach.uid, start, start);
        let mut find = Find::new(beach.uid, beach.origin, "penny", Kind::keyed("coin"));
        find.outing = Some(outing.uid);
        book.apply(&Edit::Batch(vec![Edit::put(outing), Edit::put(find)])).unwrap();
        let on = |day: &str| Filter { from: date(day), to: date(day), ..Filter::default() }.cut(&book, &beach).unwrap().finds;
        assert_eq!((on("2026-03-09"), on("2026-03-10")), (1, 0));
    }

    #[test]
    fn what_cannot_be_is_said() {
        let (book, beach) = invented();
        let wrong = Filter { from: date("2026-05-01"), to: date("2026-04-01"), ..Filter::default() };
        assert!(wrong.cut(&book, &beach).unwrap_err().to_string().contains("turn them round"));
        for gone in [
            Filter { after_storm: Some(Uid::of_content("storm", [])), ..Filter::default() },
            Filter { setup: Some(Uid::of_content("setup", [])), ..Filter::default() },
        ] {
            assert!(gone.cut(&book, &beach).unwrap_err().to_string().contains("not in the book"));
            assert!(gone.words(&book, &beach)[0].contains("no longer there"));
        }
    }

    #[test]
    fn it_is_told_in_words_and_comes_back_from_its_file() {
        let (book, beach) = invented();
        let filter = Filter {
            kinds: [Kind::keyed("coin")].into(),
            weight: Some(WeightChoice::Heavy),
            from: date("2026-01-01"),
            to: date("2026-06-30"),
            after_storm: book.storms_of(beach.uid).first().map(|s| s.uid),
            setup: book.setups().keys().next().copied(),
            season: Some(Season::Spring),
        };
        let said = filter.words(&book, &beach).join("; ");
        for part in [
            "1 Jan 2026 to 30 Jun 2026",
            "heavy",
            "after the first storm until the second storm",
            "with wet sand",
            "March to May",
        ] {
            assert!(said.contains(part), "{said}");
        }
        assert!(Filter::default().words(&book, &beach).is_empty());
        let text = serde_json::to_string(&filter).unwrap();
        assert_eq!(serde_json::from_str::<Filter>(&text).unwrap(), filter);
        assert_eq!(serde_json::from_str::<Filter>("{}").unwrap(), Filter::default());
    }
}
