//! The arguments of the energy baseline, for the commands that show it.

use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use super::CommandError;
use crate::app::Console;
use baseline::{Change, read_variables};
use demand::{self, BaselineWish, EnergyResult};
use message::{InputErrors, Level, Messages};
use metering::Logs;
use site::{Every, Site};

/// The baseline.
#[derive(Debug, Args)]
pub(super) struct BaselineArguments {
    /// Baseline period, such as `2026-03-09..2026-03-23`: its first day and the day after its last. The energy
    /// is fitted to the type of day and the `[[variable]]`s of site.toml [default: `[baseline]` of site.toml]
    #[arg(long, value_name = "FROM..TO", value_parser = read_period, help_heading = "Input")]
    baseline: Option<(NaiveDate, NaiveDate)>,

    /// Fit the baseline by day, week or month [default: `by` of `[baseline]`, else day]
    #[arg(long, value_enum, value_name = "PERIOD", help_heading = "Input")]
    baseline_by: Option<EveryWord>,
}

/// Time step of a baseline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum EveryWord {
    /// Local days
    Day,
    /// Weeks, Monday to Sunday
    Week,
    /// Months
    Month,
}

impl From<EveryWord> for Every {
    fn from(word: EveryWord) -> Every {
        match word {
            EveryWord::Day => Every::Day,
            EveryWord::Week => Every::Week,
            EveryWord::Month => Every::Month,
        }
    }
}

fn read_period(text: &str) -> Result<(NaiveDate, NaiveDate), String> {
    let date = |text: &str| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    let ends = text
        .split_once("..")
        .and_then(|(from, to)| date(from).zip(date(to)));
    match ends {
        Some((from, to)) if from < to => Ok((from, to)),
        Some((from, to)) => Err(format!(
            "the end date {to} is not after the start date {from}"
        )),
        None => Err("expected two dates such as 2026-03-09..2026-03-23".to_owned()),
    }
}

impl BaselineArguments {
    /// Reads the variables and compares; reports what is wrong with their files.
    pub(super) fn change(
        &self,
        site: &Site,
        logs: &Logs,
        energy: &EnergyResult,
        console: &mut Console<'_>,
    ) -> anyhow::Result<Change> {
        let mut messages = Messages::new();
        let variables = read_variables(site, &mut messages);
        if messages.has_errors() {
            return Err(CommandError::Input(InputErrors(messages)).into());
        }
        let text = messages.draw(Level::Warning, console.colour);
        if !text.is_empty() {
            writeln!(console.err, "{text}\n")?;
        }
        let asked = BaselineWish {
            period: self.baseline,
            every: self.baseline_by.map(Every::from),
        };
        Ok(demand::change(site, logs, energy, &variables, asked))
    }
}

#[cfg(test)]
mod tests {
    use super::read_period;

    #[test]
    fn a_period_has_two_dates_in_order() {
        assert!(read_period("2026-03-09..2026-03-23").is_ok());
        let faults = ["2026-03-09", "2026-03-23..2026-03-09", "9.3...23.3.", ".."];
        assert!(faults.iter().all(|text| read_period(text).is_err()));
    }
}
