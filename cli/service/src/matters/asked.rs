//! What was answered so far, as the address of the page has it: the server keeps nothing of it.

use serde::Deserialize;
use yardless_answer::matters::{Choice, MOST_SHOWN};

use crate::refusal::Refusal;

/// The answers so far, and the one that comes to them.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Sent {
    /// The revisions of book and plan that the first question was of: `3-1`; empty: nothing was asked yet.
    pub of: String,
    /// The answers, a letter each: a, b, or n for neither.
    pub answers: String,
    /// The answer to the question that was shown.
    pub choice: String,
    /// Whether the search was stopped.
    pub stopped: Option<String>,
}

impl Sent {
    /// The letters of all answers.
    pub fn letters(&self) -> String {
        format!("{}{}", self.answers, self.choice)
    }
    /// What they say.
    pub fn choices(&self) -> Result<Vec<Choice>, Refusal> {
        let letters = self.letters();
        let wrong = || {
            let says = format!("“{letters}” is no row of answers.");
            Refusal::input("web::answers", says, "Begin again.")
        };
        if letters.len() > MOST_SHOWN {
            return Err(wrong());
        }
        letters.chars().map(|letter| choice(letter).ok_or_else(wrong)).collect()
    }
}

fn choice(letter: char) -> Option<Choice> {
    match letter {
        'a' => Some(Choice::First),
        'b' => Some(Choice::Second),
        'n' => Some(Choice::Neither),
        _ => None,
    }
}

#[test]
fn answers_are_letters_and_nothing_else() {
    let sent = |answers: &str, choice: &str| Sent {
        answers: answers.to_owned(),
        choice: choice.to_owned(),
        ..Sent::default()
    };
    assert_eq!(sent("ab", "n").choices().expect("answers"), [Choice::First, Choice::Second, Choice::Neither]);
    assert!(sent("", "").choices().expect("none").is_empty());
    for (answers, choice) in [("c", ""), ("", "x"), ("aaaaaaaaaaaaa", ""), ("", "ä")] {
        assert_eq!(sent(answers, choice).choices().expect_err("refused").status, 422, "{answers} {choice}");
    }
}
