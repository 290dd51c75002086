use std::fmt::Write as _;

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon};
use maud::{Markup, html};

use super::printable::printable;
use crate::output::MARK;

/// What a mark on a picture stands for; the shape says it, colour only helps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkShape {
    /// A heavy find: filled diamond.
    Heavy,
    /// A light find: small disc.
    Light,
    /// Iron and rubbish: short bar.
    Rubbish,
    /// A signal not dug: open ring.
    Undug,
}

/// What a picture of the beach from above shows, in metres: x along the shore, y seaward.
#[derive(Debug, Clone, Default)]
pub struct PlanPicture {
    /// Heading.
    pub title: String,
    /// Lines under the heading.
    pub lines: Vec<String>,
    /// Bands from the back of the beach to the sea, each with its name.
    pub bands: Vec<(String, MultiPolygon<f64>)>,
    /// Tide lines with their names.
    pub tide_lines: Vec<(String, MultiLineString<f64>)>,
    /// Zones with their names.
    pub zones: Vec<(String, MultiPolygon<f64>)>,
    /// Clusters with their labels; an empty label stays unwritten.
    pub clusters: Vec<(String, MultiPolygon<f64>)>,
    /// Squares in which finds lie, where places are told no finer.
    pub squares: Vec<MarkedSquare>,
    /// Finds and signals.
    pub marks: Vec<(Coord<f64>, MarkShape)>,
    /// Bearing of the seaward direction, degrees from true north, for the north mark.
    pub seaward_deg: f64,
}

/// An area in which finds lie.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedSquare {
    /// What it covers.
    pub area: MultiPolygon<f64>,
    /// Its number in the list of finds.
    pub number: usize,
    /// How many lie in it.
    pub finds: usize,
}

impl MarkedSquare {
    /// The fullest wording that has room in so many units of the drawing; none where none has.
    fn wording(&self, wide: f64) -> Option<String> {
        let texts =
            [format!("no. {}: {}", self.number, self.finds), format!("{}: {}", self.number, self.finds), self.number.to_string()];
        texts.into_iter().find(|t| wide >= LETTER * t.len() as f64)
    }
}

/// The namespace of SVG.
const SVG: &str = "http://www.w3.org/2000/svg";
const WIDTH: f64 = 1200.0;
const MARGIN: f64 = 28.0;
const HEAD: f64 = 84.0;
const FOOT: f64 = 80.0;
/// How wide a letter of a label comes out, about.
const LETTER: f64 = 6.0;

/// A number of the drawing, to a tenth.
fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

impl PlanPicture {
    /// The picture as a self-contained SVG document; empty ground gives a picture that says so.
    pub fn svg(&self) -> String {
        let drawn = match View::around(self) {
            Some(view) => self.drawn(&view),
            None => html! {
                svg xmlns=(SVG) viewBox=(format_args!("0 0 {WIDTH} 120")) {
                    metadata { (MARK) }
                    text x=(MARGIN) y="60" font-family="sans-serif" font-size="18"
                        { (printable(&self.title)) ": nothing to draw yet" }
                }
            },
        };
        drawn.into_string() + "\n"
    }

    fn drawn(&self, view: &View) -> Markup {
        let height = format!("{:.0}", view.height + HEAD + FOOT);
        html! {
            svg xmlns=(SVG) viewBox=(format_args!("0 0 {WIDTH} {height}")) font-family="sans-serif" role="img"
                aria-label=(printable(&self.title)) {
                metadata { (MARK) }
                rect width=(WIDTH) height=(height) fill="#f7f4ec" {}
                text x=(MARGIN) y="36" font-size="22" font-weight="600" fill="#26282c" { (printable(&self.title)) }
                @for (n, line) in self.lines.iter().enumerate() {
                    text x=(MARGIN) y=(56 + 17 * n) font-size="13" fill="#4a4a46" { (printable(line)) }
                }
                (self.ground(view))
                (self.drawn_squares(view))
                (self.drawn_marks(view))
                (self.drawn_clusters(view))
                (self.foot(view))
            }
        }
    }

    fn ground(&self, view: &View) -> Markup {
        html! {
            @for (n, (name, area)) in self.bands.iter().enumerate() {
                path d=(view.areas(area)) fill=(band_fill(n, self.bands.len())) fill-rule="evenodd"
                    { title { (printable(name)) } }
            }
            @for (name, area) in &self.zones {
                path d=(view.areas(area)) fill="none" stroke="#6d6552" stroke-width="1" stroke-dasharray="2 4"
                    { title { (printable(name)) } }
            }
            @for (name, lines) in &self.tide_lines {
                @for line in lines {
                    path d=(view.path(line, false)) fill="none" stroke="#ffffff" stroke-width="1.4" {}
                }
                @if let Some(end) = lines.iter().flat_map(|l| &l.0).max_by(|a, b| a.x.total_cmp(&b.x)).map(|end| view.at(*end)) {
                    text x=(tenth(end.x.min(WIDTH - MARGIN) - 2.0)) y=(tenth(end.y - 3.0)) font-size="12" text-anchor="end"
                        fill="#26282c" { (printable(name)) }
                }
            }
        }
    }

    fn drawn_squares(&self, view: &View) -> Markup {
        let middle = |area: &MultiPolygon<f64>| geo::Centroid::centroid(area).map(|p| view.at(p.into()));
        let wide = |area: &MultiPolygon<f64>| {
            geo::BoundingRect::bounding_rect(area).map_or(0.0, |r| (view.at(r.max()).x - view.at(r.min()).x).abs())
        };
        html! {
            @for square in &self.squares {
                path d=(view.areas(&square.area)) fill="#8c4210" fill-opacity="0.14" stroke="#8c4210" stroke-width="1" {
                    title { "no. " (square.number) ": " (square.finds) " find(s)" }
                }
                @if let Some((at, text)) = middle(&square.area).zip(square.wording(wide(&square.area))) {
                    text x=(tenth(at.x)) y=(tenth(at.y + 4.0)) font-size="12" text-anchor="middle" fill="#26282c" { (text) }
                }
            }
        }
    }

    fn drawn_marks(&self, view: &View) -> Markup {
        html! {
            @for (at, shape) in self.marks.iter().filter(|(c, _)| c.x.is_finite() && c.y.is_finite()) {
                (mark(view.at(*at), *shape))
            }
        }
    }

    fn drawn_clusters(&self, view: &View) -> Markup {
        let top = |area: &MultiPolygon<f64>| {
            let corners = area.iter().flat_map(|p| &p.exterior().0);
            corners.min_by(|a, b| a.y.total_cmp(&b.y)).map(|top| view.at(*top))
        };
        html! {
            @for (label, area) in &self.clusters {
                path d=(view.areas(area)) fill="none" stroke="#5b3486" stroke-width="2" stroke-dasharray="7 4" {}
                @if let Some(top) = top(area).filter(|_| !label.is_empty()) {
                    text x=(tenth(top.x)) y=(tenth(top.y - 5.0)) font-size="12" text-anchor="middle" fill="#5b3486"
                        stroke="#f7f4ec" stroke-width="3" paint-order="stroke" { (printable(label)) }
                }
            }
        }
    }

    fn foot(&self, view: &View) -> Markup {
        let y = HEAD + view.height + 26.0;
        let metres = round_length(160.0 / view.scale);
        let stretched =
            if view.stretch > 1.01 { format!(", across drawn {:.1} times larger", view.stretch) } else { String::new() };
        // North in the picture's own right and down, the stretch included, as the turn of an arrow that points up.
        let (right, down) = ((self.seaward_deg - 90.0).to_radians().cos(), self.seaward_deg.to_radians().cos() * view.stretch);
        let turn = right.atan2(-down).to_degrees();
        let squares = "square: ground in which finds lie, with its number in the list and how many; where in it is not told";
        let marks = "diamond: heavy find · disc: light find · bar: iron or rubbish · ring: signal not dug · dashed outline: cluster, the largest numbered";
        let legend = if self.squares.is_empty() { marks } else { squares };
        html! {
            path d=(format_args!("M{MARGIN} {y:.1}h{:.1}", metres * view.scale)) stroke="#26282c" stroke-width="3" {}
            text x=(MARGIN) y=(tenth(y + 17.0)) font-size="12" fill="#26282c" { (metres) " m along" (stretched) }
            g transform=(format_args!("translate({:.1} {:.1}) rotate({turn:.1})", WIDTH - 90.0, y + 4.0)) {
                path d="M0 12V-12M0 -12l-4 7M0 -12l4 7" stroke="#26282c" stroke-width="1.5" fill="none" {}
            }
            text x=(tenth(WIDTH - 72.0)) y=(tenth(y + 8.0)) font-size="12" fill="#26282c" { "north" }
            text x=(tenth(WIDTH / 2.0)) y=(tenth(y + 36.0)) font-size="12" text-anchor="middle" fill="#4a4a46" { (legend) }
        }
    }
}

fn mark(Coord { x, y }: Coord<f64>, shape: MarkShape) -> Markup {
    html! {
        @match shape {
            MarkShape::Heavy => { path d=(format_args!("M{:.1} {y:.1}l3.6 -3.6 3.6 3.6 -3.6 3.6z", x - 3.6)) fill="#8c4210" {} }
            MarkShape::Light => { circle cx=(tenth(x)) cy=(tenth(y)) r="1.9" fill="#25705f" {} }
            MarkShape::Rubbish => { path d=(format_args!("M{:.1} {y:.1}h5", x - 2.5)) stroke="#5d5a52" stroke-width="1.4" {} }
            MarkShape::Undug => { circle cx=(tenth(x)) cy=(tenth(y)) r="3" fill="none" stroke="#26282c" stroke-width="1" {} }
        }
    }
}

/// Dry sand to wet sand to water, stepping at the tide lines.
fn band_fill(n: usize, of: usize) -> String {
    const STOPS: [(f64, f64, f64); 5] =
        [(233.0, 221.0, 194.0), (219.0, 196.0, 146.0), (199.0, 178.0, 143.0), (166.0, 176.0, 168.0), (104.0, 152.0, 172.0)];
    let t = if of < 2 { 0.0 } else { n as f64 / (of - 1) as f64 } * (STOPS.len() - 1) as f64;
    let (low, part) = ((t.floor() as usize).min(STOPS.len() - 2), t);
    let part = part - low as f64;
    let (a, b) = (STOPS[low], STOPS[low + 1]);
    let mix = |a: f64, b: f64| (a + (b - a) * part).round() as u8;
    format!("#{:02x}{:02x}{:02x}", mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

/// The greatest of 1, 2, 5 times a power of ten that does not exceed `most_m`.
fn round_length(most_m: f64) -> f64 {
    let power = 10f64.powf(most_m.log10().floor());
    [5.0, 2.0, 1.0].iter().map(|k| k * power).find(|m| *m <= most_m).unwrap_or(power)
}

struct View {
    low: Coord<f64>,
    scale: f64,
    /// How many times larger across is drawn than along: beaches are long and thin.
    stretch: f64,
    height: f64,
}

/// A beach thinner than this share of its length is stretched across until it fills it.
const THIN: f64 = 0.38;
const MOST_STRETCH: f64 = 4.0;

impl View {
    fn around(picture: &PlanPicture) -> Option<Self> {
        let areas = picture.bands.iter().chain(&picture.zones).chain(&picture.clusters).map(|(_, a)| a);
        let areas = areas.chain(picture.squares.iter().map(|s| &s.area));
        let coords = areas.flat_map(|a| a.iter().flat_map(|p| &p.exterior().0)).chain(picture.marks.iter().map(|(c, _)| c));
        let coords = coords.filter(|c| c.x.is_finite() && c.y.is_finite());
        let (mut low, mut high) =
            (Coord { x: f64::INFINITY, y: f64::INFINITY }, Coord { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY });
        for c in coords {
            low = Coord { x: low.x.min(c.x), y: low.y.min(c.y) };
            high = Coord { x: high.x.max(c.x), y: high.y.max(c.y) };
        }
        if !low.x.is_finite() {
            return None;
        }
        let scale = (WIDTH - 2.0 * MARGIN) / (high.x - low.x).max(10.0);
        let across_m = (high.y - low.y).max(10.0);
        let stretch = (THIN * (high.x - low.x).max(10.0) / across_m).clamp(1.0, MOST_STRETCH);
        Some(Self { low, scale, stretch, height: (across_m * scale * stretch).min(4000.0) })
    }

    fn at(&self, c: Coord<f64>) -> Coord<f64> {
        Coord { x: MARGIN + (c.x - self.low.x) * self.scale, y: HEAD + (c.y - self.low.y) * self.scale * self.stretch }
    }

    fn path(&self, line: &LineString<f64>, close: bool) -> String {
        let mut d = String::with_capacity(line.0.len() * 12);
        for (n, c) in line.0.iter().enumerate() {
            let Coord { x, y } = self.at(*c);
            let _ = write!(d, "{}{x:.1} {y:.1}", if n == 0 { 'M' } else { 'L' });
        }
        if close {
            d.push('Z');
        }
        d
    }

    fn areas(&self, area: &MultiPolygon<f64>) -> String {
        area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())).map(|ring| self.path(ring, true)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::{coord, polygon};

    #[test]
    fn is_well_formed_whatever_the_names_say() {
        let area =
            MultiPolygon::new(vec![polygon![(x: 0.0, y: 0.0), (x: 500.0, y: 0.0), (x: 500.0, y: 90.0), (x: 0.0, y: 90.0)]]);
        let picture = PlanPicture {
            title: "Fish & <chips> \"bay\" \u{1}".into(),
            bands: vec![("above MHWS".into(), area.clone())],
            clusters: vec![("cluster <1>".into(), area)],
            marks: vec![(coord! { x: 10.0, y: 20.0 }, MarkShape::Heavy), (coord! { x: f64::NAN, y: 0.0 }, MarkShape::Light)],
            ..PlanPicture::default()
        };
        let svg = picture.svg();
        let mut reader = quick_xml::Reader::from_str(&svg);
        reader.config_mut().check_end_names = true;
        let mut paths = 0;
        loop {
            match reader.read_event().unwrap() {
                quick_xml::events::Event::Eof => break,
                quick_xml::events::Event::Start(e) if e.name().as_ref() == "path" => paths += 1,
                _ => {}
            }
        }
        assert!(paths >= 2, "{svg}");
        assert!(!svg.contains("NaN"));
        assert!(!svg.contains("<chips>"));
    }

    #[test]
    fn an_empty_beach_says_so() {
        assert!(PlanPicture { title: "Bay".into(), ..PlanPicture::default() }.svg().contains("nothing to draw yet"));
    }

    #[test]
    fn scale_bars_are_round() {
        assert_eq!(round_length(199.0), 100.0);
        assert_eq!(round_length(200.0), 200.0);
        assert_eq!(round_length(7.3), 5.0);
    }
}
