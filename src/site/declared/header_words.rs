//! The words that people write above the columns of their lists, besides the names of the columns.

use super::{MACHINES, NEW_MACHINES, READINGS};
use declaration::Declared;
use user_tables::TableWords;

/// Small letters, without punctuation; a unit behind them is read apart.
const MACHINE_WORDS: &[(&str, &[&str])] = &[
    (
        "machine",
        &[
            "machine name",
            "name",
            "load",
            "load name",
            "equipment",
            "appliance",
            "plant",
            "item",
            "tool",
            "designation",
            "machine load",
            "machine equipment",
            "consumer",
        ],
    ),
    (
        "circuit",
        &[
            "circuit no",
            "circuit number",
            "circuit id",
            "circuit name",
            "cct",
            "cct no",
            "ckt",
            "fed from",
            "feed",
            "supplied from",
            "way",
            "way no",
            "board",
            "board circuit",
            "circuit board",
            "distribution board",
            "db",
            "where",
            "circuit or board",
        ],
    ),
    (
        "connection",
        &[
            "phase",
            "phases",
            "ph",
            "line",
            "on phase",
            "connected to",
            "phase connection",
            "phase s",
        ],
    ),
    (
        TableWords::BY_UNIT,
        &[
            "",
            "power",
            "rated power",
            "input power",
            "power input",
            "input",
            "rating",
            "rated",
            "rated input",
            "electrical input",
            "electrical power",
            "plate rating",
            "nameplate",
            "plate",
            "p",
            "load",
            "connected load",
            "power rating",
            "size",
        ],
    ),
    (
        "current_a",
        &[
            "current",
            "rated current",
            "full load current",
            "full load amps",
            "flc",
            "fla",
            "amps",
            "load current",
            "i",
            "in",
        ],
    ),
    ("apparent_kva", &["apparent power", "apparent"]),
    (
        "shaft_kw",
        &[
            "shaft power",
            "shaft",
            "motor output",
            "output power",
            "output",
            "mechanical output",
            "mechanical power",
        ],
    ),
    ("efficiency", &["eff", "eta", "motor efficiency"]),
    ("power_factor", &["pf", "p f", "cos phi", "cosphi", "cos"]),
    (
        "utilisation_factor",
        &[
            "utilisation",
            "utilization",
            "utilization factor",
            "use factor",
            "uf",
            "ku",
            "duty",
            "duty factor",
            "duty cycle",
        ],
    ),
    (
        "third_harmonic_pct",
        &[
            "third harmonic",
            "3rd harmonic",
            "h3",
            "third harmonic current",
        ],
    ),
    ("schedule", &["shift", "runs", "working time"]),
    (
        "quantity",
        &[
            "qty",
            "no off",
            "number off",
            "off",
            "count",
            "pieces",
            "pcs",
            "how many",
            "number of machines",
        ],
    ),
    (
        "movable",
        &[
            "can be moved",
            "can move",
            "may move",
            "may be moved",
            "moveable",
        ],
    ),
    ("keep_with", &["together with"]),
    (
        "protective_device",
        &[
            "device",
            "protection",
            "breaker",
            "circuit breaker",
            "mcb",
            "fuse",
            "rcbo",
            "fuse breaker",
            "mcb fuse",
            "fuse mcb",
            "breaker fuse",
            "overcurrent device",
            "ocpd",
        ],
    ),
    (
        "description",
        &["notes", "note", "remarks", "remark", "comments", "comment"],
    ),
];

/// As above, for readings; the colours of the site and letters are added to them.
const READING_WORDS: &[(&str, &[&str])] = &[
    (
        "time",
        &[
            "time of reading",
            "date time",
            "date and time",
            "read at",
            "when",
        ],
    ),
    ("date", &["day", "date of reading"]),
    (
        "at",
        &[
            "where",
            "place",
            "location",
            "node",
            "point",
            "measured at",
            "circuit",
            "board",
            "board circuit",
            "circuit board",
            "machine",
            "name",
            "at",
        ],
    ),
    (
        "l1_a",
        &[
            "l1",
            "i1",
            "il1",
            "i l1",
            "phase 1",
            "phase l1",
            "l1 current",
            "current l1",
            "brown",
            "red",
            "r",
            "u",
        ],
    ),
    (
        "l2_a",
        &[
            "l2",
            "i2",
            "il2",
            "i l2",
            "phase 2",
            "phase l2",
            "l2 current",
            "current l2",
            "yellow",
            "y",
            "v",
        ],
    ),
    (
        "l3_a",
        &[
            "l3",
            "i3",
            "il3",
            "i l3",
            "phase 3",
            "phase l3",
            "l3 current",
            "current l3",
            "grey",
            "gray",
            "w",
        ],
    ),
    (
        "n_a",
        &["n", "in", "i n", "neutral", "neutral current", "current n"],
    ),
    ("round", &["round no", "round number"]),
];

const BY_UNIT: &[(&str, &str)] = &[
    ("kW", "power_kw"),
    ("kVA", "apparent_kva"),
    ("A", "current_a"),
    ("hp", "shaft_kw"),
];

/// Of the machine list; of a list of new machines too.
#[must_use]
pub(crate) fn machine_words(of_new_machines: bool) -> TableWords<'static> {
    const LIST: &[&Declared] = &[&MACHINES];
    const NEW: &[&Declared] = &[&MACHINES, &NEW_MACHINES];
    TableWords {
        declared: if of_new_machines { NEW } else { LIST },
        words: MACHINE_WORDS,
        by_unit: BY_UNIT,
        of_site: &[],
        key: "machine",
        not_in_total: "connection",
    }
}

/// Of the readings, with the words of a site and of this table for the conductors.
#[must_use]
pub fn reading_words<'w>(conductors: &'w [(String, &'static str)]) -> TableWords<'w> {
    const LIST: &[&Declared] = &[&READINGS];
    TableWords {
        declared: LIST,
        words: READING_WORDS,
        by_unit: &[],
        of_site: conductors,
        key: "at",
        not_in_total: "at",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_are_read_in_the_words_of_the_trade() {
        let words = machine_words(false);
        let of = |header: &str| words.meaning(header).map(|meaning| meaning.column);
        for (header, column) in [
            ("Machine", "machine"),
            ("Power (kW)", "power_kw"),
            ("Power [W]", "power_kw"),
            ("kW", "power_kw"),
            ("hp", "shaft_kw"),
            ("Load (kVA)", "apparent_kva"),
            ("Load", "machine"),
            ("Rated current, A", "current_a"),
            ("FLC", "current_a"),
            ("PF", "power_factor"),
            ("cos φ", "power_factor"),
            ("Qty.", "quantity"),
            ("Circuit no.", "circuit"),
            ("Phase(s)", "connection"),
            ("Utilisation %", "utilisation_factor"),
            ("THIRD_HARMONIC_PCT", "third_harmonic_pct"),
            ("Rating", TableWords::BY_UNIT),
        ] {
            assert_eq!(of(header), Some(column), "{header}");
        }
        for header in ["No.", "Serial number", "", "kWh", "x_note", "Motor (kW)"] {
            assert_eq!(of(header), None, "{header}");
        }
    }

    /// Each word stands for one column; with a unit, of numbers only.
    #[test]
    fn no_word_has_two_meanings() {
        for table in [MACHINE_WORDS, READING_WORDS] {
            let mut seen = std::collections::BTreeMap::new();
            for (column, words) in table {
                for word in *words {
                    let other = seen.insert(word, column);
                    assert!(
                        other.is_none() || *word == "load",
                        "{word}: {other:?} and {column}"
                    );
                }
            }
        }
    }
}
