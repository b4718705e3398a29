//! What must be moved in time in a week, each haul said once: a unit that is to be home or gone by a date, and a trailer
//! whose road closes. Where one haul does both, the date is said with the road.

use std::ops::Range;

use super::course::Course;
use super::deadlines::{Deadline, deadlines};
use super::must_move::{Move, moves};

/// One of them.
pub struct InTime<'c> {
    by_date: Option<Move>,
    road: Option<Deadline<'c>>,
}

impl InTime<'_> {
    /// In sentences.
    pub fn says(&self, course: &Course) -> String {
        match (&self.by_date, &self.road) {
            (Some(by_date), Some(road)) => format!("{} {}.", by_date.says(course), road.closes(course)),
            (Some(by_date), None) => by_date.says(course),
            (None, road) => road.as_ref().map_or_else(String::new, |road| road.says(course)),
        }
    }

    /// In a few words.
    pub fn short(&self, course: &Course) -> String {
        let by_date = self.by_date.as_ref().map(|of| of.in_short(course));
        by_date.or_else(|| self.road.as_ref().map(|of| of.short(course))).unwrap_or_default()
    }
}

/// All of some half-days: those with a date first, then those whose road closes.
pub fn in_time<'c>(course: &'c Course, half_days: &'c Range<usize>) -> Vec<InTime<'c>> {
    let mut roads: Vec<Deadline> = deadlines(course, half_days).collect();
    let concerned = moves(course).into_iter().filter(|of| of.concerns(course, half_days));
    let mut all: Vec<InTime> = concerned
        .map(|by_date| {
            let same = roads.iter().position(|road| by_date.is_by(road.trip()));
            InTime { by_date: Some(by_date), road: same.map(|n| roads.remove(n)) }
        })
        .collect();
    all.extend(roads.into_iter().map(|road| InTime { by_date: None, road: Some(road) }));
    all
}

#[cfg(test)]
mod tests {
    use serde_json::json;
    use yardless_book::half_day::{Horizon, parse_date};
    use yardless_plan::Plan;
    use yardless_plan::shop::Shop;

    use super::*;

    #[test]
    fn haul_that_meets_a_date_before_a_road_closes_is_told_once_with_both() {
        let book = json!({
            "book": 1, "shop": { "name": "Made up", "time_zone": "America/New_York" },
            "roads": [{ "id": "hill", "no_trailers": ["12-10/12-14"] }],
            "places": [{ "id": "lot", "name": "Lot" }, { "id": "a", "name": "Hill Farm", "road": "hill" }],
            "drives": [{ "from": "lot", "to": "a", "minutes": 30 }],
            "crews": [{ "id": "c", "people": 1, "skills": ["s"] }],
            "trucks": [{ "id": "t", "name": "Truck", "tow_lb": 5000, "tows": 2 }],
            "equipment": [
                { "id": "u", "name": "Trailer", "kinds": ["k"], "moves": "towed", "place": "a",
                  "home_by": { "date": "2026-12-09", "place": "lot" } },
                { "id": "v", "name": "Staging", "kinds": ["k"], "moves": "towed", "place": "a" }],
            "jobs": []
        });
        let horizon = Horizon::new(parse_date("2026-12-07").expect("a date"), 2).expect("a Monday");
        let shop = Shop::new(&serde_json::from_value(book).expect("a book"), horizon).expect("no fault");
        let haul = |unit: &str| json!({ "unit": unit, "from": "a", "to": "lot", "at": "2026-12-09 am", "evening": false, "truck": "t", "minutes": 60 });
        let plan: Plan = serde_json::from_value(json!({
            "plan": 1, "from": "2026-12-07", "weeks": 2, "cost": 0, "steps": [], "hauls": [haul("u"), haul("v")]
        }))
        .expect("a plan");
        let course = Course::new(&shop, &plan);
        let said: Vec<String> = in_time(&course, &(0..14)).iter().map(|of| of.says(&course)).collect();
        assert_eq!(said.len(), 2, "{said:?}");
        let closes = "Hill Farm is closed from Thu 10 Dec am on (no trailers in this season)";
        assert!(
            said[0].starts_with("By Wed 9 Dec: Trailer to Lot; ") && said[0].ends_with(&format!("{closes}.")),
            "{said:?}"
        );
        assert!(said[1].starts_with(&format!("Staging from Hill Farm to Lot by Wed 9 Dec pm: {closes}")), "{said:?}");
    }
}
