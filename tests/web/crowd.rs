//! The service stays up: under connections that never end, while another program holds the database, and under changes
//! that take long. Whoever is signed in goes on reading, `/health` answers, and what was acknowledged is kept.

use std::io::{ErrorKind, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use serde_json::{Value, json};

use super::planning::give_out;
use super::service::{Came, Service, Somebody};

/// How long each lasts; YARDLESS_SIEGE says another number of seconds.
const SECONDS: u64 = 3;
/// What a page may take: 500 ms are asked for on a quiet machine, and tests are not for measuring. Where nobody else
/// needs the processor, and where large books do.
const MOST: Duration = Duration::from_secs(9);
const MOST_BESIDE_WORK: Duration = Duration::from_secs(30);
/// How many connections a crowd begins again at once, five times a second: so few requests are nobody's limit.
const AGAIN: usize = 20;

fn lasts() -> Duration {
    Duration::from_secs(std::env::var("YARDLESS_SIEGE").ok().and_then(|n| n.parse().ok()).unwrap_or(SECONDS))
}

/// Asks for the owner's week and for `/health` by new connections, as long as it lasts and until all is over: each
/// answers, and soon.
fn goes_on(what: &str, most: Duration, service: &Service, owner: &Somebody, over: impl Fn() -> bool) {
    let began = Instant::now();
    let mut took = Vec::new();
    while began.elapsed() < lasts() || !over() {
        for path in ["/", "/health"] {
            let asked = Instant::now();
            let came = owner.at(&service.base).get(path);
            took.push(asked.elapsed());
            assert_eq!(came.status, 200, "{what}: {path}: {}", came.body);
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    took.sort();
    println!("{what}: {} answers, median {:?}, longest {:?}", took.len(), took[took.len() / 2], took[took.len() - 1]);
    assert!(took[took.len() - 1] < most, "{what}: {took:?}");
}

/// Keeps so many connections open until it is told to stop, each begun by `begin` and gone on with by `more`.
fn crowd(
    service: &Service,
    many: usize,
    begin: Vec<u8>,
    more: &'static [u8],
    stop: &Arc<AtomicBool>,
) -> JoinHandle<usize> {
    let (address, stop) = (service.base.trim_start_matches("http://").to_owned(), Arc::clone(stop));
    let open = move || {
        let mut stream = TcpStream::connect(&address).ok()?;
        stream.set_nonblocking(true).ok()?;
        let _ = stream.write(&begin);
        Some(stream)
    };
    let slowly = |n: usize| {
        // No more a second than an address may ask.
        std::thread::sleep(Duration::from_millis(if n.is_multiple_of(30) { 120 } else { 0 }));
        open()
    };
    let mut all: Vec<TcpStream> = (0..many).filter_map(slowly).collect();
    std::thread::spawn(move || {
        let mut again = 0;
        while !stop.load(Ordering::Relaxed) {
            let ended = |stream: &TcpStream| {
                let mut stream = stream;
                stream.write(more).is_err_and(|e| e.kind() != ErrorKind::WouldBlock)
            };
            for stream in all.iter_mut().filter(|stream| ended(stream)).take(AGAIN) {
                if let Some(new) = open() {
                    *stream = new;
                    again += 1;
                }
            }
            std::thread::sleep(Duration::from_millis(200));
        }
        again
    })
}

#[test]
fn connections_that_never_end_shut_nobody_out() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let week = owner.get("/").body;
    let style = week.split("href=\"/static").nth(1).and_then(|rest| rest.split('"').next()).expect("a style");
    let unread = format!("GET /static{style} HTTP/1.1\r\nHost: x\r\n\r\n").repeat(400).into_bytes();
    let slow = b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ".to_vec();
    let drips = b"POST /sign-in HTTP/1.1\r\nHost: x\r\nContent-Type: application/x-www-form-urlencoded\r\n\
        Content-Length: 9000\r\n\r\n"
        .to_vec();
    for (what, many, begin, more) in [
        ("heads that drip", 540, slow, &b"a"[..]),
        ("bodies that drip", 540, drips, &b"a"[..]),
        ("answers that nobody reads", 140, unread, &b""[..]),
    ] {
        let stop = Arc::new(AtomicBool::new(false));
        let crowd = crowd(&service, many, begin, more, &stop);
        goes_on(what, MOST, &service, &owner, || true);
        stop.store(true, Ordering::Relaxed);
        println!("{what}: begun again {} times", crowd.join().expect("it ends"));
    }
}

/// Many change the book at once; what became of each, and its name.
fn changes(owner: &Somebody, book: &Value, many: usize) -> Vec<JoinHandle<(String, Came)>> {
    let (base, _) = owner.book();
    let text = book.to_string();
    let book = Arc::new(text.strip_suffix('}').expect("an object").to_owned());
    let one = |n: usize| {
        let (who, book) = (owner.clone(), Arc::clone(&book));
        std::thread::spawn(move || {
            let what = format!("change {n}");
            let body = format!("{{ \"base\": {base}, \"what\": \"{what}\", \"book\": {book}, \"x_{n}\": {n} }} }}");
            let came = who.put_text("/api/book", &body);
            (what, came)
        })
    };
    (0..many).map(one).collect()
}

/// What was acknowledged is kept, once; what was refused is not, and may be sent again after a time that is told.
fn told_the_truth(owner: &Somebody, done: Vec<(String, Came)>) -> (usize, usize) {
    let rows = owner.get("/api/book/revisions").json();
    let kept: Vec<&str> = rows.as_array().expect("rows").iter().filter_map(|row| row["what"].as_str()).collect();
    let (mut acknowledged, mut refused) = (0, 0);
    for (what, came) in done {
        let times = kept.iter().filter(|of| **of == what).count();
        match came.status {
            200 => acknowledged += 1,
            503 => refused += 1,
            other => panic!("{other}: {}", came.body),
        }
        assert_eq!(times, usize::from(came.status == 200), "{what}: {}", came.body);
        assert!(came.status == 200 || came.head("retry-after").parse::<u32>().is_ok(), "{:?}", came.heads);
    }
    (acknowledged, refused)
}

#[test]
fn held_database_holds_up_changes_only_and_what_is_refused_was_not_kept() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let other = Connection::open(service.db()).expect("the file");
    other.execute_batch("BEGIN EXCLUSIVE").expect("held");
    let book = owner.book().1;
    let all = changes(&owner, &book, 24);
    // One waits for the database until it gives up, others for their turn: those that there is no room for, and that
    // one, are refused while it is held.
    let refused = || all.iter().filter(|change| change.is_finished()).count();
    goes_on("held database", MOST, &service, &owner, || refused() > 7);
    other.execute_batch("COMMIT").expect("let go");
    let done: Vec<_> = all.into_iter().map(|change| change.join().expect("an answer")).collect();
    assert!(done.iter().any(|(_, came)| came.status == 503 && came.body.contains("store:busy")), "one was held up");
    let (_, refused) = told_the_truth(&owner, done);
    assert!(refused > 7, "{refused}");
    assert_eq!(owner.put("/api/book", &json!({ "base": 1, "book": book, "what": "later" })).status, 200);
}

#[test]
fn many_large_books_at_once_keep_no_page_from_answering() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let (_, mut book) = owner.book();
    let before = book["jobs"].as_array().expect("jobs").len();
    let job = |n: usize| {
        json!({ "id": format!("more-{n}"), "name": format!("Job {n}"), "place": "birch",
                "steps": [{ "id": "seal", "skill": book["jobs"][0]["steps"][0]["skill"], "half_days": 2 }] })
    };
    let jobs: Vec<Value> = (0..20_000).map(job).collect();
    book["jobs"].as_array_mut().expect("jobs").extend(jobs);
    let all = changes(&owner, &book, 17);
    goes_on("large books", MOST_BESIDE_WORK, &service, &owner, || all.iter().all(JoinHandle::is_finished));
    let done = all.into_iter().map(|change| change.join().expect("an answer")).collect();
    let (acknowledged, refused) = told_the_truth(&owner, done);
    println!("large books: {acknowledged} kept, {refused} told to come again");
    assert!(acknowledged > 0);
    assert_eq!(owner.book().1["jobs"].as_array().map(Vec::len), Some(before + 20_000), "none is lost");
}
