//! What the energy of parts costs: each energy line of the bill shared out by what the parts used in its time.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::band_heads::heads;
use super::money;
use super::price_period::{MonthPart, month_parts};
use super::pricing;
use super::sums::{self, MonthSums};
use super::tariff::EnergyRates;
use super::terms::Terms;
use super::usage::{Usage, UsageQuarter};

/// What a part used in a quarter-hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartUse {
    /// Which part.
    pub part: usize,
    /// Start of the quarter-hour, Unix seconds.
    pub start_s: i64,
    /// Energy. (kWh)
    pub kwh: f64,
}

/// What the parts cost.
#[derive(Clone, Debug, PartialEq)]
pub struct CostAllocation {
    /// By part; `None` where some of its energy has no price.
    pub parts: Vec<Option<Decimal>>,
    /// The energy lines of the whole; the parts add up to it where all have a price.
    pub total: Decimal,
}

/// Shares the energy lines of what `quarters` used out among parts, each line by the energy that the parts used
/// in its time, so that they add up to it to the smaller unit of the currency. Before tax.
///
/// A price by the amount of a month (`energy_blocks`) belongs to the bill as a whole: its lines are shared out at
/// their mean price where `billed` says that this is the meter of the bill, and are no price otherwise. Quarter-hours
/// that return energy cost nothing and give nothing, as on the bill.
///
/// # Example
///
/// 10.01 for 3 kWh, of which one part used 1 and the other 2: 3.34 and 6.67.
///
/// ```
/// use tariff::{BillingPeriods, BlockEnd, EnergyBlock, EnergyRates, PartUse, Tariff, Terms, UsageQuarter, allocate_cost};
///
/// let rate_per_kwh = "3.33667".parse().expect("a decimal");
/// let block = EnergyBlock { up_to: BlockEnd::Open, rate_per_kwh };
/// let tariff = Tariff { energy: Some(EnergyRates::Blocks(vec![block])), ..Tariff::free_of_charge() };
/// let billing = BillingPeriods::default();
/// let terms = Terms { tariffs: &[tariff], zone: chrono_tz::UTC, holidays: &[], billing: &billing, currency: None };
/// let quarter = UsageQuarter { start_s: 0, covered_s: 900.0, kwh: 3.0, ..UsageQuarter::default() };
/// let uses = [(0, 1.0), (1, 2.0)].map(|(part, kwh)| PartUse { part, start_s: 0, kwh });
/// let shared = allocate_cost(&terms, &[quarter], uses, 2, true).expect("a price");
/// let parts: Vec<String> = shared.parts.iter().flatten().map(ToString::to_string).collect();
/// assert_eq!((parts.join(" "), shared.total.to_string()), ("3.34 6.67".to_owned(), "10.01".to_owned()));
/// ```
#[must_use]
pub fn allocate_cost(
    terms: &Terms<'_>,
    quarters: &[UsageQuarter],
    uses: impl IntoIterator<Item = PartUse>,
    parts: usize,
    billed: bool,
) -> Option<CostAllocation> {
    let priced = Priced::of(terms, quarters, billed)?;
    let returns: Vec<i64> = quarters
        .iter()
        .filter(|quarter| quarter.kwh <= 0.0)
        .map(|quarter| quarter.start_s)
        .collect();
    let mut weights: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    let mut unpriced = vec![false; parts];
    let mut last: Option<(i64, Option<Vec<WeightedLine>>)> = None;
    for used in uses {
        if last.as_ref().is_none_or(|(at, _)| *at != used.start_s) {
            last = Some((used.start_s, priced.lines_at(terms, used.start_s)));
        }
        match last.as_ref().and_then(|(_, lines)| lines.as_ref()) {
            Some(_) if returns.binary_search(&used.start_s).is_ok() => {}
            Some(lines) => {
                for &(line, weight) in lines {
                    let of_line = weights.entry(line).or_insert_with(|| vec![0.0; parts]);
                    of_line[used.part] += used.kwh * weight;
                }
            }
            None => unpriced[used.part] |= used.kwh != 0.0,
        }
    }
    let decimals = money::decimals_of(terms.currency);
    let mut sums = vec![Decimal::ZERO; parts];
    for (line, weights) in weights {
        let shares = apportion(priced.amounts[line], &weights, decimals)?;
        for (sum, share) in sums.iter_mut().zip(shares) {
            *sum += share;
        }
    }
    let told =
        |(sum, unpriced): (Decimal, bool)| (!unpriced).then(|| money::rounded(sum, decimals));
    Some(CostAllocation {
        parts: sums.into_iter().zip(unpriced).map(told).collect(),
        total: money::rounded(priced.amounts.iter().sum(), decimals),
    })
}

/// A line, and what a kWh counts in it: one, or its price where the line has many.
type WeightedLine = (usize, f64);

/// The energy lines of a time, and which holds when.
struct Priced {
    months: Vec<MonthPart>,
    /// By month, price period and price of energy: the line of each band, or of all energy.
    lines: Vec<Vec<Vec<Vec<usize>>>>,
    amounts: Vec<Decimal>,
}

impl Priced {
    fn of(terms: &Terms<'_>, quarters: &[UsageQuarter], billed: bool) -> Option<Priced> {
        let (first, last) = (quarters.first()?, quarters.last()?);
        let from = sums::date(terms.zone, first.start_s)?;
        let to = sums::date(terms.zone, last.start_s)?.succ_opt()?;
        if terms.tariffs.is_empty() {
            return None;
        }
        let months = month_parts(terms, from, to);
        let usage = Usage {
            quarters: quarters
                .iter()
                .map(|quarter| UsageQuarter {
                    kwh: quarter.kwh.max(0.0),
                    ..*quarter
                })
                .collect(),
            ..Usage::of("", first.start_s, last.start_s)
        };
        let sums = sums::sums(terms, &months, &usage);
        let mut priced = Priced {
            lines: Vec::new(),
            amounts: Vec::new(),
            months,
        };
        for at in 0..sums.len() {
            let lines = priced.month(terms, &sums, at, billed)?;
            priced.lines.push(lines);
        }
        Some(priced)
    }

    fn month(
        &mut self,
        terms: &Terms<'_>,
        sums: &[MonthSums],
        at: usize,
        billed: bool,
    ) -> Option<Vec<Vec<Vec<usize>>>> {
        let periods = self.months[at].price_periods.iter();
        let mut lines = Vec::new();
        for (price_period, own) in periods.zip(&sums[at].price_periods) {
            let by_set = pricing::energy_lines(terms, price_period, own, (&self.months, sums, at));
            let sets = terms.tariffs[price_period.tariff].sets();
            let mut of_period = Vec::new();
            for ((_, rates), set) in sets.zip(by_set) {
                let heads = match rates {
                    EnergyRates::Bands(table) => {
                        let by_amount = table.bands().iter().any(|band| !band.blocks.is_empty());
                        (billed || !by_amount).then_some(())?;
                        heads(table.bands())
                    }
                    EnergyRates::Blocks(_) => {
                        billed.then_some(())?;
                        vec![0]
                    }
                    EnergyRates::Series(_) => vec![0],
                };
                let begin = self.amounts.len();
                let mut first: Vec<usize> = heads.clone();
                first.sort_unstable();
                first.dedup();
                for head in &first {
                    let own = set.iter().filter(|(own, _)| own == head);
                    self.amounts.push(own.map(|(_, line)| line.amount).sum());
                }
                let line = |head: &usize| begin + first.partition_point(|known| known < head);
                of_period.push(heads.iter().map(line).collect());
            }
            lines.push(of_period);
        }
        Some(lines)
    }

    /// The lines of a moment; `None` where no tariff prices its energy.
    fn lines_at(&self, terms: &Terms<'_>, at_s: i64) -> Option<Vec<WeightedLine>> {
        let local = sums::local(terms.zone, at_s)?;
        let date = local.date();
        let holds = |from: NaiveDate, to: NaiveDate| from <= date && date < to;
        let month = self
            .months
            .iter()
            .position(|month| holds(month.from, month.to))?;
        let price_period = self.months[month]
            .price_periods
            .iter()
            .position(|price_period| holds(price_period.from, price_period.to))?;
        let sets = &self.lines[month][price_period];
        let tariff = self.months[month].price_periods[price_period].tariff;
        let lines: Option<Vec<WeightedLine>> = terms.tariffs[tariff]
            .sets()
            .zip(sets)
            .map(|((_, rates), lines)| match rates {
                EnergyRates::Bands(table) => {
                    let line = lines.get(table.at(local, terms.holidays));
                    line.map(|line| (*line, 1.0))
                }
                EnergyRates::Blocks(_) => Some((lines[0], 1.0)),
                EnergyRates::Series(prices) => Some((lines[0], prices.at(at_s)?.to_f64()?)),
            })
            .collect();
        lines.filter(|lines| !lines.is_empty())
    }
}

/// An amount in proportion to weights, to so many decimals; what rounding leaves over goes, one unit each, to those
/// who lost most by it. `None` for an amount that cannot be counted in its units.
fn apportion(amount: Decimal, weights: &[f64], decimals: u32) -> Option<Vec<Decimal>> {
    let all: f64 = weights.iter().sum();
    let unit = Decimal::new(1, decimals);
    let units = (amount / unit).round().to_i64()?;
    if units == 0 || all == 0.0 {
        return (units == 0).then(|| vec![Decimal::ZERO; weights.len()]);
    }
    let exact: Vec<f64> = weights
        .iter()
        .map(|weight| units as f64 * (weight / all))
        .collect();
    let mut whole: Vec<i64> = exact.iter().map(|share| share.floor() as i64).collect();
    let mut over = units - whole.iter().sum::<i64>();
    let mut order: Vec<usize> = (0..weights.len())
        .filter(|&at| weights[at] != 0.0)
        .collect();
    let lost = |at: usize| exact[at] - exact[at].floor();
    order.sort_by(|&a, &b| lost(b).total_cmp(&lost(a)).then(a.cmp(&b)));
    // Floors of a few shares that are whole but for the noise may make one too many.
    for &at in order.iter().cycle().take(order.len() * 2) {
        match over {
            0 => break,
            1.. => {
                whole[at] += 1;
                over -= 1;
            }
            _ => {
                whole[at] -= 1;
                over += 1;
            }
        }
    }
    Some(
        whole
            .into_iter()
            .map(|units| Decimal::from(units) * unit)
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(amount: &str, weights: &[f64]) -> Vec<String> {
        let amount = amount.parse().expect("a decimal");
        let shares = apportion(amount, weights, 2).expect("it can be counted");
        shares.iter().map(|share| format!("{share:.2}")).collect()
    }

    #[test]
    fn shares_add_up_to_the_last_unit() {
        assert_eq!(shares("10.00", &[1.0, 1.0, 1.0]), ["3.34", "3.33", "3.33"]);
        assert_eq!(shares("0.01", &[1.0, 3.0]), ["0.00", "0.01"]);
        // A rest below nothing takes back what others have too much.
        assert_eq!(
            shares("10.00", &[8.0, 4.0, -2.0]),
            ["8.00", "4.00", "-2.00"]
        );
        assert_eq!(shares("0.00", &[0.0, 0.0]), ["0.00", "0.00"]);
    }

    proptest::proptest! {
        /// Whatever the weights, nothing is lost, and nobody is a unit away from what is due.
        #[test]
        fn any_shares_add_up(
            cents in 0_i64..10_000_000,
            weights in proptest::collection::vec(0.0_f64..1e4, 1..40),
        ) {
            let all: f64 = weights.iter().sum();
            proptest::prop_assume!(all > 0.0);
            let amount = Decimal::new(cents, 2);
            let shares = apportion(amount, &weights, 2).expect("it can be counted");
            proptest::prop_assert_eq!(shares.iter().sum::<Decimal>(), amount);
            for (share, weight) in shares.iter().zip(&weights) {
                let due = cents as f64 / 100.0 * weight / all;
                let found = share.to_f64().expect("a number");
                proptest::prop_assert!((found - due).abs() < 0.01 + 1e-6);
            }
        }
    }

    #[test]
    fn an_amount_without_any_use_is_nobodys() {
        assert_eq!(apportion(Decimal::ONE, &[0.0], 2), None);
    }
}
