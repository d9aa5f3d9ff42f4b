//! What sets the maximum demand, what is used out of hours, and what the meters below one
//! another say together.
//!
//! In: the quarter-hours and demand periods of each meter, in the order of the site file. Out: a
//! [`LoadStudy`]. One file for each analysis; none of them fills in what is missing.

mod base_load;
mod demand_study;
mod diversity;
mod power_factor;
mod unmetered;
mod week;

use schemars::JsonSchema;
use serde::Serialize;

use super::metered::Metered;
use super::settings::DemandSettings;
use site::{Measured, Site};

pub use base_load::{BaseLoad, WeekdayBaseLoad};
pub use demand_study::{BlockPart, DemandStudy, DurationPoint, HighestBlock, PeakDay, PeakDayPart};
pub use diversity::{Diversity, DiversityPart};
pub use power_factor::{CorrectionNeed, PowerFactorStudy};
pub use unmetered::{ClockDifference, UnmeteredDay, UnmeteredOverTime};
pub(crate) use week::week_of;
pub use week::{WEEKDAYS, WeekOfHours};

pub(super) use power_factor::by_phase;

/// The analyses that look at more than totals.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct LoadStudy {
    /// Highest demand periods, sliding maximum and load duration of every meter with demand periods.
    pub demand: Vec<DemandStudy>,
    /// Diversity of sub-meters.
    pub diversity: Vec<Diversity>,
    /// Base load at night and out of hours.
    pub base_load: Vec<BaseLoad>,
    /// Power factor by phase and block, and what would correct it.
    pub power_factor: Vec<PowerFactorStudy>,
    /// What a meter sees beyond those below it, day by day.
    pub unmetered: Vec<UnmeteredOverTime>,
    /// Mean power by weekday and hour.
    #[serde(skip)]
    pub week: Vec<WeekOfHours>,
}

/// All analyses.
pub(super) fn study(site: &Site, metered: &[Metered], settings: &DemandSettings) -> LoadStudy {
    let with_blocks = || metered.iter().filter(|meter| !meter.blocks.is_empty());
    let window_min = settings.window_min.unwrap_or(site.demand_window_min);
    LoadStudy {
        demand: with_blocks()
            .map(|meter| demand_study::of(site, metered, meter, window_min))
            .collect(),
        diversity: metered
            .iter()
            .filter(|meter| is_main(site, meter))
            .filter_map(|main| diversity::of(site, metered, main))
            .collect(),
        base_load: metered
            .iter()
            .filter(|meter| meter.shows_hours())
            .filter_map(|meter| base_load::of(site, meter))
            .collect(),
        power_factor: with_blocks()
            .filter_map(|meter| power_factor::of(site, meter, settings))
            .collect(),
        unmetered: metered
            .iter()
            .filter(|meter| is_main(site, meter))
            .filter_map(|main| unmetered::of(site, metered, main))
            .collect(),
        week: metered
            .iter()
            .filter(|meter| meter.shows_hours())
            .filter_map(|meter| week::of(site, meter))
            .collect(),
    }
}

/// The first meter of the supply, a board or a circuit: others may be below it.
fn is_main(site: &Site, meter: &Metered) -> bool {
    let measures = site.meters[meter.meter].measures;
    matches!(measures, Measured::Node(_)) && site.meter_of(measures) == Some(meter.meter)
}
