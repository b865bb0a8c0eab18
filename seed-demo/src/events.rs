//! The everyday of half a year: small defects that are seen again, repairs with and without a stand-in, annual services.
//! All of it is over some days before the end, but for small defects that are still waiting for somebody.

use crate::{
    county::{Piece, Place},
    deeds::Deed,
    people::{COORDINATOR, SHOP},
    story::{Story, crew, officer, slot_of},
    when::{FIRST_DAY, When, day},
    words::{FAULTS, Fault, Mend, Repair},
};
use anyhow::Result;

/// How many things go wrong.
const COUNT: i64 = 94;
/// How many small defects are still open at the end.
const LEFT_OPEN: usize = 9;
/// Nothing of it happens later than so many days ago.
const LAST_DAY: i64 = 3;

/// Writes all of it.
pub fn write(story: &mut Story<'_>) -> Result<()> {
    services(story);
    let mut left_open = 0;
    for n in 0..COUNT {
        let ago = FIRST_DAY - 3 - n * (FIRST_DAY - 3 - LAST_DAY) / COUNT;
        let start = if story.dice.chance(70) {
            day(ago, 7, story.dice.between(5, 55))
        } else {
            day(ago, story.dice.between(16, 22), story.dice.between(0, 59))
        };
        for _ in 0..60 {
            if one(story, start, &mut left_open)? {
                break;
            }
        }
    }
    Ok(())
}

/// So many days a mend takes at most.
const fn takes(mend: &Mend) -> i64 {
    match mend {
        Mend::Watch(_) => 1,
        Mend::House(_) => 2,
        Mend::Shop(_) => 15,
    }
}

/// Lets one thing go wrong, if there is a piece for it that nothing else happens to.
fn one(story: &mut Story<'_>, start: When, left_open: &mut usize) -> Result<bool> {
    let county = story.county;
    let Some(fault) = story.dice.pick(FAULTS).copied() else { return Ok(false) };
    let fitting: Vec<&Piece> = county
        .pieces
        .iter()
        .filter(|piece| piece.station > 0 && fault.kinds.contains(&piece.kind))
        .collect();
    let Some(piece) = story.dice.pick(&fitting).copied() else { return Ok(false) };
    let days = takes(&fault.mend);
    let quiet = if matches!(fault.mend, Mend::Watch(_)) { 24 } else { days };
    if start.ago() - days < LAST_DAY || !story.is_free(piece, start.days_on(-3, 0, 0), start.days_on(quiet + 3, 0, 0)) {
        return Ok(false);
    }
    // A repair with a stand-in tells more than one without.
    if matches!(fault.mend, Mend::Shop(_)) && reserve_for(story, piece, start, start.days_on(days, 7, 40)).is_none() && story.dice.chance(60) {
        return Ok(false);
    }
    match fault.mend {
        Mend::Watch(done) => watched(story, piece, &fault, start, done, left_open),
        Mend::House(done) => put_right(story, piece, &fault, start, done),
        Mend::Shop(repair) => repaired(story, piece, &fault, start, &repair)?,
    }
    Ok(true)
}

/// A small defect: seen, seen again by the next shifts, and closed by the officer in the end.
fn watched(story: &mut Story<'_>, piece: &Piece, fault: &Fault, start: When, done: &str, left_open: &mut usize) {
    let defect = story.report(start, crew(piece), piece, fault.what, false);
    let mut last = start;
    for (n, text) in fault.again.iter().enumerate() {
        let next = last.days_on(story.dice.between(2, 6), 7, story.dice.between(5, 58));
        if next.ago() < LAST_DAY || !story.dice.chance(75) {
            break;
        }
        let who = if n % 2 == 0 { officer(piece) } else { crew(piece) };
        story.note(next, who, defect, text);
        last = next;
    }
    let closed = last.days_on(story.dice.between(2, 8), 9, story.dice.between(0, 50));
    if closed.ago() < LAST_DAY || (start.ago() < 45 && *left_open < LEFT_OPEN && story.dice.chance(70)) {
        *left_open += 1;
        story.hold(piece, start, crate::when::before(0));
        return;
    }
    story.close(closed, officer(piece), defect, piece, done);
    story.hold(piece, start, closed);
}

/// Out of service, put right at the station, and back by the officer's word.
fn put_right(story: &mut Story<'_>, piece: &Piece, fault: &Fault, start: When, done: &str) {
    let defect = story.report(start, crew(piece), piece, fault.what, true);
    let back = start.days_on(1, 9, story.dice.between(0, 55));
    story.close(back, officer(piece), defect, piece, done);
    story.act(
        back,
        officer(piece),
        Deed::Back {
            piece: piece.id,
            note: done.to_owned(),
            reading: None,
        },
    );
    story.hold(piece, start, back);
}

/// Out of service, to the shop, and home again; often with a stand-in for the time.
fn repaired<'c>(story: &mut Story<'c>, piece: &'c Piece, fault: &Fault, start: When, repair: &Repair) -> Result<()> {
    let ticket = story.send_in(start, piece, fault.what);
    let taken = start.days_on(1, 9, story.dice.between(0, 50));
    let home = start.days_on(takes(&fault.mend), 7, 40);
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
    story.accept(taken, &ticket);
    story.work(taken, &ticket);
    let mut bench = taken;
    if let Some(what_for) = repair.wait.filter(|_| story.dice.chance(60)) {
        let days = story.dice.between(3, 8);
        story.wait(taken.plus(75), &ticket, what_for, -taken.ago() + days);
        bench = taken.days_on(days, 8, story.dice.between(20, 50));
        story.work(bench, &ticket);
    }
    let bench = bench.days_on(0, 13, story.dice.between(0, 50));
    story.part(bench, &ticket, repair.part);
    story.labour(bench, &ticket, repair.work.0, repair.work.1);
    if let Some(shown) = repair.fails.filter(|_| story.dice.chance(60)) {
        story.test(bench.plus(40), &ticket, false, Some(shown));
        story.labour(bench.days_on(1, 9, 10), &ticket, "strip again and set", 45);
    }
    let tested = bench.days_on(1, 10, story.dice.between(0, 45));
    story.test(tested, &ticket, true, None);
    story.give_back(tested.plus(25), &ticket, piece.place.clone(), repair.done);
    let back = tested.days_on(1, 7, story.dice.between(10, 45));
    story.arrive(back, crew(piece), piece);
    if let Some((swap, reserve)) = swap {
        story.end_swap(back.plus(30), officer(piece), swap, reserve);
        story.hold(reserve, start, back.plus(60));
    }
    story.hold(piece, start, back);
    Ok(())
}

/// A reserve of the same kind and family that nothing else happens to meanwhile, nearest first by station number.
fn reserve_for<'c>(story: &Story<'c>, broken: &Piece, from: When, to: When) -> Option<&'c Piece> {
    let Place::Rig(rig) = broken.place else { return None };
    let class = story.county.rigs.iter().find(|(id, _)| *id == rig).map(|(_, rig)| rig.class)?;
    slot_of(class, broken.role)?;
    let fits = |piece: &&Piece| matches!(piece.place, Place::Shelf(_)) && piece.kind == broken.kind && piece.family == broken.family && piece.role != "adapter";
    let free = story
        .county
        .pieces
        .iter()
        .filter(fits)
        .filter(|piece| story.is_free(piece, from.days_on(-3, 0, 0), to.days_on(3, 0, 0)));
    free.min_by_key(|piece| piece.station.abs_diff(broken.station))
}

/// The annual services that fall into the half year: the shop has a unit for a day, the coordinator records the service and
/// puts what is in order back in the afternoon.
fn services(story: &mut Story<'_>) {
    let county = story.county;
    for (n, unit) in (0..).zip(&county.units) {
        let due = unit.served_ago - 365;
        if due <= 0 {
            continue;
        }
        let ago = (due + story.dice.between(4, 12)).min(FIRST_DAY - 3);
        let (morning, when, evening) = (day(ago, 8, n % 60), day(ago, 15, n % 60), day(ago, 16, n % 60));
        for piece in county.pieces.iter().filter(|piece| unit.pieces.contains(&piece.id)) {
            if story.is_served(piece, when) {
                if story.is_free(piece, morning, evening) {
                    story.hold(piece, morning, evening);
                    story.act(
                        morning,
                        &SHOP,
                        Deed::TakeOut {
                            piece: piece.id,
                            reason: "Annual service".to_owned(),
                            planned: true,
                        },
                    );
                    story.act(
                        evening,
                        &COORDINATOR,
                        Deed::Back {
                            piece: piece.id,
                            note: "Annual service done, held its pressure".to_owned(),
                            reading: None,
                        },
                    );
                }
                story.act(
                    when,
                    &COORDINATOR,
                    Deed::Served {
                        piece: piece.id,
                        on: when.date(county.today),
                    },
                );
            }
        }
    }
}
