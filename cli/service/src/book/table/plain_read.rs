//! The table with plain columns, read: a cell that says what the book says changes nothing, an empty one neither, and what
//! no column says stays as it is. All that is wrong is told at once, by row and column.

use csv::StringRecord;
use serde_json::{Map, Value};

use super::columns::{ALSO, Column, JOB, NONE, OF_JOB, OF_STEP, STEP};
use super::formula::unguarded;
use super::rows;
use super::words::{Names, meant, members};
use crate::book::form::id_by;
use crate::refusal::Refusal;

/// Faults that are told; more are counted.
const MOST_TOLD: usize = 20;

/// The book with the jobs of a table, and how many these are.
pub fn with(book: &Value, bytes: &[u8]) -> Result<(Value, usize), Refusal> {
    let (heads, all) = rows::of(bytes)?;
    let known = |head: &str| {
        let column = |of: &[Column]| of.iter().any(|column| column.head == head);
        [JOB, STEP, ALSO].contains(&head) || column(&OF_JOB) || column(&OF_STEP)
    };
    let unknown: Vec<&str> = heads.iter().map(str::trim).filter(|head| !known(head)).collect();
    if !unknown.is_empty() {
        return Err(super::rows::unknown(&unknown));
    }
    let mut table = Table { heads, book: book.clone(), faults: Vec::new(), jobs: Vec::new() };
    let placed: Vec<(usize, String, Option<String>)> =
        all.iter().enumerate().filter_map(|(n, row)| table.placed(n + 2, row)).collect();
    for (number, job, step) in &placed {
        table.take(*number, &all[number - 2], job, step.as_deref());
    }
    if table.faults.is_empty() {
        return Ok((table.book, table.jobs.len()));
    }
    let more = table.faults.len().saturating_sub(MOST_TOLD);
    table.faults.truncate(MOST_TOLD);
    let more = if more > 0 { format!(" And {more} more.") } else { String::new() };
    Err(Refusal::input(
        "web::csv",
        format!("{}.{more}", table.faults.join(". ")),
        "Nothing was taken in: mend these cells, and send it again.",
    ))
}

struct Table {
    heads: StringRecord,
    book: Value,
    faults: Vec<String>,
    /// The ids of the jobs that it names.
    jobs: Vec<String>,
}

impl Table {
    /// A cell, without blanks around it; empty where there is no such column.
    fn cell(&self, row: &StringRecord, head: &str) -> String {
        let at = self.heads.iter().position(|of| of.trim() == head);
        at.and_then(|at| row.get(at)).map_or_else(String::new, |text| unguarded(text.trim()).trim().to_owned())
    }

    /// The ids of a row's job and step, which are made where they are new. `None`: the row is empty, or names no job.
    fn placed(&mut self, number: usize, row: &StringRecord) -> Option<(usize, String, Option<String>)> {
        if row.iter().all(|cell| cell.trim().is_empty()) {
            return None;
        }
        let (job, step) = (self.cell(row, JOB), self.cell(row, STEP));
        if job.is_empty() {
            self.faults.push(format!("Row {number} names no job"));
            return None;
        }
        if !self.book["jobs"].is_array() {
            self.book["jobs"] = Vec::<Value>::new().into();
        }
        let job = named(&mut self.book["jobs"], &job)?;
        if !self.jobs.contains(&job) {
            self.jobs.push(job.clone());
        }
        let steps = &mut self.job(&job)["steps"];
        if !steps.is_array() {
            *steps = Vec::<Value>::new().into();
        }
        let step = if step.is_empty() { None } else { named(steps, &step) };
        Some((number, job, step))
    }

    fn job(&mut self, id: &str) -> &mut Value {
        let at = self.book["jobs"].as_array().and_then(|jobs| jobs.iter().position(|job| job["id"] == id));
        &mut self.book["jobs"][at.unwrap_or_default()]
    }

    /// Lays a row's cells over its job and its step.
    fn take(&mut self, number: usize, row: &StringRecord, job: &str, step: Option<&str>) {
        let of_job = self.changed(number, row, job, None);
        self.job(job).as_object_mut().into_iter().for_each(|job| lay(job, of_job.clone()));
        let Some(step) = step else { return };
        let of_step = self.changed(number, row, job, Some(step));
        let steps = self.job(job)["steps"].as_array_mut().into_iter().flatten();
        let found = steps.filter(|of| of["id"] == step).filter_map(Value::as_object_mut);
        found.for_each(|of| lay(of, of_step.clone()));
    }

    /// The fields that a row changes of its job, or of its step; `None`: taken out.
    fn changed(
        &mut self,
        number: usize,
        row: &StringRecord,
        job: &str,
        step: Option<&str>,
    ) -> Vec<(&'static str, Option<Value>)> {
        let of = self.job(job).clone();
        let steps = members(&of["steps"]);
        let is = match step {
            None => of,
            Some(step) => of["steps"]
                .as_array()
                .and_then(|all| all.iter().find(|of| of["id"] == step))
                .cloned()
                .unwrap_or_default(),
        };
        let columns: &[Column] = if step.is_some() { &OF_STEP } else { &OF_JOB };
        let (mut fields, mut faults) = (Vec::new(), Vec::new());
        for column in columns {
            let text = self.cell(row, column.head);
            let names = Names { book: &self.book, steps: steps.clone() };
            if text.is_empty() || text == names.says(column.written, &is[column.field]).trim() {
                continue;
            }
            if text == NONE {
                // A step after none is free; all else that is none is not said.
                let free = column.field == "after";
                fields.push((column.field, free.then(|| Vec::<Value>::new().into())));
                continue;
            }
            match names.value(column.written, &text) {
                Ok(value) => fields.push((column.field, Some(value))),
                Err(says) => faults.push(format!("Row {number}, {}: {says}", column.head)),
            }
        }
        self.faults.extend(faults);
        fields
    }
}

fn lay(of: &mut Map<String, Value>, fields: Vec<(&'static str, Option<Value>)>) {
    for (field, value) in fields {
        match value {
            Some(value) => drop(of.insert(field.to_owned(), value)),
            None => drop(of.shift_remove(field)),
        }
    }
}

/// The id of a list's member by its name or id; a new one is put at its end.
fn named(list: &mut Value, name: &str) -> Option<String> {
    let all = members(list);
    if let Some(id) = meant(&all, name) {
        return Some(id.to_owned());
    }
    let taken: Vec<String> = all.into_iter().map(|(id, _)| id).collect();
    let id = id_by(name, &taken)?;
    let mut new = Map::from_iter([("id".to_owned(), Value::from(id.as_str()))]);
    if id != name {
        new.insert("name".to_owned(), name.into());
    }
    list.as_array_mut()?.push(new.into());
    Some(id)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::plain::table;
    use super::*;

    const BOOKS: [&str; 5] = [
        include_str!("../../../../../data/demo.json"),
        include_str!("../../../../../data/five-jobs.json"),
        include_str!("../../../../../tests/cases/may_split/lets-go.json"),
        include_str!("../../../../../tests/cases/parked-since-before.json"),
        include_str!("../../../../../tests/cases/within-from-next.json"),
    ];

    #[test]
    fn table_that_comes_back_as_it_went_changes_nothing() {
        for text in BOOKS {
            let mut book: Value = serde_json::from_str(text).expect("JSON");
            book["jobs"][0]["contact"] = "=HYPERLINK(\"x\")".into();
            book["jobs"][0]["note"] = "oak; =1+1;'-2;\n\"@x\"".into();
            book["jobs"][0]["steps"][0]["x_mine"] = "'=a,\n\"b\"".into();
            let (back, _) = with(&book, &table(&book).expect("a table")).expect("read");
            assert!(crate::book::merge::same(&back, &book), "{:#}", back["jobs"]);
        }
    }

    #[test]
    fn book_made_of_the_table_alone_is_the_same_where_every_row_is_plain() {
        let mut book: Value = serde_json::from_str(BOOKS[1]).expect("JSON");
        // Only what has a column, and names of which ids are made.
        let jobs = json!([
            { "id": "birch-attic", "name": "Birch attic", "place": book["places"][0]["id"], "due": "2026-12-18",
              "contact": "Mrs. Example, 555-0102", "steps": [
                { "id": "air-seal", "name": "Air seal", "skill": "air sealing", "labor_hours": 12, "max_people": 3 },
                { "id": "blow", "name": "Blow", "skill": "insulation", "half_days": 2,
                  "needs": [{ "kind": "blowing machine", "count": 2 }], "outside": true, "max_gust_mph": 30,
                  "after": [{ "step": "air-seal", "wait_half_days": 1, "within_half_days": 8 }] }] },
            { "id": "barn", "name": "Barn", "place": book["places"][0]["id"], "steps": [
                { "id": "look", "name": "Look", "skill": "inspection", "hours": 1.5, "after": ["birch-attic/blow"] },
                { "id": "fit", "name": "Fit", "skill": "insulation", "half_days": 1, "after": [] }] }
        ]);
        book["jobs"] = jobs;
        let text = table(&book).expect("a table");
        assert!(String::from_utf8_lossy(&text).contains("Air seal (1 to 8 half-days later)"));
        let mut without = book.clone();
        without["jobs"] = json!([]);
        let (back, many) = with(&without, &text).expect("read");
        assert!(many == 2 && crate::book::merge::same(&back, &book), "{:#}", back["jobs"]);
    }

    #[test]
    fn cells_change_what_they_say_and_all_that_is_wrong_is_told_at_once() {
        let book: Value = serde_json::from_str(BOOKS[0]).expect("JSON");
        let name = book["jobs"][0]["name"].as_str().expect("a name").to_owned();
        let table =
            format!("Job,Wanted by,Step,Outside,Also in the book\n{name},12/18/2026,,,\n{name},,One more,yes,x\n");
        let (changed, many) = with(&book, table.as_bytes()).expect("read");
        let mut expected = book.clone();
        expected["jobs"][0]["due"] = "2026-12-18".into();
        let steps = expected["jobs"][0]["steps"].as_array_mut().expect("steps");
        steps.push(json!({ "id": "one-more", "name": "One more", "outside": true }));
        assert_eq!((changed, many), (expected, 1));
        let taken_out = with(&book, format!("Job;Wanted by\n{name};none\n").as_bytes()).expect("read").0;
        assert!(taken_out["jobs"][0].get("due").is_none());
        let wrong = format!(
            "Job,Place,Wanted by,Step,Half-days,Needs,After\n{name},nowhere,soon,New,a few,2 x nothing,before (soon later)\n,,,S,,,\n"
        );
        let says = with(&book, wrong.as_bytes()).expect_err("refused").problem.detail.clone();
        for part in [
            "Row 2, Place: “nowhere”",
            "Row 2, Wanted by: “soon” is no date",
            "Row 2, Half-days:",
            "Row 2, Needs: no equipment",
            "Row 2, After:",
            "Row 3 names no job",
        ] {
            assert!(says.contains(part), "{part}: {says}");
        }
        assert!(with(&book, b"Job,Colour\na,red\n").expect_err("refused").problem.detail.contains("Colour"));
    }
}
