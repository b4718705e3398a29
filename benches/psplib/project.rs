//! A project: activities that take time and units of resources, in an order that is partly given.

use std::collections::BTreeSet;

#[derive(Debug, PartialEq, Eq)]
pub struct Project {
    /// As in the file, each before its successors.
    pub activities: Vec<Activity>,
    /// Units of each resource.
    pub units: Vec<usize>,
}

#[derive(Debug, PartialEq, Eq)]
pub struct Activity {
    /// As the file numbers it.
    pub number: usize,
    /// Periods; 0 for those that only mark a beginning or an end.
    pub duration: usize,
    /// Units of each resource, held as long as it takes.
    pub demands: Vec<usize>,
    /// By their numbers.
    pub successors: Vec<usize>,
}

impl Project {
    /// Those that take time, each with the numbers of those that it comes after: through marks, not naming them.
    pub fn with_predecessors(&self) -> Vec<(&Activity, BTreeSet<usize>)> {
        let mut all: Vec<(&Activity, BTreeSet<usize>)> = Vec::new();
        for activity in &self.activities {
            let before = all.iter().filter(|(other, _)| other.successors.contains(&activity.number));
            let before = before.flat_map(|(other, theirs)| match other.duration {
                0 => theirs.clone(),
                _ => BTreeSet::from([other.number]),
            });
            let before = before.collect();
            all.push((activity, before));
        }
        all.retain(|(activity, _)| activity.duration > 0);
        all
    }

    /// Periods that are enough: one activity after the other.
    pub fn longest(&self) -> usize {
        self.activities.iter().map(|activity| activity.duration).sum()
    }
}
