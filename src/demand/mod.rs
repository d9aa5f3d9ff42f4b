//! Energy, maximum demand, load factor, neutral and unbalance of each meter, and what main meters
//! see beyond those below them; the bill of the supply where a tariff is declared.
//!
//! In: the [`Site`](site::Site) and the clean interval tables of its meters
//! ([`Logs`](metering::Logs)). Out: an [`EnergyResult`]. Nothing is filled or corrected:
//! what is missing lowers the coverage, what contradicts itself becomes an entry of the quality list.

mod above;
mod analyse;
mod breakdown;
mod change;
mod clock;
mod meter;
mod meter_work;
mod metered;
mod result;
#[cfg(test)]
mod samples;
mod self_consumption;
mod settings;
mod study;
mod supply_bills;
mod supply_together;

pub use crate::above::all_loads::AllLoads;
pub use crate::above::clock_offset::{Blocks, ClockOffset, clock_offset};
pub use crate::above::reconciliation::Reconciliation;
pub use crate::meter::basis::FigureBasis;
pub use crate::meter::blocks::Block;
pub use crate::meter::carbon::{Carbon, MeterCarbon};
pub use crate::meter::complete_blocks::complete_blocks;
pub use crate::meter::demand_trace::{DayEnergy, DemandTrace};
pub use crate::meter::meter_energy::MeterEnergy;
pub use crate::meter::quarter_hours::QuarterHours;
pub use crate::meter::quarters::Quarter;
pub use crate::meter::quarters::{demand_periods, quarter_hours};
pub use crate::supply_together::counted_meters;
pub use analyse::{analyse, analyse_with};
pub use breakdown::{
    Breakdown, BreakdownBy, BreakdownInput, Compared, Comparison, EnergyPart, PartBasis,
    PartDetails, PartsCost, Side, UNDATED, breakdown, compare,
};
pub use change::{BaselineWish, change};
pub use metering::{QualityEntry, RegisterCheck};
pub use result::{EnergyResult, MachineEnergy};
pub use self_consumption::SelfConsumption;
pub use settings::DemandSettings;
pub use study::*;
pub use supply_bills::supply_usage;
