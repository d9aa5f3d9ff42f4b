//! The demand that is billed: the month's highest demand period, or a share of an earlier one.

use rust_decimal::Decimal;

use super::charges::{DemandCharge, DemandUnit};
use super::money;
use super::sums::MonthSums;

/// What is billed, and why.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct DemandBilled {
    /// kW or kVA.
    pub(super) quantity: Decimal,
    /// Where the ratchet holds, or is not known.
    pub(super) note: Option<String>,
}

/// Highest demand period of a month in the unit of the charge. (kW, kVA)
pub(super) fn peak(sums: &MonthSums, per: DemandUnit) -> Option<f64> {
    match per {
        DemandUnit::Kilowatt => sums.peak_kw.map(|block| block.kw),
        DemandUnit::KilovoltAmpere => sums.peak_kva.and_then(|block| block.kva),
    }
}

/// The billed demand of a month; `None` without a complete block in it or in those that it looks back on.
pub(super) fn billed(
    charge: &DemandCharge,
    months: &[MonthSums],
    at: usize,
) -> Option<DemandBilled> {
    let own = peak(&months[at], charge.per).and_then(money::quantity);
    let reach = charge.ratchet_months as usize;
    let earlier = &months[at.saturating_sub(reach)..at];
    let highest = earlier
        .iter()
        .filter_map(|month| peak(month, charge.per))
        .reduce(f64::max)
        .and_then(money::quantity);
    let least = highest
        .map(|highest| money::rounded(highest * charge.ratchet_share, money::QUANTITY_DECIMALS));
    let unit = charge.per.symbol();
    if let (Some(least), Some(highest)) = (least, highest)
        && own.is_none_or(|own| least > own)
    {
        let own = own.map_or_else(|| "not known".to_owned(), |own| format!("{own} {unit}"));
        return Some(DemandBilled {
            quantity: least,
            note: Some(format!(
                "ratchet: {} of the {highest} {unit} of an earlier month; this month's own demand is {own}",
                charge.ratchet_share.normalize()
            )),
        });
    }
    let short = (earlier.len() < reach).then(|| {
        format!(
            "ratchet: the log covers {} of the {reach} earlier months",
            earlier.len()
        )
    });
    own.map(|quantity| DemandBilled {
        quantity,
        note: short,
    })
}
