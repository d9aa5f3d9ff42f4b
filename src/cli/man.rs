//! `tapoff man`: the manual pages.

use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_mangen::Man;

use super::output::{make_folder, refuse_existing, write_whole};
use super::{Cli, Outcome};
use crate::app::Console;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff man | man -l -
  tapoff man -o ~/.local/share/man/man1";

/// Arguments of `tapoff man`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct ManArguments {
    /// Folder for one page per command [default: the main page, to standard output]
    #[arg(short, long, value_name = "FOLDER", help_heading = "Output")]
    output: Option<PathBuf>,

    /// Replace files that exist
    #[arg(long, help_heading = "Output")]
    force: bool,
}

pub(super) fn execute(
    arguments: &ManArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let mut command = Cli::command();
    command.build();
    let Some(folder) = &arguments.output else {
        console.out.write_all(&page(&command)?)?;
        return Ok(Outcome::default());
    };
    let all = std::iter::once(&command).chain(command.get_subcommands());
    let pages: Vec<_> = all
        .filter(|command| command.get_name() != "help")
        .map(|command| {
            let name = command.get_display_name().unwrap_or(command.get_name());
            (folder.join(format!("{name}.1")), command)
        })
        .collect();
    for (path, _) in &pages {
        refuse_existing(path, arguments.force)?;
    }
    make_folder(folder)?;
    for (path, command) in pages {
        write_whole(&path, &page(command)?)?;
        writeln!(console.out, "{}", path.display())?;
    }
    Ok(Outcome::default())
}

fn page(command: &clap::Command) -> anyhow::Result<Vec<u8>> {
    let mut text = Vec::new();
    Man::new(command.clone()).render(&mut text)?;
    Ok(text)
}
