//! Energy and demand of the whole site: of the supply's meter, or of all loads together where each has its own.

use chrono::{DateTime, FixedOffset, Utc};

use super::format::counted;
use demand::{DemandTrace, EnergyResult, MeterEnergy, WeekOfHours};

/// What the charts, the first screen and the section of energy speak of.
#[derive(Clone, Debug)]
pub(super) struct SiteEnergy<'e> {
    /// `Meter main`, or what is summed: the beginning of a caption.
    pub(super) of: String,
    /// The meter, if it is one.
    pub(super) meter: Option<&'e MeterEnergy>,
    pub(super) from: DateTime<Utc>,
    pub(super) to: DateTime<Utc>,
    pub(super) energy_kwh: Option<f64>,
    pub(super) max_demand_kw: Option<f64>,
    pub(super) max_demand_at: Option<DateTime<FixedOffset>>,
    pub(super) demand_window_min: u32,
    pub(super) load_factor: Option<f64>,
    pub(super) trace: &'e DemandTrace,
    pub(super) week: Option<&'e WeekOfHours>,
}

impl<'e> SiteEnergy<'e> {
    /// Of the supply's meter, else of the sum of all loads; `None` where neither is known.
    pub(super) fn of(energy: &'e EnergyResult) -> Option<SiteEnergy<'e>> {
        let supply = energy
            .meters
            .iter()
            .find(|meter| meter.measures == "supply");
        if let Some(meter) = supply {
            return Some(SiteEnergy::of_meter(energy, meter));
        }
        let all = energy.all_loads.as_ref()?;
        Some(SiteEnergy {
            of: format!(
                "Sum of the {} of all loads",
                counted(all.meters, "meter", "meters")
            ),
            meter: None,
            from: all.from,
            to: all.to,
            energy_kwh: Some(all.energy_kwh),
            max_demand_kw: all.max_demand_kw,
            max_demand_at: all.max_demand_at,
            demand_window_min: all.demand_window_min,
            load_factor: all.load_factor,
            trace: &all.trace,
            week: all.week.as_ref(),
        })
    }

    /// As [`SiteEnergy::of`]; of the first meter with a profile where nothing is known of the whole site.
    pub(super) fn drawn(energy: &'e EnergyResult) -> Option<SiteEnergy<'e>> {
        let is_drawn = |trace: &DemandTrace| !trace.weekday_profile_kw.is_empty();
        SiteEnergy::of(energy)
            .filter(|site| is_drawn(site.trace))
            .or_else(|| {
                let meter = energy.meters.iter().find(|meter| is_drawn(&meter.trace))?;
                Some(SiteEnergy::of_meter(energy, meter))
            })
    }

    fn of_meter(energy: &'e EnergyResult, meter: &'e MeterEnergy) -> SiteEnergy<'e> {
        SiteEnergy {
            of: format!("Meter {}", meter.id),
            meter: Some(meter),
            from: meter.from,
            to: meter.to,
            energy_kwh: meter.energy_kwh,
            max_demand_kw: meter.max_demand_kw,
            max_demand_at: meter.max_demand_at,
            demand_window_min: meter.demand_window_min,
            load_factor: meter.load_factor,
            trace: &meter.trace,
            week: energy.study.week.iter().find(|week| week.meter == meter.id),
        }
    }
}
