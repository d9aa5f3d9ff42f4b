//! `tapoff completions`: the script with which a shell completes the commands.

use clap::{Args, CommandFactory};
use clap_complete::{Shell, generate};

use super::{Cli, Outcome};
use crate::app::Console;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff completions bash > ~/.local/share/bash-completion/completions/tapoff
  tapoff completions fish > ~/.config/fish/completions/tapoff.fish";

/// Arguments of `tapoff completions`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct CompletionsArguments {
    /// Shell that reads the script
    #[arg(value_enum, value_name = "SHELL")]
    shell: Shell,
}

pub(super) fn execute(
    arguments: &CompletionsArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    // The generator cannot report a failed write, so it writes to memory.
    let mut text = Vec::new();
    generate(arguments.shell, &mut Cli::command(), "tapoff", &mut text);
    console.out.write_all(&text)?;
    Ok(Outcome::default())
}
