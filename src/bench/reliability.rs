//! Whether 70 % means 70 %: what was said against what was so.
//!
//! The reliability diagram and the score of Brier (1950), *Verification of forecasts expressed in terms of
//! probability*, in its form for several answers: the squared distance of the chances from what was so,
//! summed over the answers, 0 at best and 2 at worst. Every answer to every signal is one forecast.

use serde::Serialize;

use super::may_be::MayBe;
use crate::book::Kind;
use crate::chance::Share;

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
        let (left, top, side) = (56.0, 44.0, 320.0);
        let x = |said: f64| left + side * said;
        let y = |so: f64| top + side * (1.0 - so);
        let escaped = title.replace('&', "&amp;").replace('<', "&lt;");
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 460 440\" font-family=\"sans-serif\" font-size=\"12\" fill=\"#26221c\">\n\
             <title>{escaped}</title>\n<rect width=\"460\" height=\"440\" fill=\"#fbf8f1\"/>\n\
             <text x=\"{left}\" y=\"20\" font-size=\"13\">{escaped}</text>\n\
             <text x=\"{left}\" y=\"36\" font-size=\"11\">{}</text>\n\
             <rect x=\"{left}\" y=\"{top}\" width=\"{side}\" height=\"{side}\" fill=\"none\" stroke=\"#8a8375\"/>\n\
             <line x1=\"{left}\" y1=\"{}\" x2=\"{}\" y2=\"{top}\" stroke=\"#8a8375\" stroke-dasharray=\"4 4\"/>\n",
            self.said().replace('<', "&lt;"),
            top + side,
            left + side,
        );
        for mark in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let percent = format!("{:.0} %", 100.0 * mark);
            svg += &format!(
                "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{percent}</text>\n\
                 <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{percent}</text>\n",
                x(mark),
                top + side + 16.0,
                left - 6.0,
                y(mark) + 4.0,
            );
        }
        for t in self.tenths() {
            let (at, so) = (x(t.said), t.so.share.unwrap_or(0.0));
            svg += &format!(
                "<line x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{:.1}\" y2=\"{:.1}\" stroke=\"#26221c\"/>\n\
                 <circle cx=\"{at:.1}\" cy=\"{:.1}\" r=\"4\" fill=\"#b4552d\"><title>said {:.0} %, so {} of {}</title></circle>\n",
                y(t.so.low),
                y(t.so.high),
                y(so),
                100.0 * t.said,
                t.so.count,
                t.so.of,
            );
        }
        svg += &format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">chance said</text>\n\
             <text x=\"14\" y=\"{y:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 14 {y:.1})\">how often it was so</text>\n</svg>\n",
            x(0.5),
            top + side + 36.0,
            y = y(0.5),
        );
        svg
    }

    /// The scores in one line.
    pub fn said(&self) -> String {
        let (Some(brier), Some(before)) = (self.brier(), self.brier_before()) else { return "nothing was left out".to_owned() };
        let right = self.first_right();
        format!(
            "{} answered, likeliest right {:.0} % ({:.0} to {:.0}), Brier {brier:.2} ({before:.2} unheard)",
            self.signals,
            100.0 * right.share.unwrap_or(0.0),
            100.0 * right.low,
            100.0 * right.high,
        )
    }
}
