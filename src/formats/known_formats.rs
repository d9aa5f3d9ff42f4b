//! The formats there are, in the order in which they are asked.

use super::espi::Espi;
use super::hand_registers::HandRegisters;
use super::log_format::LogFormat;
use super::nem12::Nem12;
use super::nem13::Nem13;
use super::readings_table::TableOfReadings;
use super::several_meters::SeveralMeters;
use super::wide::WideDays;

/// In the order in which they are asked.
static FORMATS: [&dyn LogFormat; 6] = [
    &Nem12,
    &Nem13,
    &Espi,
    &HandRegisters,
    &WideDays,
    &TableOfReadings,
];

/// The format of a file by its beginning, and why. Where columns are declared, it is a plain log; it may be one of
/// several meters.
#[must_use]
pub fn recognised(beginning: &str, declared: bool) -> Option<(&'static dyn LogFormat, String)> {
    let formats: &[&'static dyn LogFormat] = if declared {
        &[&SeveralMeters]
    } else {
        &FORMATS
    };
    formats
        .iter()
        .find_map(|format| Some((*format, format.recognise(beginning)?)))
}
