//! `tapoff schema`: the structure of a command's JSON result, for programs that read it.

use clap::Args;

use super::Outcome;
use super::not_listed::not_listed;
use crate::app::Console;
use export::{self, SchemaName};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff schema
  tapoff schema balance

EXIT STATUS
  0  done
  2  there is no schema of that name";

/// Arguments of `tapoff schema`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct SchemaArguments {
    /// Result to describe, such as `balance` [default: list them]
    #[arg(value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn execute(
    arguments: &SchemaArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let Some(name) = &arguments.name else {
        for schema in SchemaName::ALL {
            writeln!(console.out, "{:<15} {}", schema.name(), schema.command())?;
        }
        return Ok(Outcome::default());
    };
    let names = SchemaName::ALL.map(SchemaName::name);
    let schema = SchemaName::ALL
        .into_iter()
        .find(|schema| schema.name() == name)
        .ok_or_else(|| not_listed("schema", "tapoff schema", name, names))?;
    let text = export::json(&schema.schema())?;
    console.out.write_all(text.as_bytes())?;
    Ok(Outcome::default())
}
