//! Packs, chargers and small gear.

use super::{
    ByRhythm,
    cautions::{BLOOD, PACK, RATED},
    sources,
    steps::{choice, yes},
};
use crate::plan::Step;
use fullset_calc::{
    ratings::Gear,
    release::{
        DefectClass::{CutOrBlister, Deformation, Electrical, Other},
        Measure,
    },
};

fn case() -> Step {
    yes(
        "case",
        "Case whole, dry, not swollen",
        "All six sides. No crack, no dent, no smell, not warm.",
        CutOrBlister,
    )
    .mind(PACK)
    .from(sources::ELECTRIC)
}

fn charge() -> Step {
    choice(
        "charge",
        "Charge shown",
        "Press the gauge on the pack. A cold pack shows and gives less.",
        &["full", "one bar less"],
        &["half or less", "shows nothing"],
        Electrical,
    )
    .from(sources::ELECTRIC)
}

fn number_of_pack() -> Step {
    yes(
        "number",
        "Its number, at its own charger or tool",
        "Read the number on the pack: the one that the card names.",
        Other,
    )
}

pub(super) fn battery() -> ByRhythm {
    ByRhythm {
        after_use: vec![
            case().from(sources::AFTER_USE),
            yes(
                "changed",
                "Full pack in, used one on its charger",
                "Click it in; the lamp of the charger is on.",
                Electrical,
            ),
            number_of_pack(),
        ],
        weekly: vec![number_of_pack(), case(), charge()],
        monthly: vec![
            yes(
                "contacts",
                "Contacts clean, latch springs back",
                "Dry cloth, no tool in the contacts.",
                Electrical,
            )
            .mind(PACK)
            .from(sources::ELECTRIC),
            yes("rotated", "Packs have changed places", "The one that lay spare is in the tool now.", Other),
        ],
        annual: vec![
            yes(
                "sound",
                "Looked over as a whole: nothing wrong",
                "Case, contacts, latch, label with its date.",
                Other,
            )
            .reads(Measure::SoundToLook)
            .mind(PACK)
            .from(sources::ELECTRIC),
            yes(
                "holds-charge",
                "Takes a charge and holds it",
                "Charge it full, leave it a day, then run a tool with it as the manual says.",
                Electrical,
            )
            .reads(Measure::Charge)
            .running()
            .from(sources::ELECTRIC),
            choice(
                "age",
                "Date of make, and still in its life",
                "Read it on the pack; the life stands in its manual.",
                &["can be read, in its life"],
                &["can be read, too old", "cannot be read"],
                Other,
            ),
        ],
        load: Vec::new(),
    }
}

pub(super) fn charger() -> ByRhythm {
    let cable = || {
        yes(
            "cable",
            "Cable, plug and housing whole",
            "Look along the whole cable. No cut, no scorch, dry.",
            Electrical,
        )
        .from(sources::ELECTRIC)
    };
    let charging = || {
        yes(
            "charging",
            "Charges, and says so",
            "Put a pack in: the lamp shows that it charges, then that it is full.",
            Electrical,
        )
        .running()
    };
    ByRhythm {
        after_use: vec![cable().from(sources::AFTER_USE), charging()],
        weekly: vec![
            cable(),
            charging(),
            yes("free", "Slots free of dirt, vents open", "Nothing on top of it or before it.", Other),
        ],
        monthly: Vec::new(),
        annual: vec![
            yes("sound", "Looked over as a whole: nothing wrong", "Housing, slots, cable, plug.", Other)
                .reads(Measure::SoundToLook)
                .from(sources::ELECTRIC),
            yes("insulation", "Insulation test passed", "As the maker says, by somebody who may.", Electrical)
                .reads(Measure::Insulation)
                .from(sources::ELECTRIC),
            yes(
                "holds-charge",
                "Charges a pack full",
                "A sound pack, from low to full, in the time of the manual.",
                Electrical,
            )
            .reads(Measure::Charge)
            .running()
            .from(sources::ELECTRIC),
        ],
        load: Vec::new(),
    }
}

pub(super) fn accessory() -> ByRhythm {
    let whole = || {
        yes(
            "whole",
            "All there, whole, clean",
            "Count it. Nothing cracked, bent, torn or burnt.",
            Deformation,
        )
    };
    let chain = || {
        yes(
            "links",
            "Chain: each link, hook and tag",
            "Link by link through the hand. No stretch, nick, rust or twist; the tag with its rating.",
            Deformation,
        )
        .mind(RATED)
        .gear(&[Gear::Chains])
        .from(sources::SCREWS)
    };
    let straps = || {
        yes(
            "straps",
            "Straps: webbing, seams and label whole",
            "Both sides. No cut, burn or loose stitch; the label can be read.",
            CutOrBlister,
        )
        .mind(RATED)
        .gear(&[Gear::Straps])
    };
    let support = || {
        yes(
            "support",
            "Support: plates, claws and welds whole",
            "No crack, not bent, claws sharp.",
            Deformation,
        )
        .gear(&[Gear::RamSupport, Gear::RamExtension, Gear::Tips, Gear::Struts])
    };
    let bag = || {
        yes(
            "bag",
            "Bag, hose and controller whole",
            "No cut, no bulge, no cracked rubber; date of make can be read.",
            CutOrBlister,
        )
        .mind("Never over its rating, never under a sharp edge, and crib as it lifts.")
        .gear(&[Gear::LiftingBag])
    };
    let blocks = || yes("blocks", "Cribbing: dry, not split, no oil", "Every block and wedge.", Deformation).gear(&[Gear::Cribbing]);
    let own = || vec![chain(), straps(), support(), bag(), blocks()];
    let with = |first: Vec<Step>, last: Vec<Step>| first.into_iter().chain(own()).chain(last).collect::<Vec<_>>();
    let stowed = || yes("stowed", "Stowed as on the card", "In its place, held fast.", Other);
    ByRhythm {
        after_use: with(vec![whole().mind(BLOOD).from(sources::AFTER_USE)], vec![stowed()]),
        weekly: vec![whole(), stowed()],
        monthly: with(vec![whole()], Vec::new()),
        annual: with(
            vec![yes("sound", "Looked over as a whole: nothing wrong", "In good light, taken out of its bag.", Other).reads(Measure::SoundToLook)],
            vec![yes("tag", "Rating and tag can be read", "Where it has a rating; and its asset tag.", Other)],
        ),
        load: Vec::new(),
    }
}
