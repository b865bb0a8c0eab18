//! What the shop's gauges show.

use crate::{
    catalogue::{Family, Kind},
    deeds::Reading,
    dice::Dice,
};

fn psi(family: Family, percent: u32) -> f64 {
    f64::from(family.psi() * percent / 100)
}

/// What the gauge shows after a repair; a failed test falls short.
pub fn readings(kind: Kind, family: Family, passed: bool, dice: &mut Dice) -> Vec<Reading> {
    let off = |good: i64, bad: i64| if passed { good } else { bad };
    let tenth = |value: i64| i32::try_from(value).map_or(0.0, |value| f64::from(value) / 10.0);
    let short = u32::try_from(dice.between(78, 88)).unwrap_or(80);
    let held = |what| Reading {
        what,
        value: psi(family, if passed { 100 } else { short }),
        unit: "psi",
    };
    match kind {
        Kind::PowerUnit | Kind::HandPump => vec![
            Reading {
                what: "relief opens at",
                value: psi(family, if passed { 102 } else { 111 }),
                unit: "psi",
            },
            held("pressure held for a minute"),
        ],
        Kind::Cutter | Kind::Spreader | Kind::Ram if family.psi() > 0 => vec![
            held("pressure held for a minute"),
            Reading {
                what: "time to full stroke",
                value: tenth(dice.between(off(31, 62), off(58, 95))),
                unit: "s",
            },
        ],
        Kind::Cutter | Kind::Spreader | Kind::Ram | Kind::Combi => {
            vec![Reading {
                what: "time to full stroke",
                value: tenth(dice.between(off(48, 110), off(72, 160))),
                unit: "s",
            }]
        }
        Kind::Hose => vec![Reading {
            what: "proof pressure held for five minutes",
            value: psi(family, if passed { 200 } else { 140 }),
            unit: "psi",
        }],
        Kind::Battery => {
            let (least, most) = if family == Family::Pack36 { (240, 285) } else { (360, 425) };
            vec![Reading {
                what: "run time under load",
                value: tenth(dice.between(off(least, 40), off(most, 90))),
                unit: "min",
            }]
        }
        Kind::Charger => vec![Reading {
            what: "time to a full charge",
            value: tenth(dice.between(off(480, 900), off(620, 1_500))),
            unit: "min",
        }],
        Kind::Accessory => vec![Reading {
            what: "proof load held",
            value: tenth(dice.between(off(80_000, 30_000), off(90_000, 50_000))),
            unit: "lbf",
        }],
    }
}
