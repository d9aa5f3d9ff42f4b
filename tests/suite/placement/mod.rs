//! Where a new machine can go: the demo with one check failing at a time, a machine put back where it was, several
//! placed together, the moves that make room, and nonsense.

mod moves;
mod refusals;
mod round_trip;
mod running;
mod together;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use tapoff::balance::HeldBack;
use tapoff::electrical::Phase;
use tapoff::finding::Kind;
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period};
use tapoff::placement::{CheckName, PlacementSettings, RankedPoint, place};
use tapoff::site::{
    CableSize, Circuit, Connection, NewMachine, Node, Site, read_new_machine, read_site,
};
use tapoff::wiring::read_logs;

use crate::program::Workshop;
use crate::sample::demo;

/// Numbers that follow from a seed.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }

    fn of<'t>(&mut self, words: &[&'t str]) -> &'t str {
        words[self.below(words.len() as u64) as usize]
    }
}

fn config(cases: u32) -> proptest::prelude::ProptestConfig {
    proptest::prelude::ProptestConfig {
        cases,
        failure_persistence: None,
        ..proptest::prelude::ProptestConfig::default()
    }
}

fn put(site: &mut Site, new: &NewMachine, (node, connection): (Node, Connection)) {
    let mut machine = new.machine.clone();
    machine.tapped_off = node;
    machine.connection = connection;
    site.machines.push(machine);
}

fn node(site: &Site, name: &str) -> Node {
    let named = |node: &Node| site.node_name(*node) == name;
    site.nodes().into_iter().find(named).expect("a node")
}

fn read(folder: &Path) -> (Site, Logs) {
    let (site, _) = read_site(folder).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    (site, logs)
}

fn machine(site: &Site, plate: &[(&'static str, &str)]) -> NewMachine {
    let cells: Vec<(&'static str, String)> = plate
        .iter()
        .map(|(column, value)| (*column, (*value).to_owned()))
        .collect();
    read_new_machine(site, &cells)
        .expect("a sound plate")
        .expect("one machine")
}

fn only(site: &Site, logs: &Logs, new: &NewMachine, settings: &PlacementSettings) -> RankedPoint {
    let found = place(site, logs, new, settings).expect("places");
    assert_eq!(found.places.len(), 1, "one candidate and one phase");
    found.places.into_iter().next().expect("one place")
}

fn benches(site: &mut Site) -> &mut Circuit {
    site.circuits
        .iter_mut()
        .find(|circuit| circuit.id == "J7 benches")
        .expect("the benches")
}

/// A machine of 2.2 kW at power factor 0.8 on L2 of the benches, where everything fits.
const PLATE: [(&str, &str); 5] = [
    ("machine", "Edge bander"),
    ("power_kw", "2.2"),
    ("power_factor", "0.8"),
    ("connection", "L2"),
    ("candidates", "J7 benches"),
];

type Change = fn(&mut Site, &mut PlacementSettings);

/// What is changed about the plate and the site, so that one check fails.
struct Variant {
    fails: CheckName,
    plate: &'static [(&'static str, &'static str)],
    change: Change,
}

const NO_CHANGE: Change = |_, _| {};

fn variants() -> Vec<Variant> {
    let variant = |fails, plate, change| Variant {
        fails,
        plate,
        change,
    };
    vec![
        // 2200 / 0.8 / 230.9 = 11.9 A.
        variant(
            CheckName::DesignCurrent,
            &[("protective_device", "C 10")],
            NO_CHANGE,
        ),
        // 2.5 mm² carries 24 A.
        variant(
            CheckName::DeviceAndCable,
            &[
                ("protective_device", "C 25"),
                ("cable_m", "5"),
                ("cable_mm2", "2.5"),
            ],
            NO_CHANGE,
        ),
        // 1.6 · 16 = 25.6 A, but 1.45 · 17 = 24.65 A.
        variant(
            CheckName::OverloadProtection,
            &[
                ("protective_device", "gG 16"),
                ("cable_m", "5"),
                ("cable_mm2", "1.5"),
            ],
            |site, _| {
                site.cable_sizes.push(CableSize {
                    mm2: 1.5,
                    current_capacity_a: 17.0,
                });
            },
        ),
        // 23 / 0.86 = 26.7 A on 25 A.
        variant(
            CheckName::CableCapacity,
            &[
                ("power_kw", ""),
                ("current_a", "23"),
                ("connection", "3ph"),
                ("third_harmonic_pct", "20"),
                ("candidates", "DB2"),
                ("protective_device", "C 25"),
                ("cable_m", "5"),
                ("cable_mm2", "4.5"),
            ],
            |site, _| {
                no_limits(site);
                site.cable_sizes.push(CableSize {
                    mm2: 4.5,
                    current_capacity_a: 25.0,
                });
            },
        ),
        // 5 · 11.9 = 59.5 A, above 3 · 16.
        variant(
            CheckName::StartingRelease,
            &[("protective_device", "B 16"), ("start_ratio", "5")],
            NO_CHANGE,
        ),
        // Bench sockets 9.4 A and 11.9 A, at nearly one angle, on 20 A.
        variant(CheckName::CircuitLoading, &[], |site, _| {
            benches(site).protective_device = "C 20".parse().ok();
        }),
        variant(CheckName::CircuitDeviceAndCable, &[], |site, _| {
            benches(site).protective_device = "C 50".parse().ok();
        }),
        // 1.6 · 40 = 64 A, but 1.45 · 41 = 59.45 A.
        variant(CheckName::CircuitOverloadProtection, &[], |site, _| {
            benches(site).protective_device = "gG 40".parse().ok();
        }),
        // 22.0 A with 27 % third harmonic: 25.6 A on 25.2 A.
        variant(
            CheckName::CircuitCableCapacity,
            &[("third_harmonic_pct", "50")],
            |site, _| {
                let circuit = benches(site);
                circuit.protective_device = "C 25".parse().ok();
                if let Some(cable) = &mut circuit.cable {
                    cable.current_capacity_a = Some(25.2);
                }
            },
        ),
        // 12 · 11.9 = 143 A: below 10 · 16, above 5 · 25.
        variant(
            CheckName::CircuitStartingRelease,
            &[("protective_device", "D 16"), ("start_ratio", "12")],
            |site, _| benches(site).protective_device = "C 25".parse().ok(),
        ),
        // L2 reaches 72.4 A without the machine.
        variant(CheckName::PhaseLoading, &[], |site, _| {
            site.supply.phase_limit_a = 80.0;
        }),
        // The neutral reaches 82.5 A without the machine, when L1 is loaded most.
        variant(
            CheckName::NeutralLoading,
            &[("connection", "L1")],
            |site, _| {
                no_limits(site);
                site.supply.neutral_limit_a = 84.0;
            },
        ),
        // 3 · 230.9 · 84 = 58 kVA.
        variant(CheckName::TransformerLoading, &[], |site, _| {
            site.supply.transformer_kva = Some(50.0);
        }),
        variant(CheckName::VoltageDrop, &[], |site, _| {
            benches(site).voltage_drop_limit_pct = 1.0;
        }),
        variant(
            CheckName::VoltageDropStarting,
            &[("protective_device", "D 16"), ("start_ratio", "4")],
            |_, settings| settings.starting_drop_limit_pct = 1.0,
        ),
        variant(CheckName::RepairFirst, &[], |_, settings| {
            settings.held_back.push(HeldBack {
                phase: Some(Phase::L2),
                at: "supply".to_owned(),
                because: Kind::HighResistanceJoint,
            });
        }),
        variant(
            CheckName::VoltageRise,
            &[("role", "generation"), ("candidates", "DB2")],
            |_, settings| settings.rise_limit_pct = 0.01,
        ),
        // 32 + 11.9 = 43.9 A on 41 A.
        variant(
            CheckName::CircuitFedFromTwoSides,
            &[("role", "generation")],
            NO_CHANGE,
        ),
        // 32 / 25 = 1.28.
        variant(
            CheckName::Selectivity,
            &[("protective_device", "gG 25")],
            NO_CHANGE,
        ),
        variant(CheckName::Ways, &[("candidates", "DB1")], |site, _| {
            site.boards[0].ways = Some([14, 1, 14]);
        }),
    ]
}

fn no_limits(site: &mut Site) {
    site.supply.phase_limit_a = 400.0;
    site.supply.neutral_limit_a = 400.0;
    for board in &mut site.boards {
        board.phase_limit_a = Some(400.0);
        board.neutral_limit_a = Some(400.0);
    }
}

/// The plate with some cells written over; an empty one is left out.
fn plate_with(changes: &[(&'static str, &'static str)]) -> Vec<(&'static str, &'static str)> {
    let mut plate: Vec<(&str, &str)> = PLATE.to_vec();
    for &(column, value) in changes {
        plate.retain(|(known, _)| *known != column);
        if !value.is_empty() {
            plate.push((column, value));
        }
    }
    plate
}

#[test]
fn each_check_fails_alone_and_is_named() {
    let (site, logs) = demo();
    let settings = PlacementSettings::default();
    let fits = only(site, logs, &machine(site, &PLATE), &settings);
    assert!(fits.fits, "{}", fits.reason);
    let mut seen = BTreeSet::new();
    for variant in variants() {
        let (mut site, mut settings) = (site.clone(), settings.clone());
        (variant.change)(&mut site, &mut settings);
        let new = machine(&site, &plate_with(variant.plate));
        let place = only(&site, logs, &new, &settings);
        let failing: BTreeSet<&str> = place
            .checks
            .iter()
            .filter(|check| !check.pass)
            .map(|check| check.check.name())
            .collect();
        let name = variant.fails.name();
        assert_eq!(failing, BTreeSet::from([name]), "{:#?}", place.checks);
        let said = place.reason.replace("repair first", "repair-first");
        assert!(said.contains(name), "{}", place.reason);
        assert!(!place.fits);
        seen.insert(name);
    }
    let all: BTreeSet<&str> = CheckName::ALL.into_iter().map(CheckName::name).collect();
    assert_eq!(seen, all);
}

/// Forty three-phase circuits and a year of half-hours, the main meter logged; reading apart.
#[test]
fn forty_circuits_and_a_year_of_half_hours_are_placed() {
    use std::fmt::Write;
    let mut toml = crate::program::SITE.replace("phase_limit_a = 63", "phase_limit_a = 250");
    for number in 3..41 {
        let _ = write!(
            toml,
            "\n[[circuit]]\nid = \"C{number}\"\nboard = \"DB1\"\nprotective_device = \"gG 25\"\n"
        );
    }
    toml = toml.replace(
        "id = \"C2\"\nboard = \"DB1\"\nphases = \"L1\"",
        "id = \"C2\"\nboard = \"DB1\"",
    );
    let mut log = String::from("time,I1,I2,I3,P1,P2,P3\n");
    let start = chrono::NaiveDate::from_ymd_opt(2026, 1, 1)
        .and_then(|day| day.and_hms_opt(0, 30, 0))
        .expect("a time");
    for step in 0..365 * 48 {
        let at = start + chrono::TimeDelta::minutes(30 * step);
        let (a, b) = (step % 7, step % 11);
        let _ = writeln!(
            log,
            "{},{},{},{a},{},{},1",
            at.format("%Y-%m-%d %H:%M"),
            9 + a,
            5 + b,
            2 + a,
            1 + b
        );
    }
    let shop = Workshop::new()
        .with("site.toml", toml)
        .with("meters/main.csv", log);
    let (site, logs) = read(&shop.site());
    let new = machine(
        &site,
        &[
            ("machine", "Lathe"),
            ("power_kw", "2"),
            (
                "candidates",
                &(1..41)
                    .map(|n| format!("C{n}"))
                    .collect::<Vec<_>>()
                    .join(","),
            ),
        ],
    );
    let found = place(&site, &logs, &new, &PlacementSettings::default()).expect("places");
    assert_eq!(found.places.len(), 120);
    assert!(found.intervals > 17_000);
}

#[test]
fn the_list_written_reads_back_with_the_machine() {
    let shop = Workshop::new();
    let run = shop.run(&[
        "place",
        "SITE",
        "--name",
        "Lathe, small",
        "--power-kw",
        "0.5",
        "--third-harmonic-pct",
        "20",
        "--write",
        "BESIDE/new.csv",
    ]);
    assert_eq!(run.status, 0, "{}", run.err);
    let written = fs::read_to_string(shop.beside("new.csv")).expect("a list");
    let old = fs::read_to_string(shop.site().join("machines.csv")).expect("the old list");
    assert_eq!(old, crate::program::MACHINES);
    let shop = Workshop::new().with("machines.csv", &written);
    let (site, _) = read_site(&shop.site()).expect("the list is sound");
    assert_eq!(site.machines.len(), 6);
    let lathe = site.machines.last().expect("the new one");
    assert_eq!(lathe.name, "Lathe, small");
    assert!((lathe.third_harmonic - 0.2).abs() < 1e-12);
}

/// The launch charger's log shows 14.77 A at most, third harmonic included; a lamp of one watt beside it draws 4 mA.
#[test]
fn a_metered_circuit_carries_what_its_meter_logs() {
    let (site, logs) = demo();
    let lamp = machine(
        site,
        &[
            ("machine", "Lamp"),
            ("power_kw", "0.001"),
            ("connection", "L1"),
            ("candidates", "S3 pontoon"),
        ],
    );
    let place = only(site, logs, &lamp, &PlacementSettings::default());
    let loading = place
        .checks
        .iter()
        .find(|check| check.check == CheckName::CircuitLoading)
        .expect("the circuit has a device");
    assert!(
        (loading.value - 14.774).abs() < 0.002,
        "{} A",
        loading.value
    );
}
