//! estate.toml: the sites of an estate, and what is known of each besides its own folder.

use declaration::{Declared, Key, ValueKind};

/// The tables of estate.toml.
pub static ESTATE_FILE: Declared = Declared {
    meaning: "The sites of an estate for `tapoff estate`, where not all folders below it are meant, or sites are compared by \
              floor area or output.",
    keys: &[Key::tables("site", &ESTATE_SITE)],
};

static ESTATE_SITE: Declared = Declared {
    meaning: "A site of the estate.",
    keys: &[
        Key::text(
            "path",
            "\"north/ferry-lane\"",
            "Its folder, or the workbook that holds it, as a path below the estate's folder.",
        )
        .required(),
        Key::text(
            "group",
            "\"joineries\"",
            "Sites of one group are compared with each other.",
        )
        .or_else("the folder in which the site's folder is"),
        Key::number(
            "floor_area_m2",
            (1.0, 1e7, "m²"),
            "1850",
            "Floor area, by which energy and cost are compared.",
        ),
        Key::number(
            "output",
            (1e-3, 1e12, ""),
            "420",
            "What the site made in the time of its logs, in `output_unit`, by which energy and cost are compared.",
        )
        .needs("output_unit = \"t\""),
        Key::text("output_unit", "\"t\"", "Unit of `output`."),
        Key::new(
            "tags",
            ValueKind::Texts("words"),
            "Your own words for it; they are a column of the results.",
        )
        .example("[\"leased\", \"2 shifts\"]"),
    ],
};
