//! Settings of a placement.

use super::network::Diversity;

/// Settings of a placement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacementSettings {
    /// How ratings are added up where there is no log.
    pub diversity: Diversity,
    /// Largest voltage drop while the machine starts. (%)
    pub starting_drop_limit_pct: f64,
    /// Number of failing connection points for which moves are searched.
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
