//! The columns of machines.csv and of a list of new machines.

use declaration::{Declared, Key, ValueKind};

/// What an example needs where it is no rating itself.
const RATED: &str = "power_kw = 3";
const NEW: &str = "machine = Saw, power_kw = 3";

/// The machine list.
pub static MACHINES: Declared = Declared {
    meaning: "The machine list: one row for each machine, or for each group of equal machines. Also machines.xlsx or \
              machines.ods. The usual words above the columns are understood, with their units, and numbers with units \
              and per cent signs; `tapoff check` lists what each was taken for. Columns of your own begin with x_.",
    keys: &[
        Key::text("machine", "Kiln", "Name of the machine, its own in the list.").required()
        .needs(RATED),
        Key::text("circuit", "DB1", "The circuit or board it is fed from.").required()
        .needs(RATED),
        Key::new(
            "connection",
            ValueKind::Form("L1, L2, L3, L1-L2, L2-L3, L3-L1, 3ph, any, any-2 or unknown"),
            "The phases it is connected to: one to neutral, two, or three. `any` is one phase to neutral and `any-2` two \
             phases, not yet allocated; `unknown` is installed, on a phase that is not known: `tapoff phases` finds it.",
        )
        .required()
        .example("L2")
        .needs(RATED),
        Key::number(
            "power_kw",
            (f64::MIN_POSITIVE, 10_000.0, "kW"),
            "1.1",
            "Electrical input of one machine at rated load, all its phases together. One of power_kw, apparent_kva, \
             current_a and shaft_kw is needed.",
        ),
        Key::number(
            "apparent_kva",
            (f64::MIN_POSITIVE, 10_000.0, "kVA"),
            "1.5",
            "Apparent power of one machine at rated load, all its phases together; instead of power_kw.",
        ),
        Key::number(
            "current_a",
            (f64::MIN_POSITIVE, 20_000.0, "A"),
            "6.2",
            "Current of one machine in each phase at rated load, rms with its harmonics; instead of power_kw.",
        ),
        Key::number(
            "shaft_kw",
            (f64::MIN_POSITIVE, 10_000.0, "kW"),
            "7.5",
            "Output of a motor at its shaft, as on its rating plate; instead of power_kw, together with efficiency.",
        )
        .needs("efficiency = 0.89"),
        Key::number(
            "efficiency",
            (0.05, 1.0, ""),
            "0.89",
            "Efficiency of the motor at rated load, for shaft_kw.",
        )
        .needs("shaft_kw = 7.5"),
        Key::number(
            "power_factor",
            (0.05, 1.0, ""),
            "0.82",
            "Displacement power factor, lagging; write `0.95 lead` for a leading one.",
        )
        .or("1")
        .needs(RATED),
        Key::number(
            "utilisation_factor",
            (0.0, 1.0, ""),
            "0.5",
            "Mean load over its schedule as a share of its rating, pauses included. Without a log or a reading the load is \
             on, at load_share of its rating, for utilisation_factor / load_share of that time.",
        )
        .or_else("load_share: on without pause")
        .needs(RATED),
        Key::number(
            "load_share",
            (f64::MIN_POSITIVE, 1.0, ""),
            "0.8",
            "Share of its rating that it draws while it is on. utilisation_factor is not above it.",
        )
        .or("1")
        .needs(RATED),
        Key::number(
            "third_harmonic_pct",
            (0.0, 300.0, "%"),
            "30",
            "Third harmonic of the current as a share of its fundamental. It adds up in the neutral, that of a three-phase machine three times.",
        )
        .or("0")
        .needs(RATED),
        Key::new(
            "neutral",
            ValueKind::Word(&["yes", "no"]),
            "Can a current flow in its neutral? `no` for a three-wire load on three phases (delta, or a motor without \
             neutral).",
        )
        .or("yes")
        .example("yes")
        .needs(RATED),
        Key::new(
            "role",
            ValueKind::Word(&["load", "generation"]),
            "What it does: draw power, or generate it (photovoltaic inverter, generator). The rating of generation flows towards the source.",
        )
        .or("load")
        .example("generation")
        .needs(RATED),
        Key::text("schedule", "day shift", "Name of the schedule on which it runs.").or_else("always on")
        .needs(RATED),
        Key::number(
            "quantity",
            (1.0, 1000.0, ""),
            "4",
            "Number of equal machines in this row. They stay on one phase; the rating is of one.",
        )
        .or("1")
        .needs(RATED),
        Key::new("movable", ValueKind::Word(&["yes", "no"]), "May it be connected to other phases?")
            .or_else("yes for one and two phases, no for 3ph")
            .example("no")
        .needs(RATED),
        Key::text(
            "keep_with",
            "extractor",
            "Machines with the same word here stay on one phase.",
        )
        .needs(RATED),
        Key::new(
            "protective_device",
            ValueKind::Form("gG, B, C, D or BS 3036 and the rated current in A"),
            "Its own fuse (gG, or semi-enclosed to BS 3036) or circuit-breaker (B, C, D).",
        )
        .example("C 16")
        .needs(RATED),
        Key::text("meter", "main", "Id of the meter whose log is this machine's load profile.")
        .needs(RATED),
        Key::text("description", "in the north bay", "Your own description.")
        .needs(RATED),
    ],
};

/// What a list of new machines has besides.
pub static NEW_MACHINES: Declared = Declared {
    meaning: "Further columns of a list of new machines (`--new-machines FILE`). circuit and connection may be left out \
              there.",
    keys: &[
        Key::new(
            "efficiency_class",
            ValueKind::Word(&["IE1", "IE2", "IE3"]),
            "Efficiency class of a motor (IEC 60034-30-1), where its plate gives no efficiency.",
        )
        .or("IE3")
        .needs("machine = Saw, shaft_kw = 7.5")
        .example("IE2"),
        Key::new(
            "start",
            ValueKind::Word(&["direct", "star-delta", "soft", "none"]),
            "How it starts.",
        )
        .or_else("direct for a motor with shaft_kw, else none")
        .example("star-delta")
        .needs(NEW),
        Key::number(
            "start_ratio",
            (1.0, 20.0, ""),
            "7.2",
            "Starting current as a multiple of the rated current.",
        )
        .or_else("6 direct, 3 soft, 2 star-delta")
        .needs(NEW),
        Key::number(
            "cable_m",
            (0.0, 5000.0, "m"),
            "25",
            "Length of its own cable, one way, from the circuit or board.",
        )
        .needs(NEW),
        Key::number(
            "cable_mm2",
            (0.5, 1000.0, "mm²"),
            "6",
            "Cross-sectional area of its own cable.",
        )
        .needs("machine = Saw, power_kw = 3, cable_m = 25")
        .or_else("proposed from [[cable_size]]"),
        Key::text(
            "candidates",
            "DB1",
            "Circuits and boards that may feed it, separated by `;`; instead of `circuit`.",
        )
        .or_else("all of them")
        .needs(NEW),
    ],
};
