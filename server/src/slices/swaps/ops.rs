use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Swap,
    feed::{SwapId, SwapState},
    rules::{SwapAct, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, name, text},
        error::Fault,
    },
    slices::{
        agencies::Agency,
        capability::fit,
        pieces::{Piece, PieceAct, PieceId, PieceState, Place, allowed, check_place, destination, refuse_mix, scope_at},
        rig_classes::RigClass,
        rigs::{Rig, RigId},
    },
};

/// Puts a stand-in on a rig.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartSwap {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: SwapId,
    /// The rig to put the stand-in on, within the member's reach.
    pub rig: RigId,
    /// The piece that stands in; it must not be on the rig or stand in elsewhere.
    pub piece: PieceId,
    /// The piece whose slot it takes.
    pub stands_in_for: Option<PieceId>,
    /// The slot of the rig's list that it is meant for.
    pub slot: Option<String>,
    /// The need of a grade that it is meant for.
    pub need: Option<String>,
    /// Why it is put aboard although it does not serve there; only for who may decide for a rig, and never against the fluid.
    pub despite: Option<String>,
    /// Whether it still has to be driven over: it counts when the far end confirms. Unless said, it has to when it is not at
    /// the rig's own station.
    pub on_the_way: Option<bool>,
}

/// How a stand-in is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judged {
    /// By itself: it must serve what it is meant for.
    ByItself,
    /// With others that come with it; the plan has judged them together.
    AsAPlan,
}

impl Act for StartSwap {
    const KIND: &'static str = "swap.start";
    const SUMMARY: &'static str = "Put a stand-in on a rig";
    const DONE: &'static str = "A stand-in was put aboard";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("piece");
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let seen = write.head.expects;
        self.start(write, seen, Judged::ByItself)
    }
}

impl StartSwap {
    /// Starts it. `seen`: the revision of the piece that it was decided on.
    pub fn start(mut self, write: &mut Write<'_>, seen: Option<i64>, judged: Judged) -> Result<(), Fault> {
        self.despite = self.despite.map(|reason| text("body.despite", &reason)).transpose()?;
        self.slot = self.slot.map(|slot| name("body.slot", &slot)).transpose()?;
        self.need = self.need.map(|need| name("body.need", &need)).transpose()?;
        write.unused::<Swap>(self.id)?;
        let rig = write.named::<Rig>("rig", self.rig)?;
        write.reach(rig.scope)?;
        let piece = write.named::<Piece>("piece", self.piece)?;
        if seen.is_some() {
            write.unchanged(&piece, seen)?;
        }
        self.may_stand_in(write, &rig.record, &piece.record, seen)?;
        if self.serves(write, &piece.record, judged)? {
            self.despite = None;
        }
        if let Some(replaced) = self.stands_in_for {
            write.named::<Piece>("stands_in_for", replaced)?;
        }
        let swap = Swap {
            id: self.id,
            rig: self.rig,
            piece: self.piece,
            stands_in_for: self.stands_in_for,
            slot: self.slot,
            need: self.need,
            despite: self.despite,
            from: piece.record.place.clone(),
            state: SwapState::Open,
            started_at: write.head.at,
            started_by: write.actor.person(),
            ended_at: None,
            ended_by: None,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(swap, rig.scope)?;
        let to = Place::Rig { rig: self.rig };
        let far = piece.scope.station != rig.scope.station;
        let place = if self.on_the_way.unwrap_or(far) {
            Place::Transit { to: Box::new(to) }
        } else {
            to
        };
        carry(write, piece, place, None)
    }

    /// Whether the piece serves what it is meant for. One that does not is refused, with what speaks against it, unless a member who
    /// may decide for a rig says why it goes aboard all the same; what would mix fluids is refused in any case.
    fn serves(&self, write: &mut Write<'_>, piece: &Piece, judged: Judged) -> Result<bool, Fault> {
        let Some(fit) = fit(write, self.rig, piece, self.need.as_deref(), self.slot.as_deref())? else {
            return Ok(true);
        };
        if fit.mixes_fluids {
            return Err(Fault::rule(format!(
                "{} holds another fluid than what it could be joined to on this rig. Fluids are never mixed",
                piece.tag
            ))
            .at("body.piece"));
        }
        if fit.serves || judged == Judged::AsAPlan {
            return Ok(true);
        }
        if self.despite.is_some() {
            write.allowed(Permission::Handle)?;
            return Ok(false);
        }
        let why: Vec<&str> = fit.near.iter().take(3).map(|near| near.words.as_str()).collect();
        let mut fault = Fault::rule(format!("{} does not serve there: {}", piece.tag, why.join("; "))).at("body.piece");
        fault.hint = Some("take another piece; who decides for the rig may say in `despite` why it goes aboard all the same".into());
        Err(fault)
    }

    fn may_stand_in(&self, write: &mut Write<'_>, rig: &Rig, piece: &Piece, seen: Option<i64>) -> Result<(), Fault> {
        let open = write
            .of_parent::<Swap>(self.piece)?
            .into_iter()
            .find(|swap| swap.record.state == SwapState::Open);
        if let Some(open) = open {
            let there = write
                .look::<Rig>(open.record.rig)?
                .map_or_else(|| "another rig".to_owned(), |rig| rig.record.name);
            return Err(Fault::rule(format!(
                "{} stands in on {there} already; {} took it first",
                piece.tag, open.record.started_by.name
            ))
            .at("body.piece"));
        }
        allowed(PieceAct::StandIn, piece).map_err(|fault| fault.at("body.piece"))?;
        match &piece.place {
            Place::Rig { rig: on } if *on == rig.id => return Err(Fault::rule(format!("{} is on {} already", piece.tag, rig.name)).at("body.piece")),
            // Taking a piece off another rig opens a gap there: a decision, on what was seen.
            Place::Rig { .. } => {
                write.allowed(Permission::Handle)?;
                let donor = write.find::<Piece>(self.piece)?;
                write.reach(donor.scope)?;
                write.unchanged(&donor, seen)?;
            }
            _ => {}
        }
        if let (Some(slot), Some(class)) = (&self.slot, rig.rig_class) {
            let class = write.find::<RigClass>(class)?;
            if !class.record.complement.slots.iter().any(|known| known.id == *slot) {
                return Err(Fault::field("body.slot", format!("The list of {} has no slot '{slot}'", class.record.name)));
            }
        }
        if let Some(need) = &self.need {
            let agency = write.agency;
            let grades = write.find::<Agency>(agency)?.record.grades;
            let mut needs = grades.iter().flat_map(|grades| grades.each().flat_map(|(_, grade)| &grade.needs));
            if !needs.any(|known| known.id == *need) {
                return Err(Fault::field("body.need", format!("No grade of the agency has a need '{need}'")));
            }
        }
        Ok(())
    }
}

/// Puts the piece elsewhere; the rigs at both ends are worked out again.
fn carry(write: &mut Write<'_>, piece: Stored<Piece>, place: Place, home: Option<Place>) -> Result<(), Fault> {
    if matches!(piece.record.state, PieceState::Retired | PieceState::Missing) {
        return Ok(()); // Retired meanwhile: it stays where it ended. Missing: nobody can carry it; it keeps its last place.
    }
    check_place(write, "to", &place)?;
    let home = home.or(piece.record.home.clone());
    let mut carried = Piece { home, ..piece.record.clone() };
    carried.put_at(place, write.head.at);
    let scope = scope_at(write, &carried)?;
    if let Some(rig) = scope.rig.filter(|rig| piece.scope.rig != Some(*rig)) {
        refuse_mix(write, &piece.record, RigId(rig))?;
    }
    for rig in [piece.scope.rig, scope.rig].into_iter().flatten() {
        write.reconsider(rig);
    }
    write.save(carried, scope)
}

fn open(write: &mut Write<'_>, id: SwapId, act: SwapAct) -> Result<Stored<Swap>, Fault> {
    let stored = write.find::<Swap>(id)?;
    write.reach(stored.scope)?;
    write.expects(&stored)?;
    may(act, stored.record.state).map_err(Fault::rule)?;
    Ok(stored)
}

fn finish(write: &mut Write<'_>, stored: Stored<Swap>, state: SwapState) -> Result<(), Fault> {
    let swap = Swap {
        state,
        ended_at: Some(write.head.at),
        ended_by: Some(write.actor.person()),
        ..stored.record
    };
    write.save(swap, stored.scope)
}

/// Ends a swap: the stand-in goes back.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndSwap {
    /// The swap to end; it must be open.
    pub id: SwapId,
    /// Where the stand-in goes; where it came from, unless said.
    pub to: Option<Place>,
    /// Whether it still has to be driven there: it counts when somebody there confirms. Unless said, it has to when the place is out of
    /// the member's reach.
    pub on_the_way: Option<bool>,
}

impl Act for EndSwap {
    const KIND: &'static str = "swap.end";
    const SUMMARY: &'static str = "End a swap: the stand-in goes back";
    const DONE: &'static str = "The stand-in went back";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("swap");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = open(write, self.id, SwapAct::End)?;
        let to = self.to.unwrap_or_else(|| stored.record.from.clone());
        if matches!(to, Place::Transit { .. } | Place::Retired) {
            return Err(Fault::field(
                "body.to.at",
                "Name where the stand-in goes; say on_the_way if it is not there yet",
            ));
        }
        let piece = write.find::<Piece>(stored.record.piece)?;
        // One that has not come yet was never taken from where it was.
        let never_came = to == stored.record.from && matches!(piece.record.place, Place::Transit { .. });
        let near = never_came || write.actor.reaches(check_place(write, "to", &to)?);
        let on_the_way = self.on_the_way.unwrap_or(!near);
        if !never_came {
            destination(write, "to", &to, !on_the_way)?;
        }
        finish(write, stored, SwapState::Ended)?;
        let place = if on_the_way { Place::Transit { to: Box::new(to) } } else { to };
        carry(write, piece, place, None)
    }
}

/// Makes a swap permanent: the stand-in's home is the rig.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeepSwap {
    /// The swap to make permanent; it must be open.
    pub id: SwapId,
}

impl Act for KeepSwap {
    const KIND: &'static str = "swap.keep";
    const SUMMARY: &'static str = "Make a swap permanent";
    const DONE: &'static str = "The swap was made permanent";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("swap");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = open(write, self.id, SwapAct::Keep)?;
        let home = Place::Rig { rig: stored.record.rig };
        let piece = write.find::<Piece>(stored.record.piece)?;
        finish(write, stored, SwapState::Kept)?;
        let place = piece.record.place.clone();
        carry(write, piece, place, Some(home))
    }
}
