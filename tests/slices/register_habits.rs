//! What spreadsheets and hurried hands do to a register, through the import: it is asked about and never taken for something else. Each
//! is a wrong case that was seen (common practice, no source).

use serde_json::{Value, json};

use super::register_figures::{codes, noted};
use crate::world::{Client, World, acts::id_of, on_both};

/// What would happen to a file of these lines.
async fn shown(coordinator: &Client, query: &str, lines: &[&str]) -> Value {
    let file = lines.join("\n").into_bytes();
    coordinator.import(&format!("?dry_run=true{query}"), file, &[]).await.ok()
}

on_both!(a_shortened_serial_is_asked_for, async |world: &World| {
    let coordinator = world.coordinator();
    let file = [
        "Asset tag,Kind,Serial,Assigned to",
        "I-1,ram,1.2E+05,Engine 1",
        "I-2,ram,120000.0,Engine 1",
        "I-3,ram,12E5,Engine 1",
    ];
    let shown = shown(&coordinator, "", &file).await;
    assert_eq!(codes(&shown), [(2, "eaten-by-spreadsheet"), (3, "eaten-by-spreadsheet")]);
    assert_eq!((&shown["accepted"], &shown["refused"][0]["column"]), (&json!(1), &json!("Serial")));
});

on_both!(tags_that_look_alike_are_asked_about, async |world: &World| {
    let coordinator = world.coordinator();
    let head = "Asset tag,Kind,Assigned to";
    let file = [
        head,
        "I-1001,ram,Engine 1",
        "I-1O01,ram,Engine 1",
        "I\u{2013}1001,ram,Engine 1",
        "01003,ram,Engine 1",
        "1003.0,ram,Engine 1",
    ];
    let asked = shown(&coordinator, "", &file).await;
    assert_eq!(codes(&asked), [(3, "tag-looks-alike"), (4, "tag-looks-alike"), (6, "eaten-by-spreadsheet")]);
    let apart = shown(&coordinator, "&look_alikes=apart", &file).await;
    assert_eq!(codes(&apart), [(6, "eaten-by-spreadsheet")]);
    // A piece that the agency has is looked at too.
    coordinator.import("", format!("{head}\nI-1001,ram,Engine 1\n").into_bytes(), &[]).await.ok();
    let known = shown(&coordinator, "", &[head, "I-100l,ram,Engine 1"]).await;
    assert_eq!(codes(&known), [(2, "tag-looks-alike")]);
    coordinator.import("?look_alikes=perhaps", head.into(), &[]).await.refused(400, "query-invalid");
});

on_both!(one_date_turns_no_other_one, async |world: &World| {
    let coordinator = world.coordinator();
    let head = "Asset tag,Kind,Assigned to,In service since,Last annual service";
    let file = [
        head,
        "I-1,ram,Engine 1,25/07/2019,7/1/2020",
        "I-2,ram,Engine 1,7/1/2019,",
        "I-3,ram,Engine 1,8/1/2019,",
        "I-4,ram,Engine 1,2019-08-01,",
    ];
    let asked = shown(&coordinator, "", &file).await;
    assert_eq!(codes(&asked), [(2, "ambiguous-date"), (3, "ambiguous-date"), (4, "ambiguous-date")]);
    assert_eq!((&asked["open_dates"], &asked["date_order"]), (&json!(3), &json!(null)));
    assert!(noted(&asked, "“In service since”") && noted(&asked, "“Last annual service”"), "{asked}");
    let chosen = coordinator.import("?date_order=day%20first", file.join("\n").into_bytes(), &[]).await.ok();
    assert_eq!((codes(&chosen), &chosen["open_dates"]), (vec![], &json!(0)));
    let pieces = coordinator.list("/v1/pieces?q=I-").await;
    let since: Vec<_> = pieces.iter().map(|piece| piece["in_service_since"].as_str().unwrap()).collect();
    assert_eq!(since, ["2019-07-25", "2019-01-07", "2019-01-08", "2019-08-01"]);
});

on_both!(a_part_of_a_date_is_kept_as_one_and_judged_by_its_first_day, async |world: &World| {
    let coordinator = world.coordinator();
    let head = "Asset tag,Kind,Assigned to,Date of make,In service since";
    let file = [
        head,
        "I-1,hose,Engine 1,3/2012,",
        "I-2,hose,Engine 1,2012,",
        "I-3,hose,Engine 1,2012,2011-12-31",
    ];
    let read = coordinator.import("", file.join("\n").into_bytes(), &[]).await.ok();
    assert_eq!(codes(&read), [(4, "dates-out-of-order")]);
    let pieces = coordinator.list("/v1/pieces?q=I-").await;
    let made: Vec<_> = pieces.iter().map(|piece| piece["made_on"].as_str().unwrap()).collect();
    assert_eq!(made, ["2012-03", "2012"]);
});

on_both!(sizes_are_read_as_people_write_them, async |world: &World| {
    let coordinator = world.coordinator();
    let file = [
        "Asset tag;Kind;Model;Assigned to;Opening;Extended;Force",
        "I-1;ram;R;Engine 1;;5' 3\";47500 lbs",
        "I-2;ram;R;Engine 1;;5' 3\";47500 lbf",
        "I-3;cutter;C;Engine 1;8\u{bd} in;;",
        "I-4;spreader;S;Engine 1;28 in (711 mm);;",
        "I-5;spreader;S;Engine 1;28 in (800 mm);;",
    ];
    let read = coordinator.import("", file.join("\n").into_bytes(), &[]).await.ok();
    assert_eq!(codes(&read), [(2, "wrong-dimension"), (6, "two-values")]);
    let models = coordinator.list("/v1/models").await;
    let rated = |name: &str, term: &str| {
        let model = models.iter().find(|model| model["name"] == name).unwrap_or_else(|| panic!("{name} is there"));
        model["ratings"][term].clone()
    };
    assert_eq!(rated("R", "extended_length"), json!({ "value": 63, "unit": "in" }));
    assert_eq!(rated("C", "cutter_opening"), json!({ "value": 8.5, "unit": "in" }));
    assert_eq!(rated("S", "spreading_distance"), json!({ "value": 28, "unit": "in" }));
});

on_both!(german_headings_are_known, async |world: &World| {
    let coordinator = world.coordinator();
    let file = [
        "Inventarnummer;Geräteart;Typ;Seriennummer;Fahrzeug;Baujahr;Letzte Prüfung;Zustand;Öffnungsweite;Betriebsdruck",
        "I-1;Schneidgerät;S 50;4711;Engine 1;2015;14. März 2024;außer Dienst;0,205 m;10.500 psi",
    ];
    let shown = shown(&coordinator, "", &file).await;
    assert_eq!((codes(&shown), &shown["accepted"], &shown["out_of_service"]), (vec![], &json!(1), &json!(1)));
});

on_both!(what_is_passed_over_or_seen_once_is_said, async |world: &World| {
    let coordinator = world.coordinator();
    let file = [
        "Tag,ID,Kind,Assigned to,Station",
        "I-1,7,ram,Rescue 7,Station 1",
        "I-2,I-2,ram,Engine 1,Station 1",
    ];
    let shown = shown(&coordinator, "", &file).await;
    assert_eq!(codes(&shown), [(2, "unknown-place")]);
    let hint = shown["refused"][0]["hint"].as_str().unwrap();
    assert!(hint.contains("every rig that the file names"), "{hint}");
    assert!(noted(&shown, "they differ on line 2") && !noted(&shown, "holds the same"), "{shown}");
});

on_both!(reasons_dashes_and_semicolons_survive_the_file, async |world: &World| {
    let coordinator = world.member_of(&world.ground.bare, "coordinator");
    let file = "Asset tag,Kind,Model,Serial,Assigned to,Station,District,Status,Out of service because,Opening\n\
        S-1,cutter,C,'-,Engine 1,Station 1,North,OOS,blade chipped; guard loose,8.1 in [EN 13204\\; A1; 2016]\n\
        S-2,cutter,\"C; D\",S-2,Engine 1,Station 1,North,ok,,\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    let told = async || {
        let pieces = coordinator.list("/v1/pieces?q=S-").await;
        pieces
            .iter()
            .map(|piece| (piece["serial"].clone(), piece["state_reason"].clone()))
            .collect::<Vec<_>>()
    };
    let expected = [(json!("-"), json!("blade chipped; guard loose")), (json!("S-2"), json!(null))];
    assert_eq!(told().await, expected);
    let out = coordinator.get("/v1/register.csv").await.text;
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    coordinator.import("", out.clone().into_bytes(), &[]).await.ok();
    assert_eq!(told().await, expected, "{out}");
    assert_eq!(coordinator.get("/v1/register.csv").await.text, out);
});
