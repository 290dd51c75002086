use super::Doubt;

/// By how much a tide source may be off where nothing says so: what widens the margin between sand and water.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SourceError {
    /// For the distance of the station, metres.
    pub far_m: f64,
    /// For a curve that half-cosines between printed turns cannot follow, metres.
    pub curve_m: f64,
    /// Root mean square of what the constituents leave of the gauge record they were found in, metres.
    pub misfit_m: f64,
    /// For constituents that a gauge record is too short to tell from others and that were inferred, metres.
    pub inferred_m: f64,
    /// For a tide table that stands below a station next to the beach, or a table or gauge record that ranges otherwise, metres.
    pub short_m: f64,
    /// For a tide table or a gauge record whose water comes earlier or later than that of a station next to the beach, or a table
    /// whose times are rounded, metres.
    pub late_m: f64,
}

impl SourceError {
    /// What the margin is widened by beside twice the standard deviation of the surge, metres.
    ///
    /// Distance, curve, what was inferred, and what a table falls short of a station by, are added as they are. The misfit is an error beside that of the weather: twice the root of the
    /// sum of both squares stands for twice the weather's alone.
    pub fn margin_m(&self, surge_sd_m: f64) -> f64 {
        let of_source_m = self.far_m + self.curve_m + self.inferred_m + self.short_m + self.late_m;
        of_source_m + 2.0 * (surge_sd_m.hypot(self.misfit_m) - surge_sd_m)
    }
}

/// What was found of a tide source.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// What must not be believed of it.
    pub doubts: Vec<Doubt>,
    /// By how much it may be off.
    pub error: SourceError,
}

impl Found {
    /// Adds what the curve of a station beside says. The turns tell a clock to the half hour, or how late they come: where
    /// they weigh as much the curve adds nothing to that.
    pub(crate) fn add_untold(&mut self, beside: Vec<Doubt>) {
        let late = |d: &&Doubt| d.key.starts_with("table-clock") || d.key.starts_with("table-late");
        let told = self.doubts.iter().filter(late).map(|d| d.weight).max();
        self.doubts.extend(beside.into_iter().filter(|d| !(d.key.starts_with("source-late") && told >= Some(d.weight))));
    }
}
