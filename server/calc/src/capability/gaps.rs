//! Why a need is not met: every piece that might have served, and every requirement that it fails.

use super::beside::RunsAgain;
use super::board::{Board, GradeFit, PartFit};
use super::hookups;
use super::input::Piece;
use super::meet::Meeting;
use super::reason::{Reason, ReasonCode};
use super::suits::{self, counted};
use super::wire::{Fact, Gap, GapIn, Near, NearCode};
use super::words::{self, Voice};
use super::{faults, restore};
use crate::hookup::{Reach, each_outlet};
use crate::ratings::{Better, Figure, Gear, Kind, Meets, Ratings, Shortfall};
use crate::sets;
use crate::units::Quantity;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// The most near misses that one gap tells.
pub(super) const MOST_NEAR: usize = 24;

/// What everything here is asked with.
#[derive(Clone, Copy)]
pub(super) struct Asking<'l, 'a> {
    pub board: &'l Board<'a>,
    pub at: DateTime<Utc>,
    pub voice: &'l Voice<'l>,
}

pub(super) fn near(piece: &Piece, code: NearCode, text: &str) -> Near {
    Near {
        piece: Some(piece.id),
        code,
        words: format!("{}: {text}", faults::named(piece)),
        since: None,
        has: None,
        needs: None,
        short_by: None,
    }
}

/// A reason against a piece as a near miss.
pub(super) fn from_reason(reason: Reason) -> Near {
    let code = match reason.code {
        ReasonCode::Missing => NearCode::Missing,
        ReasonCode::StopUse => NearCode::StopUse,
        ReasonCode::LifeEnded => NearCode::LifeEnded,
        ReasonCode::Quarantined => NearCode::Quarantined,
        ReasonCode::CheckOverdue => NearCode::CheckOverdue,
        ReasonCode::RepairByPast => NearCode::RepairByPast,
        ReasonCode::AgeUnknown => NearCode::LifeUnknown,
        _ => NearCode::OutOfService,
    };
    Near {
        piece: reason.piece,
        code,
        words: reason.words,
        since: reason.since,
        has: None,
        needs: None,
        short_by: None,
    }
}

impl Asking<'_, '_> {
    /// What keeps a piece from being used at all; unknown age among it.
    pub(super) fn faults(&self, piece: &Piece) -> Vec<Near> {
        let mut all: Vec<Near> = faults::stops(piece, self.board.rules, self.at, self.voice)
            .into_iter()
            .map(from_reason)
            .collect();
        if piece.life == super::input::Life::Unknown {
            all.push(near(piece, NearCode::LifeUnknown, &piece.life_of.unknown()));
        }
        all
    }

    pub(super) fn rated(&self, piece: &Piece, minimums: &Ratings, gear: Option<Gear>) -> Vec<Near> {
        if piece.kind == Kind::Accessory && (gear.is_none() || gear != piece.gear) {
            let wanted = gear.map_or("named accessory", Gear::word);
            let is = piece.gear.map_or("an accessory that nobody named", Gear::word);
            return vec![near(piece, NearCode::AnotherAccessory, &format!("it is {is}, {wanted} asked for"))];
        }
        let counts = counted(piece, &piece.ratings);
        counts
            .shortfalls(minimums)
            .iter()
            .map(|short| {
                let lost = piece.limits.iter().find(|limit| limit.without.contains(&short.term));
                match lost {
                    Some(limit) => near(
                        piece,
                        NearCode::Limited,
                        &format!("{} does not count while this stands: {}", short.term.label(), limit.found()),
                    ),
                    None => self.shortfall(piece, short),
                }
            })
            .collect()
    }

    /// The gaps of the needs that are not met.
    pub(super) fn of_needs(&self, grade: &GradeFit<'_>, meeting: &Meeting) -> Vec<Gap> {
        if meeting.met {
            return Vec::new();
        }
        let reach = self.board.reach();
        let met = |need: usize| meeting.chosen.iter().any(|(part, ..)| grade.parts.get(*part).is_some_and(|p| p.need == need));
        let open: Vec<_> = grade.grade.needs.iter().enumerate().filter(|(i, _)| !met(*i)).collect();
        let mut beside = self.what_is_missing_beside(grade, open.iter().map(|(i, _)| *i));
        let told = open.into_iter().map(|(i, need)| {
            let mut all: Vec<Near> = Vec::new();
            // Of rams that cover a range some near misses are taken out again.
            let covers = need.alternatives.iter().any(|way| way.covers.is_some());
            let most = if covers { 4 * MOST_NEAR } else { MOST_NEAR };
            for part in grade.parts.iter().filter(|part| part.need == i) {
                self.of_part(grade, part, reach, most, &mut all);
            }
            let mut kinds: Vec<Kind> = Vec::new();
            for kind in need.alternatives.iter().flat_map(|way| way.parts.iter().flat_map(|part| part.kinds.iter())) {
                if !kinds.contains(kind) {
                    kinds.push(*kind);
                }
            }
            let mut all = self.without_the_useless(all);
            self.not_together(meeting, &mut all);
            self.uncovered(grade, i, reach, &mut all);
            if all.is_empty() {
                all.push(none_aboard(&kinds));
            }
            all.truncate(MOST_NEAR);
            Gap {
                r#in: GapIn::Need,
                id: need.id.clone(),
                name: need.name.clone(),
                required: true,
                kinds,
                words: all.iter().map(|near| near.words.clone()).collect(),
                near: all,
                compete: None,
                runs_again: beside.remove(&i),
            }
        });
        told.collect()
    }

    /// Of needs for which a sound tool is aboard that nothing drives: what alone is missing beside it.
    fn what_is_missing_beside(&self, grade: &GradeFit<'_>, open: impl Iterator<Item = usize>) -> BTreeMap<usize, RunsAgain> {
        let board = self.board;
        let sound = board.usable & board.lines.tools;
        let has_a_tool = |need: &usize| grade.parts.iter().any(|part| part.need == *need && part.suits & sound != 0);
        let needs: Vec<usize> = open.filter(has_a_tool).filter(|need| !board.is_met_alone(grade, *need)).collect();
        let found = restore::runs_again(board, grade.level, &needs, self.at);
        needs.into_iter().zip(found).filter_map(|(need, found)| Some((need, found?))).collect()
    }

    /// Of what serves the need but is not counted elsewhere: what is taken from it.
    fn not_together(&self, meeting: &Meeting, all: &mut [Near]) {
        let counted = |id| meeting.chosen.iter().any(|(_, piece, _)| self.board.id(*piece) == id);
        for one in all.iter_mut().filter(|near| near.code == NearCode::NeededElsewhere && !counted(near.piece)) {
            let Some((i, piece)) = one.piece.and_then(|id| self.board.position(id)).and_then(|i| Some((i, self.board.piece(i)?))) else {
                continue;
            };
            *one = if self.board.lines.packs_of(i) != 0 {
                near(piece, NearCode::NoBattery, "no battery pack is left for it")
            } else {
                near(piece, NearCode::NeededElsewhere, "serves, but not together with the other needs")
            };
        }
    }

    /// Where some piece is aboard, "none aboard" of another alternative says nothing.
    fn without_the_useless(&self, mut all: Vec<Near>) -> Vec<Near> {
        if all.iter().any(|near| near.piece.is_some()) {
            all.retain(|near| near.piece.is_some());
        }
        all
    }

    fn uncovered(&self, grade: &GradeFit<'_>, need: usize, reach: &Reach, all: &mut Vec<Near>) {
        let Some(asked) = grade.grade.needs.get(need) else { return };
        let Some(cover) = asked.alternatives.iter().find_map(|way| way.covers) else {
            return;
        };
        if self.board.is_met_alone(grade, need) {
            return;
        }
        let found = self.board.look(grade, self.board.usable, reach).candidates;
        let parts = grade.parts.iter().zip(&found).filter(|(part, _)| part.need == need);
        let serve = parts.fold(0, |set, (_, c)| set | c.free | c.packed);
        let units = self.voice.units;
        for (i, piece) in self.board.pieces.iter().enumerate() {
            if serve & sets::one(i) != 0 && piece.kind == Kind::Ram {
                let counts = counted(piece, &piece.ratings);
                let size = |term| counts.get(term).map_or_else(|| "unknown".to_owned(), |r| r.figure.show(units));
                let text = format!(
                    "reaches {} to {}; {} to {} needed without a gap",
                    size(crate::ratings::Term::RetractedLength),
                    size(crate::ratings::Term::ExtendedLength),
                    cover.from.show(units),
                    cover.to.show(units)
                );
                all.retain(|near| near.piece != Some(piece.id) || near.code != NearCode::NeededElsewhere);
                all.push(near(piece, NearCode::RangeNotCovered, &text));
            }
        }
    }

    /// Adds every piece of a part's kinds, with what keeps it from serving, until `most` pieces' reasons are told.
    fn of_part(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, reach: &Reach, most: usize, all: &mut Vec<Near>) {
        let add = |near: Near, all: &mut Vec<Near>| {
            let same = |known: &Near| known.piece == near.piece && known.code == near.code && known.words == near.words;
            if !all.iter().any(same) {
                all.push(near);
            }
        };
        let mut is_any = false;
        for (i, piece) in self.board.pieces.iter().enumerate().filter(|(_, piece)| part.part.kinds.contains(&piece.kind)) {
            if all.iter().filter(|near| near.piece.is_some()).count() >= most {
                return;
            }
            is_any = true;
            for near in self.against_part(grade, part, i, piece, reach) {
                add(near, all);
            }
        }
        if !is_any {
            add(none_aboard(&part.part.kinds), all);
        }
    }

    /// What keeps one piece from serving one part.
    pub(super) fn against_part(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, i: usize, piece: &Piece, reach: &Reach) -> Vec<Near> {
        let mut all = self.faults(piece);
        let usable = all.is_empty();
        let low = self.stated_below(i, piece, reach);
        if part.below.iter().all(|below| below & sets::one(i) == 0) {
            match low {
                Some((pressure, ratings)) => all.extend(self.below(piece, pressure, ratings, &part.part.minimums)),
                None => all.extend(self.rated(piece, &part.part.minimums, part.part.gear)),
            }
        }
        if self.board.lines.tools & sets::one(i) != 0 {
            let driven = usable && (self.board.outlets_for(grade, part, i, reach) != 0 || self.board.runs_on_battery(part, i, self.board.usable));
            if !driven {
                all.extend(hookups::why_not(self, grade, part, i, piece, usable, reach));
            }
        }
        if all.is_empty() {
            all.push(near(piece, NearCode::NeededElsewhere, "serves another need already"));
        }
        all
    }

    /// The ratings with which a tool runs here, where it runs below its rated pressure alone and its maker states some for that.
    fn stated_below<'p>(&self, i: usize, piece: &'p Piece, reach: &Reach) -> Option<(Quantity, &'p Ratings)> {
        let runs_otherwise = reach.rated(i) != 0 || piece.hookup.battery.is_some();
        let outlets = each_outlet(if runs_otherwise { 0 } else { reach.below(i) });
        let kinds = outlets.filter_map(|outlet| self.board.lines.outlets().get(outlet));
        kinds
            .filter_map(|outlet| suits::stated_at(piece, outlet, self.board.rules))
            .map(|stated| (stated.pressure, &stated.ratings))
            .next()
    }

    /// What the ratings for a lower pressure lack.
    fn below(&self, piece: &Piece, pressure: Quantity, ratings: &Ratings, minimums: &Ratings) -> Vec<Near> {
        let at = format!("at {}: ", pressure.show(self.voice.units));
        let name = format!("{}: ", faults::named(piece));
        let short = counted(piece, ratings).shortfalls(minimums);
        let mut all: Vec<Near> = short.iter().map(|short| self.shortfall(piece, short)).collect();
        for near in &mut all {
            near.words.insert_str(name.len().min(near.words.len()), &at);
        }
        all
    }

    fn shortfall(&self, piece: &Piece, short: &Shortfall) -> Near {
        let (units, label) = (self.voice.units, short.term.label());
        let needs = short.needs.show(units);
        let most = if short.term.better() == Better::Lower { "at most " } else { "" };
        let (code, text, has, by) = match &short.meets {
            Meets::Short { has, by } => {
                let gap = match (by, has, &short.needs) {
                    (Some(by), ..) => format!(" ({} {})", by.show(units), if most.is_empty() { "short" } else { "over" }),
                    (None, Figure::Levels(has), Figure::Levels(needs)) => {
                        let letters: Vec<String> = has
                            .short_of(needs)
                            .map(|(l, has, needs)| format!("{l} {} of {needs}", has.map_or_else(|| "?".into(), |h| h.to_string())))
                            .collect();
                        format!(" ({})", letters.join(", "))
                    }
                    _ => String::new(),
                };
                (
                    NearCode::MinimumNotMet,
                    format!("{label} {}, {most}{needs} needed{gap}", has.show(units)),
                    Some(*has),
                    *by,
                )
            }
            Meets::OtherStandard { term, has, standard } => {
                let text = format!(
                    "rated by another standard: {} {} by {standard} does not answer {label} {most}{needs}",
                    term.label(),
                    has.show(units)
                );
                (NearCode::RatedByAnotherStandard, text, Some(*has), None)
            }
            Meets::StandardUnknown { has, wanted } => {
                let text = format!("standard not stated: {label} {} does not answer {most}{needs} by {wanted}", has.show(units));
                (NearCode::StandardNotStated, text, Some(*has), None)
            }
            Meets::Unknown | Meets::Yes => (NearCode::RatingUnknown, format!("{label} unknown, {most}{needs} needed"), None, None),
        };
        Near {
            has: has.map(Fact::from),
            needs: Some(short.needs.into()),
            short_by: by,
            ..near(piece, code, &text)
        }
    }
}

pub(super) fn none_aboard(kinds: &[Kind]) -> Near {
    let kinds: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
    Near {
        piece: None,
        code: NearCode::NoneAboard,
        words: format!("no {} aboard", words::listed(&kinds, "or")),
        since: None,
        has: None,
        needs: None,
        short_by: None,
    }
}
