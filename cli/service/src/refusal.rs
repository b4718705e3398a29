//! What is refused, and how programs are told: problem details (RFC 9457).

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use yardless_book::Fault;
use yardless_edit::spoken::{fault_words, place};
use yardless_edit::trouble::{Cause, Faulty, MOST_TOLD, OfStore, Trouble};

use crate::store::Revision;
use crate::words::help;

/// Why a request is not done.
#[derive(Clone, Debug)]
pub struct Refusal {
    /// The status.
    pub status: StatusCode,
    /// What is wrong, for programs and people.
    pub problem: Box<Problem>,
    /// Seconds after which to ask again.
    pub wait: Option<u64>,
    /// Where to sign in, for who is not.
    pub sign_in: bool,
    /// Whether the list of changes leads on.
    pub to_changes: bool,
    /// The field that is wrong, by its id on the page that it was sent from; empty: none by itself.
    pub at: &'static str,
}

/// Problem details.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Problem {
    /// What sort of problem it is: `urn:yardless:problem:` and its stable code.
    #[serde(rename = "type")]
    pub kind: String,
    /// The status in words.
    pub title: String,
    /// The status as a number.
    pub status: u16,
    /// What is wrong, in a sentence.
    pub detail: String,
    /// What to do about it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub help: String,
    /// The faults of a book, all at once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<BookFault>,
}

/// A fault of a book.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Told")]
pub struct BookFault {
    /// Its stable code.
    pub code: String,
    /// Where in the book, as `jobs[2].steps[0].skill`.
    pub path: String,
    /// What is wrong.
    pub says: String,
    /// What to do about it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
    /// The same for people, on pages: where, what is wrong, what to do.
    #[serde(skip)]
    pub spoken: String,
}

impl Refusal {
    /// One sentence and a remedy.
    pub fn new(status: StatusCode, code: &str, says: impl Into<String>, help: impl Into<String>) -> Self {
        let kind = format!("urn:yardless:problem:{}", code.replace("::", ":"));
        let title = status.canonical_reason().unwrap_or("Refused").to_owned();
        let (detail, help) = (says.into(), help.into());
        let problem = Box::new(Problem { kind, title, status: status.as_u16(), detail, help, faults: Vec::new() });
        Self { status, problem, wait: None, sign_in: false, to_changes: false, at: "" }
    }
    /// Wrong input.
    pub fn input(code: &str, says: impl Into<String>, help: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, code, says, help)
    }
    /// The same, of one field of the page.
    pub fn at(self, field: &'static str) -> Self {
        Self { at: field, ..self }
    }
    /// Our own failure: the cause is logged, and who asked is told a sentence.
    pub fn ours(code: &str, cause: impl std::fmt::Display) -> Self {
        tracing::error!(code, %cause, "failed");
        let says = "This could not be done; the cause is in the service's log.";
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, code, says, "Try again; if it stays so, look at the log.")
    }
    /// What is not there.
    pub fn missing(says: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, "web::missing", says, "Go back, or on from the week sheet.")
    }
    /// For who is not signed in.
    pub fn not_signed_in() -> Self {
        let says = "Nobody is signed in here.";
        let refusal = Self::new(StatusCode::UNAUTHORIZED, "web::not-signed-in", says, "Sign in first.");
        Self { sign_in: true, ..refusal }
    }
    /// For who may not.
    pub fn not_allowed(says: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, "web::not-allowed", says, "The owner can do it, or let you.")
    }
    /// For who asks too much.
    pub fn too_many(seconds: u64) -> Self {
        let says = "Too many requests at once.";
        let help = format!("Wait {seconds} s, then go on.");
        let refusal = Self::new(StatusCode::TOO_MANY_REQUESTS, "web::too-many", says, help);
        Self { wait: Some(seconds), ..refusal }
    }
    /// For who comes while too many others wait.
    pub fn busy() -> Self {
        let says = "The service is busy with others just now; nothing of this was done.";
        Self { wait: Some(2), ..Self::new(StatusCode::SERVICE_UNAVAILABLE, "web::busy", says, "Send it again soon.") }
    }
    /// Where what was kept last does not read: the book, or the plan given out. Nothing but taking it back goes on.
    pub fn unread(what: &str, revision: &Revision, trouble: &Trouble) -> Self {
        let Revision { number, who, what: change, .. } = revision;
        let says = format!("{what} cannot be read as it was saved last (number {number}, by {who}: {change}).");
        let help = "Nothing is lost: the owner can go back to what was before under Changes. `yardless export` and \
            `yardless backup` copy what is there, `yardless import` puts a book in.";
        let status = StatusCode::SERVICE_UNAVAILABLE;
        let mut refusal = Self { to_changes: true, ..Self::new(status, "web::unread", says, help) };
        match trouble.told() {
            Ok(of) => {
                refusal.problem.detail.push(' ');
                refusal.problem.detail.push_str(&of.says());
            }
            Err(faulty) => refusal.problem.faults = told(faulty),
        }
        refusal
    }
    /// For who tries too many passwords, or for whom others do.
    pub fn too_many_passwords(seconds: u64) -> Self {
        let says = "Too many passwords were tried for this name or from here.";
        let help =
            format!("Wait {seconds} s, or sign in where you have signed in before; the owner can make you a link.");
        Self { wait: Some(seconds), ..Self::new(StatusCode::TOO_MANY_REQUESTS, "web::too-many", says, help) }
    }
    /// For a crew that says too much of one step.
    pub fn too_many_reports(seconds: u64) -> Self {
        let says = "That step was told of too often.";
        let help = format!("Tell of it again in {} min; the owner can tell of it meanwhile.", seconds.div_ceil(60));
        Self { wait: Some(seconds), ..Self::new(StatusCode::TOO_MANY_REQUESTS, "web::too-many", says, help) }
    }
    /// Where there is no book yet.
    pub fn no_book() -> Self {
        let says = "There is no book yet.";
        Self::new(StatusCode::CONFLICT, "web::no-book", says, "The owner begins one at /start.")
    }
    /// Where there is no plan yet.
    pub fn no_plan() -> Self {
        let says = "No plan has been given out yet.";
        Self::new(StatusCode::CONFLICT, "web::no-plan", says, "Plan, then give the plan out.")
    }
    /// Where somebody else was quicker.
    pub fn stale(says: impl Into<String>) -> Self {
        let help = "Look at it as it is now, then decide again.";
        Self::new(StatusCode::CONFLICT, "web::stale", says, help)
    }

    /// For programs.
    pub fn json(&self) -> Response {
        let mut response = (self.status, Json(&*self.problem)).into_response();
        response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        self.head(&mut response);
        response
    }

    /// Writes when to ask again.
    pub fn head(&self, response: &mut Response) {
        if let Some(seconds) = self.wait {
            response.headers_mut().insert(header::RETRY_AFTER, seconds.into());
        }
    }
}

/// How a refusal is told depends on who asks: the layer around all routes writes it out.
impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let mut response = self.status.into_response();
        response.extensions_mut().insert(self);
        response
    }
}

impl From<askama::Error> for Refusal {
    fn from(e: askama::Error) -> Self {
        Self::ours("web::template", e)
    }
}

impl From<Trouble> for Refusal {
    fn from(trouble: Trouble) -> Self {
        let help = help(&trouble);
        let of = match trouble.told() {
            Ok(of) => of,
            Err(faulty) => return Self::faults(faulty),
        };
        let (code, says) = (of.code(), of.says());
        if let Trouble::Store(OfStore::Busy { .. }) = trouble {
            tracing::warn!(code, says, "not done");
            let says = "Another program holds the database; nothing was saved.";
            return Self { wait: Some(5), ..Self::new(StatusCode::SERVICE_UNAVAILABLE, code, says, help) };
        }
        match of.cause() {
            Cause::OurFailure => Self::ours(code, says),
            Cause::DoesNotHold => Self::new(StatusCode::CONFLICT, code, says, help),
            Cause::BadInput => Self::input(code, says, help),
        }
    }
}

impl Refusal {
    /// All faults of a book.
    fn faults(faulty: &Faulty) -> Self {
        let says = match faulty.faults.len() {
            1 => "The book would have a fault so; nothing was saved.".to_owned(),
            n if n > MOST_TOLD => {
                format!(
                    "The book would have {n} faults so, of which the first {MOST_TOLD} are named; nothing was saved."
                )
            }
            n => format!("The book would have {n} faults so; nothing was saved."),
        };
        let mut refusal = Self::input("book::faults", says, "Correct what is named.");
        refusal.problem.faults = told(faulty);
        refusal
    }
}

impl Refusal {
    /// With the faults of a book, as they are spoken here.
    pub fn with_faults(mut self, faulty: &Faulty, spoken: Vec<String>) -> Self {
        let faults = told(faulty).into_iter().zip(spoken);
        self.problem.faults = faults.map(|(fault, spoken)| BookFault { spoken, ..fault }).collect();
        self
    }
}

fn told(faulty: &Faulty) -> Vec<BookFault> {
    let book = faulty.book();
    let one = |fault: &Fault| {
        let (says, help) = fault_words(&[&book], fault);
        let help = help.map_or(String::new(), |help| format!(" ({help})"));
        BookFault {
            code: fault.code.text().to_owned(),
            path: fault.path.to_string(),
            says: fault.says.clone(),
            help: fault.help.clone(),
            spoken: format!("{}: {says}{help}", place(&book, &fault.path)),
        }
    };
    faulty.faults.iter().take(MOST_TOLD).map(|(fault, _)| one(fault)).collect()
}
