//! Small sets of pieces as bits, so that a rig's questions are answered without heap traffic.

/// A set of at most [`CAPACITY`] things, bit `i` for thing `i`.
pub(crate) type Set = u128;

/// How many things a [`Set`] can hold.
pub(crate) const CAPACITY: usize = 128;

/// The set of one thing; empty when there is no room for it.
pub(crate) const fn one(i: usize) -> Set {
    if i < CAPACITY { 1 << i } else { 0 }
}

/// The bit of thing `i` in a set of at most 32; none when there is no room for it.
pub(crate) const fn mask(i: usize) -> u32 {
    if i < 32 { 1 << i } else { 0 }
}

/// The things of a set, lowest first.
pub(crate) fn each(mut set: Set) -> impl Iterator<Item = usize> + Clone {
    std::iter::from_fn(move || {
        if set == 0 {
            return None;
        }
        let i = set.trailing_zeros();
        set &= set - 1;
        Some(i as usize)
    })
}

/// The lowest thing of a set.
pub(crate) const fn first(set: Set) -> Option<usize> {
    if set == 0 { None } else { Some(set.trailing_zeros() as usize) }
}

/// How many things there are.
pub(crate) const fn count(set: Set) -> usize {
    set.count_ones() as usize
}

/// The element of a slice, or the default beyond its end.
pub(crate) fn pick<T: Copy + Default>(slice: &[T], i: usize) -> T {
    slice.get(i).copied().unwrap_or_default()
}
