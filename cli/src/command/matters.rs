//! `yardless matters`: a few choices between two plans, and the prices that come of them.

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;

use serde_json::{Value, json};
use yardless_answer::matters::{Answers, Choice, QUESTIONS, Question, Weighing};
use yardless_ask::asked::{self, Asked};
use yardless_ask::matters::{ROUNDS, begun, changes, name, weighing};
use yardless_book::Book;
use yardless_edit::trouble::Trouble;
use yardless_edit::{Changes, book_file};
use yardless_engine::Limits;
use yardless_view::Told;
use yardless_view::matters::{no_question, plan_names, price_rows, question_rows, same_in_all};

use crate::answer::{Answer, assumed};
use crate::args::MattersArgs;
use crate::search::stop_on_interrupt;
use crate::written::make;

/// Asks on the terminal, and prints the prices; with `--write` they go into the book.
pub fn run(path: &Path, args: &MattersArgs) -> Result<Answer, Trouble> {
    let asked = asked::read(path, args.ask.plan.as_deref(), args.ask.now)?;
    let limits = Limits::steps(args.steps.unwrap_or(ROUNDS));
    stop_on_interrupt(&limits.cancel);
    if io::stderr().is_terminal() {
        eprintln!("Looking for plans to choose between: this takes a minute ...");
    }
    let weighing = weighing(&asked, &limits)?;
    let mut answer = match weighing.nothing() {
        Some(why) => {
            Answer::new(if args.ask.json { json(&weighing.after(&[])) } else { Told::says(no_question(why)).text() })
        }
        None => put(path, args, &asked, &weighing)?,
    };
    let book = &asked.shop.book;
    answer.notes.extend(same_in_all(book, &weighing.same_in_all()));
    answer.notes.extend(asked.assumed.as_ref().map(|of| assumed(of, args.ask.plan.as_deref())));
    Ok(answer)
}

/// The choices, then the prices.
fn put(path: &Path, args: &MattersArgs, asked: &Asked, weighing: &Weighing) -> Result<Answer, Trouble> {
    let book = &asked.shop.book;
    let answers = choices(book, weighing, &mut io::stdin().lock(), &mut io::stderr());
    let mut text = if args.ask.json { json(&answers) } else { prices(book, &answers).text() };
    let Changes { edits, changed, remarks } = changes(book, &answers.prices);
    if changed.is_empty() || !args.write {
        let says = if changed.is_empty() { "No price changes" } else { "Nothing was written; --write keeps them" };
        return Ok(Answer { notes: vec![says.to_owned()], ..Answer::new(text) });
    }
    let file = book_file::read(path)?;
    let edits = begun(file.text(), edits);
    let written = make(&Changes { edits, changed, remarks }, path, &file, false)?;
    if args.ask.json {
        return Ok(Answer { notes: written.notes, ..Answer::new(text) });
    }
    text.push('\n');
    text.push_str(&written.text);
    Ok(Answer { notes: written.notes, ..Answer::new(text) })
}

/// Puts one question after the other, until there are no more, or no more answers.
fn choices(book: &Book, weighing: &Weighing, from: &mut impl BufRead, to: &mut impl Write) -> Answers {
    let mut chosen: Vec<Choice> = Vec::new();
    loop {
        let answers = weighing.after(&chosen);
        let Some(question) = &answers.next else { return answers };
        let _ = to.write_all(shown(book, question, answers.chosen + 1).as_bytes());
        match choice(from, to) {
            Some(choice) => chosen.push(choice),
            None => return answers,
        }
    }
}

/// A question as text.
fn shown(book: &Book, question: &Question, number: usize) -> String {
    let [first, second] = plan_names(question);
    let head = [String::new(), first, second];
    let rows: Vec<[String; 3]> = std::iter::once(head).chain(question_rows(book, question)).collect();
    let told =
        Told::default().gap().head(format!("{number} of {QUESTIONS}: which of these two would you rather have?"));
    told.headed(2, rows, [44, 24, 0]).text()
}

/// The next answer; `None`: there are no more.
fn choice(from: &mut impl BufRead, to: &mut impl Write) -> Option<Choice> {
    loop {
        let _ = to.write_all(b"a, b, or ? for neither: ");
        let _ = to.flush();
        let mut line = String::new();
        if from.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim().to_lowercase().as_str() {
            "a" => return Some(Choice::First),
            "b" => return Some(Choice::Second),
            "?" => return Some(Choice::Neither),
            _ => {
                let _ = to.write_all(b"Write a, b or ?; the end of the input (Ctrl-D) ends the questions.\n");
            }
        }
    }
}

/// The prices as a table.
fn prices(book: &Book, answers: &Answers) -> Told {
    let head = ["WHAT", "IN THE BOOK", "BY YOUR ANSWERS", "AGREES WITH THEM"].map(str::to_owned);
    let rows = std::iter::once(head).chain(price_rows(book, answers)).collect();
    Told::default().headed(0, rows, [40, 14, 16, 0]).gap().say(
        "Hauls stay as they are priced: the others are weighed against them. A plan that is made from now on goes by these; \
         the one given out stays.",
    )
}

/// The prices for programs.
fn json(answers: &Answers) -> String {
    let price = |set: &yardless_answer::matters::PriceSet| json!({ "price": name(&set.at), "was": set.was, "is": set.is, "least": set.between.0, "most": set.between.1 });
    let prices: Vec<Value> = answers.prices.iter().map(price).collect();
    format!("{:#}\n", json!({ "chosen": answers.chosen, "prices": prices }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answer_is_a_letter_and_what_is_none_is_asked_again() {
        let asked = |text: &str| {
            let mut said = Vec::new();
            let choice = choice(&mut text.as_bytes(), &mut said);
            (choice, String::from_utf8(said).expect("text").matches("Write a, b or ?").count())
        };
        assert_eq!(asked("A\n"), (Some(Choice::First), 0));
        assert_eq!(asked("first\n b \n"), (Some(Choice::Second), 1));
        assert_eq!(asked("?\n"), (Some(Choice::Neither), 0));
        assert_eq!(asked("\n"), (None, 1));
    }
}
