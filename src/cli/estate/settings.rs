//! What the analysis of every site depends on besides its files.

use chrono::NaiveDate;
use clap::Args;

use crate::cli::arguments::{InputArguments, read_date};
use crate::cli::energy::read_window;

/// The period and the demand period.
#[derive(Clone, Debug, Args)]
pub(super) struct SiteSettings {
    /// First day of the period, a local date such as 2026-03-09 [default: start of the logs]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    from: Option<NaiveDate>,

    /// Day after the last day of the period, a local date [default: end of the logs]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    to: Option<NaiveDate>,

    /// Demand period of all sites: 15, 30 or 60 [default: each site's own]
    #[arg(long, value_name = "MINUTES", value_parser = read_window, help_heading = "Input")]
    pub(super) window_min: Option<u32>,
}

impl SiteSettings {
    /// As arguments of the command line; equal settings give equal words.
    pub(super) fn words(&self) -> Vec<String> {
        let window = self.window_min.map(|min| format!("--window-min={min}"));
        self.period_words().into_iter().chain(window).collect()
    }

    /// The period alone, for a report.
    pub(super) fn period_words(&self) -> Vec<String> {
        let date = |name: &str, date: Option<NaiveDate>| Some(format!("--{name}={}", date?));
        let all = [date("from", self.from), date("to", self.to)];
        all.into_iter().flatten().collect()
    }

    /// The input of one site.
    pub(super) fn input(&self, site: std::path::PathBuf) -> InputArguments {
        InputArguments {
            site,
            from: self.from,
            to: self.to,
        }
    }
}
