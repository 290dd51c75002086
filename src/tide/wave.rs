use super::astro::Angles;
use super::constituent::Constituent;
use super::nodal::NodalTerms;

/// One constituent at one place.
#[derive(Debug, Clone)]
pub(super) struct Wave {
    pub(super) constituent: &'static Constituent,
    pub(super) amplitude_m: f64,
    pub(super) phase_deg: f64,
}

impl Wave {
    /// Amplitude f H in metres and phase V + u − g in radians at a moment.
    pub(super) fn at(&self, angles: &Angles, terms: &NodalTerms) -> (f64, f64) {
        let (f, u) = self.constituent.nodal(terms);
        (f * self.amplitude_m, (self.constituent.argument_deg(angles) - self.phase_deg).to_radians() + u)
    }
}
