//! `tapoff energy`: kWh, demand, load factor, neutral and unbalance of each meter.

use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::{Args, ValueEnum};

use super::arguments::{FailOn, Input};
use super::baseline::BaselineArguments;
use super::check::exceeds;
use super::comparison::{Compare, periods, read_compare};
use super::loading::{Loaded, load, load_and_warn, load_what_is_there};
use super::output::{deliver_text, write_guarded};
use super::since::{SinceArguments, report_json};
use super::{CommandError, Outcome};
use crate::app::Console;
use crate::demand::{self, Breakdown, BreakdownBy, Comparison, EnergyResult, Ground};
use crate::diagnosis;
use crate::export;
use crate::message::{InputErrors, Message, Messages, did_you_mean};
use crate::metering::{Logs, read_words};
use crate::site::Site;
use crate::tariff::{Bill, Evidence, Usage, check_invoice, read_invoice};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff energy sample-data/ferry-lane
  tapoff energy sample-data/ferry-lane --from 2026-03-09 --to 2026-03-16 --window-min 15
  tapoff energy sample-data/ferry-lane --by week
  tapoff energy sample-data/ferry-lane --by machine
  tapoff energy sample-data/ferry-lane --by weekday --compare week
  tapoff energy sample-data/ferry-lane --table highest-blocks
  tapoff energy sample-data/ferry-lane --baseline 2026-03-09..2026-03-23
  tapoff energy sample-data/ferry-lane --since reports/ferry-lane/report.json
  tapoff energy sample-data/ferry-lane --bill
  tapoff energy sample-data/ferry-lane --invoice sample-data/ferry-lane-invoice.csv
  tapoff energy sample-data/ferry-lane --format xlsx -o energy.xlsx
  tapoff energy sample-data/ferry-lane --format csv -o energy.csv

EXIT STATUS
  0  done
  1  done, and a limit is exceeded (with `--fail-on limit`)
  2  could not be done";

/// Arguments of `tapoff energy`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    pub(super) input: Input,

    /// Length of a demand block: 15, 30 or 60 [default: `demand_window_min` of site.toml]
    #[arg(long, value_name = "MINUTES", value_parser = read_window, help_heading = "Input")]
    window_min: Option<u32>,

    /// Break the energy down by day, week, month, weekday, hour, schedule, board, machine, meter, phase or
    /// column:NAME, a column of words in the logs; the parts add up to the whole, and a part without all its
    /// readings is marked. May be given several times
    #[arg(long, value_name = "WHAT", value_parser = read_by, help_heading = "Output")]
    by: Vec<BreakdownBy>,

    /// Set the parts beside those of another period: the same dates a day, week, month or year earlier, or dates such as
    /// 2026-03-02..2026-03-09; only whole ones are compared. Without `--from` and `--to`: the last whole day, week, month
    /// or year of the log. Without `--by`: by meter
    #[arg(long, value_name = "PERIOD", value_parser = read_compare, help_heading = "Output")]
    compare: Option<Compare>,

    /// The bill alone, by the `[[tariff]]` of site.toml: as CSV, one row for each line
    #[arg(long, conflicts_with_all = ["by", "compare"], help_heading = "Output")]
    bill: bool,

    /// Check a supplier's invoice against the bill, line by line; a CSV with the columns line, from, to (the day
    /// after the last), quantity, unit, rate, amount, its lines named as those of `--bill`
    #[arg(long, value_name = "FILE", conflicts_with_all = ["by", "compare", "bill"], help_heading = "Input")]
    invoice: Option<PathBuf>,

    /// Lagging power factor that correction aims at
    #[arg(long, value_name = "FACTOR", value_parser = read_factor, default_value = "0.95", help_heading = "Input")]
    target_power_factor: f64,

    /// Capacitors are rounded up to a multiple of this
    #[arg(long, value_name = "KVAR", value_parser = read_step, default_value = "2.5", help_heading = "Input")]
    kvar_step: f64,

    #[command(flatten)]
    baseline: BaselineArguments,

    #[command(flatten)]
    since: SinceArguments,

    /// One table alone, for people or with `--format csv`
    #[arg(
        long,
        value_enum,
        value_name = "NAME",
        conflicts_with_all = ["by", "compare", "bill", "invoice"],
        help_heading = "Output"
    )]
    table: Option<TableWord>,

    /// Exit status 1 when this is so
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "Output")]
    fail_on: Option<FailOn>,

    #[command(flatten)]
    pub(super) output: EnergyOutput,
}

/// Where the result goes and in which form.
#[derive(Debug, Args)]
pub(super) struct EnergyOutput {
    /// Form of the result
    #[arg(
        long,
        value_enum,
        value_name = "FORM",
        default_value = "text",
        help_heading = "Output"
    )]
    format: EnergyFormat,

    /// File to write to, `-` for standard output
    #[arg(
        short,
        long,
        value_name = "FILE",
        default_value = "-",
        help_heading = "Output"
    )]
    output: PathBuf,

    /// Write over a file that holds something else than such a result
    #[arg(long, help_heading = "Output")]
    force: bool,
}

impl EnergyOutput {
    /// The file, and whether it may be written over whatever it holds.
    fn target(&self) -> (&Path, bool) {
        (&self.output, self.force)
    }

    /// The form in which warnings go along with the result.
    pub(super) fn is_json(&self) -> bool {
        self.format == EnergyFormat::Json
    }
}

/// Form of the result; a workbook has all tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum EnergyFormat {
    /// Tables for people
    Text,
    /// JSON for scripts
    Json,
    /// Comma-separated values
    Csv,
    /// A workbook with a sheet for each table, into the file of `-o`
    Xlsx,
}

/// A table that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum TableWord {
    /// The ten highest demand blocks of each meter and what ran in them
    HighestBlocks,
    /// Demand reached or exceeded during shares of the time
    LoadDuration,
    /// Demand, diversity and coincidence factors of the meters below a meter
    Diversity,
    /// Standing load, night, and use outside the working hours
    StandingLoad,
    /// Standing load by weekday
    StandingByWeekday,
    /// Power factor by phase and block, and capacitors
    PowerFactor,
    /// What a meter sees beyond those below it, by day
    RemainderByDay,
    /// Mean power by weekday and hour
    Week,
    /// Energy by day
    Days,
    /// Carbon by the user's own factor
    Carbon,
    /// Coefficients of the baseline
    Baseline,
    /// How well the baseline fits, beside the usual limits
    BaselineFit,
    /// Measured and expected of each day, week or month, and the cumulative difference
    Cusum,
    /// Days that stand out of their kind, and what differed
    DaysThatStandOut,
    /// What has changed since the last report
    Since,
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
        .ok_or_else(|| "expected kvar from 0.01 to 1000".to_owned())
}

fn read_window(text: &str) -> Result<u32, String> {
    match text {
        "15" => Ok(15),
        "30" => Ok(30),
        "60" => Ok(60),
        _ => Err("expected 15, 30 or 60".to_owned()),
    }
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let mut loaded = load_and_warn(&arguments.input, console)?;
    let settings = demand::Settings {
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
        loaded = load(&arguments.input.over(periods.from, periods.to))?;
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
        set_beside(&mut result, arguments, &settings, ways, periods)?;
    }
    let sheet = arguments.table.and_then(|table| {
        let name = table.to_possible_value()?.get_name().to_owned();
        let mut sheets = export::energy_sheets(&result).into_iter();
        sheets.find(|sheet| sheet.name == name)
    });
    let bill = arguments.bill.then(|| bill_of(site, &result)).transpose()?;
    let text = match (arguments.output.format, &result.breakdown) {
        (EnergyFormat::Xlsx, _) => return workbook(site, &result, arguments),
        (EnergyFormat::Text, _) if let Some(sheet) = &sheet => sheet.text(),
        (EnergyFormat::Csv, _) if let Some(sheet) = &sheet => sheet.csv()?,
        (EnergyFormat::Text, _) if let Some(bill) = bill => export::bill_text(bill),
        (EnergyFormat::Csv, _) if let Some(bill) = bill => export::bill_csv(bill)?,
        (EnergyFormat::Json, _) if let Some(bill) = bill => export::json(bill)?,
        (EnergyFormat::Text, None) => export::energy_text(site, &result),
        (EnergyFormat::Text, Some(_)) if let Some(periods) = &result.comparison => {
            export::comparison_text(&result, periods)
        }
        (EnergyFormat::Text, Some(_)) => export::breakdown_text(&result),
        (EnergyFormat::Json, _) => export::json(&result)?,
        (EnergyFormat::Csv, None) => export::energy_csv(&result)?,
        (EnergyFormat::Csv, Some(parts)) => export::breakdown_csv(parts)?,
    };
    deliver_text(&text, arguments.output.target(), console)?;
    Ok(outcome(site, &result, arguments))
}

/// The parts of another period beside those of this one.
fn set_beside(
    result: &mut EnergyResult,
    arguments: &Arguments,
    settings: &demand::Settings,
    ways: &[BreakdownBy],
    periods: Comparison,
) -> anyhow::Result<()> {
    let other = load_what_is_there(&arguments.input.over(periods.other_from, periods.other_to))?;
    let there = demand::analyse_with(&other.site, &other.logs, settings);
    let mut parts = Vec::new();
    for by in ways {
        parts.extend(broken_down(&other, &there, by)?.parts);
    }
    let own = demand::Side {
        meters: &result.meters,
        from: periods.from,
        to: periods.to,
    };
    let others = demand::Side {
        meters: &there.meters,
        from: periods.other_from,
        to: periods.other_to,
    };
    let mut own_parts = result.breakdown.take().unwrap_or_default();
    let mut notes = demand::compare(&other.site, &mut own_parts, own, &parts, others);
    let (days, other_days) = periods.days();
    if days != other_days {
        notes.push(format!(
            "the periods have {days} and {other_days} days: differences are of the periods as they are"
        ));
    }
    result.breakdown = Some(own_parts);
    result.breakdown_notes.extend(notes);
    result.comparison = Some(periods);
    Ok(())
}

/// The energy by parts; of a column, its words are read first.
fn broken_down(
    loaded: &Loaded,
    result: &EnergyResult,
    by: &BreakdownBy,
) -> anyhow::Result<Breakdown> {
    let ground = Ground {
        site: &loaded.site,
        logs: &loaded.logs,
        meters: &result.meters,
        bill: result.cost.as_ref(),
    };
    let BreakdownBy::Column(column) = by else {
        return Ok(demand::breakdown(&ground, by, None));
    };
    let mut messages = Messages::new();
    match read_words(&loaded.site, &loaded.logs, column, &mut messages) {
        Some(words) => Ok(demand::breakdown(&ground, by, Some(&words))),
        None => Err(CommandError::Input(InputErrors(messages)).into()),
    }
}

fn outcome(site: &Site, result: &EnergyResult, arguments: &Arguments) -> Outcome {
    Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit)
            && exceeds(site, result).next().is_some(),
    }
}

fn workbook(site: &Site, result: &EnergyResult, arguments: &Arguments) -> anyhow::Result<Outcome> {
    let path = &arguments.output.output;
    anyhow::ensure!(
        path.as_os_str() != "-",
        "a workbook goes into a file: name it with `-o energy.xlsx`"
    );
    let book = export::energy_workbook(site, result)?;
    write_guarded(path, &book, arguments.output.force)?;
    Ok(outcome(site, result, arguments))
}

/// The bill, or why there is none.
fn bill_of<'r>(site: &Site, result: &'r EnergyResult) -> anyhow::Result<&'r Bill> {
    if let Some(bill) = &result.cost {
        return Ok(bill);
    }
    let mut messages = Messages::new();
    messages.push(if site.tariffs.is_empty() {
        Message::error(
            "no-tariff",
            "`site.toml` has no tariff, so there is no bill",
        )
        .help("add `[[tariff]]` with its prices; `tapoff init` writes an example")
    } else {
        Message::error(
            "no-supply-meter",
            "no meter of the supply has energy, so there is no bill",
        )
        .help("the bill is of the meter with `measures = \"supply\"`")
    });
    Err(CommandError::Input(InputErrors(messages)).into())
}

/// The invoice beside the bill, in the form that is asked for.
fn checked_invoice(
    arguments: &Arguments,
    path: &Path,
    site: &Site,
    logs: &Logs,
) -> anyhow::Result<String> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path).with_context(|| format!("cannot read `{name}`"))?;
    let invoice = read_invoice(&name, &text).map_err(CommandError::Input)?;
    let window = arguments.window_min.unwrap_or(site.demand_window_min);
    let usage =
        demand::supply_usage(site, logs, window).context("no meter of the supply has energy")?;
    let others = [15, 30, 60].into_iter().filter(|&other| other != window);
    let other_windows: Vec<Usage> = others
        .filter_map(|other| demand::supply_usage(site, logs, other))
        .collect();
    let meter = site.meters.iter().find(|meter| meter.id == usage.meter);
    let evidence = Evidence {
        terms: &site.terms(),
        usage: &usage,
        other_windows: &other_windows,
        class_pct: meter.and_then(|meter| meter.class_pct),
    };
    let check =
        check_invoice(&evidence, &invoice).context("the tariff prices no day of the invoice")?;
    Ok(match arguments.output.format {
        EnergyFormat::Text => export::invoice_text(&check),
        EnergyFormat::Json => export::json(&check)?,
        EnergyFormat::Csv => export::invoice_csv(&check)?,
        EnergyFormat::Xlsx => anyhow::bail!(
            "the check of an invoice has no workbook: choose `--format text`, `json` or `csv`"
        ),
    })
}
