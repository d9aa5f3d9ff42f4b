//! What drives the energy, and what it is compared with: `[[variable]]` and `[baseline]` in site.toml.

use chrono::NaiveDate;

/// A series of the user's own that may explain the energy: production, degree days.
#[derive(Clone, Debug, PartialEq)]
pub struct Variable {
    /// Unique name.
    pub name: String,
    /// Its CSV, inside the site folder.
    pub file: String,
    /// The column with its values.
    pub column: String,
    /// The column with the dates; `None`: the first.
    pub time: Option<String>,
    /// What one row stands for.
    pub per: Per,
    /// What a value counts, for people.
    pub unit: Option<String>,
    /// The values are temperatures, of which degree days are made.
    pub degree_days: Option<DegreeDays>,
}

/// What a row of a variable's file stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Per {
    /// An hour of the local clock.
    Hour,
    /// A local day.
    Day,
    /// A week, Monday to Sunday.
    Week,
    /// A month.
    Month,
}

/// How degree days are made of temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DegreeDays {
    /// Kelvins below this base. (°C)
    Heating(f64),
    /// Kelvins above this base. (°C)
    Cooling(f64),
}

impl DegreeDays {
    /// Kelvins between the base and a temperature, none on the other side of it. (K)
    #[must_use]
    pub fn of(self, temperature_c: f64) -> f64 {
        match self {
            DegreeDays::Heating(base_c) => (base_c - temperature_c).max(0.0),
            DegreeDays::Cooling(base_c) => (temperature_c - base_c).max(0.0),
        }
    }
}

/// What a baseline counts by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, schemars::JsonSchema, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Every {
    /// Local day.
    Day,
    /// Week, Monday to Sunday.
    Week,
    /// Month.
    Month,
}

impl Every {
    /// One of them, in words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Every::Day => "day",
            Every::Week => "week",
            Every::Month => "month",
        }
    }
}

/// Name of the kinds of day among what a baseline goes by.
pub const DAY_TYPE: &str = "day type";

/// What is compared with what.
#[derive(Clone, Debug, PartialEq)]
pub struct BaselineTerms {
    /// First day of the baseline; `None` where only the arguments say.
    pub from: Option<NaiveDate>,
    /// First day after the baseline.
    pub to: Option<NaiveDate>,
    /// What is counted.
    pub every: Every,
    /// The meter's id; `None`: the meter of the supply.
    pub meter: Option<String>,
    /// What it goes by: [`DAY_TYPE`] and names of variables; `None`: all of them.
    pub goes_by: Option<Vec<String>>,
}

impl Default for BaselineTerms {
    fn default() -> BaselineTerms {
        BaselineTerms {
            from: None,
            to: None,
            every: Every::Day,
            meter: None,
            goes_by: None,
        }
    }
}
