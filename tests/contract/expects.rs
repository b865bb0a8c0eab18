//! Which command kinds need `expects` is what `openapi/sync.md` says.

use std::collections::BTreeSet;

use super::{Document, access::stage};
use crate::world::{Engine, World, on};

const PAGE: &str = include_str!("../../openapi/sync.md");

/// The kinds that the page's first paragraph on the matter names.
fn named() -> BTreeSet<String> {
    let (_, section) = PAGE.split_once("### What needs `expects`").expect("the section is there");
    let (_, list) = section.split_once("may have decided:").expect("the list begins");
    let (list, _) = list.split_once("\n\n").expect("the list ends");
    list.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

#[test]
fn the_kinds_that_need_a_revision_are_those_that_the_page_names() {
    on(Engine::Sqlite, async |world: &World| {
        let (document, admin, stage) = (Document::of(world).await, world.admin(), stage(world, world.agency()).await);
        let mut need = BTreeSet::new();
        for operation in document.acts() {
            let sample = stage.sample(&operation.id);
            let reply = admin.ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &[]).await;
            if reply.status == 428 {
                need.insert(operation.kind.clone().expect("an act has its kind"));
            }
        }
        assert_eq!(need, named());
    });
}
