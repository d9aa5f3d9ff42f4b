//! What the header of a log says: which column holds which quantity, in which unit.
//!
//! In: names of columns, units, first rows. Out: quantities with the factor to their own unit and
//! the reason for each.

mod guess;
mod header;
mod obis;
mod recognise;
mod trade_words;

pub(crate) use header::{Header, TIME_WORDS};
pub(crate) use recognise::{Found, Open, recognise};

use site::Quantity;

/// Why a column is taken for a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// It is named in the site file.
    Declared,
    /// Its name is that of the quantity.
    Name,
    /// Its name is an OBIS code (IEC 62056-6-1).
    Obis,
    /// Its name is made of a symbol of the trade, a phase and a unit.
    Words,
    /// The format of the file says it.
    Format,
}

impl Reason {
    /// Name in results.
    pub const fn name(self) -> &'static str {
        match self {
            Reason::Declared => "declared",
            Reason::Name => "name",
            Reason::Obis => "obis",
            Reason::Words => "words",
            Reason::Format => "format",
        }
    }

    /// In words.
    pub const fn text(self) -> &'static str {
        match self {
            Reason::Declared => "site.toml",
            Reason::Name => "the quantity's name",
            Reason::Obis => "OBIS code, IEC 62056-6-1",
            Reason::Words => "symbol, phase and unit",
            Reason::Format => "the file's format",
        }
    }
}

/// What a name alone says.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Guess {
    meaning: Meaning,
    /// Factor to the unit of the quantity.
    factor: f64,
    reason: Reason,
    /// The unit is not given and taken to be that of the quantity.
    unit_assumed: bool,
    /// A register of one tariff, the total being another column.
    of_tariff: bool,
}

/// A quantity, or energy of which the readings show whether it is a register.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Meaning {
    Quantity(Quantity),
    Energy {
        register: Quantity,
        amount: Quantity,
    },
}
