//! The letter by which a crew is known where its name has no room.

use yardless_plan::shop::{CrewId, Shop, Table};

use super::super::words::short_crew;

/// For each crew as many letters of its name as tell it apart.
pub(super) fn letters(shop: &Shop) -> Table<CrewId, String> {
    let names: Vec<Vec<char>> = shop.crews.iter().map(|crew| short_crew(crew).chars().collect()).collect();
    let all = names.iter().enumerate().map(|(n, name)| {
        let alike = |long: &usize| {
            let same = |other: &Vec<char>| other.iter().take(*long).eq(name.iter().take(*long));
            names.iter().enumerate().any(|(m, other)| m != n && same(other))
        };
        let long = (1..name.len()).find(|long| !alike(long)).unwrap_or(name.len());
        name.iter().take(long).collect()
    });
    all.collect()
}
