//! How long it takes to check and rank every place of a new machine, by circuits and length of the log.
//!
//! `cargo bench --bench placing` prints one line for each case; reading the site and its logs is told apart.

#![expect(clippy::print_stdout, reason = "its table is what it is for")]

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

use tapoff::message::Messages;
use tapoff::metering::Period;
use tapoff::placement::{PlacementSettings, place, place_together};
use tapoff::site::{Site, read_new_machine, read_site};
use tapoff::wiring::read_logs;

const BOARDS: usize = 4;
const METERED: usize = 10;

/// A supply, four boards each with its meter, circuits with cables, two machines on each circuit, ten of them metered.
fn write_site(folder: &Path, circuits: usize, days: usize) -> std::io::Result<()> {
    let mut site = String::from(
        "[site]\nname = \"Bench\"\ntimezone = \"Europe/London\"\ncurrency = \"GBP\"\n\
         [supply]\nline_voltage_v = 400\nphase_limit_a = 630\ntransformer_kva = 500\n\
         [[schedule]]\nname = \"day\"\ndays = \"Mon-Fri\"\nfrom = \"07:30\"\nto = \"16:00\"\n\
         [[tariff]]\nfrom = \"2020-01-01\"\nstanding_per_day = 0.85\n\
         energy = [ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.21 }, { band = \"other\", otherwise = true, rate_per_kwh = 0.15 } ]\n\
         demand = { per = \"kVA\", rate_per_month = 6.5 }\n",
    );
    for board in 0..BOARDS {
        let _ = write!(
            site,
            "[[board]]\nid = \"B{board}\"\nfed_from = \"supply\"\nphase_limit_a = 250\n\
             feeder = {{ length_m = 40, phase_mm2 = 95, neutral_mm2 = 95, conductor = \"copper\" }}\n"
        );
    }
    let mut machines =
        String::from("machine,circuit,connection,power_kw,power_factor,schedule,meter\n");
    for circuit in 0..circuits {
        let _ = write!(
            site,
            "[[circuit]]\nid = \"C{circuit}\"\nboard = \"B{}\"\nprotective_device = \"gG 63\"\n\
             cable = {{ length_m = 30, phase_mm2 = 16, neutral_mm2 = 16, conductor = \"copper\", current_capacity_a = 76 }}\n",
            circuit % BOARDS
        );
        for part in 0..2 {
            let machine = 2 * circuit + part;
            let meter = if machine < METERED {
                format!("m{machine}")
            } else {
                String::new()
            };
            let _ = writeln!(
                machines,
                "M{machine},C{circuit},L{},{},0.9,day,{meter}",
                machine % 3 + 1,
                1 + machine % 3
            );
        }
    }
    let mut meter = |id: &str, measures: &str, columns: &str| {
        let _ = write!(
            site,
            "[[meter]]\nid = \"{id}\"\nmeasures = \"{measures}\"\nfiles = \"{id}.csv\"\nstamp = \"start\"\n\
             time = {{ column = \"time\", zone = \"UTC\" }}\n[meter.columns]\n{columns}"
        );
    };
    let phases = "active_power_l1_kw = \"P1\"\nactive_power_l2_kw = \"P2\"\nactive_power_l3_kw = \"P3\"\n\
                  reactive_power_l1_kvar = \"Q1\"\nreactive_power_l2_kvar = \"Q2\"\nreactive_power_l3_kvar = \"Q3\"\n";
    meter("main", "supply", phases);
    for board in 0..BOARDS {
        meter(&format!("b{board}"), &format!("B{board}"), phases);
    }
    for machine in 0..METERED {
        meter(
            &format!("m{machine}"),
            &format!("M{machine}"),
            "active_power_kw = \"P\"\n",
        );
    }
    std::fs::write(folder.join("site.toml"), site)?;
    std::fs::write(folder.join("machines.csv"), machines)?;
    std::fs::write(folder.join("main.csv"), log(days, BOARDS as f64))?;
    for board in 0..BOARDS {
        std::fs::write(folder.join(format!("b{board}.csv")), log(days, 1.0))?;
    }
    for machine in 0..METERED {
        let text = log(days, 0.05);
        let one: String = text
            .lines()
            .map(|line| line.split(',').take(2).collect::<Vec<_>>().join(","))
            .map(|line| line.replace("P1", "P") + "\n")
            .collect();
        std::fs::write(folder.join(format!("m{machine}.csv")), one)?;
    }
    Ok(())
}

/// Half-hours from 1 January 2025, by day more than by night.
fn log(days: usize, size: f64) -> String {
    let mut text = String::from("time,P1,P2,P3,Q1,Q2,Q3\n");
    let start = chrono::DateTime::from_timestamp(1_735_689_600, 0).expect("a time of our age");
    for half_hour in 0..48 * days {
        let time = start + chrono::TimeDelta::minutes(30 * half_hour as i64);
        let day = (TAU * (half_hour as f64 / 48.0 - 0.25)).sin();
        let kw =
            [0, 1, 2].map(|k| size * (12.0 + 8.0 * day + f64::from(k) + (half_hour % 7) as f64));
        let _ = writeln!(
            text,
            "{},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2}",
            time.format("%Y-%m-%dT%H:%M:%SZ"),
            kw[0],
            kw[1],
            kw[2],
            0.4 * kw[0],
            0.4 * kw[1],
            0.4 * kw[2]
        );
    }
    text
}

fn new_machine(site: &Site, name: &str) -> tapoff::site::NewMachine {
    let plate = [
        ("machine", name),
        ("power_kw", "3"),
        ("power_factor", "0.8"),
        ("connection", "any"),
        ("schedule", "day"),
        ("start", "direct"),
        ("cable_m", "12"),
        ("cable_mm2", "4"),
    ];
    let cells: Vec<(&'static str, String)> = plate
        .iter()
        .map(|&(column, cell)| (column, cell.to_owned()))
        .collect();
    read_new_machine(site, &cells)
        .expect("a sound plate")
        .expect("one machine")
}

fn main() -> std::io::Result<()> {
    println!("circuits | places | intervals | reading (s) | one machine (s) | three together (s)");
    for (circuits, days) in [
        (10, 365),
        (20, 365),
        (40, 91),
        (40, 182),
        (40, 365),
        (80, 365),
    ] {
        let folder = tempfile::tempdir()?;
        write_site(folder.path(), circuits, days)?;
        let before = Instant::now();
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let logs = read_logs(&site, Period::default(), &mut Messages::new());
        let reading = before.elapsed().as_secs_f64();
        let settings = PlacementSettings::default();
        let before = Instant::now();
        let found = place(&site, &logs, &new_machine(&site, "New"), &settings).expect("places");
        let one = before.elapsed().as_secs_f64();
        let three = ["A", "B", "C"].map(|name| new_machine(&site, name));
        let before = Instant::now();
        place_together(&site, &logs, &three, &settings).expect("places");
        println!(
            "{circuits:8} | {:6} | {:9} | {reading:11.3} | {one:15.3} | {:18.3}",
            found.places.len(),
            found.intervals,
            before.elapsed().as_secs_f64()
        );
    }
    Ok(())
}
