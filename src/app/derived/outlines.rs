use geo::{InteriorPoint, TriangulateEarcut};
use geo_types::{Coord, LineString, MultiPolygon, Polygon};

use super::{DrawnPlace, Patch, Placing};
use crate::app::item::Item;
use crate::book::{BarrierKind, BarrierShape, Book, Uid, ZoneUse};
use crate::earth::LonLat;

/// What an area on the drawing stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AreaKind {
    /// A zone and its use.
    Zone(ZoneUse),
    /// Ground covered by a permission.
    Permission,
    /// Ground that bars the way.
    Barrier(BarrierKind),
}

/// A named area or line of the person's own.
pub(crate) struct Area {
    pub(crate) item: Item,
    pub(crate) kind: AreaKind,
    pub(crate) name: String,
    /// Outer and inner rings, or lines.
    pub(crate) rings: Vec<Vec<DrawnPlace>>,
    pub(crate) closed: bool,
    pub(crate) fill: Patch,
    /// A place inside for its name.
    pub(crate) middle: DrawnPlace,
}

/// Zones, permissions, barriers and accesses of a beach.
#[derive(Default)]
pub(crate) struct Outlines {
    pub(crate) areas: Vec<Area>,
    pub(crate) accesses: Vec<(Item, String, DrawnPlace)>,
}

impl Outlines {
    /// Everything of that sort on a beach.
    pub(crate) fn of(book: &Book, beach: Uid, placing: &Placing) -> Self {
        let mut made = Self::default();
        for p in book.permissions().values().filter(|p| p.beach == beach) {
            made.areas.extend(area(placing, Item::Permission(p.uid), AreaKind::Permission, &p.name, &p.area));
        }
        for z in book.zones_of(beach) {
            made.areas.extend(area(placing, Item::Zone(z.uid), AreaKind::Zone(z.usage), &z.name, &z.area));
        }
        for b in book.barriers().values().filter(|b| b.beach == beach) {
            let (item, kind) = (Item::Barrier(b.uid), AreaKind::Barrier(b.kind));
            match &b.shape {
                BarrierShape::Area(polygons) => made.areas.extend(area(placing, item, kind, &b.name, polygons)),
                BarrierShape::Line(lines) => {
                    let rings: Vec<Vec<DrawnPlace>> = lines.0.iter().map(|l| ring(placing, l)).filter(|r| r.len() > 1).collect();
                    if let Some(middle) = rings.first().and_then(|r| r.get(r.len() / 2)).copied() {
                        made.areas.push(Area {
                            item,
                            kind,
                            name: b.name.clone(),
                            rings,
                            closed: false,
                            fill: Patch::default(),
                            middle,
                        });
                    }
                }
            }
        }
        for a in book.accesses().values().filter(|a| a.beach == beach) {
            if let Ok(at) = placing.of(a.at) {
                made.accesses.push((Item::Access(a.uid), a.name.clone(), at));
            }
        }
        made
    }
}

fn ring(placing: &Placing, line: &LineString<f64>) -> Vec<DrawnPlace> {
    line.coords().filter_map(|c| LonLat::try_from(*c).ok()).filter_map(|p| placing.of(p).ok()).collect()
}

fn area(placing: &Placing, item: Item, kind: AreaKind, name: &str, polygons: &MultiPolygon<f64>) -> Option<Area> {
    let mut made = Area {
        item,
        kind,
        name: name.to_owned(),
        rings: Vec::new(),
        closed: true,
        fill: Patch::default(),
        middle: [[0.0; 2]; 2],
    };
    for polygon in polygons {
        let rings: Vec<Vec<DrawnPlace>> =
            std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(|r| ring(placing, r)).collect();
        if rings.first().is_none_or(|r| r.len() < 3) {
            continue;
        }
        if made.rings.is_empty() {
            made.middle = middle(placing, &rings);
        }
        fill(&mut made.fill, &rings);
        made.rings.extend(rings);
    }
    (!made.rings.is_empty()).then_some(made)
}

fn as_line(ring: &[DrawnPlace]) -> LineString<f64> {
    ring.iter().map(|p| Coord { x: f64::from(p[0][0]), y: f64::from(p[0][1]) }).collect()
}

/// A place inside the first polygon, whatever its shape.
fn middle(placing: &Placing, rings: &[Vec<DrawnPlace>]) -> DrawnPlace {
    let polygon = Polygon::new(as_line(&rings[0]), rings[1..].iter().map(|r| as_line(r)).collect());
    polygon.interior_point().map_or(rings[0][0], |p| placing.of_local(placing.to_local(0, [p.x() as f32, p.y() as f32])))
}

/// Triangles of a polygon with holes (ear clipping), in both lays.
fn fill(patch: &mut Patch, rings: &[Vec<DrawnPlace>]) {
    let polygon = Polygon::new(as_line(&rings[0]), rings[1..].iter().map(|r| as_line(r)).collect());
    let raw = polygon.earcut_triangles_raw();
    // The triangulation numbers corners ring by ring and leaves out the one that closes a ring.
    let open = |r: &Vec<DrawnPlace>| if r.first() == r.last() { r.len() - 1 } else { r.len() };
    let corners: Vec<DrawnPlace> = rings.iter().flat_map(|r| r[..open(r)].iter().copied()).collect();
    let first = patch.spots.len() as u32;
    if raw.vertices.len() == corners.len() {
        patch.spots.extend(corners);
        patch.triangles.extend(raw.triangle_indices.iter().map(|i| first + *i as u32));
    }
}
