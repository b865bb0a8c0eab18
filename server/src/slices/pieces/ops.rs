use chrono::NaiveDate;
use fullset_calc::{plate::MadeOn, ratings::Kind};
use fullset_care::life::{MOST_CYCLES, PartMade, part_faults};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    CycleCount, Lender, Piece, PieceId, PieceState, Place, check_dates, check_place,
    condition::{allowed, put},
    place::{destination, known_place, settled, settled_home},
    rules::{PieceAct, mark_of},
};
use crate::{
    platform::{
        door::{Act, Ahead, Permission, Reach, RevisionNeed, Write, name, text},
        error::{self, Fault},
        record::{Name, Scope},
    },
    slices::{
        agencies::day_received,
        models::{Model, ModelId},
    },
};

/// Adds a piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddPiece {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: PieceId,
    /// The asset tag: 1 to 200 characters; no other piece has or had it, whatever the capitals.
    pub tag: String,
    /// Id of its model.
    pub model: ModelId,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Date of make: a day, or a month.
    pub made_on: Option<MadeOn>,
    /// Dates of make of its parts; 6 at most.
    #[serde(default)]
    #[schema(max_items = 6)]
    pub parts: Vec<PartMade>,
    /// Of a battery pack: its charge cycles; up to 100,000.
    #[schema(maximum = 100_000)]
    pub cycles: Option<u32>,
    /// In service with the agency since.
    pub in_service_since: Option<NaiveDate>,
    /// Its last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Where it is when it is entered, in service; within the sender's reach.
    pub place: Place,
    /// Where it belongs; its place, unless said.
    pub home: Option<Place>,
    /// Of a hose: the source that it is fixed to.
    pub fixed_to: Option<PieceId>,
    /// Who lends it to the agency, where it is not the agency's own.
    pub lent_by: Option<Lender>,
    /// What else is worth knowing: 1 to 4,000 characters.
    pub note: Option<String>,
}

/// Where the piece belongs: where it is, and where it has its home. One that is out of the register has no home any more.
pub fn scope_at(write: &mut Write<'_>, piece: &Piece) -> Result<Scope, Fault> {
    let at = check_place(write, "place", &piece.place)?;
    match &piece.home {
        Some(home) if piece.state != PieceState::Retired && *home != piece.place => Ok(at.with_home(known_place(write, home)?)),
        _ => Ok(at),
    }
}

pub(super) fn optional(field: &str, given: Option<String>) -> Result<Option<String>, Fault> {
    given.filter(|given| !given.trim().is_empty()).map(|given| name(field, &given)).transpose()
}

/// Who lends the piece, as it is kept.
pub(super) fn lender(given: Lender) -> Result<Lender, Fault> {
    Ok(Lender {
        name: name("body.lent_by.name", &given.name)?,
        ..given
    })
}

/// The charge cycles of a pack, as they are kept.
pub(super) fn counted(write: &Write<'_>, kind: Kind, count: u32) -> Result<CycleCount, Fault> {
    if kind != Kind::Battery {
        return Err(Fault::field("body.cycles", "Only a battery pack counts charge cycles"));
    }
    if count > MOST_CYCLES {
        return Err(Fault::field(
            "body.cycles",
            format!("{count} is not possible; {MOST_CYCLES} charge cycles are the most"),
        ));
    }
    Ok(CycleCount {
        count,
        at: write.head.at,
        by: write.actor.person(),
    })
}

/// Refuses dates of parts that cannot be kept: one for each part, none in the future.
pub(super) fn check_parts(write: &mut Write<'_>, piece: &Piece) -> Result<(), Fault> {
    if let Some(fault) = part_faults(&piece.parts).into_iter().next() {
        return Err(Fault::field(format!("body.{}", fault.path), fault.words));
    }
    if !piece.parts.is_empty() && piece.kind == Kind::Hose {
        return Err(Fault::field("body.parts", "A hose is one part; its date of make is `made_on`"));
    }
    if piece.parts.is_empty() {
        return Ok(());
    }
    let today = day_received(write)?;
    match piece.parts.iter().position(|part| part.made_on.earliest() > today) {
        Some(n) => Err(Fault::field(format!("body.parts[{n}].made_on"), "This date lies in the future").hint("correct the year, or leave the date out")),
        None => Ok(()),
    }
}

/// Refuses a piece that is fixed to something that it cannot be fixed to.
pub(super) fn fixed(write: &mut Write<'_>, piece: &Piece) -> Result<(), Fault> {
    let Some(source) = piece.fixed_to else { return Ok(()) };
    if piece.kind != Kind::Hose {
        return Err(Fault::field("body.fixed_to", "Only a hose is fixed to a source"));
    }
    if !write.named::<Piece>("fixed_to", source)?.record.kind.is_source() {
        return Err(Fault::field("body.fixed_to", "A hose is fixed to a power unit or hand pump"));
    }
    Ok(())
}

/// Refuses a serial number that another live piece of the model has.
pub(super) fn own_serial(write: &mut Write<'_>, piece: &Piece) -> Result<(), Fault> {
    let Some(serial) = &piece.serial else { return Ok(()) };
    let Some(mark) = piece.mark() else { return Ok(()) };
    match write.unique::<Piece>(&Name::Marked(mark))?.map(|stored| stored.record) {
        Some(other) if other.id != piece.id => Err(Fault::new(
            error::ALREADY_THERE,
            format!("{} has the serial number {serial} already, and is of the same model", other.tag),
        )
        .at("body.serial")
        .hint("look at both plates; if it is the same piece, it keeps the tag that it has")),
        _ => Ok(()),
    }
}

impl Act for AddPiece {
    const KIND: &'static str = "piece.add";
    const SUMMARY: &'static str = "Add a piece to the register";
    const DONE: &'static str = "Added to the register";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn ahead(&self, ahead: &mut Ahead) {
        ahead.record::<Piece>(self.id);
        ahead.record::<Model>(self.model);
        ahead.name::<Piece>(Name::Called(self.tag.trim().to_lowercase()));
        if let Some(serial) = &self.serial {
            ahead.name::<Piece>(Name::Marked(mark_of(self.model, serial)));
        }
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Piece>(self.id)?;
        let kind = write.named::<Model>("model", self.model)?.record.kind;
        settled(write, "place", &self.place)?;
        if let Some(home) = &self.home {
            settled_home(write, home)?;
        }
        let tag = name("body.tag", &self.tag)?;
        let entered = (write.head.at, write.actor.person());
        let cycles = self.cycles.map(|count| counted(write, kind, count)).transpose()?;
        let piece = Piece {
            serial: optional("body.serial", self.serial)?,
            made_on: self.made_on,
            parts: self.parts,
            cycles,
            in_service_since: self.in_service_since,
            last_service_on: self.last_service_on,
            home: self.home.or_else(|| Some(self.place.end().clone())),
            fixed_to: self.fixed_to,
            lent_by: self.lent_by.map(lender).transpose()?,
            note: self.note.map(|note| text("body.note", &note)).transpose()?,
            ..Piece::new(self.id, tag, (self.model, kind), self.place, entered)
        };
        check_dates(write, &piece)?;
        check_parts(write, &piece)?;
        fixed(write, &piece)?;
        own_serial(write, &piece)?;
        put(write, None, piece)
    }
}

/// Moves a piece. Until the far end confirms, it is in transit.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MovePiece {
    /// The piece to send; one that is neither missing nor retired.
    pub id: PieceId,
    /// Where it goes: a rig, a shelf, a shop, a vendor or a borrower.
    pub to: Place,
    /// Set when it is there already, seen by the member.
    #[serde(default)]
    pub arrived: bool,
}

impl Act for MovePiece {
    const KIND: &'static str = "piece.move";
    const SUMMARY: &'static str = "Send a piece to another place";
    const DONE: &'static str = "Sent to another place";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("piece");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        allowed(PieceAct::Move, &stored.record)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        if matches!(self.to, Place::Transit { .. } | Place::Retired) {
            return Err(Fault::field(
                "body.to.at",
                "Name where the piece goes; it is in transit by itself, and retiring is an act of its own",
            ));
        }
        destination(write, "to", &self.to, self.arrived)?;
        let mut piece = stored.record;
        if piece.place == self.to {
            return Err(Fault::rule(format!("{} is there already", piece.tag)));
        }
        let place = if self.arrived { self.to } else { Place::Transit { to: Box::new(self.to) } };
        piece.put_at(place, write.head.at);
        put(write, Some(stored.scope), piece)
    }
}

/// Confirms that a piece in transit has arrived.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ArrivePiece {
    /// The piece that has arrived; one that is in transit.
    pub id: PieceId,
}

impl Act for ArrivePiece {
    const KIND: &'static str = "piece.arrive";
    const SUMMARY: &'static str = "Confirm that a piece in transit has arrived";
    const DONE: &'static str = "Arrived";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        allowed(PieceAct::Arrive, &stored.record)?;
        let mut piece = stored.record;
        let Place::Transit { to } = piece.place.clone() else {
            return Err(Fault::rule(format!("{} is not on its way anywhere", piece.tag)));
        };
        // Where it goes may have moved to another station since it left.
        let there = check_place(write, "place", &to)?;
        write.reach(there)?;
        piece.put_at(*to, write.head.at);
        put(write, Some(stored.scope), piece)
    }
}
