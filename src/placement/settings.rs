//! Settings of a placement.

use super::network::DiversityRule;

/// Settings of a placement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacementSettings {
    /// How ratings are added up where there is no log.
    pub diversity: DiversityRule,
    /// Largest voltage drop while the machine starts. (%)
    pub starting_drop_limit_pct: f64,
    /// Largest voltage rise from the supply to a machine that generates. (%)
    pub rise_limit_pct: f64,
    /// Number of failing connection points for which moves are searched.
    pub places_with_moves: usize,
}

impl Default for PlacementSettings {
    fn default() -> Self {
        PlacementSettings {
            diversity: DiversityRule::Factor(1.0),
            starting_drop_limit_pct: 10.0,
            rise_limit_pct: 1.0,
            places_with_moves: 2,
        }
    }
}
