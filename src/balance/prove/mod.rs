//! That no allocation is better: bounds, branches, and the proof written out.

pub(crate) mod bound;
pub(crate) mod branch;
pub(crate) mod curve;
pub(crate) mod shortened;
pub(crate) mod symmetry;
