//! The installation as declared: supply, boards, circuits, machines, meters, schedules.
//!
//! In: a site folder with `site.toml` and `machines.csv`. Out: a validated [`Site`], or every
//! fault of both files with its place. Nothing here looks at measured data.

mod bounds;
mod carbon;
mod connection;
mod decimals;
mod device;
mod driver;
mod kept_together;
mod known;
mod machine;
mod machine_list;
mod meter;
mod new_machines;
mod node;
mod quantity;
mod read;
mod read_drivers;
mod read_list;
mod read_meters;
mod read_schedules;
mod read_supply;
mod read_tariff_bands;
mod read_tariffs;
mod read_tree;
mod schedule;
mod sheet;
mod sheet_size;
mod site;
mod starter;
mod table;
mod thresholds;
mod work;

pub use carbon::CarbonFile;
pub use connection::{Connection, NotAConnection};
pub use device::{Cable, Conductor, DeviceKind, NotADevice, ProtectiveDevice};
pub use driver::{BaselineTerms, DAY_TYPE, DegreeDays, Driver, Every, Per};
pub use known::Known;
pub use machine::{Machine, Rating};
pub use machine_list::list_separator;
pub use meter::{
    ColumnUse, Meter, Plausibility, Readings, RepeatedHour, Stamp, TimeColumn, TimeFormat, Zone,
};
pub use new_machines::{NewMachine, OwnCable, Start, read_new_machine, read_new_machines};
pub use node::{Measured, Node};
pub use quantity::{Kind, Quantity};
pub use read::read_site;
pub use read::{read_file, read_text};
pub use schedule::{Schedule, Shift};
pub use site::{Board, CableSize, Circuit, Site, Supply};
pub use starter::starter_files;
pub use thresholds::Thresholds;
pub use work::{Moved, Work, work_time};
