//! The story read by somebody who trusts nobody: follows every piece, ticket, swap and rig through the plan and says
//! where it contradicts itself. The service refuses most of this too, but the plan is to be sound before it is told.

pub use crate::stand::{Bench, DefectState, PieceState, Seen, Swapped};
use crate::{
    Person,
    county::{County, Place},
    deeds::Deed,
    people::Reach,
    story::Act,
};
use anyhow::{Context as _, Result, bail, ensure};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

#[derive(Debug)]
pub struct Ledger<'c> {
    county: &'c County,
    pub pieces: BTreeMap<Uuid, PieceState>,
    pub defects: BTreeMap<Uuid, DefectState>,
    pub tickets: BTreeMap<Uuid, Bench>,
    pub swaps: BTreeMap<Uuid, (Swapped, Place)>,
    pub rigs_out: BTreeSet<Uuid>,
}

impl<'c> Ledger<'c> {
    pub fn new(county: &'c County) -> Self {
        let fresh = |place: &Place| PieceState {
            seen: Seen::At(place.clone()),
            is_out: false,
            defects_out: BTreeSet::new(),
            ticket: None,
            swap: None,
        };
        Self {
            county,
            pieces: county.pieces.iter().map(|piece| (piece.id, fresh(&piece.place))).collect(),
            defects: BTreeMap::new(),
            tickets: BTreeMap::new(),
            swaps: BTreeMap::new(),
            rigs_out: BTreeSet::new(),
        }
    }

    /// Reads one act; fails where it cannot be.
    pub fn read(&mut self, act: &Act) -> Result<()> {
        self.deed(act.who, &act.deed)
            .with_context(|| format!("{} at {:?}: {:?}", act.who.name, act.when, act.deed))
    }

    fn station_of(&self, place: &Place) -> Option<u8> {
        match place {
            Place::Rig(rig) => self.county.rigs.iter().find(|(id, _)| id == rig).map(|(_, rig)| rig.station),
            Place::Shelf(station) => self.county.stations.iter().find(|(id, _)| id == station).map(|(_, station)| station.number),
            _ => None,
        }
    }

    /// Whether a piece is out of service.
    pub fn is_out(&self, piece: Uuid) -> bool {
        self.pieces.get(&piece).is_some_and(|state| state.is_out)
    }

    fn place_of(&self, piece: Uuid) -> Option<Place> {
        match &self.pieces.get(&piece)?.seen {
            Seen::At(place) | Seen::OnTheWay(place) | Seen::Missing(place) => Some(place.clone()),
            Seen::Retired => None,
        }
    }

    /// Whether a member may act at a station; what is at none is everybody's.
    fn reaches(&self, who: &Person, station: Option<u8>) -> Result<()> {
        let member = self
            .county
            .members
            .iter()
            .find(|(_, member)| member.person == who)
            .context("nobody of that name")?
            .1;
        let Some(station) = station else { return Ok(()) };
        let district = self
            .county
            .stations
            .iter()
            .find(|(_, known)| known.number == station)
            .map(|(_, known)| known.district);
        let reached = match member.reach {
            Reach::Agency => true,
            Reach::District(name) => district == Some(name),
            Reach::Station(number) => number == station,
        };
        ensure!(reached, "out of reach: station {station}");
        Ok(())
    }

    fn is_handler(who: &Person) -> Result<()> {
        ensure!(matches!(who.role, "officer" | "chief" | "coordinator"), "the {} may not decide this", who.role);
        Ok(())
    }

    fn is_mechanic(who: &Person) -> Result<()> {
        ensure!(matches!(who.role, "shop" | "coordinator"), "the {} may not repair", who.role);
        Ok(())
    }

    fn piece(&mut self, who: &Person, piece: Uuid) -> Result<&mut PieceState> {
        let station = self.place_of(piece).and_then(|place| self.station_of(&place));
        self.reaches(who, station)?;
        let state = self.pieces.get_mut(&piece).context("no such piece")?;
        ensure!(state.seen != Seen::Retired, "it is retired");
        Ok(state)
    }

    fn step(&mut self, ticket: Uuid, from: &[Bench], to: Bench) -> Result<()> {
        let state = self.tickets.get_mut(&ticket).context("no such ticket")?;
        ensure!(from.contains(state), "the ticket is {state:?}");
        *state = to;
        Ok(())
    }

    fn deed(&mut self, who: &Person, deed: &Deed) -> Result<()> {
        use Bench::{Accepted, Closed, OnHold, Tested, Waiting, Working};
        match deed {
            Deed::Report { defect, piece, out, .. } => {
                let station = self.place_of(*piece).and_then(|place| self.station_of(&place));
                let state = self.piece(who, *piece)?;
                ensure!(!state.is_out, "it is out of service already");
                state.is_out |= *out;
                if *out {
                    state.defects_out.insert(*defect);
                }
                let fresh = DefectState {
                    is_open: true,
                    repeats: 0,
                    extended: false,
                    out: *out,
                    piece: *piece,
                    ticket: None,
                    station,
                };
                ensure!(self.defects.insert(*defect, fresh).is_none(), "the defect is known");
            }
            Deed::Note { defect, piece, out, .. } => {
                self.piece(who, *piece)?;
                let state = self.defects.get_mut(defect).context("no such defect")?;
                ensure!(state.is_open && state.piece == *piece, "the defect is closed, or another's");
                state.repeats += 1;
                if *out {
                    state.out = true;
                    let piece = self.piece(who, *piece)?;
                    piece.is_out = true;
                    piece.defects_out.insert(*defect);
                }
            }
            Deed::Extend { defect, piece, .. } => {
                Self::is_handler(who)?;
                self.piece(who, *piece)?;
                let state = self.defects.get_mut(defect).context("no such defect")?;
                ensure!(
                    state.is_open && !state.out && !state.extended,
                    "there is nothing to put off, or it was put off already"
                );
                state.extended = true;
            }
            Deed::Close { defect, piece, .. } => {
                ensure!(who.role != "crew", "crews close nothing");
                let state = self.defects.get(defect).context("no such defect")?;
                ensure!(
                    state.is_open && state.ticket.is_none() && state.piece == *piece,
                    "the defect is closed, or a ticket deals with it"
                );
                self.reaches(who, state.station)?;
                self.close(*defect);
            }
            Deed::TakeOut { piece, .. } => self.piece(who, *piece)?.is_out = true,
            Deed::Missing { piece, .. } => {
                let state = self.piece(who, *piece)?;
                let Seen::At(place) = state.seen.clone() else {
                    bail!("it is nowhere that it could be missed from")
                };
                state.seen = Seen::Missing(place);
                state.is_out = true;
            }
            Deed::Found { piece, place, .. } => {
                let state = self.piece(who, *piece)?;
                ensure!(matches!(state.seen, Seen::Missing(_)), "it is not missing");
                state.seen = Seen::At(place.clone());
            }
            Deed::Back { piece, .. } => {
                ensure!(who.role != "crew", "crews return nothing");
                let state = self.piece(who, *piece)?;
                ensure!(
                    state.is_out && state.defects_out.is_empty() && state.ticket.is_none(),
                    "something holds it, or it is in service"
                );
                state.is_out = false;
            }
            Deed::Move { piece, to, arrived } => {
                ensure!(who.role != "crew", "crews move nothing");
                let state = self.piece(who, *piece)?;
                ensure!(
                    state.swap.is_none() && matches!(&state.seen, Seen::At(place) if place != to),
                    "it stands in somewhere, or is there"
                );
                state.seen = if *arrived { Seen::At(to.clone()) } else { Seen::OnTheWay(to.clone()) };
            }
            Deed::Arrive { piece } => {
                let state = self.piece(who, *piece)?;
                let Seen::OnTheWay(to) = &state.seen else { bail!("it is not on its way") };
                state.seen = Seen::At(to.clone());
            }
            Deed::Retire { piece, .. } => {
                ensure!(who.role == "coordinator", "only the coordinator retires");
                let state = self.piece(who, *piece)?;
                ensure!(state.ticket.is_none() && state.swap.is_none(), "something holds it");
                state.defects_out.clear();
                state.seen = Seen::Retired;
                // Its open defects close with it.
                for defect in self.defects.values_mut().filter(|defect| defect.piece == *piece) {
                    defect.is_open = false;
                }
            }
            Deed::Serviced { piece, .. } => {
                Self::is_mechanic(who)?;
                let state = self.piece(who, *piece)?;
                let away = matches!(
                    state.seen,
                    Seen::Missing(_) | Seen::At(Place::Loan { .. } | Place::Vendor { .. }) | Seen::OnTheWay(_)
                );
                ensure!(!away, "it is not here to be serviced");
            }
            Deed::Use { rig, pieces, .. } => {
                self.reaches(who, self.station_of(&Place::Rig(*rig)))?;
                for piece in pieces {
                    let state = self.piece(who, *piece)?;
                    ensure!(
                        !state.is_out && state.seen == Seen::At(Place::Rig(*rig)),
                        "used although it is out, or elsewhere"
                    );
                }
            }
            Deed::TryOut { pieces } => {
                for piece in pieces {
                    let state = self.piece(who, *piece)?;
                    ensure!(
                        !state.is_out && matches!(state.seen, Seen::At(Place::Rig(_))),
                        "tried although it is out, or on no rig"
                    );
                }
            }
            Deed::Looked { pieces, .. } => {
                for piece in pieces {
                    self.piece(who, *piece)?;
                }
            }
            Deed::Undated { piece, .. } | Deed::Noted { piece, .. } => {
                ensure!(who.role == "coordinator", "only the coordinator keeps the register");
                self.piece(who, *piece)?;
            }
            Deed::Open { ticket, piece, defects, .. } => {
                let state = self.piece(who, *piece)?;
                ensure!(state.is_out && state.ticket.is_none(), "it is in service, or on a ticket");
                state.ticket = Some(*ticket);
                for defect in defects {
                    let state = self.defects.get_mut(defect).context("no such defect")?;
                    ensure!(state.is_open && state.piece == *piece && state.ticket.is_none(), "the defect is another's");
                    state.ticket = Some(*ticket);
                }
                ensure!(self.tickets.insert(*ticket, Waiting).is_none(), "the ticket is known");
            }
            Deed::Accept { ticket, piece, here } => {
                Self::is_mechanic(who)?;
                self.step(*ticket, &[Waiting], Accepted)?;
                let state = self.piece(who, *piece)?;
                ensure!(state.ticket == Some(*ticket), "the ticket is another's");
                if *here {
                    state.seen = Seen::At(Place::Shop(crate::county::Shop::Fleet));
                }
            }
            Deed::Work { ticket } => self.step(*ticket, &[Accepted, OnHold, Tested], Working)?,
            Deed::Wait { ticket, .. } => self.step(*ticket, &[Accepted, Working, Tested], OnHold)?,
            Deed::Line { ticket, .. } | Deed::Promise { ticket, .. } | Deed::Cause { ticket, .. } => {
                let state = *self.tickets.get(ticket).context("no such ticket")?;
                ensure!(!matches!(state, Waiting | Closed), "the ticket is {state:?}");
            }
            Deed::Test { ticket, passed, evidence, .. } => {
                Self::is_mechanic(who)?;
                ensure!(!passed || !evidence.readings.is_empty(), "a test that passed has a reading");
                self.step(*ticket, &[Accepted, Working, OnHold, Tested], if *passed { Tested } else { Working })?;
            }
            Deed::Return {
                ticket, piece, defects, to, ..
            } => {
                Self::is_mechanic(who)?;
                self.step(*ticket, &[Tested], Closed)?;
                for defect in defects {
                    self.close(*defect);
                }
                let state = self.piece(who, *piece)?;
                ensure!(state.ticket == Some(*ticket) && state.defects_out.is_empty(), "something else holds it");
                (state.ticket, state.is_out, state.seen) = (None, false, Seen::OnTheWay(to.clone()));
            }
            Deed::Drop { ticket, piece, defects, .. } => {
                self.step(*ticket, &[Waiting, Accepted, Working, OnHold, Tested], Closed)?;
                self.piece(who, *piece)?.ticket = None;
                for defect in defects {
                    self.defects.get_mut(defect).context("no such defect")?.ticket = None;
                }
            }
            Deed::Start { .. } | Deed::End { .. } | Deed::Keep { .. } => self.swap(who, deed)?,
            Deed::RigOut { rig, .. } => {
                self.reaches(who, self.station_of(&Place::Rig(*rig)))?;
                ensure!(self.rigs_out.insert(*rig), "the rig is out already");
            }
            Deed::RigBack { rig, .. } => {
                Self::is_handler(who)?;
                self.reaches(who, self.station_of(&Place::Rig(*rig)))?;
                ensure!(self.rigs_out.remove(rig), "the rig is in service");
            }
            Deed::Exchange { from, to, pieces, .. } => {
                Self::is_handler(who)?;
                self.reaches(who, self.station_of(&Place::Rig(*from)))?;
                ensure!(!self.rigs_out.contains(to), "the reserve rig is out");
                for piece in pieces {
                    let state = self.pieces.get_mut(piece).context("no such piece")?;
                    ensure!(state.seen == Seen::At(Place::Rig(*from)), "it is not aboard");
                    state.seen = Seen::At(Place::Rig(*to));
                }
            }
        }
        Ok(())
    }

    fn swap(&mut self, who: &Person, deed: &Deed) -> Result<()> {
        match deed {
            Deed::Start {
                swap,
                rig,
                piece,
                stands_in_for,
                on_the_way,
                from_rig,
                despite,
                ..
            } => {
                self.reaches(who, self.station_of(&Place::Rig(*rig)))?;
                ensure!(self.is_out(*stands_in_for), "what it stands in for is in service");
                if despite.is_some() {
                    Self::is_handler(who)?;
                }
                let state = self.pieces.get_mut(piece).context("no such piece")?;
                ensure!(!state.is_out && state.swap.is_none(), "the stand-in is out of service, or stands in already");
                let Seen::At(from) = state.seen.clone() else {
                    bail!("the stand-in is not there to be taken")
                };
                ensure!(
                    matches!(from, Place::Rig(_)) == *from_rig && !matches!(from, Place::Loan { .. } | Place::Vendor { .. }),
                    "it is not where it was thought"
                );
                state.swap = Some(*swap);
                state.seen = if *on_the_way {
                    Seen::OnTheWay(Place::Rig(*rig))
                } else {
                    Seen::At(Place::Rig(*rig))
                };
                ensure!(self.swaps.insert(*swap, (Swapped::Open, from)).is_none(), "the swap is known");
            }
            Deed::End { swap, piece, .. } | Deed::Keep { swap, piece } => {
                Self::is_handler(who)?;
                let is_end = matches!(deed, Deed::End { .. });
                let state = self.piece(who, *piece)?;
                ensure!(state.swap == Some(*swap), "the swap is another's");
                ensure!(matches!(state.seen, Seen::At(Place::Rig(_))), "the stand-in never came");
                state.swap = None;
                let known = self.swaps.get_mut(swap).context("no such swap")?;
                ensure!(known.0 == Swapped::Open, "the swap is over");
                known.0 = if is_end { Swapped::Ended } else { Swapped::Kept };
                if is_end {
                    let from = known.1.clone();
                    self.pieces.get_mut(piece).context("no such piece")?.seen = Seen::At(from);
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn close(&mut self, defect: Uuid) {
        if let Some(state) = self.defects.get_mut(&defect) {
            state.is_open = false;
            if state.out
                && let Some(piece) = self.pieces.get_mut(&state.piece)
            {
                piece.defects_out.remove(&defect);
            }
        }
    }
}
