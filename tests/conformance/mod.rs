//! `fullset sync-check` finds nothing amiss with the service, and finds each way of being wrong that a proxy in front of it
//! plays.

mod broken;

use std::process::{Command, Output};

use broken::{Breakage, Proxy};

use crate::world::{Engine, World, on, on_both, process::binary};

async fn check(base: &str, email: &str, more: &[&str]) -> Output {
    let mut command = Command::new(binary());
    command
        .args(["sync-check", base, "--email", email, "--password", crate::world::people::PASSWORD])
        .args(more);
    // The proxy answers on this thread's runtime.
    tokio::task::spawn_blocking(move || command.output().expect("the check starts"))
        .await
        .expect("it did not panic")
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

on_both!(nothing_is_amiss_with_the_service, async |world: &World| {
    let output = check(&world.server.base, &world.coordinator().person.email, &["--writes"]).await;
    let said = said(&output);
    assert!(output.status.success() && said.contains("30 of 30 cases hold"), "{said}");
    let left = world.coordinator().list("/v1/pieces?q=sync-check").await;
    assert!(left.iter().all(|piece| piece["state"] == "retired") && left.len() == 1, "{left:?}");
});

#[test]
fn without_leave_to_write_nothing_is_written() {
    on(Engine::Sqlite, async |world: &World| {
        let before = world.crew().revision().await;
        let output = check(&world.server.base, &world.crew().person.email, &[]).await;
        assert!(output.status.success(), "{}", said(&output));
        assert_eq!(world.crew().revision().await, before);
        let output = check(&world.server.base, &world.crew().person.email, &["--writes"]).await;
        assert!(!output.status.success() && said(&output).contains("take a coordinator"), "{}", said(&output));
    });
}

#[test]
fn an_honest_proxy_is_no_breakage() {
    on(Engine::Sqlite, async |world: &World| {
        let proxy = Proxy::start(&world.server.base, &Breakage::none()).await;
        let output = check(&proxy.base, &world.admin().person.email, &["--writes"]).await;
        assert!(output.status.success(), "{}", said(&output));
    });
}

/// Each breakage is found by the case that is named for it.
fn are_found(breakages: Vec<Breakage>) {
    on(Engine::Sqlite, async |world: &World| {
        let ground = &world.ground;
        // A member may sign in only so often.
        let mut members = [
            (&ground.harrow, "admin"),
            (&ground.harrow, "coordinator"),
            (&ground.vale, "admin"),
            (&ground.vale, "coordinator"),
        ]
        .into_iter()
        .cycle();
        for breakage in breakages {
            let (agency, member) = members.next().expect("they come round");
            let proxy = Proxy::start(&world.server.base, &breakage).await;
            let output = check(&proxy.base, &agency.people[member].email, &["--writes", "--only", breakage.case]).await;
            let said = said(&output);
            let found = said
                .lines()
                .any(|line| line.split_whitespace().collect::<Vec<_>>() == ["not", "ok", breakage.case]);
            assert!(
                !output.status.success() && found,
                "{}: '{}' should have found it\n{said}",
                breakage.words,
                breakage.case
            );
        }
    });
}

#[test]
fn wrong_answers_to_commands_are_found() {
    are_found(broken::answers());
}

#[test]
fn commands_that_are_not_taken_as_they_were_sent_are_found() {
    are_found(broken::commands());
}

#[test]
fn a_feed_with_holes_is_found() {
    are_found(broken::feed());
}

#[test]
fn bad_manners_are_found() {
    are_found(broken::manners());
}
