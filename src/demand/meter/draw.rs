//! What a meter saw drawn in each interval: active and reactive power.

use electrical::Phase;
use metering::{IntervalTable, MeterLog};
use site::Quantity;

/// Active and reactive power of a meter, interval by interval.
#[derive(Clone, Debug, Default)]
pub(crate) struct Draw {
    /// Net active power, all phases together. (kW)
    pub(crate) power_kw: Option<Vec<Option<f64>>>,
    /// Net reactive power, lagging positive. (kvar)
    pub(crate) reactive_kvar: Option<Vec<Option<f64>>>,
    /// Only a register is logged: power is what it counted in each interval.
    pub(crate) from_register: bool,
    /// The power is not that of the table's totals.
    pub(crate) by_itself: bool,
}

impl Draw {
    pub(crate) fn of(log: &MeterLog) -> Draw {
        let active = Quantity::ActivePower(None);
        Draw {
            power_kw: log.table.values(active),
            reactive_kvar: log.table.values(Quantity::ReactivePower(None)),
            from_register: log.table.is_of_register(active),
            by_itself: false,
        }
    }

    /// One phase alone, its active power.
    pub(crate) fn of_phase(log: &MeterLog, phase: Phase) -> Draw {
        Draw {
            power_kw: log.table.values(Quantity::ActivePower(Some(phase))),
            reactive_kvar: None,
            by_itself: true,
            ..Draw::default()
        }
    }

    /// Energy of the intervals with a value. (kWh)
    pub(crate) fn energy_kwh(&self, interval_s: u32) -> Option<f64> {
        integral(self.power_kw.as_deref()?, interval_s)
    }

    /// Mean power over the intervals with a value. (kW)
    pub(crate) fn mean_kw(&self) -> Option<f64> {
        let power = self.power_kw.as_deref()?;
        let known = power.iter().flatten().count();
        // An interval of an hour makes kilowatt-hours of kilowatts.
        integral(power, 3600).map(|sum| sum / known as f64)
    }
}

/// Sum of power × time over the intervals with a value; `None` without any. (kWh, kvarh)
pub(crate) fn integral(power: &[Option<f64>], interval_s: u32) -> Option<f64> {
    let hours = f64::from(interval_s) / 3600.0;
    power
        .iter()
        .flatten()
        .copied()
        .reduce(|sum, value| sum + value)
        .map(|sum| sum * hours)
}

/// True where what is measured may give energy, because the meter logs what is returned.
pub(crate) fn logs_what_is_returned(table: &IntervalTable) -> bool {
    let places = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
    table.has(Quantity::EnergyExport)
        || places
            .into_iter()
            .any(|place| table.has(Quantity::ActivePowerExport(place)))
}
