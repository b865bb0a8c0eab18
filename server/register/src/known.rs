//! Pieces that the agency has: whether a row says anything else of one.

use super::{
    catalogue::{KnownModel, model_key},
    cells::{Fault, RowState},
    facts::Facts,
    places::Placed,
    reading::{KnownRegister, RegisterRow},
    sifting::Draft,
    tags,
};
use fullset_calc::plate;
use std::collections::{BTreeSet, HashMap};

/// The agency's pieces by their tags.
pub(super) struct KnownPieces<'a> {
    known: &'a KnownRegister,
    models: HashMap<String, &'a KnownModel>,
    by_tag: HashMap<String, &'a RegisterRow>,
    by_look: HashMap<String, &'a str>,
}

/// What a row says anything about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Claims {
    /// Its place.
    pub(super) place: bool,
    /// Its state.
    pub(super) state: bool,
}

impl<'a> KnownPieces<'a> {
    pub(super) fn new(known: &'a KnownRegister) -> Self {
        Self {
            known,
            models: known.models.iter().map(|model| (model_key(model.kind, &model.name), model)).collect(),
            by_tag: known.pieces.iter().map(|piece| (piece.tag.to_lowercase(), piece)).collect(),
            by_look: known.pieces.iter().map(|piece| (tags::alike(&piece.tag), piece.tag.as_str())).collect(),
        }
    }

    pub(super) fn find(&self, tag: &str) -> Option<&'a RegisterRow> {
        self.by_tag.get(&tag.to_lowercase()).copied()
    }

    /// The tag of a piece that is easily taken for this one.
    pub(super) fn alike(&self, tag: &str) -> Option<&'a str> {
        self.by_look.get(&tags::alike(tag)).copied()
    }

    /// In what a row differs from the piece; what it leaves out differs in nothing.
    pub(super) fn differing(&self, piece: &RegisterRow, draft: &Draft, placed: &Placed, claims: Claims) -> Vec<&'static str> {
        fn other<T: PartialEq>(given: &Option<T>, has: &Option<T>) -> bool {
            given.is_some() && given != has
        }
        let plain = |serial: &Option<String>| serial.as_deref().map(plate::plain_serial);
        let retired = draft.state == RowState::Retired && piece.state == RowState::Retired;
        let all = [
            ("kind", draft.kind != piece.kind),
            ("model", draft.kind == piece.kind && !self.same_model(piece, draft)),
            ("serial", other(&plain(&draft.serial), &plain(&piece.serial))),
            ("place", claims.place && !retired && placed.place != piece.place),
            ("date of make", other(&draft.made_on, &piece.made_on)),
            ("first day of service", other(&draft.in_service_since, &piece.in_service_since)),
            ("last annual service", other(&draft.last_service_on, &piece.last_service_on)),
            ("lender", other(&draft.lent_by, &piece.lent_by)),
            ("state", claims.state && draft.state != piece.state),
            ("reason for being out of service", other(&draft.state_reason, &piece.state_reason)),
            ("note", other(&draft.note, &piece.note)),
        ];
        all.into_iter().filter(|(_, differs)| *differs).map(|(what, _)| what).collect()
    }

    /// Whether the row may be of the piece's model: by name, or as a variant that the register made of it, and by what it says.
    fn same_model(&self, piece: &RegisterRow, draft: &Draft) -> bool {
        let Some(model) = self.models.get(&piece.model_key) else { return false };
        let (name, given) = (model.name.to_lowercase(), draft.model.to_lowercase());
        let mut hookup = draft.figures.hookup.clone();
        for written in [&mut hookup.coupling, &mut hookup.tool_coupling].into_iter().flatten() {
            if let Some(family) = self.known.couplings.find(written) {
                written.clone_from(&family.name);
            }
        }
        let nothing = BTreeSet::new();
        let own = Facts::of(&hookup, &draft.figures.ratings, &draft.figures.unknown);
        let its = Facts::of(&model.hookup, &model.ratings, &nothing);
        (name == given || name.strip_prefix(&given).is_some_and(|rest| rest.starts_with(" ("))) && own.agree(&its)
    }
}

/// A row whose tag the agency has, and in what it differs, where that could be read.
pub(super) fn has_already(tag: &str, differing: &[&str]) -> Fault {
    let what = match differing {
        [] => String::new(),
        [one] => format!(", with another {one}"),
        [many @ .., last] => format!(", with another {} and {last}", many.join(", ")),
    };
    Fault::new(
        "duplicate-tag",
        format!("the agency already has a piece with the tag {tag}{what}"),
        Some("a tag is never used again, and a file changes no piece: take the line out, or change the piece on its page".into()),
    )
}
