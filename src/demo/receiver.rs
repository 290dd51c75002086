//! What a receiver in the pocket makes of a walk: fixes every few seconds, a few metres off, with gaps.

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::ground::Spot;
use super::things::spread;
use super::walk::Walk;

/// One fix, still on the beach's own plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fix {
    /// Second of the outing.
    pub(super) second: usize,
    pub(super) at: Spot,
    pub(super) hdop: f64,
    pub(super) satellites: u8,
}

/// A walk as received.
pub(super) struct Received {
    pub(super) segments: Vec<Vec<Fix>>,
    /// Error at each second, metres along and across.
    error: Vec<(f64, f64)>,
}

impl Received {
    /// Where the receiver believed a spot to be at a second of the outing.
    pub(super) fn seen(&self, at: Spot, second: usize) -> Spot {
        let (along, across) = self.error.get(second).copied().unwrap_or_default();
        at.moved(along, across)
    }
}

/// Receives a walk with a fix every `every_s` seconds.
///
/// The error is the sum of a slow drift (about 2.5 m, correlated over some minutes) and a fast
/// shiver (0.4 m over some seconds): neighbouring fixes err alike, as those of real receivers do.
pub(super) fn receive(walk: &Walk, every_s: usize, rng: &mut ChaCha8Rng) -> Received {
    let sigma_m = rng.random_range(1.5..2.3);
    let (mut slow, mut fast) = ((spread(rng, sigma_m), spread(rng, sigma_m)), (0.0, 0.0));
    let keep = |tau_s: f64| (-1.0 / tau_s).exp();
    let (slow_keep, fast_keep) = (keep(240.0), keep(8.0));
    let drive = |k: f64, sigma: f64| sigma * (1.0 - k * k).sqrt();
    let mut error = Vec::with_capacity(walk.steps.len());
    for _ in &walk.steps {
        let mut next = |v: f64, k: f64, sigma: f64| k * v + spread(rng, drive(k, sigma));
        slow = (next(slow.0, slow_keep, sigma_m), next(slow.1, slow_keep, sigma_m));
        fast = (next(fast.0, fast_keep, 0.4), next(fast.1, fast_keep, 0.4));
        error.push((slow.0 + fast.0, slow.1 + fast.1));
    }
    let gaps = quiet_spells(walk, rng.random_range(0..=3), 60..200, rng);
    let jumps = quiet_spells(walk, rng.random_range(0..=1), 10..25, rng);
    let mut received = Received { segments: vec![Vec::new()], error };
    let mut kept_at: Option<Spot> = None;
    let mut second = 0;
    let mut in_gap = false;
    while let Some(step) = walk.steps.get(second) {
        let lost = gaps.iter().any(|(a, b)| (*a..*b).contains(&second));
        if in_gap && !lost && rng.random_bool(0.6) && received.segments.last().is_some_and(|s| !s.is_empty()) {
            received.segments.push(Vec::new());
        }
        in_gap = lost;
        // As many receivers do, fewer fixes while one stands still.
        let standing = step.still && kept_at == Some(step.at) && second % (8 * every_s) >= every_s;
        if !lost && !standing {
            let jumped = jumps.iter().any(|(a, b)| (*a..*b).contains(&second));
            let mut at = received.seen(step.at, second);
            let off_m = if jumped { 24.0 } else { 0.0 };
            at = at.moved(off_m * 0.8 + if jumped { spread(rng, 4.0) } else { 0.0 }, off_m * 0.6);
            let hdop =
                if jumped { rng.random_range(5.0..11.0) } else { 0.7 + 0.25 * (sigma_m - 1.0) + rng.random_range(0.0..0.5) };
            let satellites = if jumped { rng.random_range(4..6) } else { rng.random_range(8..15) };
            if let Some(segment) = received.segments.last_mut() {
                segment.push(Fix { second, at, hdop: (hdop * 10.0).round() / 10.0, satellites });
            }
            kept_at = Some(step.at);
        }
        second += every_s;
    }
    received.segments.retain(|s| !s.is_empty());
    received
}

/// Spells of the walk in which nothing was heard, so that no find is cut off from its track.
fn quiet_spells(walk: &Walk, count: usize, length_s: std::ops::Range<usize>, rng: &mut ChaCha8Rng) -> Vec<(usize, usize)> {
    let mut spells = Vec::new();
    for _ in 0..count * 8 {
        if spells.len() == count || walk.steps.len() < 1200 {
            break;
        }
        let from = rng.random_range(300..walk.steps.len() - 600);
        let to = from + rng.random_range(length_s.clone());
        if !walk.heard.iter().any(|h| (from.saturating_sub(20)..to + 20).contains(&h.second)) {
            spells.push((from, to));
        }
    }
    spells
}
