//! Who sends what they may not, or too much: refused before it is read, or kept within bounds.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::json;

use super::planning::give_out;
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

#[test]
fn greedy_crew_fills_nothing_and_what_it_typed_stays() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let crew = service.add(&owner, "Northern hand", "crew north");
    let (before, _) = owner.book();
    let says = |says: &str, left: &str| {
        crew.post("/crews/north", &[("step", "birch-attic/seal"), ("says", says), ("left", left)])
    };
    assert_eq!(says("left", &"1".repeat(20_000)).status, 413);
    let long = format!("2.{}1", "0".repeat(10_000));
    for left in [long.as_str(), "1e300", "NaN", "inf", "-2", "0", "<b>two</b>", ""] {
        let came = says("left", left);
        assert!(came.status == 422 && came.body.len() < 20_000, "{left}: {}", came.body);
        let typed: String = left.chars().take(12).collect();
        let typed = typed.replace('<', "&#60;").replace('>', "&#62;");
        assert!(came.body.contains(&format!("value=\"{typed}\"")), "{left} stays: {}", came.body);
        assert!(came.body.contains("role=\"alert\""), "{left}: {}", came.body);
    }
    assert_eq!(owner.book().0, before, "nothing was kept");
    let kept: Vec<u16> = (0..40).map(|n| says(["done", "again"][n % 2], "").status).collect();
    let taken = kept.iter().filter(|status| **status == 303).count();
    assert!((12..15).contains(&taken) && kept.ends_with(&[429, 429]), "{kept:?}");
    assert_eq!(owner.book().0, before + taken as i64);
    let refused = says("left", "2.5");
    assert!(refused.status == 429 && refused.body.contains("value=\"2.5\""), "{}", refused.body);
    assert!(refused.head("retry-after").parse::<u64>().is_ok_and(|wait| wait > 60));
    // Of another step it tells as before, and the owner of any.
    assert_eq!(crew.get("/crews/north").status, 200);
    let words = |n: usize| owner.post_json("/api/notes", &json!({ "words": ["birch-attic/seal", "x".repeat(n)] }));
    assert_eq!(owner.post_json("/api/notes", &json!({ "words": ["birch-attic/seal", "left", "2"] })).status, 200);
    let long = words(500_000);
    assert!(long.status == 422 && long.body.len() < 1_000, "{}", long.body);
    let (base, book) = owner.book();
    let long = owner.put("/api/book", &json!({ "base": base, "book": book, "what": "w".repeat(500_000) }));
    assert!(long.status == 422 && long.body.contains("300"), "{}", long.body);
    let table = "job id,job note\nbirch-attic,attic\n".as_bytes();
    let name = format!("{}.csv", "n".repeat(50_000));
    let base = base.to_string();
    assert_eq!(owner.upload("/jobs.csv", &[("base", &base)], ("table", &name, table)).status, 303);
    let what = owner.get("/api/book/revisions").json()[0]["what"].as_str().expect("a text").chars().count();
    assert!(what <= 301, "{what}");
}
