//! What an agency may decide otherwise than the table of releases, and what it may not.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use fullset_calc::{
    ratings::{Kind, Ratings},
    release::{
        AgencyRules, DefectClass, HoseLife, Measure, OwnCell, Plate, RepairWithin, Role, Ruling, SayUsable, Signature, limit_for, may_stay_usable,
        needed_for_release, ruling,
    },
};

fn cell(kind: Kind, class: DefectClass) -> OwnCell {
    OwnCell {
        kind,
        class,
        usable_by: None,
        limit: None,
        within: None,
        signs: None,
        readings: Vec::new(),
        reason: None,
    }
}

fn rules(own: OwnCell) -> AgencyRules {
    AgencyRules { own: vec![own] }
}

fn fault(own: &OwnCell) -> &'static str {
    own.check().unwrap_err().field
}

/// Every cell that there is, with every way to be usable and every signature, and all that a loose one asks for.
fn every() -> impl Iterator<Item = OwnCell> {
    let pairs = Kind::ALL.iter().flat_map(|kind| DefectClass::ALL.iter().map(move |class| (*kind, *class)));
    pairs
        .flat_map(|(kind, class)| {
            let usable = [SayUsable::Nobody, SayUsable::Officer, SayUsable::Crew];
            let signs = [Signature::Officer, Signature::Technician, Signature::MakersService];
            usable
                .into_iter()
                .flat_map(move |by| signs.into_iter().map(move |signs| (kind, class, by, signs)))
        })
        .map(|(kind, class, by, signs)| {
            let shipped_limit = matches!(ruling(kind, class), Ruling::Applies(rule) if rule.limit.is_some());
            OwnCell {
                usable_by: Some(by),
                limit: (by > SayUsable::Nobody && !shipped_limit).then(|| "Two hands, no load.".to_owned()),
                within: (by > SayUsable::Nobody && !shipped_limit).then_some(RepairWithin::ThreeDays),
                signs: Some(signs),
                reason: Some("the committee decided".to_owned()),
                ..cell(kind, class)
            }
        })
}

#[test]
fn stricter_needs_no_reason_and_looser_does() {
    let never = OwnCell {
        usable_by: Some(SayUsable::Nobody),
        ..cell(Kind::Ram, DefectClass::Leak)
    };
    assert!(never.looser().is_empty());
    let stricter = rules(never);
    let told = may_stay_usable(Kind::Ram, DefectClass::Leak, Role::Chief, &stricter).unwrap_err();
    assert_eq!(told.reason, "A ram leaking is never usable: the agency has decided so");
    assert!(limit_for(Kind::Ram, DefectClass::Leak, &stricter).is_none());
    let sooner = rules(OwnCell {
        within: Some(RepairWithin::ThreeDays),
        ..cell(Kind::Cutter, DefectClass::Other)
    });
    let limit = may_stay_usable(Kind::Cutter, DefectClass::Other, Role::Officer, &sooner).unwrap();
    assert_eq!((limit.days, limit.own_rule), (3, None));

    let mut crew = OwnCell {
        usable_by: Some(SayUsable::Crew),
        ..cell(Kind::Ram, DefectClass::Leak)
    };
    assert_eq!(fault(&crew), "reason");
    let unreasoned = rules(crew.clone());
    assert!(
        may_stay_usable(Kind::Ram, DefectClass::Leak, Role::Crew, &unreasoned).is_err(),
        "what cannot stand counts for nothing"
    );
    crew.reason = Some("no officer at night".to_owned());
    crew.check().unwrap();
    let looser = rules(crew);
    let by_crew = may_stay_usable(Kind::Ram, DefectClass::Leak, Role::Crew, &looser).unwrap();
    assert_eq!(by_crew.own_rule.as_deref(), Some("no officer at night"));
    let by_officer = may_stay_usable(Kind::Ram, DefectClass::Leak, Role::Officer, &looser).unwrap();
    assert_eq!(by_officer.own_rule, None, "the table lets an officer say so");
    let longer = rules(OwnCell {
        within: Some(RepairWithin::TenDays),
        reason: Some("seal kits take a week".to_owned()),
        ..cell(Kind::Ram, DefectClass::Leak)
    });
    let limit = may_stay_usable(Kind::Ram, DefectClass::Leak, Role::Officer, &longer).unwrap();
    assert_eq!((limit.days, limit.own_rule.as_deref()), (10, Some("seal kits take a week")));
}

#[test]
fn what_is_forbidden_outright_stays_so() {
    use DefectClass::{ControlDoesNotReturn, CutOrBlister, Deformation, DropOrOverload, Fire, Flood, FluidMix, Kink, Leak, Pressure, StuckUnderPressure};
    let mut stood = 0;
    for own in every() {
        let Ruling::Applies(shipped) = ruling(own.kind, own.class) else {
            assert_eq!(fault(&own), "class");
            continue;
        };
        let (kind, class) = (own.kind, own.class);
        let stands = own.check().is_ok();
        let agency = rules(own);
        let holds = agency.cell(kind, class).unwrap();
        stood += usize::from(stands);
        let event = [DropOrOverload, Fire, Flood, FluidMix, StuckUnderPressure, ControlDoesNotReturn, Pressure].contains(&class);
        if event || (kind == Kind::Hose && [CutOrBlister, Kink, Leak, Deformation].contains(&class)) {
            assert_eq!(holds.rule.usable, SayUsable::Nobody, "{kind:?} {class:?}");
        }
        assert_eq!(holds.rule.ending, shipped.ending, "{kind:?} {class:?}");
        assert!(shipped.readings.iter().all(|measure| holds.readings().contains(measure)), "{kind:?} {class:?}");
        if shipped.ending != fullset_calc::release::Ending::Returns {
            assert!(
                holds.rule.signs >= shipped.signs,
                "{kind:?} {class:?}: what ends in retirement is not returned by a lesser word"
            );
        }
        if event {
            assert!(holds.rule.signs >= shipped.signs.min(Signature::Technician), "{kind:?} {class:?}");
        }
        assert!(holds.rule.signs_on_battery >= shipped.signs_on_battery, "{kind:?} {class:?}");
        assert_eq!(
            holds.limit.is_some(),
            holds.rule.usable > SayUsable::Nobody,
            "{kind:?} {class:?}: usable under a limit, or not at all"
        );
        assert_eq!(holds.rule.within.is_some(), holds.rule.usable > SayUsable::Nobody, "{kind:?} {class:?}");
    }
    assert!(stood > 100, "{stood}");
}

#[test]
fn a_cell_says_everything_that_a_looser_rule_needs() {
    let Ruling::Applies(shipped) = ruling(Kind::PowerUnit, DefectClass::Leak) else {
        panic!()
    };
    assert_eq!(fault(&cell(Kind::PowerUnit, DefectClass::Leak)), "rule", "nothing decided");
    assert_eq!(fault(&cell(Kind::Hose, DefectClass::Electrical)), "class");
    if shipped.usable == SayUsable::Nobody {
        let bare = OwnCell {
            usable_by: Some(SayUsable::Officer),
            reason: Some("why".into()),
            ..cell(Kind::PowerUnit, DefectClass::Leak)
        };
        assert_eq!(fault(&bare), "limit");
        let limited = OwnCell {
            limit: Some("Top it up.".into()),
            ..bare
        };
        assert_eq!(fault(&limited), "within");
    }
    let odd = OwnCell {
        readings: vec![Measure::SpreadingForce],
        ..cell(Kind::Hose, DefectClass::Other)
    };
    assert_eq!(fault(&odd), "readings", "no test of a hose has a spreading force");
}

#[test]
fn the_agency_asks_for_more_and_by_its_reason_for_less() {
    let none = Ratings::default();
    let plate = Plate {
        kind: Kind::Ram,
        on_battery: false,
        nominal: None,
        ratings: &none,
        life: HoseLife::NotAHose,
    };
    let other = [DefectClass::Other];
    let table = needed_for_release(&plate, &other, &[]);
    assert_eq!(table.signs, Signature::Technician);
    let stricter = rules(OwnCell {
        readings: vec![Measure::PushForce],
        signs: Some(Signature::Technician),
        ..cell(Kind::Ram, DefectClass::Other)
    });
    let asked = stricter.needed(&plate, &other, &[]);
    assert_eq!((asked.signs, asked.readings.len()), (Signature::Technician, table.readings.len() + 1));
    assert!(stricter.why_returned(Kind::Ram, &other).is_empty());
    let leak = [DefectClass::Leak];
    let looser = rules(OwnCell {
        signs: Some(Signature::Officer),
        reason: Some("the shop is 90 miles off".into()),
        ..cell(Kind::Ram, DefectClass::Leak)
    });
    assert_eq!(looser.why_returned(Kind::Ram, &leak), ["the shop is 90 miles off"]);
    // No plate: the limit is not on record, and then it takes the technician whatever the agency says.
    assert_eq!(looser.needed(&plate, &leak, &[]).signs, Signature::Technician);
    // With something worse beside it the worse holds.
    let both = [DefectClass::Leak, DefectClass::DropOrOverload];
    assert_eq!(looser.needed(&plate, &both, &[]).signs, needed_for_release(&plate, &both, &[]).signs);
}
