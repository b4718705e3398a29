//! Where a value stands: `jobs[2].steps[0].due` is `Birch attic, Blow attic, wanted by`.

use serde_json::Value;
use yardless_book::{Code, Fault, Path, PathPart};

use super::called::{Called, marked};
use super::capital::small;
use super::label::{label, noun};
use super::refers::{definitions, of_field};
use super::sentence::sentence;
use super::value::{date, half_day, range, season};

/// The schema's name of the object that a path leads into, and the field of it; an index at the end is left away.
pub fn at_object(path: &Path) -> (String, Option<String>) {
    let (mut of, mut field) = (String::new(), None);
    for part in &path.0 {
        if let PathPart::Field(name) = part
            && let Some(last) = field.replace(name.clone())
        {
            of = of_field(&of, &last).unwrap_or_default();
        }
    }
    (of, field)
}

/// The place of a value in words.
pub fn place(book: &Value, path: &Path) -> String {
    let mut said: Vec<String> = Vec::new();
    let (mut of, mut at) = (String::new(), book);
    let mut parts = path.0.iter().peekable();
    while let Some(part) = parts.next() {
        let PathPart::Field(name) = part else { continue };
        let inner = of_field(&of, name);
        at = &at[name.as_str()];
        match (&inner, parts.peek()) {
            (Some(inner), Some(PathPart::Index(n))) if inner != "When" => {
                at = &at[*n];
                let named = at["name"].as_str().or(at["id"].as_str()).map(str::to_owned);
                let nameless =
                    || if at.is_null() { noun(inner).to_owned() } else { format!("{} {}", noun(inner), n + 1) };
                said.push(named.unwrap_or_else(nameless));
            }
            (_, Some(PathPart::Index(n))) => said.push(format!("{} {}", small(&label(&of, name)), n + 1)),
            _ => said.push(if said.is_empty() { label(&of, name) } else { small(&label(&of, name)) }),
        }
        of = inner.unwrap_or_default();
    }
    if said.is_empty() { "The book".to_owned() } else { said.join(", ") }
}

/// The job or pattern that a path leads into; else nothing.
fn job_at<'b>(book: &'b Value, path: &Path) -> &'b Value {
    match path.0.as_slice() {
        [PathPart::Field(list), PathPart::Index(n), ..] if list == "jobs" || list == "patterns" => {
            &book[list.as_str()][*n]
        }
        _ => &Value::Null,
    }
}

/// What is wrong and what to do about it, as a page says it: fields by their labels, things by their names, dates as they are
/// spoken, and no word of how the file is written. `books`: the one that has the fault, then any that knows the names of more.
pub fn fault_words(books: &[&Value], fault: &Fault) -> (String, Option<String>) {
    let (of, field) = at_object(&fault.path);
    let within = field.and_then(|field| of_field(&of, &field)).unwrap_or_default();
    // Only of these kinds do sentences quote what is no field.
    let quotes_ids = matches!(
        fault.code,
        Code::UnknownId | Code::DuplicateId | Code::UnknownKind | Code::UnknownSkill | Code::UnknownWord | Code::BadId
    );
    let called = Called { books, of: books.first().map_or(&Value::Null, |book| job_at(book, &fault.path)) };
    let word = |before: &str, word: &str| -> String {
        let field = word.split(['.', '[']).find(|part| !part.is_empty()).unwrap_or(word);
        let known = |of: &str| definitions()["$defs"][of]["properties"].get(field).is_some();
        if known(&of) && !quotes_ids {
            return format!("“{}”", label(&of, field));
        }
        if known(&within) && !quotes_ids {
            return format!("“{}”", label(&within, field));
        }
        // What a sentence says of other objects' fields, as of what a step comes after.
        let other = ["after", "done", "expected", "note", "own", "place", "progress", "shared", "way", "ways", "with"];
        if !quotes_ids && (field.contains('_') || other.contains(&field)) {
            return format!("“{}”", label("", field));
        }
        let spoken = [date(word), half_day(word), range(word), season(word)].into_iter().find(|said| said != word);
        // Of two with the same id the id itself is what is wrong.
        let is_id = matches!(fault.code, Code::DuplicateId | Code::BadId);
        let name = || called.name(before, word).filter(|_| !is_id).unwrap_or_else(|| word.to_owned());
        spoken.unwrap_or_else(|| format!("“{}”", name()))
    };
    let says = sentence(&marked(&fault.says, word));
    let help = match fault.code {
        // They say how the file is written, or what stands at the field.
        Code::WrongTime
        | Code::WrongType
        | Code::BadId
        | Code::DuplicateId
        | Code::WrongCoordinates
        | Code::MissingField => None,
        _ => fault.help.as_deref().map(|help| sentence(&marked(help, word))),
    };
    (says, help)
}

/// A sentence about an object's fields with their labels in place of their names.
pub fn words_for_fields(of: &str, text: &str) -> String {
    marked(text, |_, word| format!("“{}”", label(of, word)))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn places_are_said_by_names_and_labels() {
        let book = json!({ "jobs": [{ "id": "a", "name": "Birch attic", "steps": [{ "id": "s", "needs": [{}] }] }] });
        let root = Path::default();
        let job = root.field("jobs").index(0);
        assert_eq!(place(&book, &job.field("due")), "Birch attic, wanted by");
        assert_eq!(
            place(&book, &job.field("steps").index(0).field("needs").index(0).field("count")),
            "Birch attic, s, equipment 1, count"
        );
        assert_eq!(place(&book, &root.field("shop").field("closed").index(1)), "Shop, closed 2");
        assert_eq!(
            at_object(&job.field("steps").index(0).field("skill")),
            ("Step".to_owned(), Some("skill".to_owned()))
        );
    }

    #[test]
    fn faults_are_said_by_labels_and_names() {
        let book =
            json!({ "jobs": [{ "id": "needs", "name": "Birch attic", "steps": [{ "id": "s", "name": "Seal" }] }] });
        let step = Path::default().field("jobs").index(0).field("steps").index(0);
        let fault = Fault::new(Code::Duration, step.clone(), "the step `s` gives both `half_days` and `labor_hours`")
            .help("give `half_days`, `labor_hours` or `hours`");
        let (says, help) = fault_words(&[&book], &fault);
        assert_eq!(says, "the step “Seal” gives both “Half-days of work” and “Labor hours”");
        assert_eq!(help.as_deref(), Some("give “Half-days of work”, “Labor hours” or “Hours of the visit”"));
        let fault = Fault::new(Code::UnknownId, step.field("after").index(0), "no step `due` in the job `needs`");
        assert_eq!(fault_words(&[&book], &fault).0, "no step “due” in the job “Birch attic”");
    }
}
