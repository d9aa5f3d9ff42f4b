//! Where the energy goes: its form, its file, one of its tables.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::cli::output::write_guarded;
use crate::export;
use demand::EnergyResult;
use site::Site;

/// Where the result goes and in which form.
#[derive(Debug, Args)]
pub(in crate::cli) struct EnergyOutput {
    /// Form of the result
    #[arg(
        long,
        value_enum,
        value_name = "FORM",
        default_value = "text",
        help_heading = "Output"
    )]
    pub(super) format: EnergyFormat,

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
    pub(super) fn target(&self) -> (&Path, bool) {
        (&self.output, self.force)
    }

    /// Writes the workbook into its file.
    pub(super) fn write_workbook(&self, site: &Site, result: &EnergyResult) -> anyhow::Result<()> {
        anyhow::ensure!(
            self.output.as_os_str() != "-",
            "a workbook goes into a file: name it with `-o energy.xlsx`"
        );
        let book = export::energy_workbook(site, result)?;
        write_guarded(&self.output, &book, self.force)
    }

    /// The form in which warnings go along with the result.
    pub(in crate::cli) fn is_json(&self) -> bool {
        self.format == EnergyFormat::Json
    }
}

/// Form of the result; a workbook has all tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum EnergyFormat {
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
pub(super) enum TableWord {
    /// The ten highest demand blocks of each meter and what ran in them
    HighestBlocks,
    /// Demand reached or exceeded during shares of the time
    LoadDuration,
    /// Demand, diversity and coincidence factors of the meters below a meter
    Diversity,
    /// Standing load, night, and use outside the working hours
    BaseLoad,
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
    /// Energy over the only variable of the baseline
    EnergyIndex,
    /// Measured and expected of each day, week or month, and the cumulative difference
    Cusum,
    /// Days that stand out of their kind, and what differed
    DaysThatStandOut,
    /// What has changed since the last report
    Since,
}
