//! A short district keeps what its own pieces would mend.
//!
//! Where a district has fewer full rigs than it should have, and one of its rigs would be full with pieces that are in the district, nothing that
//! this rests on goes to another district: not its pump while a cutter for it lies ready across the yard.

use super::input::{Day, Mend};

/// The donors that stay in their district.
pub(super) fn kept(day: &Day) -> Vec<bool> {
    let mut kept = vec![false; day.donors.len()];
    for rig in day.rigs.iter().filter(|rig| !rig.full) {
        let Some(district) = rig
            .district
            .filter(|district| day.districts.get(*district).is_some_and(|district| district.is_short))
        else {
            continue;
        };
        for donor in rig.mends.iter().filter(|mend| is_at_hand(day, mend, district)).flat_map(|mend| &mend.rests_on) {
            if let Some(mark) = kept.get_mut(*donor) {
                *mark = true;
            }
        }
    }
    kept
}

/// The day in which they do.
pub(super) fn kept_home(day: &Day) -> Day {
    let (kept, mut day) = (kept(day), day.clone());
    let (rigs, donors) = (&mut day.rigs, &day.donors);
    for rig in rigs {
        for want in rig.mends.iter_mut().flat_map(|mend| &mut mend.wants) {
            let stays = |donor: usize| kept.get(donor).is_some_and(|kept| *kept) && donors.get(donor).is_some_and(|donor| donor.district != rig.district);
            want.fits.retain(|fit| !stays(fit.donor));
        }
    }
    day
}

/// Whether a mend can be made from pieces of one district.
fn is_at_hand(day: &Day, mend: &Mend, district: usize) -> bool {
    fn fill(day: &Day, wants: &[super::Want], district: usize, taken: &mut Vec<usize>) -> bool {
        let Some((want, rest)) = wants.split_first() else { return true };
        let own = want.fits.iter().map(|fit| fit.donor);
        let own = own.filter(|donor| day.donors.get(*donor).is_some_and(|donor| donor.district == Some(district)));
        // One more than could be taken: further ones change nothing.
        let own: Vec<usize> = own.filter(|donor| !taken.contains(donor)).take(wants.len()).collect();
        own.into_iter().any(|donor| {
            taken.push(donor);
            let filled = fill(day, rest, district, taken);
            taken.pop();
            filled
        })
    }
    !mend.wants.is_empty() && fill(day, &mend.wants, district, &mut Vec::new())
}
