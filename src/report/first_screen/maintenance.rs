//! For maintenance: how many amperes are spare on which phase, and where a new machine fits best.

use crate::format::{amps, counted};
use crate::header::SiteHeader;
use crate::new_machines::{NewMachines, verdict};
use balance::{BalanceResult, HeldBack, NodeFigures};
use electrical::Phase;
use units::format_number;

#[derive(Debug)]
pub(crate) struct MaintenanceAnswer {
    /// Supply and boards, each with L1, L2, L3.
    pub(crate) rows: Vec<SpareRow>,
    pub(crate) best: String,
    /// What the figures after the arrow are of; empty where the moves change none.
    pub(crate) after: String,
    /// A board's figures may be sums of machines without a meter.
    pub(crate) note: &'static str,
}

#[derive(Debug)]
pub(crate) struct SpareRow {
    pub(crate) name: String,
    pub(crate) cells: Vec<SpareCell>,
}

/// Spare current of one phase at one place.
#[derive(Debug)]
pub(crate) struct SpareCell {
    pub(crate) now: String,
    /// After the moves; empty where it is the same.
    pub(crate) after: String,
    pub(crate) over: bool,
    /// A danger on the way to here is repaired first.
    pub(crate) held: bool,
}

/// A place that feeds others, with the smallest spare current from the supply down to it. (A)
struct Spare {
    id: String,
    now: Option<[f64; 3]>,
    after: [f64; 3],
    held: [bool; 3],
}

impl MaintenanceAnswer {
    pub(super) fn new(
        header: &SiteHeader,
        balance: Option<&BalanceResult>,
        new_machines: Option<&NewMachines>,
    ) -> MaintenanceAnswer {
        let spares = balance.map_or_else(Vec::new, |balance| spares(header, balance));
        let asked = new_machines.and_then(|new| new.apart.first()).map(verdict);
        MaintenanceAnswer {
            best: asked
                .filter(|words| !words.is_empty())
                .or_else(|| {
                    most_room(
                        &spares,
                        balance.map_or(0, |balance| balance.work_order.moves()),
                    )
                })
                .unwrap_or_else(|| {
                    "Not known: no phase current was logged, and no machine list was analysed."
                        .to_owned()
                }),
            after: balance.map_or_else(String::new, |balance| {
                let differs = |spare: &Spare, now: [f64; 3]| {
                    (0..3).any(|phase| (now[phase] - spare.after[phase]).abs() > 1e-9)
                };
                let changes = spares
                    .iter()
                    .any(|spare| spare.now.is_some_and(|now| differs(spare, now)));
                let count = counted(balance.work_order.moves(), "move", "moves");
                if changes {
                    format!(", now → after {count}")
                } else {
                    String::new()
                }
            }),
            rows: spares.iter().map(row).collect(),
            note: match balance {
                None => "",
                Some(balance) if balance.is_measured() => {
                    "Limit less the maximum current, at the place or at what feeds it, whichever is smaller. Places fed by the same \
                     supply share what it has."
                }
                Some(_) => {
                    "Limit less the current that is not passed for 95 % of the time in the busiest hours (estimated), at \
                     the place or at what feeds it, whichever is smaller. Places fed by the same supply share what it has."
                }
            },
        }
    }
}

fn spares(header: &SiteHeader, balance: &BalanceResult) -> Vec<Spare> {
    let of = |id: &str, limit_a: Option<f64>, upstream: Option<&Spare>| -> Option<Spare> {
        let node = balance.nodes.iter().find(|node| node.id == id)?;
        let spare = |figures: &NodeFigures, above: Option<[f64; 3]>| {
            [0, 1, 2].map(|phase| {
                let own = limit_a.map_or(f64::INFINITY, |limit| limit - figures.phase_max_a[phase]);
                above.map_or(own, |above| own.min(above[phase]))
            })
        };
        let above_now = upstream.and_then(|above| above.now);
        Some(Spare {
            id: id.to_owned(),
            now: node.before.as_ref().map(|before| spare(before, above_now)),
            after: spare(&node.after, upstream.map(|above| above.after)),
            held: Phase::ALL.map(|phase| {
                upstream.is_some_and(|above| above.held[phase.index()])
                    || balance.held_back.iter().any(|held| holds(held, id, phase))
            }),
        })
    };
    let mut all: Vec<Spare> = Vec::new();
    all.extend(of("supply", Some(header.phase_limit_a), None));
    // A board comes after what feeds it in any sound site file, but its author may write them in any order.
    let mut waiting: Vec<_> = header.boards.iter().collect();
    while !waiting.is_empty() {
        let before = waiting.len();
        waiting.retain(|board| {
            let upstream = all.iter().find(|spare| spare.id == board.fed_from);
            let Some(upstream) = upstream else {
                return true;
            };
            let spare = of(&board.id, board.phase_limit_a, Some(upstream));
            all.extend(spare);
            false
        });
        if waiting.len() == before {
            break;
        }
    }
    all
}

/// A neutral that is held back holds all phases.
fn holds(held: &HeldBack, id: &str, phase: Phase) -> bool {
    held.at == id && held.phase.is_none_or(|own| own == phase)
}

fn row(spare: &Spare) -> SpareRow {
    let shown = |amps: f64| format_number(amps, 1);
    SpareRow {
        name: if spare.id == "supply" {
            "Supply".to_owned()
        } else {
            spare.id.clone()
        },
        cells: [0, 1, 2]
            .map(|phase| {
                let after = spare.after[phase];
                let now = spare.now.map_or(after, |now| now[phase]);
                SpareCell {
                    after: if shown(now) == shown(after) {
                        String::new()
                    } else {
                        shown(after)
                    },
                    now: shown(now),
                    over: now < 0.0,
                    held: spare.held[phase],
                }
            })
            .into(),
    }
}

/// The phase with the most room, now and after the moves.
fn most_room(spares: &[Spare], moves: usize) -> Option<String> {
    let boards = spares.iter().filter(|spare| spare.id != "supply");
    let places: Vec<&Spare> = if boards.clone().count() > 0 {
        boards.collect()
    } else {
        spares.iter().collect()
    };
    let free = places.iter().flat_map(|spare| {
        let free = Phase::ALL
            .into_iter()
            .filter(|phase| !spare.held[phase.index()]);
        free.map(move |phase| {
            let after = spare.after[phase.index()];
            let now = spare.now.map_or(after, |now| now[phase.index()]);
            (*spare, phase, now, after)
        })
    });
    let least = |(_, _, now, after): &(&Spare, Phase, f64, f64)| now.min(*after);
    let Some(best) = free.max_by(|one, other| least(one).total_cmp(&least(other))) else {
        return (!spares.is_empty())
            .then(|| "No phase may take more load before the repair.".to_owned());
    };
    let (spare, phase, now, after) = best;
    if now.min(after) <= 0.0 {
        return Some("No phase has room for more load.".to_owned());
    }
    // Where the supply decides, every board has the same room.
    let as_supply = spares.first().is_some_and(|supply| {
        let of_supply = (supply.after[phase.index()] - after).abs() < 0.05;
        of_supply
            && supply
                .now
                .is_none_or(|own| (own[phase.index()] - now).abs() < 0.05)
    });
    let place = if as_supply {
        "at any board"
    } else {
        &format!("at {}", spare.id)
    };
    let made = match moves {
        1 => "the move is made",
        _ => "the moves are made",
    };
    Some(if after < now - 0.05 {
        let takes = if moves == 1 { "it takes" } else { "they take" };
        format!(
            "Most room for one phase: {phase} {place}, {} once {made} ({takes} {}).",
            amps(after),
            amps(now - after)
        )
    } else if after > now + 0.05 {
        format!(
            "Most room for one phase: {phase} {place}, {} now, {} once {made}.",
            amps(now),
            amps(after)
        )
    } else {
        format!("Most room for one phase: {phase} {place}, {}.", amps(now))
    })
}
