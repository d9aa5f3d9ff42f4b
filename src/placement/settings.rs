//! What the user may choose of a placement.

use super::network::Diversity;

/// What the user may choose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacementSettings {
    /// How declared ratings are put together where there is no log.
    pub diversity: Diversity,
    /// Largest voltage drop while the machine starts. (%)
    pub starting_drop_limit_pct: f64,
    /// For how many failing places moves are looked for.
    pub places_with_moves: usize,
}

impl Default for PlacementSettings {
    fn default() -> Self {
        PlacementSettings {
            diversity: Diversity::Factor(1.0),
            starting_drop_limit_pct: 10.0,
            places_with_moves: 2,
        }
    }
}
