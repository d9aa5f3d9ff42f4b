//! The sheets of a site kept in one workbook: their columns, and the keys of site.toml that these stand for.

use super::sheet_column::{SheetColumn, SheetValue, SiteSheet, column};
use super::tariff_sheet::TARIFF_SHEET;
use user_tables::TableWords;

const PHASES: &[&str] = &["3ph", "L1", "L2", "L3", "L1-L2", "L2-L3", "L3-L1"];
const METALS: &[&str] = &["copper", "aluminium"];
/// Choices of a column of yes and no.
pub const YES_NO: &[&str] = &["yes", "no"];
/// Choices for the connection of a machine.
pub const CONNECTIONS: &[&str] = &[
    "L1", "L2", "L3", "L1-L2", "L2-L3", "L3-L1", "3ph", "any", "any-2", "unknown",
];

/// The rows of the sheet `Supply`: what, and its value. Their keys have the table before a point.
pub static SUPPLY_ROWS: &[SheetColumn] = &[
    column(
        "Site name",
        "site.name",
        &["site name", "name", "site"],
        "",
        "Shown on the report.",
    ),
    column(
        "Time zone",
        "site.timezone",
        &["time zone", "timezone"],
        "UTC",
        "Such as Europe/London. It decides days and schedules.",
    ),
    column(
        "Currency",
        "site.currency",
        &["currency"],
        "",
        "Three letters, such as GBP. May stay empty.",
    ),
    column(
        "Line-to-line voltage (V)",
        "supply.line_voltage_v",
        &[
            "line to line voltage",
            "voltage",
            "supply voltage",
            "line voltage",
            "line voltage v",
        ],
        "400",
        "Nominal, between two phases: 400 V, not 230 V.",
    )
    .number(),
    column(
        "Limit per phase (A)",
        "supply.phase_limit_a",
        &[
            "limit per phase",
            "phase limit",
            "supply limit",
            "limit",
            "main fuse",
            "phase limit a",
        ],
        "63",
        "Main fuse, or the capacity agreed with the network operator.",
    )
    .number(),
    column(
        "Limit of the neutral (A)",
        "supply.neutral_limit_a",
        &["limit of the neutral", "neutral limit", "neutral limit a"],
        "",
        "Empty: as the phases.",
    )
    .number(),
    column(
        "Frequency (Hz)",
        "supply.frequency_hz",
        &["frequency", "frequency hz"],
        "50",
        "",
    )
    .number(),
    column(
        "Transformer (kVA)",
        "supply.transformer_kva",
        &["transformer", "transformer kva"],
        "",
        "Of the supply's own transformer. May stay empty.",
    )
    .number(),
    column(
        "Conductor colours",
        "supply.conductor_colours",
        &["conductor colours", "conductor colors", "colours", "colors"],
        "",
        "What marks L1, L2 and L3 on site. Without it, black and blue are not taken for a phase.",
    )
    .choices(&["brown-black-grey", "red-yellow-blue"]),
];

/// The sheets whose rows stand for tables of site.toml.
pub static SITE_SHEETS: &[SiteSheet] = &[
    SiteSheet {
        name: "Boards",
        table: "board",
        row_is: "a board",
        columns: &[
            column(
                "Board",
                "id",
                &["board", "id", "name", "board id"],
                "Board 1",
                "Its own name.",
            ),
            column(
                "Fed from",
                "fed_from",
                &["fed from", "feed", "supplied from"],
                "supply",
                "supply, or another board.",
            ),
            column(
                "Limit per phase (A)",
                "phase_limit_a",
                &["limit per phase", "phase limit", "limit", "phase limit a"],
                "40",
                "Rating of its incoming device.",
            )
            .number(),
            column(
                "Limit of the neutral (A)",
                "neutral_limit_a",
                &["limit of the neutral", "neutral limit", "neutral limit a"],
                "40",
                "Empty: as the phases.",
            )
            .number(),
            column(
                "Incomer",
                "incomer",
                &["incomer", "main switch", "incoming device"],
                "switch-disconnector 63 A, 4-pole",
                "Main switch or incoming device.",
            ),
            column(
                "Tested",
                "tested",
                &["tested", "test date", "last test"],
                "2026-01-20",
                "When it was last inspected and tested.",
            ),
            column(
                "Revision",
                "revision",
                &["revision", "rev"],
                "A",
                "Revision of its circuit chart.",
            ),
            column(
                "Feeder length (m)",
                "feeder.length_m",
                &["feeder length", "length", "feeder length m"],
                "12",
                "Cable that feeds the board, one way.",
            )
            .number(),
            column(
                "Feeder phase (mm2)",
                "feeder.phase_mm2",
                &["feeder phase", "phase", "feeder phase mm2"],
                "16",
                "Cross-sectional area of a phase conductor.",
            )
            .number(),
            column(
                "Feeder neutral (mm2)",
                "feeder.neutral_mm2",
                &["feeder neutral", "neutral", "feeder neutral mm2"],
                "16",
                "Empty: as the phases.",
            )
            .number(),
            column(
                "Feeder material",
                "feeder.conductor",
                &["feeder material", "material", "conductor"],
                "copper",
                "",
            )
            .choices(METALS),
        ],
    },
    SiteSheet {
        name: "Circuits",
        table: "circuit",
        row_is: "a circuit",
        columns: &[
            column(
                "Circuit",
                "id",
                &["circuit", "id", "name", "circuit id", "circuit no"],
                "Machines",
                "Its own name.",
            ),
            column(
                "Board",
                "board",
                &["board", "fed from", "distribution board"],
                "Board 1",
                "The board it is fed from, or supply.",
            ),
            column(
                "Phases",
                "phases",
                &["phases", "phase"],
                "3ph",
                "All on a circuit of one or two phases moves with it.",
            )
            .choices(PHASES),
            SheetColumn {
                value: SheetValue::YesNo,
                ..column(
                    "Movable",
                    "movable",
                    &["movable", "can be moved"],
                    "yes",
                    "May a circuit of one or two phases be connected to others?",
                )
                .choices(YES_NO)
            },
            column(
                "Protective device",
                "protective_device",
                &["protective device", "device", "breaker", "mcb", "fuse"],
                "gG 32",
                "Such as gG 32, B 16, MCB C32, BS 3036 30.",
            ),
            column(
                "Use",
                "use",
                &["use"],
                "power",
                "lighting has the smaller voltage drop.",
            )
            .choices(&["power", "lighting"]),
            column(
                "Way",
                "way",
                &["way", "way no", "way number"],
                "1",
                "Number of its way on the board, for the circuit chart.",
            )
            .number(),
            column(
                "RCD",
                "rcd",
                &["rcd", "residual-current device", "residual current device"],
                "30 mA, type A",
                "Residual-current device.",
            ),
            column(
                "Points served",
                "points",
                &["points served", "points", "number of points"],
                "6 double sockets",
                "",
            ),
            column(
                "Cable length (m)",
                "cable.length_m",
                &["cable length", "length", "cable length m"],
                "20",
                "One way.",
            )
            .number(),
            column(
                "Cable phase (mm2)",
                "cable.phase_mm2",
                &["cable phase", "phase conductor", "cable phase mm2"],
                "6",
                "Cross-sectional area of a phase conductor.",
            )
            .number(),
            column(
                "Cable neutral (mm2)",
                "cable.neutral_mm2",
                &["cable neutral", "neutral", "cable neutral mm2"],
                "6",
                "Empty: as the phases.",
            )
            .number(),
            column(
                "Cable material",
                "cable.conductor",
                &["cable material", "material", "conductor"],
                "copper",
                "",
            )
            .choices(METALS),
            column(
                "Cable capacity (A)",
                "cable.current_capacity_a",
                &["cable capacity", "current capacity", "capacity"],
                "41",
                "Current-carrying capacity for its method of installation.",
            )
            .number(),
            column(
                "Derating",
                "cable.derating",
                &["derating", "derating factor"],
                "",
                "For temperature and grouping; empty: 1.",
            )
            .number(),
            column(
                "Voltage drop limit (%)",
                "voltage_drop_limit_pct",
                &[
                    "voltage drop limit",
                    "voltage drop",
                    "voltage drop limit pct",
                ],
                "",
                "Empty: 5 %, lighting 3 %.",
            )
            .number(),
        ],
    },
    SiteSheet {
        name: "Schedules",
        table: "schedule",
        row_is: "a schedule",
        columns: &[
            column(
                "Schedule",
                "name",
                &["schedule", "name"],
                "day shift",
                "Rows of one name add up.",
            ),
            column(
                "Days",
                "days",
                &["days"],
                "Mon-Fri",
                "Such as Mon-Fri or Sat.",
            ),
            column("From", "from", &["from", "start"], "07:30", "Local time."),
            column("To", "to", &["to", "end", "until"], "16:00", "Local time."),
        ],
    },
    TARIFF_SHEET,
];

/// The words of a sheet.
pub(crate) fn sheet_words<'w>(
    words: &'w [(&'static str, &'static [&'static str])],
    key: &'static str,
) -> TableWords<'w> {
    TableWords {
        declared: &[],
        words,
        by_unit: &[],
        of_site: &[],
        key,
        not_in_total: key,
    }
}
