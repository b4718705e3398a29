//! Jobs as a table with every field, for programs: a row a step, columns by the book's own names.

use serde_json::{Map, Value};

use super::formula::{guarded, unguarded};
use super::rows::{self, wrong};
use crate::book::form::plain;
use crate::refusal::Refusal;

/// The columns: first the job's, then the step's. What is more than a text, a number or a yes is written as JSON.
const OF_JOB: [&str; 14] = [
    "id",
    "name",
    "place",
    "contact",
    "rank",
    "earliest",
    "due",
    "late_day",
    "left_out",
    "no_access",
    "waits_on",
    "in_part",
    "parked",
    "note",
];
const OF_STEP: [&str; 29] = [
    "id",
    "name",
    "skill",
    "half_days",
    "labor_hours",
    "min_people",
    "max_people",
    "needs",
    "ways",
    "after",
    "earliest",
    "due",
    "late_day",
    "told",
    "waits_on",
    "no_access",
    "outside",
    "dry",
    "max_gust_mph",
    "min_low_f",
    "max_high_f",
    "needs_power",
    "fixed",
    "spread",
    "may_split",
    "done",
    "progress",
    "note",
    "x_",
];
/// What else a job holds: fields of one's own.
const OWN: &str = "x_";

/// The table of a book.
pub fn table(book: &Value) -> Result<Vec<u8>, Refusal> {
    let failed = |e: csv::Error| Refusal::ours("web::csv", e);
    let mut out = csv::Writer::from_writer(Vec::new());
    let heads = OF_JOB.iter().map(|name| format!("job {name}"));
    out.write_record(heads.chain(["job x_".to_owned()]).chain(OF_STEP.iter().map(|name| format!("step {name}"))))
        .map_err(failed)?;
    for job in book["jobs"].as_array().into_iter().flatten() {
        for (n, step) in job["steps"].as_array().into_iter().flatten().enumerate() {
            // What is said of the job is said once.
            let of_job =
                OF_JOB.iter().map(|name| if n == 0 || *name == "id" { cell(job.get(*name)) } else { String::new() });
            let own_of_job = if n == 0 { own(job, &OF_JOB) } else { String::new() };
            let of_step =
                OF_STEP.iter().map(|name| if *name == OWN { own(step, &OF_STEP) } else { cell(step.get(*name)) });
            out.write_record(of_job.chain([own_of_job]).chain(of_step)).map_err(failed)?;
        }
    }
    out.into_inner().map_err(|e| Refusal::ours("web::csv", e))
}

fn cell(value: Option<&Value>) -> String {
    let text = value.map_or_else(String::new, |value| match value {
        // A text that reads as something else stays one.
        Value::String(text)
            if serde_json::from_str::<Value>(text).is_ok() || ["TRUE", "FALSE"].contains(&text.as_str()) =>
        {
            Value::from(text.as_str()).to_string()
        }
        other => plain(other),
    });
    guarded(&text)
}

fn own(of: &Value, known: &[&str]) -> String {
    let fields = of.as_object().into_iter().flatten();
    let own: Map<String, Value> = fields
        .filter(|(name, _)| !known.contains(&name.as_str()) && *name != "steps")
        .map(|(name, value)| (name.clone(), value.clone()))
        .collect();
    if own.is_empty() { String::new() } else { guarded(&Value::Object(own).to_string()) }
}

/// The jobs of a table, in its order. A column that it lacks says nothing.
pub fn read(bytes: &[u8]) -> Result<Vec<Map<String, Value>>, Refusal> {
    let (heads, all) = rows::of(bytes)?;
    let known = |head: &str| match head.split_once(' ') {
        Some(("job", name)) => OF_JOB.contains(&name) || name == OWN,
        Some(("step", name)) => OF_STEP.contains(&name),
        _ => false,
    };
    let unknown: Vec<&str> = heads.iter().filter(|head| !known(head)).collect();
    if !unknown.is_empty() {
        return Err(super::rows::unknown(&unknown));
    }
    if !heads.iter().any(|head| head == "job id") {
        return Err(wrong("The table has no column `job id`.".to_owned()));
    }
    let mut jobs: Vec<Map<String, Value>> = Vec::new();
    for (n, row) in all.iter().enumerate() {
        let (mut job, mut step) = (Map::new(), Map::new());
        for (head, text) in heads.iter().zip(row).filter(|(_, text)| !text.is_empty()) {
            let Some((of, name)) = head.split_once(' ') else { continue };
            let fields = if of == "job" { &mut job } else { &mut step };
            let value = typed(text);
            match value {
                Value::Object(own) if name == OWN => fields.extend(own),
                value => drop(fields.insert(name.to_owned(), value)),
            }
        }
        if job.is_empty() && step.is_empty() {
            continue;
        }
        let Some(id) = job.get("id").cloned() else {
            return Err(wrong(format!("Row {} names no job.", n + 2)));
        };
        let found = jobs.iter().position(|of| of.get("id") == Some(&id)).unwrap_or_else(|| {
            jobs.push(Map::new());
            jobs.len() - 1
        });
        jobs[found].extend(job);
        if !step.is_empty() {
            match jobs[found].entry("steps").or_insert_with(|| Vec::<Value>::new().into()) {
                Value::Array(steps) => steps.push(step.into()),
                other => *other = vec![Value::Object(step)].into(),
            }
        }
    }
    Ok(jobs)
}

fn typed(text: &str) -> Value {
    let text = unguarded(text);
    // As a spreadsheet writes a yes.
    match text.as_str() {
        "TRUE" => true.into(),
        "FALSE" => false.into(),
        other => serde_json::from_str(other).unwrap_or_else(|_| other.into()),
    }
}

/// The book with the jobs of a table: one that is there gets what the table says, a new one is added, others stay.
pub fn with(book: &Value, jobs: &[Map<String, Value>]) -> Value {
    let mut book = book.clone();
    if !book["jobs"].is_array() {
        book["jobs"] = Vec::<Value>::new().into();
    }
    let Some(list) = book["jobs"].as_array_mut() else { return book };
    for job in jobs {
        match list.iter_mut().find(|of| of.get("id") == job.get("id")) {
            Some(known) => into_known(known, job),
            None => list.push(job.clone().into()),
        }
    }
    book
}

/// What a row leaves empty stays as it is, and so do steps that the table does not name.
fn into_known(known: &mut Value, job: &Map<String, Value>) {
    for (name, value) in job {
        match (name.as_str(), value) {
            ("steps", Value::Array(steps)) => {
                let Some(all) = known["steps"].as_array_mut() else { continue };
                for step in steps {
                    match (all.iter_mut().find(|of| of.get("id") == step.get("id")), step) {
                        (Some(Value::Object(of)), Value::Object(step)) => of.extend(step.clone()),
                        _ => all.push(step.clone()),
                    }
                }
            }
            _ => known[name] = value.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_that_comes_back_as_it_went_changes_nothing() {
        for text in [
            include_str!("../../../../../data/demo.json"),
            include_str!("../../../../../data/five-jobs.json"),
            include_str!("../../../../../tests/cases/may_split/lets-go.json"),
            include_str!("../../../../../tests/cases/parked-since-before.json"),
            include_str!("../../../../../tests/cases/within-from-next.json"),
        ] {
            let mut book: Value = serde_json::from_str(text).expect("JSON");
            book["jobs"][0]["contact"] = "=HYPERLINK(\"x\")".into();
            book["jobs"][0]["name"] = "12".into();
            book["jobs"][0]["note"] = "oak; =1+1;'-2;\n\"@x\"".into();
            book["jobs"][0]["x_own"] = serde_json::json!({ "a": "x;=1+1", "b": ["-5;\t+2"] });
            book["jobs"][0]["steps"][0]["x_mine"] = "'=a,\n\"b\"".into();
            let jobs = read(&table(&book).expect("a table")).expect("read");
            let back = with(&book, &jobs);
            assert!(crate::book::merge::same(&back, &book), "{:#}", back["jobs"]);
        }
    }

    #[test]
    fn table_says_what_it_has_and_is_refused_where_it_has_no_job() {
        let jobs = read(b"\xef\xbb\xbfjob id,job due,step id,step outside\na,2026-12-18,seal,TRUE\na,,blow,\n,,,\n")
            .expect("read");
        let expected: Value = serde_json::json!([{ "id": "a", "due": "2026-12-18", "steps": [{ "id": "seal", "outside": true }, { "id": "blow" }] }]);
        assert_eq!(Value::from(jobs.into_iter().map(Value::Object).collect::<Vec<_>>()), expected);
        let refused = |bytes: &[u8]| read(bytes).expect_err("refused").problem.detail;
        assert!(refused(b"job id,step colour\na,red\n").contains("step colour"));
        assert!(refused(b"job id,step id\n,seal\n").contains("Row 2"));
        assert!(refused(b"job name\na\n").contains("job id"));
        assert!(refused(b"job id,step id\na\n").contains("Row 2 of the table has one cell"));
    }
}
