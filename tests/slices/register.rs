//! The register as a file: read in as it comes out of a spreadsheet, undone, written out again.

use std::{collections::BTreeSet, path::Path};

use serde_json::{Value, json};
use uuid::Uuid;

use super::walk_through::Story;
use crate::world::{Client, World, acts::id_of, on_both, soon};

fn file(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("published/data/register").join(name);
    std::fs::read(&path).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn expected() -> Value {
    serde_json::from_slice(&file("expected.json")).expect("it is JSON")
}

fn lines(refused: &Value) -> BTreeSet<u64> {
    refused
        .as_array()
        .expect("refusals")
        .iter()
        .map(|row| row["line"].as_u64().expect("a line"))
        .collect()
}

/// The coordinator of an agency that has nothing yet.
fn newcomer(world: &World) -> Client {
    world.member_of(&world.ground.bare, "coordinator")
}

on_both!(a_dry_run_tells_every_rows_fate_and_writes_nothing, async |world: &World| {
    let coordinator = newcomer(world);
    let before = coordinator.revision().await;
    let shown = coordinator.import("?dry_run=true", file("messy.csv"), &[]).await.ok();
    let expected = expected();
    assert_eq!((&shown["dry_run"], &shown["accepted"]), (&json!(true), &expected["messy"]["imported"]));
    assert_eq!(lines(&shown["refused"]), lines(&expected["messy"]["refused"]));
    assert_eq!(shown["creates"]["pieces"], expected["messy"]["imported"]);
    let fates = |fate: &str| shown["rows"].as_array().unwrap().iter().filter(|row| row["fate"] == fate).count();
    assert_eq!((fates("new"), fates("refused")), (295, 9));
    // A refused row is handed out as it stands, to be corrected and read again.
    let cells = |row: &&Value| (row["fate"] == "refused").then(|| row["cells"].as_array().map(Vec::len));
    let handed: Vec<_> = shown["rows"].as_array().unwrap().iter().filter_map(|row| cells(&row)).collect();
    assert!(
        handed.len() == 9 && handed.iter().all(|cells| cells.is_some_and(|cells| cells >= 21)),
        "{handed:?}"
    );
    assert_eq!(coordinator.revision().await, before);
    assert_eq!(coordinator.list("/v1/pieces").await.len(), 0);
});

on_both!(a_file_out_of_a_spreadsheet_is_read_in_but_for_the_rows_that_are_wrong, async |world: &World| {
    let (coordinator, expected) = (newcomer(world), expected());
    let read = coordinator.import("?file_name=tools.csv", file("messy.csv"), &[]).await;
    assert_eq!(read.status, 201, "{}", read.text);
    let read = read.ok();
    assert_eq!(lines(&read["refused"]), lines(&expected["messy"]["refused"]));
    for row in read["refused"].as_array().unwrap() {
        assert!(!row["reason"].as_str().unwrap().is_empty(), "{row}");
    }
    for (path, count) in [
        ("pieces", &expected["messy"]["imported"]),
        ("stations", &expected["stations"]),
        ("districts", &expected["districts"]),
        ("rigs", &expected["rigs"]),
    ] {
        assert_eq!(json!(coordinator.list(&format!("/v1/{path}")).await.len()), *count, "{path}");
    }
    let kept = coordinator.find(&format!("/v1/imports/{}", id_of(&read))).await;
    assert_eq!(
        (&kept["file_name"], &kept["by"], &kept["undone_at"]),
        (&json!("tools.csv"), &coordinator.person.told(), &json!(null))
    );
});

on_both!(a_clean_file_is_read_in_whole, async |world: &World| {
    let (coordinator, expected) = (newcomer(world), expected());
    let read = coordinator.import("", file("clean.csv"), &[]).await.ok();
    assert_eq!(
        (&read["accepted"], &read["out_of_service"], &read["refused"]),
        (&expected["pieces"], &expected["out_of_service"], &json!([]))
    );
    assert_eq!(
        json!(coordinator.list("/v1/pieces?state=out_of_service").await.len()),
        expected["out_of_service"]
    );
});

on_both!(a_file_sent_again_under_its_key_is_read_in_once, async |world: &World| {
    let coordinator = newcomer(world);
    let key = [("Idempotency-Key", Uuid::now_v7().to_string())];
    let first = coordinator.import("", file("clean.csv"), &key).await.ok();
    let revision = coordinator.revision().await;
    assert_eq!(coordinator.import("", file("clean.csv"), &key).await.ok(), first);
    coordinator.import("", file("messy.csv"), &key).await.refused(409, "id-reused");
    assert_eq!(coordinator.revision().await, revision);
});

on_both!(what_is_in_the_register_already_is_unchanged, async |world: &World| {
    let coordinator = newcomer(world);
    coordinator.import("", file("clean.csv"), &[]).await.ok();
    let again = coordinator.import("?dry_run=true", file("clean.csv"), &[]).await.ok();
    assert_eq!(
        (&again["accepted"], &again["unchanged"], &again["refused"]),
        (&json!(0), &json!(304), &json!([]))
    );
    let fates = again["rows"].as_array().unwrap().iter().filter(|row| row["fate"] == "unchanged").count();
    assert_eq!(fates, 304);
    // Read in all the same, it changes no piece; what differs is named and refused.
    let revision = async || {
        coordinator
            .list("/v1/pieces")
            .await
            .iter()
            .map(|piece| piece["rev"].clone())
            .collect::<Vec<_>>()
    };
    let before = revision().await;
    coordinator.import("", file("clean.csv"), &[]).await.ok();
    assert_eq!(revision().await, before);
    let text = String::from_utf8(file("clean.csv")).unwrap().replace("B22-86319", "B22-86310");
    let other = coordinator.import("?dry_run=true", text.into_bytes(), &[]).await.ok();
    assert_eq!((&other["unchanged"], &other["refused"][0]["code"]), (&json!(303), &json!("duplicate-tag")));
    assert!(other["refused"][0]["reason"].as_str().unwrap().ends_with("with another serial"), "{other}");
});

on_both!(an_import_that_is_undone_leaves_nothing_and_may_be_done_again, async |world: &World| {
    let coordinator = newcomer(world);
    let import = id_of(&coordinator.import("", file("messy.csv"), &[]).await.ok());
    let path = format!("/v1/imports/{import}");
    let undone = coordinator.post(&format!("{path}/undo"), json!({})).await.record();
    assert_eq!(undone["undone_by"], coordinator.person.told());
    for of in ["pieces", "rigs", "stations", "districts", "models", "shops", "rig-standings", "piece-standings"] {
        assert_eq!(coordinator.list(&format!("/v1/{of}")).await, Vec::<Value>::new(), "{of}");
    }
    assert_eq!(coordinator.find("/v1/board").await["districts"], json!([]));
    coordinator.post(&format!("{path}/undo"), json!({})).await.refused(409, "rule-broken");
    assert_eq!(coordinator.import("", file("messy.csv"), &[]).await.ok()["accepted"], json!(295));
});

/// Reads two pumps into the county, one of them onto Engine 1; answers the import and the pump's id.
async fn two_pumps(world: &World) -> (Uuid, Uuid) {
    let coordinator = world.coordinator();
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\nI-2,ram,Dorvan R63,Engine 1\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    (import, id_of(&coordinator.list("/v1/pieces?q=I-1").await[0]))
}

on_both!(an_import_whose_pieces_were_worked_with_is_not_undone, async |world: &World| {
    let (import, pump) = two_pumps(world).await;
    let undo = format!("/v1/imports/{import}/undo");
    let defect = id_of(&world.crew().report_as(pump, "handle loose", "deformation", "usable").await.record());
    world.coordinator().post(&undo, json!({})).await.refused(409, "rule-broken");
    assert_eq!(world.coordinator().piece(pump).await["tag"], "I-1");
    assert_eq!(world.coordinator().find(&format!("/v1/defects/{defect}")).await["piece"], json!(pump));
});

on_both!(an_import_whose_places_are_leant_on_is_not_undone, async |world: &World| {
    let agency = &world.ground.bare;
    let (coordinator, admin) = (newcomer(world), world.member_of(agency, "admin"));
    let first = id_of(&coordinator.import("", file("clean.csv"), &[]).await.ok());
    let (station, rig) = (id_of(&coordinator.list("/v1/stations").await[0]), id_of(&coordinator.list("/v1/rigs").await[0]));
    let undo = format!("/v1/imports/{first}/undo");
    let member = format!("/v1/members/{}", agency.people["crew"].id);
    admin.edit(&member, json!({ "station": station })).await.ok();
    coordinator.post(&undo, json!({})).await.refused(409, "rule-broken");
    admin.edit(&member, json!({ "station": null })).await.ok();
    let set = Uuid::now_v7();
    let home = crate::world::on_rig(rig);
    coordinator
        .post("/v1/tool-sets", json!({ "id": set, "name": "Set A", "home": home }))
        .await
        .ok();
    coordinator.post(&undo, json!({})).await.refused(409, "rule-broken");
    coordinator.edit(&format!("/v1/tool-sets/{set}"), json!({ "home": null })).await.ok();
    coordinator.post(&undo, json!({})).await.ok();
});

on_both!(an_import_whose_pieces_were_taken_out_is_not_undone, async |world: &World| {
    let (import, pump) = two_pumps(world).await;
    world.crew().take_out(pump, "handle loose").await.ok();
    world
        .coordinator()
        .post(&format!("/v1/imports/{import}/undo"), json!({}))
        .await
        .refused(409, "rule-broken");
});

on_both!(an_undone_import_lowers_the_rigs_that_its_pieces_had_lifted, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.ram, "bent").await.ok();
    let out = "ram E1-RAM: out of service since 2026-11-25 07:00, “bent”";
    coordinator.on_board(county.engine_1).await.is("limited", &[out]);
    let file = "Asset tag,Kind,Model,Assigned to,Pressure,Fluid,Coupling\nI-2,ram,Dorvan R63,Engine 1,10400 psi,mineral oil,flat-face single\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    coordinator.on_board(county.engine_1).await.is("full", &[]);
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    coordinator.on_board(county.engine_1).await.is("limited", &[out]);
});

on_both!(the_register_written_out_reads_back_as_the_same_register, async |world: &World| {
    let coordinator = newcomer(world);
    let import = id_of(&coordinator.import("", file("clean.csv"), &[]).await.ok());
    let first = coordinator.get("/v1/register.csv").await;
    assert_eq!(first.headers["content-type"], "text/csv; charset=utf-8");
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    let back = coordinator.import("", first.text.clone().into_bytes(), &[]).await.ok();
    assert_eq!((&back["accepted"], &back["refused"]), (&json!(304), &json!([])));
    assert_eq!(coordinator.get("/v1/register.csv").await.text, first.text);
});

on_both!(who_lends_a_piece_and_a_month_of_make_survive_the_file, async |world: &World| {
    let coordinator = newcomer(world);
    let file = "Asset tag,Kind,Model,Assigned to,Station,District,Date of make,Lent by\n\
        L-1,hose,Dorvan H40,Engine 1,Station 1,North,May 2019,Kessim dealer (due 2026-12-24)\n\
        L-2,hose,Dorvan H40,Engine 1,Station 1,North,2019-05-14,\n";
    let lent = async || {
        let pieces = coordinator.list("/v1/pieces?q=L-").await;
        pieces
            .iter()
            .map(|piece| (piece["lent_by"].clone(), piece["made_on"].clone()))
            .collect::<Vec<_>>()
    };
    let expected = [
        (json!({ "name": "Kessim dealer", "due_on": "2026-12-24" }), json!("2019-05")),
        (json!(null), json!("2019-05-14")),
    ];
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    assert_eq!(lent().await, expected);
    let out = coordinator.get("/v1/register.csv").await.text;
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    coordinator.import("", out.clone().into_bytes(), &[]).await.ok();
    assert_eq!(lent().await, expected, "{out}");
});

on_both!(a_piece_that_the_file_calls_retired_is_nowhere_aboard, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let file = "Asset tag,Kind,Model,Assigned to,Status\nI-1,ram,Dorvan R9,Engine 1,retired\n";
    coordinator.import("", file.into(), &[]).await.ok();
    let piece = coordinator.list("/v1/pieces?q=I-1").await[0].clone();
    assert_eq!((&piece["state"], &piece["place"]), (&json!("retired"), &json!({ "at": "retired" })));
    assert_eq!(coordinator.list(&format!("/v1/pieces?rig={}&q=I-1", county.engine_1)).await.len(), 0);
});

on_both!(what_else_stood_in_a_file_is_told_in_no_history, async |world: &World| {
    let (coordinator, crew) = (world.coordinator(), world.crew());
    let file = "Asset tag,Kind,Model,Assigned to,Paid for it\nI-1,ram,Dorvan R9,Engine 1,4711\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    let piece = coordinator.list("/v1/pieces?q=I-1").await[0]["id"].as_str().unwrap().to_owned();
    for path in [format!("/v1/pieces/{piece}/history"), format!("/v1/imports/{import}/history")] {
        let told = crew.get(&path).await.text;
        assert!(told.contains("\"file_name\"") && !told.contains("\"file\""), "{path}: {told}");
    }
});

on_both!(only_who_keeps_the_register_reads_a_file_in, async |world: &World| {
    for name in ["crew", "officer", "chief", "shop"] {
        for query in ["", "?dry_run=true"] {
            world.member(name).import(query, file("clean.csv"), &[]).await.refused(403, "not-allowed");
        }
    }
    assert_eq!(world.coordinator().list("/v1/imports").await.len(), 0);
});

on_both!(a_file_that_is_no_register_is_refused_and_never_breaks_the_service, async |world: &World| {
    let coordinator = newcomer(world);
    let before = coordinator.revision().await;
    let binary: Vec<u8> = (0..=255).cycle().take(5000).collect();
    let files: [Vec<u8>; 7] = [
        Vec::new(),
        b"\n\n\n".to_vec(),
        b"%PDF-1.7 nothing of use".to_vec(),
        binary,
        vec![0; 3000],
        b"just words".to_vec(),
        "a,".repeat(100_000).into_bytes(),
    ];
    for (n, file) in files.into_iter().enumerate() {
        for query in ["?dry_run=true", ""] {
            let reply = coordinator.import(query, file.clone(), &[]).await;
            assert_eq!(reply.status, 422, "file {n}: {}", reply.text);
            assert_eq!(reply.refused(422, "file-unreadable")["field"], "body.file", "file {n}");
        }
    }
    for query in ["?dry_run=perhaps", "?create_places=some", "?date_order=upside%20down", "?zz=1"] {
        coordinator.import(query, file("clean.csv"), &[]).await.refused(400, "query-invalid");
    }
    let columns = |text: &str| [("X-Fullset-Columns", text.to_owned())];
    coordinator.import("", file("clean.csv"), &columns("{")).await.refused(400, "body-unreadable");
    coordinator.import("", file("clean.csv"), &columns("[]")).await.refused(422, "field-invalid");
    coordinator.import("", vec![b'x'; 9 * 1024 * 1024], &[]).await.refused(413, "body-too-large");
    assert_eq!(coordinator.revision().await, before);
});

on_both!(
    a_row_with_what_no_database_keeps_is_refused_or_read_but_never_breaks_the_service,
    async |world: &World| {
        let coordinator = newcomer(world);
        let long = "x".repeat(5000);
        for cell in ["I-\u{0}1", "\u{feff}I-1", "I-1\u{1}", long.as_str(), "=1+1", "\u{1F692}"] {
            for column in 0..4 {
                let mut row = ["I-1", "hand pump", "Dorvan HP", "Station 1 reserve"].map(str::to_owned);
                row[column] = cell.to_owned();
                let file = format!(
                    "Asset tag,Kind,Model,Assigned to\n{}\nI-2,hand pump,Dorvan HP,Station 1 reserve\n",
                    row.join(",")
                );
                let reply = coordinator.import("?create_places=all", file.into_bytes(), &[]).await;
                assert!(reply.status < 500, "{cell:.20?} in column {column}: {} {}", reply.status, reply.text);
                if reply.done() {
                    let import = reply.json["id"].as_str().unwrap();
                    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
                }
            }
        }
    }
);

on_both!(from_a_messy_file_to_a_rig_that_is_full_again, async |world: &World| {
    let agency = &world.ground.bare;
    let coordinator = newcomer(world);
    coordinator.import("", file("messy.csv"), &[]).await.ok();
    let (class, workshop) = (Uuid::now_v7(), Uuid::now_v7());
    coordinator
        .post(
            "/v1/rig-classes",
            json!({ "id": class, "name": "Rescue rig", "complement": crate::world::county::engine_complement(), "expects": "full" }),
        )
        .await
        .ok();
    coordinator.post("/v1/shops", json!({ "id": workshop, "name": "County workshop" })).await.ok();
    let named = async |path: &str, name: &str| id_of(&coordinator.list(&format!("/v1/{path}?q={}", name.replace(' ', "%20"))).await[0]);
    let rig = named("rigs", "Truck 1").await;
    assert_eq!(coordinator.on_board(rig).await.level, "not_judged", "nobody has chosen the grades");
    // The file's cutters have no opening by a standard.
    let mut grades = crate::world::county::grades();
    grades["full"]["needs"][1]["alternatives"][0]["parts"][0]["minimums"] = json!({});
    let rev = coordinator.rev("/v1/agency").await;
    let body = json!({ "grades": grades, "reason": "the file gives no openings" });
    coordinator.post_on("/v1/agency/grade", rev, body).await.ok();
    let overdue = soon("the grades have reached the rig", async || {
        let shown = coordinator.on_board(rig).await;
        (shown.level != "not_judged").then_some(shown)
    })
    .await;
    assert_eq!(overdue.level, "none", "a rig without a class has a level; the file's services are long overdue");
    assert!(
        overdue
            .words
            .iter()
            .any(|words| words.contains("HT-1001: annual service overdue since 2026-06-19")),
        "{:?}",
        overdue.words
    );
    // The days in the file were wrong: they are struck out, and what the cards say is written down with a reason.
    for piece in coordinator.list(&format!("/v1/pieces?rig={rig}")).await {
        let path = format!("/v1/pieces/{}", id_of(&piece));
        coordinator.edit(&path, json!({ "last_service_on": null })).await.ok();
        let mut found = json!({ "last_service_on": "2026-07-01", "reason": "the cards were found" });
        if piece["kind"] == "hose" {
            // The file has no dates of make: they are read off the labels.
            found["made_on"] = json!("2020-01-01");
            found["in_service_since"] = json!("2020-02-01");
        }
        coordinator.edit(&path, found).await.ok();
    }
    let line = coordinator.on_board(rig).await;
    assert_eq!(line.level, "full", "{line:?}");
    assert_eq!(coordinator.capability(rig).await["completeness"], "no_list");
    coordinator.edit(&format!("/v1/rigs/{rig}"), json!({ "rig_class": class })).await.ok();
    let story = Story {
        crew: world.member_of(agency, "crew"),
        officer: world.member_of(agency, "officer"),
        shop: world.member_of(agency, "shop"),
        rig,
        cutter: named("pieces", "HT-1002").await,
        tag: "HT-1002".into(),
        spare: named("pieces", "HT-1289").await,
        spare_tag: "HT-1289".into(),
        shelf: coordinator.find(&format!("/v1/pieces/{}", named("pieces", "HT-1289").await)).await["place"]["station"]
            .as_str()
            .unwrap()
            .parse()
            .unwrap(),
        workshop,
        aside: coordinator.on_board(rig).await.words,
    };
    story.told(world).await;
});
