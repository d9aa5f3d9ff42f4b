//! Net active and reactive power of a meter in each interval.

use electrical::Phase;
use metering::{IntervalTable, Logged, MeterLog, counted};
use site::Quantity;

/// Active and reactive power of a meter, interval by interval.
#[derive(Clone, Copy, Debug, Default)]
pub struct NetPower<'l> {
    /// Net active power. (kW)
    pub power_kw: Option<Logged<'l>>,
    /// Net reactive power, lagging positive. (kvar)
    pub reactive_kvar: Option<Logged<'l>>,
    /// Only a register is logged: power is what it counted in each interval.
    pub from_register: bool,
    /// The phase that is looked at alone; `None`: all phases together.
    pub phase: Option<Phase>,
}

impl<'l> NetPower<'l> {
    /// Of a meter's log, all phases together.
    #[must_use]
    pub fn of(log: &'l MeterLog) -> NetPower<'l> {
        let active = Quantity::ActivePower(None);
        NetPower {
            power_kw: log.table.values(active),
            reactive_kvar: log.table.values(Quantity::ReactivePower(None)),
            from_register: log.table.is_of_register(active),
            phase: None,
        }
    }

    /// One phase alone, its active power.
    #[must_use]
    pub fn of_phase(log: &'l MeterLog, phase: Phase) -> NetPower<'l> {
        NetPower {
            power_kw: log.table.values(Quantity::ActivePower(Some(phase))),
            reactive_kvar: None,
            phase: Some(phase),
            ..NetPower::default()
        }
    }

    /// Net energy: the integral of power, or the registers' where no power is logged. (kWh)
    #[must_use]
    pub fn net_energy_kwh(&self, log: &MeterLog) -> Option<f64> {
        if !self.from_register {
            return self.energy_kwh(log.table.interval_s());
        }
        let returned = match log.table.values(Quantity::EnergyExport) {
            Some(counts) => counted(counts.iter())?,
            None => 0.0,
        };
        Some(log.register_energy_kwh? - returned)
    }

    /// Energy of the intervals with a value. (kWh)
    #[must_use]
    pub fn energy_kwh(&self, interval_s: u32) -> Option<f64> {
        integral(self.power_kw?.iter(), interval_s)
    }

    /// Mean power over the intervals with a value. (kW)
    #[must_use]
    pub fn mean_kw(&self) -> Option<f64> {
        let power = self.power_kw?;
        let known = power.iter().flatten().count();
        // An interval of an hour makes kilowatt-hours of kilowatts.
        integral(power.iter(), 3600).map(|sum| sum / known as f64)
    }
}

/// Sum of power × time over the intervals with a value; `None` without any. (kWh, kvarh)
#[must_use]
pub fn integral(power: impl Iterator<Item = Option<f64>>, interval_s: u32) -> Option<f64> {
    let hours = f64::from(interval_s) / 3600.0;
    power
        .flatten()
        .reduce(|sum, value| sum + value)
        .map(|sum| sum * hours)
}

/// True where what is measured may export, because the meter logs export.
#[must_use]
pub fn logs_what_is_returned(table: &IntervalTable) -> bool {
    let places = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
    table.has(Quantity::EnergyExport)
        || places
            .into_iter()
            .any(|place| table.has(Quantity::ActivePowerExport(place)))
}
