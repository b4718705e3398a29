//! Killed in the middle of writes: what was acknowledged is there, and the file is whole.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

use rusqlite::Connection;
use serde_json::json;

use super::service::{Service, Somebody};

/// How often it is killed; YARDLESS_KILLS says another number.
const KILLS: u64 = 25;

/// Most writes that are acknowledged before it is killed in a round.
const MOST: u64 = 12;

/// Writes until it cannot: what was acknowledged (counted besides), and what was answered otherwise.
fn write(of: &Somebody, writer: usize, round: u64, stop: &AtomicBool, count: &AtomicU64) -> (Vec<String>, Vec<u16>) {
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
            Ok(200) => {
                acknowledged.push(what);
                count.fetch_add(1, Ordering::Relaxed);
            }
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
    let (mut all, mut expected) = (Vec::new(), 0);
    std::panic::set_hook(Box::new(|_| {}));
    for round in 0..kills {
        let (stop, count) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicU64::new(0)));
        let writers: Vec<_> = (0..3)
            .map(|writer| {
                let (of, stop, count) = (owner.clone(), Arc::clone(&stop), Arc::clone(&count));
                std::thread::spawn(move || write(&of, writer, round, &stop, &count))
            })
            .collect();
        // However quick the machine is: after so many, and then at any moment of the next ones.
        let (least, began) = (draw.u64(..MOST), Instant::now());
        while count.load(Ordering::Relaxed) < least {
            assert!(began.elapsed() < Duration::from_secs(120), "round {round}: {count:?} of {least}");
            std::thread::sleep(Duration::from_millis(1));
        }
        std::thread::sleep(Duration::from_micros(draw.u64(..20_000)));
        service.kill();
        expected += least;
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
    assert!(all.len() as u64 >= expected && expected > kills, "{} acknowledged, at least {expected}", all.len());
    println!("{kills} kills, {} changes acknowledged, none lost", all.len());
}
