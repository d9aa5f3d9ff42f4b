//! Resistance of a board's feeder.

/// Resistance of what feeds a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeederResistance {
    /// Of one phase conductor. (Ω)
    pub phase_ohm: f64,
    /// Of the neutral. (Ω)
    pub neutral_ohm: f64,
}
