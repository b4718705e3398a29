//! Alerts in OASIS CAP 1.2, alone or inside a feed. Points are `lat,lon`.

use std::sync::Arc;

use chrono::{DateTime, Utc};

use super::alert::{Alert, Ended, Info, Kind, Message, Reference, Status, moment};
use super::area::{Area, Circle, Polygon, on_globe, ring};
use super::letters::letters;
use super::limit::{Count, Thing};
use super::xml::{self, Node, place};
use super::{Faults, FileFault, LARGEST, Reading, shown, too_large};

/// Reads every CAP 1.2 alert of a file.
pub fn read(bytes: &[u8]) -> Reading {
    if bytes.len() > LARGEST {
        return Reading::only(too_large(bytes.len()));
    }
    let (text, written) = match letters(bytes) {
        Ok(read) => read,
        Err(fault) => return Reading::only(fault),
    };
    let nodes = match xml::alerts(&text, written) {
        Ok(nodes) => nodes,
        Err(fault) => return Reading::only(fault),
    };
    if nodes.is_empty() {
        let says = "there is no CAP 1.2 alert in this file (namespace urn:oasis:names:tc:emergency:cap:1.2)";
        return Reading::only(FileFault::new(
            "the file",
            says,
            "give a file of alerts; a file without any is not calm",
        ));
    }
    let mut reader = CapReader { text: &text, faults: Faults::default(), count: Count::default() };
    let mut alerts = Vec::new();
    for node in &nodes {
        alerts.extend(reader.alerts(node));
        if let Some(fault) = reader.count.passed {
            return Reading::only(fault);
        }
    }
    Reading { alerts, updated: None, faults: reader.faults.told() }
}

struct CapReader<'t> {
    text: &'t str,
    faults: Faults,
    count: Count,
}

impl CapReader<'_> {
    fn fault(&mut self, node: &Node, says: impl Into<String>, help: &str) {
        let text = self.text;
        self.faults.push(|| FileFault::new(place(text, node.at), says, help));
    }

    /// The alerts of one message: one for each `info`; a message without any is a cancel or a receipt.
    fn alerts(&mut self, node: &Node) -> Vec<Alert> {
        let before = self.faults.count;
        if !self.count.allows(Thing::Alerts, node.all("info").count().max(1)) {
            return Vec::new();
        }
        let id = self.required(node, "identifier").unwrap_or_default();
        let sender = self.required(node, "sender").unwrap_or_default();
        let sent = self.required(node, "sent").and_then(|text| self.time(node, "sent", &text));
        let status = self.required(node, "status").and_then(|text| self.word(node, "status", Status::read(&text)));
        let kind = self.required(node, "msgType").and_then(|text| self.word(node, "msgType", Kind::read(&text)));
        let listed = node.text_of("references").unwrap_or_default();
        if !self.count.allows(Thing::References, listed.split_whitespace().count()) {
            return Vec::new();
        }
        let (Some(sent), Some(status), Some(kind)) = (sent, status, kind) else { return Vec::new() };
        let message = Arc::new(Message { id, sender, sent, status, kind, references: references(listed) });
        let infos: Vec<&Node> = node.all("info").collect();
        // The same hazard is often told in several languages: one is enough, and the table's events are in English.
        // CAP 1.2, 3.2.2: without `language` an info is in English.
        let english = |info: &&Node| info.text_of("language").is_none_or(|tag| tag.to_lowercase().starts_with("en"));
        let any = infos.iter().any(&english);
        let mut infos: Vec<Info> =
            infos.into_iter().filter(|info| !any || english(info)).map(|info| self.info(info)).collect();
        if infos.is_empty() {
            if status == Status::Actual && matches!(kind, Kind::Alert | Kind::Update) {
                self.fault(node, "the alert has no `info`: it does not say what happens", "fetch it again");
            }
            infos.push(Info::default());
        }
        let whole = self.faults.count == before;
        infos.into_iter().filter(|_| whole).map(|info| Alert { message: Arc::clone(&message), info }).collect()
    }

    fn info(&mut self, info: &Node) -> Info {
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
        Info {
            event,
            ended: Ended::of(info.all("responseType").map(|node| node.text.as_str()), info.text_of("urgency")),
            severity: info.text_of("severity").unwrap_or("Unknown").to_owned(),
            headline: info.text_of("headline").map(str::to_owned),
            onset,
            effective,
            ends,
            expires,
            area,
        }
    }

    fn area(&mut self, part: &Node, area: &mut Area) {
        for node in part.all("polygon").filter(|node| !node.text.trim().is_empty()) {
            if !self.count.allows(Thing::Points, node.text.split_whitespace().count()) {
                return;
            }
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
            let (Some(system), Some(code)) = (node.text_of("valueName"), node.text_of("value")) else { continue };
            if !self.count.allows(Thing::Codes, 1) {
                return;
            }
            if ["SAME", "UGC", "FIPS6"].iter().any(|known| known.eq_ignore_ascii_case(system)) {
                area.codes.push(code.to_uppercase());
            } else {
                area.names(system);
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
