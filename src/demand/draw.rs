//! What a meter saw drawn in each interval: active and reactive power.

use crate::electrical::Phase;
use crate::metering::{IntervalTable, MeterLog, RegisterStep, register_steps};
use crate::site::{Meter, Quantity, Readings, Stamp};

/// Active and reactive power of a meter, interval by interval.
#[derive(Clone, Debug, Default)]
pub(super) struct Draw {
    /// Net active power, all phases together. (kW)
    pub(super) power_kw: Option<Vec<Option<f64>>>,
    /// Net reactive power, lagging positive. (kvar)
    pub(super) reactive_kvar: Option<Vec<Option<f64>>>,
    /// Only a register is logged: power is what it counted in each interval.
    pub(super) from_register: bool,
}

impl Draw {
    pub(super) fn of(log: &MeterLog, meter: &Meter) -> Draw {
        let logged = log.table.values(Quantity::ActivePower(None));
        let from_register = logged.is_none();
        Draw {
            power_kw: logged.or_else(|| power_of_registers(log, meter)),
            reactive_kvar: log.table.values(Quantity::ReactivePower(None)),
            from_register,
        }
    }

    /// Energy of the intervals with a value. (kWh)
    pub(super) fn energy_kwh(&self, interval_s: u32) -> Option<f64> {
        integral(self.power_kw.as_deref()?, interval_s)
    }

    /// Mean power over the intervals with a value. (kW)
    pub(super) fn mean_kw(&self) -> Option<f64> {
        let power = self.power_kw.as_deref()?;
        let known = power.iter().flatten().count();
        // An interval of an hour makes kilowatt-hours of kilowatts.
        integral(power, 3600).map(|sum| sum / known as f64)
    }
}

/// Sum of power × time over the intervals with a value; `None` without any. (kWh, kvarh)
pub(super) fn integral(power: &[Option<f64>], interval_s: u32) -> Option<f64> {
    let hours = f64::from(interval_s) / 3600.0;
    power
        .iter()
        .flatten()
        .copied()
        .reduce(|sum, value| sum + value)
        .map(|sum| sum * hours)
}

/// True where what is measured may give energy, because the meter logs what is returned.
pub(super) fn logs_what_is_returned(table: &IntervalTable) -> bool {
    let places = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
    table.has(Quantity::EnergyExport)
        || places
            .into_iter()
            .any(|place| table.has(Quantity::ActivePowerExport(place)))
}

/// Power from the steps of the registers of energy drawn and, if there is one, returned.
fn power_of_registers(log: &MeterLog, meter: &Meter) -> Option<Vec<Option<f64>>> {
    let drawn = power_of_register(log, meter, Quantity::EnergyImport(None))?;
    let Some(returned) = power_of_register(log, meter, Quantity::EnergyExport) else {
        return Some(drawn);
    };
    let net = drawn.iter().zip(&returned);
    Some(
        net.map(|(drawn, returned)| Some((*drawn)? - (*returned)?))
            .collect(),
    )
}

fn power_of_register(
    log: &MeterLog,
    meter: &Meter,
    register: Quantity,
) -> Option<Vec<Option<f64>>> {
    let table = &log.table;
    let readings = table.values(register)?;
    let interval_s = i64::from(table.interval_s());
    let mut power = vec![None; table.len()];
    for step in register_steps(table.starts(), &readings) {
        if step.to_s - step.from_s != interval_s {
            continue;
        }
        if let Ok(row) = table.starts().binary_search(&interval_of(meter, &step)) {
            power[row] = Some(step.energy_kwh * 3600.0 / interval_s as f64);
        }
    }
    power.iter().any(Option::is_some).then_some(power)
}

/// Start of the interval in which a step between neighbours was counted: a register read at the
/// end of an interval has counted that one, otherwise the one that begins with the reading.
fn interval_of(meter: &Meter, step: &RegisterStep) -> i64 {
    match (meter.readings, meter.stamp) {
        (Readings::Average, Stamp::End) => step.to_s,
        _ => step.from_s,
    }
}
