//! Each conductor of the supply compared with its limit.

use super::format::{amps, limit, percent};
use super::header::SiteHeader;
use balance::BalanceResult;
use demand::{EnergyResult, MeterEnergy};
use electrical::{Phase, is_above_limit};

/// The marks that distinguish the phases, in addition to colour and dash.
pub(super) const MARKS: [&str; 3] = ["●", "■", "▲"];

/// One conductor compared with its limit.
#[derive(Debug)]
pub(super) struct Gauge {
    pub(super) name: &'static str,
    pub(super) mark: &'static str,
    pub(super) ink: &'static str,
    pub(super) bars: Vec<GaugeBar>,
    /// Position of the limit. \[% of the track\]
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

/// Maximum currents now and after the moves, where known.
pub(super) struct SupplyConductor {
    pub(super) name: &'static str,
    pub(super) now_a: Option<f64>,
    pub(super) after_a: Option<f64>,
    pub(super) limit_a: f64,
}

impl SupplyConductor {
    /// Its maximum current now; the planned one where the present one is not known.
    pub(super) fn current_a(&self) -> Option<f64> {
        self.now_a.or(self.after_a).filter(|amps| amps.is_finite())
    }

    /// Is a current of this conductor above its limit?
    pub(super) fn is_above(&self, amps: f64) -> bool {
        is_above_limit(amps, self.limit_a)
    }

    pub(super) fn is_over(&self) -> bool {
        self.current_a().is_some_and(|amps| self.is_above(amps))
    }

    /// `L1 peaks at 126.5 A, 26.5 A over its 100 A limit`.
    pub(super) fn peak(&self) -> String {
        let (name, limit) = (self.name, limit(self.limit_a));
        match self.current_a() {
            Some(peak) if self.is_above(peak) => format!(
                "{name} peaks at {}, {} over its {limit} limit",
                amps(peak),
                amps(peak - self.limit_a)
            ),
            Some(peak) => format!("{name} peaks at {}, within its {limit} limit", amps(peak)),
            None => format!("the peak of {name} is not known, its limit is {limit}"),
        }
    }
}

pub(super) fn supply_meter(energy: &EnergyResult) -> Option<&MeterEnergy> {
    energy
        .meters
        .iter()
        .find(|meter| meter.measures == "supply")
}

pub(super) fn conductors(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    supply: Option<&MeterEnergy>,
) -> Vec<SupplyConductor> {
    let now = balance.and_then(|balance| balance.before.as_ref());
    let after = balance.map(|balance| &balance.after);
    let logged = if balance.is_none() { supply } else { None };
    let phase = |phase: Phase| SupplyConductor {
        name: phase.name(),
        now_a: now
            .map(|figures| figures.phase_max_a[phase.index()])
            .or_else(|| logged.and_then(|m| m.phase_max_a).map(|a| a[phase.index()])),
        after_a: after.map(|figures| figures.phase_max_a[phase.index()]),
        limit_a: header.phase_limit_a,
    };
    let mut conductors: Vec<SupplyConductor> = Phase::ALL.into_iter().map(phase).collect();
    conductors.push(SupplyConductor {
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

pub(super) fn gauges(conductors: &[SupplyConductor]) -> Vec<Gauge> {
    let share =
        |amps: Option<f64>, limit_a: f64| amps.map_or(0.0, |amps| (amps / limit_a).max(0.0));
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

fn verdict(conductor: &SupplyConductor) -> String {
    let Some(current) = conductor.current_a() else {
        return "not known".to_owned();
    };
    let when = if conductor.now_a.is_some() {
        "now "
    } else {
        ""
    };
    if conductor.is_above(current) {
        format!(
            "{when}over the limit by {}",
            amps(current - conductor.limit_a)
        )
    } else {
        format!(
            "{when}at {} of its limit",
            percent(100.0 * current / conductor.limit_a)
        )
    }
}
