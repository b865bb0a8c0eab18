//! What is no backup is not restored, what is not empty is not written over, and half a backup never looks whole.

use std::{fs, os::unix::fs::PermissionsExt as _, path::Path};

use fullset::platform::{
    backup::{LEFT_OUT, TABLES, columns},
    db::Location,
};

use super::{Empty, back_up, done, failed, fullset, restore, send_photo, shelf};
use crate::{
    schema,
    world::{Engine, World, on, on_both, photos_of, sql},
};

fn try_restore(location: &Location, place: &Path) -> String {
    failed(&fullset(location, "restore", &[&place.display().to_string()]))
}

fn files(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        let mode = entry.metadata().expect("its mode").permissions().mode() & 0o777;
        if path.is_dir() {
            assert_eq!(mode, 0o700, "{path:?}");
            all.extend(files(&path));
        } else {
            assert_eq!(mode, 0o600, "{path:?}");
            all.push(path);
        }
    }
    all
}

#[test]
fn every_table_and_column_is_copied_or_left_out_for_a_reason() {
    on(Engine::Sqlite, async |world: &World| {
        let there: std::collections::BTreeSet<String> = schema::columns(world.engine, &world.location)
            .iter()
            .map(|column| column.split(' ').next().expect("a name").to_owned())
            .filter(|column| !LEFT_OUT.iter().any(|(table, _)| column.starts_with(&format!("{table}."))))
            .collect();
        let copied = TABLES
            .iter()
            .flat_map(|table| columns(table).iter().map(move |column| format!("{table}.{column}")));
        assert_eq!(copied.collect::<std::collections::BTreeSet<String>>(), there);
    });
}

on_both!(a_backup_whose_file_was_changed_is_refused_and_restores_nothing, async |world: &World| {
    let photo = send_photo(&world.crew()).await;
    let (_folder, place) = shelf();
    back_up(world, &place);
    assert!(failed(&fullset(&world.location, "backup", &[&place.display().to_string()])).contains("name a folder"));
    let all = files(&place);
    assert!(all.iter().any(|file| file.ends_with(&photo)) && all.len() > TABLES.len(), "{all:?}");
    let restored = Empty::on(world.engine);
    for file in all.iter().filter(|file| fs::metadata(file).expect("its length").len() > 0) {
        let good = fs::read(file).expect("a file");
        let mut bad = good.clone();
        let middle = bad.len() / 2;
        bad[middle] ^= 1;
        fs::write(file, &bad).expect("it is written");
        let manifest = file.ends_with("manifest.json");
        // One flipped bit of the manifest may still be read; then a file, or the tables, do not agree with it.
        let words = try_restore(&restored.0, &place);
        assert!(manifest || words.contains("is not the one that was written"), "{file:?}: {words}");
        fs::write(file, &good[..good.len() - 1]).expect("it is written");
        try_restore(&restored.0, &place);
        fs::remove_file(file).expect("it goes");
        try_restore(&restored.0, &place);
        fs::write(file, good).expect("it is put back");
    }
    if let Location::Sqlite(path) = &restored.0 {
        assert!(!path.exists(), "a file that was made for nothing is taken away");
    }
    restore(&restored.0, &place);
    assert!(try_restore(&restored.0, &place).contains("already"), "not over what is there");
    assert!(try_restore(&world.location, &place).contains("already"));
    assert!(world.crew().revision().await > 0);
});

on_both!(a_backup_of_another_version_is_refused_in_words, async |world: &World| {
    let (_folder, place) = shelf();
    back_up(world, &place);
    let manifest = place.join("manifest.json");
    let text = fs::read_to_string(&manifest).expect("a manifest");
    let restored = Empty::on(world.engine);
    for (from, to, why) in [
        ("\"format\": 1", "\"format\": 2", "of a form that this version does not read"),
        ("\"0010\"", "\"0009\"", "restore it with that version"),
    ] {
        assert!(text.contains(from), "{text}");
        fs::write(&manifest, text.replace(from, to)).expect("it is written");
        let words = try_restore(&restored.0, &place);
        assert!(words.contains(why), "{words}");
    }
});

on_both!(a_backup_that_fails_leaves_nothing_that_looks_like_one, async |world: &World| {
    let photo = send_photo(&world.crew()).await;
    // A picture that cannot be read: a folder in its place.
    let picture = photos_of(&world.location).join(world.agency().id.to_string()).join(&photo[..2]).join(&photo);
    fs::remove_file(&picture).expect("it goes");
    let (folder, place) = shelf();
    let said = done(&fullset(&world.location, "backup", &[&place.display().to_string()]));
    assert!(said.contains("1 pictures that the database names are not in the photo store"), "{said}");
    let second = folder.path().join("second");
    let said = std::process::Command::new(crate::world::process::binary())
        .args([
            "backup",
            &second.display().to_string(),
            "--database",
            &crate::world::process::url(&world.location),
        ])
        .args(["--photos", "s3://nowhere/at-all"])
        .envs([
            ("AWS_ENDPOINT", "http://127.0.0.1:9"),
            ("AWS_ALLOW_HTTP", "true"),
            ("AWS_ACCESS_KEY_ID", "none"),
            ("AWS_SECRET_ACCESS_KEY", "none"),
        ])
        .output()
        .expect("the service starts");
    failed(&said);
    assert!(!second.exists());
    let left: Vec<_> = fs::read_dir(folder.path())
        .expect("the shelf")
        .flatten()
        .map(|entry| entry.file_name())
        .collect();
    assert_eq!(left, ["backup"], "not even a part");
    // Cut off in the midst, as by a kill: without its manifest it is none.
    fs::remove_file(place.join("manifest.json")).expect("it goes");
    let restored = Empty::on(world.engine);
    assert!(try_restore(&restored.0, &place).contains("no whole backup"));
});

on_both!(a_database_with_tables_of_somebody_elses_is_left_alone, async |world: &World| {
    let (_folder, place) = shelf();
    back_up(world, &place);
    let other = Empty::on(world.engine);
    fullset::platform::db::Db::make(&other.0).expect("a file can be made");
    sql::run(&other.0, "CREATE TABLE somebody (id INTEGER)");
    assert!(try_restore(&other.0, &place).contains("somebody"));
    assert!(!photos_of(&other.0).exists(), "nothing was made for it");
    sql::run(&other.0, "DROP TABLE somebody");
    restore(&other.0, &place);
});
