//! Which file may name which, and how long a file may be. The checker is itself tested on bad input.
//!
//! | rank | where | may name |
//! | --- | --- | --- |
//! | 0 | `platform/` | itself |
//! | 1 | `slices/` | `platform`, and slices above it in the list of `slices/mod.rs`, through their `mod.rs` |
//! | 2 | `sync/` | those, and `slices` |
//! | 3 | `app.rs`, `cli/` | everything |

mod source;

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use source::{bare, paths, tokens};

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
const MOST_LINES: usize = 400;

/// What a file of a role may not name, by first word of a path or by module.
fn forbidden(role: &str) -> &'static [&'static str] {
    match role {
        "rules.rs" => &["diesel", "actix_web", "ops", "rows", "clock"],
        "ops.rs" => &["diesel", "actix_web"],
        "api.rs" => &["diesel", "rows"],
        "rows.rs" => &["actix_web", "ops"],
        "feed.rs" => &["diesel", "actix_web", "ops", "rows"],
        _ => &[],
    }
}

/// What is wrong with one file of `server/src`, given the order of the slices.
fn faults(file: &str, text: &str, order: &[String]) -> Vec<String> {
    let tokens = tokens(&bare(text));
    let mut all = Vec::new();
    let mut fault = |words: String| all.push(format!("{file}: {words}"));
    let segments: Vec<&str> = file.split('/').collect();
    let rank = |module: &str| match module {
        "platform" => 0,
        "slices" => 1,
        "sync" => 2,
        _ => 3,
    };
    let own = segments[0].trim_end_matches(".rs");
    let slice = (own == "slices")
        .then(|| segments.get(1).copied())
        .flatten()
        .filter(|name| !name.ends_with(".rs"));
    let place = |name: &str| order.iter().position(|known| known == name);
    for path in paths(&tokens, &["crate"]) {
        let Some(module) = path
            .get(1)
            .filter(|module| ["platform", "slices", "sync", "app", "cli"].contains(&module.as_str()))
        else {
            continue;
        };
        if !["lib", "main"].contains(&own) && rank(module) > rank(own) {
            fault(format!("names {}, which is of a higher rank", path.join("::")));
        }
        let (Some(slice), "slices", Some(other)) = (slice, module.as_str(), path.get(2)) else {
            continue;
        };
        match (place(slice), place(other)) {
            (Some(here), Some(there)) if there > here => fault(format!("names the slice {other}, which stands below {slice} in slices/mod.rs")),
            (Some(_), Some(_)) => {}
            _ => fault(format!("the slice {slice} or {other} is not in slices/mod.rs")),
        }
        if other != slice && path.get(3).is_some_and(|name| ["api", "ops", "rules", "rows", "feed"].contains(&name.as_str())) {
            fault(format!("names {}, which is not through the mod.rs of {other}", path.join("::")));
        }
    }
    if slice.is_some() {
        let role = segments.last().copied().unwrap_or_default();
        let named: BTreeSet<String> = paths(&tokens, &["diesel", "actix_web", "super", "crate", "ops", "rows", "clock"])
            .into_iter()
            .flat_map(|path| {
                let modules = path.iter().position(|word| word != "super" && word != "crate").unwrap_or(0);
                let inner = if path[0] == "crate" {
                    path.last().cloned()
                } else {
                    path.get(modules).cloned()
                };
                [path[0].clone()].into_iter().chain(inner)
            })
            .collect();
        for word in forbidden(role).iter().filter(|word| named.contains(**word)) {
            fault(format!("a {role} does not name {word}"));
        }
        if role == "mod.rs" && tokens.windows(2).any(|pair| pair[0] == "pub" && pair[1] == "mod") {
            fault("a slice's modules are private; it gives out names with `pub use`".into());
        }
    }
    all
}

fn sources(of: &str, endings: &[&str]) -> Vec<(String, String)> {
    fn walk(dir: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(dir).into_iter().flatten().flatten() {
            let (path, name) = (entry.path(), entry.file_name());
            let generated = ["node_modules", "dist", "generated", "target", "data", "test-results"]
                .iter()
                .any(|skipped| name == *skipped);
            if path.is_dir() && !generated {
                walk(&path, found);
            } else if path.is_file() && !generated && name != "generated.ts" {
                found.push(path);
            }
        }
    }
    let root = Path::new(ROOT).join(of);
    let mut found = Vec::new();
    walk(&root, &mut found);
    found.sort();
    let wanted = found
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ending| endings.iter().any(|wanted| ending == *wanted)));
    wanted
        .map(|path| {
            (
                path.strip_prefix(&root).expect("within").display().to_string(),
                std::fs::read_to_string(&path).expect("text"),
            )
        })
        .collect()
}

/// The slices in their written order.
fn order() -> Vec<String> {
    let text = std::fs::read_to_string(Path::new(ROOT).join("server/src/slices/mod.rs")).expect("slices/mod.rs");
    bare(&text)
        .lines()
        .filter_map(|line| Some(line.trim().strip_prefix("pub mod ")?.trim_end_matches(';').to_owned()))
        .collect()
}

#[test]
fn no_file_names_what_it_may_not() {
    let (files, order) = (sources("server/src", &["rs"]), order());
    assert!(files.len() > 80 && order.len() > 10, "{} files, {order:?}", files.len());
    let all: Vec<String> = files.iter().flat_map(|(file, text)| faults(file, text, &order)).collect();
    assert!(all.is_empty(), "{all:#?}");
}

#[test]
fn the_checker_sees_bad_input_and_leaves_good_input_alone() {
    let order: Vec<String> = ["districts", "stations", "rigs", "capability"].map(str::to_owned).into();
    let bad = [
        ("platform/door/write.rs", "use crate::slices::rigs::Rig;", "higher rank"),
        ("platform/record.rs", "fn f() { crate::sync::watch() }", "higher rank"),
        ("slices/rigs/ops.rs", "use crate::{platform::door::Write, sync};", "higher rank"),
        ("sync/feed.rs", "use crate::{\n    on,\n    app::Settings,\n};", "higher rank"),
        (
            "slices/stations/ops.rs",
            "use crate::{platform::x, slices::{districts::District, rigs::Rig}};",
            "stands below",
        ),
        ("slices/rigs/ops.rs", "use crate::slices::capability::{Capability, follow};", "stands below"),
        ("slices/rigs/ops.rs", "use crate::slices::stations::ops::EditStation;", "not through the mod.rs"),
        ("slices/rigs/ops.rs", "use crate::slices::winches::Winch;", "is not in slices/mod.rs"),
        ("slices/rigs/rules.rs", "use diesel::prelude::*;", "does not name diesel"),
        ("slices/rigs/rules.rs", "use super::{Rig, rows};", "does not name rows"),
        ("slices/rigs/rules.rs", "fn f() { super::ops::apply() }", "does not name ops"),
        ("slices/rigs/rules.rs", "use crate::platform::clock;", "does not name clock"),
        ("slices/rigs/ops.rs", "use actix_web::web;", "does not name actix_web"),
        ("slices/rigs/ops.rs", "fn f() -> diesel::QueryResult<()> { Ok(()) }", "does not name diesel"),
        ("slices/rigs/api.rs", "use super::{Rig, rows::due};", "does not name rows"),
        ("slices/rigs/rows.rs", "use super::ops;", "does not name ops"),
        ("slices/rigs/feed.rs", "use diesel::Queryable;", "does not name diesel"),
        ("slices/rigs/mod.rs", "pub mod ops;", "modules are private"),
    ];
    for (file, text, why) in bad {
        let found = faults(file, text, &order);
        assert!(
            found.iter().any(|fault| fault.contains(why)),
            "{file} `{text}` should be refused because {why}: {found:?}"
        );
    }
    let good = [
        (
            "slices/rigs/ops.rs",
            "use super::{Rig, rules};\nuse crate::{platform::door::Write, slices::stations::{Station, StationId}};",
        ),
        (
            "slices/rigs/ops.rs",
            "//! Never diesel:: or actix_web::.\nfn f() { g(\"use diesel::x; crate::sync::y\") }",
        ),
        ("slices/rigs/rows.rs", "use diesel::prelude::*;"),
        ("slices/rigs/api.rs", "use actix_web::web; use super::ops::AddRig;"),
        ("sync/live.rs", "use crate::{on, platform::db::Db, slices::rigs::Rig};"),
        ("app.rs", "use crate::{slices::rigs, sync, platform::db};"),
        ("slices/capability/ops.rs", "use super::rows; fn f() { rows::due() }"),
    ];
    for (file, text) in good {
        assert_eq!(faults(file, text, &order), Vec::<String>::new(), "{file} `{text}`");
    }
}

#[test]
fn every_file_stays_short() {
    let too_long = |of: &str, endings: &[&str]| -> Vec<String> {
        let files = sources(of, endings);
        assert!(!files.is_empty(), "{of} holds no source");
        files
            .into_iter()
            .map(|(file, text)| (file, text.lines().count()))
            .filter(|(_, lines)| *lines > MOST_LINES)
            .map(|(file, lines)| format!("{of}/{file}: {lines}"))
            .collect()
    };
    let mut all: Vec<String> = ["server/src", "server/calc", "seed-demo/src", "tests"]
        .iter()
        .flat_map(|of| too_long(of, &["rs"]))
        .collect();
    all.extend(too_long("dashboard/src", &["ts", "svelte", "css"]));
    assert!(all.is_empty(), "longer than {MOST_LINES} lines: {all:#?}");
}

/// What cargo says of a package.
fn package(name: &str) -> Value {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let said = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1", "--manifest-path"])
        .arg(Path::new(ROOT).join("Cargo.toml"))
        .output()
        .expect("cargo runs");
    let told: Value = serde_json::from_slice(&said.stdout).unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&said.stderr)));
    told["packages"]
        .as_array()
        .expect("packages")
        .iter()
        .find(|package| package["name"] == name)
        .unwrap_or_else(|| panic!("no package {name}"))
        .clone()
}

/// What is wrong with the dependencies of a crate that must be pure.
fn impure(package: &Value) -> Vec<String> {
    let allowed = ["chrono", "geographiclib-rs", "serde", "utoipa", "uuid"];
    let mut all = Vec::new();
    for dependency in package["dependencies"]
        .as_array()
        .expect("dependencies")
        .iter()
        .filter(|dependency| dependency["kind"].is_null())
    {
        let name = dependency["name"].as_str().expect("a name");
        let features: Vec<&str> = dependency["features"].as_array().expect("features").iter().filter_map(Value::as_str).collect();
        if !allowed.contains(&name) {
            all.push(format!("{name} is not on the list"));
        }
        if name == "chrono"
            && (dependency["uses_default_features"] == true || features.iter().any(|feature| ["clock", "now", "std", "default"].contains(feature)))
        {
            all.push(format!("chrono comes with its clock: {features:?}"));
        }
        if name == "uuid" && (dependency["uses_default_features"] == true || features.iter().any(|feature| feature.starts_with('v') || *feature == "rng")) {
            all.push(format!("uuid comes with its makers: {features:?}"));
        }
    }
    all
}

#[test]
fn what_is_computed_depends_on_no_clock_no_chance_and_no_outside() {
    assert_eq!(impure(&package("fullset-calc")), Vec::<String>::new());
    assert!(!impure(&package("fullset")).is_empty(), "the checker sees an impure crate");
    let outside = [
        "SystemTime",
        "Instant",
        "rand",
        "env",
        "fs",
        "net",
        "thread",
        "println",
        "eprintln",
        "tokio",
        "diesel",
        "tracing",
    ];
    for (file, text) in sources("server/calc/src", &["rs"]) {
        let tokens = tokens(&bare(&text));
        let named = outside
            .iter()
            .find(|word| tokens.windows(2).any(|pair| pair[0] == **word && (pair[1] == "::" || pair[1] == "!")));
        assert!(named.is_none(), "{file} names {named:?}");
        assert!(
            !tokens.windows(3).any(|three| three[0] == "Utc" && three[1] == "::" && three[2] == "now"),
            "{file} asks what time it is"
        );
    }
}
