//! The first screen: one headline with the worst and its cure, and an answer for each of the three who read the page.

mod electrician;
mod headline;
mod maintenance;
mod manager;

use self::electrician::ElectricianAnswer;
use self::headline::headline;
use self::maintenance::MaintenanceAnswer;
use self::manager::ManagerAnswer;
use super::conductor::{conductors, supply_meter};
use super::header::SiteHeader;
use super::new_machines::NewMachines;
use balance::BalanceResult;
use demand::EnergyResult;
use diagnosis::Diagnosis;
use finding::{Finding, Severity};

/// What the page answers before anything is scrolled.
#[derive(Debug)]
pub(super) struct FirstScreen {
    pub(super) headline: String,
    /// Is something dangerous or over its limit?
    pub(super) over: bool,
    pub(super) electrician: ElectricianAnswer,
    pub(super) maintenance: MaintenanceAnswer,
    pub(super) manager: ManagerAnswer,
}

impl FirstScreen {
    pub(super) fn new(
        header: &SiteHeader,
        balance: Option<&BalanceResult>,
        energy: &EnergyResult,
        diagnosis: Option<&Diagnosis>,
        new_machines: Option<&NewMachines>,
    ) -> FirstScreen {
        let conductors = conductors(header, balance, supply_meter(energy));
        let findings: Vec<&Finding> = diagnosis.map_or_else(Vec::new, |diagnosis| {
            let open = diagnosis.findings.iter();
            open.filter(|finding| !finding.accepted).collect()
        });
        let danger = findings
            .iter()
            .copied()
            .find(|finding| finding.severity == Severity::Danger);
        let (headline, over) = headline(&conductors, balance, danger);
        FirstScreen {
            headline,
            over,
            electrician: ElectricianAnswer::new(&conductors, balance, diagnosis, &findings),
            maintenance: MaintenanceAnswer::new(header, balance, new_machines),
            manager: ManagerAnswer::new(header, energy),
        }
    }
}
