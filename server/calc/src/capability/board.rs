//! A rig prepared for questions: pieces as bits in tag order, names as small numbers, ratings already compared.

use super::input::{Batteries, Need, Piece, Policy, Rig, Slot};
use crate::hookup::{Network, Plug, Plugs};
use crate::ratings::Kind;
use crate::sets::{self, CAPACITY, Set};
use chrono::{DateTime, Utc};

pub(super) struct Board<'a> {
    pub slots: &'a [Slot],
    pub simultaneous_min: usize,
    /// In tag order, then by id; a piece's bit is its place here.
    pub pieces: Vec<&'a Piece>,
    pub plugs: Plugs<'a>,
    pub plug: Vec<(Kind, Plug)>,
    pub usable: Set,
    pub net: Network,
    /// Of each slot: the pieces of its kinds that meet its minimums, in whatever state.
    pub suits: Vec<Set>,
    /// Pieces that need no hook-up.
    pub plain: Set,
    /// Slots by need, then as written.
    pub order: Vec<usize>,
    /// Sources that may fill a power slot; `None` when there is no power slot.
    pub powering: Option<Set>,
    /// Pieces beyond the number that is looked at.
    pub left_out: Vec<&'a Piece>,
}

impl<'a> Board<'a> {
    pub(super) fn new(rig: &Rig<'a>, policy: &Policy, at: DateTime<Utc>) -> Self {
        Self::of(rig, rig.pieces.iter(), policy, at)
    }

    /// As [`Board::new`], with other pieces than those aboard.
    pub(super) fn of(rig: &Rig<'a>, pieces: impl Iterator<Item = &'a Piece>, policy: &Policy, at: DateTime<Utc>) -> Self {
        let slots: &[Slot] = rig.complement.map_or(&[], |c| c.slots.as_slice());
        let matters = |piece: &Piece| {
            let kind = piece.kind;
            kind.is_source() || kind.is_tool() || matches!(kind, Kind::Hose | Kind::Battery) || slots.iter().any(|slot| slot.kinds.contains(&kind))
        };
        let mut pieces: Vec<&Piece> = pieces.filter(|piece| matters(piece)).collect();
        let by_tag = |a: &&Piece, b: &&Piece| a.tag.cmp(&b.tag).then_with(|| a.id.cmp(&b.id));
        pieces.sort_unstable_by(by_tag);
        let mut left_out = Vec::new();
        if pieces.len() > CAPACITY {
            pieces.sort_by_key(|piece| !piece.is_usable(policy, at));
            left_out = pieces.split_off(CAPACITY);
            pieces.sort_unstable_by(by_tag);
        }
        let mut plugs = Plugs::default();
        let mut plug = Vec::with_capacity(pieces.len());
        let mut suits = vec![0; slots.len()];
        let mut usable: Set = 0;
        for (i, piece) in pieces.iter().enumerate() {
            plug.push((piece.kind, plugs.read(piece.kind, &piece.hookup)));
            if piece.is_usable(policy, at) {
                usable |= sets::one(i);
            }
            for (slot, set) in slots.iter().zip(suits.iter_mut()) {
                if slot.kinds.contains(&piece.kind) && piece.ratings.meet_all(&slot.minimums) {
                    *set |= sets::one(i);
                }
            }
        }
        let net = Network::new(&plug, policy.pressure_tolerance, policy.batteries == Batteries::WithTool);
        let mut board = Self {
            slots,
            simultaneous_min: rig.complement.map_or(0, |c| usize::try_from(c.simultaneous_min).unwrap_or(usize::MAX)),
            pieces,
            plugs,
            plug,
            usable,
            net,
            suits,
            plain: 0,
            order: Vec::with_capacity(slots.len()),
            powering: None,
            left_out,
        };
        board.settle();
        board
    }

    /// Works out what follows from pieces and slots; again after pieces were added.
    pub(super) fn settle(&mut self) {
        self.plain = Set::MAX & !(self.net.sources | self.net.hoses | self.net.tools);
        self.order.clear();
        for need in [Need::Core, Need::Required, Need::Optional] {
            self.order
                .extend(self.slots.iter().enumerate().filter(|(_, slot)| slot.need == need).map(|(i, _)| i));
        }
        let mut powering = None;
        for (slot, suits) in self.slots.iter().zip(self.suits.iter()) {
            if slot.is_power() {
                powering = Some(powering.unwrap_or(0) | (suits & self.net.sources));
            }
        }
        self.powering = powering;
    }

    pub(super) fn slot(&self, i: usize) -> Option<&'a Slot> {
        self.slots.get(i)
    }

    pub(super) fn piece(&self, i: usize) -> Option<&'a Piece> {
        self.pieces.get(i).copied()
    }

    /// The same rig with pieces added that exist in thought only: `plug` and `suits` hold more than `pieces`.
    pub(super) fn extended(&self, plug: Vec<(Kind, Plug)>, net: Network, suits: Vec<Set>) -> Self {
        let mut board = Self {
            slots: self.slots,
            simultaneous_min: self.simultaneous_min,
            pieces: self.pieces.clone(),
            plugs: Plugs::default(),
            plug,
            usable: self.usable,
            net,
            suits,
            plain: 0,
            order: Vec::new(),
            powering: None,
            left_out: Vec::new(),
        };
        board.settle();
        board
    }

    pub(super) fn position(&self, id: uuid::Uuid) -> Option<usize> {
        self.pieces.iter().position(|piece| piece.id == id)
    }

    /// Whether two pieces can stand for each other in everything but their name.
    pub(super) fn alike(&self, a: usize, b: usize) -> bool {
        let both = sets::one(a) | sets::one(b);
        let same_plug = match (self.plug.get(a), self.plug.get(b)) {
            (Some((ka, pa)), Some((kb, pb))) => {
                // An unknown pressure is not a number, which is not equal to itself.
                let kpa = pa.kpa == pb.kpa || (pa.kpa.is_nan() && pb.kpa.is_nan());
                let rest =
                    (pa.coupling, pa.tool_coupling, pa.fluid, pa.circuits, pa.battery) == (pb.coupling, pb.tool_coupling, pb.fluid, pb.circuits, pb.battery);
                ka == kb && kpa && rest
            }
            _ => false,
        };
        same_plug && self.suits.iter().all(|set| set & both == 0 || set & both == both)
    }
}
