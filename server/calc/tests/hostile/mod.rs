//! Rigs and grades that ask for as much work as can be: no agency has them, a register of nonsense or an ill-willed one does.

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{
    Alternative, Batteries, Complement, Cover, DueCheck, Grade, Grades, Level, Life, LifeOf, Need, Overdue, Part, Piece, Policy, RatedAt, Rig, Rules, Slot,
    State, Template,
};
use fullset_calc::hookup::{Fluid, Hookup, Mates, Outlet};
use fullset_calc::ratings::{Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use std::sync::Arc;
use uuid::Uuid;

/// A small generator of choices: the same seed gives the same rig.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n.max(1)
    }

    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[usize::try_from(self.below(all.len() as u64)).unwrap()]
    }
}

/// What a rig has too much of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Excess {
    /// Every source, hose and tool at a pressure of its own.
    Pressures,
    /// Hoses from each coupling family to each other one, families that mate with this one and that.
    Couplings,
    /// Adapters from each family to each other one, few hoses.
    Adapters,
    /// Battery tools and packs of many families.
    Packs,
    /// Pumps with outlets of four kinds, each of its own.
    Outlets,
    /// Rams rated at many pressures.
    Rams,
    /// Some of all that.
    All,
}

impl Excess {
    pub const ALL: [Self; 7] = [
        Self::Pressures,
        Self::Couplings,
        Self::Adapters,
        Self::Packs,
        Self::Outlets,
        Self::Rams,
        Self::All,
    ];
}

pub struct Hostile {
    pub pieces: Vec<Piece>,
    pub rules: Rules,
    pub complement: Complement,
    pub expects: Level,
}

impl Hostile {
    pub fn rig(&self) -> Rig<'_> {
        Rig {
            out_of_service: None,
            complement: Some(&self.complement),
            expects: Some(self.expects),
            pieces: &self.pieces,
        }
    }
}

pub fn now() -> DateTime<Utc> {
    "2026-11-25T12:00:00Z".parse().unwrap()
}

/// A rig of so many pieces that has too much of one thing, judged by the published grades or by the heaviest that can be written.
pub fn hostile(excess: Excess, count: usize, heavy: bool, seed: u64) -> Hostile {
    let mut dice = Dice(seed);
    let families = 2 + dice.below(24);
    let trouble = dice.of(&[3, 8, 1000]);
    let mut pieces: Vec<Piece> = (0..count).map(|n| piece(&mut dice, excess, n, families, trouble)).collect();
    let sources: Vec<Uuid> = pieces.iter().filter(|piece| piece.kind.is_source()).map(|piece| piece.id).collect();
    for piece in pieces.iter_mut().filter(|piece| piece.kind == Kind::Hose) {
        if excess == Excess::All && dice.one_in(5) && !sources.is_empty() {
            piece.fixed_to = Some(dice.of(&sources));
        }
    }
    let names: Vec<String> = (0..families).map(family).collect();
    let mut joined = Vec::new();
    if matches!(excess, Excess::Couplings | Excess::All) {
        for _ in 0..dice.below(3 * families) {
            joined.push((dice.below(families), dice.below(families)));
        }
    }
    let name = |n: u64| usize::try_from(n).ok().and_then(|n| names.get(n)).map_or("", String::as_str);
    let joined = joined.iter().map(|(a, b)| (name(*a), name(*b)));
    let kinds = [
        Kind::PowerUnit,
        Kind::Hose,
        Kind::Cutter,
        Kind::Spreader,
        Kind::Ram,
        Kind::CombinationTool,
        Kind::Battery,
        Kind::Charger,
    ];
    let slots = (0..40).map(|n| Slot {
        id: format!("slot-{n}"),
        name: format!("Slot {n}"),
        kinds: vec![kinds[n % kinds.len()], kinds[(n / 3) % kinds.len()]],
        required: n % 2 == 0,
        gear: None,
        minimums: Ratings::new(),
    });
    Hostile {
        complement: Complement { slots: slots.collect() },
        rules: Rules {
            grades: Some(Arc::new(if heavy { heaviest(&mut dice) } else { Template::En.grades() })),
            policy: Policy {
                batteries: dice.of(&[Batteries::AsPieces, Batteries::WhereOnRecord]),
                ..Policy::default()
            },
            mates: Arc::new(Mates::new(joined, [])),
            packs_on_record: Arc::new(names.iter().map(|name| format!("pack {name}")).collect()),
        },
        pieces,
        expects: dice.of(&[Level::Full, Level::Heavy]),
    }
}

fn family(n: u64) -> String {
    format!("family {}", char::from(b'a' + u8::try_from(n % 26).unwrap()))
}

fn piece(dice: &mut Dice, excess: Excess, n: usize, families: u64, trouble: u64) -> Piece {
    use Kind::{Adapter, Battery, CombinationTool, Cutter, HandPump, Hose, PowerUnit, Ram, Spreader};
    let as_told = if excess == Excess::All { dice.of(&Excess::ALL[..6]) } else { excess };
    let kind = match as_told {
        Excess::Pressures => dice.of(&[PowerUnit, Hose, Cutter, Spreader]),
        Excess::Couplings => dice.of(&[PowerUnit, Hose, Hose, Hose, Cutter, Spreader, Ram]),
        Excess::Adapters => dice.of(&[PowerUnit, Hose, Adapter, Adapter, Adapter, Cutter, Spreader, CombinationTool]),
        Excess::Packs => dice.of(&[Battery, Battery, CombinationTool, Cutter, Spreader, Ram]),
        Excess::Outlets => dice.of(&[PowerUnit, PowerUnit, HandPump, Hose, Hose, Cutter, Spreader, Ram]),
        Excess::Rams | Excess::All => dice.of(&[PowerUnit, Hose, Ram, Ram, Ram, Cutter, Spreader]),
    };
    let one_pressure = matches!(as_told, Excess::Couplings | Excess::Adapters);
    let psi = |dice: &mut Dice| if one_pressure { 10_000.0 } else { 4_000.0 + 60.0 * dice.below(110) as f64 };
    let own = if as_told == Excess::Pressures {
        family(0)
    } else {
        family(dice.below(families))
    };
    let wet = kind != Battery && as_told != Excess::Packs;
    let pressure = psi(dice);
    let two_ends = match kind {
        Adapter => true,
        Hose => as_told == Excess::Couplings,
        _ => false,
    };
    let outlets = if kind == PowerUnit && as_told == Excess::Outlets { 3 } else { 0 };
    let hookup = Hookup {
        coupling: wet.then_some(own),
        tool_coupling: two_ends.then(|| family(dice.below(families))),
        fluid: wet.then_some(Fluid::MineralOil),
        pressure: wet.then_some(Quantity::new(pressure, Unit::Psi)),
        allowable_pressure: (wet && kind.is_tool()).then_some(Quantity::new(12_000.0, Unit::Psi)),
        outlets: (0..outlets)
            .map(|_| Outlet {
                coupling: family(dice.below(families)),
                pressure: Quantity::new(psi(dice), Unit::Psi),
                circuits: Some(2),
            })
            .collect(),
        circuits: (kind == PowerUnit).then_some(1 + u32::try_from(dice.below(3)).unwrap()),
        battery: (!wet).then(|| format!("pack {}", family(dice.below(families)))),
    };
    // Two or three of them make 10 m, one does not.
    let ratings = ratings(kind, dice);
    let lower = if kind == Ram && as_told == Excess::Rams { 8 } else { 0 };
    let rated_at = (0..lower).map(|_| RatedAt {
        pressure: Quantity::new(4_000.0 + 60.0 * dice.below(110) as f64, Unit::Psi),
        ratings: self::ratings(kind, dice),
    });
    Piece {
        id: Uuid::from_u128(n as u128 + 1),
        tag: format!("H-{n:03}"),
        kind,
        gear: None,
        hookup: Arc::new(hookup),
        rated_at: Arc::new(rated_at.collect()),
        ratings: Arc::new(ratings),
        fixed_to: None,
        state: if dice.one_in(trouble) {
            State::OutOfService {
                since: now(),
                reason: "leak".into(),
            }
        } else {
            State::InService
        },
        stop_use: None,
        quarantine: None,
        life: Life::None,
        checks: vec![DueCheck {
            name: "annual service".into(),
            due: Some(now() + Duration::days(if dice.one_in(3) { -10 } else { 40 })),
            overdue: Overdue::AgencyGrace,
        }],
        limits: Vec::new(),
        last_check: None,
        used_unchecked: None,
        used_while_out: None,
        released: None,
        looser_rules: Vec::new(),
        life_of: LifeOf::Piece,
        untried_since: None,
    }
}

fn ratings(kind: Kind, dice: &mut Dice) -> Ratings {
    let mm = |value: f64| {
        Rating::by(
            fullset_calc::ratings::Figure::Quantity(Quantity::new(value, Unit::Millimetre)),
            "EN 13204",
            "2025",
        )
    };
    let kn = |value: f64| {
        Rating::by(
            fullset_calc::ratings::Figure::Quantity(Quantity::new(value, Unit::Kilonewton)),
            "EN 13204",
            "2025",
        )
    };
    let any = dice.below(400) as f64;
    let all: Vec<(Term, Rating)> = match kind {
        Kind::Hose => vec![(Term::HoseLength, Rating::plain(3_000.0 + any * 7.0, Unit::Millimetre))],
        Kind::Cutter => vec![(Term::CutterOpening, mm(150.0 + any))],
        Kind::Spreader => vec![(Term::SpreadingDistance, mm(700.0 + any)), (Term::RatedSpreadingForce, kn(38.0 + any / 10.0))],
        Kind::CombinationTool => vec![
            (Term::SpreadingDistance, mm(300.0 + any)),
            (Term::RatedSpreadingForce, kn(34.0 + any)),
            (Term::CutterOpening, mm(270.0 + any)),
        ],
        Kind::Ram => vec![
            (Term::PushForce, kn(55.0 + any)),
            (Term::RetractedLength, mm(450.0 + any)),
            (Term::ExtendedLength, mm(470.0 + any * 2.0)),
        ],
        _ => Vec::new(),
    };
    all.into_iter().collect()
}

/// Grades of 12 needs with 6 alternatives of 4 parts, of which some cover a range that hardly any rams cover.
fn heaviest(dice: &mut Dice) -> Grades {
    let mut grade = |at_once: u32| Grade {
        needs: (0..12)
            .map(|n| Need {
                id: format!("need-{n}"),
                name: format!("Need {n}"),
                alternatives: (0..6).map(|a| alternative(dice, n, a)).collect(),
            })
            .collect(),
        tools_at_once: at_once,
        kinds_of_drive: 1 + at_once % 3,
        spare_packs: at_once,
        line_length: Some(Quantity::new(10.0, Unit::Metre)),
        hand_pump: true,
    };
    Grades {
        limited: grade(4),
        full: grade(8),
        heavy: Some(grade(12)),
    }
}

fn alternative(dice: &mut Dice, need: u64, at: u64) -> Alternative {
    let covers = (need + at).is_multiple_of(3);
    let part = |dice: &mut Dice| Part {
        kinds: if covers {
            vec![Kind::Ram]
        } else {
            vec![dice.of(&[Kind::Cutter, Kind::Spreader, Kind::CombinationTool]), Kind::Ram]
        },
        gear: None,
        minimums: Ratings::new(),
        drives: Vec::new(),
    };
    Alternative {
        parts: (0..4).map(|_| part(dice)).collect(),
        covers: covers.then(|| Cover {
            from: Quantity::new(460.0, Unit::Millimetre),
            to: Quantity::new(1_250.0 + dice.below(60) as f64, Unit::Millimetre),
        }),
    }
}
