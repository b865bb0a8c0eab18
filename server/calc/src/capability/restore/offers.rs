//! Pieces that could be put aboard. Each is thought of as one that just does: a tool meets its part's minimums and no more, on a
//! family that is aboard. Which model that is, this module refuses to know.

use super::super::board::Board;
use super::super::grade::{Drive, Need, Part};
use super::super::input::{Batteries, DueCheck, Life, Piece, State};
use super::super::wire::{Act, ActKind, Level};
use super::super::words::{self, Voice};
use crate::hookup::{Fluid, Hookup, fold};
use crate::ratings::{Better, Figure, Kind, Rating, Ratings, Term};
use crate::sets::CAPACITY;
use crate::units::{Quantity, Unit};
use std::sync::Arc;
use uuid::Uuid;

/// Further pieces of one sort that serve no need themselves, at most.
const COPIES: usize = 4;

/// The coupling that stands in where none is known.
const TO_BE_CHOSEN: &str = "one coupling family and fluid";

/// A coupling and fluid at the operating pressure of a source.
#[derive(Clone)]
struct Family {
    coupling: String,
    fluid: Fluid,
    pressure: Quantity,
}

impl Family {
    fn is(&self, coupling: &str, fluid: Fluid) -> bool {
        self.fluid == fluid && fold(&self.coupling) == fold(coupling)
    }
}

/// One piece that could be put aboard.
pub(super) struct Offer {
    pub piece: Piece,
    need: Option<(String, String)>,
    minimums: Ratings,
}

/// All of them.
pub(super) struct Offers {
    pub all: Vec<Offer>,
    /// Whether all found room.
    pub is_whole: bool,
}

impl Offers {
    pub(super) fn new(board: &Board<'_>, target: Level) -> Self {
        let mut list = List {
            all: Vec::new(),
            families: families(board),
            packs: battery_families(board),
            line_length: board
                .grades
                .iter()
                .filter(|grade| grade.level <= target)
                .filter_map(|grade| grade.grade.line_length)
                .max_by(|a, b| a.si().total_cmp(&b.si())),
        };
        list.tools(board, target);
        list.lines(board, target);
        let room = CAPACITY.saturating_sub(board.pieces.len());
        let is_whole = list.all.len() <= room;
        list.all.truncate(room);
        Self { all: list.all, is_whole }
    }
}

struct List {
    all: Vec<Offer>,
    families: Vec<Family>,
    packs: Vec<String>,
    line_length: Option<Quantity>,
}

impl List {
    fn add(&mut self, kind: Kind, hookup: Hookup, ratings: Ratings, part: Option<(&Need, &Part)>) {
        let number = self.all.len();
        let minimums = part.map_or_else(Ratings::new, |(_, part)| part.minimums.clone());
        self.all.push(Offer {
            piece: Piece {
                id: Uuid::from_u128(u128::try_from(number).unwrap_or_default() + 1),
                // After every tag that people give.
                tag: format!("\u{10FFFF}{number:04}"),
                kind,
                gear: part.and_then(|(_, part)| part.gear),
                hookup: Arc::new(hookup),
                ratings: Arc::new(ratings),
                rated_at: Arc::default(),
                fixed_to: None,
                state: State::InService,
                stop_use: None,
                quarantine: None,
                life: Life::None,
                checks: Vec::<DueCheck>::new(),
                limits: Vec::new(),
                last_check: None,
                used_unchecked: None,
            },
            need: part.map(|(need, _)| (need.id.clone(), need.name.clone())),
            minimums,
        });
    }

    /// A tool for each part of each need, on each family; parts that ask for the same are thought of once for each time.
    fn tools(&mut self, board: &Board<'_>, target: Level) {
        for grade in board.grades.iter().filter(|grade| grade.level <= target) {
            for fit in &grade.parts {
                let Some(need) = grade.grade.needs.get(fit.need) else { continue };
                let Some(kind) = fit.part.kinds.first().copied() else { continue };
                let mut ratings = fit.part.minimums.clone();
                if let Some(cover) = need.alternatives.get(fit.alternative).and_then(|way| way.covers) {
                    let length = |q| Rating {
                        figure: Figure::Quantity(q),
                        standard: None,
                        edition: None,
                    };
                    ratings.set(Term::RetractedLength, length(cover.from));
                    ratings.set(Term::ExtendedLength, length(cover.to));
                }
                if kind == Kind::Accessory {
                    self.add(kind, Hookup::default(), ratings, Some((need, fit.part)));
                    continue;
                }
                let drives = &fit.part.drives;
                if drives.is_empty() || drives.iter().any(|drive| *drive != Drive::Battery) {
                    for family in self.families.clone() {
                        self.add(kind, on(&family), ratings.clone(), Some((need, fit.part)));
                    }
                }
                if fit.battery {
                    for family in self.packs.clone() {
                        self.add(kind, battery(&family), ratings.clone(), Some((need, fit.part)));
                    }
                }
            }
        }
    }

    /// Sources, hoses, adapters and packs.
    fn lines(&mut self, board: &Board<'_>, target: Level) {
        let at_once = board
            .grades
            .iter()
            .filter(|grade| grade.level <= target)
            .map(|grade| grade.grade.tools_at_once)
            .max()
            .unwrap_or(1)
            .max(1);
        let copies = usize::try_from(at_once).unwrap_or(1).clamp(2, COPIES);
        let mut length = Ratings::new();
        if let Some(least) = self.line_length {
            length.set(
                Term::HoseLength,
                Rating {
                    figure: Figure::Quantity(least),
                    standard: None,
                    edition: None,
                },
            );
        }
        for family in self.families.clone() {
            for _ in 0..copies {
                self.add(Kind::Hose, on(&family), length.clone(), None);
            }
            let source = Hookup {
                circuits: Some(at_once),
                ..on(&family)
            };
            self.add(Kind::PowerUnit, source, Ratings::new(), None);
        }
        if board.rules.policy.adapters {
            for (near, far) in self.joints(board) {
                for _ in 0..2 {
                    let adapter = Hookup {
                        tool_coupling: Some(far.clone()),
                        ..on(&near)
                    };
                    self.add(Kind::Adapter, adapter, Ratings::new(), None);
                }
            }
        }
        if board.rules.policy.batteries != Batteries::WithTool {
            for family in self.packs.clone() {
                for _ in 0..COPIES {
                    self.add(Kind::Battery, battery(&family), Ratings::new(), None);
                }
            }
        }
    }

    /// Pairs of families of one fluid that do not mate: what an adapter could join.
    fn joints(&self, board: &Board<'_>) -> Vec<(Family, String)> {
        let mut all: Vec<(Family, String)> = Vec::new();
        for near in &self.families {
            for piece in board.pieces.iter().filter(|piece| piece.kind.is_tool() || piece.kind == Kind::Hose) {
                let Some(far) = piece.hookup.source_end().filter(|_| piece.hookup.fluid == Some(near.fluid)) else {
                    continue;
                };
                let known = all.iter().any(|(n, f)| n.is(&near.coupling, near.fluid) && fold(f) == fold(far));
                if !known && !board.rules.mates.mate(&near.coupling, far) && near.coupling != TO_BE_CHOSEN {
                    all.push((near.clone(), far.to_owned()));
                }
            }
        }
        all
    }
}

fn on(family: &Family) -> Hookup {
    Hookup {
        coupling: Some(family.coupling.clone()),
        fluid: Some(family.fluid),
        pressure: Some(family.pressure),
        ..Hookup::default()
    }
}

fn battery(family: &str) -> Hookup {
    Hookup {
        battery: Some(family.to_owned()),
        ..Hookup::default()
    }
}

/// The hydraulic families aboard: those of sources, then those that hoses and tools have without a source, at the pressure that
/// tools are rated at.
fn families(board: &Board<'_>) -> Vec<Family> {
    let mut all: Vec<Family> = Vec::new();
    let mut add = |coupling: Option<&str>, fluid: Option<Fluid>, pressure: Option<Quantity>| {
        if let (Some(coupling), Some(fluid), Some(pressure)) = (coupling, fluid, pressure)
            && !all.iter().any(|known| known.is(coupling, fluid))
        {
            all.push(Family {
                coupling: coupling.to_owned(),
                fluid,
                pressure,
            });
        }
    };
    for piece in board.pieces.iter().filter(|piece| piece.kind.is_source()) {
        let hookup = &piece.hookup;
        add(hookup.coupling.as_deref(), hookup.fluid, hookup.pressure);
        for outlet in &hookup.outlets {
            add(Some(&outlet.coupling), hookup.fluid, Some(outlet.pressure));
        }
    }
    for piece in board.pieces.iter().filter(|piece| piece.kind.is_tool()) {
        add(piece.hookup.coupling.as_deref(), piece.hookup.fluid, piece.hookup.pressure);
    }
    for piece in board.pieces.iter().filter(|piece| piece.kind == Kind::Hose) {
        add(piece.hookup.coupling.as_deref(), piece.hookup.fluid, piece.hookup.pressure);
    }
    if all.is_empty() {
        all.push(Family {
            coupling: TO_BE_CHOSEN.to_owned(),
            fluid: Fluid::MineralOil,
            pressure: Quantity::new(700.0, Unit::Bar),
        });
    }
    all
}

fn battery_families(board: &Board<'_>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for name in board.pieces.iter().filter_map(|piece| piece.hookup.battery.as_deref()) {
        if !all.iter().any(|known| fold(known) == fold(name)) {
            all.push(name.to_owned());
        }
    }
    all
}

impl Offer {
    /// The act of putting it aboard.
    pub(super) fn act(&self, voice: &Voice<'_>) -> Act {
        let hookup = &self.piece.hookup;
        let kind = self.piece.kind;
        let noun = self.piece.gear.map_or(kind.word(), crate::ratings::Gear::word);
        let family = self.family();
        let mut text = if self.need.is_some() {
            format!("needs {}", words::one(noun))
        } else {
            format!("needs a further {noun}")
        };
        if let Some(family) = &family {
            text.push_str(&format!(" on {family}"));
        }
        if let Some(pressure) = hookup.pressure.filter(|_| hookup.coupling.as_deref() != Some(TO_BE_CHOSEN)) {
            let size = pressure.show(voice.units);
            text.push_str(&if kind.is_source() {
                format!(", running at {size}")
            } else if kind.is_tool() {
                format!(", rated at {size}")
            } else {
                format!(", for {size} or more")
            });
        }
        if kind.is_source() && hookup.circuits.unwrap_or(1) > 1 {
            text.push_str(&format!(", {} tools at once", hookup.circuits.unwrap_or(1)));
        }
        let shown: &Ratings = if self.need.is_some() { &self.minimums } else { &self.piece.ratings };
        for (term, rating) in shown.iter() {
            let bound = if term.better() == Better::Lower { "at most" } else { "at least" };
            text.push_str(&format!(", {} {bound} {}", term.label(), rating.figure.show(voice.units)));
        }
        Act {
            act: ActKind::PutAboard,
            piece: None,
            need: self.need.as_ref().map(|(id, _)| id.clone()),
            kind: Some(kind),
            family,
            words: text,
        }
    }

    fn family(&self) -> Option<String> {
        let hookup = &self.piece.hookup;
        if let Some(battery) = &hookup.battery {
            return Some(battery.clone());
        }
        let near = hookup.coupling.as_deref()?;
        if near == TO_BE_CHOSEN {
            return Some(TO_BE_CHOSEN.to_owned());
        }
        let ends = match hookup.tool_coupling.as_deref() {
            Some(far) if far != near => format!("{near} to {far}"),
            _ => near.to_owned(),
        };
        Some(hookup.fluid.map_or(ends.clone(), |fluid| format!("{ends}, {}", fluid.name())))
    }
}
