//! Power factor by phase and demand period, and the capacitors that would correct it.

use demand::{EnergyResult, PowerFactorStudy};
use tables::{Table, columns, number, words};
use units::FigureKind as Q;

/// A row for each meter.
pub(super) fn power_factor(result: &EnergyResult) -> Table {
    let studies = &result.study.power_factor;
    let how = studies.first().map_or_else(String::new, |study| {
        format!(
            "demand periods from {} % of the maximum kVA; capacitors for a power factor of {} lagging, in steps of {} kvar{}. {}",
            study.loaded_from_pct,
            study.target_power_factor,
            study.kvar_step,
            study.step_uf.map_or_else(String::new, |uf| format!(": three of {uf:.1} µF in delta")),
            study.caution
        )
    });
    columns! { study in &PowerFactorStudy;
        meter: words("Meter") => &study.meter;
        mean: number("Mean", Q::PowerFactor) => study.mean;
        mean_l1: number("L1", Q::PowerFactor) => study.by_phase[0];
        mean_l2: number("L2", Q::PowerFactor) => study.by_phase[1];
        mean_l3: number("L3", Q::PowerFactor) => study.by_phase[2];
        lowest: number("Lowest demand period", Q::PowerFactor) => study.lowest;
        lowest_at: words("Start of the lowest") => study.lowest_at;
        median: number("Median", Q::PowerFactor) => study.median;
        worst_in_steps_kvar: number("Capacitors, worst period", Q::ReactivePower) => study.worst.in_steps_kvar;
        typical_in_steps_kvar: number("Capacitors, typical period", Q::ReactivePower) => study.typical.in_steps_kvar;
        typical_bank_leads_pct: number("Over-corrected if unswitched", Q::Percent) => study.typical_bank_leads_pct;
        max_kva: number("Maximum demand", Q::ApparentPower) => study.at_max_kva.kva;
        max_kva_corrected: number("Maximum demand, corrected", Q::ApparentPower) => study.at_max_kva.kva_corrected;
    }
    .table("power-factor", "Power factor and capacitors", studies)
    .with_method(how)
}
