//! What a machine or circuit is connected to: a phase, a pair of phases, or all three.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

use electrical::{Phase, PhasePair};

/// How a load is connected to the four-wire system.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Connection {
    /// Between one phase and neutral.
    ToNeutral(Phase),
    /// Between two phases.
    Between(PhasePair),
    /// On all three phases. The number of cyclic shifts away from the connection declared in the
    /// machine list (0, 1 or 2); a shift keeps the sequence and so the direction of rotation.
    ThreePhase {
        /// 0: as declared; 1: L1→L2→L3→L1; 2: L1→L3→L2→L1.
        shift: u8,
    },
    /// One phase to neutral, not yet assigned.
    Any,
    /// Between two phases, not yet assigned.
    AnyPair,
    /// Installed, on which phase or phases is not known.
    Unknown,
}

impl Connection {
    /// Three-phase, as declared.
    pub const THREE_PHASE: Connection = Connection::ThreePhase { shift: 0 };

    /// Name as written in the machine list (a shifted three-phase connection adds `+1` or `+2`).
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Connection::ToNeutral(phase) => phase.name(),
            Connection::Between(pair) => pair.name(),
            Connection::ThreePhase { shift: 0 } => "3ph",
            Connection::ThreePhase { shift: 1 } => "3ph+1",
            Connection::ThreePhase { .. } => "3ph+2",
            Connection::Any => "any",
            Connection::AnyPair => "any-2",
            Connection::Unknown => "unknown",
        }
    }

    /// Does a third harmonic of its currents flow in the neutral? That of a load between two phases does not.
    #[must_use]
    pub const fn has_neutral(self) -> bool {
        match self {
            Connection::ToNeutral(_)
            | Connection::Any
            | Connection::Unknown
            | Connection::ThreePhase { .. } => true,
            Connection::Between(_) | Connection::AnyPair => false,
        }
    }

    /// The connections that a machine list or circuit may declare.
    pub const DECLARABLE: [Connection; 10] = [
        Connection::ToNeutral(Phase::L1),
        Connection::ToNeutral(Phase::L2),
        Connection::ToNeutral(Phase::L3),
        Connection::Between(PhasePair::L1L2),
        Connection::Between(PhasePair::L2L3),
        Connection::Between(PhasePair::L3L1),
        Connection::THREE_PHASE,
        Connection::Any,
        Connection::AnyPair,
        Connection::Unknown,
    ];

    /// True where the list gives no definite phase.
    #[must_use]
    pub const fn is_open(self) -> bool {
        matches!(
            self,
            Connection::Any | Connection::AnyPair | Connection::Unknown
        )
    }
}

impl fmt::Display for Connection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl Serialize for Connection {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl JsonSchema for Connection {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Connection".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let names = Connection::DECLARABLE.map(Connection::name);
        let turned = [1, 2].map(|shift| Connection::ThreePhase { shift }.name());
        let all = [&names[..], &turned[..]].concat();
        json_schema!({ "type": "string", "enum": all })
    }
}

/// Text that names no connection.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a connection")]
pub struct NotAConnection(pub String);

impl FromStr for Connection {
    type Err = NotAConnection;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim();
        Connection::DECLARABLE
            .into_iter()
            .find(|connection| connection.name().eq_ignore_ascii_case(text))
            .ok_or_else(|| NotAConnection(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_declarable_name_reads_back() {
        for connection in Connection::DECLARABLE {
            assert_eq!(connection.name().parse::<Connection>(), Ok(connection));
        }
        assert!("L1-N".parse::<Connection>().is_err());
    }
}
