//! Every library that a crate asks for is named in its sources.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::packages;

/// Asked for so that they are compiled in with chosen features: diesel names them. The last is built beside the tests, which load it into
/// the service and never into themselves.
const LINKED: [&str; 3] = ["libsqlite3-sys", "pq-sys", "fullset-power-shim"];

/// Whether a line of code names a library.
fn names(line: &str, library: &str) -> bool {
    let code = line.trim_start();
    !code.starts_with("//")
        && code.match_indices(library).any(|(at, _)| {
            let before = code[..at].chars().next_back().is_none_or(|c| !c.is_alphanumeric() && c != '_');
            let after = &code[at + library.len()..];
            before && (after.starts_with("::") || code.starts_with("use ") && (after.starts_with(';') || after.starts_with(" as ")))
        })
}

fn texts(dir: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(dir).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() && !["node_modules", "target"].iter().any(|skipped| path.ends_with(skipped)) {
            texts(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(std::fs::read_to_string(&path).expect("text"));
        }
    }
}

/// The libraries that a package asks for and does not name.
fn unnamed(package: &Value) -> Vec<String> {
    let targets = package["targets"].as_array().expect("targets");
    let mut dirs: Vec<PathBuf> = targets
        .iter()
        .filter_map(|target| Some(Path::new(target["src_path"].as_str()?).parent()?.to_owned()))
        .collect();
    dirs.sort();
    dirs.dedup();
    let mut sources = Vec::new();
    dirs.iter().for_each(|dir| texts(dir, &mut sources));
    assert!(!sources.is_empty(), "{} has no sources", package["name"]);
    let asked = package["dependencies"].as_array().expect("dependencies").iter();
    asked
        .filter_map(|library| library["rename"].as_str().or(library["name"].as_str()))
        .filter(|library| !LINKED.contains(library))
        .filter(|library| {
            let word = library.replace('-', "_");
            !sources.iter().flat_map(|text| text.lines()).any(|line| names(line, &word))
        })
        .map(|library| format!("{}: {library}", package["name"]))
        .collect()
}

#[test]
fn every_library_that_is_asked_for_is_named() {
    let (packages, mut all) = (packages(), Vec::new());
    assert!(packages.len() >= 6, "{}", packages.len());
    packages.iter().for_each(|package| all.extend(unnamed(package)));
    assert!(all.is_empty(), "in Cargo.toml, and not in the sources: take them out: {all:#?}");
}

#[test]
fn a_name_is_a_whole_word_of_code() {
    for (line, named) in [
        ("use serde::Serialize;", true),
        ("    let a = serde::de::x();", true),
        ("use h2;", true),
        ("use sha2 as digest;", true),
        ("// serde::Serialize", false),
        ("use my_serde::Serialize;", false),
        ("let serde = 1;", false),
    ] {
        let word = ["serde", "h2", "sha2"].into_iter().find(|word| line.contains(word)).unwrap();
        assert_eq!(names(line, word), named, "{line}");
    }
}
