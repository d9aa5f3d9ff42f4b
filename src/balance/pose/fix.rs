//! Machines that the user wants on a given phase, whatever the search would choose.

use super::connections::{connection_at, connection_now, moves_with_circuit, turn_of};
use super::from_site::Posed;
use electrical::PhasePair;
use message::{Message, did_you_mean};
use site::{Connection, Site};

/// A machine held at a connection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fix {
    /// The machine, by its place in the list.
    pub machine: usize,
    /// Where it shall be.
    pub connection: Connection,
}

/// Reads `NAME=L2`, `NAME=L1-L2` or `NAME=3ph+1`.
///
/// # Errors
///
/// A [`Message`] where the machine or the connection is not known, or the machine cannot be
/// connected so.
pub fn read_fix(site: &Site, text: &str) -> Result<Fix, Box<Message>> {
    let Some((name, wanted)) = text.rsplit_once('=') else {
        return Err(refuse(format!("`{text}` names no machine and connection"))
            .help("write the machine's name and its connection: `--fix 'Band saw=L2'`")
            .into());
    };
    let (name, wanted) = (name.trim(), wanted.trim());
    let names = || site.machines.iter().map(|machine| machine.name.as_str());
    let Some(machine) = names().position(|known| known == name) else {
        let message = refuse(format!("there is no machine `{name}`"));
        return Err(message.maybe_help(did_you_mean(name, names())).into());
    };
    let connection = read_connection(wanted).ok_or_else(|| {
        let possible = possible(connection_now(site, machine));
        refuse(format!("`{name}` cannot be on `{wanted}`"))
            .note(format!("it can be on {}", possible.join(", ")))
            .maybe_help(did_you_mean(wanted, possible.iter().map(String::as_str)))
    })?;
    check(
        site,
        Fix {
            machine,
            connection,
        },
    )
}

fn refuse(text: String) -> Message {
    Message::error("fix", text)
}

fn read_connection(text: &str) -> Option<Connection> {
    let shifted = [1, 2].map(|shift| Connection::ThreePhase { shift });
    // Two phases may be named in either order.
    let turned = PhasePair::ALL.into_iter().find(|pair| {
        let (one, other) = pair.phases();
        text.eq_ignore_ascii_case(&format!("{}-{}", other.name(), one.name()))
    });
    turned.map(Connection::Between).or_else(|| {
        Connection::DECLARABLE
            .into_iter()
            .filter(|connection| !connection.is_open())
            .chain(shifted)
            .find(|connection| connection.name().eq_ignore_ascii_case(text))
    })
}

/// The connections that a load of this kind can have.
fn possible(kind: Connection) -> Vec<String> {
    (0..3)
        .map(|turn| connection_at(kind, turn).to_string())
        .collect()
}

fn check(site: &Site, fix: Fix) -> Result<Fix, Box<Message>> {
    let machine = &site.machines[fix.machine];
    let now = connection_now(site, fix.machine);
    let possible = possible(now);
    if !possible.contains(&fix.connection.to_string()) {
        return Err(refuse(format!(
            "`{}` cannot be on `{}`",
            machine.name, fix.connection
        ))
        .note(format!("it can be on {}", possible.join(", ")))
        .into());
    }
    let holds_still = match moves_with_circuit(site, fix.machine) {
        Some(circuit) if !site.circuits[circuit].movable => Some(format!(
            "circuit `{}` cannot be moved to another phase",
            site.circuits[circuit].id
        )),
        _ if !machine.movable => Some("the machine list says `movable` = `no`".to_owned()),
        _ => None,
    };
    match holds_still {
        Some(why) if now != fix.connection => Err(refuse(format!(
            "`{}` stays on {now} and cannot be moved to `{}`",
            machine.name, fix.connection
        ))
        .note(why)
        .into()),
        _ => Ok(fix),
    }
}

/// The fixes as units of the problem and their phases.
#[derive(Debug, Default)]
pub(crate) struct Held {
    /// Unit and turn, each unit once.
    pub(crate) units: Vec<(usize, usize)>,
    /// The fix behind each, in the user's words.
    pub(crate) words: Vec<String>,
    pub(crate) notes: Vec<String>,
}

/// Fixes as units at turns.
///
/// # Errors
///
/// A sentence where two fixes contradict each other, or one asks for a change that is no change.
pub(crate) fn hold(site: &Site, posed: &Posed, fixes: &[Fix]) -> Result<Held, String> {
    let mut held = Held::default();
    for fix in fixes {
        let machine = &site.machines[fix.machine];
        let words = format!("{}={}", machine.name, fix.connection);
        let Some(turn) = turn_of(fix.connection) else {
            continue;
        };
        let unit = posed
            .members
            .iter()
            .position(|list| list.contains(&fix.machine));
        let Some(unit) = unit else {
            if connection_now(site, fix.machine) == fix.connection {
                continue;
            }
            return Err(stays(site, fix, &words));
        };
        if !posed.problem.units()[unit].choices.contains(&turn) {
            return Err(format!(
                "`--fix {words}` would load a conductor that is dangerous until it is repaired: repair it first, or leave the \
                 finding out with `--ignore`"
            ));
        }
        if let Some(known) = held.units.iter().position(|&(known, _)| known == unit) {
            if held.units[known].1 != turn {
                return Err(format!(
                    "`--fix {}` and `--fix {words}` contradict each other: these machines move together",
                    held.words[known]
                ));
            }
            continue;
        }
        let others: Vec<String> = posed.members[unit]
            .iter()
            .filter(|&&member| member != fix.machine)
            .map(|&member| format!("`{}`", site.machines[member].name))
            .collect();
        if !others.is_empty() {
            held.notes.push(format!(
                "`{}` is kept on {}, and with it the machines that move together with it: {}",
                machine.name,
                fix.connection,
                others.join(", ")
            ));
        }
        held.units.push((unit, turn));
        held.words.push(words);
    }
    Ok(held)
}

/// Why a machine that is no unit cannot be fixed elsewhere.
fn stays(site: &Site, fix: &Fix, words: &str) -> String {
    if matches!(fix.connection, Connection::ThreePhase { .. }) {
        format!(
            "`--fix {words}` changes nothing: the machine has no meter of its own with values per phase"
        )
    } else {
        let unmovable = moves_with_circuit(site, fix.machine).and_then(|circuit| {
            (0..site.machines.len()).find(|&other| {
                moves_with_circuit(site, other) == Some(circuit) && !site.machines[other].movable
            })
        });
        match unmovable {
            Some(other) => format!(
                "`--fix {words}` is not possible: `{}` on the same circuit cannot be moved to another phase",
                site.machines[other].name
            ),
            None => format!(
                "`--fix {words}` is not possible: the machine cannot be moved to another phase"
            ),
        }
    }
}
