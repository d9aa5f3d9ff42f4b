//! Sums over the sites of an estate, and the whole result.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::coincident::CoincidentMaximum;
use crate::peers::PeerGroup;
use crate::site_row::{SiteRow, SiteStatus};

/// A sum with the number of sites of which the figure is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct KnownSum {
    /// The sum; `None` where no site has the figure.
    pub sum: Option<f64>,
    /// Number of sites that have it.
    pub sites: usize,
}

/// Sums over all sites.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct EstateTotals {
    /// Sites that were analysed.
    pub analysed: usize,
    /// Sites that could not be.
    pub failed: usize,
    /// Energy imported. (kWh)
    pub energy_import_kwh: KnownSum,
    /// Energy exported. (kWh)
    pub energy_export_kwh: KnownSum,
    /// Carbon by the sites' own factors. (kg)
    pub carbon_kg: KnownSum,
    /// Cost by currency.
    pub cost: BTreeMap<String, KnownSum>,
    /// Findings that are dangers.
    pub dangers: KnownSum,
    /// Warnings.
    pub warnings: KnownSum,
    /// Phases of supplies over their limit.
    pub overloaded_phases: KnownSum,
    /// Earliest reading, UTC.
    pub from: Option<String>,
    /// Latest reading, UTC.
    pub to: Option<String>,
}

/// The whole result, as estate.json has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EstateResult {
    /// The sites, by path.
    pub sites: Vec<SiteRow>,
    /// Sums over them.
    pub totals: EstateTotals,
    /// The highest demand of all sites at one time; `None` where none has a demand.
    pub coincident_demand: Option<CoincidentMaximum>,
    /// Groups of sites compared.
    pub peers: Vec<PeerGroup>,
}

impl KnownSum {
    fn add(&mut self, figure: Option<f64>) {
        if let Some(figure) = figure {
            self.sum = Some(self.sum.unwrap_or(0.0) + figure);
            self.sites += 1;
        }
    }
}

impl EstateTotals {
    /// Sums over these sites.
    #[must_use]
    pub fn of(rows: &[SiteRow]) -> EstateTotals {
        let mut totals = EstateTotals::default();
        for row in rows {
            match row.status {
                SiteStatus::Ok => totals.analysed += 1,
                SiteStatus::Failed => totals.failed += 1,
            }
            totals.energy_import_kwh.add(row.energy_import_kwh);
            totals.energy_export_kwh.add(row.energy_export_kwh);
            totals.carbon_kg.add(row.carbon_kg);
            totals.dangers.add(row.dangers);
            totals.warnings.add(row.warnings);
            totals.overloaded_phases.add(row.overloaded_phases);
            if row.cost.is_some() {
                let currency = row.currency.clone().unwrap_or_default();
                totals.cost.entry(currency).or_default().add(row.cost);
            }
            // Times of UTC in one form are in the order of their letters.
            totals.from = [totals.from.take(), row.from.clone()]
                .into_iter()
                .flatten()
                .min();
            totals.to = [totals.to.take(), row.to.clone()]
                .into_iter()
                .flatten()
                .max();
        }
        totals
    }
}
