//! What the electricity costs: prices as declared, and the bill that follows from them.
//!
//! In: the [`Tariff`]s of a site and the [`Usage`] of the meter that is billed (quarter-hours and demand
//! blocks). Out: a [`Bill`], month by month, each line with its quantity, rate and amount; what it has come to at the end of
//! each day, as [`CostDay`]s; and an [`InvoiceCheck`] of a supplier's lines compared with it. Money is calculated in decimals as they are
//! written; only quantities begin as binary numbers, and [`money`] says how they are rounded.

mod band;
mod band_table;
mod bill;
mod bill_line;
mod charges;
mod cost_allocation;
mod cost_day;
mod demand_billed;
mod energy_price;
mod invoice;
mod marginal_kilowatt;
pub mod money;
mod month;
mod price_period;
mod pricing;
mod sums;
mod tariff;
mod terms;
mod usage;

pub use band::{Band, BandDays, Months, NotBandDays};
pub use band_table::{BandTable, Hole};
pub use bill::{Bill, bill, bill_of};
pub use bill_line::{BillLine, DayShare};
pub use charges::{CapacityCharge, DemandCharge, DemandUnit, PowerFactorSurcharge, ReactiveCharge};
pub use cost_allocation::{CostAllocation, PartUse, allocate_cost};
pub use cost_day::{CostDay, cost_by_day};
pub use energy_price::energy_price_at;
pub use invoice::{
    CheckedLine, DifferenceEvidence, INVOICE, InvoiceCheck, InvoiceLine, Verdict, check_invoice,
    read_invoice,
};
pub use marginal_kilowatt::MarginalKilowatt;
pub use month::BillMonth;
pub use tariff::{EnergyBlock, EnergyRates, Tariff, tariff_on};
pub use terms::Terms;
pub use usage::{Usage, UsageBlock, UsageQuarter};
