//! The text against the schema: fields, types, limits, words and times, every fault at once.

mod neutral;
mod rules;
mod scalar;

use std::collections::BTreeSet;
use std::ops::Range;

use jsonc_parser::ast::{self, ObjectProp};
use serde_json::{Map, Number, Value};

use super::fault::{Code, Fault, Path, PathPart};
use super::near::{Suggestions, meant, shown};
use super::schema;
use super::source::{Placed, Source, name_bytes};
use neutral::neutral;
use rules::{Rules, in_words};
use scalar::Wrong;

/// The book's text held against the schema.
pub(super) struct Shaped {
    /// The text as a value that keeps the schema: as written where it does, neutral where it does not.
    pub(super) value: Value,
    /// What does not keep it.
    pub(super) faults: Vec<Placed>,
    /// Paths whose value is not known for certain: nothing is to be concluded from them.
    pub(super) unsure: Vec<Path>,
}

/// Holds a text against the schema of the book.
pub(super) fn shape(source: &Source) -> Shaped {
    let rules = Rules::of(schema::shared());
    let mut walk =
        Walk { source, at: Path::default(), faults: vec![], unsure: vec![], suggest: Suggestions::default() };
    let value = walk.value(&rules, &source.root).unwrap_or_else(|| neutral(&rules));
    Shaped { value, faults: walk.faults, unsure: walk.unsure }
}

struct Walk<'s> {
    source: &'s Source<'s>,
    at: Path,
    faults: Vec<Placed>,
    unsure: Vec<Path>,
    suggest: Suggestions,
}

impl Walk<'_> {
    /// The value as it may be used, or nothing where it cannot be.
    fn value(&mut self, rules: &Rules, value: &ast::Value) -> Option<Value> {
        let mut rules = rules.clone();
        let named = type_of(value);
        let fits = |taken: &str| taken == named || (taken == "integer" && named == "number");
        if let Some(choice) = rules.list("anyOf").iter().find(|choice| fits(Rules::of(choice).takes())) {
            rules.add(choice);
        }
        let taken = rules.takes();
        if taken.is_empty() && rules.get("anyOf").is_none() {
            return Some(self.plain(value));
        }
        if !fits(taken) {
            return self.wrong_type(&rules, value);
        }
        let found = match value {
            ast::Value::Object(object) => return Some(self.object(&rules, object, value)),
            ast::Value::Array(list) if rules.text("format") == "coordinates" => scalar::coordinates(list),
            ast::Value::Array(list) => return self.list(&rules, list, value),
            ast::Value::NumberLit(number) => scalar::number(&rules, number.value),
            ast::Value::StringLit(text) => {
                let as_written = || Value::from(text.value.as_ref());
                match scalar::text(&rules, &text.value, &mut self.suggest) {
                    Ok(()) => Ok(as_written()),
                    Err(wrong) if wrong.usable => {
                        self.wrong(wrong, value);
                        self.unsure.pop();
                        return Some(as_written());
                    }
                    Err(wrong) => Err(wrong),
                }
            }
            ast::Value::BooleanLit(boolean) => Ok(boolean.value.into()),
            ast::Value::NullKeyword(_) => Ok(Value::Null),
        };
        found.map_err(|wrong| self.wrong(wrong, value)).ok()
    }

    fn object(&mut self, rules: &Rules, object: &ast::Object, value: &ast::Value) -> Value {
        let mut out = Map::new();
        let called = called(rules, object);
        let mut seen = BTreeSet::new();
        for property in &object.properties {
            let name = property.name.as_str();
            let again = !seen.insert(name);
            self.at.0.push(PathPart::Field(name.to_owned()));
            if again {
                self.twice(property);
            }
            let read = match rules.field(name) {
                Some(entry) => {
                    let rules_of_field = Rules::of(entry);
                    let read = self.value(&rules_of_field, &property.value);
                    read.or_else(|| rules.requires(name).then(|| neutral(&rules_of_field)))
                }
                None if name.starts_with("x_") => Some(self.plain(&property.value)),
                None => {
                    self.unknown_field(rules, &called, property);
                    None
                }
            };
            if let (Some(read), false) = (read, again) {
                out.insert(name.to_owned(), read);
            }
            self.at.0.pop();
        }
        for name in rules.fields().filter(|name| rules.requires(name) && !seen.contains(name)) {
            let Some(entry) = rules.field(name).map(Rules::of) else { continue };
            out.insert(name.to_owned(), neutral(&entry));
            self.at.0.push(PathPart::Field(name.to_owned()));
            let says = format!("{called} gives no `{name}`");
            let help = format!("`{name}`: {}", entry.text("description"));
            self.fault(Fault::new(Code::MissingField, Path::default(), says).help(help), self.source.spot(value));
            self.at.0.pop();
        }
        Value::Object(out)
    }

    fn list(&mut self, rules: &Rules, list: &ast::Array, value: &ast::Value) -> Option<Value> {
        let count = list.elements.len();
        let (least, most) = (rules.number("minItems"), rules.number("maxItems"));
        if least.is_some_and(|least| (count as f64) < least) || most.is_some_and(|most| count as f64 > most) {
            let (says, help) = match (count, most) {
                (0, None) => ("is an empty list".to_owned(), "list at least one".to_owned()),
                (_, Some(most)) => (format!("lists {count}"), format!("list exactly {most}")),
                (_, None) => (format!("lists {count}"), format!("list at least {}", least.unwrap_or_default())),
            };
            self.wrong(Wrong { code: Code::OutOfRange, says, help: Some(help), usable: false }, value);
            return None;
        }
        let rules_of_item = rules.get("items").map(Rules::of)?;
        let mut out = Vec::with_capacity(count);
        for (index, element) in list.elements.iter().enumerate() {
            self.at.0.push(PathPart::Index(index));
            // A stand-in keeps the others at their place in the list.
            out.push(self.value(&rules_of_item, element).unwrap_or_else(|| neutral(&rules_of_item)));
            self.at.0.pop();
        }
        Some(out.into())
    }

    /// A value that is kept and never read; only a name given twice is a fault in it.
    fn plain(&mut self, value: &ast::Value) -> Value {
        match value {
            ast::Value::Object(object) => {
                let mut out = Map::new();
                for property in &object.properties {
                    let name = property.name.as_str();
                    self.at.0.push(PathPart::Field(name.to_owned()));
                    if out.contains_key(name) {
                        self.twice(property);
                    }
                    let read = self.plain(&property.value);
                    out.insert(name.to_owned(), read);
                    self.at.0.pop();
                }
                Value::Object(out)
            }
            ast::Value::Array(list) => {
                let mut out = vec![];
                for (index, element) in list.elements.iter().enumerate() {
                    self.at.0.push(PathPart::Index(index));
                    out.push(self.plain(element));
                    self.at.0.pop();
                }
                out.into()
            }
            ast::Value::StringLit(text) => text.value.as_ref().into(),
            ast::Value::NumberLit(number) => plain_number(number.value),
            ast::Value::BooleanLit(boolean) => boolean.value.into(),
            ast::Value::NullKeyword(_) => Value::Null,
        }
    }

    fn twice(&mut self, property: &ObjectProp) {
        let says = format!("`{}` is given twice here", shown(property.name.as_str()));
        self.fault(
            Fault::new(Code::DuplicateKey, Path::default(), says).help("keep one of them"),
            name_bytes(property),
        );
    }

    fn unknown_field(&mut self, rules: &Rules, called: &str, property: &ObjectProp) {
        let name = property.name.as_str();
        let near = self.suggest.nearest(name, rules.fields());
        let says = format!("no field `{}` in {called}{}", shown(name), meant(near));
        if let Some(near) = near {
            // Then the field that was meant is not known either.
            let mut around = self.at.clone();
            around.0.pop();
            self.unsure.push(around.field(near));
        }
        let remedy = if near.is_some() { "correct the name" } else { "remove it" };
        let help = format!("{remedy}; for a remark use `note`, or a name that begins with `x_`");
        self.faults.push((Fault::new(Code::UnknownField, self.at.clone(), says).help(help), name_bytes(property)));
    }

    fn wrong_type(&mut self, rules: &Rules, value: &ast::Value) -> Option<Value> {
        let wanted = rules.wanted();
        let (is, help) = match value {
            ast::Value::NullKeyword(_) => {
                ("null".to_owned(), format!("give {wanted}; a field with nothing to say is left out"))
            }
            ast::Value::StringLit(text) if wanted.contains("number") && text.value.parse::<f64>().is_ok() => {
                (format!("the text \"{}\"", shown(&text.value)), "write the number without quotes".to_owned())
            }
            ast::Value::StringLit(text)
                if wanted == "true or false" && ["true", "false"].contains(&text.value.as_ref()) =>
            {
                (format!("the text \"{}\"", text.value), format!("write {} without quotes", text.value))
            }
            ast::Value::StringLit(text) => (format!("the text \"{}\"", shown(&text.value)), format!("give {wanted}")),
            ast::Value::NumberLit(number) => (format!("the number {}", shown(number.value)), format!("give {wanted}")),
            ast::Value::BooleanLit(boolean) => (boolean.value.to_string(), format!("give {wanted}")),
            _ => (in_words(type_of(value)).to_owned(), format!("give {wanted}")),
        };
        self.wrong(Wrong { code: Code::WrongType, says: format!("is {is}"), help: Some(help), usable: false }, value);
        None
    }

    /// A fault of the value at hand; its sentence begins with the value's name unless it says it all.
    fn wrong(&mut self, wrong: Wrong, value: &ast::Value) {
        let says =
            if wrong.code == Code::WrongTime { wrong.says } else { format!("{} {}", named(&self.at), wrong.says) };
        let fault = Fault { code: wrong.code, path: Path::default(), says, help: wrong.help };
        self.fault(fault, self.source.spot(value));
    }

    fn fault(&mut self, mut fault: Fault, bytes: Range<usize>) {
        fault.path = self.at.clone();
        self.unsure.push(self.at.clone());
        self.faults.push((fault, bytes));
    }
}

/// A path's last field, with the index that follows it.
fn named(path: &Path) -> String {
    let from = path.0.iter().rposition(|part| matches!(part, PathPart::Field(_)));
    from.map_or_else(|| "the book".into(), |from| format!("`{}`", Path(path.0[from..].to_vec())))
}

/// What an object is called: by its id, else `this need`, `the shop`.
fn called(rules: &Rules, object: &ast::Object) -> String {
    let noun = rules.text("title");
    match object.get_string("id") {
        Some(id) => format!("the {noun} `{}`", shown(&id.value)),
        None if ["book", "shop", "price list"].contains(&noun) => format!("the {noun}"),
        None => format!("this {noun}"),
    }
}

fn type_of(value: &ast::Value) -> &'static str {
    match value {
        ast::Value::StringLit(_) => "string",
        ast::Value::NumberLit(_) => "number",
        ast::Value::BooleanLit(_) => "boolean",
        ast::Value::Object(_) => "object",
        ast::Value::Array(_) => "array",
        ast::Value::NullKeyword(_) => "null",
    }
}

fn plain_number(written: &str) -> Value {
    let whole = written.parse::<i64>().map(Number::from).or_else(|_| written.parse::<u64>().map(Number::from));
    whole.ok().or_else(|| Number::from_f64(written.parse().ok()?)).map_or(Value::Null, Value::Number)
}
