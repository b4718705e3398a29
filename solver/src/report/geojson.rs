//! Alerts in the GeoJSON that the US National Weather Service's API serves. Points are `[lon, lat]`.

use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::Value;
use serde_json::value::RawValue;

use super::alert::{Alert, Kind, Reference, Status, moment};
use super::area::{Area, Polygon, ring};
use super::{Fault, Faults, LARGEST, MOST_ALERTS, Reading, shown, too_large, too_many};

/// Most bytes of one feature: a state's outline in full detail has a few hundred thousand.
const LARGEST_FEATURE: usize = 4_000_000;
const AGAIN: &str = "fetch it again from its publisher";

/// The head of a file; features are read one by one, so that no hostile file costs more than itself.
#[derive(Deserialize)]
struct Head<'t> {
    r#type: Option<String>,
    updated: Option<String>,
    #[serde(borrow)]
    features: Option<Vec<&'t RawValue>>,
}

/// Reads a FeatureCollection of alerts, or one alert as a Feature.
pub fn read(bytes: &[u8]) -> Reading {
    if bytes.len() > LARGEST {
        return Reading::only(too_large(bytes.len()));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let head: Head = match serde_json::from_slice(bytes) {
        Ok(head) => head,
        Err(e) => return Reading::only(not_json(&e)),
    };
    let mut reader = Reader::default();
    let mut updated = None;
    let alerts: Vec<Alert> = match (head.r#type.as_deref(), head.features) {
        (Some("FeatureCollection"), Some(features)) if features.len() <= MOST_ALERTS => {
            updated = head.updated.and_then(|text| reader.check("updated", moment(&text)));
            let raw = features.iter().enumerate();
            raw.filter_map(|(index, feature)| reader.raw(&format!("features[{index}]"), feature.get())).collect()
        }
        (Some("FeatureCollection"), Some(features)) => {
            return Reading::only(too_many("features", features.len()));
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
            return Reading::only(Fault::new("the file", says, "give the answer of the API's `alerts` as it came"));
        }
    };
    Reading { alerts, updated, faults: reader.faults.told() }
}

/// What serde_json says, with its place.
pub(super) fn not_json(e: &serde_json::Error) -> Fault {
    let at = format!("line {}, column {}", e.line(), e.column());
    let text = e.to_string();
    let reason = shown(text.split(" at line ").next().unwrap_or_default());
    let (says, help) = match e.classify() {
        serde_json::error::Category::Eof => {
            ("the file ends in the middle".to_owned(), "fetch the file again: it is cut off")
        }
        serde_json::error::Category::Data => (format!("the file is not as expected: {reason}"), AGAIN),
        _ => (format!("this is not JSON: {reason}"), AGAIN),
    };
    Fault::new(at, says, help)
}

#[derive(Default)]
struct Reader {
    faults: Faults,
}

impl Reader {
    fn fault(&mut self, at: impl Into<String>, says: impl Into<String>) {
        self.faults.push(|| Fault::new(at, says, AGAIN));
    }

    fn check<T>(&mut self, at: &str, read: Result<T, String>) -> Option<T> {
        read.map_err(|says| self.fault(at, says)).ok()
    }

    fn raw(&mut self, at: &str, text: &str) -> Option<Alert> {
        if text.len() > LARGEST_FEATURE {
            self.fault(at, format!("the alert has {} bytes, more than {LARGEST_FEATURE}", text.len()));
            return None;
        }
        let before = self.faults.count;
        let value: Value = self.check(at, serde_json::from_str(text).map_err(|e| shown(&e.to_string())))?;
        let alert = self.alert(at, &value);
        alert.filter(|_| self.faults.count == before)
    }

    fn alert(&mut self, at: &str, feature: &Value) -> Option<Alert> {
        let within = format!("{at}.properties");
        let Some(said) = feature.get("properties").filter(|said| said.is_object()) else {
            self.fault(at, "the feature has no `properties`");
            return None;
        };
        let mut fields = Fields { reader: self, at: &within, said };
        let status = fields.required("status").and_then(|text| fields.read("status", Status::read(&text)));
        let kind = fields.required("messageType").and_then(|text| fields.read("messageType", Kind::read(&text)));
        let sent = fields.required("sent").and_then(|text| fields.read("sent", moment(&text)));
        let id = fields.required("id");
        let event = fields.required("event");
        let sender = fields.text("sender").unwrap_or_default();
        let severity = fields.text("severity").unwrap_or_else(|| "Unknown".to_owned());
        let headline = fields.text("headline");
        let [onset, effective, ends, expires] = ["onset", "effective", "ends", "expires"].map(|name| fields.time(name));
        let references = fields.references();
        let codes = fields.codes();
        let polygons = self.geometry(&format!("{at}.geometry"), feature.get("geometry").unwrap_or(&Value::Null));
        Some(Alert {
            id: id?,
            sender,
            sent: sent?,
            status: status?,
            kind: kind?,
            references,
            event: event?,
            severity,
            headline,
            onset,
            effective,
            ends,
            expires,
            area: Area { polygons, circles: Vec::new(), codes },
        })
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
struct Fields<'r, 'v> {
    reader: &'r mut Reader,
    at: &'r str,
    said: &'v Value,
}

impl Fields<'_, '_> {
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

    fn list(&mut self, name: &str, of: Option<&Value>) -> Vec<Value> {
        match of {
            None | Some(Value::Null) => Vec::new(),
            Some(Value::Array(list)) => list.clone(),
            Some(other) => {
                self.read(name, Err::<(), _>(format!("`{}` is no list", shown(&other.to_string()))));
                Vec::new()
            }
        }
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

    /// UGC and SAME codes, and the zones that are named by address alone.
    fn codes(&mut self) -> Vec<String> {
        let said = self.said;
        let mut codes = Vec::new();
        for name in ["UGC", "SAME"] {
            let list = self.list("geocode", said.pointer(&format!("/geocode/{name}")));
            codes.extend(list.iter().filter_map(Value::as_str).map(str::to_uppercase));
        }
        let zones = self.list("affectedZones", said.get("affectedZones"));
        codes.extend(
            zones.iter().filter_map(Value::as_str).filter_map(|url| url.rsplit('/').next()).map(str::to_uppercase),
        );
        codes.sort();
        codes.dedup();
        codes
    }
}
