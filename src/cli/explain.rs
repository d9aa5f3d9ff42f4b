//! `tapoff explain`: what a key, column, quantity, finding or message means.

use std::path::PathBuf;

use clap::Args;

use super::Outcome;
use super::not_listed::not_listed;
use super::output::deliver_text;
use crate::app::Console;
use reference::{contents_text, find, found_text, names, reference_page, sections};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff explain
  tapoff explain supply.phase_limit_a
  tapoff explain machines.csv
  tapoff explain high-resistance-joint
  tapoff explain --html reference.html

EXIT STATUS
  0  done
  2  there is no page of that name";

/// Arguments of `tapoff explain`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct ExplainArguments {
    /// Table, key, column, quantity, finding or message, such as `phase_limit_a` [default: list them]
    #[arg(value_name = "NAME", conflicts_with = "html")]
    name: Option<String>,

    /// Write everything as one HTML page; `-` for the screen (standard output)
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,

    /// Write over a file that is not such a page
    #[arg(long, requires = "html")]
    force: bool,
}

pub(super) fn execute(
    arguments: &ExplainArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let sections = sections();
    let text = match (&arguments.html, &arguments.name) {
        (Some(file), _) => {
            deliver_text(
                &reference_page(&sections)?,
                (file, arguments.force),
                console,
            )?;
            return Ok(Outcome::default());
        }
        (None, None) => contents_text(&sections),
        (None, Some(name)) => found_text(
            &find(&sections, name)
                .ok_or_else(|| not_listed("page", "tapoff explain", name, names(&sections)))?,
        ),
    };
    console.out.write_all(text.as_bytes())?;
    Ok(Outcome::default())
}
