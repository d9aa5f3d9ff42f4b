//! What each quantity is, for people.

use super::quantity::{Quantity, QuantityKind};
use electrical::Phase;

impl Quantity {
    /// Its unit; empty for a power factor and a share.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Quantity::Voltage(_) | Quantity::LineVoltage(_) => "V",
            Quantity::Current(_) | Quantity::NeutralCurrent => "A",
            Quantity::ActivePower(_)
            | Quantity::ActivePowerImport(_)
            | Quantity::ActivePowerExport(_) => "kW",
            Quantity::ReactivePower(_) => "kvar",
            Quantity::ApparentPower(_) => "kVA",
            Quantity::PowerFactor(_) | Quantity::EstimatedShare => "",
            Quantity::ThdCurrent(_) => "%",
            Quantity::Frequency => "Hz",
            Quantity::EnergyImport(_)
            | Quantity::EnergyExport
            | Quantity::EnergyInterval
            | Quantity::EnergyExportInterval => "kWh",
            Quantity::ReactiveEnergyImport
            | Quantity::ReactiveEnergyExport
            | Quantity::ReactiveEnergyInterval
            | Quantity::ReactiveEnergyExportInterval => "kvarh",
        }
    }

    /// Its name for people.
    #[must_use]
    pub fn label(self) -> String {
        let of = |words: &str, phase: Option<Phase>| {
            phase.map_or_else(|| words.to_owned(), |phase| format!("{words} {phase}"))
        };
        match self {
            Quantity::Voltage(phase) => of("Voltage", Some(phase)),
            Quantity::LineVoltage(pair) => format!("Voltage {}", pair.name()),
            Quantity::Current(phase) => of("Current", Some(phase)),
            Quantity::NeutralCurrent => "Neutral current".to_owned(),
            Quantity::ActivePower(phase) => of("Active power", phase),
            Quantity::ActivePowerImport(phase) => of("Imported active power", phase),
            Quantity::ActivePowerExport(phase) => of("Exported active power", phase),
            Quantity::ReactivePower(phase) => of("Reactive power", phase),
            Quantity::ApparentPower(phase) => of("Apparent power", phase),
            Quantity::PowerFactor(phase) => of("Power factor", phase),
            Quantity::ThdCurrent(phase) => of("THD of the current", Some(phase)),
            Quantity::Frequency => "Frequency".to_owned(),
            Quantity::EnergyImport(phase) => of("Energy register, import", phase),
            Quantity::EnergyExport => "Energy register, export".to_owned(),
            Quantity::EnergyInterval => "Energy per interval".to_owned(),
            Quantity::EnergyExportInterval => "Exported energy per interval".to_owned(),
            Quantity::EstimatedShare => "Estimated share".to_owned(),
            Quantity::ReactiveEnergyImport => "Reactive energy register, lagging".to_owned(),
            Quantity::ReactiveEnergyExport => "Reactive energy register, leading".to_owned(),
            Quantity::ReactiveEnergyInterval => "Reactive energy per interval, lagging".to_owned(),
            Quantity::ReactiveEnergyExportInterval => {
                "Reactive energy per interval, leading".to_owned()
            }
        }
    }

    /// What it is, in one or two sentences.
    #[must_use]
    pub fn meaning(self) -> String {
        let of = |phase: Option<Phase>| {
            phase.map_or_else(
                || "all phases together".to_owned(),
                |phase| format!("phase {phase}"),
            )
        };
        match self {
            Quantity::Voltage(phase) => format!("Line-to-neutral voltage of phase {phase}, rms."),
            Quantity::LineVoltage(pair) => {
                format!("Line-to-line voltage {}, rms.", pair.name())
            }
            Quantity::Current(phase) => format!("Current of phase {phase}, rms with harmonics."),
            Quantity::NeutralCurrent => "Current of the neutral, rms with harmonics.".to_owned(),
            Quantity::ActivePower(phase) => format!(
                "Active power of {}: import is positive, export is negative.",
                of(phase)
            ),
            Quantity::ActivePowerImport(phase) => format!(
                "Active power imported, of {}, never negative; with the exported one, net power is their difference.",
                of(phase)
            ),
            Quantity::ActivePowerExport(phase) => {
                format!("Active power exported, of {}, never negative.", of(phase))
            }
            Quantity::ReactivePower(phase) => format!(
                "Reactive power of {}: lagging is positive, leading is negative.",
                of(phase)
            ),
            Quantity::ApparentPower(phase) => format!("Apparent power of {}.", of(phase)),
            Quantity::PowerFactor(phase) => format!("Power factor of {}, from 0 to 1.", of(phase)),
            Quantity::ThdCurrent(phase) => {
                format!("Total harmonic distortion of the current of phase {phase}.")
            }
            Quantity::Frequency => "Frequency.".to_owned(),
            Quantity::EnergyImport(phase) => {
                format!("Register of energy imported, of {}.", of(phase))
            }
            Quantity::EnergyExport => "Register of energy exported.".to_owned(),
            Quantity::EnergyInterval => "Energy of each logged interval.".to_owned(),
            Quantity::EnergyExportInterval => "Energy exported in each logged interval.".to_owned(),
            Quantity::EstimatedShare => {
                "Share of an interval that its source marks as estimated or substituted, from 0 to 1.".to_owned()
            }
            Quantity::ReactiveEnergyImport => "Register of lagging reactive energy.".to_owned(),
            Quantity::ReactiveEnergyExport => "Register of leading reactive energy.".to_owned(),
            Quantity::ReactiveEnergyInterval => {
                "Lagging reactive energy of each logged interval.".to_owned()
            }
            Quantity::ReactiveEnergyExportInterval => {
                "Leading reactive energy of each logged interval.".to_owned()
            }
        }
    }
}

impl QuantityKind {
    /// What its readings are, for people.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            QuantityKind::Level => {
                "a value that goes up and down; its mean over the interval counts"
            }
            QuantityKind::Amount => "an amount for each interval; amounts add up",
            QuantityKind::Register => "a register that only advances; its differences count",
        }
    }
}
