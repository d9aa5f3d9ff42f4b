//! Energy, maximum demand, load factor and unbalance of each meter.

mod result;

pub use result::{
    DayEnergy, DemandTrace, EnergyResult, MachineEnergy, MeterEnergy, QualityEntry, Reconciliation,
};
