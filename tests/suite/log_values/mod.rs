//! What readings mean, one small log for each oddity. The figures are worked out by hand beside
//! each case; nothing expected comes from the program.

mod demo;
mod ladder;
mod plausibility;
mod registers;

use std::fmt::Write as _;
use std::fs;

use tapoff::demand::{EnergyResult, MeterEnergy, QualityEntry, analyse};
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period, read_logs};
use tapoff::site::{Site, read_site};

/// A site in UTC with a supply of 230/400 V and 100 A and one meter, `m`.
pub(crate) struct Case {
    measures: &'static str,
    keys: String,
    columns: String,
    log: String,
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
        let mut log = String::new();
        for (hour, row) in (1..).zip(rows) {
            let (day, hour) = (9 + hour / 24, hour % 24);
            writeln!(log, "2026-03-{day:02} {hour:02}:00,{row}").expect("a String takes any text");
        }
        Case {
            measures: "supply",
            keys: String::new(),
            columns: columns.to_owned(),
            log,
        }
    }

    /// With another key of the meter.
    pub(crate) fn with(mut self, key: &str) -> Case {
        writeln!(self.keys, "{key}").expect("a String takes any text");
        self
    }

    /// A meter at the only machine, which is on L1.
    pub(crate) fn at_machine(mut self) -> Case {
        self.measures = "oven";
        self
    }

    /// Reads and analyses the case. `head` names the columns of the log after `time`.
    pub(crate) fn run(&self, head: &str) -> Outcome {
        let folder = tempfile::tempdir().expect("a folder");
        let site = format!(
            "[site]\nname = \"case\"\ntimezone = \"UTC\"\ndemand_window_min = 60\n\n[supply]\n\
             line_voltage_v = 400\nphase_limit_a = 100\n\n[[meter]]\nid = \"m\"\nmeasures = \"{}\"\n\
             files = \"m.csv\"\ntime = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n{}\n\
             [meter.columns]\n{}\n",
            self.measures, self.keys, self.columns
        );
        let log = format!("time,{head}\n{}", self.log);
        let machines = "machine,circuit,connection,power_kw\noven,supply,L1,3\n";
        for (name, text) in [
            ("site.toml", site.as_str()),
            ("machines.csv", machines),
            ("m.csv", &log),
        ] {
            fs::write(folder.path().join(name), text).expect("a file");
        }
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(!messages.has_errors(), "the log can be read");
        let result = analyse(&site, &logs, None);
        Outcome { site, logs, result }
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
