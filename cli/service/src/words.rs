//! What commands say, in the words of the pages: where a remedy names a command, a page names the page.

/// A sentence of a command as a page says it.
pub fn on_pages(text: &str) -> String {
    let mut text = text
        .replace("the plan `the plan given out`", "the plan given out")
        .replace("`the plan given out`", "the plan given out");
    for (command, page) in [
        (" (`yardless note` does)", ""),
        ("`yardless offer` says what it takes.", "What it takes is said by the question of a date to offer."),
        ("what happened is noted with `yardless note`", "what happened is noted on the crews' sheets"),
    ] {
        text = text.replace(command, page);
    }
    // `yardless week PLAN --crew north` writes the message
    if let Some((before, rest)) = text.split_once("`yardless week")
        && let Some((_, after)) = rest.split_once("writes the message")
    {
        text = format!("{before}its sheet is under Crews{after}");
    }
    text
}

/// The remedy for what a command refuses; empty where only the command line has one.
pub fn remedy(code: &str, help: &str) -> String {
    match code {
        "plan::breach" => {
            "Plan again; what happened otherwise than planned is noted on the crews' sheets first.".to_owned()
        }
        "plan::not-noted" => {
            "Say under Plan again that all went as planned, or on the crews' sheets what did not; or plan again."
                .to_owned()
        }
        "offer::done" => String::new(),
        _ => Some(on_pages(help)).filter(|help| !help.contains("yardless ")).unwrap_or_default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn page_names_no_command() {
        for (said, on_page) in [
            (
                "the next two days change; `yardless week PLAN --crew south` writes the message",
                "the next two days change; its sheet is under Crews",
            ),
            ("the plan `the plan given out` does not hold", "the plan given out does not hold"),
            ("the book does not say that it has (`yardless note` does)", "the book does not say that it has"),
        ] {
            assert_eq!(on_pages(said), on_page);
        }
        assert_eq!(remedy("offer::job", "`yardless plan` names it"), "");
        assert_eq!(remedy("free::count", "ask for up to 2: A, B"), "ask for up to 2: A, B");
        assert!(!remedy("plan::breach", "then `yardless replan --out PLAN`").contains("yardless"));
    }
}
