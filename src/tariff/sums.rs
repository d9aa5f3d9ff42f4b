//! Energy of the months, added up under the tariff and in the band of its time.

use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime};
use chrono_tz::Tz;

use super::price_period::MonthPart;
use super::tariff::{EnergyRates, Tariff};
use super::terms::Terms;
use super::usage::{Usage, UsageBlock, UsageQuarter};
use units::rank;

/// What was used in a run of days under one tariff.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct EnergySums {
    /// By band, where the tariff has bands. (kWh)
    pub(super) band_kwh: Vec<f64>,
    /// All together. (kWh)
    pub(super) kwh: f64,
    /// Lagging reactive energy; `None` where none is logged. (kvarh)
    pub(super) lagging_kvarh: Option<f64>,
}

/// What was used in a month.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct MonthSums {
    /// One for each price period of the month.
    pub(super) price_periods: Vec<EnergySums>,
    /// Before the first tariff. (kWh)
    pub(super) unpriced_kwh: f64,
    /// Time with readings. (s)
    pub(super) covered_s: f64,
    /// The highest demand period, by active power.
    pub(super) peak_kw: Option<UsageBlock>,
    /// The highest demand period, by apparent power.
    pub(super) peak_kva: Option<UsageBlock>,
}

/// The sums of each month.
pub(super) fn sums(terms: &Terms<'_>, months: &[MonthPart], usage: &Usage) -> Vec<MonthSums> {
    let mut all: Vec<MonthSums> = months
        .iter()
        .map(|month| empty(terms.tariffs, month))
        .collect();
    add(terms, months, (&usage.quarters, &usage.blocks), &mut all);
    all
}

/// Adds quarter-hours and demand periods to the sums of their months.
pub(super) fn add(
    terms: &Terms<'_>,
    months: &[MonthPart],
    (quarters, blocks): (&[UsageQuarter], &[UsageBlock]),
    all: &mut [MonthSums],
) {
    for quarter in quarters {
        let Some((local, at)) = month_at(terms.zone, months, quarter.start_s) else {
            continue;
        };
        let date = local.date();
        if date < months[at].from || months[at].to <= date {
            continue;
        }
        let sums = &mut all[at];
        sums.covered_s += quarter.covered_s;
        let price_period = months[at]
            .price_periods
            .iter()
            .position(|price_period| price_period.from <= date && date < price_period.to);
        let Some(index) = price_period else {
            sums.unpriced_kwh += quarter.kwh;
            continue;
        };
        let tariff = &terms.tariffs[months[at].price_periods[index].tariff];
        let own = &mut sums.price_periods[index];
        own.kwh += quarter.kwh;
        if let Some(EnergyRates::Bands(table)) = &tariff.energy {
            own.band_kwh[table.at(local, terms.holidays)] += quarter.kwh;
        }
        if let Some(kvarh) = quarter.lagging_kvarh {
            *own.lagging_kvarh.get_or_insert(0.0) += kvarh;
        }
    }
    for block in blocks {
        if let Some((_, at)) = month_at(terms.zone, months, block.start_s) {
            let sums = &mut all[at];
            raise(&mut sums.peak_kw, block, |block| Some(block.kw));
            raise(&mut sums.peak_kva, block, |block| block.kva);
        }
    }
}

pub(super) fn empty(tariffs: &[Tariff], month: &MonthPart) -> MonthSums {
    let price_periods = month.price_periods.iter().map(|price_period| {
        let bands = match &tariffs[price_period.tariff].energy {
            Some(EnergyRates::Bands(table)) => table.bands().len(),
            _ => 0,
        };
        EnergySums {
            band_kwh: vec![0.0; bands],
            ..EnergySums::default()
        }
    });
    MonthSums {
        price_periods: price_periods.collect(),
        ..MonthSums::default()
    }
}

/// The local time of a moment, and the month it is in.
fn month_at(zone: Tz, months: &[MonthPart], at_s: i64) -> Option<(NaiveDateTime, usize)> {
    let local = local(zone, at_s)?;
    let first = local.date().with_day(1)?;
    let at = months
        .binary_search_by_key(&first, |month| month.first)
        .ok()?;
    Some((local, at))
}

/// Local time of a moment.
pub(super) fn local(zone: Tz, at_s: i64) -> Option<NaiveDateTime> {
    Some(
        DateTime::from_timestamp(at_s, 0)?
            .with_timezone(&zone)
            .naive_local(),
    )
}

/// Local date of a moment.
pub(super) fn date(zone: Tz, at_s: i64) -> Option<NaiveDate> {
    local(zone, at_s).map(|local| local.date())
}

/// The earlier block stays where two are equal; what gives energy is no demand.
fn raise(
    peak: &mut Option<UsageBlock>,
    block: &UsageBlock,
    value: impl Fn(&UsageBlock) -> Option<f64>,
) {
    let Some(found) = value(block).filter(|found| *found >= 0.0) else {
        return;
    };
    if peak
        .as_ref()
        .and_then(&value)
        .is_none_or(|known| rank(found) > rank(known))
    {
        *peak = Some(*block);
    }
}
