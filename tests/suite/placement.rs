//! Where a new machine can go: the demo with one check failing at a time, a machine put back where it was, and nonsense.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use tapoff::message::{Level, Messages};
use tapoff::metering::{Logs, Period, read_logs};
use tapoff::placement::{CheckName, Place, PlacementSettings, place};
use tapoff::site::{CableSize, Circuit, NewMachine, Site, read_new_machine, read_site};

use crate::program::Workshop;

fn demo() -> (Site, Logs) {
    read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/ferry-lane"))
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

fn only(site: &Site, logs: &Logs, new: &NewMachine, settings: &PlacementSettings) -> Place {
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
        // 23 / 0.86 = 26.7 A on 24 A.
        variant(
            CheckName::CableCapacity,
            &[
                ("power_kw", ""),
                ("current_a", "23"),
                ("connection", "3ph"),
                ("third_harmonic_pct", "20"),
                ("candidates", "DB2"),
                ("protective_device", "C 24"),
                ("cable_m", "5"),
                ("cable_mm2", "2.5"),
            ],
            |site, _| no_limits(site),
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
    let fits = only(&site, &logs, &machine(&site, &PLATE), &settings);
    assert!(fits.fits, "{}", fits.reason);
    let mut seen = BTreeSet::new();
    for variant in variants() {
        let (mut site, mut settings) = (site.clone(), settings);
        (variant.change)(&mut site, &mut settings);
        let new = machine(&site, &plate_with(variant.plate));
        let place = only(&site, &logs, &new, &settings);
        let failing: BTreeSet<&str> = place
            .checks
            .iter()
            .filter(|check| !check.pass)
            .map(|check| check.check.name())
            .collect();
        let name = variant.fails.name();
        assert_eq!(failing, BTreeSet::from([name]), "{:#?}", place.checks);
        assert!(place.reason.contains(name), "{}", place.reason);
        assert!(!place.fits);
        seen.insert(name);
    }
    let all: BTreeSet<&str> = CheckName::ALL.into_iter().map(CheckName::name).collect();
    assert_eq!(seen, all);
}

/// Largest half-hour means of I1, I2, I3, IN of the demo's main log, straight from its text.
fn largest_blocks(folder: &Path) -> [f64; 4] {
    let mut largest = [0.0_f64; 4];
    let mut block: (String, Vec<[f64; 4]>) = (String::new(), Vec::new());
    let mut last = String::new();
    for week in 11..15 {
        let file = folder.join(format!("meters/main-2026-w{week}.csv"));
        for line in fs::read_to_string(file).expect("a week").lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            if cells[0] <= last.as_str() {
                continue;
            }
            cells[0].clone_into(&mut last);
            // The stamp ends the minute: 00:01 to 00:30 are one block, 00:31 to 01:00 the next.
            let minute: u32 = cells[0][11..13].parse::<u32>().expect("hour") * 60
                + cells[0][14..16].parse::<u32>().expect("minute");
            let key = if minute == 0 {
                format!("{} before midnight", cells[0])
            } else {
                format!("{} {}", &cells[0][..10], (minute - 1) / 30)
            };
            // The last minute before midnight carries the next date: it closes the block that is open.
            if minute != 0 && key != block.0 {
                block = (key, Vec::new());
            }
            block
                .1
                .push([4, 5, 6, 7].map(|column| cells[column].parse().expect("amperes")));
            if block.1.len() == 30 {
                for (at, most) in largest.iter_mut().enumerate() {
                    let mean = block.1.iter().map(|row| row[at]).sum::<f64>() / 30.0;
                    *most = most.max(mean);
                }
            }
        }
    }
    largest
}

/// The demo without its steam box: what its own log shows is taken out of the main log, minute by minute.
fn without_steam_box() -> Workshop {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/ferry-lane");
    let text = |name: &str| fs::read_to_string(demo.join(name)).expect("a file of the demo");
    let mut shop = Workshop::empty();
    let site = text("site.toml").replace("measures = \"Steam box\"", "measures = \"S7 steam\"");
    let machines: String = text("machines.csv")
        .lines()
        .filter(|line| !line.starts_with("Steam box"))
        .flat_map(|line| [line, "\n"])
        .collect();
    shop = shop.with("site.toml", site).with("machines.csv", machines);
    for name in ["db2-5min", "joinery-5min", "boat-shed-5min"] {
        let name = format!("meters/{name}.csv");
        shop = shop.with(&name, text(&name));
    }
    // Power of the steam box by the UTC minute at which its interval ends.
    let steam: std::collections::HashMap<i64, f64> = text("meters/boat-shed-5min.csv")
        .lines()
        .skip(1)
        .filter_map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let end = chrono::NaiveDateTime::parse_from_str(cells[0], "%Y-%m-%dT%H:%MZ").ok()?;
            Some((end.and_utc().timestamp() / 60, cells[6].parse().ok()?))
        })
        .collect();
    let summer = chrono::NaiveDate::from_ymd_opt(2026, 3, 29).expect("a date");
    for week in 11..15 {
        let name = format!("meters/main-2026-w{week}.csv");
        let mut out = String::new();
        for (number, line) in text(&name).lines().enumerate() {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            let local = chrono::NaiveDateTime::parse_from_str(&cells[0], "%Y-%m-%d %H:%M");
            if let (Ok(local), true) = (local, number > 0) {
                let ahead = i64::from(local >= summer.and_hms_opt(1, 1, 0).expect("a time")) * 60;
                let minute = local.and_utc().timestamp() / 60 - ahead;
                let kw = steam
                    .get(&((minute + 4).div_euclid(5) * 5))
                    .copied()
                    .unwrap_or(0.0);
                take_away(&mut cells, kw);
            }
            out.push_str(&cells.join(","));
            out.push('\n');
        }
        shop = shop.with(&name, out);
    }
    shop
}

/// Takes a resistive load on L1 out of a line of time, U, I, IN, P, Q.
fn take_away(cells: &mut [String], kw: f64) {
    use num_complex::Complex64;
    let at = |column: usize| cells[column].parse::<f64>().expect("a reading");
    let phasor = |k: usize| {
        let (p, q) = (at(8 + k), at(11 + k));
        let size = p.hypot(q);
        if size > 0.0 {
            Complex64::new(p, -q) / size * at(4 + k)
        } else {
            Complex64::from(at(4 + k))
        }
    };
    let turn =
        |k: usize| Complex64::from_polar(1.0, [0.0, -120.0, 120.0][k] * 0.017_453_292_519_943_295);
    let before: Complex64 = (0..3).map(|k| phasor(k) * turn(k)).sum();
    let beyond = (at(7).powi(2) - before.norm_sqr()).max(0.0);
    let amps = kw * 1000.0 / at(1);
    let first = phasor(0) - amps;
    let after = before - amps;
    let new = [
        (4, first.norm()),
        (7, (after.norm_sqr() + beyond).sqrt()),
        (8, at(8) - kw),
    ];
    for (column, value) in new {
        cells[column] = format!("{value:.3}");
    }
}

#[test]
fn a_machine_put_back_is_predicted_as_it_was_logged() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/ferry-lane");
    let logged = largest_blocks(&demo);
    let shop = without_steam_box();
    let (site, logs) = read(&shop.site());
    let plate = [
        ("machine", "Steam box"),
        ("power_kw", "3"),
        ("meter", "steam"),
    ];
    let found = place(
        &site,
        &logs,
        &machine(&site, &plate),
        &PlacementSettings::default(),
    )
    .expect("places");
    let there = found
        .places
        .iter()
        .find(|place| place.circuit == "S7 steam")
        .expect("its old place");
    assert_eq!(there.connection.name(), "L1");
    let phases = there.effect.block_phase_max_a.after.expect("blocks");
    let neutral = there.effect.block_neutral_max_a.after.expect("blocks");
    for (predicted, logged) in [phases[0], phases[1], phases[2], neutral]
        .iter()
        .zip(&logged)
    {
        assert!(
            (predicted / logged - 1.0).abs() < 0.01,
            "{predicted} instead of {logged}"
        );
    }
    // The machine matters here: without it the largest half-hour of L1 or of the neutral is another.
    let without = there.effect.block_neutral_max_a.before.expect("blocks");
    assert!(
        (without / neutral - 1.0).abs() > 0.01
            || there.effect.block_phase_max_a.before.expect("blocks")[0] < 0.99 * phases[0]
    );
    let best = &found.places[0];
    assert!(best.fits && best.rank <= there.rank);
    assert!(best.effect.neutral_rms_a.after <= there.effect.neutral_rms_a.after);
}

fn refusals(plate: &[(&'static str, &str)]) -> String {
    let (site, _) = demo_site();
    let cells: Vec<(&'static str, String)> = plate
        .iter()
        .map(|(column, value)| (*column, (*value).to_owned()))
        .collect();
    let errors = read_new_machine(&site, &cells).expect_err("nonsense");
    errors.0.draw(Level::Error, false)
}

fn demo_site() -> (Site, Messages) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/ferry-lane");
    read_site(&folder).expect("a sound site")
}

#[test]
fn nonsense_is_refused_and_pointed_at() {
    for (plate, words) in [
        (
            [("power_kw", "-3"), ("schedule", "day shift")],
            "--power-kw -3",
        ),
        (
            [("power_kw", "3"), ("power_factor", "0")],
            "--power-factor 0",
        ),
        (
            [("power_kw", "3"), ("schedule", "nigth charge")],
            "--schedule nigth charge",
        ),
        (
            [("power_kw", "3"), ("candidates", "J99")],
            "--candidates J99",
        ),
        ([("power_kw", "3"), ("start", "kick")], "--start kick"),
        ([("power_kw", "3"), ("cable_mm2", "4")], "--cable-mm2 4"),
    ] {
        let mut all = vec![("machine", "Lathe")];
        all.extend(plate);
        let text = refusals(&all);
        assert!(
            text.contains(words) && text.contains("command line:1:"),
            "{text}"
        );
    }
    let text = refusals(&[
        ("machine", "Lathe"),
        ("power_kw", "3"),
        ("connection", "3ph"),
        ("candidates", "J6 lights"),
    ]);
    assert!(
        text.contains("carries only L1") && text.contains('^'),
        "{text}"
    );
    let (site, _) = demo_site();
    let list = "machine,power_kw,power_factor\nLathe,-3,0.8\nMill,2,0\n";
    let errors = tapoff::site::read_new_machines(&site, "wanted.csv", list).expect_err("nonsense");
    let text = errors.0.draw(Level::Error, false);
    assert!(
        text.contains("wanted.csv:2:7") && text.contains("wanted.csv:3:8"),
        "{text}"
    );
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
fn the_list_written_reads_back_with_the_machine_and_nothing_is_written_over() {
    let shop = Workshop::new();
    let site = shop.site();
    let target = shop.beside("new.csv");
    let run = |target: &str| {
        shop.run(&[
            "place",
            "SITE",
            "--name",
            "Lathe, small",
            "--power-kw",
            "0.5",
            "--third-harmonic-pct",
            "20",
            "--write",
            target,
        ])
    };
    let first = run("BESIDE/new.csv");
    assert_eq!(first.status, 0, "{}", first.err);
    let written = fs::read_to_string(&target).expect("a list");
    let old = fs::read_to_string(site.join("machines.csv")).expect("the old list");
    assert_eq!(old, crate::program::MACHINES);
    assert_eq!(run("BESIDE/new.csv").status, 2, "the file is there already");
    assert_eq!(run("SITE/machines.csv").status, 2, "the site's own list");
    assert_eq!(fs::read_to_string(&target).expect("a list"), written);
    let shop = Workshop::new().with("machines.csv", &written);
    let (site, _) = read_site(&shop.site()).expect("the list is sound");
    assert_eq!(site.machines.len(), 6);
    let lathe = site.machines.last().expect("the new one");
    assert_eq!(lathe.name, "Lathe, small");
    assert!((lathe.third_harmonic - 0.2).abs() < 1e-12);
}
