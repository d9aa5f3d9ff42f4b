//! Which findings bind the plan: dangers on a conductor, until it is repaired.

use super::accepted::covers;
use super::outcome::Diagnosis;
use balance::HeldBack;
use finding::{Finding, Kind, Severity};
use site::Site;

/// A finding that the user leaves out on purpose: a kind, at one place or everywhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ignored {
    /// Its kind.
    pub kind: Kind,
    /// `supply`, a board or a circuit; `None` for all.
    pub at: Option<String>,
}

impl Ignored {
    /// Findings that bind the plan. An overload does not: moves are its remedy.
    pub const KINDS: [Kind; 3] = [
        Kind::NeutralFault,
        Kind::PhaseLoss,
        Kind::HighResistanceJoint,
    ];

    fn is_about(&self, finding: &Finding) -> bool {
        let at = |at: &String| finding.spot.node.as_ref() == Some(at);
        self.kind == finding.kind && self.at.as_ref().is_none_or(at)
    }
}

impl Diagnosis {
    /// The conductors that may not carry more than now, each once, but for what is ignored or accepted.
    #[must_use]
    pub fn held_back(&self, site: &Site, ignored: &[Ignored]) -> Vec<HeldBack> {
        let mut held: Vec<HeldBack> = Vec::new();
        let binding = self.findings.iter().filter(|finding| {
            finding.severity == Severity::Danger
                && Ignored::KINDS.contains(&finding.kind)
                && !covers(site, finding)
                && !ignored.iter().any(|ignored| ignored.is_about(finding))
        });
        for finding in binding {
            let phase = match finding.kind {
                Kind::NeutralFault => None,
                _ => finding.spot.phase,
            };
            let Some(at) = finding.spot.node.clone() else {
                continue;
            };
            if !held
                .iter()
                .any(|known| known.phase == phase && known.at == at)
            {
                held.push(HeldBack {
                    phase,
                    at,
                    because: finding.kind,
                });
            }
        }
        held
    }
}
