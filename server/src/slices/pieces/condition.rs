//! The condition of a piece: out and back, held, limited, used, checked, serviced, retired. What other slices may change of a piece
//! they change through here.

use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::{
    ratings::Kind,
    release::{DefectClass, Reading},
};
use uuid::Uuid;

use super::{
    BaselineValue, Hold, NoticeMark, Pass, Piece, PieceId, PieceLimit, PieceState, Place, Released, Trial, Unanswered,
    fluids::refuse_mix,
    ops::scope_at,
    rules::{MOST_BASELINE, MOST_LIMITS, MOST_NOTICES, MOST_PASSES, PieceAct, PieceFacts, answer_for, has_room, later, may},
};
use crate::{
    platform::{door::Write, error::Fault, record::Scope},
    slices::{check_plans::CheckPlanId, rigs::RigId},
};

/// Saves the piece under the scope of its place; the rigs that it left and reached are worked out again.
pub(super) fn put(write: &mut Write<'_>, before: Option<Scope>, piece: Piece) -> Result<(), Fault> {
    let scope = scope_at(write, &piece)?;
    if let Some(rig) = scope.rig.filter(|rig| before.and_then(|before| before.rig) != Some(*rig)) {
        refuse_mix(write, &piece, RigId(rig))?;
    }
    for rig in [before.and_then(|before| before.rig), scope.rig].into_iter().flatten() {
        write.reconsider(rig);
    }
    if piece.kind == Kind::Battery && (before.is_none() || piece.state == PieceState::Retired) && is_only_one(write, &piece)? {
        // From the first pack of a family on record on, or after the last, its tools are judged otherwise on every rig.
        write.reconsider_all()?;
    }
    write.save(piece, scope)
}

/// Whether no other piece of its model is on record.
fn is_only_one(write: &mut Write<'_>, piece: &Piece) -> Result<bool, Fault> {
    let others = write.of_parent::<Piece>(piece.model)?;
    Ok(others
        .iter()
        .all(|other| other.record.id == piece.id || other.record.state == PieceState::Retired))
}

/// A rig whose piece is out for planned service stands otherwise than one whose piece failed, wherever the piece is.
pub(super) fn awaited(write: &mut Write<'_>, piece: &Piece) {
    if let Some(rig) = piece.home.as_ref().and_then(Place::rig).filter(|_| piece.planned) {
        write.reconsider(rig);
    }
}

/// Refuses what may not be done with the piece in its state.
pub fn allowed(act: PieceAct, piece: &Piece) -> Result<(), Fault> {
    may(act, PieceFacts::of(piece)).map_err(Fault::rule)
}

/// How a piece goes out of service.
#[derive(Debug, Clone)]
pub struct Outage {
    /// Why, in a member's words.
    pub reason: String,
    /// For planned service, with nothing wrong.
    pub planned: bool,
    /// What holds it from now on.
    pub hold: Option<Hold>,
    /// What its return must answer for.
    pub unanswered: Vec<Unanswered>,
}

/// Takes the piece out of service. What is out already keeps its first time and gets the newer reason; what is out for
/// planned service stays so only until something else is found; what is missing stays missing.
pub fn put_out(write: &mut Write<'_>, piece: PieceId, out: Outage) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    allowed(PieceAct::TakeOut, &stored.record)?;
    awaited(write, &stored.record);
    let mut piece = stored.record;
    piece.planned = out.planned && (piece.planned || piece.state == PieceState::InService);
    if piece.state == PieceState::InService {
        piece.state = PieceState::OutOfService;
        piece.state_since = write.head.at;
    }
    if piece.state != PieceState::Missing {
        piece.state_reason = Some(out.reason);
        piece.state_by = write.actor.person();
    }
    if let Some(hold) = out.hold.filter(|hold| !piece.holds.contains(hold)) {
        has_room(PieceFacts::of(&piece)).map_err(Fault::rule)?;
        piece.holds.push(hold);
    }
    for unanswered in out.unanswered {
        answer_for(&mut piece.unanswered, unanswered);
    }
    awaited(write, &piece);
    put(write, Some(stored.scope), piece)
}

/// Says that the piece has come to a place. What is missing is found first.
pub fn bring_to(write: &mut Write<'_>, piece: PieceId, place: Place) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    allowed(PieceAct::Move, &stored.record)?;
    let mut piece = stored.record;
    piece.put_at(place, write.head.at);
    put(write, Some(stored.scope), piece)
}

/// Holds the piece for a ticket without changing its state.
pub fn hold(write: &mut Write<'_>, piece: PieceId, hold: Hold) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    allowed(PieceAct::OpenTicket, &stored.record)?;
    let mut piece = stored.record;
    piece.holds.push(hold);
    put(write, Some(stored.scope), piece)
}

/// Ends holds, and the limits of what they held for. The piece stays out of service until a named person returns it.
pub fn end_holds(write: &mut Write<'_>, piece: PieceId, ended: &[Uuid]) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    drop_ended(&mut piece, ended);
    put(write, Some(stored.scope), piece)
}

fn drop_ended(piece: &mut Piece, ended: &[Uuid]) {
    piece.holds.retain(|hold| !ended.contains(&hold.id));
    piece.limits.retain(|limit| !ended.contains(&limit.defect));
    piece.unanswered.retain(|open| open.defect.is_none_or(|defect| !ended.contains(&defect)));
}

/// Returns the piece to service: a named person's act, on the evidence that was found enough. Ends `ended` first; refuses while
/// anything else holds it.
pub fn bring_back(write: &mut Write<'_>, piece: PieceId, ended: &[Uuid], place: Option<Place>, released: Released) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    drop_ended(&mut piece, ended);
    allowed(PieceAct::Return, &piece)?;
    awaited(write, &piece);
    keep_released(&mut piece, released);
    piece.state = PieceState::InService;
    piece.state_since = write.head.at;
    piece.state_reason = None;
    piece.state_by = write.actor.person();
    piece.planned = false;
    piece.unanswered.clear();
    piece.used_while_out = None;
    if let Some(place) = place {
        piece.put_at(place, write.head.at);
    }
    checked(write, &mut piece);
    put(write, Some(stored.scope), piece)
}

/// What was released without a limit while the piece was out stays on it, when more is released after.
fn keep_released(piece: &mut Piece, mut released: Released) {
    if let Some(before) = piece
        .released
        .take()
        .filter(|before| piece.state != PieceState::InService && before.at >= piece.state_since)
    {
        let more = before.without_limit.into_iter().filter(|measure| !released.without_limit.contains(measure));
        let more: Vec<_> = more.collect();
        released.without_limit.extend(more);
        let more: Vec<DefectClass> = before.classes.into_iter().filter(|class| !released.classes.contains(class)).collect();
        released.classes.extend(more);
        let more: Vec<String> = before.own_rule.into_iter().filter(|why| !released.own_rule.contains(why)).collect();
        released.own_rule.extend(more);
        released.manual = released.manual.or(before.manual);
        released.makers_service = released.makers_service.or(before.makers_service);
        released.paper_words = released.paper_words.or(before.paper_words);
    }
    piece.released = Some(released);
}

/// Keeps what a defect was closed on.
pub fn note_released(write: &mut Write<'_>, piece: PieceId, released: Released) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    keep_released(&mut piece, released);
    put(write, Some(stored.scope), piece)
}

/// Sets the limit of an open defect, in the place of the one that it had.
pub fn set_limit(write: &mut Write<'_>, piece: PieceId, limit: PieceLimit) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    piece.limits.retain(|known| known.defect != limit.defect);
    if piece.limits.len() >= MOST_LIMITS {
        return Err(Fault::rule(format!(
            "{} has {MOST_LIMITS} open defects under a limit; that is no usable piece. Take it out of service",
            piece.tag
        )));
    }
    piece.limits.push(limit);
    put(write, Some(stored.scope), piece)
}

/// Takes the limit of a defect off: it puts the piece out of service now.
pub fn drop_limit(write: &mut Write<'_>, piece: PieceId, defect: Uuid) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    piece.limits.retain(|known| known.defect != defect);
    put(write, Some(stored.scope), piece)
}

/// The piece was used at that time. Nothing happens to what has left the register.
pub fn mark_used(write: &mut Write<'_>, piece: PieceId, at: DateTime<Utc>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    if piece.state == PieceState::Retired {
        return Ok(());
    }
    piece.used_at = later(piece.used_at, at);
    if piece.state != PieceState::InService && piece.state_since <= at {
        piece.used_while_out = later(piece.used_while_out, at);
    }
    put(write, Some(stored.scope), piece)
}

/// A use of the piece was none: it was last used then, if ever.
pub fn unmark_used(write: &mut Write<'_>, piece: PieceId, last: Option<DateTime<Utc>>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    if piece.state == PieceState::Retired {
        return Ok(());
    }
    piece.used_at = last;
    piece.used_while_out = piece.used_while_out.filter(|out| last.is_some_and(|last| *out <= last));
    put(write, Some(stored.scope), piece)
}

fn checked(write: &Write<'_>, piece: &mut Piece) {
    let at = write.head.at;
    if piece.checked_at.is_none_or(|known| known <= at) {
        piece.checked_at = Some(at);
        piece.checked_by = Some(write.actor.person());
    }
}

/// The piece was tried at the time of the act on the rig that it is on. An older trial than the one on record changes nothing.
pub(super) fn tried(write: &Write<'_>, piece: &mut Piece, note: Option<String>) {
    let at = write.head.at;
    if piece.tried.as_ref().is_none_or(|known| known.at <= at) {
        let by = write.actor.person();
        piece.tried = Some(Trial { at, by, note });
    }
}

/// The piece was looked over at the time of the act, and nothing was found. Where that was on the rig that it is on, after it came
/// aboard, it counts as tried there.
pub fn mark_checked(write: &mut Write<'_>, piece: PieceId, on: Option<RigId>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    if piece.state == PieceState::Retired {
        return Ok(());
    }
    checked(write, &mut piece);
    let owed = piece.untried_since().is_some_and(|since| since <= write.head.at);
    if owed && on.is_some() && piece.place.rig() == on {
        tried(write, &mut piece, None);
    }
    put(write, Some(stored.scope), piece)
}

/// The piece has passed its annual service on that day. An older day than the one on record changes nothing of it.
pub fn mark_serviced(write: &mut Write<'_>, piece: PieceId, on: NaiveDate) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    allowed(PieceAct::Service, &stored.record)?;
    let mut piece = stored.record;
    piece.last_service_on = Some(piece.last_service_on.map_or(on, |known| known.max(on)));
    put(write, Some(stored.scope), piece)
}

/// What a passed check proves of its piece.
#[derive(Debug, Clone)]
pub struct PassedCheck {
    /// The plan that it was done by.
    pub plan: CheckPlanId,
    /// It was checked since its last use.
    pub checked: bool,
    /// It was hooked up and run on the rig that it is on.
    pub tried: bool,
    /// Its annual service was done, on that day.
    pub serviced_on: Option<NaiveDate>,
}

/// The piece has passed a check at the time of the act. An older pass than the one on record changes nothing.
pub fn mark_passed(write: &mut Write<'_>, piece: PieceId, proved: &PassedCheck) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    let at = write.head.at;
    match piece.passes.iter_mut().find(|known| known.plan == proved.plan) {
        Some(known) => known.at = known.at.max(at),
        None => {
            if piece.passes.len() >= MOST_PASSES {
                // The oldest belongs to a plan that has been withdrawn, or to one that will soon be due again.
                piece.passes.sort_by_key(|pass| pass.at);
                piece.passes.remove(0);
            }
            piece.passes.push(Pass { plan: proved.plan, at });
        }
    }
    if proved.checked {
        checked(write, &mut piece);
    }
    if proved.tried && piece.place.rig().is_some() && piece.aboard_since.is_none_or(|since| since <= at) {
        tried(write, &mut piece, None);
    }
    if let Some(on) = proved.serviced_on {
        piece.last_service_on = Some(piece.last_service_on.map_or(on, |known| known.max(on)));
    }
    put(write, Some(stored.scope), piece)
}

/// Keeps what was said of the piece for a safety notice, in the place of what was said before. Something said earlier than that changes
/// nothing.
pub fn mark_notice(write: &mut Write<'_>, piece: PieceId, mark: NoticeMark) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    match piece.notices.iter_mut().find(|known| known.notice == mark.notice) {
        Some(known) if known.at > mark.at => return Ok(()),
        Some(known) if known.state.is_done() && !mark.state.is_done() => {
            return Err(Fault::rule(format!(
                "{} is done with for this notice; if it is not, take it out of service",
                piece.tag
            )));
        }
        Some(known) => *known = mark,
        None => {
            if piece.notices.len() >= MOST_NOTICES {
                piece.notices.remove(0);
            }
            piece.notices.push(mark);
        }
    }
    put(write, Some(stored.scope), piece)
}

/// Keeps the values of an acceptance test. What is there already stays, unless a reason is given to replace it.
pub fn accept(write: &mut Write<'_>, piece: PieceId, readings: &[Reading], on: NaiveDate, reason: Option<&str>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    let by = write.actor.person();
    for reading in readings {
        let Some(value) = reading.value.filter(|_| reading.measure.dimension().is_some()) else {
            continue;
        };
        let new = BaselineValue {
            measure: reading.measure,
            value,
            on,
            by: by.clone(),
            reason: None,
        };
        let (room, known) = (
            piece.baseline.len() < MOST_BASELINE,
            piece.baseline.iter_mut().find(|known| known.measure == reading.measure),
        );
        match (known, reason) {
            (Some(known), Some(reason)) => {
                let reason = Some(reason.to_owned());
                *known = BaselineValue { reason, ..new };
            }
            (None, _) if room => piece.baseline.push(new),
            _ => {}
        }
    }
    put(write, Some(stored.scope), piece)
}

/// Takes the piece out of the register for good. Its defects are the caller's to close.
pub fn retire(write: &mut Write<'_>, piece: PieceId, reason: String, disposal: String) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    write.reach_kept(stored.scope)?;
    allowed(PieceAct::Retire, &stored.record)?;
    write.expects(&stored)?;
    let mut piece = stored.record;
    awaited(write, &piece);
    piece.state = PieceState::Retired;
    piece.state_since = write.head.at;
    piece.state_reason = Some(reason);
    piece.state_by = write.actor.person();
    piece.planned = false;
    piece.holds.clear();
    piece.limits.clear();
    piece.unanswered.clear();
    piece.disposal = Some(disposal);
    piece.put_at(Place::Retired, write.head.at);
    put(write, Some(stored.scope), piece)
}
