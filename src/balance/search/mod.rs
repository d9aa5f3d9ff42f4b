//! Good allocations: by enumeration, of all or of those within a few moves, by meeting in the middle, by local search.

pub(crate) mod changes;
pub(crate) mod descent;
pub(crate) mod enumerate;
pub(crate) mod few_moves;
pub(crate) mod found;
pub(crate) mod incumbent;
pub(crate) mod local_search;
pub(crate) mod meet_in_the_middle;
pub(crate) mod peak;
pub(crate) mod random;
pub(crate) mod reduce_excess;
pub(crate) mod ties;
