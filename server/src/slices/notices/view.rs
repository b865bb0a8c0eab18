//! How far a notice has come: every piece that it is about, and what became of each.

use fullset_care::notice::Hit;
use serde::Serialize;
use utoipa::ToSchema;

use super::{Notice, NoticeId};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        pieces::{NoticeMark, NoticeState, Piece, PieceId, PieceState, Place},
        rigs::RigId,
    },
};

/// A piece that a notice is about.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticePiece {
    /// The piece that the notice is about; retired ones are left out.
    pub piece: PieceId,
    /// The piece's asset tag.
    pub tag: String,
    /// The maker's serial number; null: not on record.
    pub serial: Option<String>,
    /// Where the piece is now, or where it is on its way to.
    pub place: Place,
    /// The rig that it is on.
    pub rig: Option<RigId>,
    /// Whether it is affected.
    pub hit: Hit,
    /// What was last said of it for this notice; null: nobody has looked yet.
    pub mark: Option<NoticeMark>,
    /// Whether something is still to be done for it.
    pub open: bool,
}

/// How far a notice has come.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeProgress {
    /// The notice whose progress this is.
    pub notice: NoticeId,
    /// How many pieces it is about.
    pub pieces: usize,
    /// For how many something is still to be done; those that were not found among them.
    pub open: usize,
    /// Of those, how many were looked for and not found.
    pub not_found: usize,
    /// The pieces, open ones first, by tag; 10,000 at most.
    #[schema(max_items = 10000)]
    pub items: Vec<NoticePiece>,
}

/// The most pieces of one answer.
const MOST: usize = 10_000;

/// Reads it.
pub fn progress(db: &mut Db, agency: AgencyId, notice: &Notice) -> Result<NoticeProgress, Fault> {
    let mut items = Vec::new();
    for model in &notice.covers.models {
        for row in record::of_parent(db, agency, Piece::KIND, *model)? {
            let piece: Piece = row.read()?;
            let hit = notice.hit(&piece);
            if piece.state == PieceState::Retired || !hit.counts() {
                continue;
            }
            let mark = piece.notices.into_iter().find(|mark| mark.notice == notice.id.0);
            items.push(NoticePiece {
                piece: piece.id,
                tag: piece.tag,
                serial: piece.serial,
                rig: piece.place.rig(),
                place: piece.place,
                hit,
                open: mark.as_ref().is_none_or(|mark| !mark.state.is_done()),
                mark,
            });
        }
    }
    items.sort_by(|a, b| (!a.open, &a.tag).cmp(&(!b.open, &b.tag)));
    let (pieces, open) = (items.len(), items.iter().filter(|one| one.open).count());
    let missed = items
        .iter()
        .filter(|one| one.mark.as_ref().is_some_and(|mark| mark.state == NoticeState::NotFound));
    let not_found = missed.count();
    items.truncate(MOST);
    Ok(NoticeProgress {
        notice: notice.id,
        pieces,
        open,
        not_found,
        items,
    })
}
