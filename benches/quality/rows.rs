//! The table: a row a book and planner, and what all rows of a size come to.

use yardless_book::money::Cents;

use crate::aims::verdict;
use crate::args::Size;
use crate::run::{BenchRun, median};

pub struct Rows {
    /// That each book is given.
    seconds: f64,
    /// When costs are compared: a label, and seconds.
    points: Vec<(String, f64)>,
    peers: bool,
}

impl Rows {
    pub fn new(seconds: f64, peers: bool) -> Self {
        let before = [1.0, 10.0].into_iter().filter(|point| *point < seconds);
        let mut points: Vec<_> = before.map(|point| (format!("{point} s"), point)).collect();
        // What a planner tells a moment after its time still counts.
        points.push(("end".to_owned(), f64::INFINITY));
        Self { seconds, points, peers }
    }

    /// Titles and the line below them.
    pub fn head(&self) -> String {
        let titles = self.columns().into_iter().map(|(title, _)| title).collect();
        let under = self.columns().into_iter().map(|(_, width)| "-".repeat(width)).collect();
        format!("{}\n{}", self.line(titles), self.line(under))
    }

    /// Titles and widths.
    fn columns(&self) -> Vec<(String, usize)> {
        let fixed = |title: &str, width| (title.to_owned(), width);
        let mut columns = vec![fixed("seed", 4), fixed("by", 5), fixed("first s", 7)];
        for (label, _) in &self.points {
            columns.extend([(format!("cost {label}"), 12), (format!("gap % {label}"), 10)]);
        }
        columns.extend([
            fixed("possible %", 10),
            fixed("bound", 12),
            fixed("proven", 6),
            fixed("ended s", 7),
            fixed("MB", 5),
        ]);
        if self.peers {
            columns.extend(self.points.iter().map(|(label, _)| (format!("ratio {label}"), 10)));
        }
        columns.push(fixed("stopped", 12));
        columns
    }

    fn line(&self, cells: Vec<String>) -> String {
        let cells = cells.into_iter().zip(self.columns()).map(|(cell, (_, width))| format!("{cell:>width$}"));
        format!("| {} |", cells.collect::<Vec<_>>().join(" | "))
    }

    pub fn ours(&self, seed: u64, run: &BenchRun) -> String {
        let wrong = if run.holds() { String::new() } else { format!("; DOES NOT HOLD: {}", run.breaches.join("; ")) };
        self.row(seed, "ours", run, |_| String::new(), &wrong)
    }

    /// A peer's row: a ratio is our cost through theirs.
    pub fn theirs(&self, seed: u64, name: &str, ours: &BenchRun, theirs: &BenchRun) -> String {
        let mut wrong = String::new();
        if let Some(first) = theirs.breaches.first() {
            wrong = format!("; {} of its lines do not count: {first}", theirs.breaches.len());
        }
        if ours.bound_is_refuted_by(theirs) {
            wrong.push_str("; COSTS LESS THAN OUR BOUND");
        }
        if theirs.bound_is_refuted_by(ours) {
            wrong.push_str("; its bound is above our plan's cost");
        }
        let told = |ratio: Option<f64>| ratio.map_or_else(|| "no plan".to_owned(), |ratio| format!("{ratio:.4}"));
        self.row(seed, name, theirs, |point| told(ratio(ours, theirs, point)), &wrong)
    }

    fn row(&self, seed: u64, by: &str, run: &BenchRun, ratio: impl Fn(f64) -> String, wrong: &str) -> String {
        let unknown = || "-".to_owned();
        let mut cells = vec![seed.to_string(), by.to_owned()];
        cells.push(run.first.map_or_else(unknown, |first| format!("{first:.3}")));
        for (_, point) in &self.points {
            cells.push(run.by(*point).map_or_else(unknown, |sample| Cents(sample.cost).to_string()));
            let bound = run.by(*point).and_then(|sample| sample.bound);
            cells.push(bound.map_or_else(unknown, |_| format!("{:.2}", run.gap(*point))));
        }
        let bound = run.end().and_then(|end| end.bound);
        cells.push(bound.map_or_else(unknown, |_| format!("{:.2}", run.gap_of_possible())));
        cells.push(bound.map_or_else(unknown, |bound| Cents(bound).to_string()));
        cells.push(if run.proven() { "yes" } else { "no" }.to_owned());
        cells.push(format!("{:.2}", run.ended));
        cells.push(run.mb.map_or_else(unknown, |mb| mb.to_string()));
        if self.peers {
            cells.extend(self.points.iter().map(|(_, point)| ratio(*point)));
        }
        cells.push(format!("{}{wrong}", run.stopped));
        self.line(cells)
    }

    /// Medians of a size.
    pub fn sum_up(&self, runs: &[BenchRun]) -> Vec<String> {
        let count = |held: &dyn Fn(&BenchRun) -> bool| runs.iter().filter(|run| held(run)).count();
        let middle = |value: &dyn Fn(&BenchRun) -> f64| median(runs.iter().map(value).collect()).unwrap_or(f64::NAN);
        let gaps =
            self.points.iter().map(|(label, point)| format!("{:.2} % at {label}", middle(&|run| run.gap(*point))));
        vec![
            format!("- {} of {} proven", count(&BenchRun::proven), runs.len()),
            format!(
                "- {} of {} ended within 110 % of their seconds",
                count(&|run| run.ended <= 1.1 * self.seconds),
                runs.len()
            ),
            format!(
                "- medians: first plan {:.3} s; gap {}, {:.2} % without jobs that no plan can do; ended after {:.2} s; {:.0} MB",
                middle(&|run| run.first.unwrap_or(f64::INFINITY)),
                gaps.collect::<Vec<_>>().join(", "),
                middle(&BenchRun::gap_of_possible),
                middle(&|run| run.ended),
                middle(&|run| run.mb.map_or(f64::NAN, |mb| mb as f64)),
            ),
        ]
    }

    /// Medians of the ratios to a peer, over the books of which it has a plan that holds by then.
    pub fn compare(&self, size: Size, name: &str, ours: &[BenchRun], theirs: &[BenchRun]) -> Vec<String> {
        // The aim is for books of 12 jobs or more.
        let aimed = size.jobs >= 12;
        let judged =
            |met: bool, by: &dyn Fn() -> String| if aimed { format!(": {}", verdict(met, by)) } else { String::new() };
        let mut lines = Vec::new();
        for (label, point) in &self.points {
            let ratios: Vec<f64> =
                ours.iter().zip(theirs).filter_map(|(ours, theirs)| ratio(ours, theirs, *point)).collect();
            let without = ours.len() - ratios.len();
            let worst = ratios.iter().copied().max_by(f64::total_cmp);
            let Some((middle, worst)) = median(ratios).zip(worst) else {
                lines.push(format!("- {name}, {label}: none of {without} books with a plan of theirs that holds"));
                continue;
            };
            let met = judged(middle <= 1.0, &|| format!("{:.4}", middle - 1.0));
            lines.push(format!(
                "- {name}, {label}: ours / theirs at most 1, median {middle:.4}{met}; {without} of {} books without a plan of theirs that holds",
                ours.len()
            ));
            if point.is_infinite() {
                let met = judged(worst <= 1.02, &|| format!("{:.4}", worst - 1.02));
                lines.push(format!(
                    "- {name}, {label}: ours / theirs at most 1.02 on every book, worst {worst:.4}{met}"
                ));
            }
        }
        lines
    }
}

/// Our cost through theirs: `None` where they have no plan that holds by then, endless where only we have none.
fn ratio(ours: &BenchRun, theirs: &BenchRun, point: f64) -> Option<f64> {
    let theirs = theirs.by(point)?.cost as f64;
    let Some(ours) = ours.by(point) else { return Some(f64::INFINITY) };
    let ours = ours.cost as f64;
    Some(if ours.total_cmp(&theirs).is_eq() { 1.0 } else { ours / theirs })
}
