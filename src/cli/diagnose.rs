//! `tapoff diagnose`: what the logs say is wrong, worst first.

use clap::Args;
use serde::Serialize;

use super::Outcome;
use super::arguments::{Format, Input, Output};
use super::loading::{Loaded, load_and_warn};
use super::output::deliver;
use crate::app::Console;
use crate::diagnosis::{Diagnosis, PhaseStory, Relief};
use crate::electrical::Phase;
use crate::{balance, diagnosis, export};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff diagnose sample-data/ferry-lane
  tapoff diagnose sample-data/ferry-lane --phase L2 --format json

EXIT STATUS
  0  done, whatever was found
  2  could not be done";

/// Arguments of `tapoff diagnose`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    input: Input,

    /// Only what concerns this phase (L1, L2 or L3), with its days, worst half-hours and relief [default: everything]
    #[arg(long, value_name = "PHASE", help_heading = "Input")]
    phase: Option<Phase>,

    #[command(flatten)]
    pub(super) output: Output,
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let loaded = load_and_warn(&arguments.input, console)?;
    let mut result = diagnosis::diagnose(&loaded.site, &loaded.logs);
    if let Some(phase) = arguments.phase {
        result.keep_phase(phase);
    }
    let story = arguments.phase.and_then(|phase| story(&loaded, phase));
    let text = match arguments.output.format {
        Format::Text => {
            let mut text = export::diagnosis_text(&loaded.site, &result);
            text.extend(story.as_ref().map(export::story_text));
            text
        }
        Format::Json => match &story {
            Some(story) => export::json(&WithStory {
                diagnosis: &result,
                story,
            })?,
            None => export::json(&result)?,
        },
        Format::Csv => export::diagnosis_csv(&result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}

/// The findings of a phase with its story.
#[derive(Serialize)]
struct WithStory<'r> {
    #[serde(flatten)]
    diagnosis: &'r Diagnosis,
    story: &'r PhaseStory,
}

/// The phase's story, with what the best one move and the best two would change.
fn story(loaded: &Loaded, phase: Phase) -> Option<PhaseStory> {
    let (site, logs) = (&loaded.site, &loaded.logs);
    let mut relief: Vec<Relief> = Vec::new();
    for moves in [1, 2] {
        let settings = balance::Settings {
            max_moves: Some(moves),
            curve_moves: 0,
            proof_work: 200,
            ..balance::Settings::default()
        };
        let found = balance::balance(site, logs, &settings)
            .ok()
            .and_then(|result| Relief::of(&result, phase));
        if let Some(found) = found.filter(|found| !relief.contains(found)) {
            relief.push(found);
        }
    }
    PhaseStory::new(site, logs, phase, relief)
}
