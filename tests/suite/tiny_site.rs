//! Installations of a few machines, written out in a test and solved through the whole program.

use std::fs;

use tapoff::balance::{BalanceResult, Settings, balance_with, read_fix};
use tapoff::message::{Level, Message, Messages};
use tapoff::metering::{Period, read_logs};
use tapoff::site::read_site;
use tempfile::TempDir;

/// What a test writes down. Loads in amperes at unity power factor, so that sums can be made by hand.
#[derive(Default)]
pub(crate) struct Tiny<'t> {
    /// What follows `[supply]`'s voltage in site.toml.
    pub(crate) toml: &'t str,
    /// Rows of machine, circuit, connection, current_a, schedule, movable, keep_with.
    pub(crate) machines: &'t str,
    /// readings.csv.
    pub(crate) readings: Option<&'t str>,
    /// A log, `log.csv`.
    pub(crate) log: Option<&'t str>,
    pub(crate) fixes: &'t [&'t str],
    pub(crate) max_moves: Option<usize>,
}

impl Tiny<'_> {
    pub(crate) fn write(&self) -> TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path();
        let toml = format!(
            "[site]\nname = 'tiny'\ntimezone = 'Europe/Berlin'\n[supply]\nline_voltage_v = 400\n{}",
            self.toml
        );
        fs::write(path.join("site.toml"), toml).expect("site.toml");
        let machines = format!(
            "machine,circuit,connection,current_a,schedule,movable,keep_with\n{}",
            self.machines
        );
        fs::write(path.join("machines.csv"), machines).expect("machines.csv");
        if let Some(readings) = self.readings {
            fs::write(path.join("readings.csv"), readings).expect("readings.csv");
        }
        if let Some(log) = self.log {
            fs::write(path.join("log.csv"), log).expect("log.csv");
        }
        folder
    }

    pub(crate) fn plan(&self) -> BalanceResult {
        let folder = self.write();
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(
            !messages.has_errors(),
            "{}",
            messages.draw(Level::Error, false)
        );
        let fixes: Vec<_> = self
            .fixes
            .iter()
            .map(|text| read_fix(&site, text).expect("a sound fix"))
            .collect();
        let settings = Settings {
            max_moves: self.max_moves,
            ..Settings::default()
        };
        balance_with(&site, &logs, &settings, &fixes).expect("a plan")
    }

    /// Errors in the readings.
    pub(crate) fn reading_errors(&self) -> Vec<Message> {
        let folder = self.write();
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(messages.has_errors() && logs.rounds.is_empty());
        messages.of(Level::Error).cloned().collect()
    }
}

#[track_caller]
pub(crate) fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 1e-6 * (1.0 + expected.abs()),
        "{found} instead of {expected}"
    );
}
