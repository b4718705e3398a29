//! Where equipment stands and what that costs: driveways and sites instead of a base, hired machines, kinds that several jobs
//! use at a time.

use serde_json::{Value, json};

use super::super::Shape;
use crate::draw::Draw;
use crate::waits::list;

/// Renames the bases to driveways and adds one for each crew, and the place of a firm that hires out.
pub fn add(draw: &mut Draw, shape: Shape, json: &mut Value) {
    rename(json);
    places(draw, shape, json);
    units(draw, shape, json);
    json["kinds"] = json!([
        { "id": "generator", "power": true, "shared": true },
        { "id": "heater", "shared": true },
        { "id": "lift", "name": "Lift" }
    ]);
}

/// A base is somebody's driveway.
fn rename(value: &mut Value) {
    match value {
        Value::String(text) => {
            if let Some(number) = text.strip_prefix("lot").filter(|rest| rest.parse::<u32>().is_ok()) {
                *text = format!("driveway{number}");
            }
        }
        Value::Array(all) => all.iter_mut().for_each(rename),
        Value::Object(fields) => fields.values_mut().for_each(rename),
        _ => {}
    }
}

/// Standing in a driveway costs little, at a site more: it is in the way of others.
fn places(draw: &mut Draw, shape: Shape, json: &mut Value) {
    let places = json["places"].as_array_mut().expect("places");
    let driveways = places.iter().filter(|place| is_driveway(place)).count();
    let more = (driveways..shape.crews).map(|n| format!("driveway{n}")).chain(["hire".to_owned()]);
    for id in more {
        let at = [44.0 + 0.4 * draw.share(), -72.5 + 0.55 * draw.share()];
        places.push(json!({ "id": id, "at": at, "road": "town" }));
    }
    for place in places.iter_mut() {
        if is_driveway(place) {
            place["trailer_spots"] = json!(draw.pick(&[1, 2]));
            place["stand_half_day"] = json!(draw.pick(&[0.0, 0.5]));
        } else if place["id"] != "hire" {
            place["stand_half_day"] = json!(draw.pick(&[1, 2, 3]));
            if draw.chance(30) {
                place["power_from"] = json!("never");
            }
        }
    }
}

fn is_driveway(place: &Value) -> bool {
    place["id"].as_str().is_some_and(|id| id.starts_with("driveway"))
}

/// Trailers stand in driveways with room, then one at a site down in town each; one in four is hired, as are the lifts.
fn units(draw: &mut Draw, shape: Shape, json: &mut Value) {
    let mut room = room(json);
    let trailers = list(json, "equipment").filter(|unit| unit["moves"] == "towed").count();
    assert!(room.len() >= trailers, "room for {} of {trailers} trailers", room.len());
    for unit in list(json, "equipment") {
        if unit["moves"] == "towed" {
            // The emptiest driveways first.
            unit["place"] = json!(room.remove(0));
            if draw.chance(25) {
                unit["hire_half_day"] = json!(draw.pick(&[6, 12]));
                unit["hire_place"] = json!("hire");
                unit["place"] = json!("hire");
            }
        }
        if draw.chance(8) {
            unit["out"] = json!([{ "on": format!("{}/", crate::day(0)), "weekdays": ["mon"], "half": "am" }]);
        }
    }
    let hired = |id: String, kind: &str, price: usize| {
        json!({ "id": id, "kinds": [kind], "moves": "carried", "place": "hire",
            "hire_half_day": price, "hire_place": "hire" })
    };
    let more = shape.crews.div_ceil(4);
    let units = json["equipment"].as_array_mut().expect("equipment");
    for n in 0..more {
        units.push(hired(format!("lift{n}"), "lift", draw.pick(&[10, 15])));
        units
            .push(json!({ "id": format!("heater{n}"), "kinds": ["heater"], "moves": "carried", "place": "driveway0" }));
        // A second one that gives power, for the way with two machines.
        units.push(
            json!({ "id": format!("power{n}"), "kinds": ["generator"], "moves": "carried", "place": "driveway0" }),
        );
    }
}

/// Places with room for a trailer when the weeks begin: driveways as often as they have spots, then sites in town, once each.
fn room(json: &mut Value) -> Vec<String> {
    let id = |place: &Value| place["id"].as_str().expect("an id").to_owned();
    let mut room = Vec::new();
    for spot in 1..=2 {
        let has = |place: &&mut Value| is_driveway(place) && place["trailer_spots"].as_u64() >= Some(spot);
        room.extend(list(json, "places").filter(has).map(|place| id(place)));
    }
    let site = |place: &&mut Value| place["id"].as_str().is_some_and(|id| id.starts_with("site"));
    let sites: Vec<&mut Value> = list(json, "places").filter(site).collect();
    let (town, hill): (Vec<_>, Vec<_>) = sites.into_iter().partition(|place| place["road"] == "town");
    room.extend(town.iter().chain(&hill).map(|place| id(place)));
    room.push("hire".to_owned());
    room
}

/// What a job needs besides: a lift for some gables, a heater for foam and while it cures, two generators for two machines, and what
/// is parked only as long as it is used.
pub fn job(draw: &mut Draw, job: &mut Value) {
    for step in list(job, "steps") {
        match step["id"].as_str() {
            Some("strip") if draw.chance(50) => step["needs"] = json!([{ "kind": "lift" }]),
            Some("fans") if draw.chance(60) => step["needs"] = json!([{ "kind": "heater" }]),
            Some("foam") if draw.chance(60) => {
                let mut needs = step["needs"].as_array().cloned().unwrap_or_default();
                needs.push(json!({ "kind": "heater" }));
                step["needs"] = json!(needs);
            }
            Some("fill") => {
                step["needs_power"] = json!(true);
                step["ways"][1]["needs_power"] = json!(2);
                step["ways"][1]["min_people"] = json!(3);
            }
            _ => {}
        }
    }
    let has = |id: &str| job["steps"].as_array().is_some_and(|steps| steps.iter().any(|step| step["id"] == id));
    let (pack, foam, close) = (has("pack"), has("foam"), has("close"));
    let parked = job["parked"].as_array().cloned().unwrap_or_default();
    let mut parked = parked;
    if pack && draw.chance(60) {
        parked[0]["to"] = json!("pack");
    }
    if foam {
        if let Some(need) = parked.first_mut() {
            need["from"] = json!("foam");
        }
        if draw.chance(60) {
            parked.push(json!({ "kind": "heater", "from": "foam", "to": if close { "close" } else { "foam" } }));
        }
    }
    if !parked.is_empty() {
        job["parked"] = json!(parked);
    }
}
