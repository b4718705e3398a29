//! A good book, and what spoils it.

/// A book without fault; each test spoils it in one place or a few.
pub const GOOD: &str = include_str!("good.json");

/// Texts that are no JSON, or none that a book may be.
pub const NOT_JSON: &[&str] = &[
    "",
    " \n\t",
    "{ \"book\": 1, // the format\n}",
    "{ \"book\": 1, }",
    "{ \"book\": 1 \"shop\": {} }",
    "[{} {}]",
    "{ 'book': 1 }",
    "{ book: 1 }",
    "{ \"book\" 1 }",
    "{ \"book\": }",
    "{ \"book\": [1 }",
    "{ \"book\": 1",
    "{ \"book\": \"1",
    "{ \"book\": 0x1 }",
    "{ \"book\": NaN }",
    "{ \"book\": -Infinity }",
    "{ \"book\": 1e999 }",
    "{ \"book\": 01 }",
    "{ \"book\": yes }",
    "{ \"book\": \"\\ud800\" }",
    "{ \"book\": \"\\q\" }",
    "{ \"shop\": \"two\nlines\" }",
    "{ \"book\": 1 }}",
    "]",
    "\u{0}",
    "{ \"book\"\u{a0}: 1 }",
];

/// What each text of the good book is replaced by, one at a time: fields, types, limits, words, times.
pub const SHAPE: &[(&str, &str)] = &[
    // Fields.
    ("\"skill\": \"seal\", ", ""),
    ("  \"crews\": [", "  \"crew\": ["),
    ("\"tow_lb\": 7000", "\"tow_lbs\": 7000"),
    ("\"book\": 1,", "\"book\": 1, \"$schema\": \"book.schema.json\","),
    ("\"trailer_spots\": 1", "\"trailer_spots\": 1, \"road\": \"hill\""),
    ("\"power\": true }", "\"power\": true, \"cautions\": [\"foams\"] }"),
    ("\"code\": 12", "\"code\": 12, \"code\": 13"),
    ("\"time_zone\":", "\"overtime_days\": [\"saturday\"], \"notice_half_days\": -1, \"time_zone\":"),
    ("\"tow_minute\": 1.5", "\"change\": -60, \"overtime_half_day\": true, \"returns\": 80, \"worth_changing\": 0.001"),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"may_split\": \"yes\", \"done\": {}, \"progress\": { \"left\": 0 }",
    ),
    (
        "\"parked\": [{ \"kind\": \"generator\" }]",
        "\"parked\": [{ \"kind\": \"generator\", \"units\": \"generator-1\" }]",
    ),
    // Weekdays, waits, told dates, ranks, heat, power in number.
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"needs_power\": -1, \"max_high_f\": \"85\", \"late_day\": 0, \"due\": \"2026-12\"",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"needs_power\": \"yes\", \"told\": { \"from\": \"2026-12-07\", \"day\": 1.005 }, \"waits_on\": { \"what\": \"wiring\" }",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"waits_on\": [{ \"who\": \"Sam\" }, { \"what\": \"wiring\", \"expected\": \"soon\", \"ask_days\": 1.5, \"confirmed\": 1 }]",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"no_access\": [{ \"on\": \"2026-12-07/\", \"weekdays\": [], \"half\": \"noon\" }, { \"weekdays\": [\"weds\"] }, { \"on\": \"2026-12-07\", \"day\": \"mon\" }]",
    ),
    (
        "  \"crews\": [",
        "  \"ranks\": [{ \"late_day\": 0, \"left_out\": 1.005 }, \"promised\"],
  \"crews\": [",
    ),
    ("\"time_zone\":", "\"min_people\": 0, \"told_half_days\": -1, \"time_zone\":"),
    ("\"time_zone\":", "\"in_part\": \"yes\", \"time_zone\":"),
    ("\"tow_minute\": 1.5", "\"tow_minute\": 1.5, \"told_day\": -1, \"change_same_date\": \"60\""),
    ("\"gust_mph\": 40.5", "\"high_f\": 200, \"weekdays\": [\"mo\"], \"half\": true, \"gust_mph\": 40.5"),
    // Help, several at once, stops.
    ("\"half_days\": 1, \"after\": [\"elm/test\"]", "\"hours\": 0, \"help\": 9, \"after\": [\"elm/test\"]"),
    ("\"labor_hours\": 40, \"extra\"", "\"hours\": \"1\", \"help\": -1, \"extra\""),
    ("\"own\": false", "\"own\": false, \"at_once\": 0, \"usual_with\": \"north\", \"with\": []"),
    ("\"time_zone\":", "\"stop_minutes\": -1, \"time_zone\":"),
    ("\"tow_minute\": 1.5", "\"tow_minute\": 1.5, \"help_half_day\": -0.5"),
    (
        "{ \"id\": \"look\",",
        "{ \"id\": \"look\", \"done\": { \"crew\": \"inspector\", \"with\": \"north\", \"start\": \"2026-12-07 am\", \"end\": \"2026-12-07 am\" },",
    ),
    // What standing, hire and open sites cost.
    ("\"tow_minute\": 1.5", "\"tow_minute\": 1.5, \"open_half_day\": 0.125"),
    ("\"trailer_spots\": 1", "\"trailer_spots\": 1, \"stand_half_day\": -5"),
    ("\"place\": \"yard\", \"out\"", "\"place\": \"yard\", \"hire_half_day\": \"25\", \"hire_place\": 1, \"out\""),
    // Ratings.
    (
        "\"weight_lb\": 3000, \"place\"",
        "\"empty_lb\": -1, \"rating_lb\": 1.5, \"hitch\": 2, \"brakes\": \"good\", \"place\"",
    ),
    (
        "\"tow_lb\": 7000",
        "\"tow_lb\": 7000, \"payload_lb\": \"1500\", \"hitches\": \"ball\", \"brake_control\": 1, \"combined_lb\": 1000001",
    ),
    // To be home, to be gone.
    (
        "\"place\": \"yard\", \"out\"",
        "\"place\": \"yard\", \"home_by\": { \"date\": \"soon\", \"late_day\": 0, \"where\": 1 }, \"out\"",
    ),
    ("\"trailer_spots\": 1", "\"trailer_spots\": 1, \"clear_by\": { \"days\": -1, \"late_day\": -5 }"),
    ("\"trailer_spots\": 1", "\"trailer_spots\": 1, \"clear_by\": { \"late_day\": 1.001 }"),
    // Kept open, homes.
    ("\"people\": 3", "\"keep_open\": 15, \"home\": [\"yard\"], \"people\": 3"),
    ("\"time_zone\":", "\"noon_minutes\": 1001, \"time_zone\":"),
    ("\"tow_minute\": 1.5", "\"tow_minute\": 1.5, \"reserve_half_day\": \"60\", \"drive_minute\": 0.005"),
    // Types.
    ("\"people\": 3", "\"people\": \"3\""),
    ("\"people\": 3", "\"people\": null"),
    ("\"people\": 3", "\"people\": [3]"),
    ("\"own\": false", "\"own\": \"false\""),
    ("\"closed\": [\"2026-12-24 pm/2026-12-27\"]", "\"closed\": \"2026-12-24\""),
    ("\"after\": [\"elm/test\"]", "\"after\": [true]"),
    ("\"storm\": true", "\"storm\": 1"),
    ("\"due\": \"2026-12-18\"", "\"due\": null"),
    ("\"due\": \"2026-12-18\"", "\"due\": 20261218"),
    // Numbers.
    ("\"book\": 1,", "\"book\": 2,"),
    ("\"people\": 3", "\"people\": -1"),
    ("\"minutes\": 25", "\"minutes\": 25.5"),
    ("\"minutes\": 25", "\"minutes\": 123456789012345678901234567890"),
    ("\"labor_hours\": 24.5", "\"labor_hours\": 0"),
    ("\"late_day\": 120.25", "\"late_day\": 0"),
    ("\"late_day\": 120.25", "\"late_day\": 120.255"),
    ("\"late_day\": 120.25", "\"late_day\": 0.0000001"),
    ("\"gust_mph\": 40.5", "\"gust_mph\": 1e300"),
    ("\"name\": \"Hill and Vale\"", "\"name\": \"\""),
    ("\"only\": [\"2026-12-10\"]", "\"only\": []"),
    ("\"closed\":", "\"hours\": [\"07:30-11:30\"], \"closed\":"),
    // Words and places on the globe.
    ("\"expect_clear\": [\"thu\"]", "\"expect_clear\": [\"thursday\"]"),
    ("\"roads\": \"covered\"", "\"roads\": \"snowy\""),
    ("\"at\": [43.1, -73.9]", "\"at\": [-173.9, 43.1]"),
    ("\"at\": [43.1, -73.9]", "\"at\": [43.1]"),
    ("\"America/New_York\"", "\"New York\""),
    // Times.
    ("\"due\": \"2026-12-18\"", "\"due\": \"2026-02-30\""),
    ("\"due\": \"2026-12-18\"", "\"due\": \"18.12.2026\""),
    ("\"start\": \"2026-12-10 am\"", "\"start\": \"2026-12-10\""),
    ("\"closed\": [\"2026-12-24 pm/2026-12-27\"]", "\"closed\": [\"2026-12-27/2026-12-24\"]"),
    ("\"no_trailers\": [\"11-15/04-15\"]", "\"no_trailers\": [\"winter\"]"),
    ("\"closed\":", "\"hours\": [\"7:30-11:30\", \"12:00-16:00\"], \"closed\":"),
    ("\"power_from\": \"never\"", "\"power_from\": \"soon\""),
];

const SEAL: &str = "{ \"id\": \"seal\",";
const INSULATE: &str = "{ \"id\": \"insulate\",";

/// What each text of the good book is replaced by, one at a time: names, durations, people, dates, rings.
pub const MEANING: &[(&str, &str)] = &[
    // Ids.
    ("\"id\": \"oak-hill\"", "\"id\": \"oak/hill\""),
    ("\"id\": \"red\"", "\"id\": \"\""),
    ("\"id\": \"by-hand\"", "\"id\": \"one\""),
    ("\"id\": \"generator-1\"", "\"id\": \"blower-1\""),
    ("  \"crews\": [", "  \"skills\": [{ \"id\": \"seals\", \"cautions\": [] }],\n  \"crews\": ["),
    ("\"id\": \"oak\", \"place\": \"oak-hill\"", "\"id\": \"oak\", \"place\": \"oak-hil\""),
    ("\"place\": \"elm-street\", \"earliest\"", "\"place\": \"elm-st\", \"earliest\""),
    ("\"road\": \"hill\"", "\"road\": \"Hill\""),
    ("\"crew\": \"north\", \"tow_lb\"", "\"crew\": \"nort\", \"tow_lb\""),
    ("\"weight_lb\": 3000, \"place\": \"yard\"", "\"weight_lb\": 3000, \"place\": \"quarry\""),
    ("\"at\": [\"elm-street\"]", "\"at\": [\"elm-street\", \"elmstreet\"]"),
    ("\"to\": \"elm-street\"", "\"to\": \"elm-stret\""),
    ("\"after\": [\"elm/test\"]", "\"after\": [\"elm/tset\"]"),
    ("\"after\": [\"elm/test\"]", "\"after\": [\"elms/test\"]"),
    ("\"after\": [\"elm/test\"]", "\"after\": [\"test\"]"),
    ("\"way\": \"one\"", "\"way\": \"usual\""),
    ("\"fixed\": { \"crew\": \"north\"", "\"fixed\": { \"crew\": \"south\""),
    // Kinds and skills.
    ("\"parked\": [{ \"kind\": \"generator\" }]", "\"parked\": [{ \"kind\": \"generater\" }]"),
    ("\"needs\": [{ \"kind\": \"blower\" }]", "\"needs\": [{ \"kind\": \"blower-1\" }]"),
    ("\"skill\": \"seal\"", "\"skill\": \"air-seal\""),
    ("\"fixed\": { \"crew\": \"north\"", "\"fixed\": { \"crew\": \"inspector\""),
    // Durations, people, waits, dates, drives.
    ("\"labor_hours\": 24.5, ", ""),
    ("\"labor_hours\": 24.5", "\"labor_hours\": 24.5, \"half_days\": 3"),
    (
        "\"skill\": \"blow\", \"fixed\"",
        "\"skill\": \"blow\", \"half_days\": 2, \"needs\": [{ \"kind\": \"blower\" }], \"fixed\"",
    ),
    ("\"labor_hours\": 40, \"extra\"", "\"extra\""),
    ("\"min_people\": 2, \"max_people\": 3", "\"min_people\": 3, \"max_people\": 2"),
    ("\"skill\": \"blow\", \"fixed\"", "\"skill\": \"blow\", \"max_people\": 1, \"fixed\""),
    ("\"within_half_days\": 6", "\"within_half_days\": 0"),
    ("\"closed\":", "\"hours\": [\"07:30-12:30\", \"12:00-16:00\"], \"closed\":"),
    ("\"due\": \"2026-12-18\"", "\"due\": \"2026-12-06\""),
    ("\"minutes\": 25 }", "\"minutes\": 25 }, { \"from\": \"elm-street\", \"to\": \"yard\", \"minutes\": 26 }"),
    // What is done and in progress.
    (
        SEAL,
        "{ \"id\": \"seal\", \"done\": { \"crew\": \"nort\", \"start\": \"2026-12-07 am\", \"end\": \"2026-12-07 pm\" },",
    ),
    (
        SEAL,
        "{ \"id\": \"seal\", \"done\": { \"crew\": \"north\", \"way\": \"by-hand\", \"start\": \"2026-12-07 pm\", \"end\": \"2026-12-07 am\" },",
    ),
    (
        "{ \"id\": \"look\",",
        "{ \"id\": \"look\", \"done\": { \"crew\": \"inspector\", \"start\": \"2026-12-07 am\", \"end\": \"2026-12-07 am\" }, \
          \"progress\": { \"crew\": \"inspector\", \"start\": \"2026-12-07 am\", \"left\": 1 },",
    ),
    (
        "{ \"id\": \"look\",",
        "{ \"id\": \"look\", \"progress\": { \"crew\": \"inspector\", \"start\": \"2026-12-07 am\", \"left\": 0.5 },",
    ),
    (
        INSULATE,
        "{ \"id\": \"insulate\", \"progress\": { \"crew\": \"north\", \"start\": \"2026-12-07 am\", \"left\": 1 },",
    ),
    (
        INSULATE,
        "{ \"id\": \"insulate\", \"progress\": { \"crew\": \"north\", \"way\": \"one\", \"start\": \"2026-12-07 am\", \"left\": 1, \
          \"units\": [\"generator-1\", \"blower-2\"] },",
    ),
    (
        "\"parked\": [{ \"kind\": \"generator\" }]",
        "\"parked\": [{ \"kind\": \"generator\", \"units\": [\"generator-1\"] }]",
    ),
    // Help, several at once, stops.
    ("\"own\": false", "\"own\": true, \"at_once\": 2"),
    ("\"own\": false", "\"own\": false, \"at_once\": 2, \"usual_with\": [\"nort\", \"inspector\"]"),
    ("\"half_days\": 1, \"after\": [\"elm/test\"]", "\"hours\": 4.25, \"after\": [\"elm/test\"]"),
    ("\"labor_hours\": 40, \"extra\"", "\"hours\": 5, \"half_days\": 1, \"extra\""),
    ("\"labor_hours\": 24.5", "\"labor_hours\": 24.5, \"hours\": 1"),
    ("\"skill\": \"blow\", \"fixed\"", "\"skill\": \"blow\", \"hours\": 1, \"fixed\""),
    (
        SEAL,
        "{ \"id\": \"seal\", \"progress\": { \"crew\": \"north\", \"with\": [\"nort\", \"north\", \"inspector\", \"inspector\"], \
          \"start\": \"2026-12-07 am\", \"left\": 8 },",
    ),
    (
        "{ \"id\": \"look\",",
        "{ \"id\": \"look\", \"done\": { \"crew\": \"inspector\", \"with\": [\"north\"], \"start\": \"2026-12-07 am\", \"end\": \"2026-12-07 am\" },",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"hours\": 1.5, \"progress\": { \"crew\": \"inspector\", \"start\": \"2026-12-07 am\", \"left\": 1 }, \"after\": [\"elm/test\"]",
    ),
    // Kept open, homes.
    ("\"own\": false", "\"own\": false, \"keep_open\": 1, \"home\": \"yard\""),
    ("\"people\": 3", "\"keep_open\": 14, \"home\": \"yrd\", \"people\": 3"),
    // Weekdays, waits, told dates, ranks.
    (
        "{ \"on\": \"2026-12-09\", \"people\": 1 }",
        "{ \"on\": { \"on\": \"2026-12-09/\", \"half\": \"am\" }, \"weekdays\": [\"wed\"], \"people\": 1 }",
    ),
    ("\"on\": \"2026-12-07 pm\", \"storm\": false", "\"on\": \"2026-12-07 pm/\", \"storm\": false"),
    (
        "\"on\": \"2026-12-07 pm\", \"storm\": false",
        "\"on\": { \"on\": \"2026-12-07/2026-12-09\", \"half\": \"pm\" }, \"half\": \"am\", \"storm\": false",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"told\": { \"from\": \"2026-12-10\", \"to\": \"2026-12-09\" }, \"earliest\": \"2026-12-09\", \"due\": \"2026-12-08\"",
    ),
    (
        "\"half_days\": 1, \"after\": [\"elm/test\"]",
        "\"half_days\": 1, \"after\": [\"elm/test\"], \"waits_on\": [{ \"what\": \"windows\", \"confirmed\": true }]",
    ),
    (
        "\"due\": \"2026-12-18\"",
        "\"due\": \"2026-12-18\", \"waits_on\": [{ \"what\": \"windows\", \"expected\": \"2026-12-11\" }, { \"what\": \"a permit\" }]",
    ),
    ("\"due\": \"2026-12-18\"", "\"due\": \"2026-12-18\", \"rank\": \"promised\""),
    (
        "  \"crews\": [",
        "  \"ranks\": [{ \"id\": \"promised\" }, { \"id\": \"promised\", \"late_day\": 5 }],
  \"crews\": [",
    ),
    // Hire.
    ("\"place\": \"yard\", \"out\"", "\"place\": \"yard\", \"hire_half_day\": 25, \"out\""),
    ("\"place\": \"yard\", \"out\"", "\"place\": \"yard\", \"hire_half_day\": 25, \"hire_place\": \"yrad\", \"out\""),
    // Ratings: a weight given twice.
    ("\"weight_lb\": 3000, \"place\"", "\"weight_lb\": 3000, \"empty_lb\": 2000, \"contents_lb\": 1000, \"place\""),
    // To be home.
    (
        "\"place\": \"yard\", \"out\"",
        "\"place\": \"yard\", \"home_by\": { \"date\": \"2026-12-11\", \"place\": \"yrad\" }, \"out\"",
    ),
    // What is parked from one step to another.
    (
        "\"parked\": [{ \"kind\": \"generator\" }]",
        "\"parked\": [{ \"kind\": \"generator\", \"from\": \"sealing\", \"to\": \"oak/look\" }]",
    ),
    (
        "\"parked\": [{ \"kind\": \"generator\" }]",
        "\"parked\": [{ \"kind\": \"generator\", \"from\": \"test\", \"to\": \"seal\" }]",
    ),
    // Rings.
    ("\"half_days\": 1, \"after\": [\"elm/test\"]", "\"half_days\": 1, \"after\": [\"look\"]"),
    ("\"labor_hours\": 24.5", "\"labor_hours\": 24.5, \"after\": [\"oak/look\"]"),
    ("\"skill\": \"blow\", \"fixed\"", "\"skill\": \"blow\", \"after\": [\"seal\", \"test\", \"oak/look\"], \"fixed\""),
];
