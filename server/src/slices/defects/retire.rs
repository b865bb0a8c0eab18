//! Retiring a piece: it closes the piece's open defects, so it is done here and not among the pieces.

use serde::Deserialize;
use utoipa::ToSchema;

use super::{Defect, DefectState, close};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
        said::quoted,
    },
    slices::pieces::{PieceId, retire},
};

/// Takes a piece out of the register for good, and closes its open defects with that. Its tag is never used again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RetirePiece {
    /// The piece to retire; one that is on no repair ticket.
    pub id: PieceId,
    /// Why it leaves the register: 1 to 4,000 characters; its open defects are closed with that.
    pub reason: String,
    /// How it was made unusable, so that nobody can use it again: a hose is cut.
    pub disposal: String,
}

impl Act for RetirePiece {
    const KIND: &'static str = "piece.retire";
    const SUMMARY: &'static str = "Retire a piece for good, saying how it was made unusable";
    const DONE: &'static str = "Retired for good";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("piece");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (reason, disposal) = (text("body.reason", &self.reason)?, text("body.disposal", &self.disposal)?);
        retire(write, self.id, reason.clone(), disposal)?;
        let open = write.of_parent::<Defect>(self.id)?;
        for defect in open.into_iter().filter(|defect| defect.record.state == DefectState::Open) {
            let resolution: String = format!("Retired: {}", quoted(&reason.chars().take(3900).collect::<String>()));
            close(write, defect.record.id, resolution, None)?;
        }
        Ok(())
    }
}
