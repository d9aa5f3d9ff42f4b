//! A machine taken out of the demo and placed again: what is predicted is what was logged.

use std::fs;
use std::path::Path;

use tapoff::placement::{PlacementSettings, place};
use tempfile::TempDir;

use super::{machine, read};
use crate::program::ferry_lane;
use ferry_lane::{Options, generate};

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

/// The demo as it would have been without its steam box: the generator leaves it out. The meter that logged it stays
/// with a row of the list that is known by its log only.
fn without_steam_box() -> TempDir {
    let folder = TempDir::new().expect("a temporary folder can be made");
    let options = Options {
        without: Some("Steam box"),
        ..Options::default()
    };
    generate(folder.path(), &options).expect("the folder can be written");
    let demo = ferry_lane();
    let shed = "meters/boat-shed-5min.csv";
    fs::copy(demo.join(shed), folder.path().join(shed)).expect("its own log is kept");
    let list = fs::read_to_string(demo.join("machines.csv")).expect("the demo's list");
    let list: String = list
        .lines()
        .filter(|line| !line.starts_with("Steam box"))
        .flat_map(|line| [line, "\n"])
        .collect();
    let kept = "Log of the steam box,supply,L1,3,,,,,1,,,,1,no,,,steam,\n";
    fs::write(folder.path().join("machines.csv"), list + kept).expect("it can be written");
    let toml = fs::read_to_string(demo.join("site.toml")).expect("the demo's site");
    let toml = toml.replace(
        "measures = \"Steam box\"",
        "measures = \"Log of the steam box\"",
    );
    fs::write(folder.path().join("site.toml"), toml).expect("it can be written");
    folder
}

#[test]
fn a_machine_put_back_is_predicted_as_it_was_logged() {
    let logged = largest_blocks(&ferry_lane());
    let shop = without_steam_box();
    let (site, logs) = read(shop.path());
    assert!(
        site.machines
            .iter()
            .all(|machine| machine.name != "Steam box")
    );
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
    let phases = there
        .effect
        .demand_period_phase_max_a
        .after
        .expect("blocks");
    let neutral = there
        .effect
        .demand_period_neutral_max_a
        .after
        .expect("blocks");
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
    let without = there
        .effect
        .demand_period_neutral_max_a
        .before
        .expect("blocks");
    assert!(
        (without / neutral - 1.0).abs() > 0.01
            || there
                .effect
                .demand_period_phase_max_a
                .before
                .expect("blocks")[0]
                < 0.99 * phases[0]
    );
    let best = &found.places[0];
    assert!(best.fits && best.rank <= there.rank);
    assert!(best.effect.neutral_rms_a.after <= there.effect.neutral_rms_a.after);
}
