//! Quantities with their units.
