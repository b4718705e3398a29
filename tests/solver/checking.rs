//! Forged plans that the checker must refuse by the rule's number, and plans on the edge that it must pass.

#[path = "checking/any_plan.rs"]
mod any_plan;
#[path = "checking/cost.rs"]
mod cost;
#[path = "checking/days.rs"]
mod days;
#[path = "checking/equipment.rs"]
mod equipment;
#[path = "checking/forge.rs"]
mod forge;
#[path = "checking/hauls.rs"]
mod hauls;
#[path = "checking/help.rs"]
mod help;
#[path = "checking/history.rs"]
mod history;
#[path = "checking/home.rs"]
mod home;
#[path = "checking/in_part.rs"]
mod in_part;
#[path = "checking/open_sites.rs"]
mod open_sites;
#[path = "checking/posted.rs"]
mod posted;
#[path = "checking/ratings.rs"]
mod ratings;
#[path = "checking/readings.rs"]
mod readings;
#[path = "checking/spans.rs"]
mod spans;
#[path = "checking/standing.rs"]
mod standing;
#[path = "checking/stops.rs"]
mod stops;
#[path = "checking/touched.rs"]
mod touched;
#[path = "checking/waits.rs"]
mod waits;
#[path = "checking/work.rs"]
mod work;
