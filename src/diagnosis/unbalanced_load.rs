//! Loads that sit on few phases, and what another assignment would gain.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::view::View;
use crate::balance::{self, BalanceResult};
use crate::electrical::Phase;
use crate::finding::{Evidence, Kind, Severity};
use crate::metering::{Logs, phase_phasors};
use crate::site::Quantity;

const SOURCE: &str =
    "shares of the energy and rms currents by definition; thresholds are common practice";
const CAUTION: &str = "Moving a conductor can kill: competent person, isolate, lock off, prove dead; move a circuit's neutral with its line; keep the sequence of three-phase machines; retest and update the board's chart.";

pub(super) const PAGE: Page = Page {
    meaning: "One phase carries far more than its share, and the neutral carries the difference. Losses, voltage drop and the risk of an overload grow on that phase.",
    formula: "Energy of each phase over the energy of all (a third would be even), and the neutral's rms current over the mean rms current of the phases. The gain is that of the three moves which lower the supply's neutral most, from the same search as `tapoff balance`: the neutral's rms and the largest phase current after them against now.",
    source: SOURCE,
    imitators: "A current transformer with a wrong ratio on one phase; one large single-phase machine that cannot be split.",
    action: "`tapoff balance` proposes which loads to move and proves how good that is.",
    caution: CAUTION,
};

pub(super) fn check(view: &View<'_>, logs: &Logs, diagnosis: &mut Diagnosis) {
    let kind = Kind::UnbalancedLoad;
    if view.node().is_none() {
        return;
    }
    let table = view.table();
    let Some(phasors) = phase_phasors(table, view.nominal_v()) else {
        return diagnosis.needs(view, kind, None, "the current of each phase");
    };
    let rms = |values: &mut dyn Iterator<Item = f64>| -> f64 {
        let (sum, count) = values.fold((0.0, 0.0_f64), |(sum, count), value| {
            (sum + value * value, count + 1.0)
        });
        (sum / count.max(1.0)).sqrt()
    };
    let phase_rms =
        [0, 1, 2].map(|k| rms(&mut phasors.series[k].iter().flatten().map(|i| i.norm())));
    let neutral = match table.values(Quantity::NeutralCurrent) {
        Some(series) => rms(&mut series.into_iter().flatten()),
        None => rms(&mut (0..table.len()).filter_map(|row| {
            let sum: Option<num_complex::Complex64> = Phase::ALL
                .iter()
                .map(|phase| Some(phase.direction() * phasors.series[phase.index()][row]?))
                .sum();
            sum.map(num_complex::Complex::norm)
        })),
    };
    // Active current stands for energy: the voltages are alike.
    let energy = [0, 1, 2].map(|k| {
        phasors.series[k]
            .iter()
            .flatten()
            .map(|i| i.re.max(0.0))
            .sum::<f64>()
    });
    let whole: f64 = energy.iter().sum();
    let mean_rms = phase_rms.iter().sum::<f64>() / 3.0;
    if whole <= 0.0 || mean_rms <= 0.0 {
        return diagnosis.needs(view, kind, None, "a load");
    }
    let shares = energy.map(|energy| energy / whole);
    let worst = (0..3)
        .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
        .unwrap_or(0);
    let ratio = neutral / mean_rms;
    if shares[worst] < view.site.thresholds.largest_share_pct / 100.0
        || ratio < view.site.thresholds.neutral_share_pct / 100.0
    {
        return diagnosis.nothing(view, kind, None);
    }
    let phase = Phase::ALL[worst];
    let gain = Gain::of(view, logs);
    let report = Report {
        severity: Severity::Notice,
        summary: format!(
            "{phase} carries {:.0} % of the energy; the neutral's rms current is {:.0} % of the mean phase current{}",
            100.0 * shares[worst],
            100.0 * ratio,
            gain.as_ref().map_or_else(String::new, Gain::words)
        ),
        evidence: Evidence::default()
            .with("energy_share_l1_pct", 100.0 * shares[0])
            .with("energy_share_l2_pct", 100.0 * shares[1])
            .with("energy_share_l3_pct", 100.0 * shares[2])
            .with("neutral_rms_a", neutral)
            .with("phase_rms_l1_a", phase_rms[0])
            .with("phase_rms_l2_a", phase_rms[1])
            .with("phase_rms_l3_a", phase_rms[2])
            .maybe(
                "neutral_rms_after_reassignment_a",
                gain.as_ref().map(|gain| gain.neutral_rms_a),
            )
            .maybe(
                "gain_of_reassignment_pct",
                gain.as_ref().map(|gain| gain.pct),
            )
            .maybe(
                "phase_headroom_gained_a",
                gain.as_ref().map(|gain| gain.headroom_a),
            )
            .maybe("moves_that_help_most", gain.map(|gain| gain.moves)),
        action: "run `tapoff balance` for the whole list, its proof and the order of the work"
            .to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, kind, Some(phase), report);
}

/// Most moves that are told; the whole list is `tapoff balance`'s.
const MOVES: usize = 3;

/// What a few moves would bring here.
struct Gain {
    moves: Vec<String>,
    neutral_rms_a: f64,
    /// By how much the neutral's rms falls. (%)
    pct: f64,
    /// By how much the largest current of the fullest phase falls. (A)
    headroom_a: f64,
}

impl Gain {
    /// `None` where nothing can be moved, or where no move helps here.
    fn of(view: &View<'_>, logs: &Logs) -> Option<Gain> {
        let settings = balance::Settings {
            max_moves: Some(MOVES),
            curve_moves: 0,
            // The moves are wanted, not their proof.
            proof_work: 0,
            ..balance::Settings::default()
        };
        let result = balance::balance(view.site, logs, &settings).ok()?;
        Gain::at(&result, view.site.measured_name(view.meter.measures))
    }

    fn at(result: &BalanceResult, place: &str) -> Option<Gain> {
        let node = result.nodes.iter().find(|node| node.id == place)?;
        let (before, after) = (node.before.as_ref()?, &node.after);
        let pct = 100.0 * (1.0 - after.neutral_rms_a / before.neutral_rms_a);
        let highest = |amps: [f64; 3]| amps.into_iter().fold(0.0, f64::max);
        let moves = result.moves.iter();
        let moves = moves.map(|one| format!("{} from {} to {}", one.machine, one.from, one.to));
        (pct > 0.0 && !result.moves.is_empty()).then(|| Gain {
            moves: moves.collect(),
            neutral_rms_a: after.neutral_rms_a,
            pct,
            headroom_a: highest(before.phase_max_a) - highest(after.phase_max_a),
        })
    }

    fn words(&self) -> String {
        format!(
            "; {} moves would take {:.0} % off the neutral",
            self.moves.len(),
            self.pct
        )
    }
}
