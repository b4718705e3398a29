//! Which class of licence the ratings of a truck and what it tows come to by the federal table, and which rating a haul is near.

use std::collections::BTreeSet;
use std::ops::Range;

use yardless_book::{Equipment, Lacking, Truck, visible};
use yardless_plan::shop::{CrewId, Id, Shop, TruckId, UnitId};

use super::course::Course;

/// A class of licence by weight alone: 49 CFR 383.91(a)(1) and (2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Class {
    /// 26,001 lb or more together, of which more than 10,000 lb are towed.
    A,
    /// A truck of 26,001 lb or more, that tows 10,000 lb at most.
    B,
    /// Neither.
    None,
}

/// Together, or of a truck alone: from here on a class is asked for, pounds.
const HEAVY: u32 = 26_001;
/// Towed: up to here it counts for no class A, pounds.
const LIGHT: u32 = 10_000;

const TABLE: &str = "26,001 lb or more together, of which more than 10,000 lb towed, is class A; a truck of 26,001 lb or more is \
    class B (49 CFR 383.91(a)(1), (2)). Together is the greater of the maker's combined rating and the sum (383.5, from memory). \
    Other rules may ask for a licence all the same. Check with your state, the maker and the driver.";

/// By the ratings, or the weights where these are greater: the truck's, what it tows, and both together.
fn class(truck: u32, towed: u32, together: u32) -> Class {
    if together >= HEAVY && towed > LIGHT {
        Class::A
    } else if truck >= HEAVY {
        Class::B
    } else {
        Class::None
    }
}

/// Each truck and trailer that go together in some half-days, as far as a rating is entered of either, and the table, as one
/// caution; none where there is none.
pub(super) fn licences(course: &Course, half_days: &Range<usize>, crew: Option<CrewId>) -> Vec<[String; 2]> {
    let shop = course.shop;
    let mine = |truck: TruckId| crew.is_none() || shop.trucks[truck].crew == crew;
    let trips = course.trips.iter().filter(|trip| half_days.contains(&trip.at) && mine(trip.truck));
    let towed = trips.filter(|trip| shop.units[trip.unit].towed());
    let pairs: BTreeSet<(TruckId, UnitId)> = towed.map(|trip| (trip.truck, trip.unit)).collect();
    let lines: Vec<String> = pairs.into_iter().filter_map(|(truck, unit)| licence(shop, truck, unit)).collect();
    let says = (!lines.is_empty()).then(|| ["Licence".to_owned(), format!("{}. {TABLE}", lines.join("; "))]);
    says.into_iter().collect()
}

fn licence(shop: &Shop, truck: TruckId, unit: UnitId) -> Option<String> {
    let (by, of) = (&shop.book.trucks[truck.index()], &shop.book.equipment[unit.index()]);
    if by.rating_lb.is_none() && of.rating_lb.is_none() && by.combined_lb.is_none() {
        return None;
    }
    let who = format!("{} with {}", shop.trucks[truck].name, shop.units[unit].name);
    let (Some(own), Some(towed)) = (by.rating_lb, of.rating_lb) else {
        let lacks: Vec<String> = [(by.rating_lb, &shop.trucks[truck].name), (of.rating_lb, &shop.units[unit].name)]
            .into_iter()
            .filter(|(rating, _)| rating.is_none())
            .map(|(_, name)| name.clone())
            .collect();
        return Some(format!(
            "{who}: no class can be told, the maker's rating of {} is not entered",
            lacks.join(" and of ")
        ));
    };
    let (own, towed) = (own.max(by.weight_lb.unwrap_or(0)), towed.max(of.loaded_lb()));
    let sum = own.saturating_add(towed);
    let together = sum.max(by.combined_lb.unwrap_or(0));
    let which = match class(own, towed, together) {
        Class::A => "class A",
        Class::B => "class B",
        Class::None => "no class by weight",
    };
    let combined = if together > sum { format!(", rated {} lb together", pounds(together)) } else { String::new() };
    let (own, towed, sum) = (pounds(own), pounds(towed), pounds(sum));
    Some(format!("{who}: {own} + {towed} = {sum} lb{combined}{}: {which}", sources(by, of)))
}

/// Where the figures are from, as far as that is entered.
fn sources(by: &Truck, of: &Equipment) -> String {
    let from = |from: &Option<String>| from.as_deref().map_or_else(|| "no source entered".to_owned(), visible);
    format!(" (truck: {}; trailer: {})", from(&by.ratings_from), from(&of.ratings_from))
}

/// The ratings that a haul is within 10 % of, and the figures that it lacks: a few words each.
pub(super) fn marks(shop: &Shop, truck: TruckId, unit: UnitId) -> Vec<String> {
    let (by, of) = (&shop.book.trucks[truck.index()], &shop.book.equipment[unit.index()]);
    let (weighs, towed) = (of.loaded_lb(), shop.units[unit].towed());
    let together = by.weight_lb.map(|own| own.saturating_add(weighs));
    let (name, unit_name) = (&shop.trucks[truck].name, &shop.units[unit].name);
    let ratings = [
        (towed.then_some(weighs), Some(by.tow_lb), format!("what {name} tows")),
        (together.filter(|_| towed), by.combined_lb, format!("what {name} is rated for together")),
        ((!towed).then_some(weighs), by.payload_lb, format!("what {name} carries")),
        (Some(weighs), of.rating_lb, format!("what {unit_name} is rated for")),
    ];
    let near = ratings.into_iter().filter_map(|(lb, most, what)| {
        let (lb, most) = (lb?, most?);
        is_near(lb, most).then(|| format!("WITHIN 10 % of {what}: {} of {} lb", pounds(lb), pounds(most)))
    });
    let at_least = match of.lacking() {
        Some(Lacking::Contents) => Some(format!("contents not entered: {} lb at least", pounds(weighs))),
        Some(Lacking::Weight) if towed => Some("weight not entered: check the truck's rating".to_owned()),
        _ => None,
    };
    near.chain(at_least).collect()
}

/// Whether a weight is within 10 % of a rating, and not over it.
pub(super) fn is_near(lb: u32, rating: u32) -> bool {
    lb > 0 && lb <= rating && u64::from(lb) * 10 >= u64::from(rating) * 9
}

/// `26,001`.
pub(super) fn pounds(lb: u32) -> String {
    let digits = lb.to_string();
    let groups = digits.as_bytes().rchunks(3).rev().map(|group| String::from_utf8_lossy(group).into_owned());
    groups.collect::<Vec<_>>().join(",")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of the guidance to 49 CFR 383.91, and each limit from both sides.
    #[test]
    fn classes_are_those_of_the_federal_table_on_both_sides_of_each_limit() {
        let of = |truck, towed| class(truck, towed, truck + towed);
        assert_eq!(of(14_000, 10_000), Class::None);
        assert_eq!((of(15_999, 10_001), of(16_000, 10_001)), (Class::None, Class::A));
        assert_eq!((of(16_001, 10_000), of(16_000, 10_001)), (Class::None, Class::A));
        assert_eq!(of(19_500, 9_990), Class::None);
        assert_eq!((of(26_000, 9_000), of(26_001, 9_000)), (Class::None, Class::B));
        assert_eq!((of(26_001, 10_000), of(26_001, 10_001)), (Class::B, Class::A));
        // Rated for more together than the sum.
        assert_eq!((class(12_000, 12_000, 26_000), class(12_000, 12_000, 26_001)), (Class::None, Class::A));
    }

    #[test]
    fn near_is_from_nine_tenths_of_a_rating_up_to_it() {
        assert_eq!([8_999, 9_000, 10_000, 10_001].map(|lb| is_near(lb, 10_000)), [false, true, true, false]);
        assert_eq!([6_299, 6_300, 7_000, 7_001].map(|lb| is_near(lb, 7_000)), [false, true, true, false]);
        assert!(!is_near(0, 0) && is_near(1, 1));
    }

    #[test]
    fn pounds_have_their_thousands_apart() {
        assert_eq!([0, 999, 1_000, 26_001, 1_000_000].map(pounds), ["0", "999", "1,000", "26,001", "1,000,000"]);
    }
}
