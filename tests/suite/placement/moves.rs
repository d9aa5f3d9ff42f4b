//! Moves that make room: no smaller set does, tried set by set with the machine list itself changed.

use std::fmt::Write;

use proptest::prelude::*;
use tapoff::electrical::Phase;
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period};
use tapoff::placement::{PlacementSettings, RankedPoint, place};
use tapoff::site::{Connection, NewMachine, Site, read_new_machines, read_site};
use tapoff::wiring::read_logs;

use super::{Dice, config, node};
use crate::program::Workshop;

/// Loads to neutral on one board; ratings are all that is known of them.
fn crowded(dice: &mut Dice) -> (Workshop, Site, Logs, NewMachine) {
    let limit = 18 + dice.below(22);
    let toml = format!(
        "[site]\nname = \"Crowded\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = {limit}\n\
         neutral_limit_a = 400\n[[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n"
    );
    let mut list = String::from("machine,circuit,connection,power_kw,power_factor\n");
    for number in 0..4 + dice.below(3) {
        let _ = writeln!(
            list,
            "old {number},DB1,{},{}.{},{}",
            dice.of(&["L1", "L1", "L2", "L3"]),
            dice.below(3),
            1 + dice.below(9),
            dice.of(&["1", "0.8"])
        );
    }
    let shop = Workshop::empty()
        .with("site.toml", toml)
        .with("machines.csv", list);
    let (site, _) = read_site(&shop.site()).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    let wanted = format!(
        "machine,connection,power_kw\nnew,{},{}.5\n",
        dice.of(&["any", "any", "3ph"]),
        1 + dice.below(6)
    );
    let new = read_new_machines(&site, "wanted.csv", &wanted).expect("a sound list");
    let new = new.into_iter().next().expect("one machine");
    (shop, site, logs, new)
}

type Move = (usize, Phase);

fn moved(site: &Site, moves: &[Move]) -> Site {
    let mut with = site.clone();
    for &(machine, to) in moves {
        with.machines[machine].connection = Connection::ToNeutral(to);
    }
    with
}

/// Does the place fit after the moves, with no phase above both its limit and what it carries now?
fn fits_after(
    site: &Site,
    logs: &Logs,
    new: &NewMachine,
    at: &RankedPoint,
    moves: &[Move],
) -> bool {
    let with = moved(site, moves);
    let mut there = new.clone();
    there.candidates = vec![node(site, &at.circuit)];
    there.machine.connection = at.connection;
    let found = place(&with, logs, &there, &only_checks()).expect("a place");
    let after = found.places[0].effect.phase_max_a.before;
    let now = at.effect.phase_max_a.before;
    let limit = site.supply.phase_limit_a;
    found.places[0].fits && (0..3).all(|k| after[k] <= limit.max(now[k]) * (1.0 + 1e-9))
}

fn only_checks() -> PlacementSettings {
    PlacementSettings {
        places_with_moves: 0,
        ..PlacementSettings::default()
    }
}

/// All sets of moves of this many machines.
fn sets(site: &Site, count: usize) -> Vec<Vec<Move>> {
    let mut sets: Vec<Vec<Move>> = vec![Vec::new()];
    for _ in 0..count {
        let mut longer = Vec::new();
        for set in &sets {
            let from = set.last().map_or(0, |(machine, _)| machine + 1);
            for machine in from..site.machines.len() {
                for to in Phase::ALL {
                    if site.machines[machine].connection != Connection::ToNeutral(to) {
                        longer.push(set.iter().copied().chain([(machine, to)]).collect());
                    }
                }
            }
        }
        sets = longer;
    }
    sets
}

fn told(site: &Site, place: &RankedPoint) -> Vec<Move> {
    let one = |needed: &tapoff::placement::MoveNeeded| {
        let machine = site.machines.iter().position(|m| m.name == needed.machine);
        let Connection::ToNeutral(to) = needed.to else {
            panic!("a load to neutral")
        };
        (machine.expect("a machine of the list"), to)
    };
    place.moves_needed.iter().map(one).collect()
}

proptest! {
    #![proptest_config(config(24))]

    #[test]
    fn the_moves_help_and_no_smaller_set_does(seed: u64) {
        let mut dice = Dice(seed);
        let (_shop, site, logs, new) = crowded(&mut dice);
        let settings = PlacementSettings { places_with_moves: 40, ..PlacementSettings::default() };
        let found = place(&site, &logs, &new, &settings).expect("places");
        for at in found.places.iter().filter(|place| !place.fits && place.circuit == "DB1") {
            let moves = told(&site, at);
            let ruled_out = if moves.is_empty() { 2 } else { moves.len() - 1 };
            if !moves.is_empty() {
                prop_assert!(at.moves_are_fewest);
                prop_assert!(fits_after(&site, &logs, &new, at, &moves), "{:?} at {}", moves, at.connection);
            }
            for count in 1..=ruled_out {
                for set in sets(&site, count) {
                    prop_assert!(!fits_after(&site, &logs, &new, at, &set), "{:?} would do at {}", set, at.connection);
                }
            }
        }
    }
}

/// Three heaters of 8.7 A on L1 and a limit of 20 A: two on L1 and one moved leave room for one of 2.6 A.
#[test]
fn one_move_is_told_as_the_fewest() {
    let shop = Workshop::empty()
        .with(
            "site.toml",
            "[site]\nname = \"Tight\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 20\n\
             [[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n",
        )
        .with(
            "machines.csv",
            "machine,circuit,connection,power_kw\na,supply,L1,2\nb,supply,L1,2\nc,supply,L1,2\n\
             d,supply,L2,4\ne,supply,L3,2\n",
        );
    let run = shop.run(&[
        "place",
        "SITE",
        "--name",
        "fan",
        "--power-kw",
        "0.5",
        "--connection",
        "L1",
    ]);
    assert_eq!(run.status, 0, "{}", run.err);
    // The neutral limit is not the obstacle: 26.0, 17.3 and 8.7 A give 15.0 A in the neutral, of 20 A.
    assert!(
        run.out.contains("No connection point passes now"),
        "{}",
        run.out
    );
    assert!(run.out.contains("passes after 1 move"), "{}", run.out);
    assert!(run.out.contains("Fewest moves after which"), "{}", run.out);
    assert!(run.out.contains("from L1 to L3"), "{}", run.out);
}
