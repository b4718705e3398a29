//! Places, roads, trucks, equipment and weather of a random book.

use serde_json::{Value, json};

use super::Shape;
use crate::draw::Draw;
use crate::{day, half};

pub fn roads(draw: &mut Draw, shape: Shape) -> Value {
    let seasons = if shape.seasons { vec!["11-15/04-15"] } else { vec![] };
    let clear = draw.pick(&[vec!["tue", "thu"], vec!["thu"], vec!["mon", "wed", "fri"]]);
    json!([{ "id": "town" }, { "id": "hill", "no_trailers": seasons, "expect_clear": clear }])
}

/// Lots without limits, then a site a job.
pub fn places(draw: &mut Draw, shape: Shape, sites: &[String], map: &[[f64; 2]], lots: usize) -> Vec<Value> {
    let (sites, map) = (sites.iter().enumerate(), map.iter());
    sites
        .zip(map)
        .map(|((p, id), [x, y])| {
            // Some 45 by 45 kilometres of a made-up county.
            let at = [44.0 + 0.4 * x, -72.5 + 0.55 * y];
            if p < lots {
                return json!({ "id": id, "at": at, "road": "town" });
            }
            let hill = draw.chance(if shape.tight { 50 } else { 35 });
            let mut place = json!({ "id": id, "at": at, "road": if hill { "hill" } else { "town" } });
            if draw.chance(if shape.tight && hill { 100 } else { 40 }) {
                place["trailer_spots"] = json!(draw.pick(&[1, 1, 2]));
            }
            if draw.chance(15) {
                let from = draw.below(7 * shape.weeks as usize);
                place["power_from"] = json!(if draw.chance(30) { "never".to_owned() } else { day(from) });
            }
            place
        })
        .collect()
}

/// Most drives are listed, by the distance on the map with some bends; a few take too long for one half-day.
pub fn drives(draw: &mut Draw, sites: &[String], map: &[[f64; 2]]) -> Vec<Value> {
    let mut drives = Vec::new();
    for q in 0..sites.len() {
        for p in 0..q {
            if draw.chance(70) {
                let apart = ((map[p][0] - map[q][0]).powi(2) + (map[p][1] - map[q][1]).powi(2)).sqrt();
                let minutes = 5.0 + 70.0 * apart * (1.0 + 0.4 * draw.share());
                drives.push(json!({ "from": sites[q], "to": sites[p], "minutes": minutes as u32 }));
            }
        }
    }
    drives
}

/// A truck a crew and one that anybody drives; the first tows everything. Where they are scarce three, or one for two crews.
pub fn trucks(draw: &mut Draw, shape: Shape) -> Vec<Value> {
    let trucks = if shape.tight { 3.max(shape.crews / 2) } else { shape.crews + 1 };
    (0..trucks)
        .map(|t| {
            let others: &[usize] = if shape.tight { &[7_000, 7_000, 14_000] } else { &[0, 7_000, 7_000, 14_000] };
            let tow_lb = if t == 0 { 14_000 } else { draw.pick(others) };
            let mut truck = json!({ "id": format!("truck{t}"), "tow_lb": tow_lb });
            if t < shape.crews {
                truck["crew"] = json!(format!("crew{t}"));
            }
            if draw.chance(25) {
                truck["carries"] = json!(draw.pick(&[1, 2, 6]));
            }
            if !shape.tight && draw.chance(10) {
                truck["tows"] = json!(2);
            }
            if draw.chance(20) {
                let first = draw.below(7 * shape.weeks as usize);
                truck["out"] = json!([format!("{}/{}", day(first), day(first + draw.below(4)))]);
            }
            truck
        })
        .collect()
}

/// Fewer of everything than crews, so that it is wanted twice; now and then a unit that serves as two kinds. Where trucks are
/// scarce all of it is towed.
pub fn equipment(draw: &mut Draw, shape: Shape, lots: usize) -> Vec<Value> {
    let half = shape.crews.div_ceil(2);
    let mut units: Vec<(&str, Vec<&str>, &str, usize)> = Vec::new();
    let mut add = |n: usize, id, kinds: &[&'static str], moves, weight| {
        units.extend((0..n).map(|_| (id, kinds.to_vec(), moves, weight)));
    };
    if shape.tight {
        add(half.max(2), "blower", &["blowing machine"], "towed", 6_000);
    } else {
        add(draw.between(half, half.max(shape.crews.min(3))), "blower", &["blowing machine"], "carried", 0);
    }
    add(if shape.tight { half.max(2) } else { half }, "tools", &["tool trailer"], "towed", 6_500);
    add(shape.crews.div_ceil(4), "vent", &["ventilation trailer"], "towed", 5_000);
    let staging = if draw.chance(30) { vec!["staging trailer", "tool trailer"] } else { vec!["staging trailer"] };
    add(shape.crews.div_ceil(3), "staging", &staging, "towed", 9_000);
    let moves = if shape.tight { "towed" } else { draw.pick(&["carried", "carried", "towed"]) };
    add(shape.crews.div_ceil(4), "generator", &["generator"], moves, 3_000);
    units
        .into_iter()
        .enumerate()
        .map(|(u, (id, kinds, moves, weight))| {
            let place = format!("lot{}", draw.below(lots));
            let mut unit = json!({ "id": format!("{id}{u}"), "kinds": kinds, "moves": moves, "weight_lb": weight, "place": place });
            if draw.chance(12) {
                let first = draw.below(7 * shape.weeks as usize);
                unit["out"] = json!([format!("{}/{}", day(first), day(first + draw.below(3)))]);
            }
            unit
        })
        .collect()
}

/// A report of some ten dates: storms, covered and clear roads, wind, cold and rain; nothing after it.
pub fn weather(draw: &mut Draw, shape: Shape, sites: &[String]) -> Vec<Value> {
    let dates = (7 * shape.weeks as usize).min(10);
    let mut entries = Vec::new();
    for date in 0..dates {
        let on = |draw: &mut Draw| match draw.below(3) {
            0 => half(2 * date),
            1 => half(2 * date + 1),
            _ => day(date),
        };
        if draw.chance(25) {
            entries.push(json!({ "on": on(draw), "roads": "clear" }));
        }
        if draw.chance(10) {
            entries
                .push(json!({ "on": on(draw), "storm": true, "roads": "covered", "gust_mph": draw.between(30, 50) }));
        }
        if draw.chance(5) {
            entries.push(json!({ "on": on(draw), "no_travel": true }));
        }
        if draw.chance(15) {
            entries.push(json!({ "on": on(draw), "gust_mph": draw.between(15, 45) }));
        }
        if draw.chance(25) {
            entries.push(json!({ "on": on(draw), "low_f": draw.between(0, 35) }));
        }
        if draw.chance(15) {
            entries.push(json!({ "on": on(draw), "rain": true, "at": [draw.pick(sites), draw.pick(sites)] }));
        }
        if draw.chance(8) {
            // A later report takes an earlier one back.
            let field = draw.pick(&["storm", "roads", "rain", "gust_mph", "low_f"]);
            entries.push(json!({ "on": on(draw), field: null }));
        }
    }
    entries
}
