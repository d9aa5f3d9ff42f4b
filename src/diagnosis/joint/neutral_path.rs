//! The neutral's resistance against that of the phases.

use num_complex::Complex64;

use super::basis::EstimateBasis;
use super::confirmation::confirmation;
use super::estimate::{ExtraResistance, JointEstimate};
use super::page::{NEUTRAL_COULD_ALSO_BE, NEUTRAL_READING_THAT_DECIDES, SOURCE};
use super::report::{CarriedCurrent, grades, growth, ohms};
use super::significance::half_width;
use crate::outcome::Report;
use crate::thresholds as limits;
use crate::view::View;
use electrical::Phase;
use finding::Severity;
use site::{Cable, Node, Quantity};

/// What the readings say of the neutral's path.
#[derive(Debug)]
pub(crate) enum NeutralPath {
    /// It has more resistance than it should have.
    Found {
        /// All that a finding says, but for the caution of its kind.
        report: Box<Report>,
        /// First reading, Unix seconds.
        from_s: i64,
    },
    /// It has not.
    Sound,
    /// The loads do not determine it: what is needed.
    Undetermined(String),
    /// The log does not have the readings.
    NotJudged,
}

/// Judges the neutral's path with the estimate of the phases.
pub(super) fn neutral_path(basis: &EstimateBasis<'_>, estimate: &JointEstimate) -> NeutralPath {
    const NEEDS: &str = "loads with different power factors that switch at different times";
    let Some(extra) = estimate.neutral else {
        return NeutralPath::Undetermined(NEEDS.to_owned());
    };
    let extra = basis.widened(extra, estimate);
    if extra.is_found_in_neutral() {
        return NeutralPath::Found {
            report: Box::new(report(basis, &extra, estimate)),
            from_s: basis.readings.starts[0],
        };
    }
    if half_width(extra.at_middle) > limits::NEUTRAL_WIDEST_OHM {
        let (low, high) = ExtraResistance::interval_95(extra.at_middle);
        return NeutralPath::Undetermined(format!(
            "{NEEDS}: the neutral's resistance above that of the phases so far is {} to {} mΩ",
            units::fixed(low * 1e3, 0),
            units::fixed(high * 1e3, 0)
        ));
    }
    NeutralPath::Sound
}

fn report(basis: &EstimateBasis<'_>, extra: &ExtraResistance, estimate: &JointEstimate) -> Report {
    let carried = CarriedCurrent::new(basis.readings, neutral_amps(basis));
    let confirmed = confirmation(basis, |part| part.neutral);
    let reach = &basis.reach;
    let than = if (basis.neutral_ratio - 1.0).abs() < 1e-9 {
        "the mean of the phase paths".to_owned()
    } else {
        format!(
            "{:.2} times the mean of the phase paths, as its declared cross-sectional area gives it,",
            basis.neutral_ratio
        )
    };
    let heat = grades(basis.view, carried.peak_w(extra), confirmed.is_some());
    let is_long = estimate.neutral_ohm >= basis.view.site.thresholds.neutral_path_ohm;
    Report {
        severity: if is_long {
            heat.min(Severity::Warning)
        } else {
            heat
        },
        summary: format!(
            "the neutral path has {} more resistance than {than} {reach} over the last week{}: {}",
            ohms(extra),
            growth(extra),
            carried.heat(extra)
        ),
        evidence: carried
            .evidence(extra, estimate)
            .with("neutral_path_mohm", 1e3 * estimate.neutral_ohm)
            .maybe("assumption", basis.angles.note)
            .maybe("confirmed_by", confirmed)
            .with("could_also_be", NEUTRAL_COULD_ALSO_BE)
            .with("reading_that_decides", NEUTRAL_READING_THAT_DECIDES),
        action: format!(
            "inspect the neutral terminals {reach} with a thermal camera under load, starting at the meter; have the loop impedance of each phase to neutral measured and compared with that between phases"
        ),
        caution: "",
        source: SOURCE,
    }
}

/// Magnitude of the neutral's current at each reading: as logged, else the sum of the phases'. (A)
fn neutral_amps(basis: &EstimateBasis<'_>) -> Vec<f64> {
    let table = basis.view.table();
    let logged = table.values(Quantity::NeutralCurrent);
    let starts = table.starts();
    let measured = |start: &i64| logged?.get(starts.binary_search(start).ok()?);
    let readings = basis.readings;
    let sum = |row: usize| -> f64 {
        let each =
            Phase::ALL.map(|phase| phase.direction() * readings.current_a[phase.index()][row]);
        each.iter().sum::<Complex64>().norm()
    };
    let rows = readings.starts.iter().enumerate();
    rows.map(|(row, start)| measured(start).unwrap_or_else(|| sum(row)))
        .collect()
}

/// Resistance of a sound neutral over that of a phase, by the cross-sectional areas of the declared cables between a meter
/// and the one above it, or the supply; 1 where none is declared.
pub(super) fn neutral_ratio(view: &View<'_>, upstream: Option<&View<'_>>) -> f64 {
    let end = upstream.and_then(View::node);
    let (mut phase, mut neutral) = (0.0, 0.0);
    let nodes = std::iter::successors(view.node(), |&node| view.site.parent(node));
    for cable in nodes
        .take_while(|&node| Some(node) != end)
        .filter_map(|node| cable_of(view, node))
    {
        phase += cable.length_m / cable.phase_mm2;
        neutral += cable.length_m / cable.neutral_mm2;
    }
    if phase > 0.0 { neutral / phase } else { 1.0 }
}

fn cable_of(view: &View<'_>, node: Node) -> Option<Cable> {
    match node {
        Node::Supply => None,
        Node::Board(index) => view.site.boards[index].feeder,
        Node::Circuit(index) => view.site.circuits[index].cable,
    }
}
