//! What a kilowatt-hour costs at a moment.

use chrono::{NaiveDateTime, TimeZone};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::band::Band;
use super::levy::LevyBase;
use super::tariff::{EnergyRates, Tariff, tariff_on};
use super::terms::Terms;

/// Price of a kilowatt-hour at a moment by the bands that hold then, levies by the kWh and taxes included. (currency/kWh)
///
/// `None` where no tariff holds yet, or where the price follows the amount of a month, not the time.
///
/// # Example
///
/// 0.16 from midnight to seven and 0.30 after, with 20 % tax: 0.192 at three, 0.36 at noon.
///
/// ```
/// use tariff::{Band, BandDays, BandTable, BillingPeriods, EnergyRates, Months, Tariff, Tax, Terms, energy_price_at};
///
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let band = |name: &str, from_quarter, to_quarter, rate: &str| Band {
///     name: name.to_owned(),
///     days: BandDays::daily(),
///     months: Months::ALL,
///     from_quarter,
///     to_quarter,
///     otherwise: false,
///     rate_per_kwh: rate.parse().unwrap_or_default(),
///     blocks: Vec::new(),
/// };
/// let bands = vec![band("night", 0, 28, "0.16"), band("day", 28, 96, "0.30")];
/// let tariff = Tariff {
///     from: "2026-01-01".parse()?,
///     energy: Some(EnergyRates::Bands(BandTable::new(bands).map_err(|_| "a hole")?)),
///     taxes: vec![Tax::on_all("tax", "20".parse().map_err(|_| "a number")?)],
///     ..Tariff::free_of_charge()
/// };
/// let billing = BillingPeriods::default();
/// let terms = Terms { tariffs: &[tariff], zone: chrono_tz::UTC, holidays: &[], billing: &billing, currency: None };
/// let day_s = 20_700 * 86_400; // 2026-09-04
/// assert_eq!(energy_price_at(&terms, day_s + 3 * 3600), Some(0.192));
/// assert_eq!(energy_price_at(&terms, day_s + 12 * 3600), Some(0.36));
/// assert_eq!(energy_price_at(&terms, 0), None);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn energy_price_at(terms: &Terms<'_>, at_s: i64) -> Option<f64> {
    let local = terms.zone.timestamp_opt(at_s, 0).single()?.naive_local();
    let tariff = &terms.tariffs[tariff_on(terms.tariffs, local.date())?];
    let by_amount = |rates: &EnergyRates| match rates {
        EnergyRates::Bands(table) => {
            let band = &table.bands()[table.at(local, terms.holidays)];
            !band.blocks.is_empty()
        }
        EnergyRates::Series(_) => false,
        EnergyRates::Blocks(_) => true,
    };
    if tariff.sets().next().is_none() || tariff.sets().any(|(_, rates)| by_amount(rates)) {
        return None;
    }
    let mut rate = rate_by_time(terms, tariff, local, at_s)?;
    let by_kwh = tariff
        .levies
        .iter()
        .filter(|levy| levy.per == LevyBase::Kwh);
    rate += by_kwh.map(|levy| levy.rate).sum::<Decimal>();
    (rate * tariff.tax_on_energy()).to_f64()
}

/// The price of a band; of one with blocks that of the first.
pub(super) fn first_rate(band: &Band) -> Decimal {
    let block = band.blocks.first().map(|block| block.rate_per_kwh);
    block.unwrap_or(band.rate_per_kwh)
}

/// What of the price goes by the time: of prices by the amount used, those of the first block of a band and nothing else.
/// `None` where a file of prices has none.
pub(super) fn rate_by_time(
    terms: &Terms<'_>,
    tariff: &Tariff,
    local: NaiveDateTime,
    at_s: i64,
) -> Option<Decimal> {
    let mut rate = Decimal::ZERO;
    for (_, rates) in tariff.sets() {
        rate += match rates {
            EnergyRates::Bands(table) => {
                first_rate(&table.bands()[table.at(local, terms.holidays)])
            }
            EnergyRates::Series(prices) => prices.at(at_s)?,
            EnergyRates::Blocks(_) => Decimal::ZERO,
        };
    }
    Some(rate)
}
