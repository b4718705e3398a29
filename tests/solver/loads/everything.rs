//! Small weeks by trying everything: every set of fewer extra drives, and every way of every thing.

use std::collections::{BTreeMap, BTreeSet};

use yardless_load::{Loads, Source, Spot};
use yardless_plan::Plan;
use yardless_plan::shop::{PlaceId, Shop};

use super::player::{Reading, begins};

/// A drive, by its half-day.
type Drives = Vec<(usize, PlaceId, PlaceId)>;
/// How many wants are met, and how early.
type Worth = (u32, usize);

/// An error where some list meets more, or as much with fewer drives. Weeks in which somebody's word changes where a thing is
/// are left to the player.
pub fn better(shop: &Shop, plan: &Plan, loads: &Loads) -> Result<(), String> {
    if shop.book.things.iter().any(|thing| begins(shop, thing).1.is_some()) {
        return Ok(());
    }
    let reading = Reading::new(shop, plan);
    let mut all: Drives = Vec::new();
    for h in 0..loads.end {
        for (from, to) in shop.places.ids().flat_map(|from| shop.places.ids().map(move |to| (from, to))) {
            if reading.may_drive(h, from, to) {
                all.push((h, from, to));
            }
        }
    }
    let best = met(&reading, loads, &all);
    let found: Drives = loads.drives.iter().map(|drive| (drive.h, drive.from, drive.to)).collect();
    let has = met(&reading, loads, &found);
    if has != best {
        return Err(format!("{has:?} are met by {found:?}, and {best:?} by some drives"));
    }
    let fewer: Vec<Drives> = match found.len() {
        0 => Vec::new(),
        1 => vec![Vec::new()],
        _ => all.iter().map(|drive| vec![*drive]).collect(),
    };
    match fewer.iter().find(|drives| met(&reading, loads, drives) == best) {
        Some(drives) => Err(format!("{drives:?} do as well as {found:?}")),
        None => Ok(()),
    }
}

/// Something wanted: half-day, place or truck, how many.
type Asked = (usize, PlaceId, Option<yardless_plan::shop::TruckId>, u32);

/// The most that is met of every kit and all material.
fn met(reading: &Reading, loads: &Loads, drives: &Drives) -> Worth {
    let mut all = (0, 0);
    let kits: BTreeSet<&String> = reading.wants.values().flat_map(|kits| kits.keys()).collect();
    for kit in kits {
        let mut asked: Vec<Asked> = Vec::new();
        for h in 0..loads.end {
            asked.extend(reading.asked(h, kit).into_iter().map(|((place, along), count)| (h, place, along, count)));
        }
        let of_kit = (0..loads.items.len()).filter(|n| loads.items[*n].kit.as_ref() == Some(kit));
        let items: Vec<usize> = of_kit.collect();
        add(&mut all, best(reading, loads, drives, &asked, &items));
    }
    for (n, item) in loads.items.iter().enumerate() {
        if let Some((h, place)) = item.wanted {
            add(&mut all, best(reading, loads, drives, &[(h, place, None, 1)], &[n]));
        }
    }
    all
}

fn add(all: &mut Worth, more: Worth) {
    all.0 += more.0;
    all.1 += more.1;
}

/// The most that some things can meet together.
fn best(reading: &Reading, loads: &Loads, drives: &Drives, asked: &[Asked], items: &[usize]) -> Worth {
    let mut together: BTreeSet<Vec<u32>> = BTreeSet::from([vec![0; asked.len()]]);
    for item in items {
        let alone = alone(reading, loads, drives, asked, *item);
        let mut next = BTreeSet::new();
        for had in &together {
            for more in &alone {
                let sum = had.iter().zip(asked).enumerate().map(|(n, (had, asked))| asked.3.min(had + (more >> n & 1)));
                next.insert(sum.collect());
            }
        }
        together = next;
    }
    let worth = |met: &Vec<u32>| {
        let early = |(n, count): (usize, &u32)| (loads.end - asked[n].0) * *count as usize;
        (met.iter().sum(), met.iter().enumerate().map(early).sum())
    };
    together.iter().map(worth).max().unwrap_or((0, 0))
}

/// Every set of wants that one thing can meet, a bit each.
fn alone(reading: &Reading, loads: &Loads, drives: &Drives, asked: &[Asked], item: usize) -> BTreeSet<u32> {
    assert!(asked.len() < 32, "a small week");
    let of = &loads.items[item];
    let start = match of.source {
        Source::Thing(n) => begins(reading.shop, &reading.shop.book.things[n]).0,
        Source::Material(..) => of.is,
    };
    let mut now: BTreeMap<Spot, BTreeSet<u32>> = BTreeMap::from([(start, BTreeSet::from([0]))]);
    for h in 0..loads.end {
        let then: Vec<(PlaceId, PlaceId)> =
            drives.iter().filter(|(at, ..)| *at == h).map(|(_, from, to)| (*from, *to)).collect();
        now = on(&now, |spot| reading.nexts(spot, h, false, &then));
        for (spot, sets) in &mut now {
            let here: Vec<usize> = (0..asked.len())
                .filter(|n| {
                    let (at, place, along, _) = asked[*n];
                    let there = match along {
                        Some(truck) => *spot == Spot::Truck(truck),
                        None => reading.after(*spot, h, false) == Some(place),
                    };
                    at == h && there
                })
                .collect();
            let more: Vec<u32> = here.iter().flat_map(|n| sets.iter().map(move |set| set | 1 << n)).collect();
            sets.extend(more);
        }
        put_at_work(reading, asked, h, &mut now);
        now = on(&now, |spot| reading.nexts(spot, h, true, &[]));
    }
    let mut all = now.into_values().flatten().collect();
    largest(&mut all);
    all
}

/// L4: what has served at a place may lie there then, or be in what is there.
fn put_at_work(reading: &Reading, asked: &[Asked], h: usize, now: &mut BTreeMap<Spot, BTreeSet<u32>>) {
    let shop = reading.shop;
    let before = now.clone();
    for (spot, sets) in before {
        for (n, (at, place, along, _)) in asked.iter().enumerate() {
            if *at != h || along.is_some() || reading.after(spot, h, false) != Some(*place) {
                continue;
            }
            let served = || sets.iter().copied().filter(|set| set >> n & 1 == 1);
            let in_it = shop.trucks.ids().map(Spot::Truck).chain(shop.units.ids().map(Spot::Unit));
            let to = in_it.filter(|of| reading.after(*of, h, false) == Some(*place)).chain([Spot::Place(*place)]);
            for to in to {
                now.entry(to).or_default().extend(served());
            }
        }
    }
}

fn on(now: &BTreeMap<Spot, BTreeSet<u32>>, nexts: impl Fn(Spot) -> BTreeSet<Spot>) -> BTreeMap<Spot, BTreeSet<u32>> {
    let mut after: BTreeMap<Spot, BTreeSet<u32>> = BTreeMap::new();
    for (spot, sets) in now {
        for next in nexts(*spot) {
            after.entry(next).or_default().extend(sets);
        }
    }
    after.values_mut().for_each(largest);
    after
}

/// Only those that are in no other: who meets more does no worse.
fn largest(sets: &mut BTreeSet<u32>) {
    let all: Vec<u32> = sets.iter().copied().collect();
    sets.retain(|set| !all.iter().any(|other| other != set && other & set == *set));
}
