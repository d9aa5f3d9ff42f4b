//! The energy lines of a run of days: by bands, by blocks, by prices from a file, for each price of energy of the tariff.

use rust_decimal::Decimal;

use super::band::Band;
use super::band_heads::heads;
use super::bill_line::{BillLine, LineKind};
use super::bill_sheet::BillSheet;
use super::credit::LineCredit;
use super::energy_block::{BlockEnd, EnergyBlock};
use super::money;
use super::sums::{EnergySums, SetSums};
use super::tariff::EnergyRates;

/// Decimals of a mean price from a file.
const MEAN_PRICE_DECIMALS: u32 = 6;

/// The lines of each price of energy, each with the band that it begins with.
pub(super) fn energy_lines(
    sheet: &BillSheet<'_>,
    sums: &EnergySums,
    notes: &mut Vec<String>,
) -> Vec<Vec<(usize, BillLine)>> {
    let by_kvah = sheet.tariff.by_kvah;
    if by_kvah && sums.lagging_kvarh.is_none() {
        notes.push(
            "energy is not billed: it is priced in kVAh, and the meter does not log reactive energy"
                .to_owned(),
        );
        return sheet.tariff.sets().map(|_| Vec::new()).collect();
    }
    let sets = sheet.tariff.sets().zip(&sums.sets);
    sets.map(|((name, rates), sums)| {
        let lines = SetLines {
            sheet,
            name,
            sums,
            kind: LineKind::Energy,
            unit: if by_kvah { "kVAh" } else { "kWh" },
        };
        lines.of(rates, notes)
    })
    .collect()
}

/// What is paid for energy exported; its rates count against the bill.
pub(super) fn export_lines(
    sheet: &BillSheet<'_>,
    sums: &EnergySums,
    notes: &mut Vec<String>,
) -> Vec<BillLine> {
    let Some(rates) = &sheet.tariff.export else {
        return Vec::new();
    };
    let lines = SetLines {
        sheet,
        name: "export",
        sums: &sums.export,
        kind: LineKind::Export,
        unit: "kWh",
    };
    let lines = lines.of(rates, notes).into_iter();
    lines.map(|(_, line)| line).collect()
}

/// The lines of one price of energy.
struct SetLines<'s> {
    sheet: &'s BillSheet<'s>,
    name: &'s str,
    sums: &'s SetSums,
    kind: LineKind,
    unit: &'static str,
}

impl SetLines<'_> {
    fn of(&self, rates: &EnergyRates, notes: &mut Vec<String>) -> Vec<(usize, BillLine)> {
        match rates {
            EnergyRates::Bands(table) => self.bands(table.bands(), notes),
            EnergyRates::Blocks(blocks) => {
                let own = self.blocks(self.name, blocks, &[0], notes);
                let mut lines: Vec<_> = own.into_iter().map(|line| (0, line)).collect();
                self.note_credit(0, &mut lines);
                lines
            }
            EnergyRates::Series(prices) => self.series(prices.name(), notes),
        }
    }

    fn sign(&self) -> Decimal {
        if self.kind == LineKind::Export {
            Decimal::NEGATIVE_ONE
        } else {
            Decimal::ONE
        }
    }

    fn line(&self, name: &str, kwh: Decimal, rate: Decimal) -> BillLine {
        let rate = rate * self.sign();
        let mut line = self.sheet.line(self.kind, name, (kwh, self.unit), rate);
        let losses = self.sheet.tariff.losses.energy;
        if self.kind == LineKind::Energy && losses != Decimal::ONE {
            line.note = Some(format!("with the loss factor {}", losses.normalize()));
        }
        line
    }

    fn kwh(&self, bands: &[usize]) -> Option<Decimal> {
        let sum: f64 = bands.iter().map(|&band| self.sums.band_kwh[band]).sum();
        let kwh = self.sheet.tariff.rounding.measured(sum)?;
        let credit = bands.first().and_then(|head| self.credit(*head));
        Some(kwh - credit.map_or(Decimal::ZERO, |credit| credit.used))
    }

    /// What is deducted from the line that begins with this band.
    fn credit(&self, head: usize) -> Option<&LineCredit> {
        let mut credits = self.sheet.credits.iter();
        credits.find(|credit| {
            self.kind == LineKind::Energy && credit.set == self.name && credit.head == head
        })
    }

    /// Says on the first of the lines of a band what is deducted from it.
    fn note_credit(&self, head: usize, lines: &mut [(usize, BillLine)]) {
        let used = self.credit(head).map(|credit| credit.used);
        if let (Some(used), Some((_, line))) =
            (used.filter(|used| !used.is_zero()), lines.first_mut())
        {
            let said = format!("less {used} kWh of credit");
            line.note = Some(
                line.note
                    .take()
                    .map_or(said.clone(), |note| format!("{note}; {said}")),
            );
        }
    }

    fn bands(&self, bands: &[Band], notes: &mut Vec<String>) -> Vec<(usize, BillLine)> {
        let heads = heads(bands);
        let mut lines = Vec::new();
        for (index, band) in bands.iter().enumerate() {
            if heads[index] != index {
                continue;
            }
            let own: Vec<usize> = (0..bands.len()).filter(|&at| heads[at] == index).collect();
            let name = format!("{} {}", self.name, band.name);
            let begin = lines.len();
            if band.blocks.is_empty() {
                let kwh = self.kwh(&own);
                lines.extend(kwh.map(|kwh| (index, self.line(&name, kwh, band.rate_per_kwh))));
            } else {
                let blocks = self.blocks(&name, &band.blocks, &own, notes);
                lines.extend(blocks.into_iter().map(|line| (index, line)));
            }
            self.note_credit(index, &mut lines[begin..]);
        }
        lines
    }

    /// What is in each block; those that nothing reaches are left out.
    fn blocks(
        &self,
        name: &str,
        blocks: &[EnergyBlock],
        bands: &[usize],
        notes: &mut Vec<String>,
    ) -> Vec<BillLine> {
        let by_day = blocks
            .iter()
            .any(|block| matches!(block.up_to, BlockEnd::PerDay(_)));
        let parts = if by_day {
            self.by_day(blocks, bands)
        } else {
            self.by_month(blocks, bands, notes)
        };
        parts
            .into_iter()
            .zip(blocks)
            .enumerate()
            .filter(|(_, (part, _))| !part.is_zero())
            .map(|(number, (part, block))| {
                let name = format!("{name} block {}", number + 1);
                self.line(&name, part, block.rate_per_kwh)
            })
            .collect()
    }

    /// Of a month of which the tariff holds a part, the blocks end at that share of their ends.
    fn by_month(
        &self,
        blocks: &[EnergyBlock],
        bands: &[usize],
        notes: &mut Vec<String>,
    ) -> Vec<Decimal> {
        let rounding = &self.sheet.tariff.rounding;
        let Some(kwh) = self.kwh(bands) else {
            return Vec::new();
        };
        let demand = self.sheet.demands.iter().flatten().next();
        let mut begin = Decimal::ZERO;
        let mut parts = Vec::new();
        for block in blocks {
            let end = match block.up_to {
                BlockEnd::PerMonth(end) | BlockEnd::PerDay(end) => Some(end),
                BlockEnd::Open => None,
                BlockEnd::PerDemand(hours) => {
                    let Some(demand) = demand else {
                        notes.push(format!(
                            "`{}` is not billed: its blocks depend on a demand that is not known",
                            self.name
                        ));
                        return Vec::new();
                    };
                    Some(demand.quantity * hours)
                }
            };
            let end = end.map(|end| match self.sheet.share() {
                Some(share) => rounding.quantity(share.of_value(end)),
                None => end,
            });
            let until = end.map_or(kwh, |end| end.min(kwh)).max(begin);
            parts.push(until - begin);
            begin = until;
        }
        parts
    }

    fn by_day(&self, blocks: &[EnergyBlock], bands: &[usize]) -> Vec<Decimal> {
        let mut parts = vec![0.0; blocks.len()];
        for (_, day) in &self.sums.days {
            let kwh: f64 = bands.iter().map(|&band| day[band]).sum();
            let mut begin = 0.0;
            for (part, block) in parts.iter_mut().zip(blocks) {
                let until = match block.up_to {
                    BlockEnd::PerDay(end) => kwh.min(money::float(end)),
                    _ => kwh,
                };
                let until = f64::max(until, begin);
                *part += until - begin;
                begin = until;
            }
        }
        let rounding = &self.sheet.tariff.rounding;
        let rounded = parts.into_iter().map(|part| rounding.measured(part));
        rounded.map(Option::unwrap_or_default).collect()
    }

    fn series(&self, name: &str, notes: &mut Vec<String>) -> Vec<(usize, BillLine)> {
        let without = self.sums.without_price_kwh;
        if without > 0.0 {
            notes.push(format!(
                "{without:.1} kWh are at times at which the file of `{} {name}` has no price: they are not billed",
                self.name
            ));
        }
        let Some(kwh) = self.kwh(&[0]) else {
            return Vec::new();
        };
        let cost = self.sums.cost;
        let mean = cost.checked_div(kwh).unwrap_or_default();
        let mean = money::rounded(mean, MEAN_PRICE_DECIMALS);
        let mut line = self.line(&format!("{} {name}", self.name), kwh, mean);
        line.amount = self.sheet.amount(cost * self.sign());
        line.note = Some("at the price of each quarter-hour; the rate is the mean".to_owned());
        vec![(0, line)]
    }
}
