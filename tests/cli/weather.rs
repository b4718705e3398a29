//! weather: what is shown, what is written, and what is asked of servers. Reports and servers are invented.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Output, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

use crate::{code, text, yardless};

const AS_OF: [&str; 2] = ["--now", "2026-12-08 06:00"];

/// A folder with the invented book and reports; caches go there too.
fn desk() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let from = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/reports"));
    for name in ["book.json", "alerts.json", "ice.xml", "grid.json"] {
        std::fs::copy(from.join(name), folder.path().join(name)).expect("copied");
    }
    folder
}

fn weather(desk: &TempDir, args: &[&str], stdin: &str) -> Output {
    let mut command = yardless(desk.path(), &["weather"]);
    for name in ["http_proxy", "HTTP_PROXY", "https_proxy", "HTTPS_PROXY", "all_proxy", "ALL_PROXY"] {
        command.env_remove(name);
    }
    command.env("XDG_CACHE_HOME", desk.path().join("cache")).env("LOCALAPPDATA", desk.path().join("cache"));
    command.args(args).args(AS_OF).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the command runs");
    // A command that ends without reading closes its end.
    let _ = child.stdin.take().expect("stdin").write_all(stdin.as_bytes());
    child.wait_with_output().expect("it ends")
}

fn read(desk: &TempDir, name: &str) -> String {
    std::fs::read_to_string(desk.path().join(name)).expect("a file")
}

fn shown(output: &Output) -> String {
    format!("exit {}\n--- stdout\n{}--- stderr\n{}", code(output), text(&output.stdout), text(&output.stderr))
}

#[test]
fn reports_are_shown_and_the_book_stays() {
    let desk = desk();
    let before = read(&desk, "book.json");
    let args = ["--alerts", "alerts.json", "--alerts", "ice.xml", "--forecast", "grid.json", "--at", "rim house"];
    insta::assert_snapshot!(shown(&weather(&desk, &args, "")));
    assert_eq!(read(&desk, "book.json"), before);
}

#[test]
fn table_of_events_marks_the_books_own_rows() {
    let output = yardless(desk().path(), &["weather", "--events"]).output().expect("the command runs");
    insta::assert_snapshot!(shown(&output));
}

#[test]
fn entries_are_written_once_and_every_other_byte_stays() {
    let desk = desk();
    let before = read(&desk, "book.json");
    let output = weather(&desk, &["--alerts", "alerts.json", "--write"], "");
    assert!(text(&output.stdout).contains("Wrote 2 entries to book.json."), "{}", shown(&output));
    let after = read(&desk, "book.json");
    let end = before.find("\n  ],\n  \"reports\"").expect("the end of the weather");
    let added = after.len() - before.len();
    assert_eq!((&after[..end], &after[end + added..]), (&before[..end], &before[end..]));
    // With what each comes from.
    let new = &after[end..end + added];
    let first = "{ \"on\": \"2026-12-08 am\", \"at\": [\"hollow\"], \"storm\": true, \"note\": \"published: ";
    assert!(new.contains(first), "{new}");
    assert!(new.contains("\"x_alerts\": [\"urn:oid:1.2\", \"urn:oid:5.1\"]"), "{new}");
    let again = weather(&desk, &["--alerts", "alerts.json", "--write"], "");
    assert!(text(&again.stdout).contains("nothing that it does not say already"), "{}", shown(&again));
    assert_eq!(read(&desk, "book.json"), after);
}

#[test]
fn json_gives_entries_and_verdicts() {
    let output = weather(&desk(), &["--alerts", "-", "--json"], &read(&desk(), "alerts.json"));
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!((&found["written"], &found["faults"]), (&Value::from(false), &serde_json::json!([])));
    assert_eq!(found["entries"][1]["on"], "2026-12-08 pm/2026-12-09 am");
    assert_eq!(found["alerts"][0]["why"], "replaced by urn:oid:1.2");
}

#[test]
fn report_that_cannot_be_read_is_told_and_nothing_is_written() {
    let desk = desk();
    let before = read(&desk, "book.json");
    let ice = read(&desk, "ice.xml");
    std::fs::write(desk.path().join("cut.xml"), &ice[..ice.len() - 30]).expect("written");
    std::fs::write(desk.path().join("knots.json"), read(&desk, "grid.json").replace("km_h-1", "kt")).expect("written");
    std::fs::write(
        desk.path().join("old.json"),
        read(&desk, "grid.json").replace("2026-12-08T09:0", "2026-12-07T09:0"),
    )
    .expect("written");
    let args = [
        "--alerts",
        "cut.xml",
        "--alerts",
        "none.xml",
        "--alerts",
        "ice.xml",
        "--forecast",
        "knots.json",
        "--at",
        "lot",
        "--forecast",
        "old.json",
        "--at",
        "rim",
        "--write",
    ];
    insta::assert_snapshot!(shown(&weather(&desk, &args, "")));
    assert_eq!(read(&desk, "book.json"), before);
}

#[test]
fn odd_alerts_are_told_and_stop_nothing() {
    let desk = desk();
    let odd = read(&desk, "ice.xml")
        .replace("<sent>2026-12-08T05:00", "<sent>2026-12-08T07:00")
        .replace("<expires>2026-12-09", "<expires>2027-05-09")
        .replace("encoding=\"UTF-8\"", "encoding=\"ISO-8859-1\"");
    std::fs::write(desk.path().join("odd.xml"), odd).expect("written");
    let over = read(&desk, "ice.xml").replace("<urgency>Expected", "<urgency>Past").replace("9.1<", "9.2<");
    std::fs::write(desk.path().join("over.xml"), over).expect("written");
    let output = weather(&desk, &["--alerts", "odd.xml", "--alerts", "over.xml", "--write"], "");
    insta::assert_snapshot!(shown(&output));
    let output = weather(&desk, &["--alerts", "odd.xml", "--json"], "");
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let told = &found["alerts"][0];
    assert_eq!([&told["sent_after_now"], &told["shortened"]], [true, true]);
}

#[test]
fn words_that_do_not_fit_are_refused() {
    let desk = desk();
    let forms: Vec<String> = [
        &["--forecast", "grid.json", "--at", "rim", "--at", "lot"][..],
        &["--forecast", "grid.json", "--at", "rimm"],
        &["--alerts", "-", "--alerts", "-"],
        &["--alerts", "ftp://weather.example/alerts"],
        &["--alerts", "https://"],
        &["--alerts", "none.json"],
    ]
    .iter()
    .map(|args| format!("$ yardless weather {}\n{}", args.join(" "), shown(&weather(&desk, args, ""))))
    .collect();
    insta::assert_snapshot!(forms.join("\n"));
}

/// A server on this machine that answers each request by a function of its head; what it was asked is kept.
struct Server {
    address: String,
    asked: Arc<Mutex<Vec<String>>>,
}

impl Server {
    fn new(answer: impl Fn(&str, &mut TcpStream) + Send + 'static) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = format!("http://{}/alerts", listener.local_addr().expect("an address"));
        let asked = Arc::new(Mutex::new(Vec::new()));
        let log = Arc::clone(&asked);
        std::thread::spawn(move || {
            for stream in listener.incoming() {
                let mut stream = stream.expect("a connection");
                let mut head = Vec::new();
                let mut byte = [0];
                while !head.ends_with(b"\r\n\r\n") && stream.read(&mut byte).is_ok_and(|n| n == 1) {
                    head.push(byte[0]);
                }
                let head = String::from_utf8_lossy(&head).to_lowercase();
                log.lock().expect("the log").push(head.clone());
                answer(&head, &mut stream);
            }
        });
        Self { address, asked }
    }

    /// One that always gives the same answer.
    fn saying(answer: String) -> Self {
        Self::new(move |_, stream| {
            let _ = stream.write_all(answer.as_bytes());
        })
    }

    fn asked(&self) -> Vec<String> {
        self.asked.lock().expect("the log").clone()
    }
}

#[test]
fn server_is_asked_by_name_and_need_not_send_again_what_has_not_changed() {
    let desk = desk();
    let body = read(&desk, "alerts.json");
    let server = Server::new(move |head, stream| {
        let answer = if head.contains("if-none-match: \"v1\"") {
            "HTTP/1.1 304 Not Modified\r\nConnection: close\r\n\r\n".to_owned()
        } else {
            format!(
                "HTTP/1.1 200 OK\r\nETag: \"v1\"\r\nConnection: close\r\nContent-Length: {}\r\n\r\n{body}",
                body.len()
            )
        };
        let _ = stream.write_all(answer.as_bytes());
    });
    let ask = |more: &[&str]| {
        let output = weather(
            &desk,
            &[&["--alerts", server.address.as_str(), "--contact", "shop@weather.example"], more].concat(),
            "",
        );
        assert_eq!(code(&output), 0, "{}", shown(&output));
        assert!(text(&output.stdout).contains("6 alerts"), "{}", shown(&output));
        output.stdout
    };
    let first = ask(&[]);
    assert_eq!(ask(&[]), first);
    ask(&["--no-cache"]);
    // A kept answer that was spoilt is not used.
    let kept = std::fs::read_dir(desk.path().join("cache/yardless/reports")).expect("the cache").next();
    let kept = kept.expect("one answer").expect("a file").path();
    let whole = std::fs::read(&kept).expect("bytes");
    std::fs::write(&kept, &whole[..whole.len() - 1]).expect("written");
    ask(&[]);
    let asked = server.asked();
    assert!(
        asked[0].contains(&format!("user-agent: yardless/{} (+shop@weather.example)\r\n", env!("CARGO_PKG_VERSION"))),
        "{}",
        asked[0]
    );
    let conditional: Vec<bool> = asked.iter().map(|head| head.contains("if-none-match")).collect();
    assert_eq!(conditional, [false, true, false, false]);
}

/// Asks a server that gives no alerts: exit code and words. Nothing may look calm.
fn failing(server: &Server) -> (i32, String) {
    let output = weather(&desk(), &["--alerts", &server.address, "--timeout", "1", "--write"], "");
    assert_eq!(text(&output.stdout), "");
    (code(&output), text(&output.stderr).replace(&server.address, "ADDRESS"))
}

#[test]
fn server_that_refuses_or_fails_is_told() {
    let (exit, says) =
        failing(&Server::saying("HTTP/1.1 404 Not Found\r\nContent-Length: 2\r\nConnection: close\r\n\r\n{}".into()));
    assert_eq!(exit, 2);
    assert!(says.starts_with("fetch::refused: ADDRESS answered 404 Not Found\n  help: "), "{says}");
    let (exit, says) = failing(&Server::saying("HTTP/1.1 503 Service Unavailable\r\nContent-Length: 0\r\n\r\n".into()));
    assert!(exit == 1 && says.contains("answered 503"), "{says}");
    let (exit, says) = failing(&Server::saying("HTTP/1.1 304 Not Modified\r\n\r\n".into()));
    assert!(exit == 2 && says.contains("answered 304"), "{says}");
    // Cut off in the middle of what was announced.
    let (exit, says) =
        failing(&Server::saying("HTTP/1.1 200 OK\r\nContent-Length: 99\r\nConnection: close\r\n\r\n{".into()));
    assert!(exit == 1 && says.contains("fetch::failed"), "{says}");
    let (exit, says) = failing(&Server::saying(
        "HTTP/1.1 302 Found\r\nLocation: /alerts\r\nContent-Length: 0\r\nConnection: close\r\n\r\n".into(),
    ));
    assert!(exit == 1 && says.contains("fetch::failed"), "{says}");
    let (exit, says) = failing(&Server::saying("no server at all\r\n\r\n".into()));
    assert!(exit == 1 && says.contains("fetch::failed"), "{says}");
}

#[test]
fn server_that_hangs_is_left_after_the_time_asked_for() {
    for begun in ["", "HTTP/1.1 200 OK\r\nContent-Length: 99\r\n\r\n{"] {
        let server = Server::new(move |_, stream| {
            let _ = stream.write_all(begun.as_bytes());
            std::thread::sleep(Duration::from_secs(30));
        });
        let started = Instant::now();
        let (exit, says) = failing(&server);
        assert_eq!((exit, says.lines().next()), (1, Some("fetch::timeout: ADDRESS did not answer within 1 seconds")));
        assert!(started.elapsed() < Duration::from_secs(28), "{:?}", started.elapsed());
    }
}

#[test]
fn answer_that_is_too_large_is_left_whether_or_not_it_says_so() {
    let (exit, says) = failing(&Server::saying("HTTP/1.1 200 OK\r\nContent-Length: 50000001\r\n\r\n".into()));
    assert!(exit == 2 && says.starts_with("fetch::too-large: ADDRESS has more than 50 MB"), "{says}");
    let endless = Server::new(|_, stream| {
        let chunk = format!("100000\r\n{}\r\n", " ".repeat(0x10_0000));
        let _ = stream.write_all(b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n");
        while stream.write_all(chunk.as_bytes()).is_ok() {}
    });
    let output = weather(&desk(), &["--alerts", &endless.address, "--timeout", "60"], "");
    assert!(code(&output) == 2 && text(&output.stderr).starts_with("fetch::too-large"), "{}", shown(&output));
}
