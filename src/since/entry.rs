//! The list of what has changed.

use schemars::JsonSchema;
use serde::Serialize;

use finding::Value;

/// What an entry is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// Energy per day of readings.
    Energy,
    /// Maximum demand.
    MaximumDemand,
    /// Largest current of a phase.
    PhaseCurrent,
    /// A finding.
    Finding,
    /// A machine of the list.
    Machine,
}

/// Which way it went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// A figure is larger.
    More,
    /// A figure is smaller.
    Less,
    /// A figure is within 1 % of what it was.
    AsBefore,
    /// A finding that was not there.
    New,
    /// A finding that is no longer there.
    Gone,
    /// A finding that has become worse.
    Grown,
    /// A finding that has become less.
    Eased,
    /// A machine that was not there.
    Added,
    /// A machine that is no longer there.
    Removed,
    /// A machine that is connected elsewhere.
    Moved,
    /// A machine of another rating or number.
    Altered,
}

/// One change.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct SinceEntry {
    /// What it is about.
    pub subject: Subject,
    /// Which way it went.
    pub change: Direction,
    /// The meter, phase, finding or machine.
    pub name: String,
    /// What it was.
    pub before: Option<Value>,
    /// What it is.
    pub now: Option<Value>,
    /// Unit of the figures; empty of words.
    pub unit: String,
    /// The whole in a sentence.
    pub text: String,
}

/// What has changed since the last report.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Since {
    /// The file of the last report.
    pub file: String,
    /// Start of its readings, as it says.
    pub from: Option<String>,
    /// End of its readings, as it says.
    pub to: Option<String>,
    /// The changes: figures of the supply first, then findings, then machines.
    pub changes: Vec<SinceEntry>,
    /// What could not be compared.
    pub notes: Vec<String>,
}
