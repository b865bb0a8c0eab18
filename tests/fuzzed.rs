//! The corpus of the fuzz targets (`fuzz/`), and what was once found by them, held to the same properties: no nightly compiler needed.

#[path = "../fuzz/properties/mod.rs"]
mod properties;

use std::{collections::BTreeSet, path::Path};

// What the properties are about.
use fullset_calc as _;
use fullset_care as _;
use fullset_register as _;
use properties::TARGETS;

#[test]
fn every_target_holds_on_its_corpus() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus");
    for (target, hold) in TARGETS {
        let mut files: Vec<_> = std::fs::read_dir(corpus.join(target))
            .expect("a corpus")
            .flatten()
            .map(|file| file.path())
            .collect();
        files.sort();
        assert!(files.len() > 5, "the corpus of {target} has {} files", files.len());
        for file in files {
            let bytes = std::fs::read(&file).expect("a file");
            let held = std::panic::catch_unwind(|| hold(&bytes));
            assert!(held.is_ok(), "{} breaks a property: see above", file.display());
        }
    }
}

#[test]
fn every_target_has_a_binary() {
    let manifest = include_str!("../fuzz/Cargo.toml");
    let built = manifest
        .lines()
        .filter_map(|line| line.strip_prefix("path = \"targets/")?.strip_suffix(".rs\""));
    let known: BTreeSet<&str> = TARGETS.iter().map(|(target, _)| *target).collect();
    assert_eq!(built.collect::<BTreeSet<_>>(), known);
}
