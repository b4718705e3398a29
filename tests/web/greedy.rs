//! Who sends what they may not, or too much: refused before it is read, or kept within bounds.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use super::service::{Service, Somebody};

/// What is answered to the head of a request and the beginning of its body, a megabyte of which never comes.
fn before_the_body(service: &Service, method: &str, path: &str, heads: &str, begins: &str) -> String {
    let mut stream = TcpStream::connect(service.base.trim_start_matches("http://")).expect("connected");
    let length = format!("Content-Length: {}", 1 << 20);
    let head = format!("{method} {path} HTTP/1.1\r\nHost: x\r\n{heads}{length}\r\n\r\n{begins}");
    stream.write_all(head.as_bytes()).expect("sent");
    // A body that was waited for has 45 s.
    stream.set_read_timeout(Some(Duration::from_secs(30))).expect("set");
    let mut came = [0; 4096];
    let n = stream.read(&mut came).unwrap_or_else(|e| panic!("{method} {path}: {e}"));
    String::from_utf8_lossy(&came[..n]).into_owned()
}

#[test]
fn who_may_not_send_is_refused_before_anything_is_read() {
    let service = Service::start();
    let owner = service.owner();
    let reader = service.add(&owner, "Looker-on", "reader");
    let cookie = |who: &Somebody| format!("Cookie: yardless={}\r\n", who.token);
    let key = |who: &Somebody| format!("{}X-Key: {}\r\n", cookie(who), who.key);
    let api = owner.get("/api/openapi.json").json();
    let mut asked = 0;
    for (path, methods) in api["paths"].as_object().expect("paths") {
        for (method, of) in methods.as_object().expect("methods") {
            if method == "get" || of["requestBody"].is_null() {
                continue;
            }
            let json = "Content-Type: application/json\r\n";
            let method = method.to_uppercase();
            for (heads, status) in [
                (String::new(), 401),
                (cookie(&owner), 403),
                (format!("{}X-Key: {}\r\n", cookie(&owner), reader.key), 403),
                (key(&reader), 403),
            ] {
                let came = before_the_body(&service, &method, path, &(heads + json), "{");
                assert!(came.starts_with(&format!("HTTP/1.1 {status}")), "{method} {path}: {came}");
            }
            asked += 1;
        }
    }
    assert!(asked > 4, "{asked}");
    let form = "Content-Type: application/x-www-form-urlencoded\r\n";
    let parts = "Content-Type: multipart/form-data; boundary=x\r\n";
    let part = |name: &str| format!("--x\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n");
    for path in ["/weather/storm", "/jobs.csv", "/book/prices", "/start"] {
        for (heads, begins, status) in [
            (form.to_owned(), String::new(), 401),
            (cookie(&reader) + form, format!("key={}&", reader.key), 403),
            (cookie(&owner) + form, format!("key={}&", reader.key), 403),
            (cookie(&owner) + form, "first=2026-12-21&".to_owned(), 403),
            (cookie(&owner) + form, "x".repeat(300), 403),
            (cookie(&owner) + parts, part("table"), 403),
            (cookie(&owner) + parts, format!("{}{}\r\n--x", part("key"), reader.key), 403),
            (cookie(&owner) + parts, format!("{}{}", part("key"), "x".repeat(300)), 403),
        ] {
            let came = before_the_body(&service, "POST", path, &heads, &begins);
            assert!(came.starts_with(&format!("HTTP/1.1 {status}")), "{path} {begins}: {came}");
        }
    }
    // Who is not the owner has no more to send than a few words; who is nobody, no more than a name and a password.
    for (heads, path) in [(cookie(&reader) + form, "/me"), (form.to_owned(), "/sign-in")] {
        let came = before_the_body(&service, "POST", path, &heads, "");
        assert!(came.starts_with("HTTP/1.1 413"), "{path}: {came}");
    }
}
