//! Arguments that several commands share.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use chrono_tz::Tz;
use clap::{Args, ValueEnum};

use super::CommandError;
use balance::{Fix, Objective, Settings, read_fix};
use diagnosis::Ignored;
use finding::Kind;
use message::{InputErrors, Message, Messages, did_you_mean};
use metering::Period;
use site::Site;

/// The site and the period.
#[derive(Clone, Debug, Args)]
pub(super) struct InputArguments {
    /// Site folder with `site.toml` and `machines.csv`, or a workbook that holds the site
    #[arg(value_name = "SITE")]
    pub(super) site: PathBuf,

    /// First day of the period, a local date such as 2026-03-09 [default: start of the logs]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    pub(super) from: Option<NaiveDate>,

    /// Day after the last day of the period, a local date [default: end of the logs]
    #[arg(long, value_name = "DATE", value_parser = read_date, help_heading = "Input")]
    pub(super) to: Option<NaiveDate>,
}

impl InputArguments {
    /// The same site over another period.
    pub(super) fn over(&self, from: NaiveDate, to: NaiveDate) -> InputArguments {
        InputArguments {
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

pub(super) fn read_date(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .map_err(|_| "expected a date such as 2026-03-09".to_owned())
}

/// The zone of a log that comes without a site.
#[derive(Clone, Debug, Args)]
pub(super) struct ZoneArguments {
    /// For a log instead of a site: its local time zone, such as Europe/London [default: that of this machine]
    #[arg(long, value_name = "NAME", value_parser = read_zone, help_heading = "Input")]
    pub(super) timezone: Option<Tz>,
}

fn read_zone(text: &str) -> Result<Tz, String> {
    text.parse().map_err(|_| {
        let names = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        let near = did_you_mean(text, names).map_or_else(String::new, |near| format!("; {near}"));
        format!("expected a zone such as Europe/London{near}")
    })
}

/// Format of the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum OutputFormat {
    /// Tables to read
    Text,
    /// JSON for scripts
    Json,
    /// Comma-separated values
    Csv,
}

/// Where the result goes and in which format.
#[derive(Debug, Args)]
pub(super) struct OutputArguments {
    /// Format of the result
    #[arg(
        long,
        value_enum,
        value_name = "FORMAT",
        default_value = "text",
        help_heading = "Output"
    )]
    pub(super) format: OutputFormat,

    /// File to write to, `-` for the screen (standard output)
    #[arg(
        id = "output",
        short = 'o',
        long = "output",
        value_name = "FILE",
        default_value = "-",
        help_heading = "Output"
    )]
    pub(super) file: PathBuf,

    /// Replace files that exist
    #[arg(long, help_heading = "Output")]
    pub(super) force: bool,
}

/// The quantity that the allocation minimises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ObjectiveWord {
    /// Neutral current at the supply, rms over the period
    NeutralRms,
    /// Heat loss in the phase and neutral conductors of the board feeders that are declared
    NeutralLoss,
    /// Neutral current at the supply in its highest demand period, rms over that period
    NeutralPeak,
    /// Current of the most heavily loaded phase at the supply in its highest demand period: leaves the most
    /// spare capacity
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

/// How the allocation is searched for, and within which limits.
#[derive(Debug, Args)]
pub(super) struct SearchArguments {
    /// Quantity to minimise
    #[arg(
        long,
        value_enum,
        value_name = "QUANTITY",
        default_value = "neutral-rms",
        help_heading = "Search"
    )]
    pub(super) objective: ObjectiveWord,

    /// Make all moves that lower the quantity; by default the plan has the fewest that keep every limit and take
    /// enough of the possible reduction, and lists the others as optional
    #[arg(long, help_heading = "Search")]
    pub(super) all_moves: bool,

    /// Share of the possible reduction that is enough
    #[arg(long, value_name = "PERCENT", default_value_t = 80.0, value_parser = read_share, conflicts_with_all = ["all_moves", "max_moves"], help_heading = "Search")]
    pub(super) enough_pct: f64,

    /// Make the best of this number of moves [default: as many as are enough]
    #[arg(long, value_name = "MOVES", help_heading = "Search")]
    pub(super) max_moves: Option<usize>,

    /// Keep a machine on a connection, such as `'Band saw=L2'`, `Welder=L1-L2`, `Kiln=3ph+1`;
    /// machines that move with it are kept too. Can be repeated
    #[arg(long, value_name = "NAME=CONNECTION", help_heading = "Search")]
    pub(super) fix: Vec<String>,

    /// Omit the table of neutral current against number of moves; much faster where there are many loads
    #[arg(long, help_heading = "Search")]
    pub(super) no_curve: bool,

    /// Seed of the search; the same seed gives the same result
    #[arg(
        long,
        value_name = "NUMBER",
        default_value_t = 1,
        help_heading = "Search"
    )]
    pub(super) seed: u64,

    /// Stop after this time with the best plan found. The only option that makes the result depend on the
    /// speed of the computer [default: no limit; the search stops after a set number of steps]
    #[arg(long, value_name = "SECONDS", value_parser = clap::value_parser!(u64).range(1..=86_400), help_heading = "Search")]
    pub(super) time_limit: Option<u64>,
}

fn read_share(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|percent| (0.0..=100.0).contains(percent))
        .ok_or_else(|| "expected from 0 to 100 %".to_owned())
}

impl SearchArguments {
    /// Settings of the search; the time limit starts now.
    pub(super) fn settings(&self) -> Settings {
        Settings {
            objective: self.objective.into(),
            seed: self.seed,
            max_moves: self.max_moves,
            enough_pct: (!self.all_moves && self.max_moves.is_none()).then_some(self.enough_pct),
            curve_moves: if self.no_curve { 0 } else { usize::MAX },
            deadline: self
                .time_limit
                .map(|seconds| Instant::now() + Duration::from_secs(seconds)),
            ..Settings::default()
        }
    }

    /// The machines to keep where they are, or everything that is wrong with the arguments.
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

/// Findings that shall not bind the plan.
#[derive(Debug, Default, Args)]
pub(super) struct IgnoreArguments {
    /// Plan as if this finding were not there, such as `high-resistance-joint` or `phase-loss@DB2`: for the person who
    /// knows that it is repaired, or wrong. Can be repeated
    #[arg(long, value_name = "FINDING[@PLACE]", help_heading = "Search")]
    ignore: Vec<String>,
}

impl IgnoreArguments {
    /// The findings, or what is wrong with the arguments.
    pub(super) fn findings(&self, site: &Site) -> anyhow::Result<Vec<Ignored>> {
        let read = |text: &String| {
            let (kind, at) = match text.split_once('@') {
                Some((kind, at)) => (kind, Some(at)),
                None => (text.as_str(), None),
            };
            let names = || Ignored::KINDS.into_iter().map(Kind::name);
            let Some(kind) = Ignored::KINDS
                .into_iter()
                .find(|known| known.name() == kind)
            else {
                let message = Message::error(
                    "ignore",
                    format!("`{kind}` is no finding that binds a plan"),
                )
                .note(format!(
                    "they are {}",
                    names().collect::<Vec<_>>().join(", ")
                ));
                return Err(Box::new(message.maybe_help(did_you_mean(kind, names()))));
            };
            let places: Vec<String> = site
                .nodes()
                .into_iter()
                .map(|node| site.node_name(node).to_owned())
                .collect();
            match at {
                Some(at) if !places.iter().any(|place| place == at) => {
                    let message = Message::error("ignore", format!("there is no place `{at}`"));
                    Err(Box::new(message.maybe_help(did_you_mean(
                        at,
                        places.iter().map(String::as_str),
                    ))))
                }
                at => Ok(Ignored {
                    kind,
                    at: at.map(str::to_owned),
                }),
            }
        };
        let (mut ignored, mut messages) = (Vec::new(), Messages::new());
        for text in &self.ignore {
            match read(text) {
                Ok(one) => ignored.push(one),
                Err(message) => messages.push(*message),
            }
        }
        if messages.has_errors() {
            return Err(CommandError::Input(InputErrors(messages)).into());
        }
        Ok(ignored)
    }
}

/// The condition for exit status 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FailOn {
    /// A phase or neutral limit is exceeded
    Limit,
}
