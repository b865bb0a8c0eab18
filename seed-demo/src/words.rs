//! What crews report, in their own plain words, and how it was mended.

use crate::catalogue::Kind;

/// Something that goes wrong.
#[derive(Debug, Clone, Copy)]
pub struct Fault {
    pub kinds: &'static [Kind],
    /// As the crew writes it.
    pub what: &'static str,
    /// As the next shifts write it when they see it again.
    pub again: &'static [&'static str],
    pub mend: Mend,
}

/// How it ends.
#[derive(Debug, Clone, Copy)]
pub enum Mend {
    /// It can still be used; an officer sees to it in time.
    Watch(&'static str),
    /// It must not be used; the station itself puts it right.
    House(&'static str),
    /// It must not be used; it goes to a shop.
    Shop(Repair),
}

/// What the shop does.
#[derive(Debug, Clone, Copy)]
pub struct Repair {
    /// The part, how many, and what one costs.
    pub part: (&'static str, f64, f64),
    /// The work, and its minutes.
    pub work: (&'static str, u32),
    /// What it has to wait for, sometimes.
    pub wait: Option<&'static str>,
    /// What the first test shows, sometimes.
    pub fails: Option<&'static str>,
    pub done: &'static str,
}

const fn watch(kinds: &'static [Kind], what: &'static str, again: &'static [&'static str], done: &'static str) -> Fault {
    Fault {
        kinds,
        what,
        again,
        mend: Mend::Watch(done),
    }
}

const fn house(kinds: &'static [Kind], what: &'static str, done: &'static str) -> Fault {
    Fault {
        kinds,
        what,
        again: &[],
        mend: Mend::House(done),
    }
}

const fn shop(kinds: &'static [Kind], what: &'static str, part: (&'static str, f64, f64), work: (&'static str, u32), done: &'static str) -> Fault {
    Fault {
        kinds,
        what,
        again: &[],
        mend: Mend::Shop(Repair {
            part,
            work,
            wait: None,
            fails: None,
            done,
        }),
    }
}

const fn long(fault: Fault, wait: Option<&'static str>, fails: Option<&'static str>) -> Fault {
    match fault.mend {
        Mend::Shop(repair) => Fault {
            mend: Mend::Shop(Repair { wait, fails, ..repair }),
            kinds: fault.kinds,
            what: fault.what,
            again: fault.again,
        },
        _ => fault,
    }
}

const POWER: &[Kind] = &[Kind::PowerUnit];
const CUTTER: &[Kind] = &[Kind::Cutter];
const SPREADER: &[Kind] = &[Kind::Spreader];
const COMBI: &[Kind] = &[Kind::Combi];
const RAM: &[Kind] = &[Kind::Ram];
const HOSE: &[Kind] = &[Kind::Hose];
const BATTERY: &[Kind] = &[Kind::Battery];
const CHARGER: &[Kind] = &[Kind::Charger];
const GEAR: &[Kind] = &[Kind::Accessory];
const BLADES: &[Kind] = &[Kind::Cutter, Kind::Combi];
const ARMS: &[Kind] = &[Kind::Spreader, Kind::Combi];

/// Everything that goes wrong in an ordinary half year.
pub static FAULTS: &[Fault] = &[
    watch(
        POWER,
        "Took five pulls to start, smelled of old fuel",
        &["Third pull this week, still sulks when cold", "Started on the sixth pull"],
        "Fuel drained and changed, starts on the first pull",
    ),
    watch(
        POWER,
        "Choke knob cracked, works if you hold it",
        &["Choke knob still taped up"],
        "Knob replaced from the parts drawer",
    ),
    watch(
        POWER,
        "Fuel cap does not seal, wet round the neck",
        &["Still sweating fuel at the cap"],
        "New cap gasket fitted",
    ),
    watch(
        POWER,
        "Fluid a finger below the line",
        &[],
        "Topped up with the right fluid, no leak found after two days",
    ),
    house(
        POWER,
        "Will not start at all, no spark",
        "Plug was fouled; cleaned and gapped, started ten times in a row",
    ),
    house(
        POWER,
        "Ran out of breath under load and died",
        "Air filter choked with dust from the quarry job; changed it and ran both tools",
    ),
    long(
        shop(
            POWER,
            "Dump valve handle spins and nothing happens",
            ("dump valve kit", 1.0, 84.0),
            ("strip and rebuild dump valve", 95),
            "Dump valve rebuilt, relief set",
        ),
        Some("dump valve kit"),
        None,
    ),
    long(
        shop(
            POWER,
            "Oil all over the tray after the weekly run",
            ("shaft seal", 1.0, 31.5),
            ("replace shaft seal, wash down", 110),
            "Shaft seal replaced, dry after half an hour under load",
        ),
        None,
        Some("Still weeps at the shaft at full pressure"),
    ),
    watch(
        CUTTER,
        "Small nick in the lower blade, about a grain of rice",
        &["Nick still there, no bigger", "Nick measured at 2 mm, still under the limit"],
        "Nick dressed out with a stone, blade gap is good",
    ),
    watch(
        BLADES,
        "Handle guard loose, one screw gone",
        &["Guard still rattles"],
        "Screw replaced with thread lock",
    ),
    watch(CUTTER, "Label so worn you cannot read the warnings", &[], "New label set stuck on"),
    house(
        CUTTER,
        "Frozen half open after the job, will not couple",
        "Trapped pressure relieved the maker's way; cycled five times without fault",
    ),
    long(
        shop(
            CUTTER,
            "Blade tip broke off on a seat rail",
            ("blade set", 1.0, 612.0),
            ("replace blades, set pivot torque", 80),
            "New blades, pivot set and cut test done",
        ),
        Some("blade set"),
        None,
    ),
    shop(
        CUTTER,
        "Leaks from the grip when the blades close",
        ("valve block seals", 1.0, 58.0),
        ("reseal valve block", 120),
        "Valve block resealed, holds pressure",
    ),
    shop(
        BLADES,
        "Blades shut by themselves if you let go of the switch",
        ("star grip valve", 1.0, 176.0),
        ("replace control valve", 90),
        "Control valve replaced, stops dead when let go",
    ),
    watch(
        SPREADER,
        "One tip is loose, pin has play",
        &["Tip pin still has play", "Tip wobbles more than last week I think"],
        "Tip pin and clip replaced",
    ),
    watch(
        ARMS,
        "Tip teeth worn smooth on one side",
        &["Teeth still worn, slips on paint"],
        "Tips swapped for new ones",
    ),
    house(
        SPREADER,
        "Full of road mud and broken glass, arms grind",
        "Washed, dried and greased; full stroke without a sound",
    ),
    long(
        shop(
            SPREADER,
            "Arm bent, does not close square any more",
            ("arm, left", 1.0, 940.0),
            ("replace arm, check pins", 150),
            "Arm replaced, closes square",
        ),
        Some("left arm from the maker"),
        None,
    ),
    long(
        shop(
            SPREADER,
            "Creeps open under load, will not hold the dash",
            ("piston seal kit", 1.0, 73.0),
            ("replace piston seals", 130),
            "Piston seals replaced, holds under load",
        ),
        None,
        Some("Lost a tenth of the force in one minute"),
    ),
    watch(
        RAM,
        "Cross head chewed up at one corner",
        &["Corner of the cross head still chewed"],
        "Cross head turned round, order placed for a new one",
    ),
    watch(RAM, "Carry handle split", &["Handle split further, still holds"], "Handle replaced"),
    shop(
        RAM,
        "Drips from the rod when it is all the way out",
        ("rod seal", 1.0, 46.0),
        ("replace rod seal, polish rod", 105),
        "Rod seal replaced, dry at full stroke",
    ),
    long(
        shop(
            RAM,
            "Second stage stops short by a hand",
            ("stage bush", 2.0, 64.0),
            ("strip, replace bushes", 140),
            "Both stages run out in full",
        ),
        Some("stage bushes"),
        None,
    ),
    watch(
        HOSE,
        "Outer cover scuffed near the middle, braid not showing",
        &[
            "Scuff marked with tape so we can see if it grows",
            "Scuff is the same length as last time",
            "Same scuff, nobody had joined it up with the last note",
        ],
        "Cover measured and sound, tape left on as a mark",
    ),
    watch(
        HOSE,
        "Dust cap missing at the tool end",
        &["Cap still missing, bag over the end"],
        "Cap and lanyard replaced",
    ),
    watch(
        HOSE,
        "Stiff to couple, needs two hands",
        &["Still needs two hands in the cold"],
        "Coupling cleaned and a drop of fluid put on, clicks home",
    ),
    house(
        HOSE,
        "Will not couple, pressure trapped in it",
        "Pressure relieved the maker's way, couples by hand again",
    ),
    shop(
        HOSE,
        "Cut in the cover, you can see the braid",
        ("hose assembly, exchange", 1.0, 388.0),
        ("fit couplings, proof test", 60),
        "Cut length replaced and proof tested",
    ),
    shop(
        HOSE,
        "Bubble in the cover a foot from the coupling",
        ("coupling end", 1.0, 122.0),
        ("cut back, swage new end, proof test", 75),
        "Cut back behind the bubble and proof tested",
    ),
    watch(BATTERY, "Latch is cracked, pack still locks", &["Latch crack the same"], "Latch replaced"),
    watch(
        BATTERY,
        "Shows three bars of four after a night on the charger",
        &["Three bars again"],
        "Left on the charger for a day, four bars since",
    ),
    shop(
        BATTERY,
        "Dead after four minutes of work, was charged full",
        ("cell group", 1.0, 95.0),
        ("open, balance, load test", 70),
        "Weak cell group replaced and load tested",
    ),
    watch(
        CHARGER,
        "Green light flickers, charges all the same",
        &["Flickers when the door slams"],
        "Plug was loose in its socket, cable tied back",
    ),
    shop(
        CHARGER,
        "Hums and gets hot, red light",
        ("fan", 1.0, 19.0),
        ("replace fan, bench run", 40),
        "Fan replaced, charges cool",
    ),
    watch(COMBI, "Squeaks at the end of the stroke", &["Still squeaks"], "Pivot greased, quiet"),
    house(
        COMBI,
        "Dropped off the tailboard, looks all right but taken off",
        "Looked over bolt by bolt, full stroke ten times, no crack found",
    ),
    shop(
        COMBI,
        "Stops and starts as if the battery was loose",
        ("contact block", 1.0, 52.0),
        ("replace contact block", 55),
        "Contact block replaced, ran three packs flat without a stop",
    ),
    long(
        shop(
            COMBI,
            "Whines and hardly moves, full pack in",
            ("motor", 1.0, 418.0),
            ("replace motor", 115),
            "Motor replaced, opens in time",
        ),
        Some("motor"),
        None,
    ),
    watch(
        GEAR,
        "Bag torn, things fall out on the way",
        &["Bag still torn"],
        "Bag stitched by the canvas shop",
    ),
    watch(GEAR, "One piece short after the drill", &[], "Found in the training ground box and put back"),
    house(
        GEAR,
        "Bent where it took the load",
        "Straight edge laid on it, within the limit, marked as looked at",
    ),
];
