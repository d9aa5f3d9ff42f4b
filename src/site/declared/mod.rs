//! What site.toml and the machine list may hold: the declarations from which they are read and explained.

mod boards;
mod estate;
mod files;
mod header_words;
mod machines;
mod meters;
mod sheet_column;
mod supply;
mod tariff;
mod tariff_sheet;
#[cfg(test)]
mod tests;
mod variables;
mod work;
mod workbook;

use declaration::{Declared, Key};

pub use estate::ESTATE_FILE;
pub use files::{CARBON_FILE, READINGS, SWITCHING, VARIABLE_FILE};
pub(crate) use header_words::machine_words;
pub use header_words::reading_words;
pub use machines::{MACHINES, NEW_MACHINES};
pub(crate) use meters::COLUMN;
pub use sheet_column::{SheetColumn, SheetValue, SiteSheet};
pub(crate) use tariff::TARIFF_FILE;
pub(crate) use workbook::sheet_words;
pub use workbook::{CONNECTIONS, SITE_SHEETS, SUPPLY_ROWS, YES_NO};

use crate::model::accuracy::Accuracy;
use crate::model::thresholds::Thresholds;

/// The tables of site.toml.
pub static SITE_FILE: Declared = Declared {
    meaning: "What the installation is: supply, boards, circuits, schedules, meters, tariff.",
    keys: &[
        Key::table("site", &supply::SITE).required(),
        Key::table("supply", &supply::SUPPLY).required(),
        Key::tables("board", &boards::BOARD),
        Key::tables("circuit", &boards::CIRCUIT),
        Key::tables("schedule", &supply::SCHEDULE),
        Key::tables("cable_size", &boards::CABLE_SIZE),
        Key::tables("meter", &meters::METER),
        Key::tables("tariff", &tariff::TARIFF),
        Key::table("billing", &tariff::BILLING),
        Key::table("carbon", &supply::CARBON),
        Key::tables("variable", &variables::VARIABLE),
        Key::table("baseline", &variables::BASELINE),
        Key::tables("work", &work::WORK),
        Key::tables("accepted", &work::ACCEPTED),
        Key::table("thresholds", &THRESHOLDS),
        Key::table("accuracy", &ACCURACY),
    ],
};

static ACCURACY: Declared = Declared {
    meaning: "How far ratings, utilisation factors and clamp-meter readings can be off: 95 % are within it. The ranges of \
              estimated figures rest on these.",
    keys: Accuracy::KEYS,
};

static THRESHOLDS: Declared = Declared {
    meaning: "Limits above which something becomes a finding. Each has a usual value; a local rule comes first.",
    keys: Thresholds::KEYS,
};
