//! Killed in the middle of writes: what was acknowledged is there, and the file is whole.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use rusqlite::Connection;
use serde_json::json;

use super::service::{Service, Somebody};

/// How often it is killed; YARDLESS_KILLS says another number.
const KILLS: u64 = 25;

/// Writes until it cannot: what was acknowledged, and what was answered otherwise.
fn write(of: &Somebody, writer: usize, round: u64, stop: &AtomicBool) -> (Vec<String>, Vec<u16>) {
    let (mut acknowledged, mut refused) = (Vec::new(), Vec::new());
    for n in 0.. {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let what = format!("round {round}, writer {writer}, change {n}");
        // Whoever is killed answers nothing, in the middle of an answer too.
        let kept = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            let (base, mut book) = of.book();
            book[format!("x_writer_{writer}").as_str()] = what.as_str().into();
            of.put("/api/book", &json!({ "base": base, "book": book, "what": what })).status
        }));
        match kept {
            Ok(200) => acknowledged.push(what),
            Ok(status) => refused.push(status),
            Err(_) => break,
        }
    }
    (acknowledged, refused)
}

#[test]
fn killed_at_any_moment_it_loses_nothing_acknowledged() {
    let kills = std::env::var("YARDLESS_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(KILLS);
    let mut service = Service::start();
    let mut owner = service.owner();
    let mut draw = fastrand::Rng::with_seed(7);
    let mut all = Vec::new();
    std::panic::set_hook(Box::new(|_| {}));
    for round in 0..kills {
        let stop = Arc::new(AtomicBool::new(false));
        let writers: Vec<_> = (0..3)
            .map(|writer| {
                let (of, stop) = (owner.clone(), Arc::clone(&stop));
                std::thread::spawn(move || write(&of, writer, round, &stop))
            })
            .collect();
        std::thread::sleep(Duration::from_millis(draw.u64(5..120)));
        service.kill();
        stop.store(true, Ordering::Relaxed);
        for writer in writers {
            let (acknowledged, refused) = writer.join().expect("it ends");
            assert_eq!(refused, [0; 0], "round {round}");
            all.extend(acknowledged);
        }
        let connection = Connection::open(service.db()).expect("the file");
        let whole: String = connection.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("checked");
        assert_eq!(whole, "ok", "round {round}");
        drop(connection);
        service = Service::start_in(service.shared(), &[]);
        owner = owner.at(&service.base);
    }
    let _ = std::panic::take_hook();
    let connection = Connection::open(service.db()).expect("the file");
    let mut rows = connection.prepare("SELECT what FROM revision").expect("read");
    let there: std::collections::BTreeSet<String> =
        rows.query_map([], |row| row.get(0)).expect("read").collect::<Result<_, _>>().expect("texts");
    let lost: Vec<&String> = all.iter().filter(|what| !there.contains(*what)).collect();
    assert!(lost.is_empty(), "of {}: {lost:?}", all.len());
    assert!(all.len() as u64 > kills, "writes were acknowledged: {}", all.len());
    println!("{kills} kills, {} changes acknowledged, none lost", all.len());
}
