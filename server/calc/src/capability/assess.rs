//! The whole answer, and the short one for mass recomputing.

use super::board::{Board, GradeFit};
use super::fill::Filled;
use super::gaps::Asking;
use super::input::{Rig, Rules};
use super::meet::Meeting;
use super::reason::{PieceAnswer, Reason, ReasonCode};
use super::wire::{Assessment, Completeness, Driven, Filling, Gap, Level, NeedAnswer, Via};
use super::words::{self, Voice};
use super::{faults, holds, margin, restore, verdict};
use crate::hookup::Reach;
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// The short answer: what [`level`] gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answer {
    /// The highest grade that the rig meets.
    pub level: Level,
    /// The level that confirmed pieces alone reach.
    pub confirmed_level: Level,
    /// Whether its list is whole.
    pub completeness: Completeness,
}

impl Answer {
    /// Whether the level rests on confirmed pieces, above none.
    #[must_use]
    pub fn confirmed(&self) -> bool {
        self.level > Level::None && self.confirmed_level == self.level
    }
}

/// The three answers about a rig at an instant, without reasons.
#[must_use]
pub fn level(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>) -> Answer {
    answer(rig, &Board::new(rig, rules, at))
}

pub(super) fn answer(rig: &Rig<'_>, board: &Board<'_>) -> Answer {
    let level = board.level(board.usable);
    Answer {
        level,
        confirmed_level: confirmed_level(board, level),
        completeness: completeness(rig, board),
    }
}

/// Where every piece that counts is confirmed, the level is; else it is judged anew by those alone.
fn confirmed_level(board: &Board<'_>, level: Level) -> Level {
    if board.confirmed == board.usable || level <= Level::None {
        level
    } else {
        board.level(board.confirmed)
    }
}

fn completeness(rig: &Rig<'_>, board: &Board<'_>) -> Completeness {
    match rig.complement {
        None => Completeness::NoList,
        Some(_) if board.filled().is_complete => Completeness::Complete,
        Some(_) => Completeness::Incomplete,
    }
}

pub(super) fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// The whole answer about a rig at an instant, in the caller's voice.
///
/// `holds_until` is the first instant after `at` at which the answer would read differently if nobody did anything.
#[must_use]
pub fn assess(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Assessment {
    assess_with_pieces(rig, rules, at, voice).0
}

/// The whole answer about a rig, and the verdict of every piece aboard in the order in which they were handed in.
#[must_use]
pub fn assess_with_pieces(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> (Assessment, Vec<(Uuid, PieceAnswer)>) {
    let board = Board::new(rig, rules, at);
    let mut answer = at_instant(rig, &board, at, voice);
    let turn = holds::next(rig.pieces, &rules.policy, at);
    answer.holds_until = turn.as_ref().map(|turn| turn.at);
    answer.holds_until_why = turn.map(|turn| turn.words());
    let pieces = verdict::of_board(rig, &board, at, voice);
    (answer, pieces)
}

/// The grade that is spoken of: the expected one, full where none is set; the one reached where that is higher.
pub(super) fn target(rig: &Rig<'_>, board: &Board<'_>, level: Level) -> Level {
    let wanted = rig.expects.filter(|level| *level > Level::None).unwrap_or(Level::Full).max(level);
    let highest = board.grades.last().map_or(Level::Full, |grade| grade.level);
    wanted.min(highest)
}

/// The whole answer but for how long it holds.
pub(super) fn at_instant(rig: &Rig<'_>, board: &Board<'_>, at: DateTime<Utc>, voice: &Voice<'_>) -> Assessment {
    let asking = Asking { board, at, voice };
    let Answer {
        level,
        confirmed_level,
        completeness,
    } = answer(rig, board);
    let target = target(rig, board, level);
    let told = board.grade(target);
    let meeting = told.map(|grade| board.meeting(grade));
    let is_cut = board.is_cut();
    let filled = board.filled();
    let reach = board.reach();
    let loss = margin::of(board, level, rig.pieces.len());
    let mended = restore::smallest(rig, board, target, level, at, voice);
    let mut used: Set = 0;
    let mut needs = Vec::new();
    let mut gaps: Vec<Gap> = Vec::new();
    let mut also = said_of_the_rig(rig, board, voice);
    if let (Some(grade), Some(meeting)) = (told, &meeting) {
        needs = need_answers(board, grade, meeting, reach, &mut used);
        if level < target {
            gaps.extend(asking.of_needs(grade, meeting));
            also.extend(beside_the_needs(&asking, grade, meeting));
            if meeting.is_whole(grade) {
                also.extend(lower_grades(&asking, level, &mut gaps));
            }
            if is_cut {
                also.push("so much is aboard that not every way was tried; what is not shown to be met counts as not met".to_owned());
            }
        }
    }
    let fillings = fillings(board, &filled, reach, &mut used);
    gaps.extend(asking.of_slots(&filled));
    Assessment {
        level,
        expects: rig.expects,
        completeness,
        confirmed: level > Level::None && confirmed_level == level,
        confirmed_level,
        doubts: doubts(board, level, confirmed_level, at, voice),
        holds_until: None,
        holds_until_why: None,
        target,
        needs,
        at_once: meeting.as_ref().map_or(0, |m| number(m.at_once)),
        at_once_needed: told.map_or(0, |grade| grade.grade.tools_at_once),
        at_once_exact: meeting.as_ref().is_none_or(|m| m.at_once_exact),
        margin: loss.margin.map(number),
        margin_at_least: loss.at_least,
        critical: sets::each(loss.critical).filter_map(|i| board.id(i)).collect(),
        fillings,
        restore: mended.acts,
        restore_is_smallest: mended.is_smallest,
        also,
        still_runs: if level == Level::None { still_runs(board, reach) } else { Vec::new() },
        remarks: remarks(rig, board, &gaps, at, voice),
        gaps,
    }
}

/// What holds the level down although the target itself is met: the next grade above the level is not.
fn lower_grades(asking: &Asking<'_, '_>, level: Level, gaps: &mut Vec<Gap>) -> Vec<String> {
    let board = asking.board;
    let Some(grade) = board.grades.iter().find(|grade| grade.level > level).filter(|_| !board.is_out) else {
        return Vec::new();
    };
    let meeting = board.meeting(grade);
    let open = asking.of_needs(grade, &meeting);
    let names: Vec<&str> = open.iter().map(|gap| gap.name.as_str()).collect();
    let lacks = if names.is_empty() {
        String::new()
    } else {
        format!(" ({})", words::listed(&names, "and"))
    };
    let mut all = vec![format!("{} is not met{lacks}; no higher grade counts without it", grade.level.word())];
    all.extend(beside_the_needs(asking, grade, &meeting));
    gaps.extend(open);
    all
}

fn need_answers(board: &Board<'_>, grade: &GradeFit<'_>, meeting: &Meeting, reach: &Reach, used: &mut Set) -> Vec<NeedAnswer> {
    let asked = grade.grade.needs.iter().enumerate();
    asked
        .map(|(i, need)| {
            let chosen = meeting.chosen.iter().filter(|(part, ..)| grade.parts.get(*part).is_some_and(|p| p.need == i));
            let pieces: Vec<Driven> = chosen
                .filter_map(|(part, piece, packed)| {
                    let outlets = grade.parts.get(*part).map_or(0, |p| board.outlets_for(grade, p, *piece, reach));
                    Some(Driven {
                        piece: board.id(*piece)?,
                        via: via(board, *piece, outlets, grade.least_mm, *packed, used),
                    })
                })
                .collect();
            NeedAnswer {
                need: need.id.clone(),
                name: need.name.clone(),
                met: !pieces.is_empty(),
                pieces,
            }
        })
        .collect()
}

/// How a tool is driven: by a line whose parts are not used yet, where there is one; else by a pack.
fn via(board: &Board<'_>, tool: usize, outlets: u32, least_mm: f64, packed: bool, used: &mut Set) -> Option<Via> {
    let bit = sets::one(tool);
    if board.lines.tools & bit == 0 {
        return None;
    }
    if !packed {
        let lines = sets::each(Set::from(outlets)).filter_map(|outlet| board.lines.line(tool, outlet, board.usable, least_mm, *used));
        // Of several kinds of outlet the one whose line takes the least from others.
        if let Some(line) = lines.min_by_key(|line| (line.parts.iter().filter(|p| *used & sets::one(**p) != 0).count(), line.parts.len())) {
            *used |= line.parts.iter().fold(0, |set, part| set | sets::one(*part));
            return Some(Via::Line {
                source: board.id(line.source)?,
                parts: line.parts.iter().filter_map(|part| board.id(*part)).collect(),
            });
        }
        if board.own_pack & bit != 0 {
            return Some(Via::OwnPack);
        }
    }
    let packs = board.lines.packs_of(tool) & board.usable;
    let pack = sets::first(packs & !*used).or_else(|| sets::first(packs))?;
    *used |= sets::one(pack);
    board.id(pack).map(|pack| Via::Pack { pack })
}

fn fillings(board: &Board<'_>, filled: &Filled, reach: &Reach, used: &mut Set) -> Vec<Filling> {
    let slots = board.slots.iter().enumerate();
    slots
        .map(|(i, slot)| {
            let piece = filled.matching.piece(i);
            Filling {
                slot: slot.id.clone(),
                piece: piece.and_then(|piece| board.id(piece)),
                via: piece.and_then(|piece| via(board, piece, reach.rated(piece) | reach.below(piece), 0.0, false, used)),
            }
        })
        .collect()
}

fn said_of_the_rig(rig: &Rig<'_>, board: &Board<'_>, voice: &Voice<'_>) -> Vec<String> {
    let mut all = Vec::new();
    if board.grades.is_empty() {
        all.push("the agency has not chosen its grades; nothing is judged yet".to_owned());
    }
    if let Some(notice) = rig.out_of_service {
        all.push(format!("rig out of service since {}, {}", voice.at(notice.since), notice.words));
    }
    all
}

/// What holds the level down beside the needs.
fn beside_the_needs(asking: &Asking<'_, '_>, grade: &GradeFit<'_>, meeting: &Meeting) -> Vec<String> {
    let asked = grade.grade;
    let mut all = Vec::new();
    let needed = usize::try_from(asked.tools_at_once).unwrap_or(usize::MAX);
    // Where one is asked and none runs, the needs say why.
    if meeting.at_once < needed && needed > 1 {
        all.push(if meeting.at_once_exact {
            format!("{} can run at once, {needed} needed{}", words::tools(meeting.at_once), missed(asking, grade))
        } else {
            format!(
                "{} can run at once for certain, {needed} needed; more could not be worked out",
                words::tools(meeting.at_once)
            )
        });
    }
    let drives = usize::try_from(asked.kinds_of_drive).unwrap_or(usize::MAX);
    if meeting.kinds_of_drive < drives && drives > 1 {
        all.push(format!(
            "its tools run on {} of the {drives} kinds of drive needed (power unit, hand pump, battery)",
            meeting.kinds_of_drive
        ));
    }
    if meeting.lacks_spares {
        let (n, packs) = (asked.spare_packs, if asked.spare_packs == 1 { "pack" } else { "packs" });
        all.push(format!("{n} spare {packs} needed beyond one for each battery tool"));
    }
    all
}

/// What fell out, where the return of one piece, and of no other, would make up the tools at once.
fn missed(asking: &Asking<'_, '_>, grade: &GradeFit<'_>) -> String {
    let board = asking.board;
    let mut pieces = sets::each(board.missed_at_once(grade)).filter_map(|i| board.piece(i));
    let (Some(piece), None) = (pieces.next(), pieces.next()) else {
        return String::new();
    };
    let stops = faults::stops(piece, board.rules, asking.at, asking.voice).into_iter();
    let doubts = faults::doubts(piece, false, board.rules, asking.at, asking.voice).into_iter();
    let mut all = stops.chain(doubts.filter(|reason| reason.code == ReasonCode::AgeUnknown));
    all.next().map_or_else(String::new, |reason| format!(" ({})", reason.words))
}

/// Below limited: the tools that run all the same.
fn still_runs(board: &Board<'_>, reach: &Reach) -> Vec<String> {
    let tools = sets::each(board.lines.tools & board.usable).filter_map(|i| board.piece(i).map(|piece| (i, piece)));
    tools
        .filter_map(|(i, piece)| {
            let bit = sets::one(i);
            if reach.rated(i) != 0 || board.own_pack & bit != 0 || board.lines.packs_of(i) & board.usable != 0 {
                Some(format!("{} runs", faults::named(piece)))
            } else if reach.below(i) != 0 {
                Some(format!("{} runs below its rated pressure", faults::named(piece)))
            } else {
                None
            }
        })
        .take(20)
        .collect()
}

/// So many steps of work are spent on leaving out doubts that do not matter.
const DOUBT_WORK: usize = 200_000;

/// Why the level is not confirmed: a smallest set of pieces that, were they confirmed, would confirm it, each with its reasons.
fn doubts(board: &Board<'_>, level: Level, confirmed_level: Level, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Reason> {
    if level <= Level::None || confirmed_level == level {
        return Vec::new();
    }
    let open = board.usable & !board.confirmed & board.matters();
    let mut needed = open;
    let before = board.work();
    for i in sets::each(open) {
        let fewer = needed & !sets::one(i);
        // Beyond the bound the doubts stay true, but there may be some that do not matter.
        if board.work() - before < DOUBT_WORK && board.holds(board.confirmed | fewer, level) {
            needed = fewer;
        }
    }
    let mut all = Vec::new();
    for i in sets::each(needed) {
        let Some(piece) = board.piece(i) else { continue };
        all.extend(faults::doubts(piece, board.own_pack & sets::one(i) != 0, board.rules, at, voice));
        all.extend(faults::limits(piece, at, voice));
    }
    all
}

/// What is to be known without holding the level down, and what is aboard but not counted.
fn remarks(rig: &Rig<'_>, board: &Board<'_>, gaps: &[Gap], at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<String> {
    let mut all = Vec::new();
    for piece in &board.pieces {
        let told = gaps.iter().any(|gap| gap.near.iter().any(|near| near.piece == Some(piece.id)));
        if !told {
            let stops = faults::stops(piece, board.rules, at, voice);
            all.extend(stops.into_iter().map(|reason| format!("{}, not counted", reason.words)));
        }
        let spared = faults::doubts(piece, false, board.rules, at, voice).into_iter();
        all.extend(
            spared
                .filter(|reason| matches!(reason.code, ReasonCode::OverdueInGrace | ReasonCode::AgeAllowed))
                .map(|reason| reason.words),
        );
        // What must not be used is told no way of using it.
        if piece.is_usable(&board.rules.policy, at) {
            all.extend(faults::limits(piece, at, voice).into_iter().map(|reason| reason.words));
            all.extend(faults::looser_rules(piece, at).into_iter().map(|reason| reason.words));
        }
    }
    for family in dry_joints(board) {
        all.push(format!(
            "{family} couplings are joined without pressure only: changing one tool stops the others on that outlet"
        ));
    }
    if !board.left_out.is_empty() {
        all.push(format!("{} pieces beyond the first {} are not counted", board.left_out.len(), sets::CAPACITY));
    }
    debug_assert!(rig.pieces.len() >= board.pieces.len());
    all
}

/// Coupling families of sources that run several tools, where a joint may not be made under pressure, or nobody knows.
fn dry_joints<'a>(board: &Board<'a>) -> Vec<&'a str> {
    let mut all: Vec<&str> = Vec::new();
    for i in sets::each(board.lines.sources & board.usable) {
        let Some(piece) = board.piece(i) else { continue };
        let several = piece.hookup.circuits.unwrap_or(1) > 1 || !piece.hookup.outlets.is_empty();
        if let Some(family) = piece.hookup.coupling.as_deref().filter(|_| several)
            && !board.rules.mates.may_join_under_pressure(family)
            && !all.contains(&family)
        {
            all.push(family);
        }
    }
    all
}
