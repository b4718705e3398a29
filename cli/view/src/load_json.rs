//! Load lists, and where a thing is, for programs: ids, half-days and counts.

use serde_json::{Value, json};
use yardless_book::half_day::HalfDay;
use yardless_load::{By, Loads, LotState, Moment, Source, Spot, Unmet, lots, nights, round_up};
use yardless_plan::Plan;
use yardless_plan::shop::{Id, Shop, StepId};

/// The lists from the plan's now on to the end of a week by its position, with all that they rest on; material, cold nights
/// and the round-up are that week's.
pub fn load_json(shop: &Shop, plan: &Plan, week: usize) -> Value {
    let loads = &Loads::new(shop, plan, week * 14 + 13);
    let half_days = (week * 14).max(shop.now)..loads.end;
    let wants: Vec<Value> =
        (0..loads.wants.len()).filter(|n| loads.wants[*n].h < loads.end).map(|n| want(shop, loads, n)).collect();
    let drives: Vec<Value> = (loads.drives.iter())
        .map(|of| {
            json!({
                "at": at(shop, of.h), "from": shop.places[of.from].id, "to": shop.places[of.to].id,
                "truck": shop.trucks[of.truck].id, "crew": of.crew.map(|crew| &shop.crews[crew].id),
                "minutes": shop.drive(of.from, of.to).map(|drive| drive.minutes),
            })
        })
        .collect();
    let moves: Vec<Value> = (loads.moves.iter())
        .map(|of| {
            json!({
                "at": at(shop, of.h), "when": moment(of.moment), "what": what(shop, loads, of.item),
                "from": spot(shop, of.from), "to": spot(shop, of.to), "by": by(shop, of.by),
            })
        })
        .collect();
    let missing: Vec<Value> = loads.unmet.iter().map(|of| unmet(shop, loads, *of)).collect();
    let inside: Vec<Value> = (nights(shop, loads, half_days.clone()).into_iter())
        .map(|of| {
            json!({
                "after": at(shop, of.pm), "what": what(shop, loads, of.item), "is": spot(shop, of.spot),
                "place": of.place.map(|place| &shop.places[place].id), "low_f": of.low_f, "keep_above_f": of.above_f,
            })
        })
        .collect();
    let lying: Vec<Value> = (round_up(shop, plan, loads, loads.end).into_iter())
        .map(|of| {
            json!({
                "what": what(shop, loads, of.item), "place": shop.places[of.place].id, "open": of.open,
                "wanted": of.next.map(|n| at(shop, loads.wants[n].h)),
                "in_time": of.in_time,
                "passes": of.passes.map(|(h, crew)| json!({ "at": at(shop, h), "crew": shop.crews[crew].id })),
            })
        })
        .collect();
    json!({
        "from": at(shop, loads.first()), "to": at(shop, loads.end - 1), "fewest": loads.fewest, "wants": wants, "drives": drives,
        "moves": moves, "missing": missing, "material": material(shop, plan, half_days.start), "inside": inside,
        "round_up": lying,
    })
}

/// Where a thing is, by its number in the book, during a half-day by its index; and when one of its kit is wanted next.
pub fn where_json(shop: &Shop, plan: &Plan, number: usize, h: usize) -> Value {
    let loads = Loads::new(shop, plan, h);
    let of = &shop.book.things[number];
    let item = loads.of_thing(number);
    let is = item.and_then(|item| loads.during(item, h));
    let place = is.and_then(|is| match is {
        Spot::Place(place) => Some(place),
        Spot::Truck(truck) => loads.rounds.truck_during(truck, h),
        Spot::Unit(unit) => loads.rounds.unit_during(unit, h),
    });
    let next = item.and_then(|item| loads.next_want(item, h)).map(|n| want(shop, &loads, n));
    json!({
        "thing": of.id, "at": at(shop, h), "is": is.map(|is| spot(shop, is)), "place": place.map(|place| &shop.places[place].id),
        "wanted": next, "seen": of.seen,
    })
}

fn at(shop: &Shop, h: usize) -> HalfDay {
    shop.horizon.half_day(h)
}

fn moment(of: Moment) -> &'static str {
    match of {
        Moment::Start => "start",
        Moment::Work => "work",
        Moment::Evening => "evening",
    }
}

fn step(shop: &Shop, of: StepId) -> String {
    let of = &shop.steps[of];
    let job = &shop.book.jobs[of.job.index()];
    format!("{}/{}", job.id, job.steps[of.listed].id)
}

fn spot(shop: &Shop, of: Spot) -> Value {
    match of {
        Spot::Place(place) => json!({ "place": shop.places[place].id }),
        Spot::Truck(truck) => json!({ "truck": shop.trucks[truck].id }),
        Spot::Unit(unit) => json!({ "unit": shop.units[unit].id }),
    }
}

/// A thing by its id; material by its step and its position, from 0 on, in the step's list.
fn what(shop: &Shop, loads: &Loads, item: usize) -> Value {
    match loads.items[item].source {
        Source::Thing(number) => json!({ "thing": shop.book.things[number].id }),
        Source::Material(_, of, number) => json!({ "material": step(shop, of), "position": number }),
    }
}

fn by(shop: &Shop, of: By) -> Value {
    match of {
        By::Crew(crew, truck) => {
            json!({ "crew": shop.crews[crew].id, "truck": truck.map(|truck| &shop.trucks[truck].id) })
        }
        By::Truck(truck) => json!({ "truck": shop.trucks[truck].id }),
        By::Drive(n) => json!({ "drive": n }),
    }
}

fn want(shop: &Shop, loads: &Loads, n: usize) -> Value {
    let of = &loads.wants[n];
    let steps: Vec<String> = of.steps.iter().map(|of| step(shop, *of)).collect();
    let met: Vec<Value> =
        loads.met.iter().filter(|(want, _)| *want == n).map(|(_, item)| what(shop, loads, *item)).collect();
    json!({
        "at": at(shop, of.h), "crew": shop.crews[of.crew].id, "place": shop.places[of.place].id, "along": of.along,
        "kit": of.kit, "count": of.count, "steps": steps, "met_by": met,
    })
}

fn unmet(shop: &Shop, loads: &Loads, of: Unmet) -> Value {
    match of {
        Unmet::Kit(n, short) => {
            let want = &loads.wants[n];
            json!({
                "at": at(shop, want.h), "crew": shop.crews[want.crew].id, "place": shop.places[want.place].id,
                "kit": want.kit, "short": short,
            })
        }
        Unmet::Material(item) => {
            let wanted = loads.items[item].wanted;
            let mut found = what(shop, loads, item);
            found["at"] = json!(wanted.map(|(h, _)| at(shop, h)));
            found["place"] = json!(wanted.map(|(_, place)| &shop.places[place].id));
            found
        }
    }
}

/// Material of the steps that start at or after a half-day.
fn material(shop: &Shop, plan: &Plan, first: usize) -> Vec<Value> {
    let all = lots(shop, plan).into_iter().filter(|lot| lot.start >= first);
    all.map(|lot| {
        let mut found =
            json!({ "material": step(shop, lot.step), "position": lot.number, "starts": at(shop, lot.start) });
        match lot.state {
            LotState::OnHand(place) => found["on_hand_at"] = json!(shop.places[place].id),
            LotState::OnOrder(date, place) => {
                found["expected"] = json!(date);
                found["to"] = json!(shop.places[place].id);
            }
            LotState::Short(last, late) => {
                found["short"] = json!(true);
                found["order_by"] = json!(last);
                found["too_late"] = json!(late);
            }
        }
        if let Some(wrong) = lot.wrong {
            found["elsewhere"] = json!({
                "place": shop.places[wrong.at].id, "loads": wrong.loads, "minutes": wrong.minutes, "cost": wrong.cost,
            });
        }
        found
    })
    .collect()
}
