//! Loads that sit on few phases, and what another allocation would gain.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::plans::Plans;
use super::view::View;
use analysis::{Course, MeterAnalysis};
use balance::FewMoves;
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use metering::PhasePhasors;
use site::{Node, Site};

const SOURCE: &str =
    "shares of the energy and rms currents by definition; thresholds are common practice";
const CAUTION: &str = "Moving a conductor can kill. Competent person only: isolate, lock off, prove dead. Move a circuit's neutral with its line; check the phase rotation of three-phase machines; retest and update the circuit chart.";

pub(super) const PAGE: Page = Page {
    meaning: "One phase carries far more load than the others, and the neutral carries the difference. Losses, voltage drop and the risk of overload rise on that phase.",
    formula: "Energy of each phase as a share of all (a third is even), and the rms neutral current as a share of the mean rms phase current. The gain is that of the three moves, each of a machine or of all machines of a circuit, that reduce the neutral current of the supply most, within its limits as far as they can be kept: the rms neutral current and the largest phase current after them, compared with now.",
    source: SOURCE,
    imitators: "A current transformer with a wrong ratio on one phase; one large single-phase machine that cannot be split.",
    action: "Run `tapoff balance`. It lists the loads to move and shows how close the plan is to the best possible.",
    caution: CAUTION,
};

pub(super) fn check(view: &View<'_>, plans: &Plans<'_>, diagnosis: &mut Diagnosis) {
    let kind = Kind::LoadUnbalance;
    if view.node().is_none() {
        return;
    }
    let analysis = view.analysis();
    let Some(phasors) = analysis.phasors() else {
        return diagnosis.needs(view, kind, None, "the current of each phase");
    };
    let Some(loading) = Loading::of(analysis, phasors) else {
        return diagnosis.needs(view, kind, None, "a load");
    };
    let thresholds = &view.site.thresholds;
    if loading.largest_share() < thresholds.largest_share_pct / 100.0
        || loading.neutral_ratio() < thresholds.neutral_share_pct / 100.0
    {
        return diagnosis.nothing(view, kind, None);
    }
    let gain = plans
        .few_moves()
        .and_then(|plan| GainOfMoves::at(plan, view.site, view.node()?));
    diagnosis.found(view, kind, Some(loading.fullest()), loading.report(gain));
}

/// What the phases and the neutral of a place carry.
struct Loading {
    /// Shares of the phases in the energy; together 1.
    shares: [f64; 3],
    phase_rms_a: [f64; 3],
    neutral_rms_a: f64,
}

impl Loading {
    /// `None` where nothing flows.
    fn of(analysis: MeterAnalysis<'_>, phasors: &PhasePhasors) -> Option<Loading> {
        // Active current is used for energy: the voltages are alike.
        let energy = [0, 1, 2].map(|k| {
            let active = phasors.series[k].iter().flatten().map(|i| i.re.max(0.0));
            active.sum::<f64>()
        });
        let whole: f64 = energy.iter().sum();
        let rms = |course: &Course| course.level().map(|level| level.rms_a);
        let [l1, l2, l3] = analysis.phases()?.each_ref().map(rms);
        let loading = Loading {
            shares: energy.map(|energy| energy / whole),
            phase_rms_a: [l1?, l2?, l3?],
            neutral_rms_a: rms(analysis.neutral().known()?)?,
        };
        (whole > 0.0 && loading.mean_rms_a() > 0.0).then_some(loading)
    }

    fn mean_rms_a(&self) -> f64 {
        self.phase_rms_a.iter().sum::<f64>() / 3.0
    }

    fn neutral_ratio(&self) -> f64 {
        self.neutral_rms_a / self.mean_rms_a()
    }

    fn fullest(&self) -> Phase {
        let share = |phase: &Phase| self.shares[phase.index()];
        let fullest = Phase::ALL
            .into_iter()
            .max_by(|a, b| share(a).total_cmp(&share(b)));
        fullest.unwrap_or(Phase::L1)
    }

    fn largest_share(&self) -> f64 {
        self.shares[self.fullest().index()]
    }

    fn report(&self, gain: Option<GainOfMoves>) -> Report {
        let [l1, l2, l3] = self.shares.map(|share| 100.0 * share);
        let [rms_l1, rms_l2, rms_l3] = self.phase_rms_a;
        let found = gain.as_ref();
        Report {
            severity: Severity::Notice,
            summary: format!(
                "{} carries {:.0} % of the energy; the rms neutral current is {:.0} % of the mean phase current{}",
                self.fullest(),
                100.0 * self.largest_share(),
                100.0 * self.neutral_ratio(),
                found.map_or_else(String::new, GainOfMoves::words)
            ),
            evidence: Evidence::default()
                .with("energy_share_l1_pct", l1)
                .with("energy_share_l2_pct", l2)
                .with("energy_share_l3_pct", l3)
                .with("neutral_rms_a", self.neutral_rms_a)
                .with("phase_rms_l1_a", rms_l1)
                .with("phase_rms_l2_a", rms_l2)
                .with("phase_rms_l3_a", rms_l3)
                .maybe(
                    "neutral_rms_after_moves_a",
                    found.map(|gain| gain.neutral_rms_a),
                )
                .maybe("neutral_reduction_by_moves_pct", found.map(|gain| gain.pct))
                .maybe("phase_headroom_gained_a", found.map(|gain| gain.headroom_a))
                .maybe("moves_that_help_most", gain.map(|gain| gain.moves)),
            action: "run `tapoff balance` for the full list of moves and the work order".to_owned(),
            caution: CAUTION,
            source: SOURCE,
        }
    }
}

/// What a few moves would bring here.
struct GainOfMoves {
    moves: Vec<String>,
    neutral_rms_a: f64,
    /// By how much the neutral's rms falls. (%)
    pct: f64,
    /// By how much the largest current of the most heavily loaded phase falls. (A)
    headroom_a: f64,
}

impl GainOfMoves {
    /// Of the moves at a node or below it: those elsewhere change nothing here. `None` where none helps.
    fn at(plan: &FewMoves, site: &Site, node: Node) -> Option<GainOfMoves> {
        let is_here = |name: &str| {
            let own = site.machines.iter().find(|machine| machine.name == name);
            own.is_some_and(|machine| site.is_within(machine.tapped_off, node))
        };
        let place = site.node_name(node);
        let node = plan.nodes.iter().find(|node| node.id == place)?;
        let (before, after) = (node.before.as_ref()?, &node.after);
        let pct = 100.0 * (1.0 - after.neutral_rms_a / before.neutral_rms_a);
        let highest = |amps: [f64; 3]| amps.into_iter().fold(0.0, f64::max);
        let moves: Vec<String> = plan
            .moves
            .iter()
            .filter(|(machine, ..)| is_here(machine))
            .map(|(machine, from, to)| format!("{machine} from {from} to {to}"))
            .collect();
        // Nothing left of the neutral is no result of moves: the intervals have other loads than the readings.
        let is_sound = pct > 0.0 && after.neutral_rms_a > 0.0;
        (is_sound && !moves.is_empty()).then(|| GainOfMoves {
            moves,
            neutral_rms_a: after.neutral_rms_a,
            pct,
            headroom_a: highest(before.phase_max_a) - highest(after.phase_max_a),
        })
    }

    fn words(&self) -> String {
        format!(
            "; moving {} would reduce the neutral current by {:.0} %",
            if self.moves.len() == 1 {
                "1 machine".to_owned()
            } else {
                format!("{} machines", self.moves.len())
            },
            self.pct
        )
    }
}
