//! What of a track is not where the coil went: spikes of the receiver, its drift while one stands, pauses.

use std::sync::Arc;

use jiff::Timestamp;
use serde::Serialize;

use crate::book::{Edit, Track, TrackPoint, Uid};
use crate::earth::{LonLat, distance_m};

/// What counts as a spike, as rest and as a pause.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Thresholds {
    /// Faster than this from fix to fix is no one on foot with a coil, metres per second: one searches at about 0.5 and
    /// walks at 1.5 (common practice, no published source).
    pub spike_m_per_s: f64,
    /// A shorter step is the usual error of a receiver, metres, however fast it makes one seem.
    pub spike_m: f64,
    /// A spike that lasts longer is a ride or a boat, and no mistake of the receiver, fixes.
    pub spike_fixes: usize,
    /// Slower than this over ten seconds is standing: who searches moves on by three metres in ten seconds, a receiver at
    /// rest drifts by one (common practice, no published source).
    pub rest_m_per_s: f64,
    /// Who stands keeps within this of one place as the receiver sees it, metres.
    pub rest_radius_m: f64,
    /// Shorter rests are the digging of a hole and stay as they are, seconds.
    pub rest_s: f64,
    /// A longer rest, or time without a fix, is a pause: nothing is drawn across it, seconds.
    pub pause_s: f64,
}

impl Default for Thresholds {
    fn default() -> Self {
        Self {
            spike_m_per_s: 4.0,
            spike_m: 8.0,
            spike_fixes: 3,
            rest_m_per_s: 0.15,
            rest_radius_m: 6.0,
            rest_s: 180.0,
            pause_s: 600.0,
        }
    }
}

/// Over how long standing is told from moving, seconds.
const STANDING_S: f64 = 10.0;
/// Between fixes farther apart than this nobody knows whether one stood or walked and came back, seconds.
const KNOWN_S: f64 = 60.0;

/// Fixes that lie off the way and back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spike {
    /// Time of the first of them.
    pub time: Option<Timestamp>,
    /// How many fixes.
    pub fixes: usize,
    /// The speed with which they were reached, metres per second.
    pub m_per_s: f64,
}

/// A stretch in which one stood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rest {
    /// From when.
    pub from: Option<Timestamp>,
    /// To when.
    pub to: Option<Timestamp>,
    /// How many fixes make place for one at its beginning and one at its end, both in its middle.
    pub fixes: usize,
}

/// What would be cleaned of a track.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// The track.
    pub track: Uid,
    /// Fixes before.
    pub fixes: usize,
    /// What lies off the way.
    pub spikes: Vec<Spike>,
    /// Where one stood.
    pub rests: Vec<Rest>,
    /// How many pauses part it.
    pub pauses: usize,
    /// The track as it would be, under the same uid, so that its file is known again.
    pub after: Track,
}

impl Cleaned {
    /// The change; its inverse gives the track back as it was.
    pub fn edit(&self) -> Edit {
        Edit::put(self.after.clone())
    }

    /// What would go, in a sentence.
    pub fn words(&self) -> String {
        let gone = self.fixes.saturating_sub(self.after.len());
        let spikes: usize = self.spikes.iter().map(|s| s.fixes).sum();
        format!(
            "{gone} of {} fixes would go: {spikes} off the way in {} spike(s), the rest while standing in {} place(s); it would be parted \
             at {} pause(s)",
            self.fixes,
            self.spikes.len(),
            self.rests.len(),
            self.pauses
        )
    }
}

/// What would be cleaned of a track; `None` where there is nothing. A fix without a time is left as it is.
pub fn clean(track: &Track, by: &Thresholds) -> Option<Cleaned> {
    let mut found = Cleaned {
        track: track.uid,
        fixes: track.len(),
        spikes: Vec::new(),
        rests: Vec::new(),
        pauses: 0,
        after: Track { segments: Vec::new(), ..track.clone() },
    };
    for segment in &track.segments {
        let calm = without_spikes(segment, by, &mut found.spikes);
        let stood = without_drift(&calm, by, &mut found.rests);
        let runs = parted(&stood, by);
        found.pauses += runs.len().saturating_sub(1);
        found.after.segments.extend(runs.into_iter().map(Arc::from));
    }
    let changed = !found.spikes.is_empty() || !found.rests.is_empty() || found.pauses > 0;
    (changed && !found.after.is_empty()).then_some(found)
}

/// The speed from one fix to the next, where both have a time and the step is longer than a receiver's usual error.
fn leap(a: &TrackPoint, b: &TrackPoint, by: &Thresholds) -> Option<f64> {
    let seconds = b.time_s()? - a.time_s()?;
    let metres = distance_m(a.at, b.at);
    if metres < by.spike_m {
        return None;
    }
    let speed = metres / seconds.abs().max(0.5);
    (speed > by.spike_m_per_s).then_some(speed)
}

fn without_spikes(fixes: &[TrackPoint], by: &Thresholds, spikes: &mut Vec<Spike>) -> Vec<TrackPoint> {
    let mut kept: Vec<TrackPoint> = Vec::with_capacity(fixes.len());
    let mut n = 0;
    while let Some(fix) = fixes.get(n) {
        let before = kept.last();
        let reached = match before {
            Some(before) => leap(before, fix, by),
            // The first fixes of a receiver that has not settled: what follows is the way.
            None => fixes.get(n + 1).and_then(|next| leap(fix, next, by)),
        };
        let Some(m_per_s) = reached else {
            kept.push(*fix);
            n += 1;
            continue;
        };
        let back = (1..=by.spike_fixes).find(|count| match (before, fixes.get(n + count)) {
            (Some(before), Some(after)) => leap(before, after, by).is_none(),
            // At the end nothing comes back.
            (Some(_), None) => true,
            (None, Some(after)) => fixes.get(n + count + 1).is_some_and(|next| leap(after, next, by).is_none()),
            (None, None) => false,
        });
        match back {
            Some(count) => {
                spikes.push(Spike { time: fix.time(), fixes: count.min(fixes.len() - n), m_per_s });
                n += count;
            }
            // It does not come back: whoever is in a car is there, not here.
            None => {
                kept.push(*fix);
                n += 1;
            }
        }
    }
    kept
}

fn without_drift(fixes: &[TrackPoint], by: &Thresholds, rests: &mut Vec<Rest>) -> Vec<TrackPoint> {
    let standing = standing(fixes, by);
    let mut kept: Vec<TrackPoint> = Vec::with_capacity(fixes.len());
    let mut n = 0;
    while let Some(fix) = fixes.get(n) {
        let run = standing.iter().skip(n).take_while(|s| **s).count();
        let stretch = fixes.get(n..n + run).unwrap_or_default();
        match middle_of_rest(stretch, by) {
            Some(middle) if stretch.len() > 2 => {
                let at = |p: &TrackPoint| {
                    let mut there = *p;
                    there.at = middle;
                    there
                };
                kept.extend(stretch.first().map(at).into_iter().chain(stretch.last().map(at)));
                let time = |p: Option<&TrackPoint>| p.and_then(TrackPoint::time);
                rests.push(Rest { from: time(stretch.first()), to: time(stretch.last()), fixes: stretch.len() });
                n += stretch.len();
            }
            _ => {
                kept.push(*fix);
                n += 1;
            }
        }
    }
    kept
}

/// Which fixes one stands at: within ten seconds hardly any way is made.
fn standing(fixes: &[TrackPoint], by: &Thresholds) -> Vec<bool> {
    let mut standing = vec![false; fixes.len()];
    let mut ahead = 0;
    for (n, fix) in fixes.iter().enumerate() {
        let Some(from_s) = fix.time_s() else { continue };
        ahead = ahead.max(n);
        while fixes.get(ahead).is_some_and(|p| p.time_s().is_none_or(|t| t - from_s < STANDING_S)) {
            ahead += 1;
        }
        let Some((after, to_s)) = fixes.get(ahead).and_then(|p| Some((p, p.time_s()?))) else { break };
        if to_s - from_s <= KNOWN_S && distance_m(fix.at, after.at) / (to_s - from_s) <= by.rest_m_per_s {
            standing.iter_mut().take(ahead + 1).skip(n).for_each(|s| *s = true);
        }
    }
    standing
}

/// The middle of a stretch, if it lasts and stays at one place.
fn middle_of_rest(stretch: &[TrackPoint], by: &Thresholds) -> Option<LonLat> {
    let lasted = stretch.last()?.time_s()? - stretch.first()?.time_s()?;
    if lasted < by.rest_s {
        return None;
    }
    let count = stretch.len() as f64;
    let first = stretch.first()?.at;
    let mean = |degrees: fn(LonLat) -> f64| {
        let from = degrees(first);
        from + stretch.iter().map(|p| degrees(p.at) - from).sum::<f64>() / count
    };
    let middle = LonLat::new(mean(LonLat::lon_deg), mean(LonLat::lat_deg)).ok()?;
    stretch.iter().all(|p| distance_m(middle, p.at) <= by.rest_radius_m).then_some(middle)
}

/// The runs between pauses.
fn parted(fixes: &[TrackPoint], by: &Thresholds) -> Vec<Vec<TrackPoint>> {
    let pause = |a: &TrackPoint, b: &TrackPoint| a.time_s().zip(b.time_s()).is_some_and(|(a, b)| b - a > by.pause_s);
    fixes.chunk_by(|a, b| !pause(a, b)).map(<[TrackPoint]>::to_vec).collect()
}
