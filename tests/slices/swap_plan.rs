//! The swap plan: what it promises, and that what it promises comes true.

mod published;

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, command, county::piece, on_both, on_rig, on_shelf};

async fn plan(client: &Client, query: &str) -> Value {
    client.find(&format!("/v1/swap-plan{query}")).await
}

fn moves(plan: &Value) -> Vec<(&str, &str)> {
    let moves = plan["moves"].as_array().unwrap();
    moves
        .iter()
        .map(|one| (one["tag"].as_str().unwrap(), one["rig_name"].as_str().unwrap()))
        .collect()
}

/// The plan as the command takes it, with new ids.
fn body(plan: &Value) -> Value {
    let moves: Vec<Value> = plan["moves"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| json!({ "swap": Uuid::now_v7(), "piece": one["piece"], "piece_rev": one["piece_rev"], "rig": one["rig"], "need": one["need"] }))
        .collect();
    json!({ "moves": moves })
}

async fn carry_out(client: &Client, plan: &Value) -> Reply {
    client.post("/v1/swap-plan", body(plan)).await
}

/// The words for a rig that stays as it is.
fn why(plan: &Value, rig: Uuid) -> &str {
    let stays = plan["unrestored"].as_array().unwrap();
    stays
        .iter()
        .find(|stays| stays["rig"] == json!(rig))
        .map_or("", |stays| stays["words"].as_str().unwrap())
}

on_both!(a_reserve_fills_the_gap_and_one_command_makes_the_swap, async |world: &World| {
    let (county, officer) = (world.county(), world.coordinator());
    assert_eq!(moves(&plan(&officer, "").await), [], "every rig that should be full is");
    officer.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let found = plan(&officer, "").await;
    assert_eq!(moves(&found), [("R-CUT", "Engine 1")]);
    let one = &found["moves"][0];
    assert_eq!((&one["need"], &one["need_name"]), (&json!("cut"), &json!("Cutter")));
    assert_eq!(one["distance_km"], json!(5.6));
    // 5.5597 km x 1.3 = 4.4911 miles of road: 0.65 + 1.70 x 4.4911 = 8.28 minutes by the published curve.
    assert_eq!(one["minutes"], json!(8.3));
    assert_eq!((&found["by"], &found["before"], &found["after"]), (&json!("rigs"), &json!(1.0), &json!(2.0)));
    assert!(
        found["proved"].as_bool().unwrap() && one["words"].as_str().unwrap().contains("reserve shelf of Station 2"),
        "{found}"
    );
    let answer = carry_out(&officer, &found).await.ok();
    assert_eq!(answer["record"]["piece"], json!(county.spare_cutter));
    officer.on_board(county.engine_1).await.is("full", &[]);
    assert_eq!(officer.list("/v1/swaps?state=open").await.len(), 1);
});

on_both!(a_rig_counts_only_when_all_its_gaps_are_filled, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    coordinator.take_out(county.set_1.ram, "bent").await.ok();
    let found = plan(&coordinator, "").await;
    assert_eq!(moves(&found), [], "the only other ram makes Engine 2 full");
    assert!(why(&found, county.engine_1).contains("no 3 pieces that could come"), "{found}");
    coordinator
        .apply(vec![piece(Uuid::now_v7(), "R-RAM", county.models.ram, on_shelf(county.station_3))])
        .await;
    let found = plan(&coordinator, "").await;
    assert_eq!(moves(&found), [("R-CUT", "Engine 1"), ("R-RAM", "Engine 1")]);
});

on_both!(
    a_rig_that_is_out_gives_what_it_carries_and_one_that_needs_its_tools_gives_nothing,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        coordinator.take_out(county.set_1.ram, "bent").await.ok();
        assert_eq!(moves(&plan(&coordinator, "").await), []);
        let path = format!("/v1/rigs/{}/take-out", county.engine_2);
        coordinator.post(&path, json!({ "reason": "at the workshop" })).await.ok();
        assert_eq!(moves(&plan(&coordinator, "").await), [], "nobody said that its tools are at hand");
        let found = plan(&coordinator, "?out=true").await;
        assert_eq!(moves(&found), [("E2-RAM", "Engine 1")]);
        assert_eq!(found["moves"][0]["donor_rig"], json!(county.engine_2));
        assert_eq!(why(&found, county.engine_2), "", "it is not wanted: {found}");
    }
);

on_both!(a_rig_that_has_come_to_need_what_it_could_spare_keeps_it, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let second = Uuid::now_v7();
    coordinator
        .apply(vec![piece(second, "E2-RAM2", county.models.ram, on_rig(county.engine_2))])
        .await;
    coordinator.take_out(county.set_1.ram, "bent").await.ok();
    let found = plan(&coordinator, "").await;
    assert_eq!(found["moves"][0]["donor_rig"], json!(county.engine_2));
    let other = if found["moves"][0]["piece"] == json!(second) {
        county.set_2.ram
    } else {
        second
    };
    coordinator.take_out(other, "bent as well").await.ok();
    let told = carry_out(&coordinator, &found).await.refused(409, "stale");
    assert_eq!(told["field"], "body.moves[0].piece");
    assert!(told["detail"].as_str().unwrap().contains("Engine 2 would drop"), "{told}");
});

on_both!(a_plan_that_the_world_has_overtaken_moves_nothing_at_all, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .apply(vec![piece(Uuid::now_v7(), "R-RAM", county.models.ram, on_shelf(county.station_1))])
        .await;
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    coordinator.take_out(county.set_2.ram, "bent").await.ok();
    let found = plan(&coordinator, "").await;
    assert_eq!(moves(&found), [("R-CUT", "Engine 1"), ("R-RAM", "Engine 2")]);
    // A crew has noted something on the ram meanwhile: its revision is another one.
    let ram = &found["moves"][1];
    coordinator
        .edit(&format!("/v1/pieces/{}", ram["piece"].as_str().unwrap()), json!({ "note": "slow to extend" }))
        .await
        .ok();
    let told = carry_out(&coordinator, &found).await.refused(409, "stale");
    assert_eq!(told["field"], "body.moves[1].piece");
    assert_eq!(told["current"]["note"], "slow to extend");
    assert!(coordinator.list("/v1/swaps").await.is_empty(), "nothing was moved, the cutter neither");
    // And a need that somebody has met.
    let found = plan(&coordinator, "").await;
    coordinator
        .apply(vec![piece(Uuid::now_v7(), "N-CUT", county.models.cutter, on_rig(county.engine_1))])
        .await;
    let told = carry_out(&coordinator, &found).await.refused(409, "stale");
    assert_eq!(told["field"], "body.moves[0].need");
    assert!(told["detail"].as_str().unwrap().contains("anew"), "{told}");
});

on_both!(the_same_plan_sent_twice_by_two_people_is_carried_out_once, async |world: &World| {
    let (county, one, two) = (world.county(), world.coordinator(), world.admin());
    one.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let found = plan(&one, "").await;
    let (first, second) = tokio::join!(carry_out(&one, &found), carry_out(&two, &found));
    assert!(first.done() != second.done(), "{first:?} {second:?}");
    let lost = if first.done() { second } else { first };
    lost.refused(409, "stale");
});

on_both!(no_second_piece_is_sent_after_one_that_is_on_its_way, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .apply(vec![piece(Uuid::now_v7(), "R-CUT-3", county.models.cutter, on_shelf(county.station_3))])
        .await;
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let mut sent = body(&plan(&coordinator, "").await);
    sent["on_the_way"] = json!(true);
    coordinator.post("/v1/swap-plan", sent).await.ok();
    assert_eq!(coordinator.capability(county.engine_1).await["level"], "limited", "it is not there yet");
    let found = plan(&coordinator, "").await;
    assert_eq!((moves(&found), &found["arriving"]), (vec![], &json!(1)));
    // Nor by one who decided without looking.
    let third = &coordinator
        .list("/v1/pieces")
        .await
        .into_iter()
        .find(|piece| piece["tag"] == "R-CUT-3")
        .unwrap();
    let unasked = json!({ "swap": Uuid::now_v7(), "piece": third["id"], "piece_rev": third["rev"], "rig": county.engine_1, "need": "cut" });
    let told = coordinator.post("/v1/swap-plan", json!({ "moves": [unasked] })).await.refused(409, "stale");
    assert_eq!(told["field"], "body.moves[0].need");
    assert!(told["detail"].as_str().unwrap().contains("on its way"), "{told}");
});

on_both!(a_piece_is_sent_once_and_one_bad_move_keeps_all_back, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let planned = body(&plan(&coordinator, "").await)["moves"][0].clone();
    let mut again = planned.clone();
    again["swap"] = json!(Uuid::now_v7());
    for second in [planned.clone(), again] {
        let told = coordinator.post("/v1/swap-plan", json!({ "moves": [planned, second] })).await;
        assert_eq!(
            (told.status, told.json["field"].as_str().map(|field| &field[..14])),
            (409, Some("body.moves[1].")),
            "{}",
            told.text
        );
    }
    assert!(coordinator.list("/v1/swaps").await.is_empty());
    coordinator.post("/v1/swap-plan", json!({ "moves": [] })).await.refused(422, "field-invalid");
});

on_both!(pieces_that_do_only_together_are_brought_together, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.spare_cutter, "blade chipped").await.ok();
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    assert_eq!(
        moves(&plan(&coordinator, "").await),
        [],
        "the cutter of the other family runs on no line aboard"
    );
    let hookup = json!({ "coupling": "flat-face single", "tool_coupling": "twin-line", "fluid": "mineral oil", "pressure": { "value": 10400, "unit": "psi" } });
    let model = Uuid::now_v7();
    let adapter = json!({ "id": model, "name": "Kessim A", "kind": "adapter", "hookup": hookup, "ratings": {} });
    coordinator
        .apply(vec![
            command("model.add", adapter),
            piece(Uuid::now_v7(), "R-ADAPT", model, on_shelf(county.station_3)),
        ])
        .await;
    let found = plan(&coordinator, "").await;
    let mut planned = moves(&found);
    planned.sort_unstable();
    assert_eq!(planned, [("R-ADAPT", "Engine 1"), ("R-TWIN", "Engine 1")]);
    assert_eq!((&found["proved"], &found["undecided"]), (&json!(true), &json!([])));
    carry_out(&coordinator, &found).await.ok();
    coordinator.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(a_move_that_the_asker_may_not_start_names_who_may, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let asked = async |client: &Client| plan(client, "").await["moves"][0]["ask"].clone();
    assert_eq!(asked(&coordinator).await, Value::Null);
    assert_eq!(asked(&officer).await, Value::Null);
    let words = json!("an officer or chief of Station 1, or the coordinator");
    assert_eq!(asked(&world.crew()).await["words"], words, "a crew starts no plan");
    let member = format!("/v1/members/{}", officer.person.id);
    world.admin().edit(&member, json!({ "station": county.station_2 })).await.ok();
    // Another reach ends the sign-in; the officer signs in again.
    world.pass(TimeDelta::minutes(15));
    let ask = asked(&officer).await;
    assert_eq!((&ask["words"], &ask["station"]), (&words, &json!(county.station_1)));
    assert_eq!(ask["roles"], json!(["officer", "chief", "coordinator", "admin"]));
    carry_out(&officer, &plan(&officer, "").await).await.refused(403, "out-of-reach");
});

on_both!(only_rigs_of_the_district_are_mended, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let (north, south) = (format!("?district={}", county.north), format!("?district={}", county.south));
    assert_eq!(moves(&plan(&coordinator, &north).await).len(), 1);
    assert_eq!(moves(&plan(&coordinator, &south).await).len(), 0);
    coordinator
        .get(&format!("/v1/swap-plan?district={}", Uuid::now_v7()))
        .await
        .refused(404, "not-found");
});

/// A small generator, so that a failure can be run again: xorshift64.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(n).unwrap()).unwrap()
    }
}

async fn levels(client: &Client) -> Vec<(String, String)> {
    let all = client.list("/v1/rig-standings").await;
    all.iter()
        .map(|rig| (rig["id"].as_str().unwrap().to_owned(), rig["level"].as_str().unwrap().to_owned()))
        .collect()
}

on_both!(what_a_plan_promises_comes_true_whatever_is_broken, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let m = &county.models;
    let mut dice = Dice(0x5EED_0003);
    let mut loose: Vec<Value> = Vec::new();
    for n in 0..6 {
        let model = [m.ram, m.hose, m.pump, m.spreader, m.cutter, m.combi][n];
        let place = on_shelf([county.station_1, county.station_2, county.station_3][dice.below(3)]);
        loose.push(piece(Uuid::now_v7(), &format!("L-{n}"), model, place));
    }
    // A third engine with a surplus, so that rigs can give.
    let engine_3 = Uuid::now_v7();
    let rig = json!({ "id": engine_3, "name": "Engine 3", "station": county.station_3, "rig_class": county.engine_class });
    loose.push(command("rig.add", rig));
    for (n, model) in [m.pump, m.hose, m.hose, m.hose, m.spreader, m.spreader, m.cutter, m.cutter, m.ram]
        .into_iter()
        .enumerate()
    {
        loose.push(piece(Uuid::now_v7(), &format!("E3-{n}"), model, on_rig(engine_3)));
    }
    coordinator.apply(loose).await;
    let (mut made, mut gave) = (0, 0);
    for round in 0..14 {
        let aboard: Vec<Value> = coordinator.list("/v1/pieces?state=in_service").await;
        let broken = &aboard[dice.below(aboard.len())];
        coordinator.take_out(broken["id"].as_str().unwrap().parse().unwrap(), "broken").await.ok();
        let before = levels(&coordinator).await;
        let found = plan(&coordinator, "").await;
        let gaps = found["restored"].as_array().unwrap();
        let planned = found["moves"].as_array().unwrap();
        if planned.is_empty() {
            assert_eq!(found["before"], found["after"], "round {round}");
            continue;
        }
        carry_out(&coordinator, &found).await.ok();
        let after = levels(&coordinator).await;
        for ((rig, was), (_, is)) in before.iter().zip(&after) {
            if gaps.iter().any(|restored| restored["rig"] == json!(rig)) {
                assert_eq!(is, "full", "round {round}: the plan promised it: {found}");
            } else {
                let rank = |level: &str| ["none", "limited", "full"].iter().position(|known| *known == level).unwrap();
                assert!(rank(is) >= rank(was), "round {round}: a rig dropped from {was} to {is}: {found}");
            }
        }
        let full = after.iter().filter(|(_, level)| level == "full").count();
        assert_eq!(found["after"].as_f64().unwrap(), f64::from(u32::try_from(full).unwrap()), "round {round}");
        let again = plan(&coordinator, "").await;
        assert_eq!(moves(&again), [], "round {round}: the first plan was the best");
        made += planned.len();
        gave += planned.iter().filter(|one| !one["donor_rig"].is_null()).count();
    }
    assert!(made >= 4, "only {made} moves came about: the test tests too little");
    assert!(gave >= 1, "no rig ever gave a piece: the test tests too little");
});

on_both!(
    reserve_rigs_and_rigs_that_are_out_take_part_only_when_somebody_says_so,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let surplus = Uuid::now_v7();
        coordinator
            .apply(vec![piece(surplus, "E2-CUT2", county.models.cutter, on_rig(county.engine_2))])
            .await;
        coordinator.take_out(county.spare_cutter, "blade chipped").await.ok();
        coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
        let two = format!("/v1/rigs/{}", county.engine_2);
        let duty = async |duty: &str| coordinator.edit(&two, json!({ "duty": duty, "reason": "from today" })).await.ok();
        let givers = async |query: &str| {
            let found = plan(&coordinator, query).await;
            moves(&found).into_iter().map(|(tag, rig)| format!("{tag} to {rig}")).collect::<Vec<_>>()
        };
        assert_eq!(givers("").await.len(), 1, "a front-line rig gives what it can spare");
        duty("ready_reserve").await;
        assert_eq!(givers("").await, [""; 0], "a ready reserve stands in with what it has");
        assert_eq!(givers("?reserves=true").await.len(), 1);
        let found = plan(&coordinator, "").await;
        assert_eq!(found["before"], json!(0.0), "it is no full rig of the day: {found}");
        // At the mechanic its tools may not be at hand, whatever it is there for.
        for kind in ["ready_reserve", "stripped_reserve", "front_line"] {
            duty(kind).await;
            let out = json!({ "reason": "brakes", "at": "mechanic" });
            coordinator.post(&format!("{two}/take-out"), out).await.ok();
            assert_eq!(givers("").await, [""; 0], "{kind}");
            assert_eq!(givers("?out=true").await.len(), 1, "{kind}");
            let rev = coordinator.rev(&two).await;
            coordinator.post_on(&format!("{two}/put-back"), rev, json!({})).await.ok();
        }
        coordinator
            .post(&format!("{two}/take-out"), json!({ "reason": "fair", "at": "lent" }))
            .await
            .ok();
        assert_eq!(givers("?out=true&reserves=true").await, [""; 0], "a lent rig is somebody else's");
        let rev = coordinator.rev(&two).await;
        coordinator.post_on(&format!("{two}/put-back"), rev, json!({})).await.ok();
        // A stripped reserve needs none of its tools: even its last cutter may go, and it is carried out so.
        coordinator.take_out(surplus, "handle loose").await.ok();
        duty("stripped_reserve").await;
        let found = plan(&coordinator, "").await;
        assert_eq!(moves(&found), [("E2-CUT", "Engine 1")]);
        assert_eq!(found["moves"][0]["leaves"], "Engine 2, which is not in the front line, goes without it");
        carry_out(&coordinator, &found).await.ok();
        coordinator.on_board(county.engine_1).await.is("full", &[]);
    }
);

on_both!(nothing_is_brought_to_a_reserve_rig_that_nobody_asked_for, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    let one = format!("/v1/rigs/{}", county.engine_1);
    for (duty, usually, said) in [("front_line", 1, 1), ("ready_reserve", 0, 1), ("stripped_reserve", 0, 0)] {
        coordinator.edit(&one, json!({ "duty": duty, "reason": "from today" })).await.ok();
        for (query, wanted) in [("", usually), ("?reserves=true&out=true", said)] {
            let found = plan(&coordinator, query).await;
            assert_eq!((moves(&found).len(), &found["mendable"]), (wanted, &json!(wanted)), "{duty} {query}: {found}");
        }
    }
});
