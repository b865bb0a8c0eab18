use fullset_calc::{
    capability::RatedAt,
    hookup::Hookup,
    ratings::{Gear, Ratings},
};
use fullset_care::{check::MakersBound, life::ServiceLife};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Piece, PieceState,
    fluids::{refuse_mix, refuse_typed},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write},
        error::Fault,
        record::Scope,
    },
    slices::{
        couplings::couplings,
        models::{Draft, Model, ModelId, model},
        rigs::RigId,
    },
};

/// Changes a model. Every rig is worked out again. Its kind stays: a piece does not turn from a ram into a hose. The
/// fluid of pieces that are there is not changed by it: that is `piece.refill`, one by one.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditModel {
    /// The model to change.
    pub id: ModelId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New hook-up, which replaces the old one whole; left out: that stays.
    pub hookup: Option<Hookup>,
    /// New ratings at the rated pressure, which replace all old ones; left out: those stay.
    pub ratings: Option<Ratings>,
    /// New ratings at lower pressures, whole.
    #[schema(max_items = 4)]
    pub rated_at: Option<Vec<RatedAt>>,
    /// New limits of the maker's, whole. What was checked before keeps its result.
    #[schema(max_items = 20)]
    pub makers_bounds: Option<Vec<MakersBound>>,
    /// How long its pieces serve by its maker's manual, whole.
    #[schema(max_items = 6)]
    pub service_lives: Option<Vec<ServiceLife>>,
    /// Whether the pump has a dump valve.
    pub dump_valve: Option<bool>,
    /// Which accessory it is.
    pub gear: Option<Gear>,
    /// The family of models that are run alike and take a sign-off of their own; empty: a sign-off on its kind is enough again.
    pub family: Option<String>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or changes a fluid; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditModel {
    const KIND: &'static str = "model.edit";
    const SUMMARY: &'static str = "Change a model's name, hook-up or ratings";
    const DONE: &'static str = "The model's name, hook-up or ratings were changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("model");
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Model>(self.id)?;
        write.expects(&stored)?;
        let before = stored.record;
        let same = self.hookup.is_none() && self.ratings.is_none() && self.rated_at.is_none() && self.gear.is_none() && self.service_lives.is_none();
        let own = before.clone();
        let draft = Draft {
            id: own.id,
            name: self.name.unwrap_or(own.name),
            kind: own.kind,
            gear: self.gear.or(own.gear),
            family: self.family.or(own.family),
            hookup: self.hookup.unwrap_or(own.hookup),
            ratings: self.ratings.unwrap_or(own.ratings),
            rated_at: self.rated_at.unwrap_or(own.rated_at),
            makers_bounds: self.makers_bounds.unwrap_or(own.makers_bounds),
            service_lives: self.service_lives.unwrap_or(own.service_lives),
            dump_valve: self.dump_valve.or(own.dump_valve),
        };
        let after = Model {
            price: before.price.clone(),
            ..model(draft, &couplings(write)?)?
        };
        let pieces = if before.hookup == after.hookup {
            Vec::new()
        } else {
            write.of_parent::<Piece>(self.id)?
        };
        for piece in &pieces {
            refuse_typed(write, &piece.record, &before, &after).map_err(|fault| fault.at("body.hookup.fluid"))?;
        }
        if !before.makers_bounds.is_empty() && before.makers_bounds != after.makers_bounds {
            write.note_eased(format!("changes the maker's limits of {}, which its checks are held to", before.name));
        }
        write.save(after, Scope::default())?;
        for piece in pieces.iter().filter(|piece| piece.record.state != PieceState::Missing) {
            if let Some(rig) = piece.scope.rig {
                refuse_mix(write, &piece.record, RigId(rig)).map_err(|fault| fault.at("body.hookup.fluid"))?;
            }
        }
        if same { Ok(()) } else { write.reconsider_all() }
    }
}
