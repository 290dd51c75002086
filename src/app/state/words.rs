//! What an item is called and what is known of it; the same words in every view.

use super::frame_context::FrameContext;
use crate::book::{Find, Uid};
use crate::query::{Age, Item, TallyQuestion};
use crate::tide::whole;

impl FrameContext<'_> {
    /// What an item is called, in one line; the same words for the eye and for assistive tools.
    pub(crate) fn name_of(&self, item: Item) -> String {
        let named = |name: &str, what: &str| if name.is_empty() { what.to_owned() } else { format!("{name}, {what}") };
        let book = self.book;
        let known = match item {
            Item::Find(uid) => book.finds().get(&uid).map(|f| self.find_line(f)),
            Item::Signal(uid) => book.signals().get(&uid).map(|s| {
                let ids: Vec<String> = s.target_ids.iter().map(i32::to_string).collect();
                if ids.is_empty() { "undug signal".to_owned() } else { format!("undug signal, target ID {}", ids.join(" ")) }
            }),
            Item::Outing(uid) => {
                book.outings().get(&uid).map(|o| named(&o.name, &format!("outing of {}", self.time(o.start, "%-d %b %Y %H:%M"))))
            }
            Item::Zone(uid) => book.zones().get(&uid).map(|z| named(&z.name, z.usage.label())),
            Item::Permission(uid) => book.permissions().get(&uid).map(|p| named(&p.name, "permission")),
            Item::Access(uid) => book.accesses().get(&uid).map(|a| named(&a.name, "way on and off the beach")),
            Item::Barrier(uid) => book.barriers().get(&uid).map(|b| named(&b.name, b.kind.label())),
            Item::Storm(uid) => book.storms().get(&uid).map(|s| named(&s.name, "storm")),
            Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_) => {
                self.read().and_then(|(r, _)| r.outline(item)).map(|o| o.label.clone())
            }
            Item::Band(n) => self.read().and_then(|(r, _)| r.reading().bands.get(n)).map(|b| format!("band {}", b.name)),
        };
        known.unwrap_or_else(|| "no longer there".to_owned())
    }

    fn find_line(&self, find: &Find) -> String {
        let what = if find.what.is_empty() { find.kind.label() } else { find.what.as_str() };
        let mut said = format!("{what}, {}", find.weight_class());
        if let Some(t) = find.time {
            said += &format!(", {}", self.time(t, "%-d %b %Y"));
        }
        said
    }

    /// What is known of an item, a line each.
    pub(crate) fn facts(&self, item: Item) -> Vec<String> {
        let mut facts = Vec::new();
        let mut add = |fact: Option<String>| facts.extend(fact.filter(|f| !f.is_empty()));
        match item {
            Item::Find(uid) => {
                let Some(f) = self.book.finds().get(&uid) else { return facts };
                add(Some(format!("kind: {}", f.kind.label())));
                let figures = [
                    f.depth_m.map(|d| format!("{:.0} cm deep", d * 100.0)),
                    f.target_id.map(|t| format!("target ID {t:.0}")),
                    f.mass_g.map(|g| format!("{g:.1} g")),
                    f.size_mm.map(|s| format!("{s:.0} mm")),
                ];
                add(Some(figures.into_iter().flatten().collect::<Vec<_>>().join(" · ")));
                add(f.time.map(|t| self.time(t, "%a %-d %b %Y %H:%M")));
                add(self.place_line(item));
                add((!f.photo.trim().is_empty()).then(|| format!("photo: {}", f.photo.trim())));
                add(Some(f.notes.clone()));
            }
            Item::Signal(uid) => {
                let Some(s) = self.book.signals().get(&uid) else { return facts };
                let ids: Vec<String> = s.target_ids.iter().map(ToString::to_string).collect();
                let heard = [
                    (!ids.is_empty()).then(|| format!("target IDs {}", ids.join(" "))),
                    s.steadiness.map(|s| s.label().to_owned()),
                    s.gauge_step.map(|g| format!("gauge step {g}")),
                ];
                add(Some(heard.into_iter().flatten().collect::<Vec<_>>().join(" · ")));
                let may_be = self.lessons().filter(|(_, age)| *age == Age::Fresh).and_then(|(l, _)| l.expected_of(uid));
                add(may_be.map(|e| format!("may be: {} ({:.0} %)", e.likeliest, 100.0 * e.chance)));
                add(s.time.map(|t| self.time(t, "%a %-d %b %Y %H:%M")));
                add(self.place_line(item));
                add(Some(s.notes.clone()));
            }
            Item::Outing(uid) => {
                let Some(o) = self.book.outings().get(&uid) else { return facts };
                add(Some(format!("{} to {}", self.time(o.start, "%a %-d %b %Y %H:%M"), self.time(o.end, "%H:%M"))));
                add(self.finds_of_outing(uid));
                let sand: Vec<&str> = o.sand.iter().map(|s| s.label()).collect();
                add(Some(sand.join(", ")));
                add(Some(o.notes.clone()));
            }
            Item::Permission(uid) => {
                let Some(p) = self.book.permissions().get(&uid) else { return facts };
                add(Some(p.holder.clone()));
                add(Some(p.terms.clone()));
            }
            Item::Storm(uid) => {
                let Some(s) = self.book.storms().get(&uid) else { return facts };
                add(s.span().map(|(a, b)| format!("{} to {}", self.time(a, "%-d %b %Y %H:%M"), self.time(b, "%-d %b %H:%M"))));
                add(s.peak().map(|p| format!("waves up to {:.1} m (significant height)", p.hs_m)));
                add(Some(s.notes.clone()));
            }
            Item::Zone(uid) => add(self.book.zones().get(&uid).map(|z| z.notes.clone())),
            Item::Access(uid) => add(self.book.accesses().get(&uid).map(|a| a.notes.clone())),
            Item::Barrier(uid) => add(self.book.barriers().get(&uid).map(|b| b.notes.clone())),
            Item::Cluster(n) => {
                let cluster = self.read().and_then(|(r, _)| r.reading().clusters.get(n));
                add(cluster.map(|c| format!("{} finds, {} heavy, {} light", c.counts.finds, c.counts.heavy, c.counts.light)));
            }
            Item::HotSpot(_) | Item::ScourLine(_) => {
                let outline = self.read().and_then(|(r, _)| r.outline(item));
                add(outline.map(|o| format!("{} finds", o.members.len())));
            }
            Item::Band(_) => {}
        }
        facts
    }

    /// How many finds an outing brought, once they are counted.
    pub(crate) fn finds_of_outing(&self, outing: Uid) -> Option<String> {
        let (finds, age) = self.newest::<TallyQuestion>()?;
        let n = finds.get(&outing).copied().unwrap_or(0);
        Some(if age == Age::Fresh { format!("{n} finds") } else { format!("{n} finds before the last change") })
    }

    fn place_line(&self, item: Item) -> Option<String> {
        let mark = self.marks()?.0.get(item)?;
        if mark.along_m.is_nan() {
            return None;
        }
        let mut said = format!("{:.0} m along, {:.0} m across", whole(mark.along_m.into()), whole(mark.across_m.into()));
        if !mark.land_m.is_nan() {
            let offset = self.beach.and_then(|b| b.datum_offset_m);
            let (level, datum) =
                offset.map_or((f64::from(mark.land_m), "land datum"), |o| (f64::from(mark.land_m) + o, "tide datum"));
            said += &format!(", sand {:.1} m above {datum}", crate::tide::rounded(level, 1));
        }
        Some(said)
    }
}
