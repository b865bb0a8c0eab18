//! Random grades.

use super::dice::Dice;
use fullset_calc::capability::{Alternative, Cover, Drive, Grade, Grades, Need, Part};
use fullset_calc::ratings::{Figure, Gear, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};

const fn size(value: f64, unit: Unit) -> Quantity {
    Quantity::new(value, unit)
}

/// Grades that ask mostly for what is aboard, so that many are met.
pub fn grades(dice: &mut Dice<'_>, aboard: &[Kind]) -> Grades {
    let plain = dice.chance(80);
    let limited = grade(dice, if plain { 1 } else { 2 }, plain, aboard);
    let full = if dice.chance(60) {
        grown(dice, &limited, aboard)
    } else {
        grade(dice, 3, false, aboard)
    };
    let heavy = dice.chance(60).then(|| {
        if dice.chance(70) {
            grown(dice, &full, aboard)
        } else {
            grade(dice, 3, false, aboard)
        }
    });
    Grades { limited, full, heavy }
}

/// The lower grade with something more.
fn grown(dice: &mut Dice<'_>, lower: &Grade, aboard: &[Kind]) -> Grade {
    let mut grade = lower.clone();
    if grade.needs.len() < 3 && dice.chance(60) {
        grade.needs.push(need(dice, grade.needs.len(), false, aboard));
    }
    match dice.up_to(4) {
        0 => grade.tools_at_once = (grade.tools_at_once + 1).min(3),
        1 => grade.spare_packs = (grade.spare_packs + 1).min(2),
        2 => grade.kinds_of_drive = (grade.kinds_of_drive + 1).min(3),
        3 => grade.line_length = Some(size(10.0, Unit::Metre)),
        _ => grade.hand_pump = dice.chance(50),
    }
    grade
}

fn need(dice: &mut Dice<'_>, n: usize, plain: bool, aboard: &[Kind]) -> Need {
    Need {
        id: format!("n{n}"),
        name: format!("Need {n}"),
        alternatives: (0..=dice.pick(&[(3, 0), (2, 1), (1, 2)])).map(|_| alternative(dice, plain, aboard)).collect(),
    }
}

/// A grade of at most so many needs; a plain one asks for kinds alone.
fn grade(dice: &mut Dice<'_>, most: u32, plain: bool, aboard: &[Kind]) -> Grade {
    let needs = (0..=dice.up_to(most - 1) as usize).map(|n| need(dice, n, plain, aboard));
    let needs: Vec<Need> = needs.collect();
    Grade {
        needs,
        tools_at_once: if plain { 0 } else { dice.pick(&[(5, 0), (3, 1), (2, 2), (1, 3)]) },
        kinds_of_drive: if plain { 0 } else { dice.pick(&[(6, 0), (2, 1), (1, 2)]) },
        spare_packs: if plain { 0 } else { dice.pick(&[(3, 0), (2, 1), (1, 2)]) },
        line_length: if plain {
            None
        } else {
            dice.pick(&[
                (6, None),
                (2, Some(size(10.0, Unit::Metre))),
                (1, Some(size(15.0, Unit::Metre))),
                (1, Some(size(16.0, Unit::Foot))),
            ])
        },
        hand_pump: dice.chance(40),
    }
}

fn alternative(dice: &mut Dice<'_>, plain: bool, aboard: &[Kind]) -> Alternative {
    let length = |from, to| {
        Some(Cover {
            from: size(from, Unit::Millimetre),
            to: size(to, Unit::Millimetre),
        })
    };
    let covers = if plain {
        None
    } else {
        dice.pick(&[(4, None), (1, length(650.0, 1500.0)), (1, length(540.0, 1500.0))])
    };
    let parts = (0..=dice.pick(&[(3, 0), (2, 1)]))
        .map(|_| part(dice, covers.is_some(), plain, aboard))
        .collect();
    Alternative { parts, covers }
}

fn part(dice: &mut Dice<'_>, ram: bool, plain: bool, aboard: &[Kind]) -> Part {
    use Kind::{Accessory, CombinationTool, Cutter, Ram, Spreader};
    let any = dice.pick(&[
        (3, vec![Cutter]),
        (3, vec![Cutter, CombinationTool]),
        (2, vec![Spreader]),
        (3, vec![Spreader, CombinationTool]),
        (3, vec![Ram]),
        (1, vec![Accessory]),
    ]);
    let one_aboard = aboard.get(dice.up_to(8) as usize % aboard.len().max(1)).copied();
    let kinds = match one_aboard {
        _ if ram => vec![Ram],
        Some(kind) if dice.chance(75) => vec![kind],
        _ => any,
    };
    let mut minimums = Ratings::new();
    if !plain && dice.chance(40) {
        let standard = |dice: &mut Dice<'_>, value, unit| {
            let figure = Figure::Quantity(size(value, unit));
            let by = dice.pick(&[(4, Some("EN 13204")), (2, None), (1, Some("NFPA 1936"))]);
            by.map_or_else(|| Rating::plain(value, unit), |name| Rating::by(figure, name, "2025"))
        };
        match kinds.as_slice() {
            [Ram] => minimums.set(Term::PushForce, standard(dice, 60.0, Unit::Kilonewton)),
            [Cutter, ..] => minimums.set(Term::CutterOpening, standard(dice, 180.0, Unit::Millimetre)),
            [Spreader | CombinationTool, ..] => {
                minimums.set(Term::SpreadingDistance, standard(dice, 72.0, Unit::Centimetre));
                minimums.set(Term::RatedSpreadingForce, standard(dice, 40.0, Unit::Kilonewton))
            }
            _ => None,
        };
    }
    let drives = if plain {
        Vec::new()
    } else {
        dice.pick(&[
            (12, Vec::new()),
            (1, vec![Drive::Battery]),
            (1, vec![Drive::PowerUnit, Drive::Battery]),
            (1, vec![Drive::PowerUnit]),
            (1, vec![Drive::HandPump, Drive::PowerUnit]),
        ])
    };
    Part {
        gear: (kinds == [Accessory]).then_some(Gear::Chains),
        kinds,
        minimums,
        drives,
    }
}
