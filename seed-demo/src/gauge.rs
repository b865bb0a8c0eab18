//! What the shop's gauges show. A test that passed is whole: everything that a release of any class asks of such a piece.

use crate::{
    catalogue::{Family, Kind, Model},
    dice::Dice,
    evidence::{Evidence, Reading},
};

fn psi(family: Family, percent: u32) -> f64 {
    f64::from(family.psi() * percent / 100)
}

fn tenth(value: i64) -> f64 {
    i32::try_from(value).map_or(0.0, |value| f64::from(value) / 10.0)
}

/// A share of a rated force, to the nearest 50 lbf as a dial is read; without a rated one, what such a tool usually shows.
fn share(model: &Model, term: &str, percent: i64, usual: f64) -> f64 {
    let rated = model.rated(term).unwrap_or(usual);
    (rated * tenth(percent * 10) / 100.0 / 50.0).round() * 50.0
}

/// The passage that the test follows.
fn manual(model: &Model) -> String {
    let maker = model.name.split(' ').next().unwrap_or_default();
    format!("{maker} workshop manual, {}: inspection and test", model.name)
}

/// What the gauge shows after a repair that holds.
pub fn passed(model: &Model, dice: &mut Dice) -> Evidence {
    let family = model.family;
    let hose_fed = family.psi() > 0;
    let mut readings = vec![Reading::said("sound_to_look", true)];
    let mut add = |reading| readings.push(reading);
    match model.kind {
        Kind::PowerUnit | Kind::HandPump => {
            add(Reading::value("relief_opens_at", psi(family, 103), "psi"));
            add(Reading::value("pressure_reached", psi(family, 100), "psi"));
        }
        Kind::Cutter | Kind::Spreader | Kind::Combi | Kind::Ram if hose_fed => add(Reading::value("pressure_reached", psi(family, 100), "psi")),
        Kind::Hose | Kind::Adapter => add(Reading::value("pressure_reached", psi(family, 105), "psi")),
        Kind::Charger => add(Reading::said("insulation", true)),
        _ => {}
    }
    if matches!(model.kind, Kind::Battery | Kind::Charger) {
        add(Reading::said("charge", true));
    }
    if !matches!(model.kind, Kind::Battery | Kind::Charger | Kind::Accessory) {
        add(Reading::value("hold_seconds", tenth(dice.between(120, 200)), "s"));
        add(Reading::said("leak_at_end_stop", false));
    }
    if matches!(model.kind, Kind::Cutter | Kind::Spreader | Kind::Combi | Kind::Ram) {
        add(Reading::said("function_full_stroke", true));
        if !hose_fed {
            add(Reading::said("insulation", true));
        }
    }
    if matches!(model.kind, Kind::Spreader | Kind::Combi) {
        add(Reading::value(
            "spreading_force",
            share(model, "lowest_spreading_force", dice.between(118, 126), 8_000.0),
            "lbf",
        ));
        add(Reading::value(
            "pulling_force",
            share(model, "lowest_pulling_force", dice.between(112, 120), 7_000.0),
            "lbf",
        ));
    }
    if matches!(model.kind, Kind::Cutter | Kind::Spreader | Kind::Combi) {
        add(Reading::value("opening_time", tenth(dice.between(38, 62)), "s"));
        add(Reading::value("closing_time", tenth(dice.between(42, 68)), "s"));
    }
    if matches!(model.kind, Kind::Cutter | Kind::Combi) {
        add(Reading::said("test_piece_cut", true));
    }
    if model.kind == Kind::Ram {
        add(Reading::value("push_force", share(model, "push_force", dice.between(98, 103), 27_000.0), "lbf"));
    }
    Evidence {
        readings,
        manual: Some(manual(model)),
        makers_service: None,
    }
}

/// What it shows when the piece falls short.
pub fn failed(model: &Model, dice: &mut Dice) -> Evidence {
    let short = u32::try_from(dice.between(78, 88)).unwrap_or(80);
    let readings = match model.kind {
        Kind::Battery => vec![Reading::said("charge", false)],
        Kind::Charger => vec![Reading::said("insulation", false)],
        Kind::PowerUnit | Kind::HandPump => vec![
            Reading::value("relief_opens_at", psi(model.family, 114), "psi"),
            Reading::value("pressure_reached", psi(model.family, 100), "psi"),
        ],
        Kind::Accessory => vec![Reading::said("sound_to_look", false)],
        _ if model.family.psi() > 0 => vec![
            Reading::value("pressure_reached", psi(model.family, short), "psi"),
            Reading::value("hold_seconds", tenth(dice.between(30, 80)), "s"),
        ],
        _ => vec![Reading::said("function_full_stroke", false)],
    };
    Evidence {
        readings,
        ..Evidence::default()
    }
}
