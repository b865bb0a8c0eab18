//! Why a slot of the list is empty: every piece that might have filled it, and every requirement that it fails.

use super::beside::Compete;
use super::board::line_rules;
use super::faults;
use super::fill::Filled;
use super::gaps::{Asking, MOST_NEAR, near, none_aboard};
use super::hookups;
use super::input::{Piece, Slot};
use super::wire::{Fact, Gap, GapIn, Near, NearCode};
use super::words;
use crate::ratings::Kind;
use crate::sets::{self, Set};

impl Asking<'_, '_> {
    /// The gaps of the slots that are not filled.
    pub(super) fn of_slots(&self, filled: &Filled) -> Vec<Gap> {
        let empty: Vec<usize> = (0..self.board.slots.len()).filter(|slot| filled.matching.piece(*slot).is_none()).collect();
        if empty.is_empty() {
            return Vec::new();
        }
        let belong = self.board.belonging(self.board.usable, self.board.reach());
        empty.into_iter().filter_map(|slot| self.of_slot(filled, slot, belong)).collect()
    }

    fn of_slot(&self, filled: &Filled, index: usize, belong: Set) -> Option<Gap> {
        let slot = self.board.slot(index)?;
        let mut all: Vec<Near> = Vec::new();
        for (i, piece) in self.board.pieces.iter().enumerate().filter(|(_, p)| slot.kinds.contains(&p.kind)) {
            if all.len() >= MOST_NEAR {
                break;
            }
            let mut against = self.against_slot(slot, i, piece, belong);
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
        let mut said: Vec<String> = all
            .iter()
            .filter(|near| near.code != NearCode::NeededElsewhere)
            .map(|n| n.words.clone())
            .collect();
        let compete = self.compete(filled, index);
        if let Some(compete) = &compete {
            said.push(self.told_competition(slot, compete));
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
            runs_again: None,
        })
    }

    /// "2 of 3 hoses are there", "combination tool KT-1 can fill only one of these: Cutter, Spreader".
    fn told_competition(&self, slot: &Slot, compete: &Compete) -> String {
        let slots: Vec<&Slot> = self.board.slots.iter().filter(|other| compete.slots.contains(&other.id)).collect();
        if slots.iter().all(|other| other.kinds == slot.kinds) {
            let of = words::listed(&slot.kinds.iter().map(|kind| kind.plural()).collect::<Vec<_>>(), "or");
            return format!("{} of {} {of} are there", compete.pieces.len(), slots.len());
        }
        let names: Vec<&str> = slots.iter().map(|slot| slot.name.as_str()).collect();
        let pieces = compete
            .pieces
            .iter()
            .filter_map(|id| self.board.piece(self.board.position(*id)?))
            .map(faults::named);
        let pieces: Vec<String> = pieces.collect();
        let pieces: Vec<&str> = pieces.iter().map(String::as_str).collect();
        let most = if pieces.len() == 1 { "one".to_owned() } else { pieces.len().to_string() };
        format!("{} can fill only {most} of these: {}", words::listed(&pieces, "and"), names.join(", "))
    }

    fn compete(&self, filled: &Filled, index: usize) -> Option<Compete> {
        let found = filled.matching.competition_of(&filled.candidates, index)?;
        (found.slots.len() > 1 && !found.pieces.is_empty()).then(|| Compete {
            slots: found.slots.iter().filter_map(|s| self.board.slot(*s)).map(|slot| slot.id.clone()).collect(),
            pieces: found.pieces.iter().filter_map(|p| self.board.id(*p)).collect(),
        })
    }

    /// What keeps one piece from filling one slot; `belong`: the pieces that belong on this rig.
    pub(super) fn against_slot(&self, slot: &Slot, i: usize, piece: &Piece, belong: Set) -> Vec<Near> {
        let mut all = self.faults(piece);
        let usable = all.is_empty();
        all.extend(self.rated(piece, &slot.minimums, slot.gear));
        if usable && belong & sets::one(i) == 0 {
            all.extend(self.against_belonging(i, piece));
        }
        all
    }

    /// Why a piece does not belong on this rig. That a source, hose or pack is missing is no reason.
    fn against_belonging(&self, i: usize, piece: &Piece) -> Vec<Near> {
        let board = self.board;
        let own = |all: Vec<Near>| -> Vec<Near> {
            all.into_iter()
                .filter(|near| near.piece == Some(piece.id) && !hookups::lies_beside(near.code))
                .collect()
        };
        let told = if piece.kind.is_tool() {
            let all = (0..board.pieces.len()).fold(0, |set, i| set | sets::one(i));
            own(hookups::why_not_driven(board, i, piece, all, (self.at, self.voice)))
        } else {
            own(hookups::why_not_fed(board, piece, self.voice).unwrap_or_default())
        };
        if !told.is_empty() {
            return told;
        }
        let (code, text) = match piece.kind {
            Kind::Battery | Kind::Charger => (NearCode::NoBattery, "fits no battery tool aboard"),
            Kind::Adapter if !line_rules(board.rules).adapters => (NearCode::NoSource, "the agency does not allow adapters"),
            kind if kind.is_source() => (NearCode::NoHose, "no hose aboard fits it"),
            kind if kind.is_tool() && piece.hookup.battery.is_some() => (NearCode::NoBattery, "no pack aboard is of its family"),
            kind if kind.is_tool() => (NearCode::CouplingDiffers, "no hose aboard fits it by coupling and fluid"),
            _ => (NearCode::NoSource, "it fits no source or tool aboard"),
        };
        vec![near(piece, code, text)]
    }
}
