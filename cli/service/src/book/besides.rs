//! What the form of a job makes besides the job: a place that the book does not have yet with the drives to it, the steps of
//! a pattern, and a pattern of the job's steps.

use serde_json::{Map, Value, json};

use crate::book::form::name_by;
use crate::request::sent::Fields;

/// What the fields are called that are the place's and not the job's.
const PLACE: &str = "new_place";
/// Most places from which a drive to a new one is asked for.
const MOST_BASES: usize = 4;

/// A place that a form asks for, and the drives to it.
pub struct NewPlace {
    place: Value,
    drives: Vec<Value>,
}

/// What a job's form makes besides: the place that it is at, where that is new, and the steps of its pattern.
pub fn besides_job(value: &mut Value, fields: &Fields, book: &Value) -> Option<NewPlace> {
    let place = new_place(fields, book);
    if let Some((id, _)) = &place {
        value["place"] = id.as_str().into();
    }
    let at = value["place"].as_str().unwrap_or_default();
    let known = book["places"].as_array().into_iter().flatten().find(|of| of["id"] == at);
    let named = known.map_or(fields.get("new_place.address"), |of| of["name"].as_str().unwrap_or(at)).to_owned();
    by_pattern(value, fields, book, &named);
    place.map(|(_, place)| place)
}

/// The book with a pattern of a job's steps, called as the job is.
pub fn with_pattern(mut book: Value, job: &Value) -> Value {
    let name = job["name"].as_str().or(job["id"].as_str()).unwrap_or_default();
    let pattern = pattern_of(job, name, &book);
    match &mut book["patterns"] {
        Value::Array(list) => list.push(pattern),
        nothing => *nothing = vec![pattern].into(),
    }
    book
}

/// The place that a form asks for, and its id; none: the job is at one that the book has.
fn new_place(sent: &Fields, book: &Value) -> Option<(String, NewPlace)> {
    let get = |field: &str| sent.get(&format!("{PLACE}.{field}")).to_owned();
    let address = get("address");
    if address.is_empty() {
        return None;
    }
    let mut place = json!({ "name": address, "address": address });
    if let Some(at) = coordinates(&get("at")) {
        place["at"] = at;
    }
    if !get("road").is_empty() {
        place["road"] = get("road").into();
    }
    let taken: Vec<String> = ids(&book["places"]).collect();
    name_by("Place", &mut place, &taken);
    let id = place["id"].as_str()?.to_owned();
    let drives = bases(book).into_iter().filter_map(|(base, _)| {
        let minutes = get(&format!("minutes.{base}"));
        let minutes = if minutes.is_empty() { return None } else { minutes };
        let whole = minutes.parse::<u32>().map_or_else(|_| Value::from(minutes.as_str()), Value::from);
        Some(json!({ "from": base, "to": id, "minutes": whole }))
    });
    Some((id.clone(), NewPlace { place: ordered(&place), drives: drives.collect() }))
}

impl NewPlace {
    /// The book with it.
    pub fn added(&self, mut book: Value) -> Value {
        for (field, more) in [("places", std::slice::from_ref(&self.place)), ("drives", &self.drives[..])] {
            if more.is_empty() {
                continue;
            }
            match &mut book[field] {
                Value::Array(list) => list.extend(more.iter().cloned()),
                nothing => *nothing = more.to_vec().into(),
            }
        }
        book
    }
}

/// With the id first, as books are written.
fn ordered(place: &Value) -> Value {
    let fields = ["id", "name", "address", "at", "road"];
    let all = fields.iter().filter_map(|field| Some(((*field).to_owned(), place.get(field)?.clone())));
    Value::Object(all.collect::<Map<_, _>>())
}

fn ids(list: &Value) -> impl Iterator<Item = String> {
    list.as_array().into_iter().flatten().filter_map(|of| of["id"].as_str().map(str::to_owned))
}

/// The places where equipment rests, each by id and name: from there hauls begin, so a drive from there is worth asking for.
pub fn bases(book: &Value) -> Vec<(String, String)> {
    let mut found: Vec<(String, usize)> = Vec::new();
    for place in book["equipment"].as_array().into_iter().flatten().filter_map(|unit| unit["place"].as_str()) {
        match found.iter_mut().find(|(id, _)| id == place) {
            Some((_, units)) => *units += 1,
            None => found.push((place.to_owned(), 1)),
        }
    }
    found.sort_by_key(|(_, units)| std::cmp::Reverse(*units));
    let name = |id: &str| {
        let of = book["places"].as_array().into_iter().flatten().find(|place| place["id"] == id);
        of.and_then(|place| place["name"].as_str()).unwrap_or(id).to_owned()
    };
    found.into_iter().take(MOST_BASES).map(|(id, _)| (id.clone(), name(&id))).collect()
}

/// Latitude and longitude from what was pasted: two numbers, or an address of a map in which they stand one after the other.
pub fn coordinates(text: &str) -> Option<Value> {
    if text.is_empty() {
        return None;
    }
    let number = |c: char| c.is_ascii_digit() || c == '.' || c == '-';
    let words: Vec<&str> = text.split(|c: char| !number(c)).filter(|word| !word.is_empty()).collect();
    let read = |word: &str| word.parse::<f64>().ok().filter(|n| n.is_finite());
    let exact = words.len() == 2;
    let pair = words.windows(2).find_map(|pair| {
        let (lat, lon) = (read(pair[0])?, read(pair[1])?);
        // In an address other numbers stand too: degrees have decimals there.
        let degrees = exact || pair.iter().all(|word| word.contains('.'));
        (degrees && lat.abs() <= 90.0 && lon.abs() <= 180.0).then_some((lat, lon))
    });
    // What is none of it is refused by the book's reader, at its place.
    Some(pair.map_or_else(|| text.into(), |(lat, lon)| json!([lat, lon])))
}

/// The job with the steps of the pattern that was chosen, where it has none of its own; a name from both, where it has none.
fn by_pattern(job: &mut Value, sent: &Fields, book: &Value, place: &str) {
    let pattern = book["patterns"].as_array().into_iter().flatten().find(|of| of["id"] == sent.get("like"));
    if let Some(pattern) = pattern.filter(|_| job["steps"].as_array().is_none_or(Vec::is_empty)) {
        for field in ["parked", "steps"] {
            if let Some(value) = pattern.get(field).filter(|_| job.get(field).is_none()) {
                job[field] = value.clone();
            }
        }
    }
    if job["name"].is_null() && !place.is_empty() {
        let what = pattern.and_then(|of| of["name"].as_str());
        job["name"] = what.map_or_else(|| place.to_owned(), |what| format!("{place}, {what}")).into();
    }
}

/// The steps of a job, and what it parks, as another one begins with: without what belongs to this job alone.
pub fn steps_like(job: &Value) -> Map<String, Value> {
    let of_this_job =
        ["done", "progress", "fixed", "told", "waits_on", "material", "earliest", "due", "late_day", "no_access"];
    let mut steps = job["steps"].clone();
    for step in steps.as_array_mut().into_iter().flatten() {
        let Some(fields) = step.as_object_mut() else { continue };
        fields.retain(|field, _| !of_this_job.contains(&field.as_str()) && !field.starts_with("x_"));
        // What comes after another job's step does so in this job only.
        if let Some(Value::Array(after)) = fields.get_mut("after") {
            after.retain(|link| !link.get("step").unwrap_or(link).as_str().unwrap_or_default().contains('/'));
        }
    }
    let mut made = Map::new();
    if let Some(parked) = job["parked"].as_array() {
        let kinds = parked.iter().cloned().map(|mut need| {
            need.as_object_mut().map(|need| need.shift_remove("units"));
            need
        });
        made.insert("parked".to_owned(), kinds.collect::<Vec<_>>().into());
    }
    made.insert("steps".to_owned(), steps);
    made
}

/// A pattern of a job's steps under a name.
fn pattern_of(job: &Value, name: &str, book: &Value) -> Value {
    let mut pattern = json!({ "name": name });
    let taken: Vec<String> = ids(&book["patterns"]).collect();
    name_by("Pattern", &mut pattern, &taken);
    let mut made = Map::new();
    made.insert("id".to_owned(), pattern["id"].clone());
    made.insert("name".to_owned(), name.into());
    made.extend(steps_like(job));
    Value::Object(made)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_read_from_what_one_pastes() {
        let pair = Some(json!([44.1, -72.6]));
        for text in ["44.1, -72.6", "44.1 -72.6", "https://maps.example/@44.1,-72.6,15z", "geo:44.1,-72.6?z=15"] {
            assert_eq!(coordinates(text), pair, "{text}");
        }
        assert_eq!(coordinates("44, -72"), Some(json!([44.0, -72.0])));
        assert_eq!(coordinates(""), None);
        for text in ["somewhere", "91.5, 10.5", "https://maps.example/15/20"] {
            assert_eq!(coordinates(text), Some(text.into()), "{text}");
        }
    }
}
