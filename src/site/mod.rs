//! The installation as declared: supply, boards, circuits, machines, meters, schedules.
//!
//! In: a site folder with `site.toml` and `machines.csv`. Out: a validated [`Site`], or every
//! fault of both files with its place. Nothing here looks at measured data.

mod declared;
mod doubts;
mod model;
mod read;
mod starter;

pub use crate::declared::{
    CARBON_FILE, CONNECTIONS, ESTATE_FILE, MACHINES, NEW_MACHINES, READINGS, SITE_FILE,
    SITE_SHEETS, SUPPLY_ROWS, SWITCHING, SheetColumn, SheetValue, SiteSheet, VARIABLE_FILE, YES_NO,
    reading_words,
};
pub use crate::doubts::doubts;
pub use crate::model::accepted::Accepted;
pub use crate::model::accuracy::Accuracy;
pub use crate::model::carbon::CarbonFile;
pub use crate::model::connection::{Connection, NotAConnection};
pub use crate::model::device::{Cable, Conductor, DeviceKind, ProtectiveDevice};
pub use crate::model::device_words::NotADevice;
pub use crate::model::machine::{Machine, MachineRole, Rating};
pub use crate::model::meter::{
    ColumnUse, Corrections, Meter, Plausibility, ReadingKind, RepeatedHour, Stamp, TimeColumn,
    TimeFormat, Zone,
};
pub use crate::model::node::{Measured, Node};
pub use crate::model::quantity::{Quantity, QuantityKind};
pub use crate::model::schedule::{Schedule, Shift};
pub use crate::model::site::{Board, CableSize, Circuit, ReadingsSource, Site, Supply};
pub use crate::model::site_tariffs::{MeterTariffs, SiteTariffs};
pub use crate::model::thresholds::Thresholds;
pub use crate::model::variable::{BaselineTerms, DAY_TYPE, DegreeDays, Every, Per, Variable};
pub use crate::model::work::{Moved, Work, work_time};
pub use crate::read::estate_file::{EstateSite, read_estate_file};
pub use crate::read::file::{read_file, read_text};
pub use crate::read::new_machines::{
    NewMachine, OwnCable, Start, read_new_machine, read_new_machines,
};
pub use crate::read::site_folder::read_site;
pub use crate::read::table_file::{read_table_file, table_files, two_files};
pub use crate::read::workbook_site::is_site_workbook;
pub use read::tariff_file::read_tariff_file;
pub use starter::{site_around, starter_files};
pub use user_tables::{TableFile, Understood};
