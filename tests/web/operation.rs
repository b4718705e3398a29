//! Running it: the first start, copies, books in and out, and how much it takes.

use std::time::Duration;

use super::planning::give_out;
use super::service::{Service, command};

#[test]
fn book_and_plan_go_out_and_come_in_as_the_command_line_reads_them() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let folder = service.folder();
    let run = |args: &[&str]| command(folder, args).output().expect("it runs");
    let out = folder.join("out");
    std::fs::create_dir(&out).expect("a folder");
    assert!(run(&["export", "out"]).status.success());
    let demo = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/../data/demo.json")).expect("the demo");
    assert_eq!(std::fs::read(out.join("book.json")).expect("a book"), demo, "to the byte");
    assert!(run(&["check", "--book", "out/book.json", "out/plan.json"]).status.success());
    assert_eq!(run(&["export", "out"]).status.code(), Some(2), "nothing is written over");
    // Changed by hand and put in again, while it serves: the pages have it at once.
    let text = std::fs::read_to_string(out.join("book.json")).expect("a book").replace("Birch attic", "Birch roof");
    std::fs::write(out.join("book.json"), text).expect("written");
    let imported = run(&["import", "--book", "out/book.json", "--plan", "out/plan.json"]);
    assert!(imported.status.success(), "{}", String::from_utf8_lossy(&imported.stderr));
    assert!(owner.get("/jobs").body.contains("Birch roof"));
    assert!(owner.get("/changes").body.contains("the command line"));
    std::fs::write(out.join("book.json"), "{ \"book\": 1 }").expect("written");
    assert_eq!(run(&["import", "--book", "out/book.json"]).status.code(), Some(2));
    assert!(owner.get("/jobs").body.contains("Birch roof"));
}

#[test]
fn backup_is_made_while_it_serves_and_serves_by_itself() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let folder = service.folder();
    let made = command(folder, &["backup", "copy.db"]).output().expect("it runs");
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    assert_eq!(command(folder, &["backup", "copy.db"]).output().expect("it runs").status.code(), Some(2));
    let copy = Service::start_in(service.shared(), &["--db", "copy.db"]);
    let again = owner.at(&copy.base);
    assert_eq!(again.book(), owner.book());
    assert_eq!(again.get("/api/plan").json(), owner.get("/api/plan").json());
}

#[test]
fn lost_owner_signs_in_by_a_new_link() {
    let mut service = Service::start();
    service.owner();
    service.stop();
    let folder = service.shared();
    std::fs::remove_file(folder.path().join("owned")).expect("forgotten");
    let again = Service::start_in(folder, &["--link"]);
    let page =
        super::service::Somebody::nobody(&again.base).get(&format!("/link/{}", again.link.as_ref().expect("a link")));
    assert!(page.status == 200 && page.body.contains("Rae Owner"), "{}", page.body);
}

#[test]
fn address_beyond_the_loopback_comes_with_a_caution() {
    let service = Service::start();
    let folder = service.shared();
    std::fs::write(folder.path().join("owned"), "").expect("noted");
    let wide = Service::start_in(folder, &["--bind", "0.0.0.0:0", "--db", "wide.db", "--log", "json"]);
    // It is told beside the address, a moment sooner or later.
    let told = || wide.log().lines().find(|line| line.starts_with('{') && line.ends_with('}')).map(str::to_owned);
    let soon = || {
        std::thread::sleep(Duration::from_millis(50));
        told()
    };
    let line = told().or_else(|| (0..400).find_map(|_| soon())).expect("a line of JSON");
    assert!(wide.log().contains("TLS"), "{}", wide.log());
    let told: serde_json::Value = serde_json::from_str(&line).expect("JSON");
    assert!(told["timestamp"].is_string() && told["level"].is_string(), "{told}");
}

#[test]
fn it_is_small_and_soon_ready() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let week = owner.get("/");
    let style = week.body.split("href=\"/static").nth(1).and_then(|rest| rest.split('"').next()).expect("a style");
    let script = week.body.split("src=\"/static").nth(1).and_then(|rest| rest.split('"').next()).expect("a script");
    let all: usize = [format!("/static{style}"), format!("/static{script}")]
        .iter()
        .map(|path| {
            let came = owner.get(path);
            assert!(came.status == 200 && came.head("cache-control").contains("immutable"), "{path}");
            came.body.len()
        })
        .sum::<usize>()
        + week.body.len();
    assert!(all < 100_000, "{all} bytes");
    let idle = Service::start();
    std::thread::sleep(Duration::from_millis(300));
    assert!(idle.resident() < 40_000, "{} kB", idle.resident());
    // Asked are 300 ms on a quiet machine, and a tenth of that is taken.
    assert!(idle.ready < Duration::from_secs(5), "{:?}", idle.ready);
    println!("week sheet {all} bytes, idle {} kB, ready in {:?}", idle.resident(), idle.ready);
}
