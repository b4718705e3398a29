//! A week's crews as a table: a row each, half-days across.

use super::cells::Week;
use super::course::Course;
use super::grid::Says;
use super::words::day;

/// A week's crews.
pub struct CrewTable {
    /// The dates, each over as many half-days.
    pub dates: Vec<(String, usize)>,
    /// The halves of the days; closed ones say so.
    pub halves: Vec<String>,
    /// The crews: id, name, and what they do.
    pub rows: Vec<(String, String, Vec<CrewCell>)>,
}

/// What a crew does in one or more half-days.
pub struct CrewCell {
    /// How many half-days.
    pub span: usize,
    /// Where; empty: nothing.
    pub head: String,
    /// What.
    pub text: String,
}

impl CrewTable {
    /// The crews' week, by its position in the plan.
    pub fn new(course: &Course, week: usize) -> Self {
        let shop = course.shop;
        let mut cells = Week::new(course, week);
        let columns = cells.columns.clone();
        let mut dates: Vec<(String, usize)> = Vec::new();
        for &h in &columns {
            let date = day(shop.horizon.half_day(h));
            match dates.last_mut() {
                Some((last, many)) if *last == date => *many += 1,
                _ => dates.push((date, 1)),
            }
        }
        let half = |h: &usize| {
            let half = if shop.horizon.half_day(*h).is_pm() { "pm" } else { "am" };
            if shop.works[*h] { half.to_owned() } else { format!("{half}, closed") }
        };
        let halves = columns.iter().map(half).collect();
        let mut rows = Vec::new();
        for crew in shop.crews.ids() {
            let facts = &shop.crews[crew];
            for (n, row) in cells.crew(crew).into_iter().enumerate() {
                let mut all = Vec::new();
                let mut next = 0;
                for span in row.spans {
                    if span.first > next {
                        all.push(CrewCell { span: span.first - next, head: String::new(), text: String::new() });
                    }
                    let (head, text) = words(&span.says);
                    all.push(CrewCell { span: span.last + 1 - span.first, head, text });
                    next = span.last + 1;
                }
                if next < columns.len() {
                    all.push(CrewCell { span: columns.len() - next, head: String::new(), text: String::new() });
                }
                let name = if n == 0 { facts.name.clone() } else { format!("{}, people there", facts.name) };
                rows.push((shop.crews[crew].id.clone(), name, all));
            }
        }
        Self { dates, halves, rows }
    }
}

fn words(says: &Says) -> (String, String) {
    match says {
        Says::Words(head, text) => (head.clone(), text.clone()),
        Says::Text(text) => (text.clone(), String::new()),
        Says::Fill(_) => (String::new(), String::new()),
        Says::Fitting(texts) => (texts.first().cloned().unwrap_or_default(), String::new()),
    }
}
