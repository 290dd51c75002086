use jiff::Timestamp;

/// A low that came before that of the route and did not serve.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedOver {
    /// When it is.
    pub low: Timestamp,
    /// Why it does not serve, in a sentence without its stop.
    pub why: String,
}

impl PassedOver {
    /// "The low water of Thu 26 Nov 2026 05:10 is passed over: it is in the dark."
    pub fn said(&self, clock: impl Fn(Timestamp) -> String) -> String {
        format!("The low water of {} is passed over: {}.", clock(self.low), self.why.trim_end_matches('.'))
    }
}
