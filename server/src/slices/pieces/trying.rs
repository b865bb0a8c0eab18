use std::collections::BTreeSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    HoldBy, Piece, PieceId,
    condition::{put, tried},
    rules::{MOST_TRIED, TrialFacts, may_be_tried},
};
use crate::platform::{
    door::{Act, Permission, Reach, Write, text},
    error::Fault,
};

/// Says that pieces were tried on the rig that they are on: a hose-fed tool, hose or adapter hooked up, opened and closed, no leak; a
/// battery tool or pack run; a source run at pressure. When is the command's `at`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TryOut {
    /// The pieces, all of one rig; 24 at most.
    #[schema(min_items = 1, max_items = 24)]
    pub pieces: Vec<PieceId>,
    /// What else was seen.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for TryOut {
    const KIND: &'static str = "piece.try_out";
    const SUMMARY: &'static str = "Say that pieces were tried on the rig that they are on, and ran without a fault";
    const DONE: &'static str = "Tried on its rig, ran without a fault";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        if !(1..=MOST_TRIED).contains(&self.pieces.len()) {
            return Err(Fault::field("body.pieces", format!("Name the pieces that were tried, from 1 to {MOST_TRIED}")));
        }
        let mut seen = BTreeSet::new();
        if let Some(n) = self.pieces.iter().position(|piece| !seen.insert(*piece)) {
            return Err(Fault::field(format!("body.pieces[{n}]"), "This piece is named twice; name it once"));
        }
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let at = write.head.at;
        let mut found = Vec::with_capacity(self.pieces.len());
        for (n, id) in self.pieces.iter().enumerate() {
            let field = format!("pieces[{n}]");
            let stored = write.named::<Piece>(&field, *id)?;
            write.reach(stored.scope)?;
            let piece = &stored.record;
            let holds = piece.holds.iter().any(|hold| hold.by == HoldBy::Defect);
            let facts = TrialFacts {
                tag: &piece.tag,
                state: piece.state,
                is_aboard: piece.place.rig().is_some(),
                aboard_since: piece.aboard_since,
                has_a_defect: holds || piece.limits.iter().any(|limit| limit.repair_by <= at),
            };
            may_be_tried(facts, at).map_err(|why| Fault::rule(why).at(format!("body.{field}")))?;
            found.push(stored);
        }
        let rig = found.first().and_then(|stored| stored.record.place.rig());
        if let Some(n) = found.iter().position(|stored| stored.record.place.rig() != rig) {
            return Err(Fault::field(
                format!("body.pieces[{n}]"),
                "This piece is on another rig than the first; say what was tried for one rig at a time",
            ));
        }
        for stored in found {
            let mut piece = stored.record;
            tried(write, &mut piece, self.note.clone());
            put(write, Some(stored.scope), piece)?;
        }
        Ok(())
    }
}
