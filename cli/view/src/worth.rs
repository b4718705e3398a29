//! What one more would save, a row each.

use serde_json::{Value, json};
use yardless_answer::{Alone, Given, More, Worth, tells_value};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::Plan;

use super::told::Told;
use super::words::{count, day, list};

/// For people.
pub fn worth(given: &Given, base: &Plan, rows: &[Worth]) -> Told {
    let best = rows.iter().find(|row| row.least > Cents::ZERO && row.when.is_some());
    let says = match best {
        Some(row) => {
            let when = row.when.map_or(String::new(), |(first, last)| format!(" {}", dates(first, last)));
            let says = format!("{}{when} saves {}: it pays below ${}.", what(given, &row.more), saves(row), row.least);
            says + &lets_in(given, row)
        }
        None if rows.iter().all(|row| row.most <= Cents::ZERO) => {
            "Nothing that was asked about would save anything over these weeks.".to_owned()
        }
        None => "Nothing that was asked about is sure to save anything over these weeks; what it may save is below."
            .to_owned(),
    };
    let mut table_rows = vec![["ONE MORE", "SAVES", "WITHOUT NEW JOBS", "WHEN"].map(str::to_owned)];
    for row in rows {
        let when = match row.when {
            None => "not used".to_owned(),
            Some((first, last)) => {
                let only = if row.only_then { "; the same if it is there on these dates only" } else { "" };
                let a_day = match row.more {
                    More::Crew(_) if row.days > 0 && row.least == row.most && row.least > Cents::ZERO => {
                        format!(", {}: ${} a day", count(row.days, "day", "days"), Cents(row.least.0 / row.days as i64))
                    }
                    _ => String::new(),
                };
                format!("{}{a_day}{only}", dates(first, last))
            }
        };
        let alone = if row.lets_in.is_empty() { saves(row) } else { row.alone.map_or("?".to_owned(), range) };
        table_rows.push([what(given, &row.more), saves(row), alone, when]);
    }
    let new = rows.iter().any(|row| !row.lets_in.is_empty());
    let proven = if base.proven {
        ", proven best"
    } else {
        ", a cheaper one may exist: what is saved is given from least to most"
    };
    let note = format!(
        "Against the best plan from now on, what the crews were told not counted: ${}{proven}. Rent, wages and fuel of what is added are \
         not counted. One more trailer may cost more than it saves, where the place it stands at has few spots.",
        base.cost
    );
    let told = Told::says(&says).gap();
    let told = if new {
        told.headed(0, table_rows, [36, 20, 20, 0])
    } else {
        let rows = table_rows.into_iter().map(|[more, saves, _, when]| [more, saves, when]).collect();
        told.headed(0, rows, [40, 28, 0])
    };
    let told = told.gap().say(&note);
    if tells_value(&given.shop.book) { told } else { told.say(NO_VALUE) }
}

/// What is not in the figures where no job says what it is worth.
const NO_VALUE: &str = "No job of the book says what it costs to leave it out (`left_out`, of the job or its rank): the \
    figures count lateness, hauls and hire, and not what a job brings in.";

/// The jobs that one more lets in, and what it saves without them.
fn lets_in(given: &Given, row: &Worth) -> String {
    if row.lets_in.is_empty() {
        return String::new();
    }
    let jobs: Vec<String> = row.lets_in.iter().map(|job| given.shop.job_name(job).to_owned()).collect();
    let alone = row.alone.map_or(String::new(), |alone| format!("; without that it saves {}", range(alone)));
    format!(" It lets in {}{alone}.", list(&jobs))
}

fn what(given: &Given, more: &More) -> String {
    let shop = given.shop;
    match more {
        More::Unit(kind) => format!("One more {}", shop.kind_name(kind)),
        More::Crew(id) => format!("One more crew like {}", shop.crew_name(id)),
        More::Truck => "One more truck".to_owned(),
        More::Day(date) => format!("Working {}", day(HalfDay::am(*date))),
        More::Road(id) => format!("{} open to trailers all winter", shop.road_name(id)),
        More::Clear(id, date) => format!("{} clear on {}", shop.road_name(id), day(HalfDay::am(*date))),
    }
}

fn saves(row: &Worth) -> String {
    range(Alone { least: row.least, most: row.most })
}

/// `$12.50`; a loss is `-$12.50`.
fn dollars(of: Cents) -> String {
    if of < Cents::ZERO { format!("-${}", Cents::ZERO - of) } else { format!("${of}") }
}

fn range(Alone { least, most }: Alone) -> String {
    if least == most { dollars(least) } else { format!("{} to {}", dollars(least), dollars(most)) }
}

fn dates(first: chrono::NaiveDate, last: chrono::NaiveDate) -> String {
    let (first, last) = (day(HalfDay::am(first)), day(HalfDay::am(last)));
    if first == last { first } else { format!("{first} to {last}") }
}

/// For programs.
pub fn worth_json(given: &Given, base: &Plan, rows: &[Worth]) -> Value {
    let rows: Vec<Value> = rows
        .iter()
        .map(|row| {
            let more = match &row.more {
                More::Unit(id) => json!({ "unit": id }),
                More::Crew(id) => json!({ "crew": id }),
                More::Truck => json!({ "truck": true }),
                More::Day(date) => json!({ "day": date }),
                More::Road(id) => json!({ "road": id }),
                More::Clear(id, date) => json!({ "road": id, "clear": date }),
            };
            json!({
                "more": more, "least": row.least, "most": row.most, "from": row.when.map(|w| w.0),
                "until": row.when.map(|w| w.1), "days": row.days, "only_then": row.only_then, "lets_in": row.lets_in,
                "alone": row.alone.map(|alone| json!({ "least": alone.least, "most": alone.most })),
            })
        })
        .collect();
    json!({
        "cost": base.cost, "bound": base.bound, "proven": base.proven, "rows": rows,
        "jobs_tell_value": tells_value(&given.shop.book),
    })
}
