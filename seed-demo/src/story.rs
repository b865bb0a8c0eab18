//! The pen: writes down who does what and when, and keeps a piece from being in two tales at once.

use crate::{
    Person,
    county::{County, Piece, Place, Shop},
    deeds::{Deed, Line},
    dice::Dice,
    evidence::{DefectClass, Evidence, Paper},
    gauge,
    kit::slot_of,
    people::{COORDINATOR, NORTH_MECHANIC, SECOND_MECHANIC, SHOP, chief_of, crew_of, officer_of, reaches},
    places::{HIGH_COUNTRY, NORTH_BENCH, station_of},
    when::{FIRST_DAY, When, before, day},
};
use anyhow::{Context as _, Result};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Somebody does something at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    pub when: When,
    pub who: &'static Person,
    pub deed: Deed,
}

/// A repair ticket that is being told.
#[derive(Debug)]
pub struct Ticket<'c> {
    pub id: Uuid,
    pub piece: &'c Piece,
    pub defects: Vec<Uuid>,
    pub mechanic: &'static Person,
}

/// The story as far as it is written.
#[derive(Debug)]
pub struct Story<'c> {
    pub county: &'c County,
    pub dice: Dice,
    pub acts: Vec<Act>,
    busy: BTreeMap<Uuid, Vec<(When, When)>>,
    /// Pieces that do not get the annual service of the rest from a moment on: they are retired, or away.
    unserved: BTreeMap<Uuid, When>,
}

/// Whom a district sends its broken pieces to.
fn shop_of(station: u8) -> Shop {
    match station_of(station).map(|station| station.district) {
        Some(NORTH_BENCH | HIGH_COUNTRY) => Shop::North,
        _ => Shop::Fleet,
    }
}

impl<'c> Story<'c> {
    pub fn new(county: &'c County) -> Self {
        Self {
            county,
            dice: Dice::new(0x005A_110F),
            acts: Vec::new(),
            busy: BTreeMap::new(),
            unserved: BTreeMap::new(),
        }
    }

    pub fn id(&mut self, when: When) -> Uuid {
        self.dice.id(when.by_clock(self.county.today))
    }

    pub fn act(&mut self, when: When, who: &'static Person, deed: Deed) {
        self.acts.push(Act { when, who, deed });
    }

    /// Keeps every other tale off a piece for a time.
    pub fn hold(&mut self, piece: &Piece, from: When, to: When) {
        self.busy.entry(piece.id).or_default().push((from, to));
    }

    /// Keeps every other tale off a piece.
    pub fn keep(&mut self, piece: &'c Piece) -> &'c Piece {
        self.hold(piece, day(FIRST_DAY, 0, 0), before(0));
        piece
    }

    pub fn is_free(&self, piece: &Piece, from: When, to: When) -> bool {
        self.busy
            .get(&piece.id)
            .is_none_or(|times| times.iter().all(|(begins, ends)| to < *begins || *ends < from))
    }

    /// The piece on a rig, for this tale alone.
    pub fn aboard(&mut self, rig: &str, role: &str) -> Result<&'c Piece> {
        let piece = self.county.aboard(rig, role)?;
        Ok(self.keep(piece))
    }

    /// The piece on a shelf, for this tale alone.
    pub fn reserve(&mut self, station: u8, role: &str) -> Result<&'c Piece> {
        let piece = self.county.reserve(station, role)?;
        Ok(self.keep(piece))
    }

    /// From then on the piece is left out when the rest of its rig is serviced.
    pub fn leave_unserved(&mut self, piece: &Piece, from: When) {
        self.unserved.insert(piece.id, from);
    }

    pub fn is_served(&self, piece: &Piece, when: When) -> bool {
        piece.kind.is_serviced() && self.unserved.get(&piece.id).is_none_or(|from| when < *from)
    }

    /// Somebody finds something wrong. What the table leaves to an officer is said by one.
    pub fn report(&mut self, when: When, who: &'static Person, piece: &Piece, what: &str, class: DefectClass, out: bool) -> Uuid {
        let defect = self.id(when);
        let who = if out || who.role != "crew" { who } else { officer(piece) };
        self.act(
            when,
            who,
            Deed::Report {
                defect,
                piece: piece.id,
                what: what.to_owned(),
                class,
                out,
            },
        );
        defect
    }

    pub fn note(&mut self, when: When, who: &'static Person, piece: &Piece, defect: Uuid, text: &str) {
        self.noted(when, who, piece, defect, text, false);
    }

    /// A later look finds it worse: the piece goes out of service.
    pub fn worse(&mut self, when: When, who: &'static Person, piece: &Piece, defect: Uuid, text: &str) {
        self.noted(when, who, piece, defect, text, true);
    }

    fn noted(&mut self, when: When, who: &'static Person, piece: &Piece, defect: Uuid, text: &str, out: bool) {
        let deed = Deed::Note {
            defect,
            piece: piece.id,
            text: text.to_owned(),
            out,
        };
        self.act(when, who, deed);
    }

    /// Closes a small defect. What is under pressure is put on the gauge by a mechanic, however small; the rest an officer looks over.
    pub fn close(&mut self, when: When, officer: &'static Person, defect: Uuid, piece: &Piece, resolution: &str) -> Result<()> {
        let (who, evidence) = if piece.kind.is_under_pressure() {
            (&SECOND_MECHANIC, gauge::passed(self.county.model(piece)?, &mut self.dice))
        } else {
            (officer, Evidence::looked_over())
        };
        self.act(
            when,
            who,
            Deed::Close {
                defect,
                piece: piece.id,
                resolution: resolution.to_owned(),
                evidence,
            },
        );
        Ok(())
    }

    /// Back in service by the word of somebody who looked it over.
    pub fn back(&mut self, when: When, who: &'static Person, piece: &Piece, note: &str) {
        let deed = Deed::Back {
            piece: piece.id,
            note: note.to_owned(),
            evidence: Evidence::looked_over(),
        };
        self.act(when, who, deed);
    }

    /// A crew uses pieces of its rig, and looks over them afterwards where a time for it is given.
    #[allow(clippy::too_many_arguments)]
    pub fn used(&mut self, when: When, rig: Uuid, station: u8, pieces: &[&Piece], what: &str, minutes: i64, looked: Option<When>) -> Uuid {
        let used = self.id(when);
        let ids: Vec<Uuid> = pieces.iter().map(|piece| piece.id).collect();
        let deed = Deed::Use {
            used,
            rig,
            pieces: ids.clone(),
            what: what.to_owned(),
            minutes: u32::try_from(minutes).unwrap_or(1),
        };
        self.act(when, crew_of(station), deed);
        if let Some(looked) = looked {
            let note = "Cleaned, looked over, full stroke on its own line; nothing found";
            self.act(looked, crew_of(station), Deed::Looked { used, pieces: ids, note });
        }
        used
    }

    /// A ticket at the shop of the piece's station, for defects that were reported.
    pub fn ticket(&mut self, when: When, who: &'static Person, piece: &'c Piece, what: &str, defects: &[Uuid]) -> Ticket<'c> {
        let shop = shop_of(piece.station);
        let mechanic = match shop {
            Shop::North => &NORTH_MECHANIC,
            Shop::Fleet if self.dice.chance(50) => &SECOND_MECHANIC,
            Shop::Fleet => &SHOP,
        };
        let id = self.id(when);
        let defects = defects.to_vec();
        self.act(
            when,
            who,
            Deed::Open {
                ticket: id,
                piece: piece.id,
                shop,
                what: what.to_owned(),
                defects: defects.clone(),
            },
        );
        Ticket { id, piece, defects, mechanic }
    }

    /// A crew finds a piece broken and sends it in.
    pub fn send_in(&mut self, when: When, piece: &'c Piece, what: &str, class: DefectClass) -> Ticket<'c> {
        let crew = crew_of(piece.station);
        let defect = self.report(when, crew, piece, what, class, true);
        self.ticket(when, crew, piece, what, &[defect])
    }

    /// The mechanic takes the ticket, with the piece in hand.
    pub fn accept(&mut self, when: When, ticket: &Ticket<'_>) {
        self.act(
            when,
            ticket.mechanic,
            Deed::Accept {
                ticket: ticket.id,
                piece: ticket.piece.id,
                here: true,
            },
        );
    }

    pub fn work(&mut self, when: When, ticket: &Ticket<'_>) {
        self.act(when, ticket.mechanic, Deed::Work { ticket: ticket.id });
    }

    /// The ticket waits for something that should be there so many days from the story's end; the mechanic says that the piece is ready two
    /// days after that.
    pub fn wait(&mut self, when: When, ticket: &Ticket<'_>, (reason, what_for): (&'static str, &str), days_from_end: i64) {
        let on = |days: i64| crate::when::days_before(self.county.today, -days);
        let (expected_on, ready_on) = (on(days_from_end), on(days_from_end + 2));
        let wait = Deed::Wait {
            ticket: ticket.id,
            reason,
            what_for: what_for.to_owned(),
            expected_on: Some(expected_on),
        };
        self.act(when, ticket.mechanic, wait);
        let promise = Deed::Promise {
            ticket: ticket.id,
            on: ready_on,
        };
        self.act(when.plus(1), ticket.mechanic, promise);
    }

    pub fn part(&mut self, when: When, ticket: &Ticket<'_>, (what, quantity, unit_cost): (&'static str, f64, f64)) {
        let line = Line::Part { what, quantity, unit_cost };
        self.act(when, ticket.mechanic, Deed::Line { ticket: ticket.id, line });
    }

    pub fn labour(&mut self, when: When, ticket: &Ticket<'_>, what: &'static str, minutes: u32) {
        let line = Line::Labour { what, minutes };
        self.act(when, ticket.mechanic, Deed::Line { ticket: ticket.id, line });
    }

    /// The whole test after a repair that holds.
    pub fn test(&mut self, when: When, ticket: &Ticket<'_>, note: &str) -> Result<()> {
        let evidence = gauge::passed(self.county.model(ticket.piece)?, &mut self.dice);
        self.tested(when, ticket, true, evidence, note);
        Ok(())
    }

    /// The whole test by the maker's service, by its paper.
    pub fn makers_test(&mut self, when: When, ticket: &Ticket<'_>, paper: Paper, note: &str) -> Result<()> {
        let evidence = Evidence {
            makers_service: Some(paper),
            ..gauge::passed(self.county.model(ticket.piece)?, &mut self.dice)
        };
        self.tested(when, ticket, true, evidence, note);
        Ok(())
    }

    pub fn fails(&mut self, when: When, ticket: &Ticket<'_>, note: &str) -> Result<()> {
        let evidence = gauge::failed(self.county.model(ticket.piece)?, &mut self.dice);
        self.tested(when, ticket, false, evidence, note);
        Ok(())
    }

    fn tested(&mut self, when: When, ticket: &Ticket<'_>, passed: bool, evidence: Evidence, note: &str) {
        let deed = Deed::Test {
            ticket: ticket.id,
            passed,
            evidence,
            note: note.to_owned(),
        };
        self.act(when, ticket.mechanic, deed);
    }

    /// The mechanic sends the piece back; it counts when somebody there confirms.
    pub fn give_back(&mut self, when: When, ticket: &Ticket<'_>, to: Place, note: &str) {
        let deed = Deed::Return {
            ticket: ticket.id,
            piece: ticket.piece.id,
            defects: ticket.defects.clone(),
            to,
            note: note.to_owned(),
        };
        // Which cause it was is as good as any other of a story that is made up.
        let causes = ["wear", "age", "hard_use", "accident", "care", "wear", "wrong_use", "contamination"];
        let nth = ticket.id.as_bytes().iter().map(|byte| usize::from(*byte)).sum::<usize>() % causes.len();
        if let Some(cause) = causes.get(nth) {
            self.act(when, ticket.mechanic, Deed::Cause { ticket: ticket.id, cause });
        }
        self.act(when, ticket.mechanic, deed);
    }

    pub fn arrive(&mut self, when: When, who: &'static Person, piece: &Piece) {
        self.act(when, who, Deed::Arrive { piece: piece.id });
    }

    /// A stand-in from a shelf takes the place of a piece on a rig.
    pub fn stand_in(&mut self, when: When, who: &'static Person, stand_in: &Piece, broken: &Piece, on_the_way: bool) -> Result<Uuid> {
        self.swap(when, who, stand_in, broken, on_the_way, None)
    }

    /// The same although it does not serve there, for a reason.
    pub fn stand_in_despite(&mut self, when: When, who: &'static Person, stand_in: &Piece, broken: &Piece, reason: &str) -> Result<Uuid> {
        self.swap(when, who, stand_in, broken, true, Some(reason.to_owned()))
    }

    fn swap(&mut self, when: When, who: &'static Person, stand_in: &Piece, broken: &Piece, on_the_way: bool, despite: Option<String>) -> Result<Uuid> {
        let Place::Rig(rig) = broken.place else {
            anyhow::bail!("{} is on no rig", broken.tag)
        };
        let class = self
            .county
            .rigs
            .iter()
            .find(|(id, _)| *id == rig)
            .map(|(_, rig)| rig.class)
            .context("no such rig")?;
        let swap = self.id(when);
        let from_rig = matches!(stand_in.place, Place::Rig(_));
        let slot = slot_of(class, broken.role);
        self.act(
            when,
            who,
            Deed::Start {
                swap,
                rig,
                piece: stand_in.id,
                stands_in_for: broken.id,
                slot,
                on_the_way,
                from_rig,
                despite,
            },
        );
        Ok(swap)
    }

    /// The stand-in is back at once: said by who reaches both ends.
    pub fn end_swap(&mut self, when: When, who: &'static Person, swap: Uuid, stand_in: &Piece) {
        self.act(
            when,
            if reaches(who, stand_in.station) { who } else { &COORDINATOR },
            Deed::End {
                swap,
                piece: stand_in.id,
                to: None,
            },
        );
    }
}

/// Who decides about a piece where it stands.
pub fn officer(piece: &Piece) -> &'static Person {
    officer_of(piece.station)
}

/// Who works with it.
pub fn crew(piece: &Piece) -> &'static Person {
    crew_of(piece.station)
}

/// The chief over it.
pub fn chief(piece: &Piece) -> &'static Person {
    chief_of(piece.station)
}
