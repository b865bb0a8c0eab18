//! What single cells say.

use super::{super::spoilt::FORMULA, *};

#[test]
fn kinds_are_known_by_their_usual_spellings() {
    let cases: &[(Kind, &[&str])] = &[
        (
            Kind::PowerUnit,
            &[
                "power unit",
                "POWER UNITS",
                "Power-pack",
                "HPU",
                "pump",
                "Simo pump",
                "gas power unit",
                "electric hydraulic pump",
                "power_unit",
            ],
        ),
        (Kind::HandPump, &["Hand pump", "hydraulic hand pump", "manual pump"]),
        (Kind::Cutter, &["Cutter ", "cutters", "battery cutter", "hyd. cutter", "mini-cutter", "shears"]),
        (Kind::Spreader, &["SPREADER", "rescue spreader", "Spreading tool"]),
        (
            Kind::CombinationTool,
            &["combi", "Combi tool", "combination tools", "combo", "battery combi tool", "spreader/cutter"],
        ),
        (Kind::Ram, &["ram", "Rams", "telescopic ram", "rescue cylinder"]),
        (Kind::Hose, &["HOSE", "hydraulic hoses", "twin-line hose", "coaxial hose"]),
        (Kind::Battery, &["battery", "Batteries", "battery pack"]),
        (Kind::Charger, &["charger", "battery charger"]),
        (Kind::Accessory, &["accessory", "Accessories", "chain set", "tips", "cribbing", "ram support"]),
    ];
    for (want, texts) in cases {
        for text in *texts {
            assert_eq!(kind(&line(text)), Ok(*want), "{text}");
        }
    }
    for text in ["flux splitter", "", "hydraulic", "tool", "hose cutter"] {
        let fault = kind(text).unwrap_err();
        assert_eq!(fault.code, "unknown-kind");
        assert!(fault.hint.unwrap().contains("combination tool"), "{text}");
    }
}

#[test]
fn states_are_known_and_a_blank_is_not_in_service() {
    for (text, want) in [
        ("OK", RowState::InService),
        ("In-Service", RowState::InService),
        ("OOS", RowState::OutOfService),
        ("O.O.S.", RowState::OutOfService),
        ("Tagged", RowState::OutOfService),
        ("retired", RowState::Retired),
    ] {
        assert_eq!(state(text), Ok(want));
    }
    assert_eq!(state("").unwrap_err().code, "unknown-state");
    assert_eq!(state("so so").unwrap_err().code, "unknown-state");
}

#[test]
fn circuits_are_a_plain_count() {
    assert_eq!(circuits("2"), Ok(Some(2)));
    assert_eq!(circuits("2.0"), Ok(Some(2)));
    assert_eq!(circuits("3 outlets"), Ok(Some(3)));
    assert_eq!(circuits(""), Ok(None));
    for (text, code) in [
        ("0", "not-positive"),
        ("-2", "negative-quantity"),
        ("two", "unreadable-number"),
        ("2.5", "unreadable-number"),
        ("99999", "unreadable-number"),
    ] {
        assert_eq!(circuits(text).unwrap_err().code, code);
    }
}

#[test]
fn a_guarded_text_is_no_formula_and_comes_back() {
    for text in ["=1+1", "+49", "-5", "@x", "'=a", "'quoted", "''", "plain", "", "\u{ff1d}1"] {
        assert!(!guarded(text).starts_with(FORMULA));
        assert_eq!(unguarded(&guarded(text)), text);
    }
    assert_eq!(line("'tis"), "'tis");
}

#[test]
fn text_is_cleaned_of_control_characters() {
    assert_eq!(line(" A\u{a0}\u{0}B\t\r\nC "), "A B C");
    assert_eq!(lines(" a\r\nb\u{7}\rc "), "a\nb \nc");
}
