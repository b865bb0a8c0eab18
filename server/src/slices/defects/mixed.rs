//! Fluids that were mixed: every wet piece aboard with it is taken out, each by a defect of its own, to be cleared piece by piece.

use fullset_calc::release::DefectClass;

use super::{Defect, DefectId, DefectState, feed::Severity, rules::MOST_MIXED};
use crate::{
    platform::{
        door::{Write, own_id},
        error::Fault,
        said::quoted,
    },
    slices::pieces::{Hold, HoldBy, Outage, Piece, PieceState, Subject, Unanswered, put_out},
};

/// Takes out what was aboard with the piece of this defect. What is out for a mix already stays as it is.
pub fn quarantine(write: &mut Write<'_>, cause: &Defect, tag: &str) -> Result<(), Fault> {
    let Some(rig) = cause.place.rig() else { return Ok(()) };
    let mut made = 0;
    for stored in write.on_rig::<Piece>(rig)? {
        let piece = stored.record;
        if piece.id == cause.piece || piece.place.rig() != Some(rig) || piece.state == PieceState::Retired || !Subject::find(write, &piece)?.is_wet() {
            continue;
        }
        let known = write.of_parent::<Defect>(piece.id)?;
        let mixed = |defect: &Defect| defect.state == DefectState::Open && defect.classes().contains(&DefectClass::FluidMix);
        if known.iter().any(|known| mixed(&known.record)) {
            continue;
        }
        made += 1;
        if made > MOST_MIXED {
            return Err(Fault::rule(format!(
                "More than {MOST_MIXED} wet pieces are aboard; take the rig out of service and report the pieces one by one"
            )));
        }
        let said: String = cause.what.chars().take(3700).collect();
        let what = format!("fluids mixed aboard with {tag}: {}", quoted(&said));
        let id = DefectId(own_id(&format!("fluid mix {} {}", cause.id, piece.id)));
        let defect = Defect {
            id,
            piece: piece.id,
            what: what.clone(),
            class: DefectClass::FluidMix,
            classes_before: Vec::new(),
            severity: Severity::OutOfService,
            limit: None,
            place: piece.place,
            ticket: None,
            photos: Vec::new(),
            seen_again: 0,
            worse_at: None,
            ..cause.clone()
        };
        write.save(defect, stored.scope)?;
        put_out(
            write,
            piece.id,
            Outage {
                reason: what,
                planned: false,
                hold: Some(Hold { by: HoldBy::Defect, id: id.0 }),
                unanswered: vec![Unanswered {
                    class: DefectClass::FluidMix,
                    defect: Some(id.0),
                }],
            },
        )?;
    }
    Ok(())
}
