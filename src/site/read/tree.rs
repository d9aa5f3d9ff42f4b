//! Reads `[[board]]` and `[[circuit]]` and builds the tree from the supply down.

use std::collections::HashMap;

use super::date::read_date;
use super::phase_words::{PhaseDoubt, PhaseWords};
use super::table::{Located, SiteTable};
use crate::model::connection::Connection;
use crate::model::device::{Cable, Conductor, ProtectiveDevice};
use crate::model::node::Node;
use crate::model::site::{Board, Circuit};
use message::{Message, closest, did_you_mean};

/// Boards and circuits with their feeds resolved.
pub(crate) struct Tree {
    pub(crate) boards: Vec<Board>,
    pub(crate) circuits: Vec<Circuit>,
}

/// `marks` are those of the site's conductors.
pub(crate) fn read(root: &SiteTable<'_, '_>, marks: Option<&[String; 4]>) -> Tree {
    let board_tables = root.tables("board");
    let circuit_tables = root.tables("circuit");
    let board_ids: Vec<Option<Located<String>>> = board_tables
        .iter()
        .map(|table| table.required_text("id"))
        .collect();
    let circuit_ids: Vec<Option<Located<String>>> = circuit_tables
        .iter()
        .map(|table| table.required_text("id"))
        .collect();
    check_ids(root, board_ids.iter().chain(&circuit_ids).flatten());
    let boards = board_tables
        .iter()
        .zip(&board_ids)
        .map(|(table, id)| read_board(table, id.as_ref(), &board_ids))
        .collect();
    let circuits = circuit_tables
        .iter()
        .zip(&circuit_ids)
        .map(|(table, id)| read_circuit(table, id.as_ref(), &board_ids, marks))
        .collect();
    let mut tree = Tree { boards, circuits };
    break_loops(root, &board_tables, &mut tree);
    tree
}

/// Complains about ids used twice and about `supply` as an id.
fn check_ids<'a>(root: &SiteTable<'_, '_>, ids: impl Iterator<Item = &'a Located<String>>) {
    let mut seen: HashMap<String, (usize, usize)> = HashMap::new();
    for id in ids {
        if id.value == "supply" {
            root.source.push(
                Message::error("reserved-name", "`supply` is the supply's own name")
                    .at(root.source.place(&id.span), "choose another id"),
            );
        }
        let place = root.source.place(&id.span);
        let (times, first) = seen.entry(id.value.clone()).or_insert((0, place.line));
        *times += 1;
        if *times == 2 {
            root.source.push(
                Message::error(
                    "duplicate-id",
                    format!("two boards or circuits are called `{}`", id.value),
                )
                .at(place, format!("used before, in line {first}"))
                .help("give each its own id"),
            );
        }
    }
}

fn resolve_board(
    table: &SiteTable<'_, '_>,
    feed: &Located<String>,
    boards: &[Option<Located<String>>],
) -> Node {
    if feed.value == "supply" {
        return Node::Supply;
    }
    let known = || boards.iter().flatten().map(|id| id.value.as_str());
    let index = boards
        .iter()
        .position(|id| id.as_ref().is_some_and(|id| id.value == feed.value));
    if let Some(index) = index {
        return Node::Board(index);
    }
    table.source.push(
        Message::error(
            "unknown-board",
            format!("there is no board `{}`", feed.value),
        )
        .at(
            table.source.place(&feed.span),
            "expected `supply` or the id of a board",
        )
        .maybe_help(did_you_mean(&feed.value, known().chain(["supply"]))),
    );
    Node::Supply
}

fn read_board(
    table: &SiteTable<'_, '_>,
    id: Option<&Located<String>>,
    boards: &[Option<Located<String>>],
) -> Board {
    let fed_from = table
        .required_text("fed_from")
        .map_or(Node::Supply, |feed| resolve_board(table, &feed, boards));
    let phase_limit_a = table.number("phase_limit_a");
    let neutral_limit_a = table.number("neutral_limit_a").or(phase_limit_a);
    let ways = table.whole_triple("ways");
    let feeder = table.table("feeder").and_then(|feeder| read_cable(&feeder));
    let incomer = table.text("incomer").map(|text| text.value);
    let tested = table
        .text("tested")
        .and_then(|date| read_date(table.source, &date));
    let revision = table.text_or_number("revision").map(|text| text.value);
    table.finish();
    Board {
        id: id.map(|id| id.value.clone()).unwrap_or_default(),
        fed_from,
        phase_limit_a,
        neutral_limit_a,
        ways,
        feeder,
        incomer,
        tested,
        revision,
    }
}

fn read_circuit(
    table: &SiteTable<'_, '_>,
    id: Option<&Located<String>>,
    boards: &[Option<Located<String>>],
    marks: Option<&[String; 4]>,
) -> Circuit {
    let board = table
        .required_text("board")
        .map_or(Node::Supply, |board| resolve_board(table, &board, boards));
    let phases = read_phases(table, marks);
    let movable = table.flag("movable").unwrap_or(true);
    let protective_device = table.text("protective_device").and_then(|text| {
        text.value
            .parse::<ProtectiveDevice>()
            .map_err(|error| {
                table.source.push(
                    Message::error("protective-device", error.to_string())
                        .at(
                            table.source.place(&text.span),
                            "expected gG, B, C, D or BS 3036 and the rated current in A",
                        )
                        .maybe_help(error.suggestion()),
                );
            })
            .ok()
    });
    let cable = table.table("cable").and_then(|cable| read_cable(&cable));
    let usage = table.text("use").map(|usage| {
        doubt_use(table, &usage);
        usage.value
    });
    let usual_drop_pct = if usage.as_deref() == Some("lighting") {
        3.0
    } else {
        5.0
    };
    let voltage_drop_limit_pct = table
        .number("voltage_drop_limit_pct")
        .unwrap_or(usual_drop_pct);
    let way = table.whole("way").map(|way| way.value);
    let rcd = table.text("rcd").map(|text| text.value);
    let points = table.text_or_number("points").map(|text| text.value);
    table.finish();
    Circuit {
        id: id.map(|id| id.value.clone()).unwrap_or_default(),
        board,
        phases,
        movable,
        protective_device,
        cable,
        voltage_drop_limit_pct,
        usage,
        way,
        rcd,
        points,
    }
}

/// A word for lighting that is not the one with the smaller voltage drop.
fn doubt_use(table: &SiteTable<'_, '_>, usage: &Located<String>) {
    let lower = usage.value.to_lowercase();
    let is_lighting = ["light", "lamp", "illumination"]
        .iter()
        .any(|word| lower.contains(word));
    if usage.value != "lighting" && (is_lighting || closest(&lower, ["lighting"]).is_some()) {
        table.source.push(
            Message::warning(
                "use-in-doubt",
                format!("`use` = `{}` has no effect", usage.value),
            )
            .at(table.source.place(&usage.span), "not the word for lighting")
            .help("did you mean `lighting`? Its voltage drop is limited to 3 % instead of 5 %"),
        );
    }
}

fn read_phases(table: &SiteTable<'_, '_>, marks: Option<&[String; 4]>) -> Connection {
    let Some(text) = table.text("phases") else {
        return Connection::THREE_PHASE;
    };
    let words = PhaseWords::of(marks, [text.value.as_str()]);
    match words.read(&text.value) {
        Ok(phases) if !phases.is_open() => phases,
        Err(PhaseDoubt::Open(help)) => {
            let doubt = format!(
                "the phases of a circuit are not certain from `{}`",
                text.value
            );
            table.source.push(
                Message::error("phase-in-doubt", doubt)
                    .at(
                        table.source.place(&text.span),
                        "expected 3ph, L1, L2, L3, L1-L2, L2-L3 or L3-L1",
                    )
                    .help(help),
            );
            Connection::THREE_PHASE
        }
        _ => {
            table.source.push(
                Message::error("phases", format!("a circuit cannot be on `{}`", text.value))
                    .at(
                        table.source.place(&text.span),
                        "expected 3ph, L1, L2, L3, L1-L2, L2-L3 or L3-L1",
                    )
                    .help("leave `phases` out where the circuit carries all three"),
            );
            Connection::THREE_PHASE
        }
    }
}

fn read_cable(table: &SiteTable<'_, '_>) -> Option<Cable> {
    let length_m = table.required_number("length_m");
    let phase_mm2 = table.required_number("phase_mm2");
    let neutral_mm2 = table.number("neutral_mm2");
    let conductor = table.word(
        "conductor",
        &[
            ("copper", Conductor::Copper),
            ("aluminium", Conductor::Aluminium),
        ],
    );
    let current_capacity_a = table.number("current_capacity_a");
    let derating = table.number("derating");
    table.finish();
    let phase_mm2 = phase_mm2?;
    Some(Cable {
        length_m: length_m?,
        phase_mm2,
        neutral_mm2: neutral_mm2.unwrap_or(phase_mm2),
        conductor: conductor.unwrap_or(Conductor::Copper),
        current_capacity_a,
        derating: derating.unwrap_or(1.0),
    })
}

/// Boards fed from each other have no way to the supply: complained about, then cut loose.
fn break_loops(root: &SiteTable<'_, '_>, tables: &[SiteTable<'_, '_>], tree: &mut Tree) {
    for (start, table) in tables.iter().enumerate() {
        let mut at = Node::Board(start);
        let mut steps = 0;
        while let Node::Board(index) = at {
            at = tree.boards[index].fed_from;
            steps += 1;
            if steps > tree.boards.len() {
                root.source.push(
                    Message::error(
                        "board-loop",
                        format!(
                            "board `{}` is never fed from the supply",
                            tree.boards[start].id
                        ),
                    )
                    .at(
                        root.source.place(&table.span),
                        "its feeds lead back to itself",
                    )
                    .help("let one board of the loop be `fed_from = \"supply\"`"),
                );
                tree.boards[start].fed_from = Node::Supply;
                break;
            }
        }
    }
}
