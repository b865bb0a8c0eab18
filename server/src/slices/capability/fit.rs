use fullset_calc::capability::{self as calc, GapIn};

use super::load::{Aboard, Catalogue};
use crate::{
    platform::{door::Write, error::Fault},
    slices::{pieces::Piece, rigs::RigId},
};

/// Whether a piece would serve a need or a slot of a rig, inside a command: judged as the rig page judges it. Meant for neither, it is
/// asked whether it would be of use there at all. None where the agency or the rig is not there.
pub fn fit(write: &mut Write<'_>, rig: RigId, piece: &Piece, need: Option<&str>, slot: Option<&str>) -> Result<Option<calc::Fit>, Fault> {
    let now = write.now();
    let Some(mut catalogue) = Catalogue::current(write)? else { return Ok(None) };
    let found = Aboard::load(write, &mut catalogue, rig)?;
    let fit = match found {
        None => None,
        Some(aboard) => {
            let ran = catalogue.ran(write, [piece])?;
            let judged = catalogue.judged(write, piece, &ran)?;
            let rules = catalogue.rules();
            let view = aboard.view();
            let target = calc::target(&view, &rules, now);
            let asked = need.map(|id| (GapIn::Need, id)).or(slot.map(|id| (GapIn::Slot, id)));
            Some(match asked {
                Some(place) => catalogue.speak(|voice| calc::fits(place, target, &judged, &view, &rules, now, voice)),
                None => catalogue.speak(|voice| calc::fits_anywhere(&judged, &view, &rules, now, voice)),
            })
        }
    };
    write.keep(catalogue);
    Ok(fit)
}
