//! Harmonic analysis of a gauge or logger record by least squares.
//!
//! h(t) = mean + Σ f (c cos(V + u) + s sin(V + u)), f and u those of the moment, solved by normal
//! equations and Cholesky factors; amplitude √(c² + s²), Greenwich phase lag atan2(s, c). Samples need not
//! be evenly spaced and may have gaps. Two constituents are only told apart when they drift by a whole
//! cycle over the record (the Rayleigh criterion). Standard errors come from the residual variance and the
//! inverse of the normal matrix, widened by (1 + r)/(1 − r) for residuals whose neighbours are correlated
//! by r (Bayley & Hammersley 1946, the large-sample form, from memory).
//!
//! Cost: n m²/2 multiplications for n samples and m unknowns, in blocks that stay in cache.

use jiff::Timestamp;

use super::astro::{Angles, seconds_j2000};
use super::constituent::{Constituent, Convention};
use super::infer::{Fitted, Inferred, Ratio};
use super::nodal::NodalTerms;
use super::{Constant, Datum, DatumsFrom, Licence, Place, Publisher, Station, TideError};
use crate::earth::LonLat;

/// Constituents looked for when none are named, the more important first, as the Rayleigh criterion
/// prefers them.
const CANDIDATES: &[&str] = &[
    "M2", "K1", "O1", "S2", "N2", "K2", "P1", "M4", "Q1", "MS4", "SA", "MU2", "NU2", "L2", "MN4", "2N2", "MF", "SSA", "M6", "MM",
    "MSF", "2MS6", "T2", "S1", "J1", "OO1", "NO1", "LAMBDA2", "M3", "2Q1", "RHO1", "MK3", "MO3", "S4", "MK4", "SO3", "SK3",
    "EPS2", "ETA2", "2SM2", "MSN2", "2MN6", "2MK5", "2SK5", "M8", "2SM6", "R2", "SIGMA1", "CHI1", "PHI1", "THETA1", "PI1",
    "PSI1", "SO1", "SN4", "3MK7",
];
/// Samples handled at once.
const BLOCK: usize = 256;
/// Seconds between exact nodal terms, linear between.
const NODAL_S: f64 = 5.0 * 86_400.0;

/// The constituents of one record.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// Mean level, metres above the record's zero.
    pub mean_m: f64,
    /// What was found, the largest first.
    pub fitted: Vec<Fitted>,
    /// Constituents that the record is too short to tell from others.
    pub unresolved: Vec<&'static str>,
    /// Those of the unresolved that were taken from a larger one beside them; they are among the fitted.
    pub inferred: Vec<Inferred>,
    /// Root mean square of what is left, metres.
    pub residual_m: f64,
    /// Samples used.
    pub samples: usize,
    /// Samples left out because they were not finite.
    pub left_out: usize,
}

impl Analysis {
    /// Analyses a record of times and levels for every constituent that it is long enough for, and infers the larger of
    /// the others from their neighbours by the equilibrium tide's ratios ([`Self::beside`]).
    ///
    /// # Errors
    /// [`TideError::RecordTooShort`] when fewer than two days or too few samples are left.
    pub fn from_record(record: &[(Timestamp, f64)]) -> Result<Self, TideError> {
        Self::beside(record, None)
    }

    /// The same, with the ratios of a station next to the gauge where there is one.
    ///
    /// Left out, a constituent that the record cannot tell from a larger one is taken for a part of that one: right in the
    /// middle of the record and wrong after it. K2 makes S2 swell and shrink over half a year.
    ///
    /// # Errors
    /// [`TideError::RecordTooShort`] when fewer than two days or too few samples are left.
    pub fn beside(record: &[(Timestamp, f64)], station: Option<&Station>) -> Result<Self, TideError> {
        let samples = prepared(record);
        let length_s = span_s(&samples);
        let mut chosen: Vec<&'static Constituent> = Vec::new();
        let mut unresolved = Vec::new();
        for constituent in CANDIDATES.iter().filter_map(|name| Constituent::named(name, Convention::Iho)) {
            let apart = |speed: f64| (constituent.speed_deg_h() - speed).abs() * length_s / 3600.0 >= 360.0;
            if apart(0.0) && chosen.iter().all(|other| apart(other.speed_deg_h())) {
                chosen.push(constituent);
            } else {
                unresolved.push(constituent.name());
            }
        }
        let ratios = Ratio::wanted(&chosen, &unresolved, station);
        fit(&samples, &chosen, &ratios, unresolved, record.len())
    }

    /// Analyses a record for the constituents named.
    ///
    /// # Errors
    /// [`TideError::UnknownConstituent`]; [`TideError::RecordTooShort`] when there are too few samples;
    /// [`TideError::Unresolved`] when two of the constituents asked for cannot be told apart.
    pub fn for_constituents(record: &[(Timestamp, f64)], names: &[&str]) -> Result<Self, TideError> {
        let samples = prepared(record);
        let length_s = span_s(&samples);
        let mut chosen: Vec<&'static Constituent> = Vec::new();
        for name in names {
            let constituent = Constituent::named(name, Convention::Iho)
                .ok_or_else(|| TideError::UnknownConstituent { name: (*name).to_owned() })?;
            for other in &chosen {
                let drift = (constituent.speed_deg_h() - other.speed_deg_h()).abs() / 360.0;
                // A hair of tolerance, so that 365 days resolve SA's neighbours as is usual.
                if drift * length_s / 3600.0 < 0.99 {
                    return Err(TideError::Unresolved {
                        a: other.name().to_owned(),
                        b: constituent.name().to_owned(),
                        have_days: length_s / 86_400.0,
                        need_days: 1.0 / (drift * 24.0),
                    });
                }
            }
            chosen.push(constituent);
        }
        fit(&samples, &chosen, &[], Vec::new(), record.len())
    }

    /// A station of the person's own from this analysis; its levels count from the record's zero.
    pub fn station(&self, id: impl Into<String>, name: impl Into<String>, at: LonLat, time_zone: impl Into<String>) -> Station {
        let zero = Datum::Other("STND".to_owned());
        Station {
            id: id.into(),
            name: name.into(),
            place: Place::default(),
            at,
            time_zone: time_zone.into(),
            publisher: Publisher::Own,
            licence: Licence::Own,
            chart_datum: zero.clone(),
            datums: vec![(zero, 0.0), (Datum::Msl, self.mean_m)],
            datums_from: DatumsFrom::Observed,
            epoch: String::new(),
            remark: String::new(),
            constants: self
                .fitted
                .iter()
                .map(|f| Constant { name: f.name.into(), amplitude_m: f.amplitude_m, phase_deg: f.phase_deg })
                .collect(),
        }
    }
}

/// Finite samples in order of time: seconds since J2000 and metres.
fn prepared(record: &[(Timestamp, f64)]) -> Vec<(f64, f64)> {
    let mut samples: Vec<(f64, f64)> =
        record.iter().filter(|(_, h)| h.is_finite()).map(|&(t, h)| (seconds_j2000(t), h)).collect();
    samples.sort_by(|a, b| a.0.total_cmp(&b.0));
    samples
}

fn span_s(samples: &[(f64, f64)]) -> f64 {
    match (samples.first(), samples.last()) {
        (Some(first), Some(last)) => last.0 - first.0,
        _ => 0.0,
    }
}

fn fit(
    samples: &[(f64, f64)],
    chosen: &[&'static Constituent],
    ratios: &[Ratio],
    unresolved: Vec<&'static str>,
    given: usize,
) -> Result<Analysis, TideError> {
    let m = 2 * chosen.len() + 1;
    let days = span_s(samples) / 86_400.0;
    // Sorted speeds from the mean on: an estimate wants about twice as many samples as unknowns.
    if chosen.is_empty() || samples.len() < 2 * m || days < 2.0 {
        return Err(TideError::RecordTooShort { samples: samples.len(), days, unknowns: m });
    }
    let offset = samples.iter().map(|s| s.1).sum::<f64>() / samples.len() as f64;
    let mut basis = Basis::new(chosen, ratios);
    let mut normal = vec![0.0; m * m];
    let mut right = vec![0.0; m];
    for block in samples.chunks(BLOCK) {
        let columns = basis.columns(block);
        let levels: Vec<f64> = block.iter().map(|s| s.1 - offset).collect();
        for i in 0..m {
            let a = &columns[i * BLOCK..i * BLOCK + block.len()];
            right[i] += dot(a, &levels);
            for j in 0..=i {
                normal[i * m + j] += dot(a, &columns[j * BLOCK..j * BLOCK + block.len()]);
            }
        }
    }
    let too_short = || TideError::RecordTooShort { samples: samples.len(), days, unknowns: m };
    let factor = cholesky(normal, m).ok_or_else(too_short)?;
    let x = solve(&factor, m, &right);
    // What is left, and how far neighbours of it are alike.
    let (mut squares, mut neighbours, mut before) = (0.0, 0.0, None);
    for block in samples.chunks(BLOCK) {
        let columns = basis.columns(block);
        for (row, sample) in block.iter().enumerate() {
            let model: f64 = (0..m).map(|i| x[i] * columns[i * BLOCK + row]).sum();
            let rest = sample.1 - offset - model;
            squares += rest * rest;
            neighbours += before.map_or(0.0, |b: f64| b * rest);
            before = Some(rest);
        }
    }
    let variance = squares / (samples.len() - m) as f64;
    let alike = if squares > 0.0 { (neighbours / squares).clamp(0.0, 0.99) } else { 0.0 };
    let variance = variance * (1.0 + alike) / (1.0 - alike);
    let mut fitted: Vec<Fitted> =
        chosen.iter().enumerate().map(|(k, c)| fitted(c.name(), &factor, m, 2 * k + 1, &x, variance)).collect();
    let inferred: Vec<Inferred> = ratios.iter().map(|r| r.of(&fitted[r.reference])).collect();
    fitted.extend(inferred.iter().map(|i| i.fitted.clone()));
    fitted.sort_by(|a, b| b.amplitude_m.total_cmp(&a.amplitude_m));
    Ok(Analysis {
        mean_m: offset + x[0],
        fitted,
        unresolved,
        inferred,
        residual_m: (squares / samples.len() as f64).sqrt(),
        samples: samples.len(),
        left_out: given - samples.len(),
    })
}

/// Amplitude and phase of the pair of unknowns at `i`, with their errors.
fn fitted(name: &'static str, factor: &[f64], m: usize, i: usize, x: &[f64], variance: f64) -> Fitted {
    let (c, s) = (x[i], x[i + 1]);
    let unit = |k: usize| {
        let mut e = vec![0.0; m];
        e[k] = 1.0;
        solve(factor, m, &e)
    };
    let (column_c, column_s) = (unit(i), unit(i + 1));
    let (vc, vs, cov) = (variance * column_c[i], variance * column_s[i + 1], variance * column_c[i + 1]);
    let amplitude_m = c.hypot(s);
    let a2 = (amplitude_m * amplitude_m).max(1e-18);
    Fitted {
        name,
        amplitude_m,
        phase_deg: s.atan2(c).to_degrees().rem_euclid(360.0),
        amplitude_sd_m: ((c * c * vc + s * s * vs + 2.0 * c * s * cov) / a2).max(0.0).sqrt(),
        phase_sd_deg: ((c * c * vs + s * s * vc - 2.0 * c * s * cov).max(0.0).sqrt() / a2).to_degrees().min(180.0),
    }
}

/// The columns of the least-squares problem, a block of samples at a time.
struct Basis<'a> {
    /// Those with columns of their own, then those that are inferred from one of them.
    all: Vec<&'static Constituent>,
    ratios: &'a [Ratio],
    columns: Vec<f64>,
    /// Nodal stretch in hand: its number, and for each constituent start phase, speed (rad/s) and the two
    /// ends of the slowly varying complex factor.
    stretch: Option<i64>,
    turning: Vec<Turning>,
}

#[derive(Clone, Copy)]
struct Turning {
    rad_s: f64,
    start: (f64, f64),
    change: (f64, f64),
}

impl Turning {
    /// f cos(V + u) and f sin(V + u) so many seconds into the stretch, which is this part of it.
    fn at(&self, since: f64, part: f64) -> (f64, f64) {
        let (sin, cos) = (self.rad_s * since).sin_cos();
        let (re, im) = (self.start.0 + part * self.change.0, self.start.1 + part * self.change.1);
        (re * cos - im * sin, re * sin + im * cos)
    }

    /// Makes it so many times as large and later by so many degrees.
    fn turn(&mut self, times: f64, later_deg: f64) {
        let (sin, cos) = later_deg.to_radians().sin_cos();
        for (re, im) in [&mut self.start, &mut self.change].map(|z| (&mut z.0, &mut z.1)) {
            (*re, *im) = (times * (*re * cos + *im * sin), times * (*im * cos - *re * sin));
        }
    }
}

impl<'a> Basis<'a> {
    fn new(chosen: &[&'static Constituent], ratios: &'a [Ratio]) -> Self {
        let columns = vec![0.0; (2 * chosen.len() + 1) * BLOCK];
        let all = chosen.iter().copied().chain(ratios.iter().map(|r| r.constituent)).collect();
        Self { all, ratios, columns, stretch: None, turning: Vec::new() }
    }

    /// Column-major values for up to [`BLOCK`] samples: one, then f cos and f sin of each constituent, with what is
    /// inferred from it added: at the ratio of amplitudes, turned by the difference of the phase lags.
    fn columns(&mut self, block: &[(f64, f64)]) -> &[f64] {
        for (row, &(seconds, _)) in block.iter().enumerate() {
            let number = (seconds / NODAL_S).floor() as i64;
            if self.stretch != Some(number) {
                self.turning = turning(&self.all, number);
                let own = self.all.len() - self.ratios.len();
                self.turning[own..].iter_mut().zip(self.ratios).for_each(|(t, r)| t.turn(r.times, r.later_deg));
                self.stretch = Some(number);
            }
            let since = seconds - number as f64 * NODAL_S;
            let part = since / NODAL_S;
            self.columns[row] = 1.0;
            let (own, inferred) = self.turning.split_at(self.all.len() - self.ratios.len());
            for (k, t) in own.iter().enumerate() {
                let (c, s) = t.at(since, part);
                self.columns[(2 * k + 1) * BLOCK + row] = c;
                self.columns[(2 * k + 2) * BLOCK + row] = s;
            }
            for (t, ratio) in inferred.iter().zip(self.ratios) {
                let (c, s) = t.at(since, part);
                self.columns[(2 * ratio.reference + 1) * BLOCK + row] += c;
                self.columns[(2 * ratio.reference + 2) * BLOCK + row] += s;
            }
        }
        &self.columns
    }
}

fn turning(chosen: &[&'static Constituent], number: i64) -> Vec<Turning> {
    let at = |n: i64| {
        let seconds = n as f64 * NODAL_S;
        let (angles, terms) = (Angles::at(seconds), NodalTerms::at(seconds));
        chosen
            .iter()
            .map(|c| {
                let (f, u) = c.nodal(&terms);
                (f, c.argument_deg(&angles).to_radians() + u)
            })
            .collect::<Vec<_>>()
    };
    let middle = (number as f64 + 0.5) * NODAL_S;
    chosen
        .iter()
        .zip(at(number).into_iter().zip(at(number + 1)))
        .map(|(c, ((f0, p0), (f1, p1)))| {
            let rad_s = (c.speed_at(middle) / 3600.0).to_radians();
            let end = p1 - rad_s * NODAL_S;
            let start = (f0 * p0.cos(), f0 * p0.sin());
            Turning { rad_s, start, change: (f1 * end.cos() - start.0, f1 * end.sin() - start.1) }
        })
        .collect()
}

/// Scalar product with four running sums, so that the machine's vector units can be used.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    let mut sums = [0.0; 4];
    for (x, y) in a4.zip(b4) {
        for ((sum, x), y) in sums.iter_mut().zip(x).zip(y) {
            *sum += x * y;
        }
    }
    rest + (sums[0] + sums[1]) + (sums[2] + sums[3])
}

/// Lower Cholesky factor of a symmetric matrix given by its lower half; `None` when it is singular.
fn cholesky(mut a: Vec<f64>, m: usize) -> Option<Vec<f64>> {
    for i in 0..m {
        for j in 0..=i {
            let sum = a[i * m + j] - dot(&a[i * m..i * m + j], &a[j * m..j * m + j]);
            if i == j {
                // Against the diagonal itself: a pivot lost to rounding means two unknowns alike.
                if sum <= 1e-10 * a[i * m + i] {
                    return None;
                }
                a[i * m + i] = sum.sqrt();
            } else {
                a[i * m + j] = sum / a[j * m + j];
            }
        }
    }
    Some(a)
}

/// Solves L Lᵀ x = b.
fn solve(l: &[f64], m: usize, b: &[f64]) -> Vec<f64> {
    let mut x = b.to_vec();
    for i in 0..m {
        x[i] = (x[i] - dot(&l[i * m..i * m + i], &x[..i])) / l[i * m + i];
    }
    for i in (0..m).rev() {
        x[i] /= l[i * m + i];
        let xi = x[i];
        for (xj, lij) in x[..i].iter_mut().zip(&l[i * m..i * m + i]) {
            *xj -= xi * lij;
        }
    }
    x
}
