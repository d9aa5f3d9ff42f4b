//! Arguments that several commands share.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use crate::metering::Period;

/// The site and the period.
#[derive(Debug, Args)]
pub(super) struct Input {
    /// Site folder with `site.toml` and `machines.csv`
    #[arg(value_name = "SITE")]
    pub(super) site: PathBuf,

    /// First local date looked at, inclusive [default: the whole log]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    pub(super) from: Option<NaiveDate>,

    /// Last local date looked at, exclusive [default: the whole log]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    pub(super) to: Option<NaiveDate>,
}

impl Input {
    pub(super) fn period(&self) -> Period {
        Period {
            from: self.from,
            to: self.to,
        }
    }
}

fn read_date(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .map_err(|_| "expected a date such as 2026-03-09".to_owned())
}

/// Form of the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// Tables for people
    Text,
    /// JSON for scripts
    Json,
    /// Comma-separated values
    Csv,
}

/// Where the result goes and in which form.
#[derive(Debug, Args)]
pub(super) struct Output {
    /// Form of the result
    #[arg(
        long,
        value_enum,
        value_name = "FORM",
        default_value = "text",
        help_heading = "Output"
    )]
    pub(super) format: Format,

    /// File to write to, `-` for standard output
    #[arg(
        short,
        long,
        value_name = "FILE",
        default_value = "-",
        help_heading = "Output"
    )]
    pub(super) output: PathBuf,
}

/// What makes the exit status 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FailOn {
    /// A phase or neutral limit is exceeded
    Limit,
}
