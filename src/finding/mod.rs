//! Something the reader should act on, with its evidence, source and caution.

use std::fmt;

use std::borrow::Cow;

use chrono::{DateTime, NaiveDateTime, Utc};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use electrical::Phase;
use units::serial::{local_minute, utc};

/// How much it matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// People or plant may be hurt: act now.
    Danger,
    /// A limit is exceeded or soon will be.
    Warning,
    /// Worth knowing.
    Notice,
}

impl Severity {
    /// As written in results.
    pub const fn name(self) -> &'static str {
        match self {
            Severity::Danger => "danger",
            Severity::Warning => "warning",
            Severity::Notice => "notice",
        }
    }
}

/// Kind of finding. Findings of equal severity are listed in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The neutral has too much resistance, or is failing.
    NeutralFault,
    /// A phase has no voltage while others have.
    PhaseLoss,
    /// A joint with more resistance than those of the other phases.
    HighResistanceJoint,
    /// A phase carries more than its limit.
    PhaseOverload,
    /// The neutral carries more than its limit.
    NeutralOverload,
    /// The neutral carries harmonic current.
    NeutralHarmonics,
    /// A meter is connected or set wrongly.
    MeteringFault,
    /// The voltage is outside its range.
    VoltageOutOfRange,
    /// The frequency is outside its range.
    FrequencyOutOfRange,
    /// The line-to-line voltages are unequal.
    VoltageUnbalance,
    /// The voltage changes in steps.
    RapidVoltageChange,
    /// The phases carry very different loads.
    LoadUnbalance,
    /// Meters and machine list disagree.
    ListMismatch,
    /// A machine is not on the phase that the list gives, or work did not have the planned effect.
    WrongPhase,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 14] = [
        Kind::NeutralFault,
        Kind::PhaseLoss,
        Kind::HighResistanceJoint,
        Kind::PhaseOverload,
        Kind::NeutralOverload,
        Kind::NeutralHarmonics,
        Kind::MeteringFault,
        Kind::VoltageOutOfRange,
        Kind::FrequencyOutOfRange,
        Kind::VoltageUnbalance,
        Kind::RapidVoltageChange,
        Kind::LoadUnbalance,
        Kind::ListMismatch,
        Kind::WrongPhase,
    ];

    /// Name in results, in `[[accepted]]` and for `tapoff explain`.
    pub const fn name(self) -> &'static str {
        match self {
            Kind::NeutralFault => "neutral-fault",
            Kind::PhaseLoss => "phase-loss",
            Kind::HighResistanceJoint => "high-resistance-joint",
            Kind::PhaseOverload => "phase-overload",
            Kind::NeutralOverload => "neutral-overload",
            Kind::NeutralHarmonics => "neutral-harmonics",
            Kind::MeteringFault => "metering-fault",
            Kind::VoltageOutOfRange => "voltage-out-of-range",
            Kind::FrequencyOutOfRange => "frequency-out-of-range",
            Kind::VoltageUnbalance => "voltage-unbalance",
            Kind::RapidVoltageChange => "rapid-voltage-change",
            Kind::LoadUnbalance => "load-unbalance",
            Kind::ListMismatch => "list-mismatch",
            Kind::WrongPhase => "wrong-phase",
        }
    }

    /// Title for people.
    pub const fn title(self) -> &'static str {
        match self {
            Kind::NeutralFault => "Neutral fault",
            Kind::PhaseLoss => "Phase loss",
            Kind::HighResistanceJoint => "High-resistance joint",
            Kind::PhaseOverload => "Phase overload",
            Kind::NeutralOverload => "Neutral overload",
            Kind::NeutralHarmonics => "Harmonics in the neutral",
            Kind::MeteringFault => "Metering fault",
            Kind::VoltageOutOfRange => "Voltage out of range",
            Kind::FrequencyOutOfRange => "Frequency out of range",
            Kind::VoltageUnbalance => "Voltage unbalance",
            Kind::RapidVoltageChange => "Rapid voltage changes",
            Kind::LoadUnbalance => "Load unbalance",
            Kind::ListMismatch => "Difference between meters and machine list",
            Kind::WrongPhase => "Machine on the wrong phase",
        }
    }

    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// Where it is.
#[derive(Clone, Debug, Default, PartialEq, Eq, JsonSchema, Serialize)]
pub struct Spot {
    /// The meter that shows it.
    pub meter: Option<String>,
    /// The phase, where it is one.
    pub phase: Option<Phase>,
    /// `supply`, or the board or circuit.
    pub node: Option<String>,
    /// The machine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub machine: Option<String>,
}

/// One piece of evidence.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A figure; its name ends in its unit.
    Number(f64),
    /// Words.
    Text(String),
    /// A local time, to the minute.
    #[serde(serialize_with = "local_minute")]
    #[schemars(with = "String")]
    Moment(NaiveDateTime),
    /// A list.
    Texts(Vec<String>),
}

impl From<f64> for Value {
    fn from(value: f64) -> Value {
        Value::Number(value)
    }
}

impl From<NaiveDateTime> for Value {
    fn from(value: NaiveDateTime) -> Value {
        Value::Moment(value)
    }
}

impl From<String> for Value {
    fn from(value: String) -> Value {
        Value::Text(value)
    }
}

impl From<&str> for Value {
    fn from(value: &str) -> Value {
        Value::Text(value.to_owned())
    }
}

impl From<Vec<String>> for Value {
    fn from(value: Vec<String>) -> Value {
        Value::Texts(value)
    }
}

/// Evidence in the order in which it is shown.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evidence(pub Vec<(&'static str, Value)>);

impl Evidence {
    /// Adds a piece.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<Value>) -> Evidence {
        self.0.push((name, value.into()));
        self
    }

    /// Adds a piece that may be unknown; unknown ones are left out.
    #[must_use]
    pub fn maybe(self, name: &'static str, value: Option<impl Into<Value>>) -> Evidence {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    /// A figure by its name.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.0.iter().find_map(|(known, value)| match value {
            Value::Number(number) if *known == name => Some(*number),
            _ => None,
        })
    }
}

impl JsonSchema for Evidence {
    fn schema_name() -> Cow<'static, str> {
        "Evidence".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let value = generator.subschema_for::<Value>();
        json_schema!({
            "description": "Figures and facts by name; the name of a figure ends in its unit.",
            "type": "object",
            "additionalProperties": value,
        })
    }
}

impl Serialize for Evidence {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

/// Something the reader should act on.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Finding {
    /// Kind of finding.
    pub kind: Kind,
    /// How much it matters.
    pub severity: Severity,
    /// Where it is.
    #[serde(rename = "where")]
    pub spot: Spot,
    /// Start of the readings that show it.
    #[serde(serialize_with = "utc")]
    pub from: DateTime<Utc>,
    /// End of the readings that show it.
    #[serde(serialize_with = "utc")]
    pub to: DateTime<Utc>,
    /// One sentence that says what is wrong.
    pub summary: String,
    /// Figures and facts behind it.
    pub evidence: Evidence,
    /// Accepted by the user, under `[[accepted]]`.
    pub accepted: bool,
    /// What to do first.
    pub action: String,
    /// Safety, and limits of the method.
    pub caution: String,
    /// Where the rule or the formula comes from.
    pub source: String,
}
