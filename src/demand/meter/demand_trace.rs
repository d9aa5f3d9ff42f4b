//! Series of one meter, for charts.

use std::sync::Arc;

use schemars::JsonSchema;
use serde::Serialize;

use super::blocks::Block;
use super::quarter_hours::QuarterHours;

/// Series of one meter, for charts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DemandTrace {
    /// Stretches with readings: start and end, Unix seconds, ascending.
    pub covered_s: Vec<(i64, i64)>,
    /// Quarter-hours with readings, ascending.
    pub quarters: Arc<QuarterHours>,
    /// Lagging energy by quarter-hour, as (start, kvarh); none if only registers give it.
    pub lagging_kvarh: Vec<(i64, f64)>,
    /// The complete demand periods, ascending.
    pub blocks: Arc<[Block]>,
    /// Mean power by local quarter-hour of the day (96 values, none without power) on working days:
    /// Monday to Friday without the site's holidays. Only complete quarter-hours count. (kW)
    pub weekday_profile_kw: Vec<Option<f64>>,
    /// The same on Saturdays, Sundays and holidays. (kW)
    pub weekend_profile_kw: Vec<Option<f64>>,
    /// Largest quarter-hour by local quarter-hour of the day over all days. (kW)
    pub highest_profile_kw: Vec<Option<f64>>,
    /// Local days with readings, ascending; a day may have 92, 96 or 100 quarter-hours.
    pub days: Vec<DayEnergy>,
}

/// Energy of one local day.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DayEnergy {
    /// Local date, ISO 8601.
    pub date: String,
    /// Net energy. (kWh)
    pub energy_kwh: f64,
    /// False where part of the day has no readings.
    pub complete: bool,
}
