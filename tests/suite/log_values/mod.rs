//! What readings mean, one small log for each oddity. The figures are worked out by hand beside
//! each case; nothing expected comes from the program.

mod demo;
mod ladder;
mod lines;
mod plausibility;
mod registers;

use tapoff::demand::{EnergyResult, MeterEnergy, QualityEntry};
use tapoff::metering::Logs;
use tapoff::site::Site;

use crate::log_shapes::Written;

/// A log of one reading an hour, whose rows are written one by one.
pub(crate) struct Case {
    columns: String,
    keys: Vec<String>,
    is_of_oven: bool,
    rows: Vec<String>,
}

/// What a case gave.
pub(crate) struct Outcome {
    pub(crate) site: Site,
    pub(crate) logs: Logs,
    pub(crate) result: EnergyResult,
}

impl Case {
    /// A meter at the supply, with readings on the full hour, each for the hour that ends there.
    pub(crate) fn hourly(columns: &str, rows: &[&str]) -> Case {
        let row = |(hour, row): (usize, &&str)| {
            let (day, hour) = (9 + hour / 24, hour % 24);
            format!("2026-03-{day:02} {hour:02}:00,{row}")
        };
        Case {
            columns: columns.to_owned(),
            keys: Vec::new(),
            is_of_oven: false,
            rows: (1..).zip(rows).map(row).collect(),
        }
    }

    /// With another key of the meter.
    pub(crate) fn with(mut self, key: &str) -> Case {
        self.keys.push(key.to_owned());
        self
    }

    /// With another line after so many rows.
    pub(crate) fn with_line(mut self, after: usize, line: &str) -> Case {
        self.rows.insert(after, line.to_owned());
        self
    }

    /// A meter at the only machine, which is on L1.
    pub(crate) fn at_machine(mut self) -> Case {
        self.is_of_oven = true;
        self
    }

    /// Reads and analyses the case. `head` names the columns of the log after `time`.
    pub(crate) fn run(&self, head: &str) -> Outcome {
        let log = format!("time,{head}\n{}\n", self.rows.join("\n"));
        let time = "time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }";
        let mut written = Written::new(&self.columns, log).with(time);
        for key in &self.keys {
            written = written.with(key);
        }
        if self.is_of_oven {
            written = written.at_oven();
        }
        written.run_warned().0
    }
}

impl Outcome {
    pub(crate) fn meter(&self) -> &MeterEnergy {
        &self.result.meters[0]
    }

    /// Kinds and counts of the quality list.
    pub(crate) fn kinds(&self) -> Vec<(&str, u64)> {
        let entries = self.meter().quality.iter();
        entries
            .map(|entry| (entry.kind.as_str(), entry.count))
            .collect()
    }

    pub(crate) fn entry(&self, kind: &str) -> &QualityEntry {
        let mut entries = self.meter().quality.iter();
        entries
            .find(|entry| entry.kind == kind)
            .unwrap_or_else(|| panic!("{kind} is not among {:?}", self.kinds()))
    }
}

#[track_caller]
pub(crate) fn close(found: Option<f64>, expected: f64) {
    let found = found.expect("a value");
    assert!(
        (found - expected).abs() < 1e-6,
        "{found} instead of {expected}"
    );
}
