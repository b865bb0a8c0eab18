//! What an agency decides for itself beside the table: a cell of its own is stricter, or looser for a written reason. What the table
//! forbids outright no agency allows, and no reading of the table is ever left out.

use super::{
    DefectClass, Measure, annual_readings,
    rule::{Ending, RepairWithin, Rule, Ruling, SayUsable, Signature},
    table::ruling,
};
use crate::ratings::Kind;
use serde::{Deserialize, Serialize};

/// One cell as the agency has it. What it does not name stays as the table has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct OwnCell {
    /// The kind of piece.
    pub kind: Kind,
    /// The class of defect.
    pub class: DefectClass,
    /// Who may say that the piece can still be used; null: as in the table.
    pub usable_by: Option<SayUsable>,
    /// What the crew must not do meanwhile and what to do instead, where the table has no limit because nobody may use the piece.
    pub limit: Option<String>,
    /// How long the repair may be put off; null: as in the table.
    pub within: Option<RepairWithin>,
    /// Whose word its return takes; null: as in the table.
    pub signs: Option<Signature>,
    /// Readings that its return takes beside those of the table.
    #[cfg_attr(feature = "openapi", schema(max_items = 16))]
    pub readings: Vec<Measure>,
    /// Why; always there where the cell is looser than the table. The piece shows it.
    pub reason: Option<String>,
}

/// Why a cell cannot be so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnFault {
    /// The field at fault.
    pub field: &'static str,
    /// What is wrong with the field, in words for people.
    pub words: String,
}

/// Events after which a competent person tests the piece, however it looks; and what only a gauge shows.
const fn is_event(class: DefectClass) -> bool {
    use DefectClass::{ControlDoesNotReturn, DropOrOverload, Fire, Flood, FluidMix, Pressure, StuckUnderPressure};
    matches!(
        class,
        DropOrOverload | Fire | Flood | FluidMix | StuckUnderPressure | ControlDoesNotReturn | Pressure
    )
}

/// What nobody may call usable whatever an agency decides: a hose with a damaged body or a leak, a pack with a damaged case, and
/// anything after an event that calls for a test.
const fn is_never_usable(kind: Kind, class: DefectClass) -> bool {
    use DefectClass::{CutOrBlister, Deformation, Kink, Leak};
    let hose = matches!(kind, Kind::Hose) && matches!(class, CutOrBlister | Kink | Leak | Deformation);
    let pack = matches!(kind, Kind::Battery) && matches!(class, CutOrBlister | Leak | Deformation);
    is_event(class) || hose || pack
}

/// The measures that any test of such a piece has.
fn tested(kind: Kind) -> Vec<Measure> {
    let mut all = annual_readings(kind).to_vec();
    for class in DefectClass::ALL {
        if let Ruling::Applies(rule) = ruling(kind, *class) {
            all.extend(rule.readings);
        }
    }
    all.sort_unstable();
    all.dedup();
    all
}

impl OwnCell {
    /// What makes the cell looser than the table, in words for people; nothing where it is as strict or stricter.
    #[must_use]
    pub fn looser(&self) -> Vec<&'static str> {
        let Ruling::Applies(rule) = ruling(self.kind, self.class) else {
            return Vec::new();
        };
        let later = |within| rule.within.is_some_and(|own| within > own);
        [
            (self.usable_by.is_some_and(|by| by > rule.usable), "who may say that it can still be used"),
            (self.within.is_some_and(later), "how long its repair may be put off"),
            (self.signs.is_some_and(|signs| signs < rule.signs), "whose word its return takes"),
        ]
        .into_iter()
        .filter_map(|(looser, what)| looser.then_some(what))
        .collect()
    }

    /// Whether the cell can stand at all.
    ///
    /// # Errors
    /// The first field at fault.
    pub fn check(&self) -> Result<(), OwnFault> {
        let (word, wrong) = (self.kind.word(), self.class.words());
        let fault = |field, words: String| Err(OwnFault { field, words });
        let Ruling::Applies(rule) = ruling(self.kind, self.class) else {
            return fault("class", format!("A {word} cannot be {wrong}"));
        };
        if self.usable_by.is_none() && self.limit.is_none() && self.within.is_none() && self.signs.is_none() && self.readings.is_empty() {
            return fault("rule", "Name what is decided otherwise than in the table, or clear the rule".to_owned());
        }
        let usable = self.usable_by.unwrap_or(rule.usable);
        if usable > rule.usable && is_never_usable(self.kind, self.class) {
            return fault("usable_by", format!("A {word} {wrong} is never usable; no rule of an agency changes that"));
        }
        if usable == SayUsable::Nobody && (self.limit.is_some() || self.within.is_some()) {
            return fault("limit", "Nobody may use it, so there is no limit and nothing to put off".to_owned());
        }
        if rule.limit.is_some() && self.limit.is_some() {
            return fault("limit", "The table says what the crew must not do; that stays".to_owned());
        }
        if usable > SayUsable::Nobody && rule.limit.is_none() && self.limit.as_ref().is_none_or(|limit| limit.trim().is_empty()) {
            return fault("limit", "Say what the crew must not do meanwhile, and what to do instead".to_owned());
        }
        if usable > SayUsable::Nobody && rule.within.is_none() && self.within.is_none() {
            return fault("within", "Say how long the repair may be put off".to_owned());
        }
        if let Some(signs) = self.signs.filter(|signs| *signs < rule.signs) {
            if rule.ending != Ending::Returns {
                return fault("signs", "Its case ends in retirement; no rule of an agency returns it".to_owned());
            }
            if is_event(self.class) && signs < Signature::Technician {
                return fault("signs", format!("A {word} {wrong} is tested by a competent person, however it looks"));
            }
        }
        let known = tested(self.kind);
        if let Some(measure) = self.readings.iter().find(|measure| !known.contains(measure)) {
            return fault("readings", format!("No test of a {word} has: {}", measure.label()));
        }
        if !self.looser().is_empty() && self.reason.as_ref().is_none_or(|reason| reason.trim().is_empty()) {
            return fault(
                "reason",
                format!(
                    "This is looser than the table: {}. Write why; every piece that it lets count shows it",
                    self.looser().join(", ")
                ),
            );
        }
        Ok(())
    }
}

/// What an agency has decided beyond the table; a cell that cannot stand counts for nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AgencyRules {
    /// Its own cells, at most one for each kind and class.
    pub own: Vec<OwnCell>,
}

/// A cell as it holds for an agency.
#[derive(Debug, Clone, Copy)]
pub struct Cell<'a> {
    /// The table's, with what the agency has decided otherwise in its place; the limit apart.
    pub rule: Rule,
    /// What the crew must not do meanwhile, and what to do instead; `None` where nobody may use it.
    pub limit: Option<&'a str>,
    /// Readings beside those of the table.
    pub more: &'a [Measure],
    /// The rule as the table ships it, without the agency's decision.
    pub shipped: Rule,
    /// What the agency has decided.
    pub own: Option<&'a OwnCell>,
}

impl Cell<'_> {
    /// Every reading that a return takes, in the order of a form.
    #[must_use]
    pub fn readings(&self) -> Vec<Measure> {
        let mut all: Vec<Measure> = self.rule.readings.iter().chain(self.more).copied().collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Why the agency lets a piece stay in use that the table does not, or for longer.
    #[must_use]
    pub fn why_usable(&self) -> Option<&str> {
        let looser = self.rule.usable > self.shipped.usable || (self.shipped.within.is_some() && self.rule.within > self.shipped.within);
        self.own.filter(|_| looser)?.reason.as_deref()
    }

    /// Why the agency takes a lesser word than the table.
    #[must_use]
    pub fn why_returned(&self) -> Option<&str> {
        self.own.filter(|_| self.rule.signs < self.shipped.signs)?.reason.as_deref()
    }
}

impl AgencyRules {
    /// What holds for this agency; `None` where a piece of this kind cannot have such a defect.
    #[must_use]
    pub fn cell(&self, kind: Kind, class: DefectClass) -> Option<Cell<'_>> {
        let Ruling::Applies(shipped) = ruling(kind, class) else { return None };
        let own = self.own.iter().find(|own| own.kind == kind && own.class == class && own.check().is_ok());
        let usable = own.and_then(|own| own.usable_by).unwrap_or(shipped.usable);
        let may = usable > SayUsable::Nobody;
        let signs = own.and_then(|own| own.signs);
        let rule = Rule {
            usable,
            within: own.and_then(|own| own.within).or(shipped.within).filter(|_| may),
            limit: shipped.limit.filter(|_| may),
            signs: signs.unwrap_or(shipped.signs),
            // A battery tool is looked after at least as the table has it.
            signs_on_battery: shipped.signs_on_battery.map(|table| signs.map_or(table, |signs| signs.max(table))),
            ..shipped
        };
        Some(Cell {
            rule,
            limit: rule.limit.or_else(|| own.and_then(|own| own.limit.as_deref()).filter(|_| may)),
            more: own.map_or(&[], |own| &own.readings),
            shipped,
            own,
        })
    }
}
