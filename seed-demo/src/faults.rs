//! Everything that goes wrong in an ordinary half year.

use crate::{
    catalogue::Kind,
    evidence::DefectClass::{ControlDoesNotReturn, Deformation, DropOrOverload, Electrical, Leak, Other, StuckUnderPressure},
    words::{Fault, clean, later, repair, shop, watch},
};

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
        "Fluid a finger below the line",
        &["Line marked with a pen, has not moved"],
        "Topped up with the right fluid, no leak found after two days",
    ),
    shop(
        POWER,
        Leak,
        "Fuel cap does not seal, wet round the neck",
        repair(
            Some(("cap gasket", 1.0, 6.5)),
            ("fit cap gasket, pressure test tank", 25),
            "New cap gasket, dry after an hour on its side",
        ),
    ),
    shop(
        POWER,
        Other,
        "Will not start at all, no spark",
        repair(
            Some(("spark plug", 1.0, 7.0)),
            ("replace plug, set gap", 30),
            "Plug was fouled; new one fitted, started ten times in a row",
        ),
    ),
    clean(
        POWER,
        "Ran out of breath under load and died",
        "Air filter choked with dust from the quarry job; new filter in, ran both tools at full stroke",
    ),
    shop(
        POWER,
        ControlDoesNotReturn,
        "Dump valve handle spins and nothing happens",
        repair(
            Some(("dump valve kit", 1.0, 84.0)),
            ("strip and rebuild dump valve", 95),
            "Dump valve rebuilt, relief set",
        )
        .may_wait("dump valve kit"),
    ),
    shop(
        POWER,
        Leak,
        "Oil all over the tray after the weekly run",
        repair(
            Some(("shaft seal", 1.0, 31.5)),
            ("replace shaft seal, wash down", 110),
            "Shaft seal replaced, dry after half an hour under load",
        )
        .may_fail("Still weeps at the shaft at full pressure"),
    ),
    later(
        CUTTER,
        Deformation,
        "Small nick in the lower blade, about a grain of rice",
        &["Nick still there, no bigger", "Nick measured at 2 mm, still under the limit"],
        repair(
            None,
            ("dress blade, set gap, cut test piece", 55),
            "Nick dressed out, blade gap set by the manual, test piece cut",
        ),
    ),
    watch(
        BLADES,
        "Handle guard loose, one screw gone",
        &["Guard still rattles"],
        "Screw replaced with thread lock",
    ),
    watch(CUTTER, "Label so worn you cannot read the warnings", &[], "New label set stuck on"),
    shop(
        CUTTER,
        StuckUnderPressure,
        "Frozen half open after the job, will not couple. Left as it is, nobody forces it",
        repair(
            None,
            ("relieve trapped pressure by the manual, cycle", 35),
            "Trapped pressure relieved the maker's way; cycled five times without fault",
        ),
    ),
    shop(
        CUTTER,
        Deformation,
        "Blade tip broke off on a seat rail",
        repair(
            Some(("blade set", 1.0, 612.0)),
            ("replace blades, set pivot torque", 80),
            "New blades, pivot set and test piece cut",
        )
        .may_wait("blade set"),
    ),
    shop(
        CUTTER,
        Leak,
        "Leaks from the grip when the blades close",
        repair(
            Some(("valve block seals", 1.0, 58.0)),
            ("reseal valve block", 120),
            "Valve block resealed, holds pressure",
        ),
    ),
    shop(
        BLADES,
        ControlDoesNotReturn,
        "Blades keep moving after you let go of the switch",
        repair(
            Some(("star grip valve", 1.0, 176.0)),
            ("replace control valve", 90),
            "Control valve replaced, stops dead when let go",
        ),
    ),
    later(
        SPREADER,
        Deformation,
        "One tip is loose, pin has play",
        &["Tip pin still has play", "Tip wobbles more than last week I think"],
        repair(
            Some(("tip pin and clip", 1.0, 24.0)),
            ("replace tip pin and clip", 40),
            "Tip pin and clip replaced, forces measured",
        ),
    ),
    later(
        ARMS,
        Deformation,
        "Tip teeth worn smooth on one side",
        &["Teeth still worn, slips on paint"],
        repair(Some(("tip pair", 1.0, 118.0)), ("fit new tips", 35), "New tips fitted, forces measured"),
    ),
    clean(
        SPREADER,
        "Full of road mud and broken glass, arms grind",
        "Cleaned and disinfected, dried and greased; full stroke without a sound",
    ),
    shop(
        SPREADER,
        Deformation,
        "Arm bent, does not close square any more",
        repair(Some(("arm, left", 1.0, 940.0)), ("replace arm, check pins", 150), "Arm replaced, closes square").may_wait("left arm from the maker"),
    ),
    shop(
        SPREADER,
        Leak,
        "Creeps open under load, will not hold the dash",
        repair(
            Some(("piston seal kit", 1.0, 73.0)),
            ("replace piston seals", 130),
            "Piston seals replaced, holds under load",
        )
        .may_fail("Lost a tenth of the pressure within the hold"),
    ),
    later(
        RAM,
        Deformation,
        "Cross head chewed up at one corner",
        &["Corner of the cross head still chewed"],
        repair(
            Some(("cross head", 1.0, 88.0)),
            ("fit cross head", 30),
            "New cross head fitted, load tested by the manual",
        ),
    ),
    watch(RAM, "Carry handle split", &["Handle split further, still holds"], "Handle replaced"),
    shop(
        RAM,
        Leak,
        "Drips from the rod when it is all the way out",
        repair(
            Some(("rod seal", 1.0, 46.0)),
            ("replace rod seal, polish rod", 105),
            "Rod seal replaced, dry at full stroke",
        ),
    ),
    shop(
        RAM,
        Deformation,
        "Second stage stops short by a hand",
        repair(Some(("stage bush", 2.0, 64.0)), ("strip, replace bushes", 140), "Both stages run out in full").may_wait("stage bushes"),
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
    shop(
        HOSE,
        StuckUnderPressure,
        "Will not couple, pressure trapped in it. Tagged and left alone",
        repair(
            None,
            ("relieve trapped pressure by the manual, hold test", 40),
            "Pressure relieved the maker's way, couples by hand, held its pressure",
        ),
    ),
    shop(
        HOSE,
        Leak,
        "Weeps at the tool-end coupling, seen on the card at the weekly check",
        repair(
            Some(("coupling seal kit", 1.0, 41.0)),
            ("reseal coupling, hold test", 60),
            "Coupling resealed, dry on the card at full pressure",
        ),
    ),
    shop(
        HOSE,
        DropOrOverload,
        "Run over in the yard. Looks round, taken off all the same",
        repair(
            None,
            ("look over the whole length, hold test", 50),
            "Sound over its whole length, held its pressure without a drop",
        ),
    ),
    watch(
        BATTERY,
        "The sticker with its number has come off",
        &["Number is on with tape for now"],
        "New sticker on, number read from the register",
    ),
    later(
        BATTERY,
        Electrical,
        "Shows three bars of four after a night on the charger",
        &[],
        repair(
            None,
            ("charge, load test on the maker's tester", 70),
            "Four bars after a full charge, load test passed",
        ),
    ),
    shop(
        BATTERY,
        Electrical,
        "Dead after four minutes of work, was charged full",
        repair(
            None,
            ("clean contacts, load test on the maker's tester", 70),
            "Contacts were dirty. Cleaned from outside, load test passed twice",
        ),
    ),
    shop(
        CHARGER,
        Electrical,
        "Green light flickers when the door slams",
        repair(
            Some(("mains lead", 1.0, 14.0)),
            ("replace mains lead, insulation test", 35),
            "New mains lead, insulation test passed",
        ),
    ),
    shop(
        CHARGER,
        Electrical,
        "Hums and gets hot, red light",
        repair(
            Some(("fan", 1.0, 19.0)),
            ("replace fan, insulation test, bench run", 40),
            "Fan replaced, charges cool",
        ),
    ),
    watch(
        CHARGER,
        "Wall bracket is loose, charges all the same",
        &["Still hangs by one screw"],
        "Bracket screwed back to the wall, charger looked over",
    ),
    watch(COMBI, "Squeaks at the end of the stroke", &["Still squeaks"], "Pivot greased, quiet"),
    shop(
        COMBI,
        DropOrOverload,
        "Dropped off the tailboard, looks all right but taken off",
        repair(
            None,
            ("strip, dye test, full test by the manual", 160),
            "No crack found with dye, forces and stroke measured",
        ),
    ),
    shop(
        COMBI,
        Electrical,
        "Stops and starts as if the battery was loose",
        repair(
            Some(("contact block", 1.0, 52.0)),
            ("replace contact block, insulation test", 55),
            "Contact block replaced, ran three packs flat without a stop",
        ),
    ),
    shop(
        COMBI,
        Electrical,
        "Whines and hardly moves, full pack in",
        repair(
            Some(("motor", 1.0, 418.0)),
            ("replace motor, insulation test", 115),
            "Motor replaced, opens in time",
        )
        .may_wait("motor"),
    ),
    watch(
        GEAR,
        "Bag torn, things fall out on the way",
        &["Bag still torn"],
        "Bag stitched by the canvas shop",
    ),
    watch(GEAR, "Hook of the bag is stiff", &[], "Washed, dried and oiled; opens with one finger"),
];
