//! What a charge for reactive energy counts in a run of days.

use super::money;
use super::reactive_charge::{EnergyDirection, ReactiveCharge, ReactiveFlow};
use super::usage::UsageQuarter;

/// What a charge for reactive energy counts in a run of days.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct ReactiveSums {
    /// Active energy of its times, of which a share is free. (kWh)
    pub(super) kwh: f64,
    /// Lagging reactive energy; `None` where none is logged. (kvarh)
    pub(super) lagging_kvarh: Option<f64>,
    /// Leading reactive energy; `None` where none is logged. (kvarh)
    pub(super) leading_kvarh: Option<f64>,
    /// Where the free share is that of each quarter-hour, what is in each step. (kvarh)
    pub(super) steps: Vec<f64>,
}

impl ReactiveSums {
    pub(super) fn of(charge: &ReactiveCharge) -> ReactiveSums {
        ReactiveSums {
            steps: vec![0.0; charge.steps.len()],
            ..ReactiveSums::default()
        }
    }

    /// Takes a quarter-hour that is in the charge's window.
    pub(super) fn take(&mut self, charge: &ReactiveCharge, quarter: &UsageQuarter) {
        let is_import = quarter.kwh >= quarter.export_kwh;
        let kwh = match charge.only_while {
            Some(EnergyDirection::Import) if !is_import => return,
            Some(EnergyDirection::Export) if is_import => return,
            Some(EnergyDirection::Export) => quarter.export_kwh,
            _ => quarter.kwh,
        };
        self.kwh += kwh;
        for (sum, kvarh) in [
            (&mut self.lagging_kvarh, quarter.lagging_kvarh),
            (&mut self.leading_kvarh, quarter.leading_kvarh),
        ] {
            if let Some(kvarh) = kvarh {
                *sum.get_or_insert(0.0) += kvarh;
            }
        }
        if !charge.by_quarter_hour {
            return;
        }
        let lagging = quarter.lagging_kvarh.unwrap_or(0.0);
        let leading = quarter.leading_kvarh.unwrap_or(0.0);
        let kvarh = match charge.flow {
            ReactiveFlow::Lagging => lagging,
            ReactiveFlow::Leading => leading,
            ReactiveFlow::Net => (lagging - leading).max(0.0),
        };
        let steps = charge.in_steps(kvarh, |share| money::float(share) * kwh);
        for (sum, step) in self.steps.iter_mut().zip(steps) {
            *sum += step;
        }
    }
}
