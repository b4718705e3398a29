//! `yardless week --html FILE` and `--pdf FILE`.

use crate::{data, run, text};

fn week<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["week", "plan.json", "--now", "2026-12-07"], more].concat()
}

/// The week's sheets, written into a new folder.
fn written(words: &[&str]) -> (std::process::Output, Option<String>) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sheets.html");
    let name = file.display().to_string();
    let output = run(data(), &week(&[words, &["--html", &name]].concat()));
    (output, std::fs::read_to_string(&file).ok())
}

#[test]
fn file_stands_alone_and_has_the_week_and_each_crew_that_works() {
    let (output, html) = written(&["--week", "2026-12-07"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("Written to "), "{}", text(&output.stdout));
    let html = html.expect("the file");
    for no in ["<script", " href=", "src=", "http:", "@import", "url(/", "url(\"/"] {
        assert!(!html.replace("http://www.w3.org", "").contains(no), "{no}");
    }
    for has in
        ["North crew, week of Mon 7 Dec", "South crew, week of Mon 7 Dec", "<svg class=\"sheet\"", "counter(pages)"]
    {
        assert!(html.contains(has), "{has}");
    }
    assert!(!html.to_lowercase().contains("safe"));
}

#[test]
fn crew_alone_has_only_its_own_sheet() {
    let (_, html) = written(&["--week", "2026-12-07", "--crew", "north"]);
    let html = html.expect("the file");
    assert!(html.contains("North crew, week of Mon 7 Dec") && !html.contains("South crew, week of"));
    assert!(!html.contains("<svg class=\"sheet\""));
}

#[test]
fn another_file_is_never_written_over_and_its_own_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let (notes, sheets) = (folder.path().join("notes.txt"), folder.path().join("sheets.html"));
    std::fs::write(&notes, "Call Mrs. Example.").expect("written");
    let to =
        |file: &std::path::Path| run(data(), &week(&["--week", "2026-12-07", "--html", &file.display().to_string()]));
    let output = to(&notes);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("is no HTML file; it was left as it is"), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_to_string(&notes).expect("it reads"), "Call Mrs. Example.");
    assert_eq!([to(&sheets), to(&sheets)].map(|output| output.status.code()), [Some(0); 2]);
}

#[test]
fn pdf_without_a_browser_is_refused_with_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("week.pdf");
    let browser = folder.path().join("no-such-browser").display().to_string();
    let output = run(data(), &week(&["--pdf", &file.display().to_string(), "--browser", &browser]));
    assert_eq!(output.status.code(), Some(2));
    let says = text(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(says.contains("a PDF is made by a browser, and none was found"), "{says}");
    assert!(says.contains("write --html FILE and print that from any browser"), "{says}");
    assert!(!file.exists() && text(&output.stdout).is_empty());
}

#[cfg(unix)]
#[test]
fn browser_that_makes_nothing_is_told_with_its_last_word() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    let browser = folder.path().join("browser");
    std::fs::write(&browser, "#!/bin/sh\necho 'no display' >&2\n").expect("written");
    std::fs::set_permissions(&browser, std::fs::Permissions::from_mode(0o755)).expect("it runs");
    let (file, browser) = (folder.path().join("week.pdf"), browser.display().to_string());
    let output = run(data(), &week(&["--pdf", &file.display().to_string(), "--browser", &browser]));
    assert_eq!(output.status.code(), Some(2));
    let says = text(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(says.contains("made no PDF: no display"), "{says}");
    assert!(!file.exists());
}
