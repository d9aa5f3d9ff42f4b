//! `tapoff energy`: kWh, demand, load factor, neutral current and unbalance of each meter.
//!
//! In: its [`EnergyArguments`]. Out: the whole result, its parts, a bill or one table, in the format asked for.

mod bill;
mod output;
mod parts;

use std::path::PathBuf;

use chrono_tz::Tz;
use clap::{Args, ValueEnum};

use self::bill::{bill_of, checked_invoice, what_if};
use self::output::{EnergyFormat, EnergyOutput, TableWord};
use self::parts::{broken_down, compare_parts};
use super::Outcome;
use super::arguments::{FailOn, InputArguments, ZoneArguments};
use super::baseline::BaselineArguments;
use super::comparison::{Compare, periods, read_compare};
use super::exceeded::exceeded_limits;
use super::loading::{load_for_energy, warned};
use super::output::deliver_text;
use super::since::{SinceArguments, report_json};
use crate::app::Console;
use crate::diagnosis;
use crate::export;
use demand::{self, BreakdownBy, EnergyResult};
use message::did_you_mean;
use metering::Logs;
use site::Site;
use tables::Table;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff energy sample-data/ferry-lane
  tapoff energy sample-data/ferry-lane --from 2026-03-09 --to 2026-03-16 --window-min 15
  tapoff energy sample-data/ferry-lane --by week
  tapoff energy sample-data/ferry-lane --by machine
  tapoff energy sample-data/ferry-lane --by weekday --compare week
  tapoff energy sample-data/ferry-lane --table highest-demand-periods
  tapoff energy sample-data/ferry-lane --baseline 2026-03-09..2026-03-23
  tapoff energy sample-data/ferry-lane --since reports/ferry-lane/report.json
  tapoff energy sample-data/ferry-lane --bill
  tapoff energy sample-data/ferry-lane --bill --what-if
  tapoff energy sample-data/ferry-lane --bill --what-if --shift-kw 5
  tapoff energy sample-data/ferry-lane --invoice sample-data/ferry-lane-invoice.csv
  tapoff energy sample-data/ferry-lane --format xlsx -o energy.xlsx
  tapoff energy sample-data/ferry-lane --format csv -o energy.csv
  tapoff energy sample-data/ferry-lane --table days --format parquet -o days.parquet

EXIT STATUS
  0  done
  1  done, and a limit is exceeded (with `--fail-on limit`)
  2  could not be done";

/// Arguments of `tapoff energy`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct EnergyArguments {
    #[command(flatten)]
    pub(super) input: InputArguments,

    #[command(flatten)]
    zone: ZoneArguments,

    /// Demand period: 15, 30 or 60 [default: `demand_window_min` of site.toml]
    #[arg(long, value_name = "MINUTES", value_parser = read_window, help_heading = "Input")]
    window_min: Option<u32>,

    /// Break the energy down by day, week, month, weekday, hour, schedule, board, machine, meter, phase or
    /// column:NAME, a text column of the logs. The parts add up to the total; a part with missing readings is
    /// marked. Can be repeated
    #[arg(long, value_name = "PART", value_parser = read_by, help_heading = "Output")]
    by: Vec<BreakdownBy>,

    /// Compare each part with another period: the same dates a day, week, month or year earlier, or dates such as
    /// 2026-03-02..2026-03-09 (the second is the day after the last). Only complete parts are compared. Without
    /// `--from` and `--to`: the last whole day, week, month or year of the log. Without `--by`: by meter
    #[arg(long, value_name = "PERIOD", value_parser = read_compare, help_heading = "Output")]
    compare: Option<Compare>,

    /// Only the bill, by the `[[tariff]]` of site.toml; as CSV, one row for each line of the bill
    #[arg(long, conflicts_with_all = ["by", "compare"], help_heading = "Output")]
    bill: bool,

    /// With `--bill`: what another agreed capacity, another tariff, load shifted to cheaper hours and capacitors would
    /// have saved over the last twelve months of the log
    #[arg(long, requires = "bill", help_heading = "Output")]
    what_if: bool,

    /// With `--what-if`: a file with another tariff, as `tariff_file` of site.toml names one. Can be repeated
    #[arg(
        long,
        value_name = "FILE",
        requires = "what_if",
        help_heading = "Input"
    )]
    tariff: Vec<PathBuf>,

    /// With `--what-if`: load that is shifted out of each band, and out of the hours in which demand is charged, into the
    /// cheapest hours of the same day [default: a tenth of the maximum demand]
    #[arg(
        long,
        value_name = "KILOWATTS",
        value_parser = read_shift,
        requires = "what_if",
        help_heading = "Input"
    )]
    shift_kw: Option<f64>,

    /// With `--invoice` or `--what-if`: the meter of the supply that is meant, where several have prices of their own
    #[arg(long, value_name = "METER", help_heading = "Input")]
    supply: Option<String>,

    /// Check a supplier's invoice against the bill, line by line: a CSV file with the columns line, from, to (the day
    /// after the last), quantity, unit, rate, amount, and the lines named as `--bill` names them
    #[arg(long, value_name = "FILE", conflicts_with_all = ["by", "compare", "bill"], help_heading = "Input")]
    invoice: Option<PathBuf>,

    /// Target power factor of the correction, lagging
    #[arg(long, value_name = "FACTOR", value_parser = read_factor, default_value = "0.95", help_heading = "Input")]
    target_power_factor: f64,

    /// Size of a capacitor step; capacitors are rounded up to whole steps
    #[arg(long, value_name = "KVAR", value_parser = read_step, default_value = "2.5", help_heading = "Input")]
    kvar_step: f64,

    #[command(flatten)]
    baseline: BaselineArguments,

    #[command(flatten)]
    since: SinceArguments,

    /// Only this table, as text or with `--format csv` or `parquet`
    #[arg(
        long,
        value_enum,
        value_name = "NAME",
        conflicts_with_all = ["by", "compare", "bill", "invoice"],
        help_heading = "Output"
    )]
    table: Option<TableWord>,

    /// For scripts: exit status 1 in this case
    #[arg(long, value_enum, value_name = "CONDITION", help_heading = "Output")]
    fail_on: Option<FailOn>,

    #[command(flatten)]
    pub(super) output: EnergyOutput,
}

fn read_by(text: &str) -> Result<BreakdownBy, String> {
    BreakdownBy::parse(text).ok_or_else(|| {
        let words: Vec<&str> = BreakdownBy::words().collect();
        let near = did_you_mean(text, words.iter().copied());
        let near = near.map_or_else(String::new, |near| format!("; {near}"));
        format!("expected {} or column:NAME{near}", words.join(", "))
    })
}

fn read_factor(text: &str) -> Result<f64, String> {
    let read = text.parse::<f64>().ok();
    read.filter(|factor| (0.5..=1.0).contains(factor))
        .ok_or_else(|| "expected a power factor from 0.5 to 1".to_owned())
}

fn read_step(text: &str) -> Result<f64, String> {
    let read = text.parse::<f64>().ok();
    read.filter(|kvar| (0.01..=1000.0).contains(kvar))
        .ok_or_else(|| "expected a step from 0.01 to 1000 kvar".to_owned())
}

fn read_shift(text: &str) -> Result<f64, String> {
    let read = text.parse::<f64>().ok();
    read.filter(|kw| (0.001..=100_000.0).contains(kw))
        .ok_or_else(|| "expected a load from 0.001 to 100000 kW".to_owned())
}

pub(super) fn read_window(text: &str) -> Result<u32, String> {
    match text {
        "15" => Ok(15),
        "30" => Ok(30),
        "60" => Ok(60),
        _ => Err("expected 15, 30 or 60 minutes".to_owned()),
    }
}

pub(super) fn execute(
    arguments: &EnergyArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    arguments.output.refuse_existing()?;
    let zone = arguments.zone.timezone;
    let mut loaded = warned(load_for_energy(&arguments.input, zone)?, console)?;
    let settings = demand::DemandSettings {
        window_min: arguments.window_min,
        target_power_factor: arguments.target_power_factor,
        kvar_step: arguments.kvar_step,
    };
    let mut result = demand::analyse_with(&loaded.site, &loaded.logs, &settings);
    let periods = arguments
        .compare
        .map(|compare| periods(&loaded.site, &arguments.input, compare, &result))
        .transpose()?;
    if let Some(periods) = periods
        && (arguments.input.from, arguments.input.to) != (Some(periods.from), Some(periods.to))
    {
        loaded = load_for_energy(&arguments.input.over(periods.from, periods.to), zone)?;
        result = demand::analyse_with(&loaded.site, &loaded.logs, &settings);
    }
    let (site, logs) = (&loaded.site, &loaded.logs);
    if let Some(path) = &arguments.invoice {
        bill_of(site, &result)?;
        let text = checked_invoice(arguments, path, site, logs)?;
        deliver_text(&text, arguments.output.target(), console)?;
        return Ok(Outcome {
            limit_exceeded: false,
        });
    }
    if arguments.what_if {
        bill_of(site, &result)?;
        let text = what_if(arguments, site, logs)?;
        deliver_text(&text, arguments.output.target(), console)?;
        return Ok(Outcome {
            limit_exceeded: false,
        });
    }
    result.change = arguments.baseline.change(site, logs, &result, console)?;
    if arguments.since.since.is_some() {
        let now = report_json(site, &result, &diagnosis::diagnose(site, logs))?;
        result.since = arguments.since.compare(&now)?;
    }
    let usual = [BreakdownBy::Meter];
    let ways: &[BreakdownBy] = if arguments.by.is_empty() && periods.is_some() {
        &usual
    } else {
        &arguments.by
    };
    for by in ways {
        let parts = broken_down(&loaded, &result, by)?;
        result.add(parts);
    }
    if let Some(periods) = periods {
        compare_parts(&mut result, arguments, &settings, ways, periods)?;
    }
    match formed(arguments, site, &result)? {
        Formed::Text(text) => deliver_text(&text, arguments.output.target(), console)?,
        Formed::Bytes(bytes) => arguments.output.write_bytes(&bytes)?,
    }
    Ok(outcome(site, &loaded.logs, &result, arguments))
}

/// The result in the format that is asked for.
fn formed(
    arguments: &EnergyArguments,
    site: &Site,
    result: &EnergyResult,
) -> anyhow::Result<Formed> {
    let table = asked_table(arguments, result);
    let bill = arguments.bill.then(|| bill_of(site, result)).transpose()?;
    let all = || match (&table, bill, &result.breakdown) {
        (Some(table), ..) => table.clone(),
        (None, Some(bill), _) => export::bill_lines(bill),
        (None, None, Some(parts)) => export::breakdown_table(parts, None),
        (None, None, None) => export::meters_table(result, Tz::UTC),
    };
    Ok(Formed::Text(match arguments.output.format {
        EnergyFormat::Xlsx => {
            return Ok(Formed::Bytes(export::energy_workbook(site, result)?));
        }
        EnergyFormat::Parquet => {
            return Ok(Formed::Bytes(all().of_site(&site.name).parquet()?));
        }
        EnergyFormat::Csv => all().of_site(&site.name).csv()?,
        EnergyFormat::Text => match (&table, bill, &result.breakdown) {
            (Some(table), ..) => table.text(),
            (None, Some(bill), _) => export::bill_text(bill),
            (None, None, Some(_)) => export::breakdown_text(result),
            (None, None, None) => export::energy_text(site, result),
        },
        EnergyFormat::Json => match bill {
            Some(bill) => export::json(bill)?,
            None => export::json(result)?,
        },
    }))
}

/// The table of `--table`.
fn asked_table(arguments: &EnergyArguments, result: &EnergyResult) -> Option<Table> {
    let name = arguments.table?.to_possible_value()?.get_name().to_owned();
    let mut tables = export::energy_tables(result).into_iter();
    tables.find(|table| table.id == name)
}

/// A result as it is written.
enum Formed {
    Text(String),
    Bytes(Vec<u8>),
}

fn outcome(
    site: &Site,
    logs: &Logs,
    result: &EnergyResult,
    arguments: &EnergyArguments,
) -> Outcome {
    Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit)
            && !exceeded_limits(site, logs, result).is_empty(),
    }
}
