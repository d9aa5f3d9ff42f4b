//! Clauses of contracts, each worked out by hand on a log of a few days.

use std::fmt::Write as _;

use serde_json::Value;

use crate::program::{MACHINES, Workshop};

const COLUMNS: &str = "active_power_kw = \"P\"\nreactive_power_kvar = \"Q\"\n";

/// One meter of the supply that logs P and Q from Monday 9 March 2026, half-hour by half-hour.
pub(crate) fn workshop(tables: &str, days: &[[(f64, f64); 48]]) -> Workshop {
    workshop_of("", tables, days)
}

/// With more keys of the site.
fn workshop_of(keys: &str, tables: &str, days: &[[(f64, f64); 48]]) -> Workshop {
    let site = format!(
        "[site]\n{keys}name = \"Hand\"\ntimezone = \"UTC\"\ncurrency = \"EUR\"\nholidays = [\"2026-03-10\"]\n\
         [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"meters/main.csv\"\nstamp = \"start\"\n\
         time = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n[meter.columns]\n{COLUMNS}{tables}"
    );
    let mut log = "time,P,Q\n".to_owned();
    for (day, loads) in (9..).zip(days) {
        for (at, (kw, kvar)) in loads.iter().enumerate() {
            let (hour, minute) = (at / 2, at % 2 * 30);
            writeln!(log, "2026-03-{day:02} {hour:02}:{minute:02},{kw},{kvar}").expect("text");
        }
    }
    let header = MACHINES.lines().next().unwrap_or_default();
    Workshop::empty()
        .with("site.toml", site)
        .with("machines.csv", format!("{header}\n"))
        .with("meters/main.csv", log)
}

/// A steady load with single half-hours apart.
pub(crate) fn day(kw: f64, kvar: f64, apart: &[(usize, f64)]) -> [(f64, f64); 48] {
    let mut loads = [(kw, kvar); 48];
    for &(at, kw) in apart {
        loads[at] = (kw, kvar);
    }
    loads
}

pub(crate) fn bill(workshop: &Workshop) -> Value {
    workshop.json(&["energy", "SITE", "--bill", "--format", "json"])
}

/// Name, quantity, rate and amount of every line.
pub(crate) fn lines(bill: &Value) -> Vec<(String, f64, f64, f64)> {
    let months = bill["months"].as_array().expect("months").iter();
    months
        .flat_map(|month| month["lines"].as_array().expect("lines"))
        .map(|line| {
            let number = |key: &str| line[key].as_f64().expect("a number");
            let name = line["line"].as_str().expect("a name").to_owned();
            (name, number("quantity"), number("rate"), number("amount"))
        })
        .collect()
}

fn assert_lines(tables: &str, days: &[[(f64, f64); 48]], expected: &[(&str, f64, f64, f64)]) {
    let found = bill(&workshop(tables, days));
    let expected: Vec<(String, f64, f64, f64)> = expected
        .iter()
        .map(|(name, quantity, rate, amount)| ((*name).to_owned(), *quantity, *rate, *amount))
        .collect();
    assert_eq!(lines(&found), expected, "{found:#}");
}

pub(crate) const FROM: &str = "[[tariff]]\nfrom = \"2026-01-01\"\n";

/// Monday 10 kW with 30 kW at 08:00 and 22 at 20:00, Tuesday 28 kW at 09:00, Wednesday 26 at 10:00 and 27 at 10:30.
pub(crate) fn peaks() -> [[(f64, f64); 48]; 3] {
    [
        day(10.0, 0.0, &[(16, 30.0), (40, 22.0)]),
        day(10.0, 0.0, &[(18, 28.0)]),
        day(10.0, 0.0, &[(20, 26.0), (21, 27.0)]),
    ]
}

#[test]
fn several_demand_charges_each_with_its_own_measure() {
    let tariff = format!(
        "{FROM}demand = [\n\
         {{ charge = \"peak\", per = \"kW\", rate_per_month = 4, days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\" }},\n\
         {{ charge = \"off-peak\", per = \"kW\", rate_per_month = 1, from = \"19:00\", to = \"07:00\" }},\n\
         {{ charge = \"third\", per = \"kW\", rate_per_month = 2, nth_highest = 3 }},\n\
         {{ charge = \"mean\", per = \"kW\", rate_per_day = 0.5, mean_of_highest = 3, one_per_day = true }},\n\
         {{ charge = \"winter\", per = \"kW\", rate_per_month = 9, months = \"11-2\" }},\n\
         {{ charge = \"least\", per = \"kW\", rate_per_month = 1, at_least = 50 }},\n]\n"
    );
    // The holiday, Tuesday, is no Mon-Fri. Third highest: 30, 28, 27. Days: 30, 28, 27, mean 28.333 over 3 days.
    assert_lines(
        &tariff,
        &peaks(),
        &[
            ("demand peak", 30.0, 4.0, 120.0),
            ("demand off-peak", 22.0, 1.0, 22.0),
            ("demand third", 27.0, 2.0, 54.0),
            ("demand mean", 84.999, 0.5, 42.5),
            ("demand least", 50.0, 1.0, 50.0),
        ],
    );
}

/// 85 % and 105 % of the contracted demand, twice the excess: the rule of the Spanish low-voltage access tariff 3.0A
/// (Real Decreto 1164/2001, art. 9; from memory). 30 kW measured: of 40 contracted 34 are billed, of 30 the 30, of 20
/// 30 + 2 × (30 − 21) = 48.
#[test]
fn demand_against_a_contracted_value() {
    let expected = [(40, 34.0), (30, 30.0), (20, 48.0)];
    for (contracted, billed) in expected {
        let tariff = format!(
            "{FROM}demand = {{ per = \"kW\", rate_per_month = 2, contracted = {contracted}, contracted_lower_share = 0.85, \
             contracted_upper_share = 1.05, excess_factor = 2 }}\n"
        );
        assert_lines(&tariff, &peaks(), &[("demand", billed, 2.0, 2.0 * billed)]);
    }
}

/// 25 kVA agreed, 20 from Wednesday on: 30 kVA are 5 above it for two days and 10 for one; by the day 5 + 3 and 7.
#[test]
fn capacity_that_changes_and_what_is_above_it() {
    let of = |excess_by: &str| {
        format!(
            "{FROM}capacity = {{ kva = 25, rate_per_kva_day = 0.1, excess_rate_per_kva_day = 0.2, excess_by = \"{excess_by}\", \
             changes = [ {{ from = \"2026-03-11\", kva = 20 }} ] }}\n"
        )
    };
    assert_lines(
        &of("month"),
        &peaks(),
        &[
            ("capacity", 50.0, 0.1, 5.0),
            ("excess capacity", 10.0, 0.2, 2.0),
            ("capacity", 20.0, 0.1, 2.0),
            ("excess capacity", 10.0, 0.2, 2.0),
        ],
    );
    assert_lines(
        &of("day"),
        &peaks(),
        &[
            ("capacity", 50.0, 0.1, 5.0),
            ("excess capacity", 8.0, 0.2, 1.6),
            ("capacity", 20.0, 0.1, 2.0),
            ("excess capacity", 7.0, 0.2, 1.4),
        ],
    );
}

/// Two sets at once, the second with the holiday of its own; blocks by the day in a band, and hours of use.
#[test]
fn two_sets_of_bands_with_blocks() {
    let steady = [day(10.0, 0.0, &[]), day(20.0, 0.0, &[])];
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"day\", from = \"06:00\", to = \"18:00\", rate_per_kwh = 0, blocks = [ {{ up_to_kwh_per_day = 150, \
         rate_per_kwh = 0.3 }}, {{ rate_per_kwh = 0.2 }} ] }}, {{ band = \"rest\", otherwise = true, rate_per_kwh = 0.1 }} ]\n\
         energy_sets = [ {{ set = \"network\", holidays = [\"2026-03-09\"], bands = [ {{ band = \"work\", days = \"Mon-Fri\", \
         rate_per_kwh = 0.05 }}, {{ band = \"free\", days = \"Sat,Sun,holidays\", rate_per_kwh = 0.02 }} ] }},\n\
         {{ set = \"use\", blocks = [ {{ up_to_hours_of_demand = 20, rate_per_kwh = 0.01 }}, {{ rate_per_kwh = 0.005 }} ] }} ]\n\
         demand = {{ per = \"kW\", rate_per_month = 1 }}\n"
    );
    // By day 120 and 240 kWh: 120 + 150 in the first block. 240 kWh on the set's own holiday, 480 on the next day; of 720
    // kWh the first 20 h × 20 kW.
    assert_lines(
        &tariff,
        &steady,
        &[
            ("energy day block 1", 270.0, 0.3, 81.0),
            ("energy day block 2", 90.0, 0.2, 18.0),
            ("energy rest", 360.0, 0.1, 36.0),
            ("network work", 480.0, 0.05, 24.0),
            ("network free", 240.0, 0.02, 4.8),
            ("use block 1", 400.0, 0.01, 4.0),
            ("use block 2", 320.0, 0.005, 1.6),
            ("demand", 20.0, 1.0, 20.0),
        ],
    );
}

/// Critical days from a file, and prices from a file: 0.1 on Monday, 0.2 until Tuesday noon, none after.
#[test]
fn critical_days_and_prices_from_files() {
    let steady = [day(10.0, 0.0, &[]), day(20.0, 0.0, &[])];
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"critical\", days = \"critical\", rate_per_kwh = 1 }}, {{ band = \"other\", otherwise = true, \
         rate_per_kwh = 0.1 }} ]\ncritical_days_file = \"critical.csv\"\n\
         energy_sets = [ {{ set = \"market\", prices = {{ file = \"prices.csv\", called = \"spot\", column = \"EUR/MWh\", scale = 0.001, \
         add_per_kwh = 0.01 }} }} ]\n"
    );
    let shop = workshop(&tariff, &steady)
        .with("critical.csv", "date\n2026-03-10\n")
        .with(
            "prices.csv",
            "time,EUR/MWh\n2026-03-09 00:00,90\n2026-03-09 12:00,90\n2026-03-10T00:00+00:00,190\n",
        );
    let found = bill(&shop);
    // 240 × 0.10 + 240 × 0.20 = 72 of 480 kWh: 0.15 on average.
    let expected = [
        ("energy critical", 480.0, 1.0, 480.0),
        ("energy other", 240.0, 0.1, 24.0),
        ("market spot", 480.0, 0.15, 72.0),
    ];
    let found_lines = lines(&found);
    let own: Vec<(&str, f64, f64, f64)> = found_lines
        .iter()
        .map(|(name, quantity, rate, amount)| (name.as_str(), *quantity, *rate, *amount))
        .collect();
    assert_eq!(own, expected);
    let notes = found["months"][0]["notes"].to_string();
    assert!(notes.contains("240.0 kWh are at times"), "{notes}");
}

/// 240 kWh at 0.1 are 24; levies 240 × 0.01, 140 above 100 free × 0.02, a discount of 5 % of energy, 1 a day; the minimum
/// makes it 60; a first tax of 10 % on energy, a second of 20 % on all with the first.
#[test]
fn levies_discounts_minimum_and_taxes_in_order() {
    let tariff = format!(
        "{FROM}energy_blocks = [ {{ rate_per_kwh = 0.1 }} ]\nstanding_per_month = 7\n\
         levies = [ {{ levy = \"climate\", per = \"kWh\", rate = 0.01 }}, {{ levy = \"fund\", per = \"kWh\", rate = 0.02, free = 100 }},\n\
         {{ levy = \"discount\", per = \"%\", rate = -5, on = [\"energy\"] }}, {{ levy = \"metering\", per = \"day\", rate = 1 }} ]\n\
         minimum_per_month = 60\n\
         taxes = [ {{ tax = \"duty\", pct = 10, on = [\"energy\", \"climate\"] }}, {{ tax = \"VAT\", pct = 20, on = [\"all\"] }} ]\n"
    );
    // 7 + 24 + 2.4 + 2.8 − 1.2 + 1 = 36; 24 to the minimum; duty on 26.4; VAT on 60 + 2.64.
    assert_lines(
        &tariff,
        &[day(10.0, 0.0, &[])],
        &[
            ("standing monthly", 1.0, 7.0, 7.0),
            ("energy block 1", 240.0, 0.1, 24.0),
            ("climate", 240.0, 0.01, 2.4),
            ("fund", 140.0, 0.02, 2.8),
            ("discount", 24.0, -5.0, -1.2),
            ("metering", 1.0, 1.0, 1.0),
            ("minimum", 24.0, 1.0, 24.0),
            ("duty", 26.4, 10.0, 2.64),
            ("VAT", 62.64, 20.0, 12.53),
        ],
    );
}

/// 10.06 kW for a day are 241.44 kWh: cut to 241; 241 × 0.105 = 25.305, to the even digit 25.30.
#[test]
fn rounding_as_the_contract_says() {
    let tariff = format!(
        "{FROM}energy_blocks = [ {{ rate_per_kwh = 0.105 }} ]\n\
         rounding = {{ quantity_decimals = 0, quantities = \"down\", amounts = \"half-even\" }}\n"
    );
    let expected = [("energy block 1", 241.0, 0.105, 25.3)];
    assert_lines(&tariff, &[day(10.06, 0.0, &[])], &expected);
}

/// Periods that begin on the 11th: two days in the first, one in the second, each with its own demand; monthly charges by
/// thirtieths; a price that changes within a period waits for the next.
#[test]
fn billing_periods_and_proration() {
    let tariff = "[billing]\nday_of_month = 11\nprice_changes = \"next-period\"\n\
        [[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_month = 30\nmonthly_charges = \"by-30-days\"\n\
        demand = { per = \"kW\", rate_per_month = 3 }\n\
        [[tariff]]\nfrom = \"2026-03-10\"\nstanding_per_month = 60\ndemand = { per = \"kW\", rate_per_month = 6 }\n";
    assert_lines(
        tariff,
        &peaks(),
        &[
            ("standing monthly", 1.0, 30.0, 2.0),
            ("demand", 30.0, 3.0, 6.0),
            ("standing monthly", 1.0, 60.0, 60.0),
            ("demand", 27.0, 6.0, 162.0),
        ],
    );
    let found = bill(&workshop(tariff, &peaks()));
    assert_eq!(found["months"][0]["month"], "2026-02-11");
    let listed = "[billing]\nperiods_begin = [\"2026-03-10\"]\n[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 1\n";
    assert_lines(
        listed,
        &peaks(),
        &[("standing", 1.0, 1.0, 1.0), ("standing", 2.0, 1.0, 2.0)],
    );
}

/// 10 kW and 6 kvar for half a day, 10 kW and −4 kvar for the other: 240 kWh, 72 kvarh lagging, 48 leading. By the month
/// 0.25 × 240 = 60 are free; by quarter-hour 0.25 × 120 of the lagging half.
#[test]
fn reactive_energy_by_flow_by_quarter_hour_and_in_steps() {
    let mut loads = [(10.0, 6.0); 48];
    loads[24..].fill((10.0, -4.0));
    let charge = |keys: &str| {
        format!("{FROM}reactive = {{ free_share_of_kwh = 0.25, rate_per_kvarh = 0.1{keys} }}\n")
    };
    let one = |keys: &str, kvarh: f64| {
        let amount = f64::round(10.0 * kvarh) / 100.0;
        assert_lines(&charge(keys), &[loads], &[("reactive", kvarh, 0.1, amount)]);
    };
    one("", 12.0);
    one(", of = \"net\"", 0.0);
    one(", of = \"leading\"", 0.0);
    one(", share_of = \"quarter-hour\"", 42.0);
    one(", of = \"leading\", share_of = \"quarter-hour\"", 18.0);
    let steps = ", share_of = \"quarter-hour\", steps = [ { above_share_of_kwh = 0.5, rate_per_kvarh = 0.3 } ]";
    let expected = [
        ("reactive step 1", 30.0, 0.1, 3.0),
        ("reactive step 2", 12.0, 0.3, 3.6),
    ];
    assert_lines(&charge(steps), &[loads], &expected);
}

/// 10 kW and 6 kvar: 120 kWh and 72 kvarh by day, 30 of them free. While 10 kW are imported for half a day, and exported for the
/// other, 72 kvarh and 120 kWh each.
#[test]
fn reactive_energy_by_time_of_day_and_by_quadrant() {
    let charge = |keys: &str| {
        format!("{FROM}reactive = {{ free_share_of_kwh = 0.25, rate_per_kvarh = 0.1{keys} }}\n")
    };
    let steady = day(10.0, 6.0, &[]);
    let mut both = steady;
    both[24..].fill((-10.0, 6.0));
    let cases = [
        (", from = \"08:00\", to = \"20:00\"", steady, 42.0),
        (", from = \"20:00\", to = \"08:00\"", steady, 42.0),
        (", days = \"Sat,Sun\"", steady, 0.0),
        (", while = \"import\"", both, 42.0),
        (", while = \"export\"", both, 42.0),
        (", while = \"export\", of = \"leading\"", both, 0.0),
        (
            ", while = \"export\", share_of = \"quarter-hour\", from = \"18:00\"",
            both,
            21.0,
        ),
    ];
    for (keys, loads, kvarh) in cases {
        let amount = f64::round(10.0 * kvarh) / 100.0;
        assert_lines(&charge(keys), &[loads], &[("reactive", kvarh, 0.1, amount)]);
    }
    // Out of its months a charge has no line.
    assert_lines(&charge(", months = \"6-8\""), &[steady], &[]);
}

/// √(8² + 6²) = 10: 240 kVAh of 192 kWh; losses of 5 % of energy, 10 % of demand.
#[test]
fn kvah_and_losses() {
    let tariff = format!(
        "{FROM}energy_unit = \"kVAh\"\nenergy_blocks = [ {{ rate_per_kwh = 0.1 }} ]\nlosses = {{ energy = 1.05, demand = 1.1 }}\n\
         demand = {{ per = \"kVA\", rate_per_month = 1 }}\n"
    );
    let found = bill(&workshop(&tariff, &[day(8.0, 6.0, &[])]));
    let expected = [
        ("energy block 1".to_owned(), 252.0, 0.1, 25.2),
        ("demand".to_owned(), 11.0, 1.0, 11.0),
    ];
    assert_eq!(lines(&found), expected);
    assert_eq!(found["months"][0]["lines"][0]["unit"], "kVAh");
}

/// Half a day draws 120 kWh, the other exports 60: paid at 0.05, and taxed with the rest.
#[test]
fn export_is_paid_for() {
    let mut loads = [(10.0, 0.0); 48];
    loads[24..].fill((-5.0, 0.0));
    let tariff = format!(
        "{FROM}energy_blocks = [ {{ rate_per_kwh = 0.2 }} ]\nexport = {{ blocks = [ {{ rate_per_kwh = 0.05 }} ] }}\ntax_pct = 10\n"
    );
    let expected = [
        ("energy block 1", 120.0, 0.2, 24.0),
        ("export block 1", 60.0, -0.05, -3.0),
        ("tax", 21.0, 10.0, 2.1),
    ];
    assert_lines(&tariff, &[loads], &expected);
    let found = bill(&workshop(&tariff, &[loads]));
    assert!(!found["notes"].to_string().contains("no price for export"));
}

/// Mistakes are shown with their line and what to write.
#[test]
fn mistakes_are_located() {
    let cases = [
        (
            "demand = [ { per = \"kW\", rate_per_month = 1 }, { per = \"kVA\", rate_per_month = 1 } ]",
            "charge-twice",
        ),
        (
            "demand = { per = \"kW\" }",
            "needs the key `rate_per_month`",
        ),
        (
            "demand = { per = \"kW\", rate_per_month = 1, rate_per_day = 1 }",
            "two-rates",
        ),
        (
            "demand = { per = \"kW\", rate_per_month = 1, nth_highest = 2, mean_of_highest = 2 }",
            "two-statistics",
        ),
        (
            "demand = { per = \"kW\", rate_per_month = 1, excess_factor = 2 }",
            "needs the key `contracted`",
        ),
        (
            "capacity = { kva = 1, rate_per_kva_day = 1, excess_rate_per_kva_month = 1 }",
            "excess-rate",
        ),
        ("energy_sets = [ { set = \"network\" } ]", "no-energy-price"),
        (
            "levies = [ { levy = \"a\", per = \"%\", rate = 1, on = [\"enrgy\"] } ]",
            "Did you mean `energy`",
        ),
        (
            "levies = [ { levy = \"a\", per = \"kWh\", rate = 1, on = [\"energy\"] } ]",
            "levy-on",
        ),
        (
            "tax_pct = 20\ntaxes = [ { tax = \"VAT\", pct = 20 } ]",
            "two-taxes",
        ),
        (
            "energy_prices = { file = \"none.csv\" }",
            "cannot read `none.csv`",
        ),
        (
            "reactive = { free_share_of_kwh = 0.3, rate_per_kvarh = 1, steps = [ { above_share_of_kwh = 0.2, rate_per_kvarh = 1 } ] }",
            "reactive-steps",
        ),
        (
            "[billing]\nday_of_month = 3\nperiods_begin = [\"2026-03-10\"]",
            "two-period-starts",
        ),
        (
            "[billing]\nperiods_begin = [\"2026-03-10\", \"2026-03-09\"]",
            "periods-begin",
        ),
    ];
    for (keys, text) in cases {
        let shop = workshop(&format!("{FROM}{keys}\n"), &[day(1.0, 0.0, &[])]);
        let run = shop.run(&["energy", "SITE", "--bill"]);
        assert_eq!(run.status, 2, "{keys}: {}", run.out);
        assert!(
            run.err.contains(text) && run.err.contains("site.toml, line"),
            "{keys}: {}",
            run.err
        );
    }
    let shop = workshop(&format!("{FROM}tax_pct = 0.2\n"), &[day(1.0, 0.0, &[])]);
    let run = shop.run(&["energy", "SITE", "--bill"]);
    assert_eq!(run.status, 0, "{}", run.err);
    assert!(run.err.contains("is it 20 %"), "{}", run.err);
}

/// A tariff in a file of its own is that of site.toml, and its mistakes are shown in it.
#[test]
fn a_tariff_in_a_file_of_its_own() {
    let tariff = format!("{FROM}standing_per_day = 2\n[billing]\nday_of_month = 10\n");
    let file = "prices/tariff.toml";
    let shared = |extra: &str, tariff: &str| {
        let keys = format!("tariff_file = \"{file}\"\n");
        workshop_of(&keys, extra, &peaks()).with(file, tariff)
    };
    let own = workshop(&tariff, &peaks());
    assert_eq!(bill(&own), bill(&shared("", &tariff)));
    let wrong = tariff.replace("standing_per_day", "standing_per_dy");
    let run = shared("", &wrong).run(&["energy", "SITE", "--bill"]);
    assert_eq!(run.status, 2, "{}", run.out);
    assert!(
        run.err.contains("prices/tariff.toml, line 3"),
        "{}",
        run.err
    );
    let run = shared(&tariff, &tariff).run(&["energy", "SITE", "--bill"]);
    assert!(run.err.contains("two-tariffs"), "{}", run.err);
}

/// An invoice with dates as they are printed, and one line for all bands.
#[test]
fn an_invoice_with_one_line_for_all_bands_and_printed_dates() {
    let tariff = format!(
        "{FROM}energy = [ {{ band = \"day\", from = \"06:00\", to = \"18:00\", rate_per_kwh = 0.2 }}, {{ band = \"night\", otherwise = \
         true, rate_per_kwh = 0.1 }} ]\n"
    );
    let check = |from: &str, to: &str| {
        let text = format!("line,from,to,quantity,amount\nenergy,{from},{to},1200,180.00\n");
        let shop = workshop(&tariff, &[day(10.0, 0.0, &[]); 5]).with("invoice.csv", text);
        shop.run(&[
            "energy",
            "SITE",
            "--invoice",
            "SITE/invoice.csv",
            "--format",
            "json",
        ])
    };
    for (from, to) in [("2026-03-09", "14/03/2026"), ("9 Mar 2026", "14.03.2026")] {
        let run = check(from, to);
        assert_eq!(run.status, 0, "{}", run.err);
        let found: Value = serde_json::from_str(&run.out).expect("JSON");
        let lines = found["lines"].as_array().expect("lines");
        assert_eq!(lines.len(), 1, "{lines:?}");
        assert_eq!(lines[0]["verdict"], "agrees", "{lines:?}");
        assert_eq!(lines[0]["computed_quantity"], 1200.0);
    }
    let run = check("09/03/2026", "10/03/2026");
    assert_eq!(run.status, 2, "{}", run.out);
    assert!(run.err.contains("ambiguous-date"), "{}", run.err);
}

/// Every tariff of the sample data is read without a doubt, and gives a bill of the demo.
#[test]
fn the_sample_tariffs_are_read() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/tariffs");
    let files = std::fs::read_dir(folder).expect("the sample tariffs");
    let paths = files.map(|file| file.expect("a file").path());
    let tomls = paths.filter(|path| path.extension().is_some_and(|kind| kind == "toml"));
    let mut count = 0;
    for path in tomls {
        let path = path.to_string_lossy().into_owned();
        let shop = workshop(&format!("{FROM}standing_per_day = 1\n"), &peaks());
        let words = ["energy", "SITE", "--bill", "--what-if", "--tariff", &path];
        let run = shop.run(&words);
        assert_eq!(run.status, 0, "{}", run.err);
        count += 1;
    }
    assert_eq!(count, 8);
}
