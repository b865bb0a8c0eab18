//! Pieces that could be put aboard. Each is thought of as one that just does: a tool meets its part's minimums and no more, on a
//! family that is aboard. Which model that is, this module refuses to know.

use super::super::act::{Act, ActKind};
use super::super::board::{Board, are_pieces, carries_packs};
use super::super::grade::{Drive, Need, Part};
use super::super::input::{DueCheck, Life, LifeOf, Piece, State};
use super::super::wire::Level;
use super::super::words::{self, Voice};
use super::families::{self, Family, TO_BE_CHOSEN};
use crate::hookup::{Hookup, fold};
use crate::ratings::{Better, Figure, Kind, Meets, Rating, Ratings, Term};
use crate::sets::{self, CAPACITY, Set};
use crate::units::Quantity;
use chrono::{DateTime, Utc};
use std::sync::Arc;
use uuid::Uuid;

/// Further pieces of one sort that serve no need themselves: from 2 to this many.
const COPIES: usize = 13;

/// One piece that could be put aboard, or one aboard as it would be once put right.
pub(super) struct Offer {
    pub piece: Piece,
    /// The place of the piece aboard that this one is after its repair.
    pub repairs: Option<usize>,
    need: Option<(String, String)>,
}

/// All of them.
pub(super) struct Offers {
    pub all: Vec<Offer>,
    /// Whether all found room.
    pub is_whole: bool,
}

impl Offers {
    pub(super) fn new(board: &Board<'_>, target: Level, at: DateTime<Utc>) -> Self {
        let (families, is_whole) = families::hydraulic(board);
        let room = CAPACITY.saturating_sub(board.pieces.len());
        let mut list = List {
            all: Vec::new(),
            room,
            families,
            packs: families::batteries(board, target),
        };
        list.repairs(board, at);
        list.tools(board, target);
        list.lines(board, target);
        let is_whole = is_whole && list.all.len() <= room;
        list.all.truncate(room);
        Self { all: list.all, is_whole }
    }

    /// Whether a piece aboard is offered as it would be once put right.
    pub(super) fn repair(&self, own: usize) -> bool {
        self.all.iter().any(|offer| offer.repairs == Some(own))
    }

    /// The pieces aboard that are put right in this choice; `own` pieces stand before the offers.
    pub(super) fn replaced(&self, chosen: Set, own: usize) -> impl Iterator<Item = usize> + '_ {
        let repairs = self.all.iter().enumerate().take_while(|(_, offer)| offer.repairs.is_some());
        repairs
            .filter(move |(n, _)| chosen & sets::one(own + n) != 0)
            .filter_map(|(_, offer)| offer.repairs)
    }
}

struct List {
    all: Vec<Offer>,
    /// So many can be looked at beside the pieces aboard; one more is kept to know that it is not all.
    room: usize,
    families: Vec<Family>,
    packs: Vec<String>,
}

impl List {
    const fn is_full(&self) -> bool {
        self.all.len() > self.room
    }

    fn id(&self) -> (Uuid, String) {
        let number = self.all.len();
        // After every tag that people give.
        (
            Uuid::from_u128(u128::try_from(number).unwrap_or_default() + 1),
            format!("\u{10FFFF}{number:04}"),
        )
    }

    fn add(&mut self, kind: Kind, hookup: Hookup, ratings: Ratings, part: Option<(&Need, &Part)>) {
        if self.is_full() {
            return;
        }
        let (id, tag) = self.id();
        self.all.push(Offer {
            piece: Piece {
                id,
                tag,
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
                used_while_out: None,
                released: None,
                looser_rules: Vec::new(),
                life_of: LifeOf::Piece,
                untried_since: None,
            },
            repairs: None,
            need: part.map(|(need, _)| (need.id.clone(), need.name.clone())),
        });
    }

    /// Pieces aboard that an open defect keeps from a rating, as they would be without it. They come before all other offers.
    fn repairs(&mut self, board: &Board<'_>, at: DateTime<Utc>) {
        for (i, piece) in board.pieces.iter().enumerate() {
            let held_back = piece.limits.iter().any(|limit| !limit.without.is_empty()) && !piece.kind.is_source();
            if !held_back || self.is_full() || super::act_for(piece, at).is_none() {
                continue;
            }
            let (id, tag) = self.id();
            self.all.push(Offer {
                piece: Piece {
                    id,
                    tag,
                    state: State::InService,
                    stop_use: None,
                    quarantine: None,
                    checks: Vec::new(),
                    limits: Vec::new(),
                    ..(*piece).clone()
                },
                repairs: Some(i),
                need: None,
            });
        }
    }

    /// A tool for each part of each need, on each family; parts that ask for the same are thought of once for each time.
    fn tools(&mut self, board: &Board<'_>, target: Level) {
        let mut lower: Vec<(Kind, Ratings)> = Vec::new();
        for grade in board.grades.iter().filter(|grade| grade.level <= target) {
            let mut here: Vec<(Kind, Ratings)> = Vec::new();
            for fit in &grade.parts {
                if self.is_full() {
                    return;
                }
                let Some(need) = grade.grade.needs.get(fit.need) else { continue };
                let mut ratings = fit.part.minimums.clone();
                if let Some(cover) = need.alternatives.get(fit.alternative).and_then(|way| way.covers) {
                    ratings.set(Term::RetractedLength, size(cover.from));
                    ratings.set(Term::ExtendedLength, size(cover.to));
                }
                for kind in fit.part.kinds.iter().copied() {
                    let drives = &fit.part.drives;
                    let by_line = drives.is_empty() || drives.iter().any(|drive| *drive != Drive::Battery);
                    // One tool may serve a lower grade as well as this one.
                    let both = lower
                        .iter()
                        .filter(|(of, _)| *of == kind)
                        .fold(ratings.clone(), |all, (_, more)| merged(all, more));
                    let further = (both != ratings).then_some(both);
                    for ratings in std::iter::once(&ratings).chain(&further) {
                        self.tool(kind, ratings, (need, fit.part), by_line, fit.battery);
                    }
                    here.push((kind, ratings.clone()));
                }
            }
            lower.extend(here);
        }
    }

    fn tool(&mut self, kind: Kind, ratings: &Ratings, part: (&Need, &Part), by_line: bool, battery: bool) {
        if kind == Kind::Accessory {
            self.add(kind, Hookup::default(), ratings.clone(), Some(part));
            return;
        }
        let on_lines = self.families.iter().filter(|_| by_line);
        let hookups = on_lines.flat_map(|family| family.pressures.iter().map(move |pressure| on(family, *pressure)));
        let on_packs = self.packs.iter().filter(|_| battery).map(|family| of_battery(family));
        for hookup in hookups.chain(on_packs).collect::<Vec<_>>() {
            self.add(kind, hookup, ratings.clone(), Some(part));
        }
    }

    /// Sources, hoses, adapters and packs.
    fn lines(&mut self, board: &Board<'_>, target: Level) {
        if self.is_full() {
            return;
        }
        let asked = || board.grades.iter().filter(move |grade| grade.level <= target);
        let at_once = asked().map(|grade| grade.grade.tools_at_once).max().unwrap_or(1).max(1);
        let spare = asked().map(|grade| grade.grade.spare_packs).max().unwrap_or(0);
        let tools = asked().map(|grade| grade.grade.needs.len()).max().unwrap_or(1);
        let number = |n: u32| usize::try_from(n).unwrap_or(COPIES);
        let hoses = number(at_once).clamp(2, COPIES);
        let by_hand = asked().any(|grade| grade.parts.iter().any(|part| part.part.drives.contains(&Drive::HandPump)) || grade.grade.kinds_of_drive > 1);
        let length = asked().filter_map(|grade| grade.grade.line_length).max_by(|a, b| a.si().total_cmp(&b.si()));
        let length: Ratings = length.map(|least| (Term::HoseLength, size(least))).into_iter().collect();
        let lines: Vec<(Hookup, Vec<Hookup>)> = self
            .families
            .iter()
            .map(|family| {
                (
                    on(family, family.highest()),
                    family.pressures.iter().map(|pressure| on(family, *pressure)).collect(),
                )
            })
            .collect();
        for (hose, outlets) in lines {
            for _ in 0..hoses {
                self.add(Kind::Hose, hose.clone(), length.clone(), None);
            }
            for outlet in outlets {
                if by_hand {
                    self.add(Kind::HandPump, outlet.clone(), Ratings::new(), None);
                }
                let source = Hookup {
                    circuits: Some(at_once),
                    ..outlet
                };
                self.add(Kind::PowerUnit, source, Ratings::new(), None);
            }
        }
        if board.rules.policy.adapters {
            for adapter in self.adapters(board) {
                for _ in 0..number(at_once).clamp(1, 4) {
                    self.add(Kind::Adapter, adapter.clone(), Ratings::new(), None);
                }
            }
        }
        let carried = carries_packs(&board.pieces);
        let tracked: Vec<String> = self.packs.iter().filter(|family| are_pieces(board.rules, family, carried)).cloned().collect();
        for family in tracked {
            for _ in 0..(tools.max(number(at_once)) + number(spare)).min(COPIES) {
                self.add(Kind::Battery, of_battery(&family), Ratings::new(), None);
            }
        }
    }

    /// From each family to each coupling of its fluid that it does not mate with: what an adapter could join.
    fn adapters(&self, board: &Board<'_>) -> Vec<Hookup> {
        let mut all: Vec<Hookup> = Vec::new();
        for near in self.families.iter().filter(|near| near.coupling != TO_BE_CHOSEN) {
            let ends = board
                .pieces
                .iter()
                .filter(|piece| (piece.kind.is_tool() || piece.kind == Kind::Hose) && piece.hookup.fluid == Some(near.fluid));
            for far in ends.filter_map(|piece| piece.hookup.source_end()).filter(|far| !fold(far).is_empty()) {
                let known = |other: &Hookup| {
                    let same = |a: Option<&str>, b: &str| a.is_some_and(|a| fold(a) == fold(b));
                    other.fluid == Some(near.fluid) && same(other.source_end(), &near.coupling) && same(other.tool_end(), far)
                };
                if !board.rules.mates.mate(&near.coupling, far) && !all.iter().any(known) {
                    all.push(Hookup {
                        tool_coupling: Some(far.to_owned()),
                        ..on(near, near.highest())
                    });
                }
            }
        }
        all
    }
}

fn size(q: Quantity) -> Rating {
    Rating {
        figure: Figure::Quantity(q),
        standard: None,
        edition: None,
    }
}

/// Ratings that meet both, where one tool can; else the first.
fn merged(mut all: Ratings, more: &Ratings) -> Ratings {
    for (term, rating) in more.iter() {
        let wanted: Ratings = [(term, rating.clone())].into_iter().collect();
        let short = all.shortfalls(&wanted);
        let stricter = short.first().is_some_and(|short| matches!(short.meets, Meets::Short { .. }));
        if all.get(term).is_none() || stricter {
            all.set(term, rating.clone());
        }
    }
    all
}

fn on(family: &Family, pressure: Quantity) -> Hookup {
    Hookup {
        coupling: Some(family.coupling.clone()),
        fluid: Some(family.fluid),
        pressure: Some(pressure),
        ..Hookup::default()
    }
}

fn of_battery(family: &str) -> Hookup {
    Hookup {
        battery: Some(family.to_owned()),
        ..Hookup::default()
    }
}

impl Offer {
    /// Whether it serves no need itself: a source, hose, adapter or pack.
    pub(super) const fn is_beside(&self) -> bool {
        self.need.is_none() && self.repairs.is_none()
    }

    /// The act of putting it aboard.
    pub(super) fn act(&self, voice: &Voice<'_>) -> Act {
        let hookup = &self.piece.hookup;
        let kind = self.piece.kind;
        let family = self.family();
        let mut text = self.noun(family.as_deref());
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
        for (term, rating) in self.piece.ratings.iter() {
            let bound = if term.better() == Better::Lower { "at most" } else { "at least" };
            let by = rating.standard.as_ref().map_or_else(String::new, |standard| format!(" ({standard})"));
            text.push_str(&format!(", {} {bound} {}{by}", term.label(), rating.figure.show(voice.units)));
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

    /// "needs a cutter on flat-face single, mineral oil".
    fn noun(&self, family: Option<&str>) -> String {
        let kind = self.piece.kind;
        let named = words::one(self.piece.gear.map_or(kind.word(), crate::ratings::Gear::word));
        match (kind, family) {
            (_, None) => format!("needs {named}"),
            (Kind::Battery, Some(family)) => format!("needs a battery pack of {family}"),
            (Kind::Adapter, Some(family)) => format!("needs {named} from {family}"),
            (_, Some(family)) if self.piece.hookup.battery.is_some() => format!("needs {named} on battery, {family}"),
            (_, Some(family)) => format!("needs {named} on {family}"),
        }
    }

    /// "flat-face single, mineral oil"; of a pack or battery tool its battery family.
    pub(super) fn family(&self) -> Option<String> {
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
