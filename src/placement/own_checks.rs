//! The machine's own device and cable.

use super::check::{Check, CheckName};
use super::load::NewLoad;
use electrical::{
    BreakerType, OverloadDevice, SELECTIVITY_RATIO_GG, capacity_with_third_harmonic,
    conventional_currents, instantaneous_range, least_protected_capacity, next_rating,
};
use site::{DeviceKind, Node, ProtectiveDevice, Site};
use units::Amperes;

const OWN: &str = "own device and cable";

/// The machine's own device and cable at a connection point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct OwnParts {
    pub(super) device: Option<ProtectiveDevice>,
    pub(super) mm2: Option<f64>,
}

pub(super) fn kind_of(device: ProtectiveDevice) -> OverloadDevice {
    device.kind.overload_device()
}

/// Lower limit of instantaneous tripping of a circuit-breaker; `None` for a fuse. (A)
pub(super) fn trips_from_a(device: ProtectiveDevice) -> Option<f64> {
    let kind = match device.kind {
        DeviceKind::Gg | DeviceKind::SemiEnclosed => return None,
        DeviceKind::B => BreakerType::B,
        DeviceKind::C => BreakerType::C,
        DeviceKind::D => BreakerType::D,
    };
    Some(instantaneous_range(kind, Amperes(device.rated_a))[0].0)
}

/// The protective device of the circuit.
pub(super) fn circuit_device(site: &Site, node: Node) -> Option<ProtectiveDevice> {
    match node {
        Node::Circuit(index) => site.circuits[index].protective_device,
        _ => None,
    }
}

impl OwnParts {
    /// As the user gives them; else a standard rating of the kind of the circuit's device, or the circuit's own device
    /// where a fuse of the machine would not discriminate with it; and the next size of the cable table.
    pub(super) fn new(site: &Site, load: &NewLoad, node: Node) -> OwnParts {
        let device = load
            .new
            .device()
            .or_else(|| proposed_device(load, circuit_device(site, node)));
        let mm2 = load.new.cable.and_then(|cable| {
            cable
                .mm2
                .or_else(|| proposed_cable_mm2(site, load, device?))
        });
        OwnParts { device, mm2 }
    }

    /// Current-carrying capacity of the own cable, where the user's table has its size. (A)
    pub(super) fn capacity_a(&self, site: &Site) -> Option<f64> {
        let mm2 = self.mm2?;
        let same = |size: &&site::CableSize| (size.mm2 - mm2).abs() < 1e-9;
        site.cable_sizes
            .iter()
            .find(same)
            .map(|size| size.current_capacity_a)
    }

    pub(super) fn check(
        &self,
        site: &Site,
        load: &NewLoad,
        node: Node,
        checks: &mut Vec<Check>,
        not_checked: &mut Vec<String>,
    ) {
        let Some(device) = self.device else {
            not_checked.push(format!(
                "own protective device: no standard rating is as high as {:.1} A",
                load.design_a
            ));
            return;
        };
        let basis = if load.new.device().is_some() {
            "given"
        } else {
            "proposed device"
        };
        let rated = device.rated_a;
        let mut put = |name, value, limit, unit| {
            checks.push(Check::new(name, OWN, (value, limit), unit, basis));
        };
        put(CheckName::DesignCurrent, load.design_a, rated, "A");
        if let (Some(from), Some(start)) = (trips_from_a(device), load.new.start) {
            put(
                CheckName::StartingRelease,
                load.design_a * start.ratio,
                from,
                "A",
            );
        }
        match (self.capacity_a(site), load.new.cable) {
            (Some(capacity), _) => {
                put(CheckName::DeviceAndCable, rated, capacity, "A");
                if let Some(operates) = fusing_current_a(device) {
                    put(
                        CheckName::OverloadProtection,
                        operates,
                        1.45 * capacity,
                        "A",
                    );
                }
                if let Some(needed) = harmonic_capacity(load) {
                    put(CheckName::CableCapacity, needed, capacity, "A");
                }
            }
            (None, Some(_)) => not_checked.push(
                "own cable: its cross-sectional area and capacity are not known; give `--cable-mm2` and a `[[cable_size]]` for it"
                    .to_owned(),
            ),
            (None, None) => {
                not_checked.push("own cable: `--cable-m` is not given".to_owned());
            }
        }
        if let Some(upstream) = circuit_device(site, node)
            && upstream.kind == DeviceKind::Gg
            && device.kind == DeviceKind::Gg
            && (load.new.device().is_some() || upstream != device)
        {
            put(
                CheckName::Selectivity,
                upstream.rated_a / rated,
                SELECTIVITY_RATIO_GG,
                "1",
            );
        } else if circuit_device(site, node).is_some_and(|upstream| upstream != device) {
            not_checked.push(
                "selectivity, except between two gG fuses: the manufacturers' tables decide"
                    .to_owned(),
            );
        }
    }
}

/// `I_2` (fusing current) of a fuse; a circuit-breaker to IEC 60898-1 has 1.45 · `I_n`, so `I_n` ≤ `I_z` is the whole
/// rule. (A)
pub(super) fn fusing_current_a(device: ProtectiveDevice) -> Option<f64> {
    let kind = kind_of(device);
    let currents = conventional_currents(kind, Amperes(device.rated_a)).ok()?;
    (kind != OverloadDevice::Breaker60898).then_some(currents.operates.0)
}

/// Capacity that a three-phase machine's own cable needs.
fn harmonic_capacity(load: &NewLoad) -> Option<f64> {
    let share = if load.is_three_phase() {
        load.third_harmonic
    } else {
        0.0
    };
    let sizing = capacity_with_third_harmonic(Amperes(load.design_a), share).ok()?;
    Some(sizing.needed.0)
}

fn proposed_device(load: &NewLoad, upstream: Option<ProtectiveDevice>) -> Option<ProtectiveDevice> {
    let amps = Amperes(load.design_a);
    if upstream.is_some_and(|device| device.kind == DeviceKind::Gg) {
        let rated_a = next_rating(OverloadDevice::FuseGg, amps)?.0;
        let fuse = ProtectiveDevice {
            kind: DeviceKind::Gg,
            rated_a,
        };
        // Too close to the circuit's fuse to discriminate: the circuit's fuse protects the machine too.
        let near = upstream.filter(|device| device.rated_a < SELECTIVITY_RATIO_GG * rated_a);
        return Some(near.unwrap_or(fuse));
    }
    let rated_a = next_rating(OverloadDevice::Breaker60898, amps)?.0;
    let starting = load.design_a * load.new.start.map_or(1.0, |start| start.ratio);
    let kinds = [DeviceKind::B, DeviceKind::C, DeviceKind::D];
    let holds = |kind: &DeviceKind| {
        let device = ProtectiveDevice {
            kind: *kind,
            rated_a,
        };
        trips_from_a(device).is_some_and(|from| starting <= from)
    };
    let kind = kinds.into_iter().find(holds).unwrap_or(DeviceKind::D);
    Some(ProtectiveDevice { kind, rated_a })
}

/// The smallest size of the table that the device protects and that carries the current of the machine.
fn proposed_cable_mm2(site: &Site, load: &NewLoad, device: ProtectiveDevice) -> Option<f64> {
    let protected = least_protected_capacity(kind_of(device), Amperes(device.rated_a)).ok()?;
    let needed = protected.0.max(harmonic_capacity(load)?);
    site.cable_sizes
        .iter()
        .filter(|size| size.current_capacity_a >= needed)
        .min_by(|a, b| a.mm2.total_cmp(&b.mm2))
        .map(|size| size.mm2)
}
