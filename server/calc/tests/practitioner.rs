//! The practitioner's table: rigs in a sentence with the answers that a rescue officer gives, each with its source or as common
//! practice, written before the code that gives them. And pieces with the answer to "may I use it?".
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

#[path = "practitioner/fittings.rs"]
mod fittings;
#[path = "practitioner/kit.rs"]
mod kit;
#[path = "practitioner/levels.rs"]
mod levels;
#[path = "practitioner/lines.rs"]
mod lines;
#[path = "practitioner/lists.rs"]
mod lists;
#[path = "practitioner/order.rs"]
mod order;
#[path = "practitioner/pieces.rs"]
mod pieces;
#[path = "practitioner/power.rs"]
mod power;
#[path = "practitioner/row.rs"]
mod row;
#[path = "practitioner/scene.rs"]
mod scene;
#[path = "practitioner/states.rs"]
mod states;

use scene::Scene;
use std::collections::BTreeSet;

/// Says every difference at once, not the first alone.
fn agree(scenes: &[Scene]) {
    let differ: Vec<String> = scenes.iter().flat_map(Scene::differs).collect();
    assert!(differ.is_empty(), "{} of {} rigs:\n{}", differ.len(), scenes.len(), differ.join("\n"));
}

#[test]
fn tools_make_the_level_that_the_published_complements_give_them() {
    agree(&levels::scenes());
}

#[test]
fn a_tool_counts_on_a_line_that_runs_and_on_no_other() {
    agree(&lines::scenes());
}

#[test]
fn pieces_count_while_they_may_be_used_and_to_the_instant() {
    agree(&states::scenes());
}

#[test]
fn packs_hand_pumps_and_kinds_of_drive_count_as_the_grade_says() {
    agree(&power::scenes());
}

#[test]
fn the_list_is_answered_apart_from_the_level() {
    agree(&lists::scenes());
}

#[test]
fn a_piece_may_be_used_or_not_and_the_first_reason_comes_first() {
    let rows = pieces::rows().into_iter().chain(order::rows()).collect::<Vec<_>>();
    let differ: Vec<String> = rows.iter().filter_map(row::Row::differs).collect();
    assert!(differ.is_empty(), "{} of {} pieces:\n{}", differ.len(), rows.len(), differ.join("\n"));
    assert!(rows.len() >= 25);
}

#[test]
fn the_table_is_long_enough_and_says_nothing_twice() {
    let all = [levels::scenes(), lines::scenes(), states::scenes(), power::scenes(), lists::scenes()];
    let says: Vec<&str> = all.iter().flatten().map(|scene| scene.says).collect();
    assert!(says.len() >= 80, "{} rigs", says.len());
    let mut seen = BTreeSet::new();
    let twice: Vec<&&str> = says.iter().filter(|says| !seen.insert(**says)).collect();
    assert!(twice.is_empty(), "{twice:?}");
    assert!(all.iter().flatten().all(|scene| !scene.source.is_empty()));
}
