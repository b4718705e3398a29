//! A tiny book whose crews help each other: helpers without the skill, away, of other firms, usual partners (W11, C11).

use serde_json::{Value, json};

use super::draw::Draw;
use super::waits::list;
use super::{day, half};

/// Adds the fields to a book of one week.
pub fn add(draw: &mut Draw, json: &mut Value) {
    json["prices"]["help_half_day"] = json!(draw.pick(&[20.0, 5.0, 0.5, 0.0]));
    if draw.chance(25) {
        json["shop"]["min_people"] = json!(2);
    }
    crews(draw, json);
    for job in list(json, "jobs") {
        for step in list(job, "steps") {
            self::step(draw, step);
        }
    }
}

/// Two crews at least, at times one that can do nothing but help, with a truck of its own.
fn crews(draw: &mut Draw, json: &mut Value) {
    let crews = json["crews"].as_array_mut().expect("crews");
    let first = crews.len();
    for c in first..draw.between(2.max(first), 3) {
        let skills = draw.pick(&[vec!["carrying"], vec!["insulation"], vec!["carpentry", "carrying"]]);
        let mut crew = json!({ "id": format!("c{c}"), "people": draw.pick(&[1, 1, 2]), "skills": skills });
        if draw.chance(12) {
            crew["own"] = json!(false);
        }
        if draw.chance(50) {
            let from = draw.below(8);
            crew["away"] = json!([{ "on": format!("{}/{}", half(from), half(from + draw.below(5))) }]);
        }
        crews.push(crew);
    }
    let count = crews.len();
    for crew in crews.iter_mut() {
        let mine = crew["id"].clone();
        let other = json!(format!("c{}", draw.below(count)));
        if draw.chance(30) && other != mine {
            crew["usual_with"] = json!([other]);
        }
    }
    if draw.chance(40) {
        let truck = json!({ "id": "more", "crew": format!("c{}", draw.below(count)), "tow_lb": draw.pick(&[0, 9000]) });
        json["trucks"].as_array_mut().expect("trucks").push(truck);
    }
}

/// Most steps have room for help, and some cannot do without.
pub fn step(draw: &mut Draw, step: &mut Value) {
    if draw.chance(75) {
        step["help"] = json!(draw.pick(&[1, 1, 1, 2]));
    }
    if draw.chance(30) {
        step["min_people"] = json!(draw.pick(&[2, 3, 3, 4]));
    }
    if draw.chance(25) {
        step["max_people"] = json!(draw.pick(&[2, 3, 4]));
    }
    for way in list(step, "ways") {
        if draw.chance(40) {
            way["help"] = json!(draw.pick(&[0, 1, 2]));
        }
    }
    let most = step["max_people"].as_u64().unwrap_or(u64::MAX);
    keep_below(step, most);
    for way in list(step, "ways") {
        keep_below(way, most);
    }
    if draw.chance(8) {
        step["fixed"] = json!({ "crew": "c0" });
    }
    if draw.chance(10) {
        step["due"] = json!(day(draw.below(3)));
        step.as_object_mut().expect("a step").remove("earliest");
    }
}

/// `min_people` is not above `max_people`.
fn keep_below(how: &mut Value, most: u64) {
    if how["min_people"].as_u64().is_some_and(|least| least > most) {
        how["min_people"] = json!(most);
    }
}
