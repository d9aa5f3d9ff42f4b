//! One row as a machine.

use super::Context;
use super::list_row::ListRow;
use super::rating::{read_power_factor, read_rating};
use crate::Site;
use crate::model::connection::Connection;
use crate::model::device::ProtectiveDevice;
use crate::model::device_words::NotADevice;
use crate::model::machine::{Machine, MachineRole};
use crate::model::node::Node;
use crate::read::phase_words::PhaseDoubt;
use message::{Messages, did_you_mean};

const CONNECTIONS: &str = "L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any, any-2 or unknown";

pub(crate) fn read_row(
    row: &ListRow<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<Machine> {
    let name = required(row, "machine", "a unique name", messages);
    let tapped_off = read_node(row, context, messages);
    let connection = read_connection(row, context, messages);
    if let (Some(node), Some(connection)) = (tapped_off, connection) {
        check_phases(row, context.site, node, connection, messages);
    }
    let rating = read_rating(row, context, messages);
    let (power_factor, leading) = read_power_factor(row, messages);
    let (utilisation_factor, load_share) = read_use(row, messages);
    let has_neutral = read_neutral(row, connection, messages);
    let third_harmonic = row.number("third_harmonic_pct", messages).unwrap_or(0.0) / 100.0;
    let role = read_role(row, messages);
    let schedule = read_schedule(row, context.site, messages);
    let quantity = read_quantity(row, messages);
    let movable = read_movable(row, connection, messages);
    let protective_device = read_device(row, messages);
    let meter = read_meter(row, context, messages);
    Some(Machine {
        name: name?.to_owned(),
        tapped_off: tapped_off?,
        connection: connection?,
        rating: rating?,
        power_factor: power_factor?,
        leading,
        utilisation_factor,
        load_share,
        has_neutral: has_neutral?,
        third_harmonic,
        role: role?,
        schedule,
        quantity,
        movable: movable?,
        keep_with: row.cell("keep_with").map(str::to_owned),
        protective_device,
        meter,
        description: row.cell("description").unwrap_or("").to_owned(),
        line: row.line.number,
    })
}

fn read_node(row: &ListRow<'_>, context: &Context<'_>, messages: &mut Messages) -> Option<Node> {
    if context.unplaced {
        return Some(Node::Supply);
    }
    let id = required(row, "circuit", "the id of a circuit or board", messages)?;
    find_node(row, context.site, id, "circuit", messages)
}

fn read_connection(
    row: &ListRow<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<Connection> {
    let text = if context.unplaced {
        row.cell("connection").unwrap_or("any")
    } else {
        required(row, "connection", CONNECTIONS, messages)?
    };
    match row.phases.read(text) {
        Ok(connection) => return Some(connection),
        Err(PhaseDoubt::Open(help)) => row.complain(
            messages,
            "phase-in-doubt",
            "connection",
            format!("the phase of `{}` is not certain from `{text}`", row.name()),
            format!("expected {CONNECTIONS}"),
            Some(help),
        ),
        Err(PhaseDoubt::Unknown) => row.complain(
            messages,
            "connection",
            "connection",
            format!("`{}` cannot be connected to `{text}`", row.name()),
            format!("expected {CONNECTIONS}"),
            // Any other phase would be as near: only the user knows.
            Some("write `any` or `any-2` where the phase is not decided yet, `unknown` where it is installed and the phase is not known".to_owned()),
        ),
    }
    None
}

fn read_schedule(row: &ListRow<'_>, site: &Site, messages: &mut Messages) -> Option<usize> {
    let wanted = row.cell("schedule")?;
    let names = || site.schedules.iter().map(|schedule| schedule.name.as_str());
    let found = names().position(|name| name == wanted);
    if found.is_none() {
        row.complain(
            messages,
            "unknown-schedule",
            "schedule",
            format!("there is no schedule `{wanted}`"),
            "expected the name of a `[[schedule]]` in site.toml",
            did_you_mean(wanted, names()),
        );
    }
    found
}

/// How many machines of a kind the row stands for.
fn read_quantity(row: &ListRow<'_>, messages: &mut Messages) -> u32 {
    let quantity = row
        .number("quantity", messages)
        .map_or(1, |quantity| quantity as u32);
    let is_broken = |text: &str| text.parse::<f64>().is_ok_and(|n| n.fract() != 0.0);
    if row.cell("quantity").is_some_and(is_broken) {
        row.complain(
            messages,
            "whole-number",
            "quantity",
            format!("`quantity` of `{}` must be a whole number", row.name()),
            "expected 1, 2, 3, …",
            None,
        );
    }
    quantity
}

fn read_device(row: &ListRow<'_>, messages: &mut Messages) -> Option<ProtectiveDevice> {
    let text = row.cell("protective_device")?;
    let complain = |error: NotADevice| {
        let help = error.suggestion();
        row.complain(
            messages,
            "protective-device",
            "protective_device",
            error.to_string(),
            "expected gG, B, C, D or BS 3036 and the rated current in A",
            help.or_else(|| {
                Some("leave the cell empty where the device is of another kind".to_owned())
            }),
        );
    };
    text.parse().map_err(complain).ok()
}

fn read_meter(row: &ListRow<'_>, context: &Context<'_>, messages: &mut Messages) -> Option<usize> {
    let wanted = row.cell("meter")?;
    let ids = || context.meter_ids.iter().copied();
    let found = ids().position(|id| id == wanted);
    if found.is_none() {
        row.complain(
            messages,
            "unknown-meter",
            "meter",
            format!("there is no meter `{wanted}`"),
            "expected the id of a `[[meter]]` in site.toml",
            did_you_mean(wanted, ids()),
        );
    }
    found
}

fn required<'r>(
    row: &'r ListRow<'_>,
    column: &'static str,
    expected: &str,
    messages: &mut Messages,
) -> Option<&'r str> {
    let cell = row.cell(column);
    if cell.is_none() && row.columns.get(column).is_some() {
        row.complain(
            messages,
            "empty-cell",
            column,
            if column == "machine" {
                "this row has no machine name".to_owned()
            } else {
                format!("`{column}` of `{}` is empty", row.name())
            },
            format!("expected {expected}"),
            None,
        );
    }
    cell
}

pub(crate) fn find_node(
    row: &ListRow<'_>,
    site: &Site,
    id: &str,
    column: &str,
    messages: &mut Messages,
) -> Option<Node> {
    let found = site.node_called(id);
    if found.is_none() {
        let names = site.nodes().into_iter().map(|node| site.node_name(node));
        row.complain(
            messages,
            "unknown-circuit",
            column,
            format!("there is no circuit or board `{id}`"),
            "expected the id of a circuit or board in site.toml",
            did_you_mean(id, names),
        );
    }
    found
}

/// A machine on a one- or two-phase circuit must be connected within the circuit's phases.
fn check_phases(
    row: &ListRow<'_>,
    site: &Site,
    node: Node,
    connection: Connection,
    messages: &mut Messages,
) {
    let Node::Circuit(index) = node else { return };
    let circuit = &site.circuits[index];
    let fits = match circuit.phases {
        Connection::ToNeutral(_) => {
            matches!(connection, Connection::Any | Connection::Unknown)
                || connection == circuit.phases
        }
        Connection::Between(_) => {
            matches!(connection, Connection::AnyPair | Connection::Unknown)
                || connection == circuit.phases
        }
        _ => true,
    };
    if !fits {
        row.complain(
            messages,
            "not-on-circuit",
            "connection",
            format!(
                "`{}` is on `{connection}`, but circuit `{}` carries only {}",
                row.name(),
                circuit.id,
                circuit.phases
            ),
            format!("expected {}", circuit.phases),
            Some(
                "change the circuit's `phases`, or give the circuit that the machine is really on"
                    .to_owned(),
            ),
        );
    }
}

/// Mean share of the rating, and the share while the machine is on.
fn read_use(row: &ListRow<'_>, messages: &mut Messages) -> (f64, f64) {
    let load_share = row.number("load_share", messages).unwrap_or(1.0);
    let mean = row.number("utilisation_factor", messages);
    let mean = mean.unwrap_or(load_share);
    if mean > load_share {
        row.complain(
            messages,
            "above-load-share",
            "utilisation_factor",
            format!(
                "`utilisation_factor` of `{}` is above its `load_share`",
                row.name()
            ),
            format!("expected at most {load_share}, found {mean}"),
            Some(
                "the mean over the schedule is never above what the machine draws while it is on: correct one of the two"
                    .to_owned(),
            ),
        );
    }
    (mean, load_share)
}

fn read_neutral(
    row: &ListRow<'_>,
    connection: Option<Connection>,
    messages: &mut Messages,
) -> Option<bool> {
    let usual = connection.is_none_or(Connection::has_neutral);
    let written = row.yes_or_no("neutral", messages).ok()?;
    if written == Some(false)
        && let Some(to_neutral @ (Connection::ToNeutral(_) | Connection::Any)) = connection
    {
        row.complain(
            messages,
            "single-phase-neutral",
            "neutral",
            format!(
                "`{}` is between one phase and neutral, so that its whole current returns in the neutral",
                row.name()
            ),
            format!("expected yes for a load on {to_neutral}"),
            Some(
                "leave the cell empty; a load between two phases is connected `L1-L2`, `L2-L3` or `L3-L1`"
                    .to_owned(),
            ),
        );
        return None;
    }
    Some(usual && written != Some(false))
}

fn read_role(row: &ListRow<'_>, messages: &mut Messages) -> Option<MachineRole> {
    match row.cell("role").map(str::to_ascii_lowercase).as_deref() {
        None | Some("load") => Some(MachineRole::Load),
        Some("generation") => Some(MachineRole::Generation),
        Some(text) => {
            row.complain(
                messages,
                "unknown-role",
                "role",
                format!("`role` of `{}` must be load or generation", row.name()),
                format!("expected load or generation, found `{text}`"),
                None,
            );
            None
        }
    }
}

fn read_movable(
    row: &ListRow<'_>,
    connection: Option<Connection>,
    messages: &mut Messages,
) -> Option<bool> {
    let usual = !matches!(connection, Some(Connection::ThreePhase { .. }));
    let movable = row.yes_or_no("movable", messages).ok()?.unwrap_or(usual);
    if !movable && matches!(connection, Some(Connection::Any | Connection::AnyPair)) {
        row.complain(
            messages,
            "open-and-fixed",
            "movable",
            format!("`{}` has no phase yet and cannot be fixed", row.name()),
            "expected yes, or a definite connection",
            Some("write the phase that it is on, or `any` where the plan may choose".to_owned()),
        );
        return None;
    }
    Some(movable)
}

#[cfg(test)]
mod tests {
    use crate::read_site;

    fn read(rows: &str) -> Result<Vec<(f64, f64, bool)>, Vec<&'static str>> {
        let folder = tempfile::tempdir().expect("a folder");
        let toml = "[site]\nname = 'test'\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n";
        let list = format!(
            "machine,circuit,connection,power_kw,utilisation_factor,load_share,neutral\n{rows}"
        );
        std::fs::write(folder.path().join("site.toml"), toml).expect("written");
        std::fs::write(folder.path().join("machines.csv"), list).expect("written");
        let read = read_site(folder.path());
        let use_of = |m: &crate::Machine| (m.utilisation_factor, m.load_share, m.has_neutral);
        match read {
            Ok((site, _)) => Ok(site.machines.iter().map(use_of).collect()),
            Err(errors) => Err(errors.0.all().iter().map(|message| message.name).collect()),
        }
    }

    #[test]
    fn the_mean_load_is_at_most_the_load_while_it_is_on() {
        let rows = "A,supply,3ph,9,0.3,0.8,no\nB,supply,L1,3,,0.8,\nC,supply,L1-L2,3,,,yes\n";
        let expected = vec![(0.3, 0.8, false), (0.8, 0.8, true), (1.0, 1.0, false)];
        assert_eq!(read(rows), Ok(expected));
        let refused = |row| read(row).expect_err("refused");
        assert_eq!(refused("A,supply,3ph,9,0.9,0.8,\n"), ["above-load-share"]);
        assert_eq!(refused("A,supply,L1,9,,,no\n"), ["single-phase-neutral"]);
        assert_eq!(refused("A,supply,3ph,9,,,perhaps\n"), ["yes-or-no"]);
    }
}
