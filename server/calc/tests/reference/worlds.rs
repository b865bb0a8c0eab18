//! Random small rigs with random grades. Half of them are tame: most pieces fit each other and are sound, so that every level comes up.

use super::dice::Dice;
use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Batteries, DueCheck, Level, Life, LifeOf, Limit, Notice, Overdue, Piece, Policy, RatedAt, Rig, Rules, State};
use fullset_calc::hookup::{Fluid, Hookup, Mates, Outlet};
use fullset_calc::ratings::{Figure, Gear, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use proptest::prelude::*;
use std::sync::Arc;
use uuid::Uuid;

pub fn now() -> DateTime<Utc> {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

#[derive(Clone, Debug)]
pub struct World {
    pub pieces: Vec<Piece>,
    pub rules: Rules,
    pub out: Option<Notice>,
    pub expects: Option<Level>,
}

impl World {
    pub fn rig(&self) -> Rig<'_> {
        self.with(&self.pieces)
    }

    /// The same rig with other pieces aboard.
    pub fn with<'a>(&'a self, pieces: &'a [Piece]) -> Rig<'a> {
        Rig {
            out_of_service: self.out.as_ref(),
            complement: None,
            expects: self.expects,
            pieces,
        }
    }
}

/// What a world may hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sort {
    /// Anything.
    Wild,
    /// Every pack aboard is of a family that the agency has on record, no tool has both a coupling and a battery, and grades are
    /// chosen: what further pieces do to *where on record* (one foreign pack aboard makes every battery tool ask for a pack) is
    /// left out.
    Steady,
}

pub fn world(pieces: usize, sort: Sort) -> impl Strategy<Value = World> {
    let row = prop::collection::vec(any::<u8>(), 28);
    let rows = prop_oneof![
        5 => prop::collection::vec(row.clone(), pieces.div_ceil(2)..=pieces),
        1 => prop::collection::vec(row, 0..=pieces)
    ];
    (rows, prop::collection::vec(any::<u8>(), 160)).prop_map(move |(rows, all)| of(&rows, &all, sort))
}

const OVERDUE: [(u32, Overdue); 4] = [
    (3, Overdue::AgencyGrace),
    (1, Overdue::Grace(0)),
    (1, Overdue::Grace(7)),
    (1, Overdue::SaidOnly),
];

fn of(rows: &[Vec<u8>], all: &[u8], sort: Sort) -> World {
    let mut dice = Dice::new(all);
    let tame = dice.chance(80);
    let mut pieces: Vec<Piece> = rows
        .iter()
        .enumerate()
        .map(|(n, row)| {
            let calm = tame && n % 5 != 4 && !dice.chance(10);
            piece(&mut Dice::new(row), n, calm, sort)
        })
        .collect();
    // Some hoses are fixed to a source aboard, and a few to one that is not.
    let sources: Vec<Uuid> = pieces.iter().filter(|p| super::is_source(p.kind)).map(|p| p.id).collect();
    for piece in pieces.iter_mut().filter(|p| p.kind == Kind::Hose) {
        if dice.chance(12) {
            let at = dice.up_to(5) as usize;
            let absent = Uuid::from_u128(4_000_000);
            let source = sources.get(at % sources.len().max(1)).copied().filter(|_| at != 5);
            piece.fixed_to = Some(source.unwrap_or(absent));
        }
    }
    let policy = Policy {
        overdue_grace_days: dice.pick(&[(3, Some(3)), (1, Some(0)), (1, None)]),
        pressure_tolerance: dice.pick(&[(6, 0.01), (1, 0.0), (1, 0.02)]),
        batteries: dice.pick(&[(3, Batteries::AsPieces), (3, Batteries::WhereOnRecord), (1, Batteries::WithTool)]),
        adapters: !dice.chance(20),
    };
    let mut mated: Vec<(&str, &str)> = Vec::new();
    if dice.chance(25) {
        mated.push(("Mono", "twin"));
    }
    if dice.chance(15) {
        mated.push(("Screw Lock", "TWIN"));
    }
    let families = |wanted: fn(Kind) -> bool| pieces.iter().filter(move |p| wanted(p.kind)).filter_map(|p| p.hookup.battery.clone());
    let packs_on_record = match sort {
        Sort::Wild => dice.pick(&[(2, vec!["28V".to_owned()]), (2, Vec::new()), (1, vec![" 60v".into(), "28 V".into()])]),
        Sort::Steady if pieces.iter().any(|p| p.kind == Kind::Battery) || dice.chance(50) => families(|_| true).collect(),
        Sort::Steady => Vec::new(),
    };
    let chosen = sort == Sort::Steady || !dice.chance(3);
    let serving = |kind: &Kind| super::is_tool(*kind) || *kind == Kind::Accessory;
    let aboard: Vec<Kind> = pieces.iter().map(|p| p.kind).filter(|kind| tame && serving(kind)).collect();
    World {
        rules: Rules {
            grades: chosen.then(|| Arc::new(super::asked::grades(&mut dice, &aboard))),
            policy,
            mates: Arc::new(Mates::new(mated, ["mono"])),
            packs_on_record: Arc::new(packs_on_record),
        },
        pieces,
        out: dice.chance(4).then(|| Notice {
            since: now(),
            words: "brakes".into(),
        }),
        expects: dice.pick(&[(2, None), (1, Some(Level::Full)), (1, Some(Level::Limited)), (1, Some(Level::Heavy))]),
    }
}

fn instant(dice: &mut Dice<'_>) -> DateTime<Utc> {
    // Both sides of now and of a grace of three days, and the instants themselves.
    let hours = dice.pick(&[(1, 72_i64), (2, 800), (1, 1), (1, 0), (1, -1), (1, -71), (1, -72), (1, -73), (1, -400)]);
    now() + Duration::hours(hours)
}

fn size(value: f64, unit: Unit) -> Quantity {
    Quantity::new(value, unit)
}

pub fn piece(dice: &mut Dice<'_>, n: usize, calm: bool, sort: Sort) -> Piece {
    use Kind::{Accessory, Adapter, Battery, CombinationTool, Cutter, HandPump, Hose, PowerUnit, Ram, Spreader};
    let kind = match (calm, n) {
        (true, 0) => PowerUnit,
        (true, 1) => Hose,
        (true, _) => dice.pick(&[
            (4, Cutter),
            (4, Hose),
            (3, Spreader),
            (5, Ram),
            (2, CombinationTool),
            (3, Battery),
            (1, PowerUnit),
            (1, Adapter),
            (1, HandPump),
            (1, Accessory),
        ]),
        _ => dice.pick(&[
            (4, Cutter),
            (5, Hose),
            (3, Spreader),
            (5, Ram),
            (2, CombinationTool),
            (2, PowerUnit),
            (1, HandPump),
            (2, Adapter),
            (3, Battery),
            (1, Accessory),
        ]),
    };
    let hookup = hookup(dice, kind, calm, sort);
    let ratings = ratings(dice, kind, calm);
    let rated_at = match dice.pick(&[(4, None), (1, Some(350.0)), (1, Some(500.0))]) {
        Some(bar) if super::is_tool(kind) => vec![RatedAt {
            pressure: size(bar, Unit::Bar),
            ratings: self::ratings(dice, kind, true),
        }],
        _ => Vec::new(),
    };
    let gear = (kind == Accessory)
        .then(|| dice.pick(&[(2, Some(Gear::Chains)), (1, Some(Gear::RamSupport)), (1, None)]))
        .flatten();
    let mut piece = Piece {
        id: Uuid::from_u128(1000 + n as u128),
        tag: format!("T-{n:02}"),
        kind,
        gear,
        hookup: Arc::new(hookup),
        ratings: Arc::new(ratings),
        rated_at: Arc::new(rated_at),
        fixed_to: None,
        state: State::InService,
        stop_use: None,
        quarantine: None,
        life: Life::None,
        checks: Vec::new(),
        limits: Vec::new(),
        last_check: None,
        used_unchecked: None,
        used_while_out: None,
        released: None,
        looser_rules: Vec::new(),
        life_of: LifeOf::Piece,
        untried_since: None,
    };
    super::sound::make_sound(&mut piece);
    if !calm || dice.chance(10) {
        spoil(dice, &mut piece);
    }
    piece
}

/// What happens to pieces.
fn spoil(dice: &mut Dice<'_>, piece: &mut Piece) {
    let since = now() - Duration::days(2);
    let notice = |words: &str| Notice { since, words: words.into() };
    match dice.pick(&[(9, 0), (2, 1), (1, 2), (1, 3), (1, 4)]) {
        1 => piece.state = State::OutOfService { since, reason: "leak".into() },
        2 => piece.state = State::Missing { since },
        3 => piece.stop_use = Some(notice("notice 7")),
        4 => piece.quarantine = Some(notice("fluids mixed")),
        _ => {}
    }
    piece.life = match dice.pick(&[(9, 0), (2, 1), (1, 2), (1, 3)]) {
        1 => Life::Ends(instant(dice)),
        2 => Life::AllowedUntil(instant(dice), "bought in one lot".into()),
        3 => Life::Unknown,
        _ => Life::None,
    };
    let due = |dice: &mut Dice<'_>| DueCheck {
        name: "weekly check".into(),
        due: if dice.chance(15) { None } else { Some(instant(dice)) },
        overdue: dice.pick(&OVERDUE),
    };
    match dice.pick(&[(5, 0), (2, 1), (1, 2)]) {
        1 => piece.checks.push(due(dice)),
        2 => piece.checks = Vec::new(),
        _ => {}
    }
    if dice.chance(15) {
        piece.limits.push(Limit {
            since,
            what: String::new(),
            words: "worn tips: no pulling".into(),
            repair_by: if dice.chance(50) { Some(instant(dice)) } else { None },
            without: dice.pick(&[
                (1, vec![]),
                (1, vec![Term::PushForce]),
                (1, vec![Term::CutterOpening, Term::SpreadingDistance]),
                (1, vec![Term::ExtendedLength]),
            ]),
            own_rule: None,
        });
    }
    piece.used_unchecked = dice.chance(10).then_some(since);
    piece.untried_since = dice.chance(8).then_some(since);
}

fn hookup(dice: &mut Dice<'_>, kind: Kind, calm: bool, sort: Sort) -> Hookup {
    let name = |dice: &mut Dice<'_>| {
        if calm && !dice.chance(6) {
            return Some("Mono".to_owned());
        }
        let name = dice.pick(&[(5, "Mono"), (1, " mono"), (3, "Twin"), (1, "screw-lock"), (1, "Screw lock"), (1, "")]);
        (!name.is_empty()).then(|| name.to_owned())
    };
    let pack = |dice: &mut Dice<'_>| dice.pick(&[(6, Some("28V".to_owned())), (2, Some("60V".to_owned())), (1, Some("28 v".to_owned()))]);
    if kind == Kind::Accessory {
        return Hookup::default();
    }
    let battery = kind == Kind::Battery || (super::is_tool(kind) && dice.chance(35));
    let hybrid = super::is_tool(kind) && battery && sort == Sort::Wild && dice.chance(10);
    if battery && !hybrid {
        let family = if dice.chance(4) { None } else { pack(dice) };
        return Hookup {
            battery: family,
            ..Hookup::default()
        };
    }
    let pressure = if calm {
        dice.pick(&[
            (7, Some(size(720.0, Unit::Bar))),
            (2, Some(size(10_500.0, Unit::Psi))),
            (1, Some(size(350.0, Unit::Bar))),
        ])
    } else {
        dice.pick(&[
            (4, Some(size(720.0, Unit::Bar))),
            (2, Some(size(10_500.0, Unit::Psi))),
            (2, Some(size(350.0, Unit::Bar))),
            (1, Some(size(63.0, Unit::Megapascal))),
            (1, Some(size(50_000.0, Unit::Kilopascal))),
            (1, None),
        ])
    };
    let fluid = if calm {
        Some(Fluid::MineralOil)
    } else {
        dice.pick(&[(8, Some(Fluid::MineralOil)), (2, Some(Fluid::PhosphateEster)), (1, None)])
    };
    let mut hookup = Hookup {
        coupling: name(dice),
        fluid,
        pressure,
        ..Hookup::default()
    };
    if kind.is_conduit() && (kind == Kind::Adapter || dice.chance(if calm { 6 } else { 20 })) {
        hookup.tool_coupling = dice.pick(&[
            (2, Some("Twin".to_owned())),
            (2, Some("Mono".to_owned())),
            (1, Some("screw lock".to_owned())),
            (1, None),
        ]);
    }
    if kind == Kind::PowerUnit {
        hookup.circuits = dice.pick(&[(2, Some(2)), (1, None), (1, Some(1)), (1, Some(3))]);
        if dice.chance(20) {
            hookup.outlets.push(Outlet {
                coupling: dice.pick(&[(1, "Mono".to_owned()), (1, "Twin".to_owned())]),
                pressure: dice.pick(&[(1, size(350.0, Unit::Bar)), (1, size(720.0, Unit::Bar))]),
                circuits: dice.pick(&[(1, None), (1, Some(2))]),
            });
        }
    }
    if super::is_tool(kind) {
        if dice.chance(25) {
            hookup.allowable_pressure = Some(size(750.0, Unit::Bar));
        }
        if hybrid {
            hookup.battery = pack(dice);
        }
    }
    hookup
}

fn rating(dice: &mut Dice<'_>, calm: bool, value: f64, unit: Unit) -> Rating {
    let figure = Figure::Quantity(size(value, unit));
    let by = if calm {
        Some(("EN 13204", "2016"))
    } else {
        dice.pick(&[(3, Some(("EN 13204", "2016"))), (1, Some(("NFPA 1936", "2015"))), (1, None)])
    };
    by.map_or_else(|| Rating::plain(value, unit), |(standard, edition)| Rating::by(figure, standard, edition))
}

fn ratings(dice: &mut Dice<'_>, kind: Kind, calm: bool) -> Ratings {
    let mut all = Ratings::new();
    let known = |dice: &mut Dice<'_>| calm || !dice.chance(12);
    match kind {
        Kind::Cutter | Kind::Spreader | Kind::CombinationTool => {
            if kind != Kind::Spreader && known(dice) {
                let opening = dice.pick(&[(2, 180.0), (1, 205.0), (1, 179.0)]);
                all.set(Term::CutterOpening, rating(dice, calm, opening, Unit::Millimetre));
            }
            if kind != Kind::Cutter && known(dice) {
                let distance = dice.pick(&[(2, 720.0), (1, 800.0), (1, 719.9)]);
                all.set(Term::SpreadingDistance, rating(dice, calm, distance, Unit::Millimetre));
                let force = dice.pick(&[(2, 45.0), (1, 40.0), (1, 39.9)]);
                all.set(Term::RatedSpreadingForce, rating(dice, calm, force, Unit::Kilonewton));
            }
        }
        Kind::Ram => {
            if known(dice) {
                let (force, unit) = dice.pick(&[(2, (60.0, Unit::Kilonewton)), (1, (13_500.0, Unit::PoundForce)), (1, (59.9, Unit::Kilonewton))]);
                all.set(Term::PushForce, rating(dice, calm, force, unit));
            }
            let spans = [
                (2, (540.0, 900.0)),
                (2, (900.0, 1500.0)),
                (2, (650.0, 1500.0)),
                (1, (901.0, 1500.0)),
                (1, (400.0, 650.0)),
                (1, (300.0, 1600.0)),
            ];
            let (short, long) = dice.pick(&spans);
            if known(dice) {
                all.set(Term::RetractedLength, Rating::plain(short, Unit::Millimetre));
            }
            if known(dice) {
                all.set(Term::ExtendedLength, Rating::plain(long, Unit::Millimetre));
            }
        }
        Kind::Hose => {
            let length = dice.pick(&[
                (3, Some((10.0, Unit::Metre))),
                (2, Some((5.0, Unit::Metre))),
                (1, Some((33.0, Unit::Foot))),
                (1, None),
            ]);
            if let Some((value, unit)) = length {
                all.set(Term::HoseLength, Rating::plain(value, unit));
            }
        }
        _ => {}
    }
    all
}
