//! The demand that is billed: what was measured, or what the contract bills instead.

use chrono::Datelike;
use rust_decimal::Decimal;

use super::charges::{ContractedDemand, DemandCharge};
use super::price_period::MonthPart;
use super::rounding::Rounding;
use super::sums::MonthSums;
use super::tariff::Tariff;

/// What is billed, and why.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct DemandBilled {
    /// kW or kVA.
    pub(super) quantity: Decimal,
    /// How it comes about, where it is not the highest demand period of the month.
    pub(super) note: Option<String>,
}

/// The billed demand of a month; `None` without a complete block in it or in those that it looks back on.
pub(super) fn billed(
    charge: &DemandCharge,
    tariffs: &[Tariff],
    (parts, months): (&[MonthPart], &[MonthSums]),
    at: usize,
    tariff: &Tariff,
) -> Option<DemandBilled> {
    let (rounding, losses) = (&tariff.rounding, tariff.losses.demand);
    let unit = charge.measure.per.symbol();
    let measured = |month: &MonthSums| {
        let value = month.demand(tariffs, charge)?;
        Some(rounding.quantity(value * losses))
    };
    let mut notes: Vec<String> = charge.measure.words().into_iter().collect();
    if charge.measure.sum_of_maxima {
        notes.push("the maxima of the meters added up".to_owned());
    }
    if losses != Decimal::ONE {
        notes.push(format!("with the loss factor {}", losses.normalize()));
    }
    let over = charge.over_months.saturating_sub(1) as usize;
    let of_month = measured(&months[at]);
    let own = months[at.saturating_sub(over)..=at]
        .iter()
        .filter_map(measured)
        .max();
    if over > 0 {
        let known = at.min(over) + 1;
        notes.push(format!("largest of {known} of {} months", over + 1));
    }
    let reach = charge.ratchet_months as usize;
    let begin = at.saturating_sub(reach);
    let in_season = |at: &usize| charge.ratchet_season.contains(parts[*at].first.month());
    let highest = (begin..at)
        .filter(in_season)
        .filter_map(|at| measured(&months[at]))
        .max();
    let least = highest.map(|highest| rounding.quantity(highest * charge.ratchet_share));
    let mut billed = own;
    if let (Some(least), Some(highest)) = (least, highest)
        && own.is_none_or(|own| least > own)
    {
        let of_month =
            of_month.map_or_else(|| "not known".to_owned(), |own| format!("{own} {unit}"));
        notes.push(format!(
            "ratchet: {} of the {highest} {unit} of an earlier month; this month's own demand is {of_month}",
            charge.ratchet_share.normalize()
        ));
        billed = Some(least);
    } else if at - begin < reach {
        notes.push(format!(
            "ratchet: the log covers {} of the {reach} earlier months",
            at - begin
        ));
    }
    let mut quantity = billed?;
    if let Some(contracted) = &charge.contracted {
        let (own, note) = by_contract(contracted, quantity, unit, rounding);
        quantity = own;
        notes.extend(note);
    }
    if quantity < charge.at_least {
        notes.push(format!(
            "the least that is billed; measured were {quantity} {unit}"
        ));
        quantity = charge.at_least;
    }
    Some(DemandBilled {
        quantity,
        note: (!notes.is_empty()).then(|| notes.join("; ")),
    })
}

/// Between the limits of the contracted demand what is measured; below the lower one that; beyond the upper one more.
fn by_contract(
    contracted: &ContractedDemand,
    measured: Decimal,
    unit: &str,
    rounding: &Rounding,
) -> (Decimal, Option<String>) {
    let share_of = |share: Decimal| rounding.quantity(contracted.demand * share);
    let lower = share_of(contracted.lower_share);
    if measured < lower {
        let note = format!(
            "{} of the contracted {} {unit}; measured were {measured} {unit}",
            contracted.lower_share.normalize(),
            contracted.demand.normalize()
        );
        return (lower, Some(note));
    }
    let Some(upper) = contracted.upper_share.map(share_of) else {
        return (measured, None);
    };
    let excess = (measured - upper).max(Decimal::ZERO);
    if excess.is_zero() {
        return (measured, None);
    }
    let note = format!(
        "measured were {measured} {unit}, {excess} {unit} beyond the upper limit of {upper} {unit}, which count {} times more",
        contracted.excess_factor.normalize()
    );
    let more = rounding.quantity(excess * contracted.excess_factor);
    (measured + more, Some(note))
}
