//! What was refused, and other events that nobody but admins sees.

use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    accounts::{ask, events, noted, post, signed_in},
    signed::{PIN, is, report, set_pin, tablet},
};
use crate::world::{World, command, device::Device, on_both, soon};

async fn count(world: &World, what: &str) -> usize {
    let all = events(&world.admin(), "?limit=200").await;
    all.iter().filter(|(told, ..)| told == what).count()
}

on_both!(
    who_is_refused_for_lack_of_permission_is_noted_twenty_times_a_day_at_most,
    async |world: &World| {
        let (crew, county) = (world.member("crew_1"), world.county());
        // Over REST, inside a batch that is answered 200, and by reading what is not for everybody.
        crew.post("/v1/shops", json!({ "id": Uuid::now_v7(), "name": "Mine" }))
            .await
            .refused(403, "not-allowed");
        let shop = command("shop.add", json!({ "id": Uuid::now_v7(), "name": "Mine" }));
        is(&crew.send(vec![report(county.set_1.pump), shop]).await.ok()["answers"][1], "not-allowed");
        crew.get("/v1/access-events").await.refused(403, "not-allowed");
        soon("three events", async || (count(world, "refused").await == 3).then_some(())).await;
        noted(&world.admin(), "refused", crew.person.id).await;
        // What is refused for another reason is none.
        crew.get(&format!("/v1/pieces/{}", Uuid::now_v7())).await.refused(404, "not-found");
        for _ in 0..30 {
            crew.get("/v1/access-events").await.refused(403, "not-allowed");
        }
        soon("twenty events", async || (count(world, "refused").await == 20).then_some(())).await;
        tokio::time::sleep(std::time::Duration::from_millis(300)).await;
        assert_eq!(count(world, "refused").await, 20);
        // Others have theirs.
        world.officer().get("/v1/access-events").await.refused(403, "not-allowed");
        noted(&world.admin(), "refused", world.officer().person.id).await;
    }
);

on_both!(a_wrong_pin_is_noted_once_with_its_tablet, async |world: &World| {
    let (crew, admin, tablet) = (world.member("crew_1"), world.admin(), tablet(world).await);
    set_pin(&crew, PIN).await;
    let right = tablet.key(&crew, PIN).await;
    let wrong = tablet.key(&crew, "111112").await;
    for _ in 0..3 {
        let sent = tablet.sign(&crew, &wrong, report(world.county().set_1.pump));
        is(&tablet.send(sent).await, "pin-wrong");
    }
    let sent = tablet.sign(&crew, &right, report(world.county().set_1.pump));
    assert_eq!(tablet.send(sent).await["outcome"], "applied");
    let told: Vec<_> = events(&admin, "").await.into_iter().filter(|(what, ..)| what.starts_with("pin_")).collect();
    let member = json!(crew.person.id);
    assert_eq!(
        told,
        [
            ("pin_wrong".to_owned(), member.clone(), json!("Bay 2")),
            ("pin_set".to_owned(), member, Value::Null)
        ]
    );
});

on_both!(signing_out_and_the_way_of_signing_in_are_noted, async |world: &World| {
    let (crew, admin) = (world.member("crew_1"), world.admin());
    let phone = Device::enrol(world, &crew, None).await;
    noted(&admin, "phone_enrolled", crew.person.id).await;
    let (token, _) = signed_in(&crew).await;
    let out = || ask(world, reqwest::Method::DELETE, "/v1/session", Some(&token), Value::Null);
    assert_eq!(out().await.status, 204);
    assert_eq!(out().await.status, 204, "a second time ends nothing");
    noted(&admin, "signed_out", crew.person.id).await;
    assert_eq!(count(world, "signed_out").await, 1);
    // Who is sent out by somebody else has not signed out.
    let path = format!("/v1/members/{}/sign-out", crew.person.id);
    admin.post(&path, json!({})).await.ok();
    phone.get("/v1/session").await.refused(401, "session-ended");
    assert_eq!(count(world, "signed_out").await, 1);
    post(world, "/v1/session/refresh", None, json!({})).await.refused(401, "session-ended");
});
