//! Alerts in OASIS CAP 1.2, alone or inside a feed. Points are `lat,lon`.

use chrono::{DateTime, Utc};

use super::alert::{Alert, Kind, Reference, Status, moment};
use super::area::{Area, Circle, Polygon, on_globe, ring};
use super::xml::{self, Node, place};
use super::{Fault, Faults, LARGEST, MOST_ALERTS, Reading, shown, too_large, too_many};

/// Reads every CAP 1.2 alert of a file.
pub fn read(bytes: &[u8]) -> Reading {
    if bytes.len() > LARGEST {
        return Reading::only(too_large(bytes.len()));
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.trim_start_matches('\u{feff}'),
        Err(e) => {
            let says = "the file is not plain text: a byte belongs to no letter in UTF-8";
            return Reading::only(Fault::new(format!("byte {}", e.valid_up_to()), says, "give it in UTF-8"));
        }
    };
    let nodes = match xml::alerts(text) {
        Ok(nodes) => nodes,
        Err(fault) => return Reading::only(fault),
    };
    if nodes.is_empty() {
        let says = "there is no CAP 1.2 alert in this file (namespace urn:oasis:names:tc:emergency:cap:1.2)";
        return Reading::only(Fault::new("the file", says, "give a file of alerts; a file without any is not calm"));
    }
    if nodes.len() > MOST_ALERTS {
        return Reading::only(too_many("the file", nodes.len()));
    }
    let mut reader = Reader { text, faults: Faults::default() };
    let alerts = nodes.iter().flat_map(|node| reader.alerts(node)).collect();
    Reading { alerts, updated: None, faults: reader.faults.told() }
}

struct Reader<'t> {
    text: &'t str,
    faults: Faults,
}

impl Reader<'_> {
    fn fault(&mut self, node: &Node, says: impl Into<String>, help: &str) {
        let text = self.text;
        self.faults.push(|| Fault::new(place(text, node.at), says, help));
    }

    /// The alerts of one message: one for each `info`; a message without any is a cancel or a receipt.
    fn alerts(&mut self, node: &Node) -> Vec<Alert> {
        let before = self.faults.count;
        let id = self.required(node, "identifier").unwrap_or_default();
        let sender = self.required(node, "sender").unwrap_or_default();
        let sent = self.required(node, "sent").and_then(|text| self.time(node, "sent", &text));
        let status = self.required(node, "status").and_then(|text| self.word(node, "status", Status::read(&text)));
        let kind = self.required(node, "msgType").and_then(|text| self.word(node, "msgType", Kind::read(&text)));
        let references = node.text_of("references").map(references).unwrap_or_default();
        let (Some(sent), Some(status), Some(kind)) = (sent, status, kind) else { return Vec::new() };
        let bare = Alert {
            id,
            sender,
            sent,
            status,
            kind,
            references,
            event: String::new(),
            severity: String::new(),
            headline: None,
            onset: None,
            effective: None,
            ends: None,
            expires: None,
            area: Area::default(),
        };
        let infos: Vec<&Node> = node.all("info").collect();
        // The same hazard is often told in several languages: one is enough, and the table's events are in English.
        // CAP 1.2, 3.2.2: without `language` an info is in English.
        let english = |info: &&Node| info.text_of("language").is_none_or(|tag| tag.to_lowercase().starts_with("en"));
        let any = infos.iter().any(&english);
        let mut alerts: Vec<Alert> =
            infos.into_iter().filter(|info| !any || english(info)).map(|info| self.info(&bare, info)).collect();
        if alerts.is_empty() {
            if status == Status::Actual && matches!(kind, Kind::Alert | Kind::Update) {
                self.fault(node, "the alert has no `info`: it does not say what happens", "fetch it again");
            }
            alerts.push(bare);
        }
        if self.faults.count > before { Vec::new() } else { alerts }
    }

    fn info(&mut self, bare: &Alert, info: &Node) -> Alert {
        let event = self.required(info, "event").unwrap_or_default();
        let mut time = |name: &str| {
            let text = info.text_of(name)?.to_owned();
            self.time(info, name, &text)
        };
        let (onset, effective, expires) = (time("onset"), time("effective"), time("expires"));
        // CAP itself has no end of the hazard; the US weather service gives it as a parameter.
        let named = |p: &&Node| p.text_of("valueName") == Some("eventEndingTime");
        let ending = info.all("parameter").find(named).and_then(|p| p.text_of("value")).map(str::to_owned);
        let ends = ending.and_then(|text| self.time(info, "eventEndingTime", &text));
        let mut area = Area::default();
        for part in info.all("area") {
            self.area(part, &mut area);
        }
        Alert {
            event,
            severity: info.text_of("severity").unwrap_or("Unknown").to_owned(),
            headline: info.text_of("headline").map(str::to_owned),
            onset,
            effective,
            ends,
            expires,
            area,
            ..bare.clone()
        }
    }

    fn area(&mut self, part: &Node, area: &mut Area) {
        for node in part.all("polygon").filter(|node| !node.text.trim().is_empty()) {
            match node.text.split_whitespace().map(point).collect::<Result<Vec<_>, _>>().and_then(ring) {
                Ok(outer) => area.polygons.push(Polygon { outer, holes: Vec::new() }),
                Err(says) => self.fault(node, format!("`polygon`: {says}"), "CAP writes `lat,lon lat,lon ...`"),
            }
        }
        for node in part.all("circle").filter(|node| !node.text.trim().is_empty()) {
            match circle(&node.text) {
                Ok(circle) => area.circles.push(circle),
                Err(says) => self.fault(node, format!("`circle`: {says}"), "CAP writes `lat,lon kilometres`"),
            }
        }
        for node in part.all("geocode") {
            let names = ["SAME", "UGC", "FIPS6"];
            let known = node.text_of("valueName").is_some_and(|name| names.contains(&name.to_uppercase().as_str()));
            if let (true, Some(code)) = (known, node.text_of("value")) {
                area.codes.push(code.to_uppercase());
            }
        }
    }

    fn required(&mut self, node: &Node, name: &str) -> Option<String> {
        let text = node.text_of(name).map(str::to_owned);
        if text.is_none() {
            self.fault(node, format!("the {} gives no `{name}`", node.name), "fetch it again from its publisher");
        }
        text
    }

    fn time(&mut self, node: &Node, name: &str, text: &str) -> Option<DateTime<Utc>> {
        let at = node.one(name).unwrap_or(node);
        moment(text)
            .map_err(|says| self.fault(at, format!("`{name}`: {says}"), "CAP writes 2026-12-08T04:12:00-05:00"))
            .ok()
    }

    fn word<T>(&mut self, node: &Node, name: &str, read: Result<T, String>) -> Option<T> {
        let at = node.one(name).unwrap_or(node);
        read.map_err(|says| self.fault(at, format!("`{name}`: {says}"), "fetch it again from its publisher")).ok()
    }
}

/// `sender,identifier,sent` several times, blanks between.
fn references(text: &str) -> Vec<Reference> {
    let one = |triple: &str| {
        let (sender, rest) = triple.split_once(',')?;
        let id = rest.rsplit_once(',').map_or(rest, |(id, _)| id);
        Some(Reference { id: id.to_owned(), sender: Some(sender.to_owned()) })
    };
    text.split_whitespace().filter_map(one).collect()
}

/// `lat,lon`.
fn point(text: &str) -> Result<[f64; 2], String> {
    let wrong = || format!("`{}` is no point", shown(text));
    let (lat, lon) = text.split_once(',').ok_or_else(wrong)?;
    let degrees = |part: &str| part.parse::<f64>().ok().filter(|value| value.is_finite()).ok_or_else(wrong);
    let point = [degrees(lat)?, degrees(lon)?];
    on_globe(point).map(|()| point)
}

fn circle(text: &str) -> Result<Circle, String> {
    let (center, radius) = text.trim().split_once(char::is_whitespace).ok_or("it has no radius")?;
    let radius_km = radius.trim().parse::<f64>().ok().filter(|km| km.is_finite() && (0.0..=20_040.0).contains(km));
    Ok(Circle {
        center: point(center)?,
        radius_km: radius_km.ok_or_else(|| format!("`{}` is no radius in kilometres", shown(radius)))?,
    })
}
