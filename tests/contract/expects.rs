//! Which command kinds need `expects` is what `openapi/sync.md` says.

use std::collections::BTreeSet;

use super::{Document, access::stage};
use crate::world::{Engine, World, on};

const PAGE: &str = include_str!("../../openapi/sync.md");

/// The kinds that the page names between two of its words.
fn named(from: &str, to: &str) -> BTreeSet<String> {
    let (_, section) = PAGE.split_once("### What needs `expects`").expect("the section is there");
    let (_, list) = section.split_once(from).expect("the list begins");
    let (list, _) = list.split_once(to).expect("the list ends");
    list.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

#[test]
fn the_kinds_that_need_a_revision_are_those_that_the_page_names() {
    on(Engine::Sqlite, async |world: &World| {
        let (document, admin, stage) = (Document::of(world).await, world.admin(), stage(world, world.agency()).await);
        let (always, at_times) = (named("may have decided:", "\n\n"), named("`ticket.return`.", "need it where"));
        assert!(always.len() > 25 && at_times.len() == 2, "{always:?} {at_times:?}");
        for operation in document.acts() {
            let sample = stage.sample(&operation.id);
            let reply = admin.ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &[]).await;
            let kind = operation.kind.clone().expect("an act has its kind");
            match reply.status {
                428 => assert!(
                    always.contains(&kind) || at_times.contains(&kind),
                    "{kind} needs it, and the page says no word of it"
                ),
                // What state a record is in may be said first.
                409 => {}
                _ => assert!(!always.contains(&kind), "{kind} is said to need it: {} {}", reply.status, reply.text),
            }
        }
    });
}
