//! Taking an import back, as long as nobody has worked with what it brought in.

use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Import, feed::ImportId};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write},
        error::Fault,
        record::{self, Record as _, Scope},
    },
    slices::{
        couplings::Coupling,
        defects::Defect,
        districts::District,
        members::Member,
        models::Model,
        operating_cards::{CardDraft, OperatingCard},
        pieces::Piece,
        rigs::Rig,
        shops::Shop,
        stations::Station,
        swaps::Swap,
        tickets::Ticket,
        tool_sets::ToolSet,
    },
};

/// Undoes an import: everything that it brought in goes, so long as nothing of it has changed since.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UndoImport {
    /// The import to undo; what it brought in must be unchanged and unused.
    pub id: ImportId,
}

impl Act for UndoImport {
    const KIND: &'static str = "import.undo";
    const SUMMARY: &'static str = "Undo an import: everything that it brought in goes";
    const DONE: &'static str = "An import was undone";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Import>(self.id)?;
        let import = stored.record;
        if import.undone_at.is_some() {
            return Err(Fault::rule("This import has been undone already"));
        }
        let (agency, made_rev) = (write.agency, import.made_rev);
        let brought = record::left_by(write.reading()?, agency, made_rev)?;
        let kinds = [Piece::KIND, Model::KIND, Coupling::KIND, Rig::KIND, Station::KIND, Shop::KIND, District::KIND];
        let brought: Vec<_> = brought.into_iter().filter(|row| kinds.contains(&row.kind.as_str())).collect();
        let changed: Vec<&str> = brought.iter().filter(|row| row.rev != made_rev).map(|row| row.label.as_str()).collect();
        let used = self.used_since(write, &brought)?;
        if let Some(first) = changed.first().copied().or(used.as_deref()) {
            let count = changed.len().max(1);
            return Err(Fault::rule(format!(
                "{count} of the records that it brought in have changed or are used since, {first} the first; undoing would lose that work. Retire or change single pieces instead"
            )));
        }
        write.save(
            Import {
                undone_at: Some(write.now()),
                undone_by: Some(write.actor.person()),
                ..import
            },
            Scope::default(),
        )?;
        for row in brought {
            let id = row.id.0;
            match row.kind.as_str() {
                Piece::KIND => {
                    write.remove::<Piece>(id)?;
                    if let Some(rig) = row.rig {
                        write.reconsider(rig.0);
                    }
                }
                Model::KIND => write.remove::<Model>(id)?,
                Coupling::KIND => write.remove::<Coupling>(id)?,
                Rig::KIND => {
                    write.remove::<Rig>(id)?;
                    write.reconsider(id);
                }
                Station::KIND => write.remove::<Station>(id)?,
                Shop::KIND => write.remove::<Shop>(id)?,
                _ => write.remove::<District>(id)?,
            }
        }
        Ok(())
    }
}

impl UndoImport {
    /// A record, not of this import, that stands in a place or names a model that the import brought in.
    fn used_since(&self, write: &mut Write<'_>, brought: &[record::Row]) -> Result<Option<String>, Fault> {
        let ids: std::collections::HashSet<Uuid> = brought.iter().map(|row| row.id.0).collect();
        let agency = write.agency;
        let couplings: Vec<&str> = brought.iter().filter(|row| row.kind == Coupling::KIND).map(|row| row.label.as_str()).collect();
        for stored in write.all::<Model>()? {
            let model = stored.record;
            let mut named = [&model.hookup.coupling, &model.hookup.tool_coupling].into_iter().flatten();
            if !ids.contains(&model.id.0) && named.any(|name| couplings.contains(&name.as_str())) {
                return Ok(Some(model.name));
            }
        }
        for stored in write.all::<Coupling>()? {
            let coupling = stored.record;
            if !ids.contains(&coupling.id.0) && coupling.mates_with.iter().any(|id| ids.contains(&id.0)) {
                return Ok(Some(coupling.name));
            }
        }
        for row in brought.iter().filter(|row| row.kind == Model::KIND) {
            if write.look::<OperatingCard>(row.id.0)?.is_some() {
                return Ok(Some(row.label.clone()));
            }
        }
        let kinds = [
            Piece::KIND,
            CardDraft::KIND,
            Rig::KIND,
            Station::KIND,
            Defect::KIND,
            Swap::KIND,
            Ticket::KIND,
            Member::KIND,
            ToolSet::KIND,
        ];
        for tied in record::ties(write.reading()?, agency, &kinds)? {
            let to = [tied.parent, tied.rig, tied.station, tied.district];
            if to.into_iter().flatten().any(|id| ids.contains(&id.0)) && !ids.contains(&tied.id.0) {
                return Ok(Some(tied.label));
            }
        }
        Ok(None)
    }
}
