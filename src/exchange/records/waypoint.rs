//! What a named point stands for: something dug, something heard and not dug, or a place one goes to.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::places;
use super::spoken::{Spoken, counts_up, names_a_place, names_danger, names_loss, spoken};
use crate::book::{Access, Find, KindGroup, Kinds, Signal, Uid};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::take_in::About;
use crate::exchange::take_in::identity::content_uid;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::what::What;

/// What a file says of a point beside its place.
#[derive(Debug, Clone, Default)]
pub(in crate::exchange) struct Named {
    pub(in crate::exchange) height_m: Option<f64>,
    pub(in crate::exchange) time: Option<Timestamp>,
    pub(in crate::exchange) name: String,
    pub(in crate::exchange) comment: String,
    pub(in crate::exchange) description: String,
    pub(in crate::exchange) symbol: String,
    pub(in crate::exchange) sort: String,
    pub(in crate::exchange) uid: Option<Uid>,
    /// The key of its kind, where this program wrote it.
    pub(in crate::exchange) kind: String,
    /// The folder it stands in, where that names ground to keep off.
    pub(in crate::exchange) keep_off: String,
    /// The same, where that names something else than finds.
    pub(in crate::exchange) no_finds: String,
    /// Whether the number in its name counts the waypoints of the file.
    pub(in crate::exchange) counted: bool,
}

impl Named {
    /// Whether it is a find as this program writes one: the name is what it is, and the description what is noted of it.
    fn is_own_find(&self) -> bool {
        self.uid.is_some() && self.sort == "find" && !(self.name.is_empty() && self.kind.is_empty())
    }
}

/// The waypoints of a file, held until all are there: only then is it known which numbers in their names count them.
#[derive(Default)]
pub(in crate::exchange) struct Waiting(Vec<(Mark, LonLat, Named)>);

impl Waiting {
    /// Adds one; where only positions are wanted nothing waits.
    pub(in crate::exchange) fn add(&mut self, taking: &mut Taking<'_>, mark: Mark, at: LonLat, named: Named) -> Result<(), Stop> {
        if taking.is_survey() {
            return take(taking, mark, at, &named).map(drop);
        }
        self.0.push((mark, at, named));
        Ok(())
    }

    /// Takes them all; how many names said more than what the thing is.
    pub(in crate::exchange) fn finish(self, taking: &mut Taking<'_>) -> Result<u64, Stop> {
        let counted = self.counted();
        let mut said = 0;
        for (n, (mark, at, named)) in self.0.into_iter().enumerate() {
            let named = Named { counted: counted.contains(&n), ..named };
            said += u64::from(take(taking, mark, at, &named)?);
        }
        Ok(said)
    }

    /// Those whose number goes on from waypoint to waypoint, through the file or behind the same words.
    fn counted(&self) -> BTreeSet<usize> {
        let mut series: BTreeMap<String, Vec<(usize, f64)>> = BTreeMap::new();
        for (n, (.., named)) in self.0.iter().enumerate() {
            let Some(number) = spoken(&named.name).target_id.filter(|_| named.uid.is_none() && !named_signal(named)) else {
                continue;
            };
            let words: String = named.name.chars().filter(|c| c.is_alphabetic()).flat_map(char::to_lowercase).collect();
            for of in [words, String::new()] {
                series.entry(of).or_default().push((n, number));
            }
        }
        let counting = series.into_values().filter(|numbers| {
            let numbers: Vec<f64> = numbers.iter().map(|(_, number)| *number).collect();
            counts_up(&numbers)
        });
        counting.flatten().map(|(n, _)| n).collect()
    }
}

/// Takes a waypoint as what it is said or seems to be; whether its name said more than what the thing is.
fn take(taking: &mut Taking<'_>, mark: Mark, at: LonLat, named: &Named) -> Result<bool, Stop> {
    let beach = taking.beach.uid;
    match taking.options.what {
        Some(What::Levels) => match named.height_m {
            Some(height_m) => places::receivers_level(taking, mark, at, height_m, named.time)?,
            None => taking.refuse(mark, "has no height, so it gives no level"),
        },
        Some(What::Tracks | What::Baseline) => {
            taking.count(mark.line, "waypoint(s) were passed over, as only the lines were asked for");
        }
        Some(What::Signals) => taking.take_as(mark, signal(beach, at, named), named.uid)?,
        None if named_signal(named) && !named.is_own_find() => taking.take_as(mark, signal(beach, at, named), named.uid)?,
        None if named.uid.is_none() && no_find(named).is_some() => return place(taking, mark, at, named),
        Some(What::Accesses) => taking.take(mark, access(beach, at, named))?,
        _ => return take_find(taking, mark, at, named),
    }
    Ok(false)
}

/// Why a waypoint seems to be no find.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum NoFind {
    /// Its folder names ground to keep off.
    KeepOff,
    /// Its folder names something else than finds.
    Folder,
    /// It names a place, such as where the car stood.
    Place,
    /// It names a danger or a ban.
    Danger,
    /// It names what somebody lost.
    Lost,
}

fn no_find(named: &Named) -> Option<NoFind> {
    if !named.keep_off.is_empty() {
        return Some(NoFind::KeepOff);
    }
    if !named.no_finds.is_empty() {
        return Some(NoFind::Folder);
    }
    if named.sort == "find" {
        return None;
    }
    let other = Kinds::shipped().recognise(&named.name).key() == "other";
    if other && names_danger(&named.name) {
        return Some(NoFind::Danger);
    }
    if names_loss(&named.name) {
        return Some(NoFind::Lost);
    }
    named_place(named).then_some(NoFind::Place)
}

/// A waypoint that seems to be no find.
fn place(taking: &mut Taking<'_>, mark: Mark, at: LonLat, named: &Named) -> Result<bool, Stop> {
    let why = no_find(named).unwrap_or(NoFind::Place);
    let question = || {
        let (name, line) = (&named.name, mark.line);
        let no_ground = "A point closes no ground, so draw an area round what is not to be walked on.";
        match why {
            NoFind::KeepOff => format!(
                "points such as \"{name}\" (line {line}) stand in a folder that names ground to keep off, \"{}\": what are they? {no_ground}",
                named.keep_off
            ),
            NoFind::Folder => format!(
                "points such as \"{name}\" (line {line}) stand in a folder \"{}\", which names no finds: what are they?",
                named.no_finds
            ),
            NoFind::Place => format!("waypoints such as \"{name}\" (line {line}) name a place: what are they?"),
            NoFind::Danger => {
                format!("waypoints such as \"{name}\" (line {line}) name a danger or a ban: what are they? {no_ground}")
            }
            NoFind::Lost => format!("waypoints such as \"{name}\" (line {line}) name something lost: what are they?"),
        }
    };
    let left_out = match why {
        NoFind::KeepOff | NoFind::Place => "waypoint(s) name a place and were left out",
        NoFind::Folder => "point(s) stand in folders that name no finds and were left out",
        NoFind::Danger => "waypoint(s) name a danger or a ban and were left out; draw an area to keep routes off it",
        NoFind::Lost => "waypoint(s) name something lost and were left out",
    };
    match taking.settle(About::Waypoints, question, Some("leave")) {
        Some("finds") => return take_find(taking, mark, at, named),
        Some("accesses") => taking.take(mark, access(taking.beach.uid, at, named))?,
        _ => taking.count(mark.line, left_out),
    }
    Ok(false)
}

fn take_find(taking: &mut Taking<'_>, mark: Mark, at: LonLat, named: &Named) -> Result<bool, Stop> {
    let plain = find(taking.beach.uid, at, named);
    let mut said = spoken(&named.name);
    if named.counted && said.target_id.take().is_some() && named.uid.is_none() {
        taking.count(
            mark.line,
            "name(s) of waypoints end with a number that seems to count them; it stays in the words and is no target ID",
        );
    }
    if named.uid.is_some() || !said.says_anything() {
        taking.take_as(mark, plain, named.uid)?;
        return Ok(false);
    }
    // It keeps the uid it has by its words alone, so that a file of before is known again.
    let uid = content_uid(&plain.clone().into());
    taking.take_known(mark, as_spoken(plain, &said), uid)?;
    Ok(true)
}

/// Tells the rule by which the names of waypoints were read, where some said more.
pub(in crate::exchange) fn tell_spoken(taking: &mut Taking<'_>, count: u64) {
    if count > 0 {
        taking.understand(
            "names of waypoints",
            format!(
                "{count} of them say more: behind the first word a number in cm, inches or feet is the depth, in mm the size, with a unit of \
                 mass the mass, and a single whole number with no word behind it the target ID, unless it counts the waypoints or is a fineness"
            ),
        );
    }
}

/// Whether a waypoint is named a signal rather than something dug.
fn named_signal(named: &Named) -> bool {
    let says = |text: &str| {
        text.split(|c: char| !c.is_alphanumeric()).any(|w| matches!(w.to_lowercase().as_str(), "signal" | "signals"))
    };
    [&named.name, &named.sort, &named.symbol].into_iter().any(|t| says(t))
}

fn signal(beach: Uid, at: LonLat, named: &Named) -> Signal {
    // Numbers after the word are the target IDs as they came: "signal 12 13 12".
    let target_ids = |text: &str| text.split(|c: char| c != '-' && !c.is_ascii_digit()).filter_map(|w| w.parse().ok()).collect();
    let notes = [named.name.as_str(), &named.comment, &named.description].into_iter().filter(|t| !t.is_empty());
    Signal {
        time: named.time,
        target_ids: target_ids(&named.name),
        notes: notes.collect::<Vec<_>>().join("; "),
        ..Signal::new(beach, at)
    }
}

/// A way on or off the beach.
fn access(beach: Uid, at: LonLat, named: &Named) -> Access {
    Access { uid: Uid::of_content("", []), beach, name: named.name.clone(), at, notes: named.description.clone() }
}

/// Whether a waypoint names a place and nothing that is dug.
fn named_place(named: &Named) -> bool {
    let kinds = Kinds::shipped();
    let texts = [named.name.as_str(), &named.description, &named.comment, &named.sort, &named.symbol];
    named.sort != "find"
        && texts.iter().all(|t| kinds.recognise(t).key() == "other")
        && names_a_place(&[&named.name, &named.symbol])
}

/// What a waypoint's name says beside the thing, put into the find.
fn as_spoken(find: Find, said: &Spoken) -> Find {
    Find { target_id: said.target_id, depth_m: said.depth_m, size_mm: said.size_mm, mass_g: said.mass_g, ..find }
}

fn find(beach: Uid, at: LonLat, named: &Named) -> Find {
    let kinds = Kinds::shipped();
    // The first text that speaks of a known kind says what it is: many receivers only number their waypoints.
    let texts = [&named.name, &named.description, &named.comment, &named.sort, &named.symbol];
    let is_own = named.is_own_find();
    let spoken = texts.iter().find(|t| kinds.recognise(t).key() != "other").filter(|_| !is_own);
    let numbered = named.name.chars().all(|c| !c.is_alphabetic());
    let what = match spoken {
        Some(text) => text.as_str(),
        None if numbered && !is_own => texts.iter().skip(1).find(|t| !t.is_empty()).map_or(named.name.as_str(), |t| t.as_str()),
        None => &named.name,
    };
    let notes = [&named.name, &named.description, &named.comment].into_iter().filter(|t| !t.is_empty() && t.as_str() != what);
    let notes = notes.map(String::as_str).collect::<Vec<_>>().join("; ");
    let said = kinds.recognise(what);
    // Whatever the kind is said to be, words that speak of danger are not to be read past.
    let stated = is_own && !named.kind.is_empty() && said.group() != KindGroup::Danger;
    let kind = if stated { kinds.recognise(&named.kind) } else { said };
    Find { time: named.time, notes, ..Find::new(beach, at, what, kind) }
}
