//! Settings of a placement.

use super::network::DiversityRule;
use balance::HeldBack;

/// Settings of a placement.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacementSettings {
    /// How ratings are added up where there is no log.
    pub diversity: DiversityRule,
    /// Largest voltage drop while the machine starts. (%)
    pub starting_drop_limit_pct: f64,
    /// Largest voltage rise from the supply to a machine that generates. (%)
    pub rise_limit_pct: f64,
    /// Conductors with a danger: nothing is placed on them until they are repaired.
    pub held_back: Vec<HeldBack>,
    /// Number of failing connection points for which moves are searched.
    pub places_with_moves: usize,
}

impl Default for PlacementSettings {
    fn default() -> Self {
        PlacementSettings {
            diversity: DiversityRule::Factor(1.0),
            starting_drop_limit_pct: 10.0,
            rise_limit_pct: 1.0,
            held_back: Vec::new(),
            places_with_moves: 2,
        }
    }
}
