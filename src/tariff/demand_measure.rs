//! How the demand of a month is measured: in which unit, at which times, and which of its demand periods count.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::demand_unit::DemandUnit;
use super::money;
use super::time_window::TimeWindow;
use super::usage::UsageBlock;
use units::rank;

/// How the demand of a month is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DemandMeasure {
    /// Active or apparent power.
    pub per: DemandUnit,
    /// Demand periods that begin in it count.
    pub window: TimeWindow,
    /// Which demand period counts, from 1 for the highest; of a mean, how many.
    pub highest: u32,
    /// The mean of the highest ones, not the last of them.
    pub mean: bool,
    /// One demand period of each day at most.
    pub one_per_day: bool,
    /// Of several meters, the sum of what each measures, not what their sum measures.
    pub sum_of_maxima: bool,
}

impl DemandMeasure {
    /// The highest demand period of all.
    #[must_use]
    pub fn maximum(per: DemandUnit) -> DemandMeasure {
        DemandMeasure {
            per,
            window: TimeWindow::always(),
            highest: 1,
            mean: false,
            one_per_day: false,
            sum_of_maxima: false,
        }
    }

    /// Demand of a demand period; `None` where it is not known, or energy is exported.
    pub(super) fn of(&self, block: &UsageBlock) -> Option<f64> {
        let own = match self.per {
            DemandUnit::Kilowatt => Some(block.kw),
            DemandUnit::KilovoltAmpere => block.kva,
        };
        own.filter(|own| *own >= 0.0)
    }

    /// In words, where it is not the highest demand period of all.
    pub(super) fn words(&self) -> Option<String> {
        let days = if self.one_per_day {
            " of different days"
        } else {
            ""
        };
        match (self.highest, self.mean) {
            (1, _) => None,
            (count, true) => Some(format!("mean of the {count} highest demand periods{days}")),
            (count, false) => Some(format!(
                "number {count} of the highest demand periods{days}"
            )),
        }
    }
}

/// The highest demand periods of a month by one measure.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct TopDemands {
    /// Falling; of equal ones the earlier first.
    kept: Vec<TopDemand>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct TopDemand {
    value: f64,
    date: NaiveDate,
    block: UsageBlock,
}

impl TopDemands {
    /// Takes a demand period of a local date, later than those before.
    pub(super) fn take(&mut self, measure: &DemandMeasure, block: &UsageBlock, date: NaiveDate) {
        let Some(value) = measure.of(block) else {
            return;
        };
        let most = measure.highest as usize;
        let is_higher = |known: &TopDemand| rank(value) > rank(known.value);
        let same_day = self
            .kept
            .iter()
            .position(|known| measure.one_per_day && known.date == date);
        match same_day {
            Some(at) if is_higher(&self.kept[at]) => {
                self.kept.remove(at);
            }
            Some(_) => return,
            None if self.kept.len() == most => {
                if !self.kept.last().is_some_and(is_higher) {
                    return;
                }
                self.kept.pop();
            }
            None => {}
        }
        let at = self.kept.partition_point(|known| !is_higher(known));
        self.kept.insert(
            at,
            TopDemand {
                value,
                date,
                block: *block,
            },
        );
    }

    /// The highest.
    pub(super) fn first(&self) -> Option<&UsageBlock> {
        self.kept.first().map(|top| &top.block)
    }

    /// What counts of them. (kW, kVA)
    pub(super) fn value(&self, measure: &DemandMeasure) -> Option<Decimal> {
        let last = self.kept.last()?;
        if !measure.mean {
            return money::read(last.value);
        }
        let sum: f64 = self.kept.iter().map(|top| top.value).sum();
        money::read(sum / self.kept.len() as f64)
    }

    /// None higher than this.
    pub(super) fn capped(&self, most: f64) -> TopDemands {
        let capped = |top: &TopDemand| TopDemand {
            value: top.value.min(most),
            ..*top
        };
        TopDemands {
            kept: self.kept.iter().map(capped).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two days at 5, 9, 8 and 7, 9 kW.
    #[test]
    fn the_highest_the_next_and_the_mean() {
        let day = |day| NaiveDate::from_ymd_opt(2026, 3, day).expect("a date");
        let blocks = [(9, 5.0), (9, 9.0), (9, 8.0), (10, 7.0), (10, 9.0)];
        let of = |highest, mean, one_per_day| {
            let measure = DemandMeasure {
                highest,
                mean,
                one_per_day,
                ..DemandMeasure::maximum(DemandUnit::Kilowatt)
            };
            let mut tops = TopDemands::default();
            for (at, (date, kw)) in blocks.iter().enumerate() {
                let block = UsageBlock {
                    start_s: at as i64,
                    kw: *kw,
                    ..UsageBlock::default()
                };
                tops.take(&measure, &block, day(*date));
            }
            let first = tops.first().expect("a block").start_s;
            (first, tops.value(&measure).expect("a value").to_string())
        };
        assert_eq!(of(1, false, false), (1, "9.000000".to_owned()));
        assert_eq!(of(3, false, false), (1, "8.000000".to_owned()));
        assert_eq!(of(3, true, false), (1, "8.666667".to_owned()));
        assert_eq!(of(3, true, true), (1, "9.000000".to_owned()));
        assert_eq!(of(5, false, false), (1, "5.000000".to_owned()));
    }
}
