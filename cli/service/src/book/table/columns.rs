//! The plain columns: what each is called, and what it is of.

/// The column that names a row's job.
pub const JOB: &str = "Job";
/// The column that names a row's step.
pub const STEP: &str = "Step";
/// What no column says of a row; not read.
pub const ALSO: &str = "Also in the book";
/// What takes a value out.
pub const NONE: &str = "none";

/// How a value is written in a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// As it is.
    Text,
    /// A date.
    Date,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// Yes or no.
    Yes,
    /// By the name of something of a list of the book.
    Named(&'static str),
    /// Kinds and how many of each.
    Needs,
    /// Steps, and how long after them.
    After,
}

/// A column.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// What it is called.
    pub head: &'static str,
    /// The field of the job, or of the step.
    pub field: &'static str,
    /// How it is written.
    pub written: Written,
}

const fn column(head: &'static str, field: &'static str, written: Written) -> Column {
    Column { head, field, written }
}

/// Those of a job, which its first row has.
pub const OF_JOB: [Column; 6] = [
    column("Place", "place", Written::Named("places")),
    column("Customer and telephone", "contact", Written::Text),
    column("How much it matters", "rank", Written::Named("ranks")),
    column("Not before", "earliest", Written::Date),
    column("Wanted by", "due", Written::Date),
    column("Remark", "note", Written::Text),
];

/// Those of a step.
pub const OF_STEP: [Column; 15] = [
    column("Crew skill", "skill", Written::Text),
    column("Half-days", "half_days", Written::Whole),
    column("Labor hours", "labor_hours", Written::Number),
    column("Hours of a visit", "hours", Written::Number),
    column("Fewest people", "min_people", Written::Whole),
    column("Most people", "max_people", Written::Whole),
    column("Needs", "needs", Written::Needs),
    column("After", "after", Written::After),
    column("Step not before", "earliest", Written::Date),
    column("Step wanted by", "due", Written::Date),
    column("Outside", "outside", Written::Yes),
    column("Must stay dry", "dry", Written::Yes),
    column("Most gusts, mph", "max_gust_mph", Written::Number),
    column("Lowest low, F", "min_low_f", Written::Number),
    column("Step remark", "note", Written::Text),
];
