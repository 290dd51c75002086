//! A GeoJSON text taken apart, feature by feature, beside whatever makes records of them.

use std::fmt;

use encoding_rs::Encoding;
use geojson::{JsonObject, JsonValue};
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::beside::{Give, PORTION};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{DEPTH, Line, Text};

/// What of a text is read.
pub(super) enum Part {
    /// A feature, or a bare geometry, with the line on which it begins; what stands in its place may be no object.
    Feature(JsonValue, u64),
    /// The member `crs`, and whether features came before it.
    Crs(JsonValue, bool),
}

/// Reads a text from start to end and gives its parts: a collection, one feature, a bare geometry, or several in a row.
pub(super) fn take_apart(
    source: &Source,
    encoding: &'static Encoding,
    progress: &Progress,
    give: Give<'_, Vec<Part>>,
) -> Result<(), Stop> {
    let text = Text::new(source.open(progress)?, encoding);
    let line = text.line();
    let mut apart = Apart { give, line: line.clone(), parts: Vec::new(), given_at: 0, unwanted: false };
    let mut json = serde_json::Deserializer::from_reader(text);
    loop {
        let read = Document(&mut apart).deserialize(&mut json);
        apart.hand_on();
        match read {
            // Whoever takes the parts says why it wants no more.
            _ if apart.unwanted => return Ok(()),
            Err(error) => return Err(fault(error, line.get())),
            Ok(()) if json.end().is_ok() => return Ok(()),
            Ok(()) => {}
        }
    }
}

fn fault(error: serde_json::Error, line: u64) -> Stop {
    use serde_json::error::Category;
    let mut why = error.to_string();
    if let Some(at) = why.find(" at line ") {
        why.truncate(at);
    }
    match error.classify() {
        Category::Io => Stop::from_io(&error.into(), line),
        Category::Eof => Fault::Truncated { line }.into(),
        _ if why.starts_with("recursion limit") => Fault::TooDeep { line, limit: DEPTH }.into(),
        Category::Syntax => Fault::Syntax { line, why }.into(),
        Category::Data if why == UNTYPED => Fault::Unknown { why }.into(),
        Category::Data => Fault::Unknown { why: format!("{why} at line {line}") }.into(),
    }
}

const UNTYPED: &str = "it is JSON without a \"type\", so it is not GeoJSON";

/// The parts found so far, and where they go.
struct Apart<'g> {
    give: Give<'g, Vec<Part>>,
    line: Line,
    parts: Vec<Part>,
    /// How much text had been read when parts were last handed on.
    given_at: u64,
    unwanted: bool,
}

impl Apart<'_> {
    fn add<E: serde::de::Error>(&mut self, part: Part) -> Result<(), E> {
        self.parts.push(part);
        if self.line.bytes() - self.given_at >= PORTION {
            self.hand_on();
        }
        if self.unwanted { Err(E::custom("no more is wanted")) } else { Ok(()) }
    }

    fn hand_on(&mut self) {
        self.given_at = self.line.bytes();
        let parts = std::mem::take(&mut self.parts);
        self.unwanted = self.unwanted || !(self.give)(parts);
    }
}

/// One value at the top of the file.
struct Document<'d, 'g>(&'d mut Apart<'g>);

impl<'de> DeserializeSeed<'de> for Document<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Document<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a GeoJSON object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let apart = self.0;
        let line = apart.line.get();
        let mut members = JsonObject::new();
        let mut collection = false;
        while let Some(key) = map.next_key::<String>()? {
            match key.as_str() {
                "features" => {
                    map.next_value_seed(Features(apart))?;
                    collection = true;
                }
                "crs" => {
                    let crs: JsonValue = map.next_value()?;
                    apart.add(Part::Crs(crs, collection))?;
                }
                "type" | "geometry" | "properties" | "coordinates" | "geometries" => {
                    members.insert(key, map.next_value()?);
                }
                _ => drop(map.next_value::<IgnoredAny>()?),
            }
        }
        if collection {
            return Ok(());
        }
        if members.get("type").and_then(JsonValue::as_str).is_none() {
            return Err(serde::de::Error::custom(UNTYPED));
        }
        apart.add(Part::Feature(members.into(), line))
    }
}

/// The features of a collection.
struct Features<'d, 'g>(&'d mut Apart<'g>);

impl<'de> DeserializeSeed<'de> for Features<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Features<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of features")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        while let Some((line, value)) = seq.next_element_seed(Lined(&self.0.line))? {
            self.0.add(Part::Feature(value, line))?;
        }
        Ok(())
    }
}

/// A value with the line on which it begins.
struct Lined<'l>(&'l Line);

impl<'de> DeserializeSeed<'de> for Lined<'_> {
    type Value = (u64, JsonValue);
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Self::Value, D::Error> {
        let line = self.0.get();
        serde::Deserialize::deserialize(deserializer).map(|value| (line, value))
    }
}
