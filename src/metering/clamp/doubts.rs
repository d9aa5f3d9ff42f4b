//! Readings that contradict the machine list.

use super::{ClampReading, Round};
use electrical::Phase;
use message::{Message, Place};
use site::{Connection, Machine, Measured, Node, Site};
use units::{format_amps, format_moment};

/// Readings above the ratings by less than this are within what plates and clamps differ by: 30 % and 1 A.
const TOLERANCE: (f64, f64) = (1.3, 1.0);
/// Below this share of what it draws while it is on a machine is off.
const OFF_BELOW: f64 = 0.1;
/// Rounds in which a machine was read, at least, before its utilisation factor is judged.
const LEAST_ROUNDS: usize = 3;
/// So rarely does chance alone give such readings.
const RARE: f64 = 0.01;

/// Readings above what is listed there, and utilisation factors that the rounds contradict.
#[must_use]
pub fn reading_doubts(site: &Site, rounds: &[Round]) -> Vec<Message> {
    let mut found = Vec::new();
    for round in rounds {
        for reading in &round.readings {
            found.extend(above_ratings(site, round, reading));
            found.extend(export_unexplained(site, round, reading));
        }
    }
    for index in 0..site.machines.len() {
        found.extend(contradicted_use(site, index, rounds));
    }
    found
}

/// Does a machine load a phase, as listed or as it may be?
fn may_load(machine: &Machine, phase: Phase) -> bool {
    matches!(
        machine.connection,
        Connection::Any | Connection::AnyPair | Connection::Unknown
    ) || machine.loads(phase)
}

fn above_ratings(site: &Site, round: &Round, reading: &ClampReading) -> Option<Message> {
    let volts = site.supply.phase_voltage_v();
    let is_there = |machine: &(usize, &Machine)| match reading.at {
        Measured::Machine(own) => own == machine.0,
        Measured::Node(node) => site.is_within(machine.1.tapped_off, node),
    };
    let there: Vec<&Machine> = site
        .machines
        .iter()
        .enumerate()
        .filter(is_there)
        .map(|(_, machine)| machine)
        .collect();
    let mut worst: Option<(Phase, f64, f64)> = None;
    for phase in Phase::ALL {
        let Some(amps) = reading.phases_a[phase.index()].map(f64::abs) else {
            continue;
        };
        let on_phase = there.iter().filter(|machine| may_load(machine, phase));
        let rated: f64 = on_phase.map(|machine| machine.rated_current_a(volts)).sum();
        let over = amps - (TOLERANCE.0 * rated + TOLERANCE.1);
        let is_worst =
            worst.is_none_or(|(_, most, rated)| over > most - (TOLERANCE.0 * rated + TOLERANCE.1));
        if over > 0.0 && is_worst {
            worst = Some((phase, amps, rated));
        }
    }
    let (phase, amps, rated) = worst?;
    let name = site.measured_name(reading.at);
    let time = format_moment(round.at.with_timezone(&site.timezone));
    let is_on_phase = there.iter().any(|machine| may_load(machine, phase));
    let amps = format_amps(amps);
    let (text, help) = match (reading.at, is_on_phase) {
        (Measured::Node(_), false) if there.is_empty() => (
            format!("`{name}` reads {amps} on {phase}, and no machine is listed there"),
            "add what is connected there to the machine list",
        ),
        (Measured::Node(_), false) => (
            format!(
                "`{name}` reads {amps} on {phase}, and no machine listed there is on that phase"
            ),
            "a load may be missing from the list, or be on another phase than its `connection` says",
        ),
        (Measured::Node(_), true) => (
            format!(
                "`{name}` reads {amps} on {phase}, and the ratings listed there add up to {}",
                format_amps(rated)
            ),
            "a load may be missing from the list, be on another phase or circuit, or have a larger rating",
        ),
        (Measured::Machine(_), _) => (
            format!(
                "`{name}` reads {amps} on {phase}, and its rating is {}",
                format_amps(rated)
            ),
            "check the rating and its unit, the quantity, and that this is the machine that was read",
        ),
    };
    Some(
        Message::warning("reading-above-ratings", text)
            .at(Place::file(format!("readings of {time}")), "")
            .note("30 % and 1 A are allowed for plates and clamp")
            .help(help),
    )
}

/// A current that flows back where nothing is listed that generates.
fn export_unexplained(site: &Site, round: &Round, reading: &ClampReading) -> Option<Message> {
    let back = |phase: &Phase| reading.phases_a[phase.index()].is_some_and(|amps| amps < 0.0);
    let phase = Phase::ALL.into_iter().find(back)?;
    if site.generates_at(reading.at) {
        return None;
    }
    let name = site.measured_name(reading.at);
    let time = format_moment(round.at.with_timezone(&site.timezone));
    let text = format!(
        "`{name}` reads a current that flows back on {phase}, and nothing that generates is listed there"
    );
    Some(
        Message::warning("export-in-doubt", text)
            .at(Place::file(format!("readings of {time}")), "")
            .note("a negative reading flows towards the source")
            .help("add the photovoltaic inverter or generator to the machine list with `role` = generation, or remove the sign"),
    )
}

/// Rounds within its schedule in which a machine was read itself, or alone on its circuit; in how many it was on.
fn contradicted_use(site: &Site, index: usize, rounds: &[Round]) -> Option<Message> {
    let machine = &site.machines[index];
    let rated = machine.rated_current_a(site.supply.phase_voltage_v());
    let alone = match machine.tapped_off {
        node @ Node::Circuit(_) => {
            let on = site
                .machines
                .iter()
                .filter(|other| other.tapped_off == node);
            (on.count() == 1).then_some(Measured::Node(node))
        }
        _ => None,
    };
    let runs = |round: &&Round| {
        let local = round.at.with_timezone(&site.timezone).naive_local();
        let schedule = machine.schedule.map(|schedule| &site.schedules[schedule]);
        schedule.is_none_or(|schedule| schedule.runs_at(local, &site.holidays))
    };
    let reads = |round: &Round| {
        let reading = round
            .of(Measured::Machine(index))
            .or_else(|| round.of(alone?))?;
        let largest = reading.phases_a.iter().flatten().map(|amps| amps.abs());
        largest.max_by(f64::total_cmp)
    };
    let amps: Vec<f64> = rounds.iter().filter(runs).filter_map(reads).collect();
    let on = amps
        .iter()
        .filter(|amps| **amps > OFF_BELOW * machine.load_share * rated)
        .count();
    let share = machine.on_share();
    let chance = tail(amps.len(), on, share);
    (amps.len() >= LEAST_ROUNDS && chance < RARE).then(|| {
        let text = format!(
            "`{}` was on in {on} of {} rounds, and its utilisation factor makes {:.0} % of the time",
            machine.name,
            amps.len(),
            100.0 * share
        );
        Message::warning("utilisation-in-doubt", text)
            .note("chance alone would give such readings less than once in a hundred times")
            .help("correct `utilisation_factor`, `load_share` or the schedule, unless the rounds were taken at chosen times")
    })
}

/// How often so many of `n` or more (fewer, where fewer are expected) would be on by chance.
fn tail(n: usize, on: usize, share: f64) -> f64 {
    let mut chance = (1.0 - share).powi(n as i32);
    let all: Vec<f64> = if share >= 1.0 {
        (0..=n).map(|k| if k == n { 1.0 } else { 0.0 }).collect()
    } else {
        (0..=n)
            .map(|k| {
                let this = chance;
                chance *= (n - k) as f64 / (k + 1) as f64 * share / (1.0 - share);
                this
            })
            .collect()
    };
    let lower: f64 = all[..=on].iter().sum();
    let upper: f64 = all[on..].iter().sum();
    lower.min(upper)
}

#[cfg(test)]
mod tests {
    use super::tail;

    #[test]
    fn chance_is_that_of_independent_rounds() {
        // Three of three at 0.2: 0.008. None of three at 0.2: 0.512. Two of three at 0.5: half.
        assert!((tail(3, 3, 0.2) - 0.008).abs() < 1e-12);
        assert!((tail(3, 0, 0.2) - 0.512).abs() < 1e-12);
        assert!((tail(3, 2, 0.5) - 0.5).abs() < 1e-12);
        assert!(tail(4, 3, 1.0) < 1e-12 && tail(4, 4, 1.0) > 0.999);
        assert!(tail(5, 1, 0.0) < 1e-12);
    }
}
