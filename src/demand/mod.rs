//! Energy, maximum demand, load factor and unbalance of each meter.

mod result;

pub use crate::metering::QualityEntry;
pub use result::{
    DayEnergy, DemandTrace, EnergyResult, MachineEnergy, MeterEnergy, Reconciliation,
};
