//! `tapoff explain`: what a finding means, its formula, its source, what to do.

use clap::Args;

use super::Outcome;
use super::not_listed::not_listed;
use crate::app::Console;
use crate::{diagnosis, export};
use finding::Kind;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff explain high-resistance-joint
  tapoff explain

EXIT STATUS
  0  done
  2  there is no page of that name";

/// Arguments of `tapoff explain`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// Kind of finding, such as `high-resistance-joint` [default: list them]
    #[arg(value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let Some(name) = &arguments.name else {
        for kind in Kind::ALL {
            writeln!(console.out, "{kind}")?;
        }
        return Ok(Outcome::default());
    };
    let names = Kind::ALL.iter().map(|kind| kind.name());
    let kind =
        Kind::from_name(name).ok_or_else(|| not_listed("page", "tapoff explain", name, names))?;
    let text = export::page_text(kind, &diagnosis::page(kind));
    console.out.write_all(text.as_bytes())?;
    Ok(Outcome::default())
}
