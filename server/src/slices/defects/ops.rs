use fullset_calc::{
    ratings::Term,
    release::{DefectClass, Evidence, Limit, Refusal, repair_by},
};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Defect, DefectId, DefectState,
    feed::{DefectLimit, Extension, Severity},
    mixed::quarantine,
    notes::DefectNote,
    rules::{MOST_WITHOUT, judge, same_again, take_away},
};
use crate::{
    platform::{
        door::{Act, Ahead, Permission, Reach, Write, text},
        error::Fault,
    },
    slices::{
        agencies::{Agency, day_begins, day_done, zone},
        models::Model,
        photos::{PhotoName, named_photos},
        pieces::{Hold, HoldBy, Outage, Piece, PieceAct, PieceId, PieceLimit, Unanswered, allowed, drop_limit, put_out, role_of, set_limit},
    },
};

/// What more a limit says than the class's own words.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitRequest {
    /// Ratings that the piece does not reach any more: they count for nothing while the defect is open. Up to 8 of its kind's.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub without: Vec<Term>,
}

impl LimitRequest {
    /// Refuses more than a limit can name.
    pub(super) fn prepare(asked: Option<&Self>) -> Result<(), Fault> {
        match asked {
            Some(asked) if asked.without.len() > MOST_WITHOUT => Err(Fault::field("body.limit.without", format!("{MOST_WITHOUT} ratings are the most"))),
            _ => Ok(()),
        }
    }

    /// What it takes away from this piece, beside what was taken away before.
    pub(super) fn of(asked: Option<&Self>, write: &mut Write<'_>, piece: &Piece, severity: Severity, before: &[Term]) -> Result<Vec<Term>, Fault> {
        let named = asked.map_or(&[][..], |asked| &asked.without);
        let model = write.find::<Model>(piece.model)?.record;
        take_away(piece.kind, &model.ratings, severity, before, named).map_err(|why| Fault::field("body.limit.without", why))
    }
}

/// Reports a defect.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportDefect {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: DefectId,
    /// The piece that has the defect: any of the agency that is not retired.
    pub piece: PieceId,
    /// What is wrong, in the crew's own words.
    pub what: String,
    /// What kind of thing is wrong; *other* when nobody knows.
    pub class: DefectClass,
    /// Whether the piece can still be used. The class, the kind of piece and the member's role decide whether that may be said.
    pub severity: Severity,
    /// What the limit says beside the class's own words, where the piece can still be used.
    #[serde(default)]
    pub limit: Option<LimitRequest>,
    /// Up to 8 photos of it, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

pub(super) fn refused(refusal: Refusal) -> Fault {
    Fault::rule(refusal.reason).hint(refusal.instead)
}

impl Act for ReportDefect {
    const KIND: &'static str = "defect.report";
    const SUMMARY: &'static str = "Report a defect";
    const DONE: &'static str = "Defect reported";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("crews are detailed to other houses");
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        LimitRequest::prepare(self.limit.as_ref())?;
        named_photos("body.photos", &self.photos)
    }

    fn ahead(&self, ahead: &mut Ahead) {
        ahead.record::<Defect>(self.id);
        ahead.record::<Piece>(self.piece);
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Defect>(self.id)?;
        self.report(write)
    }
}

impl ReportDefect {
    /// Puts the defect on record. Its id is nobody else's: a client's own, or made from the command's.
    pub fn report(self, write: &mut Write<'_>) -> Result<(), Fault> {
        // Open to every member for every piece of the agency: who sees damage says so.
        let stored = write.named::<Piece>("piece", self.piece)?;
        let piece = stored.record;
        allowed(PieceAct::ReportDefect, &piece).map_err(|fault| fault.at("body.piece"))?;
        let what = text("body.what", &self.what)?;
        let role = role_of(write.actor.role);
        let agency = write.agency;
        let rules = write.find::<Agency>(agency)?.record.rules();
        let limit = judge(piece.kind, self.class, self.severity, role, &rules).map_err(|refusal| refused(refusal).at("body.severity"))?;
        let without = LimitRequest::of(self.limit.as_ref(), write, &piece, self.severity, &[])?;
        let defect = Defect {
            id: self.id,
            piece: self.piece,
            what,
            class: self.class,
            classes_before: Vec::new(),
            severity: self.severity,
            limit: limit.map(|limit| under(write, (self.piece, self.class), limit, without)).transpose()?,
            state: DefectState::Open,
            seen_at: write.head.at,
            reported_by: write.actor.person(),
            place: piece.place,
            ticket: None,
            photos: self.photos,
            seen_again: 0,
            worse_at: None,
            closed_at: None,
            closed_by: None,
            resolution: None,
            evidence: None,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(defect.clone(), stored.scope)?;
        let said = defect.what.clone();
        take_effect(write, &defect, said)?;
        if self.class == DefectClass::FluidMix {
            quarantine(write, &defect, &piece.tag)?;
        }
        Ok(())
    }
}

/// A limit from the day of the act on; or as long as the one that the same defect had before, which was closed by a look.
fn under(write: &mut Write<'_>, (piece, class): (PieceId, DefectClass), limit: Limit, without: Vec<Term>) -> Result<DefectLimit, Fault> {
    let day = repair_by(day_done(write)?, limit.days).ok_or_else(|| Fault::rule("That day is beyond the calendar"))?;
    match before_again(write, piece, class)?.filter(|before| before.repair_by_day <= day) {
        Some(before) => until(write, (limit, without), before.repair_by_day, before.extended),
        None => until(write, (limit, without), day, None),
    }
}

/// The limit of the same defect before, where it goes on.
pub(super) fn before_again(write: &mut Write<'_>, piece: PieceId, class: DefectClass) -> Result<Option<DefectLimit>, Fault> {
    let at = write.head.at;
    let before: Vec<Defect> = write.of_parent::<Defect>(piece)?.into_iter().map(|stored| stored.record).collect();
    Ok(same_again(&before, class, at).cloned())
}

/// A limit until a day.
pub(super) fn until(
    write: &mut Write<'_>,
    (limit, without): (Limit, Vec<Term>),
    day: chrono::NaiveDate,
    extended: Option<Extension>,
) -> Result<DefectLimit, Fault> {
    let zone = zone(write)?;
    Ok(DefectLimit {
        words: limit.words,
        without,
        own_rule: limit.own_rule,
        within: limit.within,
        days: limit.days,
        repair_by_day: day,
        repair_by: day_begins(day, zone),
        extended,
    })
}

/// Brings the piece in step with an open defect: limited by it, or out of service and held by it.
pub(super) fn take_effect(write: &mut Write<'_>, defect: &Defect, reason: String) -> Result<(), Fault> {
    if let Some(limit) = &defect.limit {
        return set_limit(
            write,
            defect.piece,
            PieceLimit {
                defect: defect.id.0,
                what: defect.what.clone(),
                words: limit.words.clone(),
                without: limit.without.clone(),
                own_rule: limit.own_rule.clone(),
                since: defect.seen_at,
                repair_by: limit.repair_by,
            },
        );
    }
    drop_limit(write, defect.piece, defect.id.0)?;
    let unanswered = defect.classes().into_iter().map(|class| Unanswered {
        class,
        defect: Some(defect.id.0),
    });
    let out = Outage {
        reason,
        planned: false,
        hold: Some(Hold {
            by: HoldBy::Defect,
            id: defect.id.0,
        }),
        unanswered: unanswered.collect(),
    };
    put_out(write, defect.piece, out)
}

/// Closes a defect on what was found enough: the piece may then be returned to service, by a person.
pub fn close(write: &mut Write<'_>, id: DefectId, resolution: String, evidence: Option<Evidence>) -> Result<(), Fault> {
    let stored = write.find::<Defect>(id)?;
    let mut defect = stored.record;
    if defect.state == DefectState::Closed {
        return Ok(());
    }
    defect.state = DefectState::Closed;
    defect.closed_at = Some(write.head.at);
    defect.closed_by = Some(write.actor.person());
    defect.resolution = Some(resolution);
    defect.evidence = evidence;
    let piece = defect.piece;
    write.save(defect, stored.scope)?;
    for stored in write.of_parent::<DefectNote>(piece)? {
        let note = stored.record;
        if note.defect == id && note.state == DefectState::Open {
            let state = DefectState::Closed;
            write.save(DefectNote { state, ..note }, stored.scope)?;
        }
    }
    Ok(())
}

/// Ties a defect to the ticket that deals with it, or unties it.
pub fn tie(write: &mut Write<'_>, id: DefectId, piece: PieceId, ticket: Option<Uuid>) -> Result<(), Fault> {
    let stored = write.named::<Defect>("defects", id)?;
    let mut defect = stored.record;
    if defect.piece != piece {
        return Err(Fault::field("body.defects", "This defect is of another piece"));
    }
    if ticket.is_some() && defect.state == DefectState::Closed {
        return Err(Fault::rule("This defect is closed; report it anew if it is there again").at("body.defects"));
    }
    if ticket.is_some() && defect.ticket.is_some_and(|tied| Some(tied) != ticket) {
        return Err(Fault::rule("Another ticket deals with this defect already").at("body.defects"));
    }
    defect.ticket = ticket;
    write.save(defect, stored.scope)
}
