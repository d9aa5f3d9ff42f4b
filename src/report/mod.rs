//! The report: results in, one self-contained HTML page out.
//!
//! In: a [`SiteHeader`], the results of `balance` and `energy`, the energy of each machine, the
//! messages about the input, the findings of `diagnose` and the new machines of `place`. Out: [`render`] gives the page, which loads nothing from elsewhere and
//! runs only its own script; [`charts`] gives the same charts as files of their own. Both are pure functions:
//! equal inputs give equal bytes, and nothing reads the clock: the day is an input.
//!
//! Wording and formatting are in the view models; the templates only arrange them.

mod after_work;
mod answer;
mod bill;
mod by_day;
mod circuit_chart;
mod conductor;
mod demand_figures;
mod evidence;
mod figure_view;
mod finding_figures;
mod findings;
mod first_screen;
mod first_step;
#[cfg(test)]
mod fixture;
mod format;
mod from_site;
mod header;
mod machine_bars;
mod moves;
mod phases_section;
mod print_head;
mod readings_sheet;
mod since;
mod site_energy;
mod sources;
mod statements;
mod study_tables;

mod new_machines;
mod trial;
mod view;

use balance::BalanceResult;
use chart::{ChartError, Figure};
use demand::{EnergyResult, MachineEnergy};
use diagnosis::Diagnosis;

pub use circuit_chart::{ChangedSite, Mark, circuit_chart};
pub use from_site::{ChartFile, ReportFiles, files};
pub use header::{BoardHeader, ConductorColours, MessageLevel, ReportMessage, SiteHeader};
pub use new_machines::NewMachines;
pub use readings_sheet::readings_sheet;
pub use sources::{SourceFile, Sources};

/// The style sheet of the page, for other pages of the program.
pub const STYLE: &str = include_str!("style.css");

/// A report that could not be written.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// A chart could not be drawn.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The page could not be put together.
    #[error("the page could not be put together: {0}")]
    Page(#[from] askama::Error),
}

/// The page.
///
/// # Errors
///
/// [`ReportError`] if a chart or the template fails; neither depends on the user's data.
pub fn render(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    energy: &EnergyResult,
    machines_energy: &[MachineEnergy],
    messages: &[ReportMessage],
    diagnosis: Option<&Diagnosis>,
    new_machines: Option<&NewMachines>,
) -> Result<String, ReportError> {
    let page = view::ReportPage::new(
        header,
        balance,
        energy,
        machines_energy,
        messages,
        diagnosis,
        new_machines,
    )?;
    Ok(tables::marked(&askama::Template::render(&page)?))
}

/// The charts in the order of the page: [`Figure::file_name`] and [`Figure::file`] make files of them.
///
/// # Errors
///
/// [`ReportError`] if a chart fails.
pub fn charts(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    energy: &EnergyResult,
    machines_energy: &[MachineEnergy],
    diagnosis: Option<&Diagnosis>,
) -> Result<Vec<Figure>, ReportError> {
    let mut all = evidence::figures(header, balance, energy, machines_energy)?;
    if let Some(diagnosis) = diagnosis {
        all.extend(finding_figures::figures(header.timezone, diagnosis)?);
    }
    Ok(all)
}

#[cfg(test)]
mod tests;
