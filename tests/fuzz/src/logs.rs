//! Sites that declare one log in different ways.

use crate::{SITE, Workshop};

/// What is said about the log, after its name.
const DECLARED: [&str; 8] = [
    "",
    "separator = ';'\ndecimal = ','\nthousands = '.'\nmissing = ['-', 'n/a']\n",
    "time = { column = 'time', format = '%Y-%m-%d %H:%M', zone = 'UTC', midnight = 'closes-day' }\n\
     [meter.columns]\ncurrent_l1_a = 'I1'\nactive_power_l1_kw = 'P1'\n",
    "header = false\ntime = { column = 1 }\n[meter.columns]\ncurrent_l1_a = 2\nenergy_import_kwh = 3\n",
    "time = { columns = ['date', 'time'] }\n",
    "time = { format = 'unix-ms', repeated_hour = 'error' }\nreadings = 'instant'\nstamp = 'start'\n",
    "ratio = 40\nclass = '0.5S'\nregister_digits = 5\nplausibility = 'keep'\n\
     [meter.columns]\ncurrent_l1_a = { column = 'I1', scale = -0.5 }\n\
     energy_import_kwh = 'kWh'\nactive_power_kw = ['P1', 'P2']\n",
    "readings = 'instant'\ntime = { column = 'time', format = '%d.%m.%Y %H:%M:%S' }\n",
];

/// One folder for each way of declaring the log.
#[derive(Debug)]
pub struct LogSites {
    name: &'static str,
    sites: Vec<Workshop>,
}

impl LogSites {
    /// Folders whose log has that name.
    #[must_use]
    pub fn new(name: &'static str) -> LogSites {
        let sites = DECLARED.map(|declared| {
            let workshop = Workshop::new();
            let meter = format!("[[meter]]\nid = 'main'\nmeasures = 'supply'\nfiles = '{name}'\n");
            workshop.put("site.toml", format!("{SITE}{meter}{declared}"));
            workshop
        });
        LogSites {
            name,
            sites: sites.into(),
        }
    }

    /// Reads a log with one of the declarations.
    pub fn read(&self, which: u8, log: &[u8]) {
        let workshop = &self.sites[usize::from(which) % self.sites.len()];
        workshop.put(self.name, log);
        workshop.read();
    }
}
