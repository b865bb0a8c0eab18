//! What happened in the last days alone: a pack that is missing, tools that were used and not looked over, small defects under a limit,
//! what lies in the shops since.

use crate::{
    deeds::Deed,
    evidence::DefectClass::{ControlDoesNotReturn, CutOrBlister, Deformation, DropOrOverload, Leak, Other, StuckUnderPressure},
    people::crew_of,
    story::{Story, crew, officer},
    when::{before, day},
};
use anyhow::Result;

/// Writes all of it.
pub fn write(story: &mut Story<'_>) -> Result<()> {
    the_missing_pack(story)?;
    used_and_not_looked_at(story)?;
    under_a_limit(story)?;
    sent_in(story)?;
    the_last_day(story)
}

/// Ladder 16: nobody can find a pack since the drill.
fn the_missing_pack(story: &mut Story<'_>) -> Result<()> {
    let pack = story.aboard("Ladder 16", "battery 2")?;
    let note = "Not on the charger, not in the tool, not in the training room. Last seen at the drill on the dam".to_owned();
    story.act(day(2, 18, 30), crew(pack), Deed::Missing { piece: pack.id, note });
    Ok(())
}

/// A crew's job since yesterday: what was used when, and what of it was looked over when.
struct Job {
    rig: &'static str,
    roles: &'static [&'static str],
    /// Minutes ago.
    ago: i64,
    what: &'static str,
    looked: &'static [&'static str],
    looked_ago: i64,
    note: &'static str,
}

const JOBS: &[Job] = &[
    Job {
        rig: "Engine 1",
        roles: &["power", "hose 1", "cutter", "spreader"],
        ago: 980,
        what: "Two cars at the arcade, one door each",
        looked: &["power", "hose 1", "cutter", "spreader"],
        looked_ago: 905,
        note: "Cleaned and looked over, full stroke each; nothing found",
    },
    Job {
        rig: "Engine 8",
        roles: &["power", "hose 1", "hose 2", "cutter", "ram"],
        ago: 505,
        what: "Car against the weir railing, dash pushed",
        looked: &[],
        looked_ago: 0,
        note: "",
    },
    Job {
        rig: "Engine 3",
        roles: &["power", "hose 1", "cutter", "spreader"],
        ago: 640,
        what: "Van on its side under the viaduct",
        looked: &["power", "hose 1", "cutter"],
        looked_ago: 560,
        note: "Called out again before the spreader was done",
    },
    Job {
        rig: "Engine 18",
        roles: &["power", "hose 1", "cutter", "spreader"],
        ago: 760,
        what: "Pickup over the bank, driver's side cut open",
        looked: &["power", "spreader"],
        looked_ago: 440,
        note: "Washed and looked over; blades of the cutter still to be done",
    },
    Job {
        rig: "Ladder 1",
        roles: &["combi", "battery 1"],
        ago: 395,
        what: "Door in the stairwell, spread open",
        looked: &[],
        looked_ago: 0,
        note: "",
    },
];

/// Tools that were used since yesterday. Engine 1 was looked over, the others not yet, or not all.
fn used_and_not_looked_at(story: &mut Story<'_>) -> Result<()> {
    for job in JOBS {
        let (rig, known) = story.county.rig(job.rig)?;
        let pieces = job.roles.iter().map(|role| story.aboard(job.rig, role)).collect::<Result<Vec<_>>>()?;
        let used = story.used(before(job.ago), rig, known.station, &pieces, job.what, 25, None);
        let over: Vec<_> = pieces.iter().filter(|piece| job.looked.contains(&piece.role)).map(|piece| piece.id).collect();
        if !over.is_empty() {
            let looked = Deed::Looked {
                used,
                pieces: over,
                note: job.note,
            };
            story.act(before(job.looked_ago), crew_of(known.station), looked);
        }
    }
    Ok(())
}

/// Small defects that an officer lets pass for some days, each with its limit and its date.
fn under_a_limit(story: &mut Story<'_>) -> Result<()> {
    let small = [
        (
            "Engine 14",
            "spreader",
            Deformation,
            4,
            "Ridges of the left tip worn, arms straight and meeting",
            "Same tip, no worse. Shop has it down for Thursday",
        ),
        (
            "Engine 2",
            "power",
            Other,
            6,
            "Takes four pulls when cold, then runs",
            "Five pulls this morning",
        ),
        (
            "Ladder 5",
            "combi",
            Other,
            5,
            "Squeaks at the end of the stroke",
            "Still squeaks, opens and closes all the way",
        ),
        (
            "Engine 12",
            "ram",
            Leak,
            2,
            "Film at the rod after the weekly check, a card picks it up",
            "Wiped and looked again: a film, no drop",
        ),
        (
            "Engine 15",
            "cutter",
            Deformation,
            7,
            "Two small nicks in the upper blade, no crack",
            "Nicks looked at with the lamp, no bigger",
        ),
        (
            "Rescue 1",
            "hose 4",
            Other,
            8,
            "Dust cap gone at the tool end",
            "Cap is ordered, clean bag over the end",
        ),
        (
            "Ladder 24",
            "charger",
            Other,
            3,
            "Wall bracket hangs by one screw, charges all the same",
            "Bracket still loose",
        ),
        ("Rescue 21", "long ram", Other, 6, "Carry handle split", "Handle split further, still holds"),
    ];
    for (rig, role, class, ago, what, again) in small {
        let piece = story.aboard(rig, role)?;
        let defect = story.report(day(ago, 8, 12), officer(piece), piece, what, class, false);
        if ago > 3 {
            story.note(day(ago - 2, 7, 48), crew(piece), piece, defect, again);
        }
        // The one whose part is late: its officer puts the repair off, once.
        if rig == "Rescue 1" {
            let reason = "The cap comes next week; hose looked over its whole length again, sound and dry".to_owned();
            let extend = Deed::Extend {
                defect,
                piece: piece.id,
                reason,
            };
            story.act(day(2, 9, 30), officer(piece), extend);
        }
    }
    Ok(())
}

/// What went to a shop in the last days: a ram with trapped pressure, a heavy cutter that fell, an old pump that lost fuel, a bent arm.
fn sent_in(story: &mut Story<'_>) -> Result<()> {
    let cutter = story.aboard("Rescue 8", "cutter")?;
    let what = "Slid off the tailboard onto the kerb. Looks all right, taken off all the same";
    let ticket = story.send_in(day(4, 11, 20), cutter, what, DropOrOverload);
    story.accept(day(3, 9, 10), &ticket);
    story.work(day(3, 9, 10), &ticket);
    story.labour(day(3, 14, 0), &ticket, "strip, dye test: a crack at the pivot of the lower blade", 90);
    story.wait(day(3, 14, 20), &ticket, ("part", "blade set for the C-80"), 4);

    let unit = story.aboard("Engine 22", "power")?;
    let what = "Fuel line chafed through at its clamp, petrol on the tray. Pushed outside, nobody starts it";
    let ticket = story.send_in(day(5, 7, 30), unit, what, CutOrBlister);
    story.accept(day(4, 9, 30), &ticket);
    story.work(day(4, 9, 30), &ticket);
    story.wait(
        day(4, 10, 40),
        &ticket,
        ("part", "fuel line; the maker of this one is gone, it is made to measure"),
        12,
    );

    let spreader = story.aboard("Engine 17", "spreader")?;
    let what = "Arm bent on a truck frame, does not close square any more";
    let ticket = story.send_in(day(3, 17, 50), spreader, what, Deformation);
    story.accept(day(2, 9, 0), &ticket);
    story.work(day(2, 9, 0), &ticket);
    story.labour(day(2, 13, 30), &ticket, "strip, measure arms", 60);

    let ram = story.aboard("Engine 6", "ram")?;
    let what = "Will not couple after the job, pressure is trapped in it. Left as it is, nobody forces it";
    story.send_in(before(205), ram, what, StuckUnderPressure);
    Ok(())
}

/// What happened since yesterday evening.
fn the_last_day(story: &mut Story<'_>) -> Result<()> {
    let ram = story.aboard("Engine 10", "ram")?;
    let ticket = story.send_in(before(1_085), ram, "Second stage hangs up half way and comes out with a bang", Deformation);
    story.accept(before(350), &ticket);
    story.work(before(350), &ticket);
    let hose = story.aboard("Engine 18", "hose 1")?;
    story.send_in(
        before(432),
        hose,
        "Cut to the braid on a window post, found at the wash after the night job",
        CutOrBlister,
    );
    let combi = story.aboard("Ladder 11", "combi")?;
    story.send_in(
        before(312),
        combi,
        "Trigger sticks on, arms kept moving after I let go. Pack pulled and tagged",
        ControlDoesNotReturn,
    );
    Ok(())
}
