//! The site as the page shows it, and the messages about the input.

use super::sources::Sources;
use chrono_tz::Tz;

/// The site as the head of the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteHeader {
    /// The site's name.
    pub name: String,
    /// The time zone of days and time axes.
    pub timezone: Tz,
    /// Nominal line-to-line voltage. (V)
    pub line_voltage_v: f64,
    /// Supply fuse or agreed capacity, per phase. (A)
    pub phase_limit_a: f64,
    /// Neutral limit of the supply. (A)
    pub neutral_limit_a: f64,
    /// The boards, in the order of the site file.
    pub boards: Vec<BoardHeader>,
    /// Conductor colours as the site file gives them.
    pub conductor_colours: ConductorColours,
    /// ISO 4217 code of the currency.
    pub currency: Option<String>,
    /// The machine list as it was read, so that the page can write a changed one.
    pub machine_list: String,
    /// What the report is made from.
    pub sources: Sources,
}

/// A board with its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardHeader {
    /// The board's id.
    pub id: String,
    /// `supply`, or another board's id.
    pub fed_from: String,
    /// Limit per phase. (A)
    pub phase_limit_a: Option<f64>,
    /// Limit of the neutral. (A)
    pub neutral_limit_a: Option<f64>,
}

/// Conductor colours in words, where they are known. They are printed as words, never used as colours.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ConductorColours {
    /// L1, L2, L3.
    pub phases: [Option<String>; 3],
    /// Neutral.
    pub neutral: Option<String>,
}

/// A message about the input.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportMessage {
    /// Its severity.
    pub level: MessageLevel,
    /// What is wrong, where, and what to do.
    pub text: String,
}

/// Severity of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MessageLevel {
    /// Something could not be used.
    Error,
    /// Something was used, but may be wrong.
    Warning,
    /// Worth knowing.
    Note,
}

impl MessageLevel {
    /// The word printed before the message.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            MessageLevel::Error => "error",
            MessageLevel::Warning => "warning",
            MessageLevel::Note => "note",
        }
    }
}
