//! The grades that ship, to begin from. An agency changes them as it sees fit.
//!
//! - [`Template::En`]: the German fire chiefs' recommendation of 3 June 2025 (summary published by a county's fire
//!   association), in terms of EN 13204: for a vehicle without a standard load a combination tool of class CT3 (350 mm, 35 kN,
//!   opening 280 mm); for a first-line rescue pumper a spreader SP3 (720 mm, 40 kN), a cutter CU2 (180 mm) and one ram of 650
//!   to 1500 mm or two of 540 to 1500 mm, 60 to 100 kN; heavy: SP4 (800 mm, 60 kN), CU3 (200 mm), rams of 540 to 1500 mm that
//!   can pull, CT3 and CU1, all at once, two kinds of drive. Hose-fed tools: 10 m of usable hose; battery tools: a pack for each and one spare.
//! - [`Template::Nfpa`]: the same shape by kind alone; the minimums are the agency's to enter from its own standard.
//!
//! That a cutter with a spreader is *limited* too is common practice, no source. The source gives 60 to 100 kN for a ram; the lower
//! figure is the minimum here. It gives no opening for CU1: EN 13204:2025 is not at hand, so that part asks for the kind alone.

use super::grade::{Alternative, Cover, Grade, Grades, Need, Part};
use crate::ratings::{Figure, Kind, Rating, Ratings, Term};
use crate::units::{Quantity, Unit};
use serde::{Deserialize, Serialize};

/// A set of grades to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Template {
    /// Published, in terms of EN 13204.
    En,
    /// In terms of NFPA 1936; the agency enters the figures.
    Nfpa,
}

impl Template {
    /// Every template.
    pub const ALL: &'static [Self] = &[Self::En, Self::Nfpa];

    /// Its name, as people read it.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::En => "EN 13204 terms, published figures",
            Self::Nfpa => "NFPA 1936 terms, your own figures",
        }
    }

    /// Where its figures come from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::En => "German fire chiefs' recommendation on rescue sets, 3 June 2025",
            Self::Nfpa => "Shape by common practice, no source; enter the minimums of your own standard",
        }
    }

    /// The grades.
    #[must_use]
    pub fn grades(self) -> Grades {
        match self {
            Self::En => en(),
            Self::Nfpa => nfpa(),
        }
    }
}

fn en_rating(value: f64, unit: Unit) -> Rating {
    Rating::by(Figure::Quantity(Quantity::new(value, unit)), "EN 13204", "2025")
}

fn part(kind: Kind, minimums: &[(Term, f64, Unit)]) -> Part {
    let minimums: Ratings = minimums.iter().map(|(term, value, unit)| (*term, en_rating(*value, *unit))).collect();
    Part {
        kinds: vec![kind],
        gear: None,
        minimums,
        drives: Vec::new(),
    }
}

const fn one_way(part: Vec<Part>) -> Alternative {
    Alternative { parts: part, covers: None }
}

fn need(id: &str, name: &str, alternatives: Vec<Alternative>) -> Need {
    Need {
        id: id.into(),
        name: name.into(),
        alternatives,
    }
}

const fn cover(from: f64, to: f64) -> Option<Cover> {
    Some(Cover {
        from: Quantity::new(from, Unit::Millimetre),
        to: Quantity::new(to, Unit::Millimetre),
    })
}

fn en() -> Grades {
    use Unit::{Kilonewton, Millimetre};
    let combi = || {
        part(
            Kind::CombinationTool,
            &[
                (Term::SpreadingDistance, 350.0, Millimetre),
                (Term::RatedSpreadingForce, 35.0, Kilonewton),
                (Term::CutterOpening, 280.0, Millimetre),
            ],
        )
    };
    let spreader = |distance, force| {
        part(
            Kind::Spreader,
            &[(Term::SpreadingDistance, distance, Millimetre), (Term::RatedSpreadingForce, force, Kilonewton)],
        )
    };
    let cutter = |opening| part(Kind::Cutter, &[(Term::CutterOpening, opening, Millimetre)]);
    let ram = || part(Kind::Ram, &[(Term::PushForce, 60.0, Kilonewton)]);
    let pulling_ram = || part(Kind::Ram, &[(Term::PushForce, 60.0, Kilonewton), (Term::PullForce, 1.0, Kilonewton)]);
    let ten_metres = Some(Quantity::new(10.0, Unit::Metre));
    let base = |needs| Grade {
        needs,
        tools_at_once: 1,
        kinds_of_drive: 1,
        spare_packs: 1,
        line_length: ten_metres,
        hand_pump: false,
    };
    Grades {
        limited: Grade {
            hand_pump: true,
            ..base(vec![need(
                "open",
                "Combination tool, or cutter and spreader",
                vec![one_way(vec![combi()]), one_way(vec![part(Kind::Cutter, &[]), part(Kind::Spreader, &[])])],
            )])
        },
        full: base(vec![
            need("spread", "Spreader", vec![one_way(vec![spreader(720.0, 40.0)])]),
            need("cut", "Cutter", vec![one_way(vec![cutter(180.0)])]),
            need(
                "push",
                "Ram or rams",
                vec![
                    Alternative {
                        parts: vec![ram()],
                        covers: cover(650.0, 1500.0),
                    },
                    Alternative {
                        parts: vec![ram(), ram()],
                        covers: cover(540.0, 1500.0),
                    },
                ],
            ),
        ]),
        heavy: Some(Grade {
            tools_at_once: 5,
            kinds_of_drive: 2,
            ..base(vec![
                need("spread", "Large spreader", vec![one_way(vec![spreader(800.0, 60.0)])]),
                need("cut", "Large cutter", vec![one_way(vec![cutter(200.0)])]),
                need(
                    "push",
                    "Rams that pull",
                    vec![
                        Alternative {
                            parts: vec![pulling_ram()],
                            covers: cover(540.0, 1500.0),
                        },
                        Alternative {
                            parts: vec![pulling_ram(), pulling_ram()],
                            covers: cover(540.0, 1500.0),
                        },
                    ],
                ),
                need("combi", "Combination tool", vec![one_way(vec![combi()])]),
                need("small-cut", "Small cutter", vec![one_way(vec![part(Kind::Cutter, &[])])]),
            ])
        }),
    }
}

fn nfpa() -> Grades {
    let any = |kind| one_way(vec![part(kind, &[])]);
    let base = |needs| Grade {
        needs,
        tools_at_once: 1,
        kinds_of_drive: 1,
        spare_packs: 0,
        line_length: None,
        hand_pump: false,
    };
    Grades {
        limited: Grade {
            hand_pump: true,
            ..base(vec![need(
                "open",
                "Combination tool, or cutter and spreader",
                vec![any(Kind::CombinationTool), one_way(vec![part(Kind::Cutter, &[]), part(Kind::Spreader, &[])])],
            )])
        },
        full: base(vec![
            need("spread", "Spreader", vec![any(Kind::Spreader)]),
            need("cut", "Cutter", vec![any(Kind::Cutter)]),
            need("push", "Ram", vec![any(Kind::Ram)]),
        ]),
        heavy: None,
    }
}
