//! `[[board]]`, `[[circuit]]`, their cables, `[[cable_size]]`.

use crate::read::supply::LARGEST_CURRENT_A;
use declaration::{Declared, Key, ValueKind};

pub(super) static BOARD: Declared = Declared {
    meaning: "A distribution board, fed from the supply or from another board.",
    keys: &[
        Key::text(
            "id",
            "\"DB1\"",
            "Name of the board, its own among boards and circuits.",
        )
        .required(),
        Key::text(
            "fed_from",
            "\"supply\"",
            "What feeds it: \"supply\" or the id of another board.",
        )
        .required(),
        Key::number(
            "phase_limit_a",
            (f64::MIN_POSITIVE, LARGEST_CURRENT_A, "A"),
            "80",
            "Largest current allowed in each phase at this board, such as the rating of its incoming device.",
        ),
        Key::number(
            "neutral_limit_a",
            (f64::MIN_POSITIVE, LARGEST_CURRENT_A, "A"),
            "80",
            "Largest current allowed in the neutral at this board.",
        )
        .or_else("the same as phase_limit_a"),
        Key::new(
            "ways",
            ValueKind::Triple,
            "Single-pole ways on L1, L2 and L3. No plan puts more circuits on a phase. Left out, ways are not counted.",
        )
        .example("[8, 8, 8]"),
        Key::new(
            "feeder",
            ValueKind::Table(&CABLE),
            "The cable that feeds the board.",
        )
        .example("{ length_m = 14, phase_mm2 = 25, neutral_mm2 = 25, conductor = \"copper\" }"),
        Key::text(
            "incomer",
            "\"switch-disconnector 100 A, 4-pole\"",
            "Its main switch or incoming device, as the circuit chart names it.",
        ),
        Key::new(
            "tested",
            ValueKind::Form("a date"),
            "When the board was last inspected and tested, for its circuit chart.",
        )
        .example("\"2026-01-20\""),
        Key::text(
            "revision",
            "\"C\"",
            "Revision of its circuit chart: raise it with every change of the board.",
        ),
    ],
};

pub(super) static CIRCUIT: Declared = Declared {
    meaning: "A circuit of a board: a busbar, or the cable behind one protective device.",
    keys: &[
        Key::text(
            "id",
            "\"C1\"",
            "Name of the circuit, its own among boards and circuits.",
        )
        .required(),
        Key::text(
            "board",
            "\"DB1\"",
            "The board it is fed from, or \"supply\".",
        )
        .required(),
        Key::new(
            "phases",
            ValueKind::Form("\"3ph\", one phase such as \"L1\", or two such as \"L1-L2\""),
            "Phases of the circuit. Everything on a circuit of one or two phases moves with it.",
        )
        .or("\"3ph\"")
        .example("\"L1\""),
        Key::new(
            "movable",
            ValueKind::Flag,
            "May a circuit of one or two phases be connected to other phases?",
        )
        .or("true")
        .example("false"),
        Key::new(
            "protective_device",
            ValueKind::Form("gG, B, C or D and the rated current in A"),
            "The circuit's fuse (gG) or circuit-breaker (B, C, D).",
        )
        .example("\"gG 32\""),
        Key::new("cable", ValueKind::Table(&CABLE), "The circuit's cable.").example(
            "{ length_m = 30, phase_mm2 = 6, neutral_mm2 = 6, conductor = \"copper\", current_capacity_a = 41 }",
        ),
        Key::number(
            "voltage_drop_limit_pct",
            (0.1, 20.0, "%"),
            "4",
            "Largest voltage drop allowed from the supply to the end of the circuit.",
        )
        .or_else("5 %, or 3 % with use = \"lighting\""),
        Key::text(
            "use",
            "\"lighting\"",
            "What the circuit is for. \"lighting\" has the smaller voltage drop.",
        ),
        Key::new(
            "way",
            ValueKind::Whole(1, 500),
            "Number of its way on the board, for the circuit chart. Ways are counted in rows of one way on each phase: way 3 of a \
             three-phase circuit is 3 L1, 3 L2 and 3 L3.",
        )
        .example("3"),
        Key::text(
            "rcd",
            "\"30 mA, type A\"",
            "Its residual-current device, as the circuit chart names it.",
        ),
        Key::text(
            "points",
            "\"6 double sockets\"",
            "Points that the circuit serves, as the circuit chart names them besides its machines.",
        ),
    ],
};

static CABLE: Declared = Declared {
    meaning: "A cable: its length, cross-sectional areas and current-carrying capacity.",
    keys: &[
        Key::number("length_m", (0.0, 5000.0, "m"), "30", "Length, one way.").required(),
        Key::number(
            "phase_mm2",
            (0.5, 1000.0, "mm²"),
            "6",
            "Cross-sectional area of each phase conductor.",
        )
        .required(),
        Key::number(
            "neutral_mm2",
            (0.5, 1000.0, "mm²"),
            "4",
            "Cross-sectional area of the neutral.",
        )
        .or_else("the same as phase_mm2"),
        Key::new(
            "conductor",
            ValueKind::Word(&["copper", "aluminium"]),
            "Material of the conductors.",
        )
        .or("\"copper\"")
        .example("\"aluminium\""),
        Key::number(
            "current_capacity_a",
            (f64::MIN_POSITIVE, 5000.0, "A"),
            "41",
            "Current-carrying capacity from the tables of your wiring rules, for its method of installation.",
        ),
        Key::number(
            "derating",
            (0.1, 1.5, ""),
            "0.87",
            "Factor on the current-carrying capacity for ambient temperature, grouping and the like.",
        )
        .or("1.0"),
    ],
};

pub(super) static CABLE_SIZE: Declared = Declared {
    meaning: "A line of your own table of cable sizes, from which `tapoff place` proposes a size. Without any, it \
              proposes none.",
    keys: &[
        Key::number("mm2", (0.5, 1000.0, "mm²"), "10", "Cross-sectional area.").required(),
        Key::number(
            "current_capacity_a",
            (f64::MIN_POSITIVE, 2000.0, "A"),
            "57",
            "Current-carrying capacity of this size.",
        )
        .required(),
    ],
};
