//! Pieces as an officer would describe them. Each is sound, rated as the EN template asks and confirmed, until something is said of it.

use chrono::{DateTime, Duration, Utc};
use fullset_calc::capability::{DueCheck, Life, LifeOf, Limit, Notice, Overdue, Piece, RatedAt, State};
use fullset_calc::hookup::{Fluid, Hookup};
use fullset_calc::ratings::{Figure, Gear, Kind, Rating, Ratings, Term};
use fullset_calc::units::{Quantity, Unit};
use std::sync::Arc;
use uuid::Uuid;

pub fn t(text: &str) -> DateTime<Utc> {
    format!("{text}Z").parse().unwrap()
}

/// The morning on which every scene plays.
pub fn now() -> DateTime<Utc> {
    t("2026-11-26T07:00:00")
}

pub fn notice(words: &str) -> Notice {
    Notice {
        since: now() - Duration::days(1),
        words: words.into(),
    }
}

pub fn bar(value: f64) -> Quantity {
    Quantity::new(value, Unit::Bar)
}

pub fn psi(value: f64) -> Quantity {
    Quantity::new(value, Unit::Psi)
}

pub fn en(value: f64, unit: Unit) -> Rating {
    Rating::by(Figure::Quantity(Quantity::new(value, unit)), "EN 13204", "2025")
}

pub fn nfpa(value: f64, unit: Unit) -> Rating {
    Rating::by(Figure::Quantity(Quantity::new(value, unit)), "NFPA 1936", "2015")
}

pub fn id(tag: &str) -> Uuid {
    Uuid::from_u128(tag.bytes().fold(7, |n, b| n * 257 + u128::from(b)))
}

fn due_in(days: i64) -> DueCheck {
    DueCheck {
        name: "annual service".into(),
        due: Some(now() + Duration::days(days)),
        overdue: Overdue::AgencyGrace,
    }
}

pub fn piece(tag: &str, kind: Kind, hookup: Hookup) -> Piece {
    Piece {
        id: id(tag),
        tag: tag.into(),
        kind,
        gear: None,
        hookup: Arc::new(hookup),
        ratings: Arc::default(),
        rated_at: Arc::default(),
        fixed_to: None,
        state: State::InService,
        stop_use: None,
        quarantine: None,
        life: Life::None,
        checks: vec![due_in(90)],
        limits: Vec::new(),
        last_check: Some(now() - Duration::days(275)),
        used_unchecked: None,
        used_while_out: None,
        released: None,
        looser_rules: Vec::new(),
        life_of: LifeOf::Piece,
        untried_since: None,
    }
}

/// One coupling family, mineral oil, 720 bar.
pub fn wet() -> Hookup {
    Hookup {
        coupling: Some("Mono".into()),
        fluid: Some(Fluid::MineralOil),
        pressure: Some(bar(720.0)),
        ..Hookup::default()
    }
}

pub fn pump(tag: &str, circuits: u32) -> Piece {
    piece(tag, Kind::PowerUnit, wet()).wired(|h| h.circuits = Some(circuits))
}

pub fn hand_pump(tag: &str) -> Piece {
    piece(tag, Kind::HandPump, wet())
}

pub fn hose(tag: &str, length: f64) -> Piece {
    piece(tag, Kind::Hose, wet())
        .rated(Term::HoseLength, Rating::plain(length, Unit::Metre))
        .but(|p| p.life = Life::Ends(t("2034-05-01T00:00:00")))
}

pub fn adapter(tag: &str, from: &str, to: &str) -> Piece {
    piece(tag, Kind::Adapter, wet()).coupled(from).wired(|h| h.tool_coupling = Some(to.into()))
}

/// CU2: 180 mm between the tips.
pub fn cutter(tag: &str) -> Piece {
    piece(tag, Kind::Cutter, wet()).rated(Term::CutterOpening, en(180.0, Unit::Millimetre))
}

/// SP3: 720 mm, 40 kN.
pub fn spreader(tag: &str) -> Piece {
    piece(tag, Kind::Spreader, wet())
        .rated(Term::SpreadingDistance, en(720.0, Unit::Millimetre))
        .rated(Term::RatedSpreadingForce, en(40.0, Unit::Kilonewton))
}

/// CT3: 350 mm, 35 kN, opening 280 mm.
pub fn combi(tag: &str) -> Piece {
    piece(tag, Kind::CombinationTool, wet())
        .rated(Term::SpreadingDistance, en(350.0, Unit::Millimetre))
        .rated(Term::RatedSpreadingForce, en(35.0, Unit::Kilonewton))
        .rated(Term::CutterOpening, en(280.0, Unit::Millimetre))
}

/// 60 kN, from one length to another in mm.
pub fn ram(tag: &str, from: f64, to: f64) -> Piece {
    piece(tag, Kind::Ram, wet())
        .rated(Term::PushForce, en(60.0, Unit::Kilonewton))
        .rated(Term::RetractedLength, Rating::plain(from, Unit::Millimetre))
        .rated(Term::ExtendedLength, Rating::plain(to, Unit::Millimetre))
}

pub fn pack(tag: &str) -> Piece {
    let family = Hookup {
        battery: Some("28V".into()),
        ..Hookup::default()
    };
    piece(tag, Kind::Battery, family)
}

pub fn gear(tag: &str, which: Option<Gear>) -> Piece {
    piece(tag, Kind::Accessory, Hookup::default()).but(|p| p.gear = which)
}

/// A pump of two circuits, two hoses of 10 m, cutter, spreader and one ram: what the EN template calls full.
pub fn set() -> Vec<Piece> {
    vec![
        pump("PU-1", 2),
        hose("HO-1", 10.0),
        hose("HO-2", 10.0),
        cutter("CU-1"),
        spreader("SP-1"),
        ram("RA-1", 650.0, 1500.0),
    ]
}

/// The same with one hose alone, so that everything hangs on it.
pub fn on_one_hose() -> Vec<Piece> {
    set().into_iter().filter(|p| p.tag != "HO-2").collect()
}

/// The set with something said of every piece.
pub fn set_where(change: impl Fn(Piece) -> Piece) -> Vec<Piece> {
    set().into_iter().map(change).collect()
}

/// The pieces with something said of one of them.
pub fn but(pieces: Vec<Piece>, tag: &str, change: impl FnOnce(Piece) -> Piece) -> Vec<Piece> {
    let at = pieces.iter().position(|p| p.tag == tag).unwrap();
    let mut pieces = pieces;
    let piece = pieces.remove(at);
    pieces.insert(at, change(piece));
    pieces
}

pub fn without(pieces: Vec<Piece>, tag: &str) -> Vec<Piece> {
    assert!(pieces.iter().any(|p| p.tag == tag));
    pieces.into_iter().filter(|p| p.tag != tag).collect()
}

pub fn and(pieces: Vec<Piece>, more: impl IntoIterator<Item = Piece>) -> Vec<Piece> {
    pieces.into_iter().chain(more).collect()
}

/// What is said of a piece.
pub trait Said: Sized {
    fn but(self, change: impl FnOnce(&mut Piece)) -> Self;

    fn wired(self, change: impl FnOnce(&mut Hookup)) -> Self {
        self.but(|p| change(Arc::make_mut(&mut p.hookup)))
    }

    fn rated(self, term: Term, rating: Rating) -> Self {
        self.but(|p| {
            Arc::make_mut(&mut p.ratings).set(term, rating);
        })
    }

    fn unrated(self) -> Self {
        self.but(|p| p.ratings = Arc::default())
    }

    fn rated_at(self, pressure: Quantity, ratings: Ratings) -> Self {
        self.but(|p| p.rated_at = Arc::new(vec![RatedAt { pressure, ratings }]))
    }

    fn coupled(self, family: &str) -> Self {
        self.wired(|h| h.coupling = Some(family.into()))
    }

    fn at(self, pressure: Quantity) -> Self {
        self.wired(|h| h.pressure = Some(pressure))
    }

    fn filled_with(self, fluid: Option<Fluid>) -> Self {
        self.wired(|h| h.fluid = fluid)
    }

    /// A tool that runs on packs and on nothing else; a pack of another family.
    fn on_battery(self, family: &str) -> Self {
        self.wired(|h| {
            *h = Hookup {
                battery: Some(family.into()),
                ..Hookup::default()
            }
        })
    }

    fn out(self) -> Self {
        self.but(|p| {
            p.state = State::OutOfService {
                since: now() - Duration::hours(17),
                reason: "leak at the handle".into(),
            }
        })
    }

    fn missing(self) -> Self {
        self.but(|p| {
            p.state = State::Missing {
                since: now() - Duration::days(3),
            }
        })
    }

    fn ends(self, at: DateTime<Utc>) -> Self {
        self.but(|p| p.life = Life::Ends(at))
    }

    fn due(self, at: DateTime<Utc>) -> Self {
        self.but(|p| {
            p.checks = vec![DueCheck {
                name: "annual service".into(),
                due: Some(at),
                overdue: Overdue::AgencyGrace,
            }]
        })
    }

    /// It must have a check, and nobody knows when the last one was.
    fn undated(self) -> Self {
        self.but(|p| {
            p.checks = vec![DueCheck {
                name: "annual service".into(),
                due: None,
                overdue: Overdue::AgencyGrace,
            }];
            p.last_check = None;
        })
    }

    fn unplanned(self) -> Self {
        self.but(|p| (p.checks, p.last_check) = (Vec::new(), None))
    }

    fn limited(self, repair_by: Option<DateTime<Utc>>, without: &[Term]) -> Self {
        self.but(|p| {
            p.limits.push(Limit {
                since: now() - Duration::days(2),
                what: String::new(),
                words: "blade chipped: sheet metal only".into(),
                repair_by,
                without: without.to_vec(),
                own_rule: None,
            })
        })
    }

    fn used(self) -> Self {
        self.but(|p| p.used_unchecked = Some(now() - Duration::hours(5)))
    }

    /// It came aboard, and nobody has tried it there.
    fn untried(self) -> Self {
        self.but(|p| p.untried_since = Some(now() - Duration::hours(2)))
    }
}

impl Said for Piece {
    fn but(mut self, change: impl FnOnce(&mut Piece)) -> Self {
        change(&mut self);
        self
    }
}
