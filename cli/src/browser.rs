//! A browser that is installed here makes a PDF of a page.

use std::ffi::OsStr;
use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use yardless_edit::trouble::{OfCommand, Trouble};

/// The programs looked for, in this order. Others print pages, but none of them by a command.
const KNOWN: [&str; 5] = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"];
/// How long it may take.
const MOST_TIME: Duration = Duration::from_secs(90);
const LOOKS: Duration = Duration::from_millis(50);

/// The pages of an HTML file that stands alone, as a PDF.
pub fn pdf(html: &str, named: Option<&Path>) -> Result<Vec<u8>, Trouble> {
    let known = KNOWN.map(OsStr::new);
    let programs: Vec<&OsStr> = named.map_or_else(|| known.to_vec(), |named| vec![named.as_os_str()]);
    // Sheets name customers: nobody else reads this folder.
    let folder = tempfile::tempdir().map_err(|e| no_pdf(programs[0], &e))?;
    let (page, pdf) = (folder.path().join("sheets.html"), folder.path().join("sheets.pdf"));
    std::fs::write(&page, html).map_err(|e| no_pdf(programs[0], &e))?;
    for program in &programs {
        let mut child = match begun(program, folder.path(), &page, &pdf) {
            Err(e) if e.kind() == ErrorKind::NotFound => continue,
            begun => begun.map_err(|e| no_pdf(program, &e))?,
        };
        ended(&mut child).map_err(|why| no_pdf(program, &why))?;
        return std::fs::read(&pdf).map_err(|_| no_pdf(program, &last_word(folder.path())));
    }
    let tried = programs.iter().map(|program| program.to_string_lossy().into_owned()).collect();
    Err(OfCommand::NoBrowser { tried }.into())
}

fn begun(program: &OsStr, folder: &Path, page: &Path, pdf: &Path) -> std::io::Result<Child> {
    let named = |name: &str, path: &Path| {
        let mut option = std::ffi::OsString::from(name);
        option.push(path);
        option
    };
    let mut command = Command::new(program);
    command.args(["--headless", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"]);
    command.args(["--disable-background-networking", "--disable-extensions"]);
    // It will not run as root otherwise; the page is ours and runs nothing.
    #[cfg(unix)]
    if rustix::process::geteuid().is_root() {
        command.arg("--no-sandbox");
    }
    command.arg(named("--user-data-dir=", &folder.join("profile")));
    command.arg(named("--print-to-pdf=", pdf)).arg(named("file://", page));
    let log = File::create(folder.join("log"))?;
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(log).spawn()
}

/// Waits until it has ended, or ends it.
fn ended(child: &mut Child) -> Result<(), String> {
    let began = Instant::now();
    loop {
        match child.try_wait() {
            Ok(Some(_)) => return Ok(()),
            Ok(None) if began.elapsed() < MOST_TIME => std::thread::sleep(LOOKS),
            Ok(None) => {
                let _ = child.kill();
                let _ = child.wait();
                return Err(format!("it was not done after {} s", MOST_TIME.as_secs()));
            }
            Err(e) => return Err(e.to_string()),
        }
    }
}

/// What it said last.
fn last_word(folder: &Path) -> String {
    let log = std::fs::read(folder.join("log")).unwrap_or_default();
    let log = String::from_utf8_lossy(&log);
    log.lines().rev().find(|line| !line.trim().is_empty()).unwrap_or("it says nothing").to_owned()
}

fn no_pdf(program: &OsStr, why: &dyn std::fmt::Display) -> Trouble {
    OfCommand::NoPdf { browser: program.to_string_lossy().into_owned(), why: why.to_string() }.into()
}
