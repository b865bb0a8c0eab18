//! Older tales, over by the last day: swaps that were kept, fluids that must not mix, rigs that were away.

use crate::{
    county::Place,
    deeds::Deed,
    evidence::{
        DefectClass::{CutOrBlister, Deformation, DropOrOverload, Flood, Leak},
        Paper,
    },
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
    the_blistered_hose(story)?;
    the_bent_shackle(story)?;
    the_exchange(story)?;
    lost_and_found(story)?;
    rigs_away(story)
}

/// An ordinary repair: taken in the next morning, mended, tested and sent to a place.
fn repaired<'c>(
    story: &mut Story<'c>,
    ticket: &Ticket<'c>,
    from: When,
    part: (&'static str, f64, f64),
    work: (&'static str, u32),
    to: &Place,
    note: &str,
) -> Result<()> {
    story.accept(from, ticket);
    story.work(from, ticket);
    story.part(from.days_on(0, 14, 20), ticket, part);
    story.labour(from.days_on(0, 14, 20), ticket, work.0, work.1);
    story.test(from.days_on(1, 9, 45), ticket, note)?;
    story.give_back(from.days_on(1, 10, 20), ticket, to.clone(), note);
    Ok(())
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
        Deformation,
    );
    let swap = story.stand_in(day(92, 22, 10), crew(cutter), reserve, cutter, true)?;
    story.arrive(day(91, 7, 45), crew(cutter), reserve);
    story.accept(day(91, 9, 0), &ticket);
    story.work(day(91, 9, 0), &ticket);
    story.labour(day(91, 13, 0), &ticket, "strip, dye test on pivot plate", 75);
    story.fails(day(91, 13, 0), &ticket, "Crack runs through the plate, not to be mended")?;
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
    let retired = Deed::Retire {
        piece: cutter.id,
        reason: "Pivot plate cracked through".to_owned(),
        disposal: "Blades cut off and the coupling crushed, so that nobody fits it to a line again".to_owned(),
    };
    story.act(day(86, 10, 5), &COORDINATOR, retired);
    Ok(())
}

/// Engine 9: the stand-in ram was made permanent; the repaired one went on the shelf that it came from.
fn the_ram_that_stayed(story: &mut Story<'_>) -> Result<()> {
    let ram = story.aboard("Engine 9", "ram")?;
    let reserve = story.reserve(5, "ram")?;
    let ticket = story.send_in(day(66, 7, 40), ram, "Dent in the outer tube, first stage rubs", Deformation);
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
    )?;
    story.act(day(63, 9, 0), officer(ram), Deed::Keep { swap, piece: reserve.id });
    story.arrive(day(63, 8, 20), crew_of(5), ram);
    Ok(())
}

/// Engine 21 runs on phosphate ester. The only cutters on shelves hold mineral oil, and the service takes none of them: fluids are never
/// mixed. The rig went without for three days, and said so.
fn the_wrong_fluid(story: &mut Story<'_>) -> Result<()> {
    let cutter = story.aboard("Engine 21", "cutter")?;
    let other = story.reserve(19, "cutter")?;
    let ticket = story.send_in(day(97, 7, 30), cutter, "Lower blade has a notch you can lay a pencil in", Deformation);
    let note = "Mineral oil. The couplings match those of Engine 21 and 23, the fluid does not: never aboard those two.".to_owned();
    story.act(day(97, 9, 0), &COORDINATOR, Deed::Noted { piece: other.id, note });
    repaired(
        story,
        &ticket,
        day(96, 9, 20),
        ("blade, lower", 1.0, 298.0),
        ("replace blade", 60),
        &cutter.place,
        "New lower blade, test piece cut",
    )?;
    story.arrive(day(94, 7, 40), crew(cutter), cutter);
    Ok(())
}

/// Engine 2 lent its third hose to Engine 6 while a cut one was away.
fn the_borrowed_hose(story: &mut Story<'_>) -> Result<()> {
    let hose = story.aboard("Engine 6", "hose 1")?;
    let lent = story.aboard("Engine 2", "hose 3")?;
    let ticket = story.send_in(day(76, 18, 20), hose, "Weeps where the sleeve meets the tool-end coupling", Leak);
    let swap = story.stand_in(day(76, 19, 10), chief(hose), lent, hose, false)?;
    repaired(
        story,
        &ticket,
        day(75, 8, 50),
        ("coupling seal kit", 1.0, 41.0),
        ("reseal coupling, hold test", 65),
        &hose.place,
        "Coupling resealed, dry on the card at full pressure",
    )?;
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
    let dropped = story.report(
        day(108, 16, 40),
        crew(spreader),
        spreader,
        "Came back from the school without its tip covers, tips are dinged. The school dropped it on the yard",
        DropOrOverload,
        true,
    );
    let ticket = story.ticket(day(108, 17, 0), chief(spreader), spreader, "Dropped at the school, tips dinged", &[dropped]);
    let shelf = spreader.place.clone();
    repaired(
        story,
        &ticket,
        day(107, 9, 10),
        ("tip pair", 1.0, 118.0),
        ("fit new tips, full test by the manual", 110),
        &shelf,
        "No crack found, new tips, forces measured; billed to the school",
    )?;
    story.arrive(day(104, 9, 30), crew(spreader), spreader);
    Ok(())
}

/// Rescue 8: a battery tool was under water. Nobody dried it and trusted it: it went to the maker's service, and came back by its paper.
fn the_drowned_tool(story: &mut Story<'_>) -> Result<()> {
    let combi = story.aboard("Rescue 8", "combi")?;
    let reserve = story.reserve(1, "combi")?;
    let today = story.county.today;
    let ticket = story.send_in(
        day(152, 16, 40),
        combi,
        "Was under water at the weir job. Pack out and set outside, nobody switches it on",
        Flood,
    );
    let swap = story.stand_in(day(152, 17, 20), crew(combi), reserve, combi, true)?;
    story.arrive(day(151, 7, 40), crew(combi), reserve);
    story.accept(day(151, 9, 15), &ticket);
    let to = Place::Vendor {
        name: "Sparrowhale service",
        due_on: days_before(today, 139),
    };
    let deed = Deed::Move {
        piece: combi.id,
        to,
        arrived: true,
    };
    story.act(day(150, 10, 0), ticket.mechanic, deed);
    story.wait(
        day(150, 10, 5),
        &ticket,
        ("outside_service", "the maker's service: opened, dried, insulation measured"),
        -139,
    );
    story.work(day(138, 9, 0), &ticket);
    story.makers_test(
        day(138, 10, 30),
        &ticket,
        Paper {
            by: "Sparrowhale service",
            reference: "report 2207",
            on: days_before(today, 139),
        },
        "New motor board by the maker's service, insulation passed, tested on our bench again",
    )?;
    story.give_back(day(138, 11, 0), &ticket, combi.place.clone(), "Back from the maker's service with its report");
    story.arrive(day(137, 7, 35), crew(combi), combi);
    story.end_swap(day(137, 8, 10), officer(combi), swap, reserve);
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

/// Engine 11: a hose with a blister is not cut back and given a new end. It was cut up, and the reserve that stood in stays.
fn the_blistered_hose(story: &mut Story<'_>) -> Result<()> {
    let hose = story.aboard("Engine 11", "hose 1")?;
    let reserve = story.reserve(9, "hose 1")?;
    story.leave_unserved(hose, day(141, 0, 0));
    story.report(
        day(141, 7, 20),
        crew(hose),
        hose,
        "Bubble in the cover a foot from the coupling. Not touched, bent away with a stick",
        CutOrBlister,
        true,
    );
    let swap = story.stand_in(day(141, 7, 50), crew(hose), reserve, hose, true)?;
    story.arrive(day(141, 9, 5), crew(hose), reserve);
    let retired = Deed::Retire {
        piece: hose.id,
        reason: "Blistered. A hose body is not repaired".to_owned(),
        disposal: "Cut into four, couplings crushed".to_owned(),
    };
    story.act(day(139, 10, 20), &COORDINATOR, retired);
    story.act(day(139, 11, 0), officer(hose), Deed::Keep { swap, piece: reserve.id });
    Ok(())
}

/// Engine 3: load gear that was bent is not passed by eye. It was quarantined and retired, and a set came over from a shelf.
fn the_bent_shackle(story: &mut Story<'_>) -> Result<()> {
    let chains = story.aboard("Engine 3", "chains")?;
    let reserve = story.reserve(5, "chains")?;
    story.report(
        day(72, 18, 10),
        crew(chains),
        chains,
        "Shackle bent where it took the load. Whole set tagged and put in the officer's room",
        Deformation,
        true,
    );
    let swap = story.stand_in(day(72, 18, 40), crew(chains), reserve, chains, true)?;
    story.arrive(day(71, 7, 40), crew(chains), reserve);
    let retired = Deed::Retire {
        piece: chains.id,
        reason: "Shackle bent and links stretched; the maker takes no overloaded set back".to_owned(),
        disposal: "Links cut through, scrapped under the coordinator's eyes".to_owned(),
    };
    story.act(day(69, 10, 0), &COORDINATOR, retired);
    story.act(day(69, 10, 40), officer(chains), Deed::Keep { swap, piece: reserve.id });
    Ok(())
}

/// Engine 5 was towed in, and its tools did not go along: the stripped reserve took its place with all of them, and gave them back.
fn the_exchange(story: &mut Story<'_>) -> Result<()> {
    let county = story.county;
    let ((rig, known), (spare, _)) = (county.rig("Engine 5")?, county.rig("Engine 52")?);
    let (crew, chief) = (crew_of(known.station), chief_of(known.station));
    let pieces: Vec<uuid::Uuid> = county
        .pieces
        .iter()
        .filter(|piece| piece.place == Place::Rig(rig))
        .map(|piece| piece.id)
        .collect();
    for piece in county.pieces.iter().filter(|piece| pieces.contains(&piece.id)) {
        story.hold(piece, day(62, 0, 0), day(58, 0, 0));
    }
    let exchange = |from, to, reason: &str| Deed::Exchange {
        from,
        to,
        pieces: pieces.clone(),
        reason: reason.to_owned(),
    };
    let reason = "Coolant everywhere, Engine 5 is towed in. All its tools go on the reserve";
    story.act(day(61, 8, 10), chief, exchange(rig, spare, reason));
    let out = Deed::RigOut {
        rig,
        reason: "Coolant everywhere, towed in without its tools".to_owned(),
        at: "mechanic",
    };
    story.act(day(61, 8, 30), crew, out);
    let note = "New radiator hose, road test done".to_owned();
    story.act(day(59, 15, 20), chief, Deed::RigBack { rig, note });
    story.act(day(59, 15, 45), chief, exchange(spare, rig, "Engine 5 is back and takes its tools again"));
    Ok(())
}

/// Ladder 20: a pack was missing after the drill, and found in the training box; it counted again when an officer had looked it over.
fn lost_and_found(story: &mut Story<'_>) -> Result<()> {
    let pack = story.aboard("Ladder 20", "battery 2")?;
    let note = "Not in its bracket after the drill, not on the charger".to_owned();
    story.act(day(45, 20, 10), crew(pack), Deed::Missing { piece: pack.id, note });
    let found = Deed::Found {
        piece: pack.id,
        place: pack.place.clone(),
        note: "In the training box, dry and whole".to_owned(),
    };
    story.act(day(43, 9, 30), officer(pack), found);
    story.back(day(43, 9, 50), officer(pack), pack, "Case and contacts sound, charged full");
    Ok(())
}

/// Rigs that were out for a few days, with what they carry.
fn rigs_away(story: &mut Story<'_>) -> Result<()> {
    let away = [
        ("Ladder 13", 101, 98, "Aerial inspection, at the maker's", "Aerial passed, back in quarters"),
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
                at: "mechanic",
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
