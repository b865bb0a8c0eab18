//! The short designations of EN 13204 (editions 2005 to 2016): `BS62/800-25` for a spreader, `BC160H-17` for a cutter.
//!
//! The 2025 edition names its classes anew (SP, CU, CT); the old letters do not map onto them, so this module
//! reads the old form only. Designations of combination tools and rams are not read: no source for their grammar was seen.

use super::{CapacityLetter, Figure, Rating, Ratings, Term};
use crate::units::{Force, Length, Mass, Quantity, Unit};

/// Spreader classes with their least force and least spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpreaderClass {
    /// At least 20 kN over 600 mm.
    As,
    /// At least 50 kN over 800 mm.
    Bs,
    /// At least 80 kN over 500 mm.
    Cs,
}

impl SpreaderClass {
    /// The two letters.
    #[must_use]
    pub const fn letters(self) -> &'static str {
        match self {
            Self::As => "AS",
            Self::Bs => "BS",
            Self::Cs => "CS",
        }
    }

    /// Least force in kN and least spread in mm of the class.
    #[must_use]
    pub const fn least(self) -> (f64, f64) {
        match self {
            Self::As => (20.0, 600.0),
            Self::Bs => (50.0, 800.0),
            Self::Cs => (80.0, 500.0),
        }
    }
}

/// Cutter classes by opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutterClass {
    /// Below 150 mm.
    Ac,
    /// 150 to 199 mm.
    Bc,
    /// 200 mm and more.
    Cc,
}

impl CutterClass {
    /// The two letters.
    #[must_use]
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Ac => "AC",
            Self::Bc => "BC",
            Self::Cc => "CC",
        }
    }

    /// The class of an opening in mm.
    #[must_use]
    pub fn of_opening(mm: f64) -> Self {
        if mm < 150.0 {
            Self::Ac
        } else if mm < 200.0 {
            Self::Bc
        } else {
            Self::Cc
        }
    }
}

/// A designation, with its figures in the units of the standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Designation {
    /// Class, force / distance - mass.
    Spreader {
        /// The class letters as written.
        class: SpreaderClass,
        /// Rated spreading force, kN.
        force_kn: f64,
        /// Spread, mm.
        spread_mm: f64,
        /// Mass, kg.
        mass_kg: f64,
    },
    /// Class, opening, capacity letter - mass.
    Cutter {
        /// The class letters as written.
        class: CutterClass,
        /// Opening between the tips, mm.
        opening_mm: f64,
        /// Capacity, the worst profile.
        capacity: CapacityLetter,
        /// Mass, kg.
        mass_kg: f64,
    },
}

/// What a designation says against itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DesignationFault {
    /// `class-minimum` or `class-opening`.
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
}

impl Designation {
    /// Reads a designation; `None` when it is not one. A figure below its class is read, and told by [`Designation::faults`].
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let (class, rest) = text.split_at_checked(2)?;
        let (body, mass) = rest.rsplit_once('-')?;
        let mass_kg = figure(mass)?;
        if let Some(class) = match class {
            "AS" => Some(SpreaderClass::As),
            "BS" => Some(SpreaderClass::Bs),
            "CS" => Some(SpreaderClass::Cs),
            _ => None,
        } {
            let (force, spread) = body.split_once('/')?;
            return Some(Self::Spreader {
                class,
                force_kn: figure(force)?,
                spread_mm: figure(spread)?,
                mass_kg,
            });
        }
        let class = match class {
            "AC" => CutterClass::Ac,
            "BC" => CutterClass::Bc,
            "CC" => CutterClass::Cc,
            _ => return None,
        };
        let (at, _) = body.char_indices().next_back()?;
        let (opening, letter) = body.split_at_checked(at)?;
        if !letter.chars().all(|c| c.is_ascii_uppercase()) {
            return None;
        }
        Some(Self::Cutter {
            class,
            opening_mm: figure(opening)?,
            capacity: CapacityLetter::parse(letter).ok()?,
            mass_kg,
        })
    }

    /// What does not agree with the class.
    #[must_use]
    pub fn faults(&self) -> Vec<DesignationFault> {
        let mut faults = Vec::new();
        match *self {
            Self::Spreader {
                class, force_kn, spread_mm, ..
            } => {
                let (least_kn, least_mm) = class.least();
                for (what, has, least, unit) in [("force", force_kn, least_kn, "kN"), ("spread", spread_mm, least_mm, "mm")] {
                    if has < least {
                        faults.push(DesignationFault {
                            code: "class-minimum",
                            reason: format!("class {} asks for a {what} of at least {least} {unit}, not {has} {unit}", class.letters()),
                        });
                    }
                }
            }
            Self::Cutter { class, opening_mm, .. } => {
                let right = CutterClass::of_opening(opening_mm);
                if right != class {
                    faults.push(DesignationFault {
                        code: "class-opening",
                        reason: format!("an opening of {opening_mm} mm belongs to class {}, not {}", right.letters(), class.letters()),
                    });
                }
            }
        }
        faults
    }

    /// The pull that a spreader must show at least: 60 % of the rated force, over 60 % of the rated spread.
    #[must_use]
    pub fn least_pull(&self) -> Option<(Force, Length)> {
        match *self {
            Self::Spreader { force_kn, spread_mm, .. } => Some((
                Force::of_newtons(force_kn * 1000.0 * 60.0 / 100.0),
                Length::of_millimetres(spread_mm * 60.0 / 100.0),
            )),
            Self::Cutter { .. } => None,
        }
    }

    /// The mouth depth that a cutter must show at least: 75 % of its opening.
    #[must_use]
    pub fn least_mouth_depth(&self) -> Option<Length> {
        match *self {
            Self::Cutter { opening_mm, .. } => Some(Length::of_millimetres(opening_mm * 0.75)),
            Self::Spreader { .. } => None,
        }
    }

    /// The mass.
    #[must_use]
    pub const fn mass(&self) -> Mass {
        match *self {
            Self::Spreader { mass_kg, .. } | Self::Cutter { mass_kg, .. } => Mass::of_kilograms(mass_kg),
        }
    }

    /// The ratings that it states, by EN 13204 of the given edition.
    #[must_use]
    pub fn ratings(&self, edition: &str) -> Ratings {
        let by = |value, unit| Rating::by(Figure::Quantity(Quantity::new(value, unit)), "EN 13204", edition);
        match *self {
            Self::Spreader {
                force_kn, spread_mm, mass_kg, ..
            } => [
                (Term::RatedSpreadingForce, by(force_kn, Unit::Kilonewton)),
                (Term::SpreadingDistance, by(spread_mm, Unit::Millimetre)),
                (Term::Mass, by(mass_kg, Unit::Kilogram)),
            ]
            .into_iter()
            .collect(),
            Self::Cutter {
                opening_mm, capacity, mass_kg, ..
            } => [
                (Term::CutterOpening, by(opening_mm, Unit::Millimetre)),
                (Term::CuttingCapacity, Rating::by(Figure::Letter(capacity), "EN 13204", edition)),
                (Term::Mass, by(mass_kg, Unit::Kilogram)),
            ]
            .into_iter()
            .collect(),
        }
    }
}

impl std::fmt::Display for Designation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match *self {
            Self::Spreader {
                class,
                force_kn,
                spread_mm,
                mass_kg,
            } => write!(f, "{}{force_kn}/{spread_mm}-{mass_kg}", class.letters()),
            Self::Cutter {
                class,
                opening_mm,
                capacity,
                mass_kg,
            } => write!(f, "{}{opening_mm}{capacity}-{mass_kg}", class.letters()),
        }
    }
}

/// An unsigned figure of digits with an optional decimal part.
fn figure(text: &str) -> Option<f64> {
    let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.') && text.starts_with(|c: char| c.is_ascii_digit());
    if plain { text.parse().ok().filter(|v: &f64| *v > 0.0) } else { None }
}
