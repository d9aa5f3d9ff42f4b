//! The next larger device or cable with which a connection point passes.

use std::sync::Arc;

use super::check::{Check, CheckName};
use super::connection_point::ConnectionPoint;
use super::own_checks::kind_of;
use super::ranked_point::{Remedy, RemedyKind};
use electrical::next_rating;
use site::{CableSize, Node, ProtectiveDevice, Site};
use units::Amperes;

/// Each change of a device, a cable or both after which every check passes; the smallest of each kind.
pub(super) fn remedies(spot: &ConnectionPoint<'_>, checks: &[Check]) -> Vec<Remedy> {
    let mut found = Vec::new();
    // A change at the circuit or the machine does not change the currents of the boards upstream.
    let is_above = |check: &&Check| {
        matches!(
            check.check,
            CheckName::RepairFirst
                | CheckName::PhaseLoading
                | CheckName::NeutralLoading
                | CheckName::TransformerLoading
                | CheckName::Ways
        )
    };
    if checks
        .iter()
        .filter(|check| !check.pass)
        .any(|check| is_above(&check))
    {
        return found;
    }
    own(spot, &mut found);
    if let Node::Circuit(index) = spot.node {
        circuit(spot, index, &mut found);
    }
    found
}

fn passes(spot: &ConnectionPoint<'_>) -> bool {
    let (mut checks, mut not_checked) = (Vec::new(), Vec::new());
    spot.check(&mut checks, &mut not_checked);
    checks.iter().all(|check| check.pass)
}

fn larger(site: &Site, than_mm2: f64) -> Vec<CableSize> {
    let mut sizes: Vec<CableSize> = site
        .cable_sizes
        .iter()
        .copied()
        .filter(|size| size.mm2 > than_mm2 + 1e-9)
        .collect();
    sizes.sort_by(|a, b| a.mm2.total_cmp(&b.mm2));
    sizes
}

/// The machine's own device, then its own cable.
fn own(spot: &ConnectionPoint<'_>, found: &mut Vec<Remedy>) {
    if let Some(device) = spot.own.device
        && let Some(rated) = next_rating(kind_of(device), Amperes(spot.load.design_a))
    {
        let mut other = *spot;
        let next = ProtectiveDevice {
            rated_a: rated.0,
            ..device
        };
        other.own.device = Some(next);
        if passes(&other) {
            found.push(Remedy {
                kind: RemedyKind::Device,
                change: format!("{next} as the machine's own protective device"),
            });
        }
    }
    if let Some(mm2) = spot.own.mm2 {
        for size in larger(&spot.network.site, mm2) {
            let mut other = *spot;
            other.own.mm2 = Some(size.mm2);
            if passes(&other) {
                found.push(Remedy {
                    kind: RemedyKind::Cable,
                    change: format!("{} mm² as the machine's own cable", size.mm2),
                });
                break;
            }
        }
    }
}

/// The circuit's device, its cable, or both.
fn circuit(spot: &ConnectionPoint<'_>, index: usize, found: &mut Vec<Remedy>) {
    let site = &spot.network.site;
    let old = &site.circuits[index];
    let next_device = old.protective_device.and_then(|device| {
        let rated_a = next_rating(kind_of(device), Amperes(device.rated_a * 1.000_1))?.0;
        Some(ProtectiveDevice { rated_a, ..device })
    });
    let sizes = old
        .cable
        .map_or_else(Vec::new, |cable| larger(site, cable.phase_mm2));
    let no_cable = std::iter::once(None);
    let cables: Vec<Option<CableSize>> = no_cable.chain(sizes.into_iter().map(Some)).collect();
    for device in [None, next_device] {
        for cable in &cables {
            if device.is_none() && cable.is_none() {
                continue;
            }
            let mut network = spot.network.clone();
            let changed = &mut Arc::make_mut(&mut network.site).circuits[index];
            if device.is_some() {
                changed.protective_device = device;
            }
            if let (Some(size), Some(cable)) = (cable, &mut changed.cable) {
                cable.phase_mm2 = size.mm2;
                cable.neutral_mm2 = size.mm2;
                cable.current_capacity_a = Some(size.current_capacity_a);
            }
            let other = ConnectionPoint {
                network: &network,
                ..*spot
            };
            if !passes(&other) {
                continue;
            }
            let words = match (device, cable) {
                (Some(device), Some(size)) => {
                    format!("{device} and {} mm² for circuit {}", size.mm2, old.id)
                }
                (Some(device), None) => format!("{device} for circuit {}", old.id),
                (None, Some(size)) => format!("{} mm² for circuit {}", size.mm2, old.id),
                (None, None) => continue,
            };
            let kind = if device.is_some() {
                RemedyKind::Device
            } else {
                RemedyKind::Cable
            };
            found.push(Remedy {
                kind,
                change: words,
            });
            break;
        }
    }
}
