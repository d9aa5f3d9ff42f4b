//! What one kilowatt less at the month's peak is worth.

use chrono::{DateTime, FixedOffset, TimeZone};
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::charges::DemandUnit;
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
        (earlier..parts.len())
            .flat_map(|at| pricing::lines(terms, parts, sums, at, &mut Vec::new()))
            .map(|line| line.amount)
            .sum()
    };
    let before = total(sums);
    (earlier..parts.len())
        .filter_map(|at| {
            let last = parts[at].price_periods.last()?;
            let per = terms.tariffs[last.tariff].demand?.per;
            let (block, lowered) = lowered(&sums[at], per)?;
            let mut changed = sums.to_vec();
            changed[at].peak_kw = changed[at].peak_kw.map(|block| less_one_kilowatt(&block));
            changed[at].peak_kva = changed[at].peak_kva.map(|block| less_one_kilowatt(&block));
            let first = parts[at].first;
            let above = usage.blocks.iter().filter(|block| {
                let own = match per {
                    DemandUnit::Kilowatt => Some(block.kw),
                    DemandUnit::KilovoltAmpere => block.kva,
                };
                own.is_some_and(|own| own - lowered > SAME_DEMAND)
                    && sums::date(terms.zone, block.start_s)
                        .is_some_and(|date| first <= date && date < parts[at].next)
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

/// The highest demand period, and its demand with one kilowatt less.
fn lowered(sums: &MonthSums, per: DemandUnit) -> Option<(UsageBlock, f64)> {
    match per {
        DemandUnit::Kilowatt => {
            let block = sums.peak_kw?;
            Some((block, less_one_kilowatt(&block).kw))
        }
        DemandUnit::KilovoltAmpere => {
            let block = sums.peak_kva?;
            Some((block, less_one_kilowatt(&block).kva?))
        }
    }
}

/// A block with one kilowatt less and its reactive power as it is.
fn less_one_kilowatt(block: &UsageBlock) -> UsageBlock {
    let kw = (block.kw - 1.0).max(0.0);
    let kva = block.kva.map(|kva| {
        let kvar = (kva * kva - block.kw * block.kw).max(0.0).sqrt();
        kw.hypot(kvar)
    });
    UsageBlock { kw, kva, ..*block }
}
