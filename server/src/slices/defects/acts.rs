//! What happens to a defect once it is reported: seen again, put off, closed.

use fullset_calc::release::{DefectClass, Evidence, may_extend};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Defect, DefectId, DefectState, close,
    feed::{Extension, Severity},
    mixed::quarantine,
    notes::{DefectNote, DefectNoteId},
    ops::{LimitRequest, before_again, refused, take_effect, until},
    rules::{DefectAct, DefectFacts, DefectOnRecord, may, worsen},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, own_id, text},
        error::Fault,
    },
    slices::{
        agencies::{Agency, day_begins, day_of, zone},
        photos::{PhotoName, named_photos},
        pieces::{Piece, Purpose, clear, end_holds, note_released, read_evidence, role_of},
    },
};

/// The defect with its piece. The piece may have moved since the defect was seen: it belongs to those who have the piece now.
fn found(write: &mut Write<'_>, id: DefectId) -> Result<(Stored<Defect>, Piece), Fault> {
    let stored = write.find::<Defect>(id)?;
    let piece = write.find::<Piece>(stored.record.piece)?;
    let scope = piece.scope;
    Ok((Stored { scope, ..stored }, piece.record))
}

/// The same, if the piece is within the member's reach.
fn within_reach(write: &mut Write<'_>, id: DefectId) -> Result<(Stored<Defect>, Piece), Fault> {
    let (stored, piece) = found(write, id)?;
    write.reach(stored.scope)?;
    Ok((stored, piece))
}

fn allowed(act: DefectAct, defect: &Defect) -> Result<(), Fault> {
    may(act, DefectFacts::of(defect)).map_err(Fault::rule)
}

/// Says that an open defect was seen again. It may have become worse, or be something worse than it was said to be; a note never
/// betters it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteDefect {
    /// The open defect that was seen again; at most 100 notes stand on one defect.
    pub id: DefectId,
    /// What was seen this time: 1 to 4,000 characters.
    pub text: String,
    /// What kind of thing it is now known to be.
    #[serde(default)]
    pub class: Option<DefectClass>,
    /// *Out of service*, where the piece must not be used any more.
    #[serde(default)]
    pub severity: Option<Severity>,
    /// More ratings that do not count from now on, where the piece can still be used; what was named before stays.
    #[serde(default)]
    pub limit: Option<LimitRequest>,
    /// Up to 8 photos of it, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

impl Act for NoteDefect {
    const KIND: &'static str = "defect.note";
    const SUMMARY: &'static str = "Say that an open defect was seen again, and whether it is worse";
    const DONE: &'static str = "Defect seen again";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("crews are detailed to other houses");

    fn prepare(&mut self) -> Result<(), Fault> {
        LimitRequest::prepare(self.limit.as_ref())?;
        named_photos("body.photos", &self.photos)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        // A note never betters anything, so it is open to every member, as a report is.
        let (stored, piece) = found(write, self.id)?;
        allowed(DefectAct::Note, &stored.record)?;
        let mut defect = stored.record;
        let agency = write.agency;
        let agency = write.find::<Agency>(agency)?.record;
        let (zone, rules) = (agency.time_zone, agency.rules());
        let known = DefectOnRecord {
            kind: piece.kind,
            class: defect.class,
            severity: defect.severity,
            found: day_of(defect.seen_at, zone),
            repair_by: defect.limit.as_ref().map(|limit| limit.repair_by_day),
        };
        let worse = worsen(known, self.class, self.severity, &rules).map_err(|why| Fault::rule(why).at("body.severity"))?;
        let asked = self.limit.as_ref();
        let before = defect.limit.as_ref().map_or_else(Vec::new, |limit| limit.without.clone());
        let severity = self.severity.unwrap_or(defect.severity);
        let without = LimitRequest::of(asked, write, &piece, severity, &before)?;
        let lost = without.len() > before.len();
        let changed = (worse.class != defect.class).then_some(worse.class);
        let note = DefectNote {
            id: DefectNoteId(own_id(&format!("defect note {}", write.head.id))),
            defect: defect.id,
            piece: defect.piece,
            at: write.head.at,
            by: write.actor.person(),
            text: text("body.text", &self.text)?,
            class: changed,
            severity: worse.goes_out.then_some(Severity::OutOfService),
            photos: self.photos,
            state: DefectState::Open,
            rev: 0,
        };
        if changed.is_some() && !defect.classes_before.contains(&defect.class) {
            defect.classes_before.push(defect.class);
        }
        defect.class = worse.class;
        if worse.goes_out {
            defect.severity = Severity::OutOfService;
            defect.limit = None;
        } else if let (Some(_), Some((limit, day))) = (changed, worse.limit) {
            let before = before_again(write, defect.piece, defect.class)?;
            let day = before.as_ref().map_or(day, |before| day.min(before.repair_by_day));
            let extended = defect.limit.and_then(|limit| limit.extended).or(before.and_then(|before| before.extended));
            defect.limit = Some(until(write, (limit, without), day, extended)?);
        } else if let Some(limit) = defect.limit.as_mut() {
            limit.without = without;
        }
        let said = note.text.clone();
        defect.seen_again += 1;
        if worse.goes_out || changed.is_some() {
            defect.worse_at = defect.worse_at.max(Some(note.at));
        }
        write.save(defect.clone(), stored.scope)?;
        write.save(note, stored.scope)?;
        if worse.goes_out || changed.is_some() || lost {
            take_effect(write, &defect, said)?;
        }
        if changed == Some(DefectClass::FluidMix) {
            quarantine(write, &defect, &piece.tag)?;
        }
        Ok(())
    }
}

/// Puts the repair of a defect off once more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExtendDefect {
    /// The open defect whose repair is put off: once only, and only while it leaves the piece usable.
    pub id: DefectId,
    /// Why it cannot be repaired by its date.
    pub reason: String,
}

impl Act for ExtendDefect {
    const KIND: &'static str = "defect.extend";
    const SUMMARY: &'static str = "Put the repair of a usable defect off, once and with a reason";
    const DONE: &'static str = "Repair put off";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("defect");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (stored, _) = within_reach(write, self.id)?;
        write.expects(&stored)?;
        allowed(DefectAct::Extend, &stored.record)?;
        let reason = text("body.reason", &self.reason)?;
        let zone = zone(write)?;
        let mut defect = stored.record;
        let Some(limit) = defect.limit.take() else {
            return Err(Fault::rule("The piece is out of service for this defect; there is no date to put off"));
        };
        // Judged by the server's time: what has lapsed is not put off by a late entry.
        let today = day_of(write.now(), zone);
        let day = may_extend(
            limit.repair_by_day,
            limit.days,
            limit.extended.is_some(),
            &reason,
            role_of(write.actor.role),
            today,
        )
        .map_err(refused)?;
        defect.limit = Some(super::feed::DefectLimit {
            repair_by_day: day,
            repair_by: day_begins(day, zone),
            extended: Some(Extension {
                at: write.head.at,
                by: write.actor.person(),
                reason,
            }),
            ..limit
        });
        write.save(defect.clone(), stored.scope)?;
        let said = defect.what.clone();
        take_effect(write, &defect, said)
    }
}

/// Closes a defect, on the evidence that its class asks for.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseDefect {
    /// The open defect to close; one that a repair ticket deals with closes with the ticket.
    pub id: DefectId,
    /// What was found and done about it: 1 to 4,000 characters.
    pub resolution: String,
    /// What it rests on.
    #[serde(default)]
    pub evidence: Evidence,
}

impl Act for CloseDefect {
    const KIND: &'static str = "defect.close";
    const SUMMARY: &'static str = "Close a defect, on its evidence; a piece that it put out of service stays so until a person returns it";
    const DONE: &'static str = "Defect closed";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("defect");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.evidence = read_evidence("body.evidence", std::mem::take(&mut self.evidence))?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (stored, piece) = within_reach(write, self.id)?;
        write.expects(&stored)?;
        allowed(DefectAct::Close, &stored.record)?;
        let resolution = text("body.resolution", &self.resolution)?;
        let evidence = Evidence {
            note: Some(resolution.clone()),
            ..self.evidence
        };
        let asked = (Purpose::Release(&stored.record.classes()), Some(stored.record.last_worse()));
        let released = clear(write, &piece, asked, &evidence)?;
        close(write, self.id, resolution, Some(evidence))?;
        end_holds(write, piece.id, &[Uuid::from(self.id)])?;
        note_released(write, piece.id, released)
    }
}
