//! The change feed: a client that follows `next` ends equal to the service, whatever happened in between.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

use serde_json::{Value, json};
use uuid::Uuid;

use super::model::Model;
use crate::world::{Client, World, command, expecting, on_both};

/// A client's copy of the agency.
#[derive(Debug, Default)]
pub struct Replica {
    pub records: BTreeMap<(String, String), Value>,
    pub next: Option<String>,
    pub revision: i64,
}

impl Replica {
    /// Takes one page; answers whether there is more.
    pub async fn step(&mut self, client: &Client, limit: usize) -> bool {
        let since = self.next.as_ref().map(|token| format!("&since={token}")).unwrap_or_default();
        let page = client.find(&format!("/v1/changes?limit={limit}{since}")).await;
        let changes = page["changes"].as_array().expect("changes");
        assert!(changes.len() <= limit);
        let mut seen = BTreeSet::new();
        let mut last = 0;
        for change in changes {
            let (kind, id, rev) = (
                change["kind"].as_str().unwrap(),
                change["id"].as_str().unwrap(),
                change["rev"].as_i64().unwrap(),
            );
            assert!(seen.insert((kind, id)), "{kind} {id} is told twice on one page");
            assert!(rev >= last && rev <= page["revision"].as_i64().unwrap(), "{kind} {id} is out of order");
            last = rev;
            let key = (kind.to_owned(), id.to_owned());
            if change["gone"].is_null() {
                assert_eq!(change["record"]["rev"], json!(rev), "a record carries its own revision: {change}");
                let before = self.records.insert(key, change["record"].clone());
                assert!(before.is_none_or(|before| before["rev"].as_i64() <= Some(rev)), "{kind} {id} went back in time");
            } else {
                assert!(change["record"].is_null());
                self.records.remove(&key);
            }
        }
        self.next = page["next"].as_str().map(str::to_owned);
        self.revision = page["revision"].as_i64().expect("a revision");
        page["more"].as_bool().expect("more or not")
    }

    /// Follows the feed to its end.
    pub async fn follow(&mut self, client: &Client, limit: usize) {
        while self.step(client, limit).await {}
    }

    fn of_kind(&self, kind: &str) -> Vec<Value> {
        self.records
            .iter()
            .filter(|((of, _), _)| of == kind)
            .map(|(_, record)| record.clone())
            .collect()
    }
}

const KINDS: [(&str, &str); 15] = [
    ("agency", "agencies"),
    ("member", "members"),
    ("district", "districts"),
    ("station", "stations"),
    ("shop", "shops"),
    ("model", "models"),
    ("rig_class", "rig-classes"),
    ("rig", "rigs"),
    ("piece", "pieces"),
    ("tool_set", "tool-sets"),
    ("defect", "defects"),
    ("swap", "swaps"),
    ("ticket", "tickets"),
    ("capability", "capabilities"),
    ("import", "imports"),
];

/// The replica holds what the service lists, kind by kind.
pub async fn equals_the_lists(replica: &Replica, client: &Client) {
    let known: BTreeSet<&str> = KINDS.iter().map(|(kind, _)| *kind).collect();
    let told: BTreeSet<&str> = replica.records.keys().map(|(kind, _)| kind.as_str()).collect();
    assert!(told.is_subset(&known), "kinds that no list was compared for: {told:?}");
    for (kind, path) in KINDS {
        let mut listed = client.list(&format!("/v1/{path}")).await;
        listed.sort_by_key(|record| record["id"].as_str().unwrap().to_owned());
        assert_eq!(replica.of_kind(kind), listed, "{kind}");
    }
}

on_both!(a_snapshot_in_small_pages_is_what_the_lists_show, async |world: &World| {
    let crew = world.crew();
    for limit in [1, 2, 7, 2000] {
        let mut replica = Replica::default();
        replica.follow(&crew, limit).await;
        assert_eq!(replica.revision, crew.revision().await);
        equals_the_lists(&replica, &crew).await;
    }
});

on_both!(after_the_snapshot_only_what_has_changed_is_told, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let mut replica = Replica::default();
    replica.follow(&crew, 500).await;
    let token = replica.next.clone().unwrap();
    let nothing = crew.find(&format!("/v1/changes?since={token}")).await;
    assert_eq!((&nothing["changes"], &nothing["more"]), (&json!([]), &json!(false)));
    crew.take_out(county.set_1.ram, "bent").await.ok();
    crew.take_out(county.set_1.ram, "bent badly").await.ok();
    let changes = crew.find(&format!("/v1/changes?since={token}")).await["changes"].take();
    let told: Vec<&str> = changes.as_array().unwrap().iter().map(|change| change["kind"].as_str().unwrap()).collect();
    assert_eq!(told, ["capability", "piece"], "each once, at its latest state");
    let again = crew.find(&format!("/v1/changes?since={token}")).await["changes"].take();
    assert_eq!(again, changes, "a token may be used again");
});

on_both!(records_of_one_revision_are_not_lost_between_pages, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut replica = Replica::default();
    replica.follow(&coordinator, 500).await;
    // One command that touches more records than a page holds.
    coordinator
        .edit(&format!("/v1/stations/{}", county.station_2), json!({ "district": county.south }))
        .await
        .ok();
    replica.follow(&coordinator, 2).await;
    equals_the_lists(&replica, &coordinator).await;
});

on_both!(a_token_that_is_not_ones_own_asks_for_a_new_snapshot, async |world: &World| {
    let crew = world.crew();
    let own = crew.find("/v1/changes?limit=1").await["next"].as_str().unwrap().to_owned();
    let foreign = world.member_of(&world.ground.vale, "crew").find("/v1/changes?limit=1").await["next"]
        .as_str()
        .unwrap()
        .to_owned();
    crew.get(&format!("/v1/changes?since={own}")).await.ok();
    let (text, seal) = own.split_once('.').unwrap();
    let swapped = format!("{}.{seal}", foreign.split_once('.').unwrap().0);
    for token in [foreign.as_str(), "nonsense", "a.b", "", ".", &format!("{text}."), &swapped, &own[1..], "%00"] {
        let problem = crew.get(&format!("/v1/changes?since={token}")).await.refused(410, "resync-required");
        assert_eq!(problem["field"], "since", "{token}");
    }
});

on_both!(a_token_from_ahead_of_a_restored_service_asks_for_a_new_snapshot, async |world: &World| {
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let mut replica = Replica::default();
    replica.follow(&crew, 500).await;
    // The database is put back to an older copy: the last entry is gone.
    let own = world.id(world.agency().id);
    let older = replica.revision - 1;
    crate::world::sql::run(&world.location, &format!("UPDATE agency SET rev = {older} WHERE id = {own}"));
    crew.get(&format!("/v1/changes?since={}", replica.next.unwrap()))
        .await
        .refused(410, "resync-required");
});

async fn import(world: &World) -> String {
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\nI-2,hand pump,Dorvan HP,Engine 1\n";
    world.coordinator().import("", file.into(), &[]).await.ok()["id"].as_str().unwrap().to_owned()
}

on_both!(what_is_deleted_is_told_as_gone, async |world: &World| {
    let coordinator = world.coordinator();
    let import = import(world).await;
    let mut replica = Replica::default();
    replica.follow(&coordinator, 500).await;
    assert!(replica.of_kind("piece").iter().any(|piece| piece["tag"] == "I-1"));
    let token = replica.next.clone().unwrap();
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    let gone: Vec<Value> = coordinator.find(&format!("/v1/changes?since={token}")).await["changes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|change| change["gone"] == "deleted")
        .cloned()
        .collect();
    assert_eq!(gone.len(), 3, "two pieces and their model: {gone:?}");
    replica.follow(&coordinator, 2).await;
    equals_the_lists(&replica, &coordinator).await;
});

on_both!(what_is_deleted_in_the_midst_of_a_snapshot_is_told_as_gone, async |world: &World| {
    let coordinator = world.coordinator();
    let import = import(world).await;
    // Something comes after the import, so that the snapshot is not over when its pieces have been read.
    for n in 0..3 {
        coordinator
            .post("/v1/districts", json!({ "id": Uuid::now_v7(), "name": format!("West {n}") }))
            .await
            .ok();
    }
    let mut replica = Replica::default();
    while replica.step(&coordinator, 1).await {
        if replica.of_kind("piece").iter().any(|piece| piece["tag"] == "I-1") {
            break;
        }
    }
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    replica.follow(&coordinator, 4).await;
    equals_the_lists(&replica, &coordinator).await;
});

/// What one of the writers does next; deterministic for a seed.
struct Writer {
    client: Client,
    seed: u64,
    pieces: Vec<Uuid>,
    defects: Vec<Uuid>,
}

impl Writer {
    fn roll(&mut self, sides: usize) -> usize {
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.seed >> 33).expect("31 bits") % sides
    }

    async fn act(&mut self, n: usize) -> Value {
        let at = self.roll(self.pieces.len());
        let piece = self.pieces[at];
        match self.roll(6) {
            0 => command("piece.take_out", json!({ "id": piece, "reason": format!("stiff {n}") })),
            1 => {
                let rev = self.client.rev(&format!("/v1/pieces/{piece}")).await;
                expecting(command("piece.return", json!({ "id": piece, "note": "looked at" })), rev)
            }
            2 | 3 => {
                let id = Uuid::now_v7();
                self.defects.push(id);
                let severity = if self.roll(3) == 0 { "out_of_service" } else { "usable" };
                command(
                    "defect.report",
                    json!({ "id": id, "piece": piece, "what": format!("mark {n}"), "severity": severity }),
                )
            }
            roll if self.defects.is_empty() => command("piece.take_out", json!({ "id": piece, "reason": format!("stiff {n} {roll}") })),
            4 => {
                let at = self.roll(self.defects.len());
                command("defect.note", json!({ "id": self.defects[at], "text": format!("again {n}") }))
            }
            _ => {
                let at = self.roll(self.defects.len());
                let defect = self.defects[at];
                let rev = self.client.rev(&format!("/v1/defects/{defect}")).await;
                expecting(command("defect.close", json!({ "id": defect, "resolution": "put right" })), rev)
            }
        }
    }
}

on_both!(
    a_replica_followed_while_eight_write_equals_the_service_and_the_service_a_sequential_model,
    async |world: &World| {
        const WRITERS: usize = 8;
        const ACTS: usize = 25;
        let crew = world.crew();
        let pieces = crew.list("/v1/pieces").await;
        let mut model = Model::of(&pieces);
        let all: Vec<Uuid> = model.pieces.keys().copied().collect();
        let acknowledged = Mutex::new(BTreeMap::new());
        let writing = AtomicUsize::new(WRITERS);
        let writers = (0..WRITERS).map(|n| {
            let (acknowledged, writing) = (&acknowledged, &writing);
            // Few pieces each, and shared between neighbours, so that writers get in each other's way.
            let mine = all.iter().cycle().skip(n * 2).take(4).copied().collect();
            let mut writer = Writer {
                client: world.officer(),
                seed: n as u64 + 1,
                pieces: mine,
                defects: Vec::new(),
            };
            async move {
                for n in 0..ACTS {
                    let act = writer.act(n).await;
                    let answer = writer.client.send(vec![act.clone()]).await.ok()["answers"][0].take();
                    match answer["outcome"].as_str().unwrap() {
                        "applied" => drop(acknowledged.lock().unwrap().insert(answer["revision"].as_i64().unwrap(), act)),
                        other => assert!(["refused", "conflict"].contains(&other), "{answer}"),
                    }
                }
                writing.fetch_sub(1, Ordering::SeqCst);
            }
        });
        let mut replica = Replica::default();
        let reader = async {
            while writing.load(Ordering::SeqCst) > 0 {
                replica.step(&crew, 5).await;
            }
        };
        tokio::join!(futures_util::future::join_all(writers), reader);
        replica.follow(&crew, 5).await;
        assert_eq!(replica.revision, crew.revision().await);
        equals_the_lists(&replica, &crew).await;

        let acknowledged = acknowledged.into_inner().unwrap();
        assert!(acknowledged.len() > WRITERS * ACTS / 3, "{} commands were applied", acknowledged.len());
        for (rev, act) in &acknowledged {
            model.apply(*rev, act);
        }
        for record in replica.of_kind("piece") {
            assert_eq!(
                Model::piece(&record),
                model.pieces[&record["id"].as_str().unwrap().parse().unwrap()],
                "{record}"
            );
        }
        let defects: BTreeMap<Uuid, _> = replica
            .of_kind("defect")
            .iter()
            .map(|record| (record["id"].as_str().unwrap().parse().unwrap(), Model::defect(record)))
            .collect();
        assert_eq!(defects, model.defects);
    }
);
