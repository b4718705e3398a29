//! What one more would save, a row each.

use serde_json::{Value, json};
use yardless_answer::{Given, More, Worth};
use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_plan::Plan;

use super::told::Told;
use super::words::{count, day};

/// For people.
pub fn worth(given: &Given, base: &Plan, rows: &[Worth]) -> Told {
    let best = rows.iter().find(|row| row.least > Cents::ZERO && row.when.is_some());
    let says = match best {
        Some(row) => {
            let when = row.when.map_or(String::new(), |(first, last)| format!(" {}", dates(first, last)));
            format!("{}{when} saves {}: it pays below ${}.", what(given, &row.more), saves(row), row.least)
        }
        None if rows.iter().all(|row| row.most <= Cents::ZERO) => {
            "Nothing that was asked about would save anything over these weeks.".to_owned()
        }
        None => "Nothing that was asked about is sure to save anything over these weeks; what it may save is below."
            .to_owned(),
    };
    let mut table_rows = vec![["ONE MORE", "SAVES", "WHEN"].map(str::to_owned)];
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
        table_rows.push([what(given, &row.more), saves(row), when]);
    }
    let proven = if base.proven { ", proven best" } else { ", not proven: what is saved is given from least to most" };
    let note = format!(
        "Against the best plan from now on, nothing told counted: ${}{proven}. Rent, wages and fuel of what is added are \
         not counted. One more trailer may cost more than it saves, where the place it stands at has few spots.",
        base.cost
    );
    Told::says(&says).gap().headed(0, table_rows, [40, 28, 0]).gap().say(&note)
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
    if row.least == row.most { format!("${}", row.least) } else { format!("${} to ${}", row.least, row.most) }
}

fn dates(first: chrono::NaiveDate, last: chrono::NaiveDate) -> String {
    let (first, last) = (day(HalfDay::am(first)), day(HalfDay::am(last)));
    if first == last { first } else { format!("{first} to {last}") }
}

/// For programs.
pub fn worth_json(base: &Plan, rows: &[Worth]) -> Value {
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
                "until": row.when.map(|w| w.1), "days": row.days, "only_then": row.only_then,
            })
        })
        .collect();
    json!({ "cost": base.cost, "bound": base.bound, "proven": base.proven, "rows": rows })
}
