//! Arguments that several commands share.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use super::CommandError;
use balance::{Fix, Objective, Settings, read_fix};
use message::{InputErrors, Messages};
use metering::Period;
use site::Site;

/// The site and the period.
#[derive(Clone, Debug, Args)]
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
    /// The same site over other local dates.
    pub(super) fn over(&self, from: NaiveDate, to: NaiveDate) -> Input {
        Input {
            from: Some(from),
            to: Some(to),
            ..self.clone()
        }
    }

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
        id = "output",
        short = 'o',
        long = "output",
        value_name = "FILE",
        default_value = "-",
        help_heading = "Output"
    )]
    pub(super) file: PathBuf,

    /// Write over files that hold something else than such a result
    #[arg(long, help_heading = "Output")]
    pub(super) force: bool,
}

/// What the allocation makes small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ObjectiveWord {
    /// The supply's neutral, root mean square over the period
    NeutralRms,
    /// Heat in neutrals and phases of the boards' feeders, as far as they are declared
    NeutralLoss,
    /// The supply's neutral in its highest demand block (root mean square over the block)
    NeutralPeak,
    /// The fullest phase of the supply in its highest demand block: leaves the most headroom
    PhasePeak,
}

impl From<ObjectiveWord> for Objective {
    fn from(word: ObjectiveWord) -> Objective {
        match word {
            ObjectiveWord::NeutralRms => Objective::NeutralRms,
            ObjectiveWord::NeutralLoss => Objective::NeutralLoss,
            ObjectiveWord::NeutralPeak => Objective::NeutralPeak,
            ObjectiveWord::PhasePeak => Objective::PhasePeak,
        }
    }
}

/// How the allocation is looked for, and within what.
#[derive(Debug, Args)]
pub(super) struct Search {
    /// What is made small
    #[arg(
        long,
        value_enum,
        value_name = "WHAT",
        default_value = "neutral-rms",
        help_heading = "Search"
    )]
    pub(super) objective: ObjectiveWord,

    /// Most moves allowed [default: any number]
    #[arg(long, value_name = "MOVES", help_heading = "Search")]
    pub(super) max_moves: Option<usize>,

    /// Hold a machine at a connection, such as `'Band saw=L2'`, `Welder=L1-L2`, `Kiln=3ph+1`;
    /// what moves with it is held too. May be given several times
    #[arg(long, value_name = "NAME=CONNECTION", help_heading = "Search")]
    pub(super) fix: Vec<String>,

    /// Leave out what fewer moves give, which takes most of the time where loads are many
    #[arg(long, help_heading = "Search")]
    pub(super) no_curve: bool,

    /// Seed of the search; the same seed gives the same answer
    #[arg(
        long,
        value_name = "NUMBER",
        default_value_t = 1,
        help_heading = "Search"
    )]
    pub(super) seed: u64,

    /// Stop with the best plan so far after this time. The one argument that makes the result
    /// depend on the speed of the computer [default: no limit, the search stops by counted work]
    #[arg(long, value_name = "SECONDS", value_parser = clap::value_parser!(u64).range(1..=86_400), help_heading = "Search")]
    pub(super) time_limit: Option<u64>,
}

impl Search {
    /// Settings of the search; the time limit runs from here.
    pub(super) fn settings(&self) -> Settings {
        Settings {
            objective: self.objective.into(),
            seed: self.seed,
            max_moves: self.max_moves,
            curve_moves: if self.no_curve { 0 } else { usize::MAX },
            deadline: self
                .time_limit
                .map(|seconds| Instant::now() + Duration::from_secs(seconds)),
            ..Settings::default()
        }
    }

    /// The machines to hold, or everything that is wrong with them.
    pub(super) fn fixes(&self, site: &Site) -> Result<Vec<Fix>, CommandError> {
        let mut messages = Messages::new();
        let mut fixes = Vec::new();
        for text in &self.fix {
            match read_fix(site, text) {
                Ok(fix) => fixes.push(fix),
                Err(message) => messages.push(*message),
            }
        }
        if messages.has_errors() {
            return Err(CommandError::Input(InputErrors(messages)));
        }
        Ok(fixes)
    }
}

/// What makes the exit status 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FailOn {
    /// A phase or neutral limit is exceeded
    Limit,
}
