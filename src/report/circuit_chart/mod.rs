//! The circuit chart of a board, to print and fix inside its door: ways by phase, machines, protective device and cable.
//!
//! In: a [`ChangedSite`], the installation with its new and moved machines. Out: [`circuit_chart`] gives one page that
//! loads nothing from elsewhere; each board starts on a new sheet.

mod changed;
mod rows;

pub use changed::{ChangedSite, Mark};

use askama::Template;

use self::rows::{ChartRow, rows};
use super::ReportError;
use super::conductor::MARKS;
use super::format::{counted, limit};
use chart::style;
use electrical::Phase;
use site::{Node, Site};

/// The page.
#[derive(Debug, Template)]
#[template(path = "circuit-chart.html", config = "askama.toml")]
struct CircuitChartPage<'c> {
    style: String,
    name: &'c str,
    /// The present state, or after how many changes.
    state: String,
    /// The changes, one sentence each.
    changes: Vec<String>,
    boards: Vec<BoardView>,
    version: &'static str,
}

#[derive(Debug)]
struct BoardView {
    title: String,
    facts: Vec<(&'static str, String)>,
    phases: Vec<PhaseHead>,
    rows: Vec<ChartRow>,
}

/// Head of a phase's column.
#[derive(Debug)]
struct PhaseHead {
    name: &'static str,
    mark: &'static str,
    colour: String,
    ways: String,
}

/// Circuit charts of the boards with a change; of all boards where nothing is changed.
///
/// # Errors
///
/// [`ReportError`] if the template fails, which the user's data do not provoke.
pub fn circuit_chart(changed: &ChangedSite) -> Result<String, ReportError> {
    let site = &changed.site;
    let changes = changed.sentences();
    let nodes = site.nodes().into_iter();
    let boards = nodes
        .filter(|node| !matches!(node, Node::Circuit(_)))
        .filter_map(|node| board(changed, node))
        .collect();
    let page = CircuitChartPage {
        style: format!(
            "{}{}{}",
            style::css(),
            include_str!("../style.css"),
            include_str!("circuit-chart.css")
        ),
        name: &site.name,
        state: if changes.is_empty() {
            "Present state".to_owned()
        } else {
            format!("After {}", counted(changes.len(), "change", "changes"))
        },
        changes,
        boards,
        version: env!("CARGO_PKG_VERSION"),
    };
    Ok(page.render()?)
}

/// `None` where nothing is connected to the board, or where the changes are all on other boards.
fn board(changed: &ChangedSite, node: Node) -> Option<BoardView> {
    let site = &changed.site;
    let rows = rows(changed, node);
    let is_touched = rows.iter().any(|row| !row.word.is_empty());
    let only_boards = rows.iter().all(|row| row.is_board);
    if only_boards || (!changed.marks.is_empty() && !is_touched) {
        return None;
    }
    let ways = match node {
        Node::Board(index) => site.boards[index].ways,
        _ => None,
    };
    let phase = |phase: Phase| {
        let k = phase.index();
        let used = rows
            .iter()
            .filter(|row| row.phases[k] && !row.is_board)
            .count();
        PhaseHead {
            name: phase.name(),
            mark: MARKS[k],
            colour: colour(site, k),
            ways: ways.map_or_else(
                || format!("{used}\u{A0}used"),
                |ways| {
                    let free = (ways[k] as usize).saturating_sub(used);
                    format!("{used}\u{A0}used, {free}\u{A0}free")
                },
            ),
        }
    };
    Some(BoardView {
        title: title(site, node),
        facts: facts(site, node),
        phases: Phase::ALL.map(phase).into_iter().collect(),
        rows,
    })
}

fn title(site: &Site, node: Node) -> String {
    match node {
        Node::Supply => "Supply, upstream of the boards".to_owned(),
        _ => format!("Board {}", site.node_name(node)),
    }
}

fn facts(site: &Site, node: Node) -> Vec<(&'static str, String)> {
    let mut facts = Vec::new();
    if let (Node::Board(index), Some(parent)) = (node, site.parent(node)) {
        let feeder = site.boards[index].feeder.map_or_else(String::new, |cable| {
            format!(", {}", rows::cable_words(&cable))
        });
        facts.push(("Fed from", format!("{}{feeder}", site.node_name(parent))));
    }
    if let Some(amps) = site.phase_limit_a(node) {
        facts.push(("Limit per phase", limit(amps)));
    }
    if let Some(amps) = site.neutral_limit_a(node) {
        facts.push(("Neutral limit", limit(amps)));
    }
    let neutral = colour(site, 3);
    if !neutral.is_empty() {
        facts.push(("Neutral conductor", neutral));
    }
    facts
}

/// The site file's word for a conductor's colour; empty where there is none.
fn colour(site: &Site, conductor: usize) -> String {
    let words = site.supply.conductor_marks.as_ref();
    words.map_or_else(String::new, |words| words[conductor].clone())
}
