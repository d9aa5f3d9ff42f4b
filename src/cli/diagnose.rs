//! `tapoff diagnose`: faults that the logs show, worst first.

use chrono::NaiveDateTime;
use clap::Args;
use serde::Serialize;

use super::Outcome;
use super::arguments::{InputArguments, OutputArguments, OutputFormat};
use super::loading::load_and_warn;
use super::output::deliver;
use crate::app::Console;
use crate::{diagnosis, export};
use diagnosis::{Diagnosis, PhaseDetail};
use electrical::Phase;
use site::{Site, Work, work_time};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff diagnose sample-data/ferry-lane
  tapoff diagnose sample-data/ferry-lane --phase L2 --format json
  tapoff diagnose sample-data/ferry-lane --since-work 2026-03-16

EXIT STATUS
  0  done, with or without findings
  2  could not be done";

/// Arguments of `tapoff diagnose`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct DiagnoseArguments {
    #[command(flatten)]
    input: InputArguments,

    /// Only this phase (L1, L2 or L3), with its days, its worst half-hours and moves that relieve it [default: all phases]
    #[arg(long, value_name = "PHASE", help_heading = "Input")]
    phase: Option<Phase>,

    /// Local date, or date and time, since which the machine list is correct, as if declared under `[[work]]`
    #[arg(long, value_name = "DATE", help_heading = "Input", value_parser = since)]
    since_work: Option<NaiveDateTime>,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

pub(super) fn execute(
    arguments: &DiagnoseArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    arguments.output.refuse_existing(&[])?;
    let mut loaded = load_and_warn(&arguments.input, console)?;
    if let Some(done) = arguments.since_work {
        declare_work(&mut loaded.site, done);
    }
    let mut result = diagnosis::diagnose(&loaded.site, &loaded.logs);
    if let Some(phase) = arguments.phase {
        result.keep_phase(phase);
    }
    let story = arguments
        .phase
        .and_then(|phase| PhaseDetail::new(&loaded.site, &loaded.logs, phase));
    let text = match arguments.output.format {
        OutputFormat::Text => {
            let mut text = export::diagnosis_text(&loaded.site, &result);
            text.extend(story.as_ref().map(export::story_text));
            text
        }
        OutputFormat::Json => match &story {
            Some(story) => export::json(&WithPhaseDetail {
                diagnosis: &result,
                story,
            })?,
            None => export::json(&result)?,
        },
        OutputFormat::Csv => export::diagnosis_csv(&loaded.site.name, &result)?,
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}

fn since(text: &str) -> Result<NaiveDateTime, String> {
    let expected =
        "expected a local date such as 2026-03-21, or a date and time such as \"2026-03-21 14:00\"";
    work_time(text).ok_or_else(|| expected.to_owned())
}

/// Adds the work, or keeps the site file's own entry for that time with its moves; later work does not count.
fn declare_work(site: &mut Site, done: NaiveDateTime) {
    let work = Work::since(done, site.timezone);
    site.works.retain(|known| known.done <= work.done);
    if site
        .works
        .last()
        .is_none_or(|known| known.done != work.done)
    {
        site.works.push(work);
    }
}

/// The findings of a phase with its detail.
#[derive(Serialize)]
struct WithPhaseDetail<'r> {
    #[serde(flatten)]
    diagnosis: &'r Diagnosis,
    story: &'r PhaseDetail,
}
