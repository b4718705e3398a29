//! Rule H7: ratings, hitches and brakes, each limit from both sides; and H4 by the weight so found.

use serde_json::{Value, json};
use yardless_plan::shop::{Id, TruckId};

use crate::forge::{book, haul, holds, plan, refused, shop, with};

/// A unit of 5,000 lb and a truck that tows 14,000 lb, with more said of each.
fn yard(moves: &str, unit: &Value, truck: &Value) -> Value {
    let unit = with(json!({"id": "u", "kinds": ["k"], "moves": moves, "weight_lb": 5000, "place": "lot"}), unit);
    let truck = with(json!({"id": "t1", "tow_lb": 14000}), truck);
    book(&json!({"equipment": [unit], "trucks": [truck]}))
}

fn hauled() -> Value {
    plan(&json!({"hauls": [haul("u", "lot", "a", "7 am", "t1")]}))
}

/// The haul holds with the first, and breaks the rule with the second.
#[track_caller]
fn edge(rule: &str, moves: &str, (unit, truck): (Value, Value), (unit_beyond, truck_beyond): (Value, Value)) {
    let (within, beyond) = (yard(moves, &unit, &truck), yard(moves, &unit_beyond, &truck_beyond));
    holds(&within, &hauled());
    refused(rule, &beyond, &hauled());
    // The tables that plans are made by say the same.
    let takes = |book: &Value| {
        let shop = shop(book);
        let unit = shop.units.ids().next().expect("a unit");
        shop.can_take(TruckId::from_index(0), unit)
    };
    assert!(takes(&within) && !takes(&beyond), "{within} {beyond}");
}

#[test]
fn h7_a_unit_weighs_what_is_entered_of_it() {
    let loaded = |empty: u32, contents: u32| json!({"weight_lb": 0, "empty_lb": empty, "contents_lb": contents});
    let truck = json!({"tow_lb": 7000});
    edge("H4", "towed", (loaded(4000, 3000), truck.clone()), (loaded(4000, 3001), truck.clone()));
    edge("H4", "towed", (json!({"weight_lb": 7000}), truck.clone()), (json!({"weight_lb": 7001}), truck.clone()));
    // At least what it weighs empty, where nobody says what is in it; what nothing is entered of is not known to be too heavy.
    let empty = |pounds: u32| json!({"weight_lb": 0, "empty_lb": pounds});
    edge("H4", "towed", (empty(7000), truck.clone()), (empty(7001), truck));
    holds(&yard("towed", &json!({"weight_lb": 0}), &json!({"tow_lb": 1})), &hauled());
}

#[test]
fn h7_nothing_is_over_a_rating_that_is_entered() {
    let none = || json!({});
    edge("H7", "towed", (json!({"rating_lb": 5000}), none()), (json!({"rating_lb": 4999}), none()));
    edge("H7", "carried", (json!({"rating_lb": 5000}), none()), (json!({"rating_lb": 4999}), none()));
    edge("H7", "carried", (none(), json!({"payload_lb": 5000})), (none(), json!({"payload_lb": 4999})));
    // What is towed is no payload, and what is carried is not towed.
    holds(&yard("towed", &none(), &json!({"payload_lb": 1})), &hauled());
    let together = |combined: u32| json!({"weight_lb": 9000, "combined_lb": combined});
    edge("H7", "towed", (none(), together(14_000)), (none(), together(13_999)));
    holds(&yard("carried", &none(), &together(13_999)), &hauled());
    // Without the truck's weight nothing is known of both together.
    holds(&yard("towed", &none(), &json!({"combined_lb": 1})), &hauled());
    // The truck's own rating is for the licence alone.
    holds(&yard("towed", &none(), &json!({"rating_lb": 1})), &hauled());
}

#[test]
fn h7_hitch_and_brakes_go_with_the_truck() {
    let hitch = || json!({"hitch": "pintle"});
    let has = |hitches: Value| json!({"hitches": hitches});
    edge("H7", "towed", (hitch(), has(json!(["ball", "pintle"]))), (hitch(), has(json!(["ball"]))));
    holds(&yard("towed", &hitch(), &json!({})), &hauled());
    holds(&yard("towed", &json!({}), &has(json!(["ball"]))), &hauled());
    holds(&yard("carried", &hitch(), &has(json!(["ball"]))), &hauled());
    let brakes = |of: &str| json!({"brakes": of});
    let control = |works: bool| json!({"brake_control": works});
    edge("H7", "towed", (brakes("electric"), control(true)), (brakes("electric"), control(false)));
    for of in ["surge", "none"] {
        holds(&yard("towed", &brakes(of), &control(false)), &hauled());
    }
    holds(&yard("towed", &brakes("electric"), &json!({})), &hauled());
    holds(&yard("carried", &brakes("electric"), &control(false)), &hauled());
}

/// Two light trailers with electric brakes that only the weak truck can work, and a heavy one for the strong truck.
#[test]
fn h7_sets_of_trucks_need_not_be_nested() {
    let unit = |id: &str, pounds: u32, brakes: &str| json!({"id": id, "kinds": ["k"], "moves": "towed", "weight_lb": pounds, "brakes": brakes, "place": "lot"});
    let trucks = json!([{"id": "t1", "tow_lb": 14000, "brake_control": false}, {"id": "t2", "tow_lb": 7000, "brake_control": true}]);
    let equipment = json!([unit("a", 3000, "electric"), unit("b", 3000, "electric"), unit("c", 9000, "surge")]);
    let book = book(&json!({"equipment": equipment, "trucks": trucks}));
    let hauls = |rows: &[Value]| plan(&json!({ "hauls": rows }));
    let by = |unit: &str, truck: &str| haul(unit, "lot", "a", "7 am", truck);
    holds(&book, &hauls(&[by("a", "t2"), by("c", "t1")]));
    refused("H7", &book, &hauls(&[by("a", "t2"), by("b", "t1")]));
    refused("H4", &book, &hauls(&[by("a", "t2"), by("b", "t2")]));
    let shop = shop(&book);
    assert!(shop.rated());
    let sets = shop.truck_sets(yardless_book::Moves::Towed, 9);
    assert_eq!(sets, [[false, true], [true, false], [true, true]]);
}
