//! Older tales, over by the last day: swaps that were kept, fluids that must not mix, rigs that were away.

use crate::{
    county::{Piece, Place},
    deeds::{Deed, Reading},
    people::{COORDINATOR, chief_of, crew_of, officer_of},
    story::{Story, Ticket, chief, crew, officer},
    when::{When, day, days_before},
};
use anyhow::Result;

/// Writes all of them.
pub fn write(story: &mut Story<'_>) -> Result<()> {
    the_cutter_beyond_repair(story)?;
    the_ram_that_stayed(story)?;
    the_wrong_fluid(story)?;
    the_borrowed_hose(story)?;
    the_long_lesson(story)?;
    the_drowned_tool(story)?;
    the_hose_for_the_hill(story)?;
    rigs_away(story)
}

/// An ordinary repair: taken in the next morning, mended, tested and sent to a place.
fn repaired<'c>(story: &mut Story<'c>, ticket: &Ticket<'c>, from: When, part: (&'static str, f64, f64), work: (&'static str, u32), to: &Place, note: &str) {
    story.accept(from, ticket);
    story.work(from, ticket);
    story.part(from.days_on(0, 14, 20), ticket, part);
    story.labour(from.days_on(0, 14, 20), ticket, work.0, work.1);
    story.test(from.days_on(1, 9, 45), ticket, true, None);
    story.give_back(from.days_on(1, 10, 20), ticket, to.clone(), note);
}

/// Engine 17: its cutter was beyond repair, so the only reserve cutter with bayonet couplings stayed aboard.
fn the_cutter_beyond_repair(story: &mut Story<'_>) -> Result<()> {
    let cutter = story.aboard("Engine 17", "cutter")?;
    let reserve = story.reserve(12, "cutter")?;
    story.leave_unserved(cutter, day(86, 10, 5));
    let ticket = story.send_in(
        day(92, 21, 30),
        cutter,
        "Loud crack on a door hinge, there is a line right across the pivot plate",
    );
    let swap = story.stand_in(day(92, 22, 10), crew(cutter), reserve, cutter, true)?;
    story.arrive(day(91, 7, 45), crew(cutter), reserve);
    story.accept(day(91, 9, 0), &ticket);
    story.work(day(91, 9, 0), &ticket);
    story.labour(day(91, 13, 0), &ticket, "strip, dye test on pivot plate", 75);
    story.test(day(91, 13, 0), &ticket, false, Some("Crack runs through the plate, not to be mended"));
    let defects = ticket.defects.clone();
    let note = "Beyond repair: pivot plate cracked through. To be retired".to_owned();
    story.act(
        day(88, 9, 30),
        ticket.mechanic,
        Deed::Drop {
            ticket: ticket.id,
            piece: cutter.id,
            defects,
            note,
        },
    );
    story.act(day(87, 8, 40), officer(cutter), Deed::Keep { swap, piece: reserve.id });
    let reason = "Pivot plate cracked through. Blades cut off so that nobody fits it to a line again".to_owned();
    story.act(day(86, 10, 5), &COORDINATOR, Deed::Retire { piece: cutter.id, reason });
    Ok(())
}

/// Engine 9: the stand-in ram was made permanent; the repaired one went on the shelf that it came from.
fn the_ram_that_stayed(story: &mut Story<'_>) -> Result<()> {
    let ram = story.aboard("Engine 9", "ram")?;
    let reserve = story.reserve(5, "ram")?;
    let ticket = story.send_in(day(66, 7, 40), ram, "Dent in the outer tube, first stage rubs");
    let swap = story.stand_in(day(66, 8, 30), crew(ram), reserve, ram, true)?;
    story.arrive(day(66, 10, 5), crew(ram), reserve);
    let shelf = story.county.shelf(5)?;
    repaired(
        story,
        &ticket,
        day(65, 9, 15),
        ("outer tube", 1.0, 356.0),
        ("replace outer tube", 140),
        &shelf,
        "New outer tube. Goes to the reserve of Station 5, Engine 9 keeps its stand-in",
    );
    story.act(day(63, 9, 0), officer(ram), Deed::Keep { swap, piece: reserve.id });
    story.arrive(day(63, 8, 20), crew_of(5), ram);
    Ok(())
}

/// Engine 21 runs on phosphate ester; a reserve cutter with the same couplings came over, filled with mineral oil.
fn the_wrong_fluid(story: &mut Story<'_>) -> Result<()> {
    let cutter = story.aboard("Engine 21", "cutter")?;
    let wrong = story.reserve(19, "cutter")?;
    let ticket = story.send_in(day(97, 7, 30), cutter, "Lower blade has a notch you can lay a pencil in");
    let swap = story.stand_in(day(97, 9, 0), chief(cutter), wrong, cutter, true)?;
    story.arrive(day(97, 13, 10), crew(cutter), wrong);
    let mixed = story.report(
        day(97, 13, 20),
        crew(cutter),
        wrong,
        "Couples on all right but the plate says mineral oil. Not pumped, taken off again",
        false,
    );
    story.close(
        day(97, 13, 55),
        officer(cutter),
        mixed,
        wrong,
        "Never under pressure on that line; wiped, caps on, tag added with the fluid",
    );
    story.end_swap(day(97, 14, 0), officer(cutter), swap, wrong);
    repaired(
        story,
        &ticket,
        day(96, 9, 20),
        ("blade, lower", 1.0, 298.0),
        ("replace blade", 60),
        &cutter.place,
        "New lower blade",
    );
    story.arrive(day(94, 7, 40), crew(cutter), cutter);
    Ok(())
}

/// Engine 2 lent its third hose to Engine 6 while a cut one was away.
fn the_borrowed_hose(story: &mut Story<'_>) -> Result<()> {
    let hose = story.aboard("Engine 6", "hose 1")?;
    let lent = story.aboard("Engine 2", "hose 3")?;
    let ticket = story.send_in(day(76, 18, 20), hose, "Run over in the yard, flat spot and wet");
    let swap = story.stand_in(day(76, 19, 10), chief(hose), lent, hose, false)?;
    repaired(
        story,
        &ticket,
        day(75, 8, 50),
        ("hose assembly, exchange", 1.0, 402.0),
        ("fit couplings, proof test", 65),
        &hose.place,
        "Exchange hose, proof tested",
    );
    story.arrive(day(73, 7, 30), crew(hose), hose);
    story.end_swap(day(73, 8, 0), chief(hose), swap, lent);
    Ok(())
}

/// A reserve spreader was lent for a three-day lesson and stayed away for three weeks.
fn the_long_lesson(story: &mut Story<'_>) -> Result<()> {
    let spreader = story.reserve(15, "spreader")?;
    let due_on = days_before(story.county.today, 127);
    let school = Place::Loan {
        name: "Valley Fire School",
        due_on,
    };
    story.act(
        day(130, 8, 30),
        chief(spreader),
        Deed::Move {
            piece: spreader.id,
            to: school,
            arrived: true,
        },
    );
    story.act(
        day(108, 16, 15),
        chief(spreader),
        Deed::Move {
            piece: spreader.id,
            to: spreader.place.clone(),
            arrived: true,
        },
    );
    story.report(
        day(108, 16, 40),
        crew(spreader),
        spreader,
        "Came back from the school without its tip covers, tips are dinged",
        false,
    );
    close_last(story, day(104, 9, 30), officer(spreader), spreader, "Tips dressed, covers billed to the school");
    Ok(())
}

/// Closes the defect that was reported last.
fn close_last(story: &mut Story<'_>, when: When, who: &'static crate::Person, piece: &Piece, resolution: &str) {
    let last = story.acts.iter().rev().find_map(|act| match act.deed {
        Deed::Report { defect, .. } => Some(defect),
        _ => None,
    });
    if let Some(defect) = last {
        story.close(when, who, defect, piece, resolution);
    }
}

/// Rescue 8: a battery tool was taken out of service without a defect, and came back with a reading.
fn the_drowned_tool(story: &mut Story<'_>) -> Result<()> {
    let combi = story.aboard("Rescue 8", "combi")?;
    story.act(
        day(152, 16, 40),
        crew(combi),
        Deed::TakeOut {
            piece: combi.id,
            reason: "Was under water at the weir job, drying it out before anybody trusts it".to_owned(),
            planned: false,
        },
    );
    let reading = Some(Reading {
        what: "time to full stroke",
        value: 6.2,
        unit: "s",
    });
    let note = "Three days in the warm, contacts cleaned, ten full strokes".to_owned();
    story.act(
        day(149, 9, 10),
        officer(combi),
        Deed::Back {
            piece: combi.id,
            note,
            reading,
        },
    );
    Ok(())
}

/// A long hose went from one shelf to another and has not been home since.
fn the_hose_for_the_hill(story: &mut Story<'_>) -> Result<()> {
    let hose = story.reserve(5, "hose 2")?;
    let to = story.county.shelf(2)?;
    story.act(
        day(111, 10, 0),
        chief(hose),
        Deed::Move {
            piece: hose.id,
            to,
            arrived: false,
        },
    );
    story.arrive(day(110, 7, 50), crew_of(2), hose);
    Ok(())
}

/// Rigs that were out for a few days, with what they carry.
fn rigs_away(story: &mut Story<'_>) -> Result<()> {
    let away = [
        ("Ladder 13", 101, 98, "Aerial inspection, at the maker's", "Aerial passed, back in quarters"),
        ("Engine 5", 61, 59, "Coolant everywhere, towed in", "New radiator hose, road test done"),
        ("Rescue 8", 140, 139, "Rear door will not latch", "Latch replaced"),
    ];
    for (name, from, to, reason, note) in away {
        let (rig, known) = story.county.rig(name)?;
        story.act(
            day(from, 8, 15),
            crew_of(known.station),
            Deed::RigOut {
                rig,
                reason: reason.to_owned(),
            },
        );
        let back = if known.station.is_multiple_of(2) {
            officer_of(known.station)
        } else {
            chief_of(known.station)
        };
        story.act(day(to, 15, 20), back, Deed::RigBack { rig, note: note.to_owned() });
    }
    Ok(())
}
