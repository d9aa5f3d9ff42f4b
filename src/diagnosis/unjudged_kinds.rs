//! Kinds of finding that no check has judged, and the data that each needs.

use super::outcome::{Diagnosis, NotJudged};
use finding::{Kind, Spot};

/// What a meter at the supply must log for a kind of finding.
const fn data_needed(kind: Kind) -> &'static str {
    match kind {
        Kind::NeutralFault
        | Kind::PhaseLoss
        | Kind::VoltageOutOfRange
        | Kind::RapidVoltageChange => {
            "a meter at the supply that logs the voltage of each phase to neutral"
        }
        Kind::HighResistanceJoint => {
            "a meter at the supply that logs voltage, active and reactive power of each phase"
        }
        Kind::PhaseOverload | Kind::LoadUnbalance => {
            "a meter at the supply that logs the current of each phase"
        }
        Kind::NeutralOverload => "a meter at the supply that logs the neutral current",
        Kind::NeutralHarmonics => {
            "a meter at the supply that logs the neutral current, and voltage, active and reactive power of each phase"
        }
        Kind::MeteringFault | Kind::ListMismatch => "a meter at the supply that logs active power",
        Kind::VoltageUnbalance => "a meter at the supply that logs the line-to-line voltages",
        Kind::FrequencyOutOfRange => {
            "a meter at the supply, a board or a circuit that logs the frequency"
        }
        Kind::WrongPhase => {
            "a meter at the supply that logs the current of each phase, or a round of clamp readings"
        }
    }
}

/// Adds every kind that no check has judged, with the data that it needs.
pub(super) fn add_unjudged_kinds(diagnosis: &mut Diagnosis) {
    for kind in Kind::ALL {
        let is_judged = diagnosis.findings.iter().any(|one| one.kind == kind)
            || diagnosis.not_judged.iter().any(|one| one.kind == kind)
            || diagnosis.nothing_found.iter().any(|one| one.kind == kind);
        if !is_judged {
            diagnosis.not_judged.push(NotJudged {
                kind,
                spot: Spot {
                    node: Some("supply".to_owned()),
                    ..Spot::default()
                },
                needs: data_needed(kind).to_owned(),
            });
        }
    }
}
