//! The words of `yardless weather`.

use chrono::NaiveDateTime;
use clap::{ArgGroup, Args};
use yardless_book::half_day::parse_date;

/// `weather`.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("source").args(["alerts", "forecast", "events"]).required(true).multiple(true))]
#[allow(clippy::struct_excessive_bools)] // flags
pub struct WeatherArgs {
    /// Published alerts, in CAP 1.2 or the weather service's GeoJSON; - reads stdin. May be given several times.
    #[arg(long, value_name = "FILE|URL")]
    pub alerts: Vec<String>,
    /// A forecast grid of the weather service's API, each followed by the --at that it is for; - reads stdin.
    #[arg(long, value_name = "FILE|URL", requires = "at")]
    pub forecast: Vec<String>,
    /// The place (its id or name) that the forecast is for.
    #[arg(long, value_name = "PLACE", requires = "forecast")]
    pub at: Vec<String>,
    /// Add the entries to the book. Without it they are only shown.
    #[arg(long)]
    pub write: bool,
    /// Print which published event does what: the book's rows, then the shop's defaults.
    #[arg(long, conflicts_with_all = ["alerts", "forecast", "write"])]
    pub events: bool,
    /// As of this moment on the shop's clock, such as "2026-12-08 06:00" [default: now].
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub now: Option<NaiveDateTime>,
    /// Whom a server may ask about these requests: an address or a page, sent along with the program's name.
    #[arg(long, value_name = "TEXT", value_parser = contact)]
    pub contact: Option<String>,
    /// How long to wait for an answer, in all [range: 1 to 300].
    #[arg(long, value_name = "S", default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..=300))]
    pub timeout: u64,
    /// Neither use nor keep what servers have answered before.
    #[arg(long)]
    pub no_cache: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

fn time(text: &str) -> Result<NaiveDateTime, String> {
    let forms = ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"];
    let read = forms.iter().find_map(|form| NaiveDateTime::parse_from_str(text, form).ok());
    let in_the_calendar = |time: &NaiveDateTime| parse_date(&time.date().to_string()).is_ok();
    read.filter(in_the_calendar).ok_or_else(|| "write a date and a time as \"2026-12-08 06:00\"".to_owned())
}

fn contact(text: &str) -> Result<String, String> {
    if text.chars().all(|c| (' '..='~').contains(&c) && !"()\\".contains(c)) && (1..=200).contains(&text.len()) {
        Ok(text.to_owned())
    } else {
        Err("write an address or a page in plain letters, at most 200, without brackets".to_owned())
    }
}
