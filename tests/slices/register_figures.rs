//! Figures that were misread, through the import and through the API: each a wrong case that was seen (common practice, no
//! source). A slip on a pressure or an opening must not make a rig look able that is not.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::id_of, on_both, on_rig};

/// A file of one's own, in the German manner, for the engine of the county.
fn german(rows: &[&str]) -> Vec<u8> {
    format!("Asset tag;Kind;Model;Assigned to;Length;Opening;Pressure;Fluid;Coupling\n{}\n", rows.join("\n")).into_bytes()
}

/// The code of each refused line.
pub(super) fn codes(shown: &Value) -> Vec<(u64, &str)> {
    let refused = shown["refused"].as_array().expect("refusals");
    refused
        .iter()
        .map(|row| (row["line"].as_u64().unwrap(), row["code"].as_str().unwrap()))
        .collect()
}

/// Whether something is noted in these words.
pub(super) fn noted(shown: &Value, words: &str) -> bool {
    let notes = shown["notes"].as_array().expect("notes");
    notes.iter().any(|note| note["words"].as_str().unwrap().contains(words))
}

async fn models(coordinator: &Client, name: &str) -> Vec<Value> {
    let all = coordinator.list("/v1/models").await;
    all.into_iter().filter(|model| model["name"].as_str().unwrap().starts_with(name)).collect()
}

on_both!(a_thousands_point_is_asked_about_and_never_read_as_decimals, async |world: &World| {
    let coordinator = world.coordinator();
    let file = german(&["G-1;hose;Kranz H;Engine 1;40 ft;;10.500 psi;mineral oil;flat-face single"]);
    let shown = coordinator.import("?dry_run=true", file.clone(), &[]).await.ok();
    assert_eq!(codes(&shown), [(2, "ambiguous-number")]);
    assert_eq!((&shown["number_style"], &shown["open_numbers"]), (&json!(null), &json!(1)));
    let reason = shown["refused"][0]["reason"].as_str().unwrap();
    assert!(reason.contains("may be 10500 or 10.5: choose the file's number style"), "{reason}");
    assert!(noted(&shown, "choose the number style"), "{shown}");
    // Chosen wrongly, physics refuses it; chosen rightly, it is ten thousand five hundred.
    let wrong = coordinator.import("?dry_run=true&number_style=point", file.clone(), &[]).await.ok();
    assert_eq!((codes(&wrong), &wrong["open_numbers"]), (vec![(2, "not-possible")], &json!(0)));
    let right = coordinator.import("?number_style=comma", file, &[]).await.ok();
    assert_eq!((codes(&right), &right["number_style"]), (vec![], &json!("comma")));
    let hose = &models(&coordinator, "Kranz H").await[0];
    assert_eq!(hose["hookup"]["pressure"], json!({ "value": 10500, "unit": "psi" }));
    coordinator.import("?number_style=dots", german(&[]), &[]).await.refused(400, "query-invalid");
});

on_both!(a_file_that_shows_its_style_is_read_by_it, async |world: &World| {
    let coordinator = world.coordinator();
    let file = german(&[
        "G-1;hose;Kranz H;Engine 1;12,5 m;;10.500 psi;mineral oil;flat-face single",
        "G-2;cutter;Kranz C;Engine 1;;0,205 m;10.500 psi;mineral oil;flat-face single",
        "G-3;cutter;Kranz D;Engine 1;;8,125 in;10.500 psi;mineral oil;flat-face single",
        "G-4;hose;Kranz I;Engine 1;12,5 m;;10500 bar;mineral oil;flat-face single",
        "G-5;cutter;Kranz E;Engine 1;;8 ft;717 bar;mineral oil;flat-face single",
    ]);
    let read = coordinator.import("", file, &[]).await.ok();
    assert_eq!(codes(&read), [(5, "not-possible"), (6, "not-possible")]);
    for (at, column) in [(0, "Pressure"), (1, "Opening")] {
        let row = &read["refused"][at];
        assert_eq!(row["column"], column);
        assert!(row["hint"].as_str().unwrap().contains("plate"), "{row}");
    }
    assert_eq!((&read["number_style"], &read["accepted"]), (&json!("comma"), &json!(3)));
    for (name, term, value) in [
        ("Kranz H", "hose_length", json!({ "value": 12.5, "unit": "m" })),
        ("Kranz C", "cutter_opening", json!({ "value": 0.205, "unit": "m" })),
        ("Kranz D", "cutter_opening", json!({ "value": 8.125, "unit": "in" })),
    ] {
        let model = &models(&coordinator, name).await[0];
        assert_eq!(model["ratings"][term], value, "{name}");
        assert_eq!(model["hookup"]["pressure"]["value"], 10_500, "{name}");
    }
    // Written out, each number proves itself, and reads back the same.
    let out = coordinator.get("/v1/register.csv").await.text;
    assert!(out.contains("8.1250 in"), "{out}");
});

on_both!(a_figure_that_cannot_be_is_refused_by_the_api_as_well, async |world: &World| {
    let coordinator = world.coordinator();
    let size = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
    let fed = |value: f64, unit: &str| json!({ "coupling": "flat-face single", "fluid": "mineral oil", "pressure": size(value, unit) });
    for (kind, hookup, ratings, field) in [
        ("hose", fed(105_000.0, "psi"), json!({}), "body.hookup.pressure"),
        ("hose", fed(10_500.0, "bar"), json!({}), "body.hookup.pressure"),
        ("hose", fed(10.5, "psi"), json!({}), "body.hookup.pressure"),
        (
            "cutter",
            fed(717.0, "bar"),
            json!({ "cutter_opening": size(8.0, "ft") }),
            "body.ratings.cutter_opening",
        ),
        (
            "ram",
            fed(717.0, "bar"),
            json!({ "push_force": size(100.0, "kN"), "push_force_2": size(200.0, "kN") }),
            "body.ratings.push_force_2",
        ),
        (
            "ram",
            fed(717.0, "bar"),
            json!({ "stroke": size(70.0, "in"), "extended_length": size(63.0, "in") }),
            "body.ratings.stroke",
        ),
    ] {
        let body = json!({ "id": Uuid::now_v7(), "name": "Kranz X", "kind": kind, "hookup": hookup, "ratings": ratings });
        let problem = coordinator.post("/v1/models", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], field, "{problem}");
    }
    let odd = json!({ "id": Uuid::now_v7(), "name": "Kranz Y", "kind": "hose", "hookup": fed(1_050.0, "psi"), "ratings": { "hose_length": size(40.0, "ft") } });
    let kept = coordinator.post("/v1/models", odd).await.record();
    let warnings = kept["warnings"].as_array().unwrap();
    assert_eq!((warnings.len(), &warnings[0]["field"]), (1, &json!("hookup.pressure")), "{kept}");
    let whole = json!({ "hookup": fed(10_400.0, "psi") });
    let kept = coordinator.edit(&format!("/v1/models/{}", id_of(&kept)), whole).await.record();
    assert_eq!(kept["warnings"], json!([]));
    // What no cutter can open is no minimum for one either.
    let mut complement = crate::world::county::engine_complement();
    complement["slots"][3]["minimums"]["cutter_opening"] = size(8.0, "ft");
    let class = format!("/v1/rig-classes/{}", world.county().engine_class);
    let problem = coordinator
        .edit(&class, json!({ "complement": complement }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.complement.slots[3].minimums.cutter_opening");
});

on_both!(a_hose_of_unknown_pressure_stays_unknown_and_fills_nothing, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let file = "Asset tag,Kind,Model,Assigned to,Length,Pressure,Fluid,Coupling,Date of make\n\
        N-1,hose,Kranz H,Station 3 reserve,40 ft,10400 psi,mineral oil,flat-face single,2024-01-01\n\
        N-2,hose,Kranz H,Station 3 reserve,40 ft,N/A,mineral oil,flat-face single,2024-01-01\n";
    let read = coordinator.import("", file.into(), &[]).await.ok();
    assert_eq!((codes(&read), &read["creates"]["models"]), (vec![], &json!(2)));
    assert!(noted(&read, "the pressure is given as unknown on line 3"), "{read}");
    let unknown = &models(&coordinator, "Kranz H (pressure unknown)").await[0];
    assert_eq!(unknown["hookup"]["pressure"], json!(null));
    let hose = id_of(&coordinator.list("/v1/pieces?q=N-2").await[0]);
    coordinator.take_out(county.set_1.second_hose, "cut").await.ok();
    coordinator.bring(hose, on_rig(county.engine_1)).await.ok();
    let line = coordinator.on_board(county.engine_1).await;
    assert_eq!(line.level, "limited");
    assert_eq!(
        line.words,
        ["1 tool can run at once, 2 needed (hose E1-HOSE2: out of service since 2026-11-25 07:00, “cut”)"]
    );
    assert!(line.lacks.iter().any(|words| words.contains("N-2: pressure unknown")), "{:?}", line.lacks);
});

on_both!(a_rating_without_a_standard_answers_no_minimum_that_names_one, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let ratings = json!({ "cutter_opening": { "value": 8.1, "unit": "in" } });
    coordinator
        .edit(&format!("/v1/models/{}", county.models.cutter), json!({ "ratings": ratings }))
        .await
        .ok();
    let words = "cutter E1-CUT: standard not stated: cutter opening 8.1 in does not answer 7 in by NFPA 1936";
    coordinator.on_board(county.engine_1).await.is("limited", &[words]);
    let capability = coordinator.capability(county.engine_1).await;
    assert_eq!(capability["gaps"][0]["near"][0]["code"], "standard-not-stated", "{capability}");
});

on_both!(a_file_brings_in_the_couplings_that_it_names_and_takes_them_back, async |world: &World| {
    let coordinator = world.coordinator();
    let file = "Asset tag,Kind,Model,Assigned to,Coupling\nC-1,hose,Kranz H,Station 1 reserve,one push coax\nC-2,cutter,Kranz C,Station 1 reserve,One-Push Coax\nC-3,cutter,Kranz D,Station 1 reserve,FLAT FACE SINGLE\n";
    let shown = coordinator.import("?dry_run=true", file.into(), &[]).await.ok();
    assert_eq!((codes(&shown), &shown["creates"]["couplings"]), (vec![], &json!(1)));
    assert_eq!(coordinator.list("/v1/couplings").await.len(), 2);
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    assert_eq!(coordinator.list("/v1/couplings").await.len(), 3);
    for (name, coupling) in [("Kranz H", "one push coax"), ("Kranz C", "one push coax"), ("Kranz D", "flat-face single")] {
        assert_eq!(models(&coordinator, name).await[0]["hookup"]["coupling"], coupling, "{name}");
    }
    // While another model names the family, taking the import back would leave it without.
    let hookup = json!({ "coupling": "one-push coax" });
    let (other, undo) = (Uuid::now_v7(), format!("/v1/imports/{import}/undo"));
    coordinator
        .post("/v1/models", json!({ "id": other, "name": "Dorvan X", "kind": "cutter", "hookup": hookup }))
        .await
        .ok();
    coordinator.post(&undo, json!({})).await.refused(409, "rule-broken");
    coordinator.edit(&format!("/v1/models/{other}"), json!({ "hookup": {} })).await.ok();
    coordinator.post(&undo, json!({})).await.ok();
    assert_eq!(coordinator.list("/v1/couplings").await.len(), 2);
});

on_both!(no_door_takes_a_day_that_has_not_come, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let place = json!({ "at": "shelf", "station": county.station_1 });
    let path = format!("/v1/pieces/{}", county.set_1.hose);
    for (field, day) in [
        ("made_on", "2026-11-26"),
        ("in_service_since", "2062-06-01"),
        ("last_service_on", "2027-06-01"),
        ("in_service_since", "2022-04-30"),
        ("last_service_on", "2021-01-01"),
    ] {
        let mut body = json!({ "id": Uuid::now_v7(), "tag": "D-1", "model": county.models.hose, "place": place, "made_on": "2022-05-01" });
        body[field] = json!(day);
        let problem = coordinator.post("/v1/pieces", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], format!("body.{field}"), "{problem}");
        assert!(problem["hint"].is_string(), "{problem}");
        let problem = coordinator.edit(&path, json!({ field: day })).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], format!("body.{field}"), "{problem}");
    }
    let kept = coordinator.piece(county.set_1.hose).await;
    assert_eq!((&kept["made_on"], &kept["last_service_on"]), (&json!("2022-05-01"), &json!("2026-06-01")));
    // Today has come; a later service than is known is no matter of typing.
    coordinator.edit(&path, json!({ "in_service_since": "2026-11-25" })).await.ok();
    let file = "Asset tag,Kind,Model,Assigned to,Date of make,In service since,Last annual service\n\
        D-2,hose,Dorvan H40,Station 1 reserve,2020-01-01,2020-02-01,2062-06-01\nD-3,hose,Dorvan H40,Station 1 reserve,2020-01-01,2019-02-01,\n";
    let read = coordinator.import("", file.into(), &[]).await.ok();
    assert_eq!(codes(&read), [(3, "dates-out-of-order")]);
    assert!(noted(&read, "2062-06-01, lies in the future; the date was left out"), "{read}");
    let piece = &coordinator.list("/v1/pieces?q=D-2").await[0];
    assert_eq!((&piece["in_service_since"], &piece["last_service_on"]), (&json!("2020-02-01"), &json!(null)));
});
