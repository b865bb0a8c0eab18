//! What it takes to return this very piece: the readings of the table with their limits for its plate and its baseline.

use super::{AgencyRules, DefectClass, Measure, Signature, rule::Ending, table};
use crate::{
    ratings::{Kind, Rating, Ratings, Term},
    units::{Dimension, Quantity, Unit},
};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Share of the rated force that a spreader must still reach (DGUV 305-002, 13.3.3).
pub const LEAST_SHARE_OF_RATED: f64 = 0.9;
/// Share of the nominal pressure at which the relief must be open at the latest (DGUV 305-002, 13.3.1).
pub const MOST_SHARE_OF_NOMINAL: f64 = 1.1;
/// Seconds that opening and closing take at least (DGUV 305-002, 13.3.3).
pub const LEAST_STROKE_SECONDS: f64 = 2.0;
/// Share of the time at its acceptance test in which a tool must still open or close; longer is slow (common practice, no source: no
/// standard names a longest time, CHECKS A4).
pub const MOST_SHARE_OF_BASELINE_TIME: f64 = 1.5;
/// Seconds at the end stop under pressure (DGUV 305-002, 13.2.1: about 10 s).
pub const HOLD_SECONDS: f64 = 10.0;
/// How far below nominal a gauge may show and still have reached it, as a share: two prints of one pressure differ by that much
/// (common practice, no source).
pub const PRESSURE_TOLERANCE: f64 = 0.02;

/// Until when a hose serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoseLife {
    /// It is no hose.
    NotAHose,
    /// Nobody knows when it was made.
    Unknown,
    /// The first day on which it no longer serves: 10 years from its date of make (DGUV 305-002, 13.2.5 note), or what the agency says.
    EndsOn(NaiveDate),
}

/// What the register knows of the piece, apart from what happened to it.
#[derive(Debug, Clone, Copy)]
pub struct Plate<'a> {
    /// The kind that the piece's model is of.
    pub kind: Kind,
    /// Whether it runs on a battery: then no gauge can be put in its line.
    pub on_battery: bool,
    /// Operating pressure of a source, allowable pressure of a hose, rated pressure of a hose-fed tool.
    pub nominal: Option<Quantity>,
    /// What its model is rated for.
    pub ratings: &'a Ratings,
    /// How long it serves, if it is a hose.
    pub life: HoseLife,
}

/// One value of a piece's acceptance test, kept to compare later ones with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baseline {
    /// What was measured at the acceptance test.
    pub measure: Measure,
    /// The value that the acceptance test showed, with its unit.
    pub value: Quantity,
}

/// One reading that a release asks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct NeededReading {
    /// What to measure or look at.
    pub measure: Measure,
    /// What a form asks.
    pub label: String,
    /// What its value measures; `null`: yes or no.
    pub dimension: Option<Dimension>,
    /// The answer that releases, for yes or no.
    pub answer: Option<bool>,
    /// The least that it must be.
    pub low: Option<Quantity>,
    /// The most that it may be.
    pub high: Option<Quantity>,
    /// What the plate says.
    pub plate: Option<Quantity>,
    /// What the acceptance test showed.
    pub baseline: Option<Quantity>,
    /// Whether a limit is on record. Where none is, the release needs the shop, the reading and the manual's passage, and the piece says so.
    pub limit_on_record: bool,
}

/// What a release asks for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Needed {
    /// The readings, in the order of a form.
    pub readings: Vec<NeededReading>,
    /// Whose word it takes.
    pub signs: Signature,
    /// Whether the manual's passage must be named.
    pub manual: bool,
    /// How the case ends.
    pub ending: Ending,
    /// What to mind while testing.
    pub cautions: Vec<String>,
}

impl Needed {
    /// Whether the paper of the maker's service must be named.
    #[must_use]
    pub fn makers_service(&self) -> bool {
        self.ending == Ending::RetiresUnlessMaker || self.signs == Signature::MakersService
    }
}

/// What is measured once a year. Visual and function check by a competent person each 12 months (DGUV 305-002, 13.2); a pump on the
/// gauge (13.3.1).
#[must_use]
pub const fn annual_readings(kind: Kind) -> &'static [Measure] {
    match kind {
        Kind::PowerUnit | Kind::HandPump => table::PUMP_TEST,
        Kind::Cutter | Kind::Spreader | Kind::CombinationTool | Kind::Ram => table::TIGHT_TEST,
        Kind::Hose | Kind::Adapter => table::HOSE_TEST,
        Kind::Battery => &[Measure::SoundToLook, Measure::Charge],
        Kind::Charger => &[Measure::SoundToLook, Measure::Insulation, Measure::Charge],
        Kind::Accessory => &[Measure::SoundToLook],
    }
}

/// What the table asks for to return a piece that went out for defects of these classes: [`AgencyRules::needed`] without any rule of
/// the agency's own.
#[must_use]
pub fn needed_for_release(plate: &Plate<'_>, classes: &[DefectClass], baseline: &[Baseline]) -> Needed {
    AgencyRules::default().needed(plate, classes, baseline)
}

impl AgencyRules {
    /// What it takes to return a piece that went out for defects of these classes; without one, for nothing that anybody found. The
    /// strictest of all cells holds. A class that such a piece cannot have is judged as *other*.
    #[must_use]
    pub fn needed(&self, plate: &Plate<'_>, classes: &[DefectClass], baseline: &[Baseline]) -> Needed {
        needed(self, plate, classes, baseline)
    }

    /// Why the agency takes a lesser word for the return from these classes than the table.
    #[must_use]
    pub fn why_returned(&self, kind: Kind, classes: &[DefectClass]) -> Vec<String> {
        let mut all = Vec::new();
        for class in classes {
            let why = self
                .cell(kind, *class)
                .or_else(|| self.cell(kind, DefectClass::Other))
                .and_then(|cell| cell.why_returned().map(str::to_owned));
            if let Some(why) = why.filter(|why| !all.contains(why)) {
                all.push(why);
            }
        }
        all
    }
}

fn needed(rules: &AgencyRules, plate: &Plate<'_>, classes: &[DefectClass], baseline: &[Baseline]) -> Needed {
    let mut measures = BTreeSet::new();
    let (mut signs, mut manual, mut ending) = (Signature::Officer, false, Ending::Returns);
    if classes.is_empty() {
        // Nobody found anything: an officer looks it over.
        measures.insert(Measure::SoundToLook);
    }
    for class in classes {
        let Some(cell) = rules.cell(plate.kind, *class).or_else(|| rules.cell(plate.kind, DefectClass::Other)) else {
            // No kind goes without a cell for what nobody has named.
            ending = Ending::Retires;
            continue;
        };
        let rule = cell.rule;
        measures.extend(cell.readings());
        signs = signs.max(rule.signs_on_battery.filter(|_| plate.on_battery).unwrap_or(rule.signs));
        manual |= rule.manual;
        ending = match (ending, rule.ending) {
            (Ending::Retires, _) | (_, Ending::Retires) => Ending::Retires,
            (Ending::RetiresUnlessMaker, _) | (_, Ending::RetiresUnlessMaker) => Ending::RetiresUnlessMaker,
            _ => Ending::Returns,
        };
    }
    asked(plate, baseline, measures, signs, manual, ending)
}

/// What it takes to pass the annual service, which a technician signs (CHECKS A4).
#[must_use]
pub fn needed_for_annual(plate: &Plate<'_>, baseline: &[Baseline]) -> Needed {
    let measures = annual_readings(plate.kind).iter().copied().collect();
    asked(plate, baseline, measures, Signature::Technician, false, Ending::Returns)
}

fn asked(plate: &Plate<'_>, baseline: &[Baseline], measures: BTreeSet<Measure>, signs: Signature, manual: bool, ending: Ending) -> Needed {
    let gauged = |measure: &Measure| !(plate.on_battery && plate.kind.is_tool() && matches!(measure, Measure::PressureReached | Measure::ReliefOpensAt));
    let readings: Vec<NeededReading> = measures.into_iter().filter(gauged).map(|measure| bounds(plate, measure, baseline)).collect();
    let unlimited = readings.iter().any(|reading| !reading.limit_on_record);
    let mut cautions = Vec::new();
    if readings.iter().any(|reading| reading.dimension == Some(Dimension::Pressure)) {
        cautions.push("Never look for a leak with a hand: use a card. Fluid under the skin is a surgical emergency.".to_owned());
    }
    if readings.iter().any(|reading| reading.measure == Measure::ReliefOpensAt) {
        cautions.push("Never test the pump alone where it has no dump valve: the unit stays under pressure.".to_owned());
    }
    Needed {
        readings,
        signs: if unlimited { signs.max(Signature::Technician) } else { signs },
        manual: manual || unlimited,
        ending,
        cautions,
    }
}

/// The limits of one measure for this piece.
pub(super) fn bounds(plate: &Plate<'_>, measure: Measure, baseline: &[Baseline]) -> NeededReading {
    let known = baseline.iter().find(|known| known.measure == measure).map(|known| known.value);
    let mut needed = NeededReading {
        measure,
        label: measure.label().to_owned(),
        dimension: measure.dimension(),
        answer: measure.sound_answer(),
        low: None,
        high: None,
        plate: None,
        baseline: known,
        limit_on_record: true,
    };
    match measure {
        Measure::ReliefOpensAt | Measure::PressureReached => {
            needed.plate = plate.nominal.filter(|nominal| nominal.dimension() == Dimension::Pressure);
            needed.low = needed.plate.map(|nominal| share(nominal, 1.0 - PRESSURE_TOLERANCE));
            needed.high = needed.plate.map(|nominal| share(nominal, MOST_SHARE_OF_NOMINAL));
            needed.limit_on_record = needed.plate.is_some();
        }
        Measure::HoldSeconds => needed.low = Some(Quantity::new(HOLD_SECONDS, Unit::Second)),
        // No longest time is in any standard: without a baseline it stands in the manual alone.
        Measure::OpeningTime | Measure::ClosingTime => {
            needed.low = Some(Quantity::new(LEAST_STROKE_SECONDS, Unit::Second));
            needed.high = known
                .filter(|known| known.dimension() == Dimension::Time)
                .map(|known| share(known, MOST_SHARE_OF_BASELINE_TIME));
            needed.limit_on_record = needed.high.is_some();
        }
        Measure::SpreadingForce | Measure::PullingForce | Measure::PushForce => {
            let known = rated_force(plate.ratings, measure);
            force(&mut needed, known.rated, known.floor);
        }
        // Which piece to cut stands in the maker's manual.
        Measure::TestPieceCut => needed.limit_on_record = false,
        _ => {}
    }
    needed
}

/// What a plate says of the force at the measuring point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RatedForce {
    /// The rated force; `None`: the plate names none, or a lowest and a highest one that differ (NFPA 1936).
    pub rated: Option<Quantity>,
    /// The least that the tool is rated for anywhere.
    pub floor: Option<Quantity>,
}

/// What the ratings say of a spreading, pulling or pushing force; nothing of any other measure.
#[must_use]
pub fn rated_force(ratings: &Ratings, measure: Measure) -> RatedForce {
    let (rated, floor) = match measure {
        Measure::SpreadingForce => (
            rated(ratings, &[Term::RatedSpreadingForce]).or_else(|| only(ratings, Term::LowestSpreadingForce, Term::HighestSpreadingForce)),
            rated(ratings, &[Term::LowestSpreadingForce]),
        ),
        Measure::PullingForce => (
            only(ratings, Term::LowestPullingForce, Term::HighestPullingForce).or_else(|| rated(ratings, &[Term::PullForce])),
            rated(ratings, &[Term::LowestPullingForce]),
        ),
        // The passage on rams was not seen (CHECKS A4): held to the share that a spreader is, of its first stage.
        Measure::PushForce => (rated(ratings, &[Term::PushForce]), None),
        _ => (None, None),
    };
    RatedForce { rated, floor }
}

/// 90 % of the rated force. Where the plate names a lowest and a highest one (NFPA 1936), the force at the measuring point is not on it: the
/// baseline is compared with, and the lowest is the floor in any case.
fn force(needed: &mut NeededReading, rated: Option<Quantity>, floor: Option<Quantity>) {
    needed.plate = rated.or(floor);
    let compared = rated.or(needed.baseline);
    needed.limit_on_record = compared.is_some();
    let candidates = [compared, floor].into_iter().flatten().filter(|value| value.dimension() == Dimension::Force);
    needed.low = candidates
        .max_by(|a, b| a.si().total_cmp(&b.si()))
        .map(|value| share(value, LEAST_SHARE_OF_RATED));
}

fn rated(ratings: &Ratings, terms: &[Term]) -> Option<Quantity> {
    terms.iter().find_map(|term| ratings.get(*term).and_then(Rating::quantity))
}

/// The one figure of a pair of terms; two that differ are a range, and no rated figure.
fn only(ratings: &Ratings, low: Term, high: Term) -> Option<Quantity> {
    match (rated(ratings, &[low]), rated(ratings, &[high])) {
        (Some(a), Some(b)) => (a.si().total_cmp(&b.si()).is_eq()).then_some(a),
        (one, other) => one.or(other),
    }
}

/// A share of a quantity (0.9: 90 % of it), without the noise of the multiplication.
#[must_use]
pub fn share(of: Quantity, share: f64) -> Quantity {
    Quantity::new((of.value * share * 1e9).round() / 1e9, of.unit)
}
