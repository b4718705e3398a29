//! Alerts in the GeoJSON that the US National Weather Service's API serves. Points are `[lon, lat]`.

use std::fmt;
use std::sync::Arc;

use chrono::{DateTime, Utc};
use serde::de::{SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value;
use serde_json::value::RawValue;

use super::alert::{Alert, Ended, Info, Kind, Message, Reference, Status, moment};
use super::area::{Area, Polygon, ring};
use super::limit::{Count, Thing};
use super::{Faults, FileFault, LARGEST, Reading, shown, too_large};

/// Most bytes of one alert, or one layer: a state's outline in full detail has a few hundred thousand.
const LARGEST_TREE: usize = 4_000_000;
/// Most values in it, lists and objects among them.
const MOST_VALUES: usize = 500_000;
const AGAIN: &str = "fetch it again from its publisher";

/// The head of a file; features are read one by one, so that no hostile file costs more than itself.
#[derive(Deserialize)]
struct AlertsHead<'t> {
    r#type: Option<String>,
    updated: Option<String>,
    #[serde(borrow)]
    features: Option<Features<'t>>,
}

/// The features as they stand, and how many there are: of too many no more are kept than are read.
struct Features<'t> {
    kept: Vec<&'t RawValue>,
    count: usize,
}

impl<'de: 't, 't> Deserialize<'de> for Features<'t> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Visit;
        impl<'de> Visitor<'de> for Visit {
            type Value = Features<'de>;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a list of features")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
                let mut features = Features { kept: Vec::new(), count: 0 };
                while let Some(feature) = list.next_element::<&RawValue>()? {
                    features.count += 1;
                    if features.kept.len() < Thing::Alerts.most() {
                        features.kept.push(feature);
                    }
                }
                Ok(features)
            }
        }
        from.deserialize_seq(Visit)
    }
}

/// Reads a FeatureCollection of alerts, or one alert as a Feature.
pub fn read(bytes: &[u8]) -> Reading {
    if bytes.len() > LARGEST {
        return Reading::only(too_large(bytes.len()));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let head: AlertsHead = match serde_json::from_slice(bytes) {
        Ok(head) => head,
        Err(e) => return Reading::only(not_json(&e)),
    };
    let mut reader = GeoJsonReader::default();
    let mut updated = None;
    let alerts: Vec<Alert> = match (head.r#type.as_deref(), head.features) {
        (Some("FeatureCollection"), Some(features)) if features.count <= Thing::Alerts.most() => {
            updated = head.updated.and_then(|text| reader.check("updated", moment(&text)));
            let raw = features.kept.iter().enumerate();
            raw.filter_map(|(index, feature)| reader.raw(&format!("features[{index}]"), feature.get())).collect()
        }
        (Some("FeatureCollection"), Some(features)) => {
            let says = format!("the file has {} alerts, more than {}", features.count, Thing::Alerts.most());
            return Reading::only(FileFault::new("features", says, "ask for fewer areas"));
        }
        // The head was read from these bytes: they are text.
        (Some("Feature"), _) => {
            std::str::from_utf8(bytes).ok().and_then(|text| reader.raw("the alert", text)).into_iter().collect()
        }
        (other, _) => {
            let says = match other {
                Some("FeatureCollection") => "the collection has no `features`".to_owned(),
                Some(other) => format!("`type` is `{}`, neither FeatureCollection nor Feature", shown(other)),
                None => "there is no `type`: this is no GeoJSON of alerts".to_owned(),
            };
            return Reading::only(FileFault::new("the file", says, "give the answer of the API's `alerts` as it came"));
        }
    };
    match reader.count.passed {
        Some(fault) => Reading::only(fault),
        None => Reading { alerts, updated, faults: reader.faults.told() },
    }
}

/// A JSON text as a tree, which can take many times its size in memory; so it has a limit.
pub(super) fn tree(text: &str) -> Result<Value, String> {
    if text.len() > LARGEST_TREE {
        return Err(format!("it has {} bytes, more than {LARGEST_TREE}", text.len()));
    }
    // Each value but the first of its list or object has a comma before it; those in texts are few.
    if text.bytes().filter(|byte| matches!(byte, b',' | b'[' | b'{')).count() > MOST_VALUES {
        return Err(format!("it has more than {MOST_VALUES} values"));
    }
    serde_json::from_str(text).map_err(|e| shown(&e.to_string()))
}

/// What serde_json says, with its place.
pub(super) fn not_json(e: &serde_json::Error) -> FileFault {
    let at = format!("line {}, column {}", e.line(), e.column());
    let text = e.to_string();
    let reason = shown(text.split(" at line ").next().unwrap_or_default());
    let (says, help) = match e.classify() {
        serde_json::error::Category::Eof => {
            ("the file ends in the middle".to_owned(), "fetch the file again: it is cut off")
        }
        serde_json::error::Category::Data => (format!("the file is not as expected: {reason}"), AGAIN),
        _ => (format!("this cannot be read: {reason}"), AGAIN),
    };
    FileFault::new(at, says, help)
}

#[derive(Default)]
struct GeoJsonReader {
    faults: Faults,
    count: Count,
}

impl GeoJsonReader {
    fn fault(&mut self, at: impl Into<String>, says: impl Into<String>) {
        self.faults.push(|| FileFault::new(at, says, AGAIN));
    }

    fn check<T>(&mut self, at: &str, read: Result<T, String>) -> Option<T> {
        read.map_err(|says| self.fault(at, says)).ok()
    }

    fn raw(&mut self, at: &str, text: &str) -> Option<Alert> {
        if self.count.passed.is_some() {
            return None;
        }
        let before = self.faults.count;
        let value = self.check(at, tree(text).map_err(|says| format!("the alert cannot be read: {says}")))?;
        let alert = self.alert(at, &value);
        alert.filter(|_| self.faults.count == before)
    }

    fn alert(&mut self, at: &str, feature: &Value) -> Option<Alert> {
        let within = format!("{at}.properties");
        let Some(said) = feature.get("properties").filter(|said| said.is_object()) else {
            self.fault(at, "the feature has no `properties`");
            return None;
        };
        let mut fields = AlertFields { reader: self, at: &within, said };
        let status = fields.required("status").and_then(|text| fields.read("status", Status::read(&text)));
        let kind = fields.required("messageType").and_then(|text| fields.read("messageType", Kind::read(&text)));
        let sent = fields.required("sent").and_then(|text| fields.read("sent", moment(&text)));
        let id = fields.required("id");
        let event = fields.required("event");
        let sender = fields.text("sender").unwrap_or_default();
        let severity = fields.text("severity").unwrap_or_else(|| "Unknown".to_owned());
        let ended = Ended::of(fields.texts("response", said.get("response")), fields.text("urgency").as_deref());
        let headline = fields.text("headline");
        let [onset, effective, ends, expires] = ["onset", "effective", "ends", "expires"].map(|name| fields.time(name));
        let references = fields.references();
        let mut area = fields.codes();
        area.polygons = self.geometry(&format!("{at}.geometry"), feature.get("geometry").unwrap_or(&Value::Null));
        let points = area.polygons.iter().flat_map(|of| of.holes.iter().chain([&of.outer])).map(Vec::len).sum();
        let allowed = self.count.allows(Thing::References, references.len())
            && self.count.allows(Thing::Points, points)
            && self.count.allows(Thing::Codes, area.codes.len());
        let message = Message { id: id?, sender, sent: sent?, status: status?, kind: kind?, references };
        let info = Info { event: event?, severity, ended, headline, onset, effective, ends, expires, area };
        allowed.then(|| Alert { message: Arc::new(message), info })
    }

    fn geometry(&mut self, at: &str, geometry: &Value) -> Vec<Polygon> {
        if geometry.is_null() {
            return Vec::new();
        }
        let parts = geometry.get("coordinates").unwrap_or(&Value::Null);
        let rings: Vec<&Value> = match (geometry.get("type").and_then(Value::as_str), parts.as_array()) {
            (Some("Polygon"), Some(_)) => vec![parts],
            (Some("MultiPolygon"), Some(polygons)) => polygons.iter().collect(),
            (Some(kind @ ("Polygon" | "MultiPolygon")), None) => {
                self.fault(at, format!("the {kind} has no `coordinates`"));
                return Vec::new();
            }
            (kind, _) => {
                let kind = kind.map_or("no geometry".to_owned(), |kind| format!("`{}`", shown(kind)));
                self.fault(at, format!("it is {kind}; an alert has a Polygon, a MultiPolygon or null"));
                return Vec::new();
            }
        };
        rings.into_iter().filter_map(|rings| self.check(at, polygon(rings))).collect()
    }
}

/// A polygon by its rings, the outer one first.
pub(super) fn polygon(rings: &Value) -> Result<Polygon, String> {
    let rings = rings.as_array().ok_or("a polygon is a list of rings")?;
    let mut all = rings.iter().map(|points| {
        let points = points.as_array().ok_or("a ring is a list of points")?;
        ring(points.iter().map(point).collect::<Result<_, _>>()?)
    });
    let outer = all.next().ok_or("the polygon has no ring")??;
    Ok(Polygon { outer, holes: all.collect::<Result<_, _>>()? })
}

fn point(value: &Value) -> Result<[f64; 2], String> {
    match value.as_array().map(Vec::as_slice) {
        // A third number would be the height.
        Some([lon, lat] | [lon, lat, _]) => match (lat.as_f64(), lon.as_f64()) {
            (Some(lat), Some(lon)) => Ok([lat, lon]),
            _ => Err(format!("`{}` is no point", shown(&value.to_string()))),
        },
        _ => Err(format!("`{}` is no point; GeoJSON writes [lon, lat]", shown(&value.to_string()))),
    }
}

/// The properties of one alert.
struct AlertFields<'r, 'v> {
    reader: &'r mut GeoJsonReader,
    at: &'r str,
    said: &'v Value,
}

impl AlertFields<'_, '_> {
    fn read<T>(&mut self, name: &str, read: Result<T, String>) -> Option<T> {
        self.reader.check(&format!("{}.{name}", self.at), read)
    }

    /// A text; `null` and nothing at all are the same.
    fn text(&mut self, name: &str) -> Option<String> {
        match self.said.get(name) {
            None | Some(Value::Null) => None,
            Some(Value::String(text)) if text.trim().is_empty() => None,
            Some(Value::String(text)) => Some(text.clone()),
            Some(other) => self.read(name, Err(format!("`{}` is no text", shown(&other.to_string())))),
        }
    }

    fn required(&mut self, name: &str) -> Option<String> {
        let before = self.reader.faults.count;
        let text = self.text(name);
        if text.is_none() && self.reader.faults.count == before {
            self.reader.fault(self.at, format!("the alert gives no `{name}`"));
        }
        text
    }

    fn time(&mut self, name: &str) -> Option<DateTime<Utc>> {
        let text = self.text(name)?;
        self.read(name, moment(&text))
    }

    fn list<'v>(&mut self, name: &str, of: Option<&'v Value>) -> &'v [Value] {
        match of {
            None | Some(Value::Null) => &[],
            Some(Value::Array(list)) => list,
            Some(other) => {
                self.read(name, Err::<(), _>(format!("`{}` is no list", shown(&other.to_string()))));
                &[]
            }
        }
    }

    /// A text, or several in a list.
    fn texts<'v>(&mut self, name: &str, of: Option<&'v Value>) -> impl Iterator<Item = &'v str> + use<'v> {
        let list = if of.is_some_and(Value::is_string) {
            of.map_or(&[][..], std::slice::from_ref)
        } else {
            self.list(name, of)
        };
        list.iter().filter_map(Value::as_str)
    }

    fn references(&mut self) -> Vec<Reference> {
        let said = self.said;
        let text = |of: &Value, name: &str| of.get(name).and_then(Value::as_str).map(str::to_owned);
        let list = self.list("references", said.get("references"));
        let named: Vec<Reference> = list
            .iter()
            .filter_map(|one| Some(Reference { id: text(one, "identifier")?, sender: text(one, "sender") }))
            .collect();
        if named.len() < list.len() {
            self.read("references", Err::<(), _>("one of them gives no `identifier`".to_owned()));
        }
        named
    }

    /// UGC and SAME codes, the zones that are named by address alone, and which other systems are used.
    fn codes(&mut self) -> Area {
        let said = self.said;
        let mut area = Area::default();
        let mut codes = Vec::new();
        for name in ["UGC", "SAME"] {
            let list = self.list("geocode", said.pointer(&format!("/geocode/{name}")));
            codes.extend(list.iter().filter_map(Value::as_str).map(str::to_uppercase));
        }
        for (name, codes) in said.get("geocode").and_then(Value::as_object).into_iter().flatten() {
            if !["UGC", "SAME"].contains(&name.as_str()) && codes.as_array().is_none_or(|codes| !codes.is_empty()) {
                area.names(name);
            }
        }
        let zones = self.list("affectedZones", said.get("affectedZones"));
        codes.extend(
            zones.iter().filter_map(Value::as_str).filter_map(|url| url.rsplit('/').next()).map(str::to_uppercase),
        );
        codes.sort();
        codes.dedup();
        area.codes = codes;
        area
    }
}
