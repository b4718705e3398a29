//! Sites that are open: how many at once, from when to when, and what that costs (C16).

use yardless_book::money::Cents;
use yardless_plan::shop::JobId;

use super::course::Course;
use super::words::{count, span};

/// How many sites are open at once at most, then a line a job; nothing where a site that is open costs nothing.
pub(super) fn open_sites(course: &Course) -> Vec<String> {
    let shop = course.shop;
    if shop.open_half_day() == Cents::ZERO {
        return Vec::new();
    }
    let sites: Vec<(JobId, usize, usize)> = shop.jobs.ids().filter_map(|job| open(course, job)).collect();
    let at_once = |h: usize| sites.iter().filter(|(_, first, last)| (*first..=*last).contains(&h)).count();
    let most = (0..shop.len()).filter(|h| shop.works[*h]).map(at_once).max().unwrap_or(0);
    let all = (!sites.is_empty()).then(|| {
        let costs = sites.iter().map(|(_, first, last)| yardless_plan::cost::open(shop, *first, *last)).sum::<Cents>();
        format!("{}, at most {most} open at once (${costs})", count(sites.len(), "site", "sites"))
    });
    let line = |(job, first, last): &(JobId, usize, usize)| {
        let half_days = (*first..=*last).filter(|h| shop.works[*h]).count();
        let cost = yardless_plan::cost::open(shop, *first, *last);
        let when = span(shop.horizon.half_day(*first), shop.horizon.half_day(*last));
        format!("{}: {when}, {} (${cost})", shop.jobs[*job].name, count(half_days, "half-day", "half-days"))
    };
    all.into_iter().chain(sites.iter().map(line)).collect()
}

/// The half-days in which the site of a done job is open: from its first start, or from now where it has begun.
fn open(course: &Course, job: JobId) -> Option<(JobId, usize, usize)> {
    let (start, end) = course.span(job)?;
    let first = if course.shop.jobs[job].started { course.shop.now } else { start };
    Some((job, first, end))
}
