//! How long answers take: `cargo bench -p fullset-calc`. Plain timing, no dependency; fails nothing.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss, clippy::cast_possible_truncation)]

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Complement, DueCheck, Level, Life, Need, Piece, Policy, Rig, Slot, State, Voice, assess, level};
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{CuttingLevels, Figure, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit, Units};
use std::collections::BTreeMap;
use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

/// A small generator, so that every run sees the same rigs.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

fn now() -> DateTime<Utc> {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

fn rating(value: f64, unit: Unit) -> Rating {
    Rating::by(Figure::Quantity(Quantity::new(value, unit)), "NFPA 1936", "2015")
}

fn complement() -> Complement {
    let levels = Rating::by(Figure::Levels(CuttingLevels::parse("A7/B8/C7/D8/E9").unwrap()), "NFPA 1936", "2015");
    let slot = |id: &str, kinds: &[Kind], need, minimums: Vec<(Term, Rating)>| Slot {
        id: id.to_owned(),
        name: id.to_owned(),
        kinds: kinds.to_vec(),
        need,
        minimums: minimums.into_iter().collect(),
    };
    Complement {
        simultaneous_min: 2,
        slots: vec![
            slot("power", &[Kind::PowerUnit], Need::Core, vec![]),
            slot("hose-1", &[Kind::Hose], Need::Core, vec![(Term::HoseLength, Rating::plain(30.0, Unit::Foot))]),
            slot(
                "hose-2",
                &[Kind::Hose],
                Need::Required,
                vec![(Term::HoseLength, Rating::plain(30.0, Unit::Foot))],
            ),
            slot(
                "cutter",
                &[Kind::Cutter],
                Need::Core,
                vec![(Term::CutterOpening, rating(7.0, Unit::Inch)), (Term::CuttingLevels, levels)],
            ),
            slot(
                "spreader",
                &[Kind::Spreader],
                Need::Core,
                vec![
                    (Term::LowestSpreadingForce, rating(9900.0, Unit::PoundForce)),
                    (Term::SpreadingDistance, rating(28.0, Unit::Inch)),
                ],
            ),
            slot(
                "ram-long",
                &[Kind::Ram],
                Need::Required,
                vec![
                    (Term::PushForce, rating(23_000.0, Unit::PoundForce)),
                    (Term::ExtendedLength, Rating::plain(50.0, Unit::Inch)),
                ],
            ),
            slot(
                "ram-short",
                &[Kind::Ram],
                Need::Required,
                vec![(Term::RetractedLength, Rating::plain(21.0, Unit::Inch))],
            ),
            slot("combi", &[Kind::CombinationTool, Kind::Cutter], Need::Optional, vec![]),
            slot("chains", &[Kind::Accessory], Need::Optional, vec![]),
            slot("charger", &[Kind::Charger], Need::Optional, vec![]),
        ],
    }
}

/// One catalogue entry: many pieces share it.
struct Model {
    kind: Kind,
    hookup: Arc<Hookup>,
    ratings: Arc<Ratings>,
}

fn model(kind: Kind, twin: bool, psi: bool) -> Model {
    let hydraulic = !matches!(kind, Kind::Accessory | Kind::Charger | Kind::Battery);
    let hookup = Hookup {
        coupling: hydraulic.then(|| if twin { "twin line".to_owned() } else { "flat-face single".to_owned() }),
        fluid: hydraulic.then_some(Fluid::MineralOil),
        pressure: hydraulic.then(|| {
            if psi {
                Quantity::new(10_500.0, Unit::Psi)
            } else {
                Quantity::new(720.0, Unit::Bar)
            }
        }),
        circuits: (kind == Kind::PowerUnit).then_some(2),
        battery: (kind == Kind::CombinationTool).then(|| "28V family".to_owned()),
        ..Hookup::default()
    };
    let levels = Rating::by(Figure::Levels(CuttingLevels::parse("A8/B9/C8/D9/E9").unwrap()), "NFPA 1936", "2015");
    let ratings: Vec<(Term, Rating)> = match kind {
        Kind::Cutter => vec![
            (Term::CutterOpening, rating(8.1, Unit::Inch)),
            (Term::CuttingLevels, levels),
            (Term::Mass, Rating::plain(39.0, Unit::Pound)),
        ],
        Kind::Spreader => vec![
            (Term::LowestSpreadingForce, rating(44.1, Unit::Kilonewton)),
            (Term::SpreadingDistance, rating(28.9, Unit::Inch)),
        ],
        Kind::Ram => vec![
            (Term::PushForce, rating(30_000.0, Unit::PoundForce)),
            (Term::ExtendedLength, Rating::plain(51.0, Unit::Inch)),
            (Term::RetractedLength, Rating::plain(20.0, Unit::Inch)),
        ],
        Kind::Hose => vec![(Term::HoseLength, Rating::plain(32.0, Unit::Foot))],
        _ => vec![],
    };
    Model {
        kind,
        hookup: Arc::new(hookup),
        ratings: Arc::new(ratings.into_iter().collect::<Ratings>()),
    }
}

/// Four models of each kind.
fn catalogue() -> Vec<Model> {
    let each = |kind: &Kind| [(false, false), (false, true), (true, false), (true, true)].map(|(twin, psi)| model(*kind, twin, psi));
    Kind::ALL.iter().flat_map(each).collect()
}

fn rig(dice: &mut Dice, catalogue: &[Model], number: u64, trouble: u64) -> Vec<Piece> {
    let kinds = [
        Kind::PowerUnit,
        Kind::Hose,
        Kind::Hose,
        Kind::Hose,
        Kind::Cutter,
        Kind::Spreader,
        Kind::Ram,
        Kind::Ram,
        Kind::CombinationTool,
        Kind::Accessory,
        Kind::Charger,
        Kind::Battery,
        Kind::Battery,
        Kind::Cutter,
    ];
    let carried = usize::try_from(11 + dice.below(4)).unwrap();
    let mut pieces = Vec::new();
    for (n, kind) in kinds.into_iter().take(carried).enumerate() {
        let (twin, psi) = (dice.below(trouble * 6) == 0, dice.below(2) == 0);
        let wanted = usize::from(twin) * 2 + usize::from(psi);
        let Model { kind, hookup, ratings } = catalogue.iter().filter(|m| m.kind == kind).nth(wanted).unwrap();
        let out = dice.below(trouble * 4) == 0;
        let late = dice.below(trouble * 5) == 0;
        let due = |days: i64| now() + Duration::days(if late { -days } else { days });
        pieces.push(Piece {
            id: uuid::Uuid::from_u128(u128::from(number) * 100 + n as u128),
            tag: format!("HT-{number:05}-{n:02}"),
            kind: *kind,
            hookup: Arc::clone(hookup),
            ratings: Arc::clone(ratings),
            state: if out {
                State::OutOfService {
                    since: now(),
                    reason: "leak at handle".to_owned(),
                }
            } else {
                State::InService
            },
            stop_use: None,
            life: if *kind == Kind::Hose {
                Life::Ends(now() + Duration::days(900))
            } else {
                Life::None
            },
            checks: vec![
                DueCheck {
                    name: "weekly check".to_owned(),
                    due: due(5),
                },
                DueCheck {
                    name: "annual check".to_owned(),
                    due: now() + Duration::days(200),
                },
            ],
        });
    }
    pieces
}

fn main() {
    let (complement, policy, voice) = (complement(), Policy::default(), Voice::utc(Units::Us));
    let catalogue = catalogue();
    for trouble in [3, 1000] {
        let mut dice = Dice(7);
        let rigs: Vec<Vec<Piece>> = (0..10_000).map(|n| rig(&mut dice, &catalogue, n, trouble)).collect();
        let rigs: Vec<Rig<'_>> = rigs
            .iter()
            .map(|pieces| Rig {
                out_of_service: None,
                complement: Some(&complement),
                pieces,
            })
            .collect();
        let mut levels = BTreeMap::<Level, usize>::new();
        for rig in &rigs {
            *levels.entry(level(rig, &policy, now()).level).or_default() += 1;
        }
        println!("{} rigs of 11 to 14 pieces and 10 slots, levels {levels:?}", rigs.len());
        let best_of = |work: &dyn Fn()| {
            let times = (0..7).map(|_| {
                let start = Instant::now();
                work();
                start.elapsed()
            });
            times.min().unwrap()
        };
        let quick = best_of(&|| {
            for rig in &rigs {
                black_box(level(black_box(rig), &policy, now()));
            }
        });
        println!(
            "  level and fillings, all rigs: {:.1} ms, {:.2} us each",
            quick.as_secs_f64() * 1e3,
            quick.as_secs_f64() * 1e6 / rigs.len() as f64
        );
        let whole = best_of(&|| {
            for rig in &rigs {
                black_box(assess(black_box(rig), &policy, now(), &voice));
            }
        });
        println!(
            "  whole answer, all rigs: {:.1} ms, {:.2} us each",
            whole.as_secs_f64() * 1e3,
            whole.as_secs_f64() * 1e6 / rigs.len() as f64
        );
        let mut each: Vec<f64> = rigs
            .iter()
            .map(|rig| {
                let start = Instant::now();
                black_box(assess(black_box(rig), &policy, now(), &voice));
                start.elapsed().as_secs_f64() * 1e6
            })
            .collect();
        each.sort_by(f64::total_cmp);
        let share = |part: usize| each.get(each.len() * part / 1000).copied().unwrap_or_default();
        println!(
            "  whole answer, one rig: median {:.1} us, 95 % {:.1} us, 99.9 % {:.1} us, longest {:.1} us",
            share(500),
            share(950),
            share(999),
            each.last().unwrap()
        );
    }
    odd_rigs(&complement, &catalogue, &policy, &voice);
}

/// Rigs that ask for more work than most: nothing aboard, everything overdue, many alike, many different.
fn odd_rigs(complement: &Complement, catalogue: &[Model], policy: &Policy, voice: &Voice<'_>) {
    let piece = |n: usize, kind: Kind, wanted: usize, due: i64| {
        let Model { kind, hookup, ratings } = catalogue.iter().filter(|m| m.kind == kind).nth(wanted).unwrap();
        Piece {
            id: uuid::Uuid::from_u128(n as u128),
            tag: format!("HT-{n:03}"),
            kind: *kind,
            hookup: Arc::clone(hookup),
            ratings: Arc::clone(ratings),
            state: State::InService,
            stop_use: None,
            life: Life::None,
            checks: vec![DueCheck {
                name: "weekly check".to_owned(),
                due: now() + Duration::days(due),
            }],
        }
    };
    let set = [Kind::PowerUnit, Kind::Hose, Kind::Hose, Kind::Cutter, Kind::Spreader, Kind::Ram, Kind::Ram];
    let sets = |families: &[usize], due: i64| -> Vec<Piece> {
        families
            .iter()
            .flat_map(|f| set.map(|kind| (*f, kind)))
            .enumerate()
            .map(|(n, (f, kind))| piece(n, kind, f, due))
            .collect()
    };
    let battery = |n: usize| -> Vec<Piece> { (0..n).map(|i| piece(i, Kind::CombinationTool, 0, 5)).collect() };
    let heavy = Complement {
        simultaneous_min: 4,
        ..complement.clone()
    };
    let any_tool = Slot {
        kinds: vec![Kind::CombinationTool, Kind::Cutter],
        need: Need::Core,
        minimums: Ratings::new(),
        ..complement.slots.first().unwrap().clone()
    };
    let light = Complement {
        simultaneous_min: 1,
        slots: vec![any_tool],
    };
    // Every source, hose and tool at a pressure of its own, on one coupling.
    let nonsense = |each: usize| -> Vec<Piece> {
        let kinds = [Kind::PowerUnit, Kind::Hose, Kind::Cutter];
        let at = |n: usize| Hookup {
            coupling: Some("one".to_owned()),
            fluid: Some(Fluid::MineralOil),
            pressure: Some(Quantity::new(300.0 + 17.0 * ((n * 7) % (3 * each)) as f64, Unit::Bar)),
            circuits: Some(2),
            ..Hookup::default()
        };
        (0..3 * each)
            .map(|n| Piece {
                hookup: Arc::new(at(n)),
                kind: kinds.into_iter().nth(n % 3).unwrap(),
                ..piece(n, Kind::PowerUnit, 0, 5)
            })
            .collect()
    };
    let many = |id: &str, kind| Slot {
        id: id.to_owned(),
        kinds: vec![kind],
        need: Need::Required,
        minimums: Ratings::new(),
        name: id.to_owned(),
    };
    let wild = Complement {
        simultaneous_min: 6,
        slots: (0..6)
            .map(|n| many(&format!("p{n}"), Kind::PowerUnit))
            .chain((0..6).map(|n| many(&format!("c{n}"), Kind::Cutter)))
            .collect(),
    };
    let cases: [(&str, &Complement, Vec<Piece>); 12] = [
        ("nonsense, 3 of each", &wild, nonsense(3)),
        ("nonsense, 6 of each", &wild, nonsense(6)),
        ("nonsense, 15 of each", &wild, nonsense(15)),
        ("nonsense, 40 of each", &wild, nonsense(40)),
        ("nothing aboard", complement, vec![]),
        ("nothing aboard, four tools at once wanted", &heavy, vec![]),
        ("everything overdue", complement, sets(&[0], -3)),
        ("two whole sets", complement, sets(&[0, 0], 5)),
        ("two families, whole", complement, sets(&[0, 2], 5)),
        ("three sets, four tools at once wanted", &heavy, sets(&[0, 1, 2], 5)),
        ("half of three sets", &heavy, sets(&[0, 1, 2], 5).into_iter().step_by(2).collect()),
        ("twelve like battery tools, one slot", &light, battery(12)),
    ];
    println!("odd rigs, whole answer, best of 20");
    for (name, complement, pieces) in &cases {
        let rig = Rig {
            out_of_service: None,
            complement: Some(complement),
            pieces,
        };
        let answer = assess(&rig, policy, now(), voice);
        let time = (0..20).map(|_| {
            let start = Instant::now();
            black_box(assess(black_box(&rig), policy, now(), voice));
            start.elapsed()
        });
        let time = time.min().unwrap().as_secs_f64() * 1e6;
        let (margin, acts) = (answer.margin.map_or_else(|| "-".to_owned(), |m| m.to_string()), answer.restore.len());
        println!(
            "  {name}: {time:.1} us; {}, margin {margin}, {acts} acts, smallest for certain: {}",
            answer.level.name(),
            answer.restore_is_smallest
        );
    }
}
