//! The API: the same rules as the pages, told as problem details, and described.

use serde_json::json;

use super::planning::{found, give_out};
use super::service::Service;

#[test]
fn book_is_kept_with_all_faults_told_at_once() {
    let service = Service::start();
    let owner = service.owner();
    let (base, mut book) = owner.book();
    book["jobs"][0]["place"] = "nowhere".into();
    book["crews"][1]["people"] = (-2).into();
    let came = owner.put("/api/book", &json!({ "base": base, "book": book }));
    assert_eq!((came.status, came.head("content-type")), (422, "application/problem+json"));
    let problem = came.json();
    assert_eq!((&problem["type"], &problem["status"]), (&json!("urn:yardless:problem:book:faults"), &json!(422)));
    let paths: Vec<&str> =
        problem["faults"].as_array().expect("faults").iter().filter_map(|of| of["path"].as_str()).collect();
    assert_eq!(paths, ["jobs[0].place", "crews[1].people"].map(|p| p).to_vec().into_iter().rev().collect::<Vec<_>>());
    let (base, mut book) = owner.book();
    book["shop"]["name"] = "Quill Ridge".into();
    let kept = owner.put("/api/book", &json!({ "base": base, "book": book, "what": "A new name" }));
    assert_eq!((kept.status, kept.json()["revision"].as_i64()), (200, Some(base + 1)));
    assert_eq!(owner.get("/api/book/revisions").json()[0]["what"], "A new name");
    let undone = owner.post_json(&format!("/api/book/revisions/{}/undo", base + 1), &json!(null));
    assert_eq!(undone.status, 200, "{}", undone.body);
    assert_eq!(owner.book().1, owner.get("/api/book/revisions/1").json()["book"]);
}

#[test]
fn plan_from_elsewhere_is_given_out_only_where_it_holds() {
    let service = Service::start();
    let owner = service.owner();
    give_out(&owner);
    let plan = owner.get("/api/plan").json()["plan"].clone();
    let mut broken = plan.clone();
    broken["steps"][0]["crew"] = "south".into();
    let refused = owner.put("/api/plan", &json!({ "base": 1, "plan": broken }));
    assert_eq!((refused.status, &refused.json()["type"]), (409, &json!("urn:yardless:problem:plan:breach")));
    assert_eq!(owner.put("/api/plan", &json!({ "base": 0, "plan": plan })).status, 409, "of another base");
    let given = owner.put("/api/plan", &json!({ "base": 1, "plan": plan }));
    assert_eq!((given.status, given.json()["revision"].as_i64()), (200, Some(2)), "{}", given.body);
    let begun = owner.post_json("/api/planning", &json!({ "seconds": 1 }));
    assert_eq!(begun.status, 200, "{}", begun.body);
    let number = found(&owner)["number"].clone();
    assert!(owner.get("/api/planning/found").json()["plan"]["cost"].is_number());
    let given = owner.post_json("/api/planning/give-out", &json!({ "number": number }));
    assert_eq!((given.status, given.json()["revision"].as_i64()), (200, Some(3)), "{}", given.body);
    for (body, status) in [(json!({ "seconds": 0 }), 422), (json!({ "now": "today" }), 422), (json!([]), 422)] {
        assert_eq!(owner.post_json("/api/planning", &body).status, status, "{body}");
    }
}

#[test]
fn openapi_names_every_route_of_the_api_and_how_it_refuses() {
    let service = Service::start();
    let owner = service.owner();
    let api = owner.get("/api/openapi.json").json();
    let paths: Vec<&String> = api["paths"].as_object().expect("paths").keys().collect();
    assert_eq!(paths.len(), 18, "{paths:?}");
    for (path, methods) in api["paths"].as_object().expect("paths") {
        for (method, operation) in methods.as_object().expect("methods") {
            assert!(operation["summary"].is_string(), "{method} {path}");
            assert!(
                operation["responses"]["default"].is_object() && operation["responses"]["200"].is_object(),
                "{method} {path}: {operation}"
            );
        }
    }
    assert_eq!(api["components"]["securitySchemes"]["session"]["in"], "cookie");
    assert_eq!(owner.put("/api/me", &json!({})).status, 405);
    assert_eq!(owner.get("/api/nothing").json()["type"], "urn:yardless:problem:web:missing");
}
