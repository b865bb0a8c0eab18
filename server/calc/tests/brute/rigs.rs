//! Small random rigs, wild enough that every rule bites.

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{Batteries, Complement, DueCheck, Life, Need, Notice, Piece, Policy, Rig, Slot, State};
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use proptest::prelude::*;
use std::sync::Arc;

pub fn now() -> DateTime<Utc> {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

#[derive(Clone, Debug)]
pub struct World {
    pub complement: Complement,
    pub pieces: Vec<Piece>,
    pub policy: Policy,
    pub out: Option<Notice>,
}

impl World {
    pub fn rig(&self) -> Rig<'_> {
        Rig {
            out_of_service: self.out.as_ref(),
            complement: Some(&self.complement),
            pieces: &self.pieces,
        }
    }
}

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![
        3 => Just(Kind::PowerUnit), 1 => Just(Kind::HandPump), 4 => Just(Kind::Cutter), 3 => Just(Kind::Spreader),
        2 => Just(Kind::CombinationTool), 1 => Just(Kind::Ram), 5 => Just(Kind::Hose), 2 => Just(Kind::Battery), 1 => Just(Kind::Accessory),
    ]
}

fn coupling() -> impl Strategy<Value = Option<String>> {
    prop_oneof![6 => Just(Some("Mono".to_owned())), 1 => Just(Some(" mono ".to_owned())), 3 => Just(Some("Twin".to_owned())), 1 => Just(None)]
}

fn pressure() -> impl Strategy<Value = Option<Quantity>> {
    let q = |value, unit| Just(Some(Quantity::new(value, unit)));
    prop_oneof![3 => q(720.0, Unit::Bar), 3 => q(10_500.0, Unit::Psi), 2 => q(350.0, Unit::Bar), 1 => q(63.0, Unit::Megapascal), 1 => Just(None)]
}

fn hookup(kind: Kind) -> impl Strategy<Value = Hookup> {
    let fluid = prop_oneof![8 => Just(Some(Fluid::MineralOil)), 2 => Just(Some(Fluid::PhosphateEster)), 1 => Just(None)];
    let battery = prop_oneof![6 => Just(None), 2 => Just(Some("28V".to_owned())), 1 => Just(Some("60V".to_owned()))];
    let other = prop_oneof![4 => Just(None), 1 => Just(Some("twin".to_owned())), 1 => Just(Some("mono".to_owned()))];
    (
        coupling(),
        other,
        fluid,
        pressure(),
        prop_oneof![Just(None), Just(Some(1)), Just(Some(2))],
        battery,
        any::<bool>(),
    )
        .prop_map(move |(coupling, other, fluid, pressure, circuits, battery, hybrid)| {
            let driven = kind.is_tool() && battery.is_some() && !hybrid;
            let bare = driven || matches!(kind, Kind::Battery | Kind::Accessory);
            Hookup {
                coupling: if bare { None } else { coupling },
                tool_coupling: if kind == Kind::Hose { other } else { None },
                fluid: if bare { None } else { fluid },
                pressure: if bare { None } else { pressure },
                circuits: if kind == Kind::PowerUnit { circuits } else { None },
                battery: if kind.is_tool() || kind == Kind::Battery { battery } else { None },
            }
        })
}

fn instant() -> impl Strategy<Value = DateTime<Utc>> {
    prop_oneof![
        (-6_i64..10).prop_map(|days| now() + Duration::days(days)),
        (-40_i64..40).prop_map(|hours| now() + Duration::hours(hours))
    ]
}

fn piece() -> impl Strategy<Value = Piece> {
    let state = prop_oneof![6 => Just(State::InService), 2 => Just(State::OutOfService { since: now() - Duration::days(2), reason: "leak".to_owned() })];
    let stop = prop_oneof![12 => Just(None), 1 => Just(Some(Notice { since: now() - Duration::days(1), words: "notice 7".to_owned() }))];
    let life = prop_oneof![8 => Just(Life::None), 3 => instant().prop_map(Life::Ends), 1 => Just(Life::Unknown)];
    let check = (prop_oneof![Just("weekly check"), Just("annual check")], instant()).prop_map(|(name, due)| DueCheck { name: name.to_owned(), due });
    let mass = prop_oneof![Just(None), (10_u32..30).prop_map(Some)];
    let checks = prop_oneof![4 => Just(Vec::new()), 2 => prop::collection::vec(check, 1..3)];
    (kind(), 0_u32..40, state, stop, life, checks, mass, 0_u128..1_000_000).prop_flat_map(|(kind, tag, state, stop_use, life, checks, mass, id)| {
        hookup(kind).prop_map(move |hookup| Piece {
            id: uuid::Uuid::from_u128(id),
            tag: format!("T-{tag}"),
            kind,
            hookup: Arc::new(hookup),
            ratings: Arc::new(mass.map(|kg| (Term::Mass, Rating::plain(f64::from(kg), Unit::Kilogram))).into_iter().collect()),
            state: state.clone(),
            stop_use: stop_use.clone(),
            life,
            checks: checks.clone(),
        })
    })
}

fn slot() -> impl Strategy<Value = Slot> {
    use Kind::{Accessory, Battery, CombinationTool, Cutter, HandPump, Hose, PowerUnit, Ram, Spreader};
    let kinds = prop_oneof![
        3 => Just(vec![PowerUnit]), 1 => Just(vec![PowerUnit, HandPump]), 1 => Just(vec![HandPump, Battery]), 1 => Just(vec![PowerUnit, Cutter]),
        3 => Just(vec![Hose]), 2 => Just(vec![Cutter]), 2 => Just(vec![Cutter, CombinationTool]), 2 => Just(vec![Spreader, CombinationTool]),
        1 => Just(vec![Ram, Spreader]), 1 => Just(vec![Battery]), 1 => Just(vec![Accessory, Hose]),
    ];
    let need = prop_oneof![Just(Need::Core), Just(Need::Required), Just(Need::Required), Just(Need::Optional)];
    let most = prop_oneof![4 => Just(None), 1 => (12_u32..30).prop_map(Some)];
    (kinds, need, most).prop_map(|(kinds, need, most)| Slot {
        id: String::new(),
        name: String::new(),
        kinds,
        need,
        minimums: most
            .map(|kg| (Term::Mass, Rating::plain(f64::from(kg), Unit::Kilogram)))
            .into_iter()
            .collect::<Ratings>(),
    })
}

/// Most pieces of a tame rig fit each other and are in service, so that full rigs and spare pieces come up too.
fn tamed(mut world: World, salt: u8) -> World {
    for (n, piece) in world.pieces.iter_mut().enumerate() {
        let dice = (n * 7 + usize::from(salt)) % 10;
        if dice < 7 {
            let hookup = Arc::make_mut(&mut piece.hookup);
            if hookup.coupling.is_some() {
                (hookup.coupling, hookup.tool_coupling, hookup.fluid) = (Some("mono".to_owned()), None, Some(Fluid::MineralOil));
                hookup.pressure = Some(Quantity::new(720.0, Unit::Bar));
            }
        }
        if dice != 3 && dice != 8 {
            (piece.state, piece.stop_use, piece.life) = (State::InService, None, Life::None);
            piece.checks.retain(|c| c.due > now());
        }
        piece.kind = match (n, piece.kind) {
            (0, kind) if !kind.is_source() => Kind::PowerUnit,
            (1, kind) if dice < 7 && kind != Kind::Hose => Kind::Hose,
            (_, kind) => kind,
        };
        if n < 2 && piece.hookup.coupling.is_none() {
            piece.hookup = Arc::new(Hookup {
                coupling: Some("mono".to_owned()),
                fluid: Some(Fluid::MineralOil),
                pressure: Some(Quantity::new(720.0, Unit::Bar)),
                circuits: if n == 0 { Some(2) } else { None },
                ..Hookup::default()
            });
        }
    }
    for slot in world.complement.slots.iter_mut().skip(1) {
        slot.minimums = Ratings::new();
    }
    world.complement.simultaneous_min = world.complement.simultaneous_min.min(2);
    world.out = None;
    world
}

pub fn world(pieces: usize, slots: usize) -> impl Strategy<Value = World> {
    prop_oneof![
        wild(pieces, slots),
        (wild(pieces, slots), any::<u8>()).prop_map(|(world, salt)| tamed(world, salt))
    ]
}

fn wild(pieces: usize, slots: usize) -> impl Strategy<Value = World> {
    let policy = (
        prop_oneof![Just(None), Just(Some(0)), Just(Some(3))],
        prop_oneof![Just(Batteries::WithTool), Just(Batteries::AsPieces)],
        prop_oneof![Just(0.01), Just(0.0)],
    );
    let out = prop_oneof![9 => Just(None), 1 => Just(Some(Notice { since: now(), words: "brakes".to_owned() }))];
    (
        prop::collection::vec(piece(), 0..=pieces),
        prop::collection::vec(slot(), 0..=slots),
        0_u32..4,
        policy,
        out,
    )
        .prop_map(
            |(mut pieces, mut slots, simultaneous_min, (overdue_grace_days, batteries, pressure_tolerance), out)| {
                for (n, slot) in slots.iter_mut().enumerate() {
                    (slot.id, slot.name) = (format!("s{n}"), format!("Slot {n}"));
                }
                for (n, piece) in pieces.iter_mut().enumerate() {
                    piece.id = uuid::Uuid::from_u128(piece.id.as_u128() * 100 + n as u128);
                }
                World {
                    complement: Complement { simultaneous_min, slots },
                    pieces,
                    policy: Policy {
                        overdue_grace_days,
                        batteries,
                        pressure_tolerance,
                        ..Policy::default()
                    },
                    out,
                }
            },
        )
}

/// Sources, hoses, tools and packs that mostly fit each other, at several pressures.
pub fn driving(pieces: usize) -> impl Strategy<Value = World> {
    let kind = prop_oneof![3 => Just(Kind::PowerUnit), 1 => Just(Kind::HandPump), 5 => Just(Kind::Hose), 5 => Just(Kind::Cutter), 1 => Just(Kind::Battery)];
    let name = || prop_oneof![5 => Just("mono"), 1 => Just("twin")];
    let bar = prop_oneof![2 => Just(720.0), 1 => Just(350.0), 1 => Just(500.0)];
    let fluid = prop_oneof![9 => Just(Fluid::MineralOil), 1 => Just(Fluid::PhosphateEster)];
    let battery = prop_oneof![4 => Just(None), 1 => Just(Some("28V".to_owned()))];
    let part = (kind, name(), name(), bar, fluid, 1_u32..4, battery).prop_map(|(kind, coupling, other, bar, fluid, circuits, battery)| {
        let hookup = Hookup {
            coupling: Some(coupling.to_owned()),
            tool_coupling: (kind == Kind::Hose).then(|| other.to_owned()),
            fluid: Some(fluid),
            pressure: Some(Quantity::new(bar, Unit::Bar)),
            circuits: Some(circuits),
            battery,
        };
        (kind, hookup)
    });
    (
        prop::collection::vec(part, 0..=pieces),
        prop_oneof![Just(Batteries::WithTool), Just(Batteries::AsPieces)],
    )
        .prop_map(|(parts, batteries)| {
            let pieces = parts.into_iter().enumerate().map(|(n, (kind, hookup))| Piece {
                id: uuid::Uuid::from_u128(n as u128),
                tag: format!("T-{n}"),
                kind,
                hookup: Arc::new(hookup),
                ratings: Arc::default(),
                state: State::InService,
                stop_use: None,
                life: Life::None,
                checks: Vec::new(),
            });
            World {
                complement: Complement::default(),
                pieces: pieces.collect(),
                policy: Policy {
                    batteries,
                    ..Policy::default()
                },
                out: None,
            }
        })
}
