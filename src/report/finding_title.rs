//! The plain title of each kind of finding.

use finding::Kind;

/// What a page calls a kind of finding, to be followed by its place.
pub(super) const fn finding_title(kind: Kind) -> &'static str {
    match kind {
        Kind::HighResistanceJoint => "High-resistance joint",
        Kind::NeutralFault => "Neutral fault",
        Kind::PhaseOverload => "Phase overload",
        Kind::NeutralOverload => "Neutral overload",
        Kind::NeutralHarmonics => "Harmonics in the neutral",
        Kind::PhaseLoss => "Loss of a phase",
        Kind::VoltageOutOfRange => "Voltage out of range",
        Kind::FrequencyOutOfRange => "Frequency out of range",
        Kind::VoltageUnbalance => "Voltage unbalance",
        Kind::RapidVoltageChange => "Rapid voltage change",
        Kind::MeteringFault => "Metering fault",
        Kind::LoadUnbalance => "Load unbalance",
        Kind::ListMismatch => "Meters and machine list disagree",
        Kind::WrongPhase => "Machine not on the listed phase",
    }
}
