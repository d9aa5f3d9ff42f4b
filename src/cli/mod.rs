//! The commands: their arguments, what they call, what they print. The only room that prints.
//!
//! In: the words of a command line. Out: results on a [`Console`] or in files, and an [`Outcome`]. One file or folder
//! for each command; what several share has files of its own.

mod arguments;
mod balance;
mod baseline;
mod chart;
mod check;
mod comparison;
mod completions;
mod diagnose;
mod energy;
mod estate;
mod exceeded;
mod explain;
mod loading;
mod machine_zone;
mod man;
mod new;
mod new_machines;
mod not_listed;
mod open;
mod output;
mod phases;
mod place;
mod plate;
mod reading_bar;
mod readings;
mod report;
mod schema;
mod since;
mod source_files;

use clap::{Parser, Subcommand};

use crate::app::Console;
use message::InputErrors;

const EXIT_STATUS: &str = "\
EXIT STATUS
  0  done
  1  done, and a limit is exceeded (`check`, and others with `--fail-on limit`)
  2  could not be done: wrong usage, unreadable or invalid input, unwritable output";

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "tapoff",
    version,
    about = "Which phase each load should be on, what the meters show, and where the kWh go",
    long_about = "Combines a workshop's machine list with its meter logs. It finds the phase for each single-phase load \
                  that gives the lowest neutral current, shows what each meter has measured, and writes a report.",
    after_help = EXIT_STATUS,
    help_expected = true,
    subcommand_required = true,
    arg_required_else_help = true
)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a commented starter site
    New(new::NewArguments),
    /// A blank sheet for a round of clamp-meter readings, to print or fill in
    Readings(readings::ReadingsArguments),
    /// Read everything and list what is wrong or missing
    Check(check::CheckArguments),
    /// Which phase each load that can be moved should be on
    Balance(balance::BalanceArguments),
    /// Which phase each load is on, by logs, readings and switching tests
    Phases(phases::PhasesArguments),
    /// Where a new machine can be connected
    Place(Box<place::PlaceArguments>),
    /// Faults that the logs show, worst first
    Diagnose(diagnose::DiagnoseArguments),
    /// kWh, demand, load factor, neutral current and unbalance of each meter
    Energy(energy::EnergyArguments),
    /// All sites below a folder: one page, tables and queries
    Estate(estate::EstateArguments),
    /// One HTML page with charts and figures
    Report(report::ReportArguments),
    /// The whole job in a browser, on this machine only
    Open(open::OpenArguments),
    /// What a key, column, quantity, finding or message means
    Explain(explain::ExplainArguments),
    /// The structure of a command's JSON result
    Schema(schema::SchemaArguments),
    /// Completion of commands and options in a shell
    Completions(completions::CompletionsArguments),
    /// Manual pages
    Man(man::ManArguments),
}

/// How a completed command ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// A limit is exceeded, and the exit status has to show it.
    pub limit_exceeded: bool,
}

/// Why a command could not be done.
#[derive(Debug, thiserror::Error)]
pub enum CommandError {
    /// The input is at fault.
    #[error("the input has errors")]
    Input(#[from] InputErrors),
}

impl Cli {
    /// Did the user ask for JSON?
    #[must_use]
    pub fn wants_json(&self) -> bool {
        let format = match &self.command {
            Command::Check(arguments) => arguments.output.format,
            Command::Balance(arguments) => arguments.output.format,
            Command::Phases(arguments) => arguments.output.format,
            Command::Place(arguments) => arguments.output.format,
            Command::Diagnose(arguments) => arguments.output.format,
            Command::Energy(arguments) => return arguments.output.is_json(),
            Command::New(_)
            | Command::Readings(_)
            | Command::Estate(_)
            | Command::Report(_)
            | Command::Open(_)
            | Command::Explain(_)
            | Command::Schema(_)
            | Command::Completions(_)
            | Command::Man(_) => arguments::OutputFormat::Text,
        };
        format == arguments::OutputFormat::Json
    }

    /// Does what was asked.
    ///
    /// # Errors
    ///
    /// [`CommandError::Input`] where the input is at fault, else the error that stopped the command.
    pub fn execute(&self, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
        match &self.command {
            Command::New(arguments) => new::execute(arguments, console),
            Command::Readings(arguments) => readings::execute(arguments, console),
            Command::Check(arguments) => check::execute(arguments, console),
            Command::Balance(arguments) => balance::execute(arguments, console),
            Command::Phases(arguments) => phases::execute(arguments, console),
            Command::Place(arguments) => place::execute(arguments, console),
            Command::Diagnose(arguments) => diagnose::execute(arguments, console),
            Command::Energy(arguments) => energy::execute(arguments, console),
            Command::Estate(arguments) => estate::execute(arguments, console),
            Command::Report(arguments) => report::execute(arguments, console),
            Command::Open(arguments) => open::execute(arguments, console),
            Command::Explain(arguments) => explain::execute(arguments, console),
            Command::Schema(arguments) => schema::execute(arguments, console),
            Command::Completions(arguments) => completions::execute(arguments, console),
            Command::Man(arguments) => man::execute(arguments, console),
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_quantity_argument_names_its_unit() {
        for command in Cli::command().get_subcommands() {
            for argument in command.get_arguments() {
                let id = argument.get_id().as_str();
                if let Some(unit) = ["_min", "_a", "_kw"]
                    .iter()
                    .find(|unit| id.ends_with(*unit))
                {
                    let names = argument.get_value_names().unwrap_or_default();
                    assert!(
                        names.iter().any(|name| matches!(
                            name.as_str(),
                            "MINUTES" | "AMPERES" | "KILOWATTS"
                        )),
                        "{id} ({unit}) must name its unit"
                    );
                }
            }
        }
    }
}
