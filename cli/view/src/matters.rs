//! A choice between two plans, told by what they differ in and never by money; and the prices that come of choices.

use yardless_answer::matters::{Answers, Fact, Matter, NoQuestion, PriceSet, Question};
use yardless_book::Book;
use yardless_book::money::Cents;

use super::words::{count, list};

/// A choice as a table: what, of the first plan, of the second.
pub fn question_rows(book: &Book, question: &Question) -> Vec<[String; 3]> {
    let differ = &question.differ;
    let left_out = differ.iter().any(|(fact, ..)| matches!(fact, Fact::LeftOut(_)));
    let mut rows: Vec<[String; 3]> = Vec::new();
    for (fact, first, second) in differ {
        let row = match fact {
            Fact::LeftOut(job) | Fact::Late(job) => {
                // Of a job that one of them leaves out nothing else is told.
                let known = differ.iter().any(|(other, ..)| *other == Fact::LeftOut(job.clone()));
                if matches!(fact, Fact::Late(_)) && known {
                    continue;
                }
                of_job(book, job, differ)
            }
            // What is not done ends at no time.
            Fact::Ends if left_out => continue,
            Fact::Ends => {
                let sooner = |by: i64| if by > 0 { format!("{} sooner", half_days(by)) } else { "later".to_owned() };
                ["Jobs end, all together".to_owned(), sooner(second - first), sooner(first - second)]
            }
            Fact::TowMinutes if of(differ, &Fact::Towed).is_some() => continue,
            Fact::CarryMinutes if of(differ, &Fact::Carried).is_some() => continue,
            Fact::Towed | Fact::Carried => {
                let (what, says) = counted(fact);
                let with = if *fact == Fact::Towed { Fact::TowMinutes } else { Fact::CarryMinutes };
                let long = of(differ, &with).map(|(first, second)| [first, second].map(minutes));
                let long =
                    long.map_or([String::new(), String::new()], |long| long.map(|long| format!(", {long} in all")));
                [what.to_owned(), says(*first) + &long[0], says(*second) + &long[1]]
            }
            other => {
                let (what, says) = counted(other);
                [what.to_owned(), says(*first), says(*second)]
            }
        };
        rows.push(row);
    }
    rows
}

/// How many two plans have of something, where they differ in it.
fn of(differ: &[(Fact, i64, i64)], fact: &Fact) -> Option<(i64, i64)> {
    differ.iter().find(|(of, ..)| of == fact).map(|(_, first, second)| (*first, *second))
}

/// A job that is late, or left out, in one of two plans.
fn of_job(book: &Book, id: &str, differ: &[(Fact, i64, i64)]) -> [String; 3] {
    let job = book.jobs.iter().find(|job| job.id == id);
    let name = job.and_then(|job| job.name.as_deref()).unwrap_or(id);
    let rank =
        job.and_then(|job| job.rank.as_deref()).map_or(String::new(), |rank| format!(" ({})", rank_name(book, rank)));
    let count_of = |fact: Fact| of(differ, &fact).unwrap_or((0, 0));
    let (out, late) = (count_of(Fact::LeftOut(id.to_owned())), count_of(Fact::Late(id.to_owned())));
    let says = |out: i64, late: i64| match (out, late) {
        (1.., _) => "not done in these weeks".to_owned(),
        (_, 0) if job.is_some_and(|job| job.due.is_some()) => "in time".to_owned(),
        (_, 0) => "done".to_owned(),
        (_, late) => format!("{} late", count(late as usize, "working day", "working days")),
    };
    [format!("{name}{rank}"), says(out.0, late.0), says(out.1, late.1)]
}

/// What is counted, and how a count of it is said.
fn counted(fact: &Fact) -> (&'static str, fn(i64) -> String) {
    let times: fn(i64) -> String = |n| match n {
        0 => "never".to_owned(),
        1 => "once".to_owned(),
        n => format!("{n} times"),
    };
    let steps: fn(i64) -> String = |n| if n == 0 { "none".to_owned() } else { n.to_string() };
    match fact {
        Fact::Told => ("Starts off what customers were told", |n| match n {
            0 => "none".to_owned(),
            n => count(n as usize, "working day", "working days"),
        }),
        Fact::Towed => ("Hauls with a trailer", steps),
        Fact::Carried => ("Hauls in a truck", steps),
        Fact::TowMinutes => ("Towing, in all", minutes),
        Fact::CarryMinutes => ("Carrying, in all", minutes),
        Fact::ExtraCrews => ("Another crew comes to a job", times),
        Fact::Help => ("One crew helps another", half_days),
        Fact::KeptFree => ("Too little kept free", half_days),
        Fact::ComingBack => ("A step is left and come back to", times),
        Fact::Overtime => ("Overtime", half_days),
        Fact::Open => ("Jobs are open, all together", half_days),
        Fact::Hire => ("Hired equipment", half_days),
        Fact::Standing => ("Trailers stand where that costs", half_days),
        Fact::Driving => ("Crews drive from home and back", minutes),
        Fact::DearWays => ("Steps done a dearer way", steps),
        Fact::Ends | Fact::LeftOut(_) | Fact::Late(_) => ("Otherwise", steps),
    }
}

fn half_days(n: i64) -> String {
    if n == 0 { "none".to_owned() } else { count(n as usize, "half-day", "half-days") }
}

fn minutes(n: i64) -> String {
    match (n / 60, n % 60) {
        (0, 0) => "none".to_owned(),
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// What a plan of a choice is called: by its letter, and where it is the one that crews work by.
pub fn plan_names(question: &Question) -> [String; 2] {
    let name = |letter: &str, given_out: bool| {
        if given_out { format!("{letter}: as given out") } else { letter.to_owned() }
    };
    [name("A", question.given_out.0), name("B", question.given_out.1)]
}

fn rank_name<'b>(book: &'b Book, id: &'b str) -> &'b str {
    let rank = book.ranks.iter().find(|rank| rank.id == id);
    rank.and_then(|rank| rank.name.as_deref()).unwrap_or(id)
}

/// A matter in words.
pub fn matter(book: &Book, matter: &Matter) -> String {
    let says = match matter {
        Matter::LateOf(rank) => return format!("A day late ({})", rank_name(book, rank)),
        Matter::Late if book.ranks.is_empty() => "A day late",
        Matter::Late => "A day late (no rank)",
        Matter::Hauls => "A minute of hauling",
        Matter::ExtraCrew => "Another crew at a job",
        Matter::Waiting => "A half-day that a job ends later",
        Matter::Told => "A day off what a customer was told",
        Matter::Help => "A half-day of help by another crew",
        Matter::KeptFree => "A half-day too few kept free",
        Matter::ComingBack => "Coming back to a step",
        Matter::Open => "A half-day that a job is open",
    };
    says.to_owned()
}

/// The prices as a table: what, as it is, as the answers have it, and between what it lies by them.
pub fn price_rows(book: &Book, answers: &Answers) -> Vec<[String; 4]> {
    let row = |set: &PriceSet| {
        let (least, most) = set.between;
        let is = if set.is == set.was { "stays".to_owned() } else { dollars(set.is) };
        [matter(book, &set.matter), dollars(set.was), is, format!("{} to {}", dollars(least), dollars(most))]
    };
    answers.prices.iter().map(row).collect()
}

/// One price that is set, in a sentence's part: `A day late, Promised: $150.00 -> $320.00`.
pub fn price_set(book: &Book, set: &PriceSet) -> String {
    format!("{}: {} -> {}", matter(book, &set.matter), dollars(set.was), dollars(set.is))
}

fn dollars(cents: Cents) -> String {
    format!("${cents}")
}

/// What no two plans differ in, in a sentence; `None`: there is none such.
pub fn same_in_all(book: &Book, matters: &[&Matter]) -> Option<String> {
    let names: Vec<String> = matters.iter().map(|of| matter(book, of)).collect();
    (!names.is_empty()).then(|| {
        let names: Vec<String> = names.iter().map(|name| name[..1].to_lowercase() + &name[1..]).collect();
        format!(
            "No two plans of these weeks were found that differ in {}: nothing here tells what that is worth to you.",
            list(&names)
        )
    })
}

/// Why nothing can be asked.
pub fn no_question(why: NoQuestion) -> &'static str {
    match why {
        NoQuestion::NoPrices => "The book has no price above 0 that could be asked about.",
        NoQuestion::OnePlan => {
            "At every other price the plan given out was still the best that was found: whatever matters to you, these \
             weeks would look the same. Ask again when more jobs stand in each other's way."
        }
        NoQuestion::NoTrade => {
            "Plans of these weeks were found that differ, but of any two the same one is better at almost all prices: \
             there is nothing to choose. Ask again when more jobs stand in each other's way."
        }
    }
}
