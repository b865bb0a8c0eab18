//! What the county calls limited, full and heavy. The shape is the service's own template in terms of NFPA 1936, the figures
//! are the county's.

use crate::catalogue::{Rated, nfpa, plain};
use anyhow::{Context as _, Result};
use serde_json::{Value, json};

/// The template that the county begins from.
pub const TEMPLATE: &str = "nfpa";

fn one_way(parts: &[Value]) -> Value {
    json!({ "parts": parts })
}

fn part(kind: &str, least: Rated) -> Value {
    json!({ "kinds": [kind], "minimums": least.all })
}

fn need(id: &str, name: &str, kind: &str, least: Rated) -> Value {
    json!({ "id": id, "name": name, "alternatives": [one_way(&[part(kind, least)])] })
}

fn combi() -> Value {
    part(
        "combination_tool",
        nfpa("2015").of("lowest_spreading_force", 6_000.0, "lbf").levels("A6/B6/C6/D6/E6"),
    )
}

/// The template with the county's figures in it, and a grade of its own for the heavy rescues.
pub fn county(mut template: Value) -> Result<Value> {
    let feet = json!({ "value": 30, "unit": "ft" });
    let grades = template.as_object_mut().context("the template is not a set of grades")?;
    let mut set = |level: &str, field: &str, value: Value| {
        let grade = grades
            .get_mut(level)
            .and_then(Value::as_object_mut)
            .with_context(|| format!("the template has no {level}"))?;
        grade.insert(field.to_owned(), value);
        anyhow::Ok(())
    };
    let open = json!({
        "id": "open", "name": "Combination tool, or cutter and spreader",
        "alternatives": [one_way(&[combi()]), one_way(&[part("cutter", plain()), part("spreader", plain())])],
    });
    set("limited", "needs", json!([open]))?;
    let full = [
        need("spread", "Spreader", "spreader", nfpa("2010").of("lowest_spreading_force", 6_500.0, "lbf")),
        need("cut", "Cutter", "cutter", nfpa("2010").levels("A6/B6/C6/D6/E6")),
        need("push", "Ram", "ram", nfpa("2010").of("push_force", 24_000.0, "lbf")),
    ];
    set("full", "needs", json!(full))?;
    set("full", "line_length", feet.clone())?;
    let heavy = json!({
        "needs": [
            need("spread", "Heavy spreader", "spreader", nfpa("2020").of("lowest_spreading_force", 12_000.0, "lbf")),
            need("cut", "Heavy cutter", "cutter", nfpa("2020").levels("A8/B9/C8/D9/E9")),
            need("push", "Long ram", "ram", nfpa("2020").of("push_force", 40_000.0, "lbf").then_plain().of("extended_length", 60.0, "in")),
            need("combi", "Battery combination tool", "combination_tool", nfpa("2015").of("lowest_spreading_force", 7_000.0, "lbf")),
        ],
        "tools_at_once": 2, "kinds_of_drive": 2, "spare_packs": 1, "line_length": feet, "hand_pump": false,
    });
    grades.insert("heavy".to_owned(), heavy);
    Ok(template)
}
