//! `[[work]]` and `[[accepted]]`.

use declaration::{Declared, Key, ValueKind};

pub(super) static WORK: Declared = Declared {
    meaning: "Work that was done: the machine list shows the connections after it, and `tapoff diagnose` compares the \
              logs before and after.",
    keys: &[
        Key::new(
            "date",
            ValueKind::Form("a local date, or a date and time such as \"2026-03-21 14:00\""),
            "When the work was finished.",
        )
        .required()
        .example("\"2026-03-21\""),
        Key::tables("moves", &MOVE).example("[ { machine = \"Kiln\", from = \"L1\" } ]"),
        Key::text("note", "\"plan of March\"", "Your own note."),
    ],
};

static MOVE: Declared = Declared {
    meaning: "A load that was moved.",
    keys: &[
        Key::text("machine", "\"Kiln\"", "The machine or circuit.").required(),
        Key::new(
            "from",
            ValueKind::Form("a connection such as \"L1\" or \"L1-L2\""),
            "Its connection before the work.",
        )
        .required()
        .example("\"L1\""),
    ],
};

pub(super) static ACCEPTED: Declared = Declared {
    meaning: "A finding that you have accepted: it stays listed, but no longer counts. What is left out fits every \
              finding of the kind.",
    keys: &[
        Key::new(
            "kind",
            ValueKind::Form("a kind of finding"),
            "The kind of finding.",
        )
        .required()
        .example("\"load-unbalance\""),
        Key::text(
            "at",
            "\"DB1\"",
            "Where: \"supply\", or the name of a board, circuit, machine or meter.",
        )
        .or_else("everywhere"),
        Key::new("phase", ValueKind::Word(&["L1", "L2", "L3"]), "The phase.")
            .or_else("every phase")
            .example("\"L2\""),
        Key::new(
            "until",
            ValueKind::Form("a date"),
            "Last day of readings for which it is accepted.",
        )
        .or_else("for ever")
        .example("\"2026-12-31\""),
        Key::new(
            "severity",
            ValueKind::Word(&["danger", "warning", "notice"]),
            "The worst severity that is accepted. A danger is accepted only where you write so.",
        )
        .or("\"warning\"")
        .example("\"danger\""),
        Key::text(
            "figure",
            "\"largest_share_pct\"",
            "A figure of the finding's evidence, as the JSON names it; together with `below`.",
        )
        .needs("below = 55"),
        Key::number(
            "below",
            (-1e9, 1e9, ""),
            "55",
            "The value of `figure` from which the finding counts again.",
        )
        .needs("figure = \"largest_share_pct\""),
        Key::text("note", "\"fitted in May\"", "Why it is accepted."),
    ],
};
