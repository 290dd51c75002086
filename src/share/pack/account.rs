//! The account for a permission's holder: one page that stands by itself, for somebody who has never seen a map program.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::PackAsk;
use super::ask::said;
use super::counted::{Sums, ToldAreas};
use super::sheets::place_words;
use super::told::{Covered, LeftOut, Place, Told, ToldFind, ToldOuting};
use super::words::NOT_TOLD;
use crate::book::{Beach, ORDNANCE_CAUTION, Permission};
use crate::output::MARK;
use crate::share::cut::metres;
use crate::share::overview::given_shore;
use crate::share::printable::printable;
use crate::shore::Setting;

/// All that an account is made of.
pub(super) struct Account<'a> {
    pub(super) beach: &'a Beach,
    pub(super) setting: &'a Setting,
    pub(super) permission: &'a Permission,
    pub(super) ask: &'a PackAsk,
    pub(super) told: &'a Told,
    pub(super) sums: &'a Sums,
    /// Each find's picture as it was made anew, in the order of the finds.
    pub(super) pictures: &'a [Option<(String, Vec<u8>)>],
    pub(super) plan_svg: &'a str,
    /// What the country's law may ask, as far as it is known.
    pub(super) law: &'a [String],
}

const STYLE: &str = "body{font:16px/1.5 Georgia,serif;color:#26282c;background:#fff;max-width:54rem;margin:2rem auto;padding:0 1rem}\
h1,h2{font-family:sans-serif;line-height:1.2}h1{font-size:1.6rem}h2{font-size:1.15rem;margin-top:1.8rem}\
table{border-collapse:collapse;width:100%;font:13px/1.4 sans-serif}th,td{text-align:start;padding:.3rem .6rem .3rem 0;border-bottom:1px solid #d8d2c2;vertical-align:top}\
td.n,th.n{text-align:end}img{max-width:9rem;max-height:9rem;height:auto;width:auto}svg{width:100%;height:auto;border:1px solid #d8d2c2}\
dt{font-weight:600}dd{margin:0 0 .5rem}figure{margin:1rem 0}footer{font-size:.9rem;color:#494741}\
@page{size:A4;margin:16mm}@media print{body{margin:0;max-width:none}tr,svg,figure{break-inside:avoid}thead{display:table-header-group}}";

/// What the short names of tide levels mean, in plain words.
const LEVELS: [(&str, &str); 9] = [
    ("HAT", "highest astronomical tide: the highest the tide by itself ever comes, once in about nineteen years"),
    (
        "MHWS",
        "mean high water springs: where the sea comes to on average at high water around new and full moon, when tides are large",
    ),
    ("MHHW", "mean higher high water: where the higher of the day's two high waters comes to on average"),
    ("MHWN", "mean high water neaps: where the sea comes to on average at high water around half moon, when tides are small"),
    ("MSL", "mean sea level: the middle height of the sea"),
    ("MLWN", "mean low water neaps: how far the sea goes back on average at low water around half moon"),
    ("MLLW", "mean lower low water: how far the sea goes back on average at the lower of the day's two low waters"),
    ("MLWS", "mean low water springs: how far the sea goes back on average at low water around new and full moon"),
    ("LAT", "lowest astronomical tide: the lowest the tide by itself ever goes"),
];

impl Account<'_> {
    /// The page.
    pub(super) fn html(&self) -> String {
        let title = format!("What was found at {}", self.beach.name);
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="generator" content=(format_args!("Scourline {MARK}"));
                    meta name="viewport" content="width=device-width";
                    title { (printable(&title)) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    main {
                        h1 { "What was found at " (own(&self.beach.name)) }
                        (self.opening())
                        (self.plan())
                        (self.visits())
                        (self.items())
                        (self.explained())
                    }
                    footer {
                        p { (ORDNANCE_CAUTION) }
                        @if !self.law.is_empty() {
                            h2 { "What the law may ask" }
                            @for line in self.law { p dir="auto" { (printable(line)) } }
                        }
                        p { "Made with Scourline " (env!("CARGO_PKG_VERSION")) ". The same is in the files beside this page, and manifest.json lists them." }
                    }
                }
            }
        };
        page.into_string()
    }

    fn opening(&self) -> Markup {
        let p = self.permission;
        let holder = if p.holder.is_empty() { "its holder".to_owned() } else { p.holder.clone() };
        html! {
            p {
                "For " (own(&holder)) ", under the permission “" (own(&p.name)) "”: " (self.ask.period()) "."
                @if self.ask.new_only { " Only what was not handed over before." }
            }
            p { (self.summary()) }
            @for said in against(self.told, self.told.on_closed_exact) { p { strong { (said) } } }
            @if let Some(said) = self.left_out() { p { (said) } }
            @if !p.report.is_empty() { p { "You asked to be told: " (own(&p.report)) } }
        }
    }

    /// Where, when, how long, how much ground and what, in a few sentences.
    fn summary(&self) -> String {
        let s = self.sums;
        let visits = match s.outings {
            0 if s.finds > 0 => "No visit was noted with its times; things were found all the same.".to_owned(),
            0 => "No visit falls into this time.".to_owned(),
            n => format!(
                "There {} {n} visit{} on {} day{}, {} hours in all (each visit whole, also where it went on over other ground){}.",
                if n == 1 { "was" } else { "were" },
                plural(n),
                s.days,
                plural(s.days),
                figure(s.hours),
                ground_said(s)
            ),
        };
        let found = match s.finds {
            0 => "Nothing was found.".to_owned(),
            n => format!("{n} thing{} found, of which {} rubbish.", if n == 1 { " was" } else { "s were" }, s.rubbish),
        };
        let litter = s.litter_kg.map_or_else(String::new, |kg| format!(" {} kg of litter were carried off.", figure(kg)));
        format!("{visits} {found}{litter}")
    }

    fn left_out(&self) -> Option<String> {
        let LeftOut { younger, told_before, undated, .. } = self.told.left;
        let mut said = Vec::new();
        if younger > 0 {
            let year = self.permission.agreed.older_than.unwrap_or_default();
            said.push(format!("{younger} younger than {year} are not listed, as you asked"));
        }
        if told_before > 0 {
            said.push(format!("{told_before} were handed over before"));
        }
        if undated > 0 {
            said.push(format!("{undated} have no day and so stand in no account of a time"));
        }
        (!said.is_empty()).then(|| format!("Of what was found on your ground in this time, {}.", said.join("; ")))
    }

    fn plan(&self) -> Markup {
        html! {
            @if !self.plan_svg.is_empty() {
                h2 { "Where" }
                figure { (PreEscaped(self.plan_svg)) }
                p { "The picture shows the ground from above, " (self.which_side()) ". " (self.how_places()) }
            }
        }
    }

    /// What lies at the lower or the upper side of the picture; a shore that nobody gave tells no side.
    fn which_side(&self) -> &'static str {
        if given_shore(self.setting).is_some() { "the sea at its lower side" } else { "north at its upper side" }
    }

    fn how_places(&self) -> String {
        let mut exact = 0;
        let mut withheld = 0;
        let mut sides = std::collections::BTreeMap::new();
        for find in &self.told.finds {
            match &find.place {
                Place::Exact(_) => exact += 1,
                Place::Withheld => withheld += 1,
                Place::Area(_, side, _) => *sides.entry(*side).or_insert(0) += 1,
            }
        }
        let mut said = Vec::new();
        if exact > 0 {
            said.push(format!("{exact} find(s) are shown where they lay."));
        }
        for (side, n) in sides {
            said.push(format!(
                "{n} find(s) are shown only as lying somewhere in a square of {0} by {0}, or in several where your ground ends, with the day and without the hour, so that the place is not given to whoever sees this page.",
                metres(side)
            ));
        }
        if withheld > 0 {
            said.push(format!("The places of {withheld} find(s) are not told."));
        }
        said.join(" ")
    }

    fn visits(&self) -> Markup {
        html! {
            h2 { "When, how long and how much ground" }
            @if self.told.outings.is_empty() { p { "None." } } @else {
                table {
                    thead { tr {
                        th scope="col" { "day" } th scope="col" class="n" { "hours" } th scope="col" class="n" { "ground searched, m²" }
                        th scope="col" class="n" { "things found" } th scope="col" { "holes filled" } th scope="col" class="n" { "litter taken, kg" }
                        th scope="col" { "remark" }
                    } }
                    tbody { @for outing in &self.told.outings { (visit(outing)) } }
                }
            }
        }
    }

    fn items(&self) -> Markup {
        let areas = ToldAreas::of_told(self.told);
        html! {
            h2 { "What was found" }
            @if self.told.finds.is_empty() { p { "Nothing in this time." } } @else {
                table {
                    thead { tr {
                        th scope="col" class="n" { "no." } th scope="col" { "day" } th scope="col" { "what" } th scope="col" { "age" }
                        th scope="col" { "where" } th scope="col" { "reported to" } th scope="col" { "what was done with it" } th scope="col" { "picture" } th scope="col" { "remark" }
                    } }
                    tbody {
                        @for (n, find) in self.told.finds.iter().enumerate() {
                            (item(n + 1, find, areas.number(&find.place), self.pictures.get(n).and_then(Option::as_ref)))
                        }
                    }
                }
            }
        }
    }

    fn explained(&self) -> Markup {
        let named =
            |short: &str| self.setting.marks.iter().any(|m| m.name == short || m.name.split([' ', ',']).any(|w| w == short));
        let used: Vec<_> = LEVELS.iter().filter(|(short, _)| named(short)).collect();
        html! {
            @if !used.is_empty() && !self.plan_svg.is_empty() && given_shore(self.setting).is_some() {
                h2 { "The lines in the picture" }
                p { "They are levels of the tide as it is predicted; wind and weather move the real water." }
                dl { @for (short, means) in used { dt { (short) } dd { (means) } } }
            }
        }
    }
}

/// Somebody's own words within a sentence: a name written from right to left must not turn what stands about it (HTML Living
/// Standard, 4.5.24, the bdi element).
fn own(words: &str) -> Markup {
    html! { bdi { (printable(words)) } }
}

/// What of that came before or after the permission or lay on closed ground, in sentences.
pub(super) fn against(told: &Told, on_closed: usize) -> Vec<String> {
    let of = |when: &str| {
        let finds = told.finds.iter().filter(|f| f.remark.starts_with(when)).count();
        let visits = told.outings.iter().filter(|o| o.remark.starts_with(when)).count();
        (finds + visits > 0).then(|| format!("{finds} of the finds and {visits} of the visits came {when}."))
    };
    let closed =
        (on_closed > 0).then(|| format!("{on_closed} of the finds lay on ground that was closed to searching on that day."));
    ["after the permission ended", "before the permission began"].into_iter().filter_map(of).chain(closed).collect()
}

/// How much ground was searched, as the end of a sentence about the visits.
fn ground_said(s: &Sums) -> String {
    let about = s.covered_m2.map(|m2| {
        format!(
            "about {m2:.0} square metres of your ground were searched, visit by visit, so that ground searched twice counts twice"
        )
    });
    let below =
        s.covered_below.map(|(n, m2)| format!("less than {m2:.0} square metres of your ground on {n} of the visits each"));
    about.into_iter().chain(below).map(|said| format!("; {said}")).collect()
}

fn plural(n: usize) -> &'static str {
    if n == 1 { "" } else { "s" }
}

/// At most two decimals, and none that say nothing.
fn figure(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn visit(outing: &ToldOuting) -> Markup {
    let number = |v: Option<f64>| v.map_or_else(|| "not noted".to_owned(), figure);
    html! {
        tr {
            td { (said(outing.day)) }
            td class="n" { (figure(outing.hours)) }
            td class="n" {
                @match outing.covered {
                    Covered::About(m2) => { (figure(m2)) }
                    Covered::Below(m2) => { "less than " (figure(m2)) }
                    Covered::NotNoted => { "not noted" }
                    Covered::NotTold => { "not told" }
                }
            }
            td class="n" { (outing.finds) }
            td { (match outing.holes_filled { Some(true) => "yes, all", Some(false) => "not all", None => "not noted" }) }
            td class="n" { (number(outing.litter_kg)) }
            td { (outing.remark) }
        }
    }
}

fn item(number: usize, find: &ToldFind, area: Option<usize>, picture: Option<&(String, Vec<u8>)>) -> Markup {
    let or = |text: &str, none: &str| if text.is_empty() { none.to_owned() } else { printable(text).into_owned() };
    let mut about = Vec::new();
    if find.kind != find.what && !find.kind.is_empty() {
        about.push(find.kind.clone());
    }
    if find.what_dropped {
        about.push(format!("other words {NOT_TOLD}"));
    }
    about.extend(find.material.map(str::to_owned));
    about.extend(find.mass_g.map(|g| format!("{} g", figure(g))));
    about.extend(find.size_mm.map(|mm| format!("{} mm", figure(mm))));
    about.extend(find.depth_m.map(|m| format!("{} cm deep", figure(100.0 * m))));
    if !find.state.is_empty() {
        about.push(find.state.clone());
    }
    html! {
        tr {
            td class="n" { (number) }
            td { (find.day.map_or_else(|| "not noted".to_owned(), said)) }
            td { bdi { (or(&find.what, "something")) } @if !about.is_empty() { " (" (own(&about.join(", "))) ")" } }
            td dir="auto" { (or(&find.age, "not known")) }
            td { (place_words(&find.place)) @if let Some(area) = area { ", no. " (area) } }
            td dir="auto" { (or(&find.reported, "not noted")) }
            td dir="auto" { (or(&find.done_with, "not noted")) }
            td {
                @match picture {
                    Some((_, jpeg)) => { img src=(format_args!("data:image/jpeg;base64,{}", STANDARD.encode(jpeg))) alt=(format_args!("picture of find {number}")); }
                    None => { "none" }
                }
            }
            td { (find.remark) }
        }
    }
}
