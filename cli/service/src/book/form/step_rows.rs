//! The steps of a job as rows of a table: what a row sends, made the fields that a step has.

use std::collections::BTreeMap;

use crate::request::sent::Fields;

/// The list that the rows are of.
const STEPS: &str = "steps";

/// What a row says of how long its step takes: the field, and its words.
pub const LENGTHS: [(&str, &str); 3] =
    [("half_days", "half-days"), ("labor_hours", "labor hours"), ("hours", "hours, a visit")];

/// The sent fields with each row's length under the field that it means, no need without a kind, copies made, and the rows
/// in the order that was asked for.
pub fn arranged(sent: &Fields) -> Fields {
    sent.rewritten(|all| {
        let (mut rows, mut rest) = (BTreeMap::<usize, Vec<(String, String)>>::new(), Vec::new());
        for (name, value) in all {
            match row_of(&name) {
                Some((n, field)) => rows.entry(n).or_default().push((field.to_owned(), value)),
                None => rest.push((name, value)),
            }
        }
        let mut ordered: Vec<(f64, Vec<(String, String)>)> = Vec::new();
        for (n, row) in rows {
            let place = get(&row, "order").parse::<f64>().unwrap_or(n as f64 + 1.0);
            let copied = row.iter().any(|(field, _)| field == "copy");
            let row = one(row);
            if copied {
                let copy = row.iter().filter(|(field, _)| !["id", "remove"].contains(&field.as_str())).cloned();
                // Just behind the row that it is made from.
                ordered.push((place + 0.25, copy.collect()));
            }
            ordered.push((place, row));
        }
        ordered.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        let named = ordered.into_iter().enumerate().flat_map(|(n, (_, row))| {
            row.into_iter().map(move |(field, value)| (format!("{STEPS}.{n}.{field}"), value))
        });
        rest.into_iter().chain(named).collect()
    })
}

/// The field of a job's form where a fault of a step's field is told: a step's length has one field for three.
pub fn at_row(field: &str) -> String {
    let shown = |of: &str| match of {
        "id" => "name".to_owned(),
        length if LENGTHS.iter().any(|(field, _)| *field == length) => "long".to_owned(),
        other => other.to_owned(),
    };
    row_of(field).map_or_else(|| field.to_owned(), |(n, of)| format!("{STEPS}.{n}.{}", shown(of)))
}

/// Which row a field is of, and its name there.
fn row_of(name: &str) -> Option<(usize, &str)> {
    let (n, field) = name.strip_prefix(STEPS)?.strip_prefix('.')?.split_once('.')?;
    Some((n.parse().ok()?, field))
}

fn get<'a>(row: &'a [(String, String)], field: &str) -> &'a str {
    row.iter().find(|(of, _)| of == field).map_or("", |(_, value)| value.trim())
}

/// One row with the fields that a step has.
fn one(row: Vec<(String, String)>) -> Vec<(String, String)> {
    let length = get(&row, "long_of").to_owned();
    let long = get(&row, "long").to_owned();
    let is_length = |field: &str| LENGTHS.iter().any(|(of, _)| *of == field);
    let known = is_length(&length);
    // What begins the names of a need: `needs.0`.
    let need =
        |field: &str| field.strip_prefix("needs.").and_then(|rest| rest.split_once('.')).map(|(n, _)| n.to_owned());
    let of_kind = |(field, value): &(String, String)| {
        need(field).filter(|n| *field == format!("needs.{n}.kind") && !value.trim().is_empty())
    };
    let kinds: Vec<String> = row.iter().filter_map(of_kind).collect();
    let keeps = |field: &str| {
        let of_row = ["long", "long_of", "order", "copy"].contains(&field);
        let counts_nothing = need(field).is_some_and(|n| !kinds.contains(&n));
        !of_row && !counts_nothing && (!known || !is_length(field))
    };
    let mut fields: Vec<(String, String)> = row.into_iter().filter(|(field, _)| keeps(field)).collect();
    if known {
        fields.push((length, long));
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(pairs: &[(&str, &str)]) -> Fields {
        Fields::of(pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect())
    }

    #[test]
    fn rows_say_lengths_needs_order_and_copies() {
        let of = sent(&[
            ("name", "Attic"),
            ("steps.0.id", "blow"),
            ("steps.0.long", "2"),
            ("steps.0.long_of", "half_days"),
            ("steps.0.labor_hours", "9"),
            ("steps.0.needs.0.kind", "blower"),
            ("steps.0.needs.0.count", "2"),
            ("steps.0.needs.1.kind", ""),
            ("steps.0.needs.1.count", "1"),
            ("steps.1.id", "seal"),
            ("steps.1.skill", "sealing"),
            ("steps.1.long", "10"),
            ("steps.1.long_of", "labor_hours"),
            ("steps.1.order", "0"),
            ("steps.1.copy", "on"),
        ]);
        let expected = [
            ("name", "Attic"),
            ("steps.0.id", "seal"),
            ("steps.0.skill", "sealing"),
            ("steps.0.labor_hours", "10"),
            ("steps.1.skill", "sealing"),
            ("steps.1.labor_hours", "10"),
            ("steps.2.id", "blow"),
            ("steps.2.needs.0.kind", "blower"),
            ("steps.2.needs.0.count", "2"),
            ("steps.2.half_days", "2"),
        ];
        assert_eq!(arranged(&of).pairs(), expected);
    }

    #[test]
    fn rows_of_another_form_stay_as_they_are() {
        let of = sent(&[("steps.0.half_days", "2"), ("steps.0.ways.0.labor_hours", "3"), ("stepsize", "1")]);
        assert_eq!(
            arranged(&of).pairs(),
            [("stepsize", "1"), ("steps.0.half_days", "2"), ("steps.0.ways.0.labor_hours", "3")]
        );
    }
}
