//! Whether 70 % means 70 %: what was said against what was so.
//!
//! The reliability diagram and the score of Brier (1950), *Verification of forecasts expressed in terms of
//! probability*, in its form for several answers: the squared distance of the chances from what was so,
//! summed over the answers, 0 at best and 2 at worst. Every answer to every signal is one forecast.

use maud::{Markup, html};
use serde::Serialize;

use super::may_be::MayBe;
use crate::book::Kind;
use crate::chance::Share;
use crate::output::MARK;

/// Forecasts of one tenth of the scale of chance.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Sum {
    said: f64,
    so: usize,
    count: usize,
}

/// One tenth of the scale of chance, as it turned out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tenth {
    /// Ends of the tenth, 0 to 1.
    pub from: f64,
    /// Upper end.
    pub to: f64,
    /// Mean chance said.
    pub said: f64,
    /// How often it was so, with the 95 % interval.
    pub so: Share,
}

/// What was said against what was so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reliability {
    tenths: [Sum; 10],
    brier: f64,
    brier_before: f64,
    first_right: usize,
    signals: usize,
}

impl Reliability {
    /// Takes one answered signal; `truth` is `None` for a kind that was not among the answers.
    pub fn take(&mut self, told: &MayBe, truth: Option<&Kind>) {
        self.signals += 1;
        self.first_right += usize::from(told.answers.first().is_some_and(|a| a.kind.as_ref() == truth));
        for answer in &told.answers {
            let so = answer.kind.as_ref() == truth;
            let tenth = &mut self.tenths[((answer.chance * 10.0) as usize).min(9)];
            tenth.said += answer.chance;
            tenth.so += usize::from(so);
            tenth.count += 1;
            let so = f64::from(u8::from(so));
            self.brier += (answer.chance - so).powi(2);
            self.brier_before += (answer.before - so).powi(2);
        }
    }

    /// Takes all that another has taken.
    pub fn join(&mut self, other: &Self) {
        for (mine, theirs) in self.tenths.iter_mut().zip(&other.tenths) {
            mine.said += theirs.said;
            mine.so += theirs.so;
            mine.count += theirs.count;
        }
        self.brier += other.brier;
        self.brier_before += other.brier_before;
        self.first_right += other.first_right;
        self.signals += other.signals;
    }

    /// Signals answered.
    pub fn signals(&self) -> usize {
        self.signals
    }

    /// How often the likeliest answer was right.
    pub fn first_right(&self) -> Share {
        Share::new(self.first_right, self.signals)
    }

    /// Brier's score; `None` for no signal.
    pub fn brier(&self) -> Option<f64> {
        (self.signals > 0).then(|| self.brier / self.signals as f64)
    }

    /// Brier's score of the mix of finds alone, before anything is heard.
    pub fn brier_before(&self) -> Option<f64> {
        (self.signals > 0).then(|| self.brier_before / self.signals as f64)
    }

    /// Mean distance of what was said from what was so, each tenth by how often it was used (expected
    /// calibration error).
    pub fn error(&self) -> Option<f64> {
        let all: usize = self.tenths.iter().map(|t| t.count).sum();
        (all > 0).then(|| self.tenths.iter().map(|t| (t.said - t.so as f64).abs()).sum::<f64>() / all as f64)
    }

    /// The tenths that were used, lowest first.
    pub fn tenths(&self) -> Vec<Tenth> {
        let used = self.tenths.iter().enumerate().filter(|(_, t)| t.count > 0);
        used.map(|(n, t)| Tenth {
            from: n as f64 / 10.0,
            to: (n + 1) as f64 / 10.0,
            said: t.said / t.count as f64,
            so: Share::new(t.so, t.count),
        })
        .collect()
    }

    /// The diagram as an SVG picture of its own: chance said across, how often it was so up, with the 95 %
    /// interval of each tenth and the line on which they would agree.
    pub fn svg(&self, title: &str) -> String {
        let (right, bottom) = (LEFT + SIDE, TOP + SIDE);
        let picture = html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 460 440" font-family="sans-serif" font-size="12" fill="#26221c" {
                metadata { (MARK) }
                title { (title) }
                rect width="460" height="440" fill="#fbf8f1" {}
                text x=(LEFT) y="20" font-size="13" { (title) }
                text x=(LEFT) y="36" font-size="11" { (self.said()) }
                rect x=(LEFT) y=(TOP) width=(SIDE) height=(SIDE) fill="none" stroke="#8a8375" {}
                line x1=(LEFT) y1=(bottom) x2=(right) y2=(TOP) stroke="#8a8375" stroke-dasharray="4 4" {}
                @for mark in [0.0, 0.25, 0.5, 0.75, 1.0] { (scale_mark(mark)) }
                @for tenth in self.tenths() { (tenth_mark(&tenth)) }
                text x=(place(across(0.5))) y=(place(bottom + 36.0)) text-anchor="middle" { "chance said" }
                @let middle = place(up(0.5));
                text x="14" y=(middle) text-anchor="middle" transform=(format_args!("rotate(-90 14 {middle})")) {
                    "how often it was so"
                }
            }
        };
        picture.into_string() + "\n"
    }

    /// The scores in one line.
    pub fn said(&self) -> String {
        let (Some(brier), Some(before)) = (self.brier(), self.brier_before()) else { return "nothing was left out".to_owned() };
        let right = self.first_right();
        format!(
            "{} answered, likeliest right {:.0} % ({:.0} to {:.0}); off by {brier:.2} where guessing without hearing is off by {before:.2} \
             (Brier score: 0 at best, 2 at worst)",
            self.signals,
            100.0 * right.share.unwrap_or(0.0),
            100.0 * right.low,
            100.0 * right.high,
        )
    }
}

/// Where the square of the diagram begins, and the length of its sides, in the picture's own units.
const LEFT: f64 = 56.0;
const TOP: f64 = 44.0;
const SIDE: f64 = 320.0;

/// Where a chance that was said stands across the picture.
fn across(said: f64) -> f64 {
    LEFT + SIDE * said
}

/// Where a share that was so stands down the picture.
fn up(so: f64) -> f64 {
    TOP + SIDE * (1.0 - so)
}

/// A place as it is written, to a tenth of the picture's units.
fn place(at: f64) -> String {
    format!("{at:.1}")
}

/// A chance on both scales.
fn scale_mark(mark: f64) -> Markup {
    let percent = format!("{:.0} %", 100.0 * mark);
    html! {
        text x=(place(across(mark))) y=(place(TOP + SIDE + 16.0)) text-anchor="middle" { (percent) }
        text x=(place(LEFT - 6.0)) y=(place(up(mark) + 4.0)) text-anchor="end" { (percent) }
    }
}

/// How a tenth of the scale turned out, with its interval.
fn tenth_mark(tenth: &Tenth) -> Markup {
    let (x, so) = (place(across(tenth.said)), tenth.so);
    html! {
        line x1=(x) x2=(x) y1=(place(up(so.low))) y2=(place(up(so.high))) stroke="#26221c" {}
        circle cx=(x) cy=(place(up(so.share.unwrap_or(0.0)))) r="4" fill="#b4552d" {
            title { (format_args!("said {:.0} %, so {} of {}", 100.0 * tenth.said, so.count, so.of)) }
        }
    }
}
