//! The row of a site: what it is, how its analysis ended, and its main figures.

use serde::{Deserialize, Serialize};

use site::EstateSite;
use tables::{Cell, Column, FILES, StoredAs, Table, columns, exact, fixed, number, words};
use units::FigureKind as Q;

/// How the analysis of a site ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SiteStatus {
    /// It was analysed.
    #[default]
    Ok,
    /// It could not be; the message says why.
    Failed,
}

impl SiteStatus {
    /// As written in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            SiteStatus::Ok => "ok",
            SiteStatus::Failed => "failed",
        }
    }
}

/// A row of the table `sites`. A figure that is not known is `None`. Those of energy and demand are of the meters of
/// the supply that make up its energy.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
pub struct SiteRow {
    /// Path below the estate's folder.
    pub site: String,
    /// Its name in site.toml.
    pub name: Option<String>,
    /// Sites of one group are compared with each other.
    pub group: String,
    /// How its analysis ended.
    pub status: SiteStatus,
    /// Why it failed.
    pub message: Option<String>,
    /// Start of the readings of the supply, UTC.
    pub from: Option<String>,
    /// End of the readings of the supply, UTC.
    pub to: Option<String>,
    /// Length of a demand period. (min)
    pub demand_window_min: Option<f64>,
    /// Number of meters that make up the supply.
    pub supply_meters: Option<f64>,
    /// Energy imported. (kWh)
    pub energy_import_kwh: Option<f64>,
    /// Energy exported. (kWh)
    pub energy_export_kwh: Option<f64>,
    /// Mean energy of a day, over whole weeks of whole days. (kWh)
    pub day_mean_kwh: Option<f64>,
    /// 95 % range of that mean, from the scatter of the weeks. (kWh)
    pub day_mean_low_kwh: Option<f64>,
    /// Its upper end. (kWh)
    pub day_mean_high_kwh: Option<f64>,
    /// Maximum demand. (kW)
    pub max_demand_kw: Option<f64>,
    /// Maximum demand. (kVA)
    pub max_demand_kva: Option<f64>,
    /// Agreed capacity by the tariff. (kVA)
    pub agreed_capacity_kva: Option<f64>,
    /// Mean power over maximum demand.
    pub load_factor: Option<f64>,
    /// Power factor.
    pub power_factor: Option<f64>,
    /// Base load. (kW)
    pub base_load_kw: Option<f64>,
    /// Base load as a share of the energy. (%)
    pub base_load_share_pct: Option<f64>,
    /// Energy out of hours as a share. (%)
    pub out_of_hours_pct: Option<f64>,
    /// Cost of the logged period.
    pub cost: Option<f64>,
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// Carbon by the user's own factor. (kg)
    pub carbon_kg: Option<f64>,
    /// Findings that are dangers and not accepted.
    pub dangers: Option<f64>,
    /// Warnings, likewise.
    pub warnings: Option<f64>,
    /// Notices, likewise.
    pub notices: Option<f64>,
    /// Neutral of the supply, rms over time. (A)
    pub neutral_rms_a: Option<f64>,
    /// The same after the recommended moves. (A)
    pub neutral_after_recommended_a: Option<f64>,
    /// Number of recommended moves.
    pub recommended_moves: Option<f64>,
    /// Largest interval mean of L1. (A)
    pub phase_max_a_l1: Option<f64>,
    /// Of L2. (A)
    pub phase_max_a_l2: Option<f64>,
    /// Of L3. (A)
    pub phase_max_a_l3: Option<f64>,
    /// Limit per phase of the supply. (A)
    pub phase_limit_a: Option<f64>,
    /// Number of phases of the supply above their limit.
    pub overloaded_phases: Option<f64>,
    /// Share of the time of the supply's log that has readings. (%)
    pub data_coverage_pct: Option<f64>,
    /// Problems found in the data.
    pub problems: Option<f64>,
    /// Floor area. (m²)
    pub floor_area_m2: Option<f64>,
    /// What it made in the time of its logs.
    pub output: Option<f64>,
    /// Unit of that.
    pub output_unit: Option<String>,
    /// The user's words, separated by `; `.
    pub tags: Option<String>,
}

impl SiteRow {
    /// What is known of a site before it is analysed.
    #[must_use]
    pub fn of(entry: &EstateSite) -> SiteRow {
        let filled = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        SiteRow {
            site: entry.path.clone(),
            group: entry.group.clone(),
            floor_area_m2: entry.floor_area_m2,
            output: entry.output,
            output_unit: filled(&entry.output_unit),
            tags: filled(&entry.tags.join("; ")),
            ..SiteRow::default()
        }
    }

    /// The row of a site that could not be analysed.
    #[must_use]
    pub fn failed(entry: &EstateSite, message: impl Into<String>) -> SiteRow {
        SiteRow {
            status: SiteStatus::Failed,
            message: Some(message.into()),
            ..SiteRow::of(entry)
        }
    }

    /// Largest current of a phase as a share of the limit. (%)
    #[must_use]
    pub fn loading_pct(&self) -> Option<f64> {
        let limit_a = self.phase_limit_a?;
        let phases = [
            self.phase_max_a_l1,
            self.phase_max_a_l2,
            self.phase_max_a_l3,
        ];
        let largest_a = phases.into_iter().flatten().reduce(f64::max)?;
        (limit_a > 0.0).then(|| 100.0 * largest_a / limit_a)
    }

    /// What the recommended moves take off the neutral. (A)
    #[must_use]
    pub fn neutral_gain_a(&self) -> Option<f64> {
        Some(self.neutral_rms_a? - self.neutral_after_recommended_a?)
    }
}

/// A moment in a text as the tables have it.
pub(crate) fn moment_cell(text: Option<&String>) -> Cell {
    let read = text.and_then(|text| chrono::DateTime::parse_from_rfc3339(text).ok());
    read.map_or(Cell::Unknown, Cell::Instant)
}

fn moments(head: &'static str) -> Column {
    words(head).stored_as(StoredAs::Moment)
}

/// The table `sites`.
#[must_use]
pub fn sites_table(rows: &[SiteRow]) -> Table {
    columns! { row in &SiteRow;
        site: words("Site") => &row.site;
        name: words("Name") => row.name.clone();
        group: words("Group") => &row.group;
        status: words("Status") => row.status.name();
        message: words("Message").optional() => row.message.clone();
        from: moments("Readings from, UTC") => moment_cell(row.from.as_ref());
        to: moments("Readings to, UTC") => moment_cell(row.to.as_ref());
        demand_window_min: exact("Demand period", "min") => row.demand_window_min;
        supply_meters: exact("Meters of the supply", "") => row.supply_meters;
        energy_import_kwh: number("Energy imported", Q::ActiveEnergy) => row.energy_import_kwh;
        energy_export_kwh: number("Energy exported", Q::ActiveEnergy) => row.energy_export_kwh;
        day_mean_kwh: number("Mean energy of a day", Q::ActiveEnergy) => row.day_mean_kwh;
        day_mean_low_kwh: number("Mean energy of a day, low", Q::ActiveEnergy) => row.day_mean_low_kwh;
        day_mean_high_kwh: number("Mean energy of a day, high", Q::ActiveEnergy) => row.day_mean_high_kwh;
        max_demand_kw: number("Maximum demand", Q::ActivePower) => row.max_demand_kw;
        max_demand_kva: number("Maximum demand", Q::ApparentPower) => row.max_demand_kva;
        agreed_capacity_kva: number("Agreed capacity", Q::ApparentPower) => row.agreed_capacity_kva;
        load_factor: number("Load factor", Q::Factor) => row.load_factor;
        power_factor: number("Power factor", Q::PowerFactor) => row.power_factor;
        base_load_kw: number("Base load", Q::ActivePower) => row.base_load_kw;
        base_load_share_pct: number("Base load as a share of the energy", Q::Percent) => row.base_load_share_pct;
        out_of_hours_pct: number("Energy out of hours", Q::Percent) => row.out_of_hours_pct;
        cost: fixed("Cost", "", 2) => row.cost;
        currency: words("Currency") => row.currency.clone();
        carbon_kg: number("Carbon emissions", Q::Carbon) => row.carbon_kg;
        dangers: exact("Dangers", "") => row.dangers;
        warnings: exact("Warnings", "") => row.warnings;
        notices: exact("Notices", "") => row.notices;
        neutral_rms_a: number("Neutral, rms", Q::Current) => row.neutral_rms_a;
        neutral_after_recommended_a: number("Neutral after the recommended moves, rms", Q::Current)
            => row.neutral_after_recommended_a;
        recommended_moves: exact("Recommended moves", "") => row.recommended_moves;
        phase_max_a_l1: number("L1, maximum", Q::Current) => row.phase_max_a_l1;
        phase_max_a_l2: number("L2, maximum", Q::Current) => row.phase_max_a_l2;
        phase_max_a_l3: number("L3, maximum", Q::Current) => row.phase_max_a_l3;
        phase_limit_a: exact("Limit per phase", "A") => row.phase_limit_a;
        overloaded_phases: exact("Phases over the limit", "") => row.overloaded_phases;
        data_coverage_pct: number("Coverage", Q::Percent) => row.data_coverage_pct;
        problems: exact("Problems found in the data", "") => row.problems;
        floor_area_m2: exact("Floor area", "m²") => row.floor_area_m2;
        output: exact("Output", "").only(FILES) => row.output;
        output_unit: words("Unit of the output").only(FILES) => row.output_unit.clone();
        tags: words("Tags").only(FILES) => row.tags.clone();
    }
    .table("sites", "Sites", rows)
}
