//! What somebody with bad intent sends: each is refused, and nothing secret is logged.

use std::io::{ErrorKind, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::service::{PASSWORD, Service, Somebody, hidden};

/// A request as it is written, and the head of what comes back.
fn raw(service: &Service, request: &[u8]) -> String {
    let mut stream = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    stream.set_read_timeout(Some(Duration::from_secs(30))).expect("set");
    stream.write_all(request).expect("sent");
    let mut came = Vec::new();
    let mut part = [0; 4096];
    while let Ok(n) = stream.read(&mut part) {
        came.extend_from_slice(&part[..n]);
        if n == 0 || came.len() > 100_000 {
            break;
        }
    }
    String::from_utf8_lossy(&came).into_owned()
}

#[test]
fn forged_cookie_is_nobody() {
    let service = Service::start();
    service.owner();
    let mut forger = Somebody::nobody(&service.base);
    for token in ["0".repeat(64), "x".repeat(64), "a' OR 1=1 --".to_owned(), String::new(), "ff".repeat(5_000)] {
        forger.token = token;
        assert_eq!(forger.get("/jobs").status, 303);
        assert_eq!(forger.get("/api/book").status, 401);
        assert_eq!(forger.post("/weather/storm", &[("first", "2026-12-21")]).status, 401);
    }
}

#[test]
fn form_from_elsewhere_is_refused() {
    let service = Service::start();
    let owner = service.owner();
    let reader = service.add(&owner, "Second owner", "owner");
    let before = owner.book();
    let storm = [("first", "2026-12-21")];
    assert_eq!(owner.post_bare("/weather/storm", &storm).status, 403, "without a key");
    let of_other = [("key", reader.key.as_str()), ("first", "2026-12-21")];
    assert_eq!(owner.post_bare("/weather/storm", &of_other).status, 403, "with another session's");
    let own = [("key", owner.key.as_str()), ("first", "2026-12-21")];
    let from = |head| owner.post_from("/weather/storm", head, &own).status;
    assert_eq!(from(("origin", "https://evil.example")), 403);
    assert_eq!(from(("sec-fetch-site", "cross-site")), 403);
    assert_eq!(owner.book(), before);
    assert_eq!(from(("origin", &service.base.clone())), 303);
    let mut keyless = owner.clone();
    keyless.key = String::new();
    assert_eq!(keyless.put("/api/book", &json!({ "base": 1, "book": {} })).status, 403);
}

/// Every free text of the book, ids included, becomes markup that would run.
fn poisoned(value: &mut Value, poison: &str) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                let free = ["name", "contact", "address", "note", "source", "x_note"];
                match value {
                    Value::String(text) if free.contains(&name.as_str()) => *text = format!("{poison}{text}"),
                    other => poisoned(other, poison),
                }
            }
        }
        Value::Array(list) => list.iter_mut().for_each(|value| poisoned(value, poison)),
        _ => {}
    }
}

#[test]
fn script_in_any_text_is_shown_as_text() {
    let service = Service::start();
    let owner = service.owner();
    let poison = "<img src=x onerror=alert(1)>\"'&{{1234*5678}}";
    let (base, mut book) = owner.book();
    poisoned(&mut book, poison);
    // Ids are free text too: those of a place, a crew, a unit and a job.
    let mut text = book.to_string();
    for id in ["birch", "north", "blower-1", "birch-attic"] {
        let marked = Value::from(format!("<img src=y onerror=alert(2)>{id}")).to_string();
        text = text.replace(&format!("\"{id}\""), &marked);
    }
    let book: Value = serde_json::from_str(&text).expect("JSON");
    let kept = owner.put("/api/book", &json!({ "base": base, "book": book, "what": poison }));
    assert_eq!(kept.status, 200, "{}", kept.body);
    let named = owner.post("/sign-ins", &[("name", "<img src=z onerror=alert(3)>"), ("role", "reader")]);
    assert_eq!(named.status, 200);
    assert_eq!(owner.post("/plan/start", &[("seconds", "1")]).status, 303);
    let began = Instant::now();
    while owner.get("/api/planning").json()["state"] != "found" {
        assert!(began.elapsed() < Duration::from_secs(60), "a plan");
        std::thread::sleep(Duration::from_millis(50));
    }
    let plan = owner.get("/plan");
    let number = hidden(&plan.body, "number").to_owned();
    assert_eq!(owner.post("/plan/give-out", &[("number", &number)]).status, 303);
    let job = "%3Cimg%20src%3Dy%20onerror%3Dalert%282%29%3Ebirch-attic";
    let mut pages = vec![plan];
    for path in [
        "/",
        "/season",
        "/crews",
        "/jobs",
        "/people",
        "/equipment",
        "/places",
        "/prices",
        "/weather",
        "/questions",
        "/wish",
        "/changes",
        "/changes/2",
        "/sign-ins",
        "/me",
        "/book/shop",
        "/book/chance",
        "/book/weather/of/%230",
        "/questions/free?kind=%3Cimg%20src%3Dq%20onerror%3D4%3E",
        "/no/%3Cimg%20src=q%3E",
        "/sign-in?then=%22%3E%3Cimg%20src=q%3E",
    ] {
        pages.push(owner.get(path));
    }
    for path in [
        format!("/book/jobs/of/{job}"),
        format!("/questions/why?job={job}"),
        format!("/step/{job}/seal"),
        format!("/step/{job}/seal/move?to=2026-12-13+am"),
        format!("/book/jobs/of/{job}/history"),
        "/crews/%3Cimg%20src%3Dy%20onerror%3Dalert%282%29%3Enorth".to_owned(),
    ] {
        let page = owner.get(&path);
        assert_eq!(page.status, 200, "{path}: {}", page.body);
        pages.push(page);
    }
    for page in &pages {
        let at = page.body.find("<img");
        assert_eq!(at, None, "{}", &page.body[at.unwrap_or(0).saturating_sub(200)..]);
        assert!(!page.body.contains("7006652"), "no template is read into");
    }
    assert!(pages[1].body.contains("&#60;img src=x"), "it is shown: {}", pages[1].body);
}

#[test]
fn path_that_climbs_finds_nothing() {
    let service = Service::start();
    service.owner();
    for path in [
        "/static/../../../../etc/passwd",
        "/static/x/..%2f..%2f..%2fetc%2fpasswd",
        "/static/%2e%2e/%2e%2e/etc/passwd",
        "//etc/passwd",
        "/\\..\\..\\etc\\passwd",
        "/static/x/yardless.css%00.html",
        "/week/..%2f..%2f",
        "http://other.example/etc/passwd",
    ] {
        let came = raw(&service, format!("GET {path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n").as_bytes());
        let status = came.split(' ').nth(1).unwrap_or_default();
        assert!(["303", "400", "404"].contains(&status), "{path}: {came}");
        assert!(!came.contains("root:"), "{path}: {came}");
    }
}

#[test]
fn gigabyte_is_cut_off_early() {
    let service = Service::start();
    let owner = service.owner();
    for (path, kind, who) in [
        ("/weather/storm", "application/x-www-form-urlencoded", true),
        ("/jobs.csv", "multipart/form-data; boundary=x", true),
        ("/api/book", "application/json", true),
        ("/sign-in", "application/x-www-form-urlencoded", false),
    ] {
        let address = service.base.trim_start_matches("http://");
        let mut stream = TcpStream::connect(address).expect("connected");
        stream.set_write_timeout(Some(Duration::from_secs(20))).expect("set");
        let method = if path == "/api/book" { "PUT" } else { "POST" };
        let cookie =
            if who { format!("Cookie: yardless={}\r\nX-Key: {}\r\n", owner.token, owner.key) } else { String::new() };
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {address}\r\n{cookie}Content-Type: {kind}\r\nContent-Length: 1073741824\r\n\r\n"
        );
        stream.write_all(head.as_bytes()).expect("sent");
        if kind.starts_with("multipart") {
            let _ = stream.write_all(b"--x\r\ncontent-disposition: form-data; name=\"table\"; filename=\"a\"\r\n\r\n");
        }
        let part = vec![b'a'; 1 << 20];
        let mut sent = 0;
        let stopped = loop {
            match stream.write_all(&part) {
                Ok(()) if sent < 64 => sent += 1,
                Ok(()) => break false,
                Err(e) => break !matches!(e.kind(), ErrorKind::WouldBlock),
            }
        };
        assert!(stopped, "{path} took {sent} MB");
    }
    assert!(service.resident() < 120_000, "{} kB", service.resident());
    assert_eq!(owner.get("/jobs").status, 200);
}

#[test]
fn slow_sender_holds_nobody_up() {
    let service = Service::start();
    let owner = service.owner();
    let address = service.base.trim_start_matches("http://").to_owned();
    let slow: Vec<TcpStream> = (0..100)
        .map(|_| {
            let mut stream = TcpStream::connect(&address).expect("connected");
            stream.write_all(b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ").expect("sent");
            stream
        })
        .collect();
    let began = Instant::now();
    assert_eq!(owner.get("/jobs").status, 200);
    assert!(began.elapsed() < Duration::from_secs(8), "others are served before any of these is given up");
    // The head has ten seconds; then the connection ends, whatever still comes.
    for mut stream in slow {
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
        let mut rest = Vec::new();
        let ended = stream.read_to_end(&mut rest);
        assert!(ended.is_ok() || ended.is_err_and(|e| e.kind() == ErrorKind::ConnectionReset));
        assert!(began.elapsed() < Duration::from_secs(60), "{:?}", began.elapsed());
    }
}

#[test]
fn body_that_drips_is_given_up() {
    let service = Service::start();
    let owner = service.owner();
    let mut stream = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    let head = format!(
        "POST /weather/storm HTTP/1.1\r\nHost: x\r\nCookie: yardless={}\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\n",
        owner.token
    );
    stream.write_all(head.as_bytes()).expect("sent");
    stream.set_read_timeout(Some(Duration::from_millis(500))).expect("set");
    let began = Instant::now();
    let mut came = [0; 64];
    loop {
        let _ = stream.write_all(b"a");
        match stream.read(&mut came) {
            Err(e) if [ErrorKind::WouldBlock, ErrorKind::TimedOut].contains(&e.kind()) => {}
            _ => break,
        }
        assert!(began.elapsed() < Duration::from_secs(150), "it is given up");
    }
    assert!(String::from_utf8_lossy(&came).starts_with("HTTP/1.1 408"), "{}", String::from_utf8_lossy(&came));
    assert!(began.elapsed() > Duration::from_secs(40), "who has a slow line is given the time: {:?}", began.elapsed());
}

#[test]
fn password_cannot_be_tried_at_will_and_no_secret_is_logged() {
    let service = Service::start();
    let owner = service.owner();
    let nobody = Somebody::nobody(&service.base);
    let tries: Vec<u16> = (0..14)
        .map(|n| {
            nobody.post_bare("/sign-in", &[("name", "Rae Owner"), ("password", &format!("guess number {n}"))]).status
        })
        .collect();
    assert_eq!(tries[0], 403);
    let refused = nobody.post_bare("/sign-in", &[("name", "rae owner"), ("password", PASSWORD)]);
    assert_eq!(refused.status, 429, "the right one too, and whatever the capitals: {tries:?}");
    assert!(refused.head("retry-after").parse::<u64>().is_ok_and(|wait| wait > 0));
    assert_eq!(owner.get("/jobs").status, 200, "who is signed in goes on");
    let log = service.log();
    let printed = log.lines().filter(|line| !line.starts_with("Sign in as owner")).collect::<Vec<_>>().join("\n");
    for secret in [PASSWORD, "guess number", &owner.token, &owner.key, service.link.as_deref().expect("a link")] {
        assert!(!printed.contains(secret), "{secret} in {printed}");
    }
    assert!(printed.contains("a password was wrong") && printed.contains("route=\"/link/{token}\""), "{printed}");
}

#[test]
fn long_names_and_wrong_links_cost_nobody_else_anything() {
    let service = Service::start();
    let owner = service.owner();
    let nobody = Somebody::nobody(&service.base);
    let before = service.resident();
    let long = "n".repeat(15_000);
    for _ in 0..200 {
        assert_eq!(nobody.post_bare("/sign-in", &[("name", &long), ("password", "x")]).status, 422);
    }
    assert!(service.resident() < before + 20_000, "{} kB, and {before} before", service.resident());
    for then in ["/%09/evil.example", "//evil.example", "/a%0d%0ab"] {
        let page = nobody.get(&format!("/sign-in?then={then}"));
        assert!(page.body.contains("name=\"then\" value=\"/\""), "{then}: {}", page.body);
    }
    drop(owner);
}

#[test]
fn every_answer_carries_the_heads_that_keep_a_browser_in() {
    let service = Service::start();
    let owner = service.owner();
    for path in ["/", "/jobs", "/api/me", "/no-such-page", "/health"] {
        let came = owner.get(path);
        assert!(came.head("content-security-policy").starts_with("default-src 'none'"), "{path}");
        assert_eq!(came.head("x-content-type-options"), "nosniff", "{path}");
        assert!(!came.head("x-request-id").is_empty(), "{path}");
        assert_eq!(came.head("cache-control"), "no-store", "{path}");
        let body = came.body.to_lowercase();
        assert!(!body.contains(" style=") && !body.contains(" onclick=") && !body.contains("<script>"), "{path}");
    }
    let metrics = Somebody::nobody(&service.base).get("/metrics");
    assert!(metrics.status == 200 && metrics.body.contains("yardless_requests_total"), "{}", metrics.body);
    let forwarded =
        raw(&service, b"GET /metrics HTTP/1.1\r\nHost: x\r\nX-Forwarded-For: 192.0.2.1\r\nConnection: close\r\n\r\n");
    assert!(forwarded.starts_with("HTTP/1.1 403"), "{forwarded}");
}
