//! Reads a single-mode file of PSPLIB: sections with a heading each, rows of numbers, lines of asterisks between.

use std::collections::BTreeMap;
use std::fmt;

use super::project::{Activity, Project};

/// What is wrong with a file, at which line, and what to do about it.
#[derive(Debug, PartialEq, Eq)]
pub struct LineFault {
    /// From 1 on.
    pub line: usize,
    pub says: String,
}

impl fmt::Display for LineFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.says)
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Section {
    Precedence,
    Requests,
    Availabilities,
}

/// Heading and section. What stands in other sections is passed over.
const SECTIONS: [(&str, Section); 3] = [
    ("PRECEDENCE RELATIONS", Section::Precedence),
    ("REQUESTS/DURATIONS", Section::Requests),
    ("RESOURCEAVAILABILITIES", Section::Availabilities),
];

/// Numbers of a row, and its line.
type NumberRow = (usize, Vec<usize>);

pub fn read(text: &str) -> Result<Project, LineFault> {
    let (mut precedence, mut requests, mut availabilities): (Vec<NumberRow>, Vec<NumberRow>, Vec<NumberRow>) =
        Default::default();
    let mut section = None;
    for (line, text) in (1..).zip(text.lines()) {
        let text = text.trim();
        if text.starts_with('*') {
            section = None;
        } else if let Some((_, new)) = SECTIONS.iter().find(|(heading, _)| text.starts_with(heading)) {
            section = Some(*new);
        } else if let Some(section) = section
            && !text.is_empty()
            && !text.starts_with('-')
            && !text.starts_with("jobnr.")
        {
            let rows = match section {
                Section::Precedence => &mut precedence,
                Section::Requests => &mut requests,
                Section::Availabilities => &mut availabilities,
            };
            if section == Section::Availabilities && text.contains(char::is_alphabetic) {
                only_renewable(line, text)?;
            } else {
                rows.push((line, numbers(line, text)?));
            }
        }
    }
    let last = text.lines().count().max(1);
    let missing = [precedence.is_empty(), requests.is_empty(), availabilities.is_empty()];
    if let Some(((heading, _), _)) = SECTIONS.iter().zip(missing).find(|(_, missing)| *missing) {
        return fault(last, format!("no rows under {heading}: take a whole single-mode file (.sm)"));
    }
    if let Some((line, _)) = availabilities.get(1) {
        return fault(*line, "a second row of units: give the units of all resources in one row");
    }
    let units = availabilities.remove(0).1;
    let successors = successors(&precedence)?;
    let activities = activities(&requests, successors, &units)?;
    Ok(Project { activities, units })
}

/// The row of names: each is a letter and a number, R where units are free again afterwards.
fn only_renewable(line: usize, text: &str) -> Result<(), LineFault> {
    match text.split_whitespace().find(|word| word.starts_with(char::is_alphabetic) && !word.starts_with('R')) {
        Some(word) => fault(line, format!("a resource of type {word}: take a file with renewable resources (R) only")),
        None => Ok(()),
    }
}

/// Line and successors of each activity.
fn successors(rows: &[NumberRow]) -> Result<BTreeMap<usize, NumberRow>, LineFault> {
    let mut all = BTreeMap::new();
    for (line, row) in rows {
        let &[number, modes, count, ref successors @ ..] = &row[..] else {
            return fault(*line, "a row wants activity, modes, number of successors, successors");
        };
        if modes != 1 {
            return fault(*line, format!("activity {number} has {modes} modes: take a single-mode file (.sm)"));
        }
        if count != successors.len() {
            let says = format!("activity {number} says {count} successors and lists {}", successors.len());
            return fault(*line, format!("{says}: let both agree"));
        }
        // Which also keeps it free of circles.
        if let Some(early) = successors.iter().find(|successor| **successor <= number) {
            let says = format!("activity {number} comes before {early}");
            return fault(*line, format!("{says}: number activities so that successors have higher numbers"));
        }
        if all.insert(number, (*line, successors.to_vec())).is_some() {
            return fault(*line, format!("activity {number} stands here a second time: leave one row"));
        }
    }
    for (line, row) in all.values() {
        if let Some(unknown) = row.iter().find(|successor| !all.contains_key(successor)) {
            return fault(*line, format!("there is no activity {unknown}: give it a row under {}", SECTIONS[0].0));
        }
    }
    Ok(all)
}

fn activities(
    rows: &[NumberRow],
    mut order: BTreeMap<usize, NumberRow>,
    units: &[usize],
) -> Result<Vec<Activity>, LineFault> {
    let mut all = Vec::new();
    for (line, row) in rows {
        let wanted = format!("a row wants activity, mode, duration and the units of {} resources", units.len());
        let &[number, mode, duration, ref demands @ ..] = &row[..] else { return fault(*line, wanted) };
        if demands.len() != units.len() {
            return fault(*line, format!("{wanted}, and has {}", demands.len()));
        }
        if mode != 1 {
            return fault(*line, format!("activity {number} in mode {mode}: take a single-mode file (.sm)"));
        }
        if let Some((r, (demand, units))) =
            (1..).zip(demands.iter().zip(units)).find(|(_, (demand, units))| demand > units)
        {
            let says = format!("activity {number} wants {demand} units of resource {r}, which has {units}");
            return fault(*line, format!("{says}: no plan can do it"));
        }
        let Some((_, successors)) = order.remove(&number) else {
            return fault(*line, format!("activity {number} needs one row here, and one under {}", SECTIONS[0].0));
        };
        all.push(Activity { number, duration, demands: demands.to_vec(), successors });
    }
    if let Some((number, (line, _))) = order.first_key_value() {
        return fault(*line, format!("activity {number} needs a row under {} too", SECTIONS[1].0));
    }
    all.sort_by_key(|activity| activity.number);
    Ok(all)
}

fn numbers(line: usize, text: &str) -> Result<Vec<usize>, LineFault> {
    text.split_whitespace()
        .map(|word| {
            let number = word.parse::<u16>().map(usize::from);
            number.or_else(|_| fault(line, format!("`{word}` is no whole number from 0 to {}", u16::MAX)))
        })
        .collect()
}

fn fault<T>(line: usize, says: impl Into<String>) -> Result<T, LineFault> {
    Err(LineFault { line, says: says.into() })
}
