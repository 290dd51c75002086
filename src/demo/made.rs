use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp, civil::date};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use super::buried::{self, Buried};
use super::calendar::{self, TIME_ZONE};
use super::ground::{self, DATUM_OFFSET_M, Ground, Spot, level_m};
use super::planting::{Cause, Planting, Truth};
use super::receiver::{self, Received};
use super::things::{Thing, spread};
use super::walk::{Aim, Field, Heard, SWING_M, Walk, Walker, heard_per_pass};
use super::weather::{self, STORM_HS_M};
use super::{DemoError, STATION, scene};
use crate::book::{
    Access, Barrier, Beach, BenchReading, Book, Find, LevelPoint, Outing, Permission, Record, SandNote, SeaRecord, SeaState,
    Setup, Signal, Steadiness, Storm, TideChoice, Track, TrackPoint, Uid, Zone,
};
use crate::earth::LonLat;

/// The finds of which outings were written down where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Sheet {
    /// The log as GeoJSON.
    Log,
    /// A paper notebook typed up: inches, day first.
    Inches,
    /// A spreadsheet with decimal commas and centimetres.
    Commas,
    /// Waypoints in the receiver, next to the track.
    Waypoint,
}

/// The invented beach with everything on it, as records, and the truth behind them.
#[derive(Debug, Clone)]
pub struct Made {
    /// The beach, with its baseline.
    pub beach: Beach,
    /// The set-ups used.
    pub setups: Vec<Setup>,
    /// The outings, in order of time.
    pub outings: Vec<Outing>,
    /// One track an outing, in the same order.
    pub tracks: Vec<Track>,
    /// What was dug, in order of time.
    pub finds: Vec<Find>,
    /// What was heard and left, in order of time.
    pub signals: Vec<Signal>,
    /// The zones.
    pub zones: Vec<Zone>,
    /// The ways onto the sand.
    pub accesses: Vec<Access>,
    /// What bars the way.
    pub barriers: Vec<Barrier>,
    /// Two surveys of the sand's level.
    pub levels: Vec<LevelPoint>,
    /// The permissions.
    pub permissions: Vec<Permission>,
    /// The sea every three hours.
    pub sea: Vec<SeaState>,
    /// Its storms, cut out of that record.
    pub storms: Vec<Storm>,
    /// Known targets read with each set-up.
    pub bench: Vec<BenchReading>,
    /// What was planted.
    pub truth: Truth,
    pub(super) sheets: BTreeMap<Uid, Sheet>,
}

/// Each part draws from its own stream, so that more of one does not change another.
fn stream(seed: u64, part: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(part);
    rng
}

impl Planting {
    /// Makes the beach.
    ///
    /// # Errors
    /// [`DemoError`] when a record or position would not be valid, which no planting should bring about.
    pub fn make(&self) -> Result<Made, DemoError> {
        let ground = Ground::new()?;
        let storms = weather::storms(&mut stream(self.seed, 1));
        let sea = weather::record(&storms, &mut stream(self.seed, 2));
        let sand = buried::bury(self, &ground, &storms, &mut stream(self.seed, 3))?;
        let beach = beach(&ground)?;
        let setups = scene::setups();
        let visits = calendar::visits(self.outings.clamp(1, 60), &storms, &mut stream(self.seed, 4));
        let mut field = Field::new(&sand.buried);
        let mut made = Made {
            zones: scene::zones(&ground, beach.uid)?,
            accesses: scene::accesses(&ground, beach.uid)?,
            barriers: scene::barriers(&ground, beach.uid)?,
            levels: surveys(&ground, beach.uid, &mut stream(self.seed, 5))?,
            permissions: scene::permissions(&ground, beach.uid)?,
            storms: cut_storms(beach.uid, &sea),
            bench: scene::bench(&setups, &mut stream(self.seed, 6)),
            beach,
            setups,
            outings: Vec::new(),
            tracks: Vec::new(),
            finds: Vec::new(),
            signals: Vec::new(),
            sea,
            truth: Truth {
                drop_zones: sand.drop_zones,
                scour_lines: sand.scour_lines,
                storms,
                heard_per_pass: mean_heard(&sand.buried),
                swing_m: SWING_M,
                scattered_per_100m2: self.scattered_per_100m2,
                cause_of: BTreeMap::new(),
                place_of: BTreeMap::new(),
            },
            sheets: BTreeMap::new(),
        };
        let first_share: f64 = stream(self.seed, 7).random();
        for (number, visit) in visits.into_iter().enumerate() {
            let mut rng = stream(self.seed, 100 + number as u64);
            // The golden ratio spreads any number of outings evenly along the beach.
            let aim = Aim::new(first_share + number as f64 * 0.618_034, self.bias, &mut rng);
            let walk = Walker::go(visit, aim, &mut field, stream(self.seed, 200 + number as u64));
            let received = receiver::receive(&walk, [4, 6, 5, 7, 6][number % 5], &mut rng);
            made.log(number, &walk, &received, &sand.buried, &ground, &mut rng)?;
        }
        Ok(made)
    }
}

impl Made {
    /// Writes one outing down: its track, finds and signals.
    fn log(
        &mut self,
        number: usize,
        walk: &Walk,
        received: &Received,
        buried: &[Buried],
        ground: &Ground,
        rng: &mut ChaCha8Rng,
    ) -> Result<(), DemoError> {
        let at_second = |s: usize| walk.start + SignedDuration::from_secs(s as i64);
        let with_quality = number % 3 == 1;
        let mut segments: Vec<Arc<[TrackPoint]>> = Vec::new();
        for segment in &received.segments {
            let mut points = Vec::with_capacity(segment.len());
            for fix in segment {
                let point = TrackPoint::new(ground.place(fix.at, 6)?).with_time(Some(at_second(fix.second)));
                points.push(if with_quality {
                    point.with_hdop(Some(fix.hdop)).with_satellites(Some(fix.satellites))
                } else {
                    point
                });
            }
            segments.push(points.into());
        }
        let (Some(first), Some(last)) = (
            segments.first().and_then(|s| s.first()).and_then(TrackPoint::time),
            segments.last().and_then(|s| s.last()).and_then(TrackPoint::time),
        ) else {
            return Ok(());
        };
        let setup = &self.setups[[0, 0, 1, 0, 2][number % 5]];
        let outing = Outing {
            name: format!("Outing {}", number + 1),
            setup: Some(setup.uid),
            sand: self.sand_notes(first),
            ..Outing::new(self.beach.uid, first, last)
        };
        let scale = scene::scale_of(setup, &self.setups);
        let sheet = [Sheet::Log, Sheet::Log, Sheet::Inches, Sheet::Log, Sheet::Commas, Sheet::Log][number % 6];
        for (n, heard) in walk.heard.iter().enumerate() {
            let Some(b) = buried.get(heard.buried) else { continue };
            let step = walk.steps.get(heard.second).map_or(b.at, |s| s.at);
            // The position is the receiver's, read while the coil was over the thing or nearly so.
            let shift = received.seen(step, heard.second);
            let seen = b.at.moved(shift.along_m - step.along_m, shift.across_m - step.across_m);
            let at = ground.place(seen, 7)?;
            let time = at_second(heard.second);
            if heard.dug {
                let sheet = if number % 7 == 4 && n % 6 == 0 { Sheet::Waypoint } else { sheet };
                let find = self.find(&b.thing, at, time, &outing, scale, sheet, rng);
                self.truth.cause_of.insert(find.uid, b.cause);
                self.truth.place_of.insert(find.uid, ground.place(b.at, 7)?);
                self.sheets.insert(find.uid, sheet);
                self.finds.push(find);
            } else {
                self.signals.push(signal(&b.thing, at, time, &outing, scale, heard, rng));
            }
        }
        let uid = Track::content_uid(self.beach.uid, &segments);
        let name = format!("{} {}", self.beach.name, first.strftime("%Y-%m-%d"));
        self.tracks.push(Track { uid, beach: self.beach.uid, outing: Some(outing.uid), name, segments });
        self.outings.push(outing);
        Ok(())
    }

    /// What one sees of the sand at an instant: cut soon after a storm, sanded in long after.
    fn sand_notes(&self, time: Timestamp) -> Vec<SandNote> {
        let since_days = |peak: Timestamp| (time.as_second() - peak.as_second()) as f64 / 86_400.0;
        let latest = self
            .truth
            .storms
            .iter()
            .map(|s| (since_days(s.peak), s.hs_m))
            .filter(|s| s.0 > 0.0)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match latest {
            Some((days, hs_m)) if days < 12.0 && hs_m > 3.8 => vec![SandNote::Cut, SandNote::Clay],
            Some((days, _)) if days < 12.0 => vec![SandNote::Cut, SandNote::BlackSand],
            Some((days, _)) if days < 40.0 => vec![SandNote::Shell],
            Some(_) => vec![SandNote::SandedIn],
            None => Vec::new(),
        }
    }

    #[allow(clippy::too_many_arguments, reason = "one call, and each argument is a different thing")]
    fn find(
        &self,
        thing: &Thing,
        at: LonLat,
        time: Timestamp,
        outing: &Outing,
        scale: scene::Scale,
        sheet: Sheet,
        rng: &mut ChaCha8Rng,
    ) -> Find {
        let target_id = scale.read(thing.response + spread(rng, 0.015 + 0.06 * thing.depth_m));
        let weighed = thing.mass_g.filter(|_| rng.random_bool(0.45));
        let minute = Timestamp::from_second(time.as_second().div_euclid(60) * 60).unwrap_or(time);
        let inch_m = 0.0254;
        let (time, depth_m) = match sheet {
            Sheet::Log => (time, Some(thing.depth_m)),
            Sheet::Inches => (minute, Some((thing.depth_m / inch_m).round().max(1.0) * inch_m)),
            Sheet::Commas => (minute, Some(thing.depth_m)),
            Sheet::Waypoint => (time, None),
        };
        let full = sheet == Sheet::Log;
        let written = sheet != Sheet::Waypoint;
        Find {
            uid: Uid::of_content(
                "demo find",
                [
                    at.lon_deg().to_le_bytes().as_slice(),
                    &at.lat_deg().to_le_bytes(),
                    &time.as_second().to_le_bytes(),
                    thing.what.as_bytes(),
                ],
            ),
            outing: Some(outing.uid),
            time: Some(time),
            depth_m,
            target_id: written.then(|| f64::from(target_id)),
            mass_g: weighed.filter(|_| written),
            material: thing.material.filter(|_| full),
            size_mm: (full && rng.random_bool(0.3)).then_some(thing.size_mm),
            ..Find::new(self.beach.uid, at, thing.what, thing.kind.clone())
        }
    }

    /// Everything as records, in an order in which none names a later one.
    pub fn records(&self) -> Vec<Record> {
        let mut records: Vec<Record> = vec![self.beach.clone().into()];
        records.extend(self.setups.iter().cloned().map(Record::from));
        records.extend(self.outings.iter().cloned().map(Record::from));
        records.extend(self.tracks.iter().cloned().map(Record::from));
        records.extend(self.finds.iter().cloned().map(Record::from));
        records.extend(self.signals.iter().cloned().map(Record::from));
        records.extend(self.zones.iter().cloned().map(Record::from));
        records.extend(self.accesses.iter().cloned().map(Record::from));
        records.extend(self.barriers.iter().cloned().map(Record::from));
        records.extend(self.levels.iter().cloned().map(Record::from));
        records.extend(self.permissions.iter().cloned().map(Record::from));
        let (beach, name) = (self.beach.uid, "sea".to_owned());
        records.push(SeaRecord { uid: SeaRecord::uid_of(beach, &name), beach, name, states: self.sea.clone() }.into());
        records.extend(self.storms.iter().cloned().map(Record::from));
        records.extend(self.bench.iter().cloned().map(Record::from));
        records
    }

    /// The book that the beach fills, without going through files.
    ///
    /// # Errors
    /// [`DemoError::Book`] when a record is not valid, which would be an error of the generator.
    pub fn book(&self) -> Result<Book, DemoError> {
        Ok(Book::gather(self.records())?)
    }

    /// A place as metres along the beach's baseline and metres seaward of it, to compare with the truth.
    ///
    /// # Errors
    /// [`DemoError::Earth`] when the place is nowhere near the beach.
    pub fn along_across_m(&self, at: LonLat) -> Result<(f64, f64), DemoError> {
        let spot = Ground::new()?.spot_of(at)?;
        Ok((spot.along_m, spot.across_m))
    }

    /// How far seaward of the baseline the calm sand has a level, metres, at a place along it.
    pub fn across_at_level_m(&self, along_m: f64, level_m: f64) -> f64 {
        ground::across_at_level_m(along_m, level_m)
    }

    /// Level of the sand as the generator shaped it, calm, metres above the land datum.
    ///
    /// # Errors
    /// [`DemoError::Earth`] when the place is nowhere near the beach.
    pub fn level_m(&self, at: LonLat) -> Result<f64, DemoError> {
        Ok(ground::smooth_level_m(Ground::new()?.spot_of(at)?))
    }
}

pub(super) fn beach(ground: &Ground) -> Result<Beach, DemoError> {
    Ok(Beach {
        baseline: ground.baseline()?,
        tide: TideChoice::Station(STATION.to_owned()),
        datum_offset_m: Some(DATUM_OFFSET_M),
        time_zone: TIME_ZONE.to_owned(),
        invented: true,
        notes: "An invented beach in open water; its tide is borrowed from a real station.".to_owned(),
        ..Beach::new(scene::NAME, ground.origin())
    })
}

fn mean_heard(buried: &[Buried]) -> f64 {
    let scattered = || buried.iter().filter(|b| b.cause == Cause::Scattered);
    scattered().map(|b| heard_per_pass(b.thing.depth_m)).sum::<f64>() / scattered().count().max(1) as f64
}

fn signal(
    thing: &Thing,
    at: LonLat,
    time: Timestamp,
    outing: &Outing,
    scale: scene::Scale,
    heard: &Heard,
    rng: &mut ChaCha8Rng,
) -> Signal {
    let jitter = 0.012 + 0.08 * thing.depth_m;
    let target_ids: Vec<i32> = (0..rng.random_range(2..=5)).map(|_| scale.read(thing.response + spread(rng, jitter))).collect();
    let range = target_ids.iter().max().unwrap_or(&0) - target_ids.iter().min().unwrap_or(&0);
    Signal {
        uid: Uid::of_content(
            "demo signal",
            [at.lon_deg().to_le_bytes().as_slice(), &at.lat_deg().to_le_bytes(), &(heard.second as u64).to_le_bytes()],
        ),
        outing: Some(outing.uid),
        time: Some(time),
        steadiness: Some(match range {
            0..=3 => Steadiness::Steady,
            4..=9 => Steadiness::Jumpy,
            _ => Steadiness::Broken,
        }),
        gauge_step: Some((thing.depth_m / 0.05).round() as i32),
        target_ids,
        ..Signal::new(outing.beach, at)
    }
}

/// The storms of a record: unbroken spells with waves above the threshold.
fn cut_storms(beach: Uid, sea: &[SeaState]) -> Vec<Storm> {
    sea.chunk_by(|a, b| (a.hs_m >= STORM_HS_M) == (b.hs_m >= STORM_HS_M))
        .filter(|spell| spell[0].hs_m >= STORM_HS_M)
        .map(|spell| {
            let start = spell[0].time;
            Storm {
                uid: Uid::of_content("storm", [beach.to_string().as_bytes(), start.to_string().as_bytes()]),
                beach,
                name: format!("Storm of {}", start.strftime("%Y-%m-%d")),
                series: spell.to_vec(),
                notes: String::new(),
            }
        })
        .collect()
}

/// Two surveys of the sand: in a calm late summer and after the winter's gales, a line across the shore every 25 m.
fn surveys(ground: &Ground, beach: Uid, rng: &mut ChaCha8Rng) -> Result<Vec<LevelPoint>, DemoError> {
    let mut levels = Vec::new();
    for (survey, day, first_line_m, cut) in
        [("summer 2025", date(2025, 8, 28), 2.0, 0.0), ("after the gales", date(2026, 3, 6), 8.0, 0.8)]
    {
        let mut along = first_line_m;
        while along < ground::LENGTH_M {
            let mut across: f64 = 0.0;
            while across < 305.0 {
                let spot = Spot::new(along, across).moved(spread(rng, 1.2), spread(rng, 0.8));
                let level_m = ((level_m(spot, cut) + spread(rng, 0.025)) * 1000.0).round() / 1000.0;
                let at = ground.place(spot, 7)?;
                levels.push(LevelPoint {
                    uid: Uid::of_content(
                        "demo level",
                        [survey.as_bytes(), &at.lon_deg().to_le_bytes(), &at.lat_deg().to_le_bytes()],
                    ),
                    beach,
                    at,
                    level_m,
                    sigma_m: Some(0.03),
                    date: Some(day),
                    survey: survey.to_owned(),
                });
                across += if across < 60.0 { 7.5 } else { 13.0 };
            }
            along += 25.0;
        }
    }
    Ok(levels)
}
