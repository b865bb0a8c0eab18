//! The work on a rig is bounded whatever is aboard and whatever the grades ask: counted in steps, so that no machine is too slow
//! for these tests and every one gives the same answers.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::cast_precision_loss)]

mod hostile;

use fullset_calc::capability::{Voice, assess, count_work, level};
use fullset_calc::units::Units;
use hostile::{Excess, hostile, now};
use proptest::prelude::*;

/// The most steps of a short answer: two milliseconds or so.
const LEVEL: usize = 100_000;
/// The most steps of a whole answer: fifty milliseconds or so.
const ANSWER: usize = 2_000_000;

fn excess() -> impl Strategy<Value = Excess> {
    prop::sample::select(&Excess::ALL[..])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_rig_takes_more_steps_than_the_bounds_allow(excess in excess(), count in prop::sample::select(&[40_usize, 120, 300][..]), heavy: bool, seed: u64) {
        let world = hostile(excess, count, heavy, seed);
        let voice = Voice::utc(Units::Us);
        let work = count_work(&world.rig(), &world.rules, now(), &voice);
        prop_assert!(work.level <= LEVEL, "{excess:?}: {work:?}");
        prop_assert!(work.answer <= ANSWER, "{excess:?}: {work:?}");
        prop_assert_eq!(work, count_work(&world.rig(), &world.rules, now(), &voice));
        let (short, whole) = (level(&world.rig(), &world.rules, now()), assess(&world.rig(), &world.rules, now(), &voice));
        prop_assert_eq!((short.level, short.confirmed_level, short.completeness), (whole.level, whole.confirmed_level, whole.completeness));
        prop_assert!(whole.confirmed_level <= whole.level);
    }
}
