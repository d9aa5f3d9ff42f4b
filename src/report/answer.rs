//! The answer first: how full each conductor is, what the moves give, what to do.

use super::format::{amps, counted, duration, limit, listed, number, percent};
use super::header::SiteHeader;
use crate::balance::{BalanceResult, Move, NodeFigures, Proof};
use crate::demand::{EnergyResult, MeterEnergy};
use crate::electrical::Phase;

/// The marks that tell the phases apart beside colour and dash.
pub(super) const MARKS: [&str; 3] = ["●", "■", "▲"];

/// The first thing the reader sees.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) over: bool,
    pub(super) lead: String,
    pub(super) sentences: Vec<String>,
    pub(super) gauges: Vec<Gauge>,
    pub(super) gauge_note: String,
    pub(super) figures: Vec<BigFigure>,
    pub(super) first: String,
}

/// One conductor against its limit.
#[derive(Debug)]
pub(super) struct Gauge {
    pub(super) name: &'static str,
    pub(super) mark: &'static str,
    pub(super) ink: &'static str,
    pub(super) bars: Vec<GaugeBar>,
    /// Where the limit stands. [% of the track]
    pub(super) limit_at: String,
    pub(super) limit: String,
    pub(super) verdict: String,
    pub(super) over: bool,
}

/// One bar: up to the limit, and beyond it.
#[derive(Debug)]
pub(super) struct GaugeBar {
    pub(super) when: &'static str,
    pub(super) within: String,
    pub(super) beyond: String,
    pub(super) value: String,
}

/// A figure in large type.
#[derive(Debug)]
pub(super) struct BigFigure {
    pub(super) label: &'static str,
    pub(super) value: String,
    pub(super) unit: &'static str,
    pub(super) note: String,
}

/// Largest currents now and after the moves, where known.
struct Conductor {
    name: &'static str,
    now_a: Option<f64>,
    after_a: Option<f64>,
    limit_a: f64,
}

impl Answer {
    pub(super) fn new(
        header: &SiteHeader,
        balance: Option<&BalanceResult>,
        energy: &EnergyResult,
    ) -> Answer {
        let supply = supply_meter(energy);
        let conductors = conductors(header, balance, supply);
        let over: Vec<&Conductor> = conductors.iter().filter(|c| c.is_over()).collect();
        Answer {
            over: !over.is_empty(),
            lead: lead(&conductors, balance),
            sentences: sentences(header, balance, &conductors),
            gauge_note: match balance {
                Some(balance) => format!(
                    "Largest mean of a {} interval in the period, against the limit of each conductor.",
                    duration(u64::from(balance.interval_s)).replace("1\u{A0}min", "one-minute")
                ),
                None => "Largest interval mean that the supply's meter logged, against the limit of \
                         each conductor."
                    .to_owned(),
            },
            gauges: gauges(&conductors),
            figures: big_figures(balance, supply),
            first: first_step(header, balance, &conductors),
        }
    }
}

impl Conductor {
    /// What it carries today; what it would carry where today is not known.
    fn current_a(&self) -> Option<f64> {
        self.now_a.or(self.after_a).filter(|amps| amps.is_finite())
    }

    fn is_over(&self) -> bool {
        self.current_a().is_some_and(|amps| amps > self.limit_a)
    }

    fn reaches(&self) -> String {
        let value = self.current_a().map_or_else(|| "an unknown current".to_owned(), amps);
        format!("{} reaches {value} of {}", self.name, limit(self.limit_a))
    }
}

pub(super) fn supply_meter(energy: &EnergyResult) -> Option<&MeterEnergy> {
    energy.meters.iter().find(|meter| meter.measures == "supply")
}

fn conductors(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    supply: Option<&MeterEnergy>,
) -> Vec<Conductor> {
    let now = balance.and_then(|balance| balance.before.as_ref());
    let after = balance.map(|balance| &balance.after);
    let logged = if balance.is_none() { supply } else { None };
    let phase = |phase: Phase| Conductor {
        name: phase.name(),
        now_a: now
            .map(|figures| figures.phase_max_a[phase.index()])
            .or_else(|| logged.and_then(|m| m.phase_max_a).map(|a| a[phase.index()])),
        after_a: after.map(|figures| figures.phase_max_a[phase.index()]),
        limit_a: header.phase_limit_a,
    };
    let mut conductors: Vec<Conductor> = Phase::ALL.into_iter().map(phase).collect();
    conductors.push(Conductor {
        name: "N",
        now_a: now
            .map(|figures| figures.neutral_max_a)
            .or_else(|| logged.and_then(|meter| meter.neutral_max_a)),
        after_a: after.map(|figures| figures.neutral_max_a),
        limit_a: header.neutral_limit_a,
    });
    conductors.retain(|conductor| conductor.current_a().is_some());
    conductors
}

fn lead(conductors: &[Conductor], balance: Option<&BalanceResult>) -> String {
    let over: Vec<&Conductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let planned = balance.is_some_and(|balance| balance.before.is_none());
    let once = if planned { "Once connected as planned, " } else { "" };
    if !over.is_empty() {
        let reached: Vec<String> = over.iter().map(|conductor| conductor.reaches()).collect();
        return format!("{once}{}: over the limit.", listed(&reached));
    }
    let fullest = conductors.iter().max_by(|a, b| {
        let share = |c: &Conductor| c.current_a().unwrap_or(0.0) / c.limit_a;
        share(a).total_cmp(&share(b))
    });
    match fullest {
        Some(fullest) => format!(
            "{once}{}: nothing is over its limit, and {} is the fullest conductor.",
            fullest.reaches(),
            fullest.name
        ),
        None => "How full the phases are is not known: no phase current was logged at the supply, \
                 and no machine list was analysed."
            .to_owned(),
    }
}

fn sentences(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    conductors: &[Conductor],
) -> Vec<String> {
    let Some(balance) = balance else { return Vec::new() };
    let mut out = Vec::new();
    if let Some(before) = &balance.before {
        out.extend(time_over(before, balance.interval_s));
        out.push(format!(
            "The neutral carries {} now and {} after the moves (root mean square over the period); \
             at its largest {} now and {} after, of {}.",
            amps(before.neutral_rms_a),
            amps(balance.after.neutral_rms_a),
            amps(before.neutral_max_a),
            amps(balance.after.neutral_max_a),
            limit(header.neutral_limit_a),
        ));
    } else {
        out.push(format!(
            "Some machines are not yet assigned to a phase, so there is no “now” to compare with. \
             Connected as listed below, the neutral carries {} (root mean square over the period) \
             and at its largest {}.",
            amps(balance.after.neutral_rms_a),
            amps(balance.after.neutral_max_a),
        ));
    }
    let still: Vec<String> = conductors
        .iter()
        .filter(|c| c.now_a.is_some() && c.after_a.is_some_and(|amps| amps > c.limit_a))
        .map(|c| format!("{} still reaches {}", c.name, amps(c.after_a.unwrap_or_default())))
        .collect();
    if !still.is_empty() && !balance.moves.is_empty() {
        out.push(format!(
            "After the moves {}: moving alone does not cure this. Fewer machines at once, or a \
             larger supply, must do the rest.",
            listed(&still)
        ));
    }
    out.extend(boards_over(header, balance));
    out
}

fn time_over(figures: &NodeFigures, interval_s: u32) -> Option<String> {
    let parts: Vec<String> = Phase::ALL
        .into_iter()
        .filter(|phase| figures.intervals_over_limit[phase.index()] > 0)
        .map(|phase| {
            let intervals = figures.intervals_over_limit[phase.index()] as u64;
            format!("{phase} is above its limit for {}", duration(intervals * u64::from(interval_s)))
        })
        .collect();
    (!parts.is_empty()).then(|| format!("In the whole period {}.", listed(&parts)))
}

fn boards_over(header: &SiteHeader, balance: &BalanceResult) -> Vec<String> {
    header
        .boards
        .iter()
        .filter_map(|board| {
            let node = balance.nodes.iter().find(|node| node.id == board.id)?;
            let figures = node.before.as_ref().unwrap_or(&node.after);
            let over: Vec<String> = Phase::ALL
                .into_iter()
                .filter(|phase| {
                    board.phase_limit_a.is_some_and(|a| figures.phase_max_a[phase.index()] > a)
                })
                .map(|phase| format!("{phase} {}", amps(figures.phase_max_a[phase.index()])))
                .collect();
            let limit_a = board.phase_limit_a?;
            (!over.is_empty()).then(|| {
                format!("Board {} is over its limit of {}: {}.", board.id, limit(limit_a), listed(&over))
            })
        })
        .collect()
}

fn gauges(conductors: &[Conductor]) -> Vec<Gauge> {
    let share = |amps: Option<f64>, limit_a: f64| amps.map_or(0.0, |amps| (amps / limit_a).max(0.0));
    let most = conductors
        .iter()
        .flat_map(|c| [share(c.now_a, c.limit_a), share(c.after_a, c.limit_a)])
        .filter(|share| share.is_finite())
        .fold(1.0, f64::max)
        * 1.04;
    let of_track = |share: f64| format!("{:.2}", (100.0 * share / most).clamp(0.0, 100.0));
    conductors
        .iter()
        .enumerate()
        .map(|(position, conductor)| {
            let bar = |when, value: Option<f64>| {
                value.filter(|amps| amps.is_finite()).map(|value| {
                    let share = share(Some(value), conductor.limit_a);
                    GaugeBar {
                        when,
                        within: of_track(share.min(1.0)),
                        beyond: of_track((share - 1.0).max(0.0)),
                        value: amps(value),
                    }
                })
            };
            Gauge {
                name: conductor.name,
                mark: MARKS.get(position).copied().unwrap_or("◆"),
                ink: ["l1", "l2", "l3", "n"][position.min(3)],
                bars: [bar("now", conductor.now_a), bar("after", conductor.after_a)]
                    .into_iter()
                    .flatten()
                    .collect(),
                limit_at: of_track(1.0),
                limit: limit(conductor.limit_a),
                verdict: verdict(conductor),
                over: conductor.is_over(),
            }
        })
        .collect()
}

fn verdict(conductor: &Conductor) -> String {
    let Some(current) = conductor.current_a() else { return "not known".to_owned() };
    let when = if conductor.now_a.is_some() { "now " } else { "" };
    if current > conductor.limit_a {
        format!("{when}over by {}", amps(current - conductor.limit_a))
    } else {
        format!("{when}at {} of its limit", percent(100.0 * current / conductor.limit_a))
    }
}

fn big_figures(balance: Option<&BalanceResult>, supply: Option<&MeterEnergy>) -> Vec<BigFigure> {
    let mut out = Vec::new();
    if let Some(balance) = balance {
        let (value, note) = match &balance.before {
            Some(before) => (
                format!("{} → {}", number(before.neutral_rms_a, 1), number(balance.after.neutral_rms_a, 1)),
                "now → after the moves, root mean square over the period".to_owned(),
            ),
            None => (number(balance.after.neutral_rms_a, 1), "connected as listed".to_owned()),
        };
        out.push(BigFigure { label: "Neutral", value, unit: "A", note });
        out.push(BigFigure {
            label: if balance.before.is_some() { "Moves" } else { "Connections" },
            value: balance.moves.len().to_string(),
            unit: "",
            note: proof_in_short(balance),
        });
    }
    if let Some(supply) = supply {
        if let Some(energy) = supply.energy_kwh {
            let note = supply.max_demand_kw.map(|kw| {
                format!("maximum demand {}\u{A0}kW over {}\u{A0}min", number(kw, 1), supply.demand_window_min)
            });
            out.push(BigFigure {
                label: "Energy",
                value: number(energy, 0),
                unit: "kWh",
                note: note.unwrap_or_default(),
            });
        }
    }
    out
}

fn proof_in_short(balance: &BalanceResult) -> String {
    match (balance.proof, balance.gap_pct) {
        (Proof::Optimal, _) => "proven best".to_owned(),
        (Proof::Gap, Some(gap)) => format!("best found; at most {} could still be gained", percent(gap)),
        (Proof::Gap | Proof::None, _) => "best found, not proven best".to_owned(),
    }
}

/// How sure it is that the plan is the best one.
pub(super) fn proof(balance: &BalanceResult) -> String {
    match balance.proof {
        Proof::Optimal => "Proven best: no other assignment of the movable machines gives a smaller \
                           neutral (root mean square over the period)."
            .to_owned(),
        Proof::Gap => match (balance.lower_bound_neutral_rms_a, balance.gap_pct) {
            (Some(bound), Some(gap)) => format!(
                "Best found, not proven best: no assignment can be below {}, so at most {} could \
                 still be gained.",
                amps(bound),
                percent(gap)
            ),
            _ => "Best found, not proven best.".to_owned(),
        },
        Proof::None => {
            "Best found; how much another assignment could still gain is not known.".to_owned()
        }
    }
}

fn first_step(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    conductors: &[Conductor],
) -> String {
    let Some(balance) = balance else {
        return "Complete the machine list; then the report can say which phase each machine should \
                be tapped off."
            .to_owned();
    };
    let over: Vec<&Conductor> = conductors.iter().filter(|c| c.is_over()).collect();
    let Some(first) = first_move(balance, over.first().map(|conductor| conductor.name)) else {
        return match over.first() {
            Some(conductor) => format!(
                "No move helps the neutral further. Bring {} below {}: run fewer of its machines at \
                 once, and have the supply's capacity checked.",
                conductor.name,
                limit(conductor.limit_a)
            ),
            None => "Nothing to move: the machines are connected as well as this report can make it. \
                     Repeat it when machines or working hours change."
                .to_owned(),
        };
    };
    let largest = balance
        .machines
        .iter()
        .find(|machine| machine.machine == first.machine)
        .map(|machine| format!(", {} at its largest", amps(machine.current_max_a)))
        .unwrap_or_default();
    let all = counted(balance.moves.len(), "move", "moves");
    let visit = if balance.moves.len() == 1 {
        "Have a competent person make the one move below".to_owned()
    } else {
        format!("Have a competent person make the {all} below in one visit")
    };
    let limit_words = over.first().map_or_else(String::new, |conductor| {
        format!(" Until then, do not start more on {} ({}).", conductor.name, limit(header_limit(header, conductor)))
    });
    format!(
        "{visit}, beginning with {} from {} to {}{largest}.{limit_words}",
        first.machine, first.from, first.to
    )
}

fn header_limit(header: &SiteHeader, conductor: &Conductor) -> f64 {
    if conductor.name == "N" { header.neutral_limit_a } else { header.phase_limit_a }
}

/// The largest machine that leaves the overfull phase; else the largest that moves at all.
fn first_move<'a>(balance: &'a BalanceResult, overfull: Option<&str>) -> Option<&'a Move> {
    let size = |m: &&Move| {
        let leaves = overfull.is_some_and(|phase| m.from.name() == phase && m.to.name() != phase);
        let share = balance.machines.iter().find(|share| share.machine == m.machine);
        (leaves, share.map_or(0.0, |share| share.current_rms_a))
    };
    // Of equals the first in machine order.
    balance.moves.iter().rev().max_by(|a, b| {
        let ((leaves_a, amps_a), (leaves_b, amps_b)) = (size(a), size(b));
        leaves_a.cmp(&leaves_b).then(amps_a.total_cmp(&amps_b))
    })
}
