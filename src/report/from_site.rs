//! From the site and the results to the files of a report.

use super::header::{BoardHeader, ConductorColours, MessageLevel, ReportMessage, SiteHeader};
use super::new_machines::NewMachines;
use super::sources::Sources;
use super::{ReportError, charts, render};
use balance::BalanceResult;
use demand::{EnergyResult, MachineEnergy};
use diagnosis::Diagnosis;
use message::{Level, Message};
use site::{Node, Site};

/// A chart as a file of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartFile {
    /// File name.
    pub name: String,
    /// The drawing.
    pub svg: String,
}

/// The page and its charts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportFiles {
    /// The HTML page.
    pub page: String,
    /// The charts, in the page's order.
    pub charts: Vec<ChartFile>,
}

/// The page and the charts of a report; its tables of numbers are written by `export`.
///
/// # Errors
///
/// [`ReportError`] if a chart or the template fails; neither depends on the user's data.
pub fn files(
    site: &Site,
    sources: Sources,
    balance: Option<&BalanceResult>,
    energy: &EnergyResult,
    warnings: &[&Message],
    diagnosis: Option<&Diagnosis>,
    new_machines: Option<&NewMachines>,
) -> Result<ReportFiles, ReportError> {
    let header = SiteHeader {
        sources,
        ..SiteHeader::of(site)
    };
    let machines: Vec<MachineEnergy> = balance.map_or_else(Vec::new, |result| {
        result
            .machines
            .iter()
            .map(|machine| MachineEnergy {
                machine: machine.machine.clone(),
                energy_kwh: machine.energy_kwh,
                basis: machine.basis,
            })
            .collect()
    });
    let messages: Vec<ReportMessage> = warnings.iter().map(|message| shown(message)).collect();
    let page = render(
        &header,
        balance,
        energy,
        &machines,
        &messages,
        diagnosis,
        new_machines,
    )?;
    let charts = charts(&header, balance, energy, &machines, diagnosis)?
        .iter()
        .map(|figure| ChartFile {
            name: figure.file_name(),
            svg: figure.file(),
        })
        .collect();
    Ok(ReportFiles { page, charts })
}

impl SiteHeader {
    /// The header of a site.
    #[must_use]
    pub fn of(site: &Site) -> SiteHeader {
        let marks = site.supply.conductor_marks.clone();
        SiteHeader {
            name: site.name.clone(),
            timezone: site.timezone,
            line_voltage_v: site.supply.line_voltage_v,
            phase_limit_a: site.supply.phase_limit_a,
            neutral_limit_a: site.supply.neutral_limit_a,
            boards: site
                .boards
                .iter()
                .enumerate()
                .map(|(index, board)| BoardHeader {
                    id: board.id.clone(),
                    fed_from: site.node_name(site.boards[index].fed_from).to_owned(),
                    phase_limit_a: site.phase_limit_a(Node::Board(index)),
                    neutral_limit_a: site.neutral_limit_a(Node::Board(index)),
                })
                .collect(),
            conductor_colours: marks.map_or_else(ConductorColours::default, |[l1, l2, l3, n]| {
                ConductorColours {
                    phases: [Some(l1), Some(l2), Some(l3)],
                    neutral: Some(n),
                }
            }),
            currency: site.currency.clone(),
            machine_list: site.machine_list.clone(),
            sources: Sources::default(),
        }
    }
}

fn shown(message: &Message) -> ReportMessage {
    let place = message.place.as_ref().map_or(String::new(), |place| {
        if place.line == 0 {
            format!("{}: ", place.file)
        } else {
            format!("{}, line {}: ", place.file, place.line)
        }
    });
    let help = message
        .help
        .as_ref()
        .map_or(String::new(), |help| format!(" ({help})"));
    ReportMessage {
        level: match message.level {
            Level::Error => MessageLevel::Error,
            Level::Warning => MessageLevel::Warning,
        },
        text: format!("{place}{}{help}", message.text),
    }
}
