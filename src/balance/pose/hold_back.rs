//! Dangers bind the plan: until a conductor is repaired no load is moved onto it.

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::from_site::Posed;
use electrical::Phase;
use finding::Kind;
use site::Site;

/// A conductor that a danger keeps from carrying more than now.
#[derive(Clone, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct HeldBack {
    /// L1, L2, L3; `None` is the neutral, written N: then everything below stays where it is.
    #[serde(serialize_with = "conductor")]
    #[schemars(with = "String")]
    pub phase: Option<Phase>,
    /// `supply`, or the board or circuit at whose conductor it is: what is fed from here flows through it.
    pub at: String,
    /// The finding.
    pub because: Kind,
}

impl HeldBack {
    /// L1, L2, L3 or N.
    #[must_use]
    pub fn conductor(&self) -> &'static str {
        name(self.phase)
    }

    /// Conductor and place: `L2 of the supply`.
    #[must_use]
    pub fn place(&self) -> String {
        let at = match self.at.as_str() {
            "supply" => "the supply",
            at => at,
        };
        format!("{} of {at}", self.conductor())
    }
}

#[expect(
    clippy::ref_option,
    clippy::trivially_copy_pass_by_ref,
    reason = "serde calls it with a reference to the field"
)]
fn conductor<S: Serializer>(phase: &Option<Phase>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(name(*phase))
}

fn name(phase: Option<Phase>) -> &'static str {
    phase.map_or("N", Phase::name)
}

/// Takes from each unit the turns with which it would load a conductor that is held back more than now.
pub(crate) fn hold_back(site: &Site, posed: &mut Posed, held: &[HeldBack]) {
    for conductor in held {
        let place = |&node: &site::Node| site.node_name(node) == conductor.at;
        let Some(at) = posed.places.iter().position(place) else {
            continue;
        };
        let boards = posed.problem.nodes().len();
        let node = match at.checked_sub(boards) {
            Some(circuit) => posed.circuits[circuit].clone(),
            None => posed.problem.nodes()[at].clone(),
        };
        posed.problem.keep_off(&node, conductor.phase);
    }
}
