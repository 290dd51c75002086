//! What is said of a low water, the same on the strip and on its card.

use crate::tide::{Low, Moon};

/// A low counts as one in daylight from this share of its dry window on.
pub(super) const LIT: f64 = 0.5;

/// How low against the others, in words.
pub(super) fn against(low: &Low, others: &str) -> String {
    let percent = (100.0 * low.lower_than).round();
    match percent {
        0.0 => format!("none of {others} stands higher"),
        100.0 => format!("the lowest of {others}"),
        p if p >= 50.0 => format!("lower than {p:.0} % of {others}"),
        p => format!("only lower than {p:.0} % of {others}"),
    }
}

pub(super) fn moon(moon: Moon) -> &'static str {
    match moon {
        Moon::Spring => "springs",
        Moon::Between => "between springs and neaps",
        Moon::Neap => "neaps",
    }
}
