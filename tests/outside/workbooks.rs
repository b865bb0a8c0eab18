//! Workbooks that the spreadsheets' own libraries write (openpyxl, odfpy), read in over HTTP: what was typed is what is read.

use serde_json::{Value, json};

use super::{HERE, folder, python};
use crate::world::{Engine, World, on};

fn written() -> [(&'static str, Vec<u8>); 2] {
    let folder = folder("workbooks");
    let done = python("python")
        .arg(format!("{HERE}/write-workbooks.py"))
        .arg(&folder)
        .output()
        .expect("it runs");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    ["xlsx", "ods"].map(|kind| (kind, std::fs::read(folder.join(format!("register.{kind}"))).expect("it was written")))
}

#[test]
fn a_workbook_that_another_program_wrote_is_read_as_it_was_typed() {
    on(Engine::Sqlite, async |world: &World| {
        let coordinator = world.member_of(&world.ground.bare, "coordinator");
        for (kind, bytes) in written() {
            let shown = coordinator.import("?dry_run=true", bytes.clone(), &[]).await.ok();
            assert_eq!(
                (&shown["encoding"], &shown["delimiter"], &shown["sheet"]),
                (&json!(kind), &json!(null), &json!("Register"))
            );
            assert_eq!(shown["other_sheets"], json!(["Notes"]), "a hidden sheet is not spoken of");
            assert_eq!((&shown["accepted"], &shown["refused"]), (&json!(3), &json!([])), "{shown}");
            let missing = coordinator.import("?dry_run=true&sheet=Old", bytes.clone(), &[]).await;
            missing.refused(422, "file-unreadable");

            let read = coordinator.import(&format!("?file_name=register.{kind}"), bytes, &[]).await;
            assert_eq!(read.status, 201, "{}", read.text);
            let mut pieces = coordinator.list("/v1/pieces").await;
            pieces.sort_by_key(|piece| piece["tag"].as_str().map(str::to_owned));
            let told: Vec<Value> = pieces
                .iter()
                .map(|piece| json!([piece["tag"], piece["kind"], piece["serial"], piece["state"], piece["in_service_since"]]))
                .collect();
            let typed = json!([
                ["1003", "hose", "0004711", "in_service", "2019-07-05"],
                ["HT-2", "spreader", "987654321", "out_of_service", null],
                // A formula without a saved value says nothing.
                ["HT-3", "ram", null, "in_service", "2021-02-03"],
            ]);
            assert_eq!(json!(told), typed);
            let shelves: Vec<&Value> = pieces.iter().map(|piece| &piece["place"]).collect();
            assert_eq!(shelves[0], shelves[1], "a merged cell holds in each line that it covers");
            let models = coordinator.list("/v1/models").await;
            let model = |name: &str| {
                models
                    .iter()
                    .find(|model| model["name"] == name)
                    .unwrap_or_else(|| panic!("{name} in {models:?}"))
            };
            let text = model("Line A").to_string() + &model("Jaw B").to_string();
            for figure in ["360.125", "10500.5"] {
                assert!(text.contains(figure), "{figure} in {text}");
            }
            let import = read.ok()["id"].as_str().expect("an id").to_owned();
            coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
        }
    });
}
