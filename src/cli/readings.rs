//! `tapoff readings`: a blank sheet for a round of clamp-meter readings.

use std::path::PathBuf;

use anyhow::bail;
use clap::Args;

use super::output::{deliver_text, write_guarded};
use super::{CommandError, Outcome};
use crate::app::Console;
use message::Level;
use site::read_site;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff readings sample-data/ferry-lane
  tapoff readings sample-data/ferry-lane -o readings.html
  tapoff readings sample-data/ferry-lane -o readings.xlsx

The page is to print and fill in at the board. Put the filled-in file into the site folder
as readings.csv, readings.xlsx or readings.ods.

EXIT STATUS
  0  done
  2  could not be done";

/// Arguments of `tapoff readings`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct ReadingsArguments {
    /// Site folder with `site.toml` and `machines.csv`, or a workbook that holds the site
    #[arg(value_name = "SITE")]
    site: PathBuf,

    /// With a row for each machine on a circuit, too
    #[arg(long)]
    machines: bool,

    /// File to write to: `.html`, `.xlsx` or `.csv`; `-` for the screen (standard output), as text
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    output: PathBuf,

    /// Replace files that exist
    #[arg(long)]
    force: bool,
}

pub(super) fn execute(
    arguments: &ReadingsArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let (site, warnings) = read_site(&arguments.site).map_err(CommandError::Input)?;
    let text = warnings.draw(Level::Warning, console.colour);
    if !text.is_empty() {
        writeln!(console.err, "{text}\n")?;
    }
    let kind = arguments.output.extension().and_then(|kind| kind.to_str());
    let target = (arguments.output.as_path(), arguments.force);
    match kind.map(str::to_lowercase).as_deref() {
        Some("html" | "htm") => {
            let page = report::readings_sheet(&site, arguments.machines)?;
            deliver_text(&page, target, console)?;
        }
        Some("xlsx") => {
            let book = export::blank_readings_workbook(&site, arguments.machines)?;
            write_guarded(&arguments.output, &book, arguments.force)?;
        }
        Some("csv") | None => {
            let text = export::blank_readings_csv(&site, arguments.machines)?;
            deliver_text(&text, target, console)?;
        }
        Some(kind) => {
            bail!("a sheet of readings is written as .html, .xlsx or .csv, not as .{kind}")
        }
    }
    Ok(Outcome::default())
}
