use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::{self as calc, Completeness, Level, PieceAnswer},
    ratings::Kind,
};
use uuid::Uuid;

use super::{
    PieceStanding, RigStanding,
    feed::PlanDue,
    load::{Aboard, Catalogue},
    rows,
};
use crate::{
    platform::{
        door::{Raise, Stored, Touched, Write},
        error::Fault,
        record::{Record as _, Scope},
        said::quoted,
    },
    slices::{
        pieces::{Piece, PieceId, PieceState},
        rigs::{Rig, RigId},
    },
};

/// Works out the rigs and pieces that a command touched, inside its transaction. What has not changed is not written.
pub fn follow(write: &mut Write<'_>, touched: &Touched) -> Result<(), Fault> {
    let now = write.now();
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    for piece in &touched.judged {
        if write.look::<Piece>(*piece)?.is_none_or(|stored| stored.record.kind == Kind::Battery) {
            catalogue.read_packs(write)?;
            break;
        }
    }
    let mut judged: BTreeSet<Uuid> = BTreeSet::new();
    for rig in &touched.rigs {
        settle_rig(write, &mut catalogue, RigId(*rig), now, &mut judged)?;
    }
    for piece in touched.judged.iter().filter(|id| !judged.contains(*id)) {
        settle_piece(write, &mut catalogue, PieceId(*piece), now)?;
    }
    write.keep(catalogue);
    Ok(())
}

/// Works out a rig whose answer ran out, as of the instant at which it did, with what is aboard.
pub fn settle(write: &mut Write<'_>, rig: Uuid, at: DateTime<Utc>) -> Result<(), Fault> {
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    settle_rig(write, &mut catalogue, RigId(rig), at, &mut BTreeSet::new())?;
    write.keep(catalogue);
    Ok(())
}

/// Works out a piece whose answer ran out, as of that instant.
pub fn settle_one_piece(write: &mut Write<'_>, piece: Uuid, at: DateTime<Utc>) -> Result<(), Fault> {
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(()) };
    settle_piece(write, &mut catalogue, PieceId(piece), at)?;
    write.keep(catalogue);
    Ok(())
}

/// Works out one rig as of an instant, dates what has changed at it, and says when the new answer runs out. The pieces aboard are
/// worked out with it; their ids are added to `judged`.
fn settle_rig(write: &mut Write<'_>, catalogue: &mut Catalogue, rig: RigId, at: DateTime<Utc>, judged: &mut BTreeSet<Uuid>) -> Result<(), Fault> {
    let (agency, rev) = (write.agency, write.rev);
    let before = write.look::<RigStanding>(rig)?;
    // What is settled after another change cannot reach behind it.
    let changed_at = before.as_ref().map_or(at, |before| at.max(before.record.since));
    let Some(mut aboard) = Aboard::load(write, catalogue, rig)? else {
        if before.is_some() {
            rows::close(write.beside(), agency, rig.0, changed_at)?;
            write.remove::<RigStanding>(rig)?;
        }
        return write.lapse(Rig::KIND, rig.0, None);
    };
    let ids: Vec<Uuid> = aboard.pieces.iter().map(|piece| piece.id).collect();
    write.read_lapses(Piece::KIND, &ids)?;
    let (answer, pieces) = assess(catalogue, &aboard, at);
    settle_aboard(write, &mut aboard, pieces, changed_at, judged)?;
    let (level, holds_until) = (answer.level, answer.holds_until);
    write.lapse(Rig::KIND, rig.0, holds_until)?;
    if let Some(Stored { record: known, .. }) = &before {
        note_raised_rig(write, &aboard.rig.name, &known.answer, &answer);
    }
    let planned = aboard.is_planned(write, catalogue, level, at)?;
    let rig_name = aboard.rig.name.clone();
    let stretch = rows::Stretch { level, planned, holds_until };
    let since = match &before {
        Some(Stored { record: known, .. }) if known.answer.level == level && known.planned == planned => {
            if known.answer == answer && known.rig_name == rig_name && before.as_ref().is_some_and(|before| before.scope == aboard.scope) {
                return Ok(());
            }
            if known.answer.holds_until != holds_until {
                rows::hold(write.beside(), agency, rig.0, holds_until)?;
            }
            known.since
        }
        _ => {
            let turned_at = rows::turn(write.beside(), agency, rig.0, rev, changed_at, stretch)?;
            // The level is as old as it was when only the reason for it has become another.
            before
                .filter(|before| before.record.answer.level == level)
                .map_or(turned_at, |before| before.record.since)
        }
    };
    let record = RigStanding {
        id: rig,
        rig_name,
        since,
        planned,
        known: true,
        pending: false,
        answer,
        rev,
    };
    write.save(record, aboard.scope)
}

/// The answers about a rig and about the pieces aboard, as of an instant.
pub fn assess(catalogue: &Catalogue, aboard: &Aboard, at: DateTime<Utc>) -> (calc::Assessment, Vec<(Uuid, PieceAnswer)>) {
    let rules = catalogue.rules();
    let (mut answer, pieces) = catalogue.speak(|voice| calc::assess_with_pieces(&aboard.view(), &rules, at, voice));
    for (own, stricter) in catalogue.looser_for_rigs() {
        let level = calc::level(&aboard.view(), &stricter, at).level;
        if level < answer.level {
            answer.remarks.push(format!(
                "{} counts by the agency's own rule ({}: {}); without it {}",
                answer.level.word(),
                own.words,
                quoted(&own.reason),
                level.word()
            ));
        }
    }
    (answer, pieces)
}

/// Notes where a rig is better off than before: a release, whatever act it is.
fn note_raised_rig(write: &mut Write<'_>, name: &str, before: &calc::Assessment, after: &calc::Assessment) {
    let mut note = |from, to| {
        write.note_raise(Raise {
            noun: Rig::KIND,
            name: name.to_owned(),
            from,
            to,
        });
    };
    if after.level > before.level && before.level != Level::NotJudged {
        note(before.level.word(), after.level.word());
    }
    if before.completeness == Completeness::Incomplete && after.completeness == Completeness::Complete {
        note("list incomplete", "complete");
    }
}

/// Keeps the answers about the pieces aboard.
fn settle_aboard(
    write: &mut Write<'_>,
    aboard: &mut Aboard,
    pieces: Vec<(Uuid, PieceAnswer)>,
    at: DateTime<Utc>,
    judged: &mut BTreeSet<Uuid>,
) -> Result<(), Fault> {
    let rig = aboard.rig.id;
    let mut known: BTreeMap<Uuid, Stored<PieceStanding>> = write
        .on_rig::<PieceStanding>(rig)?
        .into_iter()
        .map(|stored| (stored.record.id.0, stored))
        .collect();
    let tags: BTreeMap<Uuid, &str> = aboard.pieces.iter().map(|piece| (piece.id, piece.tag.as_str())).collect();
    for (id, answer) in pieces {
        judged.insert(id);
        let before = match known.remove(&id) {
            Some(stored) => Some(stored),
            None => write.look::<PieceStanding>(PieceId(id))?,
        };
        let tag = tags.get(&id).copied().unwrap_or_default();
        // Not the rig's: a piece may have its home elsewhere.
        let scope = write.scope_of::<Piece>(id)?.unwrap_or(aboard.scope);
        let due = aboard.due.remove(&id).unwrap_or_default();
        keep_answer(write, before, (PieceId(id), tag, Some(rig)), (answer, due), scope, at)?;
    }
    Ok(())
}

/// Keeps the answer about one piece, where it is another than before, and says when it runs out.
fn keep_answer(
    write: &mut Write<'_>,
    before: Option<Stored<PieceStanding>>,
    (id, tag, rig): (PieceId, &str, Option<RigId>),
    (answer, due): (PieceAnswer, Vec<PlanDue>),
    scope: Scope,
    at: DateTime<Utc>,
) -> Result<(), Fault> {
    write.lapse(Piece::KIND, id.0, answer.holds_until)?;
    if let Some(known) = before
        .as_ref()
        .map(|stored| stored.record.answer.verdict)
        .filter(|known| answer.verdict > *known)
    {
        write.note_raise(Raise {
            noun: Piece::KIND,
            name: tag.to_owned(),
            from: known.word(),
            to: answer.verdict.word(),
        });
    }
    let since = match &before {
        Some(stored) if stored.record.answer.verdict == answer.verdict => {
            let known = &stored.record;
            if known.answer == answer && known.due == due && known.rig == rig && known.tag == tag && stored.scope == scope {
                return Ok(());
            }
            known.since
        }
        Some(stored) => at.max(stored.record.since),
        None => at,
    };
    let rev = write.rev;
    write.save(
        PieceStanding {
            id,
            tag: tag.to_owned(),
            rig,
            since,
            known: true,
            pending: false,
            answer,
            due,
            rev,
        },
        scope,
    )
}

/// Works out one piece as of an instant. One aboard a rig is worked out with the rig.
fn settle_piece(write: &mut Write<'_>, catalogue: &mut Catalogue, id: PieceId, at: DateTime<Utc>) -> Result<(), Fault> {
    let Some(stored) = write.look::<Piece>(id)?.filter(|stored| stored.record.state != PieceState::Retired) else {
        if write.look::<PieceStanding>(id)?.is_some() {
            write.remove::<PieceStanding>(id)?;
        }
        return write.lapse(Piece::KIND, id.0, None);
    };
    if let Some(rig) = stored.record.place.rig() {
        return settle_rig(write, catalogue, rig, at, &mut BTreeSet::new());
    }
    let ran = catalogue.ran(write, [&stored.record])?;
    let (judged, due) = catalogue.judged_with_due(write, &stored.record, &ran)?;
    let rules = catalogue.rules();
    let answer = catalogue.speak(|voice| calc::verdict(&judged, &rules, at, voice));
    let before = write.look::<PieceStanding>(id)?;
    keep_answer(write, before, (id, &stored.record.tag, None), (answer, due), stored.scope, at)
}
