//! Where the result goes: its format, its file, one of its tables.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::cli::output::{refuse_existing, write_guarded};

/// Where the result goes and in which format.
#[derive(Debug, Args)]
pub(in crate::cli) struct EnergyOutput {
    /// Format of the result
    #[arg(
        long,
        value_enum,
        value_name = "FORMAT",
        default_value = "text",
        help_heading = "Output"
    )]
    pub(super) format: EnergyFormat,

    /// File to write to, `-` for the screen (standard output)
    #[arg(
        short,
        long,
        value_name = "FILE",
        default_value = "-",
        help_heading = "Output"
    )]
    output: PathBuf,

    /// Replace a file that exists
    #[arg(long, help_heading = "Output")]
    force: bool,
}

impl EnergyOutput {
    /// The file, and whether an existing one is replaced.
    pub(super) fn target(&self) -> (&Path, bool) {
        (&self.output, self.force)
    }

    /// Refuses a file that exists before anything is calculated.
    pub(super) fn refuse_existing(&self) -> anyhow::Result<()> {
        refuse_existing(&self.output, self.force)
    }

    /// Writes a workbook or a Parquet file.
    pub(super) fn write_bytes(&self, bytes: &[u8]) -> anyhow::Result<()> {
        let (what, name) = match self.format {
            EnergyFormat::Parquet => ("Parquet", "energy.parquet"),
            _ => ("a workbook", "energy.xlsx"),
        };
        anyhow::ensure!(
            self.output.as_os_str() != "-",
            "{what} must be written to a file: name it with `-o {name}`"
        );
        write_guarded(&self.output, bytes, self.force)
    }

    /// Is JSON asked for? Errors are then written as JSON too.
    pub(in crate::cli) fn is_json(&self) -> bool {
        self.format == EnergyFormat::Json
    }
}

/// Format of the result; a workbook has all tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum EnergyFormat {
    /// Tables to read
    Text,
    /// JSON for scripts
    Json,
    /// Comma-separated values
    Csv,
    /// Workbook with a sheet for each table; needs a file name after `-o`
    Xlsx,
    /// Parquet with the columns of the CSV; needs a file name after `-o`
    Parquet,
}

/// A table that can be asked for; named as the table itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum TableWord {
    /// The ten highest demand periods of each meter, and what was running
    HighestDemandPeriods,
    /// Load duration curve: the demand reached or exceeded for a share of the time
    LoadDuration,
    /// Demand, diversity and coincidence factors of sub-meters
    Diversity,
    /// Base load, night load and out-of-hours use
    BaseLoad,
    /// Base load by weekday
    BaseLoadByWeekday,
    /// Power factor by phase and demand period, and the capacitors to correct it
    PowerFactor,
    /// Unmetered energy by day: a meter less its sub-meters
    UnmeteredByDay,
    /// Mean power by weekday and hour
    Week,
    /// Energy by day
    Days,
    /// Mean power by quarter-hour of the day
    LoadProfile,
    /// Energy by month
    Months,
    /// Carbon emissions by your own factor
    Carbon,
    /// Coefficients of the baseline
    Baseline,
    /// Quality of the baseline fit, with the usual limits
    BaselineFit,
    /// Energy per unit of the baseline's only variable
    EnergyIndex,
    /// Measured and expected energy of each day, week or month, and the cumulative difference
    Cusum,
    /// Unusual days, and what was different
    UnusualDays,
    /// Changes since the last report
    Since,
}
