//! A blank sheet for a round of clamp-meter readings, to print and fill in at the board.
//!
//! In: the site. Out: one page that loads nothing from elsewhere: places in walking order, with boxes for the conductors
//! that each has.

use askama::Template;

use super::ReportError;
use super::conductor::MARKS;
use super::format::limit;
use chart::style;
use electrical::Phase;
use site::{Measured, Node, Site};

#[derive(Debug, Template)]
#[template(path = "readings-sheet.html", config = "askama.toml")]
struct ReadingsPage<'c> {
    style: String,
    name: &'c str,
    conductors: Vec<ConductorHead>,
    rows: Vec<PlaceRow>,
    version: &'static str,
}

/// Head of a conductor's column.
#[derive(Debug)]
struct ConductorHead {
    name: &'static str,
    mark: &'static str,
    colour: String,
}

#[derive(Debug)]
struct PlaceRow {
    name: String,
    /// Device or limit, and what it is.
    remark: String,
    /// How far below the supply: its heading is larger.
    is_head: bool,
    boxes: [bool; 4],
}

/// The page; with the machines on circuits where asked for.
///
/// # Errors
///
/// [`ReportError`] if the template fails, which the user's data do not provoke.
pub fn readings_sheet(site: &Site, with_machines: bool) -> Result<String, ReportError> {
    let marks = site.supply.conductor_marks.as_ref();
    let names = Phase::ALL.map(Phase::name).into_iter().chain(["N"]);
    let conductors = names.enumerate().map(|(index, name)| ConductorHead {
        name,
        mark: MARKS.get(index).copied().unwrap_or("◇"),
        colour: marks.map_or_else(String::new, |marks| marks[index].clone()),
    });
    let page = ReadingsPage {
        style: format!(
            "{}{}{}",
            style::css(),
            include_str!("../style.css"),
            include_str!("readings-sheet.css")
        ),
        name: &site.name,
        conductors: conductors.collect(),
        rows: site
            .walk(with_machines)
            .into_iter()
            .map(|place| row(site, place))
            .collect(),
        version: env!("CARGO_PKG_VERSION"),
    };
    Ok(tables::marked(&page.render()?))
}

fn row(site: &Site, at: Measured) -> PlaceRow {
    let remark = match at {
        Measured::Node(node @ (Node::Supply | Node::Board(_))) => site
            .phase_limit_a(node)
            .map_or_else(String::new, |amps| format!("limit {}", limit(amps))),
        Measured::Node(Node::Circuit(index)) => site.circuits[index]
            .protective_device
            .map_or_else(String::new, |device| device.to_string()),
        Measured::Machine(index) => format!("machine, {}", site.machines[index].connection),
    };
    PlaceRow {
        name: site.measured_name(at).to_owned(),
        remark,
        is_head: matches!(at, Measured::Node(Node::Supply | Node::Board(_))),
        boxes: site.conductors_at(at),
    }
}
