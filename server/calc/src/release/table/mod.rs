//! The table: every kind with every class. A cell reads: who may say *usable* (with the limit and the days), what it takes to come
//! back, and where that comes from.
//!
//! Sources, as CHECKS A4 has them: DGUV Grundsatz 305-002 (2013), sections 13.2 and 13.3; the reject list of DIN 20066:2002-10. The days
//! are borrowed from aviation (CHECKS A4b). What carries [`COMMON`] is what the trade does, without a source that we could name.

mod small;
mod sources;
mod tools;

use super::{
    DefectClass, Measure,
    rule::{Ending, RepairWithin, Rule, Ruling, SayUsable, Signature},
};
use crate::ratings::Kind;

/// The trade does so; no source.
pub(super) const COMMON: &str = "common practice, no source";
/// Events that call for a test before the next use.
pub(super) const EVENT: &str =
    "events that call for a test before the next use: drop, overload, fire, flood, fluid mix, hose run over, trapped pressure; common practice, no source";
/// Test of the pump.
pub(super) const PUMP: &str = "DGUV 305-002, 13.2.1 (end stop about 10 s, no leak) and 13.3.1 (relief opens at 110 % of nominal at the latest)";
/// Test of the spreader.
pub(super) const SPREADER: &str = "DGUV 305-002, 13.2.6 and 13.3.3 (spreading and pulling force at least 90 % of rated, opening and closing not under 2 s)";
/// Test of cutter and ram: the limits were not seen.
pub(super) const NO_LIMIT: &str = "DGUV 305-002, 13.3.4 and following, not seen: limits from the maker's manual";
/// Leaks of tools.
pub(super) const TIGHT: &str = "DGUV 305-002, 13.2.1 (tool at the end stop under pressure about 10 s, no leak)";
/// Electric parts.
pub(super) const ELECTRIC: &str = "DGUV 305-002, 13.2.2 to 13.2.4";
/// What is rejected of a hose.
pub(super) const HOSE_REJECT: &str =
    "DGUV 305-002, 13.2.5; DIN 20066:2002-10, reject list: cover cut to the reinforcement, brittle, deformed, leaking, no re-use of old parts";
/// Batteries.
pub(super) const PACK: &str = "damaged, swollen, drowned or dropped packs are quarantined and never opened; common practice, no source";
/// Chains and load gear.
pub(super) const LOAD_GEAR: &str = "only rated gear, looked at link by link; common practice, no source";

/// What holds for a piece of this kind with a defect of this class.
#[must_use]
pub const fn ruling(kind: Kind, class: DefectClass) -> Ruling {
    match kind {
        Kind::PowerUnit => sources::power_unit(class),
        Kind::HandPump => sources::hand_pump(class),
        Kind::Cutter => tools::cutter(class),
        Kind::Spreader => tools::spreader(class),
        Kind::CombinationTool => tools::combination_tool(class),
        Kind::Ram => tools::ram(class),
        Kind::Hose => small::hose(class),
        Kind::Adapter => small::adapter(class),
        Kind::Battery => small::battery(class),
        Kind::Charger => small::charger(class),
        Kind::Accessory => small::accessory(class),
    }
}

/// What it takes to come back.
#[derive(Clone, Copy)]
pub(super) struct Back {
    readings: &'static [Measure],
    signs: Signature,
    on_battery: Option<Signature>,
    manual: bool,
    ending: Ending,
}

impl Back {
    /// An officer looks it over.
    pub(super) const LOOK: Self = Self::by(Signature::Officer, &[Measure::SoundToLook]);
    /// Nothing returns it.
    pub(super) const NEVER: Self = Self {
        ending: Ending::Retires,
        ..Self::by(Signature::MakersService, &[])
    };

    /// A signature and its readings.
    pub(super) const fn by(signs: Signature, readings: &'static [Measure]) -> Self {
        Self {
            readings,
            signs,
            on_battery: None,
            manual: false,
            ending: Ending::Returns,
        }
    }

    /// A technician's test.
    pub(super) const fn test(readings: &'static [Measure]) -> Self {
        Self::by(Signature::Technician, readings)
    }

    /// A technician's test after the manual.
    pub(super) const fn after_manual(readings: &'static [Measure]) -> Self {
        Self {
            manual: true,
            ..Self::test(readings)
        }
    }

    /// Retired unless the maker's service returns it, tested so.
    pub(super) const fn unless_maker(readings: &'static [Measure]) -> Self {
        Self {
            ending: Ending::RetiresUnlessMaker,
            ..Self::by(Signature::MakersService, readings)
        }
    }

    /// The same, but for a battery tool by the maker's service only.
    pub(super) const fn on_battery_by_maker(self) -> Self {
        Self {
            on_battery: Some(Signature::MakersService),
            ..self
        }
    }
}

pub(super) use small::HOSE_TEST;
pub(super) use sources::PUMP_TEST;
pub(super) use tools::TIGHT_TEST;

const fn cell(usable: SayUsable, limit: Option<&'static str>, within: Option<RepairWithin>, back: Back, source: &'static str) -> Ruling {
    Ruling::Applies(Rule {
        usable,
        limit,
        within,
        readings: back.readings,
        signs: back.signs,
        signs_on_battery: back.on_battery,
        manual: back.manual,
        ending: back.ending,
        source,
    })
}

/// Nobody may say that it can still be used.
pub(super) const fn never(back: Back, source: &'static str) -> Ruling {
    cell(SayUsable::Nobody, None, None, back, source)
}

/// An officer may say so, under this limit.
pub(super) const fn officer(limit: &'static str, within: RepairWithin, back: Back, source: &'static str) -> Ruling {
    cell(SayUsable::Officer, Some(limit), Some(within), back, source)
}

/// The crew may say so, under this limit.
pub(super) const fn crew(limit: &'static str, within: RepairWithin, back: Back, source: &'static str) -> Ruling {
    cell(SayUsable::Crew, Some(limit), Some(within), back, source)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::release::Measure;

    fn each() -> impl Iterator<Item = (Kind, DefectClass, Option<Rule>)> {
        Kind::ALL.iter().flat_map(|kind| {
            DefectClass::ALL.iter().map(|class| match ruling(*kind, *class) {
                Ruling::NotApplicable => (*kind, *class, None),
                Ruling::Applies(rule) => (*kind, *class, Some(rule)),
            })
        })
    }

    #[test]
    fn every_cell_says_where_it_comes_from_and_how_the_case_ends() {
        assert_eq!(each().count(), Kind::ALL.len() * DefectClass::ALL.len());
        for (kind, class, rule) in each() {
            let Some(rule) = rule else { continue };
            let at = format!("{kind:?} {class:?}");
            assert!(!rule.source.is_empty(), "{at}");
            assert_eq!(
                rule.limit.is_some(),
                rule.usable != SayUsable::Nobody,
                "{at}: a limit where it may be used, and only there"
            );
            assert_eq!(rule.within.is_some(), rule.usable != SayUsable::Nobody, "{at}");
            assert_eq!(rule.readings.is_empty(), rule.ending == Ending::Retires, "{at}: nothing comes back unseen");
            assert!(rule.limit.is_none_or(|limit| limit.chars().count() <= 300 && limit.ends_with('.')), "{at}");
        }
    }

    #[test]
    fn what_design_4_3b_forbids_nobody_may_call_usable() {
        use DefectClass::{ControlDoesNotReturn, CutOrBlister, Deformation, DropOrOverload, Fire, Flood, FluidMix, Kink, Leak, Pressure, StuckUnderPressure};
        for (kind, class, rule) in each() {
            let Some(rule) = rule else { continue };
            let event = [DropOrOverload, Fire, Flood, FluidMix, StuckUnderPressure, ControlDoesNotReturn, Pressure].contains(&class);
            let hose = kind == Kind::Hose && [CutOrBlister, Kink, Leak, Deformation].contains(&class);
            if event || hose {
                assert_eq!(rule.usable, SayUsable::Nobody, "{kind:?} {class:?}");
            }
            if event && kind != Kind::Accessory {
                assert!(rule.shop_must_see(), "{kind:?} {class:?}: a competent person, however it looks");
            }
        }
    }

    #[test]
    fn what_nobody_has_named_is_an_officers_word_at_least() {
        for (kind, class, rule) in each().filter(|(_, class, _)| *class == DefectClass::Other) {
            let rule = rule.unwrap_or_else(|| panic!("{kind:?} {class:?} always applies"));
            assert_ne!(rule.usable, SayUsable::Crew, "{kind:?}");
            assert!(rule.readings.contains(&Measure::SoundToLook), "{kind:?}: nothing found must be said");
            let under_pressure = kind.is_source() || kind.is_tool() || kind.is_conduit();
            assert_eq!(rule.shop_must_see(), under_pressure, "{kind:?}: what is under pressure is not passed by eye");
        }
    }

    #[test]
    fn a_damaged_hose_body_ends_in_retirement_unless_the_maker_returns_it() {
        use DefectClass::{CutOrBlister, Deformation, Fire, Kink};
        for class in [CutOrBlister, Kink, Deformation, Fire] {
            let Ruling::Applies(rule) = ruling(Kind::Hose, class) else {
                panic!("{class:?}")
            };
            assert_eq!((rule.ending, rule.signs), (Ending::RetiresUnlessMaker, Signature::MakersService), "{class:?}");
        }
    }

    #[test]
    fn a_pack_that_burnt_drowned_fell_or_swelled_is_retired() {
        use DefectClass::{CutOrBlister, DropOrOverload, Fire, Flood};
        for class in [CutOrBlister, DropOrOverload, Fire, Flood] {
            let Ruling::Applies(rule) = ruling(Kind::Battery, class) else {
                panic!("{class:?}")
            };
            assert_eq!((rule.ending, rule.usable), (Ending::Retires, SayUsable::Nobody), "{class:?}");
        }
    }

    #[test]
    fn a_drowned_battery_tool_is_the_makers_matter() {
        for kind in Kind::ALL.iter().filter(|kind| kind.is_tool()) {
            let Ruling::Applies(rule) = ruling(*kind, DefectClass::Flood) else {
                panic!("{kind:?}")
            };
            assert_eq!(rule.signs_on_battery, Some(Signature::MakersService), "{kind:?}");
        }
    }
}
