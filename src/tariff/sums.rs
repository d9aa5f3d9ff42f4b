//! Energy and demand of the billing periods, added up under the tariff and in the band of its time.

use chrono::{DateTime, NaiveDate, NaiveDateTime};
use chrono_tz::Tz;
use rust_decimal::Decimal;

use super::charges::DemandCharge;
use super::demand_measure::{DemandMeasure, TopDemands};
use super::demand_unit::DemandUnit;
use super::energy_block::{BlockEnd, EnergyBlock};
use super::money;
use super::price_period::MonthPart;
use super::reactive_sums::ReactiveSums;
use super::tariff::{EnergyRates, Tariff};
use super::terms::Terms;
use super::usage::{MeterBlock, Usage, UsageBlock, UsageQuarter};

/// What was used under one price of energy.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct SetSums {
    /// By band; of other prices, all of it. (kWh)
    pub(super) band_kwh: Vec<f64>,
    /// Energy exported in the time of each band, where it is deducted from what is imported in it. (kWh)
    pub(super) band_export_kwh: Vec<f64>,
    /// The same by day, ascending, where prices go by the day. (kWh)
    pub(super) days: Vec<(NaiveDate, Vec<f64>)>,
    /// At prices from a file: what it costs.
    pub(super) cost: Decimal,
    /// At times at which that file has no price. (kWh)
    pub(super) without_price_kwh: f64,
}

/// What was used in a run of days under one tariff.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct EnergySums {
    /// By price of energy, in the order of the tariff.
    pub(super) sets: Vec<SetSums>,
    /// All together, as metered. (kWh)
    pub(super) kwh: f64,
    /// The same as billed, with losses; in kVAh where the tariff bills so.
    pub(super) billed: f64,
    /// Energy exported.
    pub(super) export: SetSums,
    /// Lagging reactive energy; `None` where none is logged. (kvarh)
    pub(super) lagging_kvarh: Option<f64>,
    /// Leading reactive energy; `None` where none is logged. (kvarh)
    pub(super) leading_kvarh: Option<f64>,
    /// What each charge for reactive energy counts.
    pub(super) reactive: Vec<ReactiveSums>,
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
    /// The highest demand periods, by each of the [`measures`].
    pub(super) tops: Vec<TopDemands>,
    /// The same of each meter, for those measures that add up the maxima of several.
    pub(super) meter_tops: Vec<Vec<TopDemands>>,
    /// The largest apparent power of each local day, ascending. (kVA)
    pub(super) days_kva: Vec<(NaiveDate, f64)>,
}

/// All ways in which the tariffs measure demand, each once; the plain maximum in kVA is the first, as capacity goes by it.
pub(super) fn measures(tariffs: &[Tariff]) -> Vec<DemandMeasure> {
    let mut found = vec![DemandMeasure::maximum(DemandUnit::KilovoltAmpere)];
    for charge in tariffs.iter().flat_map(|tariff| &tariff.demand) {
        if !found.contains(&charge.measure) {
            found.push(charge.measure);
        }
    }
    found
}

/// The sums of each month.
pub(super) fn sums(terms: &Terms<'_>, months: &[MonthPart], usage: &Usage) -> Vec<MonthSums> {
    let mut all: Vec<MonthSums> = months
        .iter()
        .map(|month| empty(terms.tariffs, month))
        .collect();
    let seen = (
        &usage.quarters[..],
        &usage.blocks[..],
        &usage.meter_blocks[..],
    );
    add(terms, months, seen, &mut all);
    all
}

/// Adds quarter-hours and demand periods to the sums of their months.
pub(super) fn add(
    terms: &Terms<'_>,
    months: &[MonthPart],
    (quarters, blocks, meter_blocks): (&[UsageQuarter], &[UsageBlock], &[MeterBlock]),
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
        own.take(terms, tariff, local, quarter);
    }
    let measures = measures(terms.tariffs);
    for block in blocks {
        if let Some((local, at)) = month_at(terms.zone, months, block.start_s) {
            all[at].take_block(terms, &measures, local, block);
        }
    }
    if !measures.iter().any(|measure| measure.sum_of_maxima) {
        return;
    }
    for own in meter_blocks {
        if let Some((local, at)) = month_at(terms.zone, months, own.block.start_s) {
            all[at].take_meter_block(terms, &measures, local, own);
        }
    }
}

impl EnergySums {
    fn take(
        &mut self,
        terms: &Terms<'_>,
        tariff: &Tariff,
        local: NaiveDateTime,
        quarter: &UsageQuarter,
    ) {
        let drawn = match quarter.lagging_kvarh.filter(|_| tariff.by_kvah) {
            Some(kvarh) => quarter.kwh.hypot(kvarh),
            None => quarter.kwh,
        };
        let billed = if tariff.losses.energy == Decimal::ONE {
            drawn
        } else {
            drawn * money::float(tariff.losses.energy)
        };
        self.kwh += quarter.kwh;
        self.billed += billed;
        for ((_, rates), set) in tariff.sets().zip(&mut self.sets) {
            let band = set.take(terms, rates, local, (quarter.start_s, billed));
            if let (Some(band), true) = (band, tariff.net_metering.is_some()) {
                set.band_export_kwh[band] += quarter.export_kwh;
            }
        }
        if let Some(rates) = &tariff.export {
            let export = (quarter.start_s, quarter.export_kwh);
            self.export.take(terms, rates, local, export);
        }
        for (sum, kvarh) in [
            (&mut self.lagging_kvarh, quarter.lagging_kvarh),
            (&mut self.leading_kvarh, quarter.leading_kvarh),
        ] {
            if let Some(kvarh) = kvarh {
                *sum.get_or_insert(0.0) += kvarh;
            }
        }
        for (charge, sums) in tariff.reactive.iter().zip(&mut self.reactive) {
            if charge.window.contains(local, terms.holidays) {
                sums.take(charge, quarter);
            }
        }
    }
}

impl SetSums {
    fn of(rates: &EnergyRates) -> SetSums {
        let bands = match rates {
            EnergyRates::Bands(table) => table.bands().len(),
            _ => 1,
        };
        SetSums {
            band_kwh: vec![0.0; bands],
            band_export_kwh: vec![0.0; bands],
            ..SetSums::default()
        }
    }

    /// The band that it is in; `None` where a file has no price.
    fn take(
        &mut self,
        terms: &Terms<'_>,
        rates: &EnergyRates,
        local: NaiveDateTime,
        (start_s, kwh): (i64, f64),
    ) -> Option<usize> {
        let (band, by_day) = match rates {
            EnergyRates::Bands(table) => {
                let band = table.at(local, terms.holidays);
                (band, goes_by_day(&table.bands()[band].blocks))
            }
            EnergyRates::Blocks(blocks) => (0, goes_by_day(blocks)),
            EnergyRates::Series(prices) => {
                let cost = prices
                    .at(start_s)
                    .and_then(|price| Some(price * money::read(kwh)?));
                let Some(cost) = cost else {
                    self.without_price_kwh += kwh;
                    return None;
                };
                self.cost += cost;
                (0, false)
            }
        };
        self.band_kwh[band] += kwh;
        if by_day {
            let date = local.date();
            if self.days.last().is_none_or(|(last, _)| *last != date) {
                self.days.push((date, vec![0.0; self.band_kwh.len()]));
            }
            if let Some((_, bands)) = self.days.last_mut() {
                bands[band] += kwh;
            }
        }
        Some(band)
    }
}

fn goes_by_day(blocks: &[EnergyBlock]) -> bool {
    let mut ends = blocks.iter().map(|block| block.up_to);
    ends.any(|end| matches!(end, BlockEnd::PerDay(_)))
}

impl MonthSums {
    fn take_block(
        &mut self,
        terms: &Terms<'_>,
        measures: &[DemandMeasure],
        local: NaiveDateTime,
        block: &UsageBlock,
    ) {
        let date = local.date();
        for (measure, tops) in measures.iter().zip(&mut self.tops) {
            if measure.window.contains(local, terms.holidays) {
                tops.take(measure, block, date);
            }
        }
        if let Some(kva) = block.kva {
            match self.days_kva.last_mut() {
                Some((last, most)) if *last == date => *most = most.max(kva),
                _ => self.days_kva.push((date, kva)),
            }
        }
    }

    fn take_meter_block(
        &mut self,
        terms: &Terms<'_>,
        measures: &[DemandMeasure],
        local: NaiveDateTime,
        own: &MeterBlock,
    ) {
        for (measure, tops) in measures.iter().zip(&mut self.meter_tops) {
            if measure.sum_of_maxima && measure.window.contains(local, terms.holidays) {
                tops.resize(own.meters, TopDemands::default());
                tops[own.meter].take(measure, &own.block, local.date());
            }
        }
    }

    /// What a charge measures. (kW, kVA)
    pub(super) fn demand(&self, tariffs: &[Tariff], charge: &DemandCharge) -> Option<Decimal> {
        let measure = &charge.measure;
        let at = measures(tariffs).iter().position(|own| own == measure)?;
        match &self.meter_tops[at][..] {
            [] => self.tops[at].value(measure),
            meters => meters.iter().map(|tops| tops.value(measure)).sum(),
        }
    }

    /// The highest demand periods by the measure of a charge.
    pub(super) fn top(&self, tariffs: &[Tariff], charge: &DemandCharge) -> Option<&TopDemands> {
        let measures = measures(tariffs);
        let at = measures.iter().position(|own| *own == charge.measure)?;
        self.tops.get(at)
    }
}

pub(super) fn empty(tariffs: &[Tariff], month: &MonthPart) -> MonthSums {
    let price_periods = month.price_periods.iter().map(|price_period| {
        let tariff = &tariffs[price_period.tariff];
        EnergySums {
            sets: tariff.sets().map(|(_, rates)| SetSums::of(rates)).collect(),
            export: tariff
                .export
                .as_ref()
                .map_or_else(SetSums::default, SetSums::of),
            reactive: tariff.reactive.iter().map(ReactiveSums::of).collect(),
            ..EnergySums::default()
        }
    });
    MonthSums {
        price_periods: price_periods.collect(),
        tops: vec![TopDemands::default(); measures(tariffs).len()],
        meter_tops: vec![Vec::new(); measures(tariffs).len()],
        ..MonthSums::default()
    }
}

/// The local time of a moment, and the month it is in.
fn month_at(zone: Tz, months: &[MonthPart], at_s: i64) -> Option<(NaiveDateTime, usize)> {
    let local = local(zone, at_s)?;
    let date = local.date();
    let at = months
        .partition_point(|month| month.first <= date)
        .checked_sub(1)?;
    (date < months[at].next).then_some((local, at))
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
