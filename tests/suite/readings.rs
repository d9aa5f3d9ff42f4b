//! Rounds of readings with a clamp meter, worked out by hand at unity power factor.

use tapoff::balance::BasedOn;
use tapoff::message::Messages;
use tapoff::metering::{Period, read_logs};
use tapoff::site::read_site;
use tapoff::units::Basis;

use crate::tiny_site::{Tiny, near};

const SUPPLY: &str = "phase_limit_a = 63\n";
const MACHINES: &str = "A,supply,L1,15,,yes,\nB,supply,L1,12,,yes,\nC,supply,L3,5,,yes,\n";

/// The supply reads 30, 0, 10 A: √(900 + 100 − 300) A in the neutral, and 26.5 A as read stand as "now" of the round. A
/// reads 20 A and B 10 A on L1, C 10 A on L3. After the moves the round is worked out by hand from the phases of the plan.
#[test]
fn a_round_is_reported_as_read_and_after_the_moves() {
    let plan = Tiny {
        toml: SUPPLY,
        machines: MACHINES,
        readings: Some(
            "time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 10:30,supply,30,0,10,26.5\n\
             2026-03-09 10:30,A,20,,,\n2026-03-09 10:30,B,10,,,\n2026-03-09 10:30,C,,,10,\n",
        ),
        ..Tiny::default()
    }
    .plan();
    assert_eq!((plan.based_on, plan.intervals), (BasedOn::Readings, 1));
    assert_eq!(plan.from.to_rfc3339(), "2026-03-09T09:30:00+00:00");
    let round = &plan.rounds[0];
    for (found, expected) in round.before.phase_a.into_iter().zip([30.0, 0.0, 10.0]) {
        near(found, expected);
    }
    near(round.before.neutral_a, 26.5);
    assert!(!plan.moves.is_empty());
    let mut phases = [0.0_f64; 3];
    for (name, phase, amps) in [("A", 0, 20.0), ("B", 0, 10.0), ("C", 2, 10.0)] {
        let moved = plan.moves.iter().find(|moved| moved.machine == name);
        let to = moved.map_or(phase, |moved| match moved.to.to_string().as_str() {
            "L1" => 0,
            "L2" => 1,
            _ => 2,
        });
        phases[to] += amps;
    }
    let [a, b, c] = phases;
    let neutral = (a * a + b * b + c * c - a * b - b * c - c * a).sqrt();
    assert!(
        (round.after.neutral_a - neutral).abs() < 1.5,
        "{} A for {neutral} A, {:?}",
        round.after.neutral_a,
        plan.moves
    );
    assert!(round.after.neutral_a < 20.0);
    let bases: Vec<Basis> = plan.machines.iter().map(|share| share.basis).collect();
    assert_eq!(bases, [Basis::Measured; 3]);
    assert!(
        plan.notes
            .iter()
            .any(|note| note.contains("clamp meter: 1 round"))
    );
}

/// A runs in the first round, B in the second, each 10 A on L1: whatever the phases each round leaves 10 A.
#[test]
fn what_runs_alone_leaves_its_own_current() {
    let plan = Tiny {
        toml: SUPPLY,
        machines: "A,supply,L1,10,,yes,\nB,supply,L1,10,,yes,\n",
        readings: Some(
            "time,at,l1_a,l2_a,l3_a,n_a\n\
             2026-03-09 10:30,supply,10,0,0,10\n2026-03-09 10:30,A,10,,,\n2026-03-09 10:30,B,0,,,\n\
             2026-03-09T14:00,supply,10,0,0,10\n2026-03-09T14:00,A,0,,,\n2026-03-09T14:00,B,10,,,\n",
        ),
        ..Tiny::default()
    }
    .plan();
    assert_eq!(plan.intervals, 2);
    for round in &plan.rounds {
        near(round.before.neutral_a, 10.0);
        assert!((round.after.neutral_a - 10.0).abs() < 0.5, "{round:?}");
    }
}

/// A log that tells the phases apart outweighs rounds.
#[test]
fn logs_win() {
    let plan = Tiny {
        toml: "phase_limit_a = 63\n[[meter]]\nid = 'main'\nmeasures = 'supply'\nfiles = 'log.csv'\n\
               [meter.columns]\ncurrent_l1_a = 'a'\ncurrent_l2_a = 'b'\ncurrent_l3_a = 'c'\n",
        machines: MACHINES,
        readings: Some("time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 10:30,supply,40,10,10,30\n"),
        log: Some(
            "time,a,b,c\n2026-03-09 10:00,27,0,5\n2026-03-09 10:15,27,0,5\n2026-03-09 10:30,27,0,5\n",
        ),
        ..Tiny::default()
    }
    .plan();
    assert_eq!(plan.based_on, BasedOn::Logs);
    near(plan.before.as_ref().expect("a before").phase_max_a[0], 27.0);
    assert!(
        plan.notes
            .iter()
            .any(|note| note.contains("`readings.csv` is not used"))
    );
}

/// Three rounds of the supply and A: the rows of the first are 29 minutes apart; in the second A is read again after 10
/// minutes, which begins the third; a word in `round` holds rows together whatever their times.
#[test]
fn rounds_are_by_time_or_by_their_word() {
    let rounds = |readings: &str| -> Vec<(String, usize)> {
        let folder = Tiny {
            toml: SUPPLY,
            machines: MACHINES,
            readings: Some(readings),
            ..Tiny::default()
        }
        .write();
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(!messages.has_errors(), "{:?}", messages.all());
        let rounds = logs.rounds.iter();
        rounds
            .map(|round| (round.at.format("%H:%M").to_string(), round.readings.len()))
            .collect()
    };
    let timed = |list: &[(&str, usize)]| -> Vec<(String, usize)> {
        let owned = list.iter().map(|(time, rows)| ((*time).to_owned(), *rows));
        owned.collect()
    };
    let by_time = rounds(
        "time,at,l1_a,l2_a,l3_a\n2026-03-09T10:29Z,A,4,,\n2026-03-09T10:00Z,supply,-4,1,1\n\
         2026-03-09T10:30Z,supply,4,1,1\n2026-03-09T10:32Z,A,4,,\n2026-03-09T10:42Z,A,4,,\n2026-03-09T10:45Z,B,4,,\n",
    );
    assert_eq!(by_time, timed(&[("10:00", 2), ("10:30", 2), ("10:42", 2)]));
    let by_word = rounds(
        "round,time,at,l1_a,l2_a,l3_a\nstart,2026-03-09T10:00Z,supply,4,1,1\nstart,2026-03-09T11:00Z,A,4,,\n\
         2,2026-03-09T10:05Z,A,4,,\n2,2026-03-09T10:06Z,B,4,,\n",
    );
    assert_eq!(by_word, timed(&[("10:00", 2), ("10:05", 2)]));
    // Written once, at the top of each round.
    let once = rounds(
        "round,time,at,l1_a,l2_a,l3_a\n1,2026-03-09T10:00Z,supply,4,1,1\n,2026-03-09T10:02Z,A,4,,\n\
         2,2026-03-09T10:20Z,supply,4,1,1\n,2026-03-09T10:22Z,A,4,,\n,2026-03-09T11:22Z,A,4,,\n",
    );
    assert_eq!(once, timed(&[("10:00", 2), ("10:20", 2), ("11:22", 1)]));
}

#[test]
fn faults_point_at_their_cell() {
    let errors = |readings: &str| {
        let messages = Tiny {
            toml: SUPPLY,
            machines: MACHINES,
            readings: Some(readings),
            ..Tiny::default()
        }
        .reading_errors();
        let first = messages.into_iter().next().expect("an error");
        let place = first.place.expect("a place");
        (
            first.name,
            place.line,
            place.column,
            first.help.unwrap_or_default(),
        )
    };
    let with = |row: &str| errors(&format!("time,at,l1_a,l2_a,l3_a,n_a\n\n{row}\n"));
    let (name, line, column, help) = with("2026-03-09 10:30,suply,1,1,1,");
    assert_eq!((name, line, column), ("unknown-place", 3, 18));
    assert_eq!(help, "did you mean `supply`?");
    let (name, line, column, _) = with("2026-03-09 10:30,A,,7,,");
    assert_eq!((name, line, column), ("wrong-phase", 3, 21));
    let (name, _, column, _) = with("2026-03-09 10:30,supply,1,2 kA,1,");
    assert_eq!((name, column), ("not-a-number", 27));
    assert_eq!(with("2026-03-09 10:30,supply,1,,1,").0, "missing-reading");
    assert_eq!(with("2026-03-09 10:30,A,-20001,,,").0, "out-of-range");
    assert_eq!(with("2026-03-09 10:30,supply,1,2,3,-4").0, "out-of-range");
    assert_eq!(with("9 March,A,4,,,").0, "unreadable-time");
    assert_eq!(
        with("2026-03-09 10:30,A,4,,,\n2026-03-09 10:30,A,5,,,").0,
        "duplicate-reading"
    );
    assert_eq!(
        errors("time,at,l9\n2026-03-09 10:30,A,4\n").0,
        "unknown-column"
    );
    assert_eq!(
        errors("time,l1_a\n2026-03-09 10:30,4\n").0,
        "missing-column"
    );
    assert_eq!(errors("").0, "empty-file");
}
