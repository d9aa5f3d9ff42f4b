//! The circuit chart of a board, to print and fix inside its door: ways in their order on the board with what they serve,
//! protective device, residual-current device and cable; spare ways are rows as well.
//!
//! In: the states of the installation, each a [`ChangedSite`] with its new and moved machines. Out: [`circuit_chart`] gives
//! one page that loads nothing from elsewhere; each board starts on a new sheet.

mod changed;
mod rows;
mod ways;

pub use changed::{ChangedSite, Mark};

use askama::Template;
use chrono::NaiveDate;

use self::rows::{ChartRow, rows};
use super::ReportError;
use super::conductor::MARKS;
use super::format::{counted, limit};
use super::print_head::print_head;
use chart::style;
use electrical::Phase;
use site::{Node, Site};
use units::format_date;

/// The page.
#[derive(Debug, Template)]
#[template(path = "circuit-chart.html", config = "askama.toml")]
struct CircuitChartPage<'c> {
    style: String,
    name: &'c str,
    /// The changes, one sentence each.
    changes: Vec<String>,
    boards: Vec<BoardView>,
    version: &'static str,
}

#[derive(Debug)]
struct BoardView {
    title: String,
    /// The present state, or after how many changes.
    state: String,
    /// Name and value; without a value it is filled in by hand.
    facts: Vec<(&'static str, Option<String>)>,
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

/// Circuit charts of the boards, one state after the other for each: of all boards where nothing is changed, else of those
/// with a change. `made_on` is the date that the sheets carry.
///
/// # Errors
///
/// [`ReportError`] if the template fails, which the user's data do not provoke.
pub fn circuit_chart(
    site: &Site,
    states: &[&ChangedSite],
    made_on: NaiveDate,
) -> Result<String, ReportError> {
    let changes = states.iter().flat_map(|state| state.sentences()).collect();
    let nodes = site.nodes().into_iter();
    let boards = nodes
        .filter(|node| !matches!(node, Node::Circuit(_)))
        .flat_map(|node| {
            states
                .iter()
                .filter_map(move |state| board(state, node, made_on))
        })
        .collect();
    let page = CircuitChartPage {
        style: format!(
            "{}{}{}{}",
            style::css(),
            include_str!("../style.css"),
            include_str!("circuit-chart.css"),
            print_head(&site.name, "Circuit chart")
        ),
        name: &site.name,
        changes,
        boards,
        version: env!("CARGO_PKG_VERSION"),
    };
    Ok(tables::marked(&page.render()?))
}

/// `None` where nothing is connected to the board, or where the changes are all on other boards.
fn board(changed: &ChangedSite, node: Node, made_on: NaiveDate) -> Option<BoardView> {
    let site = &changed.site;
    let rows = rows(changed, node);
    let is_touched = rows.iter().any(|row| !row.word.is_empty());
    let only_boards = rows.iter().all(|row| row.is_board() || row.is_spare());
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
            .filter(|row| row.phases[k] && !row.is_board() && !row.is_spare())
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
        state: if changed.marks.is_empty() {
            "Present state".to_owned()
        } else {
            let count = changed.marks.len();
            format!("After {}", counted(count, "change", "changes"))
        },
        facts: facts(changed, node, made_on),
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

fn facts(
    changed: &ChangedSite,
    node: Node,
    made_on: NaiveDate,
) -> Vec<(&'static str, Option<String>)> {
    let site = &changed.site;
    let mut facts = Vec::new();
    let board = match node {
        Node::Board(index) => Some(&site.boards[index]),
        _ => None,
    };
    if let (Some(board), Some(parent)) = (board, site.parent(node)) {
        let feeder = board.feeder.map_or_else(String::new, |cable| {
            format!(", {}", rows::cable_words(&cable))
        });
        let parent = site.node_name(parent);
        facts.push(("Fed from", Some(format!("{parent}{feeder}"))));
    }
    facts.push(("Incomer", board.and_then(|board| board.incomer.clone())));
    if let Some(amps) = site.phase_limit_a(node) {
        facts.push(("Limit per phase", Some(limit(amps))));
    }
    if let Some(amps) = site.neutral_limit_a(node) {
        facts.push(("Neutral limit", Some(limit(amps))));
    }
    let neutral = colour(site, 3);
    if !neutral.is_empty() {
        facts.push(("Neutral conductor", Some(neutral)));
    }
    // A test and a revision of before hold no longer after a change.
    let present = board.filter(|_| changed.marks.is_empty());
    let tested = present.and_then(|board| board.tested);
    facts.push(("Tested", tested.map(format_date)));
    facts.push(("Revision", present.and_then(|board| board.revision.clone())));
    facts.push(("Made on", Some(format_date(made_on))));
    facts.push(("Checked by", None));
    facts
}

/// The site file's word for a conductor's colour; empty where there is none.
fn colour(site: &Site, conductor: usize) -> String {
    let words = site.supply.conductor_marks.as_ref();
    words.map_or_else(String::new, |words| words[conductor].clone())
}
