//! Why a need is not met or a slot is empty: every piece that might have served, and every requirement that it fails.

use super::board::{Board, GradeFit, PartFit, counted};
use super::fill::Filled;
use super::hookups;
use super::input::{Piece, Slot};
use super::meet::Meeting;
use super::wire::{Compete, Fact, Gap, GapIn, Near, NearCode, Reason, ReasonCode};
use super::words::{self, Voice};
use super::{board, faults};
use crate::hookup::Reach;
use crate::ratings::{Better, Figure, Gear, Kind, Meets, Ratings, Shortfall};
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};

/// The most near misses that one gap tells.
const MOST_NEAR: usize = 24;

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
        let mut all: Vec<Near> = faults::stops(piece, self.board.rules, self.at, self.voice).into_iter().map(from_reason).collect();
        if piece.life == super::input::Life::Unknown {
            all.push(near(piece, NearCode::LifeUnknown, "age unknown"));
        }
        all
    }

    fn rated(&self, piece: &Piece, minimums: &Ratings, gear: Option<Gear>) -> Vec<Near> {
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
                    Some(limit) => near(piece, NearCode::Limited, &format!("{} does not count while this stands: {}", short.term.label(), limit.words)),
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
        let reach = self.board.lines.reach(self.board.usable);
        let met = |need: usize| meeting.chosen.iter().any(|(part, ..)| grade.parts.get(*part).is_some_and(|p| p.need == need));
        let open = grade.grade.needs.iter().enumerate().filter(|(i, _)| !met(*i));
        open.map(|(i, need)| {
            let mut all: Vec<Near> = Vec::new();
            for part in grade.parts.iter().filter(|part| part.need == i) {
                for near in self.of_part(grade, part, &reach) {
                    if !all.iter().any(|known| known.piece == near.piece && known.code == near.code && known.words == near.words) {
                        all.push(near);
                    }
                }
            }
            let mut kinds: Vec<Kind> = Vec::new();
            for kind in need.alternatives.iter().flat_map(|way| way.parts.iter().flat_map(|part| part.kinds.iter())) {
                if !kinds.contains(kind) {
                    kinds.push(*kind);
                }
            }
            let mut all = self.without_the_useless(all);
            self.uncovered(grade, i, &reach, &mut all);
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
            }
        })
        .collect()
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
        let Some(cover) = asked.alternatives.iter().find_map(|way| way.covers) else { return };
        let serves = |part: &PartFit<'_>, i: usize| {
            let found = self.board.candidates(grade, self.board.usable, reach);
            let at = grade.parts.iter().position(|p| std::ptr::eq(p, part));
            at.and_then(|at| found.get(at)).is_some_and(|c| (c.free | c.packed) & sets::one(i) != 0)
        };
        let units = self.voice.units;
        for (i, piece) in self.board.pieces.iter().enumerate() {
            if grade.parts.iter().filter(|p| p.need == need).any(|part| serves(part, i)) {
                let size = |term| piece.ratings.get(term).map_or_else(|| "unknown".to_owned(), |r| r.figure.show(units));
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

    /// Every piece of a part's kinds, with what keeps it from serving.
    fn of_part(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, reach: &Reach) -> Vec<Near> {
        let mut all = Vec::new();
        for (i, piece) in self.board.pieces.iter().enumerate().filter(|(_, piece)| part.part.kinds.contains(&piece.kind)) {
            all.extend(self.against_part(grade, part, i, piece, reach));
        }
        if all.is_empty() {
            all.push(none_aboard(&part.part.kinds));
        }
        all
    }

    /// What keeps one piece from serving one part.
    pub(super) fn against_part(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, i: usize, piece: &Piece, reach: &Reach) -> Vec<Near> {
        let mut all = self.faults(piece);
        let usable = all.is_empty();
        let low = part.below.iter().any(|below| below & sets::one(i) != 0);
        if !low {
            all.extend(self.rated(piece, &part.part.minimums, part.part.gear));
        }
        if self.board.lines.tools & sets::one(i) != 0 {
            let driven = usable && (self.board.outlets_for(grade, part, i, reach) != 0 || self.runs_on_battery(part, i));
            if !driven {
                all.extend(hookups::why_not(self, grade, part, i, piece, usable, reach));
            }
        }
        if all.is_empty() {
            all.push(near(piece, NearCode::NeededElsewhere, "serves another need already"));
        }
        all
    }

    fn runs_on_battery(&self, part: &PartFit<'_>, i: usize) -> bool {
        let bit = sets::one(i);
        part.battery && part.suits & bit != 0 && (self.board.own_pack & bit != 0 || self.board.lines.packs_of(i) & self.board.usable != 0)
    }

    /// The gaps of the slots that are not filled.
    pub(super) fn of_slots(&self, filled: &Filled) -> Vec<Gap> {
        let fit = self.board.of_use(self.board.usable);
        let empty = (0..self.board.slots.len()).filter(|slot| filled.matching.piece(*slot).is_none());
        empty.filter_map(|slot| self.of_slot(filled, slot, fit)).collect()
    }

    fn of_slot(&self, filled: &Filled, index: usize, fit: Set) -> Option<Gap> {
        let slot = self.board.slot(index)?;
        let mut all: Vec<Near> = Vec::new();
        for (i, piece) in self.board.pieces.iter().enumerate().filter(|(_, p)| slot.kinds.contains(&p.kind)) {
            let mut against = self.against_slot(slot, i, piece, fit);
            if against.is_empty()
                && let Some(other) = filled.matching.slot(i).and_then(|s| self.board.slot(s))
            {
                against.push(Near {
                    needs: Some(Fact::Text(other.name.clone())),
                    ..near(piece, NearCode::NeededElsewhere, &format!("is counted as {}", other.name))
                });
            }
            all.extend(against);
        }
        let uncounted = self.board.left_out.iter().filter(|p| slot.kinds.contains(&p.kind));
        all.extend(uncounted.map(|piece| near(piece, NearCode::NotCounted, "more pieces are aboard than are looked at")));
        if all.is_empty() {
            all.push(match slot.gear.filter(|_| slot.kinds.contains(&Kind::Accessory)) {
                Some(gear) => Near {
                    words: format!("no {} aboard", gear.word()),
                    ..none_aboard(&slot.kinds)
                },
                None => none_aboard(&slot.kinds),
            });
        }
        all.truncate(MOST_NEAR);
        let mut said: Vec<String> = all.iter().filter(|near| near.code != NearCode::NeededElsewhere).map(|n| n.words.clone()).collect();
        let compete = self.compete(filled, index);
        if let Some(compete) = &compete {
            let of = words::listed(&slot.kinds.iter().map(|kind| kind.plural()).collect::<Vec<_>>(), "or");
            said.push(format!("{} of {} {of} aboard count", compete.pieces.len(), compete.slots.len()));
        }
        Some(Gap {
            r#in: GapIn::Slot,
            id: slot.id.clone(),
            name: slot.name.clone(),
            required: slot.required,
            kinds: slot.kinds.clone(),
            words: said,
            near: all,
            compete,
        })
    }

    fn compete(&self, filled: &Filled, index: usize) -> Option<Compete> {
        let found = filled.matching.competition_of(&filled.candidates, index)?;
        (found.slots.len() > 1 && !found.pieces.is_empty()).then(|| Compete {
            slots: found.slots.iter().filter_map(|s| self.board.slot(*s)).map(|slot| slot.id.clone()).collect(),
            pieces: found.pieces.iter().filter_map(|p| self.board.id(*p)).collect(),
        })
    }

    /// What keeps one piece from filling one slot.
    pub(super) fn against_slot(&self, slot: &Slot, i: usize, piece: &Piece, fit: Set) -> Vec<Near> {
        let mut all = self.faults(piece);
        let usable = all.is_empty();
        all.extend(self.rated(piece, &slot.minimums, slot.gear));
        if usable && fit & sets::one(i) == 0 {
            if piece.kind.is_tool() {
                all.extend(hookups::why_not_driven(self.board, i, piece, self.board.usable, self.voice));
            } else {
                let text = match piece.kind {
                    Kind::Battery | Kind::Charger => "fits no battery tool aboard",
                    Kind::Adapter if !board::line_rules(self.board.rules).adapters => "the agency does not allow adapters",
                    kind if kind.is_source() => "no usable hose aboard fits it",
                    _ => "no usable source aboard feeds it",
                };
                let code = match piece.kind {
                    Kind::Battery | Kind::Charger => NearCode::NoBattery,
                    kind if kind.is_source() => NearCode::NoHose,
                    _ => NearCode::NoSource,
                };
                all.extend(hookups::why_not_fed(self.board, piece, self.voice).unwrap_or_else(|| vec![near(piece, code, text)]));
            }
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

fn none_aboard(kinds: &[Kind]) -> Near {
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
