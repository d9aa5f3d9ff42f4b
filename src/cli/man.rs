//! `tapoff man`: the manual pages.

use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_mangen::Man;

use super::output::{make_folder, write_guarded};
use super::{Cli, Outcome};
use crate::app::Console;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff man | man -l -
  tapoff man -o ~/.local/share/man/man1";

/// Arguments of `tapoff man`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// Folder for one page per command [default: the main page, to standard output]
    #[arg(short, long, value_name = "FOLDER", help_heading = "Output")]
    output: Option<PathBuf>,

    /// Overwrite files in the folder that are not manual pages of tapoff
    #[arg(long, help_heading = "Output")]
    force: bool,
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let mut command = Cli::command();
    command.build();
    let Some(folder) = &arguments.output else {
        console.out.write_all(&page(&command)?)?;
        return Ok(Outcome::default());
    };
    make_folder(folder)?;
    let all = std::iter::once(&command).chain(command.get_subcommands());
    for of_page in all.filter(|command| command.get_name() != "help") {
        let name = of_page
            .get_display_name()
            .unwrap_or_else(|| of_page.get_name());
        let path = folder.join(format!("{name}.1"));
        write_guarded(&path, &page(of_page)?, arguments.force)?;
        writeln!(console.out, "{}", path.display())?;
    }
    Ok(Outcome::default())
}

fn page(command: &clap::Command) -> anyhow::Result<Vec<u8>> {
    let mut text = Vec::new();
    Man::new(command.clone()).render(&mut text)?;
    Ok(text)
}
