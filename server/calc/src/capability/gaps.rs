//! Why a slot is empty: every piece that might have filled it, and every requirement that it fails.

use super::board::Board;
use super::fill::Filled;
use super::input::{Life, Piece, Policy, State};
use super::wire::{Compete, Fact, Gap, Near, NearCode};
use super::words::{self, Voice};
use crate::hookup::{Joint, Misfit, MisfitCode, told};
use crate::ratings::{Better, Figure, Meets, Shortfall};
use crate::sets;
use crate::units::Quantity;
use chrono::{DateTime, Utc};

/// One gap for each empty slot, in the order of the complement.
pub(super) fn of(board: &Board<'_>, best: &Filled, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Gap> {
    let looking = Looking {
        board,
        best,
        policy,
        at,
        voice,
    };
    (0..board.slots.len())
        .filter(|slot| best.matching.piece(*slot).is_none())
        .filter_map(|slot| looking.gap(slot))
        .collect()
}

/// Whether a piece fits a slot on its own merits, with every reason against it.
pub(super) fn verdict(board: &Board<'_>, slot: usize, piece: &Piece, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> (bool, Vec<Near>) {
    let best = board.best(board.usable);
    let looking = Looking {
        board,
        best: &best,
        policy,
        at,
        voice,
    };
    let kinds = board.slot(slot).map_or(&[][..], |s| s.kinds.as_slice());
    if !kinds.contains(&piece.kind) {
        let wanted: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
        let text = format!("not {}", words::one(&words::listed(&wanted, "or")));
        return (false, vec![near(piece, NearCode::NoneAboard, &text)]);
    }
    let Some(i) = board.position(piece.id) else {
        return (false, vec![near(piece, NearCode::NotCounted, "more pieces are aboard than are looked at")]);
    };
    let mut reasons = looking.reasons(slot, i, piece);
    reasons.retain(|r| !matches!(r.code, NearCode::FillsAnotherSlot | NearCode::AnotherSystem));
    (reasons.is_empty(), reasons)
}

fn near(piece: &Piece, code: NearCode, text: &str) -> Near {
    Near {
        piece: Some(piece.id),
        code,
        words: format!("{} {}: {text}", piece.kind.word(), piece.tag),
        since: None,
        has: None,
        needs: None,
        short_by: None,
    }
}

/// What keeps a piece from being used at all, with the time it began.
pub(super) fn faults(piece: &Piece, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<Near> {
    let since = |code, at: DateTime<Utc>, text: String| Near {
        since: Some(at),
        ..near(piece, code, &text)
    };
    let mut all = Vec::new();
    if let State::OutOfService { since: from, reason } = &piece.state {
        let reason = if reason.is_empty() { String::new() } else { format!(", {reason}") };
        all.push(since(
            NearCode::OutOfService,
            *from,
            format!("out of service since {}{reason}", voice.at(*from)),
        ));
    }
    if let Some(notice) = &piece.stop_use {
        all.push(since(
            NearCode::StopUse,
            notice.since,
            format!("stop use since {}, {}", voice.at(notice.since), notice.words),
        ));
    }
    match piece.life {
        Life::Ends(end) if at >= end => all.push(since(NearCode::LifeEnded, end, format!("service life ended {}", voice.at(end)))),
        Life::Unknown => all.push(near(piece, NearCode::LifeUnknown, "age unknown")),
        _ => {}
    }
    for check in &piece.checks {
        if policy.counts_from(check.due).is_some_and(|t| at >= t) {
            all.push(since(
                NearCode::CheckOverdue,
                check.due,
                format!("{} overdue since {}", check.name, voice.at(check.due)),
            ));
        }
    }
    all
}

struct Looking<'l, 'a> {
    board: &'l Board<'a>,
    best: &'l Filled,
    policy: &'l Policy,
    at: DateTime<Utc>,
    voice: &'l Voice<'l>,
}

impl Looking<'_, '_> {
    fn gap(&self, index: usize) -> Option<Gap> {
        let slot = self.board.slot(index)?;
        let fits_kind = |piece: &&Piece| slot.kinds.contains(&piece.kind);
        let mut all: Vec<Near> = Vec::new();
        for (i, piece) in self.board.pieces.iter().enumerate().filter(|(_, p)| fits_kind(p)) {
            all.extend(self.reasons(index, i, piece));
        }
        let uncounted = self.board.left_out.iter().filter(|p| fits_kind(p));
        all.extend(uncounted.map(|piece| near(piece, NearCode::NotCounted, "more pieces are aboard than are looked at")));
        if all.is_empty() {
            let kinds: Vec<&str> = slot.kinds.iter().map(|kind| kind.word()).collect();
            let text = if kinds.is_empty() {
                "the slot names no kind".to_owned()
            } else {
                format!("no {} aboard", words::listed(&kinds, "or"))
            };
            all.push(Near {
                piece: None,
                code: NearCode::NoneAboard,
                words: text,
                since: None,
                has: None,
                needs: None,
                short_by: None,
            });
        }
        let mut said: Vec<String> = all.iter().map(|n| n.words.clone()).collect();
        let compete = self
            .best
            .matching
            .competition_of(&self.best.candidates, index)
            .filter(|c| c.slots.len() > 1 && !c.pieces.is_empty())
            .map(|c| {
                let slots: Vec<_> = c.slots.iter().filter_map(|s| self.board.slot(*s)).collect();
                let pieces: Vec<&Piece> = c.pieces.iter().filter_map(|p| self.board.piece(*p)).collect();
                let names: Vec<&str> = slots.iter().map(|s| s.name.as_str()).collect();
                let tags: Vec<String> = pieces.iter().map(|p| format!("{} {}", p.kind.word(), p.tag)).collect();
                let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
                said.push(format!("{} compete for {}", words::listed(&names, "and"), words::listed(&tags, "and")));
                Compete {
                    slots: slots.iter().map(|s| s.id.clone()).collect(),
                    pieces: pieces.iter().map(|p| p.id).collect(),
                }
            });
        Some(Gap {
            slot: slot.id.clone(),
            need: slot.need,
            words: said,
            near: all,
            compete,
        })
    }

    /// Every reason why a piece of a fitting kind does not fill this slot.
    fn reasons(&self, slot: usize, i: usize, piece: &Piece) -> Vec<Near> {
        let mut all = faults(piece, self.policy, self.at, self.voice);
        let usable = all.is_empty();
        if let Some(slot) = self.board.slot(slot) {
            all.extend(piece.ratings.shortfalls(&slot.minimums).iter().map(|s| self.shortfall(piece, s)));
        }
        self.hook_up(i, piece, usable, &mut all);
        if all.is_empty() {
            if let Some(other) = self.best.matching.slot(i).and_then(|s| self.board.slot(s)) {
                let name = Some(Fact::Text(other.name.clone()));
                all.push(Near {
                    needs: name,
                    ..near(piece, NearCode::FillsAnotherSlot, &format!("needed for {}", other.name))
                });
            } else if piece.kind.is_source() {
                all.push(near(piece, NearCode::AnotherSystem, "belongs to a system that was not chosen"));
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

    /// Why a hose or tool is not driven by the system. Of a piece that is not usable only what lies in the piece itself is said.
    fn hook_up(&self, i: usize, piece: &Piece, usable: bool, all: &mut Vec<Near>) {
        let (net, system) = (&self.board.net, self.best.system);
        let bit = sets::one(i);
        let is_hose = net.hoses & bit != 0;
        if !is_hose && net.tools & bit == 0 {
            return;
        }
        let alive = self.board.usable | bit;
        if self.board.hooked_up(alive, system) & bit != 0 {
            return;
        }
        let plug = self.board.plug.get(i).map(|(_, plug)| *plug).unwrap_or_default();
        if !is_hose && plug.battery != 0 && usable {
            all.push(near(piece, NearCode::NoBattery, "no usable battery of its family aboard"));
        }
        if !is_hose && plug.coupling == 0 {
            if plug.battery == 0 {
                all.push(near(piece, NearCode::HookupUnknown, "how it is driven is unknown"));
            }
            return;
        }
        if system == 0 {
            if usable {
                all.push(near(piece, NearCode::NoSource, "no power source to drive it"));
            }
            return;
        }
        let against = sets::each(system).filter_map(|s| self.board.piece(s).map(|source| (s, source)));
        let fewest = against
            .map(|(s, source)| self.against(s, source, i, piece, is_hose, usable))
            .min_by_key(Vec::len);
        all.extend(fewest.unwrap_or_default());
    }

    fn against(&self, s: usize, source: &Piece, i: usize, piece: &Piece, is_hose: bool, usable: bool) -> Vec<Near> {
        let plug = |i: usize| self.board.plug.get(i).map(|(_, plug)| *plug).unwrap_or_default();
        let tolerance = self.policy.pressure_tolerance;
        let (source_plug, own) = (plug(s), plug(i));
        if is_hose {
            return told(Joint::SourceToHose, source_plug.feeds(&own, tolerance), &source.hookup, &piece.hookup)
                .iter()
                .map(|m| self.misfit(piece, m))
                .collect();
        }
        let mut all: Vec<Near> = told(Joint::SourceToTool, source_plug.drives(&own, tolerance), &source.hookup, &piece.hookup)
            .iter()
            .map(|m| self.misfit(piece, m))
            .collect();
        let fed = sets::pick(&self.board.net.onward, s) & self.board.usable;
        match sets::first(fed).and_then(|h| self.board.piece(h).map(|hose| (h, hose))) {
            None if usable => all.push(near(
                piece,
                NearCode::NoHose,
                &format!("no usable hose leads from {} {}", source.kind.word(), source.tag),
            )),
            None => {}
            Some(_) if sets::each(fed).any(|h| plug(h).tool_coupling == own.coupling) => {}
            Some((h, hose)) => {
                let misfits = told(Joint::HoseToTool, plug(h).mouths(&own), &hose.hookup, &piece.hookup);
                let coupling = misfits
                    .iter()
                    .filter(|m| matches!(m.code, MisfitCode::CouplingDiffers | MisfitCode::CouplingUnknown));
                all.extend(coupling.map(|m| self.misfit(piece, m)));
            }
        }
        all
    }

    fn misfit(&self, piece: &Piece, misfit: &Misfit) -> Near {
        let code = match misfit.code {
            MisfitCode::CouplingUnknown => NearCode::CouplingUnknown,
            MisfitCode::CouplingDiffers => NearCode::CouplingDiffers,
            MisfitCode::FluidUnknown => NearCode::FluidUnknown,
            MisfitCode::FluidDiffers => NearCode::FluidDiffers,
            MisfitCode::PressureUnknown => NearCode::PressureUnknown,
            MisfitCode::PressureBelow => NearCode::PressureBelow,
        };
        let (mut has, mut needs) = (misfit.has.clone().map(Fact::Text), misfit.needs.clone().map(Fact::Text));
        let mut short_by = None;
        if let Some((rated, runs)) = misfit.pressures {
            (has, needs) = (Some(Fact::Quantity(rated)), Some(Fact::Quantity(runs)));
            short_by = Some(Quantity::new((runs.si() - rated.si()) / runs.unit.factor(), runs.unit));
        }
        Near {
            has,
            needs,
            short_by,
            ..near(piece, code, &misfit.words(self.voice.units))
        }
    }
}
