//! `tapoff open`: the whole job in a browser.

use std::path::PathBuf;

use anyhow::Context;
use clap::Args;

use super::Outcome;
use crate::app::Console;
use workbench::WorkbenchOptions;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff open sample-data/ferry-lane
  tapoff open sample-data/ferry-lane --port 8017 --no-browser

The pages are for this machine alone and for whoever has the address with its token. The files of the
folder stay the truth: what is edited is written into them. Ctrl-C ends it, or the page does.

EXIT STATUS
  0  ended
  2  could not be done";

/// Arguments of `tapoff open`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct OpenArguments {
    /// Site folder with `site.toml`; without it the page asks
    #[arg(value_name = "SITE")]
    site: Option<PathBuf>,

    /// Port of 127.0.0.1 [default: one that is free]
    #[arg(
        long,
        value_name = "PORT",
        default_value_t = 0,
        hide_default_value = true
    )]
    port: u16,

    /// Print the address alone, open no browser
    #[arg(long)]
    no_browser: bool,
}

pub(super) fn execute(
    arguments: &OpenArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let options = WorkbenchOptions {
        site: arguments.site.clone(),
        port: arguments.port,
        program: std::env::current_exe().context("the program does not know its own path")?,
    };
    workbench::serve(options, |address| {
        writeln!(console.out, "{address}")?;
        console.out.flush()?;
        if !arguments.no_browser
            && let Err(error) = open::that_detached(address)
        {
            writeln!(
                console.err,
                "no browser could be opened ({error}): open the address above"
            )?;
        }
        Ok(())
    })?;
    Ok(Outcome::default())
}
