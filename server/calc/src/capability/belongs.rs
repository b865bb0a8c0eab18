//! Whether a piece belongs on a rig: it can be joined to something aboard, in whatever state that is; where nothing aboard is of
//! the kind that it is joined to, nothing speaks against it. Whether it can run now is the level's matter.
//!
//! So the hoses and tools of a rig whose pump is at the shop are aboard, and a cutter that mates with nothing there is not what the
//! list asks for. What is unknown joins nothing.

use super::board::{Board, line_rules};
use super::input::Piece;
use crate::hookup::{Fluid, Reach, same_name};
use crate::ratings::Kind;
use crate::sets::{self, Set};
use crate::units::Quantity;

impl Board<'_> {
    /// Of the usable pieces in `of`, those that belong here; `reach` is that of the usable pieces.
    pub(super) fn belonging(&self, of: Set, reach: &Reach) -> Set {
        let of = of & self.usable;
        let of_use = self.of_use(reach, self.usable) & of;
        if of_use == of {
            return of;
        }
        let all = (0..self.pieces.len()).fold(0, |set, i| set | sets::one(i));
        let whole = self.lines.reach(all);
        let found = of_use | (self.of_use(&whole, all) & of);
        sets::each(of & !found)
            .filter(|i| self.piece(*i).is_some_and(|piece| self.joins_something(*i, piece, whole.served())))
            .fold(found, |set, i| set | sets::one(i))
    }

    /// `fed`: what some source aboard feeds, were all in use.
    fn joins_something(&self, i: usize, piece: &Piece, fed: Set) -> bool {
        match piece.kind {
            Kind::Accessory => true,
            Kind::Battery | Kind::Charger => piece.hookup.battery.is_some() && !self.any(|other| other.kind.is_tool() && other.hookup.battery.is_some()),
            kind if kind.is_tool() => self.has_a_pack(i, piece) || self.joins_a_line(piece, fed),
            kind if kind.is_source() => !self.any(|other| other.kind.is_conduit()),
            Kind::Adapter if !line_rules(self.rules).adapters => false,
            _ => self.joins_as_conduit(piece),
        }
    }

    /// A battery tool: a pack of its family is aboard, or none of any family.
    fn has_a_pack(&self, i: usize, tool: &Piece) -> bool {
        let family = tool.hookup.battery.as_deref().is_some_and(|family| same_name(family, family));
        family && (self.lines.packs_of(i) != 0 || !self.any(|other| other.kind == Kind::Battery))
    }

    /// A hose-fed tool: a hose or adapter aboard mates with it whose source is away, or none is aboard. One that a source aboard feeds
    /// and that does not drive the tool all the same speaks against it: by its pressure.
    fn joins_a_line(&self, tool: &Piece, fed: Set) -> bool {
        let (end, fluid) = (tool.hookup.source_end(), tool.hookup.fluid);
        let takes = |(i, other): (usize, &&Piece)| {
            fed & sets::one(i) == 0 && other.kind.is_conduit() && self.mate((other.hookup.tool_end(), other.hookup.fluid), (end, fluid))
        };
        end.is_some() && (!self.any(|other| other.kind.is_conduit()) || self.pieces.iter().enumerate().any(takes))
    }

    /// A hose or adapter: a source aboard that it mates with does not burst it; where it mates with none, a tool aboard takes it; where
    /// neither is aboard, nothing speaks against it.
    fn joins_as_conduit(&self, piece: &Piece) -> bool {
        let hookup = &piece.hookup;
        let sources = || self.pieces.iter().filter(|other| other.kind.is_source());
        let is_away = |source| self.position(source).is_none();
        if piece.fixed_to.is_some_and(is_away) && sources().next().is_some() {
            return false;
        }
        let own = (hookup.source_end(), hookup.fluid);
        let mut mating = sources()
            .filter(|source| self.mate((source.hookup.coupling.as_deref(), source.hookup.fluid), own))
            .peekable();
        if mating.peek().is_some() {
            return mating.any(|source| self.stands(hookup.pressure, source.hookup.pressure));
        }
        let wet = |other: &Piece| other.kind.is_tool() && other.hookup.coupling.is_some();
        let taken = self.any(|other| wet(other) && self.mate((hookup.tool_end(), hookup.fluid), (other.hookup.source_end(), other.hookup.fluid)));
        taken || (own.0.is_some() && own.1.is_some() && sources().next().is_none() && !self.any(wet))
    }

    fn stands(&self, allowed: Option<Quantity>, runs: Option<Quantity>) -> bool {
        let tolerance = line_rules(self.rules).tolerance;
        allowed.zip(runs).is_some_and(|(allowed, runs)| allowed.si() >= runs.si() * (1.0 - tolerance))
    }

    fn mate(&self, (a, a_fluid): (Option<&str>, Option<Fluid>), (b, b_fluid): (Option<&str>, Option<Fluid>)) -> bool {
        a_fluid.is_some() && a_fluid == b_fluid && a.zip(b).is_some_and(|(a, b)| self.rules.mates.mate(a, b))
    }

    fn any(&self, test: impl Fn(&Piece) -> bool) -> bool {
        self.pieces.iter().any(|piece| test(piece))
    }
}
