//! Which file may name which, and how long a file may be. The checker is itself tested on bad input.
//!
//! | rank | where | may name |
//! | --- | --- | --- |
//! | 0 | `platform/` | itself, in the order of [`roles::platform_rank`] |
//! | 1 | `slices/` | `platform`, and slices above it in the list of `slices/mod.rs`, through their `mod.rs` |
//! | 2 | `sync/` | those, and `slices` |
//! | 3 | `app.rs`, `cli/` | everything |
//!
//! In a slice each file has a role, by its name: [`roles::role`].

mod dependencies;
mod roles;
mod source;

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use roles::{Role, forbidden, platform_rank, role};
use source::Source;

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
const MOST_LINES: usize = 400;

/// What is wrong with one file of `server/src`, given the order of the slices.
fn faults(file: &str, text: &str, order: &[String]) -> Vec<String> {
    let source = Source::read(file, text);
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
    for path in source.beginning(&["crate"]) {
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
        if other != slice
            && path
                .get(3)
                .is_some_and(|name| role(&format!("{name}.rs")).is_some() && name.chars().all(char::is_lowercase))
            && path.len() > 4
        {
            fault(format!("names {}, which is not through the mod.rs of {other}", path.join("::")));
        }
    }
    if own == "platform" && segments.len() > 1 {
        let here = segments[1].trim_end_matches(".rs");
        match platform_rank(here) {
            None if here != "mod" => fault(format!("{here} has no rank in the platform: give it one")),
            None => {}
            Some(rank) => platform_modules(&source, &segments)
                .filter(|other| platform_rank(other).is_some_and(|other| other > rank))
                .for_each(|other| fault(format!("names {other}, which is of a higher rank in the platform than {here}"))),
        }
    }
    if let (Some(_), Some(name)) = (slice, segments.last()) {
        let Some(role) = role(name) else {
            fault(format!("{name} is no role of a file in a slice: say what it is for and what it may name"));
            return all;
        };
        let roots = ["diesel", "actix_web", "super", "crate", "ops", "rows", "clock", "api", "view"];
        let named: BTreeSet<&str> = source
            .beginning(&roots)
            .flat_map(|path| {
                let inner = if path[0] == "crate" {
                    path.last()
                } else {
                    path.iter().find(|word| *word != "super")
                };
                [Some(&path[0]), inner].into_iter().flatten().map(String::as_str)
            })
            .collect();
        for word in forbidden(role).iter().filter(|word| named.contains(**word)) {
            fault(format!("a {name} does not name {word}"));
        }
        if role == Role::Front && !source.public_modules.is_empty() {
            fault("a slice's modules are private; it gives out names with `pub use`".into());
        }
    }
    all
}

/// The modules of the platform that a file of it names, by `crate::platform::` or by `super::`.
fn platform_modules<'a>(source: &'a Source, segments: &[&str]) -> impl Iterator<Item = &'a String> {
    // `super` is the platform itself this many times up from the file.
    let up = segments.len() - 1 - usize::from(segments.last() == Some(&"mod.rs"));
    source.paths.iter().filter_map(move |path| match path.first()?.as_str() {
        "crate" if path.get(1)? == "platform" => path.get(2),
        "super" if path.iter().take_while(|word| *word == "super").count() == up => path.get(up),
        _ => None,
    })
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
    Source::read("slices/mod.rs", &text).public_modules
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
        ("slices/rigs/view.rs", "use crate::platform::door::Write;", "does not name Write"),
        ("slices/rigs/helpers.rs", "", "is no role"),
        ("platform/door/write.rs", "use super::super::http::Json;", "higher rank in the platform"),
        (
            "platform/auth/session.rs",
            "use crate::platform::{db::Db, door::Write};",
            "higher rank in the platform",
        ),
        ("platform/record.rs", "fn f() { super::past::read() }", "higher rank in the platform"),
        ("platform/db/mod.rs", "fn f(row: &super::record::Row) {}", "higher rank in the platform"),
        ("platform/queue.rs", "", "has no rank"),
        (
            "slices/rigs/ops.rs",
            "fn f() { on!(db, conn => diesel::insert_into(x)) }",
            "does not name diesel",
        ),
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
        ("slices/capability/rules.rs", "fn f(clock: u8, rows: &[u8]) { g(clock, rows) }"),
        ("platform/http/reads.rs", "use super::Page; use crate::platform::{door::history, past};"),
        ("platform/door/write.rs", "use super::held::Held; use crate::platform::auth::Actor;"),
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
    let mut all: Vec<String> = ["server/src", "server/calc", "server/care", "server/register/src", "seed-demo/src", "tests"]
        .iter()
        .flat_map(|of| too_long(of, &["rs"]))
        .collect();
    all.extend(too_long("dashboard/src", &["ts", "svelte", "css"]));
    assert!(all.is_empty(), "longer than {MOST_LINES} lines: {all:#?}");
}

/// What cargo says of the packages.
fn packages() -> Vec<Value> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let said = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1", "--manifest-path"])
        .arg(Path::new(ROOT).join("Cargo.toml"))
        .output()
        .expect("cargo runs");
    let told: Value = serde_json::from_slice(&said.stdout).unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&said.stderr)));
    told["packages"].as_array().expect("packages").clone()
}

/// What cargo says of a package.
fn package(name: &str) -> Value {
    let mut all = packages().into_iter();
    all.find(|package| package["name"] == name).unwrap_or_else(|| panic!("no package {name}"))
}

/// What is wrong with the dependencies of a crate that must be pure.
fn impure(package: &Value, allowed: &[&str]) -> Vec<String> {
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

/// What a pure file names that it may not.
fn outside(file: &str, text: &str) -> Vec<String> {
    let source = Source::read(file, text);
    let roots = ["SystemTime", "Instant", "rand", "env", "fs", "net", "thread", "tokio", "diesel", "tracing"];
    let std_parts = ["env", "fs", "net", "thread", "process"];
    let paths = source.paths.iter().filter(|path| {
        path.first().is_some_and(|first| roots.contains(&first.as_str()))
            || path[0] == "std" && path.get(1).is_some_and(|part| std_parts.contains(&part.as_str()))
            || path.iter().any(|word| word == "SystemTime" || word == "Instant")
            || path.windows(2).any(|pair| pair[0] == "Utc" && pair[1] == "now")
    });
    let printed = source.macros.iter().filter(|name| ["println", "eprintln"].contains(&name.as_str()));
    paths
        .map(|path| path.join("::"))
        .chain(printed.cloned())
        .map(|name| format!("{file} names {name}"))
        .collect()
}

#[test]
fn what_is_computed_depends_on_no_clock_no_chance_and_no_outside() {
    let calc = ["chrono", "geographiclib-rs", "serde", "utoipa", "uuid"];
    // Its readers of workbooks are handed bytes; what opens files is not named.
    let register = ["calamine", "chrono", "encoding_rs", "fullset-calc", "quick-xml", "serde", "utoipa", "zip"];
    assert_eq!(impure(&package("fullset-calc"), &calc), Vec::<String>::new());
    let care = ["chrono", "chrono-tz", "fullset-calc", "serde", "utoipa", "uuid"];
    assert_eq!(impure(&package("fullset-care"), &care), Vec::<String>::new());
    assert_eq!(impure(&package("fullset-register"), &register), Vec::<String>::new());
    assert!(!impure(&package("fullset"), &calc).is_empty(), "the checker sees an impure crate");
    for bad in [
        "use std::time::Instant;",
        "fn f() { std::fs::read(\"x\") }",
        "fn f() { println!(\"x\") }",
        "fn f() -> DateTime<Utc> { Utc::now() }",
    ] {
        assert!(!outside("bad.rs", bad).is_empty(), "{bad}");
    }
    for of in ["server/calc/src", "server/care/src", "server/register/src"] {
        let files = sources(of, &["rs"]);
        assert!(files.len() > 10, "{of}");
        let tests = |file: &str| file.ends_with("_tests.rs");
        let named: Vec<String> = files
            .iter()
            .filter(|(file, _)| !tests(file))
            .flat_map(|(file, text)| outside(file, text))
            .collect();
        assert_eq!(named, Vec::<String>::new());
    }
}
