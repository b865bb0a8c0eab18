//! Whatever is typed, reading it never fails but by a fault, and what is written is read back as it was.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use fullset_calc::ratings::{CapacityLetter, CuttingLevels, Designation};
use fullset_calc::units::{Dimension, Notation, NumberStyle, Quantity, Unit, Units};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused_with_a_reason(text in "\\PC{0,24}|[-0-9.,/ \u{2212}\u{2013}'\"a-z]{0,16}") {
        let styles = [None, Some(NumberStyle::Point), Some(NumberStyle::Comma)];
        for (wanted, style) in [Dimension::Force, Dimension::Length, Dimension::Pressure].into_iter().flat_map(|w| styles.map(|s| (w, s))) {
            let notation = Notation { bare: Some(Unit::Inch), style };
            match Quantity::parse_as(&text, wanted, Notation { bare: None, style }) {
                Ok(q) => prop_assert!(q.value >= 0.0 && q.value.is_finite() && q.dimension() == wanted),
                Err(fault) => prop_assert!(!fault.code.is_empty() && !fault.reason.is_empty()),
            }
            if let Ok((low, high)) = Quantity::parse_span(&text, wanted, notation) {
                prop_assert!(low.si() <= high.si());
            }
            let _ = Quantity::parse_stages(&text, wanted, notation);
        }
        let _ = (Designation::parse(&text), CuttingLevels::parse(&text), CapacityLetter::parse(&text), Unit::from_symbol(&text));
    }

    #[test]
    fn a_number_with_a_unit_is_read_back_as_written(number in 0_u32..10_000_000, part in 0_u32..1000, unit in prop::sample::select(Unit::ALL)) {
        let value = f64::from(number) + f64::from(part) / 1000.0;
        let q = Quantity::new(value, unit);
        let text = format!("{value} {}", unit.symbol());
        let point = Notation::styled(NumberStyle::Point);
        prop_assert_eq!(Quantity::parse_as(&text, unit.dimension(), point).unwrap(), q);
        // Without a style it is read the same or asked about, never read as another number.
        match Quantity::parse(&text, unit.dimension()) {
            Ok(read) => prop_assert_eq!(read, q),
            Err(fault) => prop_assert_eq!(fault.code, "ambiguous-number"),
        }
        // What is shown in the reader's own habit is what was typed.
        for units in [Units::Us, Units::Si] {
            let shown = Quantity::parse_as(&q.show(units), unit.dimension(), point).unwrap();
            let rounding = 0.5 * shown.unit.factor() + 1e-9 * q.si();
            prop_assert!((shown.si() - q.si()).abs() <= rounding, "{} shown as {}", text, q.show(units));
        }
    }

    #[test]
    fn cutting_levels_are_read_back_as_written(levels in prop::array::uniform5(1_u8..=9), f in prop::option::of(1_u8..=9), other in prop::array::uniform5(1_u8..=9)) {
        let written = CuttingLevels::new(levels, f).unwrap();
        prop_assert_eq!(CuttingLevels::parse_strict(&written.to_string()).unwrap(), written);
        prop_assert_eq!(CuttingLevels::parse(&written.to_string().replace('/', " ").to_lowercase()).unwrap(), written);
        let other = CuttingLevels::new(other, None).unwrap();
        let every = levels.iter().zip(other.to_string().split('/').map(|p| p[1..].parse::<u8>().unwrap())).all(|(has, needs)| *has >= needs);
        prop_assert_eq!(written.serves(&other), Some(every));
        prop_assert_eq!(written.short_of(&other).count() == 0, every);
    }
}
