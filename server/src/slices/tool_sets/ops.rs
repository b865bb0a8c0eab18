use serde::Deserialize;
use utoipa::ToSchema;

use super::ToolSet;
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, each_once, name},
        error::Fault,
        patch,
        record::Scope,
    },
    slices::pieces::{Piece, PieceId, Place, ToolSetId, settled_home},
};

/// The most pieces that one command puts into a set, or takes out of it: more than any rig carries.
const MOST_PIECES: usize = 200;

/// Adds a tool set.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddToolSet {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ToolSetId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// Where the set as a whole belongs, within the sender's reach; left out: nowhere.
    pub home: Option<Place>,
    /// The pieces that are issued together, each once and 200 at most.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub pieces: Vec<PieceId>,
}

fn issue(write: &mut Write<'_>, set: ToolSetId, pieces: &[PieceId]) -> Result<(), Fault> {
    for (at, id) in pieces.iter().enumerate() {
        let stored = write.named::<Piece>(&format!("pieces[{at}]"), *id)?;
        write.reach_kept(stored.scope)?;
        if let Some(other) = stored.record.tool_set.filter(|other| *other != set) {
            let other = write.find::<ToolSet>(other)?;
            return Err(Fault::field(
                format!("body.pieces[{at}]"),
                format!("{} belongs to the set {}", stored.record.tag, other.record.name),
            ));
        }
        write.save(
            Piece {
                tool_set: Some(set),
                ..stored.record
            },
            stored.scope,
        )?;
    }
    Ok(())
}

fn scope(write: &mut Write<'_>, home: Option<&Place>) -> Result<Scope, Fault> {
    write.reach(Scope::default())?;
    home.map_or(Ok(Scope::default()), |home| settled_home(write, home))
}

impl Act for AddToolSet {
    const KIND: &'static str = "tool_set.add";
    const SUMMARY: &'static str = "Add a tool set";
    const DONE: &'static str = "Tool set made up";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        each_once("body.pieces", &self.pieces, MOST_PIECES, "piece")
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<ToolSet>(self.id)?;
        let scope = scope(write, self.home.as_ref())?;
        write.save(
            ToolSet {
                id: self.id,
                name: name("body.name", &self.name)?,
                home: self.home,
                rev: 0,
            },
            scope,
        )?;
        issue(write, self.id, &self.pieces)
    }
}

/// Changes a tool set.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditToolSet {
    /// The tool set to change; what is left out stays.
    pub id: ToolSetId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New home; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Place>)]
    pub home: Option<Option<Place>>,
    /// Pieces to put into it, each once and 200 at most.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub add: Vec<PieceId>,
    /// Pieces to take out of it, each once and 200 at most.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub drop: Vec<PieceId>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditToolSet {
    const KIND: &'static str = "tool_set.edit";
    const SUMMARY: &'static str = "Change a tool set, or which pieces are in it";
    const DONE: &'static str = "Tool set changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("tool_set");
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        each_once("body.add", &self.add, MOST_PIECES, "piece")?;
        each_once("body.drop", &self.drop, MOST_PIECES, "piece")
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<ToolSet>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        let mut set = stored.record;
        if let Some(given) = self.name {
            set.name = name("body.name", &given)?;
        }
        set.home = self.home.unwrap_or(set.home);
        let scope = scope(write, set.home.as_ref())?;
        write.save(set, scope)?;
        for (at, id) in self.drop.iter().enumerate() {
            let piece = write.named::<Piece>(&format!("drop[{at}]"), *id)?;
            write.reach_kept(piece.scope)?;
            if piece.record.tool_set == Some(self.id) {
                write.save(
                    Piece {
                        tool_set: None,
                        ..piece.record
                    },
                    piece.scope,
                )?;
            }
        }
        issue(write, self.id, &self.add)
    }
}
