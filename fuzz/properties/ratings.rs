//! Figures as people type them: numbers, units, spans, stages, cutting levels, designations.

use fullset_calc::{
    ratings::{CapacityLetter, CuttingLevels, Designation, Kind, Ratings},
    units::{Dimension, Notation, NumberStyle, Quantity, StyleVotes, Unit, UnitFault, Units},
};

const DIMENSIONS: [Dimension; 6] = [
    Dimension::Force,
    Dimension::Length,
    Dimension::Pressure,
    Dimension::Mass,
    Dimension::Time,
    Dimension::Volume,
];

/// What is read is a size that can be, and reads as the same when it is written; what is refused says why. Each style alone decides, and
/// without one nothing is read that the styles would read differently.
pub fn hold(bytes: &[u8]) {
    if let Ok(ratings) = serde_json::from_slice::<Ratings>(bytes) {
        kept(&ratings);
    }
    let Some((which, rest)) = super::cut(bytes) else { return };
    let Some(text) = super::text(rest) else { return };
    let wanted = DIMENSIONS[usize::from(which) % DIMENSIONS.len()];
    let bare = (which >= 128).then_some(Unit::ALL[usize::from(which) % Unit::ALL.len()]);
    let read = |style| Quantity::parse_as(text, wanted, Notation { bare, style });
    let (open, point, comma) = (read(None), read(Some(NumberStyle::Point)), read(Some(NumberStyle::Comma)));
    for one in [&open, &point, &comma] {
        quantity(one, wanted, text);
    }
    if let Ok(open) = &open {
        assert_eq!((Ok(*open), Ok(*open)), (point, comma), "{text} was read without a style, and means two things");
    }
    let notation = Notation {
        bare,
        style: Some(NumberStyle::Point),
    };
    if let Ok((low, high)) = Quantity::parse_span(text, wanted, notation) {
        assert!(low.si() <= high.si() && low.dimension() == wanted && high.dimension() == wanted, "{text}");
    }
    if let Ok(stages) = Quantity::parse_stages(text, wanted, notation) {
        assert!(!stages.is_empty() && stages.iter().all(|stage| stage.dimension() == wanted), "{text}");
    }
    StyleVotes::default().count(text);
    words(text);
}

/// A quantity that was read, or why not.
fn quantity(read: &Result<Quantity, UnitFault>, wanted: Dimension, text: &str) {
    let read = match read {
        Ok(read) => *read,
        Err(fault) => return assert!(!fault.code.is_empty() && !fault.reason.is_empty(), "{text}"),
    };
    assert!(read.value.is_finite() && read.value >= 0.0 && read.dimension() == wanted, "{text}: {read:?}");
    let written = format!("{} {}", read.value, read.unit.symbol());
    let again = Quantity::parse_as(&written, wanted, Notation::styled(NumberStyle::Point));
    assert_eq!(again, Ok(read), "{text} written as {written}");
    let json = serde_json::to_string(&read).expect("a quantity is written");
    assert_eq!(serde_json::from_str::<Quantity>(&json).ok(), Some(read), "{text} kept as {json}");
    for units in [Units::Us, Units::Si] {
        assert!(!read.show(units).is_empty() && !read.show_both(units).is_empty());
    }
}

/// What has a grammar of its own.
fn words(text: &str) {
    if let Ok(levels) = CuttingLevels::parse(text) {
        assert_eq!(CuttingLevels::parse_strict(&levels.to_string()).ok(), Some(levels), "{text}");
        assert!(levels.serves(&levels).is_some_and(|serves| serves), "{text}");
    }
    if let Ok(letter) = CapacityLetter::parse(text) {
        assert_eq!(CapacityLetter::parse(&letter.to_string()).ok(), Some(letter), "{text}");
    }
    if let Some(designation) = Designation::parse(text) {
        assert_eq!(
            Designation::parse(&designation.to_string()),
            Some(designation),
            "{text} written as {designation}"
        );
        let _ = designation.faults();
    }
    if let Ok(unit) = Unit::from_symbol(text) {
        assert_eq!(Unit::from_symbol(unit.symbol()).ok(), Some(unit), "{text}");
    }
    if let Some(kind) = Kind::from_name(text) {
        assert!(!kind.word().is_empty(), "{text}");
    }
}

/// A model's figures as a client sends them.
fn kept(ratings: &Ratings) {
    let json = serde_json::to_string(ratings).expect("figures are written");
    assert_eq!(serde_json::from_str::<Ratings>(&json).as_ref().ok(), Some(ratings), "{json}");
    for kind in Kind::ALL {
        let faults = ratings.faults(*kind);
        if faults.is_empty() {
            let _ = ratings.warnings(*kind);
        }
    }
    // What meets itself is not short of itself.
    assert!(!ratings.meet_all(ratings) || ratings.shortfalls(ratings).is_empty(), "{json}");
}
