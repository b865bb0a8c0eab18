//! The service was down while answers ran out.

use std::{cell::RefCell, collections::BTreeMap};

use chrono::{DateTime, TimeDelta, Utc};
use fullset::platform::{clock::Clock, db::Location};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{level, line, midnight};
use crate::world::{Client, Ground, Server, World, begins, ground, on_both, process, sql};

/// A service of its own on a fresh county, that can be stopped and started.
struct Service<'w> {
    world: &'w World,
    location: Location,
    clock: Clock,
    server: Option<Server>,
    /// Who has signed in since it was started.
    signed_in: RefCell<BTreeMap<String, Client>>,
}

impl<'w> Service<'w> {
    async fn start(world: &'w World) -> Self {
        let (location, clock) = (Ground::copy(world.engine), Clock::manual(begins()));
        let server = Some(Server::start(&location, &clock).await);
        Self {
            world,
            location,
            clock,
            server,
            signed_in: RefCell::default(),
        }
    }

    fn member(&self, name: &str) -> Client {
        let server = self.server.as_ref().expect("it runs");
        let mut signed_in = self.signed_in.borrow_mut();
        let client = signed_in
            .entry(name.to_owned())
            .or_insert_with(|| Client::new(&server.base, &self.world.http, &self.clock, &self.world.agency().people[name]));
        client.clone()
    }

    /// Stops it, and starts it again at an instant.
    async fn sleep_until(&mut self, at: DateTime<Utc>) {
        self.server.take().expect("it runs").stop().await;
        self.signed_in.borrow_mut().clear();
        self.clock.set(at);
        self.server = Some(Server::start(&self.location, &self.clock).await);
    }

    async fn end(mut self) {
        let (holds, words) = process::verify(&self.location);
        assert!(holds, "{words}");
        self.server.take().expect("it runs").stop().await;
        ground::forget(&self.location);
    }

    /// Has the pieces of the first engine run out one after the other: their service falls due on four days, both hoses end,
    /// and the grace of each service ends thirty days after it was due. Ten instants.
    async fn wear(&self) -> Vec<DateTime<Utc>> {
        let (county, admin, coordinator) = (self.world.county(), self.member("admin"), self.member("coordinator"));
        let agency = admin.find("/v1/agency").await;
        let mut policy = agency["policy"].clone();
        policy["overdue_grace_days"] = json!(30);
        admin
            .patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), json!({ "policy": policy }))
            .await
            .ok();
        let set = &county.set_1;
        let dates = [
            (set.ram, json!({ "last_service_on": "2025-11-27" })),
            (set.cutter, json!({ "last_service_on": "2025-11-28" })),
            (set.pump, json!({ "last_service_on": "2025-11-29" })),
            (set.spreader, json!({ "last_service_on": "2025-11-30" })),
            (set.second_hose, json!({ "made_on": "2016-12-05" })),
            (set.hose, json!({ "made_on": "2016-12-06" })),
        ];
        for (piece, edit) in dates {
            coordinator.edit(&format!("/v1/pieces/{piece}"), edit).await.ok();
        }
        let days = [(11, 27), (11, 28), (11, 29), (11, 30), (12, 5), (12, 6), (12, 27), (12, 28), (12, 29), (12, 30)];
        days.map(|(month, day)| midnight(month, day)).into()
    }

    /// When the clock settled a rig, oldest first, by the history of its record.
    async fn settled(&self, rig: Uuid) -> Vec<DateTime<Utc>> {
        let history = self.member("crew").find(&format!("/v1/rig-standings/{rig}/history")).await;
        let items = history["items"].as_array().unwrap().iter().filter(|item| item["kind"] == "clock.settle");
        let mut at: Vec<DateTime<Utc>> = items
            .map(|item| {
                assert_eq!(item["by"], json!({ "id": null, "name": "the clock", "role": "service" }));
                assert_eq!(item["at"], item["received_at"]);
                item["at"].as_str().unwrap().parse().unwrap()
            })
            .collect();
        at.reverse();
        at
    }

    async fn levels(&self, rig: Uuid) -> Vec<(DateTime<Utc>, String)> {
        let standing = self.member("crew").find(&format!("/v1/rigs/{rig}/standing")).await;
        let items = standing["items"].as_array().unwrap().iter().rev();
        items
            .map(|item| {
                assert_eq!(item["unknown_from"], Value::Null, "{item}");
                (item["from"].as_str().unwrap().parse().unwrap(), item["level"].as_str().unwrap().to_owned())
            })
            .collect()
    }

    async fn board(&self, at: DateTime<Utc>) -> Value {
        let at = at.to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
        self.member("crew").find(&format!("/v1/board?at={at}")).await
    }
}

on_both!(one_two_and_ten_lapses_of_a_rig_are_settled_each_at_its_own_instant, async |world: &World| {
    let county = world.county();
    for (asleep_until, expected) in [(midnight(11, 27), 1), (midnight(11, 28) + TimeDelta::hours(5), 2), (midnight(1, 10), 10)] {
        let mut service = Service::start(world).await;
        let instants = service.wear().await;
        service.sleep_until(asleep_until).await;
        assert_eq!(service.settled(county.engine_1).await, instants[..expected]);
        let mut levels = service.levels(county.engine_1).await;
        levels.retain(|(from, _)| *from > begins());
        let turns = [(midnight(12, 5), "limited".to_owned()), (midnight(12, 6), "none".to_owned())];
        assert_eq!(levels, turns[..if expected == 10 { 2 } else { 0 }]);
        if expected == 10 {
            let just_before = TimeDelta::microseconds(1);
            for (at, stood) in [
                (midnight(12, 5) - just_before, "full"),
                (midnight(12, 5), "limited"),
                (midnight(12, 6) - just_before, "limited"),
                (midnight(12, 6), "none"),
                (midnight(1, 9), "none"),
            ] {
                let board = service.board(at).await;
                assert_eq!(
                    (level(&board, county.engine_1).as_str(), &board["totals"]["not_known"]),
                    (stood, &json!(0)),
                    "{at}"
                );
            }
            let query = format!("by=rig&of={}&from=2026-12&until=2026-12", county.engine_1);
            let row = service.member("crew").find(&format!("/v1/availability?{query}")).await["rows"][0].clone();
            let hours = |word: &str| (row["total"][word].as_f64().unwrap() * row["total"]["known_seconds"].as_f64().unwrap() / 3600.0).round();
            assert_eq!(row["total"]["known_seconds"], row["total"]["seconds"]);
            assert_eq!((hours("full"), hours("limited"), hours("none")), (4.0 * 24.0, 24.0, 26.0 * 24.0));
        }
        service.end().await;
    }
});

on_both!(lapses_of_several_rigs_are_settled_in_the_order_of_their_instants, async |world: &World| {
    let county = world.county();
    let mut service = Service::start(world).await;
    service.wear().await;
    service.sleep_until(midnight(12, 7)).await;
    // The second engine loses a hose between the first engine's lapses.
    assert_eq!(service.settled(county.engine_2).await, [midnight(12, 1)]);
    assert_eq!(service.levels(county.engine_2).await.last().unwrap(), &(midnight(12, 1), "limited".to_owned()));
    for (at, first, second) in [
        (midnight(12, 1) - TimeDelta::seconds(1), "full", "full"),
        (midnight(12, 4), "full", "limited"),
        (midnight(12, 5), "limited", "limited"),
        (midnight(12, 6), "none", "limited"),
    ] {
        let board = service.board(at).await;
        assert_eq!(
            (level(&board, county.engine_1).as_str(), level(&board, county.engine_2).as_str()),
            (first, second),
            "{at}"
        );
    }
    let own = format!("agency = {} AND kind = 'clock.settle'", world.id(world.agency().id));
    let times = |column: &str| {
        sql::texts(
            &service.location,
            &format!(
                "SELECT {} AS t FROM journal WHERE {own} ORDER BY rev",
                sql::instant_text(&service.location, column)
            ),
        )
    };
    assert!(times("at").is_sorted() && times("at").len() == 7, "{:?}", times("at"));
    assert!(times("at_raw").iter().all(|noticed| noticed.starts_with("2026-12-07")), "{:?}", times("at_raw"));
    service.end().await;
});

on_both!(a_command_sent_right_after_a_start_finds_what_ran_out_settled, async |world: &World| {
    let county = world.county();
    let mut service = Service::start(world).await;
    service.wear().await;
    service.sleep_until(midnight(12, 6) + TimeDelta::hours(3)).await;
    let crew = service.member("crew");
    let revision = crew.take_out(county.set_1.ram, "bent").await.ok()["revision"].as_i64().unwrap();
    assert_eq!(service.settled(county.engine_1).await.len(), 6);
    let before = crew.find(&format!("/v1/board?revision={}", revision - 1)).await;
    assert_eq!(level(&before, county.engine_1), "none");
    let since = line(&crew.find("/v1/board").await, county.engine_1)["since"]
        .as_str()
        .unwrap()
        .parse::<DateTime<Utc>>();
    assert_eq!(since.unwrap(), midnight(12, 6), "and not when the command came");
    service.end().await;
});

on_both!(an_old_interval_past_its_end_reads_not_known_and_counts_in_no_share, async |world: &World| {
    let county = world.county();
    let mut service = Service::start(world).await;
    service.sleep_until(midnight(12, 3)).await;
    // As an earlier version left it: two days late, one state for all of the time.
    let rig = format!("rig = {}", world.id(county.engine_2));
    let [late, until] = ["2026-12-03T07:00:00Z", "2026-12-01T07:00:00Z"].map(|at| sql::instant(&service.location, at));
    sql::run(
        &service.location,
        &format!("UPDATE standing SET from_at = {late} WHERE {rig} AND until_at IS NULL"),
    );
    sql::run(
        &service.location,
        &format!("UPDATE standing SET until_at = {late} WHERE {rig} AND until_at = {until}"),
    );
    let settled = format!("agency = {} AND kind = 'clock.settle'", world.id(world.agency().id));
    sql::run(&service.location, &format!("UPDATE journal SET received_at = {late} WHERE {settled}"));
    let crew = service.member("crew");
    let board = service.board(midnight(12, 2)).await;
    let shown = line(&board, county.engine_2);
    assert_eq!(
        (&shown["level"], &shown["known"], &board["totals"]["not_known"]),
        (&json!("full"), &json!(false), &json!(1))
    );
    assert_eq!(
        shown["words"][0],
        "not known: the last answer has run out and the rig has not been judged since"
    );
    let path = format!("/v1/rig-standings/{}?at=2026-12-02T07:00:00Z", county.engine_2);
    assert_eq!(crew.find(&path).await["known"], json!(false));
    let sheet = crew.find(&format!("/v1/rigs/{}/sheet?at=2026-12-02T07:00:00Z", county.engine_2)).await;
    assert_eq!(sheet["capability"]["known"], json!(false));
    let standing = crew.find(&format!("/v1/rigs/{}/standing", county.engine_2)).await;
    let old = standing["items"].as_array().unwrap().iter().find(|item| item["level"] == "full").unwrap();
    assert_eq!(old["unknown_from"].as_str().unwrap().parse::<DateTime<Utc>>().unwrap(), midnight(12, 1));
    service.clock.set(midnight(12, 4));
    let query = format!("by=rig&of={}&from=2026-12&until=2026-12", county.engine_2);
    let row = service.member("crew").find(&format!("/v1/availability?{query}")).await["rows"][0].clone();
    assert_eq!(
        row["total"]["seconds"].as_i64().unwrap() - row["total"]["known_seconds"].as_i64().unwrap(),
        2 * 24 * 3600
    );
    // The chain of the journal was tampered with for this; it is not verified.
    service.server.take().unwrap().stop().await;
    ground::forget(&service.location);
});
