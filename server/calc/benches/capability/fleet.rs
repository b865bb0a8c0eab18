//! Rigs to time.

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Complement, DueCheck, Life, LifeOf, Overdue, Piece, Rules, Slot, State, Template};
use fullset_calc::hookup::{Fluid, Hookup, Mates};
use fullset_calc::ratings::{Figure, Gear, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use std::sync::Arc;

/// A small generator, so that every run sees the same rigs.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

pub fn now() -> DateTime<Utc> {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

pub fn rules(template: Template) -> Rules {
    Rules {
        grades: Some(Arc::new(template.grades())),
        mates: Arc::new(Mates::new([("twin line", "old twin line")], ["flat-face single"])),
        packs_on_record: Arc::new(vec!["28V family".to_owned()]),
        ..Rules::default()
    }
}

fn slot(id: &str, kind: Kind, gear: Option<Gear>, required: bool) -> Slot {
    Slot {
        id: id.to_owned(),
        name: id.to_owned(),
        kinds: vec![kind],
        required,
        gear,
        minimums: Ratings::new(),
    }
}

const GEAR: [Gear; 6] = [Gear::Chains, Gear::RamSupport, Gear::Tips, Gear::Cribbing, Gear::EdgeCovers, Gear::GlassTools];

pub fn complement() -> Complement {
    let mut slots = vec![
        slot("power", Kind::PowerUnit, None, true),
        slot("hose-1", Kind::Hose, None, true),
        slot("hose-2", Kind::Hose, None, true),
        slot("cutter", Kind::Cutter, None, true),
        slot("spreader", Kind::Spreader, None, true),
        slot("ram-1", Kind::Ram, None, true),
        slot("ram-2", Kind::Ram, None, true),
        slot("combi", Kind::CombinationTool, None, false),
        slot("charger", Kind::Charger, None, false),
    ];
    slots.extend(
        GEAR.iter()
            .map(|gear| slot(gear.word(), Kind::Accessory, Some(*gear), *gear != Gear::GlassTools)),
    );
    Complement { slots }
}

fn ratings(kind: Kind) -> Ratings {
    let en = |value, unit| Rating::by(Figure::Quantity(Quantity::new(value, unit)), "EN 13204", "2025");
    let all: Vec<(Term, Rating)> = match kind {
        Kind::Cutter => vec![
            (Term::CutterOpening, en(205.0, Unit::Millimetre)),
            (Term::Mass, Rating::plain(39.0, Unit::Pound)),
        ],
        Kind::Spreader => vec![
            (Term::SpreadingDistance, en(28.9, Unit::Inch)),
            (Term::RatedSpreadingForce, en(44.1, Unit::Kilonewton)),
        ],
        Kind::CombinationTool => vec![
            (Term::SpreadingDistance, en(360.0, Unit::Millimetre)),
            (Term::RatedSpreadingForce, en(36.0, Unit::Kilonewton)),
            (Term::CutterOpening, en(290.0, Unit::Millimetre)),
        ],
        Kind::Hose => vec![(Term::HoseLength, Rating::plain(33.0, Unit::Foot))],
        _ => vec![],
    };
    all.into_iter().collect()
}

fn ram(short: f64, long: f64) -> Ratings {
    let en = |value, unit| Rating::by(Figure::Quantity(Quantity::new(value, unit)), "EN 13204", "2025");
    let all = [
        (Term::PushForce, en(80.0, Unit::Kilonewton)),
        (Term::RetractedLength, Rating::plain(short, Unit::Millimetre)),
        (Term::ExtendedLength, Rating::plain(long, Unit::Millimetre)),
    ];
    all.into_iter().collect()
}

pub fn hydraulic(coupling: &str, psi: f64, circuits: Option<u32>) -> Hookup {
    Hookup {
        coupling: Some(coupling.to_owned()),
        fluid: Some(Fluid::MineralOil),
        pressure: Some(Quantity::new(psi, Unit::Psi)),
        circuits,
        ..Hookup::default()
    }
}

fn battery() -> Hookup {
    Hookup {
        battery: Some("28V family".to_owned()),
        ..Hookup::default()
    }
}

pub fn piece(tag: String, number: u128, kind: Kind, hookup: Hookup, ratings: Ratings) -> Piece {
    Piece {
        id: uuid::Uuid::from_u128(number + 1),
        tag,
        kind,
        gear: None,
        hookup: Arc::new(hookup),
        ratings: Arc::new(ratings),
        rated_at: Arc::default(),
        fixed_to: None,
        state: State::InService,
        stop_use: None,
        quarantine: None,
        life: if kind == Kind::Hose {
            Life::Ends(now() + Duration::days(900))
        } else {
            Life::None
        },
        checks: [("weekly check", 5), ("annual service", 200)]
            .into_iter()
            .map(|(name, days)| DueCheck {
                name: name.to_owned(),
                due: Some(now() + Duration::days(days)),
                overdue: Overdue::AgencyGrace,
            })
            .collect(),
        limits: Vec::new(),
        last_check: Some(now() - Duration::days(2)),
        used_unchecked: None,
        used_while_out: None,
        released: None,
        looser_rules: Vec::new(),
        life_of: LifeOf::Piece,
        untried_since: None,
    }
}

/// Two pumps, six hoses, five tools, two packs, a charger and six accessories.
pub fn typical() -> Vec<Piece> {
    set("flat-face single", 10_500.0, 0)
}

fn set(coupling: &str, psi: f64, first: usize) -> Vec<Piece> {
    let wet = |circuits| hydraulic(coupling, psi, circuits);
    let mut all: Vec<(String, Kind, Hookup, Ratings)> = Vec::new();
    for n in 0..2 {
        all.push((format!("PU-{n}"), Kind::PowerUnit, wet(Some(2)), Ratings::new()));
    }
    for n in 0..6 {
        all.push((format!("HO-{n}"), Kind::Hose, wet(None), ratings(Kind::Hose)));
    }
    all.push(("CU-0".into(), Kind::Cutter, wet(None), ratings(Kind::Cutter)));
    all.push(("SP-0".into(), Kind::Spreader, wet(None), ratings(Kind::Spreader)));
    all.push(("RA-0".into(), Kind::Ram, wet(None), ram(540.0, 900.0)));
    all.push(("RA-1".into(), Kind::Ram, wet(None), ram(850.0, 1500.0)));
    all.push(("KT-0".into(), Kind::CombinationTool, battery(), ratings(Kind::CombinationTool)));
    for n in 0..2 {
        all.push((format!("BA-{n}"), Kind::Battery, battery(), Ratings::new()));
    }
    all.push(("CH-0".into(), Kind::Charger, battery(), Ratings::new()));
    let mut pieces: Vec<Piece> = all
        .into_iter()
        .enumerate()
        .map(|(n, (tag, kind, hookup, ratings))| piece(format!("{tag}-{first}"), (first + n) as u128, kind, hookup, ratings))
        .collect();
    for (n, gear) in GEAR.into_iter().enumerate() {
        let number = (first + pieces.len()) as u128;
        pieces.push(Piece {
            gear: Some(gear),
            ..piece(format!("AC-{n}-{first}"), number, Kind::Accessory, Hookup::default(), Ratings::new())
        });
    }
    pieces
}

/// A typical rig of which some pieces are away, out of service, late, or of another family.
pub fn random_rig(dice: &mut Dice, number: u64, trouble: u64) -> Vec<Piece> {
    let mut pieces = typical();
    pieces.truncate(usize::try_from(20 + dice.below(3)).unwrap());
    for n in 0..dice.below(5) {
        let more = pieces.get(usize::try_from(dice.below(20)).unwrap()).cloned().unwrap();
        pieces.push(Piece {
            tag: format!("{}-{n}", more.tag),
            ..more
        });
    }
    for (n, piece) in pieces.iter_mut().enumerate() {
        piece.id = uuid::Uuid::from_u128(u128::from(number) * 100 + n as u128 + 1);
        if dice.below(trouble * 8) == 0 {
            let hookup = Arc::make_mut(&mut piece.hookup);
            hookup.coupling = hookup.coupling.take().map(|_| "twin line".to_owned());
        }
        if dice.below(trouble * 6) == 0 {
            piece.state = State::OutOfService {
                since: now(),
                reason: "leak at handle".to_owned(),
            };
        }
        if dice.below(trouble * 5) == 0 {
            piece.checks.iter_mut().for_each(|check| check.due = Some(now() - Duration::days(3)));
        }
    }
    pieces
}

/// Rigs that ask for more work than most.
pub fn odd_rigs() -> Vec<(&'static str, Vec<Piece>)> {
    let two = [set("flat-face single", 10_500.0, 0), set("flat-face single", 10_500.0, 100)].concat();
    let families = [
        set("flat-face single", 10_500.0, 0),
        set("twin line", 10_500.0, 100),
        set("old twin line", 5_000.0, 200),
    ]
    .concat();
    let mut halves = families.clone();
    halves.retain(|piece| piece.id.as_u128() % 2 == 0 && piece.kind != Kind::CombinationTool);
    let mut late = typical();
    late.iter_mut()
        .for_each(|p| p.checks.iter_mut().for_each(|check| check.due = Some(now() - Duration::days(90))));
    // Every source, hose and tool at a pressure of its own, on one coupling.
    let nonsense = |each: usize| -> Vec<Piece> {
        let kinds = [Kind::PowerUnit, Kind::Hose, Kind::Cutter, Kind::Spreader];
        (0..4 * each)
            .map(|n| {
                let kind = kinds.into_iter().nth(n % 4).unwrap();
                let psi = 4_000.0 + 230.0 * ((n * 7) % (4 * each)) as f64;
                piece(
                    format!("N-{n:03}"),
                    n as u128,
                    kind,
                    hydraulic("one", psi, (kind == Kind::PowerUnit).then_some(2)),
                    ratings(kind),
                )
            })
            .collect()
    };
    vec![
        ("two whole sets", two),
        ("three families, whole", families),
        ("halves of three families", halves),
        ("everything overdue beyond the grace", late),
        ("each at a pressure of its own, 4 of each", nonsense(4)),
        ("each at a pressure of its own, 30 of each", nonsense(30)),
    ]
}
