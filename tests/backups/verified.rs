//! `fullset verify` finds what was written past the service, in each table, and names it.

use fullset::platform::audit;

use super::{back_up, done, failed, fullset, send_photo, shelf};
use crate::world::{Engine, World, on_both, photos_of, process::verify, sql};

/// Something that somebody writes past the service, what verify says of it, and what puts it back.
struct Tampering {
    does: &'static str,
    says: &'static str,
    undoes: &'static str,
}

const fn tampering(does: &'static str, says: &'static str, undoes: &'static str) -> Tampering {
    Tampering { does, says, undoes }
}

/// Each is of the agency under test. `RAM`, `RIG`, `CREW`, `OWN` and `OTHER` are ids, `THEN` is an instant long ago, `BYTES` are some.
const ALL: &[Tampering] = &[
    tampering(
        "UPDATE record SET label = 'another' WHERE kind = 'piece' AND id = RAM",
        "it is not found by what its body says: label",
        "UPDATE record SET label = (SELECT was FROM kept) WHERE kind = 'piece' AND id = RAM",
    ),
    tampering(
        "UPDATE record SET station = OTHER WHERE kind = 'piece' AND id = RAM",
        "a record on a rig is not said to be at the rig's station",
        "UPDATE record SET station = (SELECT station FROM record WHERE kind = 'rig' AND id = RIG) WHERE kind = 'piece' AND id = RAM",
    ),
    tampering(
        "UPDATE record SET district = OTHER WHERE kind = 'piece' AND id = RAM",
        "a record at a station is not said to be in the station's district",
        "UPDATE record SET district = (SELECT district FROM record WHERE kind = 'rig' AND id = RIG) WHERE kind = 'piece' AND id = RAM",
    ),
    tampering(
        "UPDATE record SET rev = rev + 100000 WHERE kind = 'piece' AND id = RAM",
        "a state has a revision that the journal does not have",
        "UPDATE record SET rev = rev - 100000 WHERE kind = 'piece' AND id = RAM",
    ),
    tampering(
        "INSERT INTO replaced (agency, rev, kind, id, gone, body) SELECT agency, rev, kind, id, gone, body FROM record WHERE kind = 'piece' AND id = RAM",
        "a state that was replaced is not older than the record",
        "DELETE FROM replaced WHERE kind = 'piece' AND id = RAM AND rev = (SELECT rev FROM record WHERE kind = 'piece' AND id = RAM)",
    ),
    tampering(
        "UPDATE record SET id = OTHER WHERE kind = 'piece' AND id = RAM",
        "the journal says that a command changed a record, and neither that state nor a later one is kept",
        "UPDATE record SET id = RAM WHERE kind = 'piece' AND id = OTHER",
    ),
    tampering(
        "UPDATE record SET renamed = 999999 WHERE kind = 'piece' AND id = RAM",
        "a record was renamed at a revision that the journal does not have",
        "UPDATE record SET renamed = NULL WHERE kind = 'piece' AND id = RAM",
    ),
    tampering(
        "INSERT INTO departure (agency, place, rev, kind, id, level) VALUES (OWN, OTHER, 999999, 'piece', RAM, 'rig')",
        "a record is told to have left a place at a revision that the journal does not have",
        "DELETE FROM departure WHERE rev = 999999",
    ),
    tampering(
        "UPDATE standing SET level = 'none' WHERE rig = RIG AND until_at IS NULL",
        "how a rig stands has no open interval of its level",
        "UPDATE standing SET level = (SELECT state FROM record WHERE kind = 'rig_standing' AND id = RIG) WHERE rig = RIG AND until_at IS NULL",
    ),
    tampering(
        "UPDATE standing SET until_at = THEN WHERE rig = RIG AND until_at IS NULL",
        "an interval of how a rig stood ends before it begins",
        "UPDATE standing SET until_at = NULL WHERE rig = RIG AND until_at = THEN",
    ),
    tampering(
        "INSERT INTO standing (agency, rig, from_rev, from_at, level, planned, rule) \
         SELECT agency, rig, 1, from_at, level, planned, rule FROM standing WHERE rig = RIG AND until_at IS NULL",
        "an interval of how a rig stood reaches into the next one",
        "DELETE FROM standing WHERE rig = RIG AND from_rev = 1",
    ),
    tampering(
        "UPDATE standing SET from_rev = from_rev + 100000 WHERE rig = RIG AND until_at IS NULL",
        "an interval of how a rig stood begins at a revision that the journal does not have",
        "UPDATE standing SET from_rev = from_rev - 100000 WHERE rig = RIG AND until_at IS NULL",
    ),
    tampering(
        "INSERT INTO standing (agency, rig, from_rev, from_at, level, planned, rule) \
         SELECT agency, OTHER, 1, from_at, level, planned, rule FROM standing WHERE rig = RIG AND until_at IS NULL",
        "a rig that does not stand any more has an open interval",
        "DELETE FROM standing WHERE rig = OTHER",
    ),
    tampering(
        "DELETE FROM lapse WHERE id = RIG; UPDATE standing SET holds_until = THEN WHERE rig = RIG AND until_at IS NULL",
        "the answer about a rig runs out, and the clock is not to look at it",
        "INSERT INTO lapse SELECT * FROM kept_lapse; \
         UPDATE standing SET holds_until = (SELECT holds_until FROM kept_standing) WHERE rig = RIG AND until_at IS NULL",
    ),
    tampering(
        "INSERT INTO lapse (agency, kind, id, at, try_at, tries, pending) VALUES (OWN, 'piece', OTHER, LATER, LATER, 0, FALSE)",
        "the clock is to look at a record that is not there",
        "DELETE FROM lapse WHERE id = OTHER",
    ),
    tampering(
        "UPDATE record SET id = OTHER WHERE kind = 'agency' AND id = OWN",
        "an agency has no record of itself",
        "UPDATE record SET id = OWN WHERE kind = 'agency' AND id = OTHER",
    ),
    tampering(
        "DELETE FROM pin WHERE member = CREW",
        "its record and its PIN do not agree",
        "INSERT INTO pin SELECT * FROM kept_pin",
    ),
    tampering(
        "UPDATE pin SET member = OTHER WHERE member = CREW",
        "a PIN is kept of a member who is not there",
        "UPDATE pin SET member = CREW WHERE member = OTHER",
    ),
    tampering(
        "INSERT INTO second_factor SELECT agency, OTHER, BYTES, NULL, 0, 0, THEN FROM pin WHERE member = CREW",
        "a second factor is kept of a member who is not there",
        "DELETE FROM second_factor WHERE member = OTHER",
    ),
    tampering(
        "INSERT INTO passkey SELECT agency, OTHER, OTHER, BYTES, BYTES, 0, 'x', THEN, NULL FROM pin WHERE member = CREW",
        "a passkey is kept of a member who is not there",
        "DELETE FROM passkey WHERE member = OTHER",
    ),
    tampering(
        "INSERT INTO push_subscription SELECT agency, OTHER, OTHER, OTHER, 'https://push.example/x', BYTES, BYTES, 'x', 'rig_falls', THEN FROM pin WHERE member = CREW",
        "a phone gets notices for a member who is not there",
        "DELETE FROM push_subscription",
    ),
    tampering(
        "INSERT INTO api_key_secret SELECT agency, OTHER, BYTES, BYTES, CREW, 'x', 'crew', NULL, NULL, NULL, THEN FROM pin WHERE member = CREW",
        "the secret of a program's key is kept, and the key is not there",
        "DELETE FROM api_key_secret WHERE api_key = OTHER",
    ),
    tampering(
        "UPDATE credential SET password_hash = 'open sesame' WHERE member = CREW",
        "is no hash of Argon2id",
        "UPDATE credential SET password_hash = (SELECT hash FROM kept) WHERE member = CREW",
    ),
    tampering(
        "UPDATE credential SET member = OTHER WHERE member = CREW",
        "a password is kept of a member who is not there",
        "UPDATE credential SET member = CREW WHERE member = OTHER",
    ),
    tampering(
        "UPDATE credential SET email = 'another@harrow.example' WHERE member = CREW",
        "its password is kept for another email",
        "UPDATE credential SET email = (SELECT email FROM kept) WHERE member = CREW",
    ),
    tampering(
        "UPDATE refresh_token SET member = OTHER WHERE member = CREW",
        "a sign-in that goes on is of a member who is not there",
        "UPDATE refresh_token SET member = CREW WHERE member = OTHER",
    ),
    tampering(
        "UPDATE refresh_token SET device = OTHER WHERE member = CREW",
        "a sign-in that goes on is of a device that is not there",
        "UPDATE refresh_token SET device = NULL WHERE member = CREW",
    ),
    tampering(
        "INSERT INTO calendar_secret (agency, feed, hash) VALUES (OWN, OTHER, BYTES)",
        "the secret of a calendar is kept, and the calendar is not there",
        "DELETE FROM calendar_secret",
    ),
    tampering(
        "INSERT INTO receiver_secret (agency, receiver, secret) VALUES (OWN, OTHER, BYTES)",
        "the secret of a receiver is kept, and the receiver is not there",
        "DELETE FROM receiver_secret",
    ),
    tampering(
        "INSERT INTO telling (agency, alert, receiver, code, made_at, began_at, tries, leased_until) VALUES (OWN, OTHER, OTHER, 'c', THEN, THEN, 0, THEN)",
        "a message is about an alert that is not there",
        "DELETE FROM telling",
    ),
    tampering(
        "INSERT INTO piece_run (agency, piece, at, source, meter) VALUES (OWN, OTHER, THEN, OTHER, FALSE)",
        "running hours are kept of a piece that is not there",
        "DELETE FROM piece_run WHERE piece = OTHER",
    ),
    tampering(
        "INSERT INTO trial_sheet (agency, answer, trial, body) VALUES (OWN, OTHER, OTHER, '[]')",
        "the answers of a field trial are kept, and nothing says that they were handed in",
        "DELETE FROM trial_sheet",
    ),
    tampering(
        "INSERT INTO record (agency, kind, id, rev, gone, label, state, body) SELECT agency, 'trial_answer', OTHER, rev, gone, 'x', '', '{}' FROM record \
         WHERE kind = 'piece' AND id = RAM",
        "the answers of a field trial were handed in, and are not kept",
        "DELETE FROM record WHERE kind = 'trial_answer'",
    ),
];

#[test]
fn each_rule_of_the_tables_is_broken_by_a_test() {
    let untried: Vec<&str> = audit::rules().filter(|rule| !ALL.iter().any(|tried| tried.says == *rule)).collect();
    assert!(untried.is_empty(), "{untried:?}");
}

on_both!(what_was_written_past_the_service_is_found_and_named, async |world: &World| {
    let (crew, county) = (world.crew(), world.county());
    crew.take_out(county.set_1.ram, "bent").await.ok();
    crew.post("/v1/pin", serde_json::json!({ "pin": "482915" })).await.ok();
    let (holds, said) = verify(&world.location);
    assert!(holds, "{said}");
    let id = |id| world.id(id);
    let bytes = match world.engine {
        Engine::Sqlite => "x'00'",
        Engine::Postgres => "'\\x00'",
    };
    let filled = |text: &str| {
        text.replace("RAM", &id(county.set_1.ram))
            .replace("RIG", &id(county.engine_1))
            .replace("CREW", &id(crew.person.id))
            .replace("OWN", &id(world.agency().id))
            .replace("OTHER", &id("018f0000-0000-7000-8000-0000000000aa".parse().unwrap()))
            .replace("THEN", &sql::instant(&world.location, "2020-01-01T00:00:00Z"))
            // The clock of the service that runs takes what is due.
            .replace("LATER", &sql::instant(&world.location, "2190-01-01T00:00:00Z"))
            .replace("BYTES", bytes)
    };
    sql::run(
        &world.location,
        &filled(
            "CREATE TABLE kept AS SELECT r.label AS was, c.password_hash AS hash, c.email AS email FROM record r, credential c
             WHERE r.kind = 'piece' AND r.id = RAM AND c.member = CREW;
             CREATE TABLE kept_pin AS SELECT * FROM pin WHERE member = CREW;
             CREATE TABLE kept_lapse AS SELECT * FROM lapse WHERE id = RIG;
             CREATE TABLE kept_standing AS SELECT holds_until FROM standing WHERE rig = RIG AND until_at IS NULL;",
        ),
    );
    for tampering in ALL {
        sql::run(&world.location, &filled(tampering.does));
        let (holds, said) = verify(&world.location);
        assert!(!holds && said.contains(tampering.says), "{}: {said}", tampering.does);
        assert!(said.contains(&world.agency().id.to_string()) && said.contains("What to do:"), "{said}");
        sql::run(&world.location, &filled(tampering.undoes));
    }
    assert!(done(&fullset(&world.location, "verify", &["--quick"])).contains("The journal holds"));
    let (holds, said) = verify(&world.location);
    assert!(holds, "all was undone: {said}");
});

on_both!(an_answer_that_does_not_follow_from_the_records_is_found, async |world: &World| {
    let county = world.county();
    // The record and the interval agree with each other, and neither with the rig.
    let (find, put) = match world.engine {
        Engine::Sqlite => ("json_extract(body, '$.level')", "json_set(body, '$.level', 'heavy')"),
        Engine::Postgres => ("body ->> 'level'", "jsonb_set(body::jsonb, '{level}', '\"heavy\"')::json"),
    };
    let rig = world.id(county.engine_1);
    let was = sql::texts(
        &world.location,
        &format!("SELECT {find} AS t FROM record WHERE kind = 'rig_standing' AND id = {rig}"),
    );
    assert_ne!(was, ["heavy"]);
    sql::run(
        &world.location,
        &format!(
            "UPDATE record SET body = {put}, state = 'heavy' WHERE kind = 'rig_standing' AND id = {rig};
             UPDATE standing SET level = 'heavy' WHERE rig = {rig} AND until_at IS NULL;"
        ),
    );
    let (holds, said) = verify(&world.location);
    assert!(
        !holds && said.contains("it is kept as") && said.contains(&county.engine_1.to_string()),
        "{said}"
    );
});

on_both!(a_photo_that_is_gone_or_cut_is_found, async |world: &World| {
    let photo = send_photo(&world.crew()).await;
    let (holds, said) = verify(&world.location);
    assert!(holds, "{said}");
    let picture = photos_of(&world.location).join(world.agency().id.to_string()).join(&photo[..2]).join(&photo);
    let good = std::fs::read(&picture).expect("a picture");
    std::fs::write(&picture, &good[..good.len() - 1]).expect("it is cut");
    assert!(failed(&fullset(&world.location, "verify", &[])).contains("another length"));
    // A bit that has turned over shows where the bytes are read alone.
    let mut turned = good.clone();
    *turned.last_mut().expect("bytes") ^= 1;
    std::fs::write(&picture, &turned).expect("a bit turns");
    assert!(verify(&world.location).0);
    let read = || fullset(&world.location, "verify", &["--read-photos"]);
    let said = failed(&read());
    assert!(said.contains("is another one than was kept") && said.contains(&photo), "{said}");
    std::fs::write(&picture, &good).expect("it is put right");
    assert!(!done(&read()).contains("from before"));
    // One from before its hash was kept is told of, and held to its length.
    sql::run(&world.location, "UPDATE photo SET kept_hash = NULL");
    assert!(done(&read()).contains("1 photos are from before"));
    std::fs::remove_file(&picture).expect("it goes");
    let said = failed(&fullset(&world.location, "verify", &[]));
    assert!(said.contains("its picture is not in the photo store") && said.contains(&photo), "{said}");
});

on_both!(a_journal_whose_end_was_cut_off_whole_is_found_by_an_anchor, async |world: &World| {
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let said = done(&fullset(&world.location, "verify", &["--quick", "--print-anchor"]));
    let own = world.agency().id.to_string();
    let line = said.lines().find(|line| line.starts_with(&own)).expect("a line of the agency");
    let [_, rev, hash] = line.split(' ').collect::<Vec<_>>()[..] else {
        panic!("{line}")
    };
    let (_folder, place) = shelf();
    back_up(world, &place);
    let manifest = place.join("manifest.json").display().to_string();
    crew.take_out(world.county().set_1.ram, "bent again").await.ok();
    for anchor in [hash, manifest.as_str()] {
        assert!(done(&fullset(&world.location, "verify", &["--anchor", anchor])).contains("holds every anchor"));
    }
    // Somebody who knows how cuts the end off and puts the agency's row right: the chain by itself holds.
    let of = format!("agency = {}", world.id(world.agency().id));
    sql::run(
        &world.location,
        &format!(
            "DELETE FROM journal WHERE {of} AND rev >= {rev};
             UPDATE agency SET rev = {rev} - 1, journal_head = (SELECT hash FROM journal WHERE {of} AND rev = {rev} - 1) WHERE id = {};",
            world.id(world.agency().id)
        ),
    );
    done(&fullset(&world.location, "verify", &["--quick"]));
    for anchor in [hash, manifest.as_str()] {
        let said = failed(&fullset(&world.location, "verify", &["--quick", "--anchor", anchor]));
        assert!(said.contains("does not hold the anchor") && said.contains(hash), "{said}");
    }
    // The whole look needs no anchor here: the records know of what was cut off.
    assert!(failed(&fullset(&world.location, "verify", &[])).contains("a revision that the journal does not have"));
});
