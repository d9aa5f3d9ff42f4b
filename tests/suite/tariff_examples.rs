//! Published bills and prices. Yearly figures of the sources are billed as one month with the year's quantities:
//! the arithmetic of a line does not know how long its month is.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use tapoff::tariff::{
    Band, BandDays, BandTable, BillingPeriods, BlockEnd, DemandCharge, DemandUnit, EnergyBlock,
    EnergyRates, EnergySet, Months, PeriodStart, PowerFactorSurcharge, Proration, Tariff, Tax,
    Terms, Usage, UsageBlock, UsageQuarter, bill,
};

fn decimal(text: &str) -> Decimal {
    text.parse().expect("a decimal")
}

fn flat(rate: &str) -> EnergyRates {
    let band = Band {
        name: "all".to_owned(),
        days: BandDays::daily(),
        months: Months::ALL,
        from_quarter: 0,
        to_quarter: 96,
        otherwise: false,
        rate_per_kwh: decimal(rate),
        blocks: Vec::new(),
    };
    EnergyRates::Bands(BandTable::new(vec![band]).expect("one band for all of time"))
}

fn demand(per: DemandUnit, rate: &str) -> DemandCharge {
    DemandCharge::maximum(per, decimal(rate))
}

/// What September costs with so many kWh and kvarh, evenly drawn, and so high a highest block.
fn month(tariff: Tariff, kwh: f64, kvarh: f64, kw: f64, kva: f64) -> f64 {
    let date = NaiveDate::from_ymd_opt(2026, 9, 1).expect("a date");
    let from_s = date
        .and_hms_opt(0, 0, 0)
        .expect("midnight")
        .and_utc()
        .timestamp();
    let to_s = from_s + 30 * 86_400;
    let quarters = f64::from(30 * 96);
    let usage = Usage {
        quarters: (from_s..to_s)
            .step_by(900)
            .map(|start_s| UsageQuarter {
                start_s,
                covered_s: 900.0,
                kwh: kwh / quarters,
                lagging_kvarh: Some(kvarh / quarters),
                ..UsageQuarter::default()
            })
            .collect(),
        blocks: vec![UsageBlock {
            start_s: from_s,
            kw,
            kva: Some(kva),
            ..UsageBlock::default()
        }],
        ..Usage::of("main", from_s, to_s)
    };
    let terms = Terms {
        tariffs: &[tariff],
        zone: chrono_tz::UTC,
        holidays: &[],
        billing: &BillingPeriods::default(),
        currency: None,
    };
    let bill = bill(&terms, &usage).expect("readings");
    bill.total.to_f64().expect("an amount")
}

fn assert_printed(found: f64, printed: f64, half_digit: f64) {
    assert!(
        (found - printed).abs() <= half_digit,
        "{found} is not {printed}"
    );
}

/// Mehta & Mehta, Principles of Power System, 4e, example 5.1: 200 kW at a load factor of 0.4, 100 per kW and year,
/// 0.10 per kWh: 12.85 per hundred units.
#[test]
fn a_maximum_demand_tariff() {
    let kwh = 200.0 * 0.4 * 8760.0;
    let tariff = Tariff {
        energy: Some(flat("0.10")),
        demand: vec![demand(DemandUnit::Kilowatt, "100")],
        ..Tariff::free_of_charge()
    };
    let total = month(tariff, kwh, 0.0, 200.0, 200.0);
    assert_printed(100.0 * total / kwh, 12.85, 0.005);
}

/// The same book, example 5.2: 8760 kWh, those of the first 500 h of a maximum demand of 4.4 kW at 0.20,
/// the others at 0.10: 1096.
#[test]
fn a_block_tariff() {
    let tariff = Tariff {
        energy: Some(EnergyRates::Blocks(vec![
            EnergyBlock {
                up_to: BlockEnd::PerMonth(decimal("2200")),
                rate_per_kwh: decimal("0.20"),
            },
            EnergyBlock {
                up_to: BlockEnd::Open,
                rate_per_kwh: decimal("0.10"),
            },
        ])),
        ..Tariff::free_of_charge()
    };
    assert_printed(month(tariff, 8760.0, 0.0, 4.4, 4.4), 1096.0, 0.005);
}

/// The same book, example 5.8: 100 kW, load factor 0.6, power factor 0.8; 75 per kVA, 0.15 per kWh: 88 215.
#[test]
fn a_tariff_by_apparent_power() {
    let tariff = Tariff {
        energy: Some(flat("0.15")),
        demand: vec![demand(DemandUnit::KilovoltAmpere, "75")],
        ..Tariff::free_of_charge()
    };
    let kwh = 100.0 * 0.6 * 8760.0;
    assert_printed(month(tariff, kwh, 0.0, 100.0, 125.0), 88_215.0, 0.5);
}

/// The same book, example 5.10: 50 kW, 36 000 kWh and 23 400 kvarh; 80 per kW, 0.08 per kWh, and 0.005 per kWh for each
/// hundredth of power factor below 0.86: 7268.
#[test]
fn a_surcharge_on_a_low_power_factor() {
    let tariff = Tariff {
        energy: Some(flat("0.08")),
        demand: vec![demand(DemandUnit::Kilowatt, "80")],
        power_factor: Some(PowerFactorSurcharge {
            below: decimal("0.86"),
            surcharge_per_kwh_per_pct: decimal("0.005"),
            net: false,
        }),
        ..Tariff::free_of_charge()
    };
    let total = month(tariff, 36_000.0, 23_400.0, 50.0, 60.0);
    assert_printed(total, 7268.0, 0.5);
}

/// Theraja, A Textbook of Electrical Technology, vol. III, example 50.41: 75 per kVA, 0.04 per unit, load factor 0.25: a unit
/// costs 7.42 (recomputed 7.425) hundredths at unity and 8.89 at a power factor of 0.7.
#[test]
fn what_a_unit_costs_at_two_power_factors() {
    let kwh = 100.0 * 0.25 * 8760.0;
    let unit = |kva: f64| {
        let tariff = Tariff {
            energy: Some(flat("0.04")),
            demand: vec![demand(DemandUnit::KilovoltAmpere, "75")],
            ..Tariff::free_of_charge()
        };
        100.0 * month(tariff, kwh, 0.0, 100.0, kva) / kwh
    };
    assert_printed(unit(100.0), 7.425, 0.0005);
    assert_printed(unit(100.0 / 0.7), 8.89, 0.005);
}

/// Murphy & McKay, Energy Management, 2e, example 8.10: 100 kW at 5 per kVA. The amounts are reckoned here, the
/// book's not being at hand: 500/λ.
#[test]
fn demand_in_kva_grows_as_the_power_factor_falls() {
    for power_factor in [1.0, 0.9, 0.8, 0.7, 0.6, 0.5] {
        let tariff = Tariff {
            demand: vec![demand(DemandUnit::KilovoltAmpere, "5")],
            ..Tariff::free_of_charge()
        };
        // Rounded are the bill's kVA, to three decimals, and its amount, to two.
        let total = month(tariff, 1000.0, 0.0, 100.0, 100.0 / power_factor);
        assert_printed(total, 500.0 / power_factor, 0.0005 * 5.0 + 0.005 + 1e-9);
    }
}

/// Mehta & Mehta, example 6.8: 750 kVA at 0.8 with capacitors of 250 kvar, 8.5 per kVA and month. The book rounds the 117.54
/// kVA saved to 117.5 before it goes on.
#[test]
fn what_capacitors_save() {
    let kw: f64 = 750.0 * 0.8;
    let corrected = kw.hypot(750.0 * 0.6 - 250.0);
    let at = |kva: f64| {
        let tariff = Tariff {
            demand: vec![demand(DemandUnit::KilovoltAmpere, "8.5")],
            ..Tariff::free_of_charge()
        };
        month(tariff, 1000.0, 0.0, kw, kva)
    };
    let saved = at(750.0) - at(corrected);
    assert_printed(saved / 8.5, 117.5, 0.05);
    assert_printed(12.0 * saved - 0.1 * 20_000.0, 9989.5, 0.1);
}

/// Gönen, Electric Power Distribution System Engineering, 1e, example 2.8: 100 kW more at a load factor of 1, 3 per kW and month,
/// 0.03 per kWh: 29 880 a year.
#[test]
fn a_steady_load_more() {
    let at = |kwh: f64, kw: f64| {
        let tariff = Tariff {
            energy: Some(flat("0.03")),
            demand: vec![demand(DemandUnit::Kilowatt, "3")],
            ..Tariff::free_of_charge()
        };
        month(tariff, kwh, 0.0, kw, kw)
    };
    let more = 100.0 * 8760.0 / 12.0;
    let before = 1e7 / 12.0;
    let a_year = 12.0 * (at(before + more, 3600.0) - at(before, 3500.0));
    // Amounts are rounded to cents, twelve times.
    assert_printed(a_year, 29_880.0, 0.5);
}

/// Mehta & Mehta, examples 5.3 and 5.4: 100 and 0.15 per kWh cost as much as 0.30 per kWh at 666.67 kWh; 30 and 0.03 per kWh as
/// much as 0.06 up to 400 kWh and 0.05 beyond at 1300 kWh.
#[test]
fn two_tariffs_break_even() {
    let standing = |amount: &str, rate: &str| Tariff {
        // September has 30 days.
        standing_per_day: Some(decimal(amount) / decimal("30")),
        energy: Some(flat(rate)),
        ..Tariff::free_of_charge()
    };
    let plain = || Tariff {
        energy: Some(flat("0.30")),
        ..Tariff::free_of_charge()
    };
    let blocks = || Tariff {
        energy: Some(EnergyRates::Blocks(vec![
            EnergyBlock {
                up_to: BlockEnd::PerMonth(decimal("400")),
                rate_per_kwh: decimal("0.06"),
            },
            EnergyBlock {
                up_to: BlockEnd::Open,
                rate_per_kwh: decimal("0.05"),
            },
        ])),
        ..Tariff::free_of_charge()
    };
    let difference = |kwh: f64, two_part: Tariff, other: Tariff| {
        month(two_part, kwh, 0.0, 1.0, 1.0) - month(other, kwh, 0.0, 1.0, 1.0)
    };
    // A cent either way is a fifteenth of a kilowatt-hour in the first pair, half of one in the second.
    assert!(difference(666.6, standing("100", "0.15"), plain()) > 0.0);
    assert!(difference(666.74, standing("100", "0.15"), plain()) < 0.0);
    assert!(difference(1299.0, standing("30", "0.03"), blocks()) > 0.0);
    assert!(difference(1301.0, standing("30", "0.03"), blocks()) < 0.0);
}

/// City of Seymour, "Billing Calculation Examples" (cityofseymour.org, residential electricity, bill comparison): blocks of 250,
/// 450 and 550 kWh, 0.085 of power cost on all of it, 7.50 a month, 1 % tax: 171.55 for 1200 kWh in winter, where all above 700
/// is one block, 277.88 for 2000 kWh in summer.
#[test]
fn two_printed_bills_in_blocks() {
    let tariff = |ends: &[(&str, &str)], last: &str| {
        let block = |(end, rate): &(&str, &str)| EnergyBlock {
            up_to: BlockEnd::PerMonth(decimal(end)),
            rate_per_kwh: decimal(rate),
        };
        let mut blocks: Vec<EnergyBlock> = ends.iter().map(block).collect();
        blocks.push(EnergyBlock {
            up_to: BlockEnd::Open,
            rate_per_kwh: decimal(last),
        });
        Tariff {
            standing_per_month: Some(decimal("7.50")),
            energy: Some(EnergyRates::Blocks(blocks)),
            more_energy: vec![EnergySet {
                name: "power cost".to_owned(),
                rates: flat("0.085"),
            }],
            taxes: vec![Tax::on_all("city sales tax", decimal("1"))],
            ..Tariff::free_of_charge()
        }
    };
    let winter = tariff(&[("250", "0.064"), ("700", "0.049")], "0.0446");
    assert_printed(month(winter, 1200.0, 0.0, 5.0, 5.0), 171.55, 1e-9);
    let summer = tariff(
        &[("250", "0.064"), ("700", "0.049"), ("1250", "0.0475")],
        "0.0446",
    );
    assert_printed(month(summer, 2000.0, 0.0, 5.0, 5.0), 277.88, 1e-9);
}

/// Otter Tail Power Company, "How to read my bill", proration of seasonal rates (otpco.com): 9.75 a month for the 29 days from 11
/// December 2018 to 9 January 2019 are 9.75 × 29/(365/12) = 9.30.
#[test]
fn a_printed_monthly_charge_for_29_days() {
    let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
    let (from, to) = (date("2018-12-11"), date("2019-01-09"));
    let second = |date: NaiveDate| {
        date.and_hms_opt(0, 0, 0)
            .expect("midnight")
            .and_utc()
            .timestamp()
    };
    let usage = Usage {
        quarters: vec![UsageQuarter {
            start_s: second(from),
            covered_s: 900.0,
            ..UsageQuarter::default()
        }],
        ..Usage::of("main", second(from), second(to))
    };
    let tariff = Tariff {
        standing_per_month: Some(decimal("9.75")),
        proration: Proration::By365Days,
        ..Tariff::free_of_charge()
    };
    let billing = BillingPeriods {
        start: PeriodStart::Dates(vec![from, to]),
        ..BillingPeriods::default()
    };
    let terms = Terms {
        tariffs: &[tariff],
        zone: chrono_tz::UTC,
        holidays: &[],
        billing: &billing,
        currency: None,
    };
    let bill = bill(&terms, &usage).expect("readings");
    assert_eq!(bill.total, decimal("9.30"));
}

/// University of Nebraska-Lincoln Extension, NebGuide G2312 (2018), table I: 470 600 kWh cost 12 470.90, which is 0.0265 each; with
/// 250.00 a month 12 720.90.
#[test]
fn the_energy_of_a_manufacturing_facility() {
    let tariff = Tariff {
        standing_per_month: Some(decimal("250")),
        energy: Some(flat("0.0265")),
        ..Tariff::free_of_charge()
    };
    let total = month(tariff, 470_600.0, 0.0, 986.4, 1098.1);
    assert_printed(total, 12_720.90, 1e-9);
}
