//! What text logs look like, one small log for each oddity. The totals are worked out by hand
//! beside each case; nothing expected comes from the program.

mod characters;
mod clocks;
mod headers;
mod table;
mod times;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use tapoff::demand::analyse;
use tapoff::message::{Level, Messages};
use tapoff::metering::{Logs, Period, read_logs};
use tapoff::site::{Site, read_site};

use crate::log_values::Outcome;

/// A site with a supply of 230/400 V and 100 A, an oven on L1, and one meter, `m`, that reads `logs/*`.
pub(crate) struct Written {
    zone: &'static str,
    measures: &'static str,
    keys: String,
    columns: String,
    files: Vec<(String, Vec<u8>)>,
}

/// The log of the machine `m` with total active power in the column `P`.
pub(crate) fn power(log: impl AsRef<[u8]>) -> Written {
    Written::new("active_power_kw = \"P\"", log)
}

/// A log whose columns are not declared.
pub(crate) fn undeclared(log: impl AsRef<[u8]>) -> Written {
    Written::new("", log)
}

impl Written {
    pub(crate) fn new(columns: &str, log: impl AsRef<[u8]>) -> Written {
        Written {
            zone: "UTC",
            measures: "supply",
            keys: String::new(),
            columns: columns.to_owned(),
            files: vec![("a.csv".to_owned(), log.as_ref().to_vec())],
        }
    }

    /// With another key of the meter.
    pub(crate) fn with(mut self, key: &str) -> Written {
        writeln!(self.keys, "{key}").expect("a String takes any text");
        self
    }

    pub(crate) fn in_zone(mut self, zone: &'static str) -> Written {
        self.zone = zone;
        self
    }

    /// At the oven instead of the supply.
    pub(crate) fn at_oven(mut self) -> Written {
        self.measures = "oven";
        self
    }

    /// The only file under another name.
    pub(crate) fn called(mut self, name: &str) -> Written {
        name.clone_into(&mut self.files[0].0);
        self
    }

    /// With another file.
    pub(crate) fn and(mut self, name: &str, log: impl AsRef<[u8]>) -> Written {
        self.files.push((name.to_owned(), log.as_ref().to_vec()));
        self
    }

    fn write(&self, folder: &Path) -> Site {
        let columns = match self.columns.as_str() {
            "" => String::new(),
            columns => format!("[meter.columns]\n{columns}\n"),
        };
        let site = format!(
            "[site]\nname = \"case\"\ntimezone = \"{}\"\ndemand_window_min = 60\n\n[supply]\n\
             line_voltage_v = 400\nphase_limit_a = 100\n\n[[meter]]\nid = \"m\"\nmeasures = \"{}\"\n\
             files = \"logs/*\"\n{}\n{columns}",
            self.zone, self.measures, self.keys
        );
        fs::create_dir(folder.join("logs")).expect("a folder");
        for (name, bytes) in [
            ("site.toml", site.as_bytes()),
            (
                "machines.csv",
                b"machine,circuit,connection,power_kw\noven,supply,L1,3\n",
            ),
        ] {
            fs::write(folder.join(name), bytes).expect("a file");
        }
        for (name, bytes) in &self.files {
            fs::write(folder.join("logs").join(name), bytes).expect("a file");
        }
        read_site(folder).expect("a sound site").0
    }

    fn read(&self) -> (Site, Logs, Messages) {
        let folder = tempfile::tempdir().expect("a folder");
        let site = self.write(folder.path());
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        (site, logs, messages)
    }

    /// Reads and analyses logs that give no reason to warn.
    #[track_caller]
    pub(crate) fn run(&self) -> Outcome {
        let (outcome, warnings) = self.run_warned();
        assert_eq!(warnings, Vec::<String>::new());
        outcome
    }

    /// Reads and analyses logs; gives the names of the warnings too.
    #[track_caller]
    pub(crate) fn run_warned(&self) -> (Outcome, Vec<String>) {
        let (site, logs, messages) = self.read();
        let text = messages.draw(Level::Error, false);
        assert!(!messages.has_errors(), "{text}");
        let names = messages
            .of(Level::Warning)
            .map(|message| message.name.to_owned());
        let warnings = names.collect();
        let result = analyse(&site, &logs, None);
        (Outcome { site, logs, result }, warnings)
    }

    /// The error that stands in the way of reading the logs.
    #[track_caller]
    pub(crate) fn refused(&self) -> String {
        let (_, _, messages) = self.read();
        assert!(messages.has_errors(), "the log is read");
        messages.draw(Level::Error, false)
    }
}

/// No oddities.
pub(crate) const NONE: [(&str, u64); 0] = [];

/// The same text, its parts written by another rule.
pub(crate) fn utf_16(text: &str, bytes: impl Fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}
