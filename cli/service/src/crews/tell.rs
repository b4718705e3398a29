//! What a crew tells beside its steps: that it is ahead, that a unit was left somewhere, that crews were swapped, or anything
//! else. It waits on the owner's week until it is taken over.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use chrono::NaiveDate;
use serde_json::Value;
use yardless_edit::List;
use yardless_edit::note::{Request, Said, Says};

use super::{keep, noted, shown};
use crate::desk::Desk;
use crate::desk::standing::Standing;
use crate::refusal::Refusal;
use crate::request::sent::{Fields, Sent};
use crate::request::who::{Owns, Signed, Who};
use crate::shown::frame::{escaped, on_to, sheet};
use crate::shown::refused::{self, RefusedHere};
use crate::store::{Told, Waiting};

/// What may be told: its word, and what it is called.
pub const ABOUT: [(&str, &str); 4] =
    [("ahead", "Ahead of plan"), ("left", "Left here"), ("swapped", "We swapped"), ("else", "Something else")];
/// Most characters of a remark.
const LONGEST: usize = 500;

fn members(standing: &Standing, list: &str) -> Vec<(String, String)> {
    let all = standing.value[list].as_array().into_iter().flatten();
    let text = |of: &Value| of.as_str().map(str::to_owned);
    all.filter_map(|of| Some((text(&of["id"])?, text(&of["name"]).or(text(&of["id"]))?))).collect()
}

/// The units, by id and name.
pub fn units(standing: &Standing) -> Vec<(String, String)> {
    members(standing, "equipment")
}

/// The places, by id and name.
pub fn places(standing: &Standing) -> Vec<(String, String)> {
    members(standing, "places")
}

/// The things, by id and name.
pub fn things(standing: &Standing) -> Vec<(String, String)> {
    members(standing, "things")
}

/// Where a crew has left a thing is in the book at once, as where it was seen: the lists from the next half-day on go by it,
/// and the owner may correct it like any change.
fn left(desk: &Desk, who: &Who, thing: &str, place: &str, form: Option<&str>) -> Result<(), Refusal> {
    let standing = desk.book()?;
    let name = |all: Vec<(String, String)>, id: &str| all.into_iter().find(|(of, _)| of == id).map(|(_, name)| name);
    let named = name(things(&standing), thing).zip(name(places(&standing), place));
    let (what, at) = named.ok_or_else(|| {
        Refusal::input("web::tell", "That cannot be told so.", "Choose a thing and a place of those shown.").at("place")
    })?;
    let what = format!("{what} was left at {at}");
    let says = Says::Of(thing.to_owned(), Said::At(place.to_owned()));
    let by = Some(who.account.name.clone());
    let request = Request { by, list: Some(List::Thing), ..Request::new(says, desk.settings.now) };
    keep(desk, who, &request, &what, form)
}

/// What was told, in a sentence.
fn says(standing: &Standing, told: &Told) -> String {
    let name = |list: &str, id: &str| {
        members(standing, list).into_iter().find(|(of, _)| of == id).map_or_else(|| id.to_owned(), |(_, name)| name)
    };
    let about = ABOUT.iter().find(|(word, _)| *word == told.about).map_or("", |(_, says)| *says);
    let mut all = about.to_owned();
    match (told.unit.is_empty(), told.place.is_empty()) {
        (false, false) => {
            all = format!("{} was left at {}", name("equipment", &told.unit), name("places", &told.place));
        }
        (false, true) => all = format!("{about}, {}", name("equipment", &told.unit)),
        (true, false) => all = format!("{about}, {}", name("places", &told.place)),
        (true, true) => {}
    }
    if told.says.is_empty() { all } else { format!("{all}: {}", told.says) }
}

/// What waits of one crew, as it reads it.
pub fn of_crew(desk: &Desk, standing: &Standing, crew: &str) -> Result<Vec<String>, Refusal> {
    Ok(desk.store.waiting(Some(crew))?.iter().map(|of| says(standing, &of.told)).collect())
}

/// What waits for the owner.
pub struct Row {
    /// Its number.
    pub id: i64,
    /// Who told it, when.
    pub who: String,
    /// What.
    pub says: String,
    /// Whether it says where a unit stands, so that the book can be told.
    pub enters: bool,
}

/// All that waits.
pub fn for_owner(desk: &Desk, standing: &Standing) -> Result<Vec<Row>, Refusal> {
    let crews = members(standing, "crews");
    let zone = crate::shown::frame::zone(Some(standing));
    let row = |of: Waiting| {
        let crew = crews.iter().find(|(id, _)| *id == of.told.crew).map_or(&of.told.crew, |(_, name)| name);
        let at = of.at.with_timezone(&zone).format("%a %-d %b %H:%M");
        Row {
            id: of.id,
            who: if *crew == of.who { format!("{crew}, {at}") } else { format!("{crew} ({}), {at}", of.who) },
            says: says(standing, &of.told),
            enters: !of.told.unit.is_empty() && !of.told.place.is_empty(),
        }
    };
    Ok(desk.store.waiting(None)?.into_iter().map(row).collect())
}

/// A crew tells something.
pub async fn tell(
    State(desk): State<Arc<Desk>>,
    Path(crew): Path<String>,
    sent: Sent<Signed>,
) -> Result<Response, Refusal> {
    let Sent { who: Signed(who), fields } = sent;
    who.may_tell_of(&crew)?;
    let thing = fields.get("about") == "left" && !fields.get("thing").is_empty();
    let week: Option<NaiveDate> = fields.get("week").parse().ok();
    let of_week = week.map_or_else(String::new, |week| format!("?week={week}"));
    let back = format!("/crews/{}{of_week}#{}", escaped(&crew), if thing { "kept" } else { "told" });
    let of = (crew, week);
    let done = desk.change(move |desk| match kept(desk, &who, &of.0, &fields, thing) {
        Err(refusal) if !refusal.status.is_server_error() => {
            let mut page = shown(desk, &who, &of.0, of.1)?;
            page.typed = fields;
            page.refused = Some(RefusedHere::of(&refusal, &desk.book()?.value));
            Ok(Some(refused::within(&refusal, sheet(&page, &page.frame)?)))
        }
        kept => kept.map(|()| None),
    });
    Ok(done.await?.unwrap_or_else(|| on_to(&back)))
}

/// Keeps it: where a thing was left in the book, all else until the owner takes it over.
fn kept(desk: &Desk, who: &Who, crew: &str, fields: &Fields, thing: bool) -> Result<(), Refusal> {
    let standing = desk.book()?;
    if thing {
        if !who.owns() {
            desk.throttle.report(who.account.id, "told")?;
        }
        return left(desk, who, fields.get("thing"), fields.get("place"), fields.form());
    }
    let known = |list: &str, id: &str| id.is_empty() || members(&standing, list).iter().any(|(of, _)| of == id);
    let told = Told {
        crew: crew.to_owned(),
        about: fields.get("about").to_owned(),
        unit: fields.get("unit").to_owned(),
        place: fields.get("place").to_owned(),
        says: fields.get("remark").chars().filter(|c| !c.is_control()).take(LONGEST).collect(),
    };
    let about = ABOUT.iter().any(|(word, _)| *word == told.about);
    if !about || !known("crews", &told.crew) || !known("equipment", &told.unit) || !known("places", &told.place) {
        let help = "Choose what it is about, and a unit and a place of those shown.";
        return Err(Refusal::input("web::tell", "That cannot be told so.", help).at("about"));
    }
    if told.says.is_empty() && (told.about == "else" || (told.about == "left" && told.unit.is_empty())) {
        return Err(Refusal::input(
            "web::tell",
            "Nothing is told.",
            "Choose the unit that was left, or write what it is.",
        )
        .at("remark"));
    }
    if !who.owns() {
        desk.throttle.report(who.account.id, "told")?;
    }
    let kept = desk.store.tell(&who.account.name, &told, fields.form())?;
    let full = || Refusal::stale("Too much is waiting for the owner already.");
    kept.ok_or_else(full)
}

/// The owner takes it over; where a unit was left is entered with it, where that is asked for.
pub async fn taken(State(desk): State<Arc<Desk>>, Path(id): Path<i64>, sent: Sent<Owns>) -> Result<Response, Refusal> {
    let Sent { who: Owns(who), fields } = sent;
    let done = desk.change(move |desk| {
        let waiting = desk.store.waiting(None)?.into_iter().find(|of| of.id == id);
        let gone = || Refusal::stale("That was taken over already.");
        let told = waiting.ok_or_else(gone)?.told;
        if fields.ticked("enter") && !told.unit.is_empty() && !told.place.is_empty() {
            let standing = desk.book()?;
            let what = says(&standing, &told);
            noted(desk, &who, (told.unit, Said::At(told.place), None), &what, fields.form())?;
        }
        if desk.store.take_over(id, &who.account.name)? { Ok(()) } else { Err(gone()) }
    });
    done.await?;
    Ok(on_to("/#kept"))
}
