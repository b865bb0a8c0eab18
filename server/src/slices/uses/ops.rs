use std::collections::BTreeSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{Use, UseId};
use crate::{
    platform::{
        door::{Act, Permission, Write, name, text},
        error::Fault,
    },
    slices::{
        pieces::{Piece, PieceId},
        rigs::{Rig, RigId},
    },
};

/// The most pieces of one use: more than any rig carries.
const MOST_PIECES: usize = 200;

/// Records that pieces of a rig were used. When is the command's `at`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordUse {
    /// Its id, made by the client.
    pub id: UseId,
    /// The rig.
    pub rig: RigId,
    /// The pieces that were used; they need not be aboard any more.
    #[schema(min_items = 1, max_items = 200)]
    pub pieces: Vec<PieceId>,
    /// What for, in the crew's own words.
    pub what: Option<String>,
    /// The agency's own number of the incident.
    pub incident: Option<String>,
    /// How long, in minutes: up to a day.
    #[schema(minimum = 1, maximum = 1440)]
    pub minutes: Option<u32>,
}

impl Act for RecordUse {
    const KIND: &'static str = "use.record";
    const SUMMARY: &'static str = "Record that pieces of a rig were used";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        if !(1..=MOST_PIECES).contains(&self.pieces.len()) {
            return Err(Fault::field("body.pieces", format!("Name the pieces that were used, from 1 to {MOST_PIECES}")));
        }
        let mut seen = BTreeSet::new();
        if let Some(n) = self.pieces.iter().position(|piece| !seen.insert(*piece)) {
            return Err(Fault::field(format!("body.pieces[{n}]"), "This piece is named twice; name it once"));
        }
        if self.minutes.is_some_and(|minutes| !(1..=1440).contains(&minutes)) {
            return Err(Fault::field("body.minutes", "Minutes are from 1 to 1440, which is a day"));
        }
        self.what = self.what.as_deref().map(|what| text("body.what", what)).transpose()?;
        self.incident = self.incident.as_deref().map(|incident| name("body.incident", incident)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Use>(self.id)?;
        let rig = write.named::<Rig>("rig", self.rig)?;
        write.reach(rig.scope)?;
        for (n, piece) in self.pieces.iter().enumerate() {
            write.named::<Piece>(&format!("pieces[{n}]"), *piece)?;
        }
        let record = Use {
            id: self.id,
            rig: self.rig,
            station: Some(rig.record.station),
            pieces: self.pieces,
            what: self.what,
            incident: self.incident,
            minutes: self.minutes,
            used_at: write.head.at,
            recorded_by: write.actor.name.clone(),
            rev: 0,
        };
        write.save(record, rig.scope)
    }
}
