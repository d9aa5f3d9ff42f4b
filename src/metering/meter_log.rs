//! One meter's log, clean.

use std::sync::OnceLock;

use super::logged_column::LoggedColumn;
use crate::clean::register::counted;
use crate::clean::register_check::RegisterCheck;
use crate::header::file_form::FileForm;
use crate::table::gaps;
use crate::table::gaps::Coverage;
use crate::table::interval_table::IntervalTable;
use crate::table::meter_fault::{MeterFault, Treatment};
use crate::table::phasors::{PhasePhasors, phase_phasors};
use crate::table::quality::QualityEntry;
use crate::time::known::Known;
use site::Quantity;

/// One meter's log, clean.
#[derive(Clone, Debug)]
pub struct MeterLog {
    /// Index of the meter in the site.
    pub meter: usize,
    /// One row per interval.
    pub table: IntervalTable,
    /// The table as it was logged, where faults of the meter were corrected or left out in `table`.
    pub(super) as_logged: Option<Box<IntervalTable>>,
    /// Faults of the meter and its wiring.
    pub faults: Vec<MeterFault>,
    /// Time between readings as logged. (s)
    pub cadence_s: u32,
    /// How much of the time has readings.
    pub coverage: Coverage,
    /// Consumption from the cumulative register. (kWh)
    pub register_energy_kwh: Option<f64>,
    /// Last digit that the register shows. (kWh)
    pub register_step_kwh: Option<f64>,
    /// The register against the power, over the time that both saw.
    pub register_check: Option<RegisterCheck>,
    /// Problems and what was done about them.
    pub quality: Vec<QualityEntry>,
    /// Columns used.
    pub columns: Vec<LoggedColumn>,
    /// How its files are written.
    pub files: Vec<FileForm>,
    /// Rows of the log.
    pub rows: u64,
    /// Rows that were plain enough for the fast path.
    pub plain_rows: u64,
    /// How its times became intervals, for another pass over its files.
    pub(super) known: Option<Known>,
    /// Nominal voltage to neutral of the supply, where no voltage is logged. (V)
    pub(super) phase_voltage_v: f64,
    /// Worked out when first asked for.
    pub(super) phasors: OnceLock<Option<PhasePhasors>>,
}

impl MeterLog {
    /// The phase currents as phasors; `None` unless each phase has a current or a power.
    pub fn phasors(&self) -> Option<&PhasePhasors> {
        self.phasors
            .get_or_init(|| phase_phasors(&self.table, self.phase_voltage_v))
            .as_ref()
    }

    /// The table that a bill rests on: as it was logged.
    #[must_use]
    pub fn as_logged(&self) -> &IntervalTable {
        self.as_logged.as_deref().unwrap_or(&self.table)
    }

    /// The same log with its table as it was logged; `None` where that is the table that all answers rest on.
    #[must_use]
    pub fn unaltered(&self) -> Option<MeterLog> {
        self.as_logged.as_deref().map(|table| MeterLog {
            table: table.clone(),
            as_logged: None,
            phasors: OnceLock::new(),
            ..self.clone()
        })
    }

    /// Takes a table in which faults are corrected or left out for what all answers rest on.
    pub fn rest_on(&mut self, table: IntervalTable, faults: Vec<MeterFault>) {
        if faults
            .iter()
            .any(|fault| fault.remedy != Treatment::Reported)
        {
            let logged = std::mem::replace(&mut self.table, table);
            self.as_logged = Some(Box::new(logged));
            self.phasors = OnceLock::new();
        }
        self.faults = faults;
    }

    /// A log of a table that was not read from files.
    #[must_use]
    pub fn of_table(meter: usize, mut table: IntervalTable) -> MeterLog {
        let ground = crate::clean::derive::Ground {
            three_phase: true,
            to_neutral: true,
            phase_voltage_v: 230.0,
            may_return: table.has(Quantity::EnergyExport),
            register_closes: true,
        };
        crate::clean::derive::derive(&mut table, &ground);
        MeterLog {
            meter,
            as_logged: None,
            faults: Vec::new(),
            cadence_s: table.interval_s(),
            coverage: gaps::coverage(table.starts(), i64::from(table.interval_s())),
            register_energy_kwh: table
                .values(Quantity::EnergyImport(None))
                .and_then(|counts| counted(counts.iter())),
            register_step_kwh: None,
            register_check: None,
            quality: Vec::new(),
            columns: Vec::new(),
            files: Vec::new(),
            rows: 0,
            plain_rows: 0,
            known: None,
            phase_voltage_v: ground.phase_voltage_v,
            phasors: OnceLock::new(),
            table,
        }
    }
}
