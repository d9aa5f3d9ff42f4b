//! The quantities that a meter may log, with the names used in site files and interval tables.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;

use electrical::{Phase, PhasePair};

/// How the readings of an interval become one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum QuantityKind {
    /// A level: the mean over the interval counts.
    Level,
    /// An amount per logged interval: amounts add up.
    Amount,
    /// A cumulative register: the last reading counts.
    Register,
}

/// One logged quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Voltage between phase and neutral. (V)
    Voltage(Phase),
    /// Voltage between two phases. (V)
    LineVoltage(PhasePair),
    /// Phase current, rms. (A)
    Current(Phase),
    /// Neutral current, rms. (A)
    NeutralCurrent,
    /// Active power, drawn positive; of one phase or of all. (kW)
    ActivePower(Option<Phase>),
    /// Active power drawn, never negative. (kW)
    ActivePowerImport(Option<Phase>),
    /// Active power returned, never negative. (kW)
    ActivePowerExport(Option<Phase>),
    /// Reactive power, lagging positive. (kvar)
    ReactivePower(Option<Phase>),
    /// Apparent power. (kVA)
    ApparentPower(Option<Phase>),
    /// Power factor.
    PowerFactor(Option<Phase>),
    /// Total harmonic distortion of the current. (%)
    ThdCurrent(Phase),
    /// Frequency. (Hz)
    Frequency,
    /// Register of energy drawn. (kWh)
    EnergyImport(Option<Phase>),
    /// Register of energy returned. (kWh)
    EnergyExport,
    /// Energy drawn in the logged interval. (kWh)
    EnergyInterval,
    /// Energy exported in the logged interval. (kWh)
    EnergyExportInterval,
    /// Register of reactive energy, lagging. (kvarh)
    ReactiveEnergyImport,
    /// Register of reactive energy, leading. (kvarh)
    ReactiveEnergyExport,
    /// Lagging reactive energy of the logged interval. (kvarh)
    ReactiveEnergyInterval,
    /// Leading reactive energy of the logged interval. (kvarh)
    ReactiveEnergyExportInterval,
    /// Share of the interval's energy that the source marks as estimated or substituted. 0–1
    EstimatedShare,
}

impl Quantity {
    /// Every quantity, in the order of interval tables.
    pub fn all() -> Vec<Quantity> {
        let each = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
        let mut all = Vec::new();
        all.extend(Phase::ALL.map(Quantity::Voltage));
        all.extend(PhasePair::ALL.map(Quantity::LineVoltage));
        all.extend(Phase::ALL.map(Quantity::Current));
        all.push(Quantity::NeutralCurrent);
        all.extend(each.map(Quantity::ActivePower));
        all.extend(each.map(Quantity::ActivePowerImport));
        all.extend(each.map(Quantity::ActivePowerExport));
        all.extend(each.map(Quantity::ReactivePower));
        all.extend(each.map(Quantity::ApparentPower));
        all.extend(each.map(Quantity::PowerFactor));
        all.extend(Phase::ALL.map(Quantity::ThdCurrent));
        all.push(Quantity::Frequency);
        all.extend(each.map(Quantity::EnergyImport));
        all.extend([
            Quantity::EnergyExport,
            Quantity::EnergyInterval,
            Quantity::EnergyExportInterval,
            Quantity::ReactiveEnergyImport,
            Quantity::ReactiveEnergyExport,
            Quantity::ReactiveEnergyInterval,
            Quantity::ReactiveEnergyExportInterval,
            Quantity::EstimatedShare,
        ]);
        all
    }

    /// Name in site files and interval tables, with its unit.
    #[must_use]
    pub fn name(self) -> String {
        let of = |stem: &str, phase: Option<Phase>, unit: &str| match phase {
            Some(phase) => format!("{stem}_{}{unit}", phase.name().to_lowercase()),
            None => format!("{stem}{unit}"),
        };
        match self {
            Quantity::Voltage(phase) => of("voltage", Some(phase), "_v"),
            Quantity::LineVoltage(pair) => {
                format!("voltage_{}_v", pair.name().to_lowercase().replace('-', "_"))
            }
            Quantity::Current(phase) => of("current", Some(phase), "_a"),
            Quantity::NeutralCurrent => "current_n_a".to_owned(),
            Quantity::ActivePower(phase) => of("active_power", phase, "_kw"),
            Quantity::ActivePowerImport(phase) => of("active_power_import", phase, "_kw"),
            Quantity::ActivePowerExport(phase) => of("active_power_export", phase, "_kw"),
            Quantity::ReactivePower(phase) => of("reactive_power", phase, "_kvar"),
            Quantity::ApparentPower(phase) => of("apparent_power", phase, "_kva"),
            Quantity::PowerFactor(phase) => of("power_factor", phase, ""),
            Quantity::ThdCurrent(phase) => of("thd_current", Some(phase), "_pct"),
            Quantity::Frequency => "frequency_hz".to_owned(),
            Quantity::EnergyImport(phase) => of("energy_import", phase, "_kwh"),
            Quantity::EnergyExport => "energy_export_kwh".to_owned(),
            Quantity::EnergyInterval => "energy_interval_kwh".to_owned(),
            Quantity::EnergyExportInterval => "energy_export_interval_kwh".to_owned(),
            Quantity::EstimatedShare => "estimated_share".to_owned(),
            Quantity::ReactiveEnergyImport => "reactive_energy_import_kvarh".to_owned(),
            Quantity::ReactiveEnergyExport => "reactive_energy_export_kvarh".to_owned(),
            Quantity::ReactiveEnergyInterval => "reactive_energy_interval_kvarh".to_owned(),
            Quantity::ReactiveEnergyExportInterval => {
                "reactive_energy_export_interval_kvarh".to_owned()
            }
        }
    }

    /// The quantity of that name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Quantity> {
        // Every cell of the first lines of a log is looked up.
        static NAMED: LazyLock<BTreeMap<String, Quantity>> = LazyLock::new(|| {
            let all = Quantity::all().into_iter();
            all.map(|quantity| (quantity.name(), quantity)).collect()
        });
        NAMED.get(name).copied()
    }

    /// How its readings combine.
    #[must_use]
    pub const fn kind(self) -> QuantityKind {
        match self {
            Quantity::EnergyImport(_)
            | Quantity::EnergyExport
            | Quantity::ReactiveEnergyImport
            | Quantity::ReactiveEnergyExport => QuantityKind::Register,
            Quantity::EnergyInterval
            | Quantity::EnergyExportInterval
            | Quantity::ReactiveEnergyInterval
            | Quantity::ReactiveEnergyExportInterval => QuantityKind::Amount,
            _ => QuantityKind::Level,
        }
    }

    /// True where the readings of several columns add up to one: energies, and powers other than
    /// apparent (which adds as magnitudes only where all power factors are equal).
    pub const fn adds_up(self) -> bool {
        matches!(self.kind(), QuantityKind::Amount | QuantityKind::Register)
            || matches!(
                self,
                Quantity::ActivePower(_)
                    | Quantity::ActivePowerImport(_)
                    | Quantity::ActivePowerExport(_)
                    | Quantity::ReactivePower(_)
            )
    }

    /// True where a current-transformer correction applies.
    #[must_use]
    pub const fn scales_with_current(self) -> bool {
        !matches!(
            self,
            Quantity::Voltage(_)
                | Quantity::LineVoltage(_)
                | Quantity::PowerFactor(_)
                | Quantity::ThdCurrent(_)
                | Quantity::Frequency
                | Quantity::EstimatedShare
        )
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_read_back() {
        let all = Quantity::all();
        for quantity in &all {
            assert_eq!(Quantity::from_name(&quantity.name()), Some(*quantity));
        }
        assert_eq!(
            Quantity::from_name("voltage_l3_l1_v"),
            Some(Quantity::LineVoltage(PhasePair::L3L1))
        );
        assert_eq!(Quantity::from_name("active_power_l4_kw"), None);
    }

    #[test]
    fn energies_and_powers_add_up_and_levels_do_not() {
        assert!(Quantity::EnergyImport(None).adds_up());
        assert!(Quantity::ReactiveEnergyExport.adds_up());
        assert!(Quantity::ActivePower(Some(Phase::L1)).adds_up());
        assert!(!Quantity::Current(Phase::L1).adds_up());
        assert!(!Quantity::ApparentPower(None).adds_up());
    }
}
