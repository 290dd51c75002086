//! The card: one page of HTML that stands by itself and prints on A4.

use std::fmt::Write as _;

use jiff::Timestamp;

use super::emergency::{EMERGENCY_SOURCE, emergency};
use super::route_map;
use crate::book::Book;
use crate::route::Route;
use crate::shore::Setting;

const STYLE: &str = "body{font:11.5px/1.3 Georgia,serif;color:#26282c;background:#fff;max-width:48rem;margin:1.2rem auto;padding:0 1rem}\
h1{font:600 19px/1.2 sans-serif;margin:0}h2{font:600 12px/1.2 sans-serif;margin:.5rem 0 .15rem}\
.back{border:3px solid #26282c;padding:.2rem .8rem;margin:.35rem 0;font:15px/1.2 sans-serif}.back b{font-size:46px;line-height:1.05;margin:0 .3rem}\
table{border-collapse:collapse;width:100%;font:10.5px/1.25 sans-serif}th,td{text-align:right;padding:.05rem .35rem .05rem 0;border-bottom:1px solid #d8d2c2;white-space:nowrap}\
th:first-child,td:first-child{text-align:left}td.by{font-weight:700}svg{width:100%;height:auto;border:1px solid #d8d2c2;display:block;margin:.2rem 0}\
.side{display:flex;gap:1.2rem;align-items:flex-start}.side>*{flex:1;min-width:0}ul{margin:0;padding-left:1rem}p{margin:.12rem 0}\
.fill{border-bottom:1px solid #26282c;display:inline-block;min-width:8.5rem}.call b{font-size:17px}.words,.small{font-size:9.5px;line-height:1.25}\
@page{size:A4;margin:9mm}@media print{body{margin:0;max-width:none;padding:0;font-size:10px;line-height:1.22}svg,table,.back{break-inside:avoid}h2{margin:.3rem 0 .1rem}\
.words,.small{font-size:7.8px;line-height:1.2}table{font-size:8.6px;line-height:1.15}table.many{font-size:7.8px}}";

/// Rows of one table of blocks; more blocks stand in tables side by side.
const ROWS: usize = 13;
/// Most tables side by side: a longer route has longer tables.
const TABLES: usize = 3;

/// Text that cannot become markup.
pub(super) fn escape(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut out, c| {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
        out
    })
}

/// The clock of the beach; seconds are dropped, so that no time is printed later than it is.
pub(super) struct Clock(jiff::tz::TimeZone);

impl Clock {
    pub(super) fn of(setting: &Setting) -> Self {
        Self(setting.beach.zone().unwrap_or(jiff::tz::TimeZone::UTC))
    }

    pub(super) fn hour(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%H:%M").to_string()
    }

    fn day(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%A %-d %B %Y").to_string()
    }

    fn zone(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%Z, UTC%:z").to_string()
    }
}

impl Route {
    /// The card of the route: times, map, cautions, permission, whom to call, as an HTML document that
    /// fetches nothing.
    pub fn card(&self, book: &Book, setting: &Setting) -> String {
        let clock = Clock::of(setting);
        let title = format!("{}, {}", self.beach, clock.day(self.low.time));
        let mut out = format!(
            "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>{0}</title><style>{STYLE}</style></head>\n<body><h1>{0}</h1>\n",
            escape(&title)
        );
        self.head(&mut out, setting, &clock);
        out.push_str(&route_map::map(self, book, setting, &clock));
        self.blocks(&mut out, &clock);
        out.push_str("<div class=\"side\"><div>\n");
        self.otherwise(&mut out, &clock);
        self.permission(&mut out);
        out.push_str("</div><div>\n");
        self.call(&mut out, setting);
        out.push_str("</div></div>\n");
        self.words(&mut out);
        out.push_str("</body></html>\n");
        out
    }

    fn head(&self, out: &mut String, setting: &Setting, clock: &Clock) {
        let first = self.visits.iter().position(|v| v.leave_by == self.turn_back).map_or(1, |n| n + 1);
        let _ = writeln!(
            out,
            "<div class=\"back\">Turn back by <b>{}</b><span>from block {first}. Each block has its own time below.</span></div>",
            clock.hour(self.turn_back)
        );
        let datum = setting.water.as_ref().map_or("datum", |w| w.datum().words());
        let sun = |name: &str, time: Option<Timestamp>| time.map_or_else(String::new, |t| format!(", {name} {}", clock.hour(t)));
        let (least_m, most_m) = self.margins.sum_m();
        let _ = writeln!(
            out,
            "<p>Set out <b>{}</b> from {}. Out by <b>{}</b> at {}. Low water <b>{}</b>, {:.2} m above {}{}{}. Times are {}.</p>\n\
             <p>Margins: {:.2} m run-up + {:.2} m weather + {:.2} to {:.2} m sand = {least_m:.2} to {most_m:.2} m of height; {} min of time on every way out.</p>",
            clock.hour(self.depart),
            escape(&self.from.name),
            clock.hour(self.back),
            escape(&self.to.name),
            clock.hour(self.low.time),
            self.low.level_m,
            escape(datum),
            sun("sunset", self.sunset),
            sun("dark", self.dark),
            clock.zone(self.low.time),
            self.margins.run_up_m,
            self.margins.surge_m,
            self.margins.sand_m.0,
            self.margins.sand_m.1,
            self.margins.time_min,
        );
    }

    fn blocks(&self, out: &mut String, clock: &Clock) {
        out.push_str("<h2>Blocks</h2><div class=\"side\">\n");
        let tables = self.visits.len().div_ceil(ROWS).clamp(1, TABLES);
        let rows = self.visits.len().div_ceil(tables).max(1);
        let class = if tables > 2 { " class=\"many\"" } else { "" };
        for (part, visits) in self.visits.chunks(rows).enumerate() {
            let _ = writeln!(
                out,
                "<table{class}><thead><tr><th>block</th><th>from</th><th>to</th><th>gone by</th><th>along, m</th><th>across</th><th>finds</th></tr></thead><tbody>"
            );
            for (n, v) in visits.iter().enumerate() {
                let _ = writeln!(
                    out,
                    "<tr><td>{}</td><td>{}</td><td>{}</td><td class=\"by\">{}</td><td>{:.0}</td><td>{:.0}</td><td>{:.1} ± {:.1}</td></tr>",
                    part * rows + n + 1,
                    clock.hour(v.begin),
                    clock.hour(v.leave),
                    clock.hour(v.leave_by),
                    v.along_m,
                    v.across_m,
                    v.finds,
                    v.finds_sd
                );
            }
            out.push_str("</tbody></table>\n");
        }
        let lanes = self.visits.first().map_or(0, |v| v.lanes.len());
        let _ = writeln!(
            out,
            "</div><p>{lanes} lanes a block, along the shore. In all {:.1} ± {:.1} finds expected on {:.0} m²; {:.0} m walked.</p>",
            self.finds, self.finds_sd, self.swept_m2, self.walked_m
        );
    }

    fn otherwise(&self, out: &mut String, clock: &Clock) {
        out.push_str("<h2>If it goes otherwise</h2><ul>\n");
        for w in &self.what_if {
            let turn = w.turn_back.map_or("no block is safe".to_owned(), |t| format!("turn back by <b>{}</b>", clock.hour(t)));
            let lost = match (w.visits_lost, w.first_lost) {
                (0, _) | (_, None) => "the plan still holds".to_owned(),
                (1, Some(n)) => format!("leave out block {}", n + 1),
                (all, Some(n)) => format!("{all} blocks cannot be worked at their times, the first is {}", n + 1),
            };
            let _ = writeln!(out, "<li>{}: {turn}; {lost}.</li>", escape(&w.said));
        }
        out.push_str("</ul>\n");
    }

    fn permission(&self, out: &mut String) {
        out.push_str("<h2>Permission</h2>\n");
        if self.permissions.is_empty() {
            out.push_str("<p>None is recorded. Granted by <span class=\"fill\">&nbsp;</span></p>\n");
        }
        for p in &self.permissions {
            let _ = writeln!(out, "<p>{}, given by {}. {}</p>", escape(&p.name), escape(&p.holder), escape(&p.terms));
        }
    }

    fn words(&self, out: &mut String) {
        out.push_str("<div class=\"side words\">\n");
        for (heading, lines) in [("Cautions", &self.cautions), ("Taken for granted", &self.assumptions)] {
            let _ = writeln!(out, "<div><h2>{heading}</h2><ul>");
            for line in lines {
                let _ = writeln!(out, "<li>{}</li>", escape(line));
            }
            out.push_str("</ul></div>\n");
        }
        let _ = writeln!(
            out,
            "</div><p class=\"small\">A second reckoning, apart from the planner, walked through a way out at {} moments of this route; the longest takes {:.0} minutes.</p>",
            self.checked.moments,
            (self.checked.longest_out_s / 60.0).ceil()
        );
    }

    /// Whom to call: the country's emergency numbers from a public list, the rest left to be filled in.
    fn call(&self, out: &mut String, setting: &Setting) {
        out.push_str("<h2>Whom to call</h2>\n");
        match emergency(&setting.beach.time_zone) {
            Some(e) => {
                let (first, rest) = e.numbers.split_first().map_or(("", &[][..]), |(f, r)| (*f, r));
                let rest = if rest.is_empty() { String::new() } else { format!(" (also {})", rest.join(", ")) };
                let _ = writeln!(
                    out,
                    "<p class=\"call\">Emergency <b>{first}</b>{rest}; ask for sea rescue. {} by its time zone; check locally: \
                     <span class=\"fill\">&nbsp;</span></p>",
                    escape(e.country)
                );
            }
            None => out.push_str("<p class=\"call\">Emergency <span class=\"fill\">&nbsp;</span></p>\n"),
        }
        out.push_str(
            "<p>Coastguard <span class=\"fill\">&nbsp;</span></p><p>Someone who knows the plan <span class=\"fill\">&nbsp;</span></p>\n",
        );
        let _ = writeln!(out, "<p class=\"small\">Numbers: {EMERGENCY_SOURCE}.</p>");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_outside_cannot_become_markup() {
        assert_eq!(escape("<b a=\"1\">&\u{0}"), "&lt;b a=&quot;1&quot;&gt;&amp; ");
    }
}
