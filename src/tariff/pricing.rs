//! The lines of a month, in the order of a bill: standing, energy, demand, capacity, reactive energy, power
//! factor, tax.

use rust_decimal::Decimal;

use super::band::Band;
use super::bill_line::{BillLine, DayShare};
use super::charges::{PowerFactorSurcharge, ReactiveCharge};
use super::demand_billed::billed;
use super::money;
use super::price_period::{MonthPart, PricePeriod, days};
use super::sums::{EnergySums, MonthSums};
use super::tariff::{EnergyBlock, EnergyRates, Tariff};
use super::terms::Terms;

/// All lines of a month; what cannot be billed is noted.
pub(super) fn lines(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
    notes: &mut Vec<String>,
) -> Vec<BillLine> {
    let mut lines = Vec::new();
    for (price_period, own) in parts[at].price_periods.iter().zip(&sums[at].price_periods) {
        let mut sheet = BillSheet {
            tariff: &terms.tariffs[price_period.tariff],
            price_period,
            decimals: money::decimals_of(terms.currency),
            lines: Vec::new(),
        };
        sheet.standing();
        sheet.energy(own);
        sheet.demand(sums, at, notes);
        sheet.capacity();
        sheet.reactive(own, notes);
        sheet.power_factor(own, notes);
        sheet.tax(terms.currency);
        lines.append(&mut sheet.lines);
    }
    lines
}

/// The energy lines of a price period alone.
pub(super) fn energy_lines(
    terms: &Terms<'_>,
    price_period: &PricePeriod,
    own: &EnergySums,
) -> Vec<BillLine> {
    let mut sheet = BillSheet {
        tariff: &terms.tariffs[price_period.tariff],
        price_period,
        decimals: money::decimals_of(terms.currency),
        lines: Vec::new(),
    };
    sheet.energy(own);
    sheet.lines
}

/// For each band the first of its name and price: these are one line, in the place of the first.
pub(super) fn heads(bands: &[Band]) -> Vec<usize> {
    let same = |a: &Band, b: &Band| a.name == b.name && a.rate_per_kwh == b.rate_per_kwh;
    let head = |band: &Band| bands.iter().position(|other| same(other, band));
    bands.iter().filter_map(head).collect()
}

/// The lines of a run of days under one tariff.
struct BillSheet<'a> {
    tariff: &'a Tariff,
    price_period: &'a PricePeriod,
    decimals: u32,
    lines: Vec<BillLine>,
}

impl BillSheet<'_> {
    /// Adds a line; its amount follows.
    fn add(&mut self, line: &str, quantity: Decimal, unit: &str, rate: Decimal) -> &mut BillLine {
        let amount = money::rounded(quantity * rate, self.decimals);
        self.lines.push(BillLine {
            line: line.to_owned(),
            from: self.price_period.from,
            to: self.price_period.to,
            quantity,
            unit: unit.to_owned(),
            rate,
            share: None,
            amount,
            note: None,
        });
        let last = self.lines.len() - 1;
        &mut self.lines[last]
    }

    fn days(&self) -> Decimal {
        Decimal::from(days(self.price_period.from, self.price_period.to))
    }

    fn standing(&mut self) {
        if let Some(rate) = self.tariff.standing_per_day {
            self.add("standing", self.days(), "days", rate);
        }
    }

    fn energy(&mut self, sums: &EnergySums) {
        match &self.tariff.energy {
            Some(EnergyRates::Bands(table)) => {
                let bands = table.bands();
                let heads = heads(bands);
                for (index, band) in bands.iter().enumerate() {
                    if heads[index] != index {
                        continue;
                    }
                    let own = heads.iter().zip(&sums.band_kwh);
                    let kwh: f64 = own
                        .filter(|(head, _)| **head == index)
                        .map(|(_, kwh)| kwh)
                        .sum();
                    if let Some(kwh) = money::quantity(kwh) {
                        self.add(
                            &format!("energy {}", band.name),
                            kwh,
                            "kWh",
                            band.rate_per_kwh,
                        );
                    }
                }
            }
            Some(EnergyRates::Blocks(blocks)) => {
                if let Some(kwh) = money::quantity(sums.kwh) {
                    for (number, (part, rate)) in in_blocks(kwh, blocks, self.price_period.share)
                        .into_iter()
                        .enumerate()
                    {
                        self.add(&format!("energy block {}", number + 1), part, "kWh", rate);
                    }
                }
            }
            None => {}
        }
    }

    fn demand(&mut self, sums: &[MonthSums], at: usize, notes: &mut Vec<String>) {
        let Some(charge) = self.tariff.demand else {
            return;
        };
        let unit = charge.per.symbol();
        let Some(billed) = billed(&charge, sums, at) else {
            notes.push(format!(
                "the demand in {unit} is not billed: the month has no complete demand period"
            ));
            return;
        };
        let (share, decimals) = (self.price_period.share, self.decimals);
        let line = self.add("demand", billed.quantity, unit, charge.rate_per_month);
        line.note = billed.note;
        if let Some(share) = share {
            let whole = line.quantity * line.rate * Decimal::from(share.days);
            line.amount = money::rounded(whole / Decimal::from(share.of), decimals);
            line.share = Some(share);
        }
    }

    fn capacity(&mut self) {
        if let Some(charge) = self.tariff.capacity {
            let quantity = charge.kva * self.days();
            self.add("capacity", quantity, "kVA·days", charge.rate_per_kva_day);
        }
    }

    fn reactive(&mut self, sums: &EnergySums, notes: &mut Vec<String>) {
        let Some(charge) = self.tariff.reactive else {
            return;
        };
        let Some((kwh, lagging)) = energies(sums) else {
            notes.push("reactive energy is not billed: the meter does not log it".to_owned());
            return;
        };
        let (beyond, free) = beyond_free(kwh, lagging, &charge);
        let line = self.add("reactive", beyond, "kvarh", charge.rate_per_kvarh);
        line.note = Some(format!("{free} of {lagging} kvarh are free"));
    }

    fn power_factor(&mut self, sums: &EnergySums, notes: &mut Vec<String>) {
        let Some(charge) = self.tariff.power_factor else {
            return;
        };
        let Some((kwh, lagging)) = energies(sums) else {
            notes.push(
                "power factor is not billed: the meter does not log reactive energy".to_owned(),
            );
            return;
        };
        let Some((power_factor, points)) = points_below(kwh, lagging, &charge) else {
            return;
        };
        let rate = points * charge.surcharge_per_kwh_per_pct;
        let line = self.add("power factor", kwh, "kWh", rate);
        line.note = Some(format!(
            "power factor {power_factor}, {} points below {}",
            points.normalize(),
            charge.below
        ));
    }

    fn tax(&mut self, currency: Option<&str>) {
        let Some(rate) = self.tariff.tax_pct else {
            return;
        };
        let taxed: Decimal = self.lines.iter().map(|line| line.amount).sum();
        let decimals = self.decimals;
        let line = self.add("tax", taxed, currency.unwrap_or("currency"), rate);
        line.amount = money::rounded(taxed * rate / Decimal::ONE_HUNDRED, decimals);
    }
}

/// Energy and lagging reactive energy of the bill.
fn energies(sums: &EnergySums) -> Option<(Decimal, Decimal)> {
    Some((
        money::quantity(sums.kwh)?,
        money::quantity(sums.lagging_kvarh?)?,
    ))
}

/// What is in each block, with its price; blocks that nothing reaches are left out.
///
/// `share`: of a month of which the tariff holds a part, the blocks end at that share of their ends.
fn in_blocks(
    kwh: Decimal,
    blocks: &[EnergyBlock],
    share: Option<DayShare>,
) -> Vec<(Decimal, Decimal)> {
    let mut begin = Decimal::ZERO;
    let mut parts = Vec::new();
    for block in blocks {
        let end = block.up_to_kwh_per_month.map(|end| match share {
            Some(share) => {
                let end = end * Decimal::from(share.days) / Decimal::from(share.of);
                money::rounded(end, money::QUANTITY_DECIMALS)
            }
            None => end,
        });
        let until = end.map_or(kwh, |end| end.min(kwh));
        if until > begin {
            parts.push((until - begin, block.rate_per_kwh));
            begin = until;
        }
    }
    parts
}

/// kvarh beyond the free share, and those that are free.
fn beyond_free(kwh: Decimal, lagging: Decimal, charge: &ReactiveCharge) -> (Decimal, Decimal) {
    let free =
        money::rounded(kwh * charge.free_share_of_kwh, money::QUANTITY_DECIMALS).min(lagging);
    (lagging - free, free)
}

/// Power factor, and how many hundredths it is below the threshold; `None` where it is not below.
fn points_below(
    kwh: Decimal,
    lagging: Decimal,
    charge: &PowerFactorSurcharge,
) -> Option<(Decimal, Decimal)> {
    let float = |value: Decimal| value.to_string().parse::<f64>().ok();
    let (active, reactive) = (float(kwh)?, float(lagging)?);
    let apparent = active.hypot(reactive);
    let power_factor = money::read(active / apparent).filter(|_| apparent > 0.0)?;
    let points = (charge.below - power_factor) * Decimal::ONE_HUNDRED;
    (points > Decimal::ZERO).then_some((power_factor, points))
}
