//! Things on a screen: a crew's list with its boxes, and what it has left somewhere.

use super::planning::give_out;
use super::service::Service;

#[test]
fn what_a_crew_has_left_is_in_the_book_at_once() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let crew = service.add(&owner, "Northern hand", "crew north");
    let other = service.add(&owner, "Southern hand", "crew south");
    let page = crew.get("/crews/north?week=2026-12-07").body;
    assert!(page.contains("<ul class=\"boxes\">") && page.contains("Left here: which?"), "{page}");
    let left = [("about", "left"), ("thing", "seal-kit-1"), ("place", "birch"), ("form", "a")];
    for _ in 0..2 {
        assert_eq!(crew.post("/crews/north/tell", &left).status, 303);
    }
    assert_eq!(other.post("/crews/north/tell", &left).status, 403);
    let seen = |of: &str| {
        let book = owner.book().1;
        let all = book["things"].as_array().expect("things").clone();
        all.into_iter().find(|thing| thing["id"] == *of).expect("the thing")["seen"].clone()
    };
    let told = seen("seal-kit-1");
    assert_eq!((told["at"].as_str(), told["by"].as_str()), (Some("birch"), Some("Northern hand")), "{told}");
    assert!(told["when"].is_string());
    for wrong in [("no-such", "birch"), ("seal-kit-1", "no-such"), ("seal-kit-1", "")] {
        let form = [("about", "left"), ("thing", wrong.0), ("place", wrong.1)];
        assert_eq!(crew.post("/crews/north/tell", &form).status, 422, "{wrong:?}");
    }
    assert_eq!(seen("seal-kit-1"), told);
    // The owner corrects it by the thing's own form, which has its fields.
    let form = owner.get("/book/things/of/seal-kit-1").body;
    for field in ["Counts as the kit", "Rides in", "Belongs to", "Kept above, °F", "Lay at"] {
        assert!(form.contains(field), "{field}: {form}");
    }
}
