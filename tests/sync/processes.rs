//! Several server processes on one PostgreSQL: what one writes, all of them know.

use std::{
    sync::atomic::{AtomicBool, Ordering},
    time::Duration,
};

use chrono::{TimeZone as _, Utc};
use serde_json::json;
use uuid::Uuid;

use super::live;
use crate::world::{Engine, Server, World, on, soon, sql};

#[test]
fn a_write_at_one_server_is_read_and_told_at_the_other_within_a_second() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let (here, there) = (world.crew(), world.member_at(&second, world.agency(), "crew"));
        let ram = world.county().set_1.ram;
        let mut stream = live::open(&there).await;
        stream.until(there.revision().await).await;
        for n in 0..5 {
            let revision = here.take_out(ram, &format!("bent {n}")).await.ok()["revision"].as_i64().unwrap();
            assert_eq!(
                there.piece(ram).await["state_reason"],
                json!(format!("bent {n}")),
                "read at the other server at once"
            );
            assert_eq!(there.find("/v1/board").await["revision"], json!(revision));
            stream.until(revision).await;
        }
        second.stop().await;
    });
}

#[test]
fn a_command_sent_to_two_servers_acts_once() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let (here, there) = (world.crew(), world.member_at(&second, world.agency(), "crew"));
        let before = world.journal_length();
        for n in 0..10 {
            let report = crate::world::command(
                "defect.report",
                json!({ "id": Uuid::now_v7(), "piece": world.county().set_1.pump, "what": format!("mark {n}"), "class": "deformation", "severity": "usable" }),
            );
            let (one, two) = tokio::join!(here.send(vec![report.clone()]), there.send(vec![report]));
            let (one, two) = (one.ok(), two.ok());
            let mut outcomes = [one["answers"][0]["outcome"].as_str().unwrap(), two["answers"][0]["outcome"].as_str().unwrap()];
            outcomes.sort_unstable();
            assert_eq!(outcomes, ["applied", "repeated"]);
            assert_eq!(one["answers"][0]["revision"], two["answers"][0]["revision"]);
        }
        assert_eq!(world.journal_length(), before + 10);
        second.stop().await;
    });
}

#[test]
fn the_last_reserve_goes_to_one_rig_whichever_server_is_asked() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let county = world.county();
        let (one, two) = (world.member("crew_1"), world.member_at(&second, world.agency(), "crew_2"));
        let (first, other) = tokio::join!(
            one.swap(county.engine_1, county.spare_cutter, "cutter"),
            two.swap(county.engine_2, county.spare_cutter, "cutter"),
        );
        assert_ne!(first.done(), other.done(), "exactly one has it");
        let lost = if first.done() { other } else { first };
        lost.refused(409, "rule-broken");
        second.stop().await;
    });
}

#[test]
fn the_clocks_of_two_servers_act_once() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let there = world.member_at(&second, world.agency(), "crew");
        let engine = world.county().engine_2;
        world.clock.set(Utc.with_ymd_and_hms(2026, 12, 1, 7, 0, 0).unwrap());
        soon("Engine 2 is no longer full", async || {
            (there.on_board(engine).await.level == "limited").then_some(())
        })
        .await;
        // Both clocks have looked by the time that the other agency's rig, which is due at the same instant, has fallen too.
        let neighbour = world.member_at(&second, &world.ground.vale, "crew");
        let theirs = world.ground.vale.county.engine_2;
        soon("the other agency's Engine 2 is no longer full", async || {
            (neighbour.on_board(theirs).await.level == "limited").then_some(())
        })
        .await;
        assert_eq!(sql::number(&world.location, "SELECT count(*) AS n FROM journal WHERE kind = 'clock.settle'"), 2);
        second.stop().await;
    });
}

#[test]
fn a_model_that_was_changed_at_one_server_is_judged_by_at_the_other() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let county = world.county();
        let (here, there) = (world.coordinator(), world.member_at(&second, world.agency(), "coordinator"));
        let shop = world.member_at(&second, world.agency(), "shop");
        // The other server has looked at the catalogue before.
        there.take_out(county.set_1.ram, "bent").await.ok();
        let rev = there.rev(&format!("/v1/pieces/{}", county.set_1.ram)).await;
        shop.put_back(county.set_1.ram, rev, "straightened").await.ok();
        there.on_board(county.engine_1).await.is("full", &[]);
        let hookup = json!({ "coupling": "twin-line", "fluid": "mineral oil", "pressure": { "value": 10400, "unit": "psi" } });
        here.edit(&format!("/v1/models/{}", county.models.cutter), json!({ "hookup": hookup }))
            .await
            .ok();
        let words = ["cutter E1-CUT: coupling twin-line does not mate with flat-face single"];
        there.on_board(county.engine_1).await.is("limited", &words);
        there.report_as(county.set_1.pump, "seeps", "deformation", "usable").await.ok();
        there.take_out(county.set_1.ram, "bent").await.ok();
        let rev = there.rev(&format!("/v1/pieces/{}", county.set_1.ram)).await;
        shop.put_back(county.set_1.ram, rev, "straightened").await.ok();
        there.on_board(county.engine_1).await.is("limited", &words);
        second.stop().await;
    });
}

#[test]
fn news_from_another_server_is_told_while_this_one_is_busy_for_somebody_else() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let (busy, quiet) = (world.crew(), world.member_of(&world.ground.vale, "crew"));
        let elsewhere = world.member_at(&second, &world.ground.vale, "crew");
        let done = AtomicBool::new(false);
        let noise = async {
            while !done.load(Ordering::SeqCst) {
                busy.take_out(world.county().set_1.ram, "bent").await.ok();
                tokio::time::sleep(Duration::from_millis(50)).await;
            }
        };
        let listening = async {
            let mut stream = live::open(&quiet).await;
            stream.until(quiet.revision().await).await;
            let revision = elsewhere.take_out(world.ground.vale.county.set_1.ram, "bent").await.ok()["revision"]
                .as_i64()
                .unwrap();
            stream.until(revision).await;
            done.store(true, Ordering::SeqCst);
        };
        tokio::join!(noise, listening);
        second.stop().await;
    });
}
