//! What the book's things are called: an id that a sentence quotes is said by the thing's name.

use serde_json::Value;

/// The lists that a noun speaks of.
const NOUNS: [(&str, &str); 13] = [
    ("job", "jobs"),
    ("crew", "crews"),
    ("truck", "trucks"),
    ("unit", "equipment"),
    ("thing", "things"),
    ("place", "places"),
    ("road", "roads"),
    ("rank", "ranks"),
    ("pattern", "patterns"),
    ("kind", "kinds"),
    ("skill", "skills"),
    ("step", STEPS),
    ("way", WAYS),
];
const STEPS: &str = "steps";
const WAYS: &str = "ways";

/// What the ids of a sentence may be of: the book, as it is to be and as it was, and the job or pattern that the sentence is
/// about.
#[derive(Clone, Copy)]
pub struct Called<'b> {
    /// The books: what the first has not got, the next may have had.
    pub books: &'b [&'b Value],
    /// The job or pattern, else nothing.
    pub of: &'b Value,
}

impl<'b> Called<'b> {
    /// The name of what is quoted in a sentence after these words; `None`: nothing of the book is called so, or it has no
    /// name besides.
    pub fn name(self, before: &str, id: &str) -> Option<String> {
        if let Some((job, step)) = id.split_once('/') {
            let job = self.books.iter().find_map(|book| member(&book["jobs"], job))?;
            let of = Called { books: self.books, of: job };
            let step = of.name("step", step).unwrap_or_else(|| step.to_owned());
            return Some(format!("{}: {step}", name(job).unwrap_or(id)));
        }
        // `no place, truck or unit`: any of these.
        let words = before.rsplit(|c: char| !c.is_alphabetic()).filter(|word| !["", "or"].contains(word));
        let list = |word: &str| NOUNS.iter().find(|(noun, _)| word == *noun).map(|(_, list)| *list);
        let lists: Vec<&str> = words.map_while(list).collect();
        let found = if lists.is_empty() {
            [STEPS, WAYS].into_iter().chain(NOUNS.map(|(_, list)| list)).find_map(|list| self.found(list, id))
        } else {
            lists.into_iter().find_map(|list| self.found(list, id))
        };
        found.and_then(name).filter(|name| *name != id).map(str::to_owned)
    }

    /// The member of a list. A step is one of the job; where there is none, of any job, if all of those are called the same.
    fn found(self, list: &str, id: &str) -> Option<&'b Value> {
        match list {
            STEPS if self.of.is_null() => {
                let jobs = self.books.first().and_then(|book| book["jobs"].as_array())?;
                let all = jobs.iter().filter_map(|job| member(&job[STEPS], id));
                let mut all = all.collect::<Vec<_>>().into_iter();
                let first = all.next()?;
                all.all(|of| name(of) == name(first)).then_some(first)
            }
            STEPS => member(&self.of[STEPS], id),
            WAYS => self.of[STEPS].as_array()?.iter().find_map(|step| member(&step[WAYS], id)),
            list => self.books.iter().find_map(|book| member(&book[list], id)),
        }
    }
}

fn member<'b>(list: &'b Value, id: &str) -> Option<&'b Value> {
    list.as_array()?.iter().find(|member| member["id"] == id)
}

fn name(of: &Value) -> Option<&str> {
    of["name"].as_str()
}

/// A sentence with each id that it quotes said by its name.
pub fn by_names(book: &Value, text: &str) -> String {
    let of = job_named(book, text);
    let called = Called { books: &[book], of: of.unwrap_or(&Value::Null) };
    marked(text, |before, word| format!("`{}`", called.name(before, word).unwrap_or_else(|| word.to_owned())))
}

/// The one job that a sentence names.
fn job_named<'b>(book: &'b Value, text: &str) -> Option<&'b Value> {
    text.split('`').skip(1).step_by(2).find_map(|word| member(&book["jobs"], word))
}

/// A sentence with each marked word said otherwise. `word`: what comes before it, and it. A last mark without another one to
/// close it is none.
pub fn marked(text: &str, word: impl Fn(&str, &str) -> String) -> String {
    let pieces: Vec<&str> = text.split('`').collect();
    let mut out = String::with_capacity(text.len());
    for (n, piece) in pieces.iter().enumerate() {
        if n % 2 == 1 && n + 1 < pieces.len() {
            out.push_str(&word(pieces[n - 1], piece));
        } else {
            out.push_str(piece);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn ids_are_said_by_the_names_of_what_they_are() {
        let book = json!({
            "jobs": [
                { "id": "birch-attic", "name": "Birch attic", "steps": [{ "id": "seal", "name": "Seal it" }, { "id": "blow" }] },
                { "id": "elm", "name": "Elm walls", "steps": [{ "id": "seal", "name": "Seal top" }] }],
            "crews": [{ "id": "north", "name": "North crew" }],
            "places": [{ "id": "hill", "name": "Hill Farm" }],
            "roads": [{ "id": "hill", "name": "Hill road" }],
        });
        for (text, says) in [
            ("no job `birch`; did you mean `birch-attic`?", "no job `birch`; did you mean `Birch attic`?"),
            ("of `birch-attic/seal` it is not known", "of `Birch attic: Seal it` it is not known"),
            ("`birch-attic/blow`, `no/step`", "`Birch attic: blow`, `no/step`"),
            ("no step `seal` in the job `elm`", "no step `Seal top` in the job `Elm walls`"),
            ("the step `seal`", "the step `seal`"),
            ("the road `hill` of the place `hill`", "the road `Hill road` of the place `Hill Farm`"),
            ("no place, crew or unit `north`", "no place, crew or unit `North crew`"),
            ("no place `north` there", "no place `north` there"),
            ("`north` is named twice", "`North crew` is named twice"),
        ] {
            assert_eq!(by_names(&book, text), says, "{text}");
        }
    }
}
