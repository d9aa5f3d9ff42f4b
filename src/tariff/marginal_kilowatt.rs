//! What one kilowatt less at the month's peak is worth.

use chrono::{DateTime, FixedOffset, TimeZone};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::price_period::MonthPart;
use super::pricing;
use super::sums::{self, MonthSums};
use super::terms::Terms;
use super::usage::{Usage, UsageBlock};

/// The peak of a month, and what lowering it by one kilowatt would save.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MarginalKilowatt {
    /// Start of the highest demand period, local time with offset.
    #[serde(serialize_with = "units::serial::local_option")]
    pub at: Option<DateTime<FixedOffset>>,
    /// Demand periods above the lowered peak: all of them must come down.
    pub blocks: usize,
    /// Less on the bill, tax included, over this month and those that its ratchet reaches.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub saving: Decimal,
}

impl MarginalKilowatt {
    /// What it is worth, for people.
    #[must_use]
    pub fn sentence(&self) -> String {
        let when = self
            .at
            .map_or_else(String::new, |at| format!(" ({})", units::format_moment(at)));
        let blocks = match self.blocks {
            1 => "only the highest demand period must be cut".to_owned(),
            blocks => format!("the {blocks} highest demand periods must be cut"),
        };
        format!(
            "Cutting the peak{when} by 1 kW saves {}, tax included; {blocks}.",
            self.saving
        )
    }
}

/// For each month from `earlier` on with a demand charge: its index and what one kilowatt less is worth.
pub(super) fn worth(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    usage: &Usage,
    earlier: usize,
) -> Vec<(usize, MarginalKilowatt)> {
    let total = |sums: &[MonthSums]| -> Decimal {
        let lines = pricing::lines_from(terms, parts, sums, earlier);
        lines.map(|line| line.amount).sum()
    };
    let before = total(sums);
    let measures = sums::measures(terms.tariffs);
    (earlier..parts.len())
        .filter_map(|at| {
            let last = parts[at].price_periods.last()?;
            let charge = terms.tariffs[last.tariff].demand.first()?;
            let measure = &charge.measure;
            // One kW less at which meter's maximum?
            (!measure.sum_of_maxima).then_some(())?;
            let block = *sums[at].top(terms.tariffs, charge)?.first()?;
            let lowered = measure.of(&less_one_kilowatt(&block))?;
            let mut changed = sums.to_vec();
            for (measure, tops) in measures.iter().zip(&mut changed[at].tops) {
                let most = tops
                    .first()
                    .and_then(|block| measure.of(&less_one_kilowatt(block)));
                if let Some(most) = most {
                    *tops = tops.capped(most);
                }
            }
            let highest = sums[at].tops[0]
                .first()
                .and_then(|block| less_one_kilowatt(block).kva);
            for (_, kva) in &mut changed[at].days_kva {
                *kva = highest.map_or(*kva, |highest| kva.min(highest));
            }
            let first = parts[at].first;
            let above = usage.blocks.iter().filter(|block| {
                measure
                    .of(block)
                    .is_some_and(|own| own - lowered > SAME_DEMAND)
                    && sums::local(terms.zone, block.start_s).is_some_and(|local| {
                        let date = local.date();
                        first <= date
                            && date < parts[at].next
                            && measure.window.contains(local, terms.holidays)
                    })
            });
            Some((
                at,
                MarginalKilowatt {
                    at: terms
                        .zone
                        .timestamp_opt(block.start_s, 0)
                        .single()
                        .map(|time| time.fixed_offset()),
                    blocks: above.count(),
                    saving: before - total(&changed),
                },
            ))
        })
        .collect()
}

/// Demands that differ by less are equal: the same readings added up in another order differ by this little. (kW, kVA)
const SAME_DEMAND: f64 = 1e-9;

/// A block with one kilowatt less and its reactive power as it is.
fn less_one_kilowatt(block: &UsageBlock) -> UsageBlock {
    let kw = (block.kw - 1.0).max(0.0);
    let kva = block.kva.map(|kva| {
        let kvar = (kva * kva - block.kw * block.kw).max(0.0).sqrt();
        kw.hypot(kvar)
    });
    UsageBlock { kw, kva, ..*block }
}
