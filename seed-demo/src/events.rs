//! The everyday of half a year: small defects that are seen again, repairs with and without a stand-in, annual services.
//! All of it is over some days before the end, but for small defects that are still waiting for somebody.

use crate::{
    catalogue::{Kind, Model},
    classes::Class,
    county::{BOOKED, Piece, Place, Unit},
    deeds::Deed,
    faults::FAULTS,
    gauge,
    kit::slot_of,
    people::SHOP,
    places::Duty,
    story::{Story, Ticket, crew, officer},
    when::{FIRST_DAY, When, day},
    words::{Fault, Mend, Repair, SCENES},
};
use anyhow::Result;

/// How many things go wrong.
const COUNT: i64 = 94;
/// How often tools are used and looked over.
const USES: i64 = 70;
/// Nothing of it happens later than so many days ago.
const LAST_DAY: i64 = 3;

/// Writes all of it.
pub fn write(story: &mut Story<'_>) -> Result<()> {
    services(story)?;
    for n in 0..COUNT {
        let ago = FIRST_DAY - 3 - n * (FIRST_DAY - 3 - LAST_DAY) / COUNT;
        let start = if story.dice.chance(70) {
            day(ago, 7, story.dice.between(5, 55))
        } else {
            day(ago, story.dice.between(16, 22), story.dice.between(0, 59))
        };
        for _ in 0..60 {
            if one(story, start)? {
                break;
            }
        }
    }
    for n in 0..USES {
        let ago = FIRST_DAY - 2 - n * (FIRST_DAY - 5) / USES;
        let start = day(ago, story.dice.between(1, 19), story.dice.between(0, 59));
        for _ in 0..20 {
            if used(story, start) {
                break;
            }
        }
    }
    Ok(())
}

/// What a crash takes, on a rig with hoses and on one without.
const TAKEN: &[&str] = &["power", "power 1", "hose 1", "cutter", "spreader"];
const TAKEN_BY_BATTERY: &[&str] = &["combi", "battery 1"];

/// A crew works at a crash and looks over what it used before the rig is ready again; true, where a rig was free for it.
fn used(story: &mut Story<'_>, start: When) -> bool {
    let county = story.county;
    let rigs: Vec<&Unit> = county
        .units
        .iter()
        .filter(|unit| matches!(unit.place, Place::Rig(_)) && !unit.pieces.is_empty())
        .collect();
    let Some(unit) = story.dice.pick(&rigs).copied() else { return false };
    let Some((rig, known)) = county.rigs.iter().find(|(_, rig)| rig.name == unit.name) else {
        return false;
    };
    let taken = if known.class == Class::Ladder { TAKEN_BY_BATTERY } else { TAKEN };
    let pieces: Vec<&Piece> = county
        .pieces
        .iter()
        .filter(|piece| unit.pieces.contains(&piece.id) && taken.contains(&piece.role))
        .collect();
    let end = start.plus(story.dice.between(70, 190));
    let free = pieces.iter().all(|piece| story.is_free(piece, start.plus(-60), end.plus(60)));
    if known.duty != Duty::FrontLine || !free {
        return false;
    }
    let Some(scene) = story.dice.pick(SCENES).copied() else { return false };
    let minutes = story.dice.between(8, 50);
    story.used(start, *rig, known.station, &pieces, scene, minutes, Some(end));
    for piece in pieces {
        story.hold(piece, start, end);
    }
    true
}

/// So many days a mend takes at most.
const fn takes(mend: &Mend) -> i64 {
    match mend {
        Mend::Watch(_) => 19,
        Mend::Clean(_) => 2,
        Mend::Shop(_) => 15,
        Mend::Later(_) => 22,
    }
}

/// Lets one thing go wrong, if there is a piece for it that nothing else happens to.
fn one(story: &mut Story<'_>, start: When) -> Result<bool> {
    let county = story.county;
    let Some(fault) = story.dice.pick(FAULTS).copied() else { return Ok(false) };
    let fitting: Vec<&Piece> = county
        .pieces
        .iter()
        .filter(|piece| piece.station > 0 && fault.kinds.contains(&piece.kind))
        .collect();
    let Some(piece) = story.dice.pick(&fitting).copied() else { return Ok(false) };
    let days = takes(&fault.mend);
    if start.ago() - days < LAST_DAY || !story.is_free(piece, start.days_on(-3, 0, 0), start.days_on(days + 3, 0, 0)) {
        return Ok(false);
    }
    // A repair with a stand-in tells more than one without.
    if matches!(fault.mend, Mend::Shop(_)) && reserve_for(story, piece, start, start.days_on(days, 7, 40)).is_none() && story.dice.chance(60) {
        return Ok(false);
    }
    match fault.mend {
        Mend::Watch(done) => watched(story, piece, &fault, start, done)?,
        Mend::Clean(done) => put_right(story, piece, &fault, start, done)?,
        Mend::Shop(repair) => {
            let ticket = story.send_in(start, piece, fault.what, fault.class);
            repaired(story, &ticket, start, &repair)?;
        }
        Mend::Later(repair) => put_off(story, piece, &fault, start, &repair)?,
    }
    Ok(true)
}

/// Seen again by the next shifts, a few days later each; how long it lasted.
fn seen_again(story: &mut Story<'_>, piece: &Piece, fault: &Fault, start: When, defect: uuid::Uuid) -> When {
    let mut last = start;
    for (n, text) in fault.again.iter().enumerate() {
        let next = last.days_on(story.dice.between(2, 3), 7, story.dice.between(5, 58));
        if next.ago() < LAST_DAY || start.ago() - next.ago() > 7 || !story.dice.chance(75) {
            break;
        }
        let who = if n % 2 == 0 { officer(piece) } else { crew(piece) };
        story.note(next, who, piece, defect, text);
        last = next;
    }
    last
}

/// A small defect: usable under its limit, seen again, and closed by who may before the date by which it must be mended;
/// now and then the officer puts that off once.
fn watched(story: &mut Story<'_>, piece: &Piece, fault: &Fault, start: When, done: &str) -> Result<()> {
    let defect = story.report(start, crew(piece), piece, fault.what, fault.class, false);
    let last = seen_again(story, piece, fault, start, defect);
    let mut closed = start.days_on((start.ago() - last.ago() + story.dice.between(1, 4)).min(9), 9, story.dice.between(0, 50));
    if start.ago() - closed.ago() >= 7 && story.dice.chance(40) {
        let reason = "The part is ordered and comes next week; looked at again, no worse".to_owned();
        let extend = Deed::Extend {
            defect,
            piece: piece.id,
            reason,
        };
        story.act(closed, officer(piece), extend);
        closed = closed.days_on(story.dice.between(4, 8), 9, story.dice.between(0, 50));
    }
    story.close(closed, officer(piece), defect, piece, done)?;
    story.hold(piece, start, closed);
    Ok(())
}

/// Out of service, cleaned at the station, put on the gauge where pressure stands in it, and back by the officer's word.
fn put_right(story: &mut Story<'_>, piece: &Piece, fault: &Fault, start: When, done: &str) -> Result<()> {
    let defect = story.report(start, crew(piece), piece, fault.what, fault.class, true);
    let back = start.days_on(1, 9, story.dice.between(0, 55));
    story.close(back, officer(piece), defect, piece, done)?;
    story.back(back, officer(piece), piece, done);
    story.hold(piece, start, back);
    Ok(())
}

/// Usable under a limit for some days; then the officer sends it to the shop, before the date by which it must be mended.
fn put_off<'c>(story: &mut Story<'c>, piece: &'c Piece, fault: &Fault, start: When, repair: &Repair) -> Result<()> {
    let defect = story.report(start, crew(piece), piece, fault.what, fault.class, false);
    let last = seen_again(story, piece, fault, start, defect);
    // An electrical fault may be put off for three days, a worn part for ten.
    let sent = if fault.again.is_empty() {
        start.days_on(1, 8, story.dice.between(30, 55))
    } else {
        last.days_on(1, 8, story.dice.between(30, 55))
    };
    story.worse(
        sent,
        officer(piece),
        piece,
        defect,
        "The shop has room for it today; out of service until it is mended",
    );
    let ticket = story.ticket(sent, officer(piece), piece, fault.what, &[defect]);
    story.hold(piece, start, sent);
    repaired(story, &ticket, sent, repair)
}

/// To the shop, and home again after a whole test; often with a stand-in for the time.
fn repaired<'c>(story: &mut Story<'c>, ticket: &Ticket<'c>, start: When, repair: &Repair) -> Result<()> {
    let piece = ticket.piece;
    let taken = start.days_on(1, 9, story.dice.between(0, 50));
    let home = start.days_on(15, 7, 40);
    let swap = match reserve_for(story, piece, start, home) {
        Some(reserve) if story.dice.chance(85) => {
            let called = start.plus(story.dice.between(15, 40));
            let swap = story.stand_in(called, crew(piece), reserve, piece, true)?;
            let there = called.plus(story.dice.between(35, 95));
            story.arrive(there, crew(piece), reserve);
            Some((swap, reserve))
        }
        _ => None,
    };
    story.accept(taken, ticket);
    story.work(taken, ticket);
    let mut bench = taken;
    if let Some(what_for) = repair.wait.filter(|_| story.dice.chance(60)) {
        let days = story.dice.between(3, 8);
        story.wait(taken.plus(75), ticket, ("part", what_for), -taken.ago() + days);
        bench = taken.days_on(days, 8, story.dice.between(20, 50));
        story.work(bench, ticket);
    }
    let bench = bench.days_on(0, 13, story.dice.between(0, 50));
    if let Some(part) = repair.part {
        story.part(bench, ticket, part);
    }
    story.labour(bench, ticket, repair.work.0, repair.work.1);
    if let Some(shown) = repair.fails.filter(|_| story.dice.chance(60)) {
        story.fails(bench.plus(40), ticket, shown)?;
        story.labour(bench.days_on(1, 9, 10), ticket, "strip again and set", 45);
    }
    let tested = bench.days_on(1, 10, story.dice.between(0, 45));
    story.test(tested, ticket, repair.done)?;
    story.give_back(tested.plus(25), ticket, piece.place.clone(), repair.done);
    let back = tested.days_on(1, 7, story.dice.between(10, 45));
    story.arrive(back, crew(piece), piece);
    if let Some((swap, reserve)) = swap {
        story.end_swap(back.plus(30), officer(piece), swap, reserve);
        story.hold(reserve, start, back.plus(60));
    }
    story.hold(piece, start, back);
    Ok(())
}

/// A reserve of the same model, or a hose as long, that nothing else happens to meanwhile, nearest first by station number.
fn reserve_for<'c>(story: &Story<'c>, broken: &Piece, from: When, to: When) -> Option<&'c Piece> {
    let Place::Rig(rig) = broken.place else { return None };
    let class = story.county.rigs.iter().find(|(id, _)| *id == rig).map(|(_, rig)| rig.class)?;
    slot_of(class, broken.role)?;
    let same = |piece: &Piece| {
        let longer = piece.kind == Kind::Hose && broken.kind == Kind::Hose && piece.family == broken.family && length(story, piece) >= length(story, broken);
        piece.model == broken.model || longer
    };
    let fits = |piece: &&Piece| matches!(piece.place, Place::Shelf(_)) && same(piece);
    let free = story
        .county
        .pieces
        .iter()
        .filter(fits)
        .filter(|piece| story.is_free(piece, from.days_on(-3, 0, 0), to.days_on(3, 0, 0)));
    free.min_by_key(|piece| piece.station.abs_diff(broken.station))
}

/// Of a hose, in feet.
fn length(story: &Story<'_>, hose: &Piece) -> f64 {
    story.county.model(hose).ok().and_then(Model::feet).unwrap_or_default()
}

/// The annual services that fall into the half year: the shop has a unit for a day, tests each piece on the gauge, records that, and
/// puts what is in order back in the afternoon.
fn services(story: &mut Story<'_>) -> Result<()> {
    let county = story.county;
    for (n, unit) in (0..).zip(&county.units) {
        let due = unit.served_ago - 365;
        if due <= 0 || BOOKED.contains(&unit.name.as_str()) {
            continue;
        }
        let ago = (due + story.dice.between(4, 12)).min(FIRST_DAY - 3);
        let (morning, when, evening) = (day(ago, 8, n % 60), day(ago, 15, n % 60), day(ago, 16, n % 60));
        for piece in county.pieces.iter().filter(|piece| unit.pieces.contains(&piece.id)) {
            if !story.is_served(piece, when) {
                continue;
            }
            let evidence = gauge::passed(county.model(piece)?, &mut story.dice);
            let serviced = Deed::Serviced {
                piece: piece.id,
                on: when.date(county.today),
                by_whom: SHOP.name,
                evidence,
            };
            let free = story.is_free(piece, morning, evening);
            if free {
                story.hold(piece, morning, evening);
                story.act(
                    morning,
                    &SHOP,
                    Deed::TakeOut {
                        piece: piece.id,
                        reason: "Annual service".to_owned(),
                        class: None,
                    },
                );
                story.back(evening, &SHOP, piece, "Annual service done, held its pressure");
            }
            story.act(when, &SHOP, serviced);
        }
    }
    Ok(())
}
