//! What holds for every kind of finding.

use crate::samples::{constant, judge_site, needs, site};
use crate::{diagnose, page};
use electrical::Phase;
use finding::Kind;
use site::Quantity;

#[test]
fn every_kind_has_a_page_and_a_name_of_its_own() {
    let mut names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
    for kind in Kind::ALL {
        assert_eq!(Kind::from_name(kind.name()), Some(kind));
        let page = page(kind);
        for part in [
            page.meaning,
            page.formula,
            page.source,
            page.imitators,
            page.action,
            page.caution,
        ] {
            assert!(part.len() > 20, "{kind}: {part:?}");
        }
    }
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Kind::ALL.len());
}

/// A log of a distortion alone, which no check looks at, a site without any log: each kind says what it needs.
#[test]
fn every_kind_says_what_it_needs_where_the_columns_are_missing() {
    let blind = judge_site(
        &site(&["Kiln,DB1,L1,1"], ""),
        60,
        vec![constant(Quantity::ThdCurrent(Phase::L1), 5.0, 300)],
    );
    let none = diagnose(&site(&[], ""), &metering::Logs::default());
    for diagnosis in [&blind, &none] {
        assert!(diagnosis.findings.is_empty(), "{:?}", diagnosis.findings);
        assert!(
            diagnosis.nothing_found.is_empty(),
            "{:?}",
            diagnosis.nothing_found
        );
        for kind in Kind::ALL {
            assert!(
                needs(diagnosis, kind).len() > 10,
                "{kind}: {}",
                needs(diagnosis, kind)
            );
        }
    }
}

/// Where each kind is shown to appear, and where something that imitates it does not trigger it.
#[test]
fn every_kind_has_a_test_where_it_appears_and_one_where_an_imitator_does_not() {
    const SOURCES: [&str; 12] = [
        include_str!("frequency.rs"),
        include_str!("load.rs"),
        include_str!("neutral.rs"),
        include_str!("overload.rs"),
        include_str!("voltage.rs"),
        include_str!("wiring.rs"),
        include_str!("../joint/tests.rs"),
        include_str!("../metering_fault/tests.rs"),
        include_str!("../../wiring/pairing.rs"),
        include_str!("../list_mismatch.rs"),
        include_str!("../after_work/tests.rs"),
        include_str!("../../../tests/suite/register_finding.rs"),
    ];
    let listed = |kind: Kind| -> [&str; 2] {
        match kind {
            Kind::NeutralFault => [
                "a_failing_neutral_is_a_danger",
                "a_heavy_phase_and_a_lost_phase_are_not_a_failing_neutral",
            ],
            Kind::PhaseLoss => [
                "a_lost_phase_is_a_danger",
                "a_lost_lead_is_not_a_lost_phase",
            ],
            Kind::HighResistanceJoint => [
                "a_joint_between_two_meters_is_found_there",
                "a_joint_above_both_meters_is_not_blamed_on_what_is_between",
            ],
            Kind::PhaseOverload => [
                "a_phase_above_its_limit_is_told_with_its_minutes",
                "a_phase_at_its_limit_is_not_overloaded_and_one_minute_is_a_notice",
            ],
            Kind::NeutralOverload => [
                "a_neutral_above_its_limit_is_told_and_needs_its_current",
                "full_phases_in_balance_are_not_an_overloaded_neutral",
            ],
            Kind::NeutralHarmonics => [
                "third_harmonics_that_load_the_neutral_are_told",
                "loads_that_switch_within_the_interval_are_not_called_harmonics",
            ],
            Kind::MeteringFault => [
                "a_register_that_counts_two_thirds_of_the_power_is_told",
                "a_register_within_its_class_or_over_a_gap_is_not",
            ],
            Kind::VoltageOutOfRange => [
                "ten_minute_means_outside_the_range_are_told",
                "one_minute_of_low_voltage_is_no_ten_minute_mean",
            ],
            Kind::FrequencyOutOfRange => [
                "a_frequency_beyond_one_per_cent_is_told",
                "outages_and_misreadings_are_not_an_odd_frequency",
            ],
            Kind::VoltageUnbalance => [
                "unequal_line_voltages_are_told_with_the_motors_factor",
                "a_displaced_neutral_is_not_unbalance_of_the_lines",
            ],
            Kind::RapidVoltageChange => [
                "steps_are_told_with_those_of_the_own_load",
                "a_voltage_that_drifts_or_moves_while_nobody_reads_is_not_a_step",
            ],
            Kind::LoadUnbalance => [
                "a_load_on_one_phase_is_told_with_its_share",
                "phases_that_take_turns_are_not_an_unbalanced_load",
            ],
            Kind::ListMismatch => [
                "load_that_the_list_lacks_is_told_with_its_days_and_hours",
                "losses_of_a_few_per_cent_are_not_a_hidden_load",
            ],
            Kind::WrongPhase => [
                "a_machine_that_moves_another_phase_is_named_and_the_others_confirmed",
                "what_starts_together_is_no_proof",
            ],
        }
    };
    for kind in Kind::ALL {
        let [appears, imitated] = listed(kind);
        assert_ne!(appears, imitated, "{kind}: each role has a test of its own");
        for name in [appears, imitated] {
            let head = format!("#[test]\nfn {name}()");
            let inner = format!("#[test]\n    fn {name}()");
            assert!(
                SOURCES
                    .iter()
                    .any(|text| text.contains(&head) || text.contains(&inner)),
                "{kind}: no test `{name}`"
            );
        }
    }
}
