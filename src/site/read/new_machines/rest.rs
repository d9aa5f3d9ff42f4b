//! What a list of new machines has besides the columns of the machine list.

use super::{NewMachine, OwnCable, Start};
use crate::Site;
use crate::model::connection::Connection;
use crate::model::machine::{Machine, Rating};
use crate::model::node::Node;
use crate::read::machine_list::{ListRow, find_node};
use electrical::{EfficiencyClass, typical_motor_current};
use message::Messages;
use units::{Volts, Watts};

/// Typical power factor of a motor while it starts: IEC 60364-5-52 gives none; handbooks take 0.35
/// (Electrical Installation Guide, from memory).
const STARTING_POWER_FACTOR: f64 = 0.35;

/// What a list of new machines has besides the machine list's columns.
pub(super) struct Rest {
    start: Option<Start>,
    cable: Option<OwnCable>,
    candidates: Vec<Node>,
}

impl Rest {
    pub(super) fn read(row: &ListRow<'_>, site: &Site, messages: &mut Messages) -> Option<Rest> {
        let ratio = row.number("start_ratio", messages);
        let length_m = row.number("cable_m", messages);
        let mm2 = row.number("cable_mm2", messages);
        let start = read_start(row, ratio, messages)?;
        if mm2.is_some() && length_m.is_none() {
            row.complain(
                messages,
                "missing-length",
                "cable_mm2",
                format!("`cable_mm2` of `{}` has no length", row.name()),
                "a cross-sectional area without a length is no cable",
                Some("add the column `cable_m`".to_owned()),
            );
        }
        if let Some(text) = row.cell("efficiency_class")
            && let Err(error) = text.parse::<EfficiencyClass>()
        {
            row.complain(
                messages,
                "efficiency-class",
                "efficiency_class",
                error.to_string(),
                "expected IE1, IE2 or IE3",
                None,
            );
        }
        // One place in `circuit`, or several in `candidates`.
        let listed = row.cell("candidates").or_else(|| row.cell("circuit"));
        let candidates = listed.map_or_else(Vec::new, |text| {
            text.split([',', ';'])
                .map(str::trim)
                .filter(|id| !id.is_empty())
                .filter_map(|id| find_candidate(row, site, id, messages))
                .collect()
        });
        Some(Rest {
            start: Some(start),
            cable: length_m.map(|length_m| OwnCable { length_m, mm2 }),
            candidates,
        })
    }

    pub(super) fn join(self, site: &Site, row: &ListRow<'_>, mut machine: Machine) -> NewMachine {
        let mut typical = Vec::new();
        if let Rating::Shaft {
            kilowatts,
            efficiency,
        } = machine.rating
        {
            if row.cell("efficiency").is_none() {
                typical.push(format!(
                    "efficiency {:.1} %, the least of class {} for {kilowatts} kW (IEC 60034-30-1, four poles, 50 Hz)",
                    100.0 * efficiency,
                    row.cell("efficiency_class").unwrap_or("IE3"),
                ));
            }
            if row.cell("power_factor").is_none() {
                machine.power_factor =
                    motor_power_factor(site, kilowatts, efficiency, &mut typical);
            }
        }
        if let Some(start) = self.start.filter(|start| start.is_typical) {
            typical.push(format!(
                "starting current {} times the rated one (common practice)",
                start.ratio
            ));
        }
        NewMachine {
            machine,
            start: self.start.filter(|start| start.ratio > 1.0),
            cable: self.cable,
            candidates: self.candidates,
            typical,
        }
    }
}

/// From the typical current where the table has the output, else 0.8.
fn motor_power_factor(
    site: &Site,
    kilowatts: f64,
    efficiency: f64,
    typical: &mut Vec<String>,
) -> f64 {
    let line = site.supply.line_voltage_v;
    let current = typical_motor_current(Watts::from_kilo(kilowatts), Volts(line));
    if let Some(amps) = current {
        typical.push(format!(
            "current {:.1} A (IEC 60947-4-1, table G.1, value not checked against the standard's text), from which the power factor follows",
            amps.0
        ));
        return (kilowatts * 1000.0 / (3.0_f64.sqrt() * line * amps.0 * efficiency)).min(1.0);
    }
    typical.push("power factor 0.8 (common practice)".to_owned());
    0.8
}

fn find_candidate(
    row: &ListRow<'_>,
    site: &Site,
    id: &str,
    messages: &mut Messages,
) -> Option<Node> {
    let column = if row.cell("candidates").is_some() {
        "candidates"
    } else {
        "circuit"
    };
    let node = find_node(row, site, id, column, messages)?;
    let three_phase = row.cell("connection") == Some("3ph");
    if let (true, Node::Circuit(index)) = (three_phase, node)
        && !matches!(site.circuits[index].phases, Connection::ThreePhase { .. })
    {
        row.complain(
            messages,
            "not-on-circuit",
            column,
            format!(
                "`{}` needs three phases, but circuit `{id}` carries only {}",
                row.name(),
                site.circuits[index].phases
            ),
            "expected a circuit on three phases, or a board",
            Some("leave it out of the candidates".to_owned()),
        );
        return None;
    }
    Some(node)
}

fn read_start(row: &ListRow<'_>, ratio: Option<f64>, messages: &mut Messages) -> Option<Start> {
    let motor = row.cell("shaft_kw").is_some();
    let usual = match row.cell("start").map(str::to_ascii_lowercase).as_deref() {
        None if motor => 6.0,
        None | Some("none") => 1.0,
        Some("direct") => 6.0,
        Some("star-delta") => 2.0,
        Some("soft") => 3.0,
        Some(other) => {
            row.complain(
                messages,
                "start",
                "start",
                format!("`{}` cannot start `{other}`", row.name()),
                "expected direct, star-delta, soft or none",
                None,
            );
            return None;
        }
    };
    Some(Start {
        ratio: ratio.unwrap_or(usual),
        power_factor: STARTING_POWER_FACTOR,
        is_typical: ratio.is_none() && usual > 1.0,
    })
}
