//! Whether a rating meets a minimum: exactly, by the same standard, and for the stages that a ram does not have.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

use fullset_calc::ratings::{CapacityLetter, CuttingLevels, Figure, Meets, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit, Units};

fn one(term: Term, rating: Rating) -> Ratings {
    [(term, rating)].into_iter().collect()
}

#[test]
fn a_minimum_is_met_exactly_and_a_round_trip_through_units_does_not_fail_it() {
    let meets = |term, has: Rating, needs: &Rating| one(term, has).meets(term, needs);
    let opening = Rating::plain(8.1, Unit::Inch);
    let back = Quantity::new(8.1, Unit::Inch).to(Unit::Millimetre).unwrap();
    assert_eq!(meets(Term::CutterOpening, Rating::plain(back.value, Unit::Millimetre), &opening), Meets::Yes);
    assert_eq!(
        meets(Term::CutterOpening, opening.clone(), &Rating::plain(back.value, Unit::Millimetre)),
        Meets::Yes
    );
    let Meets::Short { by: Some(by), .. } = meets(Term::CutterOpening, Rating::plain(8.0, Unit::Inch), &opening) else {
        panic!()
    };
    assert!((by.value - 0.1).abs() < 1e-9 && by.unit == Unit::Inch);
    // 8.09 in is shown as 8.1 in, and is still too little.
    assert!(matches!(
        meets(Term::CutterOpening, Rating::plain(8.0999, Unit::Inch), &opening),
        Meets::Short { .. }
    ));
    assert_eq!(
        meets(Term::Mass, Rating::plain(39.0, Unit::Pound), &Rating::plain(18.0, Unit::Kilogram)),
        Meets::Yes
    );
    assert!(matches!(
        meets(Term::RetractedLength, Rating::plain(20.0, Unit::Inch), &Rating::plain(500.0, Unit::Millimetre)),
        Meets::Short { .. }
    ));
    assert_eq!(Ratings::new().meets(Term::Mass, &Rating::plain(1.0, Unit::Kilogram)), Meets::Unknown);
    assert_eq!(
        meets(Term::PushForce, Rating::plain(18_000.0, Unit::FootPound), &Rating::plain(1.0, Unit::Newton)),
        Meets::Unknown
    );
}

#[test]
fn figures_of_different_standards_never_answer_each_other() {
    let nfpa = |figure| Rating::by(figure, "NFPA 1936", "2015");
    let en = |figure, edition| Rating::by(figure, "EN 13204", edition);
    let levels = Figure::Levels(CuttingLevels::parse("A7 B8 C7 D8 E9").unwrap());
    let letter = |text| Figure::Letter(CapacityLetter::parse(text).unwrap());
    assert!(matches!(
        one(Term::CuttingCapacity, en(letter("K"), "2016")).meets(Term::CuttingLevels, &nfpa(levels)),
        Meets::OtherStandard { .. }
    ));
    assert!(matches!(
        one(Term::CuttingLevels, nfpa(levels)).meets(Term::CuttingCapacity, &en(letter("A"), "2016")),
        Meets::OtherStandard { .. }
    ));
    let kn = |v| Figure::Quantity(Quantity::new(v, Unit::Kilonewton));
    assert!(matches!(
        one(Term::RatedSpreadingForce, en(kn(84.0), "2016")).meets(Term::LowestSpreadingForce, &nfpa(kn(40.0))),
        Meets::OtherStandard { .. }
    ));
    assert!(matches!(
        one(Term::SpreadingDistance, en(Figure::Quantity(Quantity::new(900.0, Unit::Millimetre)), "2016"))
            .meets(Term::SpreadingDistance, &nfpa(Figure::Quantity(Quantity::new(28.0, Unit::Inch)))),
        Meets::OtherStandard { .. }
    ));
    // The standard was renumbered: the same family. A mass is a mass by any standard.
    let later = Rating::by(kn(50.0), "NFPA 1960", "2024");
    assert_eq!(
        one(Term::LowestSpreadingForce, later).meets(Term::LowestSpreadingForce, &nfpa(kn(40.0))),
        Meets::Yes
    );
    let kg = |v| Figure::Quantity(Quantity::new(v, Unit::Kilogram));
    assert_eq!(one(Term::Mass, en(kg(17.0), "2016")).meets(Term::Mass, &nfpa(kg(20.0))), Meets::Yes);
    // A rating of an unstated standard answers no minimum that names one; a minimum that names none takes any.
    let unstated = Rating::plain(60.0, Unit::Kilonewton);
    assert_eq!(
        one(Term::PushForce, unstated.clone()).meets(Term::PushForce, &nfpa(kn(50.0))),
        Meets::StandardUnknown {
            has: kn(60.0),
            wanted: "NFPA 1936".into()
        }
    );
    let blank = Rating {
        standard: Some(" ".into()),
        ..unstated.clone()
    };
    assert!(matches!(
        one(Term::PushForce, blank).meets(Term::PushForce, &nfpa(kn(50.0))),
        Meets::StandardUnknown { .. }
    ));
    assert_eq!(one(Term::PushForce, nfpa(kn(60.0))).meets(Term::PushForce, &unstated), Meets::Yes);
    assert_eq!(one(Term::PushForce, unstated.clone()).meets(Term::PushForce, &unstated), Meets::Yes);
    assert_eq!(
        one(Term::Mass, Rating::plain(17.0, Unit::Kilogram)).meets(Term::Mass, &nfpa(kg(20.0))),
        Meets::Yes
    );
    // A standard that is not known here answers itself only.
    let house = |v| Rating::by(kn(v), "House test 7", "2020");
    assert_eq!(one(Term::PushForce, house(60.0)).meets(Term::PushForce, &house(50.0)), Meets::Yes);
    assert!(matches!(
        one(Term::PushForce, house(60.0)).meets(Term::PushForce, &nfpa(kn(50.0))),
        Meets::OtherStandard { .. }
    ));
    assert!(matches!(
        one(Term::PushForce, nfpa(kn(60.0))).meets(Term::PushForce, &house(50.0)),
        Meets::OtherStandard { .. }
    ));
    // The 2025 edition renamed the classes: letters do not cross it, sizes do.
    assert!(matches!(
        one(Term::CuttingCapacity, en(letter("H"), "2025")).meets(Term::CuttingCapacity, &en(letter("A"), "2016")),
        Meets::OtherStandard { .. }
    ));
    let mm = |v, edition| en(Figure::Quantity(Quantity::new(v, Unit::Millimetre)), edition);
    assert_eq!(
        one(Term::CutterOpening, mm(200.0, "2025")).meets(Term::CutterOpening, &mm(180.0, "2016")),
        Meets::Yes
    );
    assert_eq!(
        one(Term::CuttingCapacity, en(letter("H"), "2016")).meets(Term::CuttingCapacity, &en(letter("F"), "2012")),
        Meets::Yes
    );
    assert!(matches!(
        one(Term::CuttingCapacity, en(letter("E"), "2016")).meets(Term::CuttingCapacity, &en(letter("F"), "2016")),
        Meets::Short { .. }
    ));
}

#[test]
fn a_ram_answers_for_the_stages_that_it_is_said_not_to_have() {
    let en = |v: f64| Rating::by(Figure::Quantity(Quantity::new(v, Unit::Kilonewton)), "EN 13204", "2016");
    let ram = |stages: Option<f64>, forces: &[f64]| -> Ratings {
        let terms = [Term::PushForce, Term::PushForce2, Term::PushForce3];
        let count = stages.map(|n| (Term::RamStages, Rating::plain(n, Unit::Stage)));
        terms.into_iter().zip(forces).map(|(term, v)| (term, en(*v))).chain(count).collect()
    };
    for (stages, forces, term, needs, meets) in [
        (Some(1.0), &[100.0][..], Term::PushForce2, 60.0, true),
        (Some(1.0), &[100.0], Term::PushForce3, 100.0, true),
        (Some(1.0), &[50.0], Term::PushForce2, 60.0, false),
        (Some(2.0), &[200.0, 100.0], Term::PushForce3, 60.0, true),
        (Some(2.0), &[200.0, 50.0], Term::PushForce3, 60.0, false),
        // A stage that it has and that nobody rated, and a number of stages that nobody stated, stay unknown.
        (Some(2.0), &[200.0], Term::PushForce2, 60.0, false),
        (Some(3.0), &[200.0, 100.0], Term::PushForce3, 60.0, false),
        (None, &[100.0], Term::PushForce2, 60.0, false),
        (None, &[200.0, 100.0], Term::PushForce3, 60.0, false),
    ] {
        let answer = ram(stages, forces).meets(term, &en(needs));
        assert_eq!(answer == Meets::Yes, meets, "{stages:?} {forces:?} {term:?}: {answer:?}");
    }
    assert_eq!(ram(None, &[100.0]).meets(Term::PushForce2, &en(60.0)), Meets::Unknown);
    assert_eq!(Quantity::new(1.0, Unit::Stage).show(Units::Us), "1 stage");
}
