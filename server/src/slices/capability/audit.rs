//! How rigs and pieces stand, worked out again from the records and held against what is kept.

use chrono::{DateTime, Utc};
use fullset_calc::capability::{self as calc, PieceAnswer};
use uuid::Uuid;

use super::{
    PieceStanding, RigStanding,
    feed::PlanDue,
    load::{Aboard, Catalogue, Source as _},
    ops::assess,
};
use crate::{
    platform::{
        audit::{Finding, JUDGE_AGAIN, about},
        db::Db,
        door::lapses,
        error::Fault,
        ids::AgencyId,
        record::{self, Record},
    },
    slices::{
        pieces::{Piece, PieceState},
        rigs::{Rig, RigId},
    },
};

/// What is looked at, and what was found.
#[derive(Debug, Default)]
pub struct Judged {
    /// Answers that were worked out again.
    pub answers: u64,
    /// Answers that wait to be settled or judged anew, and so are not looked at.
    pub unsettled: u64,
    /// Those that are not what they must be.
    pub findings: Vec<Finding>,
}

/// Judges every rig and piece of an agency as of an instant, which is no earlier than its last revision.
pub fn judge_again(db: &mut Db, agency: AgencyId, at: DateTime<Utc>) -> Result<Judged, Fault> {
    let mut judged = Judged::default();
    let Some(mut catalogue) = Catalogue::whole(db, agency)? else {
        return Ok(judged);
    };
    let (late_rigs, late_pieces) = (lapses::late(db, agency, Rig::KIND, at)?, lapses::late(db, agency, Piece::KIND, at)?);
    for rig in record::rigs(db, agency)? {
        if late_rigs.contains_key(&rig) {
            judged.unsettled += 1;
            continue;
        }
        let kept = db.one::<RigStanding>(agency, rig)?;
        let Some(mut aboard) = Aboard::load(db, &mut catalogue, RigId(rig))? else {
            if kept.is_some() {
                judged.wrong::<Rig>(agency, rig, "it is not there, and how it stands is kept");
            }
            continue;
        };
        let (answer, pieces) = assess(&catalogue, &aboard, at);
        let planned = aboard.is_planned(db, &mut catalogue, answer.level, at)?;
        judged.answers += 1;
        match kept {
            None => judged.wrong::<Rig>(agency, rig, "how it stands is not kept"),
            Some(kept) if kept.answer != answer || kept.planned != planned || kept.rig_name != aboard.rig.name => {
                let words = format!("it is kept as {} and worked out as {}", kept.answer.level.word(), answer.level.word());
                judged.wrong::<Rig>(agency, rig, words);
            }
            Some(_) => {}
        }
        for (piece, answer) in pieces {
            let due = aboard.due.remove(&piece).unwrap_or_default();
            judged.piece(db, agency, piece, (&answer, &due), late_pieces.contains_key(&piece))?;
        }
    }
    for id in record::on_no_rig(db, agency, Piece::KIND)? {
        let Some(piece) = db.one::<Piece>(agency, id)? else { continue };
        if piece.state == PieceState::Retired {
            if db.one::<PieceStanding>(agency, id)?.is_some() {
                judged.wrong::<Piece>(agency, id, "it is retired, and an answer about it is kept");
            }
            continue;
        }
        let ran = catalogue.ran(db, [&piece])?;
        let (seen, due) = catalogue.judged_with_due(db, &piece, &ran)?;
        let rules = catalogue.rules();
        let answer = catalogue.speak(|voice| calc::verdict(&seen, &rules, at, voice));
        judged.piece(db, agency, id, (&answer, &due), late_pieces.contains_key(&id))?;
    }
    Ok(judged)
}

impl Judged {
    fn wrong<R: Record>(&mut self, agency: AgencyId, id: Uuid, what: impl Into<String>) {
        self.findings.push(about(agency, R::KIND, id, what, JUDGE_AGAIN));
    }

    fn piece(&mut self, db: &mut Db, agency: AgencyId, id: Uuid, (answer, due): (&PieceAnswer, &Vec<PlanDue>), late: bool) -> Result<(), Fault> {
        if late {
            self.unsettled += 1;
            return Ok(());
        }
        self.answers += 1;
        match db.one::<PieceStanding>(agency, id)? {
            None => self.wrong::<Piece>(agency, id, "the answer about it is not kept"),
            Some(kept) if kept.answer != *answer || kept.due != *due => {
                let words = format!("it is kept as '{}' and worked out as '{}'", kept.answer.verdict.word(), answer.verdict.word());
                self.wrong::<Piece>(agency, id, words);
            }
            Some(_) => {}
        }
        Ok(())
    }
}
