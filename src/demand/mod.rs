//! Energy, maximum demand, load factor, neutral and unbalance of each meter, and what main meters
//! see beyond those below them; the bill of the supply where a tariff is declared.
//!
//! In: the [`Site`](site::Site) and the clean interval tables of its meters
//! ([`Logs`](metering::Logs)). Out: an [`EnergyResult`]. Nothing is filled or corrected:
//! what is missing lowers the coverage, what contradicts itself becomes an entry of the quality list.

mod analyse;
mod basis;
mod blocks;
mod breakdown;
mod carbon;
mod change;
mod clock;
mod clock_offset;
mod complete_blocks;
mod energy;
mod fine;
mod oddities;
mod profile;
mod quarters;
mod reconcile;
mod result;
#[cfg(test)]
mod samples;
mod settings;
mod study;
mod unbalance;
mod usage;

pub use analyse::{analyse, analyse_with, supply_usage};
pub use basis::FigureBasis;
pub use breakdown::{
    Breakdown, BreakdownBy, Compared, Comparison, EnergyPart, Ground, PartBasis, PartsCost, Side,
    Told, UNDATED, breakdown, compare,
};
pub use carbon::{Carbon, MeterCarbon};
pub use change::{BaselineWish, change};
pub use clock_offset::{Blocks, ClockOffset, clock_offset};
pub use complete_blocks::complete_blocks;
pub use metering::{QualityEntry, RegisterCheck};
pub use quarters::Quarter;
pub use quarters::quarter_hours;
pub use result::{
    DayEnergy, DemandTrace, EnergyResult, MachineEnergy, MeterEnergy, Reconciliation,
};
pub use settings::Settings;
pub use study::*;
