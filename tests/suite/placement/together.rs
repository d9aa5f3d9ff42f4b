//! Several machines placed together: against every combination tried one by one, and against one after the other.

use std::fmt::Write;

use proptest::prelude::*;
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period};
use tapoff::placement::{PlacementSettings, Together, place, place_together};
use tapoff::site::{Connection, NewMachine, Node, Site, read_new_machines, read_site};
use tapoff::wiring::read_logs;

use super::{Dice, config, node, put};
use crate::program::{Workshop, ferry_lane};
use crate::sample::{sample_json, sample_run};

/// A small workshop without logs: its ratings are all that is known, so that a list with a machine more tells
/// exactly what the machine adds.
fn small_site(dice: &mut Dice) -> (Workshop, Site, Logs) {
    let mut toml = format!(
        "[site]\nname = \"Small\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = {}\nneutral_limit_a = {}\n\
         [[board]]\nid = \"DB1\"\nfed_from = \"supply\"\nphase_limit_a = {}\nways = [{}, {}, {}]\n\
         feeder = {{ length_m = 8, phase_mm2 = 16, neutral_mm2 = 16 }}\n",
        25 + dice.below(40),
        15 + dice.below(40),
        25 + dice.below(30),
        2 + dice.below(3),
        2 + dice.below(3),
        2 + dice.below(3),
    );
    for number in 0..2 {
        let _ = write!(
            toml,
            "[[circuit]]\nid = \"C{number}\"\nboard = \"DB1\"\nphases = \"{}\"\nprotective_device = \"{}\"\n\
             cable = {{ length_m = {}, phase_mm2 = 4, neutral_mm2 = 4 }}\n",
            dice.of(&["3ph", "3ph", "L1", "L2", "L1-L2"]),
            dice.of(&["gG 16", "B 16", "C 20", "gG 32"]),
            5 + dice.below(30)
        );
    }
    let mut list = String::from("machine,circuit,connection,power_kw,third_harmonic_pct\n");
    for number in 0..dice.below(4) {
        let _ = writeln!(
            list,
            "old {number},DB1,{},{}.{},{}",
            dice.of(&["L1", "L1", "L2", "L3", "3ph"]),
            dice.below(4),
            1 + dice.below(9),
            dice.of(&["", "30"])
        );
    }
    let shop = Workshop::empty()
        .with("site.toml", toml)
        .with("machines.csv", list);
    let (site, _) = read_site(&shop.site()).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    (shop, site, logs)
}

fn wanted(dice: &mut Dice, site: &Site, count: u64) -> Vec<NewMachine> {
    let mut list = String::from("machine,connection,power_kw,power_factor,third_harmonic_pct\n");
    for number in 0..count {
        let _ = writeln!(
            list,
            "new {number},{},{}.{},{},{}",
            dice.of(&["any", "any", "any", "any-2", "3ph"]),
            dice.below(4),
            2 + dice.below(8),
            dice.of(&["1", "0.8", "0.7"]),
            dice.of(&["", "40"])
        );
    }
    read_new_machines(site, "wanted.csv", &list).expect("a sound list")
}

/// A place for each machine.
type Places = Vec<(Node, Connection)>;

/// What a choice comes to.
#[derive(Clone, Copy, Debug)]
struct Merit {
    failing: usize,
    failing_checks: usize,
    neutral_a: f64,
}

impl Merit {
    /// Neutrals within a step of the ranking count as equal.
    fn is_at_least_as_good_as(&self, other: &Merit) -> bool {
        (self.failing, self.failing_checks) < (other.failing, other.failing_checks)
            || (self.failing, self.failing_checks) == (other.failing, other.failing_checks)
                && self.neutral_a <= other.neutral_a + 0.0501
    }
}

/// Each machine placed for itself in a site whose list holds all the others.
fn merit(site: &Site, logs: &Logs, machines: &[NewMachine], at: &Places) -> Merit {
    let (mut failing, mut failing_checks, mut neutral_a) = (0, 0, 0.0);
    for (index, new) in machines.iter().enumerate() {
        let mut with = site.clone();
        for (other, place) in machines
            .iter()
            .zip(at)
            .enumerate()
            .filter_map(|(j, pair)| (j != index).then_some(pair))
        {
            put(&mut with, other, *place);
        }
        let mut there = new.clone();
        there.candidates = vec![at[index].0];
        there.machine.connection = at[index].1;
        let found = place(&with, logs, &there, &PlacementSettings::default()).expect("a place");
        assert_eq!(found.places.len(), 1);
        let fails = found.places[0]
            .checks
            .iter()
            .filter(|check| !check.pass)
            .count();
        failing += usize::from(fails > 0);
        failing_checks += fails;
        neutral_a = found.places[0].effect.neutral_rms_a.after;
    }
    Merit {
        failing,
        failing_checks,
        neutral_a,
    }
}

fn places_of(site: &Site, result: &Together) -> Places {
    let place = |placed: &tapoff::placement::PlacedMachine| {
        (node(site, &placed.circuit), placed.connection)
    };
    result.machines.iter().map(place).collect()
}

/// Every place that a machine alone would be offered.
fn offered(site: &Site, logs: &Logs, new: &NewMachine) -> Places {
    let found = place(site, logs, new, &PlacementSettings::default()).expect("places");
    let places = found.places.iter();
    places
        .map(|place| (node(site, &place.circuit), place.connection))
        .collect()
}

proptest! {
    #![proptest_config(config(10))]

    #[test]
    fn two_machines_go_where_no_other_combination_is_better(seed: u64) {
        let mut dice = Dice(seed);
        let (_shop, site, logs) = small_site(&mut dice);
        let machines = wanted(&mut dice, &site, 2);
        let result = place_together(&site, &logs, &machines, &PlacementSettings::default());
        let Ok(result) = result else { return Ok(()) };
        prop_assert!(result.is_best_of_all);
        let chosen = merit(&site, &logs, &machines, &places_of(&site, &result));
        prop_assert_eq!(chosen.failing, result.machines.iter().filter(|placed| !placed.fits).count());
        prop_assert!((chosen.neutral_a - result.effect.neutral_rms_a.after).abs() < 1e-6);
        let (first, second) = (offered(&site, &logs, &machines[0]), offered(&site, &logs, &machines[1]));
        prop_assert_eq!(result.combinations, (first.len() * second.len()) as u64);
        for one in &first {
            for other in &second {
                let rival = merit(&site, &logs, &machines, &vec![*one, *other]);
                prop_assert!(chosen.is_at_least_as_good_as(&rival), "{:?} against {:?} at {:?} {:?}", chosen, rival, one, other);
            }
        }
    }

    #[test]
    fn together_is_never_worse_than_one_after_the_other(seed: u64, count in 2..5_u64) {
        let mut dice = Dice(seed);
        let (_shop, site, logs) = small_site(&mut dice);
        let machines = wanted(&mut dice, &site, count);
        let result = place_together(&site, &logs, &machines, &PlacementSettings::default());
        let Ok(result) = result else { return Ok(()) };
        let mut grown = site.clone();
        let mut in_turn = Places::new();
        for new in &machines {
            let found = place(&grown, &logs, new, &PlacementSettings::default()).expect("places");
            let best = &found.places[0];
            let at = (node(&site, &best.circuit), best.connection);
            put(&mut grown, new, at);
            in_turn.push(at);
        }
        let chosen = merit(&site, &logs, &machines, &places_of(&site, &result));
        let rival = merit(&site, &logs, &machines, &in_turn);
        prop_assert!(chosen.is_at_least_as_good_as(&rival), "{:?} against {:?}", chosen, rival);
    }
}

/// Alone, the first machine would take the circuit that is the only one for the second.
#[test]
fn the_first_machine_makes_room_for_the_second() {
    let shop = Workshop::empty()
        .with(
            "site.toml",
            "[site]\nname = \"Room\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 40\n\
             [[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n\
             [[circuit]]\nid = \"C2\"\nboard = \"DB1\"\nphases = \"L2\"\nprotective_device = \"C 16\"\n\
             [[circuit]]\nid = \"C1\"\nboard = \"DB1\"\nprotective_device = \"C 32\"\n",
        )
        .with(
            "machines.csv",
            "machine,circuit,connection,power_kw\nkiln,DB1,L1,6\nheater,DB1,L3,5\n",
        );
    let (site, _) = read_site(&shop.site()).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    let machines = read_new_machines(
        &site,
        "wanted.csv",
        "machine,power_kw,candidates\nsander,3,\"C2,C1\"\nfan,3.2,C2\n",
    )
    .expect("a sound list");
    let result =
        place_together(&site, &logs, &machines, &PlacementSettings::default()).expect("places");
    assert!(result.all_fit && result.is_best_of_all);
    // 3 and 3.2 kW are 13.0 and 13.9 A: not both on the 16 A of C2, and L1 and L3 carry 26.0 and 21.7 A of 40.
    let names: Vec<(&str, &str)> = result
        .machines
        .iter()
        .map(|placed| {
            (
                placed.circuit.as_str(),
                placed.device.map_or("", |_| "device"),
            )
        })
        .collect();
    assert_eq!(names[1], ("C2", "device"));
    assert_eq!(names[0], ("C1", "device"));
    assert_eq!(result.one_after_the_other.fitting, 0, "both on C2");
}

#[test]
fn the_new_machines_of_the_demo_are_placed_together_and_written() {
    let line = "place sample-data/ferry-lane --new-machines sample-data/new-machines.csv";
    let result = sample_json(line);
    assert_eq!(result["machines"].as_array().map(Vec::len), Some(3));
    let after = result["neutral_rms_a"]["after"].as_f64().expect("a number");
    let in_turn = &result["one_after_the_other"];
    let fitting = result["machines"]
        .as_array()
        .map(|all| all.iter().filter(|placed| placed["fits"] == true).count());
    assert!(fitting >= in_turn["fitting"].as_u64().map(|count| count as usize));
    assert!(after <= in_turn["neutral_rms_a"].as_f64().expect("a number") + 0.0501);
    let text = &sample_run(line).run;
    let is_best = result["is_best_of_all"].as_bool().expect("said");
    assert_eq!(text.out.contains("Proven best of all"), is_best);
    assert_eq!(text.out.contains("Best found"), !is_best);
    let written = sample_run(&format!("{line} --write new.csv"));
    assert_eq!(written.run.status, 0, "{}", written.run.err);
    let rows = String::from_utf8_lossy(&written.files["written"])
        .lines()
        .count();
    let old = std::fs::read_to_string(ferry_lane().join("machines.csv")).expect("a list");
    assert_eq!(Some(rows - old.lines().count()), fitting);
}
