//! What the electricity costs: prices as declared, and the bill that follows from them.
//!
//! In: the [`Tariff`]s of a site and the [`Usage`] of the meter that is billed (quarter-hours and demand
//! blocks). Out: a [`Bill`], month by month, each line with its quantity, rate and amount; what it has come to at the end of
//! each day, as [`CostDay`]s; and an [`InvoiceCheck`] of a supplier's lines compared with it. Money is calculated in decimals as they are
//! written; only quantities begin as binary numbers, and [`money`] says how they are rounded.

mod band;
mod band_heads;
mod band_table;
mod bill;
mod bill_line;
mod bill_sheet;
mod billing_periods;
mod bills_together;
mod charge_lines;
mod charges;
mod cost_allocation;
mod cost_day;
mod credit;
mod credit_lines;
mod demand_billed;
mod demand_measure;
mod demand_unit;
mod energy_block;
mod energy_lines;
mod energy_price;
mod invoice;
mod levy;
mod levy_lines;
mod marginal_kilowatt;
pub mod money;
mod month;
mod net_metering;
mod price_period;
mod price_series;
mod pricing;
mod reactive_charge;
mod reactive_sums;
mod rounding;
mod sums;
mod tariff;
mod terms;
mod time_window;
mod usage;
mod what_if;

pub use band::{Band, BandDays, Months, NotBandDays};
pub use band_table::{BandTable, Hole};
pub use bill::{Bill, bill, bill_of};
pub use bill_line::{BillLine, DayShare, LineKind};
pub use billing_periods::{BillingPeriods, PeriodStart, PriceChange};
pub use bills_together::{bills_together, days_together};
pub use charges::{
    CapacityCharge, ContractedDemand, DemandCharge, ExcessBy, ExcessCapacity, LossFactors,
    PowerFactorSurcharge, RateTime,
};
pub use cost_allocation::{CostAllocation, PartUse, allocate_cost};
pub use cost_day::{CostDay, cost_by_day};
pub use credit::CreditBalance;
pub use demand_measure::DemandMeasure;
pub use demand_unit::DemandUnit;
pub use energy_block::{BlockEnd, EnergyBlock};
pub use energy_price::energy_price_at;
pub use invoice::{
    CheckedLine, DifferenceEvidence, INVOICE, InvoiceCheck, InvoiceLine, Verdict, check_invoice,
    read_invoice,
};
pub use levy::{Levy, LevyBase, LineChoice, Tax};
pub use marginal_kilowatt::MarginalKilowatt;
pub use month::BillMonth;
pub use net_metering::{NetCredit, NetMetering};
pub use price_series::PriceSeries;
pub use reactive_charge::{EnergyDirection, ReactiveCharge, ReactiveFlow, ReactiveStep};
pub use rounding::{Rounding, RoundingWay};
pub use tariff::{EnergyRates, EnergySet, Proration, Tariff, tariff_on};
pub use terms::Terms;
pub use time_window::TimeWindow;
pub use usage::{MeterBlock, Usage, UsageBlock, UsageQuarter};
pub use what_if::{
    CapacityChoice, CorrectionChoice, ShiftChoice, TariffChoice, WhatIf, WhatIfTrial, what_if,
};
